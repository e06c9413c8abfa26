//! Charts over a stream of readings: cumulative sums and moving averages.
//!
//! Both run in constant memory. They expect independent readings of one spread; residuals that are
//! not (weather, a slow sensor) raise false alarms.
//!
//! Must not know: where the readings come from.

use crate::refusal::{Answer, Range, SIGMA, VALUE, check_order};

const ALLOWANCE: Range = Range::new("allowance k", 0.0, 1.0e6);
const DECISION: Range = Range::new("decision limit h", 1.0e-6, 1.0e6);
const DEVIATE: Range = Range::new("standardised reading", -1.0e12, 1.0e12);
const WEIGHT: Range = Range::new("weight λ of the newest reading", 1.0e-4, 1.0);
const WIDTH: Range = Range::new("width L of the limits", 1.0e-3, 1.0e3);
const SHIFT: Range = Range::new("shift of the mean", -10.0, 10.0);

/// Which way a value has gone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Above where it should be.
    High,
    /// Below where it should be.
    Low,
}

/// Two cumulative sums, one for each side.
///
/// S⁺ᵢ = max(0, S⁺ᵢ₋₁ + zᵢ − k), S⁻ᵢ = max(0, S⁻ᵢ₋₁ − zᵢ − k); a signal when either exceeds h.
///
/// - `z`: (reading − target)/σ, a ratio
/// - `k`: allowance, half the shift to be found in σ
/// - `h`: decision limit in σ
///
/// # Validity
/// Independent normal readings; k = 0.5, h = 5 give about 465 healthy readings between false
/// signals and find a shift of 1 σ after about 10 (see [`run_length`]).
///
/// # Source
/// NIST/SEMATECH e-Handbook, section 6.3.2.3; E. S. Page, *Biometrika* 41 (1954).
#[derive(Debug, Clone, PartialEq)]
pub struct Cusum {
    k: f64,
    h: f64,
    high: Sum,
    low: Sum,
    reached: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Sum {
    value: f64,
    last_zero: Option<f64>,
}

impl Sum {
    fn add(&mut self, day: f64, amount: f64) {
        // Before the first reading the sum is zero too: the change cannot be dated earlier.
        let before = self.last_zero.get_or_insert(day);
        let next = self.value + amount;
        if next > 0.0 {
            self.value = next;
        } else {
            self.value = 0.0;
            *before = day;
        }
    }
}

/// The sums after one reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CusumState {
    /// The upper sum, in σ.
    pub high: f64,
    /// The lower sum, in σ.
    pub low: f64,
    /// The side whose sum exceeds h, if any.
    pub signal: Option<Side>,
    /// The day of the last reading at which the larger sum was zero (or the first reading): the
    /// estimated start of the change, given while there is a signal.
    pub since: Option<f64>,
}

impl Cusum {
    /// Starts with both sums at zero.
    pub fn new(k: f64, h: f64) -> Answer<Self> {
        Ok(Self {
            k: ALLOWANCE.check(k)?,
            h: DECISION.check(h)?,
            high: Sum::default(),
            low: Sum::default(),
            reached: f64::NEG_INFINITY,
        })
    }

    /// Takes in one standardised reading of `day`.
    ///
    /// # Errors
    /// A reading that is no number, or of a day before the last; nothing is changed then.
    pub fn update(&mut self, day: f64, z: f64) -> Answer<CusumState> {
        let z = DEVIATE.check(z)?;
        self.reached = check_order(self.reached, day)?;
        self.high.add(day, z - self.k);
        self.low.add(day, -z - self.k);
        let (larger, side) = if self.high.value >= self.low.value {
            (self.high, Side::High)
        } else {
            (self.low, Side::Low)
        };
        let signal = (larger.value > self.h).then_some(side);
        Ok(CusumState {
            high: self.high.value,
            low: self.low.value,
            signal,
            since: signal.and(larger.last_zero),
        })
    }

    /// Sets both sums to zero, as after work done; time goes on.
    pub fn reset(&mut self) {
        self.high = Sum::default();
        self.low = Sum::default();
    }
}

/// Readings on average until a one-sided cumulative sum signals.
///
/// ARL = (e^(−2Δb) + 2Δb − 1)/(2Δ²), Δ = shift − k, b = h + 1.166; b² for Δ = 0.
///
/// - `shift`: shift of the mean towards the sum's side in σ
///
/// # Validity
/// Independent normal readings, shift within ±10; within about 5 % of the exact value for
/// h ≥ 3. A two-sided chart has 1/ARL = 1/ARL⁺ + 1/ARL⁻.
///
/// # Source
/// D. Siegmund, *Sequential Analysis*, Springer 1985 (the approximation; from memory, checked
/// against an exact Markov chain).
pub fn run_length(k: f64, h: f64, shift: f64) -> Answer<f64> {
    let delta = SHIFT.check(shift)? - ALLOWANCE.check(k)?;
    let b = DECISION.check(h)? + 1.166;
    if delta.abs() < 1.0e-4 {
        return Ok(b * b);
    }
    let x = 2.0 * delta * b;
    let length = ((-x).exp_m1() + x) / (2.0 * delta * delta);
    // A chart that practically never signals still has a finite, if meaningless, length.
    Ok(length.min(f64::MAX))
}

/// An exponentially weighted moving average with its limits.
///
/// Eᵢ = λ xᵢ + (1 − λ) Eᵢ₋₁, E₀ = target;
/// limits: target ± L σ √(λ/(2 − λ) · (1 − (1 − λ)^(2i))), without the last factor in the long run.
///
/// # Validity
/// Independent readings of one σ; λ 0.2 to 0.3 and L 3 are usual.
///
/// # Source
/// NIST/SEMATECH e-Handbook, section 6.3.2.4.
#[derive(Debug, Clone, PartialEq)]
pub struct Ewma {
    weight: f64,
    width: f64,
    target: f64,
    sigma: f64,
    value: f64,
    /// (1 − λ)^(2i)
    memory: f64,
}

/// The moving average after one reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EwmaState {
    /// The moving average.
    pub value: f64,
    /// The lower limit for this many readings.
    pub lower: f64,
    /// The upper limit for this many readings.
    pub upper: f64,
    /// The side on which the average lies outside its limits, if any.
    pub signal: Option<Side>,
}

impl Ewma {
    /// Starts at the target.
    pub fn new(weight: f64, width: f64, target: f64, sigma: f64) -> Answer<Self> {
        let target = VALUE.named("target").check(target)?;
        Ok(Self {
            weight: WEIGHT.check(weight)?,
            width: WIDTH.check(width)?,
            target,
            sigma: SIGMA.check(sigma)?,
            value: target,
            memory: 1.0,
        })
    }

    /// Takes in one reading.
    pub fn update(&mut self, x: f64) -> Answer<EwmaState> {
        let x = VALUE.check(x)?;
        let keep = 1.0 - self.weight;
        self.value = self.weight * x + keep * self.value;
        self.memory *= keep * keep;
        let half = self.half_width(1.0 - self.memory);
        let (lower, upper) = (self.target - half, self.target + half);
        let signal = if self.value > upper {
            Some(Side::High)
        } else if self.value < lower {
            Some(Side::Low)
        } else {
            None
        };
        Ok(EwmaState {
            value: self.value,
            lower,
            upper,
            signal,
        })
    }

    /// The limits in the long run, lower and upper.
    pub fn long_run_limits(&self) -> (f64, f64) {
        let half = self.half_width(1.0);
        (self.target - half, self.target + half)
    }

    /// Goes back to the target, as after work done.
    pub fn reset(&mut self) {
        self.value = self.target;
        self.memory = 1.0;
    }

    fn half_width(&self, share: f64) -> f64 {
        self.width * self.sigma * (self.weight / (2.0 - self.weight) * share).sqrt()
    }
}
