//! `separator-loaded`: the oil separator's drop at or near its change value.

use physics::quantity::PressureDifference;
use station::model::Asset;
use station::point::Point;

use super::{draft, price};
use crate::context::{Context, Residual};
use crate::cost::Priced;
use crate::finding::{Finding, Kind, PartHealth, Urgency};
use crate::safety::{before_the_cabinet, hand_back};
use crate::say::percent;

/// Share of the way from clean to change at which the change is worth planning.
pub(super) const NEAR: f64 = 0.8;

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

pub(super) fn drop_health(what: &str, r: &Residual, clean: PressureDifference) -> PartHealth {
    let k = r.read / clean.si();
    let half = 1.96 * r.band.sigma / clean.si();
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

fn finding(ctx: &Context<'_>, i: usize, r: &Residual) -> Option<Finding> {
    let machine = &ctx.station.machines[i];
    let separator = &machine.separator;
    let way = way(r.read, separator.clean.value, separator.change);
    if way < NEAR {
        return None;
    }
    let asset = Asset::Machine(i);
    let mut f = draft(ctx, Kind::SeparatorLoaded, asset, "separator", Some(r.time));
    f.title = format!(
        "The oil separator of {} takes {}, clean {}, change at {}: {} of the way",
        machine.id,
        ctx.units.drop(r.read),
        ctx.units.drop(separator.clean.value.si()),
        ctx.units.drop(separator.change.si()),
        percent(way)
    );
    f.evidence = vec![r.evidence()];
    f.health = Some(drop_health(
        "separator drop over clean",
        r,
        separator.clean.value,
    ));
    f.working = ctx.working_of(r);
    let more = PressureDifference::new(r.read) - separator.clean.value;
    urgency(&mut f, way, ctx.year.of_pressure(ctx.station, i, more));
    f.next_check = Some(format!(
        "Read the drop of {} again on load, both taps by one gauge",
        machine.id
    ));
    f.action = format!(
        "Change the oil separator of {}; look at oil level and scavenge line while it is open; mixed oils are never topped up",
        machine.id
    );
    f.isolate = true;
    f.cautions = before_the_cabinet(ctx.station, i, ctx.units);
    f.cautions.insert(f.cautions.len() - 1, hand_back());
    Some(f)
}
