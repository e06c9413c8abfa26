//! The rounds: CSV in, one [`Round`] a row out, streaming and in constant memory.
//!
//! The header is taken or refused as a whole ([`Reader::open`]). After it, a bad row is rejected
//! whole, with the first problem in column order, and the rest go on. Rows come out in file order.
//!
//! A row is held back until the next one is known, and until each of its counters was read once
//! more, because what follows can show that it was misread. At most 1000 rows and
//! 8 MiB are held; beyond, a row is judged by what came before it.
//!
//! Time never goes back: between rows out of order neither the steps of the counters nor the work
//! done could be told. A row that is earlier than the one before is rejected. But if both rows after
//! a row are earlier than it, and not earlier than the one before it, its own time is the misread
//! one, and it alone is rejected: one wrong year does not cost the rest of the file. Equal times keep
//! file order. A file that stands newest first is not turned round, for that would take all of it in
//! memory: its rows are rejected for that one reason.
//!
//! Must not know: paths, expectations, findings.

mod cell;
mod counters;
mod header;
mod record;
mod source;
mod start;
mod time;

use std::collections::VecDeque;
use std::fmt;
use std::io::Read;

use jiff::Timestamp;

use self::counters::{Counters, Seen};
use self::header::{Column, Role};
use self::record::Record;
use self::source::{Source, Taken};
use self::time::Times;
use super::problem::Problem;
use super::unit::short;
use crate::model::{Asset, Station};
use crate::round::{Reading, Round, Value, Work, WorkDone};

/// So many rows are held back at most.
const HELD_ROWS: usize = 1_000;
/// So many rows, each before the one above, show a file that stands newest first; fewer if fewer
/// are held back.
const FALLING_ROWS: usize = 3;
/// So many bytes of rows are held back at most.
const HELD_BYTES: usize = 8 << 20;

/// A row of the file.
#[derive(Debug, Clone, PartialEq)]
pub enum Row {
    /// It is good.
    Round(Round),
    /// It is not, and nothing of it is used.
    Rejected(Rejection),
}

/// Why a row was rejected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rejection {
    /// The line on which the row begins, counted from 1.
    pub line: u64,
    /// The header of the column, as written; empty if it concerns the row as a whole.
    pub column: String,
    /// What is wrong.
    pub problem: String,
    /// How to mend it.
    pub hint: String,
}

impl fmt::Display for Rejection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: ", self.line)?;
        if !self.column.is_empty() {
            write!(f, "{}: ", self.column)?;
        }
        write!(f, "{}\n  hint: {}", self.problem, self.hint)
    }
}

/// The file could not be read on.
#[derive(Debug)]
pub struct Fault {
    /// The last line that was read.
    pub line: u64,
    /// Why.
    pub error: std::io::Error,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "the rounds could not be read on after line {}",
            self.line
        )
    }
}

impl std::error::Error for Fault {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        Some(&self.error)
    }
}

/// What is wrong with one cell.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Complaint {
    what: String,
    hint: String,
}

impl Complaint {
    fn new(what: impl Into<String>, hint: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            hint: hint.into(),
        }
    }

    fn reject(self, line: u64, column: &str) -> Rejection {
        Rejection {
            line,
            column: column.to_owned(),
            problem: self.what,
            hint: self.hint,
        }
    }
}

/// A row that is good by itself, held back until what follows is known.
#[derive(Debug)]
struct Candidate {
    round: Round,
    seen: Seen,
    bytes: usize,
}

/// Reads the rounds of one station.
#[derive(Debug)]
pub struct Reader<R: Read> {
    source: Source<R>,
    record: Record,
    columns: Vec<Column>,
    names: Names,
    times: Times,
    time_column: usize,
    counters: Counters,
    candidates: VecDeque<Candidate>,
    rejections: VecDeque<Rejection>,
    held_bytes: usize,
    /// The time of the last candidate, for local times that occur twice.
    time_above: Option<Timestamp>,
    /// Line and time of the last accepted row.
    accepted: Option<(u64, Timestamp)>,
    /// The time of the row before while the file stands newest first.
    newest_first: Option<Timestamp>,
    fault: Option<Fault>,
    ended: bool,
}

/// The names of the things of a station, for the work done.
#[derive(Debug)]
struct Names(Vec<(String, Asset)>);

impl<R: Read> Reader<R> {
    /// Reads the header.
    ///
    /// # Errors
    /// If the source is no text, is empty, or its header does not fit the station: every problem of
    /// the header at once.
    pub fn open(source: R, station: &Station) -> Result<Self, Vec<Problem>> {
        let mut record = Record::default();
        let mut source = Source::open(source).map_err(|problem| vec![problem])?;
        let header = source
            .header(&mut record)
            .map_err(|problem| vec![problem])?;
        let columns = header::columns(&header, station)?;
        let time_column = columns
            .iter()
            .position(|c| matches!(c.role, Role::Time))
            .unwrap_or(0);
        let counters = Counters::new(&columns, station);
        let names = station
            .assets()
            .map(|a| (station.id(a).to_owned(), a))
            .collect();
        Ok(Self {
            source,
            record,
            columns,
            names: Names(names),
            times: Times::new(station.site.time_zone.clone()),
            time_column,
            counters,
            candidates: VecDeque::new(),
            rejections: VecDeque::new(),
            held_bytes: 0,
            time_above: None,
            accepted: None,
            newest_first: None,
            fault: None,
            ended: false,
        })
    }

    /// The separator that the header shows.
    #[must_use]
    pub fn separator(&self) -> char {
        char::from(self.source.separator())
    }

    /// The headers of the columns that are left out because they begin with `#`.
    pub fn left_out(&self) -> impl Iterator<Item = &str> {
        self.columns
            .iter()
            .filter(|c| matches!(c.role, Role::LeftOut))
            .map(|c| c.header.as_str())
    }

    /// Takes one more row of the source into the held ones.
    fn take(&mut self) {
        match self.source.record(&mut self.record) {
            Ok(Taken::End) => self.ended = true,
            Ok(Taken::Blank) => {}
            Ok(Taken::Bad { line, complaint }) => {
                self.rejections.push_back(complaint.reject(line, ""));
            }
            Ok(Taken::Row) => match self.read_row() {
                Ok(Some(candidate)) => {
                    self.time_above = Some(candidate.round.time);
                    self.held_bytes += candidate.bytes;
                    self.counters.notice(&candidate);
                    self.candidates.push_back(candidate);
                }
                Ok(None) => {}
                Err(rejection) => self.rejections.push_back(rejection),
            },
            Err(error) => {
                self.fault = Some(Fault {
                    line: self.source.line(),
                    error,
                });
                self.ended = true;
            }
        }
    }

    /// The row in `record`, if it is good by itself; `None` if all its cells are empty.
    fn read_row(&mut self) -> Result<Option<Candidate>, Rejection> {
        let line = self.record.line;
        let whole = |c: Complaint| c.reject(line, "");
        if self.record.is_all_blank() {
            return Ok(None);
        }
        if self.record.len() != self.columns.len() {
            let found = self.record.len();
            return Err(whole(record::ragged(
                found,
                self.columns.len(),
                self.source.separator(),
            )));
        }
        let text = match self.record.text() {
            Ok(text) => text,
            Err((cell, complaint)) => {
                let column = self.columns.get(cell).map_or("", |c| &c.header);
                return Err(complaint.reject(line, column));
            }
        };
        let mut round = Round {
            line,
            time: Timestamp::UNIX_EPOCH,
            who: None,
            note: None,
            done: Vec::new(),
            readings: Vec::with_capacity(self.columns.len()),
            counter_steps: Vec::new(),
            logged: None,
        };
        let mut seen = Seen::default();
        let comma = self.source.separator() == b',';
        for (index, column) in self.columns.iter().enumerate() {
            let cell = text.cell(index);
            let reject = |c: Complaint| c.reject(line, &column.header);
            match &column.role {
                Role::Point(_) if cell.text.is_empty() => {}
                Role::Point(point) => {
                    let decimal_comma = !comma || cell.quoted;
                    let value = cell::value(point, cell.text, decimal_comma).map_err(reject)?;
                    if let (Some(counter), Value::Number(n)) = (point.counter, value) {
                        seen.read.push((counter, n));
                    }
                    round.readings.push(Reading {
                        id: point.id,
                        value,
                    });
                }
                Role::Time => {
                    round.time = self
                        .times
                        .read(cell.text, self.time_above)
                        .map_err(reject)?;
                }
                Role::Who if !cell.text.is_empty() => round.who = Some(cell.text.to_owned()),
                Role::Note if !cell.text.is_empty() => round.note = Some(cell.text.to_owned()),
                Role::Done => round.done = cell::done(cell.text, &self.names).map_err(reject)?,
                Role::Nameless if !cell.text.is_empty() => {
                    return Err(reject(Complaint::new(
                        format!("`{}` stands in a column without a header", short(cell.text)),
                        "name the column in the header, or empty the cell",
                    )));
                }
                Role::Who | Role::Note | Role::Nameless | Role::LeftOut => {}
            }
        }
        for WorkDone { on, work } in &round.done {
            if let Work::ReplaceCounter(point) = work
                && let Some(counter) = self.counters.find(*on, *point)
            {
                seen.replaced.push(counter);
            }
        }
        Ok(Some(Candidate {
            round,
            seen,
            bytes: self.record.bytes(),
        }))
    }

    /// Whether enough follows the first candidate to judge it.
    fn can_judge(&self) -> bool {
        let Some(first) = self.candidates.front() else {
            return false;
        };
        if self.ended
            || self.candidates.len() + self.rejections.len() >= HELD_ROWS
            || self.held_bytes >= HELD_BYTES
        {
            return true;
        }
        let Some(second) = self.candidates.get(1) else {
            return false;
        };
        (second.round.time >= first.round.time || self.candidates.len() > 2)
            && self.counters.all_seen_after(first)
    }

    /// Judges the first candidate by what came before it and what follows.
    fn judge(&mut self) -> Option<Row> {
        let mut candidate = self.candidates.pop_front()?;
        self.held_bytes = self.held_bytes.saturating_sub(candidate.bytes);
        let line = candidate.round.line;
        if let Some(complaint) = self.out_of_order(&candidate) {
            let column = self.columns.get(self.time_column).map_or("", |c| &c.header);
            return Some(Row::Rejected(complaint.reject(line, column)));
        }
        match self.counters.judge(&mut candidate, &self.candidates) {
            Ok(()) => {
                self.accepted = Some((line, candidate.round.time));
                Some(Row::Round(candidate.round))
            }
            Err((column, complaint)) => {
                let column = self.columns.get(column).map_or("", |c| &c.header);
                Some(Row::Rejected(complaint.reject(line, column)))
            }
        }
    }

    /// Whether a file begins newest first: no row was accepted yet, and its first rows each stand
    /// before the row above. Goes on until a row is later than the one above.
    fn newest_first(&mut self, candidate: &Candidate) -> bool {
        let time = candidate.round.time;
        let falling = match self.newest_first {
            Some(above) => time < above,
            None => {
                let held = self.candidates.iter().take(FALLING_ROWS);
                let rows: Vec<Timestamp> = held.map(|c| c.round.time).collect();
                let all = std::iter::once(time).chain(rows.iter().copied());
                self.accepted.is_none()
                    && rows.len() >= 2
                    && all.zip(&rows).all(|(above, below)| *below < above)
            }
        };
        self.newest_first = falling.then_some(time);
        falling
    }

    fn out_of_order(&mut self, candidate: &Candidate) -> Option<Complaint> {
        if self.newest_first(candidate) {
            return Some(Complaint::new(
                "the rows stand newest first",
                "sort the rows by time, oldest first, and judge the file again: the steps of \
                 counters and the work done between two rounds cannot be told otherwise",
            ));
        }
        let time = candidate.round.time;
        let shown = self.times.show(time);
        if let Some((line, above)) = self.accepted
            && time < above
        {
            return Some(Complaint::new(
                format!("{shown} is before line {line}, {}", self.times.show(above)),
                "put the rows in order of time, oldest first: the steps of counters and the work \
                 done between two rounds cannot be told otherwise",
            ));
        }
        let after = |i: usize| self.candidates.get(i).map(|c| (c.round.line, c.round.time));
        let ((next_line, next), (_, over_next)) = (after(0)?, after(1)?);
        let fits = |t: Timestamp| t < time && self.accepted.is_none_or(|(_, above)| t >= above);
        (fits(next) && fits(over_next)).then(|| {
            Complaint::new(
                format!(
                    "{shown} is after both rows that follow, line {next_line} at {}",
                    self.times.show(next)
                ),
                "check the date and the time of this row",
            )
        })
    }
}

impl<R: Read> Iterator for Reader<R> {
    type Item = Result<Row, Fault>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let first = self.candidates.front().map_or(u64::MAX, |c| c.round.line);
            if self.rejections.front().is_some_and(|r| r.line < first) {
                return self.rejections.pop_front().map(Row::Rejected).map(Ok);
            }
            if self.can_judge() {
                return self.judge().map(Ok);
            }
            if self.ended {
                return self.fault.take().map(Err);
            }
            self.take();
        }
    }
}
