//! `docs/points.md`: what can be read where, in which units, between which values, how well.
//!
//! Must not know: what a point is expected to be.

use station::file::unit::Unit;
use station::point::{Accuracy, Dimension, On, Point};

use super::{head, table};

/// The things that carry points, as they are called and as their columns are written.
const THINGS: &[(On, &str, &str)] = &[
    (On::Site, "Site", "site"),
    (On::Room, "Room", "room"),
    (On::Machine, "Machine", "K1"),
    (On::Vessel, "Vessel", "R1"),
    (On::Filter, "Filter", "F1"),
    (On::Dryer, "Dryer", "D1"),
    (On::Drain, "Drain", "R1.drain"),
    (On::Header, "Header", "MAIN"),
];

pub(super) fn page() -> String {
    let mut text = head("Points", "`crates/station/src/point.rs`");
    text.push_str(
        "What can be read on a round.\n\
         A column of a rounds file is headed by the thing, a dot, the point, and the unit in square \
         brackets: `K1.oil_temperature [degC]`.\n\n\
         - *Plausible* is what can be read at all: outside lies a misreading or a wrong unit.\n\
         - *Usual accuracy* is the limit of error of a usual instrument at 95 % confidence, taken \
         where the station file does not say.\n",
    );
    for &(on, name, example) in THINGS {
        let rows: Vec<Vec<String>> = Point::ALL
            .iter()
            .filter(|point| point.on() == on)
            .map(|&point| row(point, example))
            .collect();
        text.push_str(&format!("\n## {name}\n\n"));
        text.push_str(&table(
            &[
                "point",
                "a column",
                "unit or words",
                "plausible",
                "usual accuracy",
            ],
            &rows,
        ));
    }
    text
}

fn row(point: Point, example: &str) -> Vec<String> {
    let units = units(point);
    let column = match units.first() {
        Some(unit) => format!("`{example}.{} [{}]`", point.name(), unit.name),
        None => format!("`{example}.{}`", point.name()),
    };
    vec![
        format!("`{}`", point.name()),
        column,
        values(point),
        plausible(point),
        accuracy(point),
    ]
}

fn units(point: Point) -> &'static [Unit] {
    point.dimension().kind().map_or(&[], |kind| kind.units())
}

/// The units that its column may carry, or the words that it may say.
fn values(point: Point) -> String {
    let ticked = |names: &mut dyn Iterator<Item = &'static str>| {
        names
            .map(|name| format!("`{name}`"))
            .collect::<Vec<_>>()
            .join(", ")
    };
    match point.dimension() {
        Dimension::Words(words) => ticked(&mut words.iter().map(|word| word.text())),
        Dimension::Count => "a count".to_owned(),
        Dimension::Share => "a share, 0 to 1".to_owned(),
        _ => ticked(&mut units(point).iter().map(|unit| unit.name)),
    }
}

/// The plausible values, in the unit that messages use.
fn plausible(point: Point) -> String {
    if matches!(point.dimension(), Dimension::Words(_)) {
        return String::new();
    }
    let (low, high) = point.plausible();
    match units(point).first() {
        Some(unit) => {
            let shown = |si: f64| number((si - unit.offset) / unit.factor);
            format!("{} to {} {}", shown(low), shown(high), unit.name)
        }
        None => format!("{} to {}", number(low), number(high)),
    }
}

fn accuracy(point: Point) -> String {
    match point.usual_accuracy() {
        Accuracy::Exact => String::new(),
        Accuracy::Share(share) => format!("±{} % of the reading", number(share * 100.0)),
        Accuracy::Limit(limit) => match units(point).first() {
            Some(unit) => {
                format!("±{} {}", number(limit / unit.factor), difference(unit.name))
            }
            None => format!("±{}", number(limit)),
        },
    }
}

/// The unit of a difference of two values.
fn difference(unit: &'static str) -> &'static str {
    match unit {
        "degC" => "K",
        "bar(g)" | "bar(a)" => "bar",
        unit => unit,
    }
}

/// Six decimals at most, without the noughts at the end.
fn number(value: f64) -> String {
    let text = format!("{value:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_point_has_a_row() {
        let text = page();
        assert_eq!(
            text.lines().filter(|line| line.starts_with("| `")).count(),
            Point::ALL.len()
        );
    }

    #[test]
    fn rows_stand_in_the_units_of_messages() {
        let cells = row(Point::OilTemperature, "K1");
        assert_eq!(cells[1], "`K1.oil_temperature [degC]`");
        assert_eq!(cells[3], "-40 to 160 degC");
        assert_eq!(cells[4], "±2 K");
        let cells = row(Point::VesselPressure, "R1");
        assert_eq!(cells[3], "0 to 16 bar(g)");
        assert_eq!(cells[4], "±0.256 bar");
        let cells = row(Point::OilLevel, "K1");
        assert_eq!(cells[2], "`low`, `in band`, `high`");
        assert_eq!(cells[3], "");
    }
}
