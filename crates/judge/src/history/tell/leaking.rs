//! What the plant takes at rest, and what it takes at work: leaks that have grown, or more use.
//!
//! Must not know: the machines' own delivery, the cooling.

use super::flowing::with_drains_tried;
use super::*;
use crate::findings::leakage::mended;
use crate::history::stream::{BY_HOURS, BY_TEST, TAKEN};

const TAKEN_MORE: Formula = Formula {
    name: "growth of what the plant takes",
    equation: "V = x · Σ V_rated",
    unit: "m3/min",
    source: "regression of the machines' hours on load, week by week, over hours under pressure; x as a share of capacity",
    mark: Mark::Derived,
};

/// Timed cycles with the plant at rest, as a share of what the machines can deliver. Of that tenth or so the
/// weather, which the model reckons with, leaves little (from memory).
const TESTS: Scale = Scale {
    level: 0.5,
    weather: 0.0015,
    duty: 0.0015,
    least_noise: 0.004,
    relative: true,
    learn: 3,
    after: 2,
    wears: None,
    blur: 0.0,
    own: None,
    seldom: false,
};
/// A smaller growth is not worth a walk through the plant, as a share of capacity (common practice, no source).
const LEAST_LEAK: f64 = 0.015;
/// Growth from which it is (common practice, no source).
const LEAK_MATTERS: f64 = 0.05;

const LEAK: Formula = Formula {
    name: "growth of what goes with the plant at rest",
    equation: "V = x · Σ V_rated",
    unit: "m3/min",
    source: "regression of the timed cycles off-shift, x as a share of capacity",
    mark: Mark::Derived,
};

/// What the plant takes by the counters, week by week, as a share of what the machines can deliver.
const WORKING: Scale = Scale {
    weather: 0.02,
    duty: 0.05,
    least_noise: 0.01,
    learn: 6,
    ..TESTS
};

/// ln K from which more air taken is told: what a plant makes changes by itself (from memory).
const SURELY_MORE: f64 = 5.0;

/// What the plant takes at rest, test by test.
pub(super) fn leakage(ctx: &mut Context<'_>, streams: &Streams, drifts: &mut Vec<Drift>) {
    let place = Asset::Header(0);
    // Leaks that were mended since are unknown until the next test.
    let since_mended = |s: &&Stream| {
        let newest = s.samples.back().and_then(|last| moment(last.day));
        mended(ctx).is_none_or(|mended| newest.is_some_and(|t| t >= mended))
    };
    let told = streams
        .of(place, Point::HeaderFlow, BY_TEST)
        .filter(since_mended)
        .is_some_and(|stream| by_tests(ctx, stream, streams, drifts));
    if !told {
        taken(ctx, streams, drifts);
    }
}

/// The plant takes more air than it did, and no cycle at rest says that its leaks have not grown.
fn taken(ctx: &mut Context<'_>, streams: &Streams, drifts: &mut Vec<Drift>) {
    let of = |moment| streams.of(TAKEN.asset, TAKEN.point, moment);
    let Some(stream) = of(BY_HOURS) else { return };
    // One test has told it already, or a machine that delivers less runs longer for the same air.
    let told = [
        Kind::Leakage,
        Kind::DeliveryShort,
        Kind::BeltSlack,
        Kind::IntakeChoked,
    ];
    if ctx.findings.iter().any(|f| told.contains(&f.kind)) {
        return;
    }
    let mut readings = vec![(stream, WORKING)];
    readings.extend(of(BY_TEST).map(|tests| (tests, TESTS)));
    let causes = with_drains_tried(ctx, ctx.tables.causes(Group::AirTaken));
    let placed = causes.iter().map(|cause| match cause.moves {
        Moves::Unplaced => cause.placed(Moves::First),
        _ => cause.clone(),
    });
    let outcome = Search::of(ctx.tables, placed.collect(), readings).run();
    let leaks = |c: &&Change| {
        c.cause.moves == Moves::All
            && c.size >= LEAST_LEAK
            && c.log_odds > SURELY_MORE
            && !nothing(c)
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
    f.cautions = at_leaks(ctx.station, ctx.units);
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
        ctx.tables,
        with_drains_tried(ctx, ctx.tables.causes(Group::Leakage)),
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
        // On one Saturday somebody may have been at work.
        let half = last.read / last.mid - 0.5 * change.size;
        let shows = |s: &&Sample| s.read / s.mid > half;
        let once = stream.samples.iter().rev().take_while(shows).count() < 2;
        f.urgency = if once || change.size < LEAK_MATTERS {
            f.urgency.max(Urgency::Watch)
        } else {
            f.urgency.min(Urgency::NextService)
        };
        let walk = "Walk the plant at rest and listen: couplings, hoses, drains, valves that pass";
        let again = "Time the cycle again and see that nobody uses air meanwhile";
        f.next_check = Some(if once { again } else { walk }.to_owned());
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
    f.cautions = at_leaks(ctx.station, ctx.units);
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
        sigma: change.sigma * per_minute,
        per_month: change.a_day * MONTH * per_minute,
        per_month_sigma: change.a_day_sigma * MONTH * per_minute,
        limit: None,
        spark: spark.iter().map(|x| x * per_minute).collect(),
        finding: finding.to_owned(),
        chart: Some(chart),
    }
}
