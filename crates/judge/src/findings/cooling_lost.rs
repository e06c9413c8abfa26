//! `cooling-lost`: oil or outlet hotter than weather and load explain.
//!
//! The thermostat hides a fouled oil cooler in cool weather; the aftercooler hides nothing while
//! the fan is constant. What the readings can't part is said.

mod other_outlet;

use jiff::civil::Date;
use physics::quantity::Temperature;
use physics::solve::bracketed_root;
use physics::validity::Refusal;
use physics::working::{Formula, Mark, Step};
use station::forward::{Conditions, Health, MachineHealth, expect};
use station::model::{Asset, Fan, Machine};
use station::point::Point;

use super::{draft, isolate};
use crate::context::{Context, Look, Residual};
use crate::day::DutyFrom;
use crate::finding::{Cost, Finding, Kind, Limit, PartHealth, Urgency};
use crate::safety::energy_steps;
use crate::say::{in_file_unit, percent, round};

const HEALTH: Formula = Formula {
    name: "cooling as found, share of clean",
    equation: "k so that the model gives the reading",
    unit: "1",
    source: "the forward model inverted",
    mark: Mark::Derived,
};
const DRYER_LOAD: Formula = Formula {
    name: "dryer load over capacity with the aftercooler as found",
    equation: "Q_needed/Q_capacity, forward model",
    unit: "1",
    source: "enthalpy to be removed against the dryer's rated point",
    mark: Mark::Derived,
};
const DESIGN_HOT: Formula = Formula {
    name: "oil temperature on the design-hot day with today's health",
    equation: "forward model at design-hot with k as found",
    unit: "degC",
    source: "`site.climate` of the station file and the forward model",
    mark: Mark::Derived,
};
const HELD_AT: Formula = Formula {
    name: "oil as the valve holds it",
    equation: "T_held",
    unit: "degC",
    source: "the station file's value, or its default",
    mark: Mark::Derived,
};
const ASKED: Formula = Formula {
    name: "share of the oil cooler that is asked about",
    equation: "1 − U/U_clean",
    unit: "1",
    source: "a loss worth knowing of",
    mark: Mark::CommonPractice,
};
const SHOWS_FROM: Formula = Formula {
    name: "weather from which that loss shows",
    equation: "T_oil(U) − T_oil(U_clean) = 1.96 σ, solved for the temperature outdoors",
    unit: "degC",
    source: "the forward model at this round's load, the room by its ventilation",
    mark: Mark::Derived,
};
/// A machine whose cooling is less than this share is hardly running: the thermostat is likelier
/// (common practice, no source).
const LEAST_HEALTH: f64 = 0.12;
/// The share of cooling that must be left or less before it is worth saying when the thermostat
/// would show it (common practice, no source).
const HIDDEN_LOSS: f64 = 0.7;

/// Which part of the cooling the readings speak of.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Part {
    /// Cooling air: both coolers.
    Both,
    /// The oil cooler alone.
    OilSide,
    /// Cooling air, seen by the outlet alone.
    Outlet,
    /// The aftercooler alone: the oil contradicts a loss of cooling air.
    Aftercooler,
}

pub(super) fn with(part: Part, k: f64) -> MachineHealth {
    match part {
        Part::Both => MachineHealth {
            fan: k,
            ..MachineHealth::NEW
        },
        Part::OilSide => MachineHealth {
            oil_cooler: k,
            ..MachineHealth::NEW
        },
        Part::Outlet => MachineHealth {
            fan: k,
            ..MachineHealth::NEW
        },
        Part::Aftercooler => MachineHealth {
            aftercooler: k,
            ..MachineHealth::NEW
        },
    }
}

/// The temperature of the point that the part is judged by.
fn shown(ctx: &Context<'_>, i: usize, part: Part, k: f64, at: &Conditions) -> Option<f64> {
    let state = ctx.machine(i, &with(part, k), at)?;
    match part {
        Part::Outlet | Part::Aftercooler => Some(state.outlet.si()),
        Part::Both | Part::OilSide => state.oil_temperature.map(Temperature::si),
    }
}

/// The health that gives the reading, if any does.
pub(super) fn health(
    ctx: &Context<'_>,
    i: usize,
    part: Part,
    read: f64,
    at: &Conditions,
) -> Option<f64> {
    // With next to no cooling the model refuses the temperature: the search begins above that.
    let least = [LEAST_HEALTH, 0.2, 0.3, 0.4, 0.5, 0.65]
        .into_iter()
        .find(|&k| shown(ctx, i, part, k, at).is_some())?;
    bracketed_root("cooling health", least, 1.3, 1.0e-4, |k| {
        shown(ctx, i, part, k, at)
            .map(|t| t - read)
            .ok_or(Refusal::NoSolution {
                what: "cooling health",
            })
    })
    .ok()
}

/// Whether the thermostat, not the cooler, sets the healthy oil temperature in a look.
pub(super) fn held_by_thermostat(ctx: &Context<'_>, look: &Look, i: usize) -> bool {
    look.state
        .as_ref()
        .and_then(|state| state.machines[i].as_ref())
        .and_then(|m| m.free_oil_temperature)
        .is_some_and(|free| free.si() < ctx.station.machines[i].oil.held_at.value.si() + 1.0)
}

/// Whether load that nobody read explains a first reading: without counters the machine may have
/// been on load all the time.
pub(super) fn explained_by_load(ctx: &Context<'_>, i: usize, oil: &Residual) -> bool {
    let day = &ctx.look_of(oil).day;
    if day.duty_from[i] != DutyFrom::Assumed || !oil.before.is_empty() {
        return false;
    }
    let mut busy = day.conditions.clone();
    busy.machines[i].duty = 1.0;
    busy.machines[i].recent_load = 1.0;
    ctx.machine(i, &MachineHealth::NEW, &busy)
        .and_then(|m| m.oil_temperature)
        .is_some_and(|t| oil.read < t.si() + 1.96 * oil.band.sigma)
}

/// Whether the oil contradicts a loss of cooling air that would explain the outlet: it was read, it
/// runs free of the thermostat, it is inside its band, and with so little air it would be hotter.
fn oil_contradicts(ctx: &Context<'_>, i: usize, k: f64) -> bool {
    let Some(oil) = ctx.residual(Asset::Machine(i), Point::OilTemperature) else {
        return false;
    };
    let look = ctx.look_of(oil);
    if oil.z.abs() > 1.96 || held_by_thermostat(ctx, look, i) {
        return false;
    }
    shown(ctx, i, Part::Both, k, &look.day.conditions)
        .is_some_and(|t| t > oil.read + 1.96 * oil.band.sigma)
}

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in ctx.screws().collect::<Vec<_>>() {
        let asset = Asset::Machine(i);
        let oil = ctx.residual(asset, Point::OilTemperature);
        let outlet = ctx.residual(asset, Point::OutletTemperature);
        let outlet_high = outlet.filter(|r| r.high());
        if let Some(oil) = oil.filter(|r| r.high() && !explained_by_load(ctx, i, r)) {
            let part = if outlet.is_some() && outlet_high.is_none() {
                Part::OilSide
            } else {
                Part::Both
            };
            let held = held_by_thermostat(ctx, ctx.look_of(oil), i);
            let at = &ctx.look_of(oil).day.conditions;
            match health(ctx, i, part, oil.read, at) {
                Some(k) if !(held && k < 0.5 && part == Part::OilSide) => {
                    found.push(finding(ctx, i, part, k, oil, outlet_high));
                }
                // The thermostat's own file takes it up.
                _ => {}
            }
        } else if let Some(outlet) = outlet_high {
            let at = &ctx.look_of(outlet).day.conditions;
            let air = health(ctx, i, Part::Outlet, outlet.read, at);
            let part = match air {
                Some(k) if oil_contradicts(ctx, i, k) => Part::Aftercooler,
                Some(_) => Part::Outlet,
                // No loss of air is enough: the aftercooler itself.
                None => Part::Aftercooler,
            };
            if let Some(k) = health(ctx, i, part, outlet.read, at) {
                found.push(finding(ctx, i, part, k, outlet, None));
            }
        }
    }
    ctx.findings.extend(found);
    other_outlet::look(ctx);
    say_what_the_thermostat_hides(ctx);
}

fn finding(
    ctx: &Context<'_>,
    i: usize,
    part: Part,
    k: f64,
    shows: &Residual,
    also: Option<&Residual>,
) -> Finding {
    let machine = &ctx.station.machines[i];
    let look = ctx.look_of(shows);
    let mut f = draft(
        ctx,
        Kind::CoolingLost,
        Asset::Machine(i),
        "cooling",
        Some(shows.since),
    );
    let what = if shows.id.point == Point::OilTemperature {
        "oil"
    } else {
        "outlet"
    };
    f.title = format!(
        "{} cools worse than it should: {what} at {} at {} outdoors",
        machine.id,
        ctx.beside(shows),
        ctx.units.temperature(look.day.conditions.ambient.si()),
    );
    f.evidence = std::iter::once(shows)
        .chain(also)
        .map(Residual::evidence)
        .collect();
    f.working = ctx.working_of(shows);
    f.working.push(HEALTH.step(
        format!(
            "{} read",
            round(in_file_unit(shows.id.point, shows.read).0, 1)
        ),
        k,
    ));
    f.health = Some(interval(ctx, i, part, k, shows));
    if part == Part::Aftercooler {
        dryer_suffers(ctx, i, k, shows, &mut f);
    } else {
        limit(ctx, i, part, k, shows, &mut f);
    }
    // One that follows the oil holds it warm in cool weather, and speeds up on the hot day.
    if machine.cooling.fan == Fan::Unknown {
        f.title += "; how its fan runs is not told, and one that follows the oil would do the same";
        f.urgency = Urgency::Watch;
    }
    f.cost = at_stake(ctx);
    f.next_check = Some(next_check(ctx, i, part, also.is_some()));
    f.action = match part {
        Part::OilSide => format!(
            "Look at the cooler of {}: clean its faces; if the air side is clean, have the oil side and the thermostatic valve looked at",
            machine.id
        ),
        Part::Aftercooler => format!(
            "Clean the aftercooler's faces of {}, and look for what bypasses or chokes the air before it",
            machine.id
        ),
        Part::Both | Part::Outlet if machine.cooling.mat => format!(
            "Clean or change the filter mat of {}, look at cooler faces, fan and cabinet for what chokes the cooling air",
            machine.id
        ),
        Part::Both | Part::Outlet => format!(
            "Clean the cooler faces of {}, look at fan and cabinet for what chokes the cooling air",
            machine.id
        ),
    };
    isolate(&mut f, ctx, i);
    f.working.extend(energy_steps(ctx.station, i));
    f
}

/// The health with its 95 % interval, by the slope of the model at the health found.
fn interval(ctx: &Context<'_>, i: usize, part: Part, k: f64, shows: &Residual) -> PartHealth {
    let at = &ctx.look_of(shows).day.conditions;
    let step = 0.01;
    let slope = shown(ctx, i, part, k + step, at)
        .zip(shown(ctx, i, part, k - step, at))
        .map_or(f64::NAN, |(up, down)| (up - down) / (2.0 * step));
    let half = (1.96 * shows.band.sigma / slope.abs()).min(k);
    let half = if half.is_finite() { half } else { k };
    PartHealth {
        what: match part {
            Part::OilSide => "oil cooler conductance".to_owned(),
            Part::Both | Part::Outlet => "cooling-air flow".to_owned(),
            Part::Aftercooler => "aftercooler transfer units".to_owned(),
        },
        unit: "1",
        value: k,
        low: (k - half).max(0.0),
        high: k + half,
        per_month: None,
    }
}

/// What today's health would give when it gets hot, and how urgent that makes it.
fn limit(ctx: &Context<'_>, i: usize, part: Part, k: f64, shows: &Residual, f: &mut Finding) {
    let machine = &ctx.station.machines[i];
    let warn = machine.oil.warn;
    let look = ctx.look_of(shows);
    let oil_at = |t: Temperature, month: usize| {
        let at = ctx.hot_day(look, t, month);
        ctx.machine(i, &with(part, k), &at)
            .and_then(|m| m.oil_temperature)
    };
    let Some(climate) = &ctx.station.site.climate else {
        f.urgency = Urgency::Watch;
        return;
    };
    let (hottest, month) = climate.hottest();
    if let Some(oil) = oil_at(hottest, month) {
        f.working.push(DESIGN_HOT.step(
            format!(
                "{} outdoors, k = {}",
                ctx.units.temperature(hottest.si()),
                round(k, 2)
            ),
            oil.celsius(),
        ));
        f.title += &format!(
            "; on the design-hot day it would be {}, warning at {}",
            ctx.units.temperature(oil.si()),
            ctx.units.temperature(warn.si())
        );
        f.urgency = if oil >= warn {
            in_the_hot_season(ctx, month)
        } else {
            Urgency::Watch
        };
    }
    let today = ctx
        .now
        .to_zoned_datetime(ctx.station.site.time_zone.clone())
        .date();
    let reached = (0..24).find_map(|ahead| {
        let first = today
            .first_of_month()
            .checked_add(jiff::Span::new().months(ahead))
            .ok()?;
        let month = usize::from(first.month().unsigned_abs()) - 1;
        let oil = oil_at(climate.mean_max[month], month)?;
        (oil >= warn).then_some(if ahead == 0 { today } else { first })
    });
    if let Some(date) = reached {
        // A date far off does not take back what the design-hot day says.
        f.urgency = f.urgency.min(Urgency::in_days(days_to(today, date)));
    }
    f.limit = Some(Limit {
        what: "oil warning temperature with today's health".to_owned(),
        earliest: None,
        likely: reached,
        latest: None,
    });
}

/// A lost aftercooler leaves the oil as it is; what it does is to bring hotter air to the dryer.
fn dryer_suffers(ctx: &Context<'_>, i: usize, k: f64, shows: &Residual, f: &mut Finding) {
    let look = ctx.look_of(shows);
    let at = match &ctx.station.site.climate {
        Some(climate) => {
            let (hottest, month) = climate.hottest();
            ctx.hot_day(look, hottest, month)
        }
        None => look.day.conditions.clone(),
    };
    let worst = |k: f64| {
        let mut whole = Health::new(ctx.station);
        whole.machines[i] = with(Part::Aftercooler, k);
        let state = expect(ctx.station, &whole, &at).ok()?;
        let loads = state.places.into_iter();
        loads
            .filter_map(|p| Some((p.asset, p.dryer_load?)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
    };
    let oil = ctx.residual(Asset::Machine(i), Point::OilTemperature);
    f.title += if oil.is_some_and(|r| r.z.abs() <= 1.96) {
        "; the oil is as it should be, so it is the aftercooler alone, and the oil's limits are not touched"
    } else {
        "; no loss of cooling air explains so much, so it is the aftercooler, and the oil's limits are not touched"
    };
    f.urgency = Urgency::Watch;
    if let (Some((dryer, load)), Some((_, clean))) = (worst(k), worst(1.0)) {
        f.working.push(DRYER_LOAD.step(
            format!("{} outdoors", ctx.units.temperature(at.ambient.si())),
            load,
        ));
        if load > 1.0 && load > 1.05 * clean {
            f.urgency = Urgency::NextService;
            f.title += &format!(
                "; at {} outdoors {} would get {} of what it can dry, {} with a clean one",
                ctx.units.temperature(at.ambient.si()),
                ctx.station.id(dryer),
                percent(load),
                percent(clean)
            );
        }
    }
}

fn days_to(from: Date, to: Date) -> f64 {
    from.until(to)
        .map_or(f64::INFINITY, |span| f64::from(span.get_days()))
}

/// A design-hot day can come in the hottest month or those beside it.
pub(crate) fn in_the_hot_season(ctx: &Context<'_>, month: usize) -> Urgency {
    let now = ctx
        .now
        .to_zoned_datetime(ctx.station.site.time_zone.clone());
    let this = usize::from(now.month().unsigned_abs()) - 1;
    let ahead = (month + 12 - this) % 12;
    // Within 180 days the season begins, which is a month before its hottest.
    if ahead <= 7 || ahead == 11 {
        Urgency::NextService
    } else {
        Urgency::Watch
    }
}

fn at_stake(ctx: &Context<'_>) -> Cost {
    let outage = ctx.station.site.price.as_ref().and_then(|p| {
        p.outage_per_h.map(|sum| {
            format!(
                "; an hour without air costs {} {}",
                round(sum, 0),
                p.currency
            )
        })
    });
    Cost::at_stake(format!(
        "risk, not energy: oil life, dryer load and the chance of a trip on a hot day{}",
        outage.unwrap_or_default()
    ))
}

/// Whether the newest round read what the cooling air is.
fn room_is_read(ctx: &Context<'_>) -> bool {
    let read = ctx.number_at(Asset::Room, Point::RoomTemperature);
    read.is_some_and(|(_, time)| ctx.is_newest(time))
}

fn next_check(ctx: &Context<'_>, i: usize, part: Part, outlet_too: bool) -> String {
    let machine = &ctx.station.machines[i];
    let id = &machine.id;
    match part {
        Part::Both if !outlet_too => format!(
            "Read {id}.outlet_temperature on load: if it is high too, the cooling air is short; if not, look at the oil side"
        ),
        Part::Both | Part::Outlet if room_is_read(ctx) => {
            let seen = ctx.word(Asset::Machine(i), Point::Mat).is_some();
            match (machine.cooling.mat, seen) {
                (true, false) => format!("Look at the mat of {id} and the cooler faces"),
                _ => format!("Look at the cooler faces and the fan of {id} while it is isolated for the work"),
            }
        }
        Part::Both | Part::Outlet => format!(
            "Read room.temperature at the cooler's intake, then look at {}",
            if machine.cooling.mat { "the mat and the cooler faces" } else { "the cooler faces" }
        ),
        Part::Aftercooler => format!(
            "Look at the aftercooler's faces through the cabinet's opening once {id} is isolated, and read room.temperature where its air enters"
        ),
        Part::OilSide => {
            "Feel or measure the oil pipe before and behind the thermostatic valve once warm: a valve that passes looks like a fouled oil side from the panel".to_owned()
        }
    }
}

/// Below which weather a fouled oil cooler can't be seen, where that holds today.
fn say_what_the_thermostat_hides(ctx: &mut Context<'_>) {
    for i in ctx.screws().collect::<Vec<_>>() {
        let Some(residual) = ctx.residual(Asset::Machine(i), Point::OilTemperature) else {
            continue;
        };
        let look = ctx.look_of(residual);
        if residual.high() || !held_by_thermostat(ctx, look, i) {
            continue;
        }
        let mut at = look.day.conditions.clone();
        at.room = None;
        let shows = 1.96 * residual.band.sigma;
        let from = bracketed_root("weather that shows it", 233.15, 323.15, 0.2, |t| {
            at.ambient = Temperature::new(t);
            let lost = shown(ctx, i, Part::OilSide, HIDDEN_LOSS, &at);
            let clean = shown(ctx, i, Part::OilSide, 1.0, &at);
            lost.zip(clean)
                .map(|(lost, clean)| lost - clean - shows)
                .ok_or(Refusal::NoSolution {
                    what: "weather that shows it",
                })
        });
        let machine = &ctx.station.machines[i];
        let outlet_tells = match machine.cooling.fan {
            Fan::Constant => "; a loss on the air side would show at the outlet temperature",
            _ => "",
        };
        let when = from.map_or(String::from("never at this load"), |t| {
            format!("only from about {} outdoors", ctx.units.temperature(t))
        });
        let working = hidden_steps(machine, shows, from.as_ref().ok().copied());
        let what = format!("the oil side of the cooling of {}", machine.id);
        let why = format!(
            "in this weather the thermostatic valve holds {}: an oil cooler that has lost {} shows {when}{outlet_tells}",
            ctx.units.temperature(machine.oil.held_at.value.si()),
            percent(1.0 - HIDDEN_LOSS),
        );
        ctx.skip_by(&what, &why, working);
    }
}

fn hidden_steps(machine: &Machine, shows: f64, from: Option<f64>) -> Vec<Step> {
    let held = machine.oil.held_at.value;
    let mut steps = vec![
        HELD_AT.step(format!("held_at of {}", machine.id), held.celsius()),
        ASKED.step(format!("1 − {HIDDEN_LOSS}"), 1.0 - HIDDEN_LOSS),
    ];
    steps.extend(from.map(|t| {
        let numbers = format!("U = {HIDDEN_LOSS} U_clean, 1.96 σ = {} K", round(shows, 2));
        SHOWS_FROM.step(numbers, Temperature::new(t).celsius())
    }));
    steps
}
