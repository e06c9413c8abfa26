//! The working: every number of the page with its formula, the numbers put in, and its source.
//!
//! Must not know: how a step is made.

use jiff::civil::Date;
use judge::Finding;
use judge::finding::Reached;
use judge::say::{chance, date, grouped};
use physics::working::Step;

use super::expected::name;
use super::phrase::{currency, figures, percent_of, today};
use super::summary::total;
use super::{Sheet, beside, logged, outlook, plate};
use crate::html::Html;
use crate::units::fixed;

pub(super) fn of(h: &mut Html, sheet: &Sheet) {
    let judgement = sheet.one.judgement;
    let by_none = judgement.not_judged.iter().all(|n| n.working.is_empty());
    let nothing = judgement.findings.is_empty() && judgement.expectations.is_empty() && by_none;
    if nothing && sheet.one.log.is_none() {
        return;
    }
    sheet.section(h, "working", "working", "The working", |h| {
        h.put(
            "p",
            &[("class", "q")],
            "Each step: what is computed, the equation, the numbers put in, the result, the source and how well it is supported. Numbers of the working stand in SI units.",
        );
        for (i, f) in judgement.findings.iter().enumerate() {
            of_finding(h, sheet, i + 1, f);
        }
        if let Some(total) = total(judgement, currency(sheet.station())) {
            let id = sheet.at("total-working");
            h.put(sheet.heading(2), &[], "The cost of a year in all");
            h.el("div", &[("id", &id)], |h| steps(h, &[total.step()]));
        }
        beside::drifts(h, sheet);
        logged::workings(h, sheet);
        not_judged(h, sheet);
        if_hot(h, sheet);
        outlook::expectations(h, sheet);
    });
}

fn of_finding(h: &mut Html, sheet: &Sheet, n: usize, f: &Finding) {
    let id = sheet.working(n);
    h.el("section", &[("id", &id), ("aria-label", &f.title)], |h| {
        h.el(sheet.heading(2), &[], |h| {
            h.link(&sheet.finding(n), &format!("Finding {n}"));
            h.text(&format!(": {}", f.title));
        });
        evidence(h, sheet, f);
        let mut facts = plate::of(sheet.station(), f.subject, sheet.units());
        facts.extend(plate::outage(sheet.station(), f));
        if !facts.is_empty() {
            let from = format!("From the station file: {}.", facts.join(", "));
            h.put("p", &[("class", "evidence")], &from);
        }
        health(h, f);
        dates(h, sheet, f);
        causes(h, f);
        steps(h, &f.working);
        beside::more(h, sheet, n, f);
    });
}

/// The anchor of the working of what was not judged, by its place in the list.
pub(super) fn of_not_judged(sheet: &Sheet, n: usize) -> String {
    sheet.at(&format!("not-judged-{n}-working"))
}

fn not_judged(h: &mut Html, sheet: &Sheet) {
    for (n, note) in sheet.one.judgement.not_judged.iter().enumerate() {
        if note.working.is_empty() {
            continue;
        }
        let id = of_not_judged(sheet, n);
        h.el("section", &[("id", &id), ("aria-label", &note.what)], |h| {
            h.el(sheet.heading(2), &[], |h| {
                h.link(&sheet.at("not-judged"), "Not judged");
                h.text(&format!(": {}", note.what));
            });
            steps(h, &note.working);
        });
    }
}

/// What was read, in the reader's units.
fn evidence(h: &mut Html, sheet: &Sheet, f: &Finding) {
    let units = sheet.units();
    let mut said = Vec::new();
    for e in &f.evidence {
        let point = e.id.point;
        let read = units.reading(point, e.read);
        if read.is_empty() {
            continue;
        }
        let mut text = format!("{}: {read} read", name(sheet, e.id));
        match (e.mid, e.deviations) {
            (Some(mid), Some(z)) if z.abs() > 1.0e-6 && z.is_finite() => {
                let half = 1.96 * ((e.read - mid) / z).abs();
                let beside = units.beside(point, e.read, mid, half);
                let side = if z < 0.0 { "below" } else { "above" };
                text = format!(
                    "{}: {beside}, {} deviations {side}",
                    name(sheet, e.id),
                    fixed(z.abs(), 1)
                );
            }
            (Some(mid), _) => text.push_str(&format!(", {} expected", units.reading(point, mid))),
            _ => {}
        }
        said.push(text);
    }
    if said.is_empty() {
        return;
    }
    h.el("ul", &[("class", "evidence")], |h| {
        for text in said {
            h.put("li", &[], &text);
        }
    });
}

fn health(h: &mut Html, f: &Finding) {
    let Some(health) = &f.health else { return };
    let unit = if health.unit == "1" { "" } else { health.unit };
    let mut text = format!(
        "{}: {} {unit} ± {}, with 95 % between {} and {}",
        health.what,
        figures(health.value),
        figures(0.5 * (health.high - health.low)),
        figures(health.low),
        figures(health.high)
    );
    if health.unit == "1" {
        let (off, side) = match health.value - 1.0 {
            more if more > 0.0 => (more, "more"),
            less => (-less, "less"),
        };
        text.push_str(&format!(
            " ({} of what it should be, {} {side})",
            percent_of(health.value),
            percent_of(off)
        ));
    }
    if let Some(pace) = health.per_month {
        match figures(pace) {
            none if none.trim_start_matches(['0', '.']).is_empty() => text.push_str("; steady"),
            pace => text.push_str(&format!("; {pace} {unit} a month")),
        }
    }
    h.put("p", &[("class", "evidence")], &text.replace("  ", " "));
}

/// The dates of a limit that is drawn forward, with how likely each is.
fn dates(h: &mut Html, sheet: &Sheet, f: &Finding) {
    let Some(limit) = f.limit.as_ref() else {
        return;
    };
    let passed = limit.reached(today(sheet.station(), sheet.one.judgement));
    let drawn = limit.earliest.is_some() || limit.latest.is_some();
    if !drawn || passed == Some(Reached::Surely) {
        return;
    }
    let by = |share: &str, day: Option<Date>| match day {
        Some(day) => format!("{share} by {}", date(day)),
        None => format!("less than {share} within two years"),
    };
    let said = format!(
        "{}: reached with {}, {}, {}; so with 90 % not before the first of these days, and with 80 % between the first and the last.",
        limit.what,
        by("10 %", limit.earliest),
        by("50 %", limit.likely),
        by("90 %", limit.latest)
    );
    h.put("p", &[("class", "evidence")], &said);
}

/// The probabilities of the causes, as they are before they are rounded.
fn causes(h: &mut Html, f: &Finding) {
    if f.causes.is_empty() {
        return;
    }
    let each: Vec<String> = f
        .causes
        .iter()
        .map(|c| format!("{} {}", c.cause, fixed(c.probability, 4)))
        .collect();
    let said = format!(
        "Causes, as probabilities: {}. What is above 0.99 is told as over 99 %.",
        each.join(", ")
    );
    h.put("p", &[("class", "evidence")], &said);
}

/// Steps of a working.
pub(super) fn steps(h: &mut Html, steps: &[Step]) {
    h.el("ol", &[("class", "steps")], |h| {
        for step in steps {
            h.el("li", &[], |h| {
                let unit = match step.unit.as_str() {
                    "1" | "-" => "",
                    unit => unit,
                };
                h.el("p", &[], |h| {
                    h.text(&format!("{} = ", step.name));
                    let value = match step.value {
                        // A count.
                        n if unit.is_empty() && n.fract().abs() < 1.0e-9 => grouped(n),
                        value => figures(value),
                    };
                    let value = format!("{value} {unit}");
                    h.put("b", &[], value.trim_end());
                });
                h.put("p", &[("class", "formula")], &step.formula);
                h.put("p", &[("class", "formula")], &step.numbers);
                h.put("p", &[("class", "q")], &format!("Source: {}", step.source));
            });
        }
    });
}

fn if_hot(h: &mut Html, sheet: &Sheet) {
    let (Some(machines), Some(asked)) = (&sheet.one.judgement.if_hot, sheet.report.if_hot) else {
        return;
    };
    let id = sheet.at("if-hot-working");
    let title = format!("Oil at {asked} outdoors");
    h.put(sheet.heading(2), &[("id", &id)], &title);
    let mut list = Vec::new();
    for m in machines {
        let Some(machine) = sheet.station().machines.get(m.machine) else {
            continue;
        };
        let (low, mid, high) = (m.oil.0 - 273.15, m.oil.1 - 273.15, m.oil.2 - 273.15);
        let sigma = (high - low) / 3.92;
        list.push(Step {
            name: format!("oil temperature of {}", machine.id),
            formula: "forward model at that weather with the health that the readings show"
                .to_owned(),
            numbers: format!(
                "{asked} outdoors; low {}, high {} °C, so σ = (high − low)/3.92 = {} K",
                fixed(low, 1),
                fixed(high, 1),
                fixed(sigma, 2)
            ),
            value: mid,
            unit: "degC".to_owned(),
            source: "the station file's values and the formulas below (derived)".to_owned(),
        });
        for (what, limit, p) in [
            ("warning", machine.oil.warn.si() - 273.15, m.p_warn),
            ("trip", machine.oil.trip.si() - 273.15, m.p_trip),
        ] {
            list.push(Step {
                name: format!("probability that {} reaches its {what}", machine.id),
                formula: "p = 1 − Φ((T_limit − T)/σ)".to_owned(),
                numbers: format!(
                    "T_limit = {} °C, T = {} °C; told as {}",
                    fixed(limit, 1),
                    fixed(mid, 1),
                    chance(p)
                ),
                value: p * 100.0,
                unit: "%".to_owned(),
                source: "normal distribution (derived)".to_owned(),
            });
        }
    }
    steps(h, &list);
}
