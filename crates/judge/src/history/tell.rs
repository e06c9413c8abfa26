//! Tells what the history found: completes the findings that one round already made, makes those
//! that only many rounds can, and takes back what is only a machine's own level.
//!
//! Must not know: JSON, colours.

use jiff::civil::Date;
use physics::quantity::Temperature;
use physics::solve::bracketed_root;
use physics::validity::Refusal;
use physics::working::{Formula, Mark, Step};
use station::forward::MachineHealth;
use station::model::Asset;
use station::point::{Point, PointId};

use super::causes::{Group, checks, words_of};
use super::change::{Change, Outcome, Scale, Search, cooling_part};
use super::forecast::{Dates, Path, passage};
use super::stream::{PROBE, Part, Stream, Streams};
use super::wear::Wear;
use super::{CoolingNow, History, moment};
use crate::Drift;
use crate::context::Context;
use crate::day::Moment;
use crate::finding::{Cause, Cost, Evidence, Finding, Kind, Limit, PartHealth, Urgency};
use crate::findings::thermostat::FAR_K;
use crate::findings::{draft, price};
use crate::safety::{at_the_line, before_the_cabinet, hand_back, in_the_room};
use crate::say::round;

const OIL: Scale = Scale {
    level: 4.0,
    weather: 0.9,
    least_noise: 0.9,
    relative: false,
};
const OUTLET: Scale = Scale {
    level: 3.0,
    weather: 0.9,
    least_noise: 0.8,
    relative: false,
};
const POWER: Scale = Scale {
    level: 0.035,
    weather: 0.008,
    least_noise: 0.012,
    relative: true,
};
const UNLOADED: Scale = Scale {
    level: 0.08,
    weather: 0.02,
    least_noise: 0.02,
    relative: true,
};
const DEW_POINT: Scale = Scale {
    level: 2.0,
    weather: 0.7,
    least_noise: 0.7,
    relative: false,
};
const ROOM: Scale = Scale {
    level: 2.5,
    weather: 0.8,
    least_noise: 0.8,
    relative: false,
};

/// A change that moves its reading by less than this is proven, but not worth telling.
const LEAST_KELVIN: f64 = 2.0;
const LEAST_SHARE: f64 = 0.025;
/// Wear is told this long before its limit.
const TELL_WEAR_DAYS: f64 = 60.0;
/// A level is a machine's own from so many readings on.
const OWN_FROM: usize = 20;
/// Further than this from its own level a reading is news.
const NEWS: f64 = 3.0;

const EVIDENCE: Formula = Formula {
    name: "evidence for a change",
    equation: "ln K = ½ B²/(A + π) + ½ ln(π/(A + π)), told above 7",
    unit: "-",
    source: "regression of the model's residuals with a change at an unknown time",
    mark: Mark::Derived,
};
const SIZE: Formula = Formula {
    name: "health by all rounds",
    equation: "k = 0.8^x, x = B/(A + π)",
    unit: "1",
    source: "the same regression, weighted with the forward model's sensitivities",
    mark: Mark::Derived,
};
const GROWN: Formula = Formula {
    name: "growth over its own level",
    equation: "x = B/(A + π)",
    unit: "in the reading's unit, or a share",
    source: "the same regression",
    mark: Mark::Derived,
};
const NOISE: Formula = Formula {
    name: "scatter of one reading, 95 %",
    equation: "1.96 s",
    unit: "in the reading's unit",
    source: "common to such gauges",
    mark: Mark::CommonPractice,
};
const FORECAST: Formula = Formula {
    name: "days until the limit is likely reached",
    equation: "P(t) = max Φ((x + a d − x*(month))/σ(d)) passes 50 %",
    unit: "days",
    source: "health drawn forward, x* from the forward model at each month's mean maximum",
    mark: Mark::Derived,
};
const WEAR: Formula = Formula {
    name: "wear in a month",
    equation: "median of the slopes of all pairs of readings since the last change",
    unit: "per month",
    source: "Theil–Sen line (USGS, Statistical Methods in Water Resources)",
    mark: Mark::Published,
};

/// Days in a mean month.
const MONTH: f64 = 30.44;

/// Looks through all streams and changes the context's findings accordingly.
pub(crate) fn tell(ctx: &mut Context<'_>, history: &History) -> Vec<Drift> {
    let mut drifts = Vec::new();
    let streams = &history.streams;
    for i in 0..ctx.station.machines.len() {
        cooling(ctx, streams, i, &mut drifts);
        for (group, point, moment, scale, part, kind) in [
            (
                Group::Power,
                Point::MachinePower,
                Moment::Loaded,
                POWER,
                "power",
                Kind::PowerHigh,
            ),
            (
                Group::UnloadedPower,
                Point::MachinePower,
                Moment::Unloaded,
                UNLOADED,
                "unloaded-power",
                Kind::UnloadedPowerHigh,
            ),
        ] {
            let Some(stream) = streams.of(Asset::Machine(i), point, moment) else {
                continue;
            };
            single(ctx, group, stream, scale, part, kind, &mut drifts);
        }
    }
    for i in 0..ctx.station.dryers.len() {
        let stream = streams.of(Asset::Dryer(i), Point::DryerDewPoint, Moment::Unknown);
        if let Some(stream) = stream {
            let (part, kind) = ("dew-point", Kind::DewPointHigh);
            single(
                ctx,
                Group::DewPoint,
                stream,
                DEW_POINT,
                part,
                kind,
                &mut drifts,
            );
        }
    }
    if let Some(stream) = streams.of(Asset::Room, Point::RoomTemperature, Moment::Unknown) {
        single(
            ctx,
            Group::Room,
            stream,
            ROOM,
            "rise",
            Kind::RoomHot,
            &mut drifts,
        );
    }
    wear(ctx, streams, &mut drifts);
    drifts
}

fn words(ctx: &Context<'_>, asset: Asset) -> Vec<(Point, station::point::Word)> {
    ctx.words
        .iter()
        .filter(|(id, _)| id.asset == asset)
        .map(|(id, s)| (id.point, s.word))
        .collect()
}

fn today(ctx: &Context<'_>) -> Date {
    ctx.now
        .to_zoned_datetime(ctx.station.site.time_zone.clone())
        .date()
}

fn days_to(from: Date, to: Date) -> f64 {
    from.until(to)
        .map_or(f64::INFINITY, |span| f64::from(span.get_days()))
}

/// Causes worth naming.
fn named(change: &Change) -> Vec<Cause> {
    change
        .posterior
        .iter()
        .filter(|(_, p)| *p >= 0.01)
        .map(|(name, p)| Cause {
            cause: (*name).to_owned(),
            probability: *p,
        })
        .collect()
}

fn evidence_step(change: &Change) -> Step {
    let began = moment(change.course.begins())
        .map_or_else(String::new, |t| t.strftime("%Y-%m-%d").to_string());
    EVIDENCE.step(
        format!(
            "{}, begun about {began}, {}",
            change.cause.name,
            change
                .posterior
                .iter()
                .take(3)
                .map(|(name, p)| format!("{name} {}", round(*p, 2)))
                .collect::<Vec<_>>()
                .join(", ")
        ),
        change.log_odds,
    )
}

/// Merges into the finding of this id, or adds it.
fn merge(ctx: &mut Context<'_>, new: Finding) {
    match ctx.findings.iter_mut().find(|f| f.id == new.id) {
        Some(old) => {
            old.since = match (old.since, new.since) {
                (Some(a), Some(b)) => Some(a.min(b)),
                (a, b) => b.or(a),
            };
            old.urgency = old.urgency.min(new.urgency);
            old.health = new.health.or(old.health.take());
            old.causes = new.causes;
            if new.limit.is_some() {
                old.limit = new.limit;
            }
            if new.next_check.is_some() {
                old.next_check = new.next_check;
            }
            old.working.extend(new.working);
        }
        None => ctx.findings.push(new),
    }
}

/// A finding that one round makes of a machine that has always been so is no news.
fn take_back_own_levels(ctx: &mut Context<'_>, outcome: &Outcome, id: &str, points: &[PointId]) {
    if outcome.change.is_some() {
        return;
    }
    let news = |point: &PointId| -> Option<bool> {
        let level = outcome.levels.iter().find(|l| l.id == *point)?;
        let r = ctx.residuals.get(point)?;
        let unit = if r.id.point == Point::MachinePower {
            r.band.mid
        } else {
            1.0
        };
        let off = (r.read - r.band.mid - level.offset * unit).abs();
        Some(level.samples < OWN_FROM || off >= NEWS * level.noise * unit)
    };
    // Without a level that was learned, nothing says that it has always been so.
    let learned: Vec<bool> = points.iter().filter_map(news).collect();
    if learned.is_empty() || learned.contains(&true) {
        return;
    }
    // What passes its limit in the coming months does so whether it is new or not.
    if let Some(f) = ctx
        .findings
        .iter_mut()
        .find(|f| f.id == id && f.limit.as_ref().and_then(|l| l.likely).is_none())
    {
        f.urgency = Urgency::Watch;
        f.title += "; it has stood so since the first rounds, nothing has changed";
    }
}

fn cooling(ctx: &mut Context<'_>, streams: &Streams, i: usize, drifts: &mut Vec<Drift>) {
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
    ctx.cooling.push(CoolingNow {
        machine: i,
        part,
        size,
        sigma,
        offset: level.offset,
        noise: level.noise,
    });
}

fn worse(part: Part, k: f64) -> MachineHealth {
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
        let offset = outcome
            .levels
            .iter()
            .find(|l| l.id.point == Point::OilTemperature)
            .map_or(0.0, |l| l.offset);
        limit(ctx, i, change, part, offset, &mut f);
    }
    drifts.push(Drift {
        subject: asset,
        what: what.to_owned(),
        unit: "1".to_owned(),
        level: k,
        per_month,
        limit: None,
        spark: spark(change),
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

/// Puts the health through the model at each month's mean maximum.
fn limit(ctx: &Context<'_>, i: usize, change: &Change, part: Part, offset: f64, f: &mut Finding) {
    let Some(climate) = &ctx.station.site.climate else {
        return;
    };
    let Some(look) = ctx.looks.first() else {
        return;
    };
    let warn = ctx.station.machines[i].oil.warn.si() - offset;
    let oil = |k: f64, t: Temperature, month: usize| {
        let at = ctx.hot_day(look, t, month);
        ctx.machine(i, &worse(part, k), &at)
            .and_then(|m| m.oil_temperature)
            .map(Temperature::si)
    };
    let needs = |month: usize| {
        let t = climate.mean_max[month];
        if oil(1.0, t, month)? >= warn {
            return Some(0.0);
        }
        let k = bracketed_root("health that reaches the limit", 0.1, 1.0, 1.0e-3, |k| {
            oil(k, t, month)
                .map(|t| t - warn)
                .ok_or(Refusal::NoSolution {
                    what: "health that reaches the limit",
                })
        })
        .ok()?;
        Some(k.ln() / PROBE.ln())
    };
    let path = Path {
        now: change.size,
        sigma: change.sigma,
        a_day: change.a_day,
    };
    let today = today(ctx);
    let dates = passage(path, today, needs);
    apply(
        ctx,
        f,
        "oil warning temperature at each month's mean maximum",
        dates,
        today,
    );
    // The design-hot day may come in its season even where the mean maximum is harmless.
    let (hottest, month) = climate.hottest();
    if oil(PROBE.powf(change.size), hottest, month).is_some_and(|t| t >= warn) {
        f.urgency = f
            .urgency
            .min(crate::findings::in_the_hot_season(ctx, month));
    }
}

fn apply(ctx: &Context<'_>, f: &mut Finding, what: &str, dates: Dates, today: Date) {
    let days = dates.likely.map(|d| days_to(today, d));
    f.urgency = days.map_or(Urgency::Watch, Urgency::in_days);
    if let Some(days) = days {
        f.working
            .push(FORECAST.step(format!("counted from {today}"), days));
    }
    f.limit = Some(Limit {
        what: what.to_owned(),
        earliest: dates.earliest,
        likely: dates.likely,
        latest: dates.latest,
    });
    debug_assert!(ctx.now.as_millisecond() != 0 || dates.likely.is_none());
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

fn gauge_finding(ctx: &Context<'_>, change: &Change) -> Option<Finding> {
    let id = match change.cause.moves {
        super::causes::Moves::Second => *change.ids.get(1)?,
        _ => *change.ids.first()?,
    };
    let r = ctx.residuals.get(&id)?;
    let relative = id.point == Point::MachinePower;
    let size = if relative {
        change.size * r.band.mid
    } else {
        change.size
    };
    let part = format!("gauge-{}", id.point.name());
    let mut f = draft(
        ctx,
        Kind::GaugeSuspect,
        id.asset,
        &part,
        moment(change.course.begins()),
    );
    f.title = format!(
        "{} has shifted by itself: {}; nothing else that would move with it has",
        ctx.point_name(id),
        ctx.beside(r)
    );
    f.urgency = Urgency::Watch;
    f.evidence = vec![r.evidence()];
    f.health = Some(PartHealth {
        what: "shift of the reading".to_owned(),
        unit: crate::say::file_unit(id.point.dimension()).0,
        value: crate::working::in_difference_unit(id.point, size),
        low: crate::working::in_difference_unit(
            id.point,
            size * (1.0 - 1.96 * change.sigma / change.size.abs().max(1e-9)),
        ),
        high: crate::working::in_difference_unit(
            id.point,
            size * (1.0 + 1.96 * change.sigma / change.size.abs().max(1e-9)),
        ),
        per_month: None,
    });
    f.causes = named(change);
    f.cost = Cost::at_stake("nothing by itself; what is judged from this gauge may be wrong");
    f.next_check = Some(format!(
        "Read {} with another instrument",
        ctx.point_name(id)
    ));
    f.action = format!(
        "Have the gauge of {} compared and changed, and write `{}:change gauge` into `done`",
        ctx.point_name(id),
        ctx.station.id(id.asset)
    );
    f.cautions = in_the_room();
    f.working = ctx.working_of(r);
    f.working.push(evidence_step(change));
    Some(f)
}

/// A group of one reading.
fn single(
    ctx: &mut Context<'_>,
    group: Group,
    stream: &Stream,
    scale: Scale,
    part: &str,
    kind: Kind,
    drifts: &mut Vec<Drift>,
) {
    let asset = stream.id.asset;
    let search = Search {
        group,
        words: words(ctx, asset),
        streams: vec![(stream, scale)],
    };
    let outcome = search.run();
    let id = format!("{}.{part}", ctx.station.id(asset));
    take_back_own_levels(ctx, &outcome, &id, &[stream.id]);
    let Some(change) = &outcome.change else {
        return;
    };
    let least = if scale.relative {
        LEAST_SHARE
    } else {
        LEAST_KELVIN
    };
    if change.size < least
        || change
            .posterior
            .first()
            .is_none_or(|(n, _)| *n == "nothing wrong")
    {
        return;
    }
    let finding = if change.cause.name == "gauge wrong" {
        gauge_finding(ctx, change)
    } else {
        single_finding(ctx, change, stream, scale, part, kind)
    };
    if let Some(finding) = finding {
        drifts.push(Drift {
            subject: asset,
            what: finding
                .health
                .as_ref()
                .map_or_else(String::new, |h| h.what.clone()),
            unit: if scale.relative { "1" } else { "K" }.to_owned(),
            level: if scale.relative {
                1.0 + change.size
            } else {
                change.size
            },
            per_month: change.a_day * MONTH,
            limit: None,
            spark: spark_of(change, scale.relative),
        });
        merge(ctx, finding);
    }
}

fn spark_of(change: &Change, relative: bool) -> Vec<f64> {
    let now_at = change.course.at(change.now);
    (0..26)
        .map(|week| {
            let day = change.now - f64::from(25 - week) * 7.0;
            let x = if now_at > 0.0 {
                change.size * change.course.at(day) / now_at
            } else {
                0.0
            };
            if relative { 1.0 + x } else { x }
        })
        .collect()
}

fn single_finding(
    ctx: &Context<'_>,
    change: &Change,
    stream: &Stream,
    scale: Scale,
    part: &str,
    kind: Kind,
) -> Option<Finding> {
    let asset = stream.id.asset;
    let sample = stream.samples.back()?;
    let name = ctx.station.id(asset);
    let mut f = draft(ctx, kind, asset, part, moment(change.course.begins()));
    let grown = if scale.relative {
        crate::say::percent(change.size)
    } else {
        ctx.units.kelvins(change.size)
    };
    let half = 1.96
        * if scale.relative {
            scale.least_noise * sample.mid
        } else {
            scale.least_noise
        };
    f.title = format!(
        "{}: {}; it has grown by {grown} over its own level",
        ctx.point_name(stream.id),
        ctx.units
            .beside(stream.id.point, sample.read, sample.mid, half),
    );
    f.evidence = vec![Evidence {
        id: stream.id,
        read: sample.read,
        mid: Some(sample.mid),
        deviations: None,
    }];
    let (value, unit) = if scale.relative {
        (1.0 + change.size, "1")
    } else {
        (change.size, "K")
    };
    f.health = Some(PartHealth {
        what: match kind {
            Kind::PowerHigh => "power on load",
            Kind::UnloadedPowerHigh => "power unloaded",
            Kind::DewPointHigh => "pressure dew point over expected",
            _ => "room rise over expected",
        }
        .to_owned(),
        unit,
        value,
        low: value - 1.96 * change.sigma,
        high: value + 1.96 * change.sigma,
        per_month: Some(change.a_day * MONTH),
    });
    f.causes = named(change);
    f.next_check = next_check(ctx, change, asset);
    f.urgency = Urgency::NextService;
    match (kind, asset) {
        (Kind::PowerHigh, Asset::Machine(i)) => {
            let h = MachineHealth {
                power: 1.0 + change.size,
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
                unloaded_power: 1.0 + change.size,
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
            f.cautions = in_the_room();
        }
    }
    f.working.push(NOISE.step(
        "the least that a reading scatters about its own level",
        crate::working::in_difference_unit(stream.id.point, half),
    ));
    f.working.push(GROWN.step(
        format!(
            "x = {} ± {}",
            round(change.size, 3),
            round(1.96 * change.sigma, 3)
        ),
        change.size,
    ));
    f.working.push(evidence_step(change));
    Some(f)
}

/// The look that is expected to settle most for its effort.
fn next_check(ctx: &Context<'_>, change: &Change, asset: Asset) -> Option<String> {
    let entropy = |p: &[f64]| -> f64 { p.iter().filter(|p| **p > 0.0).map(|p| -p * p.ln()).sum() };
    let before: Vec<f64> = change.posterior.iter().map(|(_, p)| *p).collect();
    let now = entropy(&before);
    checks()
        .into_iter()
        .filter(|check| {
            // What was seen within the last weeks is weighed in already.
            !ctx.words
                .iter()
                .any(|(id, _)| id.asset == asset && id.point.name() == check.point)
        })
        .filter_map(|check| {
            let tables: Vec<_> = change
                .posterior
                .iter()
                .map(|(name, _)| words_of(name, check.point))
                .collect();
            let any = tables.iter().find(|t| !t.is_empty())?.clone();
            let left: f64 = any
                .iter()
                .map(|(word, _, without)| {
                    let likelihood: Vec<f64> = tables
                        .iter()
                        .map(|t| {
                            t.iter()
                                .find(|(w, _, _)| w == word)
                                .map_or(*without, |(_, with, _)| *with)
                        })
                        .collect();
                    let seen: f64 = before.iter().zip(&likelihood).map(|(p, l)| p * l).sum();
                    let after: Vec<f64> = before
                        .iter()
                        .zip(&likelihood)
                        .map(|(p, l)| p * l / seen.max(1e-12))
                        .collect();
                    seen * entropy(&after)
                })
                .sum();
            Some(((now - left) / check.effort, check.words))
        })
        .filter(|(gain, _)| *gain > 0.01)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, words)| format!("{}: {words}", ctx.station.id(asset)))
}

/// Parts that wear towards their change.
fn wear(ctx: &mut Context<'_>, streams: &Streams, drifts: &mut Vec<Drift>) {
    for i in 0..ctx.station.machines.len() {
        let m = &ctx.station.machines[i];
        let separator = (m.separator.clean.value.si(), m.separator.change.si());
        let intake = (m.intake.clean.value.si(), m.intake.change.si());
        let asset = Asset::Machine(i);
        worn(
            ctx,
            streams,
            asset,
            Point::SeparatorDrop,
            separator,
            "separator",
            Kind::SeparatorLoaded,
            drifts,
        );
        worn(
            ctx,
            streams,
            asset,
            Point::IntakeDrop,
            intake,
            "intake",
            Kind::IntakeChoked,
            drifts,
        );
        worn(
            ctx,
            streams,
            asset,
            Point::BeltIndicator,
            (0.0, 1.0),
            "belt",
            Kind::BeltSlack,
            drifts,
        );
    }
    for i in 0..ctx.station.filters.len() {
        let f = &ctx.station.filters[i];
        let limits = (f.clean.value.si(), f.change.si());
        let asset = Asset::Filter(i);
        worn(
            ctx,
            streams,
            asset,
            Point::FilterDrop,
            limits,
            "element",
            Kind::FilterLoaded,
            drifts,
        );
    }
}

#[expect(clippy::too_many_arguments, reason = "one row of the table above")]
fn worn(
    ctx: &mut Context<'_>,
    streams: &Streams,
    asset: Asset,
    point: Point,
    (clean, change): (f64, f64),
    part: &str,
    kind: Kind,
    drifts: &mut Vec<Drift>,
) {
    let moments = [
        Moment::Loaded,
        Moment::Unknown,
        Moment::Stopped,
        Moment::Unloaded,
    ];
    let Some(stream) = moments
        .into_iter()
        .find_map(|m| streams.of(asset, point, m))
    else {
        return;
    };
    // A filter's drop is brought to the flow at which its clean drop is rated.
    let by_flow = point == Point::FilterDrop;
    let line = Wear::of(stream, |s| {
        if !by_flow {
            return Some(s.read);
        }
        (s.mid > 0.25 * clean).then(|| s.read / s.mid * clean)
    });
    let Some(line) = line.filter(Wear::grows) else {
        return;
    };
    let today = today(ctx);
    let dates = line.dates(change, today);
    let (_, unit) = crate::say::in_file_unit(point, 0.0);
    let per_month = crate::working::in_difference_unit(point, line.a_day * MONTH);
    drifts.push(Drift {
        subject: asset,
        what: format!("{part} wear"),
        unit: unit.to_owned(),
        level: crate::working::in_difference_unit(point, line.now),
        per_month,
        limit: Some(crate::working::in_difference_unit(point, change)),
        spark: line
            .values
            .iter()
            .map(|(_, v)| crate::working::in_difference_unit(point, *v))
            .collect(),
    });
    let Some(likely) = dates.likely else { return };
    let days = days_to(today, likely);
    let id = format!("{}.{part}", ctx.station.id(asset));
    let told = ctx.findings.iter().any(|f| f.id == id);
    if days > TELL_WEAR_DAYS && !told {
        return;
    }
    let first = stream.samples.iter().rposition(|s| s.reset).unwrap_or(0);
    let since = stream.samples.get(first).and_then(|s| moment(s.day));
    let mut f = draft(ctx, kind, asset, part, since);
    let last = stream.samples.back().map_or(line.now, |s| s.read);
    f.title = format!(
        "{} of {} goes towards its change at {}: {} read, about {likely} by its own pace",
        what(kind),
        ctx.station.id(asset),
        ctx.units.reading(point, change),
        ctx.units.reading(point, last),
    );
    f.evidence = vec![Evidence {
        id: stream.id,
        read: last,
        mid: None,
        deviations: None,
    }];
    f.health = (point != Point::BeltIndicator).then(|| PartHealth {
        what: format!("{} over clean", what(kind).to_lowercase()),
        unit: "1",
        value: line.now / clean,
        low: (line.now - 1.96 * line.sigma) / clean,
        high: (line.now + 1.96 * line.sigma) / clean,
        per_month: Some(line.a_day * MONTH / clean),
    });
    f.working.push(WEAR.step(
        format!("{} readings since the last change", line.values.len()),
        per_month,
    ));
    apply(
        ctx,
        &mut f,
        "its change value by its own pace",
        dates,
        today,
    );
    f.urgency = f.urgency.min(Urgency::NextService);
    f.cost = Cost::at_stake("wear that is ordinary: the part wants ordering in time");
    f.action = format!(
        "Have the part ready: {} of {} by {likely}",
        what(kind).to_lowercase(),
        ctx.station.id(asset)
    );
    if let Asset::Machine(i) = asset {
        f.isolate = true;
        f.cautions = before_the_cabinet(ctx.station, i, ctx.units);
        f.cautions.insert(f.cautions.len() - 1, hand_back());
    } else {
        f.isolate = true;
        f.cautions = at_the_line(ctx.station, asset, ctx.units);
    }
    merge(ctx, f);
}

fn what(kind: Kind) -> &'static str {
    match kind {
        Kind::SeparatorLoaded => "The oil separator",
        Kind::IntakeChoked => "The intake filter",
        Kind::BeltSlack => "The belt tensioner",
        _ => "The filter element",
    }
}
