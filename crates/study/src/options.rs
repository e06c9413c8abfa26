//! What a caller can say about the logs that it hands over.
//!
//! Must not know: how logs are read.

use std::fmt;
use std::io::Read;

use jiff::Timestamp;

use crate::read::dates::DateOrder;
use crate::read::table::Table;

/// One file of a log.
pub struct LogSource {
    /// Its name, for messages.
    pub name: String,
    /// What is in it.
    pub holds: LogHolds,
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
        Self {
            name: name.into(),
            holds: LogHolds::Text(Box::new(bytes)),
        }
    }

    /// A source of this name, in columns.
    pub fn columns(name: impl Into<String>, table: impl Table + 'static) -> Self {
        Self {
            name: name.into(),
            holds: LogHolds::Columns(Box::new(table)),
        }
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
    /// Is told how many bytes of a file were read so far: of its text, once unpacked, or of its
    /// columns.
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
