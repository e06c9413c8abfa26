//! A drain that gives less and less of the water that falls out.
//!
//! Must not know: the other groups.

use super::*;
use crate::findings::drain_blocked::base;

/// What falls out between two rounds is known by the weather of those two only (from memory).
const COLLECTED: Scale = Scale {
    level: 0.4,
    weather: 0.1,
    duty: 0.1,
    least_noise: 0.06,
    relative: true,
    learn: LEARN,
    after: AFTER,
    wears: None,
    blur: 0.0,
    own: None,
    seldom: false,
};
/// Where a fan follows the oil, what it leaves to fall out bends with weather and load (common practice,
/// no source).
const WITH_A_FAN: Scale = Scale {
    weather: 0.8,
    duty: 0.8,
    least_noise: 0.2,
    ..COLLECTED
};
const FALLEN: Formula = Formula {
    name: "water that fell out since the round before",
    equation: "L = ½ (w_then + w_now) · Σ m_dry · t_loaded, w what falls out of a kilogram of dry air",
    unit: "L",
    source: "the forward model at both rounds",
    mark: Mark::Derived,
};
const FALLEN_SIGMA: Formula = Formula {
    name: "how far that may be off, 95 %",
    equation: "1.96 · √((0.15 L)² + (0.25 ΔL)²), ΔL by which both rounds part",
    unit: "L",
    source: "weather between two rounds",
    mark: Mark::CommonPractice,
};
const KEPT: Formula = Formula {
    name: "water kept back, of its own share",
    equation: "kept = (share given before − share given now)/share given before",
    unit: "1",
    source: "the regression of all rounds",
    mark: Mark::Derived,
};
/// Less than this off its own level may be the weather's doing (common practice, no source).
const LEAST_KEPT: f64 = 0.12;
/// Readings that say what it gives now, and the share of what falls out from which it is not blocked
/// (common practice, no source).
const NEWEST: usize = 5;
const GIVES_MORE: f64 = 1.15;
/// Below this it is worth watching only (common practice, no source).
const SOME_KEPT: f64 = 0.25;
/// A drain that has always given less than this of what falls out is no matter of its own level (common
/// practice, no source).
const LEAST_SHARE: f64 = 0.4;
/// Keeping so much back it cannot wait for the next service (common practice, no source).
const MUCH_KEPT: f64 = 0.4;

pub(super) fn water(ctx: &mut Context<'_>, streams: &Streams) {
    let guessed = ctx.a_fan_is_guessed();
    let follows = |fan: Fan| fan != Fan::Constant;
    let scale = if ctx.station.machines.iter().any(|m| follows(m.cooling.fan)) {
        WITH_A_FAN
    } else {
        COLLECTED
    };
    for i in 0..ctx.station.drains.len() {
        let asset = Asset::Drain(i);
        let Some(stream) = streams.of(asset, Point::Collected, BY_WATCH) else {
            continue;
        };
        let search = Search {
            words: words(ctx, asset),
            ..Search::of(
                ctx.tables,
                ctx.tables.causes(Group::Water),
                vec![(stream, scale)],
            )
        };
        let outcome = search.run();
        let blocked = |c: &&Change| !nothing(c) && c.cause.name == "drain blocked";
        let change = outcome.changes.iter().find(blocked);
        let Some(change) = change.filter(|_| !guessed) else {
            take_back(ctx, stream, &outcome);
            continue;
        };
        // What the model owes is not what this drain gave while it was well.
        let own = outcome.levels.first().map_or(1.0, |l| 1.0 + l.offset);
        let own = own.max(LEAST_SHARE);
        let shown = lately(stream, |s| change.shown(0, s, true)).unwrap_or(0.0);
        let kept = -shown / own;
        // A drain that gives more than falls out is not blocked, whatever it gave before.
        let newest = stream.samples.iter().rev().take(NEWEST);
        if kept < LEAST_KEPT || usual(newest.map(|s| s.read / s.mid)) >= GIVES_MORE {
            continue;
        }
        if let Some(f) = finding(ctx, i, stream, change, (kept.min(1.0), own)) {
            merge(ctx, f);
        }
    }
}

/// A balance that has never closed at this drain is no news: its water goes on, or some of it is not
/// caught.
fn take_back(ctx: &mut Context<'_>, stream: &Stream, outcome: &Outcome) {
    let (Some(level), Some(last)) = (outcome.levels.first(), stream.samples.back()) else {
        return;
    };
    let off = last.read / last.mid - 1.0 - level.offset;
    if level.samples < OWN_FROM
        || 1.0 + level.offset < LEAST_SHARE
        || off.abs() >= NEWS * level.noise
    {
        return;
    }
    let by_balance = |f: &&mut Finding| {
        f.subject == stream.id.asset
            && f.kind == Kind::DrainBlocked
            && f.evidence.iter().any(|e| e.id == stream.id)
    };
    for f in ctx.findings.iter_mut().filter(by_balance) {
        no_news(f, false);
    }
}

fn finding(
    ctx: &Context<'_>,
    i: usize,
    stream: &Stream,
    change: &Change,
    (kept, own): (f64, f64),
) -> Option<Finding> {
    let last = stream.samples.back()?;
    let began = moment(change.course.begins())?;
    let mut f = base(ctx, i, began);
    let drain = &ctx.station.drains[i].id;
    f.title = format!(
        "{drain} gives {} less of the water that falls out than it did: {} collected where {} ± {} fell out since the round before",
        say::percent(kept),
        ctx.units.litres(last.read),
        ctx.units.litres(last.mid),
        ctx.units.litres(1.96 * last.strays),
    );
    f.urgency = match kept {
        little if little < SOME_KEPT => Urgency::Watch,
        some if some < MUCH_KEPT => Urgency::NextService,
        _ => Urgency::ThisWeek,
    };
    f.evidence = vec![evidence_of(stream.id, last)];
    let half = 1.96 * (change.sigma * kept / change.size.abs().max(1e-9)).abs();
    f.health = Some(PartHealth {
        what: "water given over water fallen, of its own level".to_owned(),
        unit: "1",
        value: 1.0 - kept,
        low: (1.0 - kept - half).max(0.0),
        high: (1.0 - kept + half).min(1.0),
        per_month: Some(change.a_day * MONTH),
    });
    f.causes = named::causes(ctx, change);
    f.working.push(FALLEN.step(
        format!(
            "{} to {}, hours loaded by the counters since the round before",
            ctx.units.litres(last.mid - 1.96 * last.strays),
            ctx.units.litres(last.mid + 1.96 * last.strays)
        ),
        last.mid,
    ));
    f.working.push(FALLEN_SIGMA.step(
        format!("1.96 · {} L", round(last.strays, 2)),
        1.96 * last.strays,
    ));
    f.working.push(KEPT.step(
        format!(
            "{} of the water that falls out, over its own {}",
            round(kept * own, 2),
            round(own, 2)
        ),
        kept,
    ));
    f.working.push(grown_step(change));
    f.working.extend(evidence_steps(ctx, change));
    Some(f)
}
