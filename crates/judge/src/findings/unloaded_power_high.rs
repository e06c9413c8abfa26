//! `unloaded-power-high`: more power unloaded than the station file says.

use station::forward::MachineHealth;
use station::model::{Asset, Control};

use super::power_high::{AsPower, power, share, share_steps};
use super::{draft, price};
use crate::context::{Context, Residual};
use crate::day::Moment;
use crate::finding::{Finding, Kind};
use crate::safety::in_the_room;
use crate::say::percent;

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in 0..ctx.station.machines.len() {
        let unloads = matches!(ctx.station.machines[i].control, Control::LoadUnload(_));
        let residual = power(ctx, i, Moment::Unloaded).filter(|r| unloads && r.high());
        found.extend(residual.and_then(|r| finding(ctx, i, r)));
    }
    ctx.findings.extend(found);
}

fn finding(ctx: &Context<'_>, i: usize, r: &Residual) -> Option<Finding> {
    let machine = &ctx.station.machines[i];
    let asset = Asset::Machine(i);
    let mut f = draft(
        ctx,
        Kind::UnloadedPowerHigh,
        asset,
        "unloaded-power",
        Some(r.since),
    );
    let p = AsPower::of(ctx, i, r)?;
    let k = p.share();
    f.title = format!(
        "{} draws {} unloaded: {} more power than it should",
        machine.id,
        ctx.beside(r),
        percent(k - 1.0)
    );
    f.evidence = vec![r.evidence()];
    f.health = Some(share(&p, "power unloaded"));
    f.working = ctx.working_of(r);
    f.working.extend(share_steps(r, &p));
    let found = MachineHealth {
        unloaded_power: k.min(4.0),
        ..MachineHealth::NEW
    };
    price(
        &mut f,
        ctx.year
            .of_health(ctx.station, i, &found, &MachineHealth::NEW),
    );
    f.next_check = Some(format!(
        "Watch the separator's pressure of {} for a minute after it unloads: it has to blow down and the intake has to shut",
        machine.id
    ));
    f.action = format!(
        "Have blowdown valve and intake valve of {} looked at: it does not blow down, or draws in air unloaded",
        machine.id
    );
    f.cautions = in_the_room();
    Some(f)
}
