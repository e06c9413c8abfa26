//! What each machine carried in the last quarter of an hour, which its oil remembers: by what the
//! others did at that moment, by the flow, and by counters.
//!
//! Machines that share a line share the work unevenly: while several run, all but one are on load
//! without a break, and one trims (common practice, no source). So a machine that is on load beside
//! one that is not was on load all the time; the day's duty, a mean over both, says too little of
//! that moment.
//!
//! Must not know: temperatures, findings.

use physics::air::{dry_air_mass_flow, reference_air};
use physics::quantity::TemperatureDifference;
use station::forward::{Conditions, Inputs, Intake};
use station::model::{Asset, Control, Station};
use station::round::Round;

use crate::day::{DutyFrom, Moment};
use crate::memory::{Hours, Memory};

/// How far the load of the last quarter of an hour strays from the duty of the last day, at one
/// standard deviation (common practice, no source).
const STRAYS: f64 = 0.17;
/// The same of a machine that another relieves of trimming, and by the header's flow of the moment
/// (common practice, no source).
const FULL_STRAYS: f64 = 0.015;
const BY_FLOW_STRAYS: f64 = 0.08;
/// With the plant at rest only leaks take air, and the duty of a working day says nothing of it: what a
/// machine carries then, and how far that strays (common practice, no source).
const RESTING: Recent = Recent {
    load: 0.3,
    sigma: 0.2,
};
/// A machine whose duty is so much lower than the others' is the one that trims (common practice, no
/// source).
const SURELY_LOWER: f64 = 0.15;
/// Counters show whole hours: of fewer they say too little.
const ENOUGH_HOURS: f64 = 4.0;
/// Hours that a machine ran alone must come to so many for counters to tell what it carried then.
const ALONE_HOURS: f64 = 8.0;
/// Days that counters are looked at for it.
const ALONE_DAYS: f64 = 30.0;
/// Counters of so many days tell what a machine usually carries, if it ran so many hours.
const USUAL_DAYS: f64 = 14.0;
const USUAL_HOURS: f64 = 20.0;
/// A machine that is on load now has carried so much of late, at least.
const LEAST: f64 = 0.05;

/// What one machine carried of late, 0…1, and how uncertain that is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Recent {
    pub(crate) load: f64,
    pub(crate) sigma: f64,
}

/// What is known of a round besides one machine's own readings.
pub(crate) struct Beside<'a> {
    pub(crate) station: &'a Station,
    pub(crate) memory: &'a Memory,
    pub(crate) round: &'a Round,
    pub(crate) conditions: Conditions,
    pub(crate) moments: &'a [Moment],
    pub(crate) duty_from: &'a [DutyFrom],
    pub(crate) working: Option<bool>,
}

impl Beside<'_> {
    /// The conditions with what each machine carried of late, and what goes down the line at this
    /// moment where no meter tells it: m³/s of reference air, and how uncertain that is as a share.
    pub(crate) fn settle(mut self, inputs: &mut Inputs) -> (Conditions, Option<(f64, f64)>) {
        let recent: Vec<Option<Recent>> = (0..self.moments.len()).map(|i| self.recent(i)).collect();
        for (i, recent) in recent.into_iter().enumerate() {
            if let Some(recent) = recent {
                self.conditions.machines[i].recent_load = recent.load;
                inputs.recent_load[i] = recent.sigma;
            }
        }
        let flows = self.flowing(inputs);
        (self.conditions, flows)
    }

    /// What a machine carried of late; `None` where nothing better is known than what was taken.
    fn recent(&self, i: usize) -> Option<Recent> {
        let cycles = matches!(self.station.machines[i].control, Control::LoadUnload(_));
        let told = matches!(
            self.duty_from[i],
            DutyFrom::Watch | DutyFrom::Log | DutyFrom::Speed | DutyFrom::Stated
        );
        if !cycles || told || self.moments[i] != Moment::Loaded {
            return None;
        }
        let duty = self.conditions.machines[i].duty;
        let others = self.others(i);
        if others.iter().any(|&j| self.moments[j] == Moment::Unknown) {
            return None;
        }
        let full = Recent {
            load: 1.0,
            sigma: FULL_STRAYS,
        };
        // How surely another trims.
        let relieved = self.relieved(i, &others);
        let trims = self.trimming(i, &others, duty);
        Some(Recent {
            load: relieved * full.load + (1.0 - relieved) * trims.load,
            sigma: (relieved * full.sigma * full.sigma
                + (1.0 - relieved) * trims.sigma * trims.sigma
                + relieved * (1.0 - relieved) * (full.load - trims.load).powi(2))
            .sqrt(),
        })
    }

    /// What goes down the line: what each machine carries. `None` where a machine's state was not read.
    fn flowing(&self, inputs: &Inputs) -> Option<(f64, f64)> {
        let (mut sum, mut variance) = (0.0, 0.0);
        for i in 0..self.moments.len() {
            let own = match self.moments[i] {
                Moment::Stopped => continue,
                Moment::Unknown => return None,
                Moment::Loaded | Moment::Unloaded => self.carries(i, inputs),
            };
            let delivers = self.delivers(i)?;
            sum += own.load * delivers;
            variance += (own.sigma * delivers).powi(2);
        }
        (sum > 0.0).then(|| (sum, variance.sqrt() / sum))
    }

    /// What a machine that turns carries.
    fn carries(&self, i: usize, inputs: &Inputs) -> Recent {
        let run = &self.conditions.machines[i];
        match self.station.machines[i].control {
            Control::VariableSpeed { .. } => Recent {
                load: run.duty,
                sigma: inputs.speed[i],
            },
            Control::LoadUnload(_) if self.moments[i] == Moment::Loaded => Recent {
                load: run.recent_load,
                sigma: inputs.recent_load[i],
            },
            _ => self.trimming(i, &self.others(i), run.duty),
        }
    }

    /// The machines that turn beside it.
    fn others(&self, i: usize) -> Vec<usize> {
        (0..self.moments.len())
            .filter(|&j| j != i && self.moments[j] != Moment::Stopped)
            .collect()
    }

    /// How sure it is that another machine trims, 0…1.
    fn relieved(&self, i: usize, others: &[usize]) -> f64 {
        let varies = |j: &&usize| {
            matches!(
                self.station.machines[**j].control,
                Control::VariableSpeed { .. } | Control::Modulating(_)
            )
        };
        if others.iter().any(|&j| self.moments[j] == Moment::Unloaded)
            || others.iter().any(|j| varies(&j))
        {
            return 1.0;
        }
        // All are on load: the one whose duty is lowest trims.
        let duties = others.iter().map(|&j| self.lately(j));
        let lowest = duties.fold(f64::INFINITY, f64::min);
        if lowest.is_infinite() {
            return 0.0;
        }
        (0.5 + 0.5 * (self.lately(i) - lowest) / SURELY_LOWER).clamp(0.0, 1.0)
    }

    /// Hours on load over hours run since the round before, or, where that is short, of the last
    /// week.
    fn lately(&self, i: usize) -> f64 {
        let machine = Asset::Machine(i);
        let enough = |h: &Hours| h.run >= ENOUGH_HOURS;
        Hours::of(self.round, machine)
            .filter(enough)
            .or_else(|| self.memory.hours(machine, self.round.time, 7.0))
            .filter(enough)
            .map_or(self.conditions.machines[i].duty, |h| h.loaded / h.run)
    }

    /// What a machine carried of late if it trims.
    fn trimming(&self, i: usize, others: &[usize], duty: f64) -> Recent {
        if let Some(load) = self.by_flow(i, others) {
            return Recent {
                load,
                sigma: BY_FLOW_STRAYS,
            };
        }
        if self.working == Some(false) {
            return RESTING;
        }
        let alone = others.is_empty().then(|| self.alone(i)).flatten();
        let load = alone.or_else(|| self.usual(i)).unwrap_or(duty);
        Recent {
            load,
            sigma: STRAYS.min(0.6 * (1.0 - load) + 0.03),
        }
    }

    /// Hours on load over hours run of the last weeks: one day's counters show whole hours, and of
    /// another day's demand.
    fn usual(&self, i: usize) -> Option<f64> {
        let hours = self
            .memory
            .hours(Asset::Machine(i), self.round.time, USUAL_DAYS)
            .filter(|h| h.run >= USUAL_HOURS)?;
        Some((hours.loaded / hours.run).clamp(LEAST, 1.0))
    }

    /// What is left for it of the flow of the moment.
    fn by_flow(&self, i: usize, others: &[usize]) -> Option<f64> {
        let demand = self.conditions.demand?.si();
        if self.station.headers.len() != 1 {
            return None;
        }
        let by_others: f64 = others
            .iter()
            .map(|&j| self.delivers(j))
            .sum::<Option<f64>>()?;
        let load = (demand - by_others) / self.delivers(i)?;
        Some(load.clamp(LEAST, 1.0))
    }

    /// What a machine delivers on load by its plate, m³/s of reference air.
    fn delivers(&self, i: usize) -> Option<f64> {
        let c = &self.conditions;
        let intake = Intake::of(c).ok()?;
        let warmer = TemperatureDifference::new(self.station.room.assumed_rise.value.si());
        let room = c.room.unwrap_or(c.ambient + warmer);
        let rated = self.station.machines[i].rated.fad.value;
        let mass = dry_air_mass_flow(rated, room, intake.humidity_ratio, c.atmosphere).ok()?;
        Some(reference_air(mass).si())
    }

    /// What a machine carried while it ran alone: its hours on load less those when another ran, in
    /// which it was on load all the time.
    fn alone(&self, i: usize) -> Option<f64> {
        let hours = |j: usize| {
            let hours = self
                .memory
                .hours(Asset::Machine(j), self.round.time, ALONE_DAYS);
            hours.filter(|h: &Hours| h.run > 0.0)
        };
        let own = hours(i)?;
        let beside: f64 = (0..self.moments.len())
            .filter(|&j| j != i)
            .filter_map(hours)
            .map(|h| h.run)
            .sum();
        // Where no other ran, the duty says it already.
        let alone = (beside > 1.0).then_some(own.run - beside)?;
        (alone > ALONE_HOURS).then(|| ((own.loaded - beside) / alone).clamp(0.1, 1.0))
    }
}
