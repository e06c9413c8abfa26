//! Part of `cooling-lost`: the air of a machine of kind `other` leaves hotter than its stated outlet
//! temperature explains. Such a machine has no thermal model: no part of it is blamed.

use physics::working::{Formula, Mark};
use station::model::{Asset, MachineKind};
use station::point::Point;

use crate::context::{Context, Residual};
use crate::finding::{Cost, Finding, Kind, Urgency};
use crate::findings::{draft, isolate};

/// Beyond so many σ it does not wait for the next service (common practice, no source).
const FAR: f64 = 4.0;

const HOTTER: Formula = Formula {
    name: "outlet over what is stated",
    equation: "ΔT = T_read − (T_room + T_stated − 20 °C)",
    unit: "K",
    source: "`rated.outlet` of the station file, at ISO 1217 reference inlet",
    mark: Mark::Derived,
};

pub(super) fn look(ctx: &mut Context<'_>) {
    let others = (0..ctx.station.machines.len())
        .filter(|&i| ctx.station.machines[i].kind == MachineKind::Other);
    let found: Vec<Finding> = others
        .filter_map(|i| {
            let r = ctx.residual(Asset::Machine(i), Point::OutletTemperature)?;
            r.high().then(|| finding(ctx, i, r))
        })
        .collect();
    ctx.findings.extend(found);
}

fn finding(ctx: &Context<'_>, i: usize, r: &Residual) -> Finding {
    let machine = &ctx.station.machines[i];
    let asset = Asset::Machine(i);
    let mut f = draft(ctx, Kind::CoolingLost, asset, "outlet", Some(r.since));
    f.title = format!(
        "The air leaves {} at {} by its stated outlet temperature and {} outdoors",
        machine.id,
        ctx.beside(r),
        ctx.units
            .temperature(ctx.look_of(r).day.conditions.ambient.si())
    );
    f.urgency = if r.z > FAR {
        Urgency::ThisWeek
    } else {
        Urgency::NextService
    };
    f.evidence = vec![r.evidence()];
    f.working = ctx.working_of(r);
    f.working.push(HOTTER.step(
        format!(
            "{:.1} − {:.1} °C",
            r.read - physics::quantity::ZERO_CELSIUS_K,
            r.band.mid - physics::quantity::ZERO_CELSIUS_K
        ),
        r.read - r.band.mid,
    ));
    f.cost = Cost::at_stake(
        "risk, not energy: hotter air carries more water on, and a machine that cools badly trips",
    );
    f.next_check = Some(format!(
        "Compare {}.outlet_temperature with another thermometer, and read room.temperature where its cooling air or water enters",
        machine.id
    ));
    f.action = format!(
        "Look at what cools the air of {}: cooler faces, fan and mat, or the flow and temperature of its cooling water; its maker's papers tell the rest",
        machine.id
    );
    isolate(&mut f, ctx, i);
    f
}
