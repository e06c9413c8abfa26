//! Counters: how far each moved, and which of their readings are misread.
//!
//! Let `p` be the last accepted reading of a counter, `v` the one to judge and `n` the next in the
//! file. `a` and `b` *belong together* if `b` is not less than `a`, and, for hours, not further on
//! than 1.05 × the time between them + 1 h (the rest is for rounding and for clocks that go wrong).
//!
//! - If `p` and `n` belong together and `v` does not lie between them in this sense, `v` stands
//!   against both neighbours: a misread. So is an impossible jump forward that `n` contradicts.
//! - Otherwise a step back is a roll-over if `p` stood in the last tenth below a power of ten (1000
//!   or more), and the increase across it is possible; else it persists, and a new count starts.
//! - A jump forward that is impossible and persists starts a new count too.
//! - Work `replace counter` starts a new count, and nothing is compared across it.
//!
//! The share of a tenth and the 5 % are common practice, no source. Without a next reading nothing
//! is a misread, since one of two readings alone cannot be told to be the wrong one.
//!
//! Must not know: files, cells.

use std::collections::VecDeque;

use jiff::Timestamp;

use super::header::{Column, Role};
use super::{Candidate, Complaint};
use crate::file::unit::Unit;
use crate::model::{Asset, Station};
use crate::point::{Dimension, Point, PointId};
use crate::round::CounterStep;

/// What a row says about counters.
#[derive(Debug, Default)]
pub(super) struct Seen {
    /// Which counter, and its reading.
    pub(super) read: Vec<(usize, f64)>,
    /// Counters that were replaced before it was read.
    pub(super) replaced: Vec<usize>,
}

/// A reading with its time and line.
#[derive(Debug, Clone, Copy)]
struct At {
    value: f64,
    time: Timestamp,
    line: u64,
}

/// One counter of the file.
#[derive(Debug)]
struct Counter {
    id: PointId,
    name: String,
    column: usize,
    unit: Unit,
    hours: bool,
    /// The last accepted reading of this count.
    last: Option<At>,
    /// The last line held that reads or replaces it.
    seen_on: u64,
}

/// Every counter of the file.
#[derive(Debug)]
pub(super) struct Counters(Vec<Counter>);

impl Counters {
    pub(super) fn new(columns: &[Column], station: &Station) -> Self {
        let counters = columns
            .iter()
            .enumerate()
            .filter_map(|(column, c)| match &c.role {
                Role::Point(p) if p.counter.is_some() => Some(Counter {
                    id: p.id,
                    name: station.id(p.id.asset).to_owned(),
                    column,
                    unit: p.unit,
                    hours: matches!(p.id.point.dimension(), Dimension::Hours),
                    last: None,
                    seen_on: 0,
                }),
                _ => None,
            });
        Self(counters.collect())
    }

    /// Which counter of the file this is.
    pub(super) fn find(&self, asset: Asset, point: Point) -> Option<usize> {
        self.0.iter().position(|c| c.id == PointId { asset, point })
    }

    /// Notes which counters a new candidate reads or replaces.
    pub(super) fn notice(&mut self, candidate: &Candidate) {
        let read = candidate.seen.read.iter().map(|(index, _)| index);
        for &index in read.chain(&candidate.seen.replaced) {
            if let Some(counter) = self.0.get_mut(index) {
                counter.seen_on = candidate.round.line;
            }
        }
    }

    /// Whether each counter that this candidate reads is seen again behind it.
    pub(super) fn all_seen_after(&self, candidate: &Candidate) -> bool {
        candidate.seen.read.iter().all(|&(index, _)| {
            self.0
                .get(index)
                .is_none_or(|counter| counter.seen_on > candidate.round.line)
        })
    }

    /// Judges the readings of a candidate. Good ones are kept and their steps written into it;
    /// a misread gives its column and why, and nothing is kept.
    pub(super) fn judge(
        &mut self,
        candidate: &mut Candidate,
        following: &VecDeque<Candidate>,
    ) -> Result<(), (usize, Complaint)> {
        let (line, time) = (candidate.round.line, candidate.round.time);
        for &(index, value) in &candidate.seen.read {
            let Some(counter) = self.0.get(index) else {
                continue;
            };
            let here = At { value, time, line };
            let Some(before) = counter
                .last
                .filter(|_| !candidate.seen.replaced.contains(&index))
            else {
                continue;
            };
            if let Some(next) = next_reading(index, here, following)
                && let Some(complaint) = counter.misread(before, here, next)
            {
                return Err((counter.column, complaint));
            }
        }
        for &index in &candidate.seen.replaced {
            if let Some(counter) = self.0.get_mut(index) {
                counter.last = None;
            }
        }
        for &(index, value) in &candidate.seen.read {
            let Some(counter) = self.0.get_mut(index) else {
                continue;
            };
            let here = At { value, time, line };
            if let Some(before) = counter.last
                && let Some(increase) = counter.increase(before, here)
            {
                candidate.round.counter_steps.push(CounterStep {
                    id: counter.id,
                    increase,
                    since: before.time,
                });
            }
            counter.last = Some(here);
        }
        Ok(())
    }
}

/// The next reading of the same count, if one is held.
fn next_reading(index: usize, here: At, following: &VecDeque<Candidate>) -> Option<At> {
    for candidate in following.iter().filter(|c| c.round.time >= here.time) {
        if candidate.seen.replaced.contains(&index) {
            return None;
        }
        let read = candidate.seen.read.iter().find(|(i, _)| *i == index);
        if let Some(&(_, value)) = read {
            return Some(At {
                value,
                time: candidate.round.time,
                line: candidate.round.line,
            });
        }
    }
    None
}

impl Counter {
    /// The most that it can move between two readings.
    fn most(&self, a: At, b: At) -> f64 {
        if self.hours {
            b.time.duration_since(a.time).as_secs_f64() / 3600.0 * 1.05 + 1.0
        } else {
            f64::INFINITY
        }
    }

    /// Whether two readings belong together without a roll-over.
    fn together(&self, a: At, b: At) -> bool {
        b.value >= a.value && b.value - a.value <= self.most(a, b)
    }

    /// How far it moved from one reading to the next, if they belong to one count.
    fn increase(&self, a: At, b: At) -> Option<f64> {
        if self.together(a, b) {
            return Some(b.value - a.value);
        }
        let mut turn = 1000.0;
        while turn <= a.value {
            turn *= 10.0;
        }
        let across = turn - a.value + b.value;
        let possible = a.value >= 0.9 * turn && across <= (0.1 * turn).min(self.most(a, b));
        (b.value < a.value && possible).then_some(across)
    }

    fn misread(&self, before: At, here: At, next: At) -> Option<Complaint> {
        let fits = self.together(before, here) && self.together(here, next);
        let against_both = !fits && self.together(before, next);
        let jumped =
            here.value > before.value && !self.together(before, here) && next.value < here.value;
        if !against_both && !jumped {
            return None;
        }
        let shown = |at: At| format!("`{}` on line {}", self.unit.from_si(at.value), at.line);
        Some(Complaint::new(
            format!(
                "`{}` does not fit between {} and {}",
                self.unit.from_si(here.value),
                shown(before),
                shown(next)
            ),
            format!(
                "check the reading; if the counter was replaced, write `{}:replace counter {}` under `done`",
                self.name,
                self.id.point.name()
            ),
        ))
    }
}
