//! `short-cycling`: more starts or loads an hour than motor, valves and storage stand.

use judge::finding::Cost;
use judge::safety::before_more_pressure;
use judge::say::{Units, round};
use judge::{Finding, Kind, Urgency};
use physics::working::{Formula, Mark};
use station::model::{Asset, Control};

use super::{Looking, evidence, price};
use crate::figures::{MachineDays, plain};
use station::point::Point;

/// More loads in an hour blow the separator down for nothing (common practice, no source).
const LOADS: u64 = 60;
/// So many hours beyond a limit are told.
const HOURS: u64 = 3;

const COUNTED: Formula = Formula {
    name: "hours of the clock beyond a limit",
    equation: "hours with more than n changes",
    unit: "h",
    source: "the log, counted; limit from `motor.starts_per_hour` or common practice",
    mark: Mark::Derived,
};
const BLOWN_DOWN: Formula = Formula {
    name: "air blown down by cycling",
    equation: "V = V_sep · (p_2 − p_amb)/(R T) · unloads/time, as reference air",
    unit: "m3/min",
    source: "ideal gas",
    mark: Mark::Derived,
};

/// Hours with more than so many.
fn beyond(counts: &[u64], limit: u64) -> u64 {
    let from = usize::try_from(limit)
        .unwrap_or(usize::MAX)
        .saturating_add(1);
    counts.iter().skip(from).sum()
}

pub(super) fn look(looking: &mut Looking<'_>) {
    let mut found = Vec::new();
    for machine in looking.told.machines {
        found.extend(starts(looking, machine).or_else(|| loads(looking, machine)));
    }
    looking.findings.extend(found);
}

fn starts(looking: &Looking<'_>, machine: &MachineDays) -> Option<Finding> {
    let model = looking.station.machines.get(machine.machine)?;
    let limit = model.motor.starts_per_hour.value;
    // A limit of a few to some hundred.
    let hours = beyond(&machine.totals.hours_by_starts, limit.max(0.0) as u64);
    if hours < HOURS {
        return None;
    }
    let worst = machine.totals.whole.worst_starts_per_hour;
    let mut f = base(looking, machine, "starts");
    f.title = format!(
        "{} starts more often than its motor stands in {hours} hours of the log: up to {worst} times an hour, where {} are allowed",
        model.id,
        round(limit, 0)
    );
    f.evidence = vec![evidence(
        Asset::Machine(machine.machine),
        Point::Starts,
        machine.totals.starts as f64,
        None,
    )];
    f.working.push(COUNTED.step(
        format!("more than {} starts; {worst} at most", round(limit, 0)),
        hours as f64,
    ));
    f.urgency = Urgency::ThisWeek;
    f.cost = Cost::at_stake("risk, not energy: the motor's windings overheat");
    Some(f)
}

fn loads(looking: &Looking<'_>, machine: &MachineDays) -> Option<Finding> {
    let model = looking.station.machines.get(machine.machine)?;
    if !matches!(model.control, Control::LoadUnload(_)) {
        return None;
    }
    let hours = beyond(&machine.totals.hours_by_loads, LOADS);
    if hours < HOURS {
        return None;
    }
    let whole = &machine.totals.whole;
    let [stopped, unloaded, loaded] = plain(&whole.hours);
    let mut f = base(looking, machine, "cycles");
    f.title = format!(
        "{} loads more than {LOADS} times an hour in {hours} hours of the log, up to {} times, {} on average: it blows its separator down for nothing and wears its valves",
        model.id,
        whole.worst_cycles_per_hour,
        round(whole.cycles_per_hour.unwrap_or(0.0), 0)
    );
    f.working.push(COUNTED.step(
        format!(
            "more than {LOADS} loads; {} at most",
            whole.worst_cycles_per_hour
        ),
        hours as f64,
    ));
    let run = unloaded + loaded;
    let flow = whole
        .blown_down_m3
        .filter(|_| run > 0.0)
        .map(|m3| m3 / (3600.0 * run));
    if let Some(flow) = flow {
        f.working.push(BLOWN_DOWN.step(
            format!(
                "{} L, {} unloads in {} h run of {} h",
                round(model.separator.volume_m3.value * 1e3, 0),
                machine.hours.iter().map(|h| h.unloads).sum::<u64>(),
                round(run, 1),
                round(stopped + run, 1)
            ),
            60.0 * flow,
        ));
    }
    let priced = looking.year.zip(flow).and_then(|(year, flow)| {
        let hours = year.uses.get(machine.machine).map(|u| u.hours);
        year.of_air(looking.station, flow, hours)
    });
    price(&mut f, priced);
    f.urgency = f.urgency.min(Urgency::NextService);
    Some(f)
}

fn base(looking: &Looking<'_>, machine: &MachineDays, part: &str) -> Finding {
    let i = machine.machine;
    let id = looking.station.id(Asset::Machine(i));
    let mut f = looking.draft(Kind::ShortCycling, Asset::Machine(i), part);
    f.next_check = Some(format!(
        "Log {id}.pressure and the vessel's pressure together: a drop between the machine's sensor and the vessel eats the band"
    ));
    f.action = format!(
        "Look for a choked path between {id} and the vessel, check the vessel's volume, and widen the band of {id} if the plant allows"
    );
    f.cautions = before_more_pressure(looking.station, &[i], Units::Si);
    f
}
