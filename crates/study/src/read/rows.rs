//! A block of lines to a batch of rows.
//!
//! Every line is first tried as what loggers write: plain decimals, a time like the one before, no
//! quotes. Whatever is not so is read again, carefully; that reading says what is right, and a test
//! holds the fast one to it.
//!
//! Must not know: other blocks, the order of rows.

use station::file::unit::{digits, short};

use super::batch::{Batch, Rejected};
use super::dates::DateOrder;
use super::feed::Block;
use super::header::{Column, Role, Value};
use super::layout::cells;
use super::number::plain;
use super::time::{Refused, Times};
use super::written::NoTime;

/// How the lines of one file are read.
#[derive(Debug, Clone)]
pub(crate) struct Plan {
    pub(crate) columns: Vec<Column>,
    pub(crate) separator: u8,
    /// The decimal mark.
    pub(crate) mark: u8,
    pub(crate) order: DateOrder,
    /// Whether everything goes the careful way; for tests.
    pub(crate) careful: bool,
}

impl Plan {
    /// The columns with values, in order.
    pub(crate) fn values(&self) -> impl Iterator<Item = &Value> {
        self.columns.iter().filter_map(|column| match &column.role {
            Role::Value(value) => Some(value),
            _ => None,
        })
    }

    /// The headers of the columns that say nothing.
    pub(super) fn left_out(&self) -> Vec<String> {
        let left_out = self.columns.iter().filter(|c| c.role == Role::LeftOut);
        left_out.map(|c| c.header.clone()).collect()
    }
}

/// What the fast way needs of a column.
#[derive(Debug, Clone, Copy)]
enum Cell {
    Time,
    Value(Scale),
    LeftOut,
}

#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    slot: usize,
    factor: f64,
    offset: f64,
    low: f64,
    high: f64,
}

impl Scale {
    pub(super) fn new(value: &Value, slot: usize) -> Self {
        let (factor, offset) = if value.inverted {
            (-1.0, 1.0)
        } else {
            (value.unit.factor, value.unit.offset)
        };
        // The bounds themselves can be read, whatever the unit rounds them to.
        let slack = 1e-12 * value.high.abs();
        Self {
            slot,
            factor,
            offset,
            low: value.low - slack,
            high: value.high + slack,
        }
    }

    /// The SI values of many numbers, NaN where there is none; whether all have one.
    pub(super) fn all(self, numbers: &[f64], into: &mut [f64]) -> bool {
        let mut bad = 0_u64;
        for (cell, number) in into.iter_mut().zip(numbers) {
            let si = number * self.factor + self.offset;
            let good = self.low <= si && si <= self.high;
            *cell = if good { si } else { f64::NAN };
            bad |= u64::from(!good);
        }
        bad == 0
    }

    #[inline(always)]
    pub(super) fn si(self, number: f64) -> Option<f64> {
        let si = number * self.factor + self.offset;
        (self.low <= si && si <= self.high).then_some(si)
    }
}

/// Reads the blocks of one file.
#[derive(Debug, Clone)]
pub(crate) struct Rows<'a> {
    plan: &'a Plan,
    cells: Vec<Cell>,
    times: Times,
}

impl<'a> Rows<'a> {
    pub(crate) fn new(plan: &'a Plan, zone: jiff::tz::TimeZone) -> Self {
        let mut slot = 0;
        let cell = |column: &Column| match &column.role {
            Role::Time => Cell::Time,
            Role::LeftOut => Cell::LeftOut,
            Role::Value(value) => {
                slot += 1;
                Cell::Value(Scale::new(value, slot - 1))
            }
        };
        Self {
            plan,
            cells: plan.columns.iter().map(cell).collect(),
            times: Times::new(zone, plan.order),
        }
    }

    /// Reads a block.
    pub(crate) fn block(&mut self, block: &Block, batch: &mut Batch) {
        batch.clear(self.plan.values().count());
        let mut at = 0;
        while at < block.length {
            at = match self.fast(&block.bytes, at, batch) {
                Some(next) if !self.plan.careful => next,
                _ => {
                    let rest = block.bytes.get(at..block.length).unwrap_or_default();
                    let end = memchr::memchr(b'\n', rest).unwrap_or(rest.len());
                    self.careful(rest.get(..end).unwrap_or_default(), batch);
                    at + end + 1
                }
            };
            batch.lines += 1;
        }
    }

    /// Reads the line that begins here; where the next one begins. `None` leaves nothing behind.
    #[inline(always)]
    fn fast(&mut self, bytes: &[u8], start: usize, batch: &mut Batch) -> Option<usize> {
        if self.plan.careful {
            return None;
        }
        let (separator, mark) = (self.plan.separator, self.plan.mark);
        let (mut at, mut time, mut twice, mut end) = (start, 0, None, separator);
        for cell in &self.cells {
            if end != separator {
                return None;
            }
            let text = bytes.get(at..)?;
            let length = match cell {
                Cell::Value(scale) => match plain(text, mark) {
                    Some((number, length)) => {
                        batch.set(scale.slot, scale.si(number)?);
                        length
                    }
                    None => {
                        let &first = text.first()?;
                        if first != separator && first != b'\n' && first != b'\r' {
                            return None;
                        }
                        batch.set_missing(scale.slot);
                        0
                    }
                },
                Cell::Time => match self.times.same_minute(text, separator) {
                    Some((read, length)) => {
                        time = read;
                        length
                    }
                    None => {
                        let length = text
                            .iter()
                            .take(40)
                            .position(|&b| b == separator || b < b' ')?;
                        let read = self.times.cell(text.get(..length)?).ok()?;
                        (time, twice) = (read.time, read.twice);
                        length
                    }
                },
                Cell::LeftOut => {
                    let length = memchr::memchr2(separator, b'\n', text)?;
                    if memchr::memchr2(b'"', b'\r', text.get(..length)?).is_some() {
                        return None;
                    }
                    length
                }
            };
            end = *bytes.get(at + length)?;
            at += length + 1;
        }
        if end == b'\r' {
            end = *bytes.get(at)?;
            at += 1;
        }
        if end != b'\n' {
            return None;
        }
        if let Some(later) = twice {
            batch.twice.push((batch.rows(), later));
        }
        batch.end_row(time);
        Some(at)
    }

    /// Reads a line, and tells what cannot be read.
    #[cold]
    fn careful(&mut self, line: &[u8], batch: &mut Batch) {
        let line = line.strip_suffix(b"\r").unwrap_or(line);
        if line.trim_ascii().is_empty() {
            return;
        }
        let Some(mut cells) = cells(line, self.plan.separator) else {
            return reject(
                batch,
                None,
                "a quote is not closed, or text follows it".to_owned(),
                "write a quote inside quotes twice".to_owned(),
            );
        };
        let wanted = self.plan.columns.len();
        while cells.len() > wanted && cells.last().is_some_and(Vec::is_empty) {
            cells.pop();
        }
        if cells.len() != wanted {
            return reject(
                batch,
                None,
                format!("the row has {} cells, and the header {wanted}", cells.len()),
                "check that the row was written whole and that no text holds the separator"
                    .to_owned(),
            );
        }
        let time_at = self.plan.columns.iter().position(|c| c.role == Role::Time);
        let Some((time_at, cell)) = time_at.and_then(|at| Some((at, cells.get(at)?))) else {
            return;
        };
        let read = match self.times.cell(cell) {
            Ok(read) => read,
            Err(refused) => {
                let (problem, hint) = no_time(refused, cell, self.plan.order);
                return reject(batch, Some(time_at), problem, hint);
            }
        };
        let mut slot = 0;
        for (at, (column, cell)) in self.plan.columns.iter().zip(&cells).enumerate() {
            if let Role::Value(value) = &column.role {
                match number(cell, self.plan.mark, value, slot) {
                    Ok(Some(si)) => batch.set(slot, si),
                    Ok(None) => batch.set_missing(slot),
                    Err((problem, hint)) => {
                        batch.set_missing(slot);
                        reject(batch, Some(at), problem, hint);
                    }
                }
                slot += 1;
            }
        }
        if let Some(later) = read.twice {
            batch.twice.push((batch.rows(), later));
        }
        batch.end_row(read.time);
    }
}

pub(super) fn reject(batch: &mut Batch, column: Option<usize>, problem: String, hint: String) {
    batch.reject(Rejected {
        line: batch.lines,
        column,
        problem,
        hint,
    });
}

/// What loggers write where they read nothing.
const NOTHING: [&str; 9] = ["", "-", "--", "---", "na", "n/a", "nan", "null", "none"];

/// The SI value of a cell; `None` where nothing was read.
pub(super) fn number(
    cell: &[u8],
    mark: u8,
    value: &Value,
    slot: usize,
) -> Result<Option<f64>, (String, String)> {
    let text = String::from_utf8_lossy(cell);
    let text = text.trim();
    let lower = text.to_lowercase();
    if NOTHING.contains(&lower.as_str()) {
        return Ok(None);
    }
    let scale = Scale::new(value, slot);
    if value.unit.name.is_empty() {
        let signal = match lower.as_str() {
            "on" | "true" | "yes" => Some(1.0),
            "off" | "false" | "no" => Some(0.0),
            _ => None,
        };
        if let Some(number) = signal {
            return Ok(scale.si(number));
        }
    }
    let other = if mark == b',' { '.' } else { ',' };
    let shown = short(text);
    if text.contains(other) && text.bytes().any(|b| b.is_ascii_digit()) {
        return Err((
            format!(
                "`{shown}` does not have the decimal mark of this file, `{}`",
                char::from(mark)
            ),
            "let the logger write one decimal mark, and nothing between thousands".to_owned(),
        ));
    }
    let plain = text
        .replacen(char::from(mark), ".", 1)
        .replacen('\u{2212}', "-", 1);
    let parsed = plain
        .parse::<f64>()
        .ok()
        .filter(|_| plain.bytes().any(|b| b.is_ascii_digit()));
    let Some(number) = parsed else {
        return Err((
            format!("`{shown}` is not a number"),
            "leave the cell empty where nothing was read".to_owned(),
        ));
    };
    scale
        .si(number)
        .map(Some)
        .ok_or_else(|| outside(&shown, value))
}

/// Why a number cannot be one of this column.
pub(super) fn outside(shown: &str, value: &Value) -> (String, String) {
    let name = value.unit.name;
    let space = if name.is_empty() { "" } else { " " };
    let bound = |si: f64| digits(value.unit.from_si(si));
    (
        format!(
            "`{shown}` is outside what can be read here, {} to {}{space}{name}",
            bound(value.low),
            bound(value.high)
        ),
        match name {
            "" => "check the signal".to_owned(),
            name => format!("check the sensor, and whether `{name}` is its unit"),
        },
    )
}

pub(super) fn no_time(refused: Refused, cell: &[u8], order: DateOrder) -> (String, String) {
    let shown = short(&String::from_utf8_lossy(cell));
    let (what, hint) = match refused {
        Refused::Skipped => (
            format!("`{shown}` does not exist: the clocks go forward over it"),
            "if the logger's clock is never put forward, name a time zone without summer time"
                .to_owned(),
        ),
        Refused::Written(NoTime::Shape) if shown.is_empty() => {
            ("the time is missing".to_owned(), "check the row".to_owned())
        }
        Refused::Written(NoTime::Shape) => (
            format!("`{shown}` is not a time"),
            "write it as `2026-07-14 07:10:05`".to_owned(),
        ),
        Refused::Written(NoTime::OtherOrder) => (
            format!("`{shown}` is not written {order}, as the times before it are"),
            "let the logger write every date alike".to_owned(),
        ),
        Refused::Written(NoTime::ShortYear) => (
            format!("the year of `{shown}` has two digits"),
            "let the logger write years with four digits".to_owned(),
        ),
        Refused::Written(NoTime::NoSuchDay) => (
            format!("there is no day `{shown}`"),
            "check the date: years run from 1970 to 2199".to_owned(),
        ),
    };
    (what, hint)
}

#[cfg(test)]
mod tests;
