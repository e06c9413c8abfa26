//! The state of one machine over time: time, energy and changes of state of each hour.
//!
//! A power changes the state only when it passes a level by half its band, and a new state counts
//! only if it lasts: else its time goes to the state before. A gap ends a state, and what follows
//! begins anew without a change being counted.
//!
//! Must not know: where the powers come from.

use super::Series;
use super::days::Hour;
use crate::figures::{Levels, MachineHour, State};

/// A state that lasts a shorter time is none, µs (common practice, no source).
const SHORTEST: i64 = 2_000_000;

/// What one stretch adds to one hour.
#[derive(Debug, Clone, Copy)]
struct Part {
    hour: Hour,
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
    micros: [i64; 3],
    joules: [f64; 3],
    loads: u64,
    unloads: u64,
    starts: u64,
    stops: u64,
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
    state: Option<State>,
    candidate: Option<Candidate>,
    last: Option<Last>,
}

impl States {
    pub(crate) fn new(levels: Levels) -> Self {
        Self {
            levels,
            hours: Vec::new(),
            state: None,
            candidate: None,
            last: None,
        }
    }

    pub(crate) fn levels(&self) -> Levels {
        self.levels
    }

    /// The powers between which a state stays.
    fn bounds(&self, state: State) -> (f64, f64) {
        let l = &self.levels;
        match state {
            State::Stopped => (f64::NEG_INFINITY, l.runs_w + l.runs_band_w),
            State::Unloaded => (l.runs_w - l.runs_band_w, l.loaded_w + l.loaded_band_w),
            State::Loaded => (l.loaded_w - l.loaded_band_w, f64::INFINITY),
        }
    }

    /// The state of a power, seen from the state before.
    fn of(&self, power: f64, before: Option<State>) -> State {
        if let Some(before) = before {
            let (low, high) = self.bounds(before);
            if low <= power && power <= high {
                return before;
            }
        }
        if power > self.levels.loaded_w {
            State::Loaded
        } else if power > self.levels.runs_w {
            State::Unloaded
        } else {
            State::Stopped
        }
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
                    micros: [0; 3],
                    joules: [0.0; 3],
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
            let open = self.hour(part.hour);
            open.micros[state.index()] += part.micros;
            open.joules[state.index()] += part.joules;
        }
    }

    /// Adds rows of one hour, with the state told by the power.
    pub(crate) fn add(&mut self, hour: Hour, rows: Series<'_>) {
        let mut at = 0;
        while let Some((time, power, step)) = rows.part(at..at + 1).iter().next() {
            let before = self.candidate.as_ref().map(|c| c.state).or(self.state);
            let state = self.of(power, before.filter(|_| step > 0.0));
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
        let (low, high) = self.bounds(state);
        let first = last.time;
        let open = self.hour(last.hour);
        let mut joules = open.joules[state.index()];
        let mut count = 0;
        for (time, power, step) in rows.iter() {
            if step <= 0.0 || power < low || power > high {
                break;
            }
            joules += (last.power + power) * step;
            (last.time, last.power) = (time, power);
            count += 1;
        }
        open.joules[state.index()] = joules;
        open.micros[state.index()] += last.time - first;
        self.last = Some(last);
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
            }
        }
        self.last = Some(Last { time, power, hour });
        self.turn(hour, time, state);
    }

    /// The time from the last row to this one.
    fn pass(&mut self, last: Last, time: i64, power: f64, step: f64) {
        let part = Part {
            hour: last.hour,
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
            state: self.state,
            candidate: self.candidate.clone(),
            last: self.last,
        }
    }

    pub(crate) fn back_to(&mut self, mark: &Mark) {
        self.hours.truncate(mark.hours);
        self.hours.extend_from_slice(&mark.open);
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
        };
        self.hours.iter().map(open).collect()
    }
}
