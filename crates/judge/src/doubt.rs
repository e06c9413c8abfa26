//! Readings of the newest round that the rounds before it make doubtful and that nothing else bears out: digits
//! changed about, another unit, a counter that went faster than the clock.
//!
//! One such reading is asked about and left aside until the next round says the same. What would want action at
//! once if it were right is never left aside. Must not know: kinds of finding.

use jiff::Timestamp;
use physics::working::{Formula, Mark, Step};
use station::forward::DROP_EXPONENT;
use station::model::{Asset, Control, Station};
use station::point::{Point, PointId, Word};
use station::round::{CounterStep, Round, Value, Work};

use crate::day::reading_sigma;
use crate::history::{Far, History, day_of};
use crate::memory::{Memory, STALE_DAYS, days_between};

const FAR_OFF: Formula = Formula {
    name: "how far a reading stands from those before it",
    equation: "(read − expected)/σ, σ = 1.4826 · median |r_i − median r|, at least the gauge's own error",
    unit: "σ",
    source: "median absolute deviation (textbook); asked about from 6 σ on (common practice, no source)",
    mark: Mark::Derived,
};
const TOO_FAST: Formula = Formula {
    name: "how far a counter moved",
    equation: "n_now − n_before",
    unit: "in its own unit",
    source: "hours go no faster than the clock, and no counter goes back",
    mark: Mark::Derived,
};

/// A reading so many times its scatter from those before it is asked about, unless something bears it out (common
/// practice, no source).
const DOUBTED: f64 = 6.0;
/// Another reading that strays so far the same way bears it out (common practice, no source).
const BEARS_OUT: f64 = 2.5;
/// Readings of one gauge that an input is held against, how many there must be, and of how many days (common
/// practice, no source).
const HELD_AGAINST: usize = 12;
const ENOUGH: usize = 3;
const DAYS: f64 = 400.0;
/// A timed cycle strays by this share of itself, one standard deviation (common practice, no source).
const CYCLE_SHARE: f64 = 0.045;
/// Water that was collected goes up and down by so much, one standard deviation of its logarithm (common practice,
/// no source).
const WATER_LOG: f64 = 0.3;
/// Water of less than this part of a day is taken for so much of it (common practice, no source).
const LEAST_DAYS: f64 = 0.15;
/// Weather changes from day to day by so much, one standard deviation, K (common practice, no source).
const FROM_DAY_TO_DAY_K: f64 = 4.0;

/// A reading that is asked about.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Doubt {
    pub(crate) id: PointId,
    pub(crate) time: Timestamp,
    pub(crate) read: f64,
    /// What was to be expected after the readings before it.
    pub(crate) usual: f64,
    /// How far one strays, one standard deviation; nothing for a counter.
    pub(crate) sigma: Option<f64>,
    pub(crate) working: Step,
}

impl Doubt {
    fn of(far: &Far, time: Timestamp) -> Self {
        let working = FAR_OFF.step(
            format!("held against {} readings before it", far.readings),
            far.z(),
        );
        Self {
            id: far.id,
            time,
            read: far.read,
            usual: far.usual,
            sigma: Some(far.sigma),
            working,
        }
    }
}

/// Whether the model takes a point as given: what it expects of the others is wrong where this one is.
fn is_given(point: Point) -> bool {
    point.is_counter()
        || matches!(
            point,
            Point::SiteAmbient
                | Point::SiteHumidity
                | Point::RoomTemperature
                | Point::HeaderFlow
                | Point::MachinePressure
                | Point::FilterDrop
                | Point::DryerDrop
        )
}

/// What of the newest round is doubtful; rounds that a log tells are not walked by anybody.
pub(crate) fn doubts(station: &Station, memory: &Memory, history: &History) -> Vec<Doubt> {
    let Some(round) = memory.latest().filter(|r| r.logged.is_none()) else {
        return Vec::new();
    };
    let mut list = counters(station, memory, round);
    list.extend(timed(memory));
    let mut far = history.far_off(station, round.time);
    far.extend(collected(memory, round));
    let (earlier, far): (Vec<Far>, Vec<Far>) = far.into_iter().partition(|f| f.day.is_some());
    let given = given(station, memory, round, &far);
    if given.is_empty() {
        let doubted = far.iter().filter(|f| doubted(round, f, &far));
        list.extend(doubted.map(|f| Doubt::of(f, round.time)));
    } else {
        // What the model expects with a wrong input says nothing of the others.
        list.extend(given.iter().map(|f| Doubt::of(f, round.time)));
    }
    // What is read now and then stands until it is read again.
    for one in earlier.iter().filter(|f| !is_given(f.id.point)) {
        let at = |r: &&Round| {
            one.day
                .is_some_and(|day| (day_of(r.time) - day).abs() < 1e-6)
        };
        let Some(then) = memory.back(round.time, STALE_DAYS).find(at) else {
            continue;
        };
        let beside: Vec<Far> = earlier
            .iter()
            .filter(|f| f.day == one.day)
            .copied()
            .collect();
        if then.logged.is_none() && doubted(then, one, &beside) {
            list.push(Doubt::of(one, then.time));
        }
    }
    list
}

/// Memory and history without what is doubtful.
pub(crate) fn left_aside(
    (memory, history): (&Memory, &History),
    doubts: &[Doubt],
) -> (Memory, History) {
    let (mut memory, mut history) = (memory.clone(), history.clone());
    for doubt in doubts {
        memory.leave_aside(doubt.id, doubt.time);
        let all = is_given(doubt.id.point);
        history.leave_aside(doubt.time, |id| all || id == doubt.id);
        // A test is no reading of its own in the history.
        if matches!(doubt.id.point, Point::LoadTime | Point::UnloadTime) {
            history.leave_tests_aside(doubt.time);
        }
    }
    (memory, history)
}

/// Whether nothing of the round says the same as a reading that is far off.
fn doubted(round: &Round, one: &Far, all: &[Far]) -> bool {
    let goes_too = |other: &Far| {
        other.id != one.id
            && together(one.id, other.id)
            && other.z() * one.z() > 0.0
            && other.z().abs() > BEARS_OUT
    };
    // A drain that was tried says itself how it does.
    let tried = one.id.point == Point::Collected
        && matches!(
            round.word(one.id.asset, Point::DrainTest),
            Some(Word::Nothing | Word::Weak | Word::Passing)
        );
    one.z().abs() > DOUBTED && !one.said_before && !tried && !all.iter().any(goes_too)
}

/// Whether two readings go up and down together.
fn together(a: PointId, b: PointId) -> bool {
    use Point as P;
    let pressure = |p: Point| {
        matches!(
            p,
            P::MachinePressure | P::VesselPressure | P::HeaderPressure
        )
    };
    let warm = |p: Point| matches!(p, P::OilTemperature | P::OutletTemperature);
    let both = |is: &dyn Fn(Point) -> bool| is(a.point) && is(b.point);
    both(&pressure) || (both(&warm) && a.asset == b.asset)
}

/// Readings that the model takes as given and that are far off, if any: outdoors or the room, the flow, a machine's
/// pressure, a drop.
fn given(station: &Station, memory: &Memory, round: &Round, far: &[Far]) -> Vec<Far> {
    let mut list = Vec::new();
    list.extend(weather(station, memory, round, far));
    let drops = far.iter().filter(|f| {
        matches!(f.id.point, Point::FilterDrop | Point::DryerDrop) && doubted(round, f, far)
    });
    for drop in drops {
        list.push(flow_instead(memory, round, drop).unwrap_or(*drop));
    }
    let flow = |f: &&Far| f.id.point == Point::HeaderFlow && doubted(round, f, far);
    list.extend(far.iter().filter(flow));
    list.dedup_by_key(|f| f.id);
    for (i, machine) in station.machines.iter().enumerate() {
        let id = PointId {
            asset: Asset::Machine(i),
            point: Point::MachinePressure,
        };
        let swing = match &machine.control {
            Control::LoadUnload(b) | Control::StartStop(b) => (b.unload - b.load).si(),
            Control::Modulating(_) | Control::VariableSpeed { .. } => 0.0,
        };
        // A uniform distribution over the band.
        let least = |read: f64| reading_sigma(station, id, read).hypot(swing / 12.0_f64.sqrt());
        let alike = |r: &Round| {
            let state = |r: &Round| r.word(id.asset, Point::MachineState);
            state(r) == state(round)
        };
        let raw = raw(memory, round, id, alike, least);
        list.extend(raw.filter(|f| doubted(round, f, far)));
    }
    list
}

/// The flow, where it jumped further than a drop that does not fit it; a drop goes with more than the flow's square root.
fn flow_instead(memory: &Memory, round: &Round, drop: &Far) -> Option<Far> {
    let mut flows = round.readings.iter().map(|r| r.id);
    let flow = flows.find(|id| id.point == Point::HeaderFlow)?;
    let beside = |id| raw(memory, round, id, |_| true, reading_share);
    let jump = |f: &Far| (f.read.max(f.sigma) / f.usual.max(f.sigma)).ln().abs();
    let (flow, of_drop) = (beside(flow)?, beside(drop.id)?);
    (jump(&flow) * DROP_EXPONENT > jump(&of_drop) && !flow.said_before).then_some(flow)
}

/// Outdoors or the room, where the one does not fit the other: the outlets say which.
fn weather(station: &Station, memory: &Memory, round: &Round, far: &[Far]) -> Option<Far> {
    let of = |asset, point| {
        let id = PointId { asset, point };
        let least = |read: f64| reading_sigma(station, id, read).hypot(FROM_DAY_TO_DAY_K);
        raw(memory, round, id, |_| true, least)
    };
    let outdoors = of(Asset::Site, Point::SiteAmbient);
    let warm = |f: &&Far| f.id.point == Point::OutletTemperature;
    let room = far.iter().find(|f| f.id.point == Point::RoomTemperature);
    let jumped = room.is_some_and(|f| f.z().abs() > DOUBTED && !f.said_before);
    if let Some(room) = room.filter(|_| jumped) {
        let against = |f: &Far| f.z() * room.z() < 0.0 && f.z().abs() > BEARS_OUT;
        let outlets: Vec<&Far> = far.iter().filter(warm).collect();
        let by_outlets = (!outlets.is_empty()).then(|| outlets.iter().any(|f| against(f)));
        let raw_room = of(Asset::Room, Point::RoomTemperature);
        let further = raw_room.map_or(0.0, |f| f.z().abs()) > outdoors.map_or(0.0, |f| f.z().abs());
        return if by_outlets.unwrap_or(further) {
            Some(*room)
        } else {
            outdoors.or(Some(*room))
        };
    }
    // Without a room's thermometer every machine seems to stray the other way.
    let outdoors = outdoors.filter(|f| room.is_none() && f.z().abs() > BEARS_OUT)?;
    let strays = |f: &Far| f.z() * outdoors.z() < 0.0 && f.z().abs() > DOUBTED;
    let all = far.iter().filter(warm).count();
    (all > 0 && far.iter().filter(warm).all(strays)).then_some(outdoors)
}

/// What a reading strays by, as it is drawn beside others of itself (common practice, no source).
fn reading_share(read: f64) -> f64 {
    0.1 * read
}

/// A point's newest reading beside those before it, as they were read.
fn raw(
    memory: &Memory,
    round: &Round,
    id: PointId,
    alike: impl Fn(&Round) -> bool,
    least: impl Fn(f64) -> f64,
) -> Option<Far> {
    let read = round.number(id.asset, id.point)?;
    let before = memory
        .back(round.time, DAYS)
        .skip_while(|r| r.time >= round.time);
    let earlier: Vec<f64> = before
        .filter(|r| alike(r))
        .filter_map(|r| r.number(id.asset, id.point))
        .take(HELD_AGAINST)
        .collect();
    (earlier.len() >= ENOUGH).then(|| Far::beside(id, read, &earlier, least(read)))
}

/// The newest cycle that was timed: nothing but a machine or a demand that is another makes one so much longer.
fn timed(memory: &Memory) -> Option<Doubt> {
    let now = memory.latest()?.time;
    let times = [Point::LoadTime, Point::UnloadTime];
    let ids = |r: &Round| -> Vec<PointId> {
        let ids = r.readings.iter().map(|r| r.id);
        ids.filter(|id| times.contains(&id.point)).collect()
    };
    let mut back = memory.back(now, STALE_DAYS);
    let round = back.find(|r| r.logged.is_none() && !ids(r).is_empty())?;
    let state = |r: &Round, asset| r.word(asset, Point::MachineState);
    let each = ids(round).into_iter().filter_map(|id| {
        let alike = |r: &Round| state(r, id.asset) == state(round, id.asset);
        raw(memory, round, id, alike, |read| CYCLE_SHARE * read)
    });
    let furthest = each.max_by(|a, b| a.z().abs().total_cmp(&b.z().abs()))?;
    let doubted = furthest.z().abs() > DOUBTED && !furthest.said_before;
    // A meter that shows as much more, or less, bears it out.
    let more = (furthest.id.point == Point::LoadTime) == (furthest.z() > 0.0);
    let meter = round.readings.iter().map(|r| r.id);
    let meter = meter.filter(|id| id.point == Point::HeaderFlow);
    let timed = |r: &Round| !ids(r).is_empty();
    let goes_too = |id: PointId| {
        let flow = raw(memory, round, id, timed, |read| CYCLE_SHARE * read);
        flow.is_some_and(|f| f.z().abs() > BEARS_OUT && (f.z() > 0.0) == more)
    };
    let borne_out = meter.into_iter().any(goes_too);
    (doubted && !borne_out).then(|| Doubt::of(&furthest, round.time))
}

/// Water that was collected, by the day: another digit makes ten times as much. Too little is what a drain does that
/// blocks, or a plant at rest.
fn collected(memory: &Memory, round: &Round) -> Vec<Far> {
    let ids = round.readings.iter().map(|r| r.id);
    let of = |id: PointId| {
        let read = memory
            .back(round.time, DAYS)
            .filter_map(|r| Some((r.time, r.number(id.asset, id.point)?)));
        let read: Vec<(Timestamp, f64)> = read.take(HELD_AGAINST + 2).collect();
        let days = |pair: &[(Timestamp, f64)]| days_between(pair[1].0, pair[0].0).max(LEAST_DAYS);
        let a_day: Vec<f64> = read.windows(2).map(|p| p[0].1 / days(p)).collect();
        let (newest, earlier) = a_day.split_first()?;
        if earlier.len() < ENOUGH {
            return None;
        }
        let far = Far::beside(id, *newest, earlier, 0.0);
        let times = days(&read);
        let ratio = (newest.max(f64::MIN_POSITIVE) / far.usual.max(f64::MIN_POSITIVE)).ln();
        let sigma = (times * (newest - far.usual) / ratio * WATER_LOG).abs();
        (ratio > 0.0 && sigma.is_normal()).then_some(Far {
            read: times * newest,
            usual: times * far.usual,
            sigma,
            ..far
        })
    };
    ids.filter(|id| id.point == Point::Collected)
        .filter_map(of)
        .collect()
}

/// The most that a counter moves in an hour; no motor is started every minute, or draws twice its package's power
/// (common practice, no source).
fn most_an_hour(station: &Station, id: PointId) -> f64 {
    match (id.point, id.asset) {
        (Point::Starts, _) => 60.0,
        (Point::MachineEnergy, Asset::Machine(i)) => {
            2.0e-3 * station.machines[i].rated.power.value.si()
        }
        _ => 1.05,
    }
}

/// Counters that moved as no counter can, though nobody wrote that they were replaced.
fn counters(station: &Station, memory: &Memory, round: &Round) -> Vec<Doubt> {
    let jumped = |id: PointId| -> Option<Doubt> {
        let read = round.number(id.asset, id.point)?;
        let replaced = |w: &station::round::WorkDone| {
            w.on == id.asset && w.work == Work::ReplaceCounter(id.point)
        };
        let possible = |s: CounterStep| {
            let hours = 24.0 * days_between(s.since, round.time);
            s.increase <= most_an_hour(station, id) * (hours + 1.0)
        };
        let moved = round.step(id.asset, id.point);
        if moved.is_some_and(possible) || round.done.iter().any(replaced) {
            return None;
        }
        let mut before = memory
            .back(round.time, DAYS)
            .skip_while(|r| r.time >= round.time);
        let (then, usual) = before.find_map(|r| Some((r.time, r.number(id.asset, id.point)?)))?;
        let hours = 24.0 * days_between(then, round.time);
        let working = TOO_FAST.step(
            format!("in {hours:.0} h since it was last read, at {usual:.0}"),
            read - usual,
        );
        Some(Doubt {
            id,
            time: round.time,
            read,
            usual,
            sigma: None,
            working,
        })
    };
    let read = round.readings.iter().filter_map(|r| match r.value {
        Value::Number(_) if r.id.point.is_counter() => Some(r.id),
        _ => None,
    });
    read.filter_map(jumped).collect()
}
