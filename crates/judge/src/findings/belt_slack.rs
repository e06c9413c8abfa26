//! `belt-slack`: the belts slip, hang too loose, or their indicator asks for tightening.

use physics::machine::belt::{
    BELT_SLIP, BELT_TENSION_FREQUENCY, Section, force_window, slip, span_m,
    tension_from_frequency_n,
};
use physics::working::Step;
use station::forward::MachineHealth;
use station::model::{Asset, Belt};
use station::point::{Point, PointId};

use super::{draft, price};
use crate::context::Context;
use crate::finding::{Evidence, Finding, Kind, PartHealth, Urgency};
use crate::safety::{before_the_cabinet, hand_back};
use crate::say::{percent, round};

/// Slip at which to act (common practice, no source: act above 2–3 %).
const SLIP_ACT: f64 = 0.03;
/// Slip above good order.
const SLIP_WATCH: f64 = 0.02;
/// Creep of a belt in good order (common practice, no source: 0.5–1 %).
const CREEP: f64 = 0.008;
/// The tensioner's travel, used up.
const MARK_REACHED: f64 = 1.0;
/// Nearly used up.
const MARK_NEAR: f64 = 0.85;

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in 0..ctx.station.machines.len() {
        if let Some(belt) = &ctx.station.machines[i].belt {
            found.extend(
                by_slip(ctx, i, belt)
                    .or_else(|| by_tension(ctx, i, belt))
                    .or_else(|| by_indicator(ctx, i)),
            );
        }
    }
    ctx.findings.extend(found);
}

fn base(ctx: &Context<'_>, i: usize, id: PointId, read: f64, mid: Option<f64>) -> Finding {
    let since = ctx.numbers.get(&id).map(|(_, time)| *time);
    let mut f = draft(ctx, Kind::BeltSlack, Asset::Machine(i), "belt", since);
    let machine = &ctx.station.machines[i].id;
    f.evidence = vec![Evidence {
        id,
        read,
        mid,
        deviations: None,
    }];
    f.action = format!(
        "Tighten the belts of {machine}; change the whole set if they are worn, glazed or cracked; check again after half an hour's run and after a day"
    );
    f.isolate = true;
    f.cautions = before_the_cabinet(ctx.station, i, ctx.units);
    f.cautions.insert(f.cautions.len() - 1, hand_back());
    f
}

fn by_slip(ctx: &Context<'_>, i: usize, belt: &Belt) -> Option<Finding> {
    let asset = Asset::Machine(i);
    let motor = ctx.number(asset, Point::MotorSpeed)?;
    let air_end = ctx.number(asset, Point::AirEndSpeed)?;
    let slip = slip(motor, air_end, belt.driver_m?, belt.driven_m?).ok()?;
    if slip < SLIP_WATCH {
        return None;
    }
    let id = PointId {
        asset,
        point: Point::AirEndSpeed,
    };
    let ratio = belt.driver_m? / belt.driven_m?;
    let mut f = base(ctx, i, id, air_end, Some(motor * ratio * (1.0 - CREEP)));
    f.working.push(BELT_SLIP.step(
        format!(
            "motor {} rpm, air end {} rpm, pulleys {} and {} mm",
            round(motor, 0),
            round(air_end, 0),
            round(belt.driver_m? * 1e3, 0),
            round(belt.driven_m? * 1e3, 0)
        ),
        slip,
    ));
    let lost = MachineHealth {
        belt: 1.0 - slip,
        ..MachineHealth::NEW
    };
    let should = MachineHealth {
        belt: 1.0 - CREEP,
        ..MachineHealth::NEW
    };
    price(&mut f, ctx.year.of_health(ctx.station, i, &lost, &should));
    if slip >= SLIP_ACT {
        f.urgency = f.urgency.min(Urgency::ThisWeek);
    }
    f.title = format!(
        "The belts of {} slip {}: so much of its air is lost and its power is not; {} is good order",
        ctx.station.machines[i].id,
        percent(slip),
        percent(CREEP),
    );
    f.health = Some(PartHealth {
        what: "belt transmission".to_owned(),
        unit: "1",
        value: 1.0 - slip,
        low: 1.0 - slip - 0.006,
        high: (1.0 - slip + 0.006).min(1.0),
        per_month: None,
    });
    f.next_check =
        Some("Look at the belts: glaze, cracks, how deep they sit in the grooves".into());
    Some(f)
}

fn by_tension(ctx: &Context<'_>, i: usize, belt: &Belt) -> Option<Finding> {
    let asset = Asset::Machine(i);
    let section = Section::named(belt.section.as_deref()?)?;
    let (driver, driven) = (belt.driver_m?, belt.driven_m?);
    let span = span_m(belt.centres_m?, driver, driven).ok()?;
    let window = force_window(section, driver.min(driven))?;
    let (id, read, force, step) = if let Some(force) = ctx.number(asset, Point::BeltForce) {
        (
            PointId {
                asset,
                point: Point::BeltForce,
            },
            force,
            force,
            None,
        )
    } else {
        let frequency = ctx.number(asset, Point::BeltFrequency)?;
        let tension = tension_from_frequency_n(section.mass_kg_m()?, span, frequency).ok()?;
        let force = physics::machine::belt::deflection_force_n(
            tension,
            span,
            physics::machine::belt::deflection_m(span).ok()?,
        )
        .ok()?;
        let numbers = format!(
            "m = {} kg/m, L = {} m, f = {} Hz",
            round(section.mass_kg_m()?, 3),
            round(span, 3),
            round(frequency, 0)
        );
        let id = PointId {
            asset,
            point: Point::BeltFrequency,
        };
        (
            id,
            frequency,
            force,
            Some(BELT_TENSION_FREQUENCY.step(numbers, tension)),
        )
    };
    // The least force of the window, less the reading's own error.
    if force * (1.0 + ctx.sigma(asset, id.point, read) / read) >= window.min_n {
        return None;
    }
    let mut f = base(ctx, i, id, read, None);
    f.working.extend(step);
    f.working
        .push(window_step(window.min_n, window.max_n, force));
    f.urgency = Urgency::ThisWeek;
    f.title = format!(
        "The belts of {} are slack: {} N deflects the span by 16 mm per metre, where {} to {} N are wanted",
        ctx.station.machines[i].id,
        round(force, 0),
        round(window.min_n, 0),
        round(window.max_n, 0)
    );
    f.cost = crate::finding::Cost::at_stake("measure motor and air-end speed to price the slip");
    f.next_check = Some("Measure motor and air-end speed on load".into());
    Some(f)
}

fn window_step(low: f64, high: f64, force: f64) -> Step {
    let mut step = physics::machine::belt::BELT_DEFLECTION.step(
        format!(
            "window {} to {} N for this section and pulley",
            round(low, 0),
            round(high, 0)
        ),
        force,
    );
    step.name = "force for 16 mm of deflection per metre of span".to_owned();
    step.unit = "N".to_owned();
    step
}

fn by_indicator(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let asset = Asset::Machine(i);
    let id = PointId {
        asset,
        point: Point::BeltIndicator,
    };
    let travel = ctx.number(asset, Point::BeltIndicator)?;
    if travel < MARK_NEAR {
        return None;
    }
    let mut f = base(ctx, i, id, travel, None);
    let reached = travel >= MARK_REACHED;
    f.urgency = if reached {
        Urgency::ThisWeek
    } else {
        Urgency::NextService
    };
    f.title = format!(
        "The belt indicator of {} stands at {} of its travel{}",
        ctx.station.machines[i].id,
        percent(travel),
        if reached {
            ": it wants adjusting"
        } else {
            ", near its mark"
        }
    );
    f.working.push(Step {
        name: "travel of the belt indicator".to_owned(),
        formula: "0 just set, 1 at the mark where it wants adjusting".to_owned(),
        numbers: round(travel, 2),
        value: travel,
        unit: "1".to_owned(),
        source: "the mark on the tensioner".to_owned(),
    });
    f.cost = crate::finding::Cost::at_stake("measure motor and air-end speed to price the slip");
    f.next_check = Some("Measure motor and air-end speed on load".into());
    Some(f)
}
