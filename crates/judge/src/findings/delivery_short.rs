//! `delivery-short`: the machine delivers less than it should.
//!
//! Only a flow that belongs to one machine tells it: the header's flow while that machine cycles
//! alone, with its load and unload time by the watch.

use physics::air::reference_air;
use physics::working::{Formula, Mark};
use station::forward::MachineHealth;
use station::model::{Asset, Control};
use station::point::Point;

use super::{draft, price};
use crate::context::{Context, Look};
use crate::day::{DutyFrom, Moment};
use crate::finding::{Evidence, Finding, Kind, PartHealth};
use crate::safety::in_the_room;
use crate::say::{percent, round};
use crate::working::machine_steps;

const DELIVERED: Formula = Formula {
    name: "delivery as found, share of expected",
    equation: "k_q = V_header / (V_expected · t_load/(t_load + t_unload))",
    unit: "1",
    source: "mass balance over whole cycles of one machine",
    mark: Mark::Derived,
};
/// Uncertainty of one timed cycle's load share (common practice, no source).
const CYCLE_SIGMA: f64 = 0.03;

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    let mut lacking = Vec::new();
    for i in 0..ctx.station.machines.len() {
        match share(ctx, i) {
            Some(measured) => found.extend(finding(ctx, i, &measured)),
            None => lacking.push(ctx.station.machines[i].id.clone()),
        }
    }
    ctx.findings.extend(found);
    for id in lacking {
        ctx.skip(
            &format!("the delivery of {id}"),
            &format!("it takes the header's flow with {id}.load_time and {id}.unload_time while {id} runs alone, or a pump-up test"),
        );
    }
}

struct Measured {
    look: usize,
    k: f64,
    sigma: f64,
    flow: f64,
    expected: f64,
    load_share: f64,
}

fn share(ctx: &Context<'_>, i: usize) -> Option<Measured> {
    ctx.looks
        .iter()
        .enumerate()
        .find_map(|(place, look)| in_look(ctx, place, look, i))
}

fn in_look(ctx: &Context<'_>, place: usize, look: &Look, i: usize) -> Option<Measured> {
    let flow = look.day.conditions.demand?.si();
    let machine = &ctx.station.machines[i];
    let alone = look
        .day
        .moments
        .iter()
        .enumerate()
        .all(|(other, m)| other == i || *m == Moment::Stopped);
    let cycles = matches!(
        machine.control,
        Control::LoadUnload(_) | Control::StartStop(_)
    );
    if !alone || !cycles || look.day.duty_from[i] != DutyFrom::Watch {
        return None;
    }
    let load_share = look.day.conditions.machines[i].duty;
    let state = look.state.as_ref()?.machines[i].as_ref()?;
    let expected = reference_air(state.dry_air).si() * load_share;
    let rated = machine.rated.fad.sigma / machine.rated.fad.value.si();
    let spread = [
        look.day.inputs.demand_share,
        rated,
        CYCLE_SIGMA / load_share.max(0.1),
    ];
    let k = flow / expected;
    let sigma = k * spread.iter().map(|s| s * s).sum::<f64>().sqrt();
    Some(Measured {
        look: place,
        k,
        sigma,
        flow,
        expected,
        load_share,
    })
}

fn finding(ctx: &Context<'_>, i: usize, m: &Measured) -> Option<Finding> {
    let z = (m.k - 1.0) / m.sigma;
    if z > -1.96 {
        return None;
    }
    let machine = &ctx.station.machines[i];
    let look = &ctx.looks[m.look];
    let mut f = draft(
        ctx,
        Kind::DeliveryShort,
        Asset::Machine(i),
        "delivery",
        Some(look.day.time),
    );
    f.title = format!(
        "{} delivers {} of what it should: {} at the header, where {} ± {} is expected from its load share of {}",
        machine.id,
        percent(m.k),
        ctx.units.flow(m.flow),
        ctx.units.flow(m.expected),
        round(1.96 * m.sigma * m.expected * 60.0, 2),
        percent(m.load_share),
    );
    let header = (0..ctx.station.headers.len()).map(Asset::Header).next()?;
    f.evidence = vec![Evidence {
        id: station::point::PointId {
            asset: header,
            point: Point::HeaderFlow,
        },
        read: m.flow,
        mid: Some(m.expected),
        deviations: Some(z),
    }];
    f.health = Some(PartHealth {
        what: "air-end delivery".to_owned(),
        unit: "1",
        value: m.k,
        low: m.k - 1.96 * m.sigma,
        high: m.k + 1.96 * m.sigma,
        per_month: None,
    });
    if let Some(state) = look.state.as_ref().and_then(|s| s.machines[i].as_ref()) {
        f.working = machine_steps(ctx.station, i, &look.day.conditions, state);
    }
    f.working.push(DELIVERED.step(
        format!(
            "{} / ({} · {})",
            round(m.flow * 60.0, 2),
            round(m.expected / m.load_share * 60.0, 2),
            round(m.load_share, 2)
        ),
        m.k,
    ));
    let worn = MachineHealth {
        delivery: m.k.clamp(0.2, 1.0),
        ..MachineHealth::NEW
    };
    price(
        &mut f,
        ctx.year
            .of_health(ctx.station, i, &worn, &MachineHealth::NEW),
    );
    f.next_check = Some(format!(
        "Measure motor and air-end speed of {} to rule out belt slip, read the intake's pressure drop, and repeat with a pump-up test",
        machine.id
    ));
    f.action = format!(
        "Look at intake filter, belt and minimum-pressure valve of {}; if they are right, have the air end measured",
        machine.id
    );
    f.cautions = in_the_room();
    Some(f)
}
