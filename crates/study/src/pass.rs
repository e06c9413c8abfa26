//! The rows of logs, put in order and handed on as they are.
//!
//! The same rows that the study counts: those that repeat, and those of a clock that was set back or
//! misread, are left out and told. Values that the study leaves out because a sensor stuck are
//! handed on.
//!
//! Must not know: what is done with the rows.

use station::file::problem::Problem;
use station::file::unit::Unit;
use station::model::Station;

use crate::channel::Channel;
use crate::clean::left_out::LeftOut;
use crate::figures::{RejectedCell, SourceRead};
use crate::options::{LogOptions, LogSource};
use crate::read::header::Role;
use crate::read::{self, Start, Taker};

/// A column of a log that says something about the station.
#[derive(Debug, Clone, PartialEq)]
pub struct LogColumn {
    /// Its header, as written.
    pub header: String,
    /// What it says.
    pub channel: Channel,
    /// The unit in which it is written.
    pub unit: Unit,
}

/// What became of the rows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Passed {
    /// Rows read of all files, with those that were left out.
    pub rows: u64,
    /// Rows of files of which nothing was handed on.
    pub rows_left_out: u64,
    /// What was left out; the first 1000.
    pub left_out: Vec<LeftOut>,
    /// How much there is in all.
    pub left_out_total: u64,
    /// What was found out about each file.
    pub sources: Vec<SourceRead>,
    /// The first 1000 cells and rows that could not be read.
    pub rejected: Vec<RejectedCell>,
    /// How many there are in all.
    pub rejected_total: u64,
}

/// Takes rows that are in order.
pub trait LogRows: Send {
    /// Times in UTC, µs, and the values of each of the channels that were asked for, SI; NaN is
    /// missing, and so is what no file has at that time.
    fn rows(&mut self, times: &[i64], columns: &[&[f64]]);
}

/// The columns of these logs that say something about the station, each channel once.
///
/// # Errors
/// Every problem of every header.
pub fn log_columns(
    sources: impl IntoIterator<Item = LogSource>,
    station: &Station,
    options: &LogOptions<'_>,
) -> Result<Vec<LogColumn>, Vec<Problem>> {
    let mut found: Vec<LogColumn> = Vec::new();
    let mut problems = Vec::new();
    let mut sources = sources.into_iter().peekable();
    let mut several = false;
    while let Some(source) = sources.next() {
        several |= sources.peek().is_some();
        let name = source.name.clone();
        match read::columns(source, station, options) {
            Ok(columns) => {
                for column in columns {
                    let Role::Value(value) = column.role else {
                        continue;
                    };
                    if found.iter().all(|known| known.channel != value.channel) {
                        found.push(LogColumn {
                            header: column.header,
                            channel: value.channel,
                            unit: value.unit,
                        });
                    }
                }
            }
            Err(more) if several => problems.extend(read::named(&name, more)),
            Err(more) => problems.extend(more),
        }
    }
    if problems.is_empty() {
        Ok(found)
    } else {
        Err(problems)
    }
}

/// Reads logs in the order of time, those of one time together, and hands their rows on.
///
/// # Errors
/// What makes a log unusable, as for [`crate::read_log`].
pub fn pass_log(
    sources: impl IntoIterator<Item = LogSource>,
    station: &Station,
    options: &LogOptions<'_>,
    channels: &[Channel],
    to: &mut dyn LogRows,
) -> Result<Passed, Vec<Problem>> {
    let mut pass = Pass {
        channels,
        to,
        places: Vec::new(),
        nothing: Vec::new(),
    };
    let told = read::sources(sources, station, options, &mut pass)?;
    Ok(Passed {
        rows: told.rows,
        rows_left_out: told.rows_left_out,
        left_out: told.left_out,
        left_out_total: told.left_out_total,
        sources: told.sources,
        rejected: told.rejected,
        rejected_total: told.rejected_total,
    })
}

struct Pass<'a> {
    channels: &'a [Channel],
    to: &'a mut dyn LogRows,
    /// Which of the columns that rows have now each channel is.
    places: Vec<Option<usize>>,
    /// The column of a channel that they do not have.
    nothing: Vec<f64>,
}

impl Taker for Pass<'_> {
    fn columns(&mut self, channels: &[(Channel, i64)], _: i64, _: &[Start<'_>]) {
        let place = |channel: &Channel| channels.iter().position(|(c, _)| c == channel);
        self.places = self.channels.iter().map(place).collect();
    }

    fn rows(&mut self, times: &[i64], columns: &[&[f64]], _: &[bool]) {
        if times.is_empty() {
            return;
        }
        if self.nothing.len() < times.len() {
            self.nothing.resize(times.len(), f64::NAN);
        }
        let column = |place: &Option<usize>| match place.and_then(|at| columns.get(at)) {
            Some(column) => *column,
            None => self.nothing.get(..times.len()).unwrap_or_default(),
        };
        let columns: Vec<&[f64]> = self.places.iter().map(column).collect();
        self.to.rows(times, &columns);
    }
}
