//! The leakage with its workings, and what it costs a year.
//!
//! Must not know: how a figure is drawn or laid out.

use ::station::model::Station;
use ::study::Study;
use judge::Kind as Finding;
use judge::say::{Units, grouped, round};
use physics::working::Step;

use super::Put;
use super::shown::{FLOW, step};

pub(super) fn figures(put: &mut Put<'_>) {
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
pub(super) struct LeakYear {
    pub(super) money: String,
    says: String,
    pub(super) flow: String,
    /// Over what the machines can deliver, 0…1.
    pub(super) share: f64,
    steps: Vec<Step>,
}

pub(super) fn leak_year(station: &Station, study: &Study, units: Units) -> Option<LeakYear> {
    let leak = study.surest_leakage().filter(|l| l.m3_s.mid > 0.0)?;
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
            let year = study.year.as_ref()?;
            let hours = year.hours_under_pressure();
            let priced = year.of_air(station, leak.m3_s.mid, Some(hours))?;
            steps.extend(priced.steps);
            priced.cost
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
