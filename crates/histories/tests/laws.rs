//! What holds for every invented history.

use histories::{
    Climate, Fault, Habits, History, Plant, Reading, RoundRow, Trouble, TruthRow, Weather, invent,
    to_csv,
};
use jiff::civil::Weekday;

fn year(seed: u64, habits: &Habits, troubles: &[Trouble]) -> History {
    invent(
        &Plant::two_screws(seed),
        &Weather::mild(seed),
        troubles,
        habits,
        seed,
        365,
    )
}

fn number(history: &History, row: usize, point: &str) -> Option<f64> {
    match history.rounds[row].readings.get(point) {
        Some(Reading::Number { value, .. }) => Some(*value),
        _ => None,
    }
}

#[test]
fn equal_seeds_give_equal_bytes_and_other_seeds_others() {
    let habits = Habits::default();
    let csv = to_csv(&year(5, &habits, &[]));
    assert!(csv == to_csv(&year(5, &habits, &[])));
    assert!(csv != to_csv(&year(6, &habits, &[])));
}

#[test]
fn no_days_give_no_rounds() {
    let none = invent(
        &Plant::two_screws(1),
        &Weather::mild(1),
        &[],
        &Habits::default(),
        1,
        0,
    );
    assert!(none.rounds.is_empty() && none.truth.is_empty());
}

#[test]
fn counters_never_fall_and_load_never_outruns_running() {
    let habits = Habits {
        misread: 0.0,
        ..Habits::default()
    };
    for seed in 1..=3 {
        let history = year(seed, &habits, &[]);
        for id in ["K1", "K2"] {
            for name in ["hours_run", "hours_loaded", "starts"] {
                let point = format!("{id}.{name}");
                let read: Vec<f64> = (0..history.rounds.len())
                    .filter_map(|row| number(&history, row, &point))
                    .collect();
                assert!(
                    read.len() > 200 && read.windows(2).all(|w| w[0] <= w[1]),
                    "{point}"
                );
            }
            for pair in history.truth.windows(2) {
                let grown = |name: &str| {
                    let point = format!("{id}.{name}");
                    pair[1].values[&point] - pair[0].values[&point]
                };
                assert!(grown("hours_loaded") <= grown("hours_run") + 1e-9);
            }
        }
    }
}

#[test]
fn pressure_falls_along_the_line() {
    for seed in 1..=3 {
        for truth in year(seed, &Habits::perfect(), &[]).truth {
            let at = |point: &str| truth.values.get(point).copied();
            let vessel = at("R1.pressure").expect("the vessel is always read");
            for id in ["K1", "K2"] {
                if let Some(machine) = at(&format!("{id}.pressure")) {
                    assert!(
                        machine >= vessel - 1e-9 && machine < 7.51,
                        "{machine} {vessel}"
                    );
                }
            }
            let header = at("MAIN.pressure").expect("the header is always read");
            assert!(header < vessel && header > 5.8, "{header} {vessel}");
        }
    }
}

/// What a practitioner would call usual for a healthy station on a warm machine.
#[test]
fn healthy_values_are_plausible() {
    for seed in 1..=3 {
        let history = year(seed, &Habits::perfect(), &[]);
        for (round, truth) in history.rounds.iter().zip(&history.truth) {
            let at = |point: &str| truth.values.get(point).copied();
            let within = |point: &str, low: f64, high: f64| {
                if let Some(value) = at(point) {
                    assert!(
                        (low..=high).contains(&value),
                        "{} {point} {value}",
                        round.time
                    );
                }
            };
            let room = at("room.temperature").expect("the room is always read");
            let outdoors = at("site.ambient").expect("outdoors is always read");
            assert!(
                (0.0..12.0).contains(&(room - outdoors)),
                "{room} {outdoors}"
            );
            for id in ["K1", "K2"] {
                within(&format!("{id}.oil_temperature"), 62.0, 102.0);
                within(&format!("{id}.outlet_temperature"), room + 4.0, room + 19.0);
                within(&format!("{id}.separator_drop"), 0.15, 0.35);
            }
            within("D1.dew_point", 1.5, 9.0);
            within("R1.drain.collected", 0.0, 150.0);
            within("F1.drop", 0.0, 0.15);
        }
    }
}

/// Stations of other sizes in other climates stay within what is usual, too.
#[test]
fn drawn_stations_are_plausible() {
    let climates = [Climate::mild(), Climate::inland(), Climate::damp_and_hot()];
    for (seed, climate) in (20..).zip(climates.iter().cycle()).take(6) {
        let plant = Plant::drawn(seed);
        let weather = Weather {
            climate: climate.clone(),
            seed,
        };
        let history = invent(&plant, &weather, &[], &Habits::perfect(), seed, 365);
        for truth in &history.truth {
            let room = truth.values["room.temperature"];
            for (point, low, high) in [
                ("K1.oil_temperature", 58.0, 110.0),
                // The second machine may have started only minutes ago.
                ("K2.oil_temperature", 40.0, 110.0),
                ("K1.outlet_temperature", room + 3.0, room + 25.0),
                ("D1.dew_point", 1.5, 18.0),
                ("MAIN.pressure", 5.5, 7.5),
            ] {
                if let Some(value) = truth.values.get(point) {
                    assert!((low..=high).contains(value), "{seed} {point} {value}");
                }
            }
        }
        assert!(history.water.error().abs() < 1e-9);
    }
}

/// The readers' errors stay within what such gauges and readers allow.
#[test]
fn readings_are_near_the_truth() {
    let habits = Habits {
        misread: 0.0,
        ..Habits::default()
    };
    let history = year(2, &habits, &[]);
    let allowed = [
        ("site.ambient", 2.5),
        ("K1.oil_temperature", 4.0),
        ("R1.pressure", 0.4),
        ("K1.power", 1.2),
        ("F1.drop", 0.04),
        ("MAIN.flow", 0.8),
    ];
    for (point, most) in allowed {
        let mut errors = Vec::new();
        for (row, truth) in history.truth.iter().enumerate() {
            if let Some(read) = number(&history, row, point) {
                errors.push((read - truth.values[point]).abs());
            }
        }
        assert!(errors.len() > 150, "{point}");
        assert!(errors.iter().all(|e| *e < most), "{point}: {errors:?}");
        assert!(
            errors.iter().any(|e| *e > 0.0),
            "{point} is read without any error"
        );
    }
}

#[test]
fn water_balance_closes() {
    let blocked = Trouble::new(Fault::DrainBlocked, "R1.drain", 100, 101, 1.0);
    for troubles in [vec![], vec![blocked.clone()], vec![blocked.mended(130)]] {
        let history = year(4, &Habits::perfect(), &troubles);
        let water = history.water;
        assert!(water.drawn_in > 5_000.0, "{water:?}");
        assert!(water.error().abs() < 1e-9, "{water:?}");
        // What was collected on the rounds is what left by the drain, but for the last hours.
        let collected: f64 = history
            .truth
            .iter()
            .filter_map(|t| t.values.get("R1.drain.collected"))
            .sum();
        let last = water.receiver_drain - collected;
        assert!(
            (-1e-6..60.0).contains(&last),
            "{collected} of {}",
            water.receiver_drain
        );
        let held = troubles.first().is_some_and(|t| t.mended.is_none());
        assert_eq!(water.receiver_held > 30.0, held, "{water:?}");
        assert!(water.receiver_held <= 60.0 + 1e-9);
    }
}

/// The load that the works take must come from somewhere: hours loaded times delivery.
#[test]
fn hours_are_consistent_with_the_demand() {
    let history = year(3, &Habits::perfect(), &[]);
    let (first, last) = (
        &history.truth[0].values,
        &history.truth[history.truth.len() - 1].values,
    );
    let loaded =
        |id: &str| last[&format!("{id}.hours_loaded")] - first[&format!("{id}.hours_loaded")];
    let delivered_m3 = (loaded("K1") + loaded("K2")) * 60.0 * 5.3;
    // Hours of each week in each shift, with leaks of 0.6 m³/min at all hours switched on.
    let week_m3 = 60.0 * (5.0 * 8.0 * (6.2 + 4.9) + 7.0 * 3.6 + 2.5 * 1.5 + 0.5 * 1.5 + 92.0 * 0.6);
    let wanted_m3 = week_m3 * 52.0;
    assert!(
        (delivered_m3 / wanted_m3 - 1.0).abs() < 0.08,
        "{delivered_m3} {wanted_m3}"
    );
}

/// Passing the lead on changes who carries the base load, and nothing of what the works take.
#[test]
fn machines_that_pass_the_lead_on_share_the_hours() {
    let hours = |lead_days: u32| {
        let mut plant = Plant::two_screws(3);
        plant.lead_days = lead_days;
        let weather = Weather::mild(3);
        let history = invent(&plant, &weather, &[], &Habits::perfect(), 3, 364);
        let loaded = |id: &str| {
            let of = |t: &TruthRow| t.values[&format!("{id}.hours_loaded")];
            of(&history.truth[history.truth.len() - 1]) - of(&history.truth[0])
        };
        (loaded("K1"), loaded("K2"))
    };
    let ((lead, trims), (one, other)) = (hours(0), hours(7));
    assert!(lead > 1.5 * trims, "{lead} {trims}");
    assert!((one / other - 1.0).abs() < 0.1, "{one} {other}");
    let ratio = (one + other) / (lead + trims);
    assert!((ratio - 1.0).abs() < 0.03, "{ratio}");
}

#[test]
fn one_day_a_week_and_days_away_leave_no_other_rounds() {
    let habits = Habits {
        only_on: Some(Weekday::Wednesday),
        off_shift_every: 0,
        away: vec![(100, 130)],
        ..Habits::perfect()
    };
    let history = year(3, &habits, &[]);
    let wednesday = |r: &RoundRow| r.time.date().weekday() == Weekday::Wednesday;
    assert!(history.rounds.iter().all(wednesday));
    assert!(history.rounds.iter().all(|r| !(100..=130).contains(&r.day)));
    assert!((48..=49).contains(&history.rounds.len()));
}

#[test]
fn more_machines_and_fewer_keep_the_plant_supplied() {
    for count in [1, 3] {
        let plant = Plant::two_screws(4).with_machines(count, 4);
        assert_eq!(plant.machines.len(), count);
        let history = invent(&plant, &Weather::mild(4), &[], &Habits::perfect(), 4, 200);
        let pressures = history
            .truth
            .iter()
            .filter_map(|t| t.values.get("MAIN.pressure"));
        let (all, low) = pressures.fold((0, 0), |(all, low), bar| {
            (all + 1, low + usize::from(*bar < 5.8))
        });
        assert!(all > 150 && low * 20 < all, "{count}: {low} of {all}");
    }
}
