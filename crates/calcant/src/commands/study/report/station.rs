//! Figures of all machines together, each with its working: energy, cost, carbon, air, storage,
//! leakage and what it costs a year.
//!
//! Must not know: how a figure is drawn or laid out.

use ::report::{Fact, Figure};
use ::station::model::{Asset, Station};
use ::station::point::{Point, PointId};
use ::study::{Band95, Channel, Leakage, Study, plain};
use judge::Kind as Finding;
use judge::cost::{Priced, Use, Year};
use judge::say::{Units, grouped, percent, round};
use physics::quantity::Temperature;
use physics::working::Step;

use super::shown::{AIR, FLOW, PER_AIR, SPECIFIC, STORAGE, step};
use super::{Put, id_of};

/// Hours of a mean year.
const YEAR_H: f64 = 8766.0;
/// Leakage below this share of capacity is well kept (published: US DOE, Improving Compressed Air
/// System Performance: a Sourcebook for Industry, section on leaks: below 10 %).
const WELL_KEPT: f64 = 0.10;
/// Where the station file tells no climate (common practice, no source).
const MILD: (f64, f64) = (288.15, 0.7);
const MODEL: &str =
    "the forward model of the station file at the log's pressure and weather (derived)";

/// All of it.
pub(super) fn figures(put: &mut Put<'_>) {
    energy(put);
    air(put);
    storage(put);
    leakage(put);
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

fn leakage(put: &mut Put<'_>) {
    let (study, units) = (put.study, put.units);
    for (n, leak) in study.leakage.iter().enumerate() {
        let per_minute = leak.m3_s.times(60.0);
        let mut steps = leak.working.clone();
        steps.push(FLOW.interval(
            per_minute,
            &format!(
                "from the scatter of {} hours, cycles or falls, and what the way leans on",
                grouped(leak.count as f64)
            ),
            "first-order propagation, JCGM 100:2008 (published)",
        ));
        let values = [per_minute.mid, per_minute.low, per_minute.high];
        steps.extend(FLOW.converted(units, &values));
        let what = format!("leakage by {}", leak.method.text());
        let says = FLOW.span(units, per_minute);
        put.figure(&format!("leak-{n}"), &what, says, steps);
    }
    if let Some(cost) = leak_year(put.station, study, units) {
        put.figure(
            "leak-year",
            "what the leakage costs a year",
            cost.says,
            cost.steps,
        );
    }
}

/// What the leakage costs a year.
struct LeakYear {
    money: String,
    says: String,
    flow: String,
    share: f64,
    steps: Vec<Step>,
}

/// The way with the narrowest interval, as findings take it.
fn best(study: &Study) -> Option<&Leakage> {
    let width = |l: &&Leakage| (l.m3_s.high - l.m3_s.low) / l.m3_s.mid.max(1e-9);
    let known = study.leakage.iter().filter(|l| l.m3_s.mid > 0.0);
    known.min_by(|a, b| width(a).total_cmp(&width(b)))
}

fn leak_year(station: &Station, study: &Study, units: Units) -> Option<LeakYear> {
    let leak = best(study)?;
    let flow = 60.0 * leak.m3_s.mid;
    let capacity: f64 = station
        .machines
        .iter()
        .map(|m| m.rated.fad.value.si())
        .sum();
    let share = leak.m3_s.mid / capacity.max(1e-9);
    let mut steps = vec![step(
        "leakage over what the machines can deliver",
        "V_leak/Σ V_rated",
        format!(
            "{} m³/min, by {}, of {} m³/min",
            round(flow, 2),
            leak.method.text(),
            round(60.0 * capacity, 2)
        ),
        (100.0 * share, "%"),
        "definition; below 10 % in a well kept system, 20 to 30 % in a poor one (DOE Sourcebook) (published)",
    )];
    steps.extend(FLOW.converted(units, &[flow]));
    // A finding has priced it already; the same sum must stand in both places.
    let told = study.findings.iter().find(|f| f.kind == Finding::Leakage);
    let cost = match told {
        Some(f) => {
            let sums = f.working.iter().filter(|s| s.name.contains("year"));
            steps.extend(sums.cloned());
            f.cost.clone()
        }
        None => {
            let Priced {
                cost, steps: more, ..
            } = priced(station, study, leak.m3_s)?;
            steps.extend(more);
            cost
        }
    };
    let currency = station
        .site
        .price
        .as_ref()
        .map_or("", |p| p.currency.as_str());
    let kwh = cost.kwh_per_year?;
    let (money, says) = match cost.per_year {
        Some(money) => {
            let money = format!("{} {currency}", grouped(money));
            let says = format!("{money} a year, {} kWh", grouped(kwh));
            (money, says)
        }
        None => {
            let kwh = format!("{} kWh", grouped(kwh));
            let says = format!("{kwh} a year");
            (kwh, says)
        }
    };
    Some(LeakYear {
        money,
        says,
        flow: FLOW.said(units, flow),
        share,
        steps,
    })
}

/// The yearly model that findings are priced by, run as the machines ran in the log.
fn priced(station: &Station, study: &Study, leak: Band95) -> Option<Priced> {
    let uses: Vec<Use> = (0..station.machines.len())
        .map(|i| {
            let logged = study.machines.iter().find(|m| m.machine == i);
            let covered = logged.map_or(0.0, |m| m.totals.hours.iter().sum::<f64>());
            let [_, unloaded, loaded] = logged.map_or([0.0; 3], |m| plain(&m.totals.hours));
            let run = (unloaded + loaded) / covered.max(1e-9);
            Use {
                hours: YEAR_H * run,
                from: "as in the log".to_owned(),
                duty: logged
                    .and_then(|m| m.totals.duty)
                    .unwrap_or(0.5)
                    .clamp(0.02, 1.0),
                hours_a_day: Some(24.0 * run),
            }
        })
        .collect();
    let hours = uses.iter().map(|u| u.hours).fold(0.0, f64::max);
    let ambient = mean(study, Point::SiteAmbient).unwrap_or(MILD.0);
    let humidity = mean(study, Point::SiteHumidity).unwrap_or(MILD.1);
    Year::from_uses(station, uses, Temperature::new(ambient), humidity).of_air(
        station,
        leak.mid,
        Some(hours),
    )
}

/// The mean of a channel of the site over the log.
fn mean(study: &Study, point: Point) -> Option<f64> {
    let asset = Asset::Site;
    let channel = Channel::Point(PointId { asset, point });
    let days = &study.channels.iter().find(|c| c.channel == channel)?.days;
    let count: f64 = days.iter().map(|d| d.count as f64).sum();
    let sum: f64 = days.iter().map(|d| d.count as f64 * d.mean).sum();
    (count > 0.0).then(|| sum / count)
}

/// What to look at where no finding asks for work.
pub(super) fn nothing_found(
    station: &Station,
    study: &Study,
    units: Units,
) -> Option<(String, String)> {
    let leak = leak_year(station, study, units)?;
    let said = format!(
        "No finding asks for work. Most is to be had from the {} that are drawn off-shift: ask what has to run at night, shut it off for one night, then walk the plant at rest and listen for leaks",
        leak.flow
    );
    Some((said, "leak-year".to_owned()))
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
    if let Some(leak) = leak_year(station, study, units) {
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
