//! `leakage`: air that goes while the plant does not work.
//!
//! Told from production only by off-shift readings: load and unload time by the watch outside the
//! plant's hours.

use physics::air::reference_air;
use physics::vessel::leak_test::{LEAK_FROM_CYCLE, leak_share_from_cycle};
use station::model::{Asset, Control};
use station::point::{Point, PointId};
use station::round::Round;

use super::{draft, price};
use crate::context::Context;
use crate::day::{Day, Moment};
use crate::finding::{Evidence, Finding, Kind, PartHealth, Urgency};
use crate::memory::{STALE_DAYS, days_between};
use crate::safety::in_the_room;
use crate::say::{percent, round};

/// Leakage below this share of capacity is well kept (published: below 10 %).
const WELL_KEPT: f64 = 0.10;
/// Above this it is poor (published: 20 to 30 % in a poor one).
const POOR: f64 = 0.20;

pub(super) fn look(ctx: &mut Context<'_>) {
    let Some(found) = newest(ctx) else {
        let why = if ctx.station.site.hours.is_none() {
            "`site.hours` is not told, so no round is known to be off-shift"
        } else {
            "it takes load_time and unload_time of the one running machine, read off-shift, in the last weeks"
        };
        ctx.skip("leakage", why);
        return;
    };
    ctx.findings.extend(finding(ctx, &found));
}

struct Test {
    machine: usize,
    round_time: jiff::Timestamp,
    load_s: f64,
    unload_s: f64,
    flow: f64,
    sigma: f64,
    capacity: f64,
}

fn newest(ctx: &Context<'_>) -> Option<Test> {
    let mended = ctx
        .memory
        .done
        .iter()
        .filter(|((_, work), _)| work == "mend leaks")
        .map(|(_, done)| done.time)
        .max();
    ctx.memory
        .recent
        .iter()
        .rev()
        .take_while(|r| days_between(r.time, ctx.now) <= STALE_DAYS)
        .take_while(|r| mended.is_none_or(|m| r.time >= m))
        .find_map(|r| test(ctx, r))
}

fn test(ctx: &Context<'_>, round: &Round) -> Option<Test> {
    let day = Day::of(ctx.station, ctx.memory, round).ok()?;
    if day.working != Some(false) {
        return None;
    }
    let mut running =
        (0..ctx.station.machines.len()).filter(|&i| day.moments[i] != Moment::Stopped);
    let i = running.next()?;
    if running.next().is_some()
        || !matches!(
            ctx.station.machines[i].control,
            Control::LoadUnload(_) | Control::StartStop(_)
        )
    {
        return None;
    }
    let asset = Asset::Machine(i);
    let load_s = round.number(asset, Point::LoadTime)?;
    let unload_s = round.number(asset, Point::UnloadTime)?;
    let share = leak_share_from_cycle(load_s, unload_s).ok()?;
    let state = ctx.machine(i, &station::forward::MachineHealth::NEW, &day.conditions)?;
    let capacity = reference_air(state.dry_air).si();
    let machine = &ctx.station.machines[i];
    let rated = machine.rated.fad.sigma / machine.rated.fad.value.si();
    // One cycle by the watch: two seconds at each end.
    let timing = 1.0 / load_s * (1.0 - share) * 1.5 + 0.03;
    let flow = capacity * share;
    Some(Test {
        machine: i,
        round_time: round.time,
        load_s,
        unload_s,
        flow,
        sigma: flow * rated.hypot(timing),
        capacity,
    })
}

fn finding(ctx: &Context<'_>, t: &Test) -> Option<Finding> {
    let station_capacity: f64 = ctx
        .station
        .machines
        .iter()
        .map(|m| m.rated.fad.value.si())
        .sum::<f64>();
    let share = t.flow / station_capacity.max(t.capacity);
    if share < WELL_KEPT {
        return None;
    }
    let machine = &ctx.station.machines[t.machine];
    let place = (0..ctx.station.headers.len())
        .map(Asset::Header)
        .next()
        .unwrap_or(Asset::Site);
    let mut f = draft(ctx, Kind::Leakage, place, "leakage", Some(t.round_time));
    f.title = format!(
        "{} ± {} leak away off-shift, {} of what the machines can deliver: {} loaded {} s and unloaded {} s with the plant at rest",
        ctx.units.flow(t.flow),
        round(1.96 * t.sigma * 60.0, 2),
        percent(share),
        machine.id,
        round(t.load_s, 0),
        round(t.unload_s, 0)
    );
    let asset = Asset::Machine(t.machine);
    f.evidence = [(Point::LoadTime, t.load_s), (Point::UnloadTime, t.unload_s)]
        .map(|(point, read)| Evidence {
            id: PointId { asset, point },
            read,
            mid: None,
            deviations: None,
        })
        .to_vec();
    f.health = Some(PartHealth {
        what: "leakage".to_owned(),
        unit: "m3/min(ANR)",
        value: t.flow * 60.0,
        low: (t.flow - 1.96 * t.sigma) * 60.0,
        high: (t.flow + 1.96 * t.sigma) * 60.0,
        per_month: None,
    });
    f.working.push(LEAK_FROM_CYCLE.step(
        format!(
            "{} s/({} s + {} s)",
            round(t.load_s, 0),
            round(t.load_s, 0),
            round(t.unload_s, 0)
        ),
        t.flow / t.capacity,
    ));
    price(
        &mut f,
        ctx.year
            .of_air(ctx.station, t.flow, Some(ctx.year.hours_under_pressure())),
    );
    f.urgency = if share >= POOR {
        Urgency::NextService
    } else {
        f.urgency.min(Urgency::NextService)
    };
    f.next_check = Some(
        "Walk the plant at rest and listen: couplings, hoses, drains, valves that pass".into(),
    );
    f.action = "Mark the leaks, mend the largest first, and time the cycle again".to_owned();
    f.cautions = in_the_room();
    Some(f)
}
