//! Looking back: what the last readings say together, and since when a level has been off.
//!
//! Must not know: how readings were taken in.

use std::collections::VecDeque;

use crate::motion::{Belief, Step};
use crate::refusal::{Answer, Range, VALUE};

const TOLERANCE: Range = Range::new("tolerance", 0.0, 1.0e12);

/// One reading's passage: the step to it, and the beliefs before and after it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Visit {
    pub(crate) step: Step,
    pub(crate) predicted: Belief,
    pub(crate) filtered: Belief,
}

/// The last readings' passages, bounded.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Trail {
    most: usize,
    start: Belief,
    visits: VecDeque<Visit>,
}

impl Trail {
    pub(crate) fn new(most: usize, start: Belief) -> Self {
        Self {
            most,
            start,
            visits: VecDeque::new(),
        }
    }

    pub(crate) fn restarted(&self, start: Belief) -> Self {
        Self::new(self.most, start)
    }

    pub(crate) fn push(&mut self, visit: Visit) {
        if self.visits.len() == self.most
            && let Some(oldest) = self.visits.pop_front()
        {
            self.start = oldest.filtered;
        }
        self.visits.push_back(visit);
    }

    /// The Rauch–Tung–Striebel smoother.
    ///
    /// x̂ = x_f + C (x̂₊ − x_p), P̂ = P_f + C (P̂₊ − P_p) Cᵀ, C = P_f Fᵀ P_p⁻¹
    ///
    /// # Source
    /// H. E. Rauch, F. Tung, C. T. Striebel, *AIAA Journal* 3 (1965) 1445–1450.
    pub(crate) fn smoothed(&self) -> Vec<Belief> {
        let mut out = Vec::with_capacity(self.visits.len() + 1);
        let Some(last) = self.visits.back() else {
            return vec![self.start];
        };
        let mut later = last.filtered;
        out.push(later);
        for (i, visit) in self.visits.iter().enumerate().rev() {
            let before = match i.checked_sub(1) {
                Some(previous) => self.visits[previous].filtered,
                None => self.start,
            };
            later = back(&before, visit, &later);
            out.push(later);
        }
        out.reverse();
        out
    }
}

fn back(before: &Belief, visit: &Visit, later: &Belief) -> Belief {
    let Step { gain, keep, .. } = visit.step;
    let p = &visit.predicted;
    // A = P_f Fᵀ
    let a00 = before.level_variance + gain * before.covariance;
    let a01 = keep * before.covariance;
    let a10 = before.covariance + gain * before.drift_variance;
    let a11 = keep * before.drift_variance;
    let [i00, i01, i11] = inverse(p);
    let (c00, c01) = (a00 * i00 + a01 * i01, a00 * i01 + a01 * i11);
    let (c10, c11) = (a10 * i00 + a11 * i01, a10 * i01 + a11 * i11);
    let (dl, dd) = (later.level - p.level, later.drift - p.drift);
    let d00 = later.level_variance - p.level_variance;
    let d01 = later.covariance - p.covariance;
    let d11 = later.drift_variance - p.drift_variance;
    Belief {
        day: before.day,
        level: before.level + c00 * dl + c01 * dd,
        drift: before.drift + c10 * dl + c11 * dd,
        level_variance: before.level_variance
            + c00 * (c00 * d00 + c01 * d01)
            + c01 * (c00 * d01 + c01 * d11),
        covariance: before.covariance
            + c00 * (c10 * d00 + c11 * d01)
            + c01 * (c10 * d01 + c11 * d11),
        drift_variance: before.drift_variance
            + c10 * (c10 * d00 + c11 * d01)
            + c11 * (c10 * d01 + c11 * d11),
    }
    .tidy()
}

/// A variance up to this is certainty.
const CERTAIN: f64 = 1.0e-100;

/// Inverse of the covariance, [00, 01, 11], over what is not certain.
fn inverse(p: &Belief) -> [f64; 3] {
    let (a, b, c) = (p.level_variance, p.covariance, p.drift_variance);
    let one = |v: f64| if v > CERTAIN { 1.0 / v } else { 0.0 };
    if a <= CERTAIN || c <= CERTAIN {
        return [one(a), 0.0, one(c)];
    }
    let correlation = b / a.sqrt() / c.sqrt();
    let rest = 1.0 - correlation * correlation;
    if rest > 1.0e-14 {
        let cross = -correlation / a.sqrt() / c.sqrt() / rest;
        [1.0 / a / rest, cross, 1.0 / c / rest]
    } else {
        // Level and drift are one quantity seen twice: either tells all. The pseudo-inverse.
        let scale = 1.0 / ((a + c) * (a + c));
        [a * scale, b * scale, c * scale]
    }
}

/// Since when a level has been away from `reference` by more than `tolerance`, and has not come
/// back: the day at which the line between two beliefs crosses the edge. `None` when the last
/// belief lies within the tolerance; the first day when all lie outside.
///
/// # Errors
/// A reference or tolerance that is no number.
pub fn away_since(beliefs: &[Belief], reference: f64, tolerance: f64) -> Answer<Option<f64>> {
    let reference = VALUE.named("reference").check(reference)?;
    let tolerance = TOLERANCE.check(tolerance)?;
    let side = match beliefs.last() {
        Some(last) if (last.level - reference).abs() > tolerance => {
            (last.level - reference).signum()
        }
        _ => return Ok(None),
    };
    let beyond = |b: &Belief| side * (b.level - reference) - tolerance;
    let mut since = None;
    let mut later: Option<&Belief> = None;
    for belief in beliefs.iter().rev() {
        let here = beyond(belief);
        if here <= 0.0 {
            if let Some(later) = later {
                let share = -here / (beyond(later) - here);
                since = Some(belief.day + share * (later.day - belief.day));
            }
            break;
        }
        since = Some(belief.day);
        later = Some(belief);
    }
    Ok(since)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(day: f64, level: f64) -> Belief {
        Belief::new(day, (level, 0.1), (0.0, 0.1)).expect("plain numbers")
    }

    #[test]
    fn finds_the_crossing() {
        let beliefs = [
            at(0.0, 0.0),
            at(10.0, 3.0),
            at(20.0, 0.0),
            at(30.0, 4.0),
            at(40.0, 6.0),
        ];
        assert_eq!(away_since(&beliefs, 0.0, 2.0), Ok(Some(25.0)));
        assert_eq!(away_since(&beliefs, 6.0, 1.0), Ok(None));
        assert_eq!(away_since(&beliefs[3..], 0.0, 1.0), Ok(Some(30.0)));
        assert_eq!(away_since(&[], 0.0, 1.0), Ok(None));
    }
}
