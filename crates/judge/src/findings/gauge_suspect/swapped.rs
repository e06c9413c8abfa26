//! Part of `gauge-suspect`: the package outlet read warmer than the oil at the air end, on load.
//!
//! The outlet has come through the aftercooler after the oil was taken out of it: it cannot be warmer.
//! Nothing that either reading says of the machine is told before it is settled.

use physics::quantity::ZERO_CELSIUS_K;
use physics::working::{Formula, Mark};
use station::model::Asset;
use station::point::{Point, PointId};

use crate::context::Context;
use crate::finding::{Cost, Finding, Kind, Urgency};
use crate::findings::draft;
use crate::safety::in_the_room;

/// The part of a finding that holds others of its machine back.
pub(crate) const PART: &str = "gauge-order";

const ORDER: Formula = Formula {
    name: "outlet over oil temperature",
    equation: "ΔT = T_outlet − T_oil, must not be positive on load",
    unit: "K",
    source: "energy balance: the aftercooler takes heat out of what leaves the air end",
    mark: Mark::Derived,
};

pub(super) fn look(ctx: &mut Context<'_>) {
    let found: Vec<Finding> = ctx
        .screws()
        .collect::<Vec<_>>()
        .into_iter()
        .filter_map(|i| finding(ctx, i))
        .collect();
    ctx.findings.extend(found);
}

fn finding(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let asset = Asset::Machine(i);
    let oil = ctx.residual(asset, Point::OilTemperature)?;
    let outlet = ctx.residual(asset, Point::OutletTemperature)?;
    let over = outlet.read - oil.read;
    let sigma = |point, read| ctx.sigma(asset, point, read);
    let doubt =
        sigma(Point::OilTemperature, oil.read).hypot(sigma(Point::OutletTemperature, outlet.read));
    if oil.time != outlet.time || over < 2.6 * doubt {
        return None;
    }
    let machine = &ctx.station.machines[i];
    let mut f = draft(ctx, Kind::GaugeSuspect, asset, PART, Some(oil.time));
    f.title = format!(
        "{} reads its outlet at {} and its oil at {} on load: the outlet cannot be the warmer of the two; were they written into each other's column?",
        machine.id,
        ctx.units.temperature(outlet.read),
        ctx.units.temperature(oil.read)
    );
    let hot = outlet.read >= machine.oil.warn.si();
    f.urgency = if hot {
        f.title += &format!(
            " If so, its oil is past its warning at {}",
            ctx.units.temperature(machine.oil.warn.si())
        );
        Urgency::Now
    } else {
        Urgency::NextService
    };
    f.evidence = vec![oil.evidence(), outlet.evidence()];
    f.working = vec![ORDER.step(
        format!(
            "{:.1} − {:.1} °C, both readings together uncertain by {:.1} K",
            outlet.read - ZERO_CELSIUS_K,
            oil.read - ZERO_CELSIUS_K,
            1.96 * doubt
        ),
        over,
    )];
    f.cost = Cost::at_stake(
        "nothing by itself; what its temperatures say is not told before this is settled",
    );
    let names = [Point::OilTemperature, Point::OutletTemperature]
        .map(|point| ctx.point_name(PointId { asset, point }))
        .join(" and ");
    f.next_check = Some(format!(
        "Read {names} once more on load, and look which column each belongs to"
    ));
    f.action = format!(
        "Read {names} again; if they were swapped, put the rounds right; if not, have the gauge that is wrong compared and changed, and write `{}:change gauge` into `done`",
        machine.id
    );
    f.cautions = in_the_room();
    Some(f)
}
