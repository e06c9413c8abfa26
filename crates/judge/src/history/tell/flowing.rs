//! What the header's flow says of the machines: delivery that was lost.
//!
//! Where every machine either stands still, is on load all the time, or cycles by the watch, the
//! header's flow is what they deliver together. Must not know: the cooling.

use super::*;
use crate::history::causes::Cause;
use crate::history::stream::{BY_COUNTERS, BY_WATCH, FELT};
use crate::history::wear::division;
use station::point::Word;

const BY_THE_WATCH: Scale = Scale {
    level: 0.06,
    weather: 0.01,
    duty: 0.01,
    least_noise: 0.02,
    relative: true,
    learn: 3,
    after: 2,
    wears: None,
    blur: 0.0,
    own: None,
    seldom: false,
};
/// The meter's mean of a week beside what the counters tell.
const BY_THE_COUNTERS: Scale = Scale {
    level: 3.0,
    weather: 0.1,
    // A machine that delivers less is on load longer: load must not explain it away.
    duty: 0.003,
    learn: 6,
    ..BY_THE_WATCH
};
/// A reading bears a machine's loss out where the machine carries at least this share of the flow,
/// and so many such readings are asked for.
const CARRIES: f64 = 0.3;
const LEAST_BORNE_OUT: usize = 2;
/// ln K from which lost delivery is told: flow and demand scatter more than other readings.
const SURE: f64 = 7.0;
const GAVE_BEFORE: Formula = Formula {
    name: "flow by hours on load and what the machines gave before",
    equation: "V = Σ V_rated · hours on load/hours under pressure · (1 + own)",
    unit: "m3/min",
    source: "mass balance; own: the level that regression of earlier rounds finds over the plates",
    mark: Mark::Derived,
};
/// Less than this share is proven perhaps, but not worth telling.
const LEAST_LOSS: f64 = 0.03;
/// From here on it wants looking into at the next service.
const LOSS_MATTERS: f64 = 0.08;

pub(super) fn delivery(ctx: &mut Context<'_>, streams: &Streams, drifts: &mut Vec<Drift>) {
    let readings: Vec<(&Stream, Scale)> = (0..ctx.station.headers.len())
        .map(|h| {
            let of = |moment| streams.of(Asset::Header(h), Point::HeaderFlow, moment);
            [
                of(BY_WATCH).map(|s| (s, to_its_division(s, BY_THE_WATCH))),
                of(BY_COUNTERS).map(|s| (s, BY_THE_COUNTERS)),
            ]
        })
        .find(|pair| pair.iter().any(Option::is_some))
        .into_iter()
        .flatten()
        .flatten()
        .collect();
    let Some((stream, _)) = readings.first().copied() else {
        return;
    };
    let table = with_drains_tried(ctx, ctx.tables.causes(Group::Delivery));
    let mut list = Vec::new();
    for cause in &table {
        if cause.moves != Moves::Unplaced {
            list.push(cause.clone());
            continue;
        }
        for i in 0..ctx.station.machines.len().min(FELT) {
            let driven = cause.name != "belt slipping" || ctx.station.machines[i].belt.is_some();
            if driven {
                list.push(cause.placed(Moves::Model(Part::Delivery(i))));
            }
        }
    }
    let outcome = Search::of(ctx.tables, list, readings.clone()).run();
    for change in outcome.changes.iter().filter(|c| !nothing(c)) {
        let finding = match change.cause.moves {
            Moves::Model(Part::Delivery(i)) => lost(ctx, &readings, &outcome, change, i),
            // The demand may grow: only what the watch tells speaks of the meter.
            _ if change.cause.name == "gauge wrong" && stream.moment == BY_WATCH => {
                gauge_finding(ctx, streams, change, &outcome.levels)
            }
            // A drain that passes is found by its test and by its sound.
            _ => None,
        };
        let Some(finding) = finding else { continue };
        if let Moves::Model(Part::Delivery(i)) = change.cause.moves {
            let (place, stream) = speaks_most(&readings, change, i);
            let level = outcome.levels.iter().find(|l| l.place == place);
            let scatter = change.scatter_at(place);
            let mut chart = chart::of_stream(ctx, streams, stream, level, true, scatter);
            let shown = stream
                .samples
                .back()
                .map_or(0.0, |s| change.shown(place, s, true) * s.mid);
            chart::grows_on(&mut chart, stream, change, shown);
            drifts.push(drift(
                (Asset::Machine(i), "delivery", "1"),
                change,
                (1.0 - change.size, 1.0, -1.0),
                (&finding, chart),
            ));
        }
        // What the flow says is more than what an outlet lets suspect.
        let suspected = |f: &Finding| {
            f.id == finding.id
                && f.evidence
                    .iter()
                    .all(|e| e.id.point == Point::OutletTemperature)
        };
        ctx.findings.retain(|f| !suspected(f));
        merge(ctx, finding);
    }
}

/// A meter tells no flow finer than its division, however often it shows the same: rounding's standard
/// deviation is a division over √12 (uniform distribution, textbook).
fn to_its_division(stream: &Stream, scale: Scale) -> Scale {
    let division = division(stream.samples.iter().map(|s| s.read));
    let usual = usual(stream.samples.iter().map(|s| s.mid));
    Scale {
        least_noise: scale.least_noise.max(division / usual / 12.0_f64.sqrt()),
        ..scale
    }
}

/// Readings since a change began of which a machine carried its part.
fn borne_out(stream: &Stream, change: &Change, i: usize) -> usize {
    let begins = change.course.begins();
    let carries = |s: &&Sample| Stream::feels(Part::Delivery(i), s).abs() > CARRIES * s.mid;
    let since = stream.samples.iter().filter(|s| s.day >= begins);
    since.filter(carries).count()
}

/// The stream with most readings that bear a machine's loss out, and its place.
fn speaks_most<'a>(
    readings: &[(&'a Stream, Scale)],
    change: &Change,
    i: usize,
) -> (usize, &'a Stream) {
    let most = (0..readings.len()).max_by_key(|&n| borne_out(readings[n].0, change, i));
    let place = most.unwrap_or(0);
    (place, readings[place].0)
}

fn lost(
    ctx: &Context<'_>,
    readings: &[(&Stream, Scale)],
    outcome: &Outcome,
    change: &Change,
    i: usize,
) -> Option<Finding> {
    let borne_out: usize = readings.iter().map(|(s, _)| borne_out(s, change, i)).sum();
    if change.size < LEAST_LOSS || change.log_odds < SURE || borne_out < LEAST_BORNE_OUT {
        return None;
    }
    let (place, stream) = speaks_most(readings, change, i);
    let last = stream.samples.back()?;
    let level = outcome.levels.iter().find(|l| l.place == place);
    // What the machines on load should give by their plates, and with what they have always given more.
    let own = last.mid * (1.0 + level.map_or(0.0, |l| l.offset));
    let half = change.scatter_at(place) * last.mid;
    let machine = &ctx.station.machines[i];
    let mut f = draft(
        ctx,
        Kind::DeliveryShort,
        Asset::Machine(i),
        "delivery",
        moment(change.course.begins()),
    );
    f.title = format!(
        "{} delivers {} less than it did, by all rounds: {} at the header by the machines' hours on load and what they gave before",
        machine.id,
        say::percent(change.size),
        ctx.units.beside(stream.id.point, last.read, own, half),
    );
    f.evidence = vec![Evidence {
        id: stream.id,
        read: last.read,
        mid: Some(own),
        deviations: None,
    }];
    f.health = Some(PartHealth {
        what: "air-end delivery".to_owned(),
        unit: "1",
        value: 1.0 - change.size,
        low: 1.0 - change.size - 1.96 * change.sigma,
        high: 1.0 - change.size + 1.96 * change.sigma,
        per_month: Some(-change.a_day * MONTH),
    });
    f.causes = named::causes(ctx, change);
    f.urgency = if change.size < LOSS_MATTERS {
        Urgency::Watch
    } else {
        Urgency::NextService
    };
    let worn = MachineHealth {
        delivery: (1.0 - change.size).clamp(0.2, 1.0),
        ..MachineHealth::NEW
    };
    price(
        &mut f,
        ctx.year
            .of_health(ctx.station, i, &worn, &MachineHealth::NEW),
    );
    f.next_check = Some(format!(
        "Time a load and an unload of {} while it runs alone, read its intake drop and, with the guard on and without contact, its motor and air-end speed",
        machine.id
    ));
    f.action = format!(
        "Look at intake filter, belt and minimum-pressure valve of {}; if they are right, have the air end measured",
        machine.id
    );
    isolate(&mut f, ctx, i);
    f.working.push(GAVE_BEFORE.step(
        format!(
            "{} m³/min by the plates, {} over them before",
            round(last.mid * 60.0, 2),
            say::percent(own / last.mid - 1.0)
        ),
        own * 60.0,
    ));
    f.working.push(scatter_step(stream.id.point, half));
    f.working.push(grown_step(change));
    f.working.extend(evidence_steps(ctx, change));
    Some(f)
}

/// How much less likely a drain passes where drains were tried of late and none did (from memory).
const TRIED_AND_TIGHT: f64 = 0.25;

/// Causes with a passing drain as likely as the drains' tests of late leave it.
pub(super) fn with_drains_tried(ctx: &Context<'_>, mut causes: Vec<Cause>) -> Vec<Cause> {
    let tried = |i: usize| {
        let id = PointId {
            asset: Asset::Drain(i),
            point: Point::DrainTest,
        };
        ctx.words.get(&id).map(|seen| seen.word != Word::Passing)
    };
    let tests: Vec<Option<bool>> = (0..ctx.station.drains.len()).map(tried).collect();
    let factor = if tests.contains(&Some(false)) {
        1.0 / TRIED_AND_TIGHT
    } else if tests.contains(&Some(true)) {
        TRIED_AND_TIGHT
    } else {
        1.0
    };
    for cause in causes.iter_mut().filter(|c| c.name == "drain passing") {
        cause.prior *= factor;
    }
    causes
}
