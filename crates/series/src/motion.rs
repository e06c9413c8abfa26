//! The law of motion of a health value: a level that drifts, and a drift that wanders.
//!
//! One law serves the filter and the forecast, so that what is estimated is what is drawn on.
//!
//! Must not know: readings.

use crate::refusal::{Answer, DAY, Range, SIGMA, VALUE, check_order};

const LEVEL_VARIANCE: Range = Range::new("level variance per day", 0.0, 1.0e12);
const DRIFT_VARIANCE: Range = Range::new("drift variance per day", 0.0, 1.0e12);
const RETURN: Range = Range::new("return rate of the drift per day", 0.0, 1.0e3);

/// How a level moves between readings.
///
/// dl = d dt + √q_l dW₁, dd = −θ (d − m) dt + √q_d dW₂
///
/// - l: level, unit; d: drift, unit/day
/// - q_l: `level_variance`, unit²/day; q_d: `drift_variance`, unit²/day³
/// - θ: `drift_return` in 1/day: 0 lets the drift wander for ever, else it returns to `drift_mean`
///   m, unit/day with the time constant 1/θ
///
/// # Validity
/// Any step of time; the covariance is exact, not a small-step approximation.
///
/// # Source
/// A. C. Harvey, *Forecasting, Structural Time Series Models and the Kalman Filter*, 1989,
/// chapter 9 (continuous time); G. E. Uhlenbeck and L. S. Ornstein, *Physical Review* 36 (1930)
/// 823–841 (returning drift).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motion {
    /// Variance that the level gathers in a day, unit²/day.
    pub level_variance: f64,
    /// Variance that the drift gathers in a day, unit²/day³.
    pub drift_variance: f64,
    /// Rate at which the drift returns to its mean, 1/day; 0 for a random walk.
    pub drift_return: f64,
    /// The drift that it returns to, unit/day.
    pub drift_mean: f64,
}

/// The exact change over one step of time: x′ = F x + c + noise of covariance Q.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// What a unit of drift adds to the level (F₀₁), day.
    pub gain: f64,
    /// What remains of a unit of drift (F₁₁), -.
    pub keep: f64,
    /// What the mean drift adds to the level, unit.
    pub level_shift: f64,
    /// What the mean drift adds to the drift, unit/day.
    pub drift_shift: f64,
    /// Variance added to the level, unit².
    pub level_variance: f64,
    /// Covariance added between level and drift, unit²/day.
    pub covariance: f64,
    /// Variance added to the drift, unit²/day².
    pub drift_variance: f64,
}

impl Motion {
    /// A drift that wanders for ever.
    pub const fn random_walk(level_variance: f64, drift_variance: f64) -> Self {
        Self {
            level_variance,
            drift_variance,
            drift_return: 0.0,
            drift_mean: 0.0,
        }
    }

    /// Checks the four numbers.
    pub fn check(self) -> Answer<Self> {
        LEVEL_VARIANCE.check(self.level_variance)?;
        DRIFT_VARIANCE.check(self.drift_variance)?;
        RETURN.check(self.drift_return)?;
        VALUE.named("mean drift").check(self.drift_mean)?;
        Ok(self)
    }

    /// The change over `days`, for a motion and a step already checked.
    ///
    /// With x = θ t: gain (1 − e⁻ˣ)/θ, Q₁₁ = q_d (1 − e⁻²ˣ)/(2θ), Q₀₁ = q_d (1 − e⁻ˣ)²/(2θ²),
    /// Q₀₀ = q_l t + q_d (x − 2(1 − e⁻ˣ) + (1 − e⁻²ˣ)/2)/θ³; for θ → 0 these become t, q_d t,
    /// q_d t²/2 and q_l t + q_d t³/3.
    pub(crate) fn step(&self, days: f64) -> Step {
        let x = self.drift_return * days;
        let once = share_lost(x);
        let twice = share_lost(2.0 * x);
        let (gain, keep) = (days * once, (-x).exp());
        let q = self.drift_variance;
        Step {
            gain,
            keep,
            level_shift: self.drift_mean * (days - gain),
            drift_shift: self.drift_mean * (-(-x).exp_m1()),
            level_variance: self.level_variance * days + q * days.powi(3) * cubic_share(x),
            covariance: 0.5 * q * gain * gain,
            drift_variance: q * days * twice,
        }
    }
}

/// (1 − e⁻ˣ)/x, 1 at 0.
fn share_lost(x: f64) -> f64 {
    if x > 0.0 { -(-x).exp_m1() / x } else { 1.0 }
}

/// (x − 2(1 − e⁻ˣ) + (1 − e⁻²ˣ)/2)/x³, 1/3 at 0.
fn cubic_share(x: f64) -> f64 {
    if x >= 1.0 {
        return (x + 2.0 * (-x).exp_m1() - 0.5 * (-2.0 * x).exp_m1()) / x.powi(3);
    }
    // Σ (−1)ⁿ⁺¹ (2ⁿ⁻¹ − 2) xⁿ⁻³/n!, n ≥ 3: the closed form loses all its digits near 0.
    let (mut power, mut twos, mut sum) = (1.0_f64 / 6.0, 4.0, 0.0);
    for n in 4..40_u32 {
        let term = power * (twos - 2.0);
        sum += term;
        if term.abs() < 1.0e-18 {
            break;
        }
        power *= -x / f64::from(n);
        twos *= 2.0;
    }
    sum
}

/// What is believed about a level and its drift on one day: two means and their covariance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belief {
    /// The day it holds for.
    pub day: f64,
    /// Mean of the level, unit.
    pub level: f64,
    /// Mean of the drift, unit/day.
    pub drift: f64,
    /// Variance of the level, unit².
    pub level_variance: f64,
    /// Covariance of level and drift, unit²/day.
    pub covariance: f64,
    /// Variance of the drift, unit²/day².
    pub drift_variance: f64,
}

impl Belief {
    /// A belief about a level and a drift that know nothing of each other; a σ of 0 is certainty.
    pub fn new(day: f64, level: (f64, f64), drift: (f64, f64)) -> Answer<Self> {
        let sigma = Range { min: 0.0, ..SIGMA };
        let level_sigma = sigma.check(level.1)?;
        let drift_sigma = sigma.check(drift.1)?;
        Ok(Self {
            day: DAY.check(day)?,
            level: VALUE.check(level.0)?,
            drift: VALUE.named("drift").check(drift.0)?,
            level_variance: level_sigma * level_sigma,
            covariance: 0.0,
            drift_variance: drift_sigma * drift_sigma,
        })
    }

    /// Checks the numbers; a covariance beyond what the variances allow is a contradiction.
    ///
    /// # Errors
    /// A number outside its range.
    pub fn check(self) -> Answer<Self> {
        let variance = Range::new("variance", 0.0, 1.0e24);
        variance.check(self.level_variance)?;
        variance.check(self.drift_variance)?;
        DAY.check(self.day)?;
        VALUE.named("level").check(self.level)?;
        VALUE.named("drift").check(self.drift)?;
        let most = 1.000_001 * self.level_variance.sqrt() * self.drift_variance.sqrt();
        Range::new("covariance of level and drift", -most, most).check(self.covariance)?;
        Ok(self.tidy())
    }

    /// Standard deviation of the level.
    pub fn level_sigma(&self) -> f64 {
        self.level_variance.sqrt()
    }

    /// Standard deviation of the drift, per day.
    pub fn drift_sigma(&self) -> f64 {
        self.drift_variance.sqrt()
    }

    /// What is believed about a later day when nothing is read until then.
    ///
    /// # Errors
    /// A day before this belief's own, or a motion outside its ranges.
    pub fn at(&self, day: f64, motion: &Motion) -> Answer<Self> {
        let day = check_order(self.check()?.day, day)?;
        Ok(self.after(day, &motion.check()?.step(day - self.day)))
    }

    /// x′ = F x + c, P′ = F P Fᵀ + Q.
    pub(crate) fn after(&self, day: f64, step: &Step) -> Self {
        let Step { gain, keep, .. } = *step;
        let cross = self.covariance + gain * self.drift_variance;
        Self {
            day,
            level: self.level + gain * self.drift + step.level_shift,
            drift: keep * self.drift + step.drift_shift,
            level_variance: self.level_variance
                + gain * (self.covariance + cross)
                + step.level_variance,
            covariance: keep * cross + step.covariance,
            drift_variance: keep * keep * self.drift_variance + step.drift_variance,
        }
        .tidy()
    }

    /// Mends what rounding can break: a variance a hair below zero, a correlation a hair above 1.
    pub(crate) fn tidy(mut self) -> Self {
        self.level_variance = self.level_variance.max(0.0);
        self.drift_variance = self.drift_variance.max(0.0);
        let most = self.level_variance.sqrt() * self.drift_variance.sqrt();
        self.covariance = self.covariance.clamp(-most, most);
        self
    }

    /// Takes in one value of the level with its variance, by Bayes' rule (Joseph's form).
    pub(crate) fn with(&self, value: f64, variance: f64) -> Self {
        let total = self.level_variance + variance;
        let (k0, k1) = (self.level_variance / total, self.covariance / total);
        let innovation = value - self.level;
        Self {
            day: self.day,
            level: self.level + k0 * innovation,
            drift: self.drift + k1 * innovation,
            // (1 − k)² P + k² R, written so that neither part can go below zero.
            level_variance: (variance / total) * (variance / total) * self.level_variance
                + k0 * k0 * variance,
            covariance: (variance / total) * self.covariance,
            drift_variance: self.drift_variance - k1 * self.covariance,
        }
        .tidy()
    }
}
