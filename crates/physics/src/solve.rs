//! Root finding and interpolation. What does not converge is a refusal, never a number.

use crate::validity::{Answer, Refusal};

const MOST_STEPS: u32 = 200;

/// Finds a root of `f` between `low` and `high`, where `f` changes sign, to within `tolerance`.
///
/// Bisection safeguarding the Illinois form of the false-position rule: always converges on a
/// bracket, a dozen evaluations for smooth functions.
///
/// # Errors
/// [`Refusal::NoSolution`] if the ends do not bracket a root, if `f` is not finite inside, or if
/// the tolerance is not reached; any refusal of `f` itself.
pub fn bracketed_root(
    what: &'static str,
    low: f64,
    high: f64,
    tolerance: f64,
    mut f: impl FnMut(f64) -> Answer<f64>,
) -> Answer<f64> {
    let none = Refusal::NoSolution { what };
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (f(a)?, f(b)?);
    if fa == 0.0 {
        return Ok(a);
    }
    if fb == 0.0 {
        return Ok(b);
    }
    if !(fa.is_finite() && fb.is_finite()) || fa.signum() == fb.signum() {
        return Err(none);
    }
    for step in 0..MOST_STEPS {
        if (b - a).abs() <= tolerance {
            return Ok(0.5 * (a + b));
        }
        // Every fourth step halves, so that a flat end cannot stall the rule.
        let secant = b - fb * (b - a) / (fb - fa);
        let inside = secant > a.min(b) && secant < a.max(b);
        let x = if step % 4 == 3 || !inside {
            0.5 * (a + b)
        } else {
            secant
        };
        let fx = f(x)?;
        if !fx.is_finite() {
            return Err(none);
        }
        if fx == 0.0 {
            return Ok(x);
        }
        if fx.signum() == fb.signum() {
            fa *= 0.5;
        } else {
            (a, fa) = (b, fb);
        }
        (b, fb) = (x, fx);
        if (b - a).abs() <= tolerance || fx.abs() < f64::MIN_POSITIVE {
            return Ok(b);
        }
    }
    Err(none)
}

/// Monotone cubic interpolation through points sorted by x (Fritsch–Carlson 1980).
///
/// Passes through every point, never overshoots between two, and is flat-extended outside:
/// callers say what happens outside, so a value outside is refused here.
#[derive(Debug, Clone, PartialEq)]
pub struct MonotoneCubic {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

impl MonotoneCubic {
    /// Builds the curve.
    ///
    /// # Errors
    /// [`Refusal::NoSolution`] with fewer than two points, a value that is not finite, or x values
    /// that do not rise.
    pub fn through(points: &[(f64, f64)]) -> Answer<Self> {
        let finite = points.iter().all(|(x, y)| x.is_finite() && y.is_finite());
        let rising = points.windows(2).all(|w| w[0].0 < w[1].0);
        if points.len() < 2 || !finite || !rising {
            return Err(Refusal::NoSolution {
                what: "curve through the points",
            });
        }
        let (x, y): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
        let secants: Vec<f64> = points
            .windows(2)
            .map(|w| (w[1].1 - w[0].1) / (w[1].0 - w[0].0))
            .collect();
        let mut slope = vec![0.0; x.len()];
        slope[0] = secants[0];
        slope[x.len() - 1] = secants[secants.len() - 1];
        for i in 1..x.len() - 1 {
            let (before, after) = (secants[i - 1], secants[i]);
            if before * after > 0.0 {
                let (h0, h1) = (x[i] - x[i - 1], x[i + 1] - x[i]);
                let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
                slope[i] = (w0 + w1) / (w0 / before + w1 / after);
            }
        }
        for (end, secant) in [(0, secants[0]), (x.len() - 1, secants[secants.len() - 1])] {
            if slope[end].abs() > 3.0 * secant.abs() {
                slope[end] = 3.0 * secant;
            }
        }
        Ok(Self { x, y, slope })
    }

    /// The curve's value at `x`.
    ///
    /// # Errors
    /// [`Refusal::Contradiction`] outside the first and last point.
    pub fn at(&self, x: f64) -> Answer<f64> {
        let (first, last) = (self.x[0], self.x[self.x.len() - 1]);
        if !(first <= x && x <= last) {
            return Err(Refusal::Contradiction {
                must: "the point lies between the first and the last given",
                first: x,
                second: if x < first { first } else { last },
            });
        }
        let i = self
            .x
            .partition_point(|&known| known <= x)
            .clamp(1, self.x.len() - 1)
            - 1;
        let h = self.x[i + 1] - self.x[i];
        let t = (x - self.x[i]) / h;
        let (t2, t3) = (t * t, t * t * t);
        Ok((2.0 * t3 - 3.0 * t2 + 1.0) * self.y[i]
            + (t3 - 2.0 * t2 + t) * h * self.slope[i]
            + (3.0 * t2 - 2.0 * t3) * self.y[i + 1]
            + (t3 - t2) * h * self.slope[i + 1])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_root_of_a_steep_and_a_flat_function() {
        let root = bracketed_root("root", 0.0, 100.0, 1e-12, |x| Ok(x.powi(9) - 2.0));
        assert!((root.expect("bracketed") - 2.0_f64.powf(1.0 / 9.0)).abs() < 1e-9);
        let root = bracketed_root("root", -50.0, 50.0, 1e-12, |x| Ok((x - 3.0).powi(3)));
        assert!((root.expect("bracketed") - 3.0).abs() < 1e-4);
    }

    #[test]
    fn refuses_without_a_bracket() {
        assert!(bracketed_root("root", 1.0, 2.0, 1e-9, Ok).is_err());
        assert!(bracketed_root("root", -1.0, 2.0, 1e-9, |_| Ok(f64::NAN)).is_err());
    }

    #[test]
    fn the_curve_passes_through_its_points_and_does_not_overshoot() {
        let points = [(1.6, 10.9), (2.5, 15.0), (2.6, 22.0), (5.3, 33.4)];
        let curve = MonotoneCubic::through(&points).expect("rising points");
        for (x, y) in points {
            assert!((curve.at(x).expect("inside") - y).abs() < 1e-12);
        }
        let mut last = 0.0;
        for i in 0..=370 {
            let y = curve
                .at((1.6 + f64::from(i) * 0.01).min(5.3))
                .expect("inside");
            assert!(y >= last);
            last = y;
        }
        assert!(curve.at(1.5).is_err());
    }
}
