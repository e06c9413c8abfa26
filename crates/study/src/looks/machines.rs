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

/// Sums at one minute.
#[derive(Debug, Clone)]
struct Tick {
    /// Of each machine: seconds known, and on load.
    sums: Vec<(f64, f64)>,
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

/// All machines.
#[derive(Debug)]
pub(super) struct Machines {
    pub(super) list: Vec<Motion>,
    ticks: VecDeque<Tick>,
    rows: u64,
}

impl Machines {
    pub(super) fn new(station: &Station, channels: &[Channel], start: &[Vec<f64>]) -> Self {
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

    pub(super) fn row(&mut self, time: i64, step: f64, values: &[f64]) {
        self.rows += 1;
        for machine in &mut self.list {
            machine.row(time, step, values);
        }
    }

    /// A minute has passed.
    pub(super) fn tick(&mut self) {
        if self.ticks.len() > KEPT_MIN {
            self.ticks.pop_front();
        }
        self.ticks.push_back(Tick {
            sums: self.list.iter().map(|m| (m.known_s, m.loaded_s)).collect(),
            rows: self.rows,
        });
    }

    /// How a machine was loaded; `None` where not enough of the time is known.
    pub(super) fn load(&self, machine: usize) -> Option<Load> {
        let last = self.ticks.len().checked_sub(1)?;
        let now = self.ticks.get(last)?;
        let before = self.ticks.get(last.checked_sub(LOAD_MIN)?)?;
        let share = |from: &Tick, to: &Tick| {
            let (known, loaded) = *from.sums.get(machine)?;
            let (known_now, loaded_now) = *to.sums.get(machine)?;
            let time = known_now - known;
            (time >= KNOWN * 60.0 * LOAD_MIN as f64).then(|| (loaded_now - loaded) / time)
        };
        let of_now = share(before, now)?;
        let earlier = last
            .checked_sub(KEPT_MIN)
            .and_then(|at| self.ticks.get(at))
            .and_then(|tick| share(tick, before));
        let rows = (now.rows - before.rows).max(1) as f64;
        Some(Load {
            share: of_now.clamp(0.0, 1.0),
            sigma: LEAST_SIGMA.hypot((of_now * (1.0 - of_now)).max(0.0).sqrt() / rows.sqrt()),
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
