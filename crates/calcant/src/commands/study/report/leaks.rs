//! The leakage with its workings, and what it costs a year.
//!
//! Must not know: how a figure is drawn or laid out.

use ::station::model::{Asset, Station};
use ::station::point::{Point, PointId};
use ::study::{Band95, Channel, Leakage, Study, plain};
use judge::Kind as Finding;
use judge::cost::{Priced, Use, Year};
use judge::say::{Units, grouped, round};
use physics::quantity::Temperature;
use physics::working::Step;

use super::Put;
use super::shown::{FLOW, step};

/// Hours of a mean year.
const YEAR_H: f64 = 8766.0;
/// Where the station file tells no climate (common practice, no source).
const MILD: (f64, f64) = (288.15, 0.7);

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

/// The way with the narrowest interval, as findings take it.
fn best(study: &Study) -> Option<&Leakage> {
    let width = |l: &&Leakage| (l.m3_s.high - l.m3_s.low) / l.m3_s.mid.max(1e-9);
    let known = study.leakage.iter().filter(|l| l.m3_s.mid > 0.0);
    known.min_by(|a, b| width(a).total_cmp(&width(b)))
}

pub(super) fn leak_year(station: &Station, study: &Study, units: Units) -> Option<LeakYear> {
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
