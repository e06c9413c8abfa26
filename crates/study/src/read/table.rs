//! A log that comes in columns instead of text: its times and values, and the same checks.
//!
//! Whoever reads the file unpacks its columns; here they get their meaning: headers, time zone,
//! units, bounds.
//!
//! Must not know: how a file holds columns.

use std::collections::VecDeque;
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use jiff::tz::TimeZone;
use station::file::problem::Problem;
use station::file::unit::{digits, short};
use station::model::Station;

use super::batch::{Batch, Rejected};
use super::dates::{DateOrder, DatesTold, Search};
use super::header::{self, Column, Role, Value};
use super::layout::decimal_comma;
use super::rows::{Plan, Scale, no_time, number, outside};
use super::stream::stream;
use super::time::{Read, Refused, Times};
use super::{Batches, written};
use crate::figures::SourceRead;
use crate::options::LogOptions;

/// A file that holds its rows in columns, and gives some rows at a time.
pub trait Table: Send {
    /// Its columns, in order.
    fn columns(&self) -> Vec<TableColumn>;

    /// Only these columns are wanted, by their places; said once, before the first rows.
    fn choose(&mut self, wanted: &[usize]);

    /// Rows whose time, in this column, surely lies before `from` or not before `to` need not be
    /// given: µs, by the clock on the wall where the column holds such times. Said at most once,
    /// before the first rows.
    fn within(&mut self, time: usize, from: i64, to: i64);

    /// The next rows, of the wanted columns alone and in their order; false at the end.
    ///
    /// # Errors
    /// A sentence about why the file cannot be read on.
    fn next(&mut self, rows: &mut TableRows) -> Result<bool, String>;
}

/// One column of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableColumn {
    /// Its name.
    pub name: String,
    /// What is in it.
    pub holds: Holds,
}

/// What a column holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Holds {
    /// Numbers or truth values: comes as [`Cells::Numbers`].
    Numbers,
    /// Text: comes as [`Cells::Text`].
    Text,
    /// Moments: comes as [`Cells::Times`] in UTC.
    Moments,
    /// Times of day by the clock on the wall, with their date: comes as [`Cells::Times`].
    LocalTimes,
    /// What a log cannot use, in words; it is never asked for.
    Other(String),
}

/// Some rows.
#[derive(Debug, Default)]
pub struct TableRows {
    /// How many; none, where only rows were left out.
    pub count: usize,
    /// How many rows before them were left out because nobody wants their times.
    pub skipped: u64,
    /// The wanted columns.
    pub columns: Vec<Cells>,
    /// How much of the file has been read by now, bytes.
    pub bytes: u64,
}

/// The cells of one column.
#[derive(Debug, Clone, PartialEq)]
pub enum Cells {
    /// NaN is missing.
    Numbers(Vec<f64>),
    /// Microseconds from 1 January 1970, 00:00; [`Cells::NO_TIME`] is missing.
    Times(Vec<i64>),
    /// Empty is missing.
    Text(TextCells),
}

impl Cells {
    /// A time that is missing.
    pub const NO_TIME: i64 = i64::MIN;
}

/// Texts, one after another.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TextCells {
    bytes: Vec<u8>,
    ends: Vec<usize>,
}

impl TextCells {
    /// Makes it empty.
    pub fn clear(&mut self) {
        self.bytes.clear();
        self.ends.clear();
    }

    /// Adds a text.
    pub fn push(&mut self, text: &[u8]) {
        self.bytes.extend_from_slice(text);
        self.ends.push(self.bytes.len());
    }

    fn get(&self, row: usize) -> &[u8] {
        let start = row.checked_sub(1).and_then(|before| self.ends.get(before));
        let (start, end) = (start.copied().unwrap_or(0), self.ends.get(row));
        let text = end.and_then(|&end| self.bytes.get(start..end));
        text.unwrap_or_default().trim_ascii()
    }

    fn iter(&self) -> impl Iterator<Item = &[u8]> {
        (0..self.ends.len()).map(|row| self.get(row))
    }
}

impl fmt::Display for Holds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Numbers => "numbers",
            Self::Text => "text",
            Self::Moments | Self::LocalTimes => "times",
            Self::Other(what) => what,
        })
    }
}

/// Columns that a converted log has for the sake of other programs.
const OF_CONVERTED: [&str; 2] = ["day", "station"];

/// The columns and what they say.
pub(super) fn columns(
    table: &dyn Table,
    station: &Station,
    options: &LogOptions<'_>,
) -> Result<Vec<Column>, Vec<Problem>> {
    let held = table.columns();
    let names: Vec<String> = held.iter().map(|c| c.name.clone()).collect();
    let columns = header::columns(&names, None, station, &options.map)?;
    let wrong = |(column, held): (&Column, &TableColumn)| {
        let (fits, wanted, hint) = match column.role {
            Role::LeftOut => return None,
            Role::Time => (
                matches!(held.holds, Holds::Moments | Holds::LocalTimes | Holds::Text),
                "times",
                "write it as timestamps, or as text like `2026-07-14T07:10:05Z`".to_owned(),
            ),
            Role::Value(_) => (
                matches!(held.holds, Holds::Numbers | Holds::Text),
                "numbers",
                format!(
                    "write it as numbers, or begin its name with `#` to leave it out: `#{}`",
                    short(&column.header)
                ),
            ),
        };
        (!fits).then(|| Problem {
            line: None,
            at: short(&column.header),
            what: format!("this column holds {}, not {wanted}", held.holds),
            hint: Some(hint),
        })
    };
    let problems: Vec<Problem> = columns.iter().zip(&held).filter_map(wrong).collect();
    if problems.is_empty() {
        Ok(columns)
    } else {
        Err(problems)
    }
}

/// No clock on the wall is further from UTC, µs: 26 hours were never reached.
const LONGEST_OFFSET: i64 = 26 * 3600 * written::SECOND;

/// How many of the first rows are looked at for the order of dates that are written as text.
const LOOKED_AT_FOR_DATES: usize = 1 << 20;

/// The start of a table, which is looked at before its rows go on.
#[derive(Default)]
struct Start {
    held: VecDeque<TableRows>,
    ended: bool,
    fault: Option<String>,
}

impl Start {
    /// Holds some more rows; false if there are none.
    fn more(&mut self, table: &mut dyn Table) -> bool {
        let mut rows = TableRows::default();
        let more = self.next(table, &mut rows);
        if more {
            self.held.push_back(rows);
        }
        more
    }

    fn next(&mut self, table: &mut dyn Table, rows: &mut TableRows) -> bool {
        if self.ended {
            return false;
        }
        let more = table.next(rows).unwrap_or_else(|fault| {
            self.fault = Some(fault);
            false
        });
        self.ended = !more;
        more
    }

    /// The order of the dates in this column of text.
    fn dates(
        &mut self,
        table: &mut dyn Table,
        place: usize,
        given: Option<DateOrder>,
    ) -> Result<DatesTold, Problem> {
        let (mut search, mut row) = (Search::of_rows(), 0);
        while row < LOOKED_AT_FOR_DATES && self.more(table) {
            let last = self.held.back().and_then(|rows| rows.columns.get(place));
            let Some(Cells::Text(text)) = last else {
                continue;
            };
            for cell in text.iter() {
                row += 1;
                if !cell.is_empty() && search.look(row as u64, cell) {
                    return search.settle(given, false);
                }
            }
            if given.is_some() {
                return search.settle(given, false);
            }
        }
        search.settle(given, self.ended)
    }
}

/// A table whose columns are known.
pub(super) struct TableFile {
    name: String,
    table: Box<dyn Table>,
    columns: Vec<Column>,
    held: Vec<TableColumn>,
    start: Start,
    dates: Option<DateOrder>,
    /// Only rows from here up to there are wanted, µs.
    limits: (i64, i64),
    /// Bytes that were read of all files, and of this one.
    bytes: (Arc<AtomicU64>, u64),
}

/// Which of its columns are read, and what the first rows tell of them.
struct Chosen {
    plan: Plan,
    time_at: usize,
    /// Whether times are those of the clock on the wall.
    local: bool,
    dates: Option<DatesTold>,
}

impl TableFile {
    pub(super) fn open(
        name: String,
        table: Box<dyn Table>,
        bytes: Arc<AtomicU64>,
        station: &Station,
        options: &LogOptions<'_>,
    ) -> Result<Self, Vec<Problem>> {
        let columns = columns(table.as_ref(), station, options)?;
        Ok(Self {
            name,
            columns,
            held: table.columns(),
            table,
            start: Start::default(),
            dates: options.dates,
            limits: options.limits(),
            bytes: (bytes, 0),
        })
    }

    /// Chooses columns and looks at the first rows.
    fn choose(&mut self, wants: impl Fn(&Role) -> bool) -> Result<Chosen, Problem> {
        let wanted: Vec<usize> = (0..self.columns.len())
            .filter(|&at| self.columns.get(at).is_some_and(|c| wants(&c.role)))
            .collect();
        self.table.choose(&wanted);
        let role = |place: usize| wanted.get(place).and_then(|&at| self.columns.get(at));
        let holds = |place: usize| {
            let held = wanted.get(place).and_then(|&at| self.held.get(at));
            held.map(|column| &column.holds)
        };
        let time_at = (0..wanted.len())
            .find(|&place| role(place).is_some_and(|c| c.role == Role::Time))
            .unwrap_or(0);
        let (from, to) = self.limits;
        if let (Some(&time), true) = (wanted.get(time_at), from < to) {
            let aside = match holds(time_at) {
                Some(Holds::LocalTimes) => LONGEST_OFFSET,
                _ => 0,
            };
            let from = from.saturating_sub(aside);
            self.table.within(time, from, to.saturating_add(aside));
        }
        let dates = match holds(time_at) {
            Some(Holds::Text) => {
                let table = self.table.as_mut();
                Some(self.start.dates(table, time_at, self.dates)?)
            }
            _ => None,
        };
        let texts: Vec<usize> = (0..wanted.len())
            .filter(|&place| place != time_at && holds(place) == Some(&Holds::Text))
            .collect();
        if !texts.is_empty() && self.start.held.is_empty() {
            self.start.more(self.table.as_mut());
        }
        let first = self.start.held.front().map(|rows| rows.columns.as_slice());
        let cells = texts.iter().filter_map(|&place| first?.get(place));
        let cells = cells.filter_map(|cells| match cells {
            Cells::Text(text) => Some(text.iter().take(1000)),
            _ => None,
        });
        let comma = decimal_comma(cells.flatten(), 0);
        let as_written = wanted
            .iter()
            .filter_map(|&at| self.columns.get(at).cloned());
        Ok(Chosen {
            plan: Plan {
                columns: as_written.collect(),
                separator: 0,
                mark: if comma { b',' } else { b'.' },
                order: dates.as_ref().map_or(DateOrder::YearFirst, |d| d.order),
                careful: false,
            },
            time_at,
            local: holds(time_at) != Some(&Holds::Moments),
            dates,
        })
    }

    /// The earliest time among the first rows; `None` if none of them has one. Unless all is to be
    /// read after, only the times are unpacked.
    pub(super) fn first(&mut self, station: &Station, all: bool) -> Option<i64> {
        let wants = |role: &Role| match role {
            Role::Time => true,
            Role::Value(_) => all,
            Role::LeftOut => false,
        };
        let chosen = self.choose(wants).ok()?;
        if self.start.held.is_empty() {
            self.start.more(self.table.as_mut());
        }
        let mut batch = Batch::default();
        let zone = station.site.time_zone.clone();
        Rows::new(&chosen, zone).block(self.start.held.front()?, &mut batch);
        batch.times.get(1..)?.iter().copied().min()
    }

    /// Reads the rows.
    pub(super) fn read(
        mut self,
        station: &Station,
        options: &LogOptions<'_>,
        to: &mut dyn Batches,
    ) -> Result<(), Vec<Problem>> {
        let chosen = self.choose(|role| *role != Role::LeftOut);
        let mut chosen = chosen.map_err(|problem| vec![problem])?;
        let left_out = self
            .columns
            .iter()
            .filter(|c| c.role == Role::LeftOut && !OF_CONVERTED.contains(&c.header.as_str()));
        let told = SourceRead {
            decimal_comma: chosen.plan.mark == b',',
            dates: chosen.dates.take(),
            columns_left_out: left_out.map(|c| c.header.clone()).collect(),
            ..SourceRead::unread(std::mem::take(&mut self.name))
        };
        to.begin(&chosen.plan, told, 0);
        let fill = |rows: &mut TableRows| {
            let more = match self.start.held.pop_front() {
                Some(held) => {
                    *rows = held;
                    true
                }
                None => self.start.next(self.table.as_mut(), rows),
            };
            if more {
                let (all, here) = &mut self.bytes;
                let fresh = rows.bytes.saturating_sub(*here);
                *here += fresh;
                let so_far = all.fetch_add(fresh, Ordering::Relaxed) + fresh;
                if let Some(progress) = options.progress {
                    progress(so_far);
                }
            }
            more
        };
        let zone = &station.site.time_zone;
        let parser = || {
            let mut rows = Rows::new(&chosen, zone.clone());
            move |block: &TableRows, batch: &mut Batch| rows.block(block, batch)
        };
        // One of them hands rows on nearly all the time.
        let cores = std::thread::available_parallelism().ok();
        let workers = options.workers.or(cores.map(|cores| cores.get() + 1));
        stream(fill, parser, workers, to);
        to.end(self.start.fault);
        Ok(())
    }
}

/// A time that a log cannot have: 1 January 2200, µs.
const TOO_LATE: i64 = 7_258_118_400 * written::SECOND;

/// Gives rows their meaning.
struct Rows<'a> {
    plan: &'a Plan,
    time_at: usize,
    /// Whether times are those of the clock on the wall.
    local: bool,
    times: Times,
    kept: Vec<bool>,
}

impl<'a> Rows<'a> {
    fn new(chosen: &'a Chosen, zone: TimeZone) -> Self {
        Self {
            plan: &chosen.plan,
            time_at: chosen.time_at,
            local: chosen.local,
            times: Times::new(zone, chosen.plan.order),
            kept: Vec::new(),
        }
    }

    fn block(&mut self, rows: &TableRows, batch: &mut Batch) {
        batch.clear(self.plan.values().count());
        batch.space(rows.count + 1);
        batch.lines = rows.count as u64;
        batch.skipped = rows.skipped;
        self.times_of(rows, batch);
        let mut slot = 0;
        for (place, column) in self.plan.columns.iter().enumerate() {
            if let Role::Value(value) = &column.role {
                match rows.columns.get(place) {
                    Some(Cells::Numbers(numbers)) => {
                        self.numbers(place, value, slot, numbers, batch);
                    }
                    Some(Cells::Text(text)) => self.text(place, value, slot, text, batch),
                    _ => self.numbers(place, value, slot, &[], batch),
                }
                slot += 1;
            }
        }
        if self.kept.contains(&false) {
            batch.keep(&self.kept);
        }
        batch.rejected.sort_by_key(|rejected| rejected.line);
    }

    /// Times that are all as they should be, at once; `false` leaves nothing behind.
    fn all_times(&mut self, rows: &TableRows, batch: &mut Batch) -> bool {
        let Some(Cells::Times(times)) = rows.columns.get(self.time_at) else {
            return false;
        };
        if times.len() != rows.count || !times.iter().all(|time| (0..TOO_LATE).contains(time)) {
            return false;
        }
        if self.local {
            return self.times.all_local(times, &mut batch.times);
        }
        batch.times.extend_from_slice(times);
        true
    }

    /// The times of all rows; those of rows that have none do not count.
    fn times_of(&mut self, rows: &TableRows, batch: &mut Batch) {
        self.kept.clear();
        if self.all_times(rows, batch) {
            self.kept.resize(rows.count + 1, true);
            return;
        }
        // The free row.
        self.kept.push(true);
        let mut next = 1;
        for row in 0..rows.count {
            let read = match rows.columns.get(self.time_at) {
                Some(Cells::Times(times)) => {
                    let time = times.get(row).copied().unwrap_or(Cells::NO_TIME);
                    self.time(time).map_err(|refused| match refused {
                        None => missing(),
                        Some(refused) => no_time(refused, shown(time).as_bytes(), self.plan.order),
                    })
                }
                Some(Cells::Text(text)) => {
                    let cell = text.get(row);
                    let found = self.times.cell(cell);
                    found.map_err(|refused| no_time(refused, cell, self.plan.order))
                }
                _ => Err(missing()),
            };
            self.kept.push(read.is_ok());
            batch.times.push(read.as_ref().map_or(0, |read| read.time));
            match read {
                Ok(read) => {
                    if let Some(later) = read.twice {
                        batch.twice.push((next, later));
                    }
                    next += 1;
                }
                Err((problem, hint)) => batch.reject(Rejected {
                    line: row as u64,
                    column: Some(self.time_at),
                    problem,
                    hint,
                }),
            }
        }
    }

    /// A stamp in UTC; without a refusal it is missing.
    fn time(&mut self, stamp: i64) -> Result<Read, Option<Refused>> {
        if stamp == Cells::NO_TIME {
            return Err(None);
        }
        if !(0..TOO_LATE).contains(&stamp) {
            return Err(Some(Refused::Written(written::NoTime::NoSuchDay)));
        }
        if self.local {
            return self.times.local(stamp).map_err(Some);
        }
        Ok(Read {
            time: stamp,
            twice: None,
        })
    }

    fn numbers(
        &self,
        place: usize,
        value: &Value,
        slot: usize,
        numbers: &[f64],
        batch: &mut Batch,
    ) {
        let scale = Scale::new(value, slot);
        let cells = batch.column_mut(slot).get_mut(1..).unwrap_or_default();
        let (told, rest) = cells.split_at_mut(numbers.len().min(cells.len()));
        let all = scale.all(numbers, told);
        rest.fill(f64::NAN);
        if all && rest.is_empty() {
            return;
        }
        if let Some(missing) = batch.missing.get_mut(slot) {
            *missing = true;
        }
        for (row, &number) in numbers.iter().enumerate() {
            let counts = self.kept.get(row + 1) == Some(&true);
            if counts && !number.is_nan() && scale.si(number).is_none() {
                let (problem, hint) = outside(&digits(number), value);
                batch.reject(Rejected {
                    line: row as u64,
                    column: Some(place),
                    problem,
                    hint,
                });
            }
        }
    }

    fn text(&self, place: usize, value: &Value, slot: usize, text: &TextCells, batch: &mut Batch) {
        for (row, cell) in text.iter().enumerate() {
            let read = number(cell, self.plan.mark, value, slot);
            let si = read.as_ref().ok().copied().flatten();
            if let Some(to) = batch.column_mut(slot).get_mut(row + 1) {
                *to = si.unwrap_or(f64::NAN);
            }
            if si.is_none()
                && let Some(missing) = batch.missing.get_mut(slot)
            {
                *missing = true;
            }
            if let (Err((problem, hint)), Some(true)) = (read, self.kept.get(row + 1)) {
                batch.reject(Rejected {
                    line: row as u64,
                    column: Some(place),
                    problem,
                    hint,
                });
            }
        }
    }
}

fn missing() -> (String, String) {
    ("the time is missing".to_owned(), "check the row".to_owned())
}

/// A stamp by the calendar, as far as the calendar goes.
fn shown(stamp: i64) -> String {
    let time = jiff::Timestamp::from_microsecond(stamp);
    time.map_or_else(
        |_| format!("{stamp} µs"),
        |time| TimeZone::UTC.to_datetime(time).to_string(),
    )
}
