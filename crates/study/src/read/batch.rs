//! Rows that were read, column by column.
//!
//! Must not know: text.

/// How many rejections a batch keeps in words.
const KEPT: usize = 1000;

/// The rows of one block. Row 0 is left free for the last row of the block before.
#[derive(Debug, Default)]
pub(crate) struct Batch {
    width: usize,
    capacity: usize,
    /// Times in UTC, µs.
    pub(crate) times: Vec<i64>,
    /// Column after column, `capacity` each; NaN is a missing value.
    values: Vec<f64>,
    /// Whether a column has missing values.
    pub(crate) missing: Vec<bool>,
    /// Rows whose local time occurs twice, taken as the earlier, and how much later the other is.
    pub(crate) twice: Vec<(usize, i64)>,
    /// Rows of the file before this block that were not read, since nobody wants their times.
    pub(crate) skipped: u64,
    /// Lines of the file in this block.
    pub(crate) lines: u64,
    pub(crate) rejected: Vec<Rejected>,
    pub(crate) rejected_total: u64,
}

/// A cell that could not be read, or a whole row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Rejected {
    /// Counted from 0 in the block.
    pub(crate) line: u64,
    /// The column; `None` if the row is meant.
    pub(crate) column: Option<usize>,
    pub(crate) problem: String,
    pub(crate) hint: String,
}

impl Batch {
    /// Makes it empty, for so many columns.
    pub(crate) fn clear(&mut self, width: usize) {
        if self.width != width {
            self.width = width;
            self.capacity = 0;
            self.values.clear();
        }
        self.times.clear();
        self.times.push(0);
        self.missing.clear();
        self.missing.resize(width, false);
        self.twice.clear();
        (self.skipped, self.lines) = (0, 0);
        self.rejected.clear();
        self.rejected_total = 0;
        if self.capacity == 0 {
            self.grow();
        }
    }

    /// Without any row, the free one neither, for so many columns.
    pub(crate) fn empty(width: usize) -> Self {
        let mut batch = Self::default();
        batch.clear(width);
        batch.times.clear();
        batch
    }

    /// One row, without a free one.
    pub(crate) fn of_row(time: i64, values: &[f64]) -> Self {
        let mut batch = Self::empty(values.len());
        batch.times.push(time);
        for (column, &value) in values.iter().enumerate() {
            if let Some(cell) = batch.column_mut(column).first_mut() {
                *cell = value;
            }
        }
        batch.missing = values.iter().map(|v| v.is_nan()).collect();
        batch
    }

    /// Adds the rows of another batch of as many columns, the free one included.
    pub(crate) fn append(&mut self, other: &Self) {
        let start = self.rows();
        self.space(start + other.rows());
        self.times.extend_from_slice(&other.times);
        for column in 0..self.width.min(other.width) {
            let to = self.column_mut(column).get_mut(start..).unwrap_or_default();
            to.copy_from_slice(other.column(column));
        }
        for (missing, more) in self.missing.iter_mut().zip(&other.missing) {
            *missing |= more;
        }
    }

    /// Rows, the free one included.
    pub(crate) fn rows(&self) -> usize {
        self.times.len()
    }

    pub(crate) fn width(&self) -> usize {
        self.width
    }

    /// Doubles the space.
    #[cold]
    fn grow(&mut self) {
        let capacity = (2 * self.capacity).max(1 << 12);
        let mut values = vec![0.0; capacity * self.width];
        let rows = self.rows().min(self.capacity);
        if self.capacity > 0 {
            let columns = values
                .chunks_exact_mut(capacity)
                .zip(self.values.chunks_exact(self.capacity));
            for (to, from) in columns {
                if let (Some(to), Some(from)) = (to.get_mut(..rows), from.get(..rows)) {
                    to.copy_from_slice(from);
                }
            }
        }
        self.values = values;
        self.capacity = capacity;
    }

    /// Makes space for so many rows in all, which are then written column by column.
    pub(crate) fn space(&mut self, rows: usize) {
        while self.capacity < rows + 2 {
            self.grow();
        }
    }

    /// Writes a value of the row that is being read.
    #[inline(always)]
    pub(crate) fn set(&mut self, column: usize, value: f64) {
        let row = self.times.len();
        if let Some(cell) = self.values.get_mut(column * self.capacity + row) {
            *cell = value;
        }
    }

    /// Writes a missing value of the row that is being read.
    pub(crate) fn set_missing(&mut self, column: usize) {
        self.set(column, f64::NAN);
        if let Some(missing) = self.missing.get_mut(column) {
            *missing = true;
        }
    }

    /// Ends the row that is being read.
    #[inline(always)]
    pub(crate) fn end_row(&mut self, time: i64) {
        self.times.push(time);
        if self.times.len() == self.capacity {
            self.grow();
        }
    }

    /// A column, the free row included.
    pub(crate) fn column(&self, column: usize) -> &[f64] {
        let start = column * self.capacity;
        self.values
            .get(start..start + self.rows())
            .unwrap_or_default()
    }

    pub(crate) fn column_mut(&mut self, column: usize) -> &mut [f64] {
        let (start, rows) = (column * self.capacity, self.rows());
        self.values.get_mut(start..start + rows).unwrap_or_default()
    }

    /// Keeps only the rows from 1 on that are marked; row 0 stays.
    pub(crate) fn keep(&mut self, kept: &[bool]) {
        let rows = self.rows();
        let mut next = 0;
        for row in (0..rows).filter(|&row| kept.get(row) == Some(&true)) {
            self.times.swap(next, row);
            for column in 0..self.width {
                let start = column * self.capacity;
                self.values.swap(start + next, start + row);
            }
            next += 1;
        }
        self.times.truncate(next);
    }

    pub(crate) fn reject(&mut self, rejected: Rejected) {
        self.rejected_total += 1;
        if self.rejected.len() < KEPT {
            self.rejected.push(rejected);
        }
    }
}
