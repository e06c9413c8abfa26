//! Part of `observation`: a pressure that was read above what a machine, a vessel or its safety valve
//! is made for.
//!
//! The gauge may be wrong, and is to be read again; but nobody waits for that. What stands before a
//! gauge is at no lower pressure, what stands behind it at no less than the expected drop below it.

use physics::quantity::{BAR_PA, GaugePressure};
use physics::working::{Formula, Mark};
use station::model::Asset;
use station::point::{Point, PointId};
use station::round::Round;

use crate::context::Context;
use crate::day::{Day, Moment};
use crate::finding::{Cost, Evidence, Finding, Kind, Urgency};
use crate::findings::draft;
use crate::line::before;
use crate::safety::at_safety_valves;
use crate::say::round;

const ABOVE: Formula = Formula {
    name: "pressure above the limit",
    equation: "Δp = p − p_limit, must not be positive",
    unit: "bar",
    source: "`max_pressure` and `safety_valve.set` of the station file",
    mark: Mark::Derived,
};

/// One limit that is passed.
struct Passed {
    on: Asset,
    /// In words, with its value.
    limit: String,
    /// Pressure at the place, and the limit; Pa.
    at: f64,
    most: f64,
    /// Whether the file tells it; otherwise it is a default.
    told: bool,
}

pub(super) fn look(ctx: &mut Context<'_>) {
    let gauges: Vec<(PointId, f64, &Round)> = ctx
        .numbers
        .iter()
        .filter(|(id, _)| is_gauge(id.point))
        .filter_map(|(id, (pa, time))| {
            let round = ctx.memory.recent.iter().rev().find(|r| r.time == *time)?;
            Some((*id, *pa, round))
        })
        .collect();
    let found: Vec<Finding> = gauges
        .into_iter()
        .filter_map(|(id, pa, round)| {
            let passed = passed(ctx, id, pa, round);
            (!passed.is_empty()).then(|| finding(ctx, id, pa, round, &passed))
        })
        .collect();
    ctx.findings.extend(found);
}

fn is_gauge(point: Point) -> bool {
    matches!(
        point,
        Point::MachinePressure | Point::VesselPressure | Point::HeaderPressure
    )
}

/// The gauge of a thing, if it has one.
fn gauge_of(asset: Asset) -> Option<Point> {
    match asset {
        Asset::Machine(_) => Some(Point::MachinePressure),
        Asset::Vessel(_) => Some(Point::VesselPressure),
        Asset::Header(_) => Some(Point::HeaderPressure),
        _ => None,
    }
}

/// Every limit that a reading passes: of its own place, and of the places before and behind it that
/// were not read themselves.
fn passed(ctx: &Context<'_>, id: PointId, pa: f64, round: &Round) -> Vec<Passed> {
    let day = Day::of(ctx.station, ctx.memory, round).ok();
    let stopped = |asset| match asset {
        Asset::Machine(i) => day
            .as_ref()
            .is_some_and(|day| day.moments[i] == Moment::Stopped),
        _ => false,
    };
    let unread =
        |asset: Asset| gauge_of(asset).is_some_and(|point| round.number(asset, point).is_none());
    let line = &ctx.station.air_path;
    let mut all = limits_at(ctx, id.asset, pa, true);
    for asset in before(line, id.asset) {
        // A machine that stands still is shut off by its own valve.
        if unread(asset) && !stopped(asset) {
            all.extend(limits_at(ctx, asset, pa, false));
        }
    }
    for (i, _) in ctx.station.vessels.iter().enumerate() {
        let vessel = Asset::Vessel(i);
        let behind = before(line, vessel).contains(&id.asset);
        if behind && unread(vessel) && !stopped(id.asset) {
            let at = pa - drop_between(ctx, round, id.asset, vessel);
            all.extend(limits_at(ctx, vessel, at, false));
        }
    }
    all
}

/// The expected drop from one place to another, Pa; nothing where it is not known.
fn drop_between(ctx: &Context<'_>, round: &Round, from: Asset, to: Asset) -> f64 {
    let look = ctx.looks.iter().find(|l| l.day.time == round.time);
    let state = look.and_then(|l| l.state.as_ref());
    let at = |asset| Some(state?.place(asset)?.pressure.si());
    match (at(from), at(to)) {
        (Some(from), Some(to)) => (from - to).max(0.0),
        _ => 0.0,
    }
}

/// The limits of a place that a pressure there passes; `own` if the gauge stands there itself.
fn limits_at(ctx: &Context<'_>, on: Asset, at: f64, own: bool) -> Vec<Passed> {
    let station = ctx.station;
    let say = |p: GaugePressure| ctx.units.gauge(p.si());
    let limits: Vec<(String, GaugePressure, bool)> = match on {
        Asset::Machine(i) => {
            let m = &station.machines[i];
            let key = format!("{}.max_pressure", m.id);
            let told = station.defaults_used.iter().all(|d| d.key != key);
            let how = if told { "permitted" } else { "assumed" };
            let most = say(m.max_pressure);
            let limit = if own {
                format!("its {how} {most}")
            } else {
                format!("the {how} {most} of {}", m.id)
            };
            vec![(limit, m.max_pressure, told)]
        }
        Asset::Vessel(i) => {
            let v = &station.vessels[i];
            let most = say(v.max_pressure);
            let whose = if own {
                "its safety valve".to_owned()
            } else {
                format!("the safety valve of {}", v.id)
            };
            let most = if own {
                format!("its permitted {most}")
            } else {
                format!("the permitted {most} of {}", v.id)
            };
            let valve = v.safety_valve.map(|valve| {
                let limit = format!("the {} that {whose} is set to", say(valve.set));
                (limit, valve.set, true)
            });
            std::iter::once((most, v.max_pressure, true))
                .chain(valve)
                .collect()
        }
        _ => Vec::new(),
    };
    limits
        .into_iter()
        .filter(|(_, most, _)| at > most.si())
        .map(|(limit, most, told)| Passed {
            on,
            limit,
            at,
            most: most.si(),
            told,
        })
        .collect()
}

fn finding(ctx: &Context<'_>, id: PointId, pa: f64, round_of: &Round, all: &[Passed]) -> Finding {
    let asset = id.asset;
    let name = ctx.station.id(asset);
    let mut f = draft(
        ctx,
        Kind::Observation,
        asset,
        "over-pressure",
        Some(round_of.time),
    );
    let date = |t: jiff::Timestamp| {
        t.to_zoned_datetime(ctx.station.site.time_zone.clone())
            .date()
    };
    let today = ctx.memory.latest().map(|r| date(r.time)) == Some(date(round_of.time));
    let limits: Vec<&str> = all.iter().map(|p| p.limit.as_str()).collect();
    f.title = format!(
        "{name} {} at {}{}, above {}",
        if today { "stands" } else { "stood" },
        ctx.units.gauge(pa),
        if today {
            String::new()
        } else {
            format!(" on {}, and was not read since", date(round_of.time))
        },
        limits.join(" and ")
    );
    f.urgency = if today && all.iter().any(|p| p.told) {
        Urgency::Now
    } else {
        Urgency::ThisWeek
    };
    f.evidence = vec![Evidence {
        id,
        read: pa,
        mid: None,
        deviations: None,
    }];
    f.working = all
        .iter()
        .map(|p| {
            ABOVE.step(
                format!(
                    "{} − {} bar(g) on {}",
                    round(p.at / BAR_PA, 2),
                    round(p.most / BAR_PA, 2),
                    ctx.station.id(p.on)
                ),
                (p.at - p.most) / BAR_PA,
            )
        })
        .collect();
    f.cost = Cost::at_stake(
        "safety: vessels, hoses and machines stand more pressure than they are permitted to",
    );
    f.next_check = Some(format!(
        "Read {} a second time, or another gauge beside it; do not wait for it",
        ctx.point_name(id)
    ));
    f.action = format!(
        "Read {} once more, but do not wait for it: stop {} if the pressure does not fall at once; keep clear of safety valves and of what stands under pressure; a licensed person finds out why it did not unload before it is used again",
        ctx.point_name(id),
        machines_before(ctx, asset)
    );
    f.cautions = at_safety_valves();
    f
}

/// The machines that feed a place, or the machine itself, by name.
fn machines_before(ctx: &Context<'_>, asset: Asset) -> String {
    let mut feeding = before(&ctx.station.air_path, asset);
    feeding.push(asset);
    feeding.retain(|a| matches!(a, Asset::Machine(_)));
    let names: Vec<&str> = feeding.iter().map(|a| ctx.station.id(*a)).collect();
    if names.is_empty() {
        "the machines that feed it".to_owned()
    } else {
        names.join(" and ")
    }
}
