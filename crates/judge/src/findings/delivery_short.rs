//! `delivery-short`: the machine delivers less than it should.
//!
//! Only a flow that belongs to one machine tells it: the header's flow while that machine cycles
//! alone, with its load and unload time by the watch.

use jiff::Timestamp;
use physics::air::reference_air;
use physics::working::{Formula, Mark};
use station::forward::{Conditions, Health, MachineHealth, MachineState, expect};
use station::model::{Asset, Control};
use station::point::Point;
use station::round::{Round, Work};

use super::drain_passing::clocked;
use super::{draft, isolate, price};
use crate::context::{Context, median};
use crate::day::{Day, DutyFrom, Moment};
use crate::finding::{Evidence, Finding, Kind, PartHealth};
use crate::line::before;
use crate::memory::{STALE_DAYS, days_between};
use crate::say::{self, percent};
use crate::working::machine_steps;

const DELIVERED: Formula = Formula {
    name: "delivery as found, share of expected",
    equation: "k_q = V_header / (V_expected · t_load/(t_load + t_unload) − purge − timer drains)",
    unit: "1",
    source: "mass balance over whole cycles of one machine",
    mark: Mark::Derived,
};
/// Tests further apart than this do not confirm each other.
const CONFIRM_DAYS: f64 = 60.0;
/// Beyond so many σ one test is enough.
const ALONE: f64 = 3.0;
/// How well purge and timer drains are known, as a share (common practice, no source).
const SPENT_SIGMA: f64 = 0.3;
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
    time: Timestamp,
    conditions: Conditions,
    state: MachineState,
    k: f64,
    sigma: f64,
    flow: f64,
    expected: f64,
    load_share: f64,
    spent: String,
    /// (k − 1)/σ of up to two tests before it.
    before: Vec<f64>,
}

impl Measured {
    fn z(&self) -> f64 {
        (self.k - 1.0) / self.sigma
    }

    /// Two tests that agree, or one far off: one cycle by the watch is easily mistimed.
    fn short(&self) -> bool {
        let z = self.z();
        if self.before.is_empty() {
            z < -ALONE
        } else {
            z < -1.96 && median(z, &self.before) < -1.96
        }
    }
}

/// The newest test, and what the tests before it said.
fn share(ctx: &Context<'_>, i: usize) -> Option<Measured> {
    let mut newest: Option<Measured> = None;
    for round in ctx.memory.recent.iter().rev() {
        let far = match &newest {
            None => days_between(round.time, ctx.now) > STALE_DAYS,
            Some(m) => days_between(round.time, m.time) > CONFIRM_DAYS || m.before.len() >= 2,
        };
        if far {
            break;
        }
        if let Some(test) = test(ctx, round, i) {
            match &mut newest {
                None => newest = Some(test),
                Some(m) => m.before.push(test.z()),
            }
        }
        if round.done.iter().any(|w| restores(&w.work, w.on, i)) {
            break;
        }
    }
    newest
}

/// Work after which an earlier test says nothing about the delivery.
fn restores(work: &Work, on: Asset, i: usize) -> bool {
    let of_the_machine = matches!(
        work,
        Work::TightenBelt | Work::ChangeBelt | Work::ChangeIntakeFilter
    );
    (on == Asset::Machine(i) && of_the_machine)
        || (matches!(on, Asset::Header(_)) && *work == Work::ChangeGauge)
}

fn test(ctx: &Context<'_>, round: &Round, i: usize) -> Option<Measured> {
    let machine = &ctx.station.machines[i];
    let cycles = matches!(
        machine.control,
        Control::LoadUnload(_) | Control::StartStop(_)
    );
    let header = (0..ctx.station.headers.len())
        .map(Asset::Header)
        .find(|h| round.number(*h, Point::HeaderFlow).is_some())?;
    if !cycles {
        return None;
    }
    let day = Day::of(ctx.station, ctx.memory, round).ok()?;
    let alone = day
        .moments
        .iter()
        .enumerate()
        .all(|(other, m)| other == i || *m == Moment::Stopped);
    if !alone || !matches!(day.duty_from[i], DutyFrom::Watch | DutyFrom::Log) {
        return None;
    }
    let flow = day.conditions.demand?.si();
    let load_share = day.conditions.machines[i].duty;
    let load_sigma = match day.duty_from[i] {
        DutyFrom::Log => CYCLE_SIGMA.max(day.inputs.duty[i]),
        _ => CYCLE_SIGMA,
    };
    let whole = expect(ctx.station, &Health::new(ctx.station), &day.conditions).ok()?;
    let state = whole.machines[i].clone()?;
    // What a desiccant dryer's purge and timer drains take before the meter is not lost by the
    // machine.
    let made = reference_air(state.dry_air).si() * load_share;
    let arrives = reference_air(whole.place(header)?.dry_air).si() * load_share;
    let mut places = before(&ctx.station.air_path, header);
    places.retain(|a| !matches!(a, Asset::Machine(other) if *other != i));
    let (clocked, names) = clocked(ctx, &places);
    let expected = arrives - clocked;
    if expected < 0.2 * made {
        return None;
    }
    let rated = machine.rated.fad.sigma / machine.rated.fad.value.si();
    let spread = [
        day.inputs.demand_share,
        rated,
        load_sigma / load_share.max(0.1),
        SPENT_SIGMA * (made - expected) / expected,
    ];
    let k = flow / expected;
    let sigma = k * spread.iter().map(|s| s * s).sum::<f64>().sqrt();
    let mut spent = String::new();
    if made - arrives > 1.0e-9 {
        spent += &format!(" − {} of purge", round_flow(made - arrives));
    }
    if clocked > 0.0 {
        spent += &format!(" − {} of {}", round_flow(clocked), names.join(", "));
    }
    Some(Measured {
        time: round.time,
        conditions: day.conditions,
        state,
        k,
        sigma,
        flow,
        expected,
        load_share,
        spent,
        before: Vec::new(),
    })
}

fn round_flow(m3_s: f64) -> String {
    say::round(m3_s * 60.0, 2)
}

fn finding(ctx: &Context<'_>, i: usize, m: &Measured) -> Option<Finding> {
    let z = m.z();
    if !m.short() {
        return None;
    }
    let machine = &ctx.station.machines[i];
    let mut f = draft(
        ctx,
        Kind::DeliveryShort,
        Asset::Machine(i),
        "delivery",
        Some(m.time),
    );
    f.title = format!(
        "{} delivers {} of what it should: {} at the header, where {} ± {} is expected from its load share of {}",
        machine.id,
        percent(m.k),
        ctx.units.flow(m.flow),
        ctx.units.flow(m.expected),
        round_flow(1.96 * m.sigma * m.expected),
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
    f.working = machine_steps(ctx.station, i, &m.conditions, &m.state);
    f.working.push(DELIVERED.step(
        format!(
            "{} / ({} · {}{}); tests before it: {}",
            round_flow(m.flow),
            round_flow(reference_air(m.state.dry_air).si()),
            say::round(m.load_share, 2),
            m.spent,
            m.before.len()
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
        "Measure motor and air-end speed of {}, without contact and with the guard on, to rule out belt slip, read the intake's pressure drop, and repeat with a pump-up test",
        machine.id
    ));
    f.action = format!(
        "Look at intake filter, belt and minimum-pressure valve of {}; if they are right, have the air end measured",
        machine.id
    );
    isolate(&mut f, ctx, i);
    Some(f)
}
