//! The working: every number of the page with its formula, the numbers put in, and its source.
//!
//! Must not know: how a step is made.

use judge::{Band, Expectation, Finding, Outlook};
use physics::working::Step;
use station::point::Dimension;

use super::expected::name;
use super::phrase::{currency, figures, percent_of};
use super::summary::total;
use super::{Sheet, plate};
use crate::html::Html;
use crate::measure::Measure;
use crate::units::fixed;

/// Where the spread of a band comes from.
const BAND_SOURCE: &str = "JCGM 100:2008, first-order propagation through the model (published)";

pub(super) fn of(h: &mut Html, sheet: &Sheet) {
    let judgement = sheet.one.judgement;
    if judgement.findings.is_empty() && judgement.expectations.is_empty() {
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
            h.put(sheet.heading(2), &[("id", &id)], "The cost of a year in all");
            steps(h, &[total.step()]);
        }
        if_hot(h, sheet);
        expectations(h, sheet);
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
        let facts = plate::of(sheet.station(), f.subject, sheet.units());
        if !facts.is_empty() {
            let from = format!("From the station file: {}.", facts.join(", "));
            h.put("p", &[("class", "evidence")], &from);
        }
        health(h, f);
        steps(h, &f.working);
    });
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
        "{}: {} {unit}, with 95 % between {} and {}",
        health.what,
        figures(health.value),
        figures(health.low),
        figures(health.high)
    );
    if health.unit == "1" {
        text.push_str(&format!(" ({} of clean)", percent_of(health.value)));
    }
    if let Some(pace) = health.per_month {
        text.push_str(&format!("; {} {unit} a month", figures(pace)));
    }
    h.put("p", &[("class", "evidence")], &text.replace(" ,", ","));
}

/// Steps of a working.
fn steps(h: &mut Html, steps: &[Step]) {
    h.el("ol", &[("class", "steps")], |h| {
        for step in steps {
            h.el("li", &[], |h| {
                let unit = match step.unit.as_str() {
                    "1" | "-" => "",
                    unit => unit,
                };
                h.el("p", &[], |h| {
                    h.text(&format!("{} = ", step.name));
                    let value = format!("{} {unit}", figures(step.value));
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
                numbers: format!("T_limit = {} °C, T = {} °C", fixed(limit, 1), fixed(mid, 1)),
                value: p * 100.0,
                unit: "%".to_owned(),
                source: "normal distribution (derived)".to_owned(),
            });
        }
    }
    steps(h, &list);
}

/// The working of the table of expectations, and of the machines behind it.
fn expectations(h: &mut Html, sheet: &Sheet) {
    let id = sheet.at("expected-working");
    let list = &sheet.one.judgement.expectations;
    if !list.is_empty() || sheet.one.last_round.is_some() {
        h.put(
            sheet.heading(2),
            &[("id", &id)],
            "What was expected at the last round",
        );
    }
    if let Some(last) = sheet.one.last_round {
        let state = &last.outlook.state;
        h.put(
            "p",
            &[],
            &format!(
                "Forward model, as new, at the round's conditions: air to the coolers {}, atmosphere {}. Formulas and numbers of each place and machine stand below.",
                sheet.units().fine_temperature(state.room.si()),
                sheet.units().absolute(state.atmosphere.si())
            ),
        );
    }
    if !list.is_empty() {
        h.put(
            "p",
            &[("class", "formula")],
            "σ² = Σ (∂y/∂x · σ_x)² + σ_instrument² + σ_model²; low, high = y ∓ 1.96 σ; deviations = (read − y)/σ",
        );
        h.put("p", &[("class", "q")], &format!("Source: {BAND_SOURCE}"));
        h.el("ol", &[("class", "steps")], |h| {
            for (i, e) in list.iter().enumerate() {
                one(h, sheet, i, e);
            }
        });
    }
    let Some(last) = sheet.one.last_round else {
        return;
    };
    places(h, sheet, &last.outlook);
    let machines = last.outlook.machines.iter().zip(&sheet.station().machines);
    for (i, (outlook, machine)) in machines.enumerate() {
        if let Some(outlook) = outlook {
            let id = sheet.at(&format!("m{i}-working"));
            let title = format!("The model of {}, as new, at the last round", machine.id);
            h.put(sheet.heading(3), &[("id", &id)], &title);
            steps(h, &outlook.working);
        }
    }
}

/// Each place behind the machines: what comes in, what it takes, what goes out.
fn places(h: &mut Html, sheet: &Sheet, outlook: &Outlook) {
    let state = &outlook.state;
    if state.places.is_empty() {
        return;
    }
    let pressure = Measure::of(Dimension::GaugePressure, sheet.report.units);
    let drop = Measure::of(Dimension::PressureDifference, sheet.report.units);
    let temperature = Measure::of(Dimension::Temperature, sheet.report.units);
    let water = Measure::of(Dimension::Litres, sheet.report.units);
    let id = sheet.at("places-working");
    h.put(
        sheet.heading(3),
        &[("id", &id)],
        "Place by place along the air path",
    );
    h.put(
        "p",
        &[("class", "formula")],
        "pressure out = pressure in − Δp; dew point: p_w = φ f p_ws(t) at the pressure out; water = liquid that falls out here while loaded · duty · 86 400 s",
    );
    h.put(
        "p",
        &[("class", "q")],
        "Source: pressures in series, mass balance of water (derived); saturation as in the machines' workings (published). ± is one standard deviation.",
    );
    h.el("div", &[("class", "wide")], |h| {
        h.el("table", &[], |h| {
            h.el("thead", &[], |h| {
                h.el("tr", &[], |h| {
                    h.put("th", &[("scope", "col")], "place");
                    for (name, unit) in [
                        ("Δp", drop.unit),
                        ("pressure out", pressure.unit),
                        ("air in", temperature.unit),
                        ("air out", temperature.unit),
                        ("dew point", temperature.unit),
                        ("duty", ""),
                        ("water a day", water.unit),
                    ] {
                        let name = format!("{name}, {unit}");
                        let name = name.trim_end_matches(", ");
                        h.put("th", &[("scope", "col"), ("class", "n")], name);
                    }
                });
            });
            h.el("tbody", &[], |h| {
                for place in &state.places {
                    let band = outlook.places.iter().find(|p| p.asset == place.asset);
                    let with = |text: String, band: Option<&Band>, measure: &Measure| match band {
                        Some(b) => format!("{text} ± {}", measure.write_difference(b.sigma)),
                        None => text,
                    };
                    let (p, t, d) = (
                        pressure.write(place.pressure.si()),
                        temperature.write(place.temperature.si()),
                        temperature.write(place.dew_point.si()),
                    );
                    h.el("tr", &[], |h| {
                        h.put("th", &[("scope", "row")], sheet.station().id(place.asset));
                        for text in [
                            drop.write(place.drop.si()),
                            with(p, band.map(|b| &b.pressure), &pressure),
                            temperature.write(place.inlet_temperature.si()),
                            with(t, band.map(|b| &b.temperature), &temperature),
                            with(d, band.map(|b| &b.dew_point), &temperature),
                            fixed(place.duty, 2),
                            water.write(place.falls_kg_s * place.duty * 86_400.0),
                        ] {
                            h.put("td", &[("class", "n")], &text);
                        }
                    });
                }
            });
        });
    });
}

fn one(h: &mut Html, sheet: &Sheet, i: usize, e: &Expectation) {
    let measure = Measure::of(e.id.point.dimension(), sheet.report.units);
    let sigma = (e.high - e.low) / 3.92;
    let difference = if measure.unit == "°C" {
        "K"
    } else {
        measure.unit
    };
    h.el("li", &[("id", &sheet.at(&format!("x{i}")))], |h| {
        h.el("p", &[], |h| {
            h.text(&format!("{}: ", name(sheet, e.id)));
            h.put("b", &[], &format!("{} expected", measure.with_unit(e.mid)));
            let mut text = format!(", σ = {} {difference}", measure.write_difference(sigma));
            if let Some(mostly) = &e.mostly {
                text.push_str(&format!(", mostly from: {mostly}"));
            }
            h.text(text.trim_end());
        });
        h.put(
            "p",
            &[("class", "formula")],
            &format!(
                "({} − {}) / {} = {}",
                measure.write(e.read),
                measure.write(e.mid),
                measure.write_difference(sigma),
                fixed(e.deviations, 1)
            ),
        );
        if let station::model::Asset::Machine(m) = e.id.asset {
            let running = sheet.one.last_round.and_then(|l| l.outlook.machines.get(m));
            if matches!(running, Some(Some(_))) {
                h.el("p", &[], |h| {
                    h.link(&sheet.at(&format!("m{m}-working")), "its machine's model")
                });
            }
        }
    });
}
