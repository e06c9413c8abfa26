//! Pages of plants with every kind of fault: whatever is told, its numbers lead to a working.
//!
//! The histories are invented, with physics of their own (crate `histories`).

#[path = "paged/mod.rs"]
#[expect(dead_code, reason = "the other tests of the page use the rest")]
mod paged;

use histories::{
    Climate, Fans, Fault, Habits, Plant, Trouble, Weather, invent, to_csv, to_station_toml,
};
use jiff::civil::date;
use judge::{Judge, Options};
use paged::{astray, parsed};
use physics::quantity::Temperature;
use report::{Report, Rows, StationReport, Units, page};
use station::file::rounds::{Reader, Row};

/// Days of the history, the day on which the fault begins, and those on which a page is made.
const DAYS: u32 = 340;
const BEGINS: u32 = 220;
const PAGES: [u32; 3] = [240, 275, 339];

/// The numbers of its pages that lead to no working, with the words about them.
fn unfounded(plant: &Plant, troubles: &[Trouble], seed: u64) -> Vec<String> {
    let weather = Weather {
        climate: Climate::inland(),
        seed,
    };
    let habits = Habits {
        first_day: date(2025, 1 + (seed * 5 % 12) as i8, 1),
        ..Habits::default()
    };
    let history = invent(plant, &weather, troubles, &habits, seed, DAYS);
    let station = station::file::station::parse(&to_station_toml(plant, &weather.climate))
        .expect("our own file is sound");
    let csv = to_csv(&history);
    let mut reader = Reader::open(csv.as_bytes(), &station).expect("our own columns are known");
    let rounds: Vec<_> = (&mut reader)
        .filter_map(|row| match row.expect("text in memory can be read") {
            Row::Round(round) => Some(round),
            Row::Rejected(_) => None,
        })
        .collect();
    let mut list = Vec::new();
    for units in [Units::Si, Units::Us] {
        let options = Options {
            as_of: None,
            units: units.into(),
            if_hot: Some(Temperature::from_celsius(42.0)),
            ..Options::default()
        };
        let mut judge = Judge::new(&station, options);
        let mut read = 0;
        for (round, row) in rounds.iter().zip(&history.rounds) {
            judge.see(round.clone());
            read += 1;
            let last = PAGES.iter().any(|day| {
                row.day <= *day && history.rounds.get(read).is_none_or(|next| next.day > *day)
            });
            if !last {
                continue;
            }
            let (judgement, last_round) = (judge.judge(), judge.last_round());
            let one = StationReport {
                station: &station,
                judgement: &judgement,
                last_round: last_round.as_ref(),
                rows: Rows {
                    read: read as u64,
                    accepted: read as u64,
                    rejected_total: 0,
                    rejected: &[],
                },
                log: None,
                invented: true,
            };
            let html = page(&Report {
                stations: &[one],
                units,
                if_hot: Some("42 °C"),
                version: "9.8.7",
            });
            let found = astray(&parsed(&html), units == Units::Us, &|_| false);
            list.extend(
                found
                    .into_iter()
                    .map(|what| format!("day {}: {what}", row.day)),
            );
        }
    }
    list
}

#[test]
fn whatever_is_wrong_its_numbers_lead_to_a_working() {
    let gauge = |point: &str| Fault::GaugeOff {
        point: point.to_owned(),
    };
    let cases = [
        (Fault::MatClogging, "K1", 0.4, 60),
        (Fault::OilSideFouling, "K1", 0.4, 60),
        (Fault::ThermostatStuckOpen, "K1", 0.8, 1),
        (Fault::BeltSlipping, "K1", 0.05, 60),
        (Fault::SeparatorLoading, "K1", 0.7, 60),
        (Fault::FilterLoading, "F1", 0.35, 60),
        (Fault::FilterTorn, "F1", 0.5, 1),
        (Fault::DryerWeak, "D1", 0.5, 60),
        (Fault::DrainBlocked, "R1.drain", 0.9, 30),
        (Fault::DrainPassing, "R1.drain", 0.3, 30),
        (Fault::LeaksGrowing, "MAIN", 1.5, 60),
        (Fault::AirEndWorn, "K1", 0.15, 60),
        (gauge("K1.oil_temperature"), "K1", -7.0, 1),
        (gauge("R1.pressure"), "R1", 0.5, 1),
        (Fault::RoomHot, "room", 0.5, 60),
        (Fault::IntakeChoked, "K1", 0.05, 60),
    ];
    let mut all = Vec::new();
    for (n, (fault, on, severity, days)) in cases.into_iter().enumerate() {
        // Once with fans at constant speed, once with others.
        let others = [Fans::Variable, Fans::OnOff, Fans::Unknown][n % 3];
        for (seed, fans) in [(n as u64, Fans::Constant), (n as u64 + 117, others)] {
            let plant = Plant::drawn(seed).with_fans(fans, seed);
            let trouble = Trouble::new(fault.clone(), on, BEGINS, BEGINS + days, severity);
            let found = unfounded(&plant, &[trouble], seed);
            all.extend(found.into_iter().map(|what| format!("{fault:?}, {what}")));
        }
    }
    assert!(all.is_empty(), "{} numbers:\n{}", all.len(), all.join("\n"));
}
