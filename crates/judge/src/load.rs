//! What each machine carried in the last quarter of an hour, which its oil remembers: by what the
//! others did at that moment, by the flow, and by counters.
//!
//! Machines that share a line share the work unevenly: while several are needed, all but one are on
//! load without a break, and one trims (common practice, no source). So the day's duty, a mean over
//! hours of trimming and hours of none, says too little of one moment. A meter tells most, then that
//! the plant rests, then what the others do; a machine that turns unloaded may also only be running
//! on, so what the counters of both say weighs in.
//!
//! Must not know: temperatures, findings.

use physics::air::{dry_air_mass_flow, reference_air};
use physics::quantity::{GaugePressure, TemperatureDifference};
use station::forward::{Conditions, Inputs, Intake};
use station::model::{Asset, Control, Dryer, DryerKind, Station};
use station::round::Round;

use crate::day::{DutyFrom, Moment};
use crate::memory::{Hours, Memory};

/// How far the load of the last quarter of an hour strays from the duty of the last day, at one
/// standard deviation; a machine that is nearly always on load strays less, by this share of what it
/// is short of that, and this much (common practice, no source).
const STRAYS: f64 = 0.17;
const STRAYS_SHORT: (f64, f64) = (0.6, 0.03);
/// The same of a machine that another relieves of trimming for sure (common practice, no source).
const FULL_STRAYS: f64 = 0.015;
/// The same by the header's flow of the moment (common practice, no source).
const BY_FLOW_STRAYS: f64 = 0.08;
/// How sure it is that a machine trims that turns unloaded, before counters speak: it may run on before
/// it stops (common practice, no source).
const UNLOADED_TRIMS: f64 = 0.75;
/// A flow below this share of what one machine delivers is carried by it alone (common practice, no
/// source).
const FULL_LOAD: f64 = 0.9;
/// A machine of variable speed below this trims (common practice, no source).
const FULL_SPEED: f64 = 0.95;
/// With the plant at rest and no meter read: only leaks take air, and the duty of a working day says
/// nothing of it. What a machine carries then, and how far that strays (common practice, no source).
const RESTING: Recent = Recent {
    load: 0.3,
    sigma: 0.2,
};
/// A machine whose duty is so much lower than the others' is the one that trims (common practice, no
/// source).
const SURELY_LOWER: f64 = 0.15;
/// Counters show whole hours: of fewer they say too little (common practice, no source).
const ENOUGH_HOURS: f64 = 4.0;
/// Hours that a machine ran alone must come to so many for counters to tell what it carried then, and
/// the days that are looked at for it (common practice, no source).
const ALONE_HOURS: f64 = 8.0;
const ALONE_DAYS: f64 = 30.0;
/// Counters of so many days tell what a machine usually carries, if it ran so many hours (common
/// practice, no source).
const USUAL_DAYS: f64 = 14.0;
const USUAL_HOURS: f64 = 20.0;
/// Days of which the rounds tell whether machines pass the trimming on to each other (common practice, no
/// source).
const TURNS_DAYS: f64 = 60.0;
/// So many rounds' worth of belief that they do not (from memory).
const TURNS_BELIEF: f64 = 2.0;
/// A machine that is on load now has carried so much of late, at least (common practice, no source).
const LEAST: f64 = 0.05;

/// What one machine carried of late, 0…1, and how uncertain that is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Recent {
    pub(crate) load: f64,
    pub(crate) sigma: f64,
}

/// How machines take turns.
struct Turns {
    /// How likely they are to have changed places since the round before.
    passes: f64,
    /// Hours of the rounds after which it had carried less than the others.
    lower: Hours,
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
        for i in 0..self.moments.len() {
            self.conditions.machines[i].recent_pressure = self.swung_about(i);
        }
        let flows = self.flowing(inputs);
        (self.conditions, flows)
    }

    /// The pressure about which a machine's outlet has swung of late, since a cycle is shorter than what its
    /// oil remembers: the middle of the lowest band of those on load, and more or less by as much as was read
    /// outside of every band. `None` where a machine on load that does not cycle holds the pressure.
    fn swung_about(&self, i: usize) -> Option<GaugePressure> {
        let on = |moment| (0..self.moments.len()).filter(move |j| self.moments[*j] == moment);
        let band = |j: usize| match &self.station.machines[j].control {
            Control::LoadUnload(b) | Control::StartStop(b) => Some((b.load.si(), b.unload.si())),
            Control::Modulating(_) | Control::VariableSpeed { .. } => None,
        };
        let loaded: Vec<(f64, f64)> = on(Moment::Loaded).map(band).collect::<Option<_>>()?;
        let unloaded: Vec<(f64, f64)> = on(Moment::Unloaded).filter_map(band).collect();
        let (load, unload) = loaded.iter().min_by(|a, b| a.0.total_cmp(&b.0))?;
        let all = || loaded.iter().chain(&unloaded);
        let low = all().map(|b| b.0).fold(f64::INFINITY, f64::min);
        let high = all().map(|b| b.1).fold(f64::NEG_INFINITY, f64::max);
        let read = self.conditions.machines[i].pressure.si();
        let outside = (read - high).max(0.0) + (read - low).min(0.0);
        Some(GaugePressure::new(0.5 * (load + unload) + outside))
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
        // Where all that flows is less than it delivers, or the plant rests, whatever else turns
        // unloaded only runs on.
        let runs_on = others.iter().all(|&j| self.moments[j] == Moment::Unloaded)
            && (self.by_flow(i, &[]).is_some_and(|load| load < FULL_LOAD)
                || self.working == Some(false));
        let (relieved, others) = if runs_on {
            (0.0, Vec::new())
        } else {
            (self.relieved(i, &others), others)
        };
        let turns = self.turns(i, &others);
        let trims = self.trimming(i, &others, duty, &turns);
        // What the counters tell is of the time before this round: the lead may have passed on since. What
        // is likelier is expected; how far it may be off grows.
        let passed = turns.passes;
        let relieved = if passed > 0.5 {
            1.0 - relieved
        } else {
            relieved
        };
        let passed = passed.min(1.0 - passed);
        let either = relieved * (1.0 - passed) + (1.0 - relieved) * passed;
        let mixed = either * (1.0 - either);
        Some(Recent {
            load: relieved * full.load + (1.0 - relieved) * trims.load,
            sigma: (relieved * full.sigma * full.sigma
                + (1.0 - relieved) * trims.sigma * trims.sigma
                + mixed * (full.load - trims.load).powi(2))
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
            Control::VariableSpeed { .. } if self.moments[i] == Moment::Unloaded => Recent {
                load: 0.0,
                sigma: 0.0,
            },
            Control::VariableSpeed { .. } => Recent {
                load: run.duty,
                sigma: inputs.speed[i],
            },
            Control::LoadUnload(_) if self.moments[i] == Moment::Loaded => Recent {
                load: run.recent_load,
                sigma: inputs.recent_load[i],
            },
            _ => {
                let others = self.others(i);
                self.trimming(i, &others, run.duty, &self.turns(i, &others))
            }
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
        let machines = &self.conditions.machines;
        let follows = |j: &usize| {
            let varies = matches!(
                self.station.machines[*j].control,
                Control::VariableSpeed { .. } | Control::Modulating(_)
            );
            varies && self.moments[*j] == Moment::Loaded && machines[*j].duty < FULL_SPEED
        };
        let unloaded = |j: &usize| self.moments[*j] == Moment::Unloaded;
        if others.is_empty() {
            return 0.0;
        }
        // The machine whose share of hours on load is lower trims, where counters tell both.
        let lowest = others
            .iter()
            .filter_map(|&j| self.lately(j))
            .reduce(f64::min);
        let higher = self
            .lately(i)
            .zip(lowest)
            .map_or(0.0, |(own, low)| own - low);
        let by_counters = 0.5 * higher / SURELY_LOWER;
        let before = if others.iter().any(|j| follows(j) || unloaded(j)) {
            UNLOADED_TRIMS
        } else {
            0.5
        };
        (before + by_counters).clamp(0.0, 1.0)
    }

    /// How often a machine passed from above the lowest of those beside it to below, or back, from round to
    /// round, and what it carried while it was below.
    fn turns(&self, i: usize, others: &[usize]) -> Turns {
        let share = |round: &Round, j: usize| {
            let hours = Hours::of(round, Asset::Machine(j))?;
            (hours.run >= ENOUGH_HOURS).then(|| (hours.loaded / hours.run, hours))
        };
        let (mut changes, mut pairs, mut lower) = (0_usize, 0_usize, Hours::default());
        let mut later: Option<bool> = None;
        // One that runs alone takes turns with nobody.
        let days = if others.is_empty() { 0.0 } else { TURNS_DAYS };
        for round in self.memory.back(self.round.time, days) {
            let lowest = others
                .iter()
                .filter_map(|&j| share(round, j))
                .map(|(s, _)| s);
            let Some(((own, hours), lowest)) = share(round, i).zip(lowest.reduce(f64::min)) else {
                continue;
            };
            if (own - lowest).abs() < SURELY_LOWER {
                continue;
            }
            let leads = own > lowest;
            if !leads {
                lower.run += hours.run;
                lower.loaded += hours.loaded;
            }
            pairs += usize::from(later.is_some());
            changes += usize::from(later.is_some_and(|then| then != leads));
            later = Some(leads);
        }
        Turns {
            passes: changes as f64 / (pairs as f64 + TURNS_BELIEF),
            lower,
        }
    }

    /// Hours on load over hours run since the round before, or, where that is short, of the last
    /// week.
    fn lately(&self, i: usize) -> Option<f64> {
        let machine = Asset::Machine(i);
        let enough = |h: &Hours| h.run >= ENOUGH_HOURS;
        Hours::of(self.round, machine)
            .filter(enough)
            .or_else(|| self.memory.hours(machine, self.round.time, 7.0))
            .filter(enough)
            .map(|h| h.loaded / h.run)
    }

    /// What a machine carried of late if it trims.
    fn trimming(&self, i: usize, others: &[usize], duty: f64, turns: &Turns) -> Recent {
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
        let in_turn = || {
            let told = turns.passes > 0.0 && turns.lower.run >= USUAL_HOURS;
            told.then(|| (turns.lower.loaded / turns.lower.run).clamp(LEAST, 1.0))
        };
        let load = alone
            .or_else(in_turn)
            .or_else(|| self.usual(i))
            .unwrap_or(duty);
        Recent {
            load,
            sigma: STRAYS.min(STRAYS_SHORT.0 * (1.0 - load) + STRAYS_SHORT.1),
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
        // What is blown off before the meter, or drawn by machines that do not cycle, is not known.
        let purges = |d: &Dryer| matches!(d.kind, DryerKind::Desiccant { .. });
        let cycles = |j: &usize| {
            matches!(
                self.station.machines[*j].control,
                Control::LoadUnload(_) | Control::StartStop(_)
            )
        };
        let plain = self.station.headers.len() == 1
            && !self.station.dryers.iter().any(purges)
            && others.iter().all(cycles);
        if !plain {
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

    /// What a machine carried while it ran alone: from round to round its hours on load less those when
    /// another ran, in which it was on load all the time. Rounds of which that cannot be so are left
    /// out.
    fn alone(&self, i: usize) -> Option<f64> {
        let (mut alone, mut loaded, mut beside_any) = (0.0, 0.0, false);
        for round in self.memory.back(self.round.time, ALONE_DAYS) {
            let Some(own) = Hours::of(round, Asset::Machine(i)) else {
                continue;
            };
            let same = |h: &Hours| (h.days - own.days).abs() < 1e-6;
            let others: Option<f64> = (0..self.moments.len())
                .filter(|&j| j != i)
                .map(|j| {
                    Hours::of(round, Asset::Machine(j))
                        .filter(same)
                        .map(|h| h.run)
                })
                .sum();
            let Some(beside) = others.filter(|b| *b < own.run && *b <= own.loaded) else {
                continue;
            };
            beside_any |= beside > 0.0;
            alone += own.run - beside;
            loaded += own.loaded - beside;
        }
        // Where no other ran, the duty says it already.
        (beside_any && alone > ALONE_HOURS).then(|| (loaded / alone).clamp(LEAST, 1.0))
    }
}
