//! What the start of a log teaches: the usual interval, and how long values usually stay the same.
//!
//! Must not know: figures, machines.

/// So many rows are looked at; the same however the file is cut into blocks.
pub(crate) const ROWS: usize = 1 << 17;
/// A gap is longer than so many usual intervals, and than twice what 95 in 100 rows keep to.
const GAP_INTERVALS: i64 = 3;
/// A run of equal values is suspicious from so many values on …
const FLAT_ROWS: usize = 60;
/// … and from so many times the length under which 99 in 100 runs stay.
const FLAT_RUNS: usize = 20;

/// What was learned of one channel, or of the rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Learned {
    /// The usual time between two values, µs.
    pub(crate) interval: Option<i64>,
    /// A longer time between two values is a gap, µs.
    pub(crate) gap: i64,
    /// So many equal values in a row are suspicious.
    pub(crate) flat: usize,
}

/// The value at a share of a list, by rank.
fn ranked<T: Copy + Ord>(list: &mut [T], per_cent: usize) -> Option<T> {
    let last = list.len().checked_sub(1)?;
    let (_, found, _) = list.select_nth_unstable(last * per_cent / 100);
    Some(*found)
}

/// From the times of rows and, of a channel, its values, in which NaN is missing.
pub(crate) fn learn(times: &[i64], values: Option<&[f64]>) -> Learned {
    let present: Vec<(i64, f64)> = match values {
        Some(values) => {
            let pairs = times.iter().copied().zip(values.iter().copied());
            pairs.filter(|(_, v)| !v.is_nan()).collect()
        }
        None => times.iter().map(|&t| (t, 0.0)).collect(),
    };
    let mut steps: Vec<i64> = present
        .windows(2)
        .map(|pair| pair[1].0 - pair[0].0)
        .collect();
    let interval = ranked(&mut steps, 50);
    let gap = match (interval, ranked(&mut steps, 95)) {
        (Some(interval), Some(most)) => (GAP_INTERVALS * interval).max(2 * most),
        // One value or none: whatever follows joins on.
        _ => i64::MAX,
    };
    let mut runs = Vec::new();
    if values.is_some() {
        let mut length = 0_usize;
        for pair in present.windows(2) {
            length += 1;
            if pair[0].1.to_bits() != pair[1].1.to_bits() {
                runs.push(length);
                length = 0;
            }
        }
    }
    let usual = ranked(&mut runs, 99).unwrap_or(1);
    Learned {
        interval,
        gap,
        flat: FLAT_ROWS.max(FLAT_RUNS * usual),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_interval_is_the_usual_one() {
        let times = [0, 10, 20, 30, 500, 510, 520];
        let learned = learn(&times, None);
        assert_eq!((learned.interval, learned.gap), (Some(10), 30));
        // Every fourth row has a value.
        let values: Vec<f64> = (0..40)
            .map(|i| if i % 4 == 0 { 1.0 } else { f64::NAN })
            .collect();
        let times: Vec<i64> = (0..40).collect();
        assert_eq!(learn(&times, Some(&values)).gap, 12);
        assert_eq!(learn(&[5], None).gap, i64::MAX);
    }

    #[test]
    fn values_that_stay_long_by_nature_are_given_longer() {
        let times: Vec<i64> = (0..1000).collect();
        let quick: Vec<f64> = (0..1000).map(f64::from).collect();
        assert_eq!(learn(&times, Some(&quick)).flat, 60);
        let slow: Vec<f64> = (0..1000).map(|i| f64::from(i / 50)).collect();
        assert_eq!(learn(&times, Some(&slow)).flat, 1000);
    }
}
