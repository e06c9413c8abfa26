//! What a caller can say about the logs that it hands over.
//!
//! Must not know: how logs are read.

use std::fmt;
use std::io::Read;

use jiff::Timestamp;
use station::file::problem::Problem;

use crate::read::dates::DateOrder;
use crate::read::table::Table;

/// One file of a log.
pub struct LogSource {
    /// Its name, for messages.
    pub name: String,
    pub(crate) opens: Opens,
}

/// How a file is come by.
pub(crate) enum Opens {
    /// It is open, and can be read once.
    Once(LogHolds),
    /// It is opened when its turn comes, and for a look before.
    Anew(Box<dyn Fn() -> Result<LogHolds, Problem> + Send>),
}

/// How a file holds its rows.
pub enum LogHolds {
    /// As text, plain or packed with gzip or zstd.
    Text(Box<dyn Read + Send>),
    /// In columns.
    Columns(Box<dyn Table>),
}

impl LogSource {
    /// A source of this name, as text: plain, gzip or zstd.
    pub fn new(name: impl Into<String>, bytes: impl Read + Send + 'static) -> Self {
        Self::once(name, LogHolds::text(bytes))
    }

    /// A source of this name, in columns.
    pub fn columns(name: impl Into<String>, table: impl Table + 'static) -> Self {
        Self::once(name, LogHolds::Columns(Box::new(table)))
    }

    /// A source of this name that is open.
    pub fn once(name: impl Into<String>, holds: LogHolds) -> Self {
        Self {
            name: name.into(),
            opens: Opens::Once(holds),
        }
    }

    /// A source of this name that is opened when its turn comes, and, where there are several, for a
    /// look at its first rows before: of thousands of files no more are open than cover one time.
    pub fn anew(
        name: impl Into<String>,
        open: impl Fn() -> Result<LogHolds, Problem> + Send + 'static,
    ) -> Self {
        Self {
            name: name.into(),
            opens: Opens::Anew(Box::new(open)),
        }
    }
}

impl LogHolds {
    /// Text: plain, gzip or zstd.
    pub fn text(bytes: impl Read + Send + 'static) -> Self {
        Self::Text(Box::new(bytes))
    }
}

impl fmt::Debug for LogSource {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("LogSource")
            .field("name", &self.name)
            .finish_non_exhaustive()
    }
}

/// How logs are read.
#[derive(Clone)]
pub struct LogOptions<'a> {
    /// Foreign headers and what they mean, before those of the station file.
    pub map: Vec<(String, String)>,
    /// The order of day and month, where the file itself does not show it.
    pub dates: Option<DateOrder>,
    /// Rows before are not counted.
    pub from: Option<Timestamp>,
    /// Rows from here on are not counted.
    pub to: Option<Timestamp>,
    /// How many bytes are read at a time; whole lines are taken from them.
    pub block: usize,
    /// How many threads parse; `None` takes one for each core.
    pub workers: Option<usize>,
    /// Is told how many bytes of all files were read so far, as they lie on the disk.
    pub progress: Option<&'a (dyn Fn(u64) + Sync)>,
}

impl Default for LogOptions<'_> {
    fn default() -> Self {
        Self {
            map: Vec::new(),
            dates: None,
            from: None,
            to: None,
            block: 1 << 20,
            workers: None,
            progress: None,
        }
    }
}

impl LogOptions<'_> {
    /// From when up to when rows are counted, µs.
    pub(crate) fn limits(&self) -> (i64, i64) {
        (
            self.from.map_or(i64::MIN, Timestamp::as_microsecond),
            self.to.map_or(i64::MAX, Timestamp::as_microsecond),
        )
    }
}

impl fmt::Debug for LogOptions<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("LogOptions")
            .field("map", &self.map)
            .field("dates", &self.dates)
            .field("from", &self.from)
            .field("to", &self.to)
            .field("block", &self.block)
            .field("workers", &self.workers)
            .finish_non_exhaustive()
    }
}
