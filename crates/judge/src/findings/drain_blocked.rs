//! `drain-blocked`: a drain that passes less water than falls out, or says so when tried.

use station::forward::{Health, expect};
use station::model::{Asset, DrainKind};
use station::point::{Point, PointId, Word};
use station::round::Round;

use super::draft;
use crate::context::{Context, Seen};
use crate::day::Day;
use crate::finding::{Cost, Evidence, Finding, Kind, Urgency};
use crate::memory::days_between;
use crate::safety::{at_an_open_drain, at_drains};
use crate::say::round;
use crate::water::{Debt, debt};
use physics::working::Step;

/// Owing less than this, a drain that passes nothing may be in order, L.
const NOTHING_OWED_L: f64 = 0.2;
/// Owing less than this, nothing can be told from what was collected, L.
const LEAST_OWED_L: f64 = 1.5;
/// With a fan of which nobody knows how long it ran, so many standard deviations must lack before more than
/// watching is asked for (from memory).
const SURE_BY_A_GUESS: f64 = 4.5;

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    let mut lacking = Vec::new();
    for i in 0..ctx.station.drains.len() {
        let asset = Asset::Drain(i);
        let tried = ctx.word(asset, Point::DrainTest);
        let collected = ctx.number_at(asset, Point::Collected);
        match tried {
            Some(s) if matches!(s.word, Word::Nothing | Word::Alarm | Word::Weak) => {
                found.extend(by_trial(ctx, i, s));
            }
            _ => match collected {
                Some((litres, time)) => {
                    let round = ctx.memory.recent.iter().rev().find(|r| r.time == time);
                    found.extend(round.and_then(|r| by_balance(ctx, i, litres, r)));
                }
                None if tried.is_none() => lacking.push(ctx.station.drains[i].id.clone()),
                None => {}
            },
        }
    }
    ctx.findings.extend(found);
    for id in lacking {
        ctx.skip(
            &id,
            &format!("neither `{id}.test` nor `{id}.collected` was read"),
        );
    }
}

/// A blocked drain, with what to do about it.
pub(crate) fn base(ctx: &Context<'_>, i: usize, since: jiff::Timestamp) -> Finding {
    let drain = &ctx.station.drains[i];
    let mut f = draft(
        ctx,
        Kind::DrainBlocked,
        Asset::Drain(i),
        "flow",
        Some(since),
    );
    f.action = match drain.kind {
        DrainKind::Float | DrainKind::LevelSensed => format!(
            "Let the water of {} out by hand; shut {} off, vent it and lock its supply, then clean its strainer and the drain itself; try it again under pressure",
            ctx.station.id(drain.on),
            drain.id
        ),
        DrainKind::Timer { .. } => format!(
            "Shut {} off, vent it and lock its supply, then clean its strainer and valve; look at its clock, try it again under pressure",
            drain.id
        ),
        DrainKind::Manual => format!(
            "Open {} slowly until air comes, and daily from now on",
            drain.id
        ),
    };
    f.cost = Cost::at_stake("risk, not energy: the water goes on with the air to the plant");
    f.next_check = Some(format!(
        "Try {} under pressure and hold a bucket under it",
        drain.id
    ));
    f.cautions = match drain.kind {
        DrainKind::Manual => at_drains(),
        _ => at_an_open_drain(ctx.station, i, ctx.units),
    };
    f
}

/// What has not come out since the drain last passed water, and where it is now.
fn where_it_is(ctx: &Context<'_>, i: usize, owed: Option<&Debt>) -> String {
    let drain = &ctx.station.drains[i];
    let from = ctx.station.id(drain.on);
    let next = ctx
        .station
        .air_path
        .assets()
        .into_iter()
        .skip_while(|a| *a != drain.on)
        .skip(1)
        .find(|a| ctx.station.is_drained(*a));
    let stands = owed.map_or(format!("the water stands in {from} or has gone on"), |d| {
        let litres = ctx.units.litres(d.litres);
        format!("about {litres} stand in {from} or have gone on")
    });
    match next {
        Some(next) => format!("{stands} towards {}", ctx.station.id(next)),
        None => format!("{stands} to the plant"),
    }
}

fn by_trial(ctx: &Context<'_>, i: usize, seen: Seen) -> Option<Finding> {
    let drain = &ctx.station.drains[i];
    let mut f = base(ctx, i, seen.since);
    let round = ctx.memory.recent.iter().rev().find(|r| r.time == seen.time);
    // Everything since the last round that saw it pass water.
    let owed = round.and_then(|r| owed_since_it_passed(ctx, i, r));
    // A drain that owes nothing has nothing to pass: dry frost, or machines that stood still.
    let dry = match &owed {
        Some(debt) => debt.litres < NOTHING_OWED_L,
        None => round.is_some_and(|r| nothing_falls(ctx, i, r)),
    };
    if dry && seen.word != Word::Alarm {
        return None;
    }
    f.title = match seen.word {
        Word::Alarm => format!(
            "{} shows its alarm; {}",
            drain.id,
            where_it_is(ctx, i, owed.as_ref())
        ),
        Word::Weak => format!("{} passes water weakly when tried", drain.id),
        _ => format!(
            "{} passes nothing when tried; {}",
            drain.id,
            where_it_is(ctx, i, owed.as_ref())
        ),
    };
    f.urgency = match seen.word {
        Word::Weak => Urgency::NextService,
        _ => Urgency::ThisWeek,
    };
    f.working = owed.into_iter().map(|d| d.step).collect();
    f.working.push(Step {
        name: format!("{} when tried", drain.id),
        formula: "a drain that works answers strongly".to_owned(),
        numbers: seen.word.text().to_owned(),
        value: days_between(seen.since, ctx.now),
        unit: "days since it was first seen so".to_owned(),
        source: "observation".to_owned(),
    });
    Some(f)
}

/// Whether machines run at a round and the model lets no water fall out where this drain is.
fn nothing_falls(ctx: &Context<'_>, i: usize, round: &Round) -> bool {
    let on = ctx.station.drains[i].on;
    let state = Day::of(ctx.station, ctx.memory, round)
        .ok()
        .and_then(|day| expect(ctx.station, &Health::new(ctx.station), &day.conditions).ok());
    state.is_some_and(|state| {
        let runs = state.place(on).is_some_and(|p| p.dry_air.si() > 0.0);
        let falls: f64 = state
            .owed
            .iter()
            .filter(|o| o.on == on)
            .map(|o| o.kg_s)
            .sum();
        runs && falls <= 0.0
    })
}

/// Water owed over the rounds since the drain was last seen to pass.
fn owed_since_it_passed(ctx: &Context<'_>, i: usize, round: &Round) -> Option<Debt> {
    let asset = Asset::Drain(i);
    let mut sum: Option<Debt> = None;
    for r in ctx
        .memory
        .recent
        .iter()
        .rev()
        .filter(|r| r.time <= round.time)
    {
        if r.word(asset, Point::DrainTest)
            .is_some_and(|w| w == Word::Strong)
        {
            break;
        }
        let Some(part) = debt(ctx, i, r) else {
            continue;
        };
        sum = Some(match sum {
            None => part,
            Some(mut s) => {
                s.litres += part.litres;
                s.sigma = s.sigma.hypot(part.sigma);
                s.since = part.since;
                s.step.value = s.litres;
                s.step.numbers = "summed over the rounds since it last passed water".to_owned();
                s
            }
        });
    }
    sum
}

fn by_balance(ctx: &Context<'_>, i: usize, litres: f64, round: &Round) -> Option<Finding> {
    let owed = debt(ctx, i, round)?;
    if owed.drains.len() > 1 {
        return None;
    }
    let sigma = owed
        .sigma
        .hypot(ctx.sigma(Asset::Drain(i), Point::Collected, litres));
    let z = (litres - owed.litres) / sigma;
    if owed.litres < LEAST_OWED_L || z > -1.96 || litres > 0.5 * owed.litres {
        return None;
    }
    // Water that waits for the drain's own level may come a round later.
    let id = PointId {
        asset: Asset::Drain(i),
        point: Point::Collected,
    };
    let nothing_at_all = litres < 0.1 * owed.litres && z < -4.0;
    if !confirmed(ctx, i, round) && !nothing_at_all {
        return None;
    }
    let mut f = base(ctx, i, round.time);
    let drain = &ctx.station.drains[i];
    f.title = format!(
        "{} gave {} where {} ± {} are owed since the round before; {}",
        drain.id,
        ctx.units.litres(litres),
        ctx.units.litres(owed.litres),
        round_litres(ctx, 1.96 * sigma),
        where_it_is(ctx, i, None)
    );
    f.urgency = if ctx.a_fan_is_guessed() && z > -SURE_BY_A_GUESS {
        Urgency::Watch
    } else {
        Urgency::ThisWeek
    };
    f.evidence = vec![Evidence {
        id,
        read: litres,
        mid: Some(owed.litres),
        deviations: Some(z),
    }];
    f.working = vec![owed.step];
    Some(f)
}

fn round_litres(ctx: &Context<'_>, litres: f64) -> String {
    ctx.units
        .litres(litres)
        .split(' ')
        .next()
        .map_or_else(|| round(litres, 1), str::to_owned)
}

/// Whether the measurement before this one was short too.
fn confirmed(ctx: &Context<'_>, i: usize, round: &Round) -> bool {
    ctx.memory
        .recent
        .iter()
        .rev()
        .filter(|r| r.time < round.time)
        .find_map(|r| Some((r, r.number(Asset::Drain(i), Point::Collected)?)))
        .is_some_and(|(r, litres)| {
            debt(ctx, i, r).is_some_and(|d| litres < d.litres - 1.96 * d.sigma)
        })
}
