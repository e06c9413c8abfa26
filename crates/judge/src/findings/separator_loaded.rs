//! `separator-loaded`: the oil separator's drop at or near its change value.

use physics::quantity::{BAR_PA, PressureDifference};
use physics::working::{Formula, Mark, Step};
use station::forward::MachineHealth;
use station::model::Asset;
use station::point::Point;

use super::{draft, isolate, price};
use crate::band::{by_speed, flow_share};
use crate::context::{Context, Residual};
use crate::cost::Priced;
use crate::day::{DutyFrom, reading_sigma};
use crate::finding::{Finding, Kind, PartHealth, Urgency};
use crate::say::{percent, round};

/// Share of the way from clean to change at which the change is worth planning.
pub(super) const NEAR: f64 = 0.8;

const WAY: Formula = Formula {
    name: "share of the way from clean to change",
    equation: "(Δp − Δp_clean)/(Δp_change − Δp_clean)",
    unit: "1",
    source: "`separator` of the station file",
    mark: Mark::Derived,
};

const AT_FULL: Formula = Formula {
    name: "drop at full flow",
    equation: "Δp_full = Δp/n^1.8, n the speed over full speed",
    unit: "bar",
    source: "drop by the power of the flow between linear and square (textbook)",
    mark: Mark::Derived,
};

const CHANGE: Formula = Formula {
    name: "change value",
    equation: "Δp_change, or the mark of the tensioner",
    unit: "bar",
    source: "the station file or its default",
    mark: Mark::Derived,
};

/// The value at which a part is changed, as a step.
pub(crate) fn change_step(value: f64, unit: &str) -> physics::working::Step {
    physics::working::Step {
        unit: unit.to_owned(),
        ..CHANGE.step("as told", value)
    }
}

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in ctx.screws().collect::<Vec<_>>() {
        if let Some(r) = ctx.residual(Asset::Machine(i), Point::SeparatorDrop) {
            found.extend(finding(ctx, i, r));
        }
    }
    ctx.findings.extend(found);
}

/// Share of the way from clean to change.
pub(super) fn way(read: f64, clean: PressureDifference, change: PressureDifference) -> f64 {
    (read - clean.si()) / (change - clean).si()
}

pub(super) fn drop_health(
    what: &str,
    (drop, sigma): (f64, f64),
    clean: PressureDifference,
) -> PartHealth {
    let k = drop / clean.si();
    let half = 1.96 * sigma / clean.si();
    PartHealth {
        what: what.to_owned(),
        unit: "1",
        value: k,
        low: k - half,
        high: k + half,
        per_month: None,
    }
}

/// Urgency by the way, never less urgent than the price makes it.
pub(super) fn urgency(finding: &mut Finding, way: f64, priced: Option<Priced>) {
    price(finding, priced);
    finding.urgency = if way >= 1.0 {
        Urgency::ThisWeek
    } else {
        finding.urgency.min(Urgency::NextService)
    };
}

/// A drop as it would be at full flow: a machine that turns slowly takes less of it. Where the
/// speed was not read, the drop is taken as it is: it is no less.
pub(super) fn at_full_flow(ctx: &Context<'_>, i: usize, r: &Residual) -> AtFull {
    let day = &ctx.look_of(r).day;
    let speed = day.conditions.machines[i].speed;
    let sigma = reading_sigma(ctx.station, r.id, r.read);
    if day.duty_from[i] != DutyFrom::Speed || !(0.1..1.0).contains(&speed) {
        return AtFull {
            drop: r.read,
            sigma,
            note: String::new(),
            step: None,
        };
    }
    let note = format!(
        " at full flow ({} read at {})",
        ctx.units.drop(r.read),
        percent(speed)
    );
    let over = flow_share(day, i);
    let drop = r.read / over;
    AtFull {
        drop,
        sigma: (sigma / over).hypot(by_speed(day, i) * drop),
        note,
        step: Some(AT_FULL.step(
            format!(
                "{} bar read, n = {}",
                round(r.read / BAR_PA, 3),
                round(speed, 2)
            ),
            drop / BAR_PA,
        )),
    }
}

/// A drop as it would be at full flow, and its standard deviation, Pa.
pub(super) struct AtFull {
    pub(super) drop: f64,
    pub(super) sigma: f64,
    /// How it was brought there; empty where it was read so.
    pub(super) note: String,
    pub(super) step: Option<Step>,
}

impl AtFull {
    /// The drop, less what a reading at little flow leaves open: nothing is changed for what a small drop, taken large,
    /// may be.
    fn surely(&self) -> f64 {
        if self.note.is_empty() {
            self.drop
        } else {
            self.drop - 1.96 * self.sigma
        }
    }

    /// Share of the way from clean to change; nothing where it is not surely near.
    pub(super) fn way(&self, clean: PressureDifference, change: PressureDifference) -> Option<f64> {
        (way(self.surely(), clean, change) >= NEAR).then(|| way(self.drop, clean, change))
    }
}

fn finding(ctx: &Context<'_>, i: usize, r: &Residual) -> Option<Finding> {
    let machine = &ctx.station.machines[i];
    let separator = &machine.separator;
    let full = at_full_flow(ctx, i, r);
    let way = full.way(separator.clean.value, separator.change)?;
    let (at_full, note) = (full.drop, full.note);
    let asset = Asset::Machine(i);
    let mut f = draft(ctx, Kind::SeparatorLoaded, asset, "separator", Some(r.time));
    f.title = format!(
        "The oil separator of {} takes {}{note}, clean {}, change at {}: {} of the way",
        machine.id,
        ctx.units.drop(at_full),
        ctx.units.drop(separator.clean.value.si()),
        ctx.units.drop(separator.change.si()),
        percent(way)
    );
    f.evidence = vec![r.evidence()];
    f.health = Some(drop_health(
        "separator drop over clean",
        (at_full, full.sigma.hypot(separator.clean.sigma)),
        separator.clean.value,
    ));
    f.working = ctx.working_of(r);
    f.working.extend(full.step);
    let loaded = MachineHealth {
        separator_drop: at_full / separator.clean.value.si(),
        ..MachineHealth::NEW
    };
    let priced = ctx
        .year
        .of_health(ctx.station, i, &loaded, &MachineHealth::NEW);
    f.working.push(WAY.step(
        format!(
            "clean {}, change {} bar",
            round(separator.clean.value.bar(), 2),
            round(separator.change.bar(), 2)
        ),
        way,
    ));
    urgency(&mut f, way, priced);
    f.next_check = Some(format!(
        "Read the drop of {} again on load, both taps by one gauge",
        machine.id
    ));
    f.action = format!(
        "Change the oil separator of {}; look at oil level and scavenge line while it is open; mixed oils are never topped up",
        machine.id
    );
    isolate(&mut f, ctx, i);
    Some(f)
}
