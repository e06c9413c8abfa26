//! What the header's flow says of the machines: delivery that was lost.
//!
//! Where every machine either stands still, is on load all the time, or cycles by the watch, the
//! header's flow is what they deliver together. Must not know: the cooling.

use super::*;
use crate::history::causes::Cause;
use crate::history::stream::{BY_COUNTERS, BY_HOURS, BY_TEST, BY_WATCH, FELT, TAKEN};
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
};
/// The meter's mean of a week beside what the counters tell.
const BY_THE_COUNTERS: Scale = Scale {
    level: 3.0,
    weather: 0.1,
    // A machine that delivers less is on load longer: load must not explain it away.
    duty: 0.003,
    least_noise: 0.02,
    relative: true,
    learn: 6,
    after: 2,
    wears: None,
    blur: 0.0,
    own: None,
};
/// A reading bears a machine's loss out where the machine carries at least this share of the flow,
/// and so many such readings are asked for.
const CARRIES: f64 = 0.3;
const LEAST_BORNE_OUT: usize = 2;
/// ln K from which lost delivery is told: flow and demand scatter more than other readings.
const SURE: f64 = 7.0;
const GAVE_BEFORE: Formula = Formula {
    name: "flow by hours on load and what the machines gave before",
    equation: "V = Σ V_rated · hours on load/hours run · (1 + own)",
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
    let table = with_drains_tried(ctx, causes(Group::Delivery));
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
    let outcome = Search::of(list, readings.clone()).run();
    for change in outcome.changes.iter().filter(|c| !nothing(c)) {
        let finding = match change.cause.moves {
            Moves::Model(Part::Delivery(i)) => lost(ctx, &readings, &outcome, change, i),
            // The demand may grow: only what the watch tells speaks of the meter.
            _ if change.cause.name == "gauge wrong" && stream.moment == BY_WATCH => {
                gauge_finding(ctx, streams, change)
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
            drifts.push(Drift {
                subject: Asset::Machine(i),
                what: "delivery".to_owned(),
                unit: "1".to_owned(),
                level: 1.0 - change.size,
                per_month: -change.a_day * MONTH,
                limit: None,
                spark: spark_of(change, false).iter().map(|x| 1.0 - x).collect(),
                finding: finding.id.clone(),
                chart: Some(chart),
            });
        }
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
    f.cautions = in_the_room();
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

const TAKEN_MORE: Formula = Formula {
    name: "growth of what the plant takes",
    equation: "V = x · Σ V_rated",
    unit: "m3/min",
    source: "regression of the machines' hours on load, week by week, over hours under pressure; x as a share of capacity",
    mark: Mark::Derived,
};

/// Timed cycles with the plant at rest, as a share of what the machines can deliver.
const TESTS: Scale = Scale {
    level: 0.5,
    weather: 0.005,
    duty: 0.005,
    least_noise: 0.004,
    relative: true,
    learn: 3,
    after: 2,
    wears: None,
    blur: 0.0,
    own: None,
};
/// A smaller growth is not worth a walk through the plant, as a share of capacity.
const LEAST_LEAK: f64 = 0.02;
/// Growth from which it is (common practice, no source).
const LEAK_MATTERS: f64 = 0.05;

const LEAK: Formula = Formula {
    name: "growth of what goes with the plant at rest",
    equation: "V = x · Σ V_rated",
    unit: "m3/min",
    source: "regression of the timed cycles off-shift, x as a share of capacity",
    mark: Mark::Derived,
};

/// What the plant takes on working days by the counters, as a share of what the machines can deliver.
const WORKING: Scale = Scale {
    level: 0.5,
    weather: 0.02,
    duty: 0.05,
    least_noise: 0.01,
    relative: true,
    learn: 6,
    after: 2,
    wears: None,
    blur: 0.0,
    own: None,
};

/// ln K from which more air taken is told: what a plant makes changes by itself (from memory).
const SURELY_MORE: f64 = 5.0;
/// How much less likely a drain passes where drains were tried of late and none did (from memory).
const TRIED_AND_TIGHT: f64 = 0.25;

/// Causes with a passing drain as likely as the drains' tests of late leave it.
fn with_drains_tried(ctx: &Context<'_>, mut causes: Vec<Cause>) -> Vec<Cause> {
    let tried = |i: usize| {
        let id = PointId {
            asset: Asset::Drain(i),
            point: Point::DrainTest,
        };
        ctx.words.get(&id).map(|seen| seen.word != Word::Passing)
    };
    let tests: Vec<Option<bool>> = (0..ctx.station.drains.len()).map(tried).collect();
    let factor = match () {
        () if tests.contains(&Some(false)) => 1.0 / TRIED_AND_TIGHT,
        () if tests.contains(&Some(true)) => TRIED_AND_TIGHT,
        () => 1.0,
    };
    for cause in causes.iter_mut().filter(|c| c.name == "drain passing") {
        cause.prior *= factor;
    }
    causes
}

/// What the plant takes at rest, test by test.
pub(super) fn leakage(ctx: &mut Context<'_>, streams: &Streams, drifts: &mut Vec<Drift>) {
    let place = Asset::Header(0);
    let told = streams
        .of(place, Point::HeaderFlow, BY_TEST)
        .is_some_and(|stream| by_tests(ctx, stream, streams, drifts));
    if !told {
        taken(ctx, streams, drifts);
    }
}

/// The plant takes more air than it did, and no cycle at rest says that its leaks have not grown.
fn taken(ctx: &mut Context<'_>, streams: &Streams, drifts: &mut Vec<Drift>) {
    let of = |moment| streams.of(TAKEN.asset, TAKEN.point, moment);
    let Some(stream) = of(BY_HOURS) else { return };
    let mut readings = vec![(stream, WORKING)];
    readings.extend(of(BY_TEST).map(|tests| (tests, TESTS)));
    let causes = with_drains_tried(ctx, causes(Group::AirTaken));
    let placed = causes.iter().map(|cause| match cause.moves {
        Moves::Unplaced => cause.placed(Moves::First),
        _ => cause.clone(),
    });
    let outcome = Search::of(placed.collect(), readings).run();
    let leaks = |c: &&Change| {
        let short = [Kind::DeliveryShort, Kind::BeltSlack, Kind::IntakeChoked];
        // A machine that delivers less runs longer for the same air.
        c.cause.moves == Moves::All
            && c.size >= LEAST_LEAK
            && c.log_odds > SURELY_MORE
            && !nothing(c)
            && !ctx.findings.iter().any(|f| short.contains(&f.kind))
            && !ctx.findings.iter().any(|f| f.kind == Kind::Leakage)
    };
    let Some(change) = outcome.changes.iter().find(leaks) else {
        return;
    };
    let Some(last) = stream.samples.back() else {
        return;
    };
    let grown = change.size * last.mid;
    let begins = moment(change.course.begins());
    let mut f = draft(ctx, Kind::Leakage, TAKEN.asset, "leakage", begins);
    f.title = format!(
        "The plant takes {} more than it did, by its machines' hours on load: leaks have grown, or more is used; no cycle timed at rest has parted them yet",
        ctx.units.flow(grown),
    );
    f.health = Some(grown_by(change, last, "air taken over before"));
    f.causes = named::causes(ctx, change);
    f.cost = Cost::at_stake(
        "what leaks is paid for day and night; how much of it leaks, a cycle timed at rest tells",
    );
    f.working.push(growth_step(TAKEN_MORE, change, last));
    f.working.extend(evidence_steps(ctx, change));
    f.cautions = in_the_room();
    f.urgency = Urgency::Watch;
    f.next_check = Some(
        "Time a load and an unload of one machine with the plant at rest: leaks show there, and what is made does not"
            .to_owned(),
    );
    f.action = "Time a cycle at rest; if leaks have grown, mark them and mend the largest first"
        .to_owned();
    let drift = leak_drift(ctx, streams, stream, &outcome, change, &f.id);
    drifts.push(Drift {
        what: "air taken over before".to_owned(),
        ..drift
    });
    merge(ctx, f);
}

/// Tells what timed cycles find, and whether they found something.
fn by_tests(
    ctx: &mut Context<'_>,
    stream: &Stream,
    streams: &Streams,
    drifts: &mut Vec<Drift>,
) -> bool {
    let place = Asset::Header(0);
    let mut told = false;
    let outcome = Search::of(
        with_drains_tried(ctx, causes(Group::Leakage)),
        vec![(stream, TESTS)],
    )
    .run();
    let Some(last) = stream.samples.back() else {
        return false;
    };
    for change in outcome.changes.iter().filter(|c| !nothing(c)) {
        if change.size < LEAST_LEAK {
            continue;
        }
        let grown = change.size * last.mid;
        let begins = moment(change.course.begins());
        let mut f = draft(ctx, Kind::Leakage, place, "leakage", begins);
        f.title = format!(
            "{} go with the plant at rest, {} more than before: leaks have grown",
            ctx.units.flow(last.read),
            ctx.units.flow(grown),
        );
        f.evidence = vec![Evidence {
            id: stream.id,
            read: last.read,
            mid: Some(last.read - grown),
            deviations: None,
        }];
        grown_leaks(ctx, &mut f, change, last, grown);
        f.urgency = if change.size < LEAK_MATTERS {
            f.urgency.max(Urgency::Watch)
        } else {
            f.urgency.min(Urgency::NextService)
        };
        f.next_check = Some(
            "Walk the plant at rest and listen: couplings, hoses, drains, valves that pass".into(),
        );
        f.action = "Mark the leaks, mend the largest first, and time the cycle again".to_owned();
        drifts.push(leak_drift(ctx, streams, stream, &outcome, change, &f.id));
        merge(ctx, f);
        told = true;
    }
    told
}

/// How much more goes than before, m³/min.
fn grown_by(change: &Change, last: &Sample, what: &str) -> PartHealth {
    let per_minute = last.mid * 60.0;
    PartHealth {
        what: what.to_owned(),
        unit: "m3/min(ANR)",
        value: change.size * per_minute,
        low: (change.size - 1.96 * change.sigma) * per_minute,
        high: (change.size + 1.96 * change.sigma) * per_minute,
        per_month: Some(change.a_day * MONTH * per_minute),
    }
}

fn growth_step(formula: Formula, change: &Change, last: &Sample) -> Step {
    formula.step(
        format!(
            "x = {} ± {} of {} m³/min",
            round(change.size, 3),
            round(1.96 * change.sigma, 3),
            round(last.mid * 60.0, 2)
        ),
        change.size * last.mid * 60.0,
    )
}

/// Health, causes, price and working of leaks that have grown.
fn grown_leaks(ctx: &Context<'_>, f: &mut Finding, change: &Change, last: &Sample, grown: f64) {
    // One test tells the whole leakage: that stays its health.
    let told_whole = ctx.findings.iter().any(|other| other.id == f.id);
    f.health = (!told_whole).then(|| grown_by(change, last, "leakage over before"));
    f.causes = named::causes(ctx, change);
    let hours = ctx.year.hours_under_pressure();
    price(f, ctx.year.of_air(ctx.station, grown, Some(hours)));
    f.cautions = in_the_room();
    f.working.push(growth_step(LEAK, change, last));
    f.working.extend(evidence_steps(ctx, change));
}

/// The course of leaks that have grown, with its picture.
fn leak_drift(
    ctx: &Context<'_>,
    streams: &Streams,
    stream: &Stream,
    outcome: &Outcome,
    change: &Change,
    finding: &str,
) -> Drift {
    let per_minute = stream.samples.back().map_or(0.0, |s| s.mid) * 60.0;
    let level = outcome.levels.first();
    let scatter = change.scatter(stream.id);
    let mut chart = chart::of_stream(ctx, streams, stream, level, true, scatter);
    chart::grows_on(&mut chart, stream, change, change.size * per_minute / 60.0);
    let spark = spark_of(change, false);
    Drift {
        subject: TAKEN.asset,
        what: "leakage over before".to_owned(),
        unit: "m3/min(ANR)".to_owned(),
        level: change.size * per_minute,
        per_month: change.a_day * MONTH * per_minute,
        limit: None,
        spark: spark.iter().map(|x| x * per_minute).collect(),
        finding: finding.to_owned(),
        chart: Some(chart),
    }
}
