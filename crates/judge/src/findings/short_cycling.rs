//! `short-cycling`: more starts or loads an hour than motor, valves and storage stand.

use jiff::Timestamp;
use physics::working::{Formula, Mark};
use station::model::{Asset, Control};
use station::point::{Point, PointId};

use super::draft;
use crate::context::Context;
use crate::day::minute_of_week;
use crate::finding::{Cost, Evidence, Finding, Kind, Urgency};
use crate::memory::days_between;
use crate::safety::{before_more_pressure, ceiling};
use crate::say::{grouped, round};

/// Starts are counted over so many days.
const WINDOW_DAYS: f64 = 14.0;
/// A load/unload cycle shorter than this blows the separator down for nothing (common practice, no
/// source).
const SHORTEST_CYCLE_S: f64 = 60.0;

const STARTS: Formula = Formula {
    name: "starts an hour",
    equation: "n = starts/hours in which it could start",
    unit: "1/h",
    source: "counters and the clock; limit from `motor.starts_per_hour` or NEMA MG 10",
    mark: Mark::Published,
};
const CYCLE: Formula = Formula {
    name: "length of a cycle",
    equation: "t_load + t_unload",
    unit: "s",
    source: "one cycle by the watch",
    mark: Mark::Derived,
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
    let counted = counted(ctx, asset);
    let Counted {
        starts,
        run,
        clock,
        days,
    } = counted;
    let limit = machine.motor.starts_per_hour.value;
    // The motor's limit is for an hour of the clock; a machine that runs long after each start
    // cannot have started so often.
    let rate = starts / clock.max(run).max(1.0);
    if starts < 5.0 || rate < limit || starts < limit * run {
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
            "{} starts in {} h {}, over {} days with {} h run",
            grouped(starts),
            grouped(clock.max(run)),
            if ctx.station.site.hours.is_some() {
                "of the plant's working hours"
            } else {
                "of the clock"
            },
            round(days, 0),
            grouped(run)
        ),
        rate,
    ));
    f.cost = Cost::at_stake("risk, not energy: the motor's windings overheat");
    Some(f)
}

/// Starts of the last two weeks, and the time in which they can have been.
#[derive(Default)]
struct Counted {
    starts: f64,
    run: f64,
    clock: f64,
    days: f64,
}

fn counted(ctx: &Context<'_>, asset: Asset) -> Counted {
    let mut sum = Counted::default();
    let rounds = ctx.memory.recent.iter().rev();
    for round in rounds.take_while(|r| days_between(r.time, ctx.now) <= WINDOW_DAYS) {
        let starts = round.step(asset, Point::Starts);
        let run = round.step(asset, Point::HoursRun);
        if let Some((starts, run)) = starts.zip(run).filter(|(s, r)| s.since == r.since) {
            sum.starts += starts.increase;
            sum.run += run.increase;
            sum.clock += hours_to_start_in(ctx, starts.since, round.time);
            sum.days += days_between(starts.since, round.time);
        }
    }
    sum
}

/// Hours between two moments in which a machine could start: the plant's working hours if told,
/// else all of them.
fn hours_to_start_in(ctx: &Context<'_>, from: Timestamp, to: Timestamp) -> f64 {
    const STEP_MIN: u32 = 10;
    let minutes = days_between(from, to) * 1440.0;
    let Some(hours) = &ctx.station.site.hours else {
        return minutes / 60.0;
    };
    let first = minute_of_week(ctx.station, from);
    let steps = (minutes / f64::from(STEP_MIN)).round().clamp(0.0, 1.0e5) as u32;
    let works = (0..steps).filter(|n| hours.works_at((first + n * STEP_MIN) % (7 * 1440)));
    works.count() as f64 * f64::from(STEP_MIN) / 60.0
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
    f.working
        .push(CYCLE.step(format!("{} + {}", round(load, 0), round(unload, 0)), cycle));
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
        "Look for a choked path between {id} and the vessel, check the vessel's volume, and widen the band of {id} if the plant allows{}",
        ceiling(ctx.station, &[i], ctx.units)
            .map_or(String::new(), |c| format!(", well below {c}"))
    );
    f.cautions = before_more_pressure(ctx.station, &[i], ctx.units);
    f
}
