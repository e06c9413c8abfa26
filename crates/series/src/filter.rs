//! The filter: level and drift with their uncertainty, from irregular readings of unequal worth.
//!
//! Robust in two ways. A reading beyond `huber` deviations counts for less. One beyond `gate`
//! deviations is a suspect: it is kept apart, and two hypotheses run side by side, *misread* and
//! *the level has stepped*, until the readings that follow decide.
//!
//! Must not know: what is measured, and what healthy means.

use core::f64::consts::PI;

use crate::motion::{Belief, Motion};
use crate::refusal::{Answer, DAY, Range, SIGMA, VALUE, check_count, check_order};
use crate::robust::huber_weight;
use crate::smooth::{Trail, Visit};

const HUBER: Range = Range::new("Huber's bound", 0.5, f64::INFINITY);
const GATE: Range = Range::new("gate", 1.0, f64::INFINITY);
const MISREADS: Range = Range::new("share of misreads", 1.0e-6, 0.5);
const ODDS: Range = Range::new("log odds", -50.0, 50.0);
const DECIDE: Range = Range::new("log odds that decide", 0.1, 50.0);

/// One reading: when, what, and how good.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Days since the epoch.
    pub day: f64,
    /// The value read, in the unit of the level.
    pub value: f64,
    /// Its standard deviation as far as it differs from reading to reading, same unit.
    pub sigma: f64,
}

impl Reading {
    /// Checks the three numbers.
    pub fn check(self) -> Answer<Self> {
        DAY.check(self.day)?;
        VALUE.check(self.value)?;
        SIGMA.check(self.sigma)?;
        Ok(self)
    }
}

/// How wary the filter is of single readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wariness {
    /// Beyond this many deviations a reading counts for less (bounded influence).
    pub huber: f64,
    /// Beyond this many deviations a reading is a suspect and waits.
    pub gate: f64,
    /// Share of readings that are misread, for the hypotheses' likelihoods.
    pub misreads: f64,
    /// Log odds, before any later reading, that a suspect is a step and not a misread.
    pub step_log_odds: f64,
    /// Log odds at which a hypothesis wins.
    pub decide: f64,
    /// Readings after which an undecided suspect is dropped.
    pub patience: usize,
}

impl Wariness {
    /// The usual choice (from memory, tested by simulation): one misread in 50, a misread 50
    /// times likelier than a step, so that two later readings must agree with a step.
    pub const USUAL: Self = Self {
        huber: 2.0,
        gate: 4.0,
        misreads: 0.02,
        step_log_odds: -3.9,
        decide: 3.0,
        patience: 6,
    };

    /// Every reading is taken at its word: the plain Kalman filter.
    pub const NONE: Self = Self {
        huber: f64::INFINITY,
        gate: f64::INFINITY,
        ..Self::USUAL
    };

    fn check(self) -> Answer<Self> {
        HUBER.check(self.huber)?;
        GATE.check(self.gate)?;
        MISREADS.check(self.misreads)?;
        ODDS.check(self.step_log_odds)?;
        DECIDE.check(self.decide)?;
        check_count("readings of patience", self.patience, 1, 100)?;
        Ok(self)
    }
}

/// What became of a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Verdict {
    /// It was taken in.
    Taken,
    /// It lies beyond the gate and waits for the readings that follow.
    Suspect,
    /// It lies beyond the gate while another suspect waits, and agrees with neither hypothesis:
    /// left out.
    LeftOut,
    /// It was taken in and settled that the suspect of this day was a misread.
    WasMisread {
        /// The suspect's day.
        day: f64,
    },
    /// It was taken in and settled that the level stepped at the suspect of this day.
    Stepped {
        /// The suspect's day.
        day: f64,
        /// The step that the readings give, unit.
        size: f64,
    },
}

/// The filter's answer to one reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Update {
    /// Reading minus prediction, in deviations of that difference.
    pub surprise: f64,
    /// The weight given, 1 in full, 0 for none.
    pub weight: f64,
    /// What became of it.
    pub verdict: Verdict,
}

/// Level and drift, followed through readings.
///
/// Prediction by [`Motion`]; update K = P Hᵀ/(P₀₀ + R), H = (1, 0), R = σ²/w with Huber's weight
/// w = min(1, c/|u|), u = (z − l)/√(P₀₀ + σ²).
///
/// # Validity
/// Readings in order of time, any gap, several of one time allowed; errors independent from
/// reading to reading (a fixed error of the gauge belongs to the healthy level, not here).
///
/// # Source
/// R. E. Kalman, *Journal of Basic Engineering* 82 (1960) 35–45; A. C. Harvey 1989; P. J. Huber,
/// *Robust Statistics*, 1981. The two hypotheses: Bayes' rule; their odds are from memory.
#[derive(Debug, Clone, PartialEq)]
pub struct Filter {
    motion: Motion,
    wariness: Wariness,
    track: Track,
    pending: Option<Pending>,
}

/// One hypothesis: a belief, how well it foretold, and the way it came.
#[derive(Debug, Clone, PartialEq)]
struct Track {
    belief: Belief,
    log_likelihood: f64,
    trail: Trail,
}

/// The hypothesis that the level stepped.
#[derive(Debug, Clone, PartialEq)]
struct Pending {
    suspect: Reading,
    size: f64,
    track: Track,
    log_odds: f64,
    waited: usize,
}

/// A reading seen from one hypothesis.
struct Look {
    visit: Visit,
    innovation: f64,
    variance: f64,
}

impl Look {
    fn surprise(&self) -> f64 {
        self.innovation / self.variance.sqrt()
    }

    /// ln of the density of the reading when a share of readings is misread, with the spread
    /// `broad`.
    fn log_density(&self, misreads: f64, broad: f64) -> f64 {
        let good = log_normal(self.innovation, self.variance) + (1.0 - misreads).ln();
        let bad = log_normal(self.innovation, self.variance + broad * broad) + misreads.ln();
        let top = good.max(bad);
        top + ((good - top).exp() + (bad - top).exp()).ln()
    }
}

fn log_normal(innovation: f64, variance: f64) -> f64 {
    -0.5 * ((2.0 * PI * variance).ln() + innovation * innovation / variance)
}

impl Track {
    fn look(&self, motion: &Motion, reading: &Reading) -> Look {
        let step = motion.step(reading.day - self.belief.day);
        let predicted = self.belief.after(reading.day, &step);
        Look {
            visit: Visit {
                step,
                predicted,
                filtered: predicted,
            },
            innovation: reading.value - predicted.level,
            variance: predicted.level_variance + reading.sigma * reading.sigma,
        }
    }

    /// Moves on to the reading's day without its value.
    fn pass(&mut self, look: &Look) {
        self.belief = look.visit.predicted;
        self.trail.push(look.visit);
    }

    /// Takes the reading in; returns the weight given.
    fn take(&mut self, look: &Look, reading: &Reading, huber: f64) -> f64 {
        let weight = huber_weight(look.surprise(), huber);
        let variance = reading.sigma * reading.sigma / weight;
        let predicted = look.visit.predicted;
        self.belief = predicted.with(reading.value, variance);
        self.log_likelihood += log_normal(look.innovation, predicted.level_variance + variance);
        self.trail.push(Visit {
            filtered: self.belief,
            ..look.visit
        });
        weight
    }

    /// Takes it in if it lies within the gate, else passes it by.
    fn take_or_pass(&mut self, look: &Look, reading: &Reading, wariness: &Wariness) -> f64 {
        if look.surprise().abs() <= wariness.gate {
            self.take(look, reading, wariness.huber)
        } else {
            self.pass(look);
            0.0
        }
    }
}

impl Filter {
    /// Starts from a belief; `window` readings are kept to look back on, 2 to 4096.
    pub fn new(start: Belief, motion: Motion, wariness: Wariness, window: usize) -> Answer<Self> {
        let start = start.check()?;
        Ok(Self {
            motion: motion.check()?,
            wariness: wariness.check()?,
            track: Track {
                belief: start,
                log_likelihood: 0.0,
                trail: Trail::new(
                    check_count("readings to look back on", window, 2, 4096)?,
                    start,
                ),
            },
            pending: None,
        })
    }

    /// What is believed on the day of the last reading.
    pub fn belief(&self) -> Belief {
        self.track.belief
    }

    /// What is believed about a later day.
    pub fn belief_at(&self, day: f64) -> Answer<Belief> {
        self.track.belief.at(day, &self.motion)
    }

    /// The law of motion.
    pub fn motion(&self) -> Motion {
        self.motion
    }

    /// Sum of the log densities of the readings taken in, each with the variance it was given.
    pub fn log_likelihood(&self) -> f64 {
        self.track.log_likelihood
    }

    /// The suspect that waits, if any.
    pub fn suspect(&self) -> Option<Reading> {
        self.pending.as_ref().map(|pending| pending.suspect)
    }

    /// The last readings' beliefs, each in the light of all later ones, oldest first.
    pub fn smoothed(&self) -> Vec<Belief> {
        self.track.trail.smoothed()
    }

    /// Takes in one reading. A point that was not read needs no call.
    ///
    /// # Errors
    /// A reading that is no number, or of a day before the last; nothing is changed then.
    pub fn update(&mut self, reading: Reading) -> Answer<Update> {
        let reading = reading.check()?;
        check_order(self.track.belief.day, reading.day)?;
        let look = self.track.look(&self.motion, &reading);
        let surprise = look.surprise();
        let (weight, verdict) = match self.pending.take() {
            Some(pending) => self.weigh(pending, &look, &reading),
            None if surprise.abs() > self.wariness.gate => {
                self.pending = Some(self.suspect_of(&look, reading));
                self.track.pass(&look);
                (0.0, Verdict::Suspect)
            }
            None => {
                let weight = self.track.take(&look, &reading, self.wariness.huber);
                (weight, Verdict::Taken)
            }
        };
        Ok(Update {
            surprise,
            weight,
            verdict,
        })
    }

    /// Work done: the level is now `level` ± `sigma`; the drift is kept, and nothing that was read
    /// before says more about the new level.
    pub fn reset(&mut self, day: f64, level: f64, sigma: f64) -> Answer<()> {
        let now = self.belief_at(day)?;
        let level = VALUE.check(level)?;
        let sigma = SIGMA.check(sigma)?;
        self.restart(Belief {
            level,
            level_variance: sigma * sigma,
            covariance: 0.0,
            ..now
        });
        Ok(())
    }

    /// Work done that changes the drift as well: it is now `drift` ± `sigma` per day.
    pub fn reset_drift(&mut self, day: f64, drift: f64, sigma: f64) -> Answer<()> {
        let now = self.belief_at(day)?;
        let drift = VALUE.named("drift").check(drift)?;
        let sigma = SIGMA.check(sigma)?;
        self.restart(Belief {
            drift,
            drift_variance: sigma * sigma,
            covariance: 0.0,
            ..now
        });
        Ok(())
    }

    fn restart(&mut self, belief: Belief) {
        self.pending = None;
        self.track.belief = belief;
        self.track.trail = self.track.trail.restarted(belief);
    }

    /// Opens the second hypothesis: the level may be anywhere near the suspect.
    fn suspect_of(&self, look: &Look, suspect: Reading) -> Pending {
        let mut open = look.visit.predicted;
        // A step of unknown size forgets the level: ten times the surprise is as good as unknown.
        open.level_variance += 100.0 * look.innovation * look.innovation;
        let belief = open.with(suspect.value, suspect.sigma * suspect.sigma);
        Pending {
            suspect,
            size: look.innovation,
            track: Track {
                belief,
                log_likelihood: self.track.log_likelihood
                    + log_normal(look.innovation, look.variance + look.innovation.powi(2)),
                trail: self.track.trail.restarted(belief),
            },
            log_odds: self.wariness.step_log_odds,
            waited: 0,
        }
    }

    /// Lets a reading decide between the two hypotheses.
    fn weigh(&mut self, mut pending: Pending, look: &Look, reading: &Reading) -> (f64, Verdict) {
        let stepped = pending.track.look(&self.motion, reading);
        let broad = pending.size;
        pending.log_odds += stepped.log_density(self.wariness.misreads, broad)
            - look.log_density(self.wariness.misreads, broad);
        pending.waited += 1;
        let weight_stepped = pending
            .track
            .take_or_pass(&stepped, reading, &self.wariness);
        if pending.log_odds >= self.wariness.decide {
            let size = pending.track.belief.level - look.visit.predicted.level;
            self.track = pending.track;
            let day = pending.suspect.day;
            return (weight_stepped, Verdict::Stepped { day, size });
        }
        let weight = self.track.take_or_pass(look, reading, &self.wariness);
        if pending.log_odds <= -self.wariness.decide - self.wariness.step_log_odds.abs()
            || pending.waited >= self.wariness.patience
        {
            let day = pending.suspect.day;
            return (weight, Verdict::WasMisread { day });
        }
        self.pending = Some(pending);
        let verdict = if weight > 0.0 {
            Verdict::Taken
        } else if weight_stepped > 0.0 {
            Verdict::Suspect
        } else {
            Verdict::LeftOut
        };
        (weight, verdict)
    }
}
