//! `--report FILE.html` of a study: its figures as numbers for pictures, in the reader's units.
//!
//! Must not know: how the page is laid out, how figures come about.

use std::path::Path;

use ::report::{Logged, Report, Rows, StationReport, page};
use ::station::model::Station;
use ::study::{Band95, STATES, State, Study};
use anyhow::Result;
use judge::Judgement;
use judge::say::{Units, grouped, percent, round};
use physics::quantity::{BAR_PA, CUBIC_FOOT_M3, PSI_PA};

use super::figures::{ORDER, of_state};
use crate::edge::write;

/// Writes the page, whole or not at all.
pub(super) fn write_page(
    path: &Path,
    station: &Station,
    study: &Study,
    units: crate::args::Units,
    invented: bool,
) -> Result<()> {
    let judgement = Judgement {
        as_of: study.to,
        rounds: study.rows,
        findings: study.findings.clone(),
        not_judged: study.not_judged.clone(),
        ..Judgement::default()
    };
    let log = logged(station, study, units.into());
    let one = StationReport {
        station,
        judgement: &judgement,
        last_round: None,
        rows: Rows {
            read: study.rows,
            accepted: study.rows
                - study
                    .left_out
                    .iter()
                    .map(|l| l.rows)
                    .sum::<u64>()
                    .min(study.rows),
            rejected_total: study.rejected_total,
            rejected: &[],
        },
        log: Some(&log),
        invented,
    };
    write(
        path,
        &page(&Report {
            stations: &[one],
            units: units.into(),
            if_hot: None,
            version: env!("CARGO_PKG_VERSION"),
        }),
    )
}

/// The states that any machine was in, in the order of stacking.
fn met(study: &Study) -> Vec<State> {
    let hours = |s: State| {
        let machines = study.machines.iter();
        machines.map(|m| of_state(&m.totals.hours, s)).sum::<f64>()
    };
    ORDER.into_iter().filter(|s| hours(*s) > 0.0).collect()
}

fn in_order(states: &[State], values: &[f64; STATES]) -> Vec<f64> {
    states.iter().map(|s| of_state(values, *s)).collect()
}

fn logged(station: &Station, study: &Study, units: Units) -> Logged {
    let (flow, flow_unit) = match units {
        Units::Si => (60.0, "m³/min"),
        Units::Us => (60.0 / CUBIC_FOOT_M3, "cfm"),
    };
    let (bar, pressure_unit) = match units {
        Units::Si => (BAR_PA, "bar(g)"),
        Units::Us => (PSI_PA, "psi(g)"),
    };
    let rated: f64 = station
        .machines
        .iter()
        .map(|m| m.rated.fad.value.si())
        .sum();
    let states = met(study);
    let pressures = study.pressures.first();
    let pressure = pressures
        .and_then(|p| study.channels.iter().find(|c| c.channel == p.channel))
        .map(|c| {
            c.days
                .iter()
                .map(|d| {
                    let date = d.date.strftime("%-d %b").to_string();
                    (date, d.min / bar, d.mean / bar, d.max / bar)
                })
                .collect()
        });
    let wanted = station
        .headers
        .iter()
        .find_map(|h| h.wanted)
        .filter(|_| pressures.is_some_and(|p| p.hours_below_wanted.is_some()))
        .map(|p| p.si() / bar);
    let (cycle, slopes) = study.close_up.as_ref().map_or_else(Default::default, |c| {
        let points = c.points.iter().map(|(s, p)| (*s, p / bar)).collect();
        let lines = c
            .slopes
            .iter()
            .map(|l| {
                let end = l.start + l.slope * (l.to_s - l.from_s);
                ([l.from_s, l.to_s], [l.start / bar, end / bar], l.delivering)
            })
            .collect();
        (points, lines)
    });
    Logged {
        period: period(station, study),
        flow_unit,
        pressure_unit,
        demand: study
            .demand
            .by_hour_of_week
            .iter()
            .map(|d| d.map(|q| q * flow))
            .collect(),
        duration: study
            .demand
            .duration
            .iter()
            .map(|(share, q)| (*share, q * flow))
            .collect(),
        capacity: (rated > 0.0).then_some(rated * flow),
        states: states.iter().map(|s| super::figures::words(*s)).collect(),
        day: day(study, &states),
        energy: study
            .machines
            .iter()
            .filter_map(|m| {
                let id = station.machines.get(m.machine)?.id.clone();
                Some((id, in_order(&states, &m.totals.kwh)))
            })
            .collect(),
        pressure: pressure.unwrap_or_default(),
        pressure_at: pressures.map_or_else(String::new, |p| p.channel.name(station)),
        wanted,
        cycle,
        slopes,
        figures: figures(station, study, units, flow, flow_unit),
        remarks: study.remarks.clone(),
    }
}

fn period(station: &Station, study: &Study) -> String {
    let at = |t: jiff::Timestamp| {
        t.to_zoned_datetime(station.site.time_zone.clone())
            .strftime("%-d %B %Y %H:%M")
            .to_string()
    };
    match (study.from, study.to) {
        (Some(from), Some(to)) => format!(
            "{} to {}, {} rows",
            at(from),
            at(to),
            grouped(study.rows as f64)
        ),
        _ => "No row was counted.".to_owned(),
    }
}

/// Mean power of all machines by state in each hour of the day, kW.
fn day(study: &Study, states: &[State]) -> Vec<Vec<f64>> {
    let mut sums = vec![[0.0_f64; STATES]; 24];
    let mut logged = [0.0_f64; 24];
    for (n, machine) in study.machines.iter().enumerate() {
        for hour in &machine.hours {
            let at = usize::from(hour.hour.unsigned_abs()).min(23);
            for (sum, kwh) in sums[at].iter_mut().zip(hour.kwh) {
                *sum += kwh;
            }
            if n == 0 {
                logged[at] += hour.hours.iter().sum::<f64>();
            }
        }
    }
    if logged.iter().all(|h| *h <= 0.0) {
        return Vec::new();
    }
    sums.iter()
        .zip(logged)
        .map(|(kwh, hours)| {
            in_order(states, kwh)
                .iter()
                .map(|k| k / hours.max(1.0e-9))
                .collect()
        })
        .collect()
}

fn figures(
    station: &Station,
    study: &Study,
    units: Units,
    flow: f64,
    flow_unit: &str,
) -> Vec<(String, String)> {
    let mut list = Vec::new();
    let mut put = |what: &str, much: String| list.push((what.to_owned(), much));
    let all = &study.station;
    put(
        "energy",
        format!("{} kWh", grouped(all.kwh.iter().sum::<f64>().round())),
    );
    if let Some(cost) = all.cost {
        let currency = station
            .site
            .price
            .as_ref()
            .map_or("", |p| p.currency.as_str());
        put("its cost", format!("{} {currency}", grouped(cost.round())));
    }
    if let Some(kg) = all.carbon_kg {
        put("its carbon", format!("{} kg CO₂e", grouped(kg.round())));
    }
    let beside = |b: Band95, places| {
        format!(
            "{} ({} to {})",
            round(b.mid, places),
            round(b.low, places),
            round(b.high, places)
        )
    };
    if let Some(air) = all.delivered_m3 {
        put("air delivered", format!("{} m³(ANR)", beside(air, 0)));
    }
    if let Some(e) = all.specific_energy_kwh_m3 {
        put(
            "energy for each m³ delivered",
            format!("{} kWh/m³", round(e, 4)),
        );
    }
    if let Some(storage) = &study.storage {
        let stated = storage.stated_m3.map_or_else(String::new, |m3| {
            format!("; the station file says {}", round(m3, 2))
        });
        put(
            "storage that the slopes show",
            format!("{} m³{stated}", beside(storage.m3, 2)),
        );
    }
    for leak in &study.leakage {
        put(
            &format!("leakage by {}", leak.method.text()),
            format!("{} {flow_unit}", beside(leak.m3_s.times(flow), 2)),
        );
    }
    for machine in &study.machines {
        let Some(of) = station.machines.get(machine.machine) else {
            continue;
        };
        let t = &machine.totals;
        let hours: Vec<String> = ORDER
            .iter()
            .map(|s| (super::figures::words(*s), of_state(&t.hours, *s)))
            .filter(|(_, h)| *h > 0.05)
            .map(|(word, h)| format!("{word} {} h", round(h, 1)))
            .collect();
        put(&of.id, hours.join(", "));
        if let Some(duty) = t.duty {
            let cycles = t.cycles_per_hour.map_or_else(String::new, |c| {
                format!(
                    ", {} loads an hour, {} in the worst",
                    round(c, 1),
                    t.worst_cycles_per_hour
                )
            });
            put(
                &format!("{} duty", of.id),
                format!("{}{cycles}", percent(duty)),
            );
        }
    }
    for p in &study.pressures {
        let said = [p.min, p.p05, p.median, p.p95, p.max].map(|pa| units.gauge(pa));
        let short = p
            .hours_below_wanted
            .filter(|h| *h > 0.0)
            .map_or_else(String::new, |h| {
                format!("; {} h below what is wanted", round(h, 1))
            });
        put(
            &p.channel.name(station),
            format!(
                "{} at least, {} at 5 %, {} in the middle, {} at 95 %, {} at most{short}",
                said[0], said[1], said[2], said[3], said[4]
            ),
        );
    }
    list
}
