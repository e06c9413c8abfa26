//! Oil and outlet of one machine: cooling that is lost, a valve that strays, warm air coming round.
//!
//! Must not know: the other groups.

use super::loss::{Loss, one_loss};
use super::*;

const LOSS: Formula = Formula {
    name: "what the loss does to this reading",
    equation: "ΔT = x · ∂T/∂x, at the newest reading",
    unit: "K",
    source: "the regression of all rounds, weighted with the forward model's sensitivities",
    mark: Mark::Derived,
};
const VALVE: Formula = Formula {
    name: "what the valve does to the oil",
    equation: "ΔT = x · ∂T/∂x, the third largest of the newest readings",
    unit: "K",
    source: "the regression of all rounds, weighted with the forward model's sensitivities",
    mark: Mark::Derived,
};
/// A valve that strays by less does so with load and weather, K (common practice, no source).
const LEAST_VALVE_K: f64 = 2.5;
/// ln K from which a valve is said to be stuck: a machine that runs little is cool too.
const STUCK_SURE: f64 = 12.0;
/// A fan that follows the oil makes so many times as much of weather and load as the model knows (from memory).
const BY_FAN: f64 = 2.0;
/// How often warm air comes round at one machine alone, over a room that is hot as a whole (from
/// memory).
const AT_ONE_MACHINE: f64 = 0.05;
/// A loss that has brought the oil so near its warning, K, within so many days, is no matter of the next service (from
/// memory).
const NEAR_WARNING_K: f64 = 4.0;
const LATELY_DAYS: f64 = 10.0;
/// Warm air that makes less than this is proven, but can wait.
const WARM_AIR_K: f64 = 3.0;

/// What oil and outlet of a machine are searched for.
pub(super) fn search<'a>(ctx: &Context<'_>, streams: &'a Streams, i: usize) -> Option<Search<'a>> {
    let asset = Asset::Machine(i);
    let held = matches!(
        ctx.station.machines[i].cooling.fan,
        Fan::Variable(_) | Fan::OnOff(_)
    );
    let beside_fan = |scale: Scale| {
        let more = if held { BY_FAN } else { 1.0 };
        Scale {
            weather: more * scale.weather,
            duty: more * scale.duty,
            ..scale
        }
    };
    let list: Vec<(&Stream, Scale)> = [
        (Point::OilTemperature, OIL),
        (Point::OutletTemperature, OUTLET),
    ]
    .into_iter()
    .filter_map(|(point, scale)| {
        Some((streams.of(asset, point, Moment::Loaded)?, beside_fan(scale)))
    })
    .collect();
    // The causes' table counts on oil first, outlet second.
    if list
        .first()
        .is_none_or(|(s, _)| s.id.point != Point::OilTemperature)
    {
        return None;
    }
    // With the room's temperature read, a hot room is in the model already: what is left is air that
    // comes round at this machine alone.
    let mut causes = ctx.tables.causes(Group::Cooling);
    let room = streams.of(Asset::Room, Point::RoomTemperature, BY_WATCH);
    if room.is_some_and(|s| s.samples.len() >= OWN_FROM) {
        for cause in causes.iter_mut().filter(|c| c.moves == Moves::BothAlike) {
            cause.prior *= AT_ONE_MACHINE;
        }
    }
    Some(Search {
        words: words(ctx, asset),
        ..Search::of(ctx.tables, causes, list)
    })
}

pub(super) fn cooling(ctx: &mut Context<'_>, streams: &Streams, i: usize, drifts: &mut Vec<Drift>) {
    let asset = Asset::Machine(i);
    let Some(search) = search(ctx, streams, i) else {
        return;
    };
    let outcome = search.run();
    ask_what_was_done(ctx, asset, "the cooling, or a gauge of it,", &outcome);
    let points =
        [Point::OilTemperature, Point::OutletTemperature].map(|point| PointId { asset, point });
    let id = format!("{}.cooling", ctx.station.id(asset));
    let matters_from = matters_kelvin(ctx, i);
    let matters = |c: &Change| {
        let moved = |(place, id): (usize, &PointId)| {
            let newest = streams
                .of(asset, id.point, Moment::Loaded)?
                .samples
                .back()?;
            Some(c.shown(place, newest, false).abs())
        };
        let most = points.iter().enumerate().filter_map(moved);
        most.fold(0.0, f64::max) >= matters_from
    };
    take_back_own_levels(ctx, &outcome, &id, &points, matters);
    // A valve that has always held the oil elsewhere than it is told to is the machine's own, too.
    if outcome.changes.iter().all(nothing) {
        let id = format!("{}.thermostat", ctx.station.id(asset));
        take_back_own_levels(ctx, &outcome, &id, &points[..1], |_| true);
    }
    remember_cooling(ctx, streams, i, &outcome);
    // What one round tells of the same machine carries the same causes: both speak with one voice.
    if let Some(change) = outcome.changes.first().filter(|c| !nothing(c)) {
        let causes = named::causes(ctx, change);
        let steps = named::steps(ctx, change);
        let kinds = [
            Kind::CoolingLost,
            Kind::Thermostat,
            Kind::OilHot,
            Kind::OilCoolWet,
        ];
        let same = |f: &&mut Finding| f.subject == asset && kinds.contains(&f.kind);
        for f in ctx.findings.iter_mut().filter(same) {
            f.causes.clone_from(&causes);
            f.working.extend(steps.iter().cloned());
        }
    }
    for (n, change) in outcome.changes.iter().enumerate() {
        if nothing(change) || outcome.changes[..n].iter().any(|c| one_loss(c, change)) {
            continue;
        }
        let finding = match cooling_part(&change.cause) {
            Some(Part::Thermostat | Part::ValveOpen) => {
                valve_finding(ctx, streams, i, change, &outcome, drifts)
            }
            Some(Part::DeliveredAir) => {
                less_air::finding(ctx, streams, i, change, &outcome, drifts)
            }
            Some(part) => {
                let parts = outcome.changes[n..].iter().filter(|c| one_loss(c, change));
                let parts: Vec<&Change> = parts.filter(|c| !nothing(c)).collect();
                cooling_finding(ctx, streams, i, (&parts, part), &outcome, drifts)
            }
            None if change.cause.name == "gauge wrong" => {
                gauge_finding(ctx, streams, change, &outcome.levels)
            }
            None => warm_air_finding(ctx, i, change),
        };
        if let Some(finding) = finding {
            merge(ctx, finding);
        }
    }
}

/// What is needed to say how the machine would do in other weather.
fn remember_cooling(ctx: &mut Context<'_>, streams: &Streams, i: usize, outcome: &Outcome) {
    let oil = outcome
        .levels
        .iter()
        .find(|l| l.id.point == Point::OilTemperature);
    let Some(level) = oil.filter(|l| l.samples >= OWN_FROM) else {
        return;
    };
    let found = outcome
        .changes
        .iter()
        .find_map(|change| match cooling_part(&change.cause)? {
            Part::Aftercooler | Part::Thermostat | Part::ValveOpen | Part::DeliveredAir => None,
            part => {
                let all = outcome.changes.iter().filter(|c| one_loss(c, change));
                let loss = Loss::of(streams, Asset::Machine(i), &all.collect::<Vec<_>>());
                Some((part.itself(), loss.size, loss.sigma))
            }
        });
    let (part, size, sigma) = found.unwrap_or((Part::CoolingAir, 0.0, 0.0));
    // Warm air that comes round is not the machine's cooling, but the oil feels it all the same.
    let warmer_air: f64 = outcome
        .changes
        .iter()
        .filter(|c| c.cause.moves == Moves::BothAlike)
        .map(|c| c.size)
        .sum();
    let met = streams
        .of(Asset::Machine(i), Point::OilTemperature, Moment::Loaded)
        .into_iter()
        .flat_map(|s| s.samples.iter().map(|x| x.ambient))
        .fold(f64::NEG_INFINITY, f64::max);
    ctx.cooling.push(CoolingNow {
        machine: i,
        part,
        size,
        sigma,
        offset: level.offset + warmer_air,
        duty: level.duty,
        rise: limit::usual_rise(streams),
        met,
        own: ctx.own_cooler(i),
        noise: level.noise,
    });
}

fn cooling_finding(
    ctx: &Context<'_>,
    streams: &Streams,
    i: usize,
    (stretches, part): (&[&Change], Part),
    outcome: &Outcome,
    drifts: &mut Vec<Drift>,
) -> Option<Finding> {
    let change = *stretches.first()?;
    let asset = Asset::Machine(i);
    let machine = &ctx.station.machines[i];
    let loss = Loss::of(streams, asset, stretches);
    let k = PROBE.powf(loss.size);
    let (low, high) = (
        PROBE.powf(loss.size + 1.96 * loss.sigma),
        PROBE.powf(loss.size - 1.96 * loss.sigma),
    );
    // The reading that shows it: outlet where the thermostat hides the oil.
    let shows = change
        .ids
        .iter()
        .filter_map(|id| {
            let stream = streams.of(asset, id.point, Moment::Loaded)?;
            let sample = stream.samples.back()?;
            let moves = |c: &&Change| Some(Stream::feels(cooling_part(&c.cause)?, sample) * c.size);
            Some((*id, stretches.iter().filter_map(moves).sum::<f64>(), sample))
        })
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let (id, kelvin, sample) = shows;
    let level_of = |point| outcome.levels.iter().find(move |l| l.id.point == point);
    let seen = Shown::of(
        streams.of(asset, id.point, Moment::Loaded)?,
        level_of(id.point),
        false,
        |s| Stream::feels(part, s) * change.size,
    )?;
    let part = part.itself();
    if kelvin < LEAST_KELVIN {
        return None;
    }
    let what = if part == Part::OilSide {
        "oil cooler conductance"
    } else if part == Part::Aftercooler {
        "aftercooler transfer"
    } else {
        "cooling-air flow"
    };
    let per_month = -loss.a_day * MONTH;
    let mut f = draft(ctx, Kind::CoolingLost, asset, "cooling", moment(loss.began));
    f.title = format!(
        "{} cools worse than it did: {} by its own level at {} outdoors; by all rounds it is {} now",
        machine.id,
        seen.beside(ctx, change.scatter(id)),
        ctx.units.temperature(seen.sample.ambient),
        ctx.units.kelvins(kelvin),
    );
    f.evidence = vec![seen.evidence()];
    f.working.push(seen.step());
    f.health = Some(PartHealth {
        what: what.to_owned(),
        unit: "1",
        value: k,
        low,
        high,
        per_month: Some(per_month),
    });
    f.causes = named::causes(ctx, change);
    f.action = if part == Part::OilSide {
        format!(
            "Have the oil side of the cooler of {} and its thermostatic valve looked at",
            machine.id
        )
    } else {
        format!(
            "Clean what chokes the cooling air of {}: mat, cooler faces, cabinet",
            machine.id
        )
    };
    isolate(&mut f, ctx, i);
    f.cost = Cost::at_stake(
        "risk, not energy: oil life, dryer load and the chance of a trip on a hot day",
    );
    f.working.push(scatter_step(id.point, change.scatter(id)));
    f.working.push(LOSS.step(
        format!(
            "x = {} steps of a fifth, at {} outdoors",
            stretches
                .iter()
                .map(|c| round(c.size, 2))
                .collect::<Vec<_>>()
                .join(" + "),
            ctx.units.temperature(sample.ambient)
        ),
        kelvin,
    ));
    for stretch in stretches {
        f.working.extend(evidence_steps(ctx, stretch));
    }
    let size = if loss.bent { BENT } else { SIZE };
    f.working.push(size.step(
        format!(
            "x = {} ± {}",
            round(loss.size, 2),
            round(1.96 * loss.sigma, 2)
        ),
        k,
    ));
    // The picture shows the reading that has a limit; an aftercooler's is the outlet.
    let pictured = if part == Part::Aftercooler {
        Point::OutletTemperature
    } else {
        Point::OilTemperature
    };
    let level = level_of(pictured);
    let mut chart = streams
        .of(asset, pictured, Moment::Loaded)
        .map(|s| chart::of_stream(ctx, streams, s, level, false, change.scatter(s.id)));
    if part == Part::Aftercooler
        && let (Some(chart), Some(stream)) = (
            &mut chart,
            streams.of(asset, Point::OutletTemperature, Moment::Loaded),
        )
    {
        chart::grows_on(chart, stream, change, kelvin);
    }
    if part != Part::Aftercooler {
        let ahead = limit::limit(ctx, streams, i, (change.now, loss), part, level, &mut f);
        if let Some(chart) = &mut chart {
            chart.limits = vec![
                ("warning".to_owned(), machine.oil.warn.si()),
                ("trip".to_owned(), machine.oil.trip.si()),
            ];
            chart.ahead = ahead;
            chart.ahead_at = "at each month's mean maximum".to_owned();
        }
    }
    if kelvin < matters_kelvin(ctx, i) {
        f.urgency = Urgency::Watch;
    } else if near_its_warning(streams, ctx, i) {
        // The warmest hours are warmer than the rounds, and a month's mean maximum is passed on half its days.
        f.urgency = f.urgency.min(Urgency::ThisWeek);
    }
    if seen.not_worth_watching(f.urgency) {
        return None;
    }
    drifts.push(Drift {
        subject: asset,
        what: what.to_owned(),
        unit: "1".to_owned(),
        level: k,
        sigma: -k * PROBE.ln() * loss.sigma,
        per_month,
        per_month_sigma: loss.a_day_sigma * MONTH,
        limit: None,
        spark: spark(stretches, loss),
        finding: f.id.clone(),
        chart,
    });
    Some(f)
}

/// Whether the oil was read near its warning more than once of late.
fn near_its_warning(streams: &Streams, ctx: &Context<'_>, i: usize) -> bool {
    let warn = ctx.station.machines[i].oil.warn.si();
    let now = day_of(ctx.now);
    let stream = streams.of(Asset::Machine(i), Point::OilTemperature, Moment::Loaded);
    let newest = stream.into_iter().flat_map(|s| s.samples.iter().rev());
    let lately = newest.take_while(|s| now - s.day < LATELY_DAYS);
    lately.filter(|s| s.read >= warn - NEAR_WARNING_K).count() > 1
}

/// The health's course over the last half year, as a share of clean.
fn spark(stretches: &[&Change], loss: Loss) -> Vec<f64> {
    let on = |c: &&Change, day: f64| match c.course.at(c.now) {
        at if at > 0.0 => c.size * c.course.at(day) / at,
        _ => 0.0,
    };
    let sum = |day| stretches.iter().map(|c| on(c, day)).sum::<f64>();
    let now = stretches.first().map_or(0.0, |c| c.now);
    let all = sum(now);
    (0..26)
        .map(|week| {
            let day = now - f64::from(25 - week) * 7.0;
            let share = if all > 0.0 { sum(day) / all } else { 0.0 };
            PROBE.powf(loss.size * share)
        })
        .collect()
}

/// The valve holds the oil elsewhere than it did, or stays open.
fn valve_finding(
    ctx: &Context<'_>,
    streams: &Streams,
    i: usize,
    change: &Change,
    outcome: &Outcome,
    drifts: &mut Vec<Drift>,
) -> Option<Finding> {
    let part = cooling_part(&change.cause)?;
    let id = PointId {
        asset: Asset::Machine(i),
        point: Point::OilTemperature,
    };
    let stream = streams.of(id.asset, id.point, Moment::Loaded)?;
    let last = stream.samples.back()?;
    // What is told is what the oil showed of late: in warm weather the valve holds nothing.
    let shown = lately(stream, |s| Stream::feels(part, s) * change.size)?;
    if shown.abs() < LEAST_VALVE_K {
        return None;
    }
    let name = &ctx.station.machines[i].id;
    let mut f = draft(
        ctx,
        Kind::Thermostat,
        id.asset,
        "thermostat",
        moment(change.course.begins()),
    );
    let does = match part {
        Part::ValveOpen => "does not close as it did",
        _ if shown > 0.0 => "holds the oil warmer than it did",
        _ => "holds the oil cooler than it did",
    };
    let level = outcome.levels.iter().find(|l| l.id == id);
    let seen = Shown::of(stream, level, false, |s| {
        Stream::feels(part, s) * change.size
    })?;
    f.title = format!(
        "The thermostatic valve of {name} {does}: oil at {} by its own level at {} outdoors, lately up to {} {} that by all rounds",
        seen.beside(ctx, change.scatter(id)),
        ctx.units.temperature(seen.sample.ambient),
        ctx.units.kelvins(shown.abs()),
        if shown > 0.0 { "over" } else { "under" },
    );
    // A valve that strays by less than makes it stuck is worn or mis-stated, as in a single round.
    f.urgency = if shown.abs() < FAR_K || change.log_odds < STUCK_SURE {
        Urgency::Watch
    } else {
        Urgency::NextService
    };
    if seen.not_worth_watching(f.urgency) {
        return None;
    }
    f.evidence = vec![seen.evidence()];
    f.working.push(seen.step());
    let per_size = if part == Part::ValveOpen {
        1.0
    } else {
        shown / change.size
    };
    let (what, unit) = match part {
        Part::ValveOpen => ("share of the valve that stays open", "1"),
        _ => ("held oil temperature, offset", "K"),
    };
    f.health = Some(PartHealth {
        what: what.to_owned(),
        unit,
        value: change.size * per_size,
        low: (change.size - 1.96 * change.sigma) * per_size,
        high: (change.size + 1.96 * change.sigma) * per_size,
        per_month: Some(change.a_day * MONTH * per_size),
    });
    f.causes = named::causes(ctx, change);
    f.next_check = Some(valve::read_it_cold(ctx, id));
    valve::have_it_changed(&mut f, ctx, i);
    f.working.push(scatter_step(id.point, change.scatter(id)));
    let scatter = change.scatter(id);
    let mut chart = chart::of_stream(ctx, streams, stream, level, false, scatter);
    chart::grows_on(&mut chart, stream, change, shown);
    drifts.push(drift(
        (id.asset, what, unit),
        change,
        (change.size * per_size, 0.0, per_size),
        (&f, chart),
    ));
    f.working.push(VALVE.step(
        format!(
            "x = {}, at {} outdoors",
            round(change.size, 2),
            ctx.units.temperature(last.ambient)
        ),
        shown,
    ));
    f.working.extend(evidence_steps(ctx, change));
    Some(f)
}

/// Warm air that comes round to the intake.
fn warm_air_finding(ctx: &Context<'_>, i: usize, change: &Change) -> Option<Finding> {
    let asset = Asset::Machine(i);
    if change.size.abs() < LEAST_KELVIN {
        return None;
    }
    let id = PointId {
        asset,
        point: Point::OilTemperature,
    };
    let r = ctx.residuals.get(&id)?;
    let mut f = draft(
        ctx,
        Kind::RoomHot,
        asset,
        "cooling-air",
        moment(change.course.begins()),
    );
    let machine = &ctx.station.machines[i].id;
    f.title = format!(
        "{machine} gets its cooling air {} warmer than room and weather explain: oil and outlet rose alike",
        ctx.units.kelvins(change.size)
    );
    f.urgency = if change.size < WARM_AIR_K {
        Urgency::Watch
    } else {
        Urgency::NextService
    };
    f.evidence = vec![r.evidence()];
    f.health = Some(PartHealth {
        what: "cooling air over expected".to_owned(),
        unit: "K",
        value: change.size,
        low: change.size - 1.96 * change.sigma,
        high: change.size + 1.96 * change.sigma,
        per_month: Some(change.a_day * MONTH),
    });
    f.causes = named::causes(ctx, change);
    f.next_check = Some(
        "Read the temperature where cooling air enters the machine: hot air coming round shows there"
            .to_owned(),
    );
    f.action =
        format!("Stop hot air from coming round to the intake of {machine}; open what is shut");
    f.cautions = in_the_room();
    f.working = ctx.working_of(r);
    f.working.push(grown_step(change));
    f.working.extend(evidence_steps(ctx, change));
    Some(f)
}
