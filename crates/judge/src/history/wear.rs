//! Wear that is ordinary: separator, filters and belts go towards their change, and the only question
//! is when.
//!
//! A line through the readings since the last change of the part, which may bend once. Must not
//! know: sentences, money.

use super::forecast::{Dates, Need, Path, passage};
use super::prepare::{BORNE_OUT, MISREAD, NEIGHBOURS};
use super::stream::Stream;

/// Fewer readings than this, or a shorter time, give no line.
const LEAST_READINGS: usize = 6;
const LEAST_DAYS: f64 = 21.0;
/// Readings that are used; more are thinned.
const MOST_READINGS: usize = 260;

/// A line through the wear of one part.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Wear {
    /// Level at the newest reading.
    pub(crate) now: f64,
    /// Its standard deviation.
    pub(crate) sigma: f64,
    /// Growth a day, and its standard deviation.
    pub(crate) a_day: f64,
    pub(crate) a_day_sigma: f64,
    /// Of one reading about the line.
    pub(crate) scatter: f64,
    /// Evidence, ln K, that it wears faster than it did, and since when.
    pub(crate) hurry: f64,
    pub(crate) since: Option<f64>,
    /// The likeliest single line: last day, slope after its bend, and the bend's day with how much
    /// steeper it is after it.
    line: (f64, f64, Option<(f64, f64)>),
    line_now: f64,
    /// Whether it bends at its newest reading alone, for the sake of others that do.
    pub(crate) by_newest: bool,
    /// The values that it was drawn through, oldest first: (day, value).
    pub(crate) values: Vec<(f64, f64)>,
}

impl Wear {
    /// Through the readings since the last reset; `value` turns a sample into the wear.
    ///
    /// A bend that is known by other readings too needs one reading after it only.
    pub(crate) fn of(
        stream: &Stream,
        value: impl Fn(&super::stream::Sample) -> Option<f64>,
        known: Option<f64>,
    ) -> Option<Self> {
        let since = stream.since_change();
        let all: Vec<(f64, f64)> = stream
            .samples
            .iter()
            .skip(since)
            .filter_map(|s| value(s).map(|v| (s.day, v)))
            .collect();
        let all = borne_out(&all, known.is_some());
        let stride = all.len().div_ceil(MOST_READINGS).max(1);
        let mut values: Vec<(f64, f64)> = all.iter().rev().step_by(stride).copied().collect();
        values.reverse();
        let (first, last) = (values.first()?.0, values.last()?.0);
        if values.len() < LEAST_READINGS || last - first < LEAST_DAYS {
            return None;
        }
        Some(Self {
            values: values.clone(),
            ..bent(&values, known)?
        })
    }

    /// The line on a day: the likeliest one, bent where it bends.
    pub(crate) fn at(&self, day: f64) -> f64 {
        let (last, slope, bend) = self.line;
        let before = bend.map_or(0.0, |(at, steeper)| (at - day).max(0.0) * steeper);
        self.line_now + slope * (day - last) + before
    }

    /// Whether it grows for certain.
    pub(crate) fn grows(&self) -> bool {
        self.a_day > 3.0 * self.a_day_sigma.max(1.0e-12)
    }

    /// When it reaches its limit, which is known to so much of itself.
    pub(crate) fn dates(&self, (limit, known): (f64, f64), today: jiff::civil::Date) -> Dates {
        // In units in which the whole way is one, as the forecast's wandering is stated.
        let unit = limit.abs().max(1.0e-9);
        let path = Path {
            now: self.now / unit,
            sigma: self.sigma / unit,
            a_day: self.a_day / unit,
            a_day_sigma: self.a_day_sigma / unit,
        };
        let need = Need {
            at: limit / unit,
            sigma: known,
        };
        passage(path, today, |_| Some(need))
    }
}

/// The readings without those that no other bears out; the newest stays where another gauge does (`known`).
fn borne_out(all: &[(f64, f64)], known: bool) -> Vec<(f64, f64)> {
    let mut steps: Vec<f64> = all.windows(2).map(|w| (w[1].1 - w[0].1).abs()).collect();
    // A normal distribution's median absolute difference is 0.954 of its σ.
    let noise = median(&mut steps).unwrap_or(0.0) / 0.954;
    let noise = noise.max(0.5 * division(all.iter().map(|(_, v)| *v)));
    let sound = |i: usize| {
        let from = i.saturating_sub(NEIGHBOURS);
        let to = (i + NEIGHBOURS + 1).min(all.len());
        let mut near: Vec<f64> = (from..to).filter(|k| *k != i).map(|k| all[k].1).collect();
        let Some(middle) = median(&mut near).filter(|_| near.len() >= NEIGHBOURS) else {
            return true;
        };
        let off = all[i].1 - middle;
        let beside = [i.checked_sub(1), Some(i + 1)];
        let goes_too = |k: usize| all.get(k).is_some_and(|v| (v.1 - middle) / off > BORNE_OUT);
        off.abs() <= MISREAD * noise
            || beside.into_iter().flatten().any(goes_too)
            || (known && i + 1 == all.len())
    };
    (0..all.len())
        .filter(|&i| sound(i))
        .map(|i| all[i])
        .collect()
}

/// Variance of a reading in squared divisions of its gauge. Rounding alone makes 1/12 (uniform
/// distribution), but slow wear stays on one division for weeks, so its errors go together.
const DIVISION_SHARE: f64 = 0.12;

/// The division that a gauge is read to: the least step between two readings.
pub(super) fn division(values: impl Iterator<Item = f64>) -> f64 {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    let largest = sorted.last().map_or(0.0, |v| v.abs());
    let step = sorted
        .windows(2)
        .map(|w| w[1] - w[0])
        .filter(|d| *d > 1.0e-6 * largest)
        .fold(f64::INFINITY, f64::min);
    if step.is_finite() { step } else { 0.0 }
}

/// Beginnings that are tried for a bend.
const BENDS: usize = 24;
/// Readings at least after a bend.
const AFTER_BEND: usize = 2;

/// A line that may bend once, y = a + b t + c max(0, t − τ), averaged over the bends by their
/// evidence: a part that wore evenly for years and then chokes is told by its new pace.
///
/// The weight of a bend is exp(−½ BIC); readings far off are pulled in once (Huber, 2 σ). Source:
/// segmented regression and the BIC (textbook).
fn bent(values: &[(f64, f64)], known: Option<f64>) -> Option<Wear> {
    let last = values.last()?.0;
    let n = values.len();
    let stride = (n / BENDS).max(1);
    let bends = (AFTER_BEND..n.saturating_sub(AFTER_BEND))
        .filter(|i| i % stride == 0 || i + 12 > n)
        .map(|i| Some(values[i].0));
    let before = |at: &f64| values.iter().rposition(|(day, _)| day <= at);
    let newest = known
        .as_ref()
        .and_then(before)
        .filter(|i| i + AFTER_BEND >= n);
    let newest = newest.map(|i| Some(values[i.min(n - 2)].0));
    // The bend's place costs a parameter too.
    let floor = division(values.iter().map(|(_, v)| *v)).powi(2) * DIVISION_SHARE;
    let tried: Vec<Option<f64>> = match newest {
        Some(bend) => vec![bend],
        None => std::iter::once(None).chain(bends).collect(),
    };
    let fits: Vec<(Option<f64>, Line, f64)> = tried
        .into_iter()
        .filter_map(|bend| {
            let line = Line::through(values, last, bend, floor)?;
            let parameters = if bend.is_some() { 4.0 } else { 2.0 };
            let bic = n as f64 * line.variance.ln() + parameters * (n as f64).ln();
            Some((bend, line, -0.5 * bic))
        })
        .collect();
    let straight = fits.iter().find(|(bend, ..)| bend.is_none());
    let steepest = fits
        .iter()
        .filter(|(bend, line, _)| bend.is_some() && line.bend > 0.0)
        .max_by(|a, b| a.2.total_cmp(&b.2));
    let top = fits
        .iter()
        .map(|(_, _, w)| *w)
        .fold(f64::NEG_INFINITY, f64::max);
    let mut sum = [0.0; 5];
    for (_, line, weight) in &fits {
        let w = (weight - top).exp();
        let terms = [
            1.0,
            line.now,
            line.now_variance + line.now * line.now,
            line.a_day,
            line.a_variance + line.a_day * line.a_day,
        ];
        for (s, t) in sum.iter_mut().zip(terms) {
            *s += w * t;
        }
    }
    let [weight, now, square, a_day, a_square] = sum;
    let (now, a_day) = (now / weight, a_day / weight);
    let (bend, likeliest, _) = fits.iter().max_by(|a, b| a.2.total_cmp(&b.2))?;
    weight.is_normal().then(|| Wear {
        scatter: likeliest.variance.sqrt(),
        line: (last, likeliest.a_day, bend.map(|at| (at, likeliest.bend))),
        line_now: likeliest.now,
        now,
        sigma: (square / weight - now * now).max(0.0).sqrt(),
        a_day,
        a_day_sigma: (a_square / weight - a_day * a_day).max(0.0).sqrt(),
        hurry: steepest
            .zip(straight)
            .map_or(0.0, |(bent, straight)| bent.2 - straight.2),
        since: steepest.and_then(|(bend, ..)| *bend),
        by_newest: newest.is_some(),
        values: Vec::new(),
    })
}

/// One fitted line at the newest reading.
struct Line {
    now: f64,
    now_variance: f64,
    a_day: f64,
    a_variance: f64,
    /// How much steeper it is after its bend, a day.
    bend: f64,
    /// Of the readings about it.
    variance: f64,
}

impl Line {
    /// Least squares in t − last; with a bend the slope after it is the line's own.
    fn through(values: &[(f64, f64)], last: f64, bend: Option<f64>, floor: f64) -> Option<Self> {
        // y = now + a (t − last) + c min(0, t − τ): a is the slope after the bend.
        let row = |day: f64| [1.0, day - last, bend.map_or(0.0, |at| (day - at).min(0.0))];
        let size = if bend.is_some() { 3 } else { 2 };
        let mut pull = vec![1.0; values.len()];
        let mut fit = None;
        for _ in 0..3 {
            let mut m = [[0.0; 6]; 3];
            let mut y = [0.0; 3];
            for ((day, value), w) in values.iter().zip(&pull) {
                let x = row(*day);
                for i in 0..size {
                    y[i] += w * x[i] * value;
                    for j in 0..size {
                        m[i][j] += w * x[i] * x[j];
                    }
                }
            }
            let inverse = inverse(m, size)?;
            let beta: [f64; 3] =
                core::array::from_fn(|i| (0..size).map(|j| inverse[i][j] * y[j]).sum());
            let off = |(day, value): &(f64, f64)| {
                let x = row(*day);
                value - (0..size).map(|i| beta[i] * x[i]).sum::<f64>()
            };
            let mut sizes: Vec<f64> = values.iter().map(|v| off(v).abs()).collect();
            let robust = 1.4826 * median(&mut sizes)?;
            let sum: f64 = values
                .iter()
                .zip(&pull)
                .map(|(v, w)| w * off(v).powi(2))
                .sum();
            let variance = sum / (values.len().saturating_sub(size).max(1)) as f64;
            let sigma = robust.max(0.3 * variance.sqrt()).max(1.0e-9);
            for (w, v) in pull.iter_mut().zip(values) {
                *w = (2.0 * sigma / off(v).abs().max(1.0e-12)).min(1.0);
            }
            fit = Some((beta, inverse, variance.max(floor).max(1.0e-12)));
        }
        let (beta, inverse, variance) = fit?;
        Some(Self {
            now: beta[0],
            now_variance: inverse[0][0] * variance,
            a_day: beta[1],
            a_variance: inverse[1][1] * variance,
            bend: if bend.is_some() { -beta[2] } else { 0.0 },
            variance,
        })
    }
}

/// The inverse of a small symmetric matrix, by elimination.
fn inverse(mut m: [[f64; 6]; 3], size: usize) -> Option<[[f64; 3]; 3]> {
    for (i, row) in m.iter_mut().enumerate() {
        row[3 + i] = 1.0;
    }
    for i in 0..size {
        let pivot = m[i][i];
        if !(pivot.abs() > 1.0e-12 && pivot.is_finite()) {
            return None;
        }
        for cell in &mut m[i] {
            *cell /= pivot;
        }
        let by = m[i];
        for (j, row) in m.iter_mut().enumerate().take(size) {
            if j != i {
                let factor = row[i];
                for (cell, b) in row.iter_mut().zip(by) {
                    *cell -= factor * b;
                }
            }
        }
    }
    Some(m.map(|row| [row[3], row[4], row[5]]))
}

fn median(values: &mut [f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let middle = values.len() / 2;
    let (_, median, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    Some(*median)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_no_other_reading_bears_out_draws_no_line() {
        // Read once a week to half a division, a bar in tenths: 0.2 to 0.3 in half a year.
        let wears = |n: usize| (7.0 * n as f64, (4.0 + 2.0 * n as f64 / 26.0).round() * 0.05);
        let mut all: Vec<(f64, f64)> = (0..26).map(wears).collect();
        assert_eq!(borne_out(&all, false), all);
        // Digits swapped at the newest, and at one in the middle.
        for at in [25, 12] {
            let mut wrong = all.clone();
            wrong[at].1 += 0.35;
            let mut without = all.clone();
            without.remove(at);
            assert_eq!(borne_out(&wrong, false), without);
        }
        // The next reading bears it out; so does another gauge at once.
        all[25].1 += 0.35;
        assert_eq!(borne_out(&all, true), all);
        all.push((26.0 * 7.0, 0.75));
        assert_eq!(borne_out(&all, false), all);
    }
}
