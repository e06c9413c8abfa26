//! A station that is simulated event by event, with known demand, leakage, storage and machine: what
//! the log of it gives against what really was.
//!
//! The truth is counted at the events themselves and knows nothing of rows. Pressure rises and
//! falls in straight lines between events: V dp/dt = p₀ (delivery − demand), ideal gas at one
//! temperature (first principles).

mod support;

use study::{LogOptions, Study, plain};

use support::{near, read_with};

const LOADED_KW: f64 = 33.4;
const UNLOADED_KW: f64 = 9.2;
/// The machine's delivery, m³/min.
const DELIVERY: f64 = 5.3;
/// Storage, m³.
const STORAGE: f64 = 1.6;
const LOAD_BAR: f64 = 6.8;
const UNLOAD_BAR: f64 = 7.5;
/// It stops after running unloaded for so long, s.
const RUN_ON: f64 = 60.0;
const LEAKAGE: f64 = 0.9;

#[derive(Clone, Copy, PartialEq, Debug)]
enum Doing {
    Stopped,
    Unloaded,
    Loaded,
}

/// One stretch between two events.
struct Stretch {
    from: f64,
    to: f64,
    doing: Doing,
    pressure: f64,
    slope: f64,
}

/// What really was.
#[derive(Default)]
struct Truth {
    seconds: [f64; 3],
    loads: u64,
    unloads: u64,
    starts: u64,
    stops: u64,
}

/// Runs the station for so many days from a Monday; demand changes at random moments and is the
/// leakage alone outside Monday to Friday, 06:00–22:00.
fn simulate(random: &mut fastrand::Rng, days: u32) -> (Vec<Stretch>, Truth) {
    let end = 86_400.0 * f64::from(days);
    let (mut now, mut pressure, mut doing, mut since) = (0.0, 7.0, Doing::Loaded, 0.0);
    let (mut stretches, mut truth) = (Vec::new(), Truth::default());
    let mut next_change = 0.0;
    let mut demand = LEAKAGE;
    while now < end {
        if now >= next_change {
            let day = (now / 86_400.0) as u32;
            let hour = (now / 3600.0) % 24.0;
            let works = day % 7 < 5 && (6.0..22.0).contains(&hour);
            demand = LEAKAGE + if works { 0.5 + 3.5 * random.f64() } else { 0.0 };
            // Never past the next full hour, so that a shift begins when it does.
            let hour_ends = ((now / 3600.0).floor() + 1.0) * 3600.0;
            next_change = (now + 60.0 + 900.0 * random.f64()).min(hour_ends);
        }
        let delivery = if doing == Doing::Loaded {
            DELIVERY
        } else {
            0.0
        };
        let slope = (delivery - demand) / 60.0 / STORAGE;
        let until_level = match doing {
            Doing::Loaded => (UNLOAD_BAR - pressure) / slope,
            _ => (LOAD_BAR - pressure) / slope,
        };
        let until_stop = if doing == Doing::Unloaded {
            since + RUN_ON - now
        } else {
            f64::INFINITY
        };
        let step = until_level
            .min(until_stop)
            .min(next_change - now)
            .min(end - now)
            .max(1e-9);
        stretches.push(Stretch {
            from: now,
            to: now + step,
            doing,
            pressure,
            slope,
        });
        truth.seconds[doing as usize] += step;
        now += step;
        pressure += slope * step;
        let next = match doing {
            Doing::Loaded if pressure >= UNLOAD_BAR - 1e-9 => Doing::Unloaded,
            Doing::Unloaded | Doing::Stopped if pressure <= LOAD_BAR + 1e-9 => Doing::Loaded,
            Doing::Unloaded if now >= since + RUN_ON - 1e-9 => Doing::Stopped,
            same => same,
        };
        if next != doing {
            truth.loads += u64::from(next == Doing::Loaded);
            truth.unloads += u64::from(doing == Doing::Loaded);
            truth.starts += u64::from(doing == Doing::Stopped);
            truth.stops += u64::from(next == Doing::Stopped);
            (doing, since) = (next, now);
        }
    }
    (stretches, truth)
}

/// What a logger writes of it every so many seconds, with noise.
fn log(stretches: &[Stretch], interval: f64, random: &mut fastrand::Rng) -> String {
    let mut text = "time,K1.power [kW],MAIN.pressure [bar(g)]\n".to_owned();
    let (mut at, mut row) = (0, 0_u32);
    loop {
        let now = f64::from(row) * interval;
        while stretches.get(at).is_some_and(|s| s.to <= now) {
            at += 1;
        }
        let Some(stretch) = stretches.get(at) else {
            return text;
        };
        let noise = random.f64() - 0.5;
        let power = match stretch.doing {
            Doing::Stopped => 0.0,
            Doing::Unloaded => UNLOADED_KW + 0.4 * noise,
            Doing::Loaded => LOADED_KW + 0.8 * noise,
        };
        let pressure =
            stretch.pressure + stretch.slope * (now - stretch.from) + 0.01 * (random.f64() - 0.5);
        let second = now as u32;
        let (day, hour, minute) = (5 + second / 86_400, second / 3600 % 24, second / 60 % 60);
        // 5 January 2026 is a Monday.
        text.push_str(&format!(
            "2026-01-{day:02} {hour:02}:{minute:02}:{:02},{power:.1},{pressure:.2}\n",
            second % 60
        ));
        row += 1;
    }
}

fn study(text: String) -> Study {
    read_with(text, "UTC", &LogOptions::default()).expect("a good log")
}

fn within(found: f64, truth: f64, share: f64, what: &str) {
    assert!(
        (found - truth).abs() <= share * truth,
        "{what}: {found}, in truth {truth}"
    );
}

#[test]
fn at_one_second_cycles_are_exact_and_energy_is_within_half_a_per_cent() {
    for seed in 0..4 {
        let mut random = fastrand::Rng::with_seed(seed);
        let (stretches, truth) = simulate(&mut random, 7);
        let study = study(log(&stretches, 1.0, &mut random));
        let machine = &study.machines[0];
        let sum = |of: fn(&study::MachineDay) -> u64| machine.days.iter().map(of).sum::<u64>();
        assert_eq!(study.left_out_total, 0, "{:?}", study.left_out);
        assert_eq!(
            (
                sum(|d| d.loads),
                sum(|d| d.unloads),
                sum(|d| d.starts),
                sum(|d| d.stops)
            ),
            (truth.loads, truth.unloads, truth.starts, truth.stops)
        );
        assert!(truth.loads > 300 && truth.starts > 20);
        let kw = [0.0, UNLOADED_KW, LOADED_KW];
        for (state, kw) in kw.iter().enumerate() {
            within(
                plain(&machine.totals.hours)[state],
                truth.seconds[state] / 3600.0,
                0.005,
                "hours",
            );
            if *kw > 0.0 {
                let kwh = kw * truth.seconds[state] / 3600.0;
                within(plain(&machine.totals.kwh)[state], kwh, 0.005, "energy");
            }
        }
        let energy: f64 = kw
            .iter()
            .zip(truth.seconds)
            .map(|(kw, s)| kw * s / 3600.0)
            .sum();
        within(machine.totals.kwh.iter().sum(), energy, 0.005, "energy");
        let run = truth.seconds[1] + truth.seconds[2];
        within(
            machine.totals.duty.expect("it ran"),
            truth.seconds[2] / run,
            0.005,
            "duty",
        );
    }
}

#[test]
fn the_off_shift_load_share_tells_the_leakage() {
    let mut random = fastrand::Rng::with_seed(21);
    let (stretches, _) = simulate(&mut random, 14);
    let text = log(&stretches, 1.0, &mut random);
    let mut station = support::station("UTC");
    let hours = (0..5)
        .map(|day| (day * 1440 + 360, day * 1440 + 1320))
        .collect();
    station.site.hours = Some(station::model::WorkingHours { windows: hours });
    let read = study::read_log([support::source(text)], &station, &LogOptions::default());
    let study = read.expect("a good log");
    let share = study.machines[0]
        .totals
        .off_shift_load_share
        .expect("there are nights");
    within(share * DELIVERY, LEAKAGE, 0.03, "leakage, m³/min");
    // A Sunday hour draws the same, a working hour more.
    let week = &study.machines[0].totals.load_share_by_hour_of_week;
    let mean = |range: std::ops::Range<usize>| {
        let shares: Vec<f64> = week[range].iter().map(|s| s.expect("two weeks")).collect();
        shares.iter().sum::<f64>() / shares.len() as f64
    };
    within(
        mean(144..168) * DELIVERY,
        LEAKAGE,
        0.05,
        "leakage on Sundays",
    );
    assert!(mean(8..20) > 2.0 * share);
}

#[test]
fn coarser_logs_lose_cycles_and_keep_hours() {
    let mut random = fastrand::Rng::with_seed(9);
    let (stretches, truth) = simulate(&mut random, 7);
    let mut lost = Vec::new();
    for interval in [1.0, 10.0, 30.0, 60.0] {
        let study = study(log(&stretches, interval, &mut random));
        let totals = &study.machines[0].totals;
        within(
            totals.hours[2],
            truth.seconds[2] / 3600.0,
            0.02,
            "hours loaded",
        );
        assert!(totals.loads <= truth.loads);
        lost.push(truth.loads - totals.loads);
    }
    assert_eq!(lost[0], 0);
    assert!(lost.is_sorted(), "{lost:?}");
}

#[test]
fn pressures_are_distributed_as_they_were() {
    let mut random = fastrand::Rng::with_seed(4);
    let (stretches, _) = simulate(&mut random, 3);
    let study = study(log(&stretches, 1.0, &mut random));
    let found = &study.pressures[0];
    // How long the true pressure was below: a straight line through each stretch.
    let below = |level: f64| -> f64 {
        let under = |s: &Stretch| {
            let (a, b) = (s.pressure, s.pressure + s.slope * (s.to - s.from));
            let share = ((level - a.min(b)) / (a - b).abs().max(1e-12)).clamp(0.0, 1.0);
            share * (s.to - s.from)
        };
        stretches.iter().map(under).sum::<f64>() / (3.0 * 86_400.0)
    };
    for (quantile, share) in [(found.p05, 0.05), (found.median, 0.5), (found.p95, 0.95)] {
        // A bin is 0.01 bar, and so is the noise.
        assert!(below(quantile / 1e5 - 0.012) <= share && share <= below(quantile / 1e5 + 0.012));
    }
    assert!(
        found
            .hours_below_wanted
            .is_some_and(|hours| hours.abs() < 1e-12)
    );
    near(
        found.min,
        study.channels[1]
            .days
            .iter()
            .map(|d| d.min)
            .fold(f64::INFINITY, f64::min),
    );
}
