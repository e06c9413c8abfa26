//! One machine on its way through reducing: by its power, or row by row by its signals.
//!
//! Must not know: files.

use station::model::Machine;

use super::current::Current;
use super::track::Shared;
use crate::channel::Channel;
use crate::figures::Levels;
use crate::reduce::machine::{Mark, States};
use crate::reduce::signals;

/// One machine.
#[derive(Debug)]
pub(crate) struct MachineTrack {
    pub(crate) machine: usize,
    pub(crate) states: States,
    /// Whether its signals tell its state in this file.
    pub(crate) by_signals: bool,
    /// What its current says of its power, where that is all that is read in this file.
    pub(crate) current: Option<Current>,
    mark: Option<Mark>,
    /// Whether the last row told no state.
    silent: bool,
}

impl MachineTrack {
    pub(crate) fn new(index: usize, machine: &Machine, levels: Levels, by_signals: bool) -> Self {
        Self {
            machine: index,
            states: States::new(levels, machine),
            by_signals,
            current: None,
            mark: None,
            silent: false,
        }
    }

    /// The channel that tells its power.
    pub(crate) fn channel(&self) -> Channel {
        match self.current {
            Some(_) => Channel::current_of(self.machine),
            None => Channel::power_of(self.machine),
        }
    }

    pub(super) fn keep_mark(&mut self) {
        self.mark = Some(self.states.mark());
    }

    pub(super) fn back(&mut self) {
        if let Some(mark) = &self.mark {
            self.states.back_to(mark);
        }
    }

    /// Takes the rows of a batch; the columns are running, loaded and power.
    pub(crate) fn by_signals(
        &mut self,
        shared: &Shared,
        times: &[i64],
        columns: [Option<&[f64]>; 3],
    ) {
        let [running, loaded, power] = columns;
        let at = |column: Option<&[f64]>, row: usize| column.and_then(|c| c.get(row).copied());
        for (hour, rows) in &shared.hours {
            for row in rows.clone() {
                let (Some(&time), Some(&step)) = (times.get(row), shared.steps.get(row)) else {
                    return;
                };
                let Some(state) = signals::state(at(running, row), at(loaded, row)) else {
                    self.silent = true;
                    continue;
                };
                let step = if self.silent { 0.0 } else { step };
                self.silent = false;
                let power = at(power, row).filter(|p| !p.is_nan());
                self.states.agrees(power, state, step);
                let power = power.unwrap_or(0.0);
                self.states.step(*hour, time, power, step, state);
            }
        }
    }
}
