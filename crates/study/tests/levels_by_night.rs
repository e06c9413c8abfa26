//! Levels are looked at again each night, for machines too that may draw anything on load.

mod support;

use station::model::Station;
use study::{LevelsFrom, LogOptions, MachineDays, State, Study, read_log};
use support::station::{Described, band, machine};

const UNLOADED_KW: f64 = 7.0;
const POINTS: [(f64, f64); 3] = [(1.6, 10.9), (3.4, 21.0), (5.3, 33.4)];

fn speed() -> Station {
    let points: Vec<String> = POINTS
        .iter()
        .map(|(fad, kw)| format!("{{ fad = \"{fad} m3/min\", power = \"{kw} kW\" }}"))
        .collect();
    let more = format!(
        "max_pressure = \"8.5 bar(g)\"\ntarget = \"7.0 bar(g)\"\nunloaded_power = \"{UNLOADED_KW} kW\"\npart_load = [{}]",
        points.join(", ")
    );
    station("variable speed", &more)
}

fn throttled(unloaded: &str) -> Station {
    let more = format!(
        "max_pressure = \"8.5 bar(g)\"\n{}\n{unloaded}",
        band(6.6, 7.4)
    );
    station("modulating", &more)
}

fn station(control: &str, more: &str) -> Station {
    Described {
        machines: machine("K1", control, (7.0, 5.3, 33.4), more),
        ..Described::default()
    }
    .parse()
}

/// A log of so many days, a row every 20 s; `kw` is what it draws and `reads` what is read of it.
fn study(
    station: &Station,
    days: u32,
    kw: impl Fn(u32) -> f64,
    reads: impl Fn(u32, f64) -> f64,
) -> Study {
    let seconds = (0..days * 86_400).step_by(20);
    let text = support::rows("time,K1.power [kW],R1.pressure [bar(g)]", seconds, |s| {
        let flutter = 0.02 * f64::from(s / 20 % 7) - 0.06;
        let power = kw(s);
        let power = if power > 0.0 { power + flutter } else { 0.0 };
        format!("{:.3},{:.3}", reads(s, power), 7.0 + 0.01 * flutter)
    });
    let read = read_log([support::source(text)], station, &LogOptions::default());
    read.unwrap_or_else(|problems| panic!("a good log: {}", problems[0]))
}

fn hours(machine: &MachineDays, day: usize, state: State) -> f64 {
    let at = State::ALL.iter().position(|s| *s == state).expect("all");
    machine.days[day].hours[at]
}

fn delivered(machine: &MachineDays, day: usize) -> f64 {
    machine.days[day].delivered_m3.expect("the model knows it")
}

/// What a machine of variable speed draws: each hour at another speed, every sixth unloaded, at times
/// standing.
fn at_speeds(second: u32) -> f64 {
    match second / 1200 % 18 {
        0..3 => 33.4,
        3..6 => 0.0,
        6..9 => UNLOADED_KW,
        part => 10.9 + 22.0 * f64::from(part - 9) / 9.0,
    }
}

/// What a throttled machine draws: from no flow to full flow, every sixth hour unloaded.
fn at_throttle(second: u32) -> f64 {
    match second / 1200 % 18 {
        0..3 => 33.4,
        3..6 => 9.4,
        part => 33.4 * (0.7 + 0.3 * f64::from(part - 6) / 12.0),
    }
}

#[test]
fn a_meter_of_another_ratio_is_noticed_at_any_speed() {
    let station = speed();
    for factor in [1.0 / 3.0, 0.5, 2.0, 3.0] {
        let good = study(&station, 5, at_speeds, |_, kw| kw);
        let bad = study(&station, 5, at_speeds, |s, kw| {
            if s < 2 * 86_400 { kw } else { factor * kw }
        });
        let (good, machine) = (&good.machines[0], &bad.machines[0]);
        assert_eq!(
            (good.levels_moved, machine.levels_moved),
            (0, 1),
            "{factor}"
        );
        assert_eq!(machine.levels.from, LevelsFrom::Learned);
        assert!(bad.remarks.iter().any(|r| r.contains("learned anew")));
        for state in [
            State::Stopped,
            State::Unloaded,
            State::Loaded,
            State::AtSpeed,
        ] {
            let (was, is) = (hours(good, 4, state), hours(machine, 4, state));
            assert!((was - is).abs() < 0.35, "{factor} {state:?}: {was} {is}");
        }
        let (was, is) = (delivered(good, 4), delivered(machine, 4));
        assert!((was - is).abs() < 0.06 * was, "{factor}: {was} {is}");
    }
}

#[test]
fn a_meter_of_another_ratio_is_noticed_on_a_throttled_machine() {
    let station = throttled("unloaded_power = \"9.4 kW\"");
    for factor in [0.5, 2.0] {
        let good = study(&station, 5, at_throttle, |_, kw| kw);
        let bad = study(&station, 5, at_throttle, |s, kw| {
            if s < 2 * 86_400 { kw } else { factor * kw }
        });
        let (good, machine) = (&good.machines[0], &bad.machines[0]);
        let moved = (good.levels_moved, machine.levels_moved);
        assert_eq!(moved, (0, 1), "{factor}");
        for state in [State::Unloaded, State::Loaded, State::Modulating] {
            let (was, is) = (hours(good, 4, state), hours(machine, 4, state));
            assert!((was - is).abs() < 0.35, "{factor} {state:?}: {was} {is}");
        }
        let (was, is) = (delivered(good, 4), delivered(machine, 4));
        assert!((was - is).abs() < 0.1 * was, "{factor}: {was} {is}");
    }
}

#[test]
fn a_meter_that_is_mended_is_noticed_too() {
    let bad = study(&speed(), 5, at_speeds, |s, kw| {
        if (86_400..2 * 86_400).contains(&s) {
            kw / 3.0
        } else {
            kw
        }
    });
    let machine = &bad.machines[0];
    assert_eq!(machine.levels_moved, 2);
    assert_eq!(machine.levels.from, LevelsFrom::StationFile);
    assert!((machine.levels.usual_loaded_w - 33_400.0).abs() < 1.0);
}

#[test]
fn levels_stay_while_a_healthy_machine_does_what_it_likes() {
    let mut random = fastrand::Rng::with_seed(920);
    for round in 0..32 {
        let (station, least) = match round % 4 {
            0 | 2 => (speed(), 10.9),
            1 => (throttled("unloaded_power = \"9.4 kW\""), 0.7 * 33.4),
            _ => (throttled(""), 0.7 * 33.4),
        };
        let unloaded = if round % 2 == 0 { UNLOADED_KW } else { 9.4 };
        // Each day it favours a power of its own, and stands or runs unloaded as it likes.
        let days: Vec<(f64, f64, f64)> = (0..4)
            .map(|_| {
                let low = least + (33.4 - least) * random.f64();
                (low, low + (33.4 - low) * random.f64(), random.f64())
            })
            .collect();
        let draws: Vec<(f64, f64)> = (0..4 * 144).map(|_| (random.f64(), random.f64())).collect();
        let read = study(
            &station,
            4,
            |s| {
                let (low, high, idle) = days[(s / 86_400) as usize];
                let (what, how) = draws[(s / 600) as usize];
                if what < 0.5 * idle {
                    unloaded
                } else if what < idle {
                    0.0
                } else {
                    low + (high - low) * how
                }
            },
            |_, kw| kw,
        );
        assert_eq!(read.machines[0].levels_moved, 0, "round {round}: {days:?}");
    }
}
