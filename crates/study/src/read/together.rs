//! Several files: each begins when its first time comes, and all that cover one time are read at
//! once, each by threads of its own, into one stream of rows in the order of time.
//!
//! No more than the files of one time are open, and of each only some batches are in memory. Rows of
//! one time are handed on as one row; what a row does not tell is NaN. Where several files hold one
//! channel, the one that was named first tells it, for as long as no gap has passed in it.
//!
//! Must not know: how a file is read, what is done with the rows.

use std::collections::VecDeque;
use std::sync::mpsc::{self, Receiver, Sender, SyncSender};
use std::thread;

use station::file::problem::Problem;

use super::account::{Account, Told};
use super::batch::Batch;
use super::join::{self, Columns};
use super::rows::Plan;
use super::{Batches, Opened, Reading, Start, Taker, named};
use crate::clean::learn;
use crate::clean::left_out::{LeftOut, Why, stamp};
use crate::figures::SourceRead;
use crate::options::{LogHolds, LogOptions, LogSource, Opens};

/// So many files may cover one time.
const MOST_AT_ONCE: usize = 256;
/// So many batches of a file wait to be taken.
const AHEAD: usize = 2;

/// A file whose turn has not come.
struct Waiting {
    /// Its place among all, as they were named.
    at: usize,
    name: String,
    /// Its first time, if one was found.
    first: Option<i64>,
    ready: Ready,
}

enum Ready {
    Open(Opened),
    Anew(Box<dyn Fn() -> Result<LogHolds, Problem> + Send>),
}

/// What comes from the threads that read a file.
enum Message {
    Begin(Box<(Plan, SourceRead, u64)>),
    Rows(Batch),
    End(Option<String>),
}

/// Sends what is read of a file, and takes back batches that are done with.
struct Post {
    to: SyncSender<Message>,
    spare: Receiver<Batch>,
}

impl Batches for Post {
    // Nobody takes it any more only where all reading has been given up.
    fn begin(&mut self, plan: &Plan, read: SourceRead, header_line: u64) {
        let begin = Box::new((plan.clone(), read, header_line));
        let _ = self.to.send(Message::Begin(begin));
    }

    fn take(&mut self, batch: &mut Batch) {
        let mut rows = self.spare.try_recv().unwrap_or_default();
        std::mem::swap(batch, &mut rows);
        let _ = self.to.send(Message::Rows(rows));
    }

    fn end(&mut self, fault: Option<String>) {
        let _ = self.to.send(Message::End(fault));
    }
}

/// A file that is being read.
pub(super) struct Running {
    at: usize,
    pub(super) account: Account,
    from: Receiver<Message>,
    spare: Sender<Batch>,
    queue: VecDeque<Batch>,
    /// Rows of the first batch that were handed on.
    handed: usize,
    ended: bool,
    /// Whether nothing was learned from it yet.
    fresh: bool,
    /// Of each column the time of its last value.
    pub(super) last: Vec<Option<i64>>,
    /// Values that another file holds too: from when to when, and how many.
    twice: Vec<Option<(i64, i64, u64)>>,
}

/// Reads files into the taker.
///
/// # Errors
/// Every problem of every file that makes it unusable.
pub(super) fn read(
    reading: &Reading<'_>,
    sources: impl Iterator<Item = LogSource>,
    taker: &mut dyn Taker,
) -> Result<Told, Vec<Problem>> {
    let mut waiting = look(reading, sources)?;
    let mut accounts: Vec<Option<Account>> = waiting.iter().map(|_| None).collect();
    thread::scope(|scope| {
        let begin = |file: Waiting, alone: bool, last: Option<i64>| {
            let (to, from) = mpsc::sync_channel(AHEAD);
            let (spare, spares) = mpsc::channel();
            let running = Running::new(&file, reading.options, (from, spare), last);
            let workers = if alone {
                reading.options.workers
            } else {
                Some(1)
            };
            scope.spawn(move || file.run(reading, workers, Post { to, spare: spares }));
            running
        };
        let mut running: Vec<Running> = Vec::new();
        let (mut columns, mut changed, mut last) = (Columns::default(), false, None);
        loop {
            for ended in running.extract_if(.., |file| !file.fill()) {
                let (at, account) = ended.end();
                if let Some(place) = accounts.get_mut(at) {
                    *place = Some(account);
                }
                changed = true;
            }
            let next = running.iter().filter_map(|file| file.times().first()).min();
            let next = next.copied().or(waiting.front().and_then(|w| w.first));
            let due = |file: &Waiting| file.first.is_none_or(|first| Some(first) <= next);
            while waiting.front().is_some_and(due)
                && let Some(file) = waiting.pop_front()
            {
                if running.len() == MOST_AT_ONCE {
                    return Err(named(&file.name, vec![too_many()]));
                }
                running.push(begin(file, running.is_empty(), last));
                changed = true;
            }
            if changed {
                changed = false;
                running.sort_by_key(|file| file.at);
                running
                    .iter_mut()
                    .filter(|f| f.fresh)
                    .for_each(Running::start);
                // One without rows that can be used ends as it begins.
                if running.iter().any(Running::is_done) {
                    changed = true;
                    continue;
                }
                columns = begin_columns(&mut running, taker);
            }
            if running.is_empty() {
                break;
            }
            let before = waiting.front().and_then(|w| w.first);
            last = join::hand_on(&mut running, &mut columns, before, taker).or(last);
        }
        let mut told = Told::default();
        accounts.into_iter().flatten().for_each(|a| told.add(a));
        Ok(told)
    })
}

/// Says which columns rows have from now on, and what the first rows of fresh files are.
fn begin_columns(running: &mut [Running], taker: &mut dyn Taker) -> Columns {
    let begun: Vec<bool> = running.iter_mut().map(Running::learn).collect();
    let columns = Columns::of(running);
    let begun = running.iter().zip(begun).filter(|(_, begun)| *begun);
    let starts: Vec<Start<'_>> = begun.filter_map(|(file, _)| file.begins()).collect();
    let gap = running.iter().map(|file| file.account.gap).max();
    taker.columns(columns.channels(), gap.unwrap_or(i64::MAX), &starts);
    columns
}

/// Looks at the header and the first time of each file.
fn look(
    reading: &Reading<'_>,
    sources: impl Iterator<Item = LogSource>,
) -> Result<VecDeque<Waiting>, Vec<Problem>> {
    let (mut found, mut problems) = (Vec::new(), Vec::new());
    for (at, source) in sources.enumerate() {
        let name = source.name;
        let looked = match source.opens {
            Opens::Once(holds) => reading.open(name.clone(), holds).map(|mut file| {
                let first = file.first(reading.station, true);
                (first, Ready::Open(file))
            }),
            Opens::Anew(open) => {
                look_once(reading, &name, open.as_ref()).map(|first| (first, Ready::Anew(open)))
            }
        };
        match looked {
            Ok((first, ready)) => found.push(Waiting {
                at,
                name,
                first,
                ready,
            }),
            Err(more) => problems.extend(named(&name, more)),
        }
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    found.sort_by_key(|file| (file.first, file.at));
    Ok(found.into())
}

/// The first time of a file that is closed again; what is read of it is not counted.
fn look_once(
    reading: &Reading<'_>,
    name: &str,
    open: &dyn Fn() -> Result<LogHolds, Problem>,
) -> Result<Option<i64>, Vec<Problem>> {
    let apart = Reading {
        bytes: std::sync::Arc::default(),
        ..*reading
    };
    let holds = open().map_err(|problem| vec![problem])?;
    let mut file = apart.open(name.to_owned(), holds)?;
    Ok(file.first(reading.station, false))
}

fn too_many() -> Problem {
    Problem {
        line: None,
        at: String::new(),
        what: format!("it and {MOST_AT_ONCE} more logs cover the same time"),
        hint: Some("join some of them, or study them apart".to_owned()),
    }
}

impl Waiting {
    fn run(self, reading: &Reading<'_>, workers: Option<usize>, mut post: Post) {
        let options = LogOptions {
            workers,
            ..reading.options.clone()
        };
        let name = self.name;
        let file = match self.ready {
            Ready::Open(file) => Ok(file),
            Ready::Anew(open) => open()
                .map_err(|problem| vec![problem])
                .and_then(|holds| reading.open(name, holds)),
        };
        let read = file.and_then(|file| file.read(reading.station, &options, &mut post));
        if let Err(problems) = read {
            // It was good when it was looked at.
            let first = problems.into_iter().next();
            post.end(Some(first.map_or_else(String::new, |problem| problem.what)));
        }
    }
}

impl Running {
    fn new(
        file: &Waiting,
        options: &LogOptions<'_>,
        (from, spare): (Receiver<Message>, Sender<Batch>),
        last: Option<i64>,
    ) -> Self {
        Self {
            at: file.at,
            account: Account::new(file.name.clone(), options, last),
            from,
            spare,
            queue: VecDeque::new(),
            handed: 0,
            ended: false,
            fresh: true,
            last: Vec::new(),
            twice: Vec::new(),
        }
    }

    /// Waits for what is read next.
    fn pull(&mut self) {
        match self.from.recv() {
            Ok(Message::Begin(begin)) => {
                let (plan, read, line) = *begin;
                self.account.begin(&plan, read, line);
                let columns = self.account.channels.len();
                self.last = vec![None; columns];
                self.twice = vec![None; columns];
            }
            Ok(Message::Rows(mut batch)) => {
                self.account.take(&mut batch);
                if batch.rows() > 0 {
                    self.queue.push_back(batch);
                } else {
                    self.give_back(batch);
                }
            }
            Ok(Message::End(fault)) => {
                self.queue.extend(self.account.end(fault));
                self.ended = true;
            }
            // A thread that panicked ends the whole reading when it is joined.
            Err(_) => self.ended = true,
        }
    }

    fn give_back(&self, batch: Batch) {
        // Whoever has read all needs none.
        let _ = self.spare.send(batch);
    }

    /// Sees to it that there are rows; false if there are no more.
    fn fill(&mut self) -> bool {
        while self.queue.is_empty() && !self.ended {
            self.pull();
        }
        !self.queue.is_empty()
    }

    fn is_done(&self) -> bool {
        self.queue.is_empty() && self.ended
    }

    /// Takes in as many rows as are learned from, in one piece.
    fn start(&mut self) {
        let mut rows = 0;
        while rows < learn::ROWS && !self.ended {
            self.pull();
            rows = self.queue.iter().map(Batch::rows).sum();
        }
        let mut start = Batch::empty(self.account.channels.len());
        for batch in std::mem::take(&mut self.queue) {
            start.append(&batch);
            self.give_back(batch);
        }
        if start.rows() > 0 {
            self.queue.push_back(start);
        }
    }

    /// Learns from the first rows of a fresh file; whether it is one.
    fn learn(&mut self) -> bool {
        let fresh = std::mem::take(&mut self.fresh);
        if let Some(start) = self.queue.front().filter(|_| fresh) {
            self.account.learn(start);
        }
        fresh
    }

    fn begins(&self) -> Option<Start<'_>> {
        Some(self.account.start(self.queue.front()?))
    }

    /// The longest time between two values of a column that is no gap, µs.
    pub(super) fn gap(&self, column: usize) -> i64 {
        self.account
            .learned
            .get(column)
            .map_or(0, |learned| learned.gap)
    }

    /// The rows that are next to be handed on, and the place of the first of them in their batch.
    pub(super) fn batch(&self) -> Option<(&Batch, usize)> {
        self.queue.front().map(|batch| (batch, self.handed))
    }

    /// The times that are next.
    pub(super) fn times(&self) -> &[i64] {
        let next = self.batch().and_then(|(b, handed)| b.times.get(handed..));
        next.unwrap_or_default()
    }

    /// So many rows were handed on.
    pub(super) fn forward(&mut self, rows: usize) {
        self.handed += rows;
        if self.times().is_empty() {
            self.handed = 0;
            if let Some(batch) = self.queue.pop_front() {
                self.give_back(batch);
            }
        }
    }

    /// A value of this column is left out, since another file holds it too.
    pub(super) fn twice(&mut self, column: usize, time: i64) {
        if let Some(stretch) = self.twice.get_mut(column) {
            let (from, _, values) = stretch.unwrap_or((time, time, 0));
            *stretch = Some((from, time, values + 1));
        }
    }

    /// A value of this column is handed on: what was left out before it is told.
    pub(super) fn once(&mut self, column: usize) {
        let Some((from, to, rows)) = self.twice.get_mut(column).and_then(Option::take) else {
            return;
        };
        self.account.list.push(LeftOut {
            why: Why::LoggedTwice,
            channel: self.account.channels.get(column).copied(),
            from: stamp(from),
            to: stamp(to),
            rows,
            value: None,
        });
    }

    fn end(mut self) -> (usize, Account) {
        (0..self.twice.len()).for_each(|column| self.once(column));
        (self.at, self.account)
    }
}
