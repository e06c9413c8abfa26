//! Whether a change has ended: somebody cleaned or mended and nobody wrote it down.
//!
//! Must not know: sentences, money.

use super::change::{Found, Search, Slot, days_read, log_odds, together, worth_trying};

/// ln of how much likelier the readings must be with the change ended than with what else was found (from memory).
const SURELY_ENDED: f64 = 10.0;
/// Readings at least in which all is as before.
const RIGHT_AGAIN: usize = 5;

/// Something that was wrong from a day to another, and what speaks for its having ended, ln K.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Ended {
    pub(crate) began: f64,
    pub(crate) ended: f64,
    pub(crate) odds: f64,
}

impl Search<'_> {
    /// From when to when something was wrong that is right again, where that explains the readings far better than the
    /// changes that were found.
    pub(super) fn ended(&self, slots: &[Slot], found: &[Found], from: f64) -> Option<Ended> {
        if found.is_empty() {
            return None;
        }
        let goes_on: f64 = found.iter().map(|f| f.log_odds).sum();
        let days = days_read(slots, |d| d > from);
        let last = days.len().checked_sub(RIGHT_AGAIN)?;
        let worth_trying = worth_trying(last);
        let tried = (1..last).filter(|i| worth_trying(*i));
        let courses = self.beginnings(slots, from, f64::INFINITY);
        let best_until = |end: f64| {
            let until = courses.iter().take_while(|c| c.begins() < end).count();
            let courses = &courses[..until];
            let of = |cause: &_| {
                let table = self.by_course(cause, slots, courses, end);
                let each = courses.iter().enumerate().map(move |(i, course)| {
                    let odds = log_odds(cause, together(&table, i), *course, end);
                    (odds, course.begins())
                });
                each.max_by(|a, b| a.0.total_cmp(&b.0))
            };
            let best = self.causes.iter().filter_map(of);
            best.max_by(|a, b| a.0.total_cmp(&b.0))
                .map(|(odds, begins)| (odds, begins, end))
        };
        let best = tried
            .filter_map(|i| best_until(days[i]))
            .max_by(|a, b| a.0.total_cmp(&b.0))?;
        let (odds, begins, end) = best;
        let odds = odds - goes_on;
        (odds > SURELY_ENDED).then_some(Ended {
            began: begins,
            ended: end,
            odds,
        })
    }
}
