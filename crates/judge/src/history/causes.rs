//! Causes and what their words weigh: data that an engineer can read, question and replace.
//!
//! Must not know: how the evidence of readings comes about.

use station::point::{Point, Word};

use super::stream::Part;

const CAUSES: &str = include_str!("../../data/causes.csv");
const WORDS: &str = include_str!("../../data/words.csv");
const KINDS: &str = include_str!("../../data/kinds.csv");
const CHECKS: &str = include_str!("../../data/checks.csv");

/// Readings that are looked at together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Group {
    /// Oil and outlet temperature of a machine.
    Cooling,
    /// The oil at little load beside the same gauge under load.
    HeldOil,
    /// Power on load.
    Power,
    /// Power unloaded.
    UnloadedPower,
    /// Pressure dew point behind a dryer.
    DewPoint,
    /// The room's temperature.
    Room,
    /// A filter's drop over what its flow explains.
    FilterDrop,
    /// The header's flow over what the machines on load should deliver.
    Delivery,
    /// Pressures of vessels and headers over what the machine's own gauge explains.
    Pressures,
    /// What timed cycles find with the plant at rest.
    Leakage,
    /// The same beside what the plant takes by its machines' hours on load.
    AirTaken,
    /// An intake filter's drop.
    IntakeDrop,
    /// A separator's drop, where the power does not speak of it too.
    SeparatorDrop,
    /// What a drain gave over what fell out.
    Water,
}

impl Group {
    const fn name(self) -> &'static str {
        match self {
            Self::Cooling => "cooling",
            Self::HeldOil => "held oil",
            Self::Power => "power",
            Self::UnloadedPower => "unloaded power",
            Self::DewPoint => "dew point",
            Self::Room => "room",
            Self::FilterDrop => "filter drop",
            Self::Delivery => "delivery",
            Self::Pressures => "pressures",
            Self::Leakage => "leakage",
            Self::AirTaken => "air taken",
            Self::IntakeDrop => "intake drop",
            Self::SeparatorDrop => "separator drop",
            Self::Water => "water",
        }
    }
}

/// Which readings feel a cause, and how.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Moves {
    /// Oil and outlet temperature, by the model's sensitivity to a part.
    Model(Part),
    /// Oil and outlet by equal kelvin.
    BothAlike,
    /// The first reading of the group alone.
    First,
    /// The second alone.
    Second,
    /// One reading of several alone.
    Only(usize),
    /// Every reading alike: what they are compared with.
    All,
    /// Readings from this one on, down the line.
    From(usize),
    /// Nothing that has a place yet: see [`Cause::placed`].
    Unplaced,
}

/// One cause.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Cause {
    pub(crate) name: &'static str,
    pub(crate) moves: Moves,
    /// `None` where it can go either way.
    pub(crate) sign: Option<f64>,
    pub(crate) spread: f64,
    /// A change that came to more would be no such fault.
    pub(crate) most: f64,
    pub(crate) prior: f64,
}

/// Rows of one of our own tables, comments and header left out.
fn rows(table: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    table
        .lines()
        .filter(|line| !line.starts_with('#') && !line.trim().is_empty())
        .skip(1)
        .map(|line| line.split(',').map(str::trim).collect())
}

fn number(cell: &str) -> f64 {
    cell.parse().expect("the tables are checked by a test")
}

/// The causes of a group.
pub(crate) fn causes(group: Group) -> Vec<Cause> {
    rows(CAUSES)
        .filter(|row| row[0] == group.name())
        .map(|row| Cause {
            name: row[1],
            moves: match row[2] {
                "cooling air" => Moves::Model(Part::CoolingAir),
                "oil side" => Moves::Model(Part::OilSide),
                "cooling air by half" => Moves::Model(Part::CoolingAirByHalf),
                "oil side by half" => Moves::Model(Part::OilSideByHalf),
                "aftercooler" => Moves::Model(Part::Aftercooler),
                "delivered air" => Moves::Model(Part::DeliveredAir),
                "thermostat" => Moves::Model(Part::Thermostat),
                "valve open" => Moves::Model(Part::ValveOpen),
                "separator" => Moves::Model(Part::Separator),
                "capacity" => Moves::Model(Part::Capacity),
                "ventilation" => Moves::Model(Part::Ventilation),
                "second reading" => Moves::Second,
                "one machine" | "one reading" | "down the line" => Moves::Unplaced,
                "all readings" => Moves::All,
                "both alike" => Moves::BothAlike,
                "outlet reading" => Moves::Second,
                _ => Moves::First,
            },
            sign: match row[3] {
                "+" => Some(1.0),
                "-" => Some(-1.0),
                _ => None,
            },
            spread: number(row[4]),
            most: match row[5] {
                "-" => f64::INFINITY,
                bound => number(bound),
            },
            prior: number(row[6]),
        })
        .collect()
}

impl Cause {
    /// The same cause at a place that only the station knows.
    pub(crate) fn placed(&self, moves: Moves) -> Self {
        Self {
            moves,
            ..self.clone()
        }
    }
}

/// What lies behind a finding of this kind (by its name) before many rounds speak, and how often.
pub(crate) fn behind(kind: &str) -> impl Iterator<Item = (&'static str, f64)> {
    rows(KINDS)
        .filter(move |row| row[0] == kind)
        .map(|row| (row[1], number(row[2])))
}

/// ln of a likelihood ratio from which a word speaks for a cause, or against it.
const WORD_SPEAKS: f64 = 0.3;

/// ln of how much likelier all the words seen are with a cause than without it.
pub(crate) fn weight_of(cause: &str, seen: &[(Point, Word)]) -> f64 {
    seen.iter().map(|(p, w)| word_weight(cause, *p, *w)).sum()
}

/// The words that speak for a cause (`true`) or against it.
pub(crate) fn speaking(cause: &str, seen: &[(Point, Word)]) -> Vec<(Point, Word, bool)> {
    let weighed = seen.iter().filter_map(|&(point, word)| {
        let weight = word_weight(cause, point, word);
        (weight.abs() > WORD_SPEAKS).then_some((point, word, weight > 0.0))
    });
    weighed.collect()
}

/// ln of how much likelier a word is with a cause than without it.
fn word_weight(cause: &str, point: Point, word: Word) -> f64 {
    rows(WORDS)
        .find(|row| row[0] == cause && row[1] == point.name() && row[2] == word.text())
        .map_or(0.0, |row| (number(row[3]) / number(row[4])).ln())
}

/// One thing that could be looked at next.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Check {
    pub(crate) point: &'static str,
    pub(crate) effort: f64,
    pub(crate) words: &'static str,
}

/// What can be looked at, and what it costs.
pub(crate) fn checks() -> Vec<Check> {
    rows(CHECKS)
        .map(|row| Check {
            point: row[0],
            effort: number(row[1]),
            words: row[2],
        })
        .collect()
}

/// How often each word of a point is seen with a cause: (word, with, without).
pub(crate) fn words_of(cause: &str, point: &str) -> Vec<(&'static str, f64, f64)> {
    rows(WORDS)
        .filter(|row| row[0] == cause && row[1] == point)
        .map(|row| (row[2], number(row[3]), number(row[4])))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Kind;

    #[test]
    fn the_tables_are_whole() {
        for table in [CAUSES, WORDS, CHECKS, KINDS] {
            let header = table
                .lines()
                .find(|l| !l.starts_with('#'))
                .expect("a header");
            let columns = header.split(',').count();
            for row in rows(table) {
                assert_eq!(row.len(), columns, "{row:?}");
                assert!(row.iter().all(|cell| !cell.is_empty()), "{row:?}");
            }
        }
        for row in rows(CAUSES) {
            assert!(row[4].parse::<f64>().is_ok_and(|x| x > 0.0), "{row:?}");
            assert!(row[6].parse::<f64>().is_ok_and(|x| x > 0.0), "{row:?}");
            assert!(row[5] == "-" || row[5].parse::<f64>().is_ok(), "{row:?}");
        }
        for row in rows(WORDS) {
            let known = Point::ALL
                .iter()
                .find(|p| p.name() == row[1])
                .expect("a point");
            let station::point::Dimension::Words(words) = known.dimension() else {
                panic!("{row:?} is no word")
            };
            assert!(words.iter().any(|w| w.text() == row[2]), "{row:?}");
        }
    }

    #[test]
    fn priors_of_a_group_add_up_to_one() {
        let groups = [
            Group::Cooling,
            Group::HeldOil,
            Group::Power,
            Group::UnloadedPower,
            Group::DewPoint,
            Group::Room,
            Group::FilterDrop,
            Group::IntakeDrop,
            Group::SeparatorDrop,
            Group::Water,
        ];
        for group in groups {
            let sum: f64 = causes(group).iter().map(|c| c.prior).sum();
            assert!((sum - 1.0).abs() < 1e-9, "{group:?}: {sum}");
        }
    }

    #[test]
    fn what_lies_behind_a_kind_adds_up_to_one() {
        for row in rows(KINDS) {
            assert!(Kind::ALL.iter().any(|k| k.name() == row[0]), "{row:?}");
            let sum: f64 = behind(row[0]).map(|(_, share)| share).sum();
            assert!((sum - 1.0).abs() < 1e-9, "{}: {sum}", row[0]);
        }
    }

    #[test]
    fn the_words_of_a_point_add_up_to_one() {
        for row in rows(WORDS) {
            let words = words_of(row[0], row[1]);
            let (with, without): (f64, f64) = words
                .iter()
                .fold((0.0, 0.0), |(a, b), (_, w, o)| (a + w, b + o));
            assert!(
                (with - 1.0).abs() < 1e-9 && (without - 1.0).abs() < 1e-9,
                "{row:?}"
            );
        }
    }
}
