//! A drain that gives less and less of the water that falls out.
//!
//! Must not know: the other groups.

use super::*;
use crate::findings::drain_blocked::base;

/// What falls out between two rounds is known by the weather of those two only.
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
};
/// A drain that keeps less than this back may be the weather's doing.
const LEAST_KEPT: f64 = 0.17;
/// Below this it is worth watching only (common practice, no source).
const SOME_KEPT: f64 = 0.25;
/// Keeping so much back it cannot wait for the next service (common practice, no source).
const MUCH_KEPT: f64 = 0.4;

pub(super) fn water(ctx: &mut Context<'_>, streams: &Streams) {
    for i in 0..ctx.station.drains.len() {
        let asset = Asset::Drain(i);
        let Some(stream) = streams.of(asset, Point::Collected, BY_WATCH) else {
            continue;
        };
        let search = Search {
            causes: causes(Group::Water),
            words: Vec::new(),
            streams: vec![(stream, COLLECTED)],
            witnesses: Vec::new(),
        };
        let outcome = search.run();
        let blocked = |c: &&Change| !nothing(c) && c.cause.name == "drain blocked";
        let Some(change) = outcome.changes.iter().find(blocked) else {
            take_back(ctx, stream, &outcome);
            continue;
        };
        let shown = lately(stream, |s| change.shown(0, s, true)).unwrap_or(0.0);
        if shown > -LEAST_KEPT {
            continue;
        }
        if let Some(f) = finding(ctx, i, stream, change, -shown) {
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
    if level.samples < OWN_FROM || off.abs() >= NEWS * level.noise {
        return;
    }
    let by_balance = |f: &&mut Finding| {
        f.subject == stream.id.asset
            && f.kind == Kind::DrainBlocked
            && f.evidence.iter().any(|e| e.id == stream.id)
    };
    for f in ctx.findings.iter_mut().filter(by_balance) {
        f.urgency = Urgency::Watch;
        f.title += STOOD_SO;
    }
}

fn finding(
    ctx: &Context<'_>,
    i: usize,
    stream: &Stream,
    change: &Change,
    kept: f64,
) -> Option<Finding> {
    let last = stream.samples.back()?;
    let began = moment(change.course.begins())?;
    let mut f = base(ctx, i, began);
    let drain = &ctx.station.drains[i].id;
    f.title = format!(
        "{drain} gives {} less of the water that falls out than it did: {} collected of about {} since the round before",
        say::percent(kept),
        ctx.units.litres(last.read),
        ctx.units.litres(last.mid),
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
        low: 1.0 - kept - half,
        high: 1.0 - kept + half,
        per_month: Some(change.a_day * MONTH),
    });
    f.causes = named::causes(ctx, change);
    f.working.push(grown_step(change));
    f.working.extend(evidence_steps(ctx, change));
    Some(f)
}
