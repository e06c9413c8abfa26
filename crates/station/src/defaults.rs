//! What the program takes where the station file says nothing, with provenance and uncertainty.
//!
//! The table is data: `data/defaults.csv`, one row a default. A key without prefix is the key of
//! the station file that was left out; a key with the prefix `given.` says how uncertain a value is
//! that the file does give; the prefix `table.` says where a default comes from that a formula
//! looks up. `per` names what a value or an uncertainty is a multiple of.
//!
//! Must not know: file syntax, findings.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use physics::quantity::ZERO_CELSIUS_K;
use physics::working::Mark;

/// One default that a station used.
#[derive(Debug, Clone, PartialEq)]
pub struct DefaultUsed {
    /// The key that was left out, as it would be written: `K1.oil.held_at`.
    pub key: String,
    /// What was taken, with unit.
    pub value: String,
    /// How uncertain it is (one standard deviation), with unit; empty if exact.
    pub uncertainty: String,
    /// How well it is supported.
    pub mark: Mark,
    /// Where it comes from.
    pub source: String,
}

/// One row of the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Default {
    /// The key of the station file, or `given.` and that key.
    pub key: String,
    /// A number, a word, or nothing for a given value.
    pub value: String,
    /// The unit of the value; of `sigma` its difference.
    pub unit: String,
    /// What value and `sigma` are multiples of; empty if they stand alone.
    pub per: String,
    /// One standard deviation, 0 if exact.
    pub sigma: f64,
    /// How well it is supported.
    pub mark: Mark,
    /// Where it comes from.
    pub source: String,
}

const TEXT: &str = include_str!("../data/defaults.csv");

static TABLE: LazyLock<BTreeMap<String, Default>> = LazyLock::new(|| {
    read(TEXT)
        .expect("the table is part of the program, and a test reads it")
        .into_iter()
        .map(|row| (row.key.clone(), row))
        .collect()
});

/// Every row, by key.
pub fn all() -> impl Iterator<Item = &'static Default> {
    TABLE.values()
}

/// The row of a key.
#[must_use]
pub fn find(key: &str) -> Option<&'static Default> {
    TABLE.get(key)
}

impl Default {
    /// The number of the row in SI, times what it is a multiple of; `None` for a word.
    #[must_use]
    pub fn si(&self, base: f64) -> Option<f64> {
        let number: f64 = self.value.parse().ok()?;
        let (factor, offset) = unit_to_si(&self.unit)?;
        Some(number * factor * base + offset)
    }

    /// One standard deviation in SI, times what it is a multiple of.
    #[must_use]
    pub fn sigma_si(&self, base: f64) -> f64 {
        let factor = unit_to_si(&self.unit).map_or(1.0, |(factor, _)| factor);
        self.sigma * factor * base.abs()
    }

    /// The unit of a difference of two values.
    #[must_use]
    pub fn difference_unit(&self) -> &str {
        match self.unit.as_str() {
            "degC" => "K",
            "bar(g)" => "bar",
            "1" => "",
            unit => unit,
        }
    }
}

/// Factor and offset to SI. Hours stay hours, as everywhere in the program.
fn unit_to_si(unit: &str) -> Option<(f64, f64)> {
    Some(match unit {
        "" | "1" | "K" | "s" | "h" | "1/h" | "kg/kg" | "W/(m2 K)" => (1.0, 0.0),
        "degC" => (1.0, ZERO_CELSIUS_K),
        "bar" | "bar(g)" => (1.0e5, 0.0),
        "mbar" => (100.0, 0.0),
        "kW" => (1.0e3, 0.0),
        "L" | "mm" => (1.0e-3, 0.0),
        "%/bar" => (0.01 / 1.0e5, 0.0),
        "%/K" => (0.01, 0.0),
        _ => return None,
    })
}

/// Reads the table; the error names what is wrong with it.
fn read(text: &str) -> Result<Vec<Default>, String> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|e| e.to_string())?;
        let cell = |at: usize| record.get(at).unwrap_or_default().trim().to_owned();
        let key = cell(0);
        let sigma = match cell(4).as_str() {
            "" => 0.0,
            number => number
                .parse()
                .map_err(|_| format!("{key}: `{number}` is no number"))?,
        };
        let mark = match cell(5).as_str() {
            "published" => Mark::Published,
            "derived" => Mark::Derived,
            "common practice" => Mark::CommonPractice,
            "from memory" => Mark::FromMemory,
            other => return Err(format!("{key}: `{other}` is no mark")),
        };
        let (value, unit, per, source) = (cell(1), cell(2), cell(3), cell(6));
        if unit_to_si(&unit).is_none() {
            return Err(format!("{key}: `{unit}` is no unit of this table"));
        }
        rows.push(Default {
            key,
            value,
            unit,
            per,
            sigma,
            mark,
            source,
        });
    }
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::file::station::keys::{Holds, holds};

    #[test]
    fn every_row_is_read_once_and_says_where_it_comes_from() {
        let rows = read(TEXT).expect("the table");
        assert!(rows.len() > 80);
        assert_eq!(rows.len(), all().count(), "a key stands twice");
        for row in &rows {
            assert!(row.sigma >= 0.0 && row.sigma.is_finite(), "{}", row.key);
            assert!(!row.source.is_empty(), "{} has no source", row.key);
            assert_eq!(
                row.key.starts_with("given."),
                row.value.is_empty(),
                "{}",
                row.key
            );
        }
    }

    #[test]
    fn every_default_belongs_to_a_key_and_lies_within_its_limits() {
        for row in all() {
            let key = row
                .key
                .trim_start_matches("given.")
                .trim_start_matches("table.");
            let held = holds(key).unwrap_or_else(|| panic!("{key} is no key of the station file"));
            if row.key.starts_with("given.") || row.key.starts_with("table.") || !row.per.is_empty()
            {
                continue;
            }
            match held {
                Holds::Quantity(kind, low, high) => {
                    let limit = |text| crate::file::unit::quantity(kind, text).expect(key);
                    let si = row.si(1.0).expect(key);
                    assert!(limit(low) <= si && si <= limit(high), "{key}: {si}");
                }
                Holds::Number(low, high, factor) => {
                    let number = row.si(1.0).expect(key) / factor;
                    assert!(low <= number && number <= high, "{key}: {number}");
                }
                Holds::Word(words) => assert!(words.contains(&row.value.as_str()), "{key}"),
                Holds::Yes => assert!(row.value == "true" || row.value == "false", "{key}"),
                Holds::Count(..) => {
                    assert!(row.si(1.0).is_some() || key == "machine.order", "{key}")
                }
                _ => panic!("{key} takes no default"),
            }
        }
    }

    /// Every number with a default also says how uncertain it is when the file gives it.
    #[test]
    fn every_default_with_a_number_has_a_row_for_the_given_value() {
        for row in all().filter(|row| !row.key.starts_with("given.")) {
            if matches!(
                holds(&row.key),
                Some(Holds::Quantity(..) | Holds::Number(..))
            ) {
                assert!(find(&format!("given.{}", row.key)).is_some(), "{}", row.key);
            }
        }
    }
}
