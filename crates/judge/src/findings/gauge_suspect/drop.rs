//! Part of `gauge-suspect`: a drop larger than the gauges before and behind it leave room for.
//!
//! Must not know: when an element is changed.

use physics::quantity::BAR_PA;
use physics::working::{Formula, Mark};
use station::model::Asset;
use station::point::{Point, PointId};

use super::{IN_BETWEEN, base, swing};
use crate::context::{Context, Residual};
use crate::day::reading_sigma;
use crate::finding::{Evidence, Finding};
use crate::say::round;

const ROOM: Formula = Formula {
    name: "most that the drop can be by the gauges before and behind it",
    equation: "p_before − p_behind + 2 √(σ_1² + σ_2² + band²/6)",
    unit: "bar",
    source: "pressures along the line; the band swings between two looks (two uniform distributions)",
    mark: Mark::Derived,
};
/// So many standard deviations of both gauges a drop may lie above what they say (common practice, no source).
const SURELY: f64 = 2.0;

/// A filter's drop that the gauges read in the same round leave no room for.
pub(crate) fn no_room_for(ctx: &Context<'_>, r: &Residual) -> Option<Finding> {
    let read_with = ctx.memory.recent.iter().rev().find(|x| x.time == r.time)?;
    let path = ctx.station.air_path.assets();
    let place = path.iter().position(|a| *a == r.id.asset)?;
    let gauge = |asset: &Asset| {
        let point = match asset {
            Asset::Vessel(_) => Point::VesselPressure,
            Asset::Header(_) => Point::HeaderPressure,
            _ => return None,
        };
        let id = PointId {
            asset: *asset,
            point,
        };
        let read = read_with.number(id.asset, id.point)?;
        Some((id, read, reading_sigma(ctx.station, id, read)))
    };
    let (before, p_before, one) = path[..place].iter().rev().find_map(gauge)?;
    let (behind, p_behind, other) = path[place + 1..].iter().find_map(gauge)?;
    let sigma = one.hypot(other).hypot(IN_BETWEEN * swing(ctx.station));
    let room = (p_before - p_behind).max(0.0) + SURELY * sigma;
    if r.read <= room {
        return None;
    }
    let mut f = base(ctx, r.id, r.time);
    f.title = format!(
        "{} reads {}, where the gauges before and behind it leave room for {} at most",
        ctx.point_name(r.id),
        ctx.units.drop(r.read),
        ctx.units.drop(room)
    );
    let plain = |id, read| Evidence {
        id,
        read,
        mid: None,
        deviations: None,
    };
    f.evidence = vec![
        r.evidence(),
        plain(before, p_before),
        plain(behind, p_behind),
    ];
    f.working = ctx.working_of(r);
    let bar = |pa: f64| round(pa / BAR_PA, 3);
    f.working.push(ROOM.step(
        format!(
            "{} − {} bar, √ = {} bar",
            bar(p_before),
            bar(p_behind),
            bar(sigma)
        ),
        room / BAR_PA,
    ));
    Some(f)
}
