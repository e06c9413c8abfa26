//! The expected state as text for people.
//!
//! Must not know: formulas.

use std::fmt::Write as _;

use judge::say::{Units, round};
use judge::{Band, MachineOutlook, Outlook};
use physics::air::water_class_iso_8573_1_2010;
use physics::quantity::{CUBIC_FOOT_M3, Temperature};
use station::forward::{Conditions, PlaceState};
use station::model::Station;

use super::cycles;
use crate::args::ExpectArgs;
use crate::commands::judge::text::unit_in_text;
use crate::layout::{figures, wrap};

/// A dew point that is met exactly must not fall into the next class, K.
const HAIR_K: f64 = 1.0e-6;

pub(super) fn of(
    station: &Station,
    conditions: &Conditions,
    outlook: &Outlook,
    args: &ExpectArgs,
) -> String {
    let units: Units = args.units.into();
    let mut text = String::new();
    let _ = writeln!(text, "{}, as it should be", station.site.name);
    let _ = writeln!(
        text,
        "{} and {} % humidity outdoors, {} at the coolers, atmosphere {}\n",
        units.temperature(conditions.ambient.si()),
        round(conditions.humidity * 100.0, 0),
        units.temperature(outlook.state.room.si()),
        units.absolute(conditions.atmosphere.si()),
    );
    if outlook.state.places.is_empty() {
        let _ = writeln!(
            text,
            "No machine runs: there is no flow to expect anything of."
        );
        return text;
    }
    places(&mut text, station, outlook, units);
    for (i, machine) in outlook.machines.iter().enumerate() {
        match machine {
            Some(machine) => {
                let duty = conditions.machines[i].duty;
                of_machine(&mut text, station, i, machine, duty, units);
                if args.working {
                    working(&mut text, machine);
                }
            }
            None => {
                let _ = writeln!(text, "{} does not run\n", station.machines[i].id);
            }
        }
    }
    drains(&mut text, station, outlook, units);
    text
}

fn places(text: &mut String, station: &Station, outlook: &Outlook, units: Units) {
    let head = [
        "place",
        "pressure",
        "temperature",
        "dew point",
        "free air",
        "falls out",
        "a day",
        "class",
    ];
    let mut rows = vec![head.map(str::to_owned)];
    for (place, bands) in outlook.state.places.iter().zip(&outlook.places) {
        let litres_h = place.falls_kg_s * 3600.0;
        rows.push([
            station.id(place.asset).to_owned(),
            units.gauge(place.pressure.si()),
            with_band(
                units.fine_temperature(place.temperature.si()),
                &bands.temperature,
                units,
            ),
            with_band(
                units.fine_temperature(place.dew_point.si()),
                &bands.dew_point,
                units,
            ),
            units.flow(place.free_air.si()),
            per(litres_h, "h", units),
            per(litres_h * 24.0 * place.duty, "day", units),
            class(place, &bands.dew_point) + carried(place),
        ]);
    }
    let widths: Vec<usize> = (0..head.len())
        .map(|c| rows.iter().map(|r| r[c].chars().count()).max().unwrap_or(0))
        .collect();
    for row in rows {
        let line = row
            .iter()
            .zip(&widths)
            .enumerate()
            .map(|(column, (cell, &width))| match column {
                // Ids, values with a band and words stand left; plain numbers right.
                0 | 2 | 3 | 7 => format!("{cell:width$}"),
                _ => format!("{cell:>width$}"),
            })
            .collect::<Vec<_>>()
            .join("  ");
        let _ = writeln!(text, "{}", line.trim_end());
    }
    let _ = writeln!(
        text,
        "\nValues hold at each outlet while loaded; class is water by ISO 8573-1:2010.\n"
    );
}

fn with_band(value: String, band: &Band, units: Units) -> String {
    if band.sigma < 0.03 {
        return value;
    }
    format!("{value} ± {}", units.half_kelvins(1.96 * band.sigma))
}

/// The class of water, or the two classes that the band of the dew point spans.
fn class(place: &PlaceState, dew_point: &Band) -> String {
    let mid = place.water_class.to_string();
    if place.liquid > 0.0 {
        return mid;
    }
    let at = |kelvin: f64| {
        water_class_iso_8573_1_2010(Some(Temperature::new(kelvin)), 0.0)
            .map_or_else(|_| mid.clone(), |class| class.to_string())
    };
    let (driest, wettest) = (at(dew_point.low() - HAIR_K), at(dew_point.high() - HAIR_K));
    if driest == wettest {
        mid
    } else if driest == mid || wettest == mid {
        format!("{driest} or {wettest}")
    } else {
        format!("{driest} to {wettest}")
    }
}

fn per(litres: f64, unit: &str, units: Units) -> String {
    if litres < 0.005 {
        "-".to_owned()
    } else {
        format!("{}/{unit}", units.litres(litres))
    }
}

fn carried(place: &PlaceState) -> &'static str {
    if place.liquid > 1.0e-6 { ", wet" } else { "" }
}

fn of_machine(
    text: &mut String,
    station: &Station,
    i: usize,
    m: &MachineOutlook,
    duty: f64,
    units: Units,
) {
    let machine = &station.machines[i];
    let on = if cycles(&machine.control) {
        "duty"
    } else {
        "share of full flow"
    };
    let _ = writeln!(
        text,
        "{} on load, {on} {}; 95 % bands in brackets",
        machine.id,
        round(duty, 2)
    );
    let mut line = |name: &str, value: String| {
        let _ = writeln!(text, "  {name:34} {value}");
    };
    let band = |b: &Band, show: &dyn Fn(f64) -> String| {
        let low = show(b.low());
        // One unit is enough: the number is what stands before the first space.
        let low = low.split(' ').next().unwrap_or(&low);
        format!("{} ({low} to {})", show(b.mid), show(b.high()))
    };
    if let Some(oil) = &m.oil {
        line("oil temperature", band(oil, &|k| units.fine_temperature(k)));
        line("  warning", units.temperature(machine.oil.warn.si()));
        line(
            "  water stays in the oil below",
            format!(
                "{}, keep {} above it",
                units.fine_temperature(m.oil_dew_point),
                units.kelvins(5.0)
            ),
        );
        if let Some(hot) = m.design_hot_oil {
            line("  on the design-hot day", units.fine_temperature(hot));
        }
    }
    line(
        "outlet temperature",
        band(&m.outlet, &|k| units.fine_temperature(k)),
    );
    line("power", band(&m.power, &|w| units.power(w)));
    line("free air delivered", band(&m.free_air, &|q| units.flow(q)));
    line(
        "specific power",
        band(&m.specific_power, &|p| match units {
            Units::Si => format!("{} kW/(m³/min)", round(p, 2)),
            Units::Us => format!("{} kW/100 cfm", round(p * 100.0 * CUBIC_FOOT_M3, 1)),
        }),
    );
    text.push('\n');
}

fn working(text: &mut String, m: &MachineOutlook) {
    for step in &m.working {
        wrap(
            text,
            "    ",
            6,
            format!(
                "{} = {} {}",
                step.name,
                figures(step.value),
                unit_in_text(&step.unit)
            )
            .trim_end(),
        );
        wrap(text, "      ", 8, &step.formula);
        wrap(text, "      ", 8, &step.numbers);
        wrap(text, "      ", 8, &format!("source: {}", step.source));
    }
    text.push('\n');
}

fn drains(text: &mut String, station: &Station, outlook: &Outlook, units: Units) {
    for owed in &outlook.state.owed {
        let ids: Vec<&str> = owed
            .drains
            .iter()
            .map(|&d| station.drains[d].id.as_str())
            .collect();
        let litres_h = owed.kg_s * 3600.0;
        let _ = writeln!(
            text,
            "{} owes {}, {}",
            ids.join(" and "),
            per(litres_h, "h", units),
            per(litres_h * 24.0 * owed.duty, "day", units)
        );
    }
}
