//! Figures of pressures, dew points and the pressures at which machines switch, with their workings.
//!
//! Must not know: how a figure is drawn or laid out.

use ::study::{Band95, Channel, ControlBand, DewPoints, Pressures};
use judge::say::{grouped, round};
use physics::quantity::BAR_PA;
use physics::working::Step;

use super::shown::{FALL, GAUGE, step};
use super::{Put, id_of};

const BY_TIME: &str = "a reading stands for the time to the next; to 0.01 bar (derived)";

/// All of them.
pub(super) fn figures(put: &mut Put<'_>) {
    put.group = "Pressures and dew points".to_owned();
    for p in &put.study.pressures {
        pressure(put, p);
    }
    for band in &put.study.control_bands {
        control(put, band);
    }
    for d in &put.study.dew_points {
        dew_point(put, d);
    }
}

/// How many readings a channel has, and over what time, in words.
fn read(put: &Put<'_>, channel: Channel) -> String {
    let days = put.study.channels.iter().find(|c| c.channel == channel);
    let days = days.map(|c| c.days.as_slice()).unwrap_or_default();
    let count: u64 = days.iter().map(|d| d.count).sum();
    let hours: f64 = days.iter().map(|d| d.covered_s / 3600.0).sum();
    format!(
        "{} readings of {} over {} h",
        grouped(count as f64),
        channel.name(put.station),
        round(hours, 1)
    )
}

fn pressure(put: &mut Put<'_>, p: &Pressures) {
    let (units, name) = (put.units, p.channel.name(put.station));
    let bar = |pa: f64| pa / BAR_PA;
    let read = read(put, p.channel);
    let parts = [
        ("least", "min p", p.min),
        (
            "5 % of the time lower",
            "p that is not reached in 5 % of the time",
            p.p05,
        ),
        (
            "half the time lower",
            "p that is not reached in 50 % of the time",
            p.median,
        ),
        (
            "95 % of the time lower",
            "p that is not reached in 95 % of the time",
            p.p95,
        ),
        ("greatest", "max p", p.max),
    ];
    let mut steps: Vec<Step> = parts
        .iter()
        .map(|(what, formula, pa)| {
            step(
                *what,
                *formula,
                read.clone(),
                (bar(*pa), GAUGE.unit()),
                BY_TIME,
            )
        })
        .collect();
    let values: Vec<f64> = parts.iter().map(|(.., pa)| bar(*pa)).collect();
    steps.extend(GAUGE.converted(units, &values));
    let [min, p05, median, p95, max] =
        [p.min, p.p05, p.median, p.p95, p.max].map(|pa| GAUGE.number(units, bar(pa)));
    let unit = units.gauge(0.0);
    let unit = unit.rsplit(' ').next().unwrap_or_default();
    let says = format!(
        "from {min} to {max} {unit}; half the time under {median}, 5 % of it under {p05}, 95 % of it under {p95}"
    );
    put.figure(&name, &name, says, steps);
    if let (Some(hours), Some(wanted)) = (p.hours_below_wanted, p.wanted) {
        let mut says = format!("{} h", round(hours, 1));
        let mut steps = vec![step(
            "time below what is wanted",
            "Σ Δt while p < wanted",
            format!("wanted {} bar(g); {read}", round(bar(wanted), 2)),
            (hours, "h"),
            "`wanted` of the header in the station file; the log (derived)",
        )];
        if let Some(working) = p.working_hours_below_wanted.filter(|w| *w > 0.0) {
            says.push_str(&format!(
                ", {} h of them in working hours",
                round(working, 1)
            ));
            steps.push(step(
                "of it in working hours",
                "Σ Δt while p < wanted, over hours that touch `site.hours`",
                read.clone(),
                (working, "h"),
                "the log (derived)",
            ));
        }
        let what = format!("{name} below what is wanted");
        put.figure(&format!("{name}-short"), &what, says, steps);
    }
    if let Some(fall) = p.fastest_lasting_fall.filter(|f| *f > 0.0) {
        let mut steps = vec![step(
            "fastest fall that lasts",
            "max (p₁ − p₂)/Δt over 10 s or three readings, whichever is longer",
            read,
            (bar(fall), FALL.unit()),
            "as read",
        )];
        steps.extend(FALL.converted(units, &[bar(fall)]));
        let what = format!("{name}, fastest fall that lasts");
        let says = FALL.said(units, bar(fall));
        put.figure(&format!("{name}-fall"), &what, says, steps);
    }
}

fn control(put: &mut Put<'_>, band: &ControlBand) {
    let (units, id) = (put.units, id_of(put.station, band.machine));
    let at = band.channel.name(put.station);
    let both = [("takes load", band.load), ("gives load up", band.unload)];
    let known = || {
        both.iter()
            .filter_map(|(what, band)| Some((*what, band.as_ref()?)))
    };
    let bar = |b: &Band95| b.times(1.0 / BAR_PA);
    let says: Vec<String> = known()
        .map(|(what, b)| format!("{what} at {}", GAUGE.span(units, bar(b))))
        .collect();
    if says.is_empty() {
        return;
    }
    let mut steps: Vec<Step> = known()
        .map(|(what, b)| {
            let b = bar(b);
            step(
                format!("where it {what}"),
                "the middle of the pressures just before it does, and those that 5 and 95 % of them lie under",
                format!(
                    "{} loads, read at {at}: 5 % under {}, 95 % under {} bar(g)",
                    grouped(put.loads(band.machine) as f64),
                    round(b.low, 2),
                    round(b.high, 2)
                ),
                (b.mid, GAUGE.unit()),
                "as read",
            )
        })
        .collect();
    let values: Vec<f64> = known()
        .flat_map(|(_, b)| [bar(b).mid, bar(b).low, bar(b).high])
        .collect();
    steps.extend(GAUGE.converted(units, &values));
    let what = format!("{id}, where it switches");
    let says = format!("{}; nine of ten in the brackets", says.join(", "));
    put.figure(&format!("{id}-switches"), &what, says, steps);
}

fn dew_point(put: &mut Put<'_>, d: &DewPoints) {
    let (units, name) = (put.units, d.channel.name(put.station));
    let read = read(put, d.channel);
    let said = |kelvin: f64| units.fine_temperature(kelvin);
    let parts = [
        ("least", "min t", d.min),
        (
            "half the time lower",
            "t that is not reached in 50 % of the time",
            d.median,
        ),
        (
            "95 % of the time lower",
            "t that is not reached in 95 % of the time",
            d.p95,
        ),
        ("greatest", "max t", d.max),
    ];
    let mut steps: Vec<Step> = parts
        .iter()
        .map(|(what, formula, kelvin)| {
            let numbers = format!("{read}: {}", said(*kelvin));
            let source = "a reading stands for the time to the next; to 0.1 K (derived)";
            step(*what, *formula, numbers, (kelvin - 273.15, "°C"), source)
        })
        .collect();
    let mut says = format!(
        "from {} to {}; half the time under {}, 95 % of it under {}",
        said(d.min),
        said(d.max),
        said(d.median),
        said(d.p95)
    );
    if let (Some(wanted), Some(hours)) = (d.wanted, d.hours_above_wanted) {
        says.push_str(&format!(
            "; {} h above the {} to be held",
            round(hours, 1),
            said(wanted)
        ));
        steps.push(step(
            "time above what is to be held",
            "Σ Δt while t > wanted, by more than the reading's uncertainty",
            format!("wanted {}; {read}", said(wanted)),
            (hours, "h"),
            "`dew_point` of the dryer in the station file; the log (derived)",
        ));
    }
    put.figure(&name, &name, says, steps);
}
