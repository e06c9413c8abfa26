//! Looks off a log as an ordinary rounds file, to be read, kept and judged like any other.
//!
//! Must not know: how a look is taken.

use std::fmt::Write as _;

use ::station::model::Station;
use ::station::point::{Dimension, Point, PointId};
use ::station::round::{Reading, Round, Value};
use judge::say::{file_unit, in_file_unit, round};

/// The looks, one a row: every point that one of them reads is a column, in the order of the air
/// path's things; then, as columns that are left out when the file is read again, what the log knows
/// of each machine's load.
pub(super) fn csv(station: &Station, looks: &[Round]) -> String {
    let mut ids: Vec<PointId> = looks
        .iter()
        .flat_map(|look| look.readings.iter().map(|r| r.id))
        .collect();
    ids.sort_unstable();
    ids.dedup();
    let shown: Vec<usize> = (0..station.machines.len())
        .filter(|&i| looks.iter().any(|look| share(look, i).is_some()))
        .collect();
    let mut csv = "time,who".to_owned();
    for id in &ids {
        let _ = write!(csv, ",{}.{}", station.id(id.asset), id.point.name());
        if let Some(unit) = unit(id.point) {
            let _ = write!(csv, " [{unit}]");
        }
    }
    for &i in &shown {
        let _ = write!(csv, ",#{} on load in 20 min [%]", station.machines[i].id);
    }
    csv.push('\n');
    for look in looks {
        let local = look.time.to_zoned_datetime(station.site.time_zone.clone());
        let who = look.who.as_deref().unwrap_or_default();
        let _ = write!(csv, "{},{who}", local.strftime("%Y-%m-%dT%H:%M:%S%:z"));
        for id in &ids {
            csv.push(',');
            if let Some(reading) = look.readings.iter().find(|r| r.id == *id) {
                csv.push_str(&cell(reading));
            }
        }
        for &i in &shown {
            let percent = share(look, i).map(|share| round(100.0 * share, 0));
            let _ = write!(csv, ",{}", percent.unwrap_or_default());
        }
        csv.push('\n');
    }
    csv
}

fn share(look: &Round, machine: usize) -> Option<f64> {
    let (share, _) = look.logged_run(machine)?.load?;
    Some(share)
}

fn unit(point: Point) -> Option<&'static str> {
    match point.dimension() {
        Dimension::Humidity => Some("%"),
        Dimension::Count | Dimension::Share | Dimension::Words(_) => None,
        other => Some(file_unit(other).0),
    }
}

/// As finely as an instrument shows it, and once more.
fn cell(reading: &Reading) -> String {
    let point = reading.id.point;
    match reading.value {
        Value::Word(word) => word.text().to_owned(),
        Value::Number(si) if point.dimension() == Dimension::Humidity => round(100.0 * si, 1),
        Value::Number(si) => {
            let decimals = match point.dimension() {
                Dimension::Seconds => 1,
                Dimension::GaugePressure | Dimension::PressureDifference => 3,
                Dimension::AbsolutePressure => 4,
                Dimension::ReferenceAir => 3,
                _ => 2,
            };
            round(in_file_unit(point, si).0, decimals)
        }
    }
}
