//! Part of `design`: a safety valve that does not suit its vessel, as the station file tells it.
//!
//! A licensed person decides; the file is judged all the same.

use physics::quantity::BAR_PA;
use physics::working::Step;
use station::model::Asset;
use station::valves::ValveFault;

use crate::context::Context;
use crate::finding::{Cost, Finding, Kind, Urgency};
use crate::findings::draft;
use crate::safety::at_safety_valves;
use crate::say::round;

/// Every safety valve that is set above its vessel's pressure or passes too little.
pub(super) fn faults(ctx: &Context<'_>) -> Vec<Finding> {
    let faults = ctx.station.valve_faults();
    faults
        .into_iter()
        .map(|(vessel, fault)| match fault {
            ValveFault::SetAboveVessel { set, max } => set_above(ctx, vessel, set, max),
            ValveFault::TooSmall {
                capacity,
                delivered,
            } => too_small(ctx, vessel, capacity, delivered),
        })
        .collect()
}

fn set_above(ctx: &Context<'_>, i: usize, set: f64, max: f64) -> Finding {
    let vessel = &ctx.station.vessels[i];
    let mut f = base(ctx, i, "valve-set");
    f.title = format!(
        "The safety valve of {} is set to {}, above the {} that {} may hold: it does not protect it",
        vessel.id,
        ctx.units.gauge(set),
        ctx.units.gauge(max),
        vessel.id
    );
    // The vessel stands unprotected as soon as a machine can reach its pressure.
    let reach = ctx.station.machines.iter().map(|m| m.max_pressure.si());
    f.urgency = if reach.fold(0.0, f64::max) > max {
        Urgency::Now
    } else {
        Urgency::ThisWeek
    };
    f.working = vec![Step {
        name: "set pressure above the vessel's".to_owned(),
        formula: "p_set − p_max(vessel), must not be positive".to_owned(),
        numbers: format!(
            "{} − {} bar(g)",
            round(set / BAR_PA, 2),
            round(max / BAR_PA, 2)
        ),
        value: (set - max) / BAR_PA,
        unit: "bar".to_owned(),
        source: "29 CFR 1917.155 and 30 CFR 57.13011: a vessel may rise no more than 10 % above its pressure; a valve set at or below it is common practice, no source".to_owned(),
    }];
    f.action = format!(
        "Compare the plates of {} and of its safety valve with the station file; if they say the same, do not use {} before a licensed person has fitted a valve set at or below its pressure",
        vessel.id, vessel.id
    );
    f
}

fn too_small(ctx: &Context<'_>, i: usize, capacity: f64, delivered: f64) -> Finding {
    let vessel = &ctx.station.vessels[i];
    let mut f = base(ctx, i, "valve-capacity");
    f.title = format!(
        "The safety valve of {} passes {}, less than the {} that the machines before it deliver: it cannot hold the pressure down",
        vessel.id,
        ctx.units.flow(capacity),
        ctx.units.flow(delivered)
    );
    f.urgency = Urgency::ThisWeek;
    f.working = vec![Step {
        name: "what the valve cannot pass".to_owned(),
        formula: "Σ V_rated of the machines before it − V_valve, must not be positive".to_owned(),
        numbers: format!(
            "{} − {} m³/min",
            round(delivered * 60.0, 2),
            round(capacity * 60.0, 2)
        ),
        value: (delivered - capacity) * 60.0,
        unit: "m3/min".to_owned(),
        source: "the station file; that a valve passes all that the machines deliver is common practice, no source".to_owned(),
    }];
    f.action = format!(
        "Read the valve's plate at the pressure it is set to; if it passes no more than the station file says, have a licensed person fit one that passes all, and run fewer machines on {} until then",
        vessel.id
    );
    f
}

fn base(ctx: &Context<'_>, i: usize, part: &str) -> Finding {
    let mut f = draft(ctx, Kind::Design, Asset::Vessel(i), part, None);
    f.cost = Cost::at_stake("safety: the valve is what is left when everything else fails");
    f.next_check = Some(format!(
        "Read the plates of {} and of its safety valve: set pressure, capacity, maximum pressure",
        ctx.station.vessels[i].id
    ));
    f.cautions = at_safety_valves();
    f
}
