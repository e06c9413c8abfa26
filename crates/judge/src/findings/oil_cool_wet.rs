//! `oil-cool-wet`: the oil is so cool that the intake's water condenses in it.

use physics::quantity::{GaugePressure, Temperature};
use physics::working::{Formula, Mark};
use station::model::Asset;
use station::point::Point;

use super::{draft, isolate};
use crate::context::{Context, Residual};
use crate::day::{Day, Moment};
use crate::finding::{Cost, Finding, Kind, Urgency};
use crate::memory::days_between;
use crate::working::oil_dew_point_step;

/// Distance that has to be kept from the dew point (common practice, no source).
const MARGIN_K: f64 = 5.0;
/// So far below the dew point one reading is enough (common practice, no source).
const FAR_BELOW_K: f64 = 3.0;
/// Two readings further apart than this do not confirm each other (common practice, no source).
const CONFIRM_DAYS: f64 = 14.0;
/// A machine on load for less than this share never warms through (common practice, no source).
const LIGHT_DUTY: f64 = 0.3;

const DISTANCE: Formula = Formula {
    name: "oil temperature over the dew point at the air end",
    equation: "ΔT = T_oil − T_dew(p_2)",
    unit: "K",
    source: "water must not condense in the oil; 5 K margin",
    mark: Mark::CommonPractice,
};

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in ctx.screws().collect::<Vec<_>>() {
        let Some(oil) = ctx.residual(Asset::Machine(i), Point::OilTemperature) else {
            continue;
        };
        let look = ctx.look_of(oil);
        let Some((dew, sigma)) = dew_point(ctx, &look.day, i) else {
            continue;
        };
        let distance = oil.read - dew;
        // The dew point and the reading are both uncertain; the margin has to be short by that much.
        let doubt = sigma.hypot(ctx.sigma(oil.id.asset, oil.id.point, oil.read));
        let short = distance + doubt < MARGIN_K;
        if short && (distance < -FAR_BELOW_K || confirmed(ctx, i, oil)) {
            found.push(finding(ctx, i, dew, distance, doubt));
        }
    }
    ctx.findings.extend(found);
}

/// Whether the reading on load before this one, of the last two weeks, was short of the margin too:
/// water gathers with time, a cool moment does no harm.
fn confirmed(ctx: &Context<'_>, i: usize, oil: &Residual) -> bool {
    let rounds = ctx.memory.recent.iter().rev();
    let earlier = rounds
        .skip_while(|r| r.time >= oil.time)
        .take_while(|r| days_between(r.time, oil.time) <= CONFIRM_DAYS);
    let mut read = earlier.filter_map(|r| {
        let read = r.number(oil.id.asset, oil.id.point)?;
        let day = Day::of(ctx.station, ctx.memory, r).ok()?;
        let fit = day.moments[i] == Moment::Loaded && !day.warming_up[i];
        fit.then_some((read, day))
    });
    read.next().is_some_and(|(read, day)| {
        dew_point(ctx, &day, i).is_some_and(|(dew, _)| read - dew < MARGIN_K)
    })
}

/// The dew point at the air end and its uncertainty from humidity, weather and pressure.
fn dew_point(ctx: &Context<'_>, day: &Day, i: usize) -> Option<(f64, f64)> {
    let at = |ambient: f64, humidity: f64, pressure: f64| {
        let mut c = day.conditions.clone();
        let running = &mut c.machines[i];
        running.pressure = GaugePressure::new(running.pressure.si() + pressure);
        c.ambient = Temperature::new(c.ambient.si() + ambient);
        c.humidity = (c.humidity + humidity).clamp(0.01, 1.0);
        let m = ctx.machine(i, &station::forward::MachineHealth::NEW, &c)?;
        Some(m.oil_dew_point.si())
    };
    let mid = at(0.0, 0.0, 0.0)?;
    let warmer = at(day.inputs.ambient, 0.0, 0.0)? - mid;
    let damper = at(0.0, -day.inputs.humidity, 0.0)? - mid;
    let pressed = at(0.0, 0.0, day.inputs.pressure[i])? - mid;
    Some((mid, warmer.hypot(damper).hypot(pressed)))
}

fn finding(ctx: &Context<'_>, i: usize, dew: f64, distance: f64, doubt: f64) -> Finding {
    let machine = &ctx.station.machines[i];
    let asset = Asset::Machine(i);
    let oil = ctx.residual(asset, Point::OilTemperature);
    let duty = ctx.year.uses.get(i).map_or(1.0, |u| u.duty);
    let never_warm = duty < LIGHT_DUTY && oil.is_some_and(|r| r.low());
    let part = if never_warm { "warm-up" } else { "oil-water" };
    let mut f = draft(ctx, Kind::OilCoolWet, asset, part, oil.map(|r| r.since));
    let read = dew + distance;
    f.title = if never_warm {
        format!(
            "{} runs too little to warm up: oil at {}, water stays in it below {}",
            machine.id,
            ctx.units.temperature(read),
            ctx.units.temperature(dew + MARGIN_K)
        )
    } else {
        format!(
            "{}: oil at {} lies {} {} the {} at which water condenses in it; {} above are wanted",
            machine.id,
            ctx.units.temperature(read),
            ctx.units.kelvins(distance.abs()),
            if distance < 0.0 { "below" } else { "above" },
            ctx.units.temperature(dew),
            ctx.units.kelvins(MARGIN_K)
        )
    };
    f.urgency = if distance < 0.0 {
        Urgency::ThisWeek
    } else {
        Urgency::NextService
    };
    if let Some(oil) = oil {
        f.evidence = vec![oil.evidence()];
        f.working = ctx.working_of(oil);
        if let Some(m) = ctx
            .look_of(oil)
            .state
            .as_ref()
            .and_then(|s| s.machines[i].as_ref())
        {
            f.working.push(oil_dew_point_step(m));
        }
    }
    f.working.push(DISTANCE.step(
        format!(
            "{:.1} − {:.1} °C, uncertain by {doubt:.1} K",
            read - 273.15,
            dew - 273.15
        ),
        distance,
    ));
    f.cost = Cost::at_stake("risk, not energy: water in the oil wears bearings and ages the oil");
    f.next_check = Some(format!(
        "After a night's rest, with {0} stopped, isolated and vented, let a little oil out at its lowest cock: water comes first",
        machine.id
    ));
    f.action = if never_warm {
        format!(
            "Let {} run loaded for half an hour at a stretch, or let a smaller machine carry this load; drain the water that has gathered",
            machine.id
        )
    } else {
        format!(
            "Have the held temperature of {} raised (thermostatic valve, fan's setting), and let the water out at the separator's lowest cock",
            machine.id
        )
    };
    isolate(&mut f, ctx, i);
    f
}
