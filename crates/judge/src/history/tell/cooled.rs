//! Oil and outlet of one machine: cooling that is lost, a valve that strays, warm air coming round.
//!
//! Must not know: the other groups.

use super::*;
use crate::history::causes::Moves;

pub(super) fn cooling(ctx: &mut Context<'_>, streams: &Streams, i: usize, drifts: &mut Vec<Drift>) {
    let asset = Asset::Machine(i);
    let list: Vec<(&Stream, Scale)> = [
        (Point::OilTemperature, OIL),
        (Point::OutletTemperature, OUTLET),
    ]
    .into_iter()
    .filter_map(|(point, scale)| Some((streams.of(asset, point, Moment::Loaded)?, scale)))
    .collect();
    // The causes' table counts on oil first, outlet second.
    if list
        .first()
        .is_none_or(|(s, _)| s.id.point != Point::OilTemperature)
    {
        return;
    }
    let search = Search {
        group: Group::Cooling,
        words: words(ctx, asset),
        streams: list,
    };
    let outcome = search.run();
    let points =
        [Point::OilTemperature, Point::OutletTemperature].map(|point| PointId { asset, point });
    take_back_own_levels(
        ctx,
        &outcome,
        &format!("{}.cooling", ctx.station.id(asset)),
        &points,
    );
    remember_cooling(ctx, i, &outcome);
    let Some(change) = &outcome.change else {
        return;
    };
    if change
        .posterior
        .first()
        .is_none_or(|(name, _)| *name == "nothing wrong")
    {
        return;
    }
    // What one round tells of the same machine carries the same causes: both speak with one voice.
    let told = format!("{}.cooling", ctx.station.id(asset));
    if let Some(f) = ctx.findings.iter_mut().find(|f| f.id == told) {
        f.causes = named(change);
    }
    let finding = match cooling_part(&change.cause) {
        Some(Part::Thermostat) => offset_finding(ctx, i, change, Kind::Thermostat, "thermostat"),
        Some(part) => cooling_finding(ctx, streams, i, change, part, &outcome, drifts),
        None if change.cause.name == "gauge wrong" => gauge_finding(ctx, change),
        None => offset_finding(ctx, i, change, Kind::RoomHot, "cooling-air"),
    };
    if let Some(finding) = finding {
        merge(ctx, finding);
    }
}

/// What is needed to say how the machine would do in other weather.
fn remember_cooling(ctx: &mut Context<'_>, i: usize, outcome: &Outcome) {
    let oil = outcome
        .levels
        .iter()
        .find(|l| l.id.point == Point::OilTemperature);
    let Some(level) = oil.filter(|l| l.samples >= OWN_FROM) else {
        return;
    };
    let found = outcome
        .change
        .as_ref()
        .and_then(|c| Some((cooling_part(&c.cause)?, c)));
    let (part, size, sigma) = match found {
        Some((part @ (Part::CoolingAir | Part::OilSide), c)) => (part, c.size, c.sigma),
        _ => (Part::CoolingAir, 0.0, 0.0),
    };
    // Warm air that comes round is not the machine's cooling, but the oil feels it all the same.
    let warmer_air = outcome
        .change
        .as_ref()
        .filter(|c| c.cause.moves == Moves::BothAlike)
        .map_or(0.0, |c| c.size);
    ctx.cooling.push(CoolingNow {
        machine: i,
        part,
        size,
        sigma,
        offset: level.offset + warmer_air,
        noise: level.noise,
    });
}

pub(super) fn worse(part: Part, k: f64) -> MachineHealth {
    match part {
        Part::OilSide => MachineHealth {
            oil_cooler: k,
            ..MachineHealth::NEW
        },
        Part::Aftercooler => MachineHealth {
            aftercooler: k,
            ..MachineHealth::NEW
        },
        _ => MachineHealth {
            fan: k,
            ..MachineHealth::NEW
        },
    }
}

fn cooling_finding(
    ctx: &Context<'_>,
    streams: &Streams,
    i: usize,
    change: &Change,
    part: Part,
    outcome: &Outcome,
    drifts: &mut Vec<Drift>,
) -> Option<Finding> {
    let asset = Asset::Machine(i);
    let machine = &ctx.station.machines[i];
    let k = PROBE.powf(change.size);
    let (low, high) = (
        PROBE.powf(change.size + 1.96 * change.sigma),
        PROBE.powf(change.size - 1.96 * change.sigma),
    );
    // The reading that shows it: outlet where the thermostat hides the oil.
    let shows = change
        .ids
        .iter()
        .filter_map(|id| {
            let stream = streams.of(asset, id.point, Moment::Loaded)?;
            let sample = stream.samples.back()?;
            Some((*id, Stream::feels(part, sample) * change.size, sample))
        })
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let (id, kelvin, sample) = shows;
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
    let per_month = k * PROBE.ln() * change.a_day * MONTH;
    let mut f = draft(
        ctx,
        Kind::CoolingLost,
        asset,
        "cooling",
        moment(change.course.begins()),
    );
    f.title = format!(
        "{} cools worse than it did: {} at {} outdoors, {} of it over its own level by all rounds",
        machine.id,
        ctx.units
            .beside(id.point, sample.read, sample.mid, 1.96 * scale_of(id.point)),
        ctx.units.temperature(sample.ambient),
        ctx.units.kelvins(kelvin),
    );
    f.evidence = vec![Evidence {
        id,
        read: sample.read,
        mid: Some(sample.mid),
        deviations: None,
    }];
    f.health = Some(PartHealth {
        what: what.to_owned(),
        unit: "1",
        value: k,
        low,
        high,
        per_month: Some(per_month),
    });
    f.causes = named(change);
    f.next_check = next_check(ctx, change, asset);
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
    f.isolate = true;
    f.cautions = before_the_cabinet(ctx.station, i, ctx.units);
    f.cautions.insert(f.cautions.len() - 1, hand_back());
    f.cost = Cost::at_stake(
        "risk, not energy: oil life, dryer load and the chance of a trip on a hot day",
    );
    f.working.push(evidence_step(change));
    f.working.push(SIZE.step(
        format!(
            "x = {} ± {}",
            round(change.size, 2),
            round(1.96 * change.sigma, 2)
        ),
        k,
    ));
    if part != Part::Aftercooler {
        let level = outcome
            .levels
            .iter()
            .find(|l| l.id.point == Point::OilTemperature);
        limit::limit(ctx, streams, i, change, part, level, &mut f);
    }
    drifts.push(Drift {
        subject: asset,
        what: what.to_owned(),
        unit: "1".to_owned(),
        level: k,
        per_month,
        limit: None,
        spark: spark(change),
        finding: f.id.clone(),
        chart: None,
    });
    Some(f)
}

fn scale_of(point: Point) -> f64 {
    match point {
        Point::OilTemperature => OIL.least_noise,
        _ => OUTLET.least_noise,
    }
}

/// The health's course over the last half year, as a share of clean.
fn spark(change: &Change) -> Vec<f64> {
    let now_at = change.course.at(change.now);
    (0..26)
        .map(|week| {
            let day = change.now - f64::from(25 - week) * 7.0;
            let x = if now_at > 0.0 {
                change.size * change.course.at(day) / now_at
            } else {
                0.0
            };
            PROBE.powf(x)
        })
        .collect()
}

/// A change told in the reading's own unit: valve, warm air coming round.
fn offset_finding(
    ctx: &Context<'_>,
    i: usize,
    change: &Change,
    kind: Kind,
    part: &str,
) -> Option<Finding> {
    let asset = Asset::Machine(i);
    if change.size.abs() < LEAST_KELVIN {
        return None;
    }
    let id = PointId {
        asset,
        point: Point::OilTemperature,
    };
    let r = ctx.residuals.get(&id)?;
    let mut f = draft(ctx, kind, asset, part, moment(change.course.begins()));
    let machine = &ctx.station.machines[i].id;
    f.title = if kind == Kind::Thermostat {
        format!(
            "The thermostatic valve of {machine} holds {} {} than it did by all rounds: oil at {}",
            ctx.units.kelvins(change.size.abs()),
            if change.size > 0.0 { "more" } else { "less" },
            ctx.beside(r)
        )
    } else {
        format!(
            "{machine} gets its cooling air {} warmer than room and weather explain: oil and outlet rose alike",
            ctx.units.kelvins(change.size)
        )
    };
    // A valve that strays by less than makes it stuck is worn or mis-stated, as in a single round.
    f.urgency = if kind == Kind::Thermostat && change.size.abs() < FAR_K {
        Urgency::Watch
    } else {
        Urgency::NextService
    };
    f.evidence = vec![r.evidence()];
    f.health = Some(PartHealth {
        what: if kind == Kind::Thermostat {
            "held oil temperature, offset"
        } else {
            "cooling air over expected"
        }
        .to_owned(),
        unit: "K",
        value: change.size,
        low: change.size - 1.96 * change.sigma,
        high: change.size + 1.96 * change.sigma,
        per_month: Some(change.a_day * MONTH),
    });
    f.causes = named(change);
    f.next_check = if kind == Kind::Thermostat {
        next_check(ctx, change, asset)
    } else {
        Some("Read the temperature where cooling air enters the machine: hot air coming round shows there".to_owned())
    };
    f.action = if kind == Kind::Thermostat {
        format!("Have the thermostatic valve of {machine} changed")
    } else {
        format!("Stop hot air from coming round to the intake of {machine}; open what is shut")
    };
    if kind == Kind::Thermostat {
        f.isolate = true;
        f.cautions = before_the_cabinet(ctx.station, i, ctx.units);
        f.cautions.insert(f.cautions.len() - 1, hand_back());
    } else {
        f.cautions = in_the_room();
    }
    f.working = ctx.working_of(r);
    f.working.push(evidence_step(change));
    Some(f)
}
