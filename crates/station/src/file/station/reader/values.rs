//! One value of one type: text, word, number, quantity, day, months.
//!
//! Must not know: defaults.

use jiff::civil::Date;

use super::{Found, Reader, did_you_mean, one_of};
use crate::file::station::keys::{Holds, holds};
use crate::file::station::tree::Value;
use crate::file::unit::{self, Kind, digits, short};

/// Names and phrases are short; what is longer does not fit a page.
const LONGEST: usize = 200;

impl Reader<'_> {
    /// A text that is not empty.
    pub(in crate::file::station) fn text(&self, key: &str) -> Option<Found<String>> {
        let node = self.node(key)?;
        match &node.value {
            Value::Text(text) if text.trim().is_empty() => {
                self.wrong(
                    key,
                    "is empty".to_owned(),
                    Some(format!("write `{key} = \"…\"`")),
                );
                None
            }
            Value::Text(text) if text.contains(char::is_control) => {
                let what = "has a line break or another sign that cannot be shown".to_owned();
                self.wrong(key, what, Some("write it on one line".to_owned()));
                None
            }
            Value::Text(text) if text.chars().count() > LONGEST => {
                let what = format!("is longer than {LONGEST} letters");
                self.wrong(key, what, Some("write it shorter".to_owned()));
                None
            }
            Value::Text(text) => {
                let text = text.trim().to_owned();
                Some(Found {
                    value: text.clone(),
                    line: node.line,
                    text,
                })
            }
            other => {
                let what = format!("a text is expected, found {}", other.words());
                self.wrong(
                    key,
                    what,
                    Some(format!("put it in quotes: `{key} = \"…\"`")),
                );
                None
            }
        }
    }

    /// One of the words of the key.
    pub(in crate::file::station) fn word(&self, key: &str) -> Option<Found<&'static str>> {
        let Some(Holds::Word(words)) = holds(&self.full(key)) else {
            return None;
        };
        let found = self.text(key)?;
        if let Some(word) = words.iter().find(|w| **w == found.value) {
            return Some(Found {
                value: word,
                line: found.line,
                text: found.text,
            });
        }
        let hint = did_you_mean(&found.value, words.iter().copied())
            .unwrap_or_else(|| format!("write {}", one_of(words)));
        self.wrong(
            key,
            format!("`{}` is none of {}", short(&found.value), one_of(words)),
            Some(hint),
        );
        None
    }

    /// `true` or `false`.
    pub(in crate::file::station) fn yes(&self, key: &str) -> Option<bool> {
        let node = self.node(key)?;
        if let Value::Yes(yes) = node.value {
            return Some(yes);
        }
        let what = format!(
            "`true` or `false` is expected, found {}",
            node.value.words()
        );
        self.wrong(
            key,
            what,
            Some(format!(
                "write `{key} = true` or `{key} = false`, without quotes"
            )),
        );
        None
    }

    /// `true` or `false`, or the default.
    pub(in crate::file::station) fn yes_or_default(&self, key: &str) -> bool {
        if self.has(key) {
            return self.yes(key).unwrap_or(false);
        }
        self.default_word(key) == "true"
    }

    /// A number without unit, in SI.
    pub(in crate::file::station) fn number(&self, key: &str) -> Option<Found<f64>> {
        let Some(Holds::Number(low, high, factor)) = holds(&self.full(key)) else {
            return None;
        };
        let node = self.node(key)?;
        let Value::Number(value, text) = &node.value else {
            let what = format!(
                "a number without unit is expected, found {}",
                node.value.words()
            );
            self.wrong(
                key,
                what,
                Some(format!(
                    "write `{key} = …`: from {low} to {high}, without quotes"
                )),
            );
            return None;
        };
        self.within(key, *value, low, high, text)?;
        Some(Found {
            value: value * factor,
            line: node.line,
            text: text.clone(),
        })
    }

    /// A whole number.
    pub(in crate::file::station) fn count(&self, key: &str) -> Option<Found<u32>> {
        let Some(Holds::Count(low, high)) = holds(&self.full(key)) else {
            return None;
        };
        let node = self.node(key)?;
        let whole = match &node.value {
            Value::Number(_, text) => text
                .parse::<u32>()
                .ok()
                .filter(|n| (low..=high).contains(n)),
            _ => None,
        };
        let Some(value) = whole else {
            let what = format!("a whole number is expected, found {}", node.value.words());
            self.wrong(
                key,
                what,
                Some(format!(
                    "write `{key} = …`: from {low} to {high}, without quotes"
                )),
            );
            return None;
        };
        Some(Found {
            value,
            line: node.line,
            text: value.to_string(),
        })
    }

    /// A quantity with its unit, in SI.
    pub(in crate::file::station) fn quantity(&self, key: &str) -> Option<Found<f64>> {
        let Some(Holds::Quantity(kind, low, high)) = holds(&self.full(key)) else {
            return None;
        };
        let node = self.node(key)?;
        let text = match &node.value {
            Value::Text(text) => text.trim().to_owned(),
            Value::Number(value, text) if value.is_finite() => {
                self.bare_number(key, kind, text);
                return None;
            }
            other => {
                let what = format!("{} is expected, found {}", kind.name(), other.words());
                self.wrong(
                    key,
                    what,
                    Some(format!(
                        "write `{key} = \"…\"` with a unit: {}",
                        kind.unit_list()
                    )),
                );
                return None;
            }
        };
        match unit::quantity(kind, &text) {
            Err(problem) => {
                self.wrong(key, problem.what, problem.hint);
                None
            }
            Ok(si) => {
                let limit = |text| unit::quantity(kind, text).ok();
                let inside =
                    limit(low).is_some_and(|l| l <= si) && limit(high).is_some_and(|h| si <= h);
                if !inside {
                    let what = format!("{} lies outside {low} to {high}", short(&text));
                    self.wrong(
                        key,
                        what,
                        Some("look at the unit and at the decimal point".to_owned()),
                    );
                    return None;
                }
                Some(Found {
                    value: si,
                    line: node.line,
                    text,
                })
            }
        }
    }

    fn bare_number(&self, key: &str, kind: Kind, text: &str) {
        let unit = kind.units().first().map_or("", |u| u.name);
        self.wrong(
            key,
            format!("{} has no unit: {} is expected", short(text), kind.name()),
            Some(format!(
                "write it in quotes with its unit: `{key} = \"{} {unit}\"`",
                short(text)
            )),
        );
    }

    /// A day.
    pub(in crate::file::station) fn day(&self, key: &str) -> Option<Found<Date>> {
        let node = self.node(key)?;
        let day = match &node.value {
            Value::Day(day) => *day,
            Value::Text(text) => text.trim().parse().ok(),
            _ => None,
        };
        let Some(day) = day else {
            let what = format!("a day is expected, found {}", node.value.words());
            self.wrong(key, what, Some(format!("write `{key} = 2026-03-01`")));
            return None;
        };
        Some(Found {
            value: day,
            line: node.line,
            text: day.to_string(),
        })
    }

    /// Twelve numbers, January first.
    pub(in crate::file::station) fn months(&self, key: &str) -> Option<Found<[f64; 12]>> {
        let Some(Holds::Months(low, high)) = holds(&self.full(key)) else {
            return None;
        };
        let node = self.node(key)?;
        let Value::List(items) = &node.value else {
            let what = format!(
                "a list of twelve numbers is expected, found {}",
                node.value.words()
            );
            self.wrong(
                key,
                what,
                Some(format!("write `{key} = [ … ]`, January first")),
            );
            return None;
        };
        let mut values = Vec::with_capacity(12);
        let mut sound = true;
        for item in items {
            if let Value::Number(value, text) = &item.value {
                sound &= self.within(key, *value, low, high, text).is_some();
                values.push(*value);
            } else {
                let what = format!(
                    "numbers without unit are expected, found {}",
                    item.value.words()
                );
                self.wrong(
                    key,
                    what,
                    Some(format!(
                        "write `{key} = [ … ]` with numbers, without quotes"
                    )),
                );
                return None;
            }
        }
        let Ok(value) = <[f64; 12]>::try_from(values) else {
            let what = format!("has {} values, and twelve are expected", items.len());
            self.wrong(
                key,
                what,
                Some("write one number a month, January first".to_owned()),
            );
            return None;
        };
        sound.then_some(Found {
            value,
            line: node.line,
            text: String::new(),
        })
    }

    fn within(&self, key: &str, value: f64, low: f64, high: f64, text: &str) -> Option<()> {
        if low <= value && value <= high {
            return Some(());
        }
        let share = (low, high) == (0.0, 1.0) && value > 1.0 && value <= 100.0;
        let hint = if !value.is_finite() {
            "write a number".to_owned()
        } else if share {
            format!("write a share: {} for {text} %", digits(value / 100.0))
        } else {
            "look at the unit and at the decimal point".to_owned()
        };
        self.wrong(
            key,
            format!("{} lies outside {low} to {high}", short(text)),
            Some(hint),
        );
        None
    }
}
