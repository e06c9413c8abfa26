//! `calcant judge --json`.
//!
//! Must not know: how anything is judged.

use anyhow::Result;
use jiff::Timestamp;
use judge::say::{file_unit, in_file_unit};
use judge::{Expectation, Finding, Level, Moment, NotJudged};
use physics::quantity::ZERO_CELSIUS_K;
use physics::working::Step as WorkingStep;
use serde::Serialize;
use station::model::Station;
use station::point::PointId;

use super::{Triple, VERSION, text_of};
use crate::commands::Judged;

#[derive(Serialize)]
struct One<'a> {
    calcant: u32,
    station: &'a str,
    as_of: Option<String>,
    rounds: Rounds<'a>,
    log: Option<Log>,
    expectations: Vec<Expected>,
    findings: Vec<Found<'a>>,
    not_judged: Vec<Skipped<'a>>,
    drifts: Vec<Drifting<'a>>,
    levels: Vec<Own>,
    #[serde(skip_serializing_if = "Option::is_none")]
    if_hot: Option<Vec<Hot<'a>>>,
}

#[derive(Serialize)]
struct Drifting<'a> {
    subject: &'a str,
    what: &'a str,
    unit: &'a str,
    level: f64,
    level_sigma: f64,
    per_month: f64,
    per_month_sigma: f64,
    limit: Option<f64>,
    course: &'a [f64],
}

/// What a reading stands at by itself, over the model of a machine as new.
#[derive(Serialize)]
struct Own {
    point: String,
    state: Option<&'static str>,
    unit: &'static str,
    over: f64,
    sigma: f64,
    scatter: f64,
    readings: usize,
    cusum: f64,
    cusum_since: Option<String>,
    ewma: f64,
}

#[derive(Serialize)]
struct Hot<'a> {
    id: &'a str,
    #[serde(rename = "oil_temperature_degC")]
    oil: Triple,
    p_warn: f64,
    p_trip: f64,
}

#[derive(Serialize)]
struct Rounds<'a> {
    read: u64,
    accepted: u64,
    rejected_total: u64,
    rejected: Vec<Rejected<'a>>,
}

#[derive(Serialize)]
struct Log {
    looks: u64,
    from: Option<String>,
    to: Option<String>,
    rows: u64,
    rejected_total: u64,
}

#[derive(Serialize)]
struct Rejected<'a> {
    line: u64,
    column: &'a str,
    problem: &'a str,
    hint: &'a str,
}

#[derive(Serialize)]
struct Expected {
    point: String,
    unit: &'static str,
    read: f64,
    low: f64,
    mid: f64,
    high: f64,
    deviations: f64,
}

#[derive(Serialize)]
pub(super) struct Found<'a> {
    id: &'a str,
    subject: &'a str,
    kind: &'static str,
    urgency: &'static str,
    title: &'a str,
    since: Option<String>,
    evidence: Vec<Evidence>,
    health: Option<Health<'a>>,
    limit: Option<Limit<'a>>,
    cost: Cost<'a>,
    causes: Vec<Cause<'a>>,
    next_check: Option<&'a str>,
    action: &'a str,
    isolate: bool,
    cautions: &'a [String],
    working: Vec<Step<'a>>,
}

#[derive(Serialize)]
struct Evidence {
    point: String,
    unit: &'static str,
    read: f64,
    mid: Option<f64>,
    deviations: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    logged: Option<String>,
}

#[derive(Serialize)]
struct Health<'a> {
    what: &'a str,
    unit: &'a str,
    value: f64,
    low: f64,
    high: f64,
    per_month: Option<f64>,
}

#[derive(Serialize)]
struct Limit<'a> {
    what: &'a str,
    earliest: Option<String>,
    likely: Option<String>,
    latest: Option<String>,
}

#[derive(Serialize)]
struct Cost<'a> {
    per_year: Option<f64>,
    currency: Option<&'a str>,
    kwh_per_year: Option<f64>,
    why_not: Option<&'a str>,
}

#[derive(Serialize)]
struct Cause<'a> {
    cause: &'a str,
    probability: f64,
    #[serde(rename = "for")]
    speaks_for: &'a [String],
    #[serde(rename = "against")]
    speaks_against: &'a [String],
}

#[derive(Serialize)]
pub(super) struct Step<'a> {
    name: &'a str,
    formula: &'a str,
    numbers: &'a str,
    value: f64,
    unit: &'a str,
    source: &'a str,
}

#[derive(Serialize)]
pub(super) struct Skipped<'a> {
    what: &'a str,
    why: &'a str,
    working: Vec<Step<'a>>,
}

pub(super) fn skipped(n: &NotJudged) -> Skipped<'_> {
    Skipped {
        what: &n.what,
        why: &n.why,
        working: n.working.iter().map(step).collect(),
    }
}

/// The judgement of one station.
pub(crate) fn judged(judged: &Judged) -> Result<String> {
    text_of(&one(judged))
}

/// What stands before the judgements of several stations, between them, and after them.
pub(crate) fn several() -> [String; 3] {
    let head = format!("{{\n  \"calcant\": {VERSION},\n  \"stations\": [\n");
    [head, ",\n".to_owned(), "\n  ]\n}\n".to_owned()]
}

/// The judgement of one station among several.
pub(crate) fn among_several(one: &Judged) -> Result<String> {
    let lines = judged(one)?;
    let inside: Vec<String> = lines.lines().map(|line| format!("    {line}")).collect();
    Ok(inside.join("\n"))
}

fn one(judged: &Judged) -> One<'_> {
    let station = &judged.station;
    let rows = &judged.rows;
    One {
        calcant: VERSION,
        station: &station.site.name,
        as_of: judged.judgement.as_of.map(|t| moment(station, t)),
        rounds: Rounds {
            read: rows.read,
            accepted: rows.accepted,
            rejected_total: rows.rejected_total,
            rejected: rows
                .rejected
                .iter()
                .map(|r| Rejected {
                    line: r.line,
                    column: &r.column,
                    problem: &r.problem,
                    hint: &r.hint,
                })
                .collect(),
        },
        log: judged.logged.as_ref().map(|log| Log {
            looks: log.looks,
            from: log.span.map(|(from, _)| moment(station, from)),
            to: log.span.map(|(_, to)| moment(station, to)),
            rows: log.rows,
            rejected_total: log.rejected_total,
        }),
        expectations: judged
            .judgement
            .expectations
            .iter()
            .map(|e| expectation(station, e))
            .collect(),
        findings: judged
            .judgement
            .findings
            .iter()
            .enumerate()
            .map(|(n, f)| found(station, f, logged_at(judged, n)))
            .collect(),
        not_judged: judged.judgement.not_judged.iter().map(skipped).collect(),
        drifts: judged
            .judgement
            .drifts
            .iter()
            .map(|d| Drifting {
                subject: station.id(d.subject),
                what: &d.what,
                unit: &d.unit,
                level: d.level,
                level_sigma: d.sigma,
                per_month: d.per_month,
                per_month_sigma: d.per_month_sigma,
                limit: d.limit,
                course: &d.spark,
            })
            .collect(),
        levels: judged
            .judgement
            .levels
            .iter()
            .map(|l| own(station, l))
            .collect(),
        if_hot: judged.judgement.if_hot.as_ref().map(|machines| {
            machines
                .iter()
                .map(|m| Hot {
                    id: &station.machines[m.machine].id,
                    oil: Triple {
                        low: m.oil.0 - ZERO_CELSIUS_K,
                        mid: m.oil.1 - ZERO_CELSIUS_K,
                        high: m.oil.2 - ZERO_CELSIUS_K,
                    },
                    p_warn: m.p_warn,
                    p_trip: m.p_trip,
                })
                .collect()
        }),
    }
}

/// RFC 3339 with the station's offset.
fn moment(station: &Station, t: Timestamp) -> String {
    let local = t.to_zoned_datetime(station.site.time_zone.clone());
    local.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

fn day(station: &Station, t: Timestamp) -> String {
    t.to_zoned_datetime(station.site.time_zone.clone())
        .date()
        .to_string()
}

fn in_unit(id: PointId, si: f64) -> f64 {
    in_file_unit(id.point, si).0
}

fn name(station: &Station, id: PointId) -> String {
    format!("{}.{}", station.id(id.asset), id.point.name())
}

fn expectation(station: &Station, e: &Expectation) -> Expected {
    Expected {
        point: name(station, e.id),
        unit: file_unit(e.id.point.dimension()).0,
        read: in_unit(e.id, e.read),
        low: in_unit(e.id, e.low),
        mid: in_unit(e.id, e.mid),
        high: in_unit(e.id, e.high),
        deviations: e.deviations,
    }
}

/// When each evidence of a finding was logged, if it was.
fn logged_at(judged: &Judged, finding: usize) -> &[Option<Timestamp>] {
    let logged = judged.logged.as_ref();
    let times = logged.and_then(|log| log.evidence.get(finding));
    times.map(Vec::as_slice).unwrap_or_default()
}

pub(super) fn found<'a>(
    station: &'a Station,
    f: &'a Finding,
    logged: &[Option<Timestamp>],
) -> Found<'a> {
    let currency = station.site.price.as_ref().map(|p| p.currency.as_str());
    Found {
        id: &f.id,
        subject: station.id(f.subject),
        kind: f.kind.name(),
        urgency: f.urgency.words(),
        title: &f.title,
        since: f.since.map(|t| day(station, t)),
        evidence: f
            .evidence
            .iter()
            .enumerate()
            .map(|(at, e)| Evidence {
                point: name(station, e.id),
                unit: file_unit(e.id.point.dimension()).0,
                read: in_unit(e.id, e.read),
                mid: e.mid.map(|mid| in_unit(e.id, mid)),
                deviations: e.deviations,
                logged: logged
                    .get(at)
                    .copied()
                    .flatten()
                    .map(|t| moment(station, t)),
            })
            .collect(),
        health: f.health.as_ref().map(|h| Health {
            what: &h.what,
            unit: h.unit,
            value: h.value,
            low: h.low,
            high: h.high,
            per_month: h.per_month,
        }),
        limit: f.limit.as_ref().map(|l| Limit {
            what: &l.what,
            earliest: l.earliest.map(|d| d.to_string()),
            likely: l.likely.map(|d| d.to_string()),
            latest: l.latest.map(|d| d.to_string()),
        }),
        cost: Cost {
            per_year: f.cost.per_year,
            currency,
            kwh_per_year: f.cost.kwh_per_year,
            why_not: f.cost.why_not.as_deref(),
        },
        causes: f
            .causes
            .iter()
            .map(|c| Cause {
                cause: &c.cause,
                probability: c.probability,
                speaks_for: &c.speaks_for,
                speaks_against: &c.speaks_against,
            })
            .collect(),
        next_check: f.next_check.as_deref(),
        action: &f.action,
        isolate: f.isolate,
        cautions: &f.cautions,
        working: f.working.iter().map(step).collect(),
    }
}

/// A level in the unit of its point, or as a share.
fn own(station: &Station, level: &Level) -> Own {
    let (unit, size) = file_unit(level.id.point.dimension());
    let (unit, size) = match (level.relative, unit) {
        (true, _) => ("1", 1.0),
        (_, "degC") => ("K", 1.0),
        (_, "bar(g)") => ("bar", size),
        _ => (unit, size),
    };
    Own {
        point: name(station, level.id),
        state: match level.moment {
            Moment::Loaded => Some("loaded"),
            Moment::Unloaded => Some("unloaded"),
            Moment::Stopped | Moment::Unknown => None,
        },
        unit,
        over: level.over / size,
        sigma: level.sigma / size,
        scatter: level.scatter / size,
        readings: level.readings,
        cusum: level.sum,
        cusum_since: level.since.map(|t| moment(station, t)),
        ewma: level.average,
    }
}

pub(super) fn step(s: &WorkingStep) -> Step<'_> {
    Step {
        name: &s.name,
        formula: &s.formula,
        numbers: &s.numbers,
        value: s.value,
        unit: &s.unit,
        source: &s.source,
    }
}
