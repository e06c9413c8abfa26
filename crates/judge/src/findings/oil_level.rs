//! `oil-level`: the oil stands out of its band.

use physics::working::Step;
use station::model::Asset;
use station::point::{Point, PointId, Word};

use super::draft;
use crate::context::Context;
use crate::day::Moment;
use crate::finding::{Cost, Kind, Urgency};
use crate::safety::{before_the_cabinet, hand_back};

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in ctx.screws().collect::<Vec<_>>() {
        let asset = Asset::Machine(i);
        let Some(seen) = ctx.word(asset, Point::OilLevel) else {
            continue;
        };
        let moment = moment_at(ctx, i, seen.time);
        let machine = &ctx.station.machines[i];
        let stopped = moment == Some(Moment::Stopped);
        let (title, urgency) = match seen.word {
            Word::Low => (
                format!(
                    "The oil of {} is low{}",
                    machine.id,
                    if stopped {
                        ", even stopped, when it stands highest"
                    } else {
                        ""
                    }
                ),
                if stopped {
                    Urgency::Now
                } else {
                    Urgency::ThisWeek
                },
            ),
            // Stopped, the oil runs back and stands higher than running: high is no news then.
            Word::High if moment.is_some() && !stopped => (
                format!(
                    "The oil of {} stands high while it runs: oil will go over with the air",
                    machine.id
                ),
                Urgency::NextService,
            ),
            Word::High if moment.is_none() => {
                let id = PointId {
                    asset,
                    point: Point::OilLevel,
                };
                let name = ctx.point_name(id);
                ctx.skip(
                    &name,
                    "stopped it stands higher than running, and `state` was not read",
                );
                continue;
            }
            _ => continue,
        };
        let mut f = draft(ctx, Kind::OilLevel, asset, "oil-level", Some(seen.since));
        f.title = title;
        f.urgency = urgency;
        f.working = vec![Step {
            name: "oil level".to_owned(),
            formula: "low, in band or high, by the state when read".to_owned(),
            numbers: format!("{} while {}", seen.word.text(), said(moment)),
            value: f64::from(u8::from(seen.word == Word::High)),
            unit: "1 high, 0 low".to_owned(),
            source: "observation".to_owned(),
        }];
        f.cost = Cost::at_stake(
            "risk, not energy: a dry air end seizes, a flooded separator carries oil over",
        );
        f.next_check = Some(format!(
            "Read {}.oil_level again some minutes after it stopped, and look for oil under the machine",
            machine.id
        ));
        f.action = if seen.word == Word::Low {
            format!(
                "Top {} up with the same oil{} once it is stopped and without pressure; oils are never mixed; find where it went",
                machine.id,
                machine
                    .oil
                    .grade
                    .as_ref()
                    .map(|g| format!(" ({g})"))
                    .unwrap_or_default()
            )
        } else {
            format!(
                "Let oil out of {} to its band once it is stopped and without pressure",
                machine.id
            )
        };
        f.isolate = true;
        f.cautions = before_the_cabinet(ctx.station, i, ctx.units);
        f.cautions.insert(
            0,
            "Never open the filler under pressure: hot oil jets out".to_owned(),
        );
        f.cautions.insert(f.cautions.len() - 1, hand_back());
        found.push(f);
    }
    ctx.findings.extend(found);
}

/// What the machine did when the level was read.
fn moment_at(ctx: &Context<'_>, i: usize, time: jiff::Timestamp) -> Option<Moment> {
    let round = ctx.memory.recent.iter().rev().find(|r| r.time == time)?;
    let day = crate::day::Day::of(ctx.station, ctx.memory, round).ok()?;
    Some(day.moments[i]).filter(|m| *m != Moment::Unknown)
}

fn said(moment: Option<Moment>) -> &'static str {
    match moment {
        Some(Moment::Loaded) => "loaded",
        Some(Moment::Unloaded) => "unloaded",
        Some(Moment::Stopped) => "stopped",
        Some(Moment::Unknown) | None => "in a state that was not read",
    }
}
