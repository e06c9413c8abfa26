//! Readings that stand alone, or nearly so: power on load and unloaded, dew point, room.
//!
//! Must not know: the cooling.

use super::worn::SEPARATOR;
use super::*;

const POWER: Scale = Scale {
    level: 0.035,
    weather: 0.008,
    duty: 0.008,
    least_noise: 0.006,
    relative: true,
    learn: LEARN,
    after: AFTER,
    wears: None,
    blur: 0.0,
    own: None,
    seldom: false,
};
/// Where the fan follows the oil, its share of the power does (common practice, no source).
const WITH_A_FAN: Scale = Scale {
    weather: 0.02,
    duty: 0.02,
    least_noise: 0.012,
    ..POWER
};
const UNLOADED: Scale = Scale {
    level: 0.08,
    weather: 0.02,
    duty: 0.02,
    least_noise: 0.012,
    relative: true,
    learn: LEARN,
    after: AFTER,
    wears: None,
    blur: 0.0,
    own: None,
    seldom: false,
};
const DEW_POINT: Scale = Scale {
    level: 2.0,
    weather: 0.7,
    duty: 0.7,
    least_noise: 0.4,
    relative: false,
    learn: LEARN,
    after: AFTER,
    wears: None,
    blur: 0.5,
    own: Some((Part::Capacity, 0.5)),
    seldom: false,
};
const ROOM: Scale = Scale {
    level: 2.5,
    weather: 0.8,
    duty: 0.8,
    least_noise: 0.5,
    relative: false,
    learn: LEARN,
    after: AFTER,
    wears: None,
    blur: 0.0,
    own: Some((Part::Ventilation, 0.4)),
    seldom: false,
};

/// An outlet as the room's thermometer: its errors and the model's of the room (from memory).
const BY_OUTLET: Scale = Scale {
    least_noise: 0.6,
    ..OUTLET
};

/// Outlet temperatures beside what they would be in the room that the model expects.
fn by_the_rooms_air(outlet: &Stream) -> Stream {
    let mut stream = outlet.clone();
    for s in &mut stream.samples {
        let (over, rise) = s.room;
        s.mid -= s.warm_air * over;
        s.feels[0] = s.warm_air * rise;
    }
    stream
}

/// What one reading is told as.
struct Told {
    part: &'static str,
    kind: Kind,
    what: &'static str,
    /// A change that shows less is proven perhaps, but not worth telling.
    least: f64,
    /// Below this it is worth watching only.
    matters: f64,
}

/// Power on load, beside the separator's own gauge. Says since when the separator loads faster than
/// it did, where both bear that out.
pub(super) fn power(
    ctx: &mut Context<'_>,
    streams: &Streams,
    i: usize,
    drifts: &mut Vec<Drift>,
) -> Option<f64> {
    let asset = Asset::Machine(i);
    let of = |point| streams.of(asset, point, Moment::Loaded);
    let stream = of(Point::MachinePower)?;
    let clean = ctx.station.machines[i].separator.clean.value.si();
    let full = of(Point::SeparatorDrop).map(|s| worn::at_full_flow(ctx, s, clean));
    let separator = full.as_deref().map(|s| (s, SEPARATOR));
    let told = Told {
        part: "power",
        kind: Kind::PowerHigh,
        what: "power on load",
        least: 0.012,
        matters: 0.025,
    };
    let power = match ctx.station.machines[i].cooling.fan {
        Fan::Constant => POWER,
        _ => WITH_A_FAN,
    };
    let list = [Some((stream, power)), separator].into_iter().flatten();
    let outcome = search(ctx, asset, Group::Power, list.collect());
    let loads = |c: &Change| separator.is_some() && c.cause.moves == Moves::Model(Part::Separator);
    let since = outcome
        .changes
        .iter()
        .find(|c| loads(c) && !nothing(c))
        .map(|c| c.course.begins());
    tell_all(
        ctx,
        streams,
        &outcome,
        (stream, power),
        &told,
        loads,
        drifts,
    );
    since
}

pub(super) fn unloaded(
    ctx: &mut Context<'_>,
    streams: &Streams,
    i: usize,
    drifts: &mut Vec<Drift>,
) {
    let asset = Asset::Machine(i);
    let Some(stream) = streams.of(asset, Point::MachinePower, Moment::Unloaded) else {
        return;
    };
    let told = Told {
        part: "unloaded-power",
        kind: Kind::UnloadedPowerHigh,
        what: "power unloaded",
        least: 0.025,
        matters: 0.06,
    };
    alone(
        ctx,
        streams,
        Group::UnloadedPower,
        (stream, UNLOADED),
        &told,
        drifts,
    );
}

pub(super) fn dew_point(
    ctx: &mut Context<'_>,
    streams: &Streams,
    i: usize,
    drifts: &mut Vec<Drift>,
) {
    let asset = Asset::Dryer(i);
    let Some(stream) = streams.of(asset, Point::DryerDewPoint, Moment::Unknown) else {
        return;
    };
    let told = Told {
        part: "dew-point",
        kind: Kind::DewPointHigh,
        what: "pressure dew point over expected",
        least: 0.35,
        matters: 2.0,
    };
    alone(
        ctx,
        streams,
        Group::DewPoint,
        (stream, DEW_POINT),
        &told,
        drifts,
    );
}

pub(super) fn room(ctx: &mut Context<'_>, streams: &Streams, drifts: &mut Vec<Drift>) {
    let Some(stream) = streams.of(Asset::Room, Point::RoomTemperature, Moment::Unknown) else {
        return;
    };
    let told = Told {
        part: "rise",
        kind: Kind::RoomHot,
        what: "room rise over expected",
        least: 0.5,
        matters: 3.0,
    };
    // What leaves the machines is as warm as the room, whatever its thermometer says.
    let outlets: Vec<Stream> = (0..ctx.station.machines.len())
        .filter_map(|i| {
            let asset = Asset::Machine(i);
            streams.of(asset, Point::OutletTemperature, Moment::Loaded)
        })
        .map(by_the_rooms_air)
        .collect();
    let mut list = vec![(stream, ROOM)];
    list.extend(outlets.iter().map(|s| (s, BY_OUTLET)));
    let mut sought = Vec::new();
    for cause in ctx.tables.causes(Group::Room) {
        if cause.moves == Moves::Unplaced {
            sought.extend((1..list.len()).map(|n| cause.placed(Moves::Only(n))));
        } else {
            sought.push(cause);
        }
    }
    // The oil is held against the room's reading: it says whether that is the gauge.
    let witnesses = (0..ctx.station.machines.len())
        .filter_map(|i| streams.of(Asset::Machine(i), Point::OilTemperature, Moment::Loaded))
        .map(|s| (s, OIL))
        .collect();
    let outcome = Search {
        tables: ctx.tables,
        causes: sought,
        words: words(ctx, Asset::Room),
        streams: list,
        witnesses,
    }
    .run();
    tell_all(
        ctx,
        streams,
        &outcome,
        (stream, ROOM),
        &told,
        |c| matches!(c.cause.moves, Moves::Only(_)),
        drifts,
    );
}

fn search(
    ctx: &Context<'_>,
    asset: Asset,
    group: Group,
    streams: Vec<(&Stream, Scale)>,
) -> Outcome {
    Search {
        words: words(ctx, asset),
        ..Search::of(ctx.tables, ctx.tables.causes(group), streams)
    }
    .run()
}

fn alone(
    ctx: &mut Context<'_>,
    streams: &Streams,
    group: Group,
    reading: (&Stream, Scale),
    told: &Told,
    drifts: &mut Vec<Drift>,
) {
    let outcome = search(ctx, reading.0.id.asset, group, vec![reading]);
    tell_all(ctx, streams, &outcome, reading, told, |_| false, drifts);
}

fn tell_all(
    ctx: &mut Context<'_>,
    streams: &Streams,
    outcome: &Outcome,
    (stream, scale): (&Stream, Scale),
    told: &Told,
    told_elsewhere: impl Fn(&Change) -> bool,
    drifts: &mut Vec<Drift>,
) {
    let asset = stream.id.asset;
    let id = format!("{}.{}", ctx.station.id(asset), told.part);
    let matters = |c: &Change| {
        let shown = lately(stream, |s| c.shown(0, s, scale.relative));
        shown.is_some_and(|x| x >= told.matters)
    };
    take_back_own_levels(ctx, outcome, &id, &[stream.id], matters);
    for change in &outcome.changes {
        if nothing(change) || told_elsewhere(change) {
            continue;
        }
        if change.cause.name == "gauge wrong" {
            if let Some(finding) = gauge_finding(ctx, streams, change, &outcome.levels) {
                merge(ctx, finding);
            }
            continue;
        }
        let shown = lately(stream, |s| change.shown(0, s, scale.relative));
        let Some(shown) = shown.filter(|x| *x >= told.least) else {
            continue;
        };
        let seen = Shown::of(stream, outcome.levels.first(), scale.relative, |s| {
            change.shown(0, s, scale.relative)
        });
        let Some(seen) = seen else { continue };
        let finding = finding(ctx, change, scale, told, (shown, &seen));
        if seen.not_worth_watching(finding.urgency) {
            continue;
        }
        let level = outcome.levels.iter().find(|l| l.id == stream.id);
        let scatter = change.scatter(stream.id);
        let mut chart = chart::of_stream(ctx, streams, stream, level, scale.relative, scatter);
        let unit = if scale.relative {
            stream.samples.back().map_or(1.0, |s| s.mid)
        } else {
            1.0
        };
        chart::grows_on(&mut chart, stream, change, shown * unit);
        // From the cause's own unit to what the reading shows of it.
        let per_size = shown / change.size;
        let base = if scale.relative { 1.0 } else { 0.0 };
        let unit = if scale.relative { "1" } else { "K" };
        drifts.push(drift(
            (asset, told.what, unit),
            change,
            (base + shown, base, per_size),
            (&finding, chart),
        ));
        merge(ctx, finding);
    }
}

fn finding(
    ctx: &Context<'_>,
    change: &Change,
    scale: Scale,
    told: &Told,
    (shown, seen): (f64, &Shown<'_>),
) -> Finding {
    let asset = seen.id.asset;
    let sample = seen.sample;
    let name = ctx.station.id(asset);
    let begins = moment(change.course.begins());
    let mut f = draft(ctx, told.kind, asset, told.part, begins);
    let grown = if scale.relative {
        say::percent(shown)
    } else {
        ctx.units.kelvins(shown)
    };
    let half = change.scatter(seen.id) * if scale.relative { sample.mid } else { 1.0 };
    f.title = format!(
        "{}: {} by its own level; by all rounds up to {grown} more of late",
        ctx.point_name(seen.id),
        seen.beside(ctx, half),
    );
    f.evidence = vec![seen.evidence()];
    f.working.push(seen.step());
    let per_size = shown / change.size;
    let (value, unit) = if scale.relative {
        (1.0 + shown, "1")
    } else {
        (shown, "K")
    };
    let half_health = 1.96 * (change.sigma * per_size).abs();
    f.health = Some(PartHealth {
        what: told.what.to_owned(),
        unit,
        value,
        low: value - half_health,
        high: value + half_health,
        per_month: Some(change.a_day * MONTH * per_size),
    });
    f.causes = named::causes(ctx, change);
    // A room that is cold may be kept from getting colder.
    let cold = asset == Asset::Room && Temperature::new(sample.read).celsius() < LEAST_C;
    // Louvres that open and shut by themselves make a room scatter: less than that scatter is no errand.
    let as_ever = asset == Asset::Room && shown < half;
    f.urgency = if shown < told.matters || cold || as_ever {
        Urgency::Watch
    } else {
        Urgency::NextService
    };
    match (told.kind, asset) {
        (Kind::PowerHigh, Asset::Machine(i)) => {
            let h = MachineHealth {
                power: 1.0 + shown,
                ..MachineHealth::NEW
            };
            price(
                &mut f,
                ctx.year.of_health(ctx.station, i, &h, &MachineHealth::NEW),
            );
            f.action = format!(
                "Find what {name} works against: separator, minimum-pressure valve, a gauge that reads low"
            );
            f.cautions = in_the_room();
        }
        (Kind::UnloadedPowerHigh, Asset::Machine(i)) => {
            let h = MachineHealth {
                unloaded_power: 1.0 + shown,
                ..MachineHealth::NEW
            };
            price(
                &mut f,
                ctx.year.of_health(ctx.station, i, &h, &MachineHealth::NEW),
            );
            f.action = format!("Have blowdown valve and intake valve of {name} looked at");
            f.cautions = in_the_room();
        }
        (Kind::DewPointHigh, _) => {
            f.action = format!(
                "Look at condenser, drain and cooling air of {name}; refrigerant is for licensed people"
            );
            f.cautions = at_the_line(ctx.station, asset, ctx.units);
        }
        _ => {
            f.action = "Open what is shut, clean louvres and fans of the room".to_owned();
            f.cautions = at_the_rooms_fans();
        }
    }
    f.working.push(scatter_step(seen.id.point, half));
    f.working.push(SHOWN.step(
        format!(
            "x = {} ± {}",
            round(change.size, 3),
            round(1.96 * change.sigma, 3)
        ),
        shown,
    ));
    f.working.extend(evidence_steps(ctx, change));
    f
}

const SHOWN: Formula = Formula {
    name: "growth over its own level",
    equation: "x · ∂r/∂x, the third largest of the newest readings, x = B/(A + π)",
    unit: "K, or a share",
    source: "the regression of all rounds, weighted with the forward model's sensitivities",
    mark: Mark::Derived,
};
