//! Water owed by each drain since the round before: vapour balance over the hours loaded, at the
//! weather of the two rounds.
//!
//! Must not know: kinds of finding.

use jiff::Timestamp;
use physics::quantity::Temperature;
use physics::working::{Formula, Mark, Step};
use station::forward::{Conditions, Health, Owed, Running, State, expect};
use station::model::{Asset, Station};
use station::point::{Point, PointId};
use station::round::Round;

use crate::context::Context;
use crate::day::{Day, Moment};
use crate::memory::Memory;
use crate::say::round;

const OWED: Formula = Formula {
    name: "water owed since the round before",
    equation: "L = Σ m_dry · (W_in − W_s(T, p)) · s · t_loaded",
    unit: "L",
    source: "mass balance of water; s is the share that the separator takes",
    mark: Mark::Derived,
};
/// What the weather did between two rounds, at one standard deviation (common practice, no source).
const BETWEEN_ROUNDS_K: f64 = 2.0;
const BETWEEN_ROUNDS_HUMIDITY: f64 = 0.08;
/// The balance's own error, as a share (common practice, no source).
const BALANCE_SIGMA: f64 = 0.1;
/// The same behind a cooler whose fan switches: what falls out there and what goes on to the vessel
/// depends on how long it was on (from memory).
const SWITCHING_SIGMA: f64 = 0.4;

/// Water that the drains of one place owe.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Debt {
    pub(crate) on: Asset,
    pub(crate) drains: Vec<usize>,
    /// Litres.
    pub(crate) litres: f64,
    pub(crate) sigma: f64,
    pub(crate) since: Timestamp,
    pub(crate) step: Step,
}

/// Between two rounds: their days, the earlier one's time and the hours that each machine was loaded.
struct Between {
    since: Timestamp,
    from: Day,
    to: Day,
    hours: Vec<f64>,
}

impl Between {
    fn of(station: &Station, memory: &Memory, round: &Round) -> Option<Self> {
        let mut earlier = memory.recent.iter().rev();
        let last = earlier.find(|r| r.time < round.time)?;
        Some(Self {
            since: last.time,
            hours: loaded_hours(station, memory, last.time, round.time)?,
            from: Day::of(station, memory, last).ok()?,
            to: Day::of(station, memory, round).ok()?,
        })
    }

    fn state(&self, station: &Station, warmer: f64, damper: f64) -> Option<State> {
        let conditions = between(station, &self.from, &self.to, &self.hours, warmer, damper);
        expect(station, &Health::new(station), &conditions).ok()
    }

    /// Litres that one place owes: each machine's air for its own loaded hours.
    fn litres(&self, state: &State, owed: &Owed) -> Option<f64> {
        // A place that no air passed owes nothing.
        let dry = state.place(owed.on).map_or(0.0, |place| place.dry_air.si());
        if dry <= 0.0 {
            return Some(0.0);
        }
        let machines = || state.machines.iter().flatten().map(|m| m.dry_air.si());
        let air: f64 = state
            .machines
            .iter()
            .zip(&self.hours)
            .filter_map(|(m, h)| Some(m.as_ref()?.dry_air.si() * h * 3600.0))
            .sum();
        let through = if let Asset::Machine(i) = owed.on {
            dry * self.hours.get(i)? * 3600.0
        } else {
            air * (dry / machines().sum::<f64>())
        };
        Some(owed.kg_s / dry * through)
    }
}

/// What a drain owes at a round since the round before: what is collected is written down round by
/// round.
pub(crate) fn debt(ctx: &Context<'_>, drain: usize, round: &Round) -> Option<Debt> {
    let station = ctx.station;
    let stretch = Between::of(station, ctx.memory, round)?;
    let on = station.drains.get(drain)?.on;
    let nothing = Owed {
        on,
        drains: station.drains_of(on).collect(),
        kg_s: 0.0,
        duty: 0.0,
    };
    let at = |warmer: f64, damper: f64| -> Option<(f64, Owed)> {
        let state = stretch.state(station, warmer, damper)?;
        let owed = state.owed.iter().find(|o| o.on == on).cloned();
        match owed {
            Some(owed) => Some((stretch.litres(&state, &owed)?, owed)),
            None => Some((0.0, nothing.clone())),
        }
    };
    let (litres, owed) = at(0.0, 0.0)?;
    let warmer = at(BETWEEN_ROUNDS_K, 0.0).map_or(0.0, |(l, _)| l - litres);
    let damper = at(0.0, BETWEEN_ROUNDS_HUMIDITY).map_or(0.0, |(l, _)| l - litres);
    let own = if station.machines.iter().any(|m| m.cooling.fan.switches()) {
        SWITCHING_SIGMA
    } else {
        BALANCE_SIGMA
    };
    let sigma = warmer.hypot(damper).hypot(own * litres).max(0.3);
    let (from, to) = (&stretch.from.conditions, &stretch.to.conditions);
    let step = OWED.step(
        format!(
            "{} h loaded by all machines since the round before, {:.0} °C and {} % outdoors in the mean",
            round_hours(&stretch.hours),
            0.5 * (from.ambient.celsius() + to.ambient.celsius()),
            round_percent(0.5 * (from.humidity + to.humidity)),
        ),
        litres,
    );
    Some(Debt {
        on: owed.on,
        drains: owed.drains,
        litres,
        sigma,
        since: stretch.since,
        step,
    })
}

fn round_hours(hours: &[f64]) -> String {
    round(hours.iter().sum(), 0)
}

fn round_percent(share: f64) -> String {
    round(share * 100.0, 0)
}

/// Hours loaded by each machine between two rounds, from its counter.
fn loaded_hours(
    station: &Station,
    memory: &Memory,
    from: Timestamp,
    to: Timestamp,
) -> Option<Vec<f64>> {
    let mut any = false;
    let mut hours = vec![0.0; station.machines.len()];
    for round in memory
        .recent
        .iter()
        .filter(|r| from < r.time && r.time <= to)
    {
        for (i, sum) in hours.iter_mut().enumerate() {
            let id = PointId {
                asset: Asset::Machine(i),
                point: Point::HoursLoaded,
            };
            if let Some(step) = round.counter_steps.iter().find(|s| s.id == id) {
                // Hours from before the round before can't be told from those since.
                if step.since < from {
                    return None;
                }
                any = true;
                *sum += step.increase;
            }
        }
    }
    any.then_some(hours)
}

/// The mean weather of two rounds, machines that had load on load.
fn between(
    station: &Station,
    from: &Day,
    to: &Day,
    hours: &[f64],
    warmer: f64,
    damper: f64,
) -> Conditions {
    let mean = |a: f64, b: f64| 0.5 * (a + b);
    let machines = hours
        .iter()
        .enumerate()
        .map(|(i, h)| {
            let mut run = if to.moments[i] == Moment::Stopped {
                Running::at_duty(station, i, 1.0)
            } else {
                to.conditions.machines[i]
            };
            if *h <= 0.0 {
                run.duty = 0.0;
            } else {
                run.duty = run.duty.max(0.1);
            }
            run
        })
        .collect();
    let room = |day: &Day| day.conditions.room.map(Temperature::si);
    Conditions {
        ambient: Temperature::new(
            mean(from.conditions.ambient.si(), to.conditions.ambient.si()) + warmer,
        ),
        humidity: (mean(from.conditions.humidity, to.conditions.humidity) + damper)
            .clamp(0.02, 1.0),
        atmosphere: to.conditions.atmosphere,
        room: room(from)
            .zip(room(to))
            .map(|(a, b)| Temperature::new(mean(a, b) + warmer)),
        machines,
        demand: to.conditions.demand,
    }
}
