//! `design`: what the station file itself shows: water without a drain, a healthy machine past its
//! limit on the design-hot day, valves and inspections.

mod valves;

use jiff::civil::Date;
use physics::working::{Formula, Mark, Step};
use station::forward::{
    Conditions, Health, MachineHealth, Running, State, expect, room_temperature,
};
use station::model::{Asset, Machine, Station};

use super::cooling_lost::in_the_hot_season;
use super::draft;
use crate::context::Context;
use crate::finding::{Cost, Finding, Kind, Limit, Urgency};
use crate::safety::{LOCAL_CODES, at_drains, at_safety_valves};
use crate::say::{percent, round};
use crate::working::machine_steps;

/// Water that a place without a drain may gather before it is worth telling, L a day.
const LEAST_L_DAY: f64 = 0.5;
/// Inspections and valve tests are told this long ahead.
const TELL_DAYS: f64 = 90.0;

const NO_DRAIN: Formula = Formula {
    name: "water that falls out where no drain is fitted",
    equation: "m_dry · (W_in − W_s(T, p)) in that weather, on load times duty",
    unit: "L/day",
    source: "mass balance of water along the air path",
    mark: Mark::Derived,
};
const ROOM: Formula = Formula {
    name: "air to the coolers on the design-hot day",
    equation: "T_out + heat of all machines and dryers/(ρ c_p V), or the assumed rise",
    unit: "degC",
    source: "the forward model's room",
    mark: Mark::Derived,
};
const HOT_MARGIN: Formula = Formula {
    name: "distance from the warning temperature on the design-hot day",
    equation: "ΔT = T_warn − T_oil(design-hot, clean)",
    unit: "K",
    source: "the forward model with health as new",
    mark: Mark::Derived,
};

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = no_drain(ctx);
    for i in ctx.screws().collect::<Vec<_>>() {
        found.extend(too_hot(ctx, i));
    }
    found.extend(vessels(ctx));
    found.extend(valves::faults(ctx));
    ctx.findings.extend(found);
}

/// The humid design day: as told, else the month with the most vapour; without a climate, the
/// weather of the last round.
fn humid_day(ctx: &Context<'_>, machines: &[Running]) -> Option<(Conditions, &'static str)> {
    let station = ctx.station;
    let Some(climate) = station.site.climate.as_ref() else {
        let day = &ctx.looks.first()?.day;
        let conditions = Conditions {
            room: None,
            demand: None,
            machines: machines.to_vec(),
            ..day.conditions.clone()
        };
        let name = if day.weather_read {
            "in the weather of the last round, more on a humid day"
        } else {
            "in assumed weather"
        };
        return Some((conditions, name));
    };
    let (ambient, humidity) = climate.design_humid.unwrap_or_else(|| {
        let wettest = (0..12)
            .max_by(|&a, &b| {
                let vapour = |m: usize| {
                    climate.humidity[m]
                        * physics::air::saturation_pressure(climate.mean[m]).unwrap_or(0.0)
                };
                vapour(a).total_cmp(&vapour(b))
            })
            .unwrap_or(6);
        (climate.mean[wettest], climate.humidity[wettest])
    });
    let conditions = Conditions {
        ambient,
        humidity,
        atmosphere: station.standard_atmosphere(),
        room: None,
        machines: machines.to_vec(),
        demand: None,
    };
    Some((conditions, "on the humid design day"))
}

fn no_drain(ctx: &Context<'_>) -> Vec<Finding> {
    let machines: Vec<Running> = ctx
        .year
        .uses
        .iter()
        .enumerate()
        .map(|(i, usage)| Running::at_duty(ctx.station, i, usage.duty.max(0.05)))
        .collect();
    let Some((day, when)) = humid_day(ctx, &machines) else {
        return Vec::new();
    };
    let Ok(state) = expect(ctx.station, &Health::new(ctx.station), &day) else {
        return Vec::new();
    };
    state
        .places
        .iter()
        .filter_map(|place| {
            let litres = place.falls_kg_s * 86_400.0 * place.duty;
            let fitted = ctx.station.is_drained(place.asset);
            // The header's own liquid is `water-downstream`; a machine's may go on to a vessel's drain.
            let told = matches!(
                place.asset,
                Asset::Vessel(_) | Asset::Dryer(_) | Asset::Machine(_)
            );
            (!fitted && told && litres > LEAST_L_DAY)
                .then(|| without_drain(ctx, &state, (&day, when), place.asset, litres))
        })
        .collect()
}

fn without_drain(
    ctx: &Context<'_>,
    state: &State,
    (day, when): (&Conditions, &str),
    asset: Asset,
    litres: f64,
) -> Finding {
    let name = ctx.station.id(asset);
    let mut f = draft(ctx, Kind::Design, asset, "no-drain", None);
    let behind = taken_behind(ctx.station, state, asset);
    f.title = format!(
        "{name} has no drain, and up to {} a day fall out there {when} ({} and {} humidity){}",
        ctx.units.litres(litres),
        ctx.units.temperature(day.ambient.si()),
        percent(day.humidity),
        behind.map_or(String::new(), |id| format!("; they go on to {id}"))
    );
    f.urgency = if behind.is_some() {
        Urgency::Watch
    } else {
        Urgency::NextService
    };
    f.cost = Cost::at_stake("risk, not energy: the water goes on with the air, or fills the place");
    f.working.push(NO_DRAIN.step(
        format!(
            "{} and {} humidity",
            ctx.units.temperature(day.ambient.si()),
            percent(day.humidity)
        ),
        litres,
    ));
    f.action = format!("Have a drain fitted at the lowest point of {name}");
    f.next_check = Some(format!(
        "Look whether {name} has a drain that the station file does not tell"
    ));
    f.cautions = at_drains();
    f
}

/// The next place behind that takes the water to a drain.
fn taken_behind<'s>(station: &'s Station, state: &State, asset: Asset) -> Option<&'s str> {
    let path = station.air_path.assets();
    path.iter()
        .skip_while(|a| **a != asset)
        .skip(1)
        .find(|a| {
            let own = matches!(a, Asset::Dryer(i) if station.dryers[*i].own_drain);
            own || state.owed.iter().any(|o| o.on == **a)
        })
        .map(|a| station.id(*a))
}

/// A healthy machine that would pass its warning temperature on the design-hot day.
fn too_hot(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let climate = ctx.station.site.climate.as_ref()?;
    let machine = &ctx.station.machines[i];
    let (hottest, month) = climate.hottest();
    let look = ctx.looks.first()?;
    let mut day = ctx.hot_day(look, hottest, month);
    // The duty of the last weeks: that of the last day alone would make the finding come and go.
    let usage = ctx.year.uses.get(i)?;
    let assumed = usage.hours_a_day.is_none();
    let duty = if assumed { 1.0 } else { usage.duty };
    for (other, usage) in ctx.year.uses.iter().enumerate() {
        let duty = if other == i { duty } else { usage.duty };
        day.machines[other] = Running::at_duty(ctx.station, other, duty);
    }
    // The room's rise at that load, not what one morning happened to read.
    day.room = None;
    let room = room_temperature(ctx.station, &Health::new(ctx.station), &day).ok()?;
    let state = ctx.machine(i, &MachineHealth::NEW, &day)?;
    let oil = state.oil_temperature?;
    if oil < machine.oil.warn {
        return None;
    }
    let mut f = draft(ctx, Kind::Design, Asset::Machine(i), "design-hot", None);
    f.title = format!(
        "{} with clean coolers would reach {} on the design-hot day of {}, warning at {}: the room comes to {}",
        machine.id,
        ctx.units.temperature(oil.si()),
        ctx.units.temperature(hottest.si()),
        ctx.units.temperature(machine.oil.warn.si()),
        ctx.units.temperature(room.si()),
    );
    f.urgency = in_the_hot_season(ctx, month);
    f.working.push(ROOM.step(
        format!(
            "{} outdoors, every machine at its duty",
            ctx.units.temperature(hottest.si())
        ),
        room.celsius(),
    ));
    f.working
        .extend(machine_steps(ctx.station, i, &day, &state));
    f.working.push(HOT_MARGIN.step(
        format!(
            "{} − {} °C, duty {} ({})",
            round(machine.oil.warn.celsius(), 0),
            round(oil.celsius(), 1),
            round(day.machines[i].duty, 2),
            if assumed {
                "no counters were read, so on load all the time"
            } else {
                "of the last weeks"
            }
        ),
        (machine.oil.warn - oil).si(),
    ));
    f.cost =
        Cost::at_stake("risk, not energy: it trips on the hottest day, when nothing stands by");
    f.action = format!(
        "Give {} cooler air: more ventilation, cooling air ducted away, less heat in the room; or plan for less load on such a day",
        machine.id
    );
    f.next_check =
        Some("Read room.temperature and site.ambient together on a hot afternoon".to_owned());
    f.cautions = vec![LOCAL_CODES.to_owned()];
    Some(f)
}

fn vessels(ctx: &Context<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for (i, vessel) in ctx.station.vessels.iter().enumerate() {
        let asset = Asset::Vessel(i);
        match &vessel.safety_valve {
            Some(valve) => {
                found.extend(due(
                    ctx,
                    asset,
                    "valve-test",
                    "test of its safety valve",
                    valve.due,
                ));
            }
            None => found.extend(no_valve(ctx, i)),
        }
        let inspection = vessel.inspection.and_then(|x| x.due);
        found.extend(due(
            ctx,
            asset,
            "inspection",
            "inspection by local law",
            inspection,
        ));
    }
    found
}

fn due(
    ctx: &Context<'_>,
    asset: Asset,
    part: &str,
    what: &str,
    date: Option<Date>,
) -> Option<Finding> {
    let date = date?;
    let today = ctx
        .now
        .to_zoned_datetime(ctx.station.site.time_zone.clone())
        .date();
    let days = f64::from(today.until(date).ok()?.get_days());
    if days > TELL_DAYS {
        return None;
    }
    let name = ctx.station.id(asset);
    let mut f = draft(ctx, Kind::Design, asset, part, None);
    f.title = if days < 0.0 {
        format!(
            "{name}: the {what} was due on {date}, {} days ago",
            round(-days, 0)
        )
    } else {
        format!("{name}: the {what} is due on {date}")
    };
    f.urgency = Urgency::in_days(days);
    f.limit = Some(Limit {
        what: what.to_owned(),
        earliest: None,
        likely: Some(date),
        latest: None,
    });
    f.working = vec![Step {
        name: format!("days until the {what}"),
        formula: "date due − today".to_owned(),
        numbers: format!("{date} − {today}"),
        value: days,
        unit: "days".to_owned(),
        source: "the station file; intervals and who may inspect are set by local law".to_owned(),
    }];
    f.cost =
        Cost::at_stake("safety and law: a vessel out of inspection may not be used in many places");
    f.action = format!("Book the {what} of {name} with a licensed body");
    f.next_check = Some("Look at the plate and the papers for the date".to_owned());
    f.cautions = at_safety_valves();
    Some(f)
}

/// A vessel that stands what the machines can reach, but of which no safety valve is told.
fn untold_valve(mut f: Finding, ctx: &Context<'_>, i: usize, strongest: &Machine) -> Finding {
    let vessel = &ctx.station.vessels[i];
    f.title = format!(
        "{} may hold up to {}, no less than {} can reach, but the station file tells no safety valve: write it into the station file",
        vessel.id,
        ctx.units.gauge(vessel.max_pressure.si()),
        strongest.id,
    );
    f.urgency = Urgency::Watch;
    f.working = vec![Step {
        name: "pressure left to the vessel's".to_owned(),
        formula: "p_max(vessel) − p_max(machine)".to_owned(),
        numbers: format!(
            "{} − {} bar(g)",
            round(vessel.max_pressure.bar(), 1),
            round(strongest.max_pressure.bar(), 1)
        ),
        value: vessel.max_pressure.bar() - strongest.max_pressure.bar(),
        unit: "bar".to_owned(),
        source: "the station file; a vessel has its own safety valve by the law of most places (common practice, no source)".to_owned(),
    }];
    f.cost = Cost::at_stake("safety: a valve that nobody knows of is not tested");
    f.action = format!(
        "Write the safety valve of {}, its set pressure and the date of its next test into the station file; if it has none, ask a licensed person",
        vessel.id
    );
    f.next_check = Some(format!("Read the plates of {} and of its valve", vessel.id));
    f.cautions = at_safety_valves();
    f
}

/// A vessel of which no safety valve is told, while machines can pump above its pressure.
fn no_valve(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let vessel = &ctx.station.vessels[i];
    let strongest = ctx
        .station
        .machines
        .iter()
        .max_by(|a, b| a.max_pressure.si().total_cmp(&b.max_pressure.si()))?;
    let mut f = draft(ctx, Kind::Design, Asset::Vessel(i), "no-valve", None);
    if strongest.max_pressure.si() <= vessel.max_pressure.si() {
        return Some(untold_valve(f, ctx, i, strongest));
    }
    f.title = format!(
        "{} may hold up to {} and {} can reach {}; the station file tells no safety valve",
        vessel.id,
        ctx.units.gauge(vessel.max_pressure.si()),
        strongest.id,
        ctx.units.gauge(strongest.max_pressure.si())
    );
    f.urgency = Urgency::Now;
    f.working = vec![Step {
        name: "pressure above the vessel's".to_owned(),
        formula: "p_max(machine) − p_max(vessel), must not be positive without a safety valve"
            .to_owned(),
        numbers: format!(
            "{} − {} bar(g)",
            round(strongest.max_pressure.bar(), 1),
            round(vessel.max_pressure.bar(), 1)
        ),
        value: strongest.max_pressure.bar() - vessel.max_pressure.bar(),
        unit: "bar".to_owned(),
        source:
            "29 CFR 1917.155 and 30 CFR 57.13011: no more than 10 % above the vessel's pressure"
                .to_owned(),
    }];
    f.cost = Cost::at_stake("safety");
    f.action = format!(
        "Look at once whether {} has a safety valve set at or below its pressure; if it has none, take it out of use until a licensed person has fitted one",
        vessel.id
    );
    f.next_check = Some(
        "Read the plates of vessel and valve, and write the valve into the station file".to_owned(),
    );
    f.cautions = at_safety_valves();
    Some(f)
}
