//! Rows that wait until it is known what of them counts: whether a value that stands still is that
//! of a sensor that stuck, and where a pressure turned.
//!
//! Must not know: what the columns are.

use std::borrow::Cow;

/// A stretch of time whose values are left out, µs, both ends with it.
pub(crate) type Stretch = (i64, i64);

/// The rows that wait, in order.
#[derive(Debug, Default)]
pub(crate) struct Held {
    pub(crate) times: Vec<i64>,
    pub(crate) steps: Vec<f64>,
    pub(crate) columns: Vec<Vec<f64>>,
}

impl Held {
    pub(crate) fn is_empty(&self) -> bool {
        self.times.is_empty()
    }

    /// How many rows lie before a time.
    pub(crate) fn before(&self, time: i64) -> usize {
        self.times.partition_point(|&t| t < time)
    }

    /// So many values wait in other columns than before.
    pub(crate) fn set_width(&mut self, width: usize) {
        self.columns.resize_with(width, Vec::new);
    }

    /// Rows of a batch from one of them on.
    pub(crate) fn append(
        &mut self,
        times: &[i64],
        steps: &[f64],
        columns: &[Cow<'_, [f64]>],
        from: usize,
    ) {
        let rows = from..times.len();
        self.times
            .extend_from_slice(times.get(rows.clone()).unwrap_or_default());
        self.steps
            .extend_from_slice(steps.get(rows.clone()).unwrap_or_default());
        for (to, column) in self.columns.iter_mut().zip(columns) {
            to.extend_from_slice(column.get(rows.clone()).unwrap_or_default());
        }
    }

    /// Values of a column that do not count.
    pub(crate) fn leave_out(&mut self, column: usize, stretches: &[Stretch]) {
        if let Some(values) = self.columns.get_mut(column) {
            blot(&self.times, values, stretches);
        }
    }

    /// The first rows go.
    pub(crate) fn drop_first(&mut self, rows: usize) {
        let rows = rows.min(self.times.len());
        self.times.drain(..rows);
        self.steps.drain(..rows);
        for column in &mut self.columns {
            column.drain(..rows);
        }
    }
}

/// Makes the values in some stretches missing.
pub(crate) fn blot(times: &[i64], values: &mut [f64], stretches: &[Stretch]) {
    for &(from, to) in stretches {
        let rows = times.partition_point(|&t| t < from)..times.partition_point(|&t| t <= to);
        if let Some(values) = values.get_mut(rows) {
            values.fill(f64::NAN);
        }
    }
}
