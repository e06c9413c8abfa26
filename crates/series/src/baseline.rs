//! A machine's own healthy level, learnt from its first readings with the rated value as prior.
//!
//! No machine equals its nameplate. What the first weeks (or the time after a service) show is
//! its own level, with an error of the gauge that stays: later readings of the same gauge are
//! judged against it, so that error cancels.
//!
//! One [`Baseline`] stands for one health value. Work done relearns those that it touched and no
//! others, since each is a value of its own.
//!
//! Must not know: which machine, which gauge, which work.

use core::f64::consts::PI;

use crate::filter::Reading;
use crate::refusal::{Answer, DAY, Range, SIGMA, VALUE, check_count, check_order};
use crate::robust::{MEDIAN_TO_SIGMA, huber_weight, median};

const WEIGHT: Range = Range::new("weight of the instrument's own noise", 0.0, 1.0e6);
const SPAN: Range = Range::new("days to learn", 0.0, 1.0e4);
const CORRELATION: Range = Range::new("correlation time in days", 0.0, 1.0e4);
const CHANGE: Range = Range::new("change that the work may make", 0.0, 1.0e12);

/// Huber's bound while learning, in deviations.
const BOUND: f64 = 2.0;
/// Beyond this many deviations a reading is a misread and left out, once the level has settled.
const MISREAD: f64 = 4.0;
/// Rounds of reckoning before misreads are left out.
const SETTLING: usize = 8;
/// The most readings that are learnt from.
const MOST: usize = 512;

/// What is known before the first reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// The rated value.
    pub level: f64,
    /// How far a healthy machine lies from it, standard deviation.
    pub sigma: f64,
    /// How many readings the instruments' stated noise is worth against what is seen; 0 trusts
    /// only what is seen.
    pub noise_weight: f64,
}

/// When enough has been learnt: all three must hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Enough {
    /// Readings at least, 2 to 512.
    pub readings: usize,
    /// Days from the first to the last reading at least.
    pub days: f64,
    /// Standard deviation of the level at most.
    pub sigma: f64,
}

/// What has been learnt so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learnt {
    /// The healthy level.
    pub level: f64,
    /// Its standard deviation.
    pub sigma: f64,
    /// Real noise of a reading as a multiple of its stated σ.
    pub noise_factor: f64,
    /// Readings learnt from.
    pub readings: usize,
    /// Days from the first to the last of them.
    pub days: f64,
}

/// What became of a reading that was offered for learning.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Learning {
    /// It was learnt from; more are needed.
    More,
    /// It was learnt from, and that is enough: the level is frozen from now on.
    Enough,
    /// The level had been frozen: nothing was learnt.
    Frozen,
}

/// The healthy level of one health value.
///
/// 1/s² = 1/s₀² + Σ wᵢ; level = s² (m₀/s₀² + Σ wᵢ yᵢ);
/// wᵢ = h(uᵢ) eᵢ/(κσᵢ)², uᵢ = (yᵢ − level)/(κσᵢ), h Huber's weight with the bound 2,
/// and 0 beyond 4 once settled;
/// κ² = (n₀ + Σ min(rᵢ², 4κ²)/β)/(n₀ + n − 1), rᵢ = (yᵢ − level)/σᵢ, repeated until settled
///
/// - m₀, s₀: rated value and how far a healthy machine lies from it
/// - κ: noise factor, n₀: `noise_weight`; β = E[min(u², 4)] of a normal u
/// - eᵢ = (1 − ρ)/(1 + ρ), ρ = e^(−Δt/τ): what a reading adds that its neighbour had not told,
///   τ the correlation time of what disturbs the readings
///
/// # Validity
/// Errors symmetrical about the level, at most a few misreads; a level that already drifts is
/// learnt as healthy, so keep the time short.
///
/// # Source
/// Bayes' rule for a normal mean; P. J. Huber, *Robust Statistics*, 1981, section 6.4
/// (proposal 2); e of a first-order process from its variance of the mean, in the long run.
#[derive(Debug, Clone, PartialEq)]
pub struct Baseline {
    prior: Prior,
    prior_factor: f64,
    enough: Enough,
    correlation_days: f64,
    reached: f64,
    readings: Vec<Reading>,
    learnt: Learnt,
    frozen: bool,
}

impl Baseline {
    /// Knows the rated value and nothing else.
    pub fn new(prior: Prior, enough: Enough, correlation_days: f64) -> Answer<Self> {
        let prior = Prior {
            level: VALUE.named("rated value").check(prior.level)?,
            sigma: SIGMA.check(prior.sigma)?,
            noise_weight: WEIGHT.check(prior.noise_weight)?,
        };
        let enough = Enough {
            readings: check_count("readings to learn", enough.readings, 2, MOST)?,
            days: SPAN.check(enough.days)?,
            sigma: SIGMA.check(enough.sigma)?,
        };
        Ok(Self {
            prior,
            prior_factor: 1.0,
            enough,
            correlation_days: CORRELATION.check(correlation_days)?,
            reached: f64::NEG_INFINITY,
            readings: Vec::new(),
            learnt: untaught(&prior, 1.0),
            frozen: false,
        })
    }

    /// What has been learnt so far.
    pub fn learnt(&self) -> Learnt {
        self.learnt
    }

    /// Whether the level is frozen.
    pub fn is_frozen(&self) -> bool {
        self.frozen
    }

    /// Offers a reading; freezes by itself once enough has been learnt.
    ///
    /// # Errors
    /// A reading that is no number, or of a day before the last; nothing is changed then.
    pub fn learn(&mut self, reading: Reading) -> Answer<Learning> {
        let reading = reading.check()?;
        let reached = check_order(self.reached, reading.day)?;
        if self.frozen {
            return Ok(Learning::Frozen);
        }
        self.reached = reached;
        self.readings.push(reading);
        self.learnt = self.work_out();
        let Learnt {
            readings,
            days,
            sigma,
            ..
        } = self.learnt;
        let enough = readings >= self.enough.readings
            && days >= self.enough.days
            && sigma <= self.enough.sigma;
        if enough || readings == MOST {
            self.freeze();
            return Ok(Learning::Enough);
        }
        Ok(Learning::More)
    }

    /// Keeps the level as it is now learnt.
    pub fn freeze(&mut self) {
        self.frozen = true;
    }

    /// Starts to learn again from `day`, after a service that touched this value: the level known
    /// so far becomes the prior, widened by the change that the work may make; the noise of the
    /// readings stays known.
    pub fn relearn(&mut self, day: f64, change_sigma: f64) -> Answer<()> {
        let day = DAY.check(day)?;
        let change = CHANGE.check(change_sigma)?;
        let seen = self.learnt.readings as f64;
        self.prior = Prior {
            level: self.learnt.level,
            sigma: self.learnt.sigma.hypot(change).max(SIGMA.min),
            noise_weight: (self.prior.noise_weight + seen).min(50.0),
        };
        self.prior_factor = self.learnt.noise_factor;
        self.readings.clear();
        self.reached = day;
        self.frozen = false;
        self.learnt = untaught(&self.prior, self.prior_factor);
        Ok(())
    }

    fn work_out(&self) -> Learnt {
        let n = self.readings.len();
        let Prior {
            level: rated,
            sigma,
            noise_weight,
        } = self.prior;
        let known = 1.0 / (sigma * sigma);
        let mut values: Vec<f64> = self.readings.iter().map(|r| r.value).collect();
        let mut level = median(&mut values).unwrap_or(rated);
        let mut factor = self.first_factor(level);
        let mut total = known;
        let share = share_within(BOUND);
        for round in 0..50 {
            let (mut sum, mut squares, mut counted) = (known * rated, 0.0, 0.0);
            total = known;
            let mut before: Option<f64> = None;
            for reading in &self.readings {
                let noise = factor * reading.sigma;
                let u = (reading.value - level) / noise;
                if round >= SETTLING && u.abs() > MISREAD {
                    continue;
                }
                counted += 1.0;
                let news = before.map_or(1.0, |day| self.news(reading.day - day));
                let weight = huber_weight(u, BOUND) * news / (noise * noise);
                total += weight;
                sum += weight * reading.value;
                squares += (u * u).min(BOUND * BOUND);
                before = Some(reading.day);
            }
            let next = sum / total;
            let freedom = noise_weight + counted - 1.0;
            let next_factor = if freedom > 0.0 {
                let seen = squares * factor * factor / share;
                let told = noise_weight * self.prior_factor * self.prior_factor;
                ((told + seen) / freedom.max(0.5))
                    .sqrt()
                    .clamp(1.0e-6, 1.0e6)
            } else {
                self.prior_factor
            };
            let settled = round > SETTLING
                && (next - level).abs() <= 1.0e-12 * (sigma + level.abs())
                && (next_factor / factor - 1.0).abs() <= 1.0e-10;
            level = next;
            factor = next_factor;
            if settled {
                break;
            }
        }
        let span = match (self.readings.first(), self.readings.last()) {
            (Some(first), Some(last)) => last.day - first.day,
            _ => 0.0,
        };
        Learnt {
            level,
            sigma: 1.0 / total.sqrt(),
            noise_factor: factor,
            readings: n,
            days: span,
        }
    }

    /// The noise factor to start from: the median deviation, or what was known.
    fn first_factor(&self, level: f64) -> f64 {
        let mut sizes: Vec<f64> = self
            .readings
            .iter()
            .map(|r| ((r.value - level) / r.sigma).abs())
            .collect();
        let seen = median(&mut sizes).unwrap_or(0.0) * MEDIAN_TO_SIGMA;
        if self.readings.len() >= 5 && seen > 0.1 * self.prior_factor {
            seen.min(1.0e6)
        } else {
            self.prior_factor
        }
    }

    fn news(&self, days: f64) -> f64 {
        if self.correlation_days > 0.0 {
            let same = (-days / self.correlation_days).exp();
            ((1.0 - same) / (1.0 + same)).max(1.0e-3)
        } else {
            1.0
        }
    }
}

fn untaught(prior: &Prior, factor: f64) -> Learnt {
    Learnt {
        level: prior.level,
        sigma: prior.sigma,
        noise_factor: factor,
        readings: 0,
        days: 0.0,
    }
}

/// E[min(u², c²)] of a standard normal u: 2Φ(c) − 1 − 2cφ(c) + 2c²(1 − Φ(c)).
fn share_within(c: f64) -> f64 {
    let below = crate::distribution::normal_cdf(c).unwrap_or(1.0);
    let density = (-0.5 * c * c).exp() / (2.0 * PI).sqrt();
    2.0 * below - 1.0 - 2.0 * c * density + 2.0 * c * c * (1.0 - below)
}
