//! Fans that follow the oil: they hold it, they cost the outlet its approach, and they hide a mat.

use histories::{
    Fan, FanPlate, Fans, Fault, Habits, History, Plant, Reading, Trouble, Weather, invent,
    to_station_toml,
};
use jiff::civil::{Date, date};

const SPRING: Date = date(2025, 3, 31);
const DAYS: u32 = 60;
const SEEDS: std::ops::Range<u64> = 1..9;

fn year(plant: &Plant, troubles: &[Trouble], seed: u64) -> History {
    let habits = Habits {
        first_day: SPRING,
        ..Habits::perfect()
    };
    invent(plant, &Weather::mild(seed), troubles, &habits, seed, DAYS)
}

/// Median of a true value over the room, K, or as it is.
fn median(history: &History, of: impl Fn(&histories::TruthRow) -> Option<f64>) -> f64 {
    let mut list: Vec<f64> = history.truth.iter().filter_map(of).collect();
    assert!(list.len() > 10, "{} rounds", list.len());
    list.sort_by(f64::total_cmp);
    list[list.len() / 2]
}

fn value(history: &History, point: &str) -> f64 {
    median(history, |t| t.values.get(point).copied())
}

fn approach(history: &History) -> f64 {
    median(history, |t| {
        Some(t.values.get("K1.outlet_temperature")? - t.values.get("room.temperature")?)
    })
}

fn held_at_c(plant: &Plant) -> f64 {
    match plant.machines[0].truth.fan {
        Fan::OnOff(held) | Fan::Variable(held) => held.held_at_c,
        Fan::Constant => panic!("this fan is held at nothing"),
    }
}

#[test]
fn stations_with_constant_fans_are_as_they_were_drawn() {
    for seed in SEEDS {
        assert_eq!(
            Plant::drawn(seed).with_fans(Fans::Constant, seed),
            Plant::drawn(seed)
        );
    }
}

#[test]
fn a_fan_at_variable_speed_holds_the_oil_and_lets_the_outlet_warm() {
    for seed in SEEDS {
        let constant = Plant::drawn(seed);
        let plant = constant.clone().with_fans(Fans::Variable, seed);
        let (plain, held) = (year(&constant, &[], seed), year(&plant, &[], seed));
        let oil = |history| value(history, "K1.oil_temperature");
        // Cool weather, K1 at full duty: the fan has something to hold back.
        if oil(&plain) > held_at_c(&plant) - 2.0 {
            continue;
        }
        let off = oil(&held) - held_at_c(&plant);
        assert!(off.abs() < 3.0, "seed {seed}: {off} K off");
        assert!(approach(&held) > approach(&plain) + 0.5, "seed {seed}");
        let power = |history| value(history, "K1.power");
        assert!(power(&held) < power(&plain), "seed {seed}");
    }
}

#[test]
fn a_fan_that_follows_the_oil_hides_a_mat() {
    for seed in SEEDS {
        let mat = [Trouble::new(Fault::MatClogging, "K1", 0, 0, 0.25)];
        let warmer = |plant: &Plant| {
            value(&year(plant, &mat, seed), "K1.oil_temperature")
                - value(&year(plant, &[], seed), "K1.oil_temperature")
        };
        let constant = Plant::drawn(seed);
        let variable = constant.clone().with_fans(Fans::Variable, seed);
        assert!(
            warmer(&variable) < warmer(&constant) + 0.2,
            "seed {seed}: {} K and {} K",
            warmer(&variable),
            warmer(&constant)
        );
    }
}

#[test]
fn a_fan_that_switches_is_written_down_and_cools_the_outlet_while_on() {
    let mut compared = 0;
    for seed in SEEDS {
        let plant = Plant::drawn(seed).with_fans(Fans::OnOff, seed);
        let history = year(&plant, &[], seed);
        let with = |word: &str| -> Vec<f64> {
            let rows = history.rounds.iter().zip(&history.truth);
            rows.filter(|(row, _)| {
                matches!(row.readings.get("K1.fan"), Some(Reading::Word(w)) if *w == word)
            })
            .filter_map(|(_, t)| {
                Some(t.values.get("K1.outlet_temperature")? - t.values.get("room.temperature")?)
            })
            .collect()
        };
        let (on, off) = (with("on"), with("off"));
        assert!(on.len() + off.len() > 20, "seed {seed}");
        if on.len() < 4 || off.len() < 4 {
            continue;
        }
        let mean = |list: &[f64]| list.iter().sum::<f64>() / list.len() as f64;
        assert!(mean(&off) > mean(&on) + 3.0, "seed {seed}");
        compared += 1;
    }
    assert!(compared > 2, "{compared}");
}

#[test]
fn an_unknown_fan_is_one_or_the_other_and_never_said() {
    let (mut constant, mut variable) = (0, 0);
    for seed in 1..30 {
        let plant = Plant::drawn(seed).with_fans(Fans::Unknown, seed);
        let machine = &plant.machines[0];
        assert_eq!(machine.plate.fan, FanPlate::Unknown);
        match machine.truth.fan {
            Fan::Constant => constant += 1,
            Fan::Variable(_) => variable += 1,
            Fan::OnOff(_) => panic!("seed {seed} switches"),
        }
        let toml = to_station_toml(&plant, &histories::Climate::mild());
        assert!(toml.contains("fan = \"unknown\"") && !toml.contains("fan_held_at"));
    }
    assert!(constant > 5 && variable > 5, "{constant} and {variable}");
}
