//! A log of nothing but a pressure, against a simulation that knows when the machine was on load.

mod simulation;
mod support;

use fastrand::Rng;
use simulation::invented::make;
use simulation::{Plant, Truth, log, run};
use study::{LeakageMethod, LevelsFrom, LogOptions, Study, plain};

/// A log with some of its columns only, by their headers.
fn only(text: &str, keep: &[&str]) -> String {
    let header = text.lines().next().expect("a header");
    let kept: Vec<usize> = (0..)
        .zip(header.split(','))
        .filter(|(_, name)| *name == "time" || keep.iter().any(|k| name.starts_with(k)))
        .map(|(at, _)| at)
        .collect();
    let cut = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        let cells: Vec<&str> = kept.iter().map(|&at| cells[at]).collect();
        cells.join(",") + "\n"
    };
    text.lines().map(cut).collect()
}

struct Case {
    truth: Truth,
    plant: Plant,
    study: Study,
}

fn case(seed: u64, count: usize, interval: f64, days: f64) -> Case {
    let mut random = Rng::with_seed(seed);
    let (station, plant) = make(&mut random, count, 0.5);
    let (stretches, truth) = run(&plant, &mut random, days);
    let text = only(&log(&plant, &stretches, interval, &mut random), &["R1."]);
    let read = study::read_log([support::source(text)], &station, &LogOptions::default());
    let study = read.unwrap_or_else(|problems| panic!("a good log: {}", problems[0]));
    Case {
        truth,
        plant,
        study,
    }
}

fn said(study: &Study, words: &str) -> bool {
    study.remarks.iter().any(|remark| remark.contains(words))
}

#[test]
fn a_pressure_alone_tells_loads_hours_and_leakage() {
    let methods = [
        LeakageMethod::OffShiftDelivery,
        LeakageMethod::LoadUnloadTimes,
        LeakageMethod::PressureDecay,
    ];
    let (mut held, mut found) = ([0; 4], [0; 4]);
    for seed in 700..724 {
        let interval = [1.0, 2.0, 5.0][seed as usize % 3];
        let Case {
            truth,
            plant,
            study,
        } = case(seed, 1, interval, 1.5);
        let machine = &study.machines[0];
        assert_eq!(machine.levels.from, LevelsFrom::Pressure);
        let apart = machine.totals.loads.abs_diff(truth.loads[0]);
        assert!(
            100 * apart <= truth.loads[0],
            "{} loads, in truth {}",
            machine.totals.loads,
            truth.loads[0]
        );
        // Where demand outgrows the delivery, a fall on load may be taken for an unload.
        let [stopped, unloaded, loaded] = plain(&machine.totals.hours);
        let right = truth.seconds[0][2] / 3600.0;
        assert!(
            (loaded - right).abs() <= 0.03 * right,
            "seed {seed}: {loaded} h, in truth {right}"
        );
        // Unloaded and stopped are not told apart.
        assert!(stopped.abs() < 1e-12 && (unloaded + loaded - 36.0).abs() < 0.05);
        assert_eq!(machine.totals.starts, 0);
        // No energy is known, and no cost of it.
        assert!(!machine.energy_read && machine.totals.kwh.iter().all(|kwh| kwh.abs() < 1e-12));
        assert_eq!(
            (machine.totals.whole.cost, study.station.cost),
            (None, None)
        );
        assert_eq!(study.station.specific_energy_kwh_m3, None);
        assert!(
            (0.4..=0.5).contains(&machine.confidence),
            "{}",
            machine.confidence
        );
        assert!(said(&study, "by the slope of R1.pressure alone"));
        assert!(said(&study, "cannot be told apart"));
        assert!(said(
            &study,
            "Its energy was not read: by the forward model"
        ));
        let delivered = study.station.delivered_m3.expect("the machine is known");
        found[3] += 1;
        held[3] += u32::from(delivered.low <= truth.delivered && truth.delivered <= delivered.high);
        for (at, method) in methods.iter().enumerate() {
            if let Some(leakage) = study.leakage.iter().find(|l| l.method == *method) {
                let band = leakage.m3_s.times(60.0);
                let leaks = truth.leakage_off;
                found[at] += 1;
                held[at] += u32::from(band.low <= leaks && leaks <= band.high);
            }
        }
        let storage = study.storage.expect("slopes are steep").m3.mid;
        assert!((storage - plant.storage).abs() < 0.12 * plant.storage);
    }
    for at in 0..4 {
        assert!(found[at] >= 20, "{found:?}");
        assert!(10 * held[at] >= 9 * found[at], "{held:?} of {found:?}");
    }
}

#[test]
fn the_energy_by_the_model_holds_the_truth() {
    let Case { truth, study, .. } = case(731, 1, 1.0, 1.5);
    let remark = study
        .remarks
        .iter()
        .find(|r| r.contains("by the forward model"));
    let after = remark
        .expect("it is told")
        .split("forward model it is ")
        .nth(1)
        .expect("two numbers");
    let number = |text: &str| -> f64 {
        let digits: String = text.chars().filter(char::is_ascii_digit).collect();
        digits.parse().expect("a number")
    };
    let (low, high) = after.split_once(" to ").expect("two numbers");
    let high = high.split(" kWh").next().expect("a unit");
    let all: f64 = truth.kwh.iter().flatten().sum();
    assert!(
        number(low) <= all && all <= number(high),
        "{low}, {high}, in truth {all}"
    );
}

#[test]
fn of_two_machines_the_one_that_trims_is_told() {
    let mut random = Rng::with_seed(740);
    let (station, mut plant) = make(&mut random, 2, 0.5);
    // One is enough at any time.
    plant.demand = 0.4 * plant.machines[0].delivery;
    let (stretches, truth) = run(&plant, &mut random, 1.5);
    let text = only(&log(&plant, &stretches, 1.0, &mut random), &["R1."]);
    let read = study::read_log([support::source(text)], &station, &LogOptions::default());
    let study = read.unwrap_or_else(|problems| panic!("a good log: {}", problems[0]));
    let [machine] = &study.machines[..] else {
        panic!("{:?}", study.machines.len());
    };
    assert_eq!(machine.machine, 0);
    let [_, _, loaded] = plain(&machine.totals.hours);
    let right = truth.seconds[0][2] / 3600.0;
    assert!((loaded - right).abs() <= 0.02 * right, "{loaded}, {right}");
    // The other may have run: nothing is said of the whole.
    assert!(study.leakage.is_empty() && study.station.delivered_m3.is_none());
    assert!(study.demand.by_hour_of_week.is_empty());
    assert!(said(&study, "The other machines may have run as well"));
    let why = study.not_judged.iter().find(|n| n.what == "leakage");
    assert!(why.is_some_and(|n| n.why.contains("several may have run")));
}

/// A saw-tooth between two pressures, so many seconds up and down.
fn saw(second: u32, up: u32, down: u32) -> f64 {
    let at = f64::from(second % (up + down));
    let (up, down) = (f64::from(up), f64::from(down));
    if at < up {
        6.6 + 0.8 * at / up
    } else {
        7.4 - 0.8 * (at - up) / down
    }
}

fn single(control: &str) -> station::model::Station {
    let more = format!(
        "{}\nmax_pressure = \"8.5 bar(g)\"",
        support::station::band(6.6, 7.4)
    );
    support::station::Described {
        machines: support::station::machine("K1", control, (7.0, 5.3, 33.4), &more),
        ..Default::default()
    }
    .parse()
}

fn study_of(control: &str, seconds: u32, row: impl Fn(u32) -> String) -> Study {
    let text = support::rows("time,R1.pressure [bar(g)]", 0..seconds, row);
    let read = study::read_log(
        [support::source(text)],
        &single(control),
        &LogOptions::default(),
    );
    read.unwrap_or_else(|problems| panic!("a good log: {}", problems[0]))
}

#[test]
fn a_machine_that_stops_when_it_gives_load_up_is_told_stopped() {
    let study = study_of("start/stop", 7200, |s| format!("{:.3}", saw(s, 60, 120)));
    let machine = &study.machines[0];
    let [stopped, unloaded, loaded] = plain(&machine.totals.hours);
    assert!((loaded - 2.0 / 3.0).abs() < 0.02 && (stopped - 4.0 / 3.0).abs() < 0.02);
    assert!(unloaded.abs() < 1e-12);
    assert_eq!((machine.totals.starts, machine.totals.loads), (39, 39));
    assert!(!said(&study, "cannot be told apart"));
}

#[test]
fn a_fall_that_begins_far_below_the_unload_point_is_one_on_load() {
    // Every third rise turns half-way and falls on load, until it rises again.
    let study = study_of("load/unload", 14_400, |s| {
        let (cycle, at) = (s / 180 % 3, f64::from(s % 180));
        let pressure = match cycle {
            0 if at < 30.0 => 6.6 + 0.4 * at / 30.0,
            0 => 7.0 - 0.4 * (at - 30.0) / 150.0,
            _ => saw(s, 60, 120),
        };
        format!("{pressure:.3}")
    });
    let [_, unloaded, loaded] = plain(&study.machines[0].totals.hours);
    let cycles = 14_400.0 / 540.0;
    let on = cycles * (180.0 + 2.0 * 60.0) / 3600.0;
    assert!((loaded - on).abs() < 0.05, "{loaded}, {on}");
    assert!((unloaded - (4.0 - on)).abs() < 0.05, "{unloaded}");
    // A third of the peaks lie where it does not switch.
    let confidence = study.machines[0].confidence;
    assert!((confidence - 0.5 * 5.0 / 6.0).abs() < 0.01, "{confidence}");
}

#[test]
fn turns_that_drown_in_noise_tell_nothing_and_that_is_said() {
    let mut random = Rng::with_seed(750);
    let values: Vec<f64> = (0..7200).map(|_| 6.6 + 0.8 * random.f64()).collect();
    let study = study_of("load/unload", 7200, |s| {
        format!("{:.3}", values[s as usize])
    });
    assert!(study.machines.is_empty());
    assert!(said(&study, "cannot be told from its noise"));
}

#[test]
fn a_gap_and_a_gauge_that_stuck_are_not_told() {
    let text = support::rows(
        "time,R1.pressure [bar(g)]",
        (0..7200).chain(9000..28_800),
        |s| {
            // Two hours at one value.
            let stuck = (14_400..21_600).contains(&s);
            format!("{:.3}", if stuck { 7.123 } else { saw(s, 60, 120) })
        },
    );
    let read = |block: usize| {
        let options = LogOptions {
            block,
            ..LogOptions::default()
        };
        let sources = [support::source(text.clone())];
        study::read_log(sources, &single("load/unload"), &options)
    };
    let whole = read(64 << 20);
    let study = whole.as_ref().expect("a good log");
    let [_, unloaded, loaded] = plain(&study.machines[0].totals.hours);
    let known = (28_800.0 - 1800.0 - 7200.0) / 3600.0;
    assert!(
        (loaded + unloaded - known).abs() < 0.05,
        "{loaded} {unloaded}"
    );
    assert!((loaded - known / 3.0).abs() < 0.05, "{loaded}");
    for block in [100, 4097, 70_000] {
        assert_eq!(read(block), whole, "{block} bytes");
    }
}

#[test]
fn a_machine_whose_power_is_logged_is_not_told_by_the_pressure() {
    let mut random = Rng::with_seed(760);
    let (station, plant) = make(&mut random, 2, 0.5);
    let (stretches, _) = run(&plant, &mut random, 1.0);
    let all = log(&plant, &stretches, 5.0, &mut random);
    let text = only(&all, &["K1.power", "R1."]);
    let read = study::read_log([support::source(text)], &station, &LogOptions::default());
    let study = read.unwrap_or_else(|problems| panic!("a good log: {}", problems[0]));
    assert_eq!(study.machines.len(), 1);
    assert!(study.machines[0].energy_read && study.machines[0].levels.from != LevelsFrom::Pressure);
}

#[test]
fn a_throttled_machine_is_not_told_by_the_pressure() {
    let study = study_of("modulating", 7200, |s| format!("{:.3}", saw(s, 60, 120)));
    assert!(study.machines.is_empty());
    assert!(said(&study, "none switches between full load and nothing"));
}

#[test]
fn rows_too_far_apart_tell_nothing_or_with_wide_intervals() {
    let (mut told, mut held, mut refused) = (0, 0, 0);
    for seed in 900..916 {
        for interval in [10.0, 20.0, 60.0] {
            let case = case(seed, 1, interval, 1.5);
            let Some(machine) = case.study.machines.first() else {
                assert!(said(&case.study, "come faster than its rows"));
                refused += 1;
                continue;
            };
            // What is told sees every load.
            let loads = case.truth.loads[0];
            assert!(
                100 * machine.totals.loads.abs_diff(loads) <= loads,
                "{interval} s"
            );
            for leakage in &case.study.leakage {
                let (band, leaks) = (leakage.m3_s.times(60.0), case.truth.leakage_off);
                told += 1;
                held += u32::from(band.low <= leaks && leaks <= band.high);
            }
        }
    }
    // A minute between rows is too long for any of them.
    assert!(refused >= 16, "{refused}");
    assert!(told >= 30 && 10 * held >= 9 * told, "{held} of {told}");
}

#[test]
fn any_pressure_gives_the_same_however_it_is_cut() {
    let mut random = Rng::with_seed(770);
    let mut told = 0;
    for case in 0..12 {
        // A saw-tooth whose ends, slopes, noise, gaps and stuck stretches are all chance.
        let noise = [0.0, 0.002, 0.02, 0.1][case % 4];
        let (mut value, mut rising, mut text) = (7.0, true, String::new());
        let (mut second, mut stands) = (0_u32, 0_u32);
        let (mut up, mut down) = (0.02, -0.01);
        for _ in 0..12_000 {
            second += match random.u32(0..3000) {
                0 => random.u32(2..4000),
                _ => 1,
            };
            if random.u32(0..4000) == 0 {
                stands = random.u32(0..6000);
            }
            stands = stands.saturating_sub(1);
            if stands == 0 {
                value += if rising { up } else { down };
            }
            let end = if rising { 7.4 } else { 6.6 };
            let turns = if rising { value >= end } else { value <= end };
            if turns || random.u32(0..400) == 0 {
                rising = !rising;
                (up, down) = (0.002 + 0.03 * random.f64(), -0.001 - 0.02 * random.f64());
            }
            let read = value
                + if stands == 0 {
                    noise * (random.f64() - 0.5)
                } else {
                    0.0
                };
            let what = random.u32(0..500);
            let line = support::rows("", std::iter::once(second), |_| match what {
                0 => String::new(),
                1 => "0.000".to_owned(),
                _ => format!("{read:.3}"),
            });
            text.push_str(line.trim_start_matches('\n'));
        }
        let text = format!("time,R1.pressure [bar(g)]\n{text}");
        let read = |block: usize| {
            let options = LogOptions {
                block,
                ..LogOptions::default()
            };
            let sources = [support::source(text.clone())];
            study::read_log(sources, &single("load/unload"), &options)
        };
        let whole = read(64 << 20);
        told += whole.as_ref().map_or(0, |study| study.machines.len());
        for block in [73, 5003, 60_000] {
            assert_eq!(read(block), whole, "case {case}, {block} bytes");
        }
    }
    assert!(told >= 5, "{told}");
}
