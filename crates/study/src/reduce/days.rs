//! Local days and hours: where each begins and ends in UTC.
//!
//! Must not know: values.

use std::ops::Range;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use station::model::WorkingHours;

use super::totals::{of_week, rests};

/// The days of one time zone.
#[derive(Debug, Clone)]
pub(crate) struct Days {
    zone: TimeZone,
    now: Option<(Date, i64, i64)>,
}

impl Days {
    fn new(zone: TimeZone) -> Self {
        Self { zone, now: None }
    }

    /// The day of a time, and when it begins and ends, µs.
    fn of(&mut self, time: i64) -> (Date, i64, i64) {
        if let Some(now @ (_, from, to)) = self.now
            && from <= time
            && time < to
        {
            return now;
        }
        let stamp = Timestamp::from_microsecond(time).unwrap_or(Timestamp::UNIX_EPOCH);
        let date = self.zone.to_datetime(stamp).date();
        let begin = |date: Date| {
            let midnight = date.at(0, 0, 0, 0);
            let first = self.zone.to_ambiguous_timestamp(midnight).compatible();
            first.map_or(time, Timestamp::as_microsecond)
        };
        let next = date.tomorrow().map_or(i64::MAX, begin);
        let now = (date, begin(date), next);
        self.now = Some(now);
        now
    }

    /// The rows of each day, of times that rise.
    pub(crate) fn split(&mut self, times: &[i64], into: &mut Vec<(Date, Range<usize>)>) {
        into.clear();
        let mut start = 0;
        while let Some(rest) = times.get(start..)
            && let Some(&first) = rest.first()
        {
            let (date, _, end) = self.of(first);
            let rows = rest.partition_point(|&time| time < end).max(1);
            into.push((date, start..start + rows));
            start += rows;
        }
    }
}

/// One hour of a local day, 0 … 23; where the clocks go back, one of them is longer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Hour {
    pub(crate) date: Date,
    pub(crate) hour: i8,
}

/// The hours of one time zone.
#[derive(Debug, Clone)]
pub(crate) struct Hours {
    zone: TimeZone,
    now: Option<(Hour, i64, i64)>,
}

/// An hour, µs.
const HOUR: i64 = 3_600_000_000;

impl Hours {
    fn new(zone: TimeZone) -> Self {
        Self { zone, now: None }
    }

    /// The hour of a time, and between which times it surely is that hour, µs.
    fn of(&mut self, time: i64) -> (Hour, i64, i64) {
        if let Some(now @ (_, from, to)) = self.now
            && from <= time
            && time < to
        {
            return now;
        }
        let stamp = Timestamp::from_microsecond(time).unwrap_or(Timestamp::UNIX_EPOCH);
        let local = self.zone.to_datetime(stamp);
        let into = (i64::from(local.minute()) * 60 + i64::from(local.second())) * 1_000_000
            + i64::from(local.subsec_nanosecond()) / 1000;
        let change = self.zone.following(stamp).next();
        let change = change.map_or(i64::MAX, |change| change.timestamp().as_microsecond());
        let hour = Hour {
            date: local.date(),
            hour: local.hour(),
        };
        let now = (hour, time, (time - into + HOUR).min(change));
        self.now = Some(now);
        now
    }

    /// The rows of each hour, of times that rise.
    pub(crate) fn split(&mut self, times: &[i64], into: &mut Vec<(Hour, Range<usize>)>) {
        into.clear();
        let mut start = 0;
        while let Some(rest) = times.get(start..)
            && let Some(&first) = rest.first()
        {
            let (hour, _, end) = self.of(first);
            let rows = rest.partition_point(|&time| time < end).max(1);
            into.push((hour, start..start + rows));
            start += rows;
        }
    }
}

/// Days and hours of one time zone.
#[derive(Debug, Clone)]
pub(crate) struct Calendar {
    pub(crate) days: Days,
    pub(crate) hours: Hours,
    shifts: Option<WorkingHours>,
}

impl Calendar {
    pub(crate) fn new(zone: &TimeZone, shifts: Option<&WorkingHours>) -> Self {
        Self {
            shifts: shifts.cloned(),
            days: Days::new(zone.clone()),
            hours: Hours::new(zone.clone()),
        }
    }

    /// Whether none of an hour is working time; false where that is not told.
    pub(crate) fn rests(&self, hour: Hour) -> bool {
        rests(self.shifts.as_ref(), of_week(hour.date, hour.hour))
    }
}
