//! Drifting healths as one line each, and what each machine would do on a hot day.
//!
//! Must not know: how a drift is found.

use std::fmt::Write as _;

use judge::say::{Units, chance, file_unit, of_three_figures, round};
use judge::{Drift, Moment};
use physics::quantity::{BAR_PA, CUBIC_FOOT_M3, PSI_PA};

use super::Judged;

const BARS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
/// Marks in a sparkline.
const MARKS: usize = 12;

/// One line for each health that drifts: level, change a month, course.
pub(super) fn drifts(text: &mut String, one: &Judged, units: Units) {
    let drifts = &one.judgement.drifts;
    if drifts.is_empty() {
        return;
    }
    let _ = writeln!(text, "What drifts\n");
    let name = |d: &Drift| format!("{} {}", one.station.id(d.subject), d.what);
    let mut rows = Vec::new();
    for d in drifts {
        let (unit, size) = shown(&d.unit, units);
        let three_figures = |value: f64| round(value, of_three_figures(value));
        // 95 %.
        let half = |sigma: f64| three_figures(1.96 * sigma * size);
        let level = match d.limit {
            Some(limit) => format!("{} of {}", round(d.level * size, 2), round(limit * size, 2)),
            None => format!("{} ± {}", three_figures(d.level * size), half(d.sigma)),
        };
        let sign = if d.per_month > 0.0 { "+" } else { "" };
        let pace = format!(
            "{sign}{} ± {}{unit} a month",
            three_figures(d.per_month * size),
            half(d.per_month_sigma)
        );
        rows.push([name(d), format!("{level}{unit}"), pace, spark(&d.spark)]);
    }
    let width = |column: usize| {
        let cells = rows.iter().map(|row| row[column].chars().count());
        cells.max().unwrap_or(0)
    };
    let widths = [width(0), width(1), width(2)];
    for [name, level, pace, course] in &rows {
        let _ = writeln!(
            text,
            "  {name:0$}  {level:1$}  {pace:2$}  {course}",
            widths[0], widths[1], widths[2]
        );
    }
    text.push('\n');
}

/// What readings stand at by themselves, drifting or not.
pub(super) fn levels(text: &mut String, one: &Judged, units: Units) {
    let levels = &one.judgement.levels;
    if levels.is_empty() {
        return;
    }
    let _ = writeln!(
        text,
        "What readings stand at by themselves, over the model as new\n"
    );
    for l in levels {
        let state = match l.moment {
            Moment::Loaded => " on load",
            Moment::Unloaded => " unloaded",
            Moment::Stopped | Moment::Unknown => "",
        };
        let name = format!(
            "{}.{}{state}",
            one.station.id(l.id.asset),
            l.id.point.name()
        );
        let (unit, size) = match (l.relative, file_unit(l.id.point.dimension())) {
            (true, _) => (" %".to_owned(), 100.0),
            (_, ("degC", _)) => shown("K", units),
            (_, (unit, size)) => (format!(" {unit}"), 1.0 / size),
        };
        let number = |x: f64| round(x * size, of_three_figures(x * size));
        let sign = if l.over > 0.0 { "+" } else { "" };
        let _ = writeln!(
            text,
            "  {name}: {sign}{} ± {}{unit}, one reading scatters by {}{unit}, {} readings\n    cumulative sum {}, tells from 5; moving average {}, tells from 1",
            number(l.over),
            number(1.96 * l.sigma),
            number(l.scatter),
            l.readings,
            round(l.sum, 1),
            round(l.average, 2)
        );
    }
    text.push('\n');
}

/// A drift's unit as people read it, and its size.
fn shown(unit: &str, units: Units) -> (String, f64) {
    match (unit, units) {
        ("1", _) => (String::new(), 1.0),
        ("bar", Units::Us) => (" psi".to_owned(), BAR_PA / PSI_PA),
        ("K", Units::Us) => (" °F".to_owned(), 1.8),
        ("m3/min" | "m3/min(ANR)", Units::Si) => (" m³/min".to_owned(), 1.0),
        ("m3/min" | "m3/min(ANR)", Units::Us) => (" cfm".to_owned(), 1.0 / CUBIC_FOOT_M3),
        ("degC", Units::Si) => (" °C".to_owned(), 1.0),
        (unit, _) => (format!(" {unit}"), 1.0),
    }
}

/// The course as marks of eight heights, from the least to the greatest value.
fn spark(values: &[f64]) -> String {
    let stride = values.len().div_ceil(MARKS).max(1);
    let shown: Vec<f64> = values.iter().copied().step_by(stride).collect();
    let (low, high) = shown
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(*v), h.max(*v))
        });
    let height = (high - low).max(1.0e-12);
    shown
        .iter()
        .map(|v| {
            let place = ((v - low) / height * 7.0).round();
            // Between 0 and 7 by construction; the cast cannot wrap.
            BARS[(place.clamp(0.0, 7.0)) as usize]
        })
        .collect()
}

/// What each machine would do at the temperature that was asked about.
pub(super) fn if_hot(text: &mut String, one: &Judged, asked: &str, units: Units) {
    let Some(machines) = &one.judgement.if_hot else {
        return;
    };
    let _ = writeln!(text, "If it gets {asked} tomorrow\n");
    if machines.is_empty() {
        let why = match one.judgement.rounds {
            0 => "no round to judge",
            _ => "no machine here has a thermal model",
        };
        let _ = writeln!(text, "  nothing can be said: {why}\n");
        return;
    }
    for m in machines {
        let machine = &one.station.machines[m.machine];
        let _ = writeln!(
            text,
            "  {}: oil {} ({} to {}); warning at {}: {}; trip at {}: {}",
            machine.id,
            units.temperature(m.oil.1),
            units.temperature(m.oil.0),
            units.temperature(m.oil.2),
            units.temperature(machine.oil.warn.si()),
            chance(m.p_warn),
            units.temperature(machine.oil.trip.si()),
            chance(m.p_trip),
        );
    }
    text.push('\n');
}

/// The machine of a station that fears the hot day most, in a few words; `None` if nothing was asked.
pub(super) fn worst_if_hot(one: &Judged) -> Option<String> {
    let machines = one.judgement.if_hot.as_ref()?;
    // They stand in that order.
    Some(machines.first().map_or_else(
        || "nothing can be said".to_owned(),
        |m| {
            let id = &one.station.machines[m.machine].id;
            format!(
                "{id}: warning {}, trip {}",
                chance(m.p_warn),
                chance(m.p_trip)
            )
        },
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_course_is_drawn_from_low_to_high() {
        assert_eq!(spark(&[0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0]), "▁▂▃▄▅▆▇█");
        assert_eq!(spark(&[1.0, 1.0]), "▁▁");
        assert_eq!(spark(&[]), "");
    }
}
