//! `leakage`: air that goes while the plant does not work.
//!
//! Told from production only by off-shift readings: load and unload time by the watch outside the
//! plant's hours.

use physics::air::reference_air;
use physics::vessel::leak_test::{LEAK_FROM_CYCLE, leak_share_from_cycle};
use physics::working::{Formula, Mark, Step};
use station::forward::{Health, expect};
use station::model::{Asset, Control, DryerKind};
use station::point::{Point, PointId};
use station::round::Round;

use super::drain_passing::clocked;
use super::{draft, price};
use crate::context::Context;
use crate::day::{Day, Moment, rated_of_all};
use crate::finding::{Evidence, Finding, Kind, PartHealth, Urgency};
use crate::line::before;
use crate::memory::{STALE_DAYS, days_between};
use crate::safety::at_leaks;
use crate::say::{percent, round};

/// Leakage below this share of capacity is well kept (published: US DOE, Improving Compressed Air
/// System Performance: a Sourcebook for Industry, section on leaks: below 10 %).
const WELL_KEPT: f64 = 0.10;
/// From here on it is worth a service, whatever it costs (common practice, no source).
const WORTH_A_SERVICE: f64 = 0.15;
/// How well the model knows what a timer drain lets go, as a share (common practice, no source).
const CLOCKED_SIGMA: f64 = 0.3;

const NET: Formula = Formula {
    name: "leakage without what is spent on purpose",
    equation: "V_leak = V_cycle · (1 − purge) − V_timer drains",
    unit: "m3/min",
    source: "mass balance; purge and timer drains of the station file",
    mark: Mark::Derived,
};

const IN_CYCLE: Formula = Formula {
    name: "leakage in the cycle",
    equation: "V_cycle = share · delivery",
    unit: "m3/min",
    source: "definition; delivery by the forward model at the round's conditions",
    mark: Mark::Derived,
};

const HALF: Formula = Formula {
    name: "half of the span that holds the leakage 95 times in 100",
    equation: "1.96 σ, σ² = V_cycle² (s_rated² + s_timing²) + σ_spent²",
    unit: "m3/min",
    source: "JCGM 100:2008, first-order propagation; two seconds at each end of a time by the watch",
    mark: Mark::Derived,
};

const SHARE_OF_ALL: Formula = Formula {
    name: "leakage over what the machines can deliver",
    equation: "V_leak/Σ V_rated",
    unit: "1",
    source: "definition; below 10 % in a well kept system, 20 to 30 % in a poor one (DOE Sourcebook)",
    mark: Mark::Published,
};

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
    spent: Option<Step>,
    /// From share to flow.
    cycle: Step,
    /// How uncertain the flow is.
    half: Step,
}

/// When leaks were last mended.
pub(crate) fn mended(ctx: &Context<'_>) -> Option<jiff::Timestamp> {
    let done = ctx.memory.done.iter();
    let mended = done.filter(|((_, work), _)| work == "mend leaks");
    mended.map(|(_, done)| done.time).max()
}

fn newest(ctx: &Context<'_>) -> Option<Test> {
    let mended = mended(ctx);
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
    let gross = capacity * share;
    let (flow, doubt, spent) = net(ctx, i, &day, gross)?;
    let sigma = (gross * rated.hypot(timing)).hypot(doubt);
    let say = crate::say::round;
    let per_minute = |m3_s: f64| say(m3_s * 60.0, 3);
    let cycle = IN_CYCLE.step(
        format!("{} · {} m³/min", say(share, 4), per_minute(capacity)),
        gross * 60.0,
    );
    let half = HALF.step(
        format!(
            "V_cycle = {} m³/min, s_rated = {}, s_timing = {}, σ_spent = {} m³/min",
            per_minute(gross),
            say(rated, 3),
            say(timing, 3),
            per_minute(doubt)
        ),
        1.96 * sigma * 60.0,
    );
    Some(Test {
        machine: i,
        round_time: round.time,
        load_s,
        unload_s,
        flow,
        sigma,
        capacity,
        spent,
        cycle,
        half,
    })
}

/// What is left of the flow once purge and timer drains are taken off, how uncertain these are, and
/// the step that says so.
fn net(ctx: &Context<'_>, i: usize, day: &Day, gross: f64) -> Option<(f64, f64, Option<Step>)> {
    let header = Asset::Header(0);
    let mut places = before(&ctx.station.air_path, header);
    places.push(header);
    // What stands still is shut off from the line.
    places.retain(|a| !matches!(a, Asset::Machine(other) if *other != i));
    let (clocked, names) = clocked(ctx, &places);
    let state = expect(ctx.station, &Health::new(ctx.station), &day.conditions).ok()?;
    let passes = match (state.place(header), state.place(Asset::Machine(i))) {
        (Some(end), Some(start)) if start.dry_air.si() > 0.0 => end.dry_air / start.dry_air,
        _ => 1.0,
    };
    // A purge may also be set for the rated flow, whatever goes through.
    let purged = gross * (1.0 - passes);
    let at_rated: f64 = ctx
        .station
        .dryers
        .iter()
        .map(|d| match d.kind {
            DryerKind::Desiccant { purge } => purge * d.rated_flow.value.si(),
            DryerKind::Refrigeration { .. } => 0.0,
        })
        .sum();
    let doubt = (CLOCKED_SIGMA * clocked).hypot(0.5 * (at_rated - purged).max(0.0));
    let flow = gross - purged - clocked;
    let step = (purged > 0.0 || clocked > 0.0).then(|| {
        NET.step(
            format!(
                "{} m³/min in the cycle − {} of purge − {} of timer drains{}",
                round(gross * 60.0, 2),
                round(purged * 60.0, 2),
                round(clocked * 60.0, 2),
                if names.is_empty() {
                    String::new()
                } else {
                    format!(" ({})", names.join(", "))
                }
            ),
            flow * 60.0,
        )
    });
    Some((flow, doubt, step))
}

fn finding(ctx: &Context<'_>, t: &Test) -> Option<Finding> {
    let capacity = rated_of_all(ctx.station).max(t.capacity);
    let share = t.flow / capacity;
    if share - t.sigma / capacity < WELL_KEPT {
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
        ctx.units.half_flow(t.flow, 1.96 * t.sigma),
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
        t.load_s / (t.load_s + t.unload_s),
    ));
    f.working.push(t.cycle.clone());
    f.working.extend(t.spent.clone());
    f.working.push(t.half.clone());
    f.working.push(SHARE_OF_ALL.step(
        format!("{} m³/min of all machines", round(capacity * 60.0, 2)),
        share,
    ));
    price(
        &mut f,
        ctx.year
            .of_air(ctx.station, t.flow, Some(ctx.year.hours_under_pressure())),
    );
    if share >= WORTH_A_SERVICE {
        f.urgency = Urgency::NextService;
    }
    f.next_check = Some(
        "Walk the plant at rest and listen: couplings, hoses, drains, valves that pass".into(),
    );
    f.action = "Mark the leaks, mend the largest first, and time the cycle again".to_owned();
    f.cautions = at_leaks(ctx.station, ctx.units);
    Some(f)
}
