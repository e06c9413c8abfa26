//! The order of day and month: found in the dates themselves and told, never guessed.
//!
//! A year of four digits in front settles it. Otherwise a number above 12 shows which is the day,
//! and so does midnight: the number that goes up by one while the clock passes it.
//!
//! Must not know: columns, time zones.

use std::fmt;

use station::file::problem::Problem;
use station::file::unit::short;

use super::written::{DAY, DateNumbers, SECOND, parts};

/// In which order the numbers of a date stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateOrder {
    /// Year, month, day.
    YearFirst,
    /// Day, month, year.
    DayFirst,
    /// Month, day, year.
    MonthFirst,
}

impl fmt::Display for DateOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::YearFirst => "year, month, day",
            Self::DayFirst => "day, month, year",
            Self::MonthFirst => "month, day, year",
        })
    }
}

/// The order of the dates of a file, and what shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DatesTold {
    /// The order.
    pub order: DateOrder,
    /// A sentence: `line 31 says 13/07/2026`.
    pub because: String,
}

/// How far the search for the order has come.
#[derive(Debug, Default)]
pub(crate) struct Search {
    first: Option<(u64, String)>,
    last: Option<(DateNumbers, i64)>,
    /// Whether day and month were ever different numbers.
    differ: bool,
    found: Option<DatesTold>,
    /// Whether cells stand in rows that are no lines of text.
    rows: bool,
}

/// More than this time may not lie between two rows on both sides of a midnight that shows the
/// order.
const NEAR_MIDNIGHT: i64 = 6 * 3600 * SECOND;

impl Search {
    /// Of a file whose rows are no lines of text.
    pub(crate) fn of_rows() -> Self {
        Self {
            rows: true,
            ..Self::default()
        }
    }

    fn place(&self) -> &'static str {
        if self.rows { "row" } else { "line" }
    }

    /// Looks at one more cell; true once the order is known.
    pub(crate) fn look(&mut self, line: u64, cell: &[u8]) -> bool {
        if self.found.is_some() {
            return true;
        }
        let text = || short(&String::from_utf8_lossy(cell));
        if self.first.is_none() {
            self.first = Some((line, text()));
        }
        let Some((date, of_day, _)) = parts(cell) else {
            return false;
        };
        let [first, second, _] = date.numbers;
        let place = self.place();
        let shown = |order| {
            Some(DatesTold {
                order,
                because: format!("{place} {line} says `{}`", text()),
            })
        };
        if date.digits[0] == 4 {
            self.found = shown(DateOrder::YearFirst);
        } else if date.digits[2] == 4 {
            self.differ |= first != second;
            if first > 12 && second <= 12 {
                self.found = shown(DateOrder::DayFirst);
            } else if second > 12 && first <= 12 {
                self.found = shown(DateOrder::MonthFirst);
            } else {
                self.found = self.midnight(line, date, of_day);
            }
            self.last = Some((date, of_day));
        }
        self.found.is_some()
    }

    fn midnight(&self, line: u64, date: DateNumbers, of_day: i64) -> Option<DatesTold> {
        let (last, last_of_day) = self.last?;
        if last == date {
            return None;
        }
        let step = |order| Some(date.days(order).ok()? - last.days(order).ok()?);
        let near = |days: Option<i64>| {
            days.is_some_and(|d| d == 1 && DAY + of_day - last_of_day < NEAR_MIDNIGHT)
        };
        let (by_day, by_month) = (step(DateOrder::DayFirst), step(DateOrder::MonthFirst));
        let order = match (near(by_day), near(by_month)) {
            (true, false) => DateOrder::DayFirst,
            (false, true) => DateOrder::MonthFirst,
            _ => return None,
        };
        let which = if order == DateOrder::DayFirst {
            "first"
        } else {
            "second"
        };
        Some(DatesTold {
            order,
            because: format!(
                "the {which} number goes up at midnight, {} {line}",
                self.place()
            ),
        })
    }

    /// The order, after the whole of a file or as much as is looked at; `whole` says which.
    pub(crate) fn settle(
        self,
        given: Option<DateOrder>,
        whole: bool,
    ) -> Result<DatesTold, Problem> {
        let year_first = matches!(&self.found, Some(told) if told.order == DateOrder::YearFirst);
        match (self.found, given) {
            (Some(told), Some(given)) if told.order != given && !year_first => Err(Problem {
                line: None,
                at: "time".to_owned(),
                what: format!("the dates are not written {given}: {}", told.because),
                hint: Some(format!("leave the order out, or give `{}`", told.order)),
            }),
            (Some(told), _) => Ok(told),
            (None, Some(order)) => Ok(DatesTold {
                order,
                because: "it was given".to_owned(),
            }),
            (None, None) if whole && self.last.is_some() && !self.differ => Ok(DatesTold {
                order: DateOrder::DayFirst,
                because: "day and month are the same number throughout".to_owned(),
            }),
            (None, None) => Err(self.first.map_or_else(nothing, |(line, text)| {
                let line = (!self.rows).then_some(line);
                unclear(line, &text, self.last.is_some())
            })),
        }
    }
}

fn nothing() -> Problem {
    Problem {
        line: None,
        at: String::new(),
        what: "there are no rows under the header".to_owned(),
        hint: Some("check that the logger recorded, and that the file was copied whole".to_owned()),
    }
}

fn unclear(line: Option<u64>, text: &str, dated: bool) -> Problem {
    let (what, hint) = if dated {
        (
            format!(
                "`{text}` can be read with the day or the month first, and nothing in the file shows which"
            ),
            "say which: `day-first` or `month-first`",
        )
    } else {
        let bytes = text.as_bytes();
        let short_year = parts(bytes).is_some();
        if short_year {
            (
                format!("the year of `{text}` has two digits"),
                "let the logger write years with four digits",
            )
        } else {
            (
                format!("`{text}` is not a time"),
                "write times as `2026-07-14 07:10:05`, in the station's time zone, or as \
                 `2026-07-14T07:10:05+01:00`",
            )
        }
    };
    Problem {
        line,
        at: "time".to_owned(),
        what,
        hint: Some(hint.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn order(cells: &[&str]) -> Result<(DateOrder, String), String> {
        let mut search = Search::default();
        for (line, cell) in (2..).zip(cells) {
            search.look(line, cell.as_bytes());
        }
        let told = search.settle(None, true).map_err(|p| p.to_string())?;
        Ok((told.order, told.because))
    }

    #[test]
    fn the_order_is_shown_by_the_dates() {
        let told = |order, because: &str| Ok((order, because.to_owned()));
        assert_eq!(
            order(&["2026-07-14 07:10"]),
            told(DateOrder::YearFirst, "line 2 says `2026-07-14 07:10`")
        );
        assert_eq!(
            order(&["01/02/2026 07:10", "13/02/2026 07:10"]),
            told(DateOrder::DayFirst, "line 3 says `13/02/2026 07:10`")
        );
        assert_eq!(
            order(&["01/02/2026 07:10", "01/31/2026 07:10"]),
            told(DateOrder::MonthFirst, "line 3 says `01/31/2026 07:10`")
        );
        assert_eq!(
            order(&["01/02/2026 23:59", "02/02/2026 00:00"]),
            told(
                DateOrder::DayFirst,
                "the first number goes up at midnight, line 3"
            )
        );
        assert_eq!(
            order(&["05/05/2026 23:59", "05/06/2026 00:00"]),
            told(
                DateOrder::MonthFirst,
                "the second number goes up at midnight, line 3"
            )
        );
        assert_eq!(
            order(&["05/05/2026 13:59", "05/05/2026 14:00"]),
            told(
                DateOrder::DayFirst,
                "day and month are the same number throughout"
            )
        );
    }

    #[test]
    fn a_month_apart_at_noon_shows_nothing() {
        assert!(order(&["01/02/2026 12:00", "02/02/2026 12:00"]).is_err());
        assert!(order(&["01/02/2026 12:00", "01/02/2026 13:00"]).is_err());
    }
}
