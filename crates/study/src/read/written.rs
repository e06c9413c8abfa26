//! A time as it is written: date in one of three orders, time of day, perhaps an offset.
//!
//! Must not know: time zones, rows.

use super::dates::DateOrder;

/// Microseconds in a second.
pub(crate) const SECOND: i64 = 1_000_000;
/// Microseconds in a day.
pub(crate) const DAY: i64 = 86_400 * SECOND;

/// The three numbers of a date, in the order in which they stand, and how many digits each has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct DateNumbers {
    pub(crate) numbers: [u32; 3],
    pub(crate) digits: [usize; 3],
}

/// A time as it is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Written {
    /// Microseconds from 1 January 1970, 00:00, by the clock on the wall.
    pub(crate) local: i64,
    /// Its offset from UTC in microseconds, where one is written.
    pub(crate) offset: Option<i64>,
}

/// Why a text is no time in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum NoTime {
    /// It does not look like a time.
    Shape,
    /// It looks like one, but its numbers can only stand in another order.
    OtherOrder,
    /// The year has two digits.
    ShortYear,
    /// No such day or year.
    NoSuchDay,
}

/// Walks over the bytes of a cell.
struct Walk<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Walk<'_> {
    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    fn take(&mut self, wanted: u8) -> bool {
        let found = self.peek() == Some(wanted);
        self.at += usize::from(found);
        found
    }

    /// So many digits at most, at least one.
    fn number(&mut self, most: usize) -> Option<(u32, usize)> {
        let (start, mut number) = (self.at, 0);
        while self.at - start < most
            && let Some(digit @ b'0'..=b'9') = self.peek()
        {
            number = number * 10 + u32::from(digit - b'0');
            self.at += 1;
        }
        (self.at > start).then_some((number, self.at - start))
    }
}

fn date(walk: &mut Walk<'_>) -> Option<DateNumbers> {
    let (first, a) = walk.number(4)?;
    let mark = walk.peek().filter(|m| matches!(m, b'-' | b'/' | b'.'))?;
    walk.at += 1;
    let (second, b) = walk.number(2)?;
    if !walk.take(mark) {
        return None;
    }
    let (third, c) = walk.number(4)?;
    Some(DateNumbers {
        numbers: [first, second, third],
        digits: [a, b, c],
    })
}

/// The date of a cell as written, and the microseconds of its day.
pub(crate) fn parts(cell: &[u8]) -> Option<(DateNumbers, i64, Option<i64>)> {
    let mut walk = Walk { bytes: cell, at: 0 };
    let numbers = date(&mut walk)?;
    if !matches!(walk.peek(), Some(b' ' | b'T' | b't')) {
        return None;
    }
    walk.at += 1;
    let (hour, _) = walk.number(2)?;
    if !walk.take(b':') {
        return None;
    }
    let (minute, 2) = walk.number(2)? else {
        return None;
    };
    let (mut second, mut part) = (0, 0);
    if walk.take(b':') {
        let (number, 2) = walk.number(2)? else {
            return None;
        };
        second = number;
        if walk.take(b'.') || walk.take(b',') {
            let (number, digits) = walk.number(9)?;
            // At most nine digits; beyond the microsecond they are cut off.
            let (number, digits) = (i64::from(number), digits as u32);
            part = match digits {
                0..=6 => number * 10_i64.pow(6 - digits),
                _ => number / 10_i64.pow(digits - 6),
            };
        }
    }
    let hour = half_of_day(&mut walk, hour)?;
    if hour > 23 || minute > 59 || second > 59 {
        return None;
    }
    let offset = offset(&mut walk)?;
    if walk.at != cell.len() {
        return None;
    }
    let seconds = i64::from(hour * 3600 + minute * 60 + second);
    Some((numbers, seconds * SECOND + part, offset))
}

/// The hour of the day, where `AM` or `PM` follows.
fn half_of_day(walk: &mut Walk<'_>, hour: u32) -> Option<u32> {
    let rest = walk.bytes.get(walk.at..).unwrap_or_default();
    let space = usize::from(rest.first() == Some(&b' '));
    let half = match rest.get(space..space + 2) {
        Some([b'A' | b'a', b'M' | b'm']) => 0,
        Some([b'P' | b'p', b'M' | b'm']) => 12,
        _ => return Some(hour),
    };
    walk.at += space + 2;
    (1..=12).contains(&hour).then_some(hour % 12 + half)
}

/// The offset that follows, if one does: `Z`, `+01:00`, `+0100`.
fn offset(walk: &mut Walk<'_>) -> Option<Option<i64>> {
    let sign = match walk.peek() {
        None => return Some(None),
        Some(b'Z' | b'z') => {
            walk.at += 1;
            return Some(Some(0));
        }
        Some(b'+') => 1,
        Some(b'-') => -1,
        Some(_) => return None,
    };
    walk.at += 1;
    let (hours, 2) = walk.number(2)? else {
        return None;
    };
    walk.take(b':');
    let (minutes, 2) = walk.number(2)? else {
        return None;
    };
    (hours < 24 && minutes < 60)
        .then_some(Some(sign * i64::from(hours * 3600 + minutes * 60) * SECOND))
}

/// The time that a cell says.
pub(crate) fn read(cell: &[u8], order: DateOrder) -> Result<Written, NoTime> {
    let (numbers, of_day, offset) = parts(cell).ok_or(NoTime::Shape)?;
    let days = numbers.days(order)?;
    Ok(Written {
        local: days * DAY + of_day,
        offset,
    })
}

impl DateNumbers {
    /// Days from 1 January 1970, read in this order.
    pub(crate) fn days(self, order: DateOrder) -> Result<i64, NoTime> {
        let [first, second, third] = self.numbers;
        let year_first = self.digits[0] == 4;
        if !year_first && self.digits[2] != 4 {
            return Err(NoTime::ShortYear);
        }
        let (year, month, day) = match (order, year_first) {
            (DateOrder::YearFirst, true) => (first, second, third),
            (DateOrder::DayFirst, false) => (third, second, first),
            (DateOrder::MonthFirst, false) => (third, first, second),
            _ => return Err(NoTime::OtherOrder),
        };
        if month > 12 && day <= 12 && !year_first {
            return Err(NoTime::OtherOrder);
        }
        if !(1970..2200).contains(&year)
            || !(1..=12).contains(&month)
            || day == 0
            || day > length(year, month)
        {
            return Err(NoTime::NoSuchDay);
        }
        Ok(days_from(year, month, day))
    }
}

fn length(year: u32, month: u32) -> u32 {
    match month {
        2 if year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400)) => {
            29
        }
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Days from 1 January 1970 to a date of the Gregorian calendar, years counted from March so that
/// the leap day comes last.
fn days_from(year: u32, month: u32, day: u32) -> i64 {
    let (year, month) = (i64::from(year), i64::from(month));
    let (year, month) = if month > 2 {
        (year, month - 3)
    } else {
        (year - 1, month + 9)
    };
    let of_year = (153 * month + 2) / 5 + i64::from(day) - 1;
    365 * year + year / 4 - year / 100 + year / 400 + of_year - 719_468
}

#[cfg(test)]
mod tests {
    use jiff::civil;

    use super::*;

    fn local(text: &str, order: DateOrder) -> Result<i64, NoTime> {
        read(text.as_bytes(), order).map(|w| w.local)
    }

    fn at(y: i16, mo: i8, d: i8, h: i8, mi: i8, s: i8, us: i32) -> i64 {
        let stamp = civil::date(y, mo, d).at(h, mi, s, us * 1000);
        let zone = jiff::tz::TimeZone::UTC;
        zone.to_ambiguous_timestamp(stamp)
            .compatible()
            .expect("in range")
            .as_microsecond()
    }

    #[test]
    fn each_form_is_read() {
        use DateOrder::{DayFirst, MonthFirst, YearFirst};
        let noon = at(2026, 7, 4, 13, 5, 9, 0);
        for (text, order) in [
            ("2026-07-04 13:05:09", YearFirst),
            ("2026-07-04T13:05:09", YearFirst),
            ("2026/7/4 13:05:09.000", YearFirst),
            ("04.07.2026 13:05:09", DayFirst),
            ("4/7/2026 13:05:09", DayFirst),
            ("07/04/2026 1:05:09 PM", MonthFirst),
            ("7-4-2026 01:05:09pm", MonthFirst),
        ] {
            assert_eq!(local(text, order), Ok(noon), "{text}");
        }
        assert_eq!(
            local("2026-07-04 00:00", YearFirst),
            Ok(at(2026, 7, 4, 0, 0, 0, 0))
        );
        assert_eq!(
            local("2026-07-04 13:05:09,123456789", YearFirst),
            Ok(at(2026, 7, 4, 13, 5, 9, 123_456))
        );
        assert_eq!(
            local("2026-07-04 12:00 AM", YearFirst),
            Ok(at(2026, 7, 4, 0, 0, 0, 0))
        );
        let written = read(b"2026-07-04T13:05:09+01:30", YearFirst);
        assert_eq!(written.map(|w| w.offset), Ok(Some(5400 * SECOND)));
    }

    #[test]
    fn what_is_no_time_is_told() {
        use DateOrder::{DayFirst, MonthFirst, YearFirst};
        for (text, order, why) in [
            ("", YearFirst, NoTime::Shape),
            ("2026-07-04", YearFirst, NoTime::Shape),
            ("2026-07-04 24:00", YearFirst, NoTime::Shape),
            ("2026-07-04 10:5", YearFirst, NoTime::Shape),
            ("2026-07-04 10:05 x", YearFirst, NoTime::Shape),
            ("2026-07/04 10:05", YearFirst, NoTime::Shape),
            ("04.07.26 10:05", DayFirst, NoTime::ShortYear),
            ("31.12.2026 10:05", MonthFirst, NoTime::OtherOrder),
            ("12/31/2026 10:05", DayFirst, NoTime::OtherOrder),
            ("2026-07-04 10:05", DayFirst, NoTime::OtherOrder),
            ("2026-02-29 10:05", YearFirst, NoTime::NoSuchDay),
            ("1869-02-28 10:05", YearFirst, NoTime::NoSuchDay),
        ] {
            assert_eq!(local(text, order), Err(why), "{text}");
        }
    }

    #[test]
    fn days_agree_with_the_calendar() {
        for year in [1970_i16, 1999, 2000, 2024, 2026, 2100, 2199] {
            for month in 1..=12_i8 {
                for day in [1_i8, 28] {
                    let right = at(year, month, day, 0, 0, 0, 0);
                    let text = format!("{year:04}-{month:02}-{day:02} 00:00");
                    assert_eq!(local(&text, DateOrder::YearFirst), Ok(right), "{text}");
                }
            }
        }
    }
}
