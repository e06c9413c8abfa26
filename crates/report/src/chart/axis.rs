//! The axis of time, with ticks at the starts of months, or of days where the time is short.
//!
//! Must not know: what happened.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};

const DAY_S: f64 = 86_400.0;
/// Ticks never come closer than this, px.
const NEAREST: f64 = 66.0;

/// From seconds to places on the paper.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Axis {
    from: f64,
    to: f64,
    left: f64,
    right: f64,
    /// Seconds and their labels.
    pub(super) ticks: Vec<(f64, String)>,
}

impl Axis {
    /// An axis over this time, at least a day.
    pub(super) fn over(
        (from, to): (f64, f64),
        (left, right): (f64, f64),
        time_zone: &TimeZone,
    ) -> Self {
        let to = to.max(from + DAY_S);
        let mut axis = Self {
            from,
            to,
            left,
            right,
            ticks: Vec::new(),
        };
        axis.ticks = axis.find_ticks(time_zone);
        axis
    }

    /// Where a moment lies.
    pub(super) fn x(&self, second: f64) -> f64 {
        let share = ((second - self.from) / (self.to - self.from)).clamp(0.0, 1.0);
        self.left + share * (self.right - self.left)
    }

    /// Whether a moment lies on the axis.
    pub(super) fn holds(&self, second: f64) -> bool {
        (self.from..=self.to).contains(&second)
    }

    fn find_ticks(&self, time_zone: &TimeZone) -> Vec<(f64, String)> {
        let days = (self.to - self.from) / DAY_S;
        let most = ((self.right - self.left) / NEAREST).floor().max(1.0);
        let Some(first) = date(self.from, time_zone) else {
            return Vec::new();
        };
        if days <= 62.0 {
            let step = [1_i32, 2, 4, 7, 14]
                .into_iter()
                .find(|s| days / f64::from(*s) <= most)
                .unwrap_or(14);
            return self.walk(first, time_zone, |day, n| {
                day.checked_add((n * step).days()).ok()
            });
        }
        let step = [1_i32, 2, 3, 6, 12, 24, 60, 120]
            .into_iter()
            .find(|s| days / 30.4 / f64::from(*s) <= most)
            .unwrap_or(240);
        let start = i32::from(first.month()) - 1;
        let start = if step >= 12 {
            0
        } else {
            start.div_euclid(step) * step
        };
        let january = Date::new(first.year(), 1, 1).ok();
        self.walk(january.unwrap_or(first), time_zone, |day, n| {
            day.checked_add((start + n * step).months()).ok()
        })
    }

    /// Ticks at the dates that `next` gives for 0, 1, 2 …
    fn walk(
        &self,
        first: Date,
        time_zone: &TimeZone,
        next: impl Fn(Date, i32) -> Option<Date>,
    ) -> Vec<(f64, String)> {
        let monthly = (self.to - self.from) / DAY_S > 62.0;
        let mut ticks: Vec<(f64, String)> = Vec::new();
        for n in 0..400 {
            let Some(day) = next(first, n) else { break };
            let midnight = time_zone.to_ambiguous_timestamp(day.at(0, 0, 0, 0));
            let Ok(midnight) = midnight.compatible() else {
                break;
            };
            let second = midnight.as_second() as f64;
            if second > self.to {
                break;
            }
            let x = self.x(second);
            if second < self.from || x > self.right - 10.0 {
                continue;
            }
            let year = ticks.is_empty() || day.month() == 1;
            let pattern = match (monthly, year) {
                (true, true) => "%b %Y",
                (true, false) => "%b",
                (false, _) => "%-d %b",
            };
            ticks.push((second, day.strftime(pattern).to_string()));
        }
        ticks
    }
}

fn date(second: f64, time_zone: &TimeZone) -> Option<Date> {
    // Seconds of a timestamp: whole, and far inside the range of i64.
    let timestamp = Timestamp::from_second(second as i64).ok()?;
    Some(timestamp.to_zoned_datetime(time_zone.clone()).date())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_keep_their_distance_over_any_time() {
        for days in [0.5, 3.0, 20.0, 61.0, 63.0, 300.0, 800.0, 4000.0, 30_000.0] {
            let from = 1_700_000_000.0;
            let axis = Axis::over((from, from + days * DAY_S), (74.0, 942.0), &TimeZone::UTC);
            assert!(!axis.ticks.is_empty() || days < 1.0, "{days}");
            for pair in axis.ticks.windows(2) {
                assert!(
                    axis.x(pair[1].0) - axis.x(pair[0].0) > 40.0,
                    "{days}: {pair:?}"
                );
            }
        }
    }
}
