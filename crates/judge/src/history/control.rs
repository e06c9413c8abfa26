//! Plain control charts of what a machine's own level leaves: a second, simpler witness to a change
//! that the regression found, after formulas that anyone can check.
//!
//! Must not know: causes, sentences.

use series::change::{Cusum, Ewma};

use super::shift::{NUISANCE, Point};

/// Allowance and decision limit of the cumulative sum, in σ (NIST/SEMATECH e-Handbook 6.3.2.3).
pub(crate) const ALLOWANCE: f64 = 0.5;
pub(crate) const DECISION: f64 = 5.0;
/// Weight and width of the moving average (NIST/SEMATECH e-Handbook 6.3.2.4).
pub(crate) const WEIGHT: f64 = 0.2;
pub(crate) const WIDTH: f64 = 3.0;
/// A reading further out than this counts as so far only: one misreading makes no signal.
const FARTHEST: f64 = 4.0;

/// Both charts at the newest reading, in σ of one reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Control {
    /// Readings that went in.
    pub(crate) readings: usize,
    /// The larger of the two sums, and the day on which it last left nought, if it stands beyond
    /// its limit.
    pub(crate) sum: f64,
    pub(crate) since: Option<f64>,
    /// The moving average and the limit that it is held against.
    pub(crate) average: f64,
    pub(crate) limit: f64,
}

/// Charts of one stream's residuals from a day on, about its own level; `noise` is one σ.
pub(crate) fn charts(
    points: &[Point],
    level: [f64; NUISANCE],
    noise: f64,
    from: f64,
) -> Option<Control> {
    let mut sums = Cusum::new(ALLOWANCE, DECISION).ok()?;
    let mut averages = Ewma::new(WEIGHT, WIDTH, 0.0, 1.0).ok()?;
    let mut control = None;
    let trusted = points.iter().filter(|p| p.day >= from && p.trust > 0.0);
    for (before, p) in trusted.enumerate() {
        let own: f64 = level.iter().zip(p.nuisance).map(|(b, x)| b * x).sum();
        let z = ((p.residual - own) / noise).clamp(-FARTHEST, FARTHEST);
        let sum = sums.update(p.day, z).ok()?;
        let average = averages.update(z).ok()?;
        control = Some(Control {
            readings: before + 1,
            sum: sum.high.max(sum.low),
            since: sum.since,
            average: average.value,
            limit: average.upper,
        });
    }
    control
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(residuals: &[f64]) -> Vec<Point> {
        let point = |(day, residual): (usize, &f64)| Point {
            day: day as f64,
            residual: *residual,
            nuisance: [1.0, 0.0, 0.0, 0.0, 0.0],
            trust: 1.0,
        };
        residuals.iter().enumerate().map(point).collect()
    }

    // The charts themselves are checked against the handbook's worked numbers in `series`.
    #[test]
    fn sums_and_averages_are_those_reckoned_by_hand() {
        let level = [10.0, 0.0, 0.0, 0.0, 0.0];
        let readings = points(&[12.0, 14.0, 10.0, 16.0]);
        let control = charts(&readings, level, 2.0, 0.0).expect("four readings");
        // z = 1, 2, 0, 3: S = 0.5, 2, 1.5, 4; E = 0.2, 0.56, 0.448, 0.9584.
        assert!((control.sum - 4.0).abs() < 1e-12);
        assert!((control.average - 0.9584).abs() < 1e-12);
        assert_eq!((control.readings, control.since), (4, None));
        // 3·√(0.2/1.8·(1 − 0.8^8))
        let limit = 3.0 * (0.2_f64 / 1.8 * (1.0 - 0.8_f64.powi(8))).sqrt();
        assert!((control.limit - limit).abs() < 1e-12);
    }

    #[test]
    fn one_misreading_makes_no_signal_and_two_shifted_readings_do() {
        let level = [0.0; NUISANCE];
        let one = charts(&points(&[0.0, 0.0, 90.0]), level, 1.0, 0.0).expect("readings");
        assert_eq!(one.since, None);
        let two = charts(&points(&[0.0, 0.0, 90.0, 90.0]), level, 1.0, 0.0).expect("readings");
        assert_eq!(two.since, Some(1.0));
        // Work done on day 3 begins anew.
        let anew = charts(&points(&[90.0, 90.0, 90.0, 0.1]), level, 1.0, 3.0).expect("readings");
        assert!(anew.sum < 1.0 && anew.readings == 1);
    }
}
