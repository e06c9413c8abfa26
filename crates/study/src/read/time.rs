//! The times of rows: local times to UTC, fast where a time shares its minute with the one before.
//!
//! Must not know: other columns, the order of rows.

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::{AmbiguousOffset, TimeZone};

use super::dates::DateOrder;
use super::written::{DAY, NoTime, SECOND, Written, read};

/// A time in UTC, in microseconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Read {
    pub(crate) time: i64,
    /// Where the local time occurs twice: how much later the second time is.
    pub(crate) twice: Option<i64>,
}

/// Why a cell is no time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Refused {
    /// It is not written as one.
    Written(NoTime),
    /// The clocks go forward over it.
    Skipped,
}

/// Reads the times of one file.
#[derive(Debug, Clone)]
pub(crate) struct Times {
    zone: TimeZone,
    order: DateOrder,
    /// A stretch of local times in which the offset does not change.
    steady: Option<(i64, i64, i64)>,
    /// The text of the last time up to its seconds, in three words, and which of their bytes count.
    head: [u64; 3],
    mask: [u64; 3],
    head_length: usize,
    /// The last full minute.
    minute: i64,
}

impl Times {
    pub(crate) fn new(zone: TimeZone, order: DateOrder) -> Self {
        Self {
            zone,
            order,
            steady: None,
            head: [0; 3],
            mask: [0; 3],
            head_length: usize::MAX,
            minute: 0,
        }
    }

    /// The time at the start of `text`, which goes on to the end of a block, if it is the same
    /// minute as the last one and its seconds are followed by `end`; and its length.
    #[inline(always)]
    pub(crate) fn same_minute(&self, text: &[u8], end: u8) -> Option<(i64, usize)> {
        let start: &[u8; 24] = text.first_chunk()?;
        let (words, _) = start.as_chunks::<8>();
        let differ = words
            .iter()
            .zip(self.head)
            .zip(self.mask)
            .fold(0, |d, ((word, head), mask)| {
                d | ((u64::from_le_bytes(*word) ^ head) & mask)
            });
        let tail: &[u8; 3] = text.get(self.head_length..)?.first_chunk()?;
        let [tens, ones] = [tail[0].wrapping_sub(b'0'), tail[1].wrapping_sub(b'0')];
        if differ != 0 || tens > 5 || ones > 9 || tail[2] != end {
            return None;
        }
        let second = i64::from(tens * 10 + ones);
        Some((self.minute + second * SECOND, self.head_length + 2))
    }

    /// The time of a cell.
    pub(crate) fn cell(&mut self, cell: &[u8]) -> Result<Read, Refused> {
        let written = read(cell, self.order).map_err(Refused::Written)?;
        let found = self.utc(written)?;
        if written.offset.is_none() {
            self.remember_minute(cell, found);
        }
        Ok(found)
    }

    /// The times that the clock on the wall shows, all at once, if its offset does not change in
    /// them or near them; `false` leaves nothing behind.
    pub(crate) fn all_local(&mut self, locals: &[i64], into: &mut Vec<i64>) -> bool {
        let Some(&first) = locals.first() else {
            return true;
        };
        // Finds the stretch around the first.
        if self.local(first).is_err() {
            return false;
        }
        let Some((from, to, offset)) = self.steady else {
            return false;
        };
        let inside = locals.iter().all(|&local| from <= local && local < to);
        if inside {
            into.extend(locals.iter().map(|local| local - offset));
        }
        inside
    }

    /// The time that the clock on the wall shows, µs from 1 January 1970, 00:00.
    pub(crate) fn local(&mut self, local: i64) -> Result<Read, Refused> {
        self.utc(Written {
            local,
            offset: None,
        })
    }

    fn remember_minute(&mut self, cell: &[u8], found: Read) {
        let Some((head, [tens, ones])) = cell.split_last_chunk() else {
            return;
        };
        let seconds = head.last() == Some(&b':')
            && head.len() >= 14
            && head.len() <= 24
            && tens.is_ascii_digit()
            && ones.is_ascii_digit()
            && head.iter().filter(|&&b| b == b':').count() == 2;
        if !seconds || found.twice.is_some() {
            return;
        }
        let (mut bytes, mut mask) = ([0_u8; 24], [0_u8; 24]);
        for ((byte, on), from) in bytes.iter_mut().zip(&mut mask).zip(head) {
            (*byte, *on) = (*from, 0xFF);
        }
        for (words, bytes) in [(&mut self.head, bytes), (&mut self.mask, mask)] {
            for (word, chunk) in words.iter_mut().zip(bytes.as_chunks::<8>().0) {
                *word = u64::from_le_bytes(*chunk);
            }
        }
        self.head_length = head.len();
        let second = i64::from((tens - b'0') * 10 + ones - b'0');
        self.minute = found.time - second * SECOND;
    }

    fn utc(&mut self, written: Written) -> Result<Read, Refused> {
        let once = |time| Ok(Read { time, twice: None });
        if let Some(offset) = written.offset {
            return once(written.local - offset);
        }
        if let Some((from, to, offset)) = self.steady
            && from <= written.local
            && written.local < to
        {
            return once(written.local - offset);
        }
        let local = civil(written.local).ok_or(Refused::Written(NoTime::NoSuchDay))?;
        let micros = |offset: jiff::tz::Offset| i64::from(offset.seconds()) * SECOND;
        match self.zone.to_ambiguous_timestamp(local).offset() {
            AmbiguousOffset::Unambiguous { offset } => {
                let time = written.local - micros(offset);
                self.remember_steady(time, micros(offset));
                once(time)
            }
            AmbiguousOffset::Fold { before, after } => Ok(Read {
                time: written.local - micros(before),
                twice: Some(micros(before) - micros(after)),
            }),
            AmbiguousOffset::Gap { .. } => Err(Refused::Skipped),
        }
    }

    /// Keeps the stretch around a time in which the offset does not change, a day short of each
    /// change, so that no local time inside occurs twice or never.
    fn remember_steady(&mut self, time: i64, offset: i64) {
        let Ok(stamp) = Timestamp::from_microsecond(time) else {
            return;
        };
        let at = |t: Timestamp| t.as_microsecond() + offset;
        let from = self.zone.preceding(stamp).next();
        let to = self.zone.following(stamp).next();
        let from = from.map_or(i64::MIN, |change| at(change.timestamp()) + DAY);
        let to = to.map_or(i64::MAX, |change| at(change.timestamp()) - DAY);
        self.steady = Some((from, to, offset));
    }
}

/// A local time by the calendar.
fn civil(local: i64) -> Option<DateTime> {
    let stamp = Timestamp::from_microsecond(local).ok()?;
    Some(TimeZone::UTC.to_datetime(stamp))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn times(zone: &str) -> Times {
        let zone = TimeZone::get(zone).expect("the program carries the time zones");
        Times::new(zone, DateOrder::YearFirst)
    }

    fn show(read: Read) -> String {
        Timestamp::from_microsecond(read.time)
            .expect("in range")
            .to_string()
    }

    #[test]
    fn the_same_minute_is_taken_without_parsing() {
        let mut times = times("Europe/Lisbon");
        let line = b"2026-07-14 07:10:59,33.4                  ";
        assert_eq!(times.same_minute(line, b','), None);
        let read = times.cell(b"2026-07-14 07:10:05").expect("a time");
        assert_eq!(show(read), "2026-07-14T06:10:05Z");
        assert_eq!(
            times.same_minute(line, b','),
            Some((read.time + 54 * SECOND, 19))
        );
        for other in [
            b"2026-07-14 07:11:59,33.4                  ",
            b"2026-07-14 07:10:61,33.4                  ",
            b"2026-07-14 07:10:5x,33.4                  ",
            b"2026-07-14 07:10:59.5,3                   ",
            b"2027-07-14 07:10:59,33.4                  ",
        ] {
            assert_eq!(times.same_minute(other, b','), None);
        }
    }

    #[test]
    fn clocks_that_change_are_followed() {
        let mut times = times("Europe/Lisbon");
        let mut cell = |text: &str| times.cell(text.as_bytes());
        assert_eq!(cell("2026-03-29 01:30:00"), Err(Refused::Skipped));
        let fold = cell("2026-10-25 01:30:00").expect("a time");
        assert_eq!(
            (show(fold).as_str(), fold.twice),
            ("2026-10-25T00:30:00Z", Some(3600 * SECOND))
        );
        let after = cell("2026-10-25 02:00:00").expect("a time");
        assert_eq!(
            (show(after).as_str(), after.twice),
            ("2026-10-25T02:00:00Z", None)
        );
        let offset = cell("2026-10-25T01:30:00+00:00").expect("a time");
        assert_eq!(
            (show(offset).as_str(), offset.twice),
            ("2026-10-25T01:30:00Z", None)
        );
    }
}
