//! A history as a file of rounds: one row a round, one column a point.
//!
//! Must not know: where readings come from.

use crate::invent::{History, Reading, RoundRow};
use crate::plant::Plant;

/// The rounds of a history as CSV. Columns without any reading are left out.
#[must_use]
pub fn to_csv(history: &History) -> String {
    let columns: Vec<(String, &str)> = columns(&history.plant)
        .into_iter()
        .filter(|(point, _)| {
            history
                .rounds
                .iter()
                .any(|r| r.readings.contains_key(point))
        })
        .collect();
    let heads = columns.iter().map(|(point, unit)| match *unit {
        "" => point.clone(),
        unit => format!("{point} [{unit}]"),
    });
    let first = ["time", "who"].map(str::to_owned).into_iter();
    let last = ["note", "done"].map(str::to_owned).into_iter();
    let mut csv = line(first.chain(heads).chain(last));
    for round in &history.rounds {
        let time = round.time.strftime("%Y-%m-%d %H:%M").to_string();
        let cells = columns.iter().map(|(point, _)| cell(round, point));
        let last = [round.note.clone(), round.done.join("; ")];
        csv.push_str(&line(
            [time, round.who.clone()]
                .into_iter()
                .chain(cells)
                .chain(last),
        ));
    }
    csv
}

fn cell(round: &RoundRow, point: &str) -> String {
    match round.readings.get(point) {
        Some(Reading::Number { value, decimals }) => format!("{value:.decimals$}"),
        Some(Reading::Word(word)) => (*word).to_owned(),
        None => String::new(),
    }
}

fn line(cells: impl Iterator<Item = String>) -> String {
    let mut line = cells.map(quoted).collect::<Vec<_>>().join(",");
    line.push('\n');
    line
}

/// A cell in quotes if it needs them.
fn quoted(cell: String) -> String {
    if cell.contains([',', '"', '\n']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell
    }
}

/// Every point that can have a reading, with its unit, in the order in which one walks.
pub(crate) fn columns(plant: &Plant) -> Vec<(String, &'static str)> {
    let mut columns = Vec::new();
    let mut add = |asset: &str, points: &[(&str, &'static str)]| {
        columns.extend(
            points
                .iter()
                .map(|(name, unit)| (format!("{asset}.{name}"), *unit)),
        );
    };
    add("site", &[("ambient", "degC"), ("humidity", "%")]);
    add("room", &[("temperature", "degC")]);
    for machine in &plant.machines {
        add(
            &machine.id,
            &[
                ("state", ""),
                ("oil_temperature", "degC"),
                ("outlet_temperature", "degC"),
                ("pressure", "bar(g)"),
                ("power", "kW"),
                ("hours_run", "h"),
                ("hours_loaded", "h"),
                ("starts", ""),
                ("load_time", "s"),
                ("unload_time", "s"),
                ("fan", ""),
                ("oil_level", ""),
                ("oil_added", "L"),
                ("separator_drop", "bar"),
                ("intake_drop", "mbar"),
                ("belt_indicator", ""),
                ("mat", ""),
            ],
        );
    }
    add(
        &plant.receiver.id,
        &[
            ("pressure", "bar(g)"),
            ("drain.test", ""),
            ("drain.collected", "L"),
        ],
    );
    add(&plant.filter.id, &[("drop", "bar")]);
    add(
        &plant.dryer.id,
        &[("dew_point", "degC"), ("drain.test", ""), ("condenser", "")],
    );
    add(
        &plant.header.id,
        &[("pressure", "bar(g)"), ("flow", "m3/min(ANR)")],
    );
    columns
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_with_a_comma_is_quoted() {
        assert_eq!(quoted("a, \"b\"".to_owned()), "\"a, \"\"b\"\"\"");
        assert_eq!(quoted("plain".to_owned()), "plain");
    }
}
