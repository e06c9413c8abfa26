//! Gauges that have shifted by themselves, and pressures that no longer agree.
//!
//! Must not know: the cooling.

use super::*;

const PRESSURE: Scale = Scale {
    level: 0.2e5,
    weather: 0.03e5,
    duty: 0.03e5,
    least_noise: 0.04e5,
    relative: false,
    learn: LEARN,
    after: AFTER,
    wears: None,
    blur: 0.0,
    own: None,
    seldom: false,
};
/// A pressure gauge that strays by less is proven perhaps, but not worth telling, Pa: two thirds of
/// what class 1.6 of 10 bar may err (EN 837-1).
const LEAST_PRESSURE: f64 = 0.1e5;
/// The same of a thermometer, K: two thirds of what such displays may err (common practice, no
/// source).
const LEAST_READING_K: f64 = 1.0;
/// The same as a share of a power or a flow (common practice, no source).
const LEAST_READING_SHARE: f64 = 0.018;

/// Vessel and header pressures beside what the machine's own gauge says.
pub(super) fn pressures(ctx: &mut Context<'_>, streams: &Streams) {
    let line = ctx.station.air_path.assets();
    let list: Vec<(&Stream, Scale)> = line
        .into_iter()
        .filter_map(|asset| {
            let point = match asset {
                Asset::Vessel(_) => Point::VesselPressure,
                Asset::Header(_) => Point::HeaderPressure,
                _ => return None,
            };
            Some((streams.of(asset, point, Moment::Unknown)?, PRESSURE))
        })
        .collect();
    if list.is_empty() {
        return;
    }
    let first_behind = list.iter().position(|(stream, _)| {
        before(&ctx.station.air_path, stream.id.asset)
            .iter()
            .any(|a| matches!(a, Asset::Filter(_) | Asset::Dryer(_)))
    });
    let mut sought = Vec::new();
    for cause in ctx.tables.causes(Group::Pressures) {
        match (cause.moves, cause.name) {
            (Moves::Unplaced, "gauge wrong") => {
                sought.extend((0..list.len()).map(|n| cause.placed(Moves::Only(n))));
            }
            (Moves::Unplaced, _) => {
                sought.extend(first_behind.map(|n| cause.placed(Moves::From(n))));
            }
            _ => sought.push(cause),
        }
    }
    let outcome = Search::of(ctx.tables, sought, list).run();
    for change in outcome.changes.iter().filter(|c| !nothing(c)) {
        if change.cause.name == "gauge wrong"
            && let Some(finding) = gauge_finding(ctx, streams, change, &outcome.levels)
        {
            merge(ctx, finding);
        }
    }
}

/// Which reading a wrong gauge is.
fn suspected(ctx: &Context<'_>, change: &Change) -> Option<PointId> {
    match change.cause.moves {
        Moves::Second => change.ids.get(1).copied(),
        Moves::Only(n) => change.ids.get(n).copied(),
        // All vessels and headers alike: the gauge that they are compared with.
        Moves::All if change.ids.first()?.point != Point::HeaderFlow => {
            (0..ctx.station.machines.len())
                .map(|i| PointId {
                    asset: Asset::Machine(i),
                    point: Point::MachinePressure,
                })
                .find(|id| ctx.numbers.contains_key(id))
        }
        _ => change.ids.first().copied(),
    }
}

pub(super) fn gauge_finding(
    ctx: &Context<'_>,
    streams: &Streams,
    change: &Change,
    levels: &[OwnLevel],
) -> Option<Finding> {
    let id = suspected(ctx, change)?;
    let shown = change
        .ids
        .iter()
        .find(|i| **i == id)
        .or(change.ids.first())?;
    let stream = streams
        .list
        .iter()
        .filter(|s| s.id == *shown)
        // Of a meter only what it showed at one moment speaks, no week's mean and no test.
        .filter(|s| shown.point != Point::HeaderFlow || s.moment == BY_WATCH)
        .max_by(|a, b| newest(a).total_cmp(&newest(b)))?;
    let last = stream.samples.back()?;
    let relative = matches!(id.point, Point::MachinePower | Point::HeaderFlow);
    let (least, unit) = match id.point {
        _ if relative => (LEAST_READING_SHARE, last.mid),
        Point::VesselPressure | Point::HeaderPressure | Point::MachinePressure => {
            (LEAST_PRESSURE, 1.0)
        }
        _ => (LEAST_READING_K, 1.0),
    };
    if change.size.abs() < least {
        return None;
    }
    let size = change.size * unit;
    let place = change.ids.iter().position(|i| i == shown).unwrap_or(0);
    let level = levels.iter().find(|l| l.id == *shown);
    let seen = Shown::of(stream, level, relative, |s| {
        change.shown(place, s, relative)
    })?;
    if !seen.shows {
        return None;
    }
    let part = format!("gauge-{}", id.point.name());
    let mut f = draft(
        ctx,
        Kind::GaugeSuspect,
        id.asset,
        &part,
        moment(change.course.begins()),
    );
    let half = change.scatter(*shown) * unit;
    f.title = if *shown == id {
        format!(
            "{} has shifted by itself: {}; nothing else that would move with it has",
            ctx.point_name(id),
            seen.beside(ctx, half)
        )
    } else {
        format!(
            "{} has shifted by itself: all gauges behind it differ from it alike, {}: {}",
            ctx.point_name(id),
            ctx.point_name(*shown),
            seen.beside(ctx, half)
        )
    };
    f.urgency = Urgency::Watch;
    f.evidence = vec![seen.evidence()];
    f.working.push(seen.step());
    let of_size = |x: f64| crate::working::in_difference_unit(id.point, x * unit);
    f.health = Some(PartHealth {
        what: "shift of the reading".to_owned(),
        unit: crate::say::file_unit(id.point.dimension()).0,
        value: crate::working::in_difference_unit(id.point, size),
        low: of_size(change.size - 1.96 * change.sigma),
        high: of_size(change.size + 1.96 * change.sigma),
        per_month: None,
    });
    f.causes = named::causes(ctx, change);
    f.cost = Cost::at_stake("nothing by itself; what is judged from this gauge may be wrong");
    f.next_check = Some(format!(
        "Read {} with another instrument",
        ctx.point_name(id)
    ));
    f.action = format!(
        "Have the gauge of {} compared and changed, and write `{}:change gauge` into `done`",
        ctx.point_name(id),
        ctx.station.id(id.asset)
    );
    f.cautions = at_a_gauge(ctx.station, id.asset, ctx.units);
    f.working.push(scatter_step(shown.point, half));
    f.working.push(grown_step(change));
    f.working.extend(evidence_steps(ctx, change));
    Some(f)
}

fn newest(stream: &Stream) -> f64 {
    stream.samples.back().map_or(f64::NEG_INFINITY, |s| s.day)
}
