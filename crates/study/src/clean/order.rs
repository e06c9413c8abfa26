//! Time never goes back: rows that repeat, and rows of a clock that was set back or misread.
//!
//! The last row of each batch is held until the next row is known, since what follows can show that
//! its time is the wrong one.
//!
//! Must not know: values.

use super::left_out::{List, Why};
use crate::read::batch::Batch;

/// The order of the rows of one file.
#[derive(Debug, Default)]
pub(crate) struct Order {
    /// The last time that was kept.
    last: Option<i64>,
    /// The row that is held: its time and values.
    held: Option<(i64, Vec<f64>)>,
    kept: Vec<bool>,
}

impl Order {
    /// Of rows that must come after this time.
    pub(crate) fn after(last: Option<i64>) -> Self {
        Self {
            last,
            ..Self::default()
        }
    }

    /// Whether a row is held.
    pub(crate) fn holds(&self) -> bool {
        self.held.is_some()
    }

    /// Leaves in a batch the rows that are in order and inside the limits; the last is held.
    /// Afterwards the first row of the batch is a row like the others.
    pub(crate) fn take(&mut self, batch: &mut Batch, limits: (i64, i64), list: &mut List) {
        let start = match self.held.take() {
            Some((time, values)) => {
                if let Some(first) = batch.times.first_mut() {
                    *first = time;
                }
                for (column, value) in values.iter().enumerate() {
                    if let Some(cell) = batch.column_mut(column).first_mut() {
                        *cell = *value;
                    }
                    if let Some(missing) = batch.missing.get_mut(column) {
                        *missing |= value.is_nan();
                    }
                }
                0
            }
            None => 1,
        };
        later_of_two(batch, start, self.last);
        let rows = batch.rows();
        if rows <= start {
            batch.times.clear();
            return;
        }
        let held = rows - 1;
        let values = (0..batch.width()).map(|c| batch.column(c).last().copied());
        let values = values.map(|v| v.unwrap_or(f64::NAN)).collect();
        self.held = batch.times.last().map(|&time| (time, values));
        let times = batch.times.get(start..).unwrap_or_default();
        let rising = times.windows(2).all(|pair| pair[0] < pair[1])
            && times
                .first()
                .is_some_and(|&first| self.last.is_none_or(|last| last < first));
        let inside = |time: Option<&i64>| time.is_some_and(|&t| limits.0 <= t && t < limits.1);
        if rising && inside(times.first()) && inside(times.last()) && start == 0 {
            list.close();
            batch.times.truncate(held);
            self.last = batch.times.last().copied().or(self.last);
            return;
        }
        self.kept.clear();
        self.kept.resize(start, false);
        for row in start..held {
            let (Some(&time), Some(&next)) = (batch.times.get(row), batch.times.get(row + 1))
            else {
                break;
            };
            let kept = self.keeps(time, Some(next), limits, list);
            self.kept.push(kept);
        }
        self.kept.push(false);
        batch.keep(&self.kept);
    }

    /// Whether a row is kept, with the time of the row after it.
    fn keeps(&mut self, time: i64, next: Option<i64>, limits: (i64, i64), list: &mut List) -> bool {
        if time < limits.0 || time >= limits.1 {
            return false;
        }
        let misread =
            next.is_some_and(|next| next < time && self.last.is_some_and(|last| last < next));
        match self.last {
            Some(last) if time == last => list.row(Why::Repeat, time),
            Some(last) if time < last => list.row(Why::ClockSetBack, time),
            _ if misread => list.row(Why::TimeMisread, time),
            _ => {
                list.close();
                self.last = Some(time);
                return true;
            }
        }
        false
    }

    /// The row that is still held, at the end of a file, if it is kept.
    pub(crate) fn end(&mut self, limits: (i64, i64), list: &mut List) -> Option<(i64, Vec<f64>)> {
        let (time, values) = self.held.take()?;
        let kept = self.keeps(time, None, limits, list);
        list.close();
        kept.then_some((time, values))
    }
}

/// Local times that occur twice were read as the earlier; where the row before requires it, they
/// are the later.
fn later_of_two(batch: &mut Batch, start: usize, last: Option<i64>) {
    for (row, later) in std::mem::take(&mut batch.twice) {
        let above = if row > start {
            batch.times.get(row - 1).copied()
        } else {
            last
        };
        if let (Some(above), Some(time)) = (above, batch.times.get_mut(row))
            && *time <= above
            && above < *time + later
        {
            *time += later;
        }
    }
}
