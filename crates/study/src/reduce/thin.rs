//! A list that stays short: when it is full, every other entry goes, and from then on only every
//! other one is taken. What stays is spread evenly over all that came.
//!
//! Must not know: what the entries are.

/// So many entries are kept at most.
const MOST: usize = 4096;

/// The list.
#[derive(Debug, Clone)]
pub(crate) struct Thin<T> {
    kept: Vec<T>,
    stride: u64,
    seen: u64,
}

impl<T> Default for Thin<T> {
    fn default() -> Self {
        Self {
            kept: Vec::new(),
            stride: 1,
            seen: 0,
        }
    }
}

impl<T: Copy> Thin<T> {
    pub(crate) fn push(&mut self, entry: T) {
        if self.seen.is_multiple_of(self.stride) {
            if self.kept.len() >= MOST {
                let mut at = 0_usize;
                self.kept.retain(|_| {
                    at += 1;
                    at % 2 == 1
                });
                self.stride *= 2;
            }
            if self.seen.is_multiple_of(self.stride) {
                self.kept.push(entry);
            }
        }
        self.seen += 1;
    }

    /// How many came in all.
    pub(crate) fn seen(&self) -> u64 {
        self.seen
    }

    pub(crate) fn kept(&self) -> &[T] {
        &self.kept
    }
}

/// The value under which this share of a list lies; `None` if it is empty.
pub(crate) fn quantile(values: &[f64], share: f64) -> Option<f64> {
    let mut sorted: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    let last = sorted.len().checked_sub(1)?;
    let at = share.clamp(0.0, 1.0) * last as f64;
    // Between 0 and the last.
    let low = at.floor() as usize;
    let (a, b) = (sorted.get(low)?, sorted.get((low + 1).min(last))?);
    Some(a + (b - a) * (at - low as f64))
}

/// The median and its standard deviation, by the median of the distances from it: 1.4826 times
/// that is the scatter of normal values, 1.2533/√n of it that of their median (textbook statistics).
pub(crate) fn median(values: &[f64]) -> Option<(f64, f64)> {
    let middle = quantile(values, 0.5)?;
    let apart: Vec<f64> = values.iter().map(|v| (v - middle).abs()).collect();
    let scatter = 1.4826 * quantile(&apart, 0.5)?;
    Some((middle, 1.2533 * scatter / (values.len() as f64).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_stays_short_and_even() {
        let mut list = Thin::default();
        for i in 0..100_000_u32 {
            list.push(i);
        }
        assert_eq!(list.seen(), 100_000);
        assert!(list.kept().len() <= MOST && list.kept().len() > MOST / 2);
        let apart: Vec<u32> = list.kept().windows(2).map(|w| w[1] - w[0]).collect();
        assert!(apart.iter().all(|&step| step == apart[0]), "{apart:?}");
    }

    #[test]
    fn quantiles_lie_between_the_values() {
        let values = [4.0, 1.0, 3.0, 2.0];
        assert_eq!(quantile(&values, 0.5), Some(2.5));
        assert_eq!(quantile(&values, 0.0), Some(1.0));
        assert_eq!(quantile(&[], 0.5), None);
        let (middle, sigma) = median(&[1.0, 1.0, 1.0, 9.0]).expect("four");
        assert!((middle - 1.0).abs() < 1e-12 && sigma.abs() < 1e-12);
    }
}
