//! `drain-passing`: a drain that lets air through, by fault or by the clock.

use physics::flow::orifice::ORIFICE_CHOKED;
use physics::quantity::AbsolutePressure;
use physics::working::Step;
use station::model::{Asset, Drain, DrainKind};
use station::point::{Point, Word};

use super::{draft, price};
use crate::context::Context;
use crate::drain::{COEFFICIENT, through_a_drain};
use crate::finding::{Finding, Kind, Urgency};
use crate::safety::{at_an_open_drain, at_drains};
use crate::say::round;

/// Opening of a drain that passes, where the file does not tell it: 2 mm (from memory).
const UNKNOWN_OPENING_M: f64 = 0.002;
pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for (i, drain) in ctx.station.drains.iter().enumerate() {
        let seen = ctx
            .word(Asset::Drain(i), Point::DrainTest)
            .filter(|s| s.word == Word::Passing);
        if let Some(seen) = seen {
            found.extend(passing(ctx, i, drain, seen.since));
        } else if ctx
            .findings
            .iter()
            .any(|f| f.kind == Kind::DrainBlocked && f.subject == Asset::Drain(i))
        {
            // What passes nothing blows nothing off either.
        } else if let DrainKind::Timer {
            open_s,
            every_s,
            orifice_m,
        } = drain.kind
        {
            found.extend(by_the_clock(ctx, i, drain, open_s / every_s, orifice_m));
        }
    }
    ctx.findings.extend(found);
}

/// Air through an opening at the pressure of the drained place, m³/s of reference air.
fn flow(ctx: &Context<'_>, drain: &Drain, opening_m: f64) -> Option<(f64, Step)> {
    let atmosphere = ctx.station.standard_atmosphere();
    let gauge = ctx
        .looks
        .first()
        .and_then(|l| l.state.as_ref()?.place(drain.on).map(|p| p.pressure))
        .or_else(|| {
            ctx.station
                .machines
                .first()
                .map(station::model::Machine::mid_pressure)
        })?;
    let p: AbsolutePressure = gauge.absolute(atmosphere);
    let mass = through_a_drain(opening_m, p, atmosphere).ok()?;
    let numbers = format!(
        "{} mm, coefficient {COEFFICIENT}, {} bar(a)",
        round(opening_m * 1e3, 1),
        round(p.bar(), 2)
    );
    Some((
        physics::air::reference_air(mass).si(),
        ORIFICE_CHOKED.step(numbers, mass.si()),
    ))
}

/// What drains that open by the clock let go in the mean on these places, m³/s of reference air,
/// and their names.
pub(super) fn clocked(ctx: &Context<'_>, places: &[Asset]) -> (f64, Vec<String>) {
    let mut sum = (0.0, Vec::new());
    for drain in ctx.station.drains.iter().filter(|d| places.contains(&d.on)) {
        let DrainKind::Timer {
            open_s,
            every_s,
            orifice_m,
        } = drain.kind
        else {
            continue;
        };
        if let Some((open, _)) = flow(ctx, drain, orifice_m) {
            sum.0 += open * open_s / every_s;
            sum.1.push(drain.id.clone());
        }
    }
    sum
}

fn passing(ctx: &Context<'_>, i: usize, drain: &Drain, since: jiff::Timestamp) -> Option<Finding> {
    let (opening, told) = match drain.kind {
        DrainKind::Timer { orifice_m, .. } => (orifice_m, true),
        _ => (UNKNOWN_OPENING_M, false),
    };
    let (lost, step) = flow(ctx, drain, opening)?;
    let mut f = draft(ctx, Kind::DrainPassing, Asset::Drain(i), "air", Some(since));
    f.title = format!(
        "{} lets air through: about {} through {} mm{}",
        drain.id,
        ctx.units.flow(lost),
        round(opening * 1e3, 0),
        if told {
            ""
        } else {
            " of opening, which is assumed"
        }
    );
    f.working.push(step);
    price(
        &mut f,
        ctx.year
            .of_air(ctx.station, lost, Some(ctx.year.hours_under_pressure())),
    );
    f.urgency = f.urgency.min(Urgency::NextService);
    f.next_check = Some(format!("Listen at {} with its water gone", drain.id));
    f.action = format!(
        "Shut {} off, vent it and lock its supply, then clean or change its valve",
        drain.id
    );
    f.cautions = at_an_open_drain(ctx.station, i, ctx.units);
    Some(f)
}

fn by_the_clock(
    ctx: &Context<'_>,
    i: usize,
    drain: &Drain,
    share: f64,
    orifice_m: f64,
) -> Option<Finding> {
    let (open, step) = flow(ctx, drain, orifice_m)?;
    let lost = open * share;
    let hours = ctx.year.hours_under_pressure();
    let priced = ctx.year.of_air(ctx.station, lost, Some(hours))?;
    // Worth telling only where it is more than a detail.
    if priced.share < 0.002 {
        return None;
    }
    let mut f = draft(ctx, Kind::DrainPassing, Asset::Drain(i), "clock", None);
    f.title = format!(
        "{} opens by the clock and blows off {} in the mean, water or not",
        drain.id,
        ctx.units.flow(lost)
    );
    f.working.push(step);
    price(&mut f, Some(priced));
    f.next_check = Some(format!(
        "Watch {} open: how long does only air come",
        drain.id
    ));
    f.action = format!(
        "Shorten the open time of {}, or fit a drain that senses the level",
        drain.id
    );
    f.cautions = at_drains();
    Some(f)
}
