//! From bytes to rows: what a logger wrote, whatever its separator, decimal mark and dates.
//!
//! The first lines show how the file is written; then its blocks are parsed on every core and
//! handed on in order. A table needs no parsing, only times and units. The rows of several files
//! are handed on in the order of time, those of one time as one.
//!
//! Must not know: what is done with the rows.

mod account;
pub(crate) mod batch;
pub mod dates;
mod feed;
pub(crate) mod header;
mod join;
mod layout;
mod number;
mod rows;
mod stream;
pub mod table;
mod text;
mod time;
mod together;
mod written;

use std::sync::Arc;
use std::sync::atomic::AtomicU64;

use station::file::problem::Problem;
use station::model::Station;

use self::account::Alone;
pub(crate) use self::account::Told;
use self::batch::Batch;
use self::feed::Feed;
use self::header::Column;
pub(crate) use self::rows::Plan;
use self::table::TableFile;
use self::text::Text;
use crate::channel::Channel;
use crate::clean::learn::Learned;
use crate::figures::SourceRead;
use crate::options::{LogHolds, LogOptions, LogSource, Opens};

/// Where the rows of all files go, in the order of time.
pub(crate) trait Taker: Send {
    /// From here on rows have these columns, each with the longest time between two of its values
    /// that is no gap, µs; between two rows it is `gap`. Files begin whose first rows are `starts`,
    /// to be learned from.
    fn columns(&mut self, channels: &[(Channel, i64)], gap: i64, starts: &[Start<'_>]);
    /// The next rows: times that rise, the values of each column, and whether some are missing.
    fn rows(&mut self, times: &[i64], columns: &[&[f64]], missing: &[bool]);
}

/// The first rows of a file; they are handed on too.
#[derive(Debug)]
pub(crate) struct Start<'a> {
    pub(crate) channels: &'a [Channel],
    pub(crate) times: &'a [i64],
    pub(crate) columns: Vec<&'a [f64]>,
    /// What each of them teaches.
    pub(crate) learned: &'a [Learned],
}

impl<'a> Start<'a> {
    /// A column and what it teaches.
    pub(crate) fn column(&self, channel: Channel) -> Option<(&'a [f64], Learned)> {
        let at = self.channels.iter().position(|&c| c == channel)?;
        Some((self.columns.get(at)?, *self.learned.get(at)?))
    }
}

/// Where the rows of one file go, as they were read.
trait Batches: Send {
    /// The file begins, whose header stands on this line; 0 where it has none.
    fn begin(&mut self, plan: &Plan, read: SourceRead, header_line: u64);
    /// Its next rows.
    fn take(&mut self, batch: &mut Batch);
    /// It ends, by this fault if it broke off.
    fn end(&mut self, fault: Option<String>);
}

/// Reads files into the taker.
///
/// # Errors
/// Every problem of every file that makes it unusable, with its name if there are several.
pub(crate) fn sources(
    sources: impl IntoIterator<Item = LogSource>,
    station: &Station,
    options: &LogOptions<'_>,
    taker: &mut dyn Taker,
) -> Result<Told, Vec<Problem>> {
    let reading = Reading {
        station,
        options,
        bytes: Arc::default(),
    };
    let mut sources = sources.into_iter();
    let (Some(first), second) = (sources.next(), sources.next()) else {
        return Ok(Told::default());
    };
    let Some(second) = second else {
        let mut alone = Alone::new(options, taker);
        let file = reading.open(first.name, opened(first.opens)?)?;
        file.read(station, options, &mut alone)?;
        return Ok(alone.told());
    };
    let all = [first, second].into_iter().chain(sources);
    together::read(&reading, all, taker)
}

/// The problems, each with the name of its file.
pub(crate) fn named(name: &str, mut problems: Vec<Problem>) -> Vec<Problem> {
    for problem in &mut problems {
        problem.at = match problem.at.as_str() {
            "" => name.to_owned(),
            at => format!("{name}: {at}"),
        };
    }
    problems
}

/// How files are read, and how much of them was.
struct Reading<'a> {
    station: &'a Station,
    options: &'a LogOptions<'a>,
    /// Bytes of all files.
    bytes: Arc<AtomicU64>,
}

impl Reading<'_> {
    /// Opens a file up to its first rows.
    fn open(&self, name: String, holds: LogHolds) -> Result<Opened, Vec<Problem>> {
        let bytes = Arc::clone(&self.bytes);
        Ok(match holds {
            LogHolds::Columns(table) => {
                let file = TableFile::open(name, table, bytes, self.station, self.options)?;
                Opened::Table(Box::new(file))
            }
            LogHolds::Text(text) => {
                let feed = Feed::open(text, bytes);
                let file = Text::open(name, feed, self.station, self.options)?;
                Opened::Text(Box::new(file))
            }
        })
    }
}

/// A file that was opened, and its columns found.
enum Opened {
    Text(Box<Text>),
    Table(Box<TableFile>),
}

impl Opened {
    /// The earliest time among the first rows, which may be all that is read of the file.
    fn first(&mut self, station: &Station, all: bool) -> Option<i64> {
        match self {
            Self::Text(text) => text.first(station),
            Self::Table(table) => table.first(station, all),
        }
    }

    fn read(
        self,
        station: &Station,
        options: &LogOptions<'_>,
        to: &mut dyn Batches,
    ) -> Result<(), Vec<Problem>> {
        match self {
            Self::Text(text) => {
                text.read(station, options, to);
                Ok(())
            }
            Self::Table(table) => table.read(station, options, to),
        }
    }
}

fn opened(opens: Opens) -> Result<LogHolds, Vec<Problem>> {
    match opens {
        Opens::Once(holds) => Ok(holds),
        Opens::Anew(open) => open().map_err(|problem| vec![problem]),
    }
}

/// The columns of one file, without its rows.
pub(crate) fn columns(
    source: LogSource,
    station: &Station,
    options: &LogOptions<'_>,
) -> Result<Vec<Column>, Vec<Problem>> {
    match opened(source.opens)? {
        LogHolds::Text(bytes) => text::columns(Feed::open(bytes, Arc::default()), station, options),
        LogHolds::Columns(table) => table::columns(table.as_ref(), station, options),
    }
}
