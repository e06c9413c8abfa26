//! `--report FILE.html` of a study: its figures as numbers for pictures, in the reader's units.
//!
//! Must not know: how the page is laid out, how figures come about.

use std::path::Path;

use ::report::{Figure, HourOfWeek, Logged, PressureDay, Report, Rows, StationReport, page};
use ::station::file::rounds::Rejection;
use ::station::model::Station;
use ::study::{Channel, STATES, State, Study};
use anyhow::Result;
use judge::Judgement;
use judge::say::Units;
use physics::quantity::{BAR_PA, CUBIC_FOOT_M3, PSI_PA};
use physics::working::Step;

use super::figures::{ORDER, of_state};
use crate::edge::write;

mod leaks;
mod machines;
mod places;
mod shown;
mod station;

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
    let rejected: Vec<Rejection> = study
        .rejected
        .iter()
        .map(|cell| Rejection {
            line: cell.line,
            column: cell.column.clone(),
            problem: cell.problem.clone(),
            hint: cell.hint.clone(),
        })
        .collect();
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
            rejected: &rejected,
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
    let states = met(study);
    let pressures = study.pressures.first();
    let pressure = pressures
        .and_then(|p| study.channels.iter().find(|c| c.channel == p.channel))
        .map(|c| {
            c.days
                .iter()
                .map(|d| PressureDay {
                    date: d.date.strftime("%-d %b").to_string(),
                    min: d.min / bar,
                    mean: d.mean / bar,
                    max: d.max / bar,
                    count: d.count,
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
    let figures = figures(station, study, units);
    Logged {
        period: period(station, study),
        flow_unit,
        pressure_unit,
        rows: study.rows,
        demand: by_hour_of_week(station, study, flow),
        demand_from: if study.demand.measured {
            "as measured"
        } else {
            "from what the machines delivered, less what was stored"
        },
        duration: study
            .demand
            .duration
            .iter()
            .map(|(share, q)| (*share, q * flow))
            .collect(),
        capacity: station
            .machines
            .iter()
            .map(|m| (m.id.clone(), m.rated.fad.value.si() * flow))
            .collect(),
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
        nothing_found: leaks::nothing_found(station, study, units),
        facts: self::station::facts(station, study, &figures, units),
        figures,
        remarks: study.remarks.clone(),
        left_out: study
            .left_out
            .iter()
            .map(|stretch| super::text::stretch_told(station, stretch))
            .collect(),
        left_out_total: study.left_out_total,
    }
}

fn period(station: &Station, study: &Study) -> String {
    let at = |t: jiff::Timestamp| {
        t.to_zoned_datetime(station.site.time_zone.clone())
            .strftime("%-d %B %Y %H:%M")
            .to_string()
    };
    match (study.from, study.to) {
        (Some(from), Some(to)) => format!("{} to {}", at(from), at(to)),
        _ => "No row was counted.".to_owned(),
    }
}

/// Hours logged, and energy of all machines by state, kWh, in each hour of the day.
fn day(study: &Study, states: &[State]) -> Vec<(f64, Vec<f64>)> {
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
        .map(|(kwh, hours)| (hours, in_order(states, kwh)))
        .collect()
}

/// Figures being listed.
struct Put<'a> {
    station: &'a Station,
    study: &'a Study,
    units: Units,
    group: String,
    list: Vec<Figure>,
}

impl Put<'_> {
    fn figure(&mut self, key: &str, what: &str, says: String, steps: Vec<Step>) {
        self.list.push(Figure {
            group: self.group.clone(),
            key: key.to_owned(),
            what: what.to_owned(),
            says,
            steps,
        });
    }

    /// So many readings tell what a machine did.
    fn readings(&self, machine: usize) -> u64 {
        let count = |channel: Channel| {
            let days = self.study.channels.iter().find(|c| c.channel == channel);
            days.map(|c| c.days.iter().map(|d| d.count).sum::<u64>())
        };
        [
            Channel::power_of(machine),
            Channel::current_of(machine),
            Channel::Loaded(machine),
            Channel::Running(machine),
        ]
        .into_iter()
        .find_map(count)
        .unwrap_or(self.study.rows)
    }

    /// How often a machine took load.
    fn loads(&self, machine: usize) -> u64 {
        let found = self.study.machines.iter().find(|m| m.machine == machine);
        found.map_or(0, |m| m.totals.loads)
    }
}

/// The name of a machine.
fn id_of(station: &Station, machine: usize) -> String {
    let found = station.machines.get(machine);
    found.map_or_else(String::new, |m| m.id.clone())
}

/// All figures with their workings.
fn figures(station: &Station, study: &Study, units: Units) -> Vec<Figure> {
    let mut put = Put {
        station,
        study,
        units,
        group: "The station".to_owned(),
        list: Vec::new(),
    };
    self::station::figures(&mut put);
    for days in &study.machines {
        machines::figures(&mut put, days);
    }
    places::figures(&mut put);
    put.list
}

/// Demand by the hour of the week, with the hours that each is the mean of.
fn by_hour_of_week(station: &Station, study: &Study, flow: f64) -> Vec<Option<HourOfWeek>> {
    let mut week: Vec<Option<HourOfWeek>> = study
        .demand
        .by_hour_of_week
        .iter()
        .map(|mean| {
            Some(HourOfWeek {
                mean: (*mean)? * flow,
                hours: 0,
                least: f64::INFINITY,
                most: f64::NEG_INFINITY,
            })
        })
        .collect();
    for (time, m3_s) in &study.demand.hours {
        let local = time.to_zoned_datetime(station.site.time_zone.clone());
        let day = usize::from(local.weekday().to_monday_zero_offset().unsigned_abs());
        let at = 24 * day + usize::from(local.hour().unsigned_abs());
        if let Some(Some(hour)) = week.get_mut(at) {
            hour.hours += 1;
            hour.least = hour.least.min(m3_s * flow);
            hour.most = hour.most.max(m3_s * flow);
        }
    }
    week
}
