//! The working of what was expected at the last round: each point, each place, each machine's model.
//!
//! Must not know: findings.

use judge::{Band, Expectation, Outlook};
use station::model::Asset;
use station::point::Dimension;

use super::Sheet;
use super::expected::name;
use super::picture::is_drawn;
use super::working::steps;
use crate::air_line::drawn_in;
use crate::html::Html;
use crate::measure::Measure;
use crate::units::fixed;

/// Where the spread of a band comes from.
const BAND_SOURCE: &str = "JCGM 100:2008, first-order propagation through the model (published)";

/// The working of the table of expectations, and of the machines behind it.
pub(super) fn expectations(h: &mut Html, sheet: &Sheet) {
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
    wanted(h, sheet);
    read_alone(h, sheet);
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
                    // From a machine's air end to its outlet.
                    let fall = match place.asset {
                        Asset::Machine(i) => state.machines.get(i).and_then(Option::as_ref),
                        _ => None,
                    }
                    .map_or(place.drop.si(), |end| {
                        end.air_end.gauge(state.atmosphere).si() - place.pressure.si()
                    });
                    let (p, t, d) = (
                        pressure.write(place.pressure.si()),
                        temperature.write(place.temperature.si()),
                        temperature.write(place.dew_point.si()),
                    );
                    h.el("tr", &[], |h| {
                        h.put("th", &[("scope", "row")], sheet.station().id(place.asset));
                        for text in [
                            drop.write(fall),
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

/// Readings that the picture shows although nothing was expected of them.
fn read_alone(h: &mut Html, sheet: &Sheet) {
    let Some(last) = sheet.one.last_round else {
        return;
    };
    let expected = |id| sheet.one.judgement.expectations.iter().any(|e| e.id == id);
    let alone = last.read.iter().filter(|(id, _)| !expected(*id));
    let said: Vec<String> = alone
        .filter(|(id, _)| is_drawn(id.point))
        .map(|(id, value)| {
            let measure = Measure::of(id.point.dimension(), sheet.report.units);
            format!("{} {}", name(sheet, *id), measure.with_unit(*value))
        })
        .collect();
    if !said.is_empty() {
        let said = format!("Read, and not judged: {}.", said.join("; "));
        h.put("p", &[], &said);
    }
}

/// What the plant wants, beside which the line's pressures are drawn.
fn wanted(h: &mut Html, sheet: &Sheet) {
    let pressure = Measure::of(Dimension::GaugePressure, sheet.report.units);
    let temperature = Measure::of(Dimension::Temperature, sheet.report.units);
    let headers = sheet.station().headers.iter();
    let coldest = headers.clone().filter_map(|header| {
        let coldest = temperature.with_unit(header.coldest?.si());
        Some(format!(
            "the coldest pipe of {} gets to {coldest}",
            header.id
        ))
    });
    let wanted: Vec<String> = headers
        .filter_map(|header| {
            let wanted = pressure.with_unit(header.wanted?.si());
            Some(format!("{} wants {wanted}", header.id))
        })
        .chain(coldest)
        .collect();
    if !wanted.is_empty() {
        let said = format!("By the station file, {}.", wanted.join("; "));
        h.put("p", &[], &said);
    }
}

/// The air that is drawn in, and each running machine's air end, before its separator and its cooler.
fn air_ends(h: &mut Html, sheet: &Sheet, outlook: &Outlook) {
    let state = &outlook.state;
    let pressure = Measure::of(Dimension::GaugePressure, sheet.report.units);
    let temperature = Measure::of(Dimension::Temperature, sheet.report.units);
    if let Some(dew_point) = drawn_in(state) {
        h.el("tr", &[], |h| {
            h.put("th", &[("scope", "row")], "intake, room air");
            let (room, dew) = (state.room.si(), temperature.write(dew_point));
            for text in ["", "", "", &temperature.write(room), &dew, "", ""] {
                h.put("td", &[("class", "n")], text);
            }
        });
    }
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
