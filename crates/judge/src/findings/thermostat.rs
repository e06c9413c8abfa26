//! `thermostat`: the valve holds another temperature than it should.

use physics::working::{Formula, Mark};
use station::model::Asset;
use station::point::Point;

use super::cooling_lost::{Part, explained_by_load, health, held_by_thermostat};
use super::{draft, isolate};
use crate::context::{Context, Residual};
use crate::finding::{Cost, Finding, Kind, PartHealth, Urgency};

const OFFSET: Formula = Formula {
    name: "offset of the held temperature",
    equation: "ΔT = T_read − T_expected, while the valve sets the oil temperature",
    unit: "K",
    source: "the forward model",
    mark: Mark::Derived,
};

/// From here on the valve is stuck rather than worn or mis-stated.
pub(crate) const FAR_K: f64 = 8.0;

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in ctx.screws().collect::<Vec<_>>() {
        let asset = Asset::Machine(i);
        let Some(oil) = ctx.residual(asset, Point::OilTemperature) else {
            continue;
        };
        let look = ctx.look_of(oil);
        if !held_by_thermostat(ctx, look, i) {
            continue;
        }
        let outlet_fine = ctx
            .residual(asset, Point::OutletTemperature)
            .is_some_and(|r| !r.high());
        // Without counters a machine that only just started looks like a valve that passes: one
        // cold reading alone proves nothing.
        let may_be_cold = look.day.barely_runs[i];
        if oil.low() && !oil.before.is_empty() && !may_be_cold {
            found.push(finding(ctx, i, oil, false));
        } else if oil.high() && outlet_fine && !explained_by_load(ctx, i, oil) {
            let cooling = health(ctx, i, Part::OilSide, oil.read, &look.day.conditions);
            if cooling.is_none_or(|k| k < 0.5) {
                found.push(finding(ctx, i, oil, true));
            }
        }
    }
    ctx.findings.extend(found);
}

fn finding(ctx: &Context<'_>, i: usize, oil: &Residual, hot: bool) -> Finding {
    let machine = &ctx.station.machines[i];
    let mut f = draft(
        ctx,
        Kind::Thermostat,
        Asset::Machine(i),
        "thermostat",
        Some(oil.since),
    );
    let offset = oil.read - oil.band.mid;
    f.title = format!(
        "The thermostatic valve of {} {}: oil at {} at {} outdoors",
        machine.id,
        match (hot, offset.abs() >= FAR_K) {
            (true, true) => "does not let enough oil to the cooler",
            (true, false) => "holds the oil higher than it is told to",
            (false, true) => "lets oil through the cooler too soon",
            (false, false) => "holds the oil lower than it is told to",
        },
        ctx.beside(oil),
        ctx.units
            .temperature(ctx.look_of(oil).day.conditions.ambient.si()),
    );
    f.urgency = match offset {
        hot if hot >= FAR_K => Urgency::ThisWeek,
        cold if cold <= -FAR_K => Urgency::NextService,
        _ => Urgency::Watch,
    };
    f.evidence = vec![oil.evidence()];
    f.health = Some(PartHealth {
        what: "held oil temperature, offset".to_owned(),
        unit: "K",
        value: offset,
        low: offset - 1.96 * oil.band.sigma,
        high: offset + 1.96 * oil.band.sigma,
        per_month: None,
    });
    f.working = ctx.working_of(oil);
    f.working.push(OFFSET.step(
        format!(
            "{} − {}",
            ctx.units.fine_temperature(oil.read),
            ctx.units.fine_temperature(oil.band.mid)
        ),
        offset,
    ));
    f.cost = Cost::at_stake(if hot {
        "risk, not energy: it trips when load or weather rise"
    } else {
        "risk, not energy: water stays in cool oil and wears the bearings"
    });
    f.next_check = Some(format!(
        "Watch {}.oil_temperature for a quarter of an hour on load: a valve that works lets it settle; feel the pipe to the cooler with care, it is hot",
        machine.id
    ));
    f.action = format!("Have the thermostatic valve of {} changed", machine.id);
    isolate(&mut f, ctx, i);
    f
}
