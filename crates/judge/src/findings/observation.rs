//! `observation`: a word that wants a look and that no other kind takes up.

mod over_pressure;

use physics::working::Step;
use station::model::{Asset, Fan};
use station::point::{Point, PointId, Word};

use super::{draft, isolate};
use crate::context::{Context, Seen};
use crate::day::{Day, Moment};
use crate::finding::{Cost, Finding, Kind, Urgency};
use crate::safety::{at_a_dryer, at_drains, at_safety_valves, in_the_room};

pub(super) fn look(ctx: &mut Context<'_>) {
    over_pressure::look(ctx);
    let seen: Vec<(PointId, Seen)> = ctx.words.iter().map(|(id, seen)| (*id, *seen)).collect();
    for (id, seen) in seen {
        let said = match id.point {
            Point::Fan => still_fan(ctx, id, seen),
            point => said(point, seen.word),
        };
        if let Some(said) = said {
            let f = finding(ctx, id, seen, &said);
            ctx.findings.push(f);
        }
    }
}

struct Said {
    part: &'static str,
    what: &'static str,
    urgency: Urgency,
    action: &'static str,
    next: &'static str,
    stake: &'static str,
    care: Care,
}

#[derive(Clone, Copy)]
enum Care {
    Cabinet,
    Room,
    SafetyValve,
    Drain,
    Dryer,
}

/// A fan that stands still says something only where it should turn: a constant fan of a machine
/// on load. Any other may be resting.
fn still_fan(ctx: &Context<'_>, id: PointId, seen: Seen) -> Option<Said> {
    let Asset::Machine(i) = id.asset else {
        return None;
    };
    let round = ctx
        .memory
        .recent
        .iter()
        .rev()
        .find(|r| r.time == seen.time)?;
    let day = Day::of(ctx.station, ctx.memory, round).ok()?;
    let constant = ctx.station.machines[i].cooling.fan == Fan::Constant;
    (seen.word == Word::Off && constant && day.moments[i] == Moment::Loaded).then_some(Said {
        part: "fan",
        what: "its fan stood still on load, and it should always turn",
        urgency: Urgency::ThisWeek,
        action: if ctx.station.machines.len() > 1 {
            "Let another machine carry its load, and have fan, its motor and its protection looked at"
        } else {
            "Use less air while it stands still, and have fan, its motor and its protection looked at"
        },
        next: "Read oil and outlet temperature on load; look at the fan from outside the guard",
        stake: "supply: without cooling air it trips, soon in warm weather",
        care: Care::Cabinet,
    })
}

#[expect(clippy::too_many_lines, reason = "a table of words, one row each")]
fn said(point: Point, word: Word) -> Option<Said> {
    use Care::{Cabinet, Drain, Dryer, Room, SafetyValve};
    use Urgency::{NextService, Now, ThisWeek};
    let row = |part, what, urgency, action, next, stake, care| {
        Some(Said {
            part,
            what,
            urgency,
            action,
            next,
            stake,
            care,
        })
    };
    match (point, word) {
        (Point::SafetyValve, Word::Lifted) => row(
            "safety-valve",
            "its safety valve has lifted",
            Now,
            "Stop the machines if the pressure is still near the valve's, find why they did not unload, and have the valve tested before it is trusted again",
            "Compare the vessel's gauge with another and watch one machine unload",
            "safety: a vessel was at its valve's pressure",
            SafetyValve,
        ),
        (Point::SafetyValve, Word::Weeping) => row(
            "safety-valve",
            "its safety valve weeps",
            ThisWeek,
            "Have the valve changed or tested by a licensed person",
            "Compare the vessel's pressure with the valve's set pressure",
            "safety first; it also loses air all day",
            SafetyValve,
        ),
        (Point::Panel, Word::Alarm) => row(
            "panel",
            "the panel shows an alarm",
            Now,
            "Read and write down what it says; find the cause before it is reset",
            "Write the panel's words into the note",
            "supply: it may have tripped",
            Room,
        ),
        (Point::Panel, Word::Message) => row(
            "panel",
            "the panel shows a message",
            NextService,
            "Read it and write it down",
            "Write the panel's words into the note",
            "not known before it is read",
            Room,
        ),
        (Point::Sound, Word::Unusual) => row(
            "sound",
            "it sounds unusual",
            ThisWeek,
            "Listen loaded and unloaded from outside the cabinet; stop it if knocking or metal is heard, and have bearings measured",
            "Say in the note when it sounds: loading, unloading, running down",
            "supply: bearings speak before they fail",
            Room,
        ),
        (Point::Belt, Word::Bad) => row(
            "belt-look",
            "its belts are bad",
            ThisWeek,
            "Change the whole set of belts; check tension after half an hour's run and after a day",
            "Measure motor and air-end speed for slip, on load, without contact and with the guard on",
            "supply: a belt that breaks stops the machine",
            Cabinet,
        ),
        (Point::Belt, Word::Worn) => row(
            "belt-look",
            "its belts are worn",
            NextService,
            "Have a set of belts ready and change them at the next service",
            "Measure motor and air-end speed for slip, on load, without contact and with the guard on",
            "supply: worn belts slip, then break",
            Cabinet,
        ),
        (Point::Mat | Point::CabinetMat, Word::Clogged) => row(
            "mat",
            "its filter mat is clogged",
            ThisWeek,
            "Clean or change the mat, look at the cooler faces behind it",
            "Read oil and outlet temperature on load",
            "risk, not energy: hot oil when the weather turns",
            Cabinet,
        ),
        (Point::Cooler, Word::Clogged) => row(
            "cooler",
            "its cooler is clogged",
            ThisWeek,
            // 29 CFR 1910.242(b), from memory: below 30 psi, with protection.
            "Brush the cooler faces, or blow them against the air's way with less than 2 bar(g) at the nozzle, eyes and lungs protected, never towards people",
            "Read oil and outlet temperature on load",
            "risk, not energy: hot oil when the weather turns",
            Cabinet,
        ),
        (Point::Condenser, Word::Clogged) => row(
            "condenser",
            "its condenser is clogged",
            ThisWeek,
            "Switch it off, lock and tag it, then brush the condenser against the air's way",
            "Read the pressure dew point",
            "risk, not energy: the dryer loses capacity on hot days",
            Dryer,
        ),
        (Point::CondensateLook, Word::Rusty) => row(
            "rust",
            "its condensate is rusty",
            NextService,
            "Let the vessel be looked at inside at its next inspection, and see that its drain passes daily",
            "Look at the water of the drain before and behind",
            "safety in the long run: rust eats the vessel's wall",
            Drain,
        ),
        (Point::DrainTest, Word::Weak) | (_, Word::Dusty | Word::Milky) => None,
        _ => None,
    }
}

fn finding(ctx: &Context<'_>, id: PointId, seen: Seen, said: &Said) -> Finding {
    let name = ctx.station.id(id.asset);
    let mut f = draft(
        ctx,
        Kind::Observation,
        id.asset,
        said.part,
        Some(seen.since),
    );
    f.title = format!("{name}: {}", said.what);
    f.urgency = said.urgency;
    f.action = format!("{name}: {}", lower_first(said.action));
    f.next_check = Some(said.next.to_owned());
    f.cost = Cost::at_stake(said.stake);
    f.working = vec![Step {
        name: ctx.point_name(id),
        formula: "a word that was seen".to_owned(),
        numbers: seen.word.text().to_owned(),
        value: crate::memory::days_between(seen.since, ctx.now),
        unit: "days since it was first seen so".to_owned(),
        source: "observation".to_owned(),
    }];
    match (said.care, id.asset) {
        (Care::Cabinet, Asset::Machine(i)) => {
            isolate(&mut f, ctx, i);
        }
        (Care::Dryer, Asset::Dryer(i)) => {
            f.isolate = true;
            f.cautions = at_a_dryer(ctx.station, i, ctx.units);
        }
        (Care::SafetyValve, _) => f.cautions = at_safety_valves(),
        (Care::Drain, _) => f.cautions = at_drains(),
        (Care::Cabinet | Care::Room | Care::Dryer, _) => f.cautions = in_the_room(),
    }
    f
}

fn lower_first(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_lowercase().chain(chars).collect())
}
