//! Wear that is ordinary: separator, filters and belts go towards their change, and the only question
//! is when.
//!
//! A straight line through the readings since the last change of the part: slope by the median of
//! all pairs (Theil–Sen), level by the median of what is left. Must not know: sentences, money.

use super::forecast::{Dates, Path, passage};
use super::stream::Stream;

/// Fewer readings than this, or a shorter time, give no line.
const LEAST_READINGS: usize = 6;
const LEAST_DAYS: f64 = 21.0;
/// Readings that are used; more are thinned.
const MOST_READINGS: usize = 90;

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
    /// The values that it was drawn through, oldest first: (day, value).
    pub(crate) values: Vec<(f64, f64)>,
}

impl Wear {
    /// Through the readings since the last reset; `value` turns a sample into the wear.
    pub(crate) fn of(
        stream: &Stream,
        value: impl Fn(&super::stream::Sample) -> Option<f64>,
    ) -> Option<Self> {
        let since = stream.samples.iter().rposition(|s| s.reset).unwrap_or(0);
        let all: Vec<(f64, f64)> = stream
            .samples
            .iter()
            .skip(since)
            .filter_map(|s| value(s).map(|v| (s.day, v)))
            .collect();
        let stride = all.len().div_ceil(MOST_READINGS).max(1);
        let mut values: Vec<(f64, f64)> = all.iter().rev().step_by(stride).copied().collect();
        values.reverse();
        let (first, last) = (values.first()?.0, values.last()?.0);
        if values.len() < LEAST_READINGS || last - first < LEAST_DAYS {
            return None;
        }
        let mut slopes = Vec::with_capacity(values.len() * values.len() / 2);
        for (i, a) in values.iter().enumerate() {
            for b in &values[i + 1..] {
                if b.0 - a.0 > 0.5 {
                    slopes.push((b.1 - a.1) / (b.0 - a.0));
                }
            }
        }
        let a_day = median(&mut slopes)?;
        let mut levels: Vec<f64> = values.iter().map(|(d, v)| v - a_day * (d - last)).collect();
        let now = median(&mut levels)?;
        let mut off: Vec<f64> = levels.iter().map(|l| (l - now).abs()).collect();
        let noise = 1.4826 * median(&mut off)?;
        let n = values.len() as f64;
        let mean = values.iter().map(|(d, _)| d).sum::<f64>() / n;
        let spread = values
            .iter()
            .map(|(d, _)| (d - mean).powi(2))
            .sum::<f64>()
            .sqrt();
        // The median's standard deviation is 1.25 times the mean's.
        Some(Self {
            now,
            sigma: 1.25 * noise * (1.0 / n + ((last - mean) / spread).powi(2)).sqrt(),
            a_day,
            a_day_sigma: 1.25 * noise / spread,
            values,
        })
    }

    /// Whether it grows for certain.
    pub(crate) fn grows(&self) -> bool {
        self.a_day > 3.0 * self.a_day_sigma.max(1.0e-12)
    }

    /// When it reaches its limit.
    pub(crate) fn dates(&self, limit: f64, today: jiff::civil::Date) -> Dates {
        // In units in which the whole way is one, as the forecast's wandering is stated.
        let unit = limit.abs().max(1.0e-9);
        let path = Path {
            now: self.now / unit,
            sigma: self.sigma / unit,
            a_day: self.a_day / unit,
        };
        passage(path, today, |_| Some(limit / unit))
    }
}

fn median(values: &mut [f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let middle = values.len() / 2;
    let (_, median, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    Some(*median)
}
