//! Medians and the spread they give: what one wrong value cannot move.
//!
//! Must not know: time.

/// Standard normal deviations in one median absolute deviation: 1/Φ⁻¹(3/4).
pub(crate) const MEDIAN_TO_SIGMA: f64 = 1.482_602_218_505_602;

/// The median; the mean of the middle two for an even count. The order of `values` is lost.
pub(crate) fn median(values: &mut [f64]) -> Option<f64> {
    let half = values.len() / 2;
    if values.is_empty() {
        return None;
    }
    let even = values.len().is_multiple_of(2);
    let (below, &mut middle, _) = values.select_nth_unstable_by(half, f64::total_cmp);
    if !even {
        return Some(middle);
    }
    let next = below.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Some(0.5 * (next + middle))
}

/// Huber's weight of a standardised deviation: 1 within `c`, then c/|u|.
pub(crate) fn huber_weight(u: f64, c: f64) -> f64 {
    let size = u.abs();
    if size <= c { 1.0 } else { c / size }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn median_of_odd_and_even_counts() {
        assert_eq!(median(&mut [3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(&mut [4.0, 1.0, 2.0, 3.0]), Some(2.5));
        assert_eq!(median(&mut []), None);
    }
}
