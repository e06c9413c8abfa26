//! Workings of what the page says beside the sentences of a finding: the energy that is isolated, and
//! how its picture comes about.
//!
//! Must not know: how a finding comes about.

use judge::safety::{energy_steps, line_step};
use judge::{Drift, Finding};
use physics::working::Step;
use station::model::Asset;

use super::Sheet;
use super::finding::{drawn, shown, written_out};
use super::phrase::day;
use super::working::steps;
use crate::html::Html;
use crate::measure::Measure;
use crate::units::{Units, fixed};

/// Steps for what the page says beside the finding's own sentences: the energy that is isolated, and
/// how its picture comes about.
pub(super) fn more(h: &mut Html, sheet: &Sheet, n: usize, f: &Finding) {
    let station = sheet.station();
    let mut list = Vec::new();
    let isolates = f.isolate && written_out(sheet, n, f).is_none();
    if let (Asset::Machine(i), true) = (f.subject, isolates) {
        let told = |s: &Step| f.working.iter().any(|w| w.numbers == s.numbers);
        list.extend(energy_steps(station, i).into_iter().filter(|s| !told(s)));
        list.push(lid(sheet.report.units));
    }
    list.extend(line_step(station, &f.cautions, sheet.report.units.into()));
    let drifts = sheet.one.judgement.drifts.iter();
    for drift in drifts.filter(|d| d.finding == f.id) {
        list.extend(course(sheet, drift));
    }
    if !list.is_empty() {
        h.put(
            "p",
            &[("class", "q")],
            "What is said beside it on the page:",
        );
        steps(h, &list);
    }
}

/// What a gauge that stands at zero may hide.
fn lid(units: Units) -> Step {
    let (numbers, value, unit) = match units {
        Units::Si => ("0.26 bar on 250 mm: 26 kPa · π/4 · 0.25² m²", 1.276, "kN"),
        Units::Us => ("4 psi on 10 in: 4 · π/4 · 10², about 300 lbf", 314.2, "lbf"),
    };
    Step {
        name: "push on a lid".to_owned(),
        formula: "F = p π d²/4".to_owned(),
        numbers: numbers.to_owned(),
        value,
        unit: unit.to_owned(),
        source: "statics; a gauge of class 1.6 on 16 bar may be 0.26 bar off (derived)".to_owned(),
    }
}

/// How the level and the pace of a drift come about.
fn course(sheet: &Sheet, drift: &Drift) -> Vec<Step> {
    let (unit, size) = shown(&drift.unit, sheet.report.units);
    let station = sheet.station();
    let whose = format!("{} of {}", drift.what, station.id(drift.subject));
    let from = match &drift.chart {
        Some(chart) => {
            let range = match (chart.readings.first(), chart.readings.last()) {
                (Some(a), Some(b)) => {
                    format!(", {} to {}", day(station, a.time), day(station, b.time))
                }
                _ => String::new(),
            };
            let limits = chart.limits.iter().map(|(name, si)| {
                let measure = Measure::of(chart.id.point.dimension(), sheet.report.units);
                format!("; {name} at {}", measure.plainly(*si))
            });
            format!(
                "{} readings of {}{range}{}; band ∓ 1.96 σ (95 %), ahead ∓ 1.28 σ (80 %)",
                chart.readings.len(),
                drawn(sheet, chart),
                limits.collect::<String>()
            )
        }
        None => format!("{} points of its course", drift.spark.len()),
    };
    let limit = drift.limit.map_or_else(String::new, |l| {
        format!("; changed at {} {unit}", fixed(l * size, 2))
    });
    let source = "robust fit in time to what readings leave of what was expected: P. J. Huber, Robust Statistics, 1981 (published)";
    vec![
        Step {
            name: format!("{whose} at the last round"),
            formula: "level of the fit at the last round".to_owned(),
            numbers: format!("{from}{limit}"),
            value: drift.level * size,
            unit: unit.clone(),
            source: source.to_owned(),
        },
        Step {
            name: format!("its pace: {whose}"),
            formula: "slope of the fit · 30.4 days".to_owned(),
            numbers: "the same readings".to_owned(),
            value: drift.per_month * size,
            unit: format!("{unit} a month").trim().to_owned(),
            source: source.to_owned(),
        },
    ]
}

/// The workings of drifts that no finding tells.
pub(super) fn drifts(h: &mut Html, sheet: &Sheet) {
    let judgement = sheet.one.judgement;
    let told = |d: &Drift| judgement.findings.iter().any(|f| f.id == d.finding);
    for (n, drift) in judgement
        .drifts
        .iter()
        .enumerate()
        .filter(|(_, d)| !told(d))
    {
        let id = sheet.at(&format!("d{n}-working"));
        let title = format!("{}: {}", sheet.station().id(drift.subject), drift.what);
        h.el("section", &[("id", &id), ("aria-label", &title)], |h| {
            h.put(sheet.heading(2), &[], &title);
            steps(h, &course(sheet, drift));
        });
    }
}
