//! Inventing a history: days run, rounds walked, readings written down.
//!
//! Must not know: how a file of rounds is laid out.

use std::collections::BTreeMap;

use fastrand::Rng;
use jiff::civil::{Date, DateTime, Weekday};

use crate::faults::Trouble;
use crate::habits::Habits;
use crate::keeper::{Keeper, Today};
use crate::plant::{Load, Plant};
use crate::random::{scatter, stream};
use crate::severities::Severities;
use crate::simulate::Station;
use crate::truth::{TruthRow, WaterBook};
use crate::weather::{Air, Weather};

/// An invented history: what was written down, and what was so.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// The station.
    pub plant: Plant,
    /// The rounds, in the order of time.
    pub rounds: Vec<RoundRow>,
    /// The truth behind each round, in the same order.
    pub truth: Vec<TruthRow>,
    /// Where the water went.
    pub water: WaterBook,
}

/// One round as written down.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundRow {
    /// Days since the first day of the history.
    pub day: u32,
    /// Local time.
    pub time: DateTime,
    /// Who walked round.
    pub who: String,
    /// What was read, by point; a point that is missing was not read.
    pub readings: BTreeMap<String, Reading>,
    /// Free text.
    pub note: String,
    /// Work since the last round, `K1:clean mat` for example.
    pub done: Vec<String>,
}

/// One thing read.
#[derive(Debug, Clone, PartialEq)]
pub enum Reading {
    /// A number, with the decimals written down.
    Number {
        /// The number, in the unit of the column.
        value: f64,
        /// Decimals written down.
        decimals: usize,
    },
    /// A word.
    Word(&'static str),
}

/// Invents `days` days of a station: its truth and its rounds. Equal arguments give equal results.
///
/// A day has 24 hours of local time; the changes of clock fall on Sundays, when nothing runs. The
/// gauges go by the first letter of an id: `K` for a machine, `R` for a vessel. No days or no
/// machines give no rounds.
#[must_use]
pub fn invent(
    plant: &Plant,
    weather: &Weather,
    troubles: &[Trouble],
    habits: &Habits,
    seed: u64,
    days: u32,
) -> History {
    let air = weather.hours(habits.first_day, days, plant.altitude_m);
    let mut history = History {
        plant: plant.clone(),
        rounds: Vec::new(),
        truth: Vec::new(),
        water: <_>::default(),
    };
    let Some(first_air) = air.first().filter(|_| !plant.machines.is_empty()) else {
        return history;
    };
    let mut station = Station::new(plant, first_air);
    let mut keeper = Keeper::new(habits, troubles, seed, plant.machines.len());
    let mut date = habits.first_day;
    for day in 0..days {
        let severities = Severities::on(plant, troubles, day);
        for trouble in troubles.iter().filter(|t| t.mended == Some(day)) {
            station.renew(&trouble.on, &trouble.fault, day);
        }
        station.pass_the_lead(day);
        let round = keeper.plan(day, date, &plant.load);
        let today = Today {
            day,
            date,
            severities: &severities,
            round,
        };
        live_through(today, &mut station, &mut keeper, &air, &mut history);
        date = date.tomorrow().unwrap_or(date);
    }
    history.water = station.water;
    history
}

/// Runs the station through one day and takes the round on the way.
fn live_through(
    today: Today<'_>,
    station: &mut Station<'_>,
    keeper: &mut Keeper<'_>,
    air: &[Air],
    history: &mut History,
) {
    let load = &station.plant.load;
    let mut living = Living::new(load, keeper.seed(), today.day);
    for minute in 0..24 * 60 {
        let hour = (today.day * 24 + minute / 60) as usize;
        let now = air[hour].towards(&air[hour + 1], f64::from(minute % 60) / 60.0);
        let (on, pattern) = wanted(load, today.date, minute);
        station.minute(&now, on, living.uses(pattern), today.severities);
        if let Some((at, kind)) = today.round
            && at == minute
        {
            let (row, truth) = keeper.walk(today, at, kind, station, &now);
            history.rounds.push(row);
            history.truth.push(truth);
        }
    }
}

/// Days of a month, near enough.
const MONTH_DAYS: u32 = 30;

/// How far the works stray from their pattern on a day, in spreads: from one month's draw to the next's.
fn of_month(seed: u64, day: u32) -> f64 {
    let (month, through) = (
        day / MONTH_DAYS,
        f64::from(day % MONTH_DAYS) / f64::from(MONTH_DAYS),
    );
    let draw = |n: u32| scatter(&mut stream(seed, "month", u64::from(n)), 1.0);
    (1.0 - through) * draw(month) + through * draw(month + 1)
}

/// How the demand of one day strays from its pattern.
pub(crate) struct Living {
    rng: Rng,
    of_day: f64,
    of_minute: f64,
    minute_spread: f64,
}

impl Living {
    pub(crate) fn new(load: &Load, seed: u64, day: u32) -> Self {
        let mut rng = stream(seed, "demand", u64::from(day));
        let month = 1.0 + load.month_spread * of_month(seed, day);
        Self {
            of_day: month * (1.0 + scatter(&mut rng, load.day_spread)),
            of_minute: 0.0,
            minute_spread: load.minute_spread,
            rng,
        }
    }

    /// What the works take in the next minute, m³/min (ANR).
    pub(crate) fn uses(&mut self, pattern: f64) -> f64 {
        // Spread evenly with a variance of 1 before the memory of the minute before.
        let fresh = 3.464 * (self.rng.f64() - 0.5);
        self.of_minute = 0.9 * self.of_minute + 0.436 * fresh;
        pattern * self.of_day * (1.0 + self.minute_spread * self.of_minute).max(0.0)
    }
}

/// Machines are switched on so many minutes after midnight, Monday to Saturday.
pub(crate) const ON_MINUTE: u32 = 5 * 60 + 30;
/// Off again, Monday to Friday, and on Saturday.
const OFF_MINUTE: u32 = 22 * 60 + 15;
pub(crate) const SATURDAY_OFF_MINUTE: u32 = 13 * 60 + 50;

/// Are the machines switched on at a minute, and what do the works take, m³/min (ANR)?
pub(crate) fn wanted(load: &Load, date: Date, minute: u32) -> (bool, f64) {
    let weekday = date.weekday();
    if weekday == Weekday::Sunday || load.is_closed(date) {
        return (false, 0.0);
    }
    let saturday = weekday == Weekday::Saturday;
    let off = if saturday {
        SATURDAY_OFF_MINUTE
    } else {
        OFF_MINUTE
    };
    let on = (ON_MINUTE..off).contains(&minute);
    let pattern = match minute / 60 {
        _ if !on => 0.0,
        5 => load.warm_up,
        6..13 if saturday => load.saturday,
        6..14 if !saturday => load.early,
        14..22 if !saturday => load.late,
        _ => 0.0,
    };
    (on, pattern)
}
