//! Rows of files that cover one time, joined: those of one time become one row.
//!
//! Must not know: how files are read.

use super::Taker;
use super::together::Running;
use crate::channel::Channel;

/// The columns of all files that are being read, each channel once.
#[derive(Debug, Default)]
pub(super) struct Columns {
    /// With the longest time between two values that is no gap, µs.
    channels: Vec<(Channel, i64)>,
    /// For each, the files that hold it, as they were named, and which of their columns it is.
    held: Vec<Vec<(usize, usize)>>,
    times: Vec<i64>,
    values: Vec<Vec<f64>>,
    missing: Vec<bool>,
    /// For each file, which row each of its rows has become.
    places: Vec<Vec<usize>>,
}

/// What became of the values of a row.
const HANDED_ON: u8 = 1;
const LEFT_OUT: u8 = 2;

impl Columns {
    pub(super) fn of(files: &[Running]) -> Self {
        let mut columns = Self::default();
        for (file, running) in files.iter().enumerate() {
            for (column, &channel) in running.account.channels.iter().enumerate() {
                let mut known = columns.channels.iter_mut().zip(&mut columns.held);
                match known.find(|((known, _), _)| *known == channel) {
                    Some(((_, gap), held)) => {
                        *gap = running.gap(column).max(*gap);
                        held.push((file, column));
                    }
                    None => {
                        columns.channels.push((channel, running.gap(column)));
                        columns.held.push(vec![(file, column)]);
                    }
                }
            }
        }
        columns.values = vec![Vec::new(); columns.channels.len()];
        columns.missing = vec![false; columns.channels.len()];
        columns.places = vec![Vec::new(); files.len()];
        columns
    }

    pub(super) fn channels(&self) -> &[(Channel, i64)] {
        &self.channels
    }
}

/// Hands on the rows before this time for which nothing more can come from any file; the last time.
pub(super) fn hand_on(
    files: &mut [Running],
    columns: &mut Columns,
    before: Option<i64>,
    taker: &mut dyn Taker,
) -> Option<i64> {
    let end = files.iter().filter_map(|file| file.times().last()).min();
    // A file that begins later may begin at that very time.
    let end = end
        .copied()?
        .min(before.map_or(i64::MAX, |before| before - 1));
    if let [file] = files {
        return one(file, end, taker);
    }
    columns.put_times(files, end);
    columns.put_values(files);
    let values: Vec<&[f64]> = columns.values.iter().map(Vec::as_slice).collect();
    taker.rows(&columns.times, &values, &columns.missing);
    for (file, places) in files.iter_mut().zip(&columns.places) {
        file.forward(places.len());
    }
    columns.times.last().copied()
}

/// The rows of the only file, as they are.
fn one(file: &mut Running, end: i64, taker: &mut dyn Taker) -> Option<i64> {
    let (batch, from) = file.batch()?;
    let times = batch.times.get(from..)?;
    let rows = times.partition_point(|&time| time <= end);
    let times = times.get(..rows)?;
    let columns = (0..batch.width()).map(|c| batch.column(c).get(from..from + rows));
    let columns: Vec<&[f64]> = columns.map(Option::unwrap_or_default).collect();
    taker.rows(times, &columns, &batch.missing);
    let newest = |column: &&[f64]| {
        let at = column.iter().rposition(|v| !v.is_nan())?;
        times.get(at).copied()
    };
    let newest: Vec<Option<i64>> = columns.iter().map(newest).collect();
    let last = times.last().copied();
    for (at, newest) in newest.into_iter().enumerate() {
        if let (Some(last), Some(time)) = (file.last.get_mut(at), newest) {
            *last = Some(time);
            file.once(at);
        }
    }
    file.forward(rows);
    last
}

impl Columns {
    /// The times of all rows up to `end`, each once.
    fn put_times(&mut self, files: &[Running], end: i64) {
        self.times.clear();
        self.places.iter_mut().for_each(Vec::clear);
        let mut rest: Vec<&[i64]> = files
            .iter()
            .map(|file| {
                let times = file.times();
                let rows = times.partition_point(|&time| time <= end);
                times.get(..rows).unwrap_or_default()
            })
            .collect();
        while let Some(time) = rest.iter().filter_map(|times| times.first()).min() {
            let time = *time;
            for (times, places) in rest.iter_mut().zip(&mut self.places) {
                if let Some((first, more)) = times.split_first()
                    && *first == time
                {
                    places.push(self.times.len());
                    *times = more;
                }
            }
            self.times.push(time);
        }
    }

    fn put_values(&mut self, files: &mut [Running]) {
        let mut fates: Vec<Vec<u8>> = self.places.iter().map(|p| vec![0; p.len()]).collect();
        let columns = self.held.iter().zip(&mut self.values);
        for ((held, values), missing) in columns.zip(&mut self.missing) {
            values.clear();
            values.resize(self.times.len(), f64::NAN);
            if let [(file, column)] = held[..] {
                let Some((running, places)) = files.get_mut(file).zip(self.places.get(file)) else {
                    continue;
                };
                *missing = running.put(column, places, values);
                if let Some(fates) = fates.get_mut(file) {
                    fates.iter_mut().for_each(|fate| *fate |= HANDED_ON);
                }
            } else {
                *missing = true;
                let rows = (self.times.as_slice(), self.places.as_slice());
                put_first(files, held, rows, values, &mut fates);
            }
        }
        for (file, fates) in files.iter_mut().zip(fates) {
            let left_out = fates.iter().filter(|&&fate| fate == LEFT_OUT).count();
            file.account.rows_left_out += left_out as u64;
        }
    }
}

impl Running {
    /// Puts the next values of a column in their places; whether some are missing.
    fn put(&self, column: usize, places: &[usize], values: &mut [f64]) -> bool {
        let Some((batch, from)) = self.batch() else {
            return true;
        };
        let read = batch.column(column).get(from..).unwrap_or_default();
        for (&place, &value) in places.iter().zip(read) {
            if let Some(cell) = values.get_mut(place) {
                *cell = value;
            }
        }
        places.len() < values.len() || batch.missing.get(column) != Some(&false)
    }

    /// The value of a column in one of the next rows.
    fn value(&self, column: usize, row: usize) -> f64 {
        let value = self
            .batch()
            .and_then(|(batch, from)| batch.column(column).get(from + row));
        value.copied().unwrap_or(f64::NAN)
    }

    /// Whether a column had a value shortly before.
    fn covers(&self, column: usize, time: i64) -> bool {
        let last = self.last.get(column).copied().flatten();
        last.is_some_and(|last| time.saturating_sub(last) < self.gap(column))
    }
}

/// Puts the values of a channel that several files hold: those of the first file that covers a time.
fn put_first(
    files: &mut [Running],
    held: &[(usize, usize)],
    (times, places): (&[i64], &[Vec<usize>]),
    values: &mut [f64],
    fates: &mut [Vec<u8>],
) {
    let mut next = vec![0; held.len()];
    for (place, (&time, cell)) in times.iter().zip(values).enumerate() {
        let mut covered = false;
        for (&(file, column), row) in held.iter().zip(&mut next) {
            let Some(running) = files.get_mut(file) else {
                continue;
            };
            let is_here = places.get(file).and_then(|p| p.get(*row)) == Some(&place);
            let value = if is_here {
                running.value(column, *row)
            } else {
                f64::NAN
            };
            if value.is_nan() {
                covered |= running.covers(column, time);
            } else {
                let fate = if covered {
                    running.twice(column, time);
                    LEFT_OUT
                } else {
                    *cell = value;
                    running.once(column);
                    HANDED_ON
                };
                if let Some(last) = running.last.get_mut(column) {
                    *last = Some(time);
                }
                if let Some(of_row) = fates.get_mut(file).and_then(|f| f.get_mut(*row)) {
                    *of_row |= fate;
                }
                covered = true;
            }
            *row += usize::from(is_here);
        }
    }
}
