//! `room-hot`: the room lies further over outdoors than its ventilation and the machines explain.

use physics::quantity::Temperature;
use physics::room::ROOM_RISE;
use physics::working::{Formula, Mark};
use station::model::Asset;
use station::point::Point;

use super::draft;
use crate::context::{Context, Residual};
use crate::day::Moment;
use crate::finding::{Cost, Finding, Kind, PartHealth, Urgency};
use crate::safety::at_the_rooms_fans;
use crate::say::round;

/// A room that is colder than this is no trouble: in winter it may be heated, °C (common practice,
/// no source).
pub(crate) const LEAST_C: f64 = 22.0;

const RISE_READ: Formula = Formula {
    name: "room over outdoors, as read",
    equation: "ΔT = T_room − T_outdoors",
    unit: "K",
    source: "definition",
    mark: Mark::Derived,
};

pub(super) fn look(ctx: &mut Context<'_>) {
    let residual = ctx
        .residual(Asset::Room, Point::RoomTemperature)
        .filter(|r| r.high() && Temperature::new(r.read).celsius() > LEAST_C)
        .filter(|r| {
            let moments = &ctx.look_of(r).day.moments;
            moments.contains(&Moment::Loaded) || moments.contains(&Moment::Unloaded)
        });
    if let Some(r) = residual {
        if ctx.look_of(r).day.weather_read {
            let f = finding(ctx, r);
            ctx.findings.push(f);
        } else {
            ctx.skip("the room's rise", "`site.ambient` was not read");
        }
    }
}

fn finding(ctx: &Context<'_>, r: &Residual) -> Finding {
    let look = ctx.look_of(r);
    let ambient = look.day.conditions.ambient.si();
    let (rise, expected) = (r.read - ambient, r.band.mid - ambient);
    let mut f = draft(ctx, Kind::RoomHot, Asset::Room, "rise", Some(r.since));
    f.title = format!(
        "The room is {} over outdoors, where {} ± {} is expected with these machines running",
        ctx.units.kelvins(rise),
        ctx.units.kelvins(expected),
        ctx.units.half_kelvins(1.96 * r.band.sigma)
    );
    f.urgency = Urgency::NextService;
    f.evidence = vec![r.evidence()];
    f.health = Some(PartHealth {
        what: "room rise over expected".to_owned(),
        unit: "K",
        value: r.read - r.band.mid,
        low: r.read - r.band.mid - 1.96 * r.band.sigma,
        high: r.read - r.band.mid + 1.96 * r.band.sigma,
        per_month: None,
    });
    f.working = ctx.working_of(r);
    let heat = look.state.as_ref().map_or(0.0, |s| {
        s.machines
            .iter()
            .flatten()
            .map(|m| m.heat.power)
            .sum::<f64>()
            / 1e3
    });
    f.working
        .push(ROOM_RISE.step(format!("{} kW while loaded", round(heat, 1)), expected));
    f.working.push(RISE_READ.step(
        format!(
            "{} − {} °C",
            round(Temperature::new(r.read).celsius(), 1),
            round(Temperature::new(ambient).celsius(), 1)
        ),
        rise,
    ));
    f.cost =
        Cost::at_stake("risk, not energy: every kelvin of the room is a kelvin of oil and outlet");
    f.next_check = Some("Read the temperature where cooling air enters each machine: warm air coming round shows there".into());
    f.action = "Open what is shut, clean louvres and fans of the room, stop hot air from coming round to the intakes".to_owned();
    f.cautions = at_the_rooms_fans();
    f
}
