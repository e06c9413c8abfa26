//! The working: every number of the page with its formula, the numbers put in, and its source.
//!
//! Must not know: how a step is made.

use judge::safety::energy_steps;
use judge::say::grouped;
use judge::{Band, Drift, Expectation, Finding, Outlook};
use physics::working::Step;
use station::model::Asset;
use station::point::Dimension;

use super::expected::name;
use super::finding::{shown, written_out};
use super::phrase::{chance, currency, day, figures, percent_of};
use super::summary::total;
use super::{Sheet, logged, plate};
use crate::html::Html;
use crate::measure::Measure;
use crate::units::{Units, fixed};

/// Where the spread of a band comes from.
const BAND_SOURCE: &str = "JCGM 100:2008, first-order propagation through the model (published)";

pub(super) fn of(h: &mut Html, sheet: &Sheet) {
    let judgement = sheet.one.judgement;
    let nothing = judgement.findings.is_empty() && judgement.expectations.is_empty();
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
        drifts(h, sheet);
        logged::workings(h, sheet);
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
        let mut facts = plate::of(sheet.station(), f.subject, sheet.units());
        facts.extend(plate::outage(sheet.station(), f));
        if !facts.is_empty() {
            let from = format!("From the station file: {}.", facts.join(", "));
            h.put("p", &[("class", "evidence")], &from);
        }
        health(h, f);
        causes(h, f);
        steps(h, &f.working);
        more(h, sheet, n, f);
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
        "{}: {} {unit} ± {}, with 95 % between {} and {}",
        health.what,
        figures(health.value),
        figures(0.5 * (health.high - health.low)),
        figures(health.low),
        figures(health.high)
    );
    if health.unit == "1" {
        text.push_str(&format!(" ({} of clean)", percent_of(health.value)));
    }
    if let Some(pace) = health.per_month {
        text.push_str(&format!("; {} {unit} a month", figures(pace)));
    }
    h.put("p", &[("class", "evidence")], &text.replace("  ", " "));
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

/// Steps for what the page says beside the finding's own sentences: the energy that is isolated, and
/// how its picture comes about.
fn more(h: &mut Html, sheet: &Sheet, n: usize, f: &Finding) {
    let station = sheet.station();
    let mut list = Vec::new();
    let isolates = f.isolate && written_out(sheet, n, f).is_none();
    if let (Asset::Machine(i), true) = (f.subject, isolates) {
        let told = |s: &Step| f.working.iter().any(|w| w.numbers == s.numbers);
        list.extend(energy_steps(station, i).into_iter().filter(|s| !told(s)));
        list.push(lid(sheet.report.units));
    }
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
                name(sheet, chart.id),
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
fn drifts(h: &mut Html, sheet: &Sheet) {
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
            "σ² = Σ (∂y/∂x · σ_x)² + σ_instrument² + σ_model²; low, high = y ∓ 1.96 σ, which holds 95 %; deviations = (read − y)/σ",
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
                air_ends(h, sheet, outlook);
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

/// Each running machine's air end, before its separator and its cooler.
fn air_ends(h: &mut Html, sheet: &Sheet, outlook: &Outlook) {
    let state = &outlook.state;
    let pressure = Measure::of(Dimension::GaugePressure, sheet.report.units);
    let temperature = Measure::of(Dimension::Temperature, sheet.report.units);
    let machines = state.machines.iter().zip(&sheet.station().machines);
    for (end, machine) in machines.filter_map(|(end, m)| Some((end.as_ref()?, m))) {
        let oil = end.oil_temperature.map(|t| temperature.write(t.si()));
        h.el("tr", &[], |h| {
            let name = format!("{}, air end", machine.id);
            h.put("th", &[("scope", "row")], &name);
            for text in [
                String::new(),
                pressure.write(end.air_end.gauge(state.atmosphere).si()),
                temperature.write(state.room.si()),
                oil.unwrap_or_default(),
                temperature.write(end.oil_dew_point.si()),
                String::new(),
                String::new(),
            ] {
                h.put("td", &[("class", "n")], &text);
            }
        });
    }
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
            let mut text = format!(
                " ± {}, that is {} to {}; σ = {} {difference}",
                measure.write_difference(1.96 * sigma),
                measure.write(e.low),
                measure.write(e.high),
                measure.write_difference(sigma)
            );
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
        if let Asset::Machine(m) = e.id.asset {
            let running = sheet.one.last_round.and_then(|l| l.outlook.machines.get(m));
            if matches!(running, Some(Some(_))) {
                h.el("p", &[], |h| {
                    h.link(&sheet.at(&format!("m{m}-working")), "its machine's model")
                });
            }
        }
    });
}
