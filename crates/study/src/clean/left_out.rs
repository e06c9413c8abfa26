//! The list of what was left out.
//!
//! Must not know: why rows are left out; it is told.

use jiff::Timestamp;

use crate::channel::Channel;

/// So many are kept in words; the rest is counted.
const KEPT: usize = 1000;

/// Why something was left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Why {
    /// No rows, or no values of one channel, for longer than the log's usual interval explains.
    Gap,
    /// A row with the time of the row before.
    Repeat,
    /// Rows that are not later than one before them: the clock was set back.
    ClockSetBack,
    /// A row whose time lies after that of the row that follows it, which fits the row before.
    TimeMisread,
    /// The same value for so long that the sensor cannot have measured it.
    Stuck,
    /// The same, at the greatest value of the channel: the sensor stood at its end.
    Saturated,
    /// Values of one channel that a file named before, which covers their time, holds too.
    LoggedTwice,
}

impl Why {
    /// In words, as in `left_out` of the study's JSON.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Gap => "gap",
            Self::Repeat => "repeat",
            Self::ClockSetBack => "clock set back",
            Self::TimeMisread => "time misread",
            Self::Stuck => "stuck",
            Self::Saturated => "saturated",
            Self::LoggedTwice => "logged twice",
        }
    }
}

/// A stretch that was left out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeftOut {
    /// Why.
    pub why: Why,
    /// Of which channel; `None` if of all.
    pub channel: Option<Channel>,
    /// The first time that it concerns: of a gap the last time before it.
    pub from: Timestamp,
    /// The last time: of a gap the first time after it.
    pub to: Timestamp,
    /// Rows that were left out.
    pub rows: u64,
    /// The value at which a channel stood still, SI.
    pub value: Option<f64>,
}

/// The list, as it grows.
#[derive(Debug, Default)]
pub(crate) struct List {
    pub(crate) kept: Vec<LeftOut>,
    pub(crate) total: u64,
    /// Rows of one kind that follow each other are one stretch, which is still open.
    open: Option<LeftOut>,
}

/// A time that came from a log, and so lies in range.
pub(crate) fn stamp(micros: i64) -> Timestamp {
    Timestamp::from_microsecond(micros).unwrap_or(Timestamp::UNIX_EPOCH)
}

impl List {
    /// One row more that was left out.
    pub(crate) fn row(&mut self, why: Why, time: i64) {
        let time = stamp(time);
        match &mut self.open {
            Some(open) if open.why == why => {
                open.from = open.from.min(time);
                open.to = open.to.max(time);
                open.rows += 1;
            }
            _ => {
                self.close();
                self.open = Some(LeftOut {
                    why,
                    channel: None,
                    from: time,
                    to: time,
                    rows: 1,
                    value: None,
                });
            }
        }
    }

    /// A row was kept: what was open ends.
    pub(crate) fn close(&mut self) {
        if let Some(open) = self.open.take() {
            self.push(open);
        }
    }

    pub(crate) fn push(&mut self, left_out: LeftOut) {
        self.total += 1;
        if self.kept.len() < KEPT {
            self.kept.push(left_out);
        }
    }
}
