//! A valve that stays open, by the oil at little load.
//!
//! With the plant at rest a machine makes so little heat that its valve is nearly shut: what the oil holds then is
//! the valve's alone, hardly the weather's or the load's. One that stays open lets it fall by many kelvin, long
//! before it shows under load. Must not know: the other groups.

use super::*;
use crate::history::stream::AT_LITTLE_LOAD;

/// The oil at little load about what the valve holds, K (from memory).
const LITTLE: Scale = Scale {
    level: 6.0,
    weather: 1.5,
    duty: 1.0,
    least_noise: 0.8,
    relative: false,
    learn: 3,
    after: 2,
    wears: None,
    blur: 0.0,
    own: None,
    seldom: false,
};
/// A smaller fall is not worth telling, K (common practice, no source).
const LEAST_FALL_K: f64 = 4.0;
/// So many of the newest looks at little load must show at least half of it, where the outlet does not bear the
/// newest out (from memory).
const LEAST_SHOWN: usize = 2;
const HELD: Formula = Formula {
    name: "fall of the oil at little load",
    equation: "ΔT = B/(A + π)",
    unit: "K",
    source: "regression of the looks with the plant at rest, about their own level over what the valve holds",
    mark: Mark::Derived,
};

/// What parts a valve that sticks from other causes.
pub(super) fn read_it_cold(ctx: &Context<'_>, oil: PointId) -> String {
    format!(
        "Read {} some minutes after a cold start, and again after half an hour on load: a valve that sticks shows in both",
        ctx.point_name(oil)
    )
}

/// What to do about a valve that strays.
pub(super) fn have_it_changed(f: &mut Finding, ctx: &Context<'_>, i: usize) {
    let name = &ctx.station.machines[i].id;
    f.action = format!("Have the thermostatic valve of {name} looked at and changed if it sticks");
    isolate(f, ctx, i);
}

pub(super) fn at_little_load(
    ctx: &mut Context<'_>,
    streams: &Streams,
    i: usize,
    drifts: &mut Vec<Drift>,
) {
    let asset = Asset::Machine(i);
    let of = |moment| streams.of(asset, Point::OilTemperature, moment);
    let (Some(little), Some(loaded)) = (of(AT_LITTLE_LOAD), of(Moment::Loaded)) else {
        return;
    };
    let id = format!("{}.thermostat", ctx.station.id(asset));
    let by_load = |f: &&Finding| f.id == id && f.urgency < Urgency::Watch;
    if ctx.findings.iter().any(|f| by_load(&f)) {
        return;
    }
    // The same gauge in its other looks, under load, says whether it is the gauge.
    let mut loaded = loaded.clone();
    let looks = |day: f64| little.samples.iter().any(|s| (s.day - day).abs() < 1e-6);
    loaded.samples.retain(|s| !looks(s.day));
    let readings = vec![(little, LITTLE), (&loaded, OIL)];
    let outcome = Search::of(ctx.tables, ctx.tables.causes(Group::HeldOil), readings).run();
    let valve = |c: &&Change| c.cause.moves == Moves::First && !nothing(c);
    let Some(change) = outcome.changes.iter().find(valve) else {
        return;
    };
    let level = outcome.levels.iter().find(|l| l.place == 0);
    let own = |s: &Sample| s.mid + level.map_or(0.0, |l| l.of(s));
    let shows = |s: &&Sample| s.read - own(s) < 0.5 * change.size;
    let shown = little.samples.iter().rev().take_while(shows).count();
    let Some(last) = little.samples.back() else {
        return;
    };
    let least = if last.borne_out { 1 } else { LEAST_SHOWN };
    if change.size > -LEAST_FALL_K || shown < least {
        return;
    }
    let name = &ctx.station.machines[i].id;
    let began = moment(change.course.begins());
    let mut f = draft(ctx, Kind::Thermostat, asset, "thermostat", began);
    let scatter = change.scatter_at(0);
    f.title = format!(
        "The thermostatic valve of {name} does not close as it did: oil at {} by its own level at little load",
        ctx.units
            .beside(little.id.point, last.read, own(last), scatter),
    );
    f.urgency = if -change.size < FAR_K {
        Urgency::Watch
    } else {
        Urgency::NextService
    };
    f.evidence = vec![Evidence {
        mid: Some(own(last)),
        ..evidence_of(little.id, last)
    }];
    f.health = Some(PartHealth {
        what: "oil held at little load, offset".to_owned(),
        unit: "K",
        value: change.size,
        low: change.size - 1.96 * change.sigma,
        high: change.size + 1.96 * change.sigma,
        per_month: Some(change.a_day * MONTH),
    });
    f.causes = named::causes(ctx, change);
    f.cost = Cost::at_stake("risk, not energy: water stays in cool oil and wears the bearings");
    f.next_check = Some(read_it_cold(ctx, little.id));
    have_it_changed(&mut f, ctx, i);
    f.working.push(HELD.step(
        format!("the newest of {} looks", little.samples.len()),
        change.size,
    ));
    f.working.push(scatter_step(little.id.point, scatter));
    f.working.extend(evidence_steps(ctx, change));
    // Nothing ahead: once wholly open it falls no further than the weather takes it.
    let chart = chart::of_stream(ctx, streams, little, level, false, scatter);
    drifts.push(Drift {
        subject: asset,
        what: "oil held at little load, offset".to_owned(),
        unit: "K".to_owned(),
        level: change.size,
        sigma: change.sigma,
        per_month: change.a_day * MONTH,
        per_month_sigma: change.a_day_sigma * MONTH,
        limit: None,
        spark: spark_of(change, false),
        finding: f.id.clone(),
        chart: Some(chart),
    });
    merge(ctx, f);
}
