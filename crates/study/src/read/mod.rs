//! From bytes to rows: what a logger wrote, whatever its separator, decimal mark and dates.
//!
//! The first lines show how the file is written. Then every thread takes the next block of bytes,
//! parses it, and puts its rows into a queue; whoever finds the next block in it hands it on, in
//! order. No more than `QUEUE` blocks wait.
//!
//! Must not know: what is done with the rows.

pub(crate) mod batch;
pub mod dates;
mod feed;
mod header;
mod layout;
mod number;
mod rows;
mod time;
mod written;

use std::collections::BTreeMap;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;

use station::file::problem::Problem;
use station::model::Station;

use self::batch::Batch;
use self::dates::{DatesTold, Search};
use self::feed::{Block, Feed, LONGEST_LINE};
use self::header::{Column, Role};
use self::layout::whole;
pub(crate) use self::rows::Plan;
use self::rows::Rows;
use crate::figures::SourceRead;
use crate::options::{LogOptions, LogSource};
use crate::sink::Sink;

/// So many blocks wait at most for one before them.
const QUEUE: usize = 8;
/// So much is looked at to see how a file is written.
const LOOKED_AT: usize = 1 << 16;
/// So much is looked at where the order of the dates is not shown earlier.
const LOOKED_AT_FOR_DATES: usize = 64 << 20;

/// Reads one file into the sink.
pub(crate) fn source(
    source: LogSource,
    station: &Station,
    options: &LogOptions<'_>,
    sink: &mut Sink<'_>,
) -> Result<(), Vec<Problem>> {
    let mut feed = Feed::open(source.bytes);
    let one = |problem| vec![problem];
    let (columns, line, separator) = header(&mut feed, station, options)?;
    let told = dates(&mut feed, &columns, line, separator, options).map_err(one)?;
    let rows = feed.held().split(|&b| b == b'\n').take(1000);
    let decimal_comma = separator != b',' && layout::decimal_comma(rows, separator);
    let plan = Plan {
        columns,
        separator,
        mark: if decimal_comma { b',' } else { b'.' },
        order: told.order,
        careful: false,
    };
    let left_out = plan.columns.iter().filter(|c| c.role == Role::LeftOut);
    let read = SourceRead {
        name: source.name,
        separator: char::from(separator),
        decimal_comma,
        dates: told,
        interval_s: None,
        columns_left_out: left_out.map(|c| c.header.clone()).collect(),
        fault: None,
    };
    sink.begin(&plan, read, line);
    let fault = stream(feed, &plan, station, options, sink);
    sink.end(fault);
    Ok(())
}

/// Reads the header off the feed: the columns, its line, the separator.
fn header(
    feed: &mut Feed,
    station: &Station,
    options: &LogOptions<'_>,
) -> Result<(Vec<Column>, u64, u8), Vec<Problem>> {
    feed.hold(LOOKED_AT);
    if feed.held().starts_with(b"\xEF\xBB\xBF") {
        feed.skip(3);
    }
    let mut line = 1;
    loop {
        let end = memchr::memchr(b'\n', feed.held());
        if end.is_none() && !feed.ended() {
            if feed.held().len() > LONGEST_LINE {
                return Err(vec![whole(
                    "the first line is longer than 1 MiB",
                    "check that this is a log",
                )]);
            }
            feed.hold(2 * feed.held().len());
            continue;
        }
        let held = feed.held();
        let text = held.get(..end.unwrap_or(held.len())).unwrap_or_default();
        if !text.trim_ascii().is_empty() {
            if let Some(problem) = layout::no_text(held) {
                return Err(vec![problem]);
            }
            let text = text.strip_suffix(b"\r").unwrap_or(text);
            let separator = layout::separator(text);
            let cells = layout::cells(text, separator).ok_or_else(|| {
                vec![Problem {
                    line: Some(line),
                    at: "header".to_owned(),
                    what: "a quote is not closed, or text follows it".to_owned(),
                    hint: Some("write a quote inside quotes twice".to_owned()),
                }]
            })?;
            let cells: Vec<String> = cells
                .iter()
                .map(|cell| String::from_utf8_lossy(cell).into_owned())
                .collect();
            let columns = header::columns(&cells, line, station, &options.map)?;
            feed.skip(end.map_or(held.len(), |end| end + 1));
            return Ok((columns, line, separator));
        }
        let Some(end) = end else {
            return Err(vec![match feed.fault() {
                Some(fault) => whole(
                    format!("the file cannot be read: {fault}"),
                    "check that it is whole and may be read",
                ),
                None => whole(
                    "the file is empty",
                    "its first line names the columns: `time,K1.power [kW]`",
                ),
            }]);
        };
        feed.skip(end + 1);
        line += 1;
    }
}

/// The order of the dates, shown by the rows that are held; more are held as long as it is not.
fn dates(
    feed: &mut Feed,
    columns: &[Column],
    header_line: u64,
    separator: u8,
    options: &LogOptions<'_>,
) -> Result<DatesTold, Problem> {
    let time_at = columns
        .iter()
        .position(|c| c.role == Role::Time)
        .unwrap_or(0);
    let mut search = Search::default();
    let (mut at, mut line) = (0, header_line);
    loop {
        let held = feed.held();
        let mut found = false;
        while let Some(rest) = held.get(at..).filter(|rest| !rest.is_empty() && !found) {
            let end = memchr::memchr(b'\n', rest);
            if end.is_none() && !feed.ended() {
                break;
            }
            let end = end.unwrap_or(rest.len());
            let text = rest.get(..end).unwrap_or_default();
            line += 1;
            at += end + 1;
            if !text.trim_ascii().is_empty()
                && let Some(cell) =
                    layout::cells(text, separator).and_then(|c| c.into_iter().nth(time_at))
            {
                found = search.look(line, &cell);
            }
        }
        let enough = held.len() >= LOOKED_AT_FOR_DATES || options.dates.is_some();
        if found || feed.ended() || enough {
            return search.settle(options.dates, feed.ended());
        }
        feed.hold((2 * held.len()).clamp(LOOKED_AT, LOOKED_AT_FOR_DATES));
    }
}

/// Blocks that are parsed and wait for their turn.
#[derive(Default)]
struct Waiting {
    ready: BTreeMap<u64, Batch>,
    next: u64,
    /// Batches to be used again.
    spare: Vec<Batch>,
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    // A thread that panicked ends the whole reading when the threads are joined.
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Parses the rest of the feed on every core; the fault that ended it, if one did.
fn stream(
    feed: Feed,
    plan: &Plan,
    station: &Station,
    options: &LogOptions<'_>,
    sink: &mut Sink<'_>,
) -> Option<String> {
    let cores = thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let workers = options.workers.unwrap_or(cores).clamp(1, 16);
    let feed = Mutex::new((feed, 0_u64));
    let waiting = Mutex::new(Waiting::default());
    let handed = Condvar::new();
    let sink = Mutex::new(sink);
    let work = || {
        let mut rows = Rows::new(plan, station.site.time_zone.clone());
        let mut block = Block::default();
        loop {
            let serial = {
                let mut feed = lock(&feed);
                if !feed.0.fill(&mut block, options.block) {
                    break;
                }
                if let Some(progress) = options.progress {
                    progress(feed.0.given());
                }
                feed.1 += 1;
                feed.1 - 1
            };
            let mut batch = lock(&waiting).spare.pop().unwrap_or_default();
            rows.block(&block, &mut batch);
            let mut queue = lock(&waiting);
            queue.ready.insert(serial, batch);
            handed.notify_all();
            while queue.ready.len() >= QUEUE && !queue.ready.contains_key(&queue.next) {
                queue = handed.wait(queue).unwrap_or_else(PoisonError::into_inner);
            }
            drop(queue);
            // If another thread hands on at this moment, it or a later one finds this block too.
            if let Ok(mut sink) = sink.try_lock() {
                hand_on(&mut sink, &waiting, &handed);
            }
        }
    };
    thread::scope(|scope| {
        for _ in 1..workers {
            scope.spawn(work);
        }
        work();
    });
    hand_on(&mut lock(&sink), &waiting, &handed);
    let (feed, _) = feed.into_inner().unwrap_or_else(PoisonError::into_inner);
    feed.fault().map(str::to_owned)
}

fn hand_on(sink: &mut Sink<'_>, waiting: &Mutex<Waiting>, handed: &Condvar) {
    loop {
        let mut queue = lock(waiting);
        let next = queue.next;
        let Some(mut batch) = queue.ready.remove(&next) else {
            return;
        };
        drop(queue);
        sink.take(&mut batch);
        let mut queue = lock(waiting);
        queue.next += 1;
        queue.spare.push(batch);
        handed.notify_all();
    }
}
