//! A few cycles as they were read, one of which is shown.
//!
//! Kept are the first, second, fourth, eighth … cycle, so that memory stays bounded; in the end the
//! one whose length is nearest the usual is taken.
//!
//! Must not know: which lengths are usual, until the end.

use super::phase::Phase;

/// More points than this are thinned.
const MOST: usize = 1200;

/// One cycle.
#[derive(Debug, Clone)]
pub(crate) struct Cycle {
    /// µs.
    pub(crate) from: i64,
    pub(crate) to: i64,
    pub(crate) points: Vec<(i64, f64)>,
    pub(crate) phases: Vec<Phase>,
}

/// The cycles that are kept.
#[derive(Debug, Clone, Default)]
pub(crate) struct CloseUps {
    now: Vec<(i64, f64)>,
    stride: usize,
    skipped: usize,
    pub(crate) kept: Vec<Cycle>,
    seen: u64,
}

impl CloseUps {
    /// One reading.
    #[inline(always)]
    pub(crate) fn point(&mut self, time: i64, pressure: f64) {
        self.skipped += 1;
        if self.skipped < self.stride {
            return;
        }
        self.skipped = 0;
        if self.now.len() >= MOST {
            let mut at = 0_usize;
            self.now.retain(|_| {
                at += 1;
                at % 2 == 1
            });
            self.stride = 2 * self.stride.max(1);
        }
        self.now.push((time, pressure));
    }

    /// Forgets what lies before a time.
    pub(crate) fn forget_before(&mut self, time: i64) {
        let keep = self.now.partition_point(|&(at, _)| at < time);
        self.now.drain(..keep);
        if self.now.len() < MOST / 4 {
            self.stride = 1;
        }
    }

    /// Two stretches made a whole cycle.
    pub(crate) fn cycle(&mut self, phases: [&Phase; 2]) {
        self.seen += 1;
        if !self.seen.is_power_of_two() {
            return;
        }
        let (from, to) = (phases[0].from, phases[1].to);
        let within = |&&(time, _): &&(i64, f64)| from <= time && time <= to;
        self.kept.push(Cycle {
            from,
            to,
            points: self.now.iter().filter(within).copied().collect(),
            phases: phases.map(|p| *p).to_vec(),
        });
    }
}
