//! Figures of all machines together, each with its working: energy, cost, carbon, air, storage; and
//! what an owner reads first.
//!
//! Must not know: how a figure is drawn or laid out.

use ::report::{Fact, Figure};
use ::station::model::Station;
use ::study::{Study, plain};
use judge::say::{Units, grouped, percent, round};

use super::shown::{AIR, PER_AIR, SPECIFIC, STORAGE, step};
use super::{Put, id_of, leaks};

/// Leakage below this share of capacity is well kept (published: US DOE, Improving Compressed Air
/// System Performance: a Sourcebook for Industry, section on leaks: below 10 %).
const WELL_KEPT: f64 = 0.10;
const MODEL: &str =
    "the forward model of the station file at the log's pressure and weather (derived)";

/// All of it.
pub(super) fn figures(put: &mut Put<'_>) {
    energy(put);
    air(put);
    storage(put);
    leaks::figures(put);
}

fn kwh(study: &Study) -> f64 {
    study.station.kwh.iter().sum()
}

/// The hours that were logged of the machine with most of them.
fn hours(study: &Study) -> f64 {
    let each = study.machines.iter();
    each.map(|m| m.totals.hours.iter().sum::<f64>())
        .fold(0.0, f64::max)
}

fn energy(put: &mut Put<'_>) {
    let (station, study) = (put.station, put.study);
    let all = kwh(study);
    if all <= 0.0 {
        return;
    }
    let read = || study.machines.iter().filter(|m| m.energy_read);
    let parts: Vec<String> = read()
        .map(|m| {
            let kwh: f64 = m.totals.kwh.iter().sum();
            format!("{} {} kWh", id_of(station, m.machine), grouped(kwh))
        })
        .collect();
    let rows: u64 = read().map(|m| put.readings(m.machine)).sum();
    let sum = step(
        "energy of all machines",
        "E = Σ over machines of Σ ½ (Pᵢ + Pᵢ₊₁) Δt",
        format!(
            "{} from {} readings in {} h",
            parts.join(" + "),
            grouped(rows as f64),
            round(hours(study), 1)
        ),
        (all, "kWh"),
        "trapezoids between readings; gaps add nothing (derived)",
    );
    put.figure(
        "energy",
        "energy",
        format!("{} kWh", grouped(all)),
        vec![sum],
    );
    if let (Some(cost), Some(price)) = (study.station.cost, &station.site.price) {
        let working = step(
            "what that energy costs",
            "cost = E · price",
            format!(
                "{} kWh · {} {}/kWh",
                grouped(all),
                price.energy_per_kwh,
                price.currency
            ),
            (cost, &price.currency),
            "`site.price` of the station file",
        );
        let says = format!("{} {}", grouped(cost), price.currency);
        put.figure("cost", "its cost", says, vec![working]);
    }
    if let (Some(kg), Some(each)) = (study.station.carbon_kg, station.site.carbon_kg_per_kwh) {
        let working = step(
            "carbon of that energy",
            "m = E · carbon",
            format!("{} kWh · {each} kg/kWh", grouped(all)),
            (kg, "kg CO₂e"),
            "`site.carbon` of the station file",
        );
        put.figure(
            "carbon",
            "its carbon",
            format!("{} kg CO₂e", grouped(kg)),
            vec![working],
        );
    }
    idle(put, all);
}

/// Energy that goes in while no air is delivered.
fn idle(put: &mut Put<'_>, all: f64) {
    let [stopped, unloaded, _] = plain(&put.study.station.kwh);
    let (idle, share) = (stopped + unloaded, (stopped + unloaded) / all);
    let working = step(
        "share of the energy that goes in while no air is delivered",
        "(E_unloaded + E_blowing down + E_stopped)/E",
        format!("{} kWh of {} kWh", grouped(idle), grouped(all)),
        (100.0 * share, "%"),
        "the states of the log (derived)",
    );
    let says = format!("{} kWh, {}", grouped(idle), percent(share));
    put.figure(
        "idle",
        "energy while no air is delivered",
        says,
        vec![working],
    );
}

fn air(put: &mut Put<'_>) {
    let (station, study, units) = (put.station, put.study, put.units);
    let Some(air) = study.station.delivered_m3.filter(|air| air.mid > 0.0) else {
        return;
    };
    let (formula, numbers, source, from) = if study.station.measured {
        (
            "V = Σ V̇ Δt, over the time that was logged, as air of 20 °C, 1 bar(a), dry",
            format!(
                "the header's flow as read, {} rows",
                grouped(study.rows as f64)
            ),
            "as read",
            "the meter's 3.5 %, one standard deviation",
        )
    } else {
        let each = study.machines.iter().filter_map(|m| {
            let m3 = m.totals.whole.delivered_m3?.mid;
            Some(format!("{} {} m³", id_of(station, m.machine), grouped(m3)))
        });
        (
            "V = Σ over machines of time on load · share of full delivery · delivery, as air of 20 °C, 1 bar(a), dry",
            each.collect::<Vec<_>>().join(" + "),
            MODEL,
            "from the rated delivery, the share of it and the weather of each machine",
        )
    };
    let mut steps = vec![
        step(
            "air delivered",
            formula,
            numbers,
            (air.mid, AIR.unit()),
            source,
        ),
        AIR.interval(
            air,
            from,
            "first-order propagation, JCGM 100:2008 (published)",
        ),
    ];
    steps.extend(AIR.converted(units, &[air.mid, air.low, air.high]));
    let says = format!("{}, as reference air", AIR.span(units, air));
    put.figure("air", "air delivered", says, steps);
    let all = kwh(study);
    if let Some(each) = study.station.specific_energy_kwh_m3 {
        let mut steps = vec![step(
            "energy for the air delivered",
            "e = E/V",
            format!("{} kWh/{} m³", grouped(all), grouped(air.mid)),
            (each, PER_AIR.unit()),
            "definition (derived)",
        )];
        steps.extend(PER_AIR.converted(units, &[each]));
        let says = PER_AIR.said(units, each);
        put.figure("per-air", "energy for the air delivered", says, steps);
    }
    if let Some(power) = study.station.specific_power_kw_min_m3 {
        let mut steps = vec![step(
            "mean power over mean delivery",
            "60 E/V",
            format!("60 · {} kWh/{} m³", grouped(all), grouped(air.mid)),
            (power, SPECIFIC.unit()),
            "definition (derived)",
        )];
        steps.extend(SPECIFIC.converted(units, &[power]));
        let says = SPECIFIC.said(units, power);
        put.figure("specific", "mean power over mean delivery", says, steps);
    }
}

fn storage(put: &mut Put<'_>) {
    let (study, units) = (put.study, put.units);
    let Some(found) = &study.storage else { return };
    let mut steps = found.working.clone();
    steps.push(STORAGE.interval(
        found.m3,
        &format!(
            "from the scatter of {} pairs, the delivery and the stored air's 20 ± 5 °C",
            grouped(found.pairs as f64)
        ),
        "first-order propagation, JCGM 100:2008 (published)",
    ));
    let mut values = vec![found.m3.mid, found.m3.low, found.m3.high];
    let stated = found.stated_m3.map_or_else(String::new, |m3| {
        steps.push(step(
            "the storage that is told",
            "Σ volume of vessels and headers",
            STORAGE.said(Units::Si, m3),
            (m3, STORAGE.unit()),
            "the station file",
        ));
        values.push(m3);
        format!("; the station file says {}", STORAGE.number(units, m3))
    });
    steps.extend(STORAGE.converted(units, &values));
    let says = format!("{}{stated}", STORAGE.span(units, found.m3));
    put.figure("storage", "storage that the slopes show", says, steps);
}

/// What an owner reads first.
pub(super) fn facts(
    station: &Station,
    study: &Study,
    figures: &[Figure],
    units: Units,
) -> Vec<Fact> {
    let says = |key: &str| {
        figures
            .iter()
            .find(|f| f.key == key)
            .map(|f| f.says.clone())
    };
    let mut facts = Vec::new();
    if let Some(energy) = says("energy") {
        let logged = format!("in the {} h that were logged", round(hours(study), 0));
        facts.push(match says("cost") {
            Some(cost) => Fact {
                says: cost,
                what: format!("for {energy} {logged}"),
                figures: vec!["cost".to_owned(), "energy".to_owned()],
            },
            None => Fact {
                says: energy,
                what: format!("of electricity {logged}"),
                figures: vec!["energy".to_owned()],
            },
        });
    }
    if let Some(leak) = leaks::leak_year(station, study, units) {
        let kept = if leak.share < WELL_KEPT {
            "under 10 % is well kept"
        } else {
            "well kept is under 10 %"
        };
        facts.push(Fact {
            says: leak.money,
            what: format!(
                "a year goes into leakage, if all the {} that are drawn off-shift leak: {} of what the machines can deliver, {kept}",
                leak.flow,
                percent(leak.share)
            ),
            figures: vec!["leak-year".to_owned()],
        });
    }
    let [stopped, unloaded, _] = plain(&study.station.kwh);
    let all = kwh(study);
    if all > 0.0 {
        facts.push(Fact {
            says: percent((stopped + unloaded) / all),
            what: "of the energy goes in while no air is delivered".to_owned(),
            figures: vec!["idle".to_owned()],
        });
    }
    facts
}
