//! The findings in order: what, since when, what it will do and when, what it costs, what to do with
//! the cautions beside it, causes, next check, the chart, and the way to the working.
//!
//! Must not know: how a finding comes about.

use judge::{Drift, Finding};
use physics::quantity::{BAR_PA, CUBIC_FOOT_M3, PSI_PA};
use station::model::Asset;

use super::Sheet;
use super::phrase::{cost, day, heading, today};
use crate::chart::{Drawn, chart_on, course, goes_on};
use crate::frame::{BROAD, Frame, both};
use crate::html::Html;
use crate::measure::Measure;
use crate::units::{Units, fixed};
use judge::say::of_three_figures;

pub(super) fn all(h: &mut Html, sheet: &Sheet) {
    let judgement = sheet.one.judgement;
    if !judgement.findings.is_empty() {
        sheet.section(h, "list", "findings", "Findings, most urgent first", |h| {
            let mut last = None;
            for (i, f) in judgement.findings.iter().enumerate() {
                if last != Some(f.urgency) {
                    h.put(
                        sheet.heading(2),
                        &[("class", "urgency")],
                        heading(f.urgency),
                    );
                    last = Some(f.urgency);
                }
                of(h, sheet, i + 1, f);
            }
        });
    }
    let told = |d: &Drift| judgement.findings.iter().any(|f| f.id == d.finding);
    let others: Vec<(usize, &Drift)> = judgement
        .drifts
        .iter()
        .enumerate()
        .filter(|(_, d)| !told(d))
        .collect();
    if !others.is_empty() {
        sheet.section(h, "list", "drifts", "What drifts besides", |h| {
            for (n, drift) in others {
                let working = sheet.at(&format!("d{n}-working"));
                picture(h, sheet, n, drift, Some(working));
            }
        });
    }
}

fn of(h: &mut Html, sheet: &Sheet, n: usize, f: &Finding) {
    let (id, station) = (sheet.finding(n), sheet.station());
    let label = format!("{id}-title");
    let attributes = [
        ("id", id.as_str()),
        ("class", "finding"),
        ("aria-labelledby", &label),
    ];
    h.el("article", &attributes, |h| {
        h.el(sheet.heading(3), &[("id", &label)], |h| {
            h.put("span", &[("class", "no")], &format!("{n} "));
            h.text(&f.title);
        });
        h.el("dl", &[("class", "terms")], |h| {
            if let Some(since) = f.since {
                term(h, "Since", &day(station, since));
            }
            let today = today(station, sheet.one.judgement);
            if let Some(limit) = &f.limit
                && let Some(when) = limit.when(today, true)
            {
                term(h, "Limit", &format!("{}: {when}", limit.which(today)));
            }
            if let Some((name, cost)) = cost(station, f) {
                term(h, name, &cost);
            }
        });
        h.el("div", &[("class", "do")], |h| {
            h.el("p", &[("class", "action")], |h| {
                h.put("b", &[], "Do: ");
                h.text(&format!("{}.", f.action));
            });
            cautions(h, sheet, n, f);
        });
        h.el("dl", &[("class", "terms")], |h| {
            let causes = f.likely_in_words();
            if !causes.is_empty() {
                term(h, "Likely", &causes);
            }
            for argument in f.arguments() {
                let side = if argument.is_for { "For" } else { "Against" };
                let name = format!("{side} {}", argument.cause);
                term(h, &name, &format!("{}.", argument.says.join("; ")));
            }
            if let Some(next) = &f.next_check {
                term(h, "Next check", next);
            }
            h.el("div", &[], |h| {
                h.put("dt", &[], "Working");
                h.el("dd", &[], |h| {
                    h.link(&sheet.working(n), "its readings and steps, with sources");
                });
            });
        });
        let drifts = sheet.one.judgement.drifts.iter().enumerate();
        for (n, drift) in drifts.filter(|(_, d)| d.finding == f.id) {
            picture(h, sheet, n, drift, None);
        }
    });
}

/// One line of a finding.
fn term(h: &mut Html, name: &str, text: &str) {
    h.el("div", &[], |h| {
        h.put("dt", &[], name);
        h.put("dd", &[], text);
    });
}

/// The earlier finding with which the same cautions are written out.
pub(super) fn written_out(sheet: &Sheet, n: usize, f: &Finding) -> Option<usize> {
    let before = sheet.one.judgement.findings.iter().take(n - 1);
    before
        .enumerate()
        .find(|(_, e)| e.subject == f.subject && e.isolate == f.isolate && e.cautions == f.cautions)
        .map(|(i, _)| i + 1)
}

/// The cautions of a finding, beside its action. A machine's isolation is written out where it is
/// first needed; later findings lead there.
fn cautions(h: &mut Html, sheet: &Sheet, n: usize, f: &Finding) {
    if f.cautions.is_empty() {
        return;
    }
    let earlier = written_out(sheet, n, f);
    let machine = matches!(f.subject, Asset::Machine(_)) && f.isolate;
    let id = sheet.station().id(f.subject);
    let what = if machine {
        format!("Isolate {id} before it is opened")
    } else {
        "Before you begin".to_owned()
    };
    let own = sheet.at(&format!("f{n}-cautions"));
    h.el(
        "div",
        &[("id", &own), ("class", "cautions")],
        |h| match earlier {
            Some(earlier) => h.el("p", &[], |h| {
                h.put("b", &[], &what);
                h.text(": ");
                let to = sheet.at(&format!("f{earlier}-cautions"));
                h.link(&to, &format!("the steps stand with finding {earlier}"));
                h.text(". ");
                if let Some(codes) = f.cautions.last() {
                    h.text(&format!("{codes}."));
                }
            }),
            None => {
                h.el("p", &[], |h| h.put("b", &[], &what));
                h.el(if machine { "ol" } else { "ul" }, &[], |h| {
                    for caution in &f.cautions {
                        h.put("li", &[], caution);
                    }
                });
            }
        },
    );
}

/// The chart of a drift, or its course where no reading shows it.
fn picture(h: &mut Html, sheet: &Sheet, n: usize, drift: &Drift, working: Option<String>) {
    let station = sheet.station();
    let (unit, size) = shown(&drift.unit, sheet.report.units);
    let with_unit = |number: String| format!("{number} {unit}").trim_end().to_owned();
    let title = format!("{}: {}", station.id(drift.subject), drift.what);
    let three_figures = |value: f64| fixed(value, of_three_figures(value));
    let mut level = match drift.limit {
        Some(limit) => {
            let passed = if drift.level > limit { "past" } else { "of" };
            with_unit(format!(
                "{} {passed} {}",
                fixed(drift.level * size, 2),
                fixed(limit * size, 2)
            ))
        }
        None if drift.unit == "1" => format!("{} (1 is as new)", three_figures(drift.level)),
        None => with_unit(three_figures(drift.level * size)),
    };
    let pace = three_figures(drift.per_month * size);
    if pace.contains(|c: char| c.is_ascii_digit() && c != '0') {
        let sign = if drift.per_month > 0.0 { "+" } else { "" };
        let pace = with_unit(format!("{sign}{pace}"));
        level.push_str(&format!(", {pace} a month"));
    } else {
        level.push_str(", steady");
    }
    let id = sheet.at(&format!("d{n}"));
    let scaled: Vec<f64> = drift.spark.iter().map(|v| v * size).collect();
    let limit = drift.limit.map(|l| l * size);
    let of_readings = |frame: &Frame| {
        let drawn = Drawn {
            title: &title,
            chart: drift.chart.as_ref()?,
            time_zone: &station.site.time_zone,
            units: sheet.report.units,
            id: &id,
        };
        chart_on(frame, &drawn)
    };
    let caption = drift
        .chart
        .as_ref()
        .filter(|_| of_readings(&BROAD).is_some())
        .map(|c| key(sheet, c));
    let draw = |frame: &Frame| match caption {
        Some(_) => of_readings(frame),
        None => course(frame, &id, &title, &scaled, limit, &unit),
    };
    if draw(&BROAD).is_none() {
        return;
    }
    h.el("figure", &[], |h| {
        h.el("figcaption", &[], |h| {
            h.put("b", &[], &title);
            h.text(&format!(", {level}. "));
            match &caption {
                Some(caption) => h.text(caption),
                None => h.text("Its course, oldest first, evenly spaced in time."),
            }
            if let Some(to) = working {
                h.text(" ");
                h.link(&to, "How its numbers come about");
                h.text(".");
            }
        });
        both(h, draw);
    });
}

/// What a chart is of.
pub(super) fn drawn(sheet: &Sheet, chart: &judge::Chart) -> String {
    match chart.what {
        Some(what) => what.to_owned(),
        None => format!(
            "{}.{}",
            sheet.station().id(chart.id.asset),
            chart.id.point.name()
        ),
    }
}

/// The same with a capital letter.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

/// How a chart is read.
fn key(sheet: &Sheet, chart: &judge::Chart) -> String {
    let measure = Measure::of(chart.id.point.dimension(), sheet.report.units);
    // It begins a sentence; a point's name is written as it is.
    let name = match chart.what {
        Some(what) => capital(what),
        None => drawn(sheet, chart),
    };
    let unit = if measure.unit.is_empty() {
        String::new()
    } else {
        format!(" in {}", measure.unit)
    };
    let mut key = format!(
        "{name}{unit}: grey, what is expected (95 %); points, readings in that band; diamonds, readings outside it"
    );
    if !chart.work.is_empty() {
        key.push_str("; thick ticks on the axis, work done");
    }
    if chart.ahead.len() > 1 {
        let goes_on = goes_on(&chart.ahead_at);
        key.push_str(&format!("; dashed, ahead {goes_on}, with its 80 % range"));
    }
    key.push('.');
    key
}

/// A drift's unit as people read it, and its size.
pub(super) fn shown(unit: &str, units: Units) -> (String, f64) {
    match (unit, units) {
        ("1", _) => (String::new(), 1.0),
        ("bar", Units::Us) => ("psi".to_owned(), BAR_PA / PSI_PA),
        ("K", Units::Us) => ("°F".to_owned(), 1.8),
        ("m3/min" | "m3/min(ANR)", Units::Si) => ("m³/min".to_owned(), 1.0),
        ("m3/min" | "m3/min(ANR)", Units::Us) => ("cfm".to_owned(), 1.0 / CUBIC_FOOT_M3),
        (unit, _) => (unit.to_owned(), 1.0),
    }
}
