//! Times: RFC 3339, or a local time in the station's time zone.
//!
//! `YYYY-MM-DD HH:MM[:SS[.fff]]`, with a space or `T`, and behind it nothing, `Z` or an offset. A
//! local time that occurs twice is the earlier one, unless the row above requires the later; one
//! that does not exist is refused.
//!
//! Must not know: other columns.

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::{AmbiguousOffset, Offset, TimeZone};

use super::Complaint;
use crate::file::unit::short;

/// Reads times, and remembers the stretch of local time over which the offset does not change.
#[derive(Debug)]
pub(super) struct Times {
    zone: TimeZone,
    steady: Option<(DateTime, DateTime, Offset)>,
}

/// A time as written.
struct Written<'a> {
    local: DateTime,
    /// What follows it: nothing, `Z` or an offset.
    zone: &'a str,
}

impl Times {
    pub(super) fn new(zone: TimeZone) -> Self {
        Self { zone, steady: None }
    }

    /// The time that a cell says; `above` is the time of the row above.
    pub(super) fn read(
        &mut self,
        text: &str,
        above: Option<Timestamp>,
    ) -> Result<Timestamp, Complaint> {
        if text.is_empty() {
            return Err(Complaint::new(
                "the time is missing",
                "write it as `2026-07-14 07:10`",
            ));
        }
        let written = split(text).ok_or_else(|| not_a_time(text))?;
        if !(1970..2200).contains(&written.local.year()) {
            return Err(Complaint::new(
                format!("the year of `{}` cannot be right", short(text)),
                "check the date: years run from 1970 to 2199",
            ));
        }
        match written.zone {
            "" => self.local(text, written.local, above),
            zone => {
                let offset = offset(zone).ok_or_else(|| not_a_time(text))?;
                offset
                    .to_timestamp(written.local)
                    .map_err(|_| not_a_time(text))
            }
        }
    }

    /// A time as messages show it.
    pub(super) fn show(&self, time: Timestamp) -> String {
        self.zone
            .to_datetime(time)
            .strftime("%Y-%m-%d %H:%M")
            .to_string()
    }

    fn local(
        &mut self,
        text: &str,
        local: DateTime,
        above: Option<Timestamp>,
    ) -> Result<Timestamp, Complaint> {
        let at = |offset: Offset| offset.to_timestamp(local).map_err(|_| not_a_time(text));
        if let Some((from, to, offset)) = self.steady
            && from <= local
            && local < to
        {
            return at(offset);
        }
        match self.zone.to_ambiguous_timestamp(local).offset() {
            AmbiguousOffset::Unambiguous { offset } => {
                let time = at(offset)?;
                self.remember(time, offset);
                Ok(time)
            }
            AmbiguousOffset::Fold { before, after } => {
                let (earlier, later) = (at(before)?, at(after)?);
                let late = above.is_some_and(|above| earlier < above && above <= later);
                Ok(if late { later } else { earlier })
            }
            AmbiguousOffset::Gap { before, .. } => {
                let shown_instead = self.show(at(before)?);
                let zone = self.zone.iana_name().unwrap_or("the station's time zone");
                Err(Complaint::new(
                    format!(
                        "`{}` does not exist in {zone}: the clocks go forward over it",
                        short(text)
                    ),
                    format!(
                        "if the clock had not been put forward yet, write `{}`; otherwise check the time",
                        shown_instead
                    ),
                ))
            }
        }
    }

    /// Keeps the stretch around a time in which the offset does not change, two days short of each
    /// change, so that no local time inside is ambiguous.
    fn remember(&mut self, time: Timestamp, offset: Offset) {
        let days = jiff::Span::new().days(2);
        let from = match self.zone.preceding(time).next() {
            Some(change) => offset
                .to_datetime(change.timestamp())
                .checked_add(days)
                .ok(),
            None => Some(DateTime::MIN),
        };
        let to = match self.zone.following(time).next() {
            Some(change) => offset
                .to_datetime(change.timestamp())
                .checked_sub(days)
                .ok(),
            None => Some(DateTime::MAX),
        };
        self.steady = from.zip(to).map(|(from, to)| (from, to, offset));
    }
}

fn not_a_time(text: &str) -> Complaint {
    Complaint::new(
        format!("`{}` is not a time", short(text)),
        "write it as `2026-07-14 07:10`, in the station's time zone, or as \
         `2026-07-14T07:10:00+01:00`",
    )
}

/// Two digits at a place.
fn two(bytes: &[u8], at: usize) -> Option<i8> {
    match bytes.get(at..at + 2)? {
        [a @ b'0'..=b'9', b @ b'0'..=b'9'] => i8::try_from((a - b'0') * 10 + (b - b'0')).ok(),
        _ => None,
    }
}

fn split(text: &str) -> Option<Written<'_>> {
    let b = text.as_bytes();
    let marks = (*b.get(4)?, *b.get(7)?, *b.get(10)?, *b.get(13)?);
    if !matches!(marks, (b'-', b'-', b' ' | b'T' | b't', b':')) {
        return None;
    }
    let year = i16::from(two(b, 0)?) * 100 + i16::from(two(b, 2)?);
    let (month, day, hour, minute) = (two(b, 5)?, two(b, 8)?, two(b, 11)?, two(b, 14)?);
    let (mut second, mut nanosecond, mut end) = (0, 0, 16);
    if b.get(16) == Some(&b':') {
        second = two(b, 17)?;
        end = 19;
        if b.get(19) == Some(&b'.') {
            let digits = b.iter().skip(20).take_while(|d| d.is_ascii_digit()).count();
            if !(1..=9).contains(&digits) {
                return None;
            }
            end = 20 + digits;
            let fraction: i32 = text.get(20..end)?.parse().ok()?;
            nanosecond = fraction * 10_i32.pow(u32::try_from(9 - digits).ok()?);
        }
    }
    let local = DateTime::new(year, month, day, hour, minute, second, nanosecond).ok()?;
    Some(Written {
        local,
        zone: text.get(end..)?,
    })
}

/// `Z`, or `+HH:MM`.
fn offset(zone: &str) -> Option<Offset> {
    let b = zone.as_bytes();
    let sign = match b {
        b"Z" | b"z" => return Some(Offset::UTC),
        [b'+', _, _, b':', _, _] => 1,
        [b'-', _, _, b':', _, _] => -1,
        _ => return None,
    };
    let (hours, minutes) = (i32::from(two(b, 1)?), i32::from(two(b, 4)?));
    if hours > 23 || minutes > 59 {
        return None;
    }
    Offset::from_seconds(sign * (hours * 3600 + minutes * 60)).ok()
}
