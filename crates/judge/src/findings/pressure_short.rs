//! `pressure-short`: the header's pressure is under what the plant wants.

use physics::working::{Formula, Mark, Step};
use station::model::Asset;
use station::point::{Point, PointId};

use super::draft;
use crate::context::Context;
use crate::finding::{Cost, Evidence, Finding, Kind, Urgency};
use crate::safety::{before_more_pressure, ceiling, ceiling_step};
use crate::say::round;

const SHORT: Formula = Formula {
    name: "pressure missing",
    equation: "Δp = p_wanted − p_read",
    unit: "bar",
    source: "`header.wanted` of the station file",
    mark: Mark::Derived,
};

const MORE_PRESSURE: Formula = Formula {
    name: "more power for a bar more, about",
    equation: "ΔP/P",
    unit: "1",
    source: "packages of 6 to 10 bar(g)",
    mark: Mark::CommonPractice,
};
/// What a bar more costs of the power, about (common practice, no source).
const A_BAR: f64 = 0.07;

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in 0..ctx.station.headers.len() {
        found.extend(finding(ctx, i));
    }
    ctx.findings.extend(found);
}

fn finding(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let header = &ctx.station.headers[i];
    let asset = Asset::Header(i);
    let wanted = header.wanted?.si();
    let (read, time) = ctx.number_at(asset, Point::HeaderPressure)?;
    let newest = ctx.looks.first()?;
    // Off-shift the pressure may fall; yesterday's dip is no reason to act today.
    if time != newest.day.time || newest.day.working == Some(false) || read >= wanted {
        return None;
    }
    let sigma = ctx.sigma(asset, Point::HeaderPressure, read);
    let certain = wanted - read > 1.96 * sigma;
    let id = PointId {
        asset,
        point: Point::HeaderPressure,
    };
    let before = earlier_short(ctx, id, wanted, time);
    // A gauge may err by its class: one reading inside that is told only if the last one agrees.
    if !certain && !before {
        return None;
    }
    let mut f = draft(ctx, Kind::PressureShort, asset, "pressure", Some(time));
    let residual = ctx.residual(asset, Point::HeaderPressure);
    f.title = format!(
        "{} stands at {}, where the plant wants {}{}",
        header.id,
        ctx.units.gauge(read),
        ctx.units.gauge(wanted),
        residual.map_or(String::new(), |r| format!(
            "; the machines and the line as they should be give {} to {}",
            ctx.units.gauge(r.band.low()),
            ctx.units.gauge(r.band.high())
        ))
    );
    f.urgency = if certain {
        Urgency::Now
    } else {
        Urgency::ThisWeek
    };
    f.evidence = vec![match residual {
        Some(r) => r.evidence(),
        None => Evidence {
            id,
            read,
            mid: None,
            deviations: None,
        },
    }];
    f.working = residual.map(|r| ctx.working_of(r)).unwrap_or_default();
    f.working.push(SHORT.step(
        format!(
            "{} − {} bar(g)",
            round(wanted / 1e5, 2),
            round(read / 1e5, 2)
        ),
        (wanted - read) / 1e5,
    ));
    f.cost = Cost::at_stake("risk, not energy: what the plant makes");
    let (check, working) = next(ctx);
    f.next_check = Some(check);
    f.working.extend(working);
    let all: Vec<usize> = (0..ctx.station.machines.len()).collect();
    f.action = format!(
        "See that every machine is on, loaded and not tripped; then find the drop between machines and {}: dryer, filters, valves; raising the machines' band comes last: it costs about 7 % of their power per bar{}",
        header.id,
        ceiling(ctx.station, &all, ctx.units)
            .map_or(String::new(), |c| format!(", and must stay well below {c}"))
    );
    f.cautions = before_more_pressure(ctx.station, &all, ctx.units);
    f.working
        .push(MORE_PRESSURE.step("a bar more at the machines' outlets", A_BAR));
    f.working.extend(ceiling_step(ctx.station, &all));
    Some(f)
}

/// Whether the reading before this one was short too.
fn earlier_short(ctx: &Context<'_>, id: PointId, wanted: f64, time: jiff::Timestamp) -> bool {
    ctx.memory
        .recent
        .iter()
        .rev()
        .filter(|r| r.time < time)
        .find_map(|r| r.number(id.asset, id.point))
        .is_some_and(|p| p < wanted)
}

/// The largest drop on the line that was read, as the next thing to look at.
fn next(ctx: &Context<'_>) -> (String, Vec<Step>) {
    let drops = ctx.residuals.values().filter(|r| {
        matches!(r.id.point, Point::FilterDrop | Point::DryerDrop) && r.read > r.band.mid
    });
    drops
        .max_by(|a, b| (a.read - a.band.mid).total_cmp(&(b.read - b.band.mid)))
        .map_or_else(
            || {
                let read = "Read the pressure at machine, vessel and header by one gauge, and the drop of each filter";
                (read.to_owned(), Vec::new())
            },
            |r| {
                let whose = ctx.station.id(r.id.asset);
                let look = format!("Look at {whose} first: it takes {}", ctx.beside(r));
                (look, ctx.working_of(r))
            },
        )
}
