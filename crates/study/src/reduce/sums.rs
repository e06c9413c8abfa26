//! Count, sum, extremes and integral of one channel, day by day.
//!
//! A sum runs in four lanes; a value's lane follows from its number in the day, so that the sums are
//! the same to the last bit however the rows come in.
//!
//! Must not know: what the channel is.

use jiff::civil::Date;

use super::Series;
use crate::figures::Day;

const LANES: usize = 4;

/// One day, as it grows.
#[derive(Debug, Clone, Copy)]
struct Open {
    date: Date,
    count: u64,
    sum: [f64; LANES],
    /// Twice the integral.
    area: [f64; LANES],
    min: [f64; LANES],
    max: [f64; LANES],
    /// Time that the integral covers, µs.
    covered: i64,
}

/// The days of one channel.
#[derive(Debug, Clone, Default)]
pub(crate) struct Sums {
    closed: Vec<Day>,
    open: Option<Open>,
    /// The last row.
    last: Option<(i64, f64)>,
}

/// A state to go back to.
#[derive(Debug, Clone)]
pub(crate) struct Mark {
    closed: usize,
    open: Option<Open>,
    last: Option<(i64, f64)>,
}

impl Open {
    fn new(date: Date) -> Self {
        Self {
            date,
            count: 0,
            sum: [0.0; LANES],
            area: [0.0; LANES],
            min: [f64::INFINITY; LANES],
            max: [f64::NEG_INFINITY; LANES],
            covered: 0,
        }
    }

    fn lane(&self) -> usize {
        (self.count % LANES as u64) as usize
    }

    /// The step from the row before to the next row.
    #[inline(always)]
    fn step(&mut self, time: (i64, i64), pair: f64, step: f64) {
        let lane = self.lane();
        if let Some(area) = self.area.get_mut(lane) {
            *area += pair * step;
        }
        if step > 0.0 {
            self.covered += time.1 - time.0;
        }
    }

    #[inline(always)]
    fn value(&mut self, value: f64) {
        let lane = self.lane();
        let lanes = (
            self.sum.get_mut(lane),
            self.min.get_mut(lane),
            self.max.get_mut(lane),
        );
        if let (Some(sum), Some(min), Some(max)) = lanes {
            *sum += value;
            *min = min.min(value);
            *max = max.max(value);
        }
        self.count += 1;
    }

    fn close(&self) -> Day {
        let total = |lanes: [f64; LANES]| (lanes[0] + lanes[1]) + (lanes[2] + lanes[3]);
        Day {
            date: self.date,
            count: self.count,
            // A day is made when its first value comes.
            mean: total(self.sum) / self.count as f64,
            min: self.min.into_iter().fold(f64::INFINITY, f64::min),
            max: self.max.into_iter().fold(f64::NEG_INFINITY, f64::max),
            integral: 0.5 * total(self.area),
            covered_s: self.covered as f64 * 1e-6,
        }
    }
}

impl Sums {
    /// Adds rows of one day; `whole` says that all but the first join on.
    pub(crate) fn add(&mut self, date: Date, rows: Series<'_>, whole: bool) {
        let Some((time, value, step)) = rows.iter().next() else {
            return;
        };
        if let (Some(open), Some((last, above))) = (&mut self.open, self.last) {
            open.step((last, time), above + value, step);
        }
        if self.open.is_none_or(|open| open.date != date) {
            self.closed.extend(self.open.as_ref().map(Open::close));
            self.open = Some(Open::new(date));
        }
        let Some(open) = &mut self.open else {
            return;
        };
        open.value(value);
        let (mut last, mut at) = ((time, value), 1);
        let one = |open: &mut Open, last: &mut (i64, f64), at: usize| {
            if let Some((time, value, step)) = rows.part(at..at + 1).iter().next() {
                open.step((last.0, time), last.1 + value, step);
                open.value(value);
                *last = (time, value);
            }
        };
        let length = rows.rows();
        while at < length && open.lane() != 0 {
            one(open, &mut last, at);
            at += 1;
        }
        let fours = (length - at) / LANES * LANES;
        if fours > 0 {
            let range = at..at + fours;
            if whole {
                let first = last.0;
                last.0 = rows.times.get(range.end - 1).copied().unwrap_or(first);
                open.covered += last.0 - first;
            } else {
                let times = rows.times.get(at - 1..range.end).unwrap_or_default();
                let steps = rows.steps.get(range.clone()).unwrap_or_default();
                for (pair, step) in times.windows(2).zip(steps) {
                    open.covered += if *step > 0.0 { pair[1] - pair[0] } else { 0 };
                }
                last.0 = times.last().copied().unwrap_or(last.0);
            }
            open.four_at_a_time(
                rows.values.get(at - 1..range.end - 1).unwrap_or_default(),
                rows.values.get(range.clone()).unwrap_or_default(),
                rows.steps.get(range.clone()).unwrap_or_default(),
            );
            last.1 = rows.values.get(range.end - 1).copied().unwrap_or(last.1);
            at = range.end;
        }
        while at < length {
            one(open, &mut last, at);
            at += 1;
        }
        self.last = Some(last);
    }

    pub(crate) fn mark(&self) -> Mark {
        Mark {
            closed: self.closed.len(),
            open: self.open,
            last: self.last,
        }
    }

    pub(crate) fn back_to(&mut self, mark: &Mark) {
        self.closed.truncate(mark.closed);
        (self.open, self.last) = (mark.open, mark.last);
    }

    pub(crate) fn finish(mut self) -> Vec<Day> {
        self.closed.extend(self.open.as_ref().map(Open::close));
        self.closed
    }
}

impl Open {
    /// Values by fours, with the values before them and the steps to them.
    fn four_at_a_time(&mut self, before: &[f64], values: &[f64], steps: &[f64]) {
        let (mut sum, mut area, mut min, mut max) = (self.sum, self.area, self.min, self.max);
        let chunks = values.as_chunks::<LANES>().0.iter();
        let chunks = chunks
            .zip(before.as_chunks::<LANES>().0)
            .zip(steps.as_chunks::<LANES>().0);
        for ((values, before), steps) in chunks {
            for lane in 0..LANES {
                sum[lane] += values[lane];
                area[lane] += (before[lane] + values[lane]) * steps[lane];
                min[lane] = if values[lane] < min[lane] {
                    values[lane]
                } else {
                    min[lane]
                };
                max[lane] = if values[lane] > max[lane] {
                    values[lane]
                } else {
                    max[lane]
                };
            }
        }
        (self.sum, self.area, self.min, self.max) = (sum, area, min, max);
        self.count += values.len() as u64;
    }
}
