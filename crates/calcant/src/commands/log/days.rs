//! Rows that come in order, gathered by local day and written as Parquet.
//!
//! Nothing stands in its place before everything is written: files and folders have other names
//! until then.
//!
//! Must not know: how logs are read.

use std::fs::{self, File};
use std::io::BufWriter;
use std::path::{Path, PathBuf};

use ::station::file::unit::Unit;
use ::study::LogRows;
use anyhow::{Context as _, Result};
use archive::write::{DayRows, DayWriter, Layout, ROWS_OF_A_GROUP};
use jiff::Timestamp;
use jiff::civil::{Date, date};
use jiff::tz::TimeZone;

type Writer = DayWriter<BufWriter<File>>;

/// Where days are written, under names that do not last.
pub(super) enum Place {
    /// All days in one file.
    File { beside: PathBuf },
    /// Each day in a file of a folder.
    Folder { beside: PathBuf },
}

/// What was written.
#[derive(Debug, Default, Clone)]
pub(super) struct Written {
    pub(super) rows: u64,
    pub(super) days: Vec<Date>,
}

/// Gathers rows.
pub(super) struct Days {
    place: Place,
    layout: Layout,
    units: Vec<Unit>,
    zone: TimeZone,
    /// The local day of the rows that are gathered, and the time at which it ends, µs.
    now: Option<(Date, i64)>,
    times: Vec<i64>,
    columns: Vec<Vec<f64>>,
    writer: Option<Writer>,
    written: Written,
    fault: Option<anyhow::Error>,
}

impl Days {
    /// Of these columns, whose values come in SI and are written in these units.
    pub(super) fn new(place: Place, layout: Layout, units: Vec<Unit>, zone: TimeZone) -> Self {
        Self {
            columns: vec![Vec::new(); units.len()],
            place,
            layout,
            units,
            zone,
            now: None,
            times: Vec::new(),
            writer: None,
            written: Written::default(),
            fault: None,
        }
    }

    /// Everything came; what was written, if all of it was.
    pub(super) fn end(mut self) -> Result<Written> {
        if self.fault.is_none() {
            let ended = self.flush().and_then(|()| self.close());
            self.fault = ended.err();
        }
        match self.fault {
            Some(fault) => Err(fault),
            None => Ok(self.written),
        }
    }

    fn day_of(&self, time: i64) -> (Date, i64) {
        // Times come from a log, and so lie in range.
        let stamp = Timestamp::from_microsecond(time).unwrap_or(Timestamp::UNIX_EPOCH);
        let day = self.zone.to_datetime(stamp).date();
        let next = day.tomorrow().ok().and_then(|next| {
            let midnight = self.zone.to_ambiguous_timestamp(next.at(0, 0, 0, 0));
            midnight.compatible().ok()
        });
        (day, next.map_or(i64::MAX, Timestamp::as_microsecond))
    }

    fn take(&mut self, times: &[i64], columns: &[&[f64]]) -> Result<()> {
        let mut start = 0;
        while let Some(rest) = times.get(start..)
            && let Some(&first) = rest.first()
        {
            let (day, end) = match self.now {
                Some(now) if first < now.1 => now,
                _ => {
                    self.flush()?;
                    self.next_day()?;
                    self.day_of(first)
                }
            };
            self.now = Some((day, end));
            let room = ROWS_OF_A_GROUP - self.times.len();
            let rows = rest
                .partition_point(|&time| time < end)
                .clamp(1, room.max(1));
            let part = start..start + rows;
            self.times
                .extend_from_slice(times.get(part.clone()).unwrap_or_default());
            for ((to, from), unit) in self.columns.iter_mut().zip(columns).zip(&self.units) {
                let from = from.get(part.clone()).unwrap_or_default();
                to.extend(from.iter().map(|&si| tidied(unit.from_si(si))));
            }
            start += rows;
            if self.times.len() >= ROWS_OF_A_GROUP {
                self.flush()?;
            }
        }
        Ok(())
    }

    /// Writes what is gathered.
    fn flush(&mut self) -> Result<()> {
        let Some((day, _)) = self.now.filter(|_| !self.times.is_empty()) else {
            return Ok(());
        };
        let path = match &self.place {
            Place::File { beside } => beside.clone(),
            Place::Folder { beside } => beside.join(format!("day={day}")).join("part-0.parquet"),
        };
        let failed = || format!("{} could not be written", path.display());
        if self.writer.is_none() {
            if let Some(parent) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
                fs::create_dir_all(parent).with_context(failed)?;
            }
            let file = BufWriter::new(File::create(&path).with_context(failed)?);
            self.writer = Some(DayWriter::new(file, &self.layout).with_context(failed)?);
        }
        if let Some(writer) = &mut self.writer {
            let rows = DayRows {
                day: (day - date(1970, 1, 1)).get_days(),
                times: &self.times,
                columns: &self.columns,
            };
            writer.group(rows).with_context(failed)?;
        }
        self.written.rows += self.times.len() as u64;
        if self.written.days.last() != Some(&day) {
            self.written.days.push(day);
        }
        self.times.clear();
        self.columns.iter_mut().for_each(Vec::clear);
        Ok(())
    }

    /// A day is over: so is its file, if it has one of its own.
    fn next_day(&mut self) -> Result<()> {
        match self.place {
            Place::File { .. } => Ok(()),
            Place::Folder { .. } => self.close(),
        }
    }

    fn close(&mut self) -> Result<()> {
        let Some(writer) = self.writer.take() else {
            return Ok(());
        };
        let file = writer.end().context("a file could not be written")?;
        let file = file
            .into_inner()
            .map_err(std::io::IntoInnerError::into_error);
        let file = file.context("a file could not be written")?;
        file.sync_all().context("a file could not be written")
    }
}

impl LogRows for Days {
    fn rows(&mut self, times: &[i64], columns: &[&[f64]]) {
        if self.fault.is_none() {
            self.fault = self.take(times, columns).err();
        }
    }
}

/// The number as it was written, without what the way through SI left at its far end: rounded to
/// 10⁻¹² of the unit, or to 10⁻⁹ where it is large.
fn tidied(number: f64) -> f64 {
    let places = match number.abs() {
        size if size < 1e3 => 1e12,
        size if size < 1e6 => 1e9,
        _ => return number,
    };
    (number * places).round() / places
}

/// Moves the folders of days into place, all or none of them.
pub(super) fn move_days(days: &[Date], from: &Path, to: &Path) -> Result<()> {
    let name = |day: &Date| format!("day={day}");
    let mut moved: Vec<&Date> = Vec::new();
    for day in days {
        let outcome = fs::rename(from.join(name(day)), to.join(name(day)));
        if let Err(error) = outcome {
            for day in moved {
                // What cannot be taken back is told by the fault that follows.
                let _ = fs::rename(to.join(name(day)), from.join(name(day)));
            }
            let what = format!("{} could not be written", to.join(name(day)).display());
            return Err(error).context(what);
        }
        moved.push(day);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_come_back_as_they_were_written() {
        for written in [60.1, 7.02, -13.9, 0.000_123, 33_412.7, 8_123_456.7] {
            let (factor, offset) = (1.0, 273.15);
            let si: f64 = written * factor + offset;
            let back = tidied((si - offset) / factor);
            assert!(
                (back - written).abs() <= 1e-9 * written.abs().max(1e-3),
                "{back}"
            );
        }
        assert_eq!(tidied(60.1 + 273.15 - 273.15).to_bits(), 60.1_f64.to_bits());
        assert!(tidied(f64::NAN).is_nan());
    }
}
