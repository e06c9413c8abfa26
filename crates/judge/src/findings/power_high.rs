//! `power-high`: more power on load than pressure and speed explain.

use physics::working::{Formula, Mark};
use station::forward::MachineHealth;
use station::model::Asset;
use station::point::{Point, PointId};

use super::{draft, price};
use crate::context::{Context, Residual};
use crate::day::Moment;
use crate::finding::{Finding, Kind, PartHealth};
use crate::safety::in_the_room;
use crate::say::{percent, round};

const SHARE: Formula = Formula {
    name: "power as found, share of expected",
    equation: "k_w = P_read/P_expected",
    unit: "1",
    source: "the forward model",
    mark: Mark::Derived,
};

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in 0..ctx.station.machines.len() {
        if let Some(r) = power(ctx, i, Moment::Loaded).filter(|r| r.high()) {
            found.push(finding(ctx, i, r));
        }
    }
    ctx.findings.extend(found);
}

/// The power's residual in a state, or the current's where no power was read.
pub(super) fn power<'c>(ctx: &'c Context<'_>, i: usize, moment: Moment) -> Option<&'c Residual> {
    let asset = Asset::Machine(i);
    [Point::MachinePower, Point::MachineCurrent]
        .into_iter()
        .find_map(|point| {
            ctx.residuals
                .get(&PointId { asset, point })
                .filter(|r| ctx.look_of(r).day.moments[i] == moment)
        })
}

/// The factor with its interval.
pub(super) fn share(r: &Residual, what: &str) -> PartHealth {
    let k = r.read / r.band.mid;
    let half = 1.96 * r.band.sigma / r.band.mid;
    PartHealth {
        what: what.to_owned(),
        unit: "1",
        value: k,
        low: k - half,
        high: k + half,
        per_month: None,
    }
}

pub(super) fn share_step(r: &Residual) -> physics::working::Step {
    let scale = if r.id.point == Point::MachinePower {
        1e-3
    } else {
        1.0
    };
    SHARE.step(
        format!(
            "{} / {}",
            round(r.read * scale, 1),
            round(r.band.mid * scale, 1)
        ),
        r.read / r.band.mid,
    )
}

fn finding(ctx: &Context<'_>, i: usize, r: &Residual) -> Finding {
    let machine = &ctx.station.machines[i];
    let mut f = draft(
        ctx,
        Kind::PowerHigh,
        Asset::Machine(i),
        "power",
        Some(r.since),
    );
    let k = r.read / r.band.mid;
    f.title = format!(
        "{} draws {} on load at {}: {} more than it should",
        machine.id,
        ctx.beside(r),
        ctx.units
            .gauge(ctx.look_of(r).day.conditions.machines[i].pressure.si()),
        percent(k - 1.0),
    );
    f.evidence = vec![r.evidence()];
    f.health = Some(share(r, "power on load"));
    f.working = ctx.working_of(r);
    f.working.push(share_step(r));
    let found = MachineHealth {
        power: k.min(2.5),
        ..MachineHealth::NEW
    };
    price(
        &mut f,
        ctx.year
            .of_health(ctx.station, i, &found, &MachineHealth::NEW),
    );
    f.next_check = Some(format!(
        "Read {}.separator_drop: a loaded separator makes the air end work against more pressure; then compare the pressure gauge with another",
        machine.id
    ));
    f.action = format!(
        "Find what {} works against: separator, minimum-pressure valve, a gauge that reads low; if nothing is found, have motor and air-end bearings measured",
        machine.id
    );
    f.cautions = in_the_room();
    f
}
