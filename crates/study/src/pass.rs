//! The rows of logs, put in order and handed on as they are.
//!
//! The same rows that the study counts: those that repeat, and those of a clock that was set back or
//! misread, are left out and told. Values that the study leaves out because a sensor stuck are
//! handed on.
//!
//! Must not know: what is done with the rows.

use jiff::Timestamp;
use station::file::problem::Problem;
use station::file::unit::Unit;
use station::model::Station;

use crate::channel::Channel;
use crate::clean::left_out::{LeftOut, List};
use crate::clean::order::Order;
use crate::figures::{RejectedCell, SourceRead};
use crate::options::{LogOptions, LogSource};
use crate::read::batch::Batch;
use crate::read::header::Role;
use crate::read::{self, Plan, Taker};

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
    /// Rows read, with those that were left out.
    pub rows: u64,
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
    /// missing, and so is a column that the file does not have.
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

/// Reads logs, one after another in the order of time, and hands their rows on.
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
        limits: (
            options.from.map_or(i64::MIN, Timestamp::as_microsecond),
            options.to.map_or(i64::MAX, Timestamp::as_microsecond),
        ),
        channels,
        to,
        order: Order::default(),
        list: List::default(),
        passed: Passed::default(),
        places: Vec::new(),
        headers: Vec::new(),
        line: 0,
        nothing: Vec::new(),
    };
    read::sources(sources, station, options, &mut pass)?;
    let mut passed = pass.passed;
    passed.left_out = pass.list.kept;
    passed.left_out_total = pass.list.total;
    Ok(passed)
}

/// So many cells and rows that could not be read are told in words.
const TOLD: usize = 1000;

struct Pass<'a> {
    limits: (i64, i64),
    channels: &'a [Channel],
    to: &'a mut dyn LogRows,
    order: Order,
    list: List,
    passed: Passed,
    /// Of the file that is being read: which of its columns each channel is, headers, the next line.
    places: Vec<Option<usize>>,
    headers: Vec<String>,
    line: u64,
    /// The column of a channel that the file does not have.
    nothing: Vec<f64>,
}

impl Taker for Pass<'_> {
    fn begin(&mut self, plan: &Plan, read: SourceRead, header_line: u64) {
        self.headers = plan.columns.iter().map(|c| c.header.clone()).collect();
        self.line = header_line + 1;
        let place = |channel: &Channel| plan.values().position(|v| v.channel == *channel);
        self.places = self.channels.iter().map(place).collect();
        self.passed.sources.push(read);
    }

    fn take(&mut self, batch: &mut Batch) {
        self.passed.rows += batch.rows() as u64 - 1;
        let source = self.passed.sources.last();
        let source = source.map_or("", |source| source.name.as_str());
        let room = TOLD.saturating_sub(self.passed.rejected.len());
        for rejected in batch.rejected.drain(..).take(room) {
            let column = rejected.column.and_then(|at| self.headers.get(at));
            self.passed.rejected.push(RejectedCell {
                source: source.to_owned(),
                line: self.line + rejected.line,
                column: column.cloned().unwrap_or_default(),
                problem: rejected.problem,
                hint: rejected.hint,
            });
        }
        self.passed.rejected_total += batch.rejected_total;
        self.line += batch.lines;
        self.order.take(batch, self.limits, &mut self.list);
        let rows = batch.times.len();
        if rows == 0 {
            return;
        }
        if self.nothing.len() < rows {
            self.nothing.resize(rows, f64::NAN);
        }
        let column = |place: &Option<usize>| match place {
            Some(at) => batch.column(*at),
            None => self.nothing.get(..rows).unwrap_or_default(),
        };
        let columns: Vec<&[f64]> = self.places.iter().map(column).collect();
        self.to.rows(&batch.times, &columns);
    }

    fn end(&mut self, fault: Option<String>) {
        if let Some((time, values)) = self.order.end(self.limits, &mut self.list) {
            let value = |place: &Option<usize>| place.and_then(|at| values.get(at).copied());
            let values: Vec<f64> = self
                .places
                .iter()
                .map(|place| value(place).unwrap_or(f64::NAN))
                .collect();
            let columns: Vec<&[f64]> = values.chunks(1).collect();
            self.to.rows(&[time], &columns);
        }
        if let Some(source) = self.passed.sources.last_mut() {
            source.fault = fault;
        }
    }
}
