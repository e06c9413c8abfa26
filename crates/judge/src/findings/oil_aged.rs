//! `oil-aged`: the oil has lived its life, by equivalent hours or by its look.

use physics::machine::oil::AGEING;
use physics::working::{Formula, Mark, Step};
use station::model::Asset;
use station::point::{Point, Word};

use super::{draft, isolate};
use crate::context::{Context, Seen};
use crate::cost::date_after;
use crate::finding::{Cost, Finding, Kind, Limit, Urgency};
use crate::say::{grouped, percent, round};

const LIVED: Formula = Formula {
    name: "share of the oil's life",
    equation: "h_eq/life",
    unit: "1",
    source: "`oil.life` of the station file or its default",
    mark: Mark::Derived,
};

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in ctx.screws().collect::<Vec<_>>() {
        let seen = ctx
            .word(Asset::Machine(i), Point::OilLook)
            .filter(|s| matches!(s.word, Word::Dark | Word::Milky | Word::Foaming));
        found.extend(by_look(ctx, i, seen).or_else(|| by_hours(ctx, i)));
    }
    ctx.findings.extend(found);
}

/// Hours since the change: seen in the rounds, or from the task and the counter.
fn age(ctx: &Context<'_>, i: usize) -> Option<(f64, f64, String)> {
    let sum = ctx.memory.oil_age[i];
    let asset = Asset::Machine(i);
    if sum.change_seen {
        return Some((
            sum.hours,
            sum.equivalent,
            "since the change seen in the rounds".to_owned(),
        ));
    }
    let task = ctx
        .station
        .tasks
        .iter()
        .find(|t| t.on == asset && t.what.eq_ignore_ascii_case("change oil"))?;
    let counter = ctx.number(asset, Point::HoursRun)?;
    let hours = counter - task.last_hours?;
    // Before the first round the oil's temperature is not known: those hours count as they are.
    let before = (hours - sum.hours).max(0.0);
    (hours >= 0.0).then(|| {
        (
            hours,
            before + sum.equivalent,
            format!("of which {} h before the first round", grouped(before)),
        )
    })
}

fn by_hours(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let machine = &ctx.station.machines[i];
    let (hours, equivalent, how) = age(ctx, i)?;
    let life = machine.oil.life_h.value;
    let share = equivalent / life;
    if share < 0.9 {
        return None;
    }
    let mut f = base(ctx, i);
    let a_day = ctx.year.uses.get(i).and_then(|u| u.hours_a_day);
    let rate = equivalent / hours.max(1.0);
    let days = a_day.map(|h| (life - equivalent) / (h * rate).max(0.1));
    let date = days.and_then(|d| date_after(ctx.station, ctx.now, d));
    f.title = format!(
        "The oil of {} has lived {} of its {} h: {} h run count as {} h at the temperature that its life is stated for",
        machine.id,
        percent(share),
        grouped(life),
        grouped(hours),
        grouped(equivalent)
    );
    f.urgency = match days {
        Some(days) => Urgency::in_days(days),
        None if share >= 1.0 => Urgency::ThisWeek,
        None => Urgency::NextService,
    };
    f.limit = Some(Limit {
        what: "the oil's life".to_owned(),
        earliest: None,
        likely: date,
        latest: None,
    });
    f.working
        .push(AGEING.step(format!("{} h run, {how}", round(hours, 0)), equivalent));
    f.working.push(LIVED.step(
        format!("{} h of {} h", grouped(equivalent), grouped(life)),
        share,
    ));
    Some(f)
}

fn by_look(ctx: &Context<'_>, i: usize, seen: Option<Seen>) -> Option<Finding> {
    let seen = seen?;
    let machine = &ctx.station.machines[i];
    let mut f = base(ctx, i);
    f.since = Some(seen.since);
    f.title = match seen.word {
        Word::Milky => format!("The oil of {} is milky: there is water in it", machine.id),
        Word::Foaming => format!(
            "The oil of {} foams: air, water or a foreign oil is in it",
            machine.id
        ),
        _ => format!("The oil of {} is dark", machine.id),
    };
    f.urgency = if seen.word == Word::Dark {
        Urgency::NextService
    } else {
        Urgency::ThisWeek
    };
    f.working.push(Step {
        name: "look of the oil".to_owned(),
        formula: "clear in order; dark aged, milky water, foaming air or foreign oil".to_owned(),
        numbers: seen.word.text().to_owned(),
        value: crate::memory::days_between(seen.since, ctx.now),
        unit: "days since it was first seen so".to_owned(),
        source: "observation; common practice, no source".to_owned(),
    });
    if let Some((hours, equivalent, how)) = age(ctx, i) {
        f.working
            .push(AGEING.step(format!("{} h run, {how}", round(hours, 0)), equivalent));
    }
    f.next_check =
        Some("Send a sample of the oil to a laboratory before the whole fill is changed".into());
    match seen.word {
        Word::Milky => milky(&mut f, &machine.id, &fill(ctx, i)),
        Word::Foaming => {
            f.cost = Cost::at_stake(
                "risk, not energy: oil that foams carries no bearing and goes out with the air",
            );
        }
        _ => {}
    }
    Some(f)
}

/// How much oil it takes, if that is told.
fn fill(ctx: &Context<'_>, i: usize) -> String {
    let litres = ctx.station.machines[i].oil.fill_l;
    litres.map_or_else(String::new, |l| format!(" ({})", ctx.units.litres(l)))
}

/// Water in the oil does not come from age but from running too cool: it is let out first.
fn milky(f: &mut Finding, id: &str, fill: &str) {
    f.cost = Cost::at_stake(
        "risk, not energy: water in the oil rusts bearings and breaks the film that carries them",
    );
    f.action = format!(
        "After {id} has stood for some hours, isolated and vented, let the water out at the lowest cock until oil comes; find why it runs too cool (short stretches of load, a valve that does not close, a fan that cools too much); change the oil{fill} if it is still milky after a warm day"
    );
    f.next_check = Some(format!(
        "Read {id}.oil_temperature on load with site.ambient and site.humidity: is it above the dew point in the oil? A laboratory tells the water in a sample"
    ));
}

fn base(ctx: &Context<'_>, i: usize) -> Finding {
    let machine = &ctx.station.machines[i];
    let asset = Asset::Machine(i);
    let mut f = draft(ctx, Kind::OilAged, asset, "oil-age", None);
    f.cost =
        Cost::at_stake("risk, not energy: aged oil leaves varnish on bearings, valve and cooler");
    f.next_check = Some(format!(
        "Look at the oil of {} in the glass: clear, dark, milky or foaming",
        machine.id
    ));
    f.action = format!(
        "Change the oil of {}{} with its filter; never mix oils; old oil is waste to be handed in",
        machine.id,
        fill(ctx, i)
    );
    isolate(&mut f, ctx, i);
    f
}
