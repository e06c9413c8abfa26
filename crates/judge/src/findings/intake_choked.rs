//! `intake-choked`: the intake filter's drop at or near its change value.

use station::forward::MachineHealth;
use station::model::Asset;
use station::point::Point;

use super::separator_loaded::{at_full_flow, change_step, drop_health, urgency};
use super::{draft, isolate};
use crate::context::{Context, Residual};
use crate::finding::{Finding, Kind};

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in ctx.screws().collect::<Vec<_>>() {
        if let Some(r) = ctx.residual(Asset::Machine(i), Point::IntakeDrop) {
            found.extend(finding(ctx, i, r));
        }
    }
    ctx.findings.extend(found);
}

fn finding(ctx: &Context<'_>, i: usize, r: &Residual) -> Option<Finding> {
    let machine = &ctx.station.machines[i];
    let intake = &machine.intake;
    let full = at_full_flow(ctx, i, r);
    let way = full.way(intake.clean.value, intake.change)?;
    let mut f = draft(
        ctx,
        Kind::IntakeChoked,
        Asset::Machine(i),
        "intake",
        Some(r.time),
    );
    f.title = format!(
        "The intake filter of {} takes {}{}, clean {}, change at {}: it draws less air and a little less power",
        machine.id,
        ctx.units.drop(full.drop),
        full.note,
        ctx.units.drop(intake.clean.value.si()),
        ctx.units.drop(intake.change.si()),
    );
    f.evidence = vec![r.evidence()];
    f.health = Some(drop_health(
        "intake drop over clean",
        (full.drop, full.sigma.hypot(intake.clean.sigma)),
        intake.clean.value,
    ));
    f.working = ctx.working_of(r);
    f.working.extend(full.step);
    f.working.push(change_step(intake.change.bar(), "bar"));
    let choked = MachineHealth {
        intake_drop: full.drop / intake.clean.value.si(),
        ..MachineHealth::NEW
    };
    urgency(
        &mut f,
        way,
        ctx.year
            .of_health(ctx.station, i, &choked, &MachineHealth::NEW),
    );
    f.next_check = Some("Look at the element against the light".to_owned());
    f.action = format!("Change the intake filter of {}", machine.id);
    isolate(&mut f, ctx, i);
    Some(f)
}
