//! A fault moves what it should, and nothing else.
//!
//! Two histories with the same seeds, one with the fault, are compared row by row. The median of
//! the differences is used, so that one row in which a machine happens to be in another state
//! decides nothing.

use std::collections::BTreeMap;

use histories::{Fault, Habits, History, Plant, Reading, Trouble, Weather, invent};
use jiff::civil::{Date, date};

const SUMMER: Date = date(2025, 6, 30);
const WINTER: Date = date(2025, 1, 6);
const DAYS: u32 = 40;

fn with(troubles: &[Trouble], first_day: Date) -> History {
    let habits = Habits {
        first_day,
        ..Habits::perfect()
    };
    invent(
        &Plant::two_screws(8),
        &Weather::mild(8),
        troubles,
        &habits,
        8,
        DAYS,
    )
}

/// Median change of every true value that a fault makes, by point.
fn changes(fault: Fault, on: &str, severity: f64, season: Date) -> BTreeMap<String, f64> {
    let quiet = with(&[], season);
    let ill = with(&[Trouble::new(fault, on, 0, 0, severity)], season);
    let mut differences: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for (a, b) in quiet.truth.iter().zip(&ill.truth) {
        for (point, value) in &a.values {
            if let Some(other) = b.values.get(point) {
                differences
                    .entry(point.clone())
                    .or_default()
                    .push(other - value);
            }
        }
    }
    let median = |mut all: Vec<f64>| {
        all.sort_by(f64::total_cmp);
        all[all.len() / 2]
    };
    differences
        .into_iter()
        .map(|(point, all)| (point, median(all)))
        .collect()
}

/// What counts as no change: less than anyone could read.
fn unnoticed(point: &str) -> f64 {
    match point.rsplit('.').next().unwrap_or(point) {
        "oil_temperature" | "outlet_temperature" | "temperature" | "dew_point" => 0.5,
        "pressure" | "separator_drop" | "drop" => 0.02,
        "power" | "flow" => 0.15,
        "hours_run" | "hours_loaded" => 4.0,
        "starts" => 40.0,
        "collected" => 0.6,
        "belt_indicator" => 0.02,
        "intake_drop" => 1.0,
        _ => 0.1,
    }
}

/// Asserts that exactly the points named change, each by the range given.
fn moves(changes: &BTreeMap<String, f64>, expected: &[(&str, f64, f64)]) {
    for (point, change) in changes {
        match expected.iter().find(|(name, ..)| name == point) {
            Some((_, low, high)) => {
                assert!((*low..=*high).contains(change), "{point} moves by {change}");
            }
            None => assert!(change.abs() < unnoticed(point), "{point} moves by {change}"),
        }
    }
    for (point, ..) in expected {
        assert!(changes.contains_key(*point), "{point} was never read");
    }
}

#[test]
fn a_clogged_mat_warms_oil_and_outlet_in_summer() {
    let changes = changes(Fault::MatClogging, "K1", 0.3, SUMMER);
    moves(
        &changes,
        &[
            ("K1.oil_temperature", 6.0, 15.0),
            ("K1.outlet_temperature", 3.0, 10.0),
            // Less water falls out in the package, so more in the vessel.
            ("R1.drain.collected", 0.1, 3.0),
        ],
    );
}

/// The thermostatic valve hides the mat from the oil in cool weather; the outlet shows it.
#[test]
fn a_clogged_mat_hides_from_the_oil_in_winter() {
    let summer = changes(Fault::MatClogging, "K1", 0.3, SUMMER);
    let winter = changes(Fault::MatClogging, "K1", 0.3, WINTER);
    assert!(
        winter["K1.oil_temperature"] < 0.6 * summer["K1.oil_temperature"],
        "{winter:?}"
    );
    assert!(winter["K1.outlet_temperature"] > 2.0, "{winter:?}");
}

#[test]
fn a_fouled_oil_side_warms_the_oil_and_hardly_the_outlet() {
    let changes = changes(Fault::OilSideFouling, "K1", 0.15, SUMMER);
    moves(
        &changes,
        &[
            ("K1.oil_temperature", 6.0, 14.0),
            ("K1.outlet_temperature", 0.3, 3.0),
        ],
    );
}

#[test]
fn a_stuck_thermostat_cools_the_oil_of_a_lightly_loaded_machine() {
    let changes = changes(Fault::ThermostatStuckOpen, "K2", 1.0, WINTER);
    moves(
        &changes,
        &[
            ("K2.oil_temperature", -50.0, -8.0),
            ("K2.outlet_temperature", -10.0, 0.0),
        ],
    );
}

#[test]
fn slipping_belts_lose_air_and_save_nothing() {
    let changes = changes(Fault::BeltSlipping, "K1", 0.04, SUMMER);
    moves(
        &changes,
        &[
            ("K1.belt_indicator", 0.5, 0.9),
            // Less heat reaches the oil: 4 % of 60 K.
            ("K1.oil_temperature", -4.0, -1.0),
            ("K1.outlet_temperature", -1.0, 0.0),
            ("K2.hours_loaded", 3.0, 60.0),
            ("K1.hours_loaded", 0.0, 20.0),
            ("K2.hours_run", 0.0, 60.0),
            ("K2.oil_temperature", -1.0, 3.0),
            ("K2.starts", -200.0, 200.0),
            // Against leaks alone it takes longer to fill the vessel.
            ("K1.load_time", 0.3, 3.0),
        ],
    );
}

#[test]
fn a_worn_air_end_leaves_more_to_the_other() {
    let changes = changes(Fault::AirEndWorn, "K1", 0.08, SUMMER);
    assert!(changes["K2.hours_loaded"] > 8.0, "{changes:?}");
    assert!(changes["K1.power"].abs() < 0.15 && changes["K1.belt_indicator"].abs() < 0.02);
    assert!(changes["MAIN.flow"].abs() < 0.1);
}

#[test]
fn a_loaded_separator_costs_power() {
    let changes = changes(Fault::SeparatorLoading, "K1", 0.5, SUMMER);
    moves(
        &changes,
        &[
            ("K1.separator_drop", 0.499, 0.501),
            ("K1.power", 0.8, 1.5),
            ("K1.oil_temperature", 0.5, 4.0),
            ("K1.outlet_temperature", 0.0, 1.0),
        ],
    );
}

#[test]
fn a_choked_intake_takes_less_power_and_less_air() {
    let changes = changes(Fault::IntakeChoked, "K1", 0.05, SUMMER);
    assert!((changes["K1.intake_drop"] - 50.0).abs() < 1e-6);
    assert!(
        changes["K1.power"] < -0.3 && changes["K2.hours_loaded"] > 4.0,
        "{changes:?}"
    );
}

#[test]
fn a_loaded_filter_shows_at_the_filter_and_behind_it() {
    let changes = changes(Fault::FilterLoading, "F1", 0.3, SUMMER);
    moves(
        &changes,
        &[("F1.drop", 0.1, 0.3), ("MAIN.pressure", -0.3, -0.1)],
    );
    let sum = changes["F1.drop"] + changes["MAIN.pressure"];
    assert!(sum.abs() < 0.02, "{sum}");
}

#[test]
fn a_torn_filter_shows_less_than_clean() {
    let changes = changes(Fault::FilterTorn, "F1", 0.6, SUMMER);
    moves(
        &changes,
        &[("F1.drop", -0.12, -0.03), ("MAIN.pressure", 0.03, 0.12)],
    );
}

#[test]
fn a_weak_dryer_lets_the_dew_point_rise() {
    let changes = changes(Fault::DryerWeak, "D1", 0.7, SUMMER);
    moves(&changes, &[("D1.dew_point", 2.0, 25.0)]);
}

#[test]
fn a_blocked_drain_collects_nothing() {
    let changes = changes(Fault::DrainBlocked, "R1.drain", 1.0, SUMMER);
    moves(&changes, &[("R1.drain.collected", -40.0, -1.0)]);
    let ill = with(
        &[Trouble::new(Fault::DrainBlocked, "R1.drain", 0, 0, 1.0)],
        SUMMER,
    );
    let nothing = Reading::Word("nothing");
    assert!(
        ill.rounds
            .iter()
            .all(|r| r.readings.get("R1.drain.test") == Some(&nothing))
    );
}

#[test]
fn a_passing_drain_loses_air_before_the_meter() {
    let changes = changes(Fault::DrainPassing, "R1.drain", 0.4, SUMMER);
    assert!(
        changes["MAIN.flow"].abs() < 0.02 && changes["K2.hours_loaded"] > 10.0,
        "{changes:?}"
    );
}

#[test]
fn leaks_pass_the_meter() {
    let changes = changes(Fault::LeaksGrowing, "MAIN", 0.8, SUMMER);
    assert!((0.7..0.9).contains(&changes["MAIN.flow"]), "{changes:?}");
    assert!(changes["K2.hours_loaded"] > 20.0);
}

#[test]
fn a_hot_room_warms_room_oil_and_outlet_alike() {
    let changes = changes(Fault::RoomHot, "room", 0.5, SUMMER);
    let room = changes["room.temperature"];
    assert!((3.0..9.0).contains(&room), "{room}");
    assert!(
        (changes["K1.oil_temperature"] - room).abs() < 1.5,
        "{changes:?}"
    );
    assert!(
        (changes["K1.outlet_temperature"] - room).abs() < 2.0,
        "{changes:?}"
    );
    assert!(changes["site.ambient"].abs() < 1e-9);
}

/// A wrong gauge changes what is written down at one point, and no truth at all.
#[test]
fn a_wrong_gauge_changes_one_column_only() {
    let fault = Fault::GaugeOff {
        point: "K1.oil_temperature".to_owned(),
    };
    let quiet = with(&[], SUMMER);
    let ill = with(&[Trouble::new(fault, "K1", 0, 0, 7.0)], SUMMER);
    assert_eq!(quiet.rounds.len(), ill.rounds.len());
    for (a, b) in quiet.rounds.iter().zip(&ill.rounds) {
        for (point, reading) in &a.readings {
            let other = b.readings.get(point);
            match (point.as_str(), reading, other) {
                (
                    "K1.oil_temperature",
                    Reading::Number { value, .. },
                    Some(Reading::Number { value: other, .. }),
                ) => assert!((other - value - 7.0).abs() < 1e-9),
                _ => assert_eq!(Some(reading), other, "{point}"),
            }
        }
    }
    for (a, b) in quiet.truth.iter().zip(&ill.truth) {
        assert_eq!((&a.values, &a.health), (&b.values, &b.health));
    }
}

/// Work done is written on the first round after, and the trouble is gone from then on.
#[test]
fn mending_is_written_down_once() {
    let mended = Trouble::new(Fault::MatClogging, "K1", 3, 10, 0.3).mended(19);
    let history = with(&[mended], SUMMER);
    let told: Vec<u32> = history
        .rounds
        .iter()
        .filter(|r| !r.done.is_empty())
        .map(|r| r.day)
        .collect();
    assert_eq!(told.len(), 1, "{told:?}");
    // Day 19 is a Saturday without a round or a Sunday at most two days from the next.
    assert!((19..=21).contains(&told[0]), "{told:?}");
    for truth in &history.truth {
        assert_eq!(
            truth.troubles.is_empty(),
            !(4..19).contains(&truth.day),
            "{}",
            truth.day
        );
    }
}
