//! `calcant study --json`.
//!
//! Numbers are in the units that their keys name; pressures are bar(g), air is free air at 20 °C,
//! 1 bar(a), dry. Must not know: how any figure comes about.

use anyhow::Result;
use jiff::Timestamp;
use judge::say::{file_unit, in_file_unit};
use physics::quantity::{BAR_PA, ZERO_CELSIUS_K};
use serde::Serialize;
use station::model::Station;
use study::{Band95, Channel, LevelsFrom, MachineDays, Period, STATES, State, Study};

use super::judged::{Found, Skipped, Step, found, skipped, step};
use super::{Triple, VERSION, text_of};

/// m³/s in m³/min.
const A_MINUTE: f64 = 60.0;

#[derive(Serialize)]
struct Studied<'a> {
    calcant: u32,
    from: Option<String>,
    to: Option<String>,
    rows: u64,
    rejected_total: u64,
    rejected: Vec<Rejected<'a>>,
    left_out_total: u64,
    left_out: Vec<LeftOut>,
    sources: Vec<Source<'a>>,
    machines: Vec<Machine<'a>>,
    station: Whole<'a>,
    leakage: Vec<Leakage<'a>>,
    pressures: Vec<Pressure<'a>>,
    dew_points: Vec<DewPoint<'a>>,
    control_bands: Vec<ControlBand<'a>>,
    demand_by_hour_of_week_m3_min: Vec<Option<f64>>,
    demand: Demand,
    channels: Vec<Column>,
    remarks: &'a [String],
    findings: Vec<Found<'a>>,
    not_judged: Vec<Skipped<'a>>,
}

#[derive(Serialize)]
struct Rejected<'a> {
    source: &'a str,
    line: u64,
    column: &'a str,
    problem: &'a str,
    hint: &'a str,
}

#[derive(Serialize)]
struct LeftOut {
    why: &'static str,
    point: Option<String>,
    from: String,
    to: String,
    rows: u64,
}

#[derive(Serialize)]
struct Source<'a> {
    name: &'a str,
    separator: Option<char>,
    decimal_comma: bool,
    date_order: Option<String>,
    date_order_because: Option<&'a str>,
    interval_s: Option<f64>,
    columns_left_out: &'a [String],
    fault: Option<&'a str>,
}

#[derive(Serialize)]
struct Machine<'a> {
    id: &'a str,
    states: States,
    starts: u64,
    loads: u64,
    cycles_per_hour: Cycles,
    duty: Option<f64>,
    delivered_m3: Option<Triple>,
    state_told_by: ToldBy,
    whole: Part,
    working_hours: Option<Part>,
    off_shift: Option<Part>,
    weekdays: Vec<Part>,
    off_shift_load_share: Option<f64>,
    load_share_by_hour_of_week: &'a [Option<f64>],
    #[serde(rename = "power_by_hour_of_day_kW")]
    power_by_hour_of_day: Vec<Each>,
    hours_by_loads: &'a [u64],
    hours_by_starts: &'a [u64],
    days: Vec<MachineDay>,
}

#[derive(Serialize)]
struct Cycles {
    mean: Option<f64>,
    worst: u64,
}

#[derive(Serialize)]
struct InState {
    hours: f64,
    /// `null` where no power was read.
    kwh: Option<f64>,
}

/// In the order of `State::ALL`.
#[derive(Serialize)]
struct States {
    stopped: InState,
    unloaded: InState,
    loaded: InState,
    blowing_down: InState,
    modulating: InState,
    at_speed: InState,
}

#[derive(Serialize)]
struct Each {
    stopped: f64,
    unloaded: f64,
    loaded: f64,
    blowing_down: f64,
    modulating: f64,
    at_speed: f64,
}

#[derive(Serialize)]
struct ToldBy {
    what: &'static str,
    #[serde(rename = "runs_above_kW")]
    runs_above: f64,
    #[serde(rename = "loaded_above_kW")]
    loaded_above: f64,
    levels_moved: u64,
    confidence: f64,
}

#[derive(Serialize)]
struct Part {
    states: States,
    cost: Option<Each>,
    carbon_kg: Option<Each>,
    starts: u64,
    loads: u64,
    cycles_per_hour: Cycles,
    worst_starts_per_hour: u64,
    duty: Option<f64>,
    delivered_m3: Option<Triple>,
    blown_down_m3: Option<f64>,
    #[serde(rename = "specific_energy_kWh_m3")]
    specific_energy: Option<f64>,
    #[serde(rename = "specific_power_kW_min_m3")]
    specific_power: Option<f64>,
}

#[derive(Serialize)]
struct MachineDay {
    date: String,
    states: States,
    loads: u64,
    unloads: u64,
    starts: u64,
    stops: u64,
    delivered_m3: Option<f64>,
}

#[derive(Serialize)]
struct Whole<'a> {
    name: &'a str,
    kwh: f64,
    cost: Option<f64>,
    currency: Option<&'a str>,
    carbon_kg: Option<f64>,
    delivered_m3: Option<f64>,
    delivered_m3_band: Option<Triple>,
    delivered_measured: bool,
    #[serde(rename = "specific_energy_kWh_m3")]
    specific_energy: Option<f64>,
    #[serde(rename = "specific_power_kW_min_m3")]
    specific_power: Option<f64>,
    storage_m3: Option<Triple>,
    storage_stated_m3: Option<f64>,
    storage_working: Vec<Step<'a>>,
}

#[derive(Serialize)]
struct Leakage<'a> {
    method: &'static str,
    m3_min: Triple,
    total_m3_min: Triple,
    count: u64,
    working: Vec<Step<'a>>,
}

#[derive(Serialize)]
struct Pressure<'a> {
    place: &'a str,
    min: f64,
    p05: f64,
    median: f64,
    p95: f64,
    max: f64,
    hours_below_wanted: Option<f64>,
    fastest_fall_bar_s: f64,
    fastest_lasting_fall_bar_s: Option<f64>,
}

#[derive(Serialize)]
struct DewPoint<'a> {
    place: &'a str,
    #[serde(rename = "min_degC")]
    min: f64,
    #[serde(rename = "median_degC")]
    median: f64,
    #[serde(rename = "p95_degC")]
    p95: f64,
    #[serde(rename = "max_degC")]
    max: f64,
    #[serde(rename = "wanted_degC")]
    wanted: Option<f64>,
    hours_above_wanted: Option<f64>,
}

/// 5, 50 and 95 % of the times.
#[derive(Serialize)]
struct ControlBand<'a> {
    id: &'a str,
    place: &'a str,
    load_bar_g: Option<Triple>,
    unload_bar_g: Option<Triple>,
}

#[derive(Serialize)]
struct Demand {
    measured: bool,
    duration: Vec<AtMost>,
}

#[derive(Serialize)]
struct AtMost {
    share: f64,
    m3_min: f64,
}

#[derive(Serialize)]
struct Column {
    point: String,
    unit: &'static str,
    days: Vec<Day>,
}

#[derive(Serialize)]
struct Day {
    date: String,
    count: u64,
    mean: f64,
    min: f64,
    max: f64,
    unit_hours: f64,
    hours: f64,
}

/// The study of one station's logs.
pub(crate) fn studied(station: &Station, study: &Study) -> Result<String> {
    let place = |channel| place(station, channel);
    text_of(&Studied {
        calcant: VERSION,
        from: study.from.map(|t| moment(station, t)),
        to: study.to.map(|t| moment(station, t)),
        rows: study.rows,
        rejected_total: study.rejected_total,
        rejected: rejected(study),
        left_out_total: study.left_out_total,
        left_out: left_out(station, study),
        sources: sources(study),
        machines: study.machines.iter().map(|m| machine(station, m)).collect(),
        station: whole(station, study),
        leakage: study
            .leakage
            .iter()
            .map(|leakage| Leakage {
                method: leakage.method.text(),
                m3_min: band(leakage.m3_s.times(A_MINUTE)),
                total_m3_min: band(leakage.total_m3_s.times(A_MINUTE)),
                count: leakage.count,
                working: leakage.working.iter().map(step).collect(),
            })
            .collect(),
        pressures: study
            .pressures
            .iter()
            .map(|p| Pressure {
                place: place(p.channel),
                min: p.min / BAR_PA,
                p05: p.p05 / BAR_PA,
                median: p.median / BAR_PA,
                p95: p.p95 / BAR_PA,
                max: p.max / BAR_PA,
                hours_below_wanted: p.hours_below_wanted,
                fastest_fall_bar_s: p.fastest_fall / BAR_PA,
                fastest_lasting_fall_bar_s: p.fastest_lasting_fall.map(|fall| fall / BAR_PA),
            })
            .collect(),
        dew_points: study
            .dew_points
            .iter()
            .map(|p| DewPoint {
                place: place(p.channel),
                min: p.min - ZERO_CELSIUS_K,
                median: p.median - ZERO_CELSIUS_K,
                p95: p.p95 - ZERO_CELSIUS_K,
                max: p.max - ZERO_CELSIUS_K,
                wanted: p.wanted.map(|wanted| wanted - ZERO_CELSIUS_K),
                hours_above_wanted: p.hours_above_wanted,
            })
            .collect(),
        control_bands: study
            .control_bands
            .iter()
            .map(|b| ControlBand {
                id: station
                    .machines
                    .get(b.machine)
                    .map_or("", |m| m.id.as_str()),
                place: place(b.channel),
                load_bar_g: b.load.map(|load| band(load.times(1.0 / BAR_PA))),
                unload_bar_g: b.unload.map(|unload| band(unload.times(1.0 / BAR_PA))),
            })
            .collect(),
        demand_by_hour_of_week_m3_min: study
            .demand
            .by_hour_of_week
            .iter()
            .map(|mean| mean.map(|m3_s| m3_s * A_MINUTE))
            .collect(),
        demand: Demand {
            measured: study.demand.measured,
            duration: study
                .demand
                .duration
                .iter()
                .map(|&(share, m3_s)| AtMost {
                    share,
                    m3_min: m3_s * A_MINUTE,
                })
                .collect(),
        },
        channels: columns(station, study),
        remarks: &study.remarks,
        findings: study
            .findings
            .iter()
            .map(|f| found(station, f, &[]))
            .collect(),
        not_judged: study.not_judged.iter().map(skipped).collect(),
    })
}

/// RFC 3339 with the station's offset.
fn moment(station: &Station, t: Timestamp) -> String {
    let local = t.to_zoned_datetime(station.site.time_zone.clone());
    local.strftime("%Y-%m-%dT%H:%M:%S%.f%:z").to_string()
}

/// The thing that a point is on.
fn place(station: &Station, channel: Channel) -> &str {
    match channel {
        Channel::Point(id) => station.id(id.asset),
        Channel::Running(machine) | Channel::Loaded(machine) => {
            station.machines.get(machine).map_or("", |m| m.id.as_str())
        }
    }
}

fn band(band: Band95) -> Triple {
    Triple {
        low: band.low,
        mid: band.mid,
        high: band.high,
    }
}

fn rejected(study: &Study) -> Vec<Rejected<'_>> {
    study
        .rejected
        .iter()
        .map(|r| Rejected {
            source: &r.source,
            line: r.line,
            column: &r.column,
            problem: &r.problem,
            hint: &r.hint,
        })
        .collect()
}

fn left_out(station: &Station, study: &Study) -> Vec<LeftOut> {
    study
        .left_out
        .iter()
        .map(|l| LeftOut {
            why: l.why.text(),
            point: l.channel.map(|channel| channel.name(station)),
            from: moment(station, l.from),
            to: moment(station, l.to),
            rows: l.rows,
        })
        .collect()
}

fn sources(study: &Study) -> Vec<Source<'_>> {
    study
        .sources
        .iter()
        .map(|s| Source {
            name: &s.name,
            separator: s.separator,
            decimal_comma: s.decimal_comma,
            date_order: s.dates.as_ref().map(|dates| dates.order.to_string()),
            date_order_because: s.dates.as_ref().map(|dates| dates.because.as_str()),
            interval_s: s.interval_s,
            columns_left_out: &s.columns_left_out,
            fault: s.fault.as_deref(),
        })
        .collect()
}

fn states(hours: &[f64; STATES], kwh: &[f64; STATES], read: bool) -> States {
    let of = |state: State| {
        let at = State::ALL.iter().position(|&other| other == state);
        let of = |values: &[f64; STATES]| at.and_then(|at| values.get(at)).copied();
        InState {
            hours: of(hours).unwrap_or(0.0),
            kwh: read.then(|| of(kwh).unwrap_or(0.0)),
        }
    };
    States {
        stopped: of(State::Stopped),
        unloaded: of(State::Unloaded),
        loaded: of(State::Loaded),
        blowing_down: of(State::BlowingDown),
        modulating: of(State::Modulating),
        at_speed: of(State::AtSpeed),
    }
}

fn each(values: &[f64; STATES]) -> Each {
    let of = |state: State| {
        let at = State::ALL.iter().position(|&other| other == state);
        at.and_then(|at| values.get(at)).copied().unwrap_or(0.0)
    };
    Each {
        stopped: of(State::Stopped),
        unloaded: of(State::Unloaded),
        loaded: of(State::Loaded),
        blowing_down: of(State::BlowingDown),
        modulating: of(State::Modulating),
        at_speed: of(State::AtSpeed),
    }
}

fn part(period: &Period, read: bool) -> Part {
    Part {
        states: states(&period.hours, &period.kwh, read),
        cost: period.cost.as_ref().map(each),
        carbon_kg: period.carbon_kg.as_ref().map(each),
        starts: period.starts,
        loads: period.loads,
        cycles_per_hour: Cycles {
            mean: period.cycles_per_hour,
            worst: period.worst_cycles_per_hour,
        },
        worst_starts_per_hour: period.worst_starts_per_hour,
        duty: period.duty,
        delivered_m3: period.delivered_m3.map(band),
        blown_down_m3: period.blown_down_m3,
        specific_energy: period.specific_energy_kwh_m3,
        specific_power: period.specific_power_kw_min_m3,
    }
}

fn machine<'a>(station: &'a Station, days: &'a MachineDays) -> Machine<'a> {
    let (levels, totals) = (&days.levels, &days.totals);
    let part = |period: &Period| part(period, days.energy_read);
    let kilowatts = |watts: &[f64; STATES]| each(&watts.map(|w| w / 1e3));
    Machine {
        id: station
            .machines
            .get(days.machine)
            .map_or("", |m| m.id.as_str()),
        states: states(&totals.hours, &totals.kwh, days.energy_read),
        starts: totals.starts,
        loads: totals.loads,
        cycles_per_hour: Cycles {
            mean: totals.cycles_per_hour,
            worst: totals.worst_cycles_per_hour,
        },
        duty: totals.duty,
        delivered_m3: totals.whole.delivered_m3.map(band),
        state_told_by: ToldBy {
            what: match levels.from {
                LevelsFrom::StationFile => "power, levels from the station file",
                LevelsFrom::Learned => "power, levels learned",
                LevelsFrom::Defaults => "power, default levels",
                LevelsFrom::Signals => "signals",
                LevelsFrom::Pressure => "pressure slopes",
            },
            runs_above: levels.runs_w / 1e3,
            loaded_above: levels.loaded_w / 1e3,
            levels_moved: days.levels_moved,
            confidence: days.confidence,
        },
        whole: part(&totals.whole),
        working_hours: totals.working.as_ref().map(&part),
        off_shift: totals.off_shift.as_ref().map(&part),
        weekdays: totals.weekdays.iter().map(part).collect(),
        off_shift_load_share: totals.off_shift_load_share,
        load_share_by_hour_of_week: &totals.load_share_by_hour_of_week,
        power_by_hour_of_day: totals
            .power_by_hour_of_day_w
            .iter()
            .map(kilowatts)
            .collect(),
        hours_by_loads: &totals.hours_by_loads,
        hours_by_starts: &totals.hours_by_starts,
        days: days
            .days
            .iter()
            .map(|day| MachineDay {
                date: day.date.to_string(),
                states: states(&day.hours, &day.kwh, days.energy_read),
                loads: day.loads,
                unloads: day.unloads,
                starts: day.starts,
                stops: day.stops,
                delivered_m3: day.delivered_m3,
            })
            .collect(),
    }
}

fn whole<'a>(station: &'a Station, study: &'a Study) -> Whole<'a> {
    let figures = &study.station;
    let price = station.site.price.as_ref();
    let storage = study.storage.as_ref();
    Whole {
        name: &station.site.name,
        kwh: figures.kwh.iter().sum(),
        cost: figures.cost,
        currency: price.map(|price| price.currency.as_str()),
        carbon_kg: figures.carbon_kg,
        delivered_m3: figures.delivered_m3.map(|band| band.mid),
        delivered_m3_band: figures.delivered_m3.map(band),
        delivered_measured: figures.measured,
        specific_energy: figures.specific_energy_kwh_m3,
        specific_power: figures.specific_power_kw_min_m3,
        storage_m3: storage.map(|storage| band(storage.m3)),
        storage_stated_m3: storage.and_then(|storage| storage.stated_m3),
        storage_working: storage
            .into_iter()
            .flat_map(|storage| storage.working.iter().map(step))
            .collect(),
    }
}

fn columns(station: &Station, study: &Study) -> Vec<Column> {
    let column = |days: &study::ChannelDays| {
        // What a value is in its unit, and what so much of its SI unit over an hour is.
        let (unit, value): (&str, &dyn Fn(f64) -> f64) = match days.channel {
            Channel::Point(id) => (file_unit(id.point.dimension()).0, &move |si| {
                in_file_unit(id.point, si).0
            }),
            Channel::Running(_) | Channel::Loaded(_) => ("1", &|si| si),
        };
        Column {
            point: days.channel.name(station),
            unit,
            days: days
                .days
                .iter()
                .map(|day| {
                    let hours = day.covered_s / 3600.0;
                    // The mean over time has the value's zero and size; the sum over time follows.
                    let over_time = if day.covered_s > 0.0 {
                        value(day.integral / day.covered_s) * hours
                    } else {
                        0.0
                    };
                    Day {
                        date: day.date.to_string(),
                        count: day.count,
                        mean: value(day.mean),
                        min: value(day.min),
                        max: value(day.max),
                        unit_hours: over_time,
                        hours,
                    }
                })
                .collect(),
        }
    };
    study.channels.iter().map(column).collect()
}
