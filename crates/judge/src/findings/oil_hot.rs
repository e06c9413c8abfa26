//! `oil-hot`: the oil is at its warning or trip temperature, whatever explains it.

use jiff::Timestamp;
use jiff::civil::Date;
use physics::quantity::ZERO_CELSIUS_K;
use physics::working::{Formula, Mark};
use station::model::Asset;
use station::point::{Point, PointId};

use super::draft;
use crate::context::{Context, Residual, resets};
use crate::day::{Day, Moment};
use crate::finding::{Cost, Evidence, Finding, Kind, Urgency};
use crate::memory::days_between;
use crate::safety::{LOCAL_CODES, in_the_room};
use crate::say::{Units, in_file_unit};

const FAHRENHEIT: Formula = Formula {
    name: "the number taken as °F",
    equation: "T = (t − 32)/1.8",
    unit: "degC",
    source: "definition of the degree Fahrenheit",
    mark: Mark::Published,
};
const MARGIN: Formula = Formula {
    name: "distance from the warning temperature",
    equation: "ΔT = T_warn − T_read",
    unit: "K",
    source: "`oil.warn` of the station file or its default",
    mark: Mark::Derived,
};

/// A hot reading on load stands so long, if none is newer.
const STANDS_DAYS: f64 = 7.0;

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in ctx.screws().collect::<Vec<_>>() {
        let asset = Asset::Machine(i);
        let machine = &ctx.station.machines[i];
        let (warn, trip) = (machine.oil.warn.si(), machine.oil.trip.si());
        let Some((read, time)) = hot_reading(ctx, asset, warn) else {
            continue;
        };
        let today = ctx.memory.latest().map(|r| date_of(ctx, r.time));
        let current = today == Some(date_of(ctx, time));
        let residual = ctx
            .residual(asset, Point::OilTemperature)
            .filter(|r| r.time == time);
        let explained = residual.is_some_and(|r| r.z <= 1.96);
        let mut f = draft(ctx, Kind::OilHot, asset, "oil-temperature", Some(time));
        f.title = format!(
            "{}: oil at {}{}, warning at {}, trip at {}{}",
            machine.id,
            ctx.units.temperature(read),
            if current {
                String::new()
            } else {
                format!(" on {}, when it was last read on load", date_of(ctx, time))
            },
            ctx.units.temperature(warn),
            ctx.units.temperature(trip),
            match residual {
                Some(r) if explained => format!(
                    "; weather and load explain it ({} expected at {} to the coolers)",
                    ctx.units.temperature(r.band.mid),
                    room(ctx, r)
                ),
                Some(r) => format!("; {} is expected", ctx.units.temperature(r.band.mid)),
                None => String::new(),
            }
        );
        f.urgency = if !current {
            Urgency::NextService
        } else if read >= 0.5 * (warn + trip) {
            Urgency::Now
        } else {
            Urgency::ThisWeek
        };
        f.evidence = vec![match residual {
            Some(r) => r.evidence(),
            None => Evidence {
                id: PointId {
                    asset,
                    point: Point::OilTemperature,
                },
                read,
                mid: None,
                deviations: None,
            },
        }];
        f.working = residual.map(|r| ctx.working_of(r)).unwrap_or_default();
        let unit = |t| in_file_unit(Point::OilTemperature, t).0;
        f.working.push(MARGIN.step(
            format!("{:.1} − {:.1}", unit(warn), unit(read)),
            warn - read,
        ));
        f.cost = Cost::at_stake("risk, not energy: a trip stops the air");
        f.action = action(ctx, i, explained);
        f.next_check = Some("Read room.temperature where the cooling air enters".to_owned());
        if current && read >= trip {
            past_its_trip(ctx, i, time, &mut f);
            if let Some(r) = residual {
                read_in_fahrenheit(ctx, r, &mut f);
            }
        }
        f.cautions = in_the_room();
        f.cautions.insert(
            0,
            "Never open the oil filler of a hot machine; hot oil under pressure burns".to_owned(),
        );
        debug_assert!(f.cautions.last().is_some_and(|c| c == LOCAL_CODES));
        found.push(f);
    }
    ctx.findings.extend(found);
}

/// What to do between warning and trip.
fn action(ctx: &Context<'_>, i: usize, explained: bool) -> String {
    let machine = &ctx.station.machines[i];
    let alone = ctx.station.machines.len() == 1;
    if explained {
        let load = if alone {
            "use less air meanwhile"
        } else {
            "share its load"
        };
        format!(
            "Bring cooler air to {}: open ventilation, lower the room's heat, {load}; then look at the design's hot day",
            machine.id
        )
    } else {
        let load = if alone {
            format!("Use less air, so that {} has less load", machine.id)
        } else {
            format!(
                "Take load off {} if another machine can carry it",
                machine.id
            )
        };
        format!(
            "{load}, and find why it cools badly before it trips; after a trip find the cause before the reset"
        )
    }
}

/// At its trip temperature it should stand. If it does not, nothing stops it but whoever reads this.
fn past_its_trip(ctx: &Context<'_>, i: usize, time: Timestamp, f: &mut Finding) {
    let machine = &ctx.station.machines[i];
    let round = ctx.memory.recent.iter().rev().find(|r| r.time == time);
    let moment = round
        .and_then(|r| Day::of(ctx.station, ctx.memory, r).ok())
        .map_or(Moment::Unknown, |day| day.moments[i]);
    let restart = "a licensed person finds out why, before it is started again";
    f.action = match moment {
        Moment::Stopped => format!(
            "Leave {} off: it stands above its trip; find the cause before the reset; {restart}",
            machine.id
        ),
        Moment::Unknown => format!(
            "If {} still runs, stop it now: its trip did not act; {restart}",
            machine.id
        ),
        Moment::Loaded | Moment::Unloaded => {
            f.title += "; it runs above its trip, which did not act";
            format!(
                "Stop {} now: its trip did not act; {restart}; read the temperature once more, but do not wait for it",
                machine.id
            )
        }
    };
    f.next_check = Some(format!(
        "With {} off, compare its oil temperature with another thermometer once it is cool; have the trip tried by a licensed person",
        machine.id
    ));
    f.urgency = Urgency::Now;
}

/// A number of °F that was written where °C is meant looks like a machine on fire. That is asked, beside what is safe.
fn read_in_fahrenheit(ctx: &Context<'_>, r: &Residual, f: &mut Finding) {
    let as_celsius = (r.read - ZERO_CELSIUS_K - 32.0) / 1.8 + ZERO_CELSIUS_K;
    // Who asks in °F reads in it.
    if ctx.units == Units::Us || (as_celsius - r.band.mid).abs() > 1.96 * r.band.sigma {
        return;
    }
    f.title += &format!(
        "; or was it read in °F? That would be {}, as expected",
        ctx.units.temperature(as_celsius)
    );
    f.working.push(FAHRENHEIT.step(
        format!("{:.1} taken as °F", r.read - ZERO_CELSIUS_K),
        as_celsius - ZERO_CELSIUS_K,
    ));
}

/// The newest reading, or the newest on load of the last week, if it is at the warning temperature.
fn hot_reading(ctx: &Context<'_>, asset: Asset, warn: f64) -> Option<(f64, Timestamp)> {
    let newest = ctx.number_at(asset, Point::OilTemperature)?;
    let today = ctx.memory.latest().map(|r| date_of(ctx, r.time));
    if newest.0 >= warn && today == Some(date_of(ctx, newest.1)) {
        return Some(newest);
    }
    on_load(ctx, asset).filter(|(read, _)| *read >= warn)
}

/// The newest reading on load of the last week that no work has outdated.
fn on_load(ctx: &Context<'_>, asset: Asset) -> Option<(f64, Timestamp)> {
    let Asset::Machine(i) = asset else {
        return None;
    };
    let id = PointId {
        asset,
        point: Point::OilTemperature,
    };
    let rounds = ctx.memory.recent.iter().rev();
    for round in rounds.take_while(|r| days_between(r.time, ctx.now) <= STANDS_DAYS) {
        let loaded = || {
            Day::of(ctx.station, ctx.memory, round)
                .is_ok_and(|day| day.moments[i] == Moment::Loaded)
        };
        if let Some(read) = round.number(asset, id.point).filter(|_| loaded()) {
            return Some((read, round.time));
        }
        if round.done.iter().any(|w| resets(&w.work, w.on, id)) {
            return None;
        }
    }
    None
}

fn date_of(ctx: &Context<'_>, time: Timestamp) -> Date {
    time.to_zoned_datetime(ctx.station.site.time_zone.clone())
        .date()
}

fn room(ctx: &Context<'_>, residual: &crate::context::Residual) -> String {
    let look = ctx.look_of(residual);
    let kelvin = look
        .state
        .as_ref()
        .map_or(look.day.conditions.ambient.si(), |state| state.room.si());
    ctx.units.temperature(kelvin)
}
