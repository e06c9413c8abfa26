//! One machine on its way through reducing: by its power, or row by row by its signals.
//!
//! Must not know: files.

use std::ops::Range;

use station::model::Machine;

use super::current::Current;
use crate::channel::Channel;
use crate::figures::Levels;
use crate::reduce::days::Hour;
use crate::reduce::machine::{Mark, States};
use crate::reduce::signals::Signals;

/// One machine.
#[derive(Debug)]
pub(crate) struct MachineTrack {
    pub(crate) machine: usize,
    pub(crate) states: States,
    /// Whether its signals tell its state in this file.
    pub(crate) by_signals: bool,
    /// What its current says of its power, where that is all that is read in this file.
    pub(crate) current: Option<Current>,
    /// Whether its power or its current was read in any file.
    pub(crate) reads_power: bool,
    mark: Option<Mark>,
    signals: Signals,
    /// Turns of the pressure that lie where it switches, and all, where they alone tell its state.
    pub(crate) by_turns: Option<(u64, u64)>,
    /// When its signals told its state last, µs.
    told: Option<i64>,
    /// Its last power beside the signals, and when it was read.
    beside: Option<(i64, f64)>,
}

impl MachineTrack {
    pub(crate) fn new(index: usize, machine: &Machine, levels: Levels, by_signals: bool) -> Self {
        Self {
            machine: index,
            states: States::new(levels, machine),
            by_signals,
            current: None,
            reads_power: false,
            mark: None,
            signals: Signals::default(),
            by_turns: None,
            told: None,
            beside: None,
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

    /// Takes the rows of a batch; the columns are running, loaded and power, and the gaps those of
    /// the signals and of the power.
    pub(crate) fn by_signals(
        &mut self,
        hours: &[(Hour, Range<usize>)],
        times: &[i64],
        columns: [Option<&[f64]>; 3],
        (gap, power_gap): (i64, i64),
    ) {
        let [running, loaded, power] = columns;
        let at = |column: Option<&[f64]>, row: usize| column.and_then(|c| c.get(row).copied());
        for (hour, rows) in hours {
            for row in rows.clone() {
                let Some(&time) = times.get(row) else {
                    return;
                };
                let joins = self.told.filter(|told| time - told <= gap);
                if joins.is_none() {
                    self.signals = Signals::default();
                }
                let read = at(power, row).filter(|p| !p.is_nan());
                self.beside = read.map(|power| (time, power)).or(self.beside);
                let told = self.signals.state(at(running, row), at(loaded, row));
                let Some(state) = told else {
                    continue;
                };
                let step = joins.map_or(0, |told| time - told) as f64 * 1e-6;
                self.told = Some(time);
                self.states.agrees(read, state, step);
                let fresh = self.beside.filter(|(at, _)| time - at <= power_gap);
                let power = fresh.map_or(0.0, |(_, power)| power);
                self.states.step(*hour, time, power, step, state);
            }
        }
    }
}
