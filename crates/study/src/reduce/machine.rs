//! The state of one machine over time: time, energy and changes of state of each hour.
//!
//! A power changes the state only when it passes a level by half its band, and a new state counts
//! only if it lasts: else its time goes to the state before. A gap ends a state, and what follows
//! begins anew without a change being counted.
//!
//! Stopped, unloaded and loaded are told first; [`Finer`] then parts unloaded from blowing down, and
//! loaded from throttled or slowed.
//!
//! Must not know: where the powers come from.

use super::Series;
use super::days::Hour;
use super::finer::Finer;
use super::levels::Counts;
use super::watch::Watch;
use crate::figures::{Levels, MachineHour, STATES, State};
use station::model::Machine;

/// A state that lasts a shorter time is none, µs (common practice, no source).
const SHORTEST: i64 = 2_000_000;

/// What one stretch adds to one hour.
#[derive(Debug, Clone, Copy)]
struct Part {
    hour: Hour,
    from: i64,
    /// The power at its start.
    power: f64,
    micros: i64,
    /// Twice the energy, J.
    joules: f64,
}

/// A state that has not lasted yet.
#[derive(Debug, Clone)]
struct Candidate {
    state: State,
    since: i64,
    hour: Hour,
    parts: Vec<Part>,
}

/// One hour, as it grows.
#[derive(Debug, Clone, Copy)]
struct Open {
    hour: Hour,
    micros: [i64; STATES],
    joules: [f64; STATES],
    loads: u64,
    unloads: u64,
    starts: u64,
    stops: u64,
}

impl Open {
    /// So much belongs to the second of the states.
    fn moves(&mut self, (from, to): (State, State), micros: i64, joules: f64) {
        self.micros[from.index()] -= micros;
        self.joules[from.index()] -= joules;
        self.micros[to.index()] += micros;
        self.joules[to.index()] += joules;
    }
}

/// The last row.
#[derive(Debug, Clone, Copy)]
struct Last {
    time: i64,
    power: f64,
    hour: Hour,
}

/// The states of one machine.
#[derive(Debug, Clone)]
pub(crate) struct States {
    levels: Levels,
    finer: Finer,
    /// Time that was told with the power clear of the levels, and all, µs.
    clear: (i64, i64),
    moved: u64,
    /// By which the levels are looked at again each night.
    watch: Watch,
    hours: Vec<Open>,
    state: Option<State>,
    candidate: Option<Candidate>,
    last: Option<Last>,
}

/// A state to go back to.
#[derive(Debug, Clone)]
pub(crate) struct Mark {
    hours: usize,
    /// The last of them, which may still change.
    open: Vec<Open>,
    levels: Levels,
    finer: Finer,
    clear: (i64, i64),
    moved: u64,
    watch: Watch,
    state: Option<State>,
    candidate: Option<Candidate>,
    last: Option<Last>,
}

impl States {
    pub(crate) fn new(levels: Levels, machine: &Machine) -> Self {
        Self {
            levels,
            finer: Finer::of(machine),
            clear: (0, 0),
            moved: 0,
            watch: Watch::new(machine, levels),
            hours: Vec::new(),
            state: None,
            candidate: None,
            last: None,
        }
    }

    pub(crate) fn levels(&self) -> Levels {
        self.levels
    }

    /// From here on its power is known, and these are the levels.
    pub(crate) fn learned(&mut self, levels: Levels) {
        self.levels = levels;
    }

    /// How sure the states are, 0…1.
    pub(crate) fn confidence(&self) -> f64 {
        let (clear, all) = self.clear;
        if all > 0 {
            clear as f64 / all as f64
        } else {
            0.0
        }
    }

    /// A row whose state is told by signals, and what its power says beside them.
    pub(crate) fn agrees(&mut self, power: Option<f64>, state: State, step: f64) {
        // Well below an hour.
        let micros = (step * 1e6) as i64;
        let agrees = power.is_none_or(|power| {
            let (low, high) = self.levels.bounds(state);
            low <= power && power <= high
        });
        self.clear.0 += if agrees { micros } else { 0 };
        self.clear.1 += micros;
    }

    /// How often the levels moved.
    pub(crate) fn moved(&self) -> u64 {
        self.moved
    }

    fn hour(&mut self, hour: Hour) -> &mut Open {
        // A stretch that was held back may belong to an hour before the last.
        let at = self
            .hours
            .iter()
            .rposition(|open| open.hour == hour)
            .unwrap_or_else(|| {
                self.hours.push(Open {
                    hour,
                    micros: [0; STATES],
                    joules: [0.0; STATES],
                    loads: 0,
                    unloads: 0,
                    starts: 0,
                    stops: 0,
                });
                self.hours.len() - 1
            });
        &mut self.hours[at]
    }

    fn pay(&mut self, state: State, parts: &[Part]) {
        for part in parts {
            let (finer, levels) = (self.finer, self.levels);
            let (fine, until) = finer.lasting(state, part.from, part.power, &levels);
            let open = self.hour(part.hour);
            open.micros[fine.index()] += part.micros;
            open.joules[fine.index()] += part.joules;
            let over = part.from.saturating_add(part.micros).saturating_sub(until);
            if over > 0 && until > part.from + 1 {
                let joules = part.joules * over as f64 / part.micros.max(1) as f64;
                let next = finer.state(state, until, part.power, &levels);
                open.moves((fine, next), over, joules);
            }
        }
    }

    /// A new day: the levels are looked at again.
    fn look_again(&mut self, hour: Hour) {
        if self
            .hours
            .last()
            .is_some_and(|open| open.hour.date != hour.date)
            && let Some(levels) = self.watch.night(&self.levels)
        {
            self.levels = levels;
            self.moved += 1;
        }
    }

    /// Adds rows of one hour, with the state told by the power.
    pub(crate) fn add(&mut self, hour: Hour, rows: Series<'_>) {
        let mut at = 0;
        self.look_again(hour);
        while let Some((time, power, step)) = rows.part(at..at + 1).iter().next() {
            let before = self.candidate.as_ref().map(|c| c.state).or(self.state);
            let state = self.levels.state(power, before.filter(|_| step > 0.0));
            self.watch.counts.add(power);
            if step > 0.0
                && let Some(last) = self.last
            {
                let clear = self.levels.clear_of(power);
                self.clear.0 += if clear { time - last.time } else { 0 };
                self.clear.1 += time - last.time;
            }
            self.step(hour, time, power, step, state);
            at += 1;
            if let (Some(state), None) = (self.state, &self.candidate) {
                at += self.stay(state, rows.part(at..rows.rows()));
            }
        }
    }

    /// Adds the rows in which the state stays; how many there are. The last row is of their hour.
    fn stay(&mut self, state: State, rows: Series<'_>) -> usize {
        let Some(mut last) = self.last else {
            return 0;
        };
        let (low, high) = self.levels.bounds(state);
        let (finer, levels, mut clear) = (self.finer, self.levels, self.clear);
        let mut counts = std::mem::replace(&mut self.watch.counts, Counts::new(0.0));
        let open = self.hour(last.hour);
        let mut count = 0;
        let mut rows = rows.iter().peekable();
        while let Some(&(time, power, step)) = rows.peek() {
            // As long as the finer state is known to stay, its sums are at hand.
            let (fine, until) = finer.lasting(state, last.time, last.power, &levels);
            let at = fine.index();
            let (first, mut joules, before) = (last.time, open.joules[at], count);
            let (mut time, mut power, mut step) = (time, power, step);
            let mut one = (0, 0.0, power);
            while step > 0.0 && low <= power && power <= high && last.time < until {
                let stood = time - last.time;
                one = (stood, (last.power + power) * step, last.power);
                joules += one.1;
                clear.0 += if levels.clear_of(power) { stood } else { 0 };
                counts.add(power);
                (last.time, last.power) = (time, power);
                count += 1;
                rows.next();
                match rows.peek() {
                    Some(&next) => (time, power, step) = next,
                    None => break,
                }
            }
            open.joules[at] = joules;
            open.micros[at] += last.time - first;
            clear.1 += last.time - first;
            if count == before {
                break;
            }
            let over = last.time.saturating_sub(until);
            if over > 0 && until > last.time - one.0 + 1 {
                let joules = one.1 * over as f64 / one.0.max(1) as f64;
                let next = finer.state(state, until, one.2, &levels);
                open.moves((fine, next), over, joules);
            }
        }
        self.last = Some(last);
        (self.watch.counts, self.clear) = (counts, clear);
        count
    }

    /// Adds one row, whose state is told.
    pub(crate) fn step(&mut self, hour: Hour, time: i64, power: f64, step: f64, state: State) {
        self.hour(hour);
        match self.last {
            Some(last) if step > 0.0 => {
                // Between two states lies an edge at an unknown moment. The time goes to the
                // earlier state, and so must its power.
                let before = self.candidate.as_ref().map(|c| c.state).or(self.state);
                let after = if before == Some(state) {
                    power
                } else {
                    last.power
                };
                self.pass(last, time, after, step);
            }
            _ => {
                // What has not lasted before a gap belongs to the state before.
                if let (Some(candidate), Some(before)) = (self.candidate.take(), self.state) {
                    self.pay(before, &candidate.parts);
                }
                self.state = None;
                self.finer.turned(None, state, time);
            }
        }
        self.last = Some(Last { time, power, hour });
        self.turn(hour, time, state);
    }

    /// The time from the last row to this one.
    fn pass(&mut self, last: Last, time: i64, power: f64, step: f64) {
        let part = Part {
            hour: last.hour,
            from: last.time,
            power: last.power,
            micros: time - last.time,
            joules: (last.power + power) * step,
        };
        match (&mut self.candidate, self.state) {
            (Some(candidate), _) => {
                match candidate.parts.last_mut() {
                    Some(same) if same.hour == part.hour => {
                        same.micros += part.micros;
                        same.joules += part.joules;
                    }
                    _ => candidate.parts.push(part),
                }
                if time - candidate.since >= SHORTEST {
                    self.confirm();
                }
            }
            (None, Some(state)) => self.pay(state, &[part]),
            (None, None) => {}
        }
    }

    /// The candidate has lasted.
    fn confirm(&mut self) {
        let Some(candidate) = self.candidate.take() else {
            return;
        };
        self.finer
            .turned(self.state, candidate.state, candidate.since);
        self.pay(candidate.state, &candidate.parts);
        if let Some(before) = self.state {
            let open = self.hour(candidate.hour);
            let after = candidate.state;
            open.loads += u64::from(after == State::Loaded);
            open.unloads += u64::from(before == State::Loaded);
            open.starts += u64::from(before == State::Stopped);
            open.stops += u64::from(after == State::Stopped);
        }
        self.state = Some(candidate.state);
    }

    /// What this row says of the state.
    fn turn(&mut self, hour: Hour, time: i64, state: State) {
        let Some(before) = self.state else {
            self.state = Some(state);
            return;
        };
        if self.candidate.as_ref().is_some_and(|c| c.state == state) {
            return;
        }
        if let Some(candidate) = self.candidate.take() {
            // It has not lasted.
            self.pay(before, &candidate.parts);
        }
        if state != before {
            self.candidate = Some(Candidate {
                state,
                since: time,
                hour,
                parts: Vec::new(),
            });
        }
    }

    pub(crate) fn mark(&self) -> Mark {
        let hours = self.hours.len().saturating_sub(2);
        Mark {
            hours,
            open: self.hours.get(hours..).unwrap_or_default().to_vec(),
            levels: self.levels,
            finer: self.finer,
            clear: self.clear,
            moved: self.moved,
            watch: self.watch.clone(),
            state: self.state,
            candidate: self.candidate.clone(),
            last: self.last,
        }
    }

    pub(crate) fn back_to(&mut self, mark: &Mark) {
        self.hours.truncate(mark.hours);
        self.hours.extend_from_slice(&mark.open);
        (self.levels, self.finer) = (mark.levels, mark.finer);
        (self.clear, self.moved) = (mark.clear, mark.moved);
        self.watch.clone_from(&mark.watch);
        self.state = mark.state;
        self.candidate.clone_from(&mark.candidate);
        self.last = mark.last;
    }

    pub(crate) fn finish(mut self) -> Vec<MachineHour> {
        if let (Some(candidate), Some(before)) = (self.candidate.take(), self.state) {
            self.pay(before, &candidate.parts);
        }
        let open = |open: &Open| MachineHour {
            date: open.hour.date,
            hour: open.hour.hour,
            hours: open.micros.map(|micros| micros as f64 / 3.6e9),
            kwh: open.joules.map(|joules| 0.5 * joules / 3.6e6),
            loads: open.loads,
            unloads: open.unloads,
            starts: open.starts,
            stops: open.stops,
            delivered_m3: None,
        };
        self.hours.iter().map(open).collect()
    }
}
