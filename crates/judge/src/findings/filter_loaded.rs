//! `filter-loaded`: a line filter's drop at or near its change value.
//!
//! A drop between two pressure gauges is only as good as two gauges; that is refused.

use physics::quantity::{BAR_PA, PressureDifference};
use physics::working::{Formula, Mark, Step};
use station::model::{Asset, Filter};
use station::point::{Point, PointId};

use super::draft;
use super::gauge_suspect::no_room_for;
use super::separator_loaded::{NEAR, urgency, way};
use crate::context::{Context, Residual};
use crate::day::reading_sigma;
use crate::finding::{Finding, Kind, PartHealth};
use crate::safety::at_the_line;
use crate::say::{in_file_unit, round};

const TWO_GAUGES: Formula = Formula {
    name: "how far two sound gauges read apart, 95 %",
    equation: "1.96 √(σ_1² + σ_2²)",
    unit: "bar",
    source: "JCGM 100:2008, first-order propagation; errors of both gauges by the station file or their class",
    mark: Mark::Published,
};

const LARGEST: Formula = Formula {
    name: "largest drop of the newest 14 days",
    equation: "max Δp",
    unit: "bar",
    source: "the drop swings with the flow: the largest tells the most (common practice, no source)",
    mark: Mark::Derived,
};

/// The largest reading of so many days is judged.
const LOOK_BACK_DAYS: f64 = 14.0;
/// A drop below so many times a clean element's at its flow comes of the flow (common practice, no source).
const FLOW_ALONE: f64 = 1.25;
/// A clean element's drop that is known worse than this, one standard deviation as a share, excuses nothing
/// (common practice, no source).
const FLOW_KNOWN: f64 = 0.25;

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in 0..ctx.station.filters.len() {
        match ctx.residual(Asset::Filter(i), Point::FilterDrop) {
            Some(r) => {
                // The drop swings with the flow: the largest of the last two weeks tells the most.
                let largest = ctx.largest_of(r, LOOK_BACK_DAYS);
                let newest = r.clone();
                let mut r = largest.unwrap_or_else(|| newest.clone());
                // What the gauges about it leave no room for was misread; the newest may be right.
                if let Some(asked) = no_room_for(ctx, &r) {
                    found.push(asked);
                    if r.time == newest.time || no_room_for(ctx, &newest).is_some() {
                        continue;
                    }
                    r = newest;
                }
                let filter = &ctx.station.filters[i];
                if way(r.read, filter.clean.value, filter.change) < NEAR {
                    continue;
                }
                if overloaded(&r) {
                    flow_alone(ctx, i, &r);
                } else {
                    found.push(finding(ctx, i, &r));
                }
            }
            None => not_from_two_gauges(ctx, i),
        }
    }
    ctx.findings.extend(found);
}

/// Of a drop near its change.
fn finding(ctx: &Context<'_>, i: usize, r: &Residual) -> Finding {
    let filter = &ctx.station.filters[i];
    let way = way(r.read, filter.clean.value, filter.change);
    let mut f = draft(
        ctx,
        Kind::FilterLoaded,
        Asset::Filter(i),
        "element",
        Some(r.time),
    );
    let newest = ctx.looks.is_empty() || ctx.is_newest(r.time);
    let (takes, when) = if newest {
        ("takes", String::new())
    } else {
        ("took", format!(" on {}", r.time.strftime("%Y-%m-%d")))
    };
    f.title = format!(
        "Filter {} {takes} {} clean at this flow{when}; change at {}",
        filter.id,
        ctx.beside(r),
        ctx.units.drop(filter.change.si()),
    );
    f.evidence = vec![r.evidence()];
    f.health = Some(over_clean(r));
    f.working = ctx.working_of(r);
    if !newest {
        let (read, unit) = in_file_unit(r.id.point, r.read);
        let day = r.time.strftime("%Y-%m-%d");
        f.working.push(Step {
            unit: unit.to_owned(),
            ..LARGEST.step(format!("read on {day}"), read)
        });
    }
    let more = PressureDifference::new((r.read - r.band.mid).max(0.0));
    let priced = ctx
        .year
        .trimming(ctx.station)
        .and_then(|machine| ctx.year.of_pressure(ctx.station, machine, more));
    urgency(&mut f, way, priced);
    f.next_check = Some(next_check(filter));
    f.action = format!("Change the element of {}; look at its drain", filter.id);
    f.isolate = true;
    f.cautions = at_the_line(ctx.station, Asset::Filter(i), ctx.units);
    f
}

/// Whether a drop is no more than a clean element has at this flow, which is known well enough.
fn overloaded(r: &Residual) -> bool {
    r.band.sigma < FLOW_KNOWN * r.band.mid && r.read < FLOW_ALONE * r.band.mid
}

/// What a clean element takes at this flow no new one takes away.
fn flow_alone(ctx: &mut Context<'_>, i: usize, r: &Residual) {
    let id = &ctx.station.filters[i].id;
    let why = format!(
        "it takes {} clean at this flow: more goes through than it is made for, and a new element would take as much",
        ctx.beside(r)
    );
    let working = ctx.working_of(r);
    ctx.skip_by(&format!("the element of {id}"), &why, working);
}

fn over_clean(r: &Residual) -> PartHealth {
    let k = r.read / r.band.mid;
    let half = 1.96 * r.band.sigma / r.band.mid;
    PartHealth {
        what: "filter drop over clean at this flow".to_owned(),
        unit: "1",
        value: k,
        low: (k - half).max(0.0),
        high: k + half,
        per_month: None,
    }
}

fn next_check(filter: &Filter) -> String {
    format!(
        "Read {}.drop again at full flow, by one gauge at both taps",
        filter.id
    )
}

/// Gauges before and behind were read, the drop was not: say why nothing is made of that.
fn not_from_two_gauges(ctx: &mut Context<'_>, i: usize) {
    let path = ctx.station.air_path.assets();
    let asset = Asset::Filter(i);
    let Some(place) = path.iter().position(|a| *a == asset) else {
        return;
    };
    let gauge = |a: &Asset| {
        let point = match a {
            Asset::Machine(_) => Point::MachinePressure,
            Asset::Vessel(_) => Point::VesselPressure,
            Asset::Header(_) => Point::HeaderPressure,
            _ => return None,
        };
        let id = PointId { asset: *a, point };
        ctx.numbers
            .get(&id)
            .map(|(p, _)| reading_sigma(ctx.station, id, *p))
    };
    let before = path[..place].iter().rev().find_map(gauge);
    let behind = path[place + 1..].iter().find_map(gauge);
    let id = &ctx.station.filters[i].id;
    let what = format!("the drop of {id}");
    let (Some(one), Some(other)) = (before, behind) else {
        ctx.skip(&what, &format!("`{id}.drop` was not read"));
        return;
    };
    let apart = 1.96 * one.hypot(other);
    let why = format!(
        "two pressure gauges differ by up to {} between them when both are right: read {id}.drop from a differential gauge, or by one gauge at both taps",
        ctx.units.drop(apart)
    );
    let bar = |pa: f64| pa / BAR_PA;
    let step = TWO_GAUGES.step(
        format!(
            "σ_1 = {} bar, σ_2 = {} bar",
            round(bar(one), 3),
            round(bar(other), 3)
        ),
        bar(apart),
    );
    ctx.skip_by(&what, &why, vec![step]);
}
