//! `dew-point-high`: the dryer's dew point is higher than load and heat explain.

use physics::working::{Formula, Mark};
use station::model::{Asset, DryerKind};
use station::point::{Point, Word};

use super::draft;
use crate::context::{Context, Residual};
use crate::finding::{Cost, Finding, Kind, PartHealth, Urgency};
use crate::safety::at_a_dryer;
use crate::say::percent;

const LOAD: Formula = Formula {
    name: "dryer load over capacity",
    equation: "Q_needed/Q_capacity, capacity rated · (1 − c · (T_room − T_rated))",
    unit: "1",
    source: "enthalpy to be removed against the rated point (ISO 7183 conditions or as given)",
    mark: Mark::Derived,
};

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in 0..ctx.station.dryers.len() {
        match ctx.residual(Asset::Dryer(i), Point::DryerDewPoint) {
            Some(r) if r.high() => found.push(finding(ctx, i, r)),
            Some(_) => {}
            None => {
                let id = ctx.station.dryers[i].id.clone();
                ctx.skip(
                    &format!("the dryness behind {id}"),
                    &format!("`{id}.dew_point` was not read"),
                );
            }
        }
    }
    ctx.findings.extend(found);
}

fn finding(ctx: &Context<'_>, i: usize, r: &Residual) -> Finding {
    let dryer = &ctx.station.dryers[i];
    let asset = Asset::Dryer(i);
    let mut f = draft(ctx, Kind::DewPointHigh, asset, "dew-point", Some(r.since));
    f.title = format!(
        "The pressure dew point behind {} is {} at {} outdoors",
        dryer.id,
        ctx.beside(r),
        ctx.units
            .temperature(ctx.look_of(r).day.conditions.ambient.si())
    );
    f.evidence = vec![r.evidence()];
    f.working = ctx.working_of(r);
    let load = ctx
        .look_of(r)
        .state
        .as_ref()
        .and_then(|s| s.place(asset)?.dryer_load);
    if let Some(load) = load {
        f.working
            .push(LOAD.step(format!("{} of its capacity", percent(load)), load));
    }
    f.health = Some(PartHealth {
        what: "pressure dew point over expected".to_owned(),
        unit: "K",
        value: r.read - r.band.mid,
        low: r.read - r.band.mid - 1.96 * r.band.sigma,
        high: r.read - r.band.mid + 1.96 * r.band.sigma,
        per_month: None,
    });
    let coldest = ctx
        .station
        .headers
        .iter()
        .filter_map(|h| h.coldest)
        .map(|t| t.si())
        .reduce(f64::min);
    let wet = coldest.is_some_and(|cold| r.read > cold);
    f.urgency = if wet {
        Urgency::ThisWeek
    } else {
        Urgency::NextService
    };
    f.cost = Cost::at_stake("risk, not energy: water, rust and dirt in the plant's air");
    let dirty = ctx
        .word(asset, Point::Condenser)
        .is_some_and(|s| s.word != Word::Clean);
    f.next_check = Some(match dryer.kind {
        DryerKind::Refrigeration { .. } => format!(
            "Look at the condenser of {}{}, try its drain under pressure, read {}.inlet_temperature",
            dryer.id,
            if dirty { " (it was seen dirty)" } else { "" },
            dryer.id
        ),
        DryerKind::Desiccant { .. } => {
            format!(
                "Watch {} change over its towers and hear both purge; read its inlet temperature",
                dryer.id
            )
        }
    });
    f.action = match dryer.kind {
        DryerKind::Refrigeration { .. } => format!(
            "Switch {} off, lock and tag it, then clean its condenser; see that its drain passes water and that its air is cool; refrigerant is for licensed people",
            dryer.id
        ),
        DryerKind::Desiccant { .. } => {
            format!(
                "Have the valves and the desiccant of {} looked at once it is shut off, vented and locked",
                dryer.id
            )
        }
    };
    f.isolate = true;
    f.cautions = at_a_dryer(ctx.station, i, ctx.units);
    f
}
