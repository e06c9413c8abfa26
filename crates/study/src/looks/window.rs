//! The newest rows: what was read over the last minutes, and which of them belong together.
//!
//! Must not know: what the readings are.

use std::collections::VecDeque;

use super::machines::LOAD_MIN;

/// Rows are kept for so long, µs.
const KEPT: i64 = LOAD_MIN as i64 * 60 * 1_000_000;
/// Readings are taken over so long, µs.
const READ: i64 = 10 * 60 * 1_000_000;
/// Rows closer together than this are not all kept, µs.
const CLOSEST: i64 = 2_000_000;
/// A reading is made of so many rows at least.
const LEAST_ROWS: usize = 3;

/// One row without its values.
#[derive(Debug, Clone, Copy)]
struct Row {
    time: i64,
    code: u64,
    settled_s: f32,
}

/// The newest rows.
#[derive(Debug)]
pub(super) struct Window {
    width: usize,
    rows: VecDeque<Row>,
    values: VecDeque<f64>,
}

/// Rows at which all machines did the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Alike {
    pub(super) code: u64,
    /// They had done it for so long at least, s.
    pub(super) settled_s: f64,
    pub(super) rows: usize,
}

impl Window {
    pub(super) fn new(width: usize) -> Self {
        Self {
            width,
            rows: VecDeque::new(),
            values: VecDeque::new(),
        }
    }

    pub(super) fn forget(&mut self) {
        self.rows.clear();
        self.values.clear();
    }

    pub(super) fn row(&mut self, time: i64, code: u64, settled_s: f64, values: &[f64]) {
        if self.rows.back().is_some_and(|r| time - r.time < CLOSEST) {
            self.fill(values);
            return;
        }
        while self.rows.front().is_some_and(|r| time - r.time > KEPT) {
            self.rows.pop_front();
            self.values.drain(..self.width.min(self.values.len()));
        }
        self.rows.push_back(Row {
            time,
            code,
            settled_s: settled_s as f32,
        });
        self.values.extend(values.iter().take(self.width));
    }

    /// What the newest row lacks: another logger may have it a moment later.
    fn fill(&mut self, values: &[f64]) {
        let newest = self.values.iter_mut().rev().take(self.width);
        for (kept, value) in newest.zip(values.iter().take(self.width).rev()) {
            if kept.is_nan() {
                *kept = *value;
            }
        }
    }

    /// Whether it reaches back over the whole time, up to one row.
    pub(super) fn is_full(&self, now: i64, interval: i64) -> bool {
        let first = self.rows.front();
        first.is_some_and(|r| now - r.time >= KEPT - interval - CLOSEST)
    }

    fn lately(&self) -> impl Iterator<Item = (usize, &Row)> {
        let from = self.rows.back().map_or(0, |r| r.time - READ);
        self.rows
            .iter()
            .enumerate()
            .filter(move |(_, r)| r.time >= from)
    }

    /// The states in which all machines were for `settled_s` and more, with the rows of each.
    pub(super) fn alike(&self, settled_s: f64) -> Vec<Alike> {
        let mut found: Vec<Alike> = Vec::new();
        for (_, row) in self.lately() {
            if f64::from(row.settled_s) < settled_s {
                continue;
            }
            match found.iter_mut().find(|a| a.code == row.code) {
                Some(alike) => alike.rows += 1,
                None => found.push(Alike {
                    code: row.code,
                    settled_s,
                    rows: 1,
                }),
            }
        }
        found.retain(|alike| alike.rows >= LEAST_ROWS);
        found
    }

    fn value(&self, row: usize, column: usize) -> Option<f64> {
        let value = *self.values.get(row * self.width + column)?;
        (!value.is_nan()).then_some(value)
    }

    /// The rows that are alike, and of those the ones where another column is at least so large.
    fn rows_of(&self, alike: &Alike, least: Option<(usize, f64)>) -> impl Iterator<Item = usize> {
        let same =
            move |row: &Row| row.code == alike.code && f64::from(row.settled_s) >= alike.settled_s;
        let large = move |at: usize| {
            least.is_none_or(|(column, least)| {
                self.value(at, column).is_some_and(|value| value >= least)
            })
        };
        self.lately()
            .filter(move |(at, row)| same(row) && large(*at))
            .map(|(at, _)| at)
    }

    /// Whether there are enough rows that are alike where another column is at least so large.
    pub(super) fn has(&self, alike: &Alike, least: (usize, f64)) -> bool {
        self.rows_of(alike, Some(least)).count() >= LEAST_ROWS
    }

    /// The median of a column over the rows that are alike, perhaps where another is large.
    pub(super) fn median(
        &self,
        column: usize,
        alike: &Alike,
        least: Option<(usize, f64)>,
    ) -> Option<f64> {
        let rows = self.rows_of(alike, least);
        middle(rows.filter_map(|at| self.value(at, column)).collect())
    }

    /// The median of a column over all of the last ten minutes.
    pub(super) fn median_of_all(&self, column: usize) -> Option<f64> {
        let lately = self.lately();
        middle(
            lately
                .filter_map(|(at, _)| self.value(at, column))
                .collect(),
        )
    }

    /// The mean of a column over the whole window; most rows must have it.
    pub(super) fn mean(&self, column: usize) -> Option<f64> {
        let rows = self.rows.len();
        let (mut sum, mut count) = (0.0, 0_usize);
        for value in (0..rows).filter_map(|row| self.value(row, column)) {
            sum += value;
            count += 1;
        }
        (2 * count > rows && count >= LEAST_ROWS).then(|| sum / count as f64)
    }

    /// The time of the newest row, µs.
    pub(super) fn newest(&self) -> Option<i64> {
        self.rows.back().map(|row| row.time)
    }
}

/// The median; of an even number, the mean of the two in the middle.
pub(super) fn middle(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let last = values.len().checked_sub(1)?;
    let (low, high) = (values.get(last / 2)?, values.get(values.len() / 2)?);
    Some(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECOND: i64 = 1_000_000;

    fn window() -> Window {
        let mut window = Window::new(1);
        for minute in 0..30_i64 {
            let code = u64::from(minute % 2 == 0);
            let value = if minute == 25 {
                f64::NAN
            } else {
                minute as f64
            };
            window.row(minute * 60 * SECOND, code, 60.0, &[value]);
        }
        window
    }

    #[test]
    fn rows_go_when_they_are_old() {
        let window = window();
        assert_eq!(window.rows.len(), 21);
        assert_eq!(window.values.len(), 21);
        assert!(window.is_full(29 * 60 * SECOND, 60 * SECOND));
        let mut short = Window::new(1);
        short.row(0, 0, 0.0, &[1.0]);
        assert!(!short.is_full(18 * 60 * SECOND, 60 * SECOND));
    }

    #[test]
    fn what_another_logger_says_a_moment_later_is_filled_in() {
        let mut window = Window::new(2);
        for at in 0..5 {
            let time = 10 * at * SECOND;
            window.row(time, 0, 60.0, &[f64::NAN, 1.0]);
            window.row(time + SECOND, 0, 61.0, &[7.0, f64::NAN]);
        }
        assert_eq!(window.rows.len(), 5);
        assert_eq!(window.median_of_all(0), Some(7.0));
        assert_eq!(window.median_of_all(1), Some(1.0));
    }

    #[test]
    fn readings_belong_to_the_same_states() {
        let window = window();
        let alike = window.alike(60.0);
        // 19 to 29, and of those the odd ones are code 0.
        assert_eq!(alike.iter().map(|a| a.rows).sum::<usize>(), 11);
        let odd = alike.iter().find(|a| a.code == 0).expect("odd minutes");
        // 19, 21, 23, 27, 29: the missing one does not count.
        assert_eq!(window.median(0, odd, None), Some(23.0));
        assert!(window.alike(61.0).is_empty());
        assert_eq!(window.median(0, odd, Some((0, 22.0))), Some(27.0));
        assert!(window.has(odd, (0, 22.0)) && !window.has(odd, (0, 28.0)));
    }

    #[test]
    fn the_middle_of_an_even_number_lies_between() {
        assert_eq!(middle(vec![4.0, 1.0, 3.0, 2.0]), Some(2.5));
        assert_eq!(middle(Vec::new()), None);
    }
}
