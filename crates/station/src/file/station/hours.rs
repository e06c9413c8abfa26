//! Working hours: `Mon-Fri 06:00-22:00; Sat 06:00-13:00`.
//!
//! Parts stand between semicolons; each names days, then one window or several. A window past
//! midnight belongs to its first day. Must not know: time zones, dates.

use crate::model::WorkingHours;

const DAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
const DAY_MIN: u32 = 24 * 60;
const WEEK_MIN: u32 = 7 * DAY_MIN;

/// Reads the windows of a week.
///
/// # Errors
/// The sentence that says which part cannot be read.
pub(super) fn parse(text: &str) -> Result<WorkingHours, String> {
    let mut windows = Vec::new();
    for part in text.split(';').map(str::trim).filter(|p| !p.is_empty()) {
        let cut = part
            .find(|c: char| c.is_ascii_digit())
            .unwrap_or(part.len());
        let (days, times) = part.split_at(cut);
        let days = read_days(days)?;
        let times: Vec<&str> = times
            .split([',', ' '])
            .map(str::trim)
            .filter(|t| !t.is_empty())
            .collect();
        if times.is_empty() {
            return Err(format!("`{part}` has no times"));
        }
        for time in times {
            let (from, to) = read_window(time)?;
            for day in &days {
                windows.push((day * DAY_MIN + from, day * DAY_MIN + to));
            }
        }
    }
    if windows.is_empty() {
        return Err("there are no hours in it".to_owned());
    }
    Ok(WorkingHours {
        windows: joined(windows),
    })
}

/// Windows inside one week, sorted; those that touch or overlap are one.
fn joined(windows: Vec<(u32, u32)>) -> Vec<(u32, u32)> {
    let mut split: Vec<(u32, u32)> = windows
        .into_iter()
        .flat_map(|(from, to)| {
            let rest = to.saturating_sub(WEEK_MIN);
            [(from, to.min(WEEK_MIN)), (0, rest)]
        })
        .filter(|(from, to)| from < to)
        .collect();
    split.sort_unstable();
    let mut joined: Vec<(u32, u32)> = Vec::new();
    for (from, to) in split {
        match joined.last_mut() {
            Some(last) if from <= last.1 => last.1 = last.1.max(to),
            _ => joined.push((from, to)),
        }
    }
    joined
}

/// `Mon`, `Mon-Fri`, `Mon, Wed, Fri`.
fn read_days(text: &str) -> Result<Vec<u32>, String> {
    let day = |name: &str| {
        let found = DAYS
            .iter()
            .zip(0_u32..)
            .find(|(d, _)| d.eq_ignore_ascii_case(name.trim()));
        found
            .map(|(_, i)| i)
            .ok_or_else(|| format!("`{}` is no day", name.trim()))
    };
    let mut days = Vec::new();
    for part in text.split(',').map(str::trim).filter(|p| !p.is_empty()) {
        match part.split_once('-') {
            None => days.push(day(part)?),
            Some((first, last)) => {
                let (mut at, last) = (day(first)?, day(last)?);
                days.push(at);
                while at != last {
                    at = (at + 1) % 7;
                    days.push(at);
                }
            }
        }
    }
    if days.is_empty() {
        return Err("a part begins without a day".to_owned());
    }
    Ok(days)
}

/// `06:00-22:00`, as minutes from the midnight before; past midnight, more than a day.
fn read_window(text: &str) -> Result<(u32, u32), String> {
    let times = text
        .split_once('-')
        .and_then(|(from, to)| Some((minute(from)?, minute(to)?)));
    let Some((from, to)) = times else {
        return Err(format!("`{text}` is no window"));
    };
    if from == DAY_MIN {
        return Err(format!("`{text}` begins at 24:00"));
    }
    match to.cmp(&from) {
        std::cmp::Ordering::Equal => Err(format!(
            "`{text}` begins and ends at the same time; the whole day is `00:00-24:00`"
        )),
        std::cmp::Ordering::Less => Ok((from, to + DAY_MIN)),
        std::cmp::Ordering::Greater => Ok((from, to)),
    }
}

/// `06:00`, up to `24:00`.
fn minute(text: &str) -> Option<u32> {
    let (hour, minute) = text.trim().split_once(':')?;
    let digits = |t: &str, n: std::ops::RangeInclusive<usize>| {
        (n.contains(&t.len()) && t.bytes().all(|b| b.is_ascii_digit()))
            .then(|| t.parse::<u32>().ok())
    };
    let (hour, minute) = (digits(hour, 1..=2)??, digits(minute, 2..=2)??);
    let at = hour * 60 + minute;
    (minute < 60 && at <= DAY_MIN).then_some(at)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_week_of_two_shifts_and_a_saturday() {
        let hours = parse("Mon-Fri 06:00-22:00; Sat 06:00-13:00").expect("well written");
        assert_eq!(hours.windows.len(), 6);
        assert!((hours.hours_a_week() - 87.0).abs() < 1e-9);
        assert!(hours.works_at(6 * 60) && !hours.works_at(22 * 60));
        assert!(!hours.works_at(6 * DAY_MIN + 12 * 60));
    }

    #[test]
    fn a_window_past_midnight_belongs_to_its_first_day() {
        let hours = parse("Sun 22:00-06:00").expect("well written");
        assert_eq!(hours.windows, [(0, 360), (6 * DAY_MIN + 22 * 60, WEEK_MIN)]);
        let hours = parse("Fri-Mon 00:00-24:00").expect("well written");
        assert!((hours.hours_a_week() - 96.0).abs() < 1e-9);
        let hours = parse("mon 6:00-9:00, 8:00-12:00").expect("well written");
        assert_eq!(hours.windows, [(360, 720)]);
    }

    #[test]
    fn what_cannot_be_read_is_named() {
        for (text, what) in [
            ("", "there are no hours in it"),
            ("Mon-Fri", "`Mon-Fri` has no times"),
            ("Mo 06:00-22:00", "`Mo` is no day"),
            ("06:00-22:00", "a part begins without a day"),
            ("Mon 6-22", "`6-22` is no window"),
            ("Mon 06:00-25:00", "`06:00-25:00` is no window"),
            (
                "Mon 06:00-06:00",
                "`06:00-06:00` begins and ends at the same time; the whole day is `00:00-24:00`",
            ),
        ] {
            assert_eq!(parse(text), Err(what.to_owned()), "{text}");
        }
    }
}
