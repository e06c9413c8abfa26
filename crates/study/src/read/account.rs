//! What is told of each file beside its rows: how it is written, what could not be read, what was
//! out of order. The clock of each file is judged for itself.
//!
//! Must not know: other files' rows, figures.

use super::batch::Batch;
use super::rows::Plan;
use super::{Batches, Start, Taker};
use crate::channel::Channel;
use crate::clean::learn::{self, Learned, learn};
use crate::clean::left_out::{LeftOut, List};
use crate::clean::order::Order;
use crate::figures::{RejectedCell, SourceRead};
use crate::options::LogOptions;

/// So much of what was rejected is told in words.
const TOLD: usize = 1000;

/// What is told of all files.
#[derive(Debug, Default)]
pub(crate) struct Told {
    /// Rows read.
    pub(crate) rows: u64,
    /// Rows of which nothing was handed on.
    pub(crate) rows_left_out: u64,
    pub(crate) sources: Vec<SourceRead>,
    /// The first cells and rows that could not be read.
    pub(crate) rejected: Vec<RejectedCell>,
    pub(crate) rejected_total: u64,
    pub(crate) left_out: Vec<LeftOut>,
    pub(crate) left_out_total: u64,
}

impl Told {
    /// Adds what is told of the next file, in the order in which they were named.
    pub(super) fn add(&mut self, account: Account) {
        self.rows += account.rows;
        self.rows_left_out += account.rows_left_out;
        let room = TOLD.saturating_sub(self.rejected.len());
        self.rejected
            .extend(account.rejected.into_iter().take(room));
        self.rejected_total += account.rejected_total;
        self.left_out.extend(account.list.kept);
        self.left_out_total += account.list.total;
        self.sources.push(account.source);
    }
}

/// What is told of one file, as its rows come.
#[derive(Debug)]
pub(super) struct Account {
    pub(super) channels: Vec<Channel>,
    pub(super) list: List,
    /// The longest time between two rows that is no gap, µs.
    pub(super) gap: i64,
    /// What the first rows taught of each column.
    pub(super) learned: Vec<Learned>,
    pub(super) rows_left_out: u64,
    source: SourceRead,
    headers: Vec<String>,
    /// The next line.
    line: u64,
    rows: u64,
    rejected: Vec<RejectedCell>,
    rejected_total: u64,
    order: Order,
    limits: (i64, i64),
}

impl Account {
    /// Of a file of this name; rows up to `last` were handed on already.
    pub(super) fn new(name: String, options: &LogOptions<'_>, last: Option<i64>) -> Self {
        Self {
            channels: Vec::new(),
            list: List::default(),
            gap: i64::MAX,
            learned: Vec::new(),
            rows_left_out: 0,
            source: SourceRead::unread(name),
            headers: Vec::new(),
            line: 0,
            rows: 0,
            rejected: Vec::new(),
            rejected_total: 0,
            order: Order::after(last),
            limits: options.limits(),
        }
    }

    pub(super) fn begin(&mut self, plan: &Plan, read: SourceRead, header_line: u64) {
        self.channels = plan.values().map(|value| value.channel).collect();
        self.headers = plan.columns.iter().map(|c| c.header.clone()).collect();
        self.line = header_line + 1;
        self.source = read;
    }

    /// Leaves in a batch the rows that are in order.
    pub(super) fn take(&mut self, batch: &mut Batch) {
        // The first is not its own.
        let rows = batch.rows() as u64 - 1;
        self.rows += batch.skipped + rows;
        self.rows_left_out += batch.skipped;
        self.line += batch.skipped;
        let room = TOLD.saturating_sub(self.rejected.len());
        for rejected in batch.rejected.drain(..).take(room) {
            let column = rejected.column.and_then(|at| self.headers.get(at));
            self.rejected.push(RejectedCell {
                source: self.source.name.clone(),
                line: self.line + rejected.line,
                column: column.cloned().unwrap_or_default(),
                problem: rejected.problem,
                hint: rejected.hint,
            });
        }
        self.rejected_total += batch.rejected_total;
        self.line += batch.lines;
        let held = u64::from(self.order.holds());
        self.order.take(batch, self.limits, &mut self.list);
        let now_held = u64::from(self.order.holds());
        self.rows_left_out += rows + held - now_held - batch.rows() as u64;
    }

    /// The file ends, by this fault if it broke off; its last row, if it is in order.
    pub(super) fn end(&mut self, fault: Option<String>) -> Option<Batch> {
        self.source.fault = fault;
        let held = self.order.holds();
        let last = self.order.end(self.limits, &mut self.list);
        self.rows_left_out += u64::from(held && last.is_none());
        last.map(|(time, values)| Batch::of_row(time, &values))
    }

    /// Learns from its first rows, once there are enough of them or it has no more.
    pub(super) fn learn(&mut self, start: &Batch) {
        let rows = start.rows().min(learn::ROWS);
        let times = start.times.get(..rows).unwrap_or_default();
        let of_rows = learn(times, None);
        self.gap = of_rows.gap;
        self.source.interval_s = of_rows.interval.map(|micros| micros as f64 * 1e-6);
        let of_column = |column| {
            let own = learn(times, start.column(column).get(..rows));
            Learned {
                gap: own.gap.max(of_rows.gap),
                ..own
            }
        };
        self.learned = (0..start.width()).map(of_column).collect();
    }

    /// Its first rows and what they taught.
    pub(super) fn start<'a>(&'a self, start: &'a Batch) -> Start<'a> {
        let rows = start.rows().min(learn::ROWS);
        let columns = (0..start.width()).map(|c| start.column(c).get(..rows));
        Start {
            channels: &self.channels,
            times: start.times.get(..rows).unwrap_or_default(),
            columns: columns.map(Option::unwrap_or_default).collect(),
            learned: &self.learned,
        }
    }
}

/// The rows of one file that is read alone.
pub(super) struct Alone<'a> {
    account: Account,
    /// Rows that are held until there are enough to learn from.
    start: Option<Batch>,
    to: &'a mut dyn Taker,
}

impl<'a> Alone<'a> {
    pub(super) fn new(options: &LogOptions<'_>, to: &'a mut dyn Taker) -> Self {
        Self {
            account: Account::new(String::new(), options, None),
            start: None,
            to,
        }
    }

    pub(super) fn told(self) -> Told {
        let mut told = Told::default();
        told.add(self.account);
        told
    }

    fn hand_on(&mut self, batch: &Batch) {
        if batch.rows() == 0 {
            return;
        }
        match &mut self.start {
            Some(start) => {
                start.append(batch);
                if start.rows() >= learn::ROWS {
                    self.learn();
                }
            }
            None => pass(batch, self.to),
        }
    }

    fn learn(&mut self) {
        let Some(start) = self.start.take().filter(|start| start.rows() > 0) else {
            return;
        };
        self.account.learn(&start);
        let first = self.account.start(&start);
        let channels = first.channels.iter().zip(first.learned);
        let channels: Vec<_> = channels.map(|(&c, learned)| (c, learned.gap)).collect();
        self.to.columns(&channels, self.account.gap, &[first]);
        pass(&start, self.to);
    }
}

fn pass(batch: &Batch, to: &mut dyn Taker) {
    let columns: Vec<&[f64]> = (0..batch.width()).map(|c| batch.column(c)).collect();
    to.rows(&batch.times, &columns, &batch.missing);
}

impl Batches for Alone<'_> {
    fn begin(&mut self, plan: &Plan, read: SourceRead, header_line: u64) {
        self.account.begin(plan, read, header_line);
        self.start = Some(Batch::empty(self.account.channels.len()));
    }

    fn take(&mut self, batch: &mut Batch) {
        self.account.take(batch);
        self.hand_on(batch);
    }

    fn end(&mut self, fault: Option<String>) {
        if let Some(last) = self.account.end(fault) {
            self.hand_on(&last);
        }
        self.learn();
    }
}
