//! `belt-slack`: the belts slip, hang too loose, or their indicator asks for tightening.

use jiff::Timestamp;
use physics::machine::belt::{
    BELT_DEFLECTION, BELT_SLIP, BELT_TENSION_FREQUENCY, MASS_SPREAD, Section, deflection_force_n,
    deflection_m, force_window, slip, span_m, tension_from_deflection_n, tension_from_frequency_n,
};
use physics::working::Step;
use station::forward::MachineHealth;
use station::model::{Asset, Belt};
use station::point::{Point, PointId};

use super::{draft, isolate, price};
use crate::context::{Context, resets};
use crate::day::{Day, Moment};
use crate::finding::{Evidence, Finding, Kind, PartHealth, Urgency};
use crate::memory::{STALE_DAYS, days_between};
use crate::say::{percent, round};

/// Slip at which to act (common practice, no source: act above 2–3 %).
const SLIP_ACT: f64 = 0.03;
/// Slip above good order (common practice, no source).
const SLIP_WATCH: f64 = 0.02;
/// Creep of a belt in good order (common practice, no source: 0.5–1 %).
const CREEP: f64 = 0.008;
/// The most that a belt in good order slips (common practice, no source).
const GOOD_ORDER: f64 = 0.01;
/// What the effective diameters of the pulleys leave open of the slip (common practice, no source).
const DIAMETERS: f64 = 0.005;
/// How speeds are measured.
const MEASURE: &str =
    "Measure motor and air-end speed on load, without contact and with the guard on";
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
    isolate(&mut f, ctx, i);
    f
}

fn by_slip(ctx: &Context<'_>, i: usize, belt: &Belt) -> Option<Finding> {
    let asset = Asset::Machine(i);
    let (motor, air_end, time) = speeds(ctx, i)?;
    let slip = slip(motor, air_end, belt.driver_m?, belt.driven_m?).ok()?;
    // At 95 %: both speeds, and the effective diameters of the pulleys.
    let doubt = [
        1.96 * ctx.sigma(asset, Point::MotorSpeed, motor) / motor,
        1.96 * ctx.sigma(asset, Point::AirEndSpeed, air_end) / air_end,
        DIAMETERS,
    ]
    .iter()
    .map(|d| d * d)
    .sum::<f64>()
    .sqrt();
    if slip < SLIP_WATCH || slip - doubt < GOOD_ORDER {
        return None;
    }
    let id = PointId {
        asset,
        point: Point::AirEndSpeed,
    };
    let ratio = belt.driver_m? / belt.driven_m?;
    let mut f = base(ctx, i, id, air_end, Some(motor * ratio * (1.0 - CREEP)));
    f.since = Some(time);
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
        "The belts of {} slip {} ± {}: so much of its air is lost and its power is not; {} is good order",
        ctx.station.machines[i].id,
        percent(slip),
        round(100.0 * doubt, 1),
        percent(CREEP),
    );
    f.health = Some(PartHealth {
        what: "belt transmission".to_owned(),
        unit: "1",
        value: 1.0 - slip,
        low: 1.0 - slip - doubt,
        high: (1.0 - slip + doubt).min(1.0),
        per_month: None,
    });
    f.next_check =
        Some("Look at the belts: glaze, cracks, how deep they sit in the grooves".into());
    Some(f)
}

/// Motor and air-end speed of the newest round that read both on load: speeds of different rounds,
/// or unloaded, do not make a slip.
fn speeds(ctx: &Context<'_>, i: usize) -> Option<(f64, f64, Timestamp)> {
    let asset = Asset::Machine(i);
    let id = PointId {
        asset,
        point: Point::AirEndSpeed,
    };
    let rounds = ctx.memory.recent.iter().rev();
    for round in rounds.take_while(|r| days_between(r.time, ctx.now) <= STALE_DAYS) {
        let both = round
            .number(asset, Point::MotorSpeed)
            .zip(round.number(asset, Point::AirEndSpeed));
        if let Some((motor, air_end)) = both {
            let day = Day::of(ctx.station, ctx.memory, round).ok()?;
            if day.moments[i] == Moment::Loaded {
                return Some((motor, air_end, round.time));
            }
        }
        if round.done.iter().any(|w| resets(&w.work, w.on, id)) {
            return None;
        }
    }
    None
}

/// Force at the deflection that was read, as the force at the table's 16 mm per metre.
fn force_at_table(ctx: &Context<'_>, asset: Asset, force: f64, span: f64) -> Option<(f64, Step)> {
    let (deflection, read_at) = ctx.number_at(asset, Point::BeltDeflection)?;
    let (_, force_at) = ctx.number_at(asset, Point::BeltForce)?;
    if read_at != force_at {
        return None;
    }
    let tension = tension_from_deflection_n(force, span, deflection).ok()?;
    let at_table = deflection_force_n(tension, span, deflection_m(span).ok()?).ok()?;
    let mut step = BELT_DEFLECTION.step(
        format!(
            "{} N at {} mm over a span of {} mm",
            round(force, 0),
            round(deflection * 1e3, 1),
            round(span * 1e3, 0)
        ),
        tension,
    );
    step.name = "belt tension from force and deflection".to_owned();
    step.formula = "T = F/(2 sin(atan(2 h/t)))".to_owned();
    step.unit = "N".to_owned();
    Some((at_table, step))
}

fn by_tension(ctx: &Context<'_>, i: usize, belt: &Belt) -> Option<Finding> {
    let asset = Asset::Machine(i);
    let section = Section::named(belt.section.as_deref()?)?;
    let (driver, driven) = (belt.driver_m?, belt.driven_m?);
    let span = span_m(belt.centres_m?, driver, driven).ok()?;
    let window = force_window(section, driver.min(driven))?;
    let (id, read, force, step, doubt) = if let Some(force) = ctx.number(asset, Point::BeltForce) {
        let id = PointId {
            asset,
            point: Point::BeltForce,
        };
        let error = 1.96 * ctx.sigma(asset, id.point, force) / force.max(1.0);
        match force_at_table(ctx, asset, force, span) {
            Some((at_table, step)) => {
                let deflection = ctx.number(asset, Point::BeltDeflection)?;
                let sigma = ctx.sigma(asset, Point::BeltDeflection, deflection);
                let doubt = error.hypot(1.96 * sigma / deflection);
                (id, force, at_table, Some(step), doubt)
            }
            None => (id, force, force, None, error),
        }
    } else {
        let frequency = ctx.number(asset, Point::BeltFrequency)?;
        let tension = tension_from_frequency_n(section.mass_kg_m()?, span, frequency).ok()?;
        let force = deflection_force_n(tension, span, deflection_m(span).ok()?).ok()?;
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
        // Tension goes with the frequency squared, and makers' belts differ in mass.
        let twice = 2.0 * 1.96 * ctx.sigma(asset, id.point, frequency) / frequency;
        (
            id,
            frequency,
            force,
            Some(BELT_TENSION_FREQUENCY.step(numbers, tension)),
            twice.hypot(MASS_SPREAD),
        )
    };
    // Slack only where the force is short of the window by more than it can err, at 95 %.
    if force * (1.0 + doubt) >= window.min_n {
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
    f.next_check = Some(MEASURE.to_owned());
    Some(f)
}

fn window_step(low: f64, high: f64, force: f64) -> Step {
    let mut step = BELT_DEFLECTION.step(
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
    f.next_check = Some(MEASURE.to_owned());
    Some(f)
}
