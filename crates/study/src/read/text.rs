//! A log as text: its header, the order of its dates, then its lines.
//!
//! Must not know: other files, what is done with the rows.

use station::file::problem::Problem;
use station::model::Station;

use super::Batches;
use super::batch::Batch;
use super::dates::{DatesTold, Search};
use super::feed::{Block, Feed, LONGEST_LINE};
use super::header::{self, Column, Role};
use super::layout::{self, whole};
use super::rows::{Plan, Rows};
use super::stream;
use crate::figures::SourceRead;
use crate::options::LogOptions;

/// So much is looked at to see how a file is written.
const LOOKED_AT: usize = 1 << 16;
/// So much is looked at where the order of the dates is not shown earlier.
const LOOKED_AT_FOR_DATES: usize = 64 << 20;

/// A file of text whose header was read.
pub(super) struct Text {
    feed: Feed,
    plan: Plan,
    /// Where the header stands.
    line: u64,
    told: SourceRead,
}

/// The columns, without what the rows tell.
pub(super) fn columns(
    mut feed: Feed,
    station: &Station,
    options: &LogOptions<'_>,
) -> Result<Vec<Column>, Vec<Problem>> {
    Ok(header(&mut feed, station, options)?.0)
}

impl Text {
    pub(super) fn open(
        name: String,
        mut feed: Feed,
        station: &Station,
        options: &LogOptions<'_>,
    ) -> Result<Self, Vec<Problem>> {
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
        let told = SourceRead {
            name,
            separator: Some(char::from(separator)),
            decimal_comma,
            dates: Some(told),
            interval_s: None,
            columns_left_out: plan.left_out(),
            fault: None,
        };
        Ok(Self {
            feed,
            plan,
            line,
            told,
        })
    }

    /// The earliest time among the first rows; `None` if none of them has one.
    pub(super) fn first(&mut self, station: &Station) -> Option<i64> {
        self.feed.hold(LOOKED_AT);
        let held = self.feed.held();
        let block = Block::of(held.get(..LOOKED_AT).unwrap_or(held));
        let mut batch = Batch::default();
        Rows::new(&self.plan, station.site.time_zone.clone()).block(&block, &mut batch);
        batch.times.get(1..)?.iter().copied().min()
    }

    /// Reads the rows.
    pub(super) fn read(
        mut self,
        station: &Station,
        options: &LogOptions<'_>,
        to: &mut dyn Batches,
    ) {
        to.begin(&self.plan, self.told, self.line);
        let feed = &mut self.feed;
        let fill = |block: &mut Block| {
            let filled = feed.fill(block, options.block);
            if let (true, Some(progress)) = (filled, options.progress) {
                progress(feed.bytes());
            }
            filled
        };
        let plan = &self.plan;
        let parser = || {
            let mut rows = Rows::new(plan, station.site.time_zone.clone());
            move |block: &Block, batch: &mut Batch| rows.block(block, batch)
        };
        stream::stream(fill, parser, options.workers, to);
        to.end(feed.fault().map(str::to_owned));
    }
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
            let columns = header::columns(&cells, Some(line), station, &options.map)?;
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
