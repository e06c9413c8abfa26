//! All machines together: what they do now as one word, and the share on load of the last minutes.
//!
//! Must not know: readings, days.

use std::collections::VecDeque;

use station::model::Station;

use super::motion::Motion;
use crate::channel::Channel;
use crate::figures::State;

/// The load is looked at over so many minutes.
pub(super) const LOAD_MIN: usize = 20;
/// And beside the same time before.
const KEPT_MIN: usize = 2 * LOAD_MIN;
/// So much of the time must be known.
const KNOWN: f64 = 0.8;
/// One standard deviation of a share that is well resolved (common practice, no source).
const LEAST_SIGMA: f64 = 0.03;

/// Rows further apart than this may miss whole loads, s (common practice, no source).
const RESOLVED_S: f64 = 16.0;
/// With fewer rows for each turn, some turns may be missed.
const ROWS_A_TURN: f64 = 4.0;

/// Sums at one minute.
#[derive(Debug, Clone)]
struct Tick {
    /// Of each machine: seconds known, on load, and turns.
    sums: Vec<(f64, f64, u32)>,
    rows: u64,
}

/// How one machine was loaded of late.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Load {
    /// Share of the last minutes on load.
    pub(super) share: f64,
    /// One standard deviation of it: rows far apart do not see every cycle.
    pub(super) sigma: f64,
    /// How far it strays from the share of the same time before.
    pub(super) change: f64,
}

/// How far a share strays that is told by so many rows, between which the machine turned so often.
fn sampled(share: f64, turns: f64, rows: f64) -> f64 {
    let apart_s = 60.0 * LOAD_MIN as f64 / rows;
    if apart_s <= RESOLVED_S && ROWS_A_TURN * turns <= rows {
        // Each turn lies anywhere between two rows: evenly spread over one interval.
        return (turns / 12.0).sqrt() / rows;
    }
    // Turns are missed: each row is a draw. That all were alike does not prove that all would be.
    let share = (share * rows + 0.5) / (rows + 1.0);
    (share * (1.0 - share) / rows).sqrt()
}

/// All machines.
#[derive(Debug)]
pub(super) struct Machines {
    pub(super) list: Vec<Motion>,
    ticks: VecDeque<Tick>,
    rows: u64,
}

impl Machines {
    pub(super) fn new(station: &Station, channels: &[Channel], start: &[&[f64]]) -> Self {
        Self {
            list: (0..station.machines.len())
                .filter_map(|i| Motion::new(station, i, channels, start))
                .collect(),
            ticks: VecDeque::with_capacity(KEPT_MIN + 1),
            rows: 0,
        }
    }

    pub(super) fn forget(&mut self) {
        self.list.iter_mut().for_each(Motion::forget);
        self.ticks.clear();
    }

    /// A row; whether it tells the state of any.
    pub(super) fn row(&mut self, time: i64, step: f64, values: &[f64]) -> bool {
        let mut told = false;
        for machine in &mut self.list {
            told |= machine.row(time, step, values);
        }
        self.rows += u64::from(told);
        told
    }

    /// A minute has passed.
    pub(super) fn tick(&mut self) {
        if self.ticks.len() > KEPT_MIN {
            self.ticks.pop_front();
        }
        self.ticks.push_back(Tick {
            sums: self
                .list
                .iter()
                .map(|m| (m.known_s, m.loaded_s, m.turns))
                .collect(),
            rows: self.rows,
        });
    }

    /// How a machine was loaded; `None` where not enough of the time is known.
    pub(super) fn load(&self, machine: usize) -> Option<Load> {
        let last = self.ticks.len().checked_sub(1)?;
        let now = self.ticks.get(last)?;
        let before = self.ticks.get(last.checked_sub(LOAD_MIN)?)?;
        let share = |from: &Tick, to: &Tick| {
            let (known, loaded, _) = *from.sums.get(machine)?;
            let (known_now, loaded_now, _) = *to.sums.get(machine)?;
            let time = known_now - known;
            (time >= KNOWN * 60.0 * LOAD_MIN as f64).then(|| (loaded_now - loaded) / time)
        };
        let of_now = share(before, now)?;
        let earlier = last
            .checked_sub(KEPT_MIN)
            .and_then(|at| self.ticks.get(at))
            .and_then(|tick| share(tick, before));
        let rows = (now.rows - before.rows).max(1) as f64;
        let turns = |tick: &Tick| tick.sums.get(machine).map_or(0, |(.., turns)| *turns);
        let turns = f64::from(turns(now) - turns(before));
        Some(Load {
            share: of_now.clamp(0.0, 1.0),
            sigma: LEAST_SIGMA.hypot(sampled(of_now, turns, rows)),
            // What came before is not known: perhaps it was otherwise.
            change: earlier.map_or(0.5, |share| (of_now - share).abs()),
        })
    }

    /// What all do, as one number; machines that the log does not show count as one state.
    pub(super) fn code(&self) -> u64 {
        self.list.iter().fold(0, |code, machine| {
            let digit = match machine.state {
                None => 0,
                Some(State::Stopped) => 1,
                Some(State::Loaded) => 3,
                Some(_) => 2,
            };
            (code << 2) | digit
        })
    }

    /// The state of a machine in such a number.
    pub(super) fn state_in(&self, code: u64, machine: usize) -> Option<State> {
        let place = self.list.len().checked_sub(machine + 1)?;
        match code.checked_shr(u32::try_from(2 * place).ok()?)? & 3 {
            1 => Some(State::Stopped),
            2 => Some(State::Unloaded),
            3 => Some(State::Loaded),
            _ => None,
        }
    }

    /// Seconds for which all have been in their states.
    pub(super) fn settled_s(&self, time: i64) -> f64 {
        let shown = self.list.iter().filter(|m| m.state.is_some());
        let since = shown.map(|m| m.since).max();
        since.map_or(f64::INFINITY, |since| (time - since) as f64 * 1e-6)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_as_sure_as_rows_see_turns() {
        // Every second: eight turns lie anywhere between two of 1200 rows.
        assert!(sampled(0.4, 8.0, 1200.0) < 0.001);
        // Once a minute: twenty draws.
        let drawn = sampled(0.5, 9.0, 20.0);
        assert!((drawn - (0.25_f64 / 20.0).sqrt()).abs() < 1e-12, "{drawn}");
        // Twenty alike do not prove that there was nothing between.
        assert!(sampled(1.0, 0.0, 20.0) > 0.03);
        // Loads shorter than the rows resolve, whatever the interval.
        assert!(sampled(0.5, 600.0, 1200.0) > 0.01);
    }
}
