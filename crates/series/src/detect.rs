//! Has something started to change, since when, and how fast: a likelihood ratio over all starts.
//!
//! The readings are residuals: what remains after a model has been taken off, 0 when healthy.
//!
//! Must not know: the model, and what a change means.

use std::collections::VecDeque;

use crate::filter::Reading;
use crate::refusal::{Answer, Range, SIGMA, check_count, check_order};
use crate::robust::{MEDIAN_TO_SIGMA, median};

const OFFSET: Range = Range::new("uncertainty of the healthy level", 0.0, 1.0e12);
const CORRELATION: Range = Range::new("correlation time in days", 0.0, 1.0e4);
const THRESHOLD: Range = Range::new("threshold of the log likelihood ratio", 0.1, 1.0e6);
const SCALE: Range = Range::new("readings that the stated noise is worth", 1.0, 1.0e9);
const FALSE_ALARM: Range = Range::new("readings between false alarms", 100.0, 10_000.0);

/// A reading further than this from the median of its neighbours is drawn in, in deviations.
const LONELY: f64 = 3.0;
/// So far from that median it is drawn in to.
const DRAWN_IN: f64 = 1.0;
/// Two readings taken together still tell something apart.
const MOST_ALIKE: f64 = 0.99;

/// The form of a change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// The level jumps and stays.
    Step,
    /// The level moves off at a steady rate.
    Ramp,
}

/// What the detector looks for, and how.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Watch {
    /// Readings looked back on, 8 to 1024; a change that started before is dated to their edge.
    pub window: usize,
    /// Readings that a change must have lasted, at least 1: with 3, no single misread is one.
    pub lasting: usize,
    /// Log likelihood ratio above which there is an alarm: see [`threshold_for`].
    pub threshold: f64,
    /// Standard deviation of the healthy level itself, which all residuals share, unit.
    pub offset_sigma: f64,
    /// Correlation time of the noise (weather, slow sensors), days; 0 for independent readings.
    pub correlation_days: f64,
    /// How many readings the stated σ is worth against the spread that is seen.
    pub scale_readings: f64,
}

impl Watch {
    /// Sixty readings, changes that lasted three, one false alarm in about 3000 readings.
    pub const USUAL: Self = Self {
        window: 60,
        lasting: 3,
        threshold: 9.0,
        offset_sigma: 0.0,
        correlation_days: 0.0,
        scale_readings: 30.0,
    };
}

/// The likeliest change in the readings looked back on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Step or ramp, whichever is likelier.
    pub shape: Shape,
    /// Natural logarithm of the likelihood ratio, change against none.
    pub log_ratio: f64,
    /// Estimated start, day.
    pub since: f64,
    /// The start lies at the edge of what is looked back on: it may be earlier.
    pub since_or_earlier: bool,
    /// Size of the step, unit, or slope of the ramp, unit/day.
    pub amount: f64,
    /// Its standard deviation, for the start as estimated.
    pub sigma: f64,
    /// What the change comes to on the day of the last reading, unit.
    pub by_now: f64,
    /// Real noise as a multiple of the stated σ.
    pub noise_factor: f64,
    /// Whether the log ratio exceeds the threshold.
    pub alarm: bool,
}

/// A sequential generalised likelihood-ratio test.
///
/// For each start τ: Λ(τ) = (hᵀ V⁻¹ x)²/(2 hᵀ V⁻¹ h), amount = hᵀ V⁻¹ x/(hᵀ V⁻¹ h) ± (hᵀ V⁻¹ h)^(−1/2);
/// the answer is the largest Λ over τ and over both shapes.
///
/// - x: residuals; h: 0 before τ, then 1 (step) or t − τ (ramp)
/// - V: s²σᵢσⱼ e^(−|tᵢ − tⱼ|/τ_c) + σ_b²: noise with correlation time τ_c, and the healthy level's
///   own uncertainty σ_b that all readings share
/// - s: noise factor, from the median difference of neighbours, drawn towards 1
///
/// A reading more than 3 deviations from the median of its neighbours (two before, two after) is
/// drawn in to 1: a lone misread makes no change, and a real step waits for the reading after.
///
/// # Validity
/// Irregular times; noise near normal. The work of one reading grows with the window.
///
/// # Source
/// G. Lorden, *Annals of Mathematical Statistics* 42 (1971) 1897–1908 (the procedure);
/// A. S. Willsky and H. L. Jones, *IEEE Transactions on Automatic Control* 21 (1976) 108–112.
#[derive(Debug, Clone, PartialEq)]
pub struct Detector {
    watch: Watch,
    entries: VecDeque<Entry>,
    /// Σ a² and Σ a x of the readings that have left the window: they were healthy.
    left: (f64, f64),
    scratch: Vec<f64>,
}

/// A residual in units of its own σ.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Entry {
    day: f64,
    z: f64,
    clean: f64,
    per_sigma: f64,
    /// Correlation with the reading before, and √(1 − ρ²).
    rho: f64,
    rest: f64,
}

/// Sums over the readings after a start: a the whitened 1, b the whitened time, x the residual.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    aa: f64,
    ab: f64,
    bb: f64,
    ax: f64,
    bx: f64,
}

/// The best start so far.
#[derive(Debug, Clone, Copy)]
struct Best {
    shape: Shape,
    ratio: f64,
    since: f64,
    edge: bool,
    amount: f64,
    information: f64,
}

/// Thresholds and the readings on average before the first false alarm, simulated: 877 runs of
/// [`Watch::USUAL`] on independent normal noise, irregular times; ±3 %.
const RUNS: [(f64, f64); 8] = [
    (4.0, 92.0),
    (5.0, 183.0),
    (6.0, 364.0),
    (7.0, 686.0),
    (8.0, 1439.0),
    (9.0, 2855.0),
    (10.0, 5536.0),
    (11.0, 10_280.0),
];

/// The threshold that gives this many readings on average before a false alarm.
///
/// Straight in the logarithm of the readings between the simulated thresholds 4 to 11.
///
/// # Validity
/// 100 to 10 000 readings; [`Watch::USUAL`] but for the threshold, normal noise. Shorter windows
/// and changes that must last longer raise fewer alarms; noise of a correlation time that is
/// stated raises up to twice as many, one that is not stated far more.
///
/// # Source
/// Simulation, repeated by the tests.
pub fn threshold_for(readings: f64) -> Answer<f64> {
    let wanted = FALSE_ALARM.check(readings)?.ln();
    let mut threshold = RUNS[0].0;
    for pair in RUNS.windows(2) {
        if let [(low, from), (high, to)] = *pair {
            let share = (wanted - f64::ln(from)) / (f64::ln(to) - f64::ln(from));
            threshold = low + share * (high - low);
            if share <= 1.0 {
                break;
            }
        }
    }
    Ok(threshold)
}

impl Detector {
    /// Starts with nothing read.
    pub fn new(watch: Watch) -> Answer<Self> {
        check_count("readings looked back on", watch.window, 8, 1024)?;
        check_count("lasting readings", watch.lasting, 1, watch.window / 2)?;
        THRESHOLD.check(watch.threshold)?;
        OFFSET.check(watch.offset_sigma)?;
        CORRELATION.check(watch.correlation_days)?;
        SCALE.check(watch.scale_readings)?;
        Ok(Self {
            watch,
            entries: VecDeque::with_capacity(watch.window + 1),
            left: (0.0, 0.0),
            scratch: Vec::with_capacity(watch.window),
        })
    }

    /// Forgets all readings, as after work done.
    pub fn reset(&mut self) {
        self.entries.clear();
        self.left = (0.0, 0.0);
    }

    /// Takes in one residual; `None` until there are enough to look back on.
    ///
    /// # Errors
    /// A reading that is no number, or of a day before the last; nothing is changed then.
    pub fn update(&mut self, residual: Reading) -> Answer<Option<Change>> {
        let Reading { day, value, sigma } = residual.check()?;
        let before = self.entries.back().map(|e| e.day);
        check_order(before.unwrap_or(f64::NEG_INFINITY), day)?;
        let z = Range::new("residual in deviations", -1.0e9, 1.0e9).check(value / sigma)?;
        let rho = match before {
            Some(before) if self.watch.correlation_days > 0.0 => (-(day - before)
                / self.watch.correlation_days)
                .exp()
                .min(MOST_ALIKE),
            _ => 0.0,
        };
        if self.entries.len() == self.watch.window {
            self.drop_oldest();
        }
        self.entries.push_back(Entry {
            day,
            z,
            clean: z,
            per_sigma: 1.0 / SIGMA.check(sigma)?,
            rho,
            rest: (1.0 - rho * rho).sqrt(),
        });
        let factor = self.noise_factor();
        self.draw_in(factor);
        if self.entries.len() < self.watch.lasting + 1 {
            return Ok(None);
        }
        Ok(self.look(factor).map(|best| self.tell(&best, day, factor)))
    }

    fn drop_oldest(&mut self) {
        if let Some(old) = self.entries.pop_front() {
            self.left.0 += old.per_sigma * old.per_sigma;
            self.left.1 += old.per_sigma * old.clean;
        }
        if let Some(first) = self.entries.front_mut() {
            first.rho = 0.0;
            first.rest = 1.0;
        }
    }

    /// s² = (n₀ + n m²)/(n₀ + n), m the median difference of neighbouring innovations over √2,
    /// as a standard deviation.
    fn noise_factor(&mut self) -> f64 {
        let entries = &self.entries;
        let innovation = |i: usize| {
            let before = if i == 0 { 0.0 } else { entries[i - 1].z };
            (entries[i].z - entries[i].rho * before) / entries[i].rest
        };
        self.scratch.clear();
        self.scratch
            .extend((2..entries.len()).map(|i| (innovation(i) - innovation(i - 1)).abs()));
        let n = self.scratch.len() as f64;
        let seen = median(&mut self.scratch).unwrap_or(1.0)
            * MEDIAN_TO_SIGMA
            * core::f64::consts::FRAC_1_SQRT_2;
        let told = self.watch.scale_readings;
        ((told + n * seen * seen) / (told + n)).sqrt()
    }

    /// Draws a lonely reading in towards its neighbours; only the last three can still change.
    fn draw_in(&mut self, factor: f64) {
        let n = self.entries.len();
        for i in n.saturating_sub(3)..n {
            let mut around = [0.0; 5];
            let (from, to) = (i.saturating_sub(2), (i + 3).min(n));
            let count = to - from;
            for (slot, entry) in around.iter_mut().zip(self.entries.range(from..to)) {
                *slot = entry.z;
            }
            let middle = median(&mut around[..count]).unwrap_or(0.0);
            let entry = &mut self.entries[i];
            let away = (entry.z - middle) / factor;
            entry.clean = if away.abs() > LONELY {
                middle + DRAWN_IN * factor * away.signum()
            } else {
                entry.z
            };
        }
    }

    fn look(&self, factor: f64) -> Option<Best> {
        let n = self.entries.len();
        let newest = self.entries.back()?.day;
        let row = |i: usize| self.whiten(i, newest);
        let (mut oo, mut ox) = self.left;
        for i in 0..n {
            let (a, _, x) = row(i);
            oo += a * a;
            ox += a * x;
        }
        // The shared offset in units of the noise: 1/σ_b² becomes s²/σ_b².
        let offset = self.watch.offset_sigma;
        let shared = if offset > 0.0 {
            1.0 / (oo + factor * factor / (offset * offset))
        } else {
            0.0
        };
        let mut best: Option<Best> = None;
        let mut offer = |shape, since, edge, hh: f64, hx: f64, ho: f64| {
            let information = hh - ho * ho * shared;
            // A change that the shared offset hides altogether is no change.
            if information <= 1.0e-12 * hh || information <= 1.0e-300 {
                return;
            }
            let score = hx - ho * ox * shared;
            let ratio = score * score / (2.0 * information * factor * factor);
            if best.is_none_or(|b| ratio > b.ratio) {
                best = Some(Best {
                    shape,
                    ratio,
                    since,
                    edge,
                    amount: score / information,
                    information,
                });
            }
        };
        let mut after = Sums::default();
        for k in (0..n).rev() {
            let entry = &self.entries[k];
            let (a, b, x) = row(k);
            if n - k >= self.watch.lasting {
                // The start lies between the reading before and this one.
                let t = entry.day - newest;
                let previous = match k.checked_sub(1) {
                    Some(p) => self.entries[p].day - newest,
                    None => t,
                };
                let middle = 0.5 * (previous + t);
                let first_a = entry.per_sigma / entry.rest;
                let edge = k == 0;
                let step = first_a * first_a + after.aa;
                offer(
                    Shape::Step,
                    newest + middle,
                    edge,
                    step,
                    first_a * x + after.ax,
                    first_a * a + after.aa,
                );
                for start in [previous, middle] {
                    let first = first_a * (t - start);
                    let hh = first * first + after.bb - 2.0 * start * after.ab
                        + start * start * after.aa;
                    let hx = first * x + after.bx - start * after.ax;
                    let ho = first * a + after.ab - start * after.aa;
                    offer(Shape::Ramp, newest + start, edge, hh, hx, ho);
                }
            }
            after.aa += a * a;
            after.ab += a * b;
            after.bb += b * b;
            after.ax += a * x;
            after.bx += b * x;
        }
        best
    }

    /// The whitened 1, time and residual of a reading: each minus ρ times that of the reading
    /// before, over √(1 − ρ²).
    fn whiten(&self, i: usize, newest: f64) -> (f64, f64, f64) {
        let e = &self.entries[i];
        let (ones, time, x) = (e.per_sigma, (e.day - newest) * e.per_sigma, e.clean);
        match i.checked_sub(1).map(|p| &self.entries[p]) {
            Some(p) if e.rho > 0.0 => (
                (ones - e.rho * p.per_sigma) / e.rest,
                (time - e.rho * (p.day - newest) * p.per_sigma) / e.rest,
                (x - e.rho * p.clean) / e.rest,
            ),
            _ => (ones, time, x),
        }
    }

    fn tell(&self, best: &Best, day: f64, factor: f64) -> Change {
        let by_now = match best.shape {
            Shape::Step => best.amount,
            Shape::Ramp => best.amount * (day - best.since),
        };
        Change {
            shape: best.shape,
            log_ratio: best.ratio,
            since: best.since,
            since_or_earlier: best.edge,
            amount: best.amount,
            sigma: factor / best.information.sqrt(),
            by_now,
            noise_factor: factor,
            alarm: best.ratio > self.watch.threshold,
        }
    }
}
