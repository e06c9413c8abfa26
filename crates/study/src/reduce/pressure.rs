//! The distribution of one pressure, or one dew point, over time.
//!
//! A reading stands for the time up to the next one; times are counted in whole microseconds, so
//! that the sums do not depend on their order.
//!
//! Must not know: what is wanted by whom.

use super::Series;
use crate::channel::Channel;
use crate::figures::{DewPoints, Pressures};

/// Bins of a pressure: of 0.01 bar, from 0 up to the highest that can be read, 16 bar.
const PRESSURE: (f64, f64, usize) = (0.0, 1_000.0, 1_601);
/// Bins of a dew point: of 0.1 K, from −100 °C to 60 °C.
const DEW_POINT: (f64, f64, usize) = (173.15, 0.1, 1_601);
/// A fall lasts if it does so over this time, µs, and so many readings.
const LASTS: i64 = 10_000_000;
const LASTS_READINGS: usize = 3;
/// Longer than this is no fall but a drift, µs.
const LONGEST: i64 = 300_000_000;

/// The readings over which a fall may last, one after another.
#[derive(Debug, Clone, Default)]
struct Recent {
    readings: Vec<(i64, f64)>,
    /// Those before are not needed any more.
    front: usize,
}

impl Recent {
    fn clear(&mut self) {
        self.readings.clear();
        self.front = 0;
    }

    /// The reading that lies long enough before a time, or the oldest, if there are enough.
    #[inline(always)]
    fn front(&mut self, time: i64) -> Option<(i64, f64)> {
        let old = |reading: Option<&(i64, f64)>| reading.is_some_and(|(at, _)| time - at >= LASTS);
        // As many must stay.
        while self.front + LASTS_READINGS <= self.readings.len()
            && old(self.readings.get(self.front + 1))
        {
            self.front += 1;
        }
        if self.readings.len() + 1 < self.front + LASTS_READINGS {
            return None;
        }
        self.readings.get(self.front).copied()
    }

    #[inline(always)]
    fn push(&mut self, time: i64, value: f64) {
        if self.front >= 1024 {
            self.readings.drain(..self.front);
            self.front = 0;
        }
        self.readings.push((time, value));
    }
}

/// How long a pressure stood where.
#[derive(Debug, Clone)]
pub(crate) struct Pressure {
    /// The middle of the first bin, and the width of all.
    bins: (f64, f64),
    micros: Vec<i64>,
    below: i64,
    below_working: i64,
    above: i64,
    wanted: Option<f64>,
    /// So far above what is wanted it counts as above.
    margin: f64,
    min: f64,
    max: f64,
    fastest_fall: f64,
    lasting_fall: f64,
    /// The readings over which a fall may last.
    recent: Recent,
    last: Option<(i64, f64)>,
}

impl Pressure {
    pub(crate) fn new(wanted: Option<f64>) -> Self {
        Self::with(PRESSURE, wanted, 0.0)
    }

    /// A dew point; `margin` is how far above what is wanted it has to be to count.
    pub(crate) fn dew_point(wanted: Option<f64>, margin: f64) -> Self {
        Self::with(DEW_POINT, wanted, margin)
    }

    fn with((first, width, bins): (f64, f64, usize), wanted: Option<f64>, margin: f64) -> Self {
        Self {
            bins: (first, width),
            micros: vec![0; bins],
            below: 0,
            below_working: 0,
            above: 0,
            wanted,
            margin,
            min: f64::INFINITY,
            max: f64::NEG_INFINITY,
            fastest_fall: 0.0,
            lasting_fall: f64::NEG_INFINITY,
            recent: Recent::default(),
            last: None,
        }
    }

    /// Adds rows, of an hour in which the plant rests or works.
    pub(crate) fn add(&mut self, rows: Series<'_>, rests: bool) {
        let wanted = self.wanted.unwrap_or(f64::NEG_INFINITY);
        let too_high = self.wanted.map_or(f64::INFINITY, |w| w + self.margin);
        let (first, per_width) = (self.bins.0, 1.0 / self.bins.1);
        let mut last = self.last;
        let (mut min, mut max, mut fall) = (self.min, self.max, self.fastest_fall);
        for (time, value, step) in rows.iter() {
            if let Some((before, above)) = last
                && step > 0.0
            {
                let micros = time - before;
                // Below the first bin the cast cuts to it.
                let bin = ((above - first) * per_width + 0.5) as usize;
                if let Some(bin) = self.micros.get_mut(bin) {
                    *bin += micros;
                }
                if above < wanted {
                    self.below += micros;
                    self.below_working += if rests { 0 } else { micros };
                }
                if above > too_high {
                    self.above += micros;
                }
                let down = above - value;
                if down > fall * step {
                    fall = down / step;
                }
            } else {
                self.recent.clear();
            }
            self.lasts(time, value);
            min = if value < min { value } else { min };
            max = if value > max { value } else { max };
            last = Some((time, value));
        }
        (self.last, self.min, self.max, self.fastest_fall) = (last, min, max, fall);
    }

    /// A fall from the reading that lies long enough back.
    #[inline(always)]
    fn lasts(&mut self, time: i64, value: f64) {
        if let Some((at, above)) = self.recent.front(time)
            && time - at >= LASTS
            && time - at <= LONGEST
        {
            let (fell, seconds) = (above - value, (time - at) as f64 * 1e-6);
            if fell > self.lasting_fall * seconds {
                self.lasting_fall = fell / seconds;
            }
        }
        self.recent.push(time, value);
    }

    /// The value under which this share of the time lies.
    fn quantile(&self, share: f64) -> f64 {
        let all: i64 = self.micros.iter().sum();
        let wanted = share * all as f64;
        let mut so_far = 0;
        for (bin, micros) in self.micros.iter().enumerate() {
            so_far += micros;
            if so_far as f64 >= wanted && so_far > 0 {
                let middle = self.bins.0 + bin as f64 * self.bins.1;
                return middle.clamp(self.min, self.max);
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
            wanted: self.wanted,
            hours_below_wanted: self.wanted.map(|_| self.below as f64 / 3.6e9),
            working_hours_below_wanted: self.wanted.map(|_| self.below_working as f64 / 3.6e9),
            fastest_fall: self.fastest_fall,
            fastest_lasting_fall: self
                .lasting_fall
                .is_finite()
                .then(|| self.lasting_fall.max(0.0)),
        })
    }

    /// The same of a dew point.
    pub(crate) fn finish_dew_point(&self, channel: Channel) -> Option<DewPoints> {
        self.micros.iter().any(|&m| m > 0).then(|| DewPoints {
            channel,
            min: self.min,
            median: self.quantile(0.5),
            p95: self.quantile(0.95),
            max: self.max,
            wanted: self.wanted,
            hours_above_wanted: self.wanted.map(|_| self.above as f64 / 3.6e9),
            share_above_wanted: self.wanted.map(|_| {
                let all: i64 = self.micros.iter().sum();
                self.above as f64 / all.max(1) as f64
            }),
        })
    }
}
