//! A logger and a keeper at the same station see the same.

use std::collections::BTreeMap;

use histories::{Fault, Habits, Logger, Plant, Reading, Trouble, Weather, invent, log};

const DAYS: u32 = 40;
const POINTS: [&str; 4] = [
    "site.ambient",
    "room.temperature",
    "K1.oil_temperature",
    "K1.power",
];

/// Rows by their minute, as `2025-01-01 07:10`.
fn rows(text: &str) -> BTreeMap<String, Vec<Option<f64>>> {
    let cells = |line: &str| line.split(',').skip(1).map(|c| c.parse().ok()).collect();
    let minute = |line: &str| line.get(..16).unwrap_or_default().to_owned();
    let rows = text.lines().skip(1);
    rows.map(|line| (minute(line), cells(line))).collect()
}

#[test]
fn a_logger_sees_what_the_keeper_sees() {
    let (plant, weather) = (Plant::two_screws(2), Weather::mild(2));
    let troubles = [Trouble::new(Fault::MatClogging, "K1", 5, 35, 0.3)];
    let habits = Habits {
        misread: 0.0,
        cold_monday: 0.0,
        ..Habits::default()
    };
    let logger = Logger {
        every_s: 60,
        minutes: (6 * 60, 9 * 60),
        points: POINTS.map(str::to_owned).to_vec(),
        days: (2, DAYS),
    };
    let text = log(&plant, &weather, &troubles, &habits, 2, &logger);
    assert!(text.starts_with(
        "time,site.ambient [degC],room.temperature [degC],K1.oil_temperature [degC],K1.power [kW]\n"
    ));
    let rows = rows(&text);
    assert_eq!(rows.len(), 3 * 60 * (DAYS as usize - 2));
    let history = invent(&plant, &weather, &troubles, &habits, 2, DAYS);
    let mut compared = 0;
    for round in &history.rounds {
        let Some(row) = rows.get(&round.time.strftime("%Y-%m-%d %H:%M").to_string()) else {
            continue;
        };
        for (point, logged) in POINTS.iter().zip(row) {
            let (Some(Reading::Number { value, .. }), Some(logged)) =
                (round.readings.get(*point), logged)
            else {
                continue;
            };
            // Another reading of the same gauge, at another place of the cycle.
            let apart = if *point == "K1.power" { 1.6 } else { 2.6 };
            assert!(
                (value - logged).abs() < apart,
                "{point}: {value} and {logged}"
            );
            compared += 1;
        }
    }
    assert!(compared > 80, "{compared}");
}
