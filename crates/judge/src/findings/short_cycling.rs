//! `short-cycling`: more starts or loads an hour than motor, valves and storage stand.

use physics::working::{Formula, Mark};
use station::model::{Asset, Control};
use station::point::{Point, PointId};

use super::draft;
use crate::context::Context;
use crate::finding::{Cost, Evidence, Finding, Kind, Urgency};
use crate::safety::in_the_room;
use crate::say::{grouped, round};

/// A load/unload cycle shorter than this blows the separator down for nothing (common practice, no
/// source).
const SHORTEST_CYCLE_S: f64 = 60.0;

const STARTS: Formula = Formula {
    name: "starts an hour",
    equation: "n = starts/hours run",
    unit: "1/h",
    source: "counters; limit from `motor.starts_per_hour` or NEMA MG 10",
    mark: Mark::Published,
};
const CYCLES: Formula = Formula {
    name: "load cycles an hour",
    equation: "n = 3600/(t_load + t_unload)",
    unit: "1/h",
    source: "one cycle by the watch",
    mark: Mark::Derived,
};
const BLOWN_DOWN: Formula = Formula {
    name: "air blown down by cycling",
    equation: "V = V_sep · (p_2 − p_amb)/(R T) · n, as reference air",
    unit: "m3/min",
    source: "ideal gas",
    mark: Mark::Derived,
};

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in 0..ctx.station.machines.len() {
        found.extend(by_starts(ctx, i).or_else(|| by_cycle(ctx, i)));
    }
    ctx.findings.extend(found);
}

fn by_starts(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let machine = &ctx.station.machines[i];
    let asset = Asset::Machine(i);
    let id = PointId {
        asset,
        point: Point::Starts,
    };
    let (starts, days) = ctx.memory.increase(id, 14.0)?;
    let (hours, _) = ctx.memory.increase(
        PointId {
            asset,
            point: Point::HoursRun,
        },
        14.0,
    )?;
    let rate = starts / hours.max(1.0);
    let limit = machine.motor.starts_per_hour.value;
    if starts < 5.0 || rate < limit {
        return None;
    }
    let mut f = base(ctx, i, "starts");
    f.title = format!(
        "{} starts {} times an hour, its motor stands {}",
        machine.id,
        round(rate, 1),
        round(limit, 1)
    );
    f.urgency = Urgency::ThisWeek;
    f.evidence = vec![Evidence {
        id,
        read: ctx.number(asset, Point::Starts)?,
        mid: None,
        deviations: None,
    }];
    f.working.push(STARTS.step(
        format!(
            "{} starts in {} h run over {} days",
            grouped(starts),
            grouped(hours),
            round(days, 0)
        ),
        rate,
    ));
    f.cost = Cost::at_stake("risk, not energy: the motor's windings overheat");
    Some(f)
}

fn by_cycle(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let machine = &ctx.station.machines[i];
    let asset = Asset::Machine(i);
    if !matches!(machine.control, Control::LoadUnload(_)) {
        return None;
    }
    let load = ctx.number(asset, Point::LoadTime)?;
    let unload = ctx.number(asset, Point::UnloadTime)?;
    let cycle = load + unload;
    if cycle >= SHORTEST_CYCLE_S {
        return None;
    }
    let per_hour = 3600.0 / cycle;
    let mut f = base(ctx, i, "cycles");
    f.title = format!(
        "{} loads every {} s, {} times an hour: it blows its separator down for nothing and wears its valves",
        machine.id,
        round(cycle, 0),
        round(per_hour, 0)
    );
    f.evidence = [(Point::LoadTime, load), (Point::UnloadTime, unload)]
        .map(|(point, read)| Evidence {
            id: PointId { asset, point },
            read,
            mid: None,
            deviations: None,
        })
        .to_vec();
    f.working.push(CYCLES.step(
        format!("3600/({} + {})", round(load, 0), round(unload, 0)),
        per_hour,
    ));
    let priced = lost_air(ctx, i, per_hour, unload).and_then(|(flow, step)| {
        f.working.push(step);
        ctx.year
            .of_air(ctx.station, flow, ctx.year.uses.get(i).map(|u| u.hours))
    });
    super::price(&mut f, priced);
    f.urgency = f.urgency.min(Urgency::NextService);
    Some(f)
}

/// What blowing down loses, m³/s of reference air: the separator empties as far as the unloaded
/// time lets it.
fn lost_air(
    ctx: &Context<'_>,
    i: usize,
    per_hour: f64,
    unload_s: f64,
) -> Option<(f64, physics::working::Step)> {
    let machine = &ctx.station.machines[i];
    let look = ctx.looks.first()?;
    let state = look.state.as_ref()?.machines[i].as_ref()?;
    let oil = state.oil_temperature?;
    let kg = physics::machine::package::blowdown_loss_kg(
        machine.separator.volume_m3.value,
        state.air_end,
        look.day.conditions.atmosphere,
        oil,
    )
    .ok()?;
    let emptied = 1.0 - (-3.0 * unload_s / machine.blowdown_s.value).exp();
    let mass = physics::quantity::MassFlow::new(kg * emptied * per_hour / 3600.0);
    let flow = physics::air::reference_air(mass).si();
    let numbers = format!(
        "{} L at {} bar(a), {} cycles an hour",
        round(machine.separator.volume_m3.value * 1e3, 0),
        round(state.air_end.bar(), 2),
        round(per_hour, 0)
    );
    Some((flow, BLOWN_DOWN.step(numbers, flow * 60.0)))
}

fn base(ctx: &Context<'_>, i: usize, part: &str) -> Finding {
    let id = &ctx.station.machines[i].id;
    let since = ctx.looks.first().map(|l| l.day.time);
    let mut f = draft(ctx, Kind::ShortCycling, Asset::Machine(i), part, since);
    f.next_check = Some(format!(
        "Read {id}.pressure and the vessel's pressure together at the moment of loading: a drop between the machine's sensor and the vessel eats the band"
    ));
    f.action = format!(
        "Widen the band of {id} if the plant allows, look for a choked path between {id} and the vessel, and check the vessel's volume"
    );
    f.cautions = in_the_room();
    f
}
