//! Lines through points: least squares with its intervals, and the line of median slope.
//!
//! Must not know: what lies on the axes.

use crate::distribution::{normal_quantile, student_quantile};
use crate::refusal::{Answer, CONFIDENCE, Refusal, VALUE, check_count};
use crate::robust::median;

/// The most points for the median slope: its work grows with the square of their number.
const MOST_PAIRED: usize = 2048;

/// A straight line by ordinary least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Value at x = 0.
    pub intercept: f64,
    /// Change of y for a unit of x.
    pub slope: f64,
    /// Standard error of the intercept.
    pub intercept_sigma: f64,
    /// Standard error of the slope.
    pub slope_sigma: f64,
    /// Residual standard deviation, n − 2 degrees of freedom.
    pub residual_sigma: f64,
    /// Share of the variance of y that the line tells, R².
    pub told: f64,
    /// Number of points.
    pub count: usize,
    mean_x: f64,
    spread_x: f64,
    at_mean: f64,
}

/// What a line foretells at one x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foretold {
    /// The line's value.
    pub value: f64,
    /// Half the interval that holds the mean of many new values.
    pub half_mean: f64,
    /// Half the interval that holds one new value.
    pub half_new: f64,
}

/// Fits a line by least squares.
///
/// b = Σ(x − x̄)(y − ȳ)/S_xx, a = ȳ − b x̄, s² = Σ(y − a − b x)²/(n − 2),
/// σ_b = s/√S_xx, σ_a = s √(1/n + x̄²/S_xx)
///
/// # Validity
/// At least three points, x not all equal; independent errors of one spread.
///
/// # Source
/// NIST Statistical Reference Datasets, Norris, for the numbers; any textbook for the equations.
///
/// # Example
/// ```
/// let line = series::regress::least_squares(&[(1.0, 2.1), (2.0, 3.9), (3.0, 6.0)])?;
/// assert!((line.slope - 1.95).abs() < 1e-12);
/// # Ok::<(), series::Refusal>(())
/// ```
pub fn least_squares(points: &[(f64, f64)]) -> Answer<Line> {
    check_count("points", points.len(), 3, usize::MAX)?;
    check_points(points)?;
    let n = points.len() as f64;
    let mean_x = points.iter().map(|p| p.0).sum::<f64>() / n;
    let mean_y = points.iter().map(|p| p.1).sum::<f64>() / n;
    let (mut sxx, mut sxy, mut syy) = (0.0, 0.0, 0.0);
    for &(x, y) in points {
        let (dx, dy) = (x - mean_x, y - mean_y);
        sxx += dx * dx;
        sxy += dx * dy;
        syy += dy * dy;
    }
    // Rounding of the mean alone gives this much.
    if sxx <= n * (1.0e-15 * mean_x).powi(2) + 1.0e-280 {
        return Err(Refusal::NoSpread { what: "x" });
    }
    let slope = VALUE.named("slope").check(sxy / sxx)?;
    let mut rest = 0.0;
    for &(x, y) in points {
        let miss = (y - mean_y) - slope * (x - mean_x);
        rest += miss * miss;
    }
    let residual_sigma = (rest / (n - 2.0)).sqrt();
    Ok(Line {
        intercept: mean_y - slope * mean_x,
        slope,
        intercept_sigma: residual_sigma * (1.0 / n + mean_x * mean_x / sxx).sqrt(),
        slope_sigma: residual_sigma / sxx.sqrt(),
        residual_sigma,
        told: if syy > 0.0 { 1.0 - rest / syy } else { 1.0 },
        count: points.len(),
        mean_x,
        spread_x: sxx,
        at_mean: mean_y,
    })
}

impl Line {
    /// The value at `x` with its intervals.
    ///
    /// half = t s √(1/n + (x − x̄)²/S_xx) for the mean, t s √(1 + 1/n + (x − x̄)²/S_xx) for one new
    /// value; t is Student's quantile of (1 + confidence)/2 with n − 2 degrees of freedom.
    pub fn at(&self, x: f64, confidence: f64) -> Answer<Foretold> {
        let x = VALUE.check(x)?;
        let two_sided = 0.5 + 0.5 * CONFIDENCE.check(confidence)?;
        let t = student_quantile(two_sided, (self.count - 2) as f64)?;
        let away = x - self.mean_x;
        let share = 1.0 / self.count as f64 + away * away / self.spread_x;
        Ok(Foretold {
            value: self.at_mean + self.slope * away,
            half_mean: t * self.residual_sigma * share.sqrt(),
            half_new: t * self.residual_sigma * (1.0 + share).sqrt(),
        })
    }
}

/// The interval that holds one more value of a sample, half of it.
///
/// t s √(1 + 1/n), t with n − 1 degrees of freedom.
///
/// - returns: mean and half interval
pub fn next_value(sample: &[f64], confidence: f64) -> Answer<(f64, f64)> {
    check_count("values", sample.len(), 2, usize::MAX)?;
    for &y in sample {
        VALUE.check(y)?;
    }
    let n = sample.len() as f64;
    let mean = sample.iter().sum::<f64>() / n;
    let variance = sample.iter().map(|y| (y - mean) * (y - mean)).sum::<f64>() / (n - 1.0);
    let two_sided = 0.5 + 0.5 * CONFIDENCE.check(confidence)?;
    let t = student_quantile(two_sided, n - 1.0)?;
    Ok((mean, t * (variance * (1.0 + 1.0 / n)).sqrt()))
}

/// A line of median slope with the interval of the slope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MedianLine {
    /// Median of y minus slope times median of x.
    pub intercept: f64,
    /// Median of the slopes between all pairs.
    pub slope: f64,
    /// Lower end of the slope's interval.
    pub slope_low: f64,
    /// Upper end of the slope's interval.
    pub slope_high: f64,
}

/// Fits the line of median slope (Theil and Sen): up to 29 % of wrong values leave it standing.
///
/// slope = median of (yⱼ − yᵢ)/(xⱼ − xᵢ) over all pairs of different x, N of them; its interval
/// runs from the slope of rank (N − zσ)/2 to that of rank (N + zσ)/2 + 1,
/// σ² = (n(n−1)(2n+5) − Σ ties u(u−1)(2u+5))/18, z the normal quantile of (1 + confidence)/2
///
/// # Validity
/// 3 to 2048 points, x not all equal. The interval is an approximation, good from about ten
/// points.
///
/// # Source
/// P. K. Sen, *Journal of the American Statistical Association* 63 (1968) 1379–1389, equation 2.6.
pub fn median_slope(points: &[(f64, f64)], confidence: f64) -> Answer<MedianLine> {
    let n = check_count("points", points.len(), 3, MOST_PAIRED)?;
    check_points(points)?;
    let z = normal_quantile(0.5 + 0.5 * CONFIDENCE.check(confidence)?)?;
    let mut slopes = Vec::with_capacity(n * (n - 1) / 2);
    for (i, &(x, y)) in points.iter().enumerate() {
        for &(other_x, other_y) in points.iter().skip(i + 1) {
            let run = other_x - x;
            if run.abs() > 0.0 {
                let slope = (other_y - y) / run;
                slopes.push(VALUE.named("slope").check(slope)?);
            }
        }
    }
    slopes.sort_unstable_by(f64::total_cmp);
    let mut xs: Vec<f64> = points.iter().map(|p| p.0).collect();
    let mut ys: Vec<f64> = points.iter().map(|p| p.1).collect();
    let variance = (tie_term(n) - ties(&mut xs) - ties(&mut ys)) / 18.0;
    let width = z * variance.max(0.0).sqrt();
    let count = slopes.len() as f64;
    let rank = |r: f64| {
        let place = r.round_ties_even().clamp(0.0, count - 1.0);
        slopes.get(place as usize).copied()
    };
    // Counted from 0: rank M₁ from below, and the one after rank M₂.
    let low = rank(((count - width) / 2.0).round_ties_even() - 1.0);
    let high = rank((count + width) / 2.0);
    let (Some(slope_low), Some(slope_high), Some(slope)) = (low, high, median(&mut slopes.clone()))
    else {
        return Err(Refusal::NoSpread { what: "x" });
    };
    let middle_x = median(&mut xs).unwrap_or(0.0);
    let middle_y = median(&mut ys).unwrap_or(0.0);
    Ok(MedianLine {
        intercept: middle_y - slope * middle_x,
        slope,
        slope_low,
        slope_high,
    })
}

fn tie_term(n: usize) -> f64 {
    let n = n as f64;
    n * (n - 1.0) * (2.0 * n + 5.0)
}

/// Σ u(u−1)(2u+5) over the groups of equal values.
fn ties(values: &mut [f64]) -> f64 {
    values.sort_unstable_by(f64::total_cmp);
    values
        .chunk_by(|a, b| a.total_cmp(b).is_eq())
        .map(|group| tie_term(group.len()))
        .sum()
}

fn check_points(points: &[(f64, f64)]) -> Answer<()> {
    for &(x, y) in points {
        VALUE.named("x").check(x)?;
        VALUE.named("y").check(y)?;
    }
    Ok(())
}
