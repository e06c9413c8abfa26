//! A logger beside the keeper: the same invented station, rows by the same gauges.
//!
//! Must not know: who walks round.

use std::fmt::Write as _;

use jiff::civil::Time;

use crate::csv;
use crate::faults::{Trouble, gauge_error};
use crate::gauges::Gauge;
use crate::habits::Habits;
use crate::invent::{Living, wanted};
use crate::plant::Plant;
use crate::random::stream;
use crate::severities::Severities;
use crate::simulate::Station;
use crate::walk::{Moment, Seen, look};
use crate::weather::Weather;

/// What a logger is set to.
#[derive(Debug, Clone, PartialEq)]
pub struct Logger {
    /// A row every so many seconds: a part of a minute, or whole minutes.
    pub every_s: u32,
    /// From which minute of the day it logs, and to which.
    pub minutes: (u32, u32),
    /// The points that it logs, `K1.oil_temperature` for example.
    pub points: Vec<String>,
    /// The first day that it logs, and the first that it does not.
    pub days: (u32, u32),
}

/// The log of the same days that [`crate::invent`] invents, as CSV. A machine that stands still draws
/// nothing; the other points of a machine that is not on load are left empty, where the keeper would
/// not read them either.
#[must_use]
pub fn log(
    plant: &Plant,
    weather: &Weather,
    troubles: &[Trouble],
    habits: &Habits,
    seed: u64,
    logger: &Logger,
) -> String {
    let columns: Vec<(String, &str)> = csv::columns(plant)
        .into_iter()
        .filter(|(point, _)| logger.points.contains(point))
        .collect();
    let mut text = "time".to_owned();
    for (point, unit) in &columns {
        let _ = write!(text, ",{point} [{unit}]");
    }
    text.push('\n');
    let days = logger.days.1;
    let air = weather.hours(habits.first_day, days, plant.altitude_m);
    let Some(first_air) = air.first().filter(|_| !plant.machines.is_empty()) else {
        return text;
    };
    let mut station = Station::new(plant, first_air);
    let mut date = habits.first_day;
    let mut phase = 0.0_f64;
    for day in 0..days {
        let severities = Severities::on(plant, troubles, day);
        for trouble in troubles.iter().filter(|t| t.mended == Some(day)) {
            station.renew(&trouble.on, &trouble.fault, day);
        }
        station.pass_the_lead(day);
        let mut living = Living::new(&plant.load, seed, day);
        let mut noise = stream(seed, "logger", u64::from(day));
        for minute in 0..24 * 60 {
            let now = air[(day * 24 + minute / 60) as usize].towards(
                &air[(day * 24 + minute / 60 + 1) as usize],
                f64::from(minute % 60) / 60.0,
            );
            let (on, pattern) = wanted(&plant.load, date, minute);
            station.minute(&now, on, living.uses(pattern), &severities);
            let (load_min, unload_min) = station.cycle_min();
            let cycle_min = load_min + unload_min;
            for second in 0..60 {
                if cycle_min.is_finite() {
                    phase = (phase + 1.0 / (60.0 * cycle_min)).fract();
                }
                let due = (60 * minute + second) % logger.every_s == 0;
                let logs = (logger.minutes.0..logger.minutes.1).contains(&minute);
                if !due || !logs || day < logger.days.0 {
                    continue;
                }
                let moment = in_cycle(phase, station.machines[station.trim].duty);
                let seen = look(&station, &now, day, &severities, moment);
                let time = date.to_datetime(Time::constant(
                    i8::try_from(minute / 60).unwrap_or(0),
                    i8::try_from(minute % 60).unwrap_or(0),
                    i8::try_from(second).unwrap_or(0),
                    0,
                ));
                let _ = write!(text, "{}", time.strftime("%Y-%m-%d %H:%M:%S"));
                for (point, _) in &columns {
                    text.push(',');
                    let Some(truth) = value(&seen, point) else {
                        continue;
                    };
                    let (asset, name) = point.rsplit_once('.').unwrap_or(("", point));
                    let gauge = Gauge::of(asset, name);
                    let fault = gauge_error(troubles, point, day);
                    let read = gauge.read(point, truth, fault, 1.0, seed, &mut noise);
                    let decimals = gauge.decimals;
                    let _ = write!(text, "{read:.decimals$}");
                }
                text.push('\n');
            }
        }
        date = date.tomorrow().unwrap_or(date);
    }
    text
}

/// The moment at a place of the cycle, which begins with the load.
fn in_cycle(phase: f64, duty: f64) -> Moment {
    let in_band = if phase < duty {
        phase / duty
    } else {
        1.0 - (phase - duty) / (1.0 - duty).max(1e-9)
    };
    Moment {
        in_band,
        draw: phase,
        waits: false,
        fan: [0.5, 0.5],
        timed: false,
    }
}

fn value(seen: &Seen, point: &str) -> Option<f64> {
    let read = seen.values.get(point).copied();
    // A logger sees that a machine draws nothing.
    read.or_else(|| point.ends_with(".power").then_some(0.0))
}
