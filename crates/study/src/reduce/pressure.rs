//! The distribution of one pressure over time.
//!
//! A reading stands for the time up to the next one; times are counted in whole microseconds, so
//! that the sums do not depend on their order.
//!
//! Must not know: what is wanted by whom.

use super::Series;
use crate::channel::Channel;
use crate::figures::Pressures;

/// Width of a bin, Pa.
const WIDTH: f64 = 1_000.0;
/// Bins up to the highest pressure that can be read, 16 bar.
const BINS: usize = 1_601;

/// How long a pressure stood where.
#[derive(Debug, Clone)]
pub(crate) struct Pressure {
    micros: Vec<i64>,
    below: i64,
    wanted: Option<f64>,
    min: f64,
    max: f64,
    fastest_fall: f64,
    last: Option<(i64, f64)>,
}

impl Pressure {
    pub(crate) fn new(wanted: Option<f64>) -> Self {
        Self {
            micros: vec![0; BINS],
            below: 0,
            wanted,
            min: f64::INFINITY,
            max: f64::NEG_INFINITY,
            fastest_fall: 0.0,
            last: None,
        }
    }

    pub(crate) fn add(&mut self, rows: Series<'_>) {
        let wanted = self.wanted.unwrap_or(f64::NEG_INFINITY);
        let mut last = self.last;
        let (mut min, mut max, mut fall) = (self.min, self.max, self.fastest_fall);
        for (time, value, step) in rows.iter() {
            if let Some((before, above)) = last
                && step > 0.0
            {
                let micros = time - before;
                // Readings lie between 0 and 16 bar.
                let bin = (above / WIDTH).round() as usize;
                if let Some(bin) = self.micros.get_mut(bin) {
                    *bin += micros;
                }
                if above < wanted {
                    self.below += micros;
                }
                let down = above - value;
                if down > fall * step {
                    fall = down / step;
                }
            }
            min = if value < min { value } else { min };
            max = if value > max { value } else { max };
            last = Some((time, value));
        }
        (self.last, self.min, self.max, self.fastest_fall) = (last, min, max, fall);
    }

    /// The pressure under which this share of the time lies.
    fn quantile(&self, share: f64) -> f64 {
        let all: i64 = self.micros.iter().sum();
        let wanted = share * all as f64;
        let mut so_far = 0;
        for (bin, micros) in self.micros.iter().enumerate() {
            so_far += micros;
            if so_far as f64 >= wanted && so_far > 0 {
                return (bin as f64 * WIDTH).clamp(self.min, self.max);
            }
        }
        self.max
    }

    /// The distribution; `None` without two readings that join on.
    pub(crate) fn finish(&self, channel: Channel) -> Option<Pressures> {
        self.micros.iter().any(|&m| m > 0).then(|| Pressures {
            channel,
            min: self.min,
            p05: self.quantile(0.05),
            median: self.quantile(0.5),
            p95: self.quantile(0.95),
            max: self.max,
            hours_below_wanted: self.wanted.map(|_| self.below as f64 / 3.6e9),
            fastest_fall: self.fastest_fall,
        })
    }
}
