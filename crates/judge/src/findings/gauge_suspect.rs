//! `gauge-suspect`: a reading that cannot be right, or that its neighbours do not confirm.

mod drop;
mod swapped;

use physics::quantity::ZERO_CELSIUS_K;
use physics::working::{Formula, Mark};
use station::model::{Asset, Control, DryerKind, Station};
use station::point::{Point, PointId};

use super::draft;
use crate::context::{Context, LONE, Residual};
use crate::day::{Moment, is_more_than_all, rated_of_all, reading_sigma};
use crate::doubt::Doubt;
use crate::finding::{Cost, Evidence, Finding, Kind, Urgency};
use crate::line::before;
use crate::memory::Hours;
use crate::safety::at_a_gauge;
use crate::say::round;
pub(crate) use drop::no_room_for;
pub(crate) use swapped::PART as SWAPPED;

const ORDER: Formula = Formula {
    name: "pressure rise against the flow",
    equation: "Δp = p_behind − p_before, must not be positive",
    unit: "bar",
    source: "air flows from high pressure to low",
    mark: Mark::Derived,
};
const WARMER: Formula = Formula {
    name: "temperature below what it must exceed",
    equation: "ΔT = T_read − T_least",
    unit: "K",
    source: "second law: a cooler can't cool below its cooling air",
    mark: Mark::Derived,
};
const ALL_GIVE: Formula = Formula {
    name: "what all machines together are rated for",
    equation: "Σ V_rated, asked about from 1.5 times that on",
    unit: "m3/min",
    source: "the station file",
    mark: Mark::Derived,
};
const COUNTERS: Formula = Formula {
    name: "hours loaded over hours run",
    equation: "Δh_loaded − Δh_run, must not be positive",
    unit: "h",
    source: "a machine is on load only while it runs",
    mark: Mark::Derived,
};

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    found.extend(against_the_flow(ctx));
    found.extend(more_than_all_give(ctx));
    for i in 0..ctx.station.machines.len() {
        found.extend(colder_than_its_cooling_air(ctx, i));
        found.extend(more_loaded_than_run(ctx, i));
    }
    found.extend(
        ctx.residuals
            .values()
            .filter(|r| r.lone() && !borne_out(ctx, r))
            .map(|r| lone(ctx, r)),
    );
    for i in 0..ctx.station.dryers.len() {
        found.extend(drier_than_it_can(ctx, i));
    }
    ctx.findings.extend(found);
    swapped::look(ctx);
}

/// A refrigeration dryer holds a dew point and cannot hold a much lower one: far below its band the
/// reading is asked about, however often it says the same.
fn drier_than_it_can(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let dryer = &ctx.station.dryers[i];
    let r = ctx.residual(Asset::Dryer(i), Point::DryerDewPoint)?;
    let refrigerates = matches!(dryer.kind, DryerKind::Refrigeration { .. });
    if !refrigerates || r.z > -LONE || !r.low() || r.lone() {
        return None;
    }
    let mut f = base(ctx, r.id, r.time);
    f.since = Some(r.since);
    f.title = format!(
        "{}: {}; {} cannot dry so far by cooling, so the reading or its column is in doubt",
        ctx.point_name(r.id),
        ctx.beside(r),
        dryer.id
    );
    f.evidence = vec![r.evidence()];
    f.working = ctx.working_of(r);
    f.next_check = Some(format!(
        "Compare {} with another dew-point meter, and see whether it is read under pressure: at atmosphere the same air shows a far lower dew point",
        ctx.point_name(r.id)
    ));
    Some(f)
}

fn base(ctx: &Context<'_>, id: PointId, time: jiff::Timestamp) -> Finding {
    let part = format!("gauge-{}", id.point.name());
    let mut f = draft(ctx, Kind::GaugeSuspect, id.asset, &part, Some(time));
    f.urgency = Urgency::Watch;
    f.cost = Cost::at_stake("nothing by itself; what is judged from this gauge may be wrong");
    f.next_check = Some(format!(
        "Read {} once more, or with another instrument",
        ctx.point_name(id)
    ));
    f.action = format!(
        "Read {} again; if it says the same, have the gauge compared and changed, and write `{}:change gauge` into `done`",
        ctx.point_name(id),
        ctx.station.id(id.asset)
    );
    f.cautions = at_a_gauge(ctx.station, id.asset, ctx.units);
    f
}

/// While the keeper walks from gauge to gauge the pressure goes on swinging: two looks at a band at any two
/// moments differ by √(1/6) of it, one standard deviation (two uniform distributions).
const IN_BETWEEN: f64 = 0.41;

/// The widest band in which a machine lets the pressure swing, Pa.
fn swing(station: &Station) -> f64 {
    let bands = station.machines.iter().map(|m| match &m.control {
        Control::LoadUnload(b) | Control::StartStop(b) => (b.unload - b.load).si(),
        Control::Modulating(_) | Control::VariableSpeed { .. } => 0.0,
    });
    bands.fold(0.0, f64::max)
}

/// Pressure along the line must fall: a gauge behind that reads more than one before, by more than
/// both can err.
fn against_the_flow(ctx: &Context<'_>) -> Option<Finding> {
    let newest = ctx.looks.first()?;
    let mut gauges: Vec<(PointId, f64)> = Vec::new();
    let line = &ctx.station.air_path;
    for asset in ctx.station.air_path.assets() {
        let point = match asset {
            Asset::Vessel(_) => Point::VesselPressure,
            Asset::Header(_) => Point::HeaderPressure,
            _ => continue,
        };
        let id = PointId { asset, point };
        if let Some((p, _)) = ctx
            .numbers
            .get(&id)
            .filter(|(_, time)| *time == newest.day.time)
        {
            gauges.push((id, *p));
        }
    }
    // Side by side there is no order: only gauges that the same air passes are compared.
    let pairs = gauges.iter().flat_map(|behind| {
        let upstream = before(line, behind.0.asset);
        let earlier = gauges.iter().rev();
        earlier
            .filter(move |(id, _)| upstream.contains(&id.asset))
            .map(move |earlier| [*earlier, *behind])
    });
    pairs.into_iter().find_map(|pair| {
        let [(before, high), (behind, low)] = &pair;
        let walked = IN_BETWEEN * swing(ctx.station);
        let doubt = reading_sigma(ctx.station, *before, *high)
            .hypot(reading_sigma(ctx.station, *behind, *low))
            .hypot(walked);
        let rise = low - high;
        if rise < 2.6 * doubt {
            return None;
        }
        let mut f = base(ctx, *behind, newest.day.time);
        f.urgency = Urgency::NextService;
        f.title = format!(
            "{} reads {} and {} before it {}: pressure cannot rise along the line",
            ctx.point_name(*behind),
            ctx.units.gauge(*low),
            ctx.point_name(*before),
            ctx.units.gauge(*high)
        );
        f.next_check = Some(format!(
            "Read {} and {} at the same moment, or both points by one gauge",
            ctx.point_name(*before),
            ctx.point_name(*behind)
        ));
        f.evidence = pair
            .iter()
            .map(|(id, read)| Evidence {
                id: *id,
                read: *read,
                mid: None,
                deviations: None,
            })
            .collect();
        f.working = vec![ORDER.step(
            format!(
                "{:.2} − {:.2} bar(g), both gauges and the way between them uncertain by {:.2} bar, the machines' band {:.2} bar",
                low / 1e5,
                high / 1e5,
                1.96 * doubt / 1e5,
                swing(ctx.station) / 1e5
            ),
            rise / 1e5,
        )];
        Some(f)
    })
}

/// A flow that all machines together could not give.
fn more_than_all_give(ctx: &Context<'_>) -> Option<Finding> {
    let newest = ctx.looks.first()?;
    (0..ctx.station.headers.len()).find_map(|i| {
        let id = PointId {
            asset: Asset::Header(i),
            point: Point::HeaderFlow,
        };
        let (flow, time) = ctx.numbers.get(&id).copied()?;
        if time != newest.day.time || !is_more_than_all(ctx.station, flow) {
            return None;
        }
        let all = rated_of_all(ctx.station);
        let mut f = base(ctx, id, time);
        f.title = format!(
            "{} reads {}, where all machines together are rated for {}",
            ctx.point_name(id),
            ctx.units.flow(flow),
            ctx.units.flow(all)
        );
        f.evidence = vec![Evidence {
            id,
            read: flow,
            mid: None,
            deviations: None,
        }];
        f.working =
            vec![ALL_GIVE.step(format!("{} m³/min read", round(flow * 60.0, 2)), all * 60.0)];
        Some(f)
    })
}

/// On load neither oil nor outlet can be colder than the air that cools them.
fn colder_than_its_cooling_air(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let asset = Asset::Machine(i);
    [Point::OutletTemperature, Point::OilTemperature]
        .into_iter()
        .find_map(|point| {
            let r = ctx.residual(asset, point)?;
            let look = ctx.look_of(r);
            if look.day.moments[i] != Moment::Loaded || !look.day.weather_read {
                return None;
            }
            let cooling_air = look.state.as_ref()?.room.si();
            let doubt =
                ctx.sigma(asset, point, r.read)
                    .hypot(if look.day.conditions.room.is_some() {
                        look.day.inputs.room
                    } else {
                        3.0
                    });
            let over = r.read - cooling_air;
            if over > -2.6 * doubt {
                return None;
            }
            let mut f = base(ctx, r.id, r.time);
            f.urgency = Urgency::NextService;
            f.title = format!(
                "{} reads {} on load, colder than the {} of its cooling air",
                ctx.point_name(r.id),
                ctx.units.temperature(r.read),
                ctx.units.temperature(cooling_air)
            );
            f.evidence = vec![r.evidence()];
            f.working = vec![WARMER.step(
                format!(
                    "{:.1} − {:.1} °C",
                    r.read - ZERO_CELSIUS_K,
                    cooling_air - ZERO_CELSIUS_K
                ),
                over,
            )];
            Some(f)
        })
}

/// The counters of the last weeks contradict each other.
fn more_loaded_than_run(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let asset = Asset::Machine(i);
    // Only rounds that read both counters since the same earlier round can be compared.
    let Hours { run, loaded, days } = ctx.memory.hours(asset, ctx.now, 30.0)?;
    if loaded <= run + 2.0 {
        return None;
    }
    let id = PointId {
        asset,
        point: Point::HoursLoaded,
    };
    let mut f = base(ctx, id, ctx.now);
    f.title = format!(
        "{} counts {loaded:.0} h loaded in {run:.0} h run over the last {days:.0} days",
        ctx.station.id(asset)
    );
    f.urgency = Urgency::NextService;
    let name = ctx.station.id(asset);
    f.next_check = Some(format!(
        "Read {name}.hours_run and {name}.hours_loaded once more, and look which is which"
    ));
    f.action = format!(
        "Read both counters of {name} again; if they were written into each other's column, put the rounds right; if one was changed, write `{name}:replace counter hours_loaded` or `hours_run` into `done`"
    );
    f.evidence = vec![Evidence {
        id,
        read: ctx.number(asset, Point::HoursLoaded)?,
        mid: None,
        deviations: None,
    }];
    f.working = vec![COUNTERS.step(format!("{loaded:.0} − {run:.0}"), loaded - run)];
    Some(f)
}

/// Whether the other temperature of the same machine is off to the same side: then it is the
/// machine, not the gauge.
fn borne_out(ctx: &Context<'_>, r: &Residual) -> bool {
    let other = match r.id.point {
        Point::OilTemperature => Point::OutletTemperature,
        Point::OutletTemperature => Point::OilTemperature,
        _ => return false,
    };
    ctx.residual(r.id.asset, other)
        .is_some_and(|o| o.z * r.z > 0.0 && o.z.abs() > 1.96)
}

/// Asks about what is left aside, and keeps what would want action at once if it were right.
pub(crate) fn ask_about(ctx: &mut Context<'_>, doubts: &[Doubt], if_right: Vec<Finding>) {
    for doubt in doubts {
        let mut f = base(ctx, doubt.id, doubt.time);
        let name = ctx.point_name(doubt.id);
        let point = doubt.id.point;
        f.title = match doubt.sigma {
            Some(sigma) => format!(
                "{name}: {} after the readings before it; it is left aside until it is read again",
                ctx.units
                    .beside(point, doubt.read, doubt.usual, 1.96 * sigma)
            ),
            None => format!(
                "{name}: {}, and {} when it was read before; no counter moves so, it is left aside until it is read again",
                ctx.units.reading(point, doubt.read),
                ctx.units.reading(point, doubt.usual)
            ),
        };
        if doubt.id.point.is_counter() {
            f.action = format!(
                "Read {name} again; if the counter was replaced, write `{}:replace counter {}` into `done`",
                ctx.station.id(doubt.id.asset),
                point.name()
            );
        }
        f.evidence = vec![Evidence {
            id: doubt.id,
            read: doubt.read,
            mid: Some(doubt.usual),
            deviations: doubt.sigma.map(|sigma| (doubt.read - doubt.usual) / sigma),
        }];
        f.working = vec![doubt.working.clone()];
        ctx.findings.push(f);
    }
    for f in if_right {
        if f.urgency == Urgency::Now {
            ctx.findings.retain(|known| known.id != f.id);
            ctx.findings.push(f);
        }
    }
}

/// Far off while the readings before it were right: ask about the reading, not about the machine.
fn lone(ctx: &Context<'_>, r: &Residual) -> Finding {
    let mut f = base(ctx, r.id, r.time);
    f.title = format!(
        "{}: {}; the two readings before it were inside",
        ctx.point_name(r.id),
        ctx.beside(r)
    );
    f.evidence = vec![r.evidence()];
    f.working = ctx.working_of(r);
    f
}
