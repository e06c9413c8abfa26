//! `power-high`: more power on load than pressure and speed explain.

use physics::machine::motor::{MOTOR_POWER, MotorPlate, power_from_current};
use physics::working::{Formula, Mark, Step};
use station::forward::MachineHealth;
use station::model::{Asset, MachineKind};
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
            found.extend(finding(ctx, i, r));
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

/// What was read and what was expected as power, W, and the expectation's σ. A current is turned
/// into power first: near unloaded most of it magnetises, and a ratio of currents says little.
pub(super) struct AsPower {
    read: f64,
    mid: f64,
    sigma: f64,
}

impl AsPower {
    pub(super) fn of(ctx: &Context<'_>, i: usize, r: &Residual) -> Option<Self> {
        if r.id.point == Point::MachinePower {
            return Some(Self {
                read: r.read,
                mid: r.band.mid,
                sigma: r.band.sigma,
            });
        }
        let motor = &ctx.station.machines[i].motor;
        let plate = MotorPlate {
            current_a: motor.current_a?,
            power_factor: motor.power_factor.value,
        };
        let volts = motor.voltage_v?;
        let watt = |ampere| power_from_current(ampere, volts, plate).map(|p| p.si());
        let mid = watt(r.band.mid).ok()?;
        Some(Self {
            read: watt(r.read).ok()?,
            mid,
            sigma: watt(r.band.mid + r.band.sigma).ok()? - mid,
        })
    }

    /// Read over expected.
    pub(super) fn share(&self) -> f64 {
        self.read / self.mid
    }
}

/// The factor with its interval.
pub(super) fn share(p: &AsPower, what: &str) -> PartHealth {
    let k = p.share();
    let half = 1.96 * p.sigma / p.mid;
    PartHealth {
        what: what.to_owned(),
        unit: "1",
        value: k,
        low: (k - half).max(0.0),
        high: k + half,
        per_month: None,
    }
}

/// The share as steps; where a current was read, from both currents over both powers.
pub(super) fn share_steps(r: &Residual, p: &AsPower) -> Vec<Step> {
    let from_current = (r.id.point == Point::MachineCurrent).then(|| {
        MOTOR_POWER.step(
            format!(
                "{} A read, {} A expected: {} and {} kW",
                round(r.read, 1),
                round(r.band.mid, 1),
                round(p.read / 1e3, 1),
                round(p.mid / 1e3, 1)
            ),
            p.read / 1e3,
        )
    });
    let share = SHARE.step(
        format!("{} / {} kW", round(p.read / 1e3, 1), round(p.mid / 1e3, 1)),
        p.share(),
    );
    from_current.into_iter().chain([share]).collect()
}

fn finding(ctx: &Context<'_>, i: usize, r: &Residual) -> Option<Finding> {
    let machine = &ctx.station.machines[i];
    let mut f = draft(
        ctx,
        Kind::PowerHigh,
        Asset::Machine(i),
        "power",
        Some(r.since),
    );
    let p = AsPower::of(ctx, i, r)?;
    let k = p.share();
    f.title = format!(
        "{} draws {} on load at {}: {} more power than it should",
        machine.id,
        ctx.beside(r),
        ctx.units
            .gauge(ctx.look_of(r).day.conditions.machines[i].pressure.si()),
        percent(k - 1.0),
    );
    f.evidence = vec![r.evidence()];
    f.health = Some(share(&p, "power on load"));
    f.working = ctx.working_of(r);
    f.working.extend(share_steps(r, &p));
    let found = MachineHealth {
        power: k.min(2.5),
        ..MachineHealth::NEW
    };
    price(
        &mut f,
        ctx.year
            .of_health(ctx.station, i, &found, &MachineHealth::NEW),
    );
    let screw = machine.kind == MachineKind::Screw;
    f.next_check = Some(if screw {
        format!(
            "Read {}.separator_drop: a loaded separator makes the air end work against more pressure; then compare the pressure gauge with another",
            machine.id
        )
    } else {
        format!(
            "Compare the pressure gauge of {} and its power meter with others",
            machine.id
        )
    });
    let against = if screw {
        "separator, minimum-pressure valve, a gauge that reads low"
    } else {
        "valves and coolers in its way, a gauge that reads low"
    };
    f.action = format!(
        "Find what {} works against: {against}; if nothing is found, have motor and bearings measured",
        machine.id
    );
    f.cautions = in_the_room();
    Some(f)
}
