//! `oil-carryover`: more oil goes with the air than a separator in order lets through.

use physics::air::REFERENCE_DENSITY;
use physics::working::{Formula, Mark};
use station::model::Asset;
use station::point::{Point, PointId, Word};

use super::{draft, isolate};
use crate::context::Context;
use crate::finding::{Cost, Evidence, Finding, Kind, Urgency};
use crate::say::{grouped, round};

/// Oil in the air behind a separator in order: 2 to 5 mg/m³ (common practice, no source).
const IN_ORDER_MG_M3: f64 = 5.0;
/// Above this the separator, its scavenge line or the level is at fault (common practice, no source).
const AT_FAULT_MG_M3: f64 = 25.0;
/// Fewer hours than this make no rate (common practice, no source).
const LEAST_HOURS: f64 = 300.0;
/// Density of the oil, kg/L (from memory).
const OIL_KG_L: f64 = 0.87;

const RATE: Formula = Formula {
    name: "oil in the delivered air",
    equation: "c = L_added · ρ_oil/(h_loaded · V)",
    unit: "mg/m3(ANR)",
    source: "oil added over the air delivered since the oil or its separator was changed; 2 to 5 mg/m³ is usual",
    mark: Mark::CommonPractice,
};

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in ctx.screws().collect::<Vec<_>>() {
        found.extend(by_oil_added(ctx, i));
    }
    found.extend(by_condensate(ctx));
    ctx.findings.extend(found);
}

fn by_oil_added(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let usage = ctx.memory.oil_use[i];
    let machine = &ctx.station.machines[i];
    if usage.times < 2 || usage.hours_loaded < LEAST_HOURS {
        return None;
    }
    let rated = physics::air::dry_air_mass_flow(
        machine.rated.fad.value,
        machine.cooling.rated_ambient,
        0.0,
        physics::quantity::AbsolutePressure::from_bar(1.0),
    )
    .ok()?;
    let cubic_metres = rated.si() / REFERENCE_DENSITY * 3600.0 * usage.hours_loaded;
    // The last filling only shows what is not yet used: one filling less was used for certain.
    let used = usage.litres * f64::from(usage.times - 1) / f64::from(usage.times);
    let mg_m3 = used * OIL_KG_L * 1e6 / cubic_metres;
    if mg_m3 < AT_FAULT_MG_M3 {
        return None;
    }
    let asset = Asset::Machine(i);
    let mut f = base(ctx, i);
    f.title = format!(
        "{} takes {} of oil in {} loaded hours: {} mg in each m³ of air, where {} is usual",
        machine.id,
        ctx.units.litres(usage.litres),
        grouped(usage.hours_loaded),
        round(mg_m3, 0),
        round(IN_ORDER_MG_M3, 0)
    );
    let id = PointId {
        asset,
        point: Point::OilAdded,
    };
    f.evidence = ctx
        .number(asset, Point::OilAdded)
        .map(|read| Evidence {
            id,
            read,
            mid: None,
            deviations: None,
        })
        .into_iter()
        .collect();
    f.working.push(RATE.step(
        format!(
            "{} L used of {} L added, {} h loaded, {} m³",
            round(used, 1),
            round(usage.litres, 1),
            grouped(usage.hours_loaded),
            grouped(cubic_metres)
        ),
        mg_m3,
    ));
    Some(f)
}

/// Oily condensate behind the machines tells the same by eye.
fn by_condensate(ctx: &Context<'_>) -> Option<Finding> {
    let (drain, seen) = (0..ctx.station.drains.len()).find_map(|d| {
        let seen = ctx.word(Asset::Drain(d), Point::CondensateLook)?;
        (seen.word == Word::Oily).then_some((d, seen))
    })?;
    let only = ctx.screws().collect::<Vec<_>>();
    let machine = match ctx.station.drains[drain].on {
        Asset::Machine(i) => Some(i),
        _ if only.len() == 1 => only.first().copied(),
        _ => None,
    };
    let mut f = match machine {
        Some(i) => base(ctx, i),
        None => draft(
            ctx,
            Kind::OilCarryover,
            Asset::Drain(drain),
            "oil",
            Some(seen.since),
        ),
    };
    f.since = Some(seen.since);
    let id = &ctx.station.drains[drain].id;
    f.urgency = Urgency::Watch;
    f.title = format!(
        "The condensate of {id} looks oily; that of an oil-injected screw always carries some oil, so look whether it has grown"
    );
    f.next_check = Some(
        "Let a clear bottle of it stand for an hour and compare it with an earlier one and with other drains: oil that floats free says that more comes over than should"
            .to_owned(),
    );
    f.action = format!(
        "Keep a bottle of the condensate of {id}, and write down oil_added for each machine; look at separator and scavenge line only if both grow"
    );
    f.isolate = false;
    f.cautions = crate::safety::at_drains();
    f.working.push(physics::working::Step {
        name: "look of the condensate".to_owned(),
        formula: "clear or milky is usual; oily asks for a comparison".to_owned(),
        numbers: seen.word.text().to_owned(),
        value: 1.0,
        unit: "1 seen".to_owned(),
        source: "observation; common practice, no source".to_owned(),
    });
    if machine.is_none() {
        f.cost = Cost::at_stake("risk, not energy: oil in the plant's air, filters loaded early");
    }
    Some(f)
}

fn base(ctx: &Context<'_>, i: usize) -> Finding {
    let machine = &ctx.station.machines[i];
    let mut f = draft(ctx, Kind::OilCarryover, Asset::Machine(i), "oil", None);
    f.since = ctx.memory.oil_use[i]
        .times
        .gt(&0)
        .then_some(ctx.memory.oil_age[i].since)
        .flatten();
    f.urgency = Urgency::NextService;
    f.cost = Cost::at_stake(
        "oil itself, filters that load early, oil in the plant's air; the energy hardly changes",
    );
    f.next_check = Some(format!(
        "Look whether oil runs in the scavenge line's sight glass of {}, and read the level while it runs",
        machine.id
    ));
    f.action = format!(
        "Clean the scavenge line and its orifice on {}, bring the level into its band, then change the separator",
        machine.id
    );
    isolate(&mut f, ctx, i);
    f
}
