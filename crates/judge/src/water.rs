//! Water owed by each drain since the round before: vapour balance over the hours loaded, at the
//! weather of the two rounds.
//!
//! Must not know: kinds of finding.

use jiff::Timestamp;
use physics::air::Formulation;
use physics::quantity::Temperature;
use physics::solve::bracketed_root;
use physics::working::{Formula, Mark, Step};
use station::forward::{
    Conditions, Health, Intake, MachineHealth, Owed, Running, State, expect, machine_state,
};
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

/// An outlet stands so far off the model by itself; what it is hotter than that is what its water and its
/// dryer get, K (from memory).
const OWN_K: f64 = 3.0;
/// An aftercooler that cools less than this share is as good as none.
const LEAST_COOLING: f64 = 0.02;

/// A share of the aftercooler's transfer that is known so well is known enough.
const COOLING_KNOWN: f64 = 0.03;

/// The health that gives the outlets nearly as they were read, where any is hotter than in `state`, which is as
/// new: hot air keeps its water, wherever the heat comes from. `None` where none is.
pub(crate) fn by_its_outlets(
    station: &Station,
    day: &Day,
    round: &Round,
    state: &State,
) -> Option<Health> {
    let mut health = Health::new(station);
    let mut any = false;
    let intake = Intake::of(&day.conditions).ok()?;
    for i in 0..station.machines.len() {
        let steady = day.moments[i] == Moment::Loaded
            && !day.warming_up[i]
            && !station.machines[i].cooling.fan.switches();
        let (Some(machine), true) = (&state.machines[i], steady) else {
            continue;
        };
        let Some(read) = round.number(Asset::Machine(i), Point::OutletTemperature) else {
            continue;
        };
        let hot = read - OWN_K;
        if hot <= machine.outlet.si() {
            continue;
        }
        let cools = bracketed_root("cooling as read", LEAST_COOLING, 1.0, COOLING_KNOWN, |k| {
            if k >= 1.0 {
                return Ok(machine.outlet.si() - hot);
            }
            let found = MachineHealth {
                aftercooler: k,
                ..MachineHealth::NEW
            };
            let state = machine_state(station, i, &found, &day.conditions, &intake, state.room);
            Ok(state.map_err(|refused| refused.why)?.outlet.si() - hot)
        });
        health.machines[i].aftercooler = cools.unwrap_or(LEAST_COOLING);
        any = true;
    }
    any.then_some(health)
}

/// What falls out in a vessel because it cools the air by itself is known this badly, as a share: its walls'
/// transfer is (from memory).
const BY_ITS_WALLS: f64 = 0.5;

/// How badly it is known what a place owes, as a share of it, since some of it falls out at a vessel's walls:
/// what comes in as vapour and does not leave as such.
pub(crate) fn by_its_walls(state: &State, owed: &Owed) -> f64 {
    let place = state.place(owed.on).filter(|p| p.dry_air.si() > 0.0);
    let (Asset::Vessel(_), Some(place), true) = (owed.on, place, owed.kg_s > 0.0) else {
        return 0.0;
    };
    let pressure = place.pressure.absolute(state.atmosphere);
    let most = Formulation::REAL.saturated_humidity_ratio(place.inlet_temperature, pressure);
    let falls = place.falls_kg_s / place.dry_air.si();
    let water = place.humidity_ratio + falls;
    let vapour = most.map_or(water, |most| water.min(most));
    let at_walls = (vapour - place.humidity_ratio).clamp(0.0, falls) * place.dry_air.si();
    BY_ITS_WALLS * (at_walls / owed.kg_s).min(1.0)
}

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
    /// As the outlets say, where one is hotter than new.
    hot: Option<Health>,
}

impl Between {
    fn of(station: &Station, memory: &Memory, round: &Round) -> Option<Self> {
        let mut earlier = memory.recent.iter().rev();
        let last = earlier.find(|r| r.time < round.time)?;
        let to = Day::of(station, memory, round).ok()?;
        let new = expect(station, &Health::new(station), &to.conditions).ok();
        let hot = new.and_then(|state| by_its_outlets(station, &to, round, &state));
        Some(Self {
            since: last.time,
            hours: loaded_hours(station, memory, last.time, round.time)?,
            from: Day::of(station, memory, last).ok()?,
            to,
            hot,
        })
    }

    fn state(&self, station: &Station, warmer: f64, damper: f64) -> Option<State> {
        let conditions = between(station, &self.from, &self.to, &self.hours, warmer, damper);
        let new = || Health::new(station);
        let health = self.hot.clone().unwrap_or_else(new);
        expect(station, &health, &conditions).ok()
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
    let at = |warmer: f64, damper: f64| -> Option<(f64, Owed, f64)> {
        let state = stretch.state(station, warmer, damper)?;
        let owed = state.owed.iter().find(|o| o.on == on).cloned();
        match owed {
            Some(owed) => {
                let litres = stretch.litres(&state, &owed)?;
                let walls = by_its_walls(&state, &owed);
                Some((litres, owed, walls))
            }
            None => Some((0.0, nothing.clone(), 0.0)),
        }
    };
    let (litres, owed, walls) = at(0.0, 0.0)?;
    let warmer = at(BETWEEN_ROUNDS_K, 0.0).map_or(0.0, |(l, ..)| l - litres);
    let damper = at(0.0, BETWEEN_ROUNDS_HUMIDITY).map_or(0.0, |(l, ..)| l - litres);
    let own = if station.machines.iter().any(|m| m.cooling.fan.switches()) {
        SWITCHING_SIGMA
    } else {
        BALANCE_SIGMA
    };
    let sigma = warmer
        .hypot(damper)
        .hypot(own.hypot(walls) * litres)
        .max(0.3);
    let (from, to) = (&stretch.from.conditions, &stretch.to.conditions);
    let step = OWED.step(
        format!(
            "{} h loaded by all machines since the round before, {:.0} °C and {} % outdoors in the mean{}",
            round_hours(&stretch.hours),
            0.5 * (from.ambient.celsius() + to.ambient.celsius()),
            round_percent(0.5 * (from.humidity + to.humidity)),
            match stretch.hot {
                Some(_) => "; hot outlets as they were read",
                None => "",
            },
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
