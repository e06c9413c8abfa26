//! When does a health value reach its limit: paths drawn forward, each through the caller's limit.
//!
//! The limit is a function of the caller's, so that the same health can pass in winter and fail on
//! the hottest day.
//!
//! Must not know: what the limit is, months, machines.

use crate::draws::Draws;
use crate::motion::{Belief, Motion};
use crate::refusal::{Answer, CONFIDENCE, Refusal, check_count, check_order};

/// What to draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook<'a> {
    /// What is believed now.
    pub now: Belief,
    /// How it moves.
    pub motion: Motion,
    /// The days to ask the limit on, ascending, none before `now`: month by month, say. The last
    /// is as far as the forecast looks. 1 to 1200 days.
    pub days: &'a [f64],
    /// Paths to draw, 16 to 100 000.
    pub paths: usize,
    /// The same seed gives the same forecast.
    pub seed: u64,
}

/// When the limit is reached.
///
/// A date of `None` means: not within the days asked about.
#[derive(Debug, Clone, PartialEq)]
pub struct Passage {
    /// First passages in order of time; paths that never pass are not among them.
    passed: Vec<f64>,
    paths: usize,
}

impl Passage {
    /// The day by which a share `p` of the paths has passed.
    ///
    /// Between two paths the line between them: the place of path i of n is (i + 1/2)/n.
    pub fn quantile(&self, p: f64) -> Answer<Option<f64>> {
        let p = CONFIDENCE.named("share of the paths").check(p)?;
        let place = (p * self.paths as f64 - 0.5).max(0.0);
        let below = place.floor();
        let Some(&low) = self.passed.get(below as usize) else {
            return Ok(None);
        };
        let share = place - below;
        Ok(match self.passed.get(below as usize + 1) {
            Some(&high) => Some(low + share * (high - low)),
            None if share > 0.0 => None,
            None => Some(low),
        })
    }

    /// The day that one path in ten has passed by.
    pub fn earliest(&self) -> Answer<Option<f64>> {
        self.quantile(0.1)
    }

    /// The day that half the paths have passed by.
    pub fn likely(&self) -> Answer<Option<f64>> {
        self.quantile(0.5)
    }

    /// The day that nine paths in ten have passed by.
    pub fn latest(&self) -> Answer<Option<f64>> {
        self.quantile(0.9)
    }

    /// Share of the paths that have passed by `day`.
    pub fn probability_by(&self, day: f64) -> f64 {
        let passed = self.passed.partition_point(|&passage| passage <= day);
        passed as f64 / self.paths as f64
    }

    /// Share of the paths that pass within the days asked about.
    pub fn probability_within(&self) -> f64 {
        self.passed.len() as f64 / self.paths as f64
    }
}

/// Draws the health forward and dates its first passage of the limit.
///
/// Each path starts from a draw of (level, drift) out of the belief and moves by the exact steps
/// of [`Motion`] from one day asked to the next. It passes where the margin, taken as straight
/// between two days, first reaches 0.
///
/// - `limit_margin(health, day)`: distance to the limit in any unit, above 0 while it is kept
///
/// # Validity
/// The spread is that of the belief and the motion; a model that is wrong is not in it. A path
/// that passes and comes back between two days asked is missed: ask more closely where the limit
/// moves fast. The 10 to 90 % interval covers 75 to 85 % when the motion is the true one.
///
/// # Errors
/// A margin that is no number; days out of order; settings outside their ranges.
pub fn first_passage(
    outlook: &Outlook<'_>,
    mut limit_margin: impl FnMut(f64, f64) -> f64,
) -> Answer<Passage> {
    let motion = outlook.motion.check()?;
    check_count("days to ask on", outlook.days.len(), 1, 1200)?;
    let paths = check_count("paths", outlook.paths, 16, 100_000)?;
    let now = outlook.now.check()?;
    let mut reached = now.day;
    let mut moves = Vec::with_capacity(outlook.days.len());
    for &day in outlook.days {
        let before = reached;
        reached = check_order(before, day)?;
        let step = motion.step(day - before);
        let noise = Noise::new(step.level_variance, step.covariance, step.drift_variance);
        moves.push((day, step, noise));
    }
    let spread = Noise::new(now.level_variance, now.covariance, now.drift_variance);
    let draws = Draws::new(outlook.seed);
    let mut ask = |health: f64, day: f64| {
        let margin = limit_margin(health, day);
        if margin.is_nan() || !health.is_finite() {
            Err(Refusal::NotANumber { health, day })
        } else {
            Ok(margin)
        }
    };
    let mut passed = Vec::with_capacity(paths);
    for path in 0..paths as u64 {
        let (level, drift) = spread.of(draws.normal_pair(path));
        let (mut level, mut drift) = (now.level + level, now.drift + drift);
        let (mut before, mut margin) = (now.day, ask(level, now.day)?);
        if margin <= 0.0 {
            passed.push(now.day);
            continue;
        }
        for (i, (day, step, noise)) in moves.iter().enumerate() {
            let lane = |lane| draws.normal(path, i as u64, lane);
            let (wander, turn) = noise.of((lane(0), lane(1)));
            level += step.gain * drift + step.level_shift + wander;
            drift = step.keep * drift + step.drift_shift + turn;
            let next = ask(level, *day)?;
            if next <= 0.0 {
                passed.push(before + crossing(margin, next) * (day - before));
                break;
            }
            (before, margin) = (*day, next);
        }
    }
    passed.sort_unstable_by(f64::total_cmp);
    Ok(Passage { passed, paths })
}

/// Share of the way at which a line from `from` > 0 to `to` ≤ 0 meets 0; infinities at its ends.
fn crossing(from: f64, to: f64) -> f64 {
    match (from.is_finite(), to.is_finite()) {
        (true, true) => (from / (from - to)).clamp(0.0, 1.0),
        (true, false) => 0.0,
        (false, true) => 1.0,
        (false, false) => 0.5,
    }
}

/// The lower triangle of a covariance, to draw pairs with.
#[derive(Debug, Clone, Copy)]
struct Noise {
    level: f64,
    drift_with_level: f64,
    drift_alone: f64,
}

impl Noise {
    fn new(level_variance: f64, covariance: f64, drift_variance: f64) -> Self {
        let level = level_variance.max(0.0).sqrt();
        let with = if level > 0.0 { covariance / level } else { 0.0 };
        Self {
            level,
            drift_with_level: with,
            drift_alone: (drift_variance - with * with).max(0.0).sqrt(),
        }
    }

    fn of(&self, (first, second): (f64, f64)) -> (f64, f64) {
        (
            self.level * first,
            self.drift_with_level * first + self.drift_alone * second,
        )
    }
}
