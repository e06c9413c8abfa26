//! A machine of which nothing is logged, told by the turns of the pressure that is followed.
//!
//! Must not know: files.

use std::collections::VecDeque;
use std::ops::Range;

use physics::air::mass_of_reference_air;
use physics::quantity::{PressureDifference, ReferenceAir, Temperature};
use physics::vessel::worst_cycles_per_hour;
use station::model::{Band, Control, Station};

use super::air::stated_volume;
use super::machine::MachineTrack;
use crate::clean::learn::Learned;
use crate::reduce::days::Hour;
use crate::reduce::turns::{Change, Swing, Turns};
use crate::whole::storage::T0;

/// The shortest cycle must have so many rows (common practice, no source).
const ROWS: f64 = 5.0;

/// The machine, and what the pressure tells of it.
#[derive(Debug)]
pub(crate) struct ByPressure {
    pub(crate) machine: usize,
    pub(crate) swing: Swing,
    /// Off load it stands still; else it may run unloaded or stand.
    stops: bool,
    turns: Turns,
    /// Changes that rows have not come to yet.
    changes: VecDeque<Change>,
    now: Option<bool>,
    /// Up to here the turns were looked for, µs.
    looked: i64,
}

/// The band of a machine that is either on full load or delivers nothing.
fn band(control: &Control) -> Option<(f64, f64)> {
    match control {
        Control::LoadUnload(Band { load, unload }) | Control::StartStop(Band { load, unload }) => {
            Some((load.si(), unload.si()))
        }
        Control::Modulating(_) | Control::VariableSpeed { .. } => None,
    }
}

/// Whether rows come often enough for the shortest cycles that the station file's storage allows;
/// where it tells none, they are taken to.
fn resolved(
    station: &Station,
    machine: usize,
    (load, unload): (f64, f64),
    interval: Option<i64>,
) -> bool {
    let worst = || {
        let rated = station.machines.get(machine)?.rated.fad.value.si();
        let volume = stated_volume(station)?;
        let capacity = mass_of_reference_air(ReferenceAir::new(rated));
        let band = PressureDifference::new(unload - load);
        worst_cycles_per_hour(volume, Temperature::new(T0), band, capacity).ok()
    };
    let interval_s = interval.map_or(0.0, |micros| micros as f64 * 1e-6);
    worst().is_none_or(|each_hour| ROWS * interval_s * each_hour <= 3600.0)
}

impl ByPressure {
    /// The machine in whose band the start of a log swings; `None` where none can be told.
    pub(crate) fn learn(
        station: &Station,
        times: &[i64],
        pressures: &[f64],
        learned: Learned,
        before: Option<&Self>,
    ) -> Option<Self> {
        let gap = learned.gap;
        let machines = station.machines.iter().enumerate();
        let banded = machines.filter_map(|(at, machine)| Some((at, band(&machine.control)?)));
        let each = banded.filter_map(|(at, band)| {
            let swing = Swing::learn(times, pressures, gap, band)
                .filter(|_| resolved(station, at, band, learned.interval))?;
            Some((at, swing, swing.away_from(band)))
        });
        let (machine, swing, _) = each.min_by(|a, b| a.2.total_cmp(&b.2))?;
        let mut turns = Turns::new(swing, gap);
        if let Some(before) = before.filter(|b| b.machine == machine) {
            turns.near = before.turns.near;
        }
        let control = &station.machines.get(machine)?.control;
        Some(Self {
            machine,
            swing,
            stops: matches!(control, Control::StartStop(_)),
            turns,
            changes: VecDeque::new(),
            now: None,
            looked: i64::MIN,
        })
    }

    /// Looks for turns in the first of the rows that wait; before which time they are known.
    pub(super) fn look(
        &mut self,
        times: &[i64],
        pressures: Option<&Vec<f64>>,
        rows: usize,
        until: i64,
    ) -> i64 {
        let from = times.partition_point(|&t| t < self.looked);
        let mut found = Vec::new();
        self.turns.take(
            times.get(from..rows).unwrap_or_default(),
            pressures
                .and_then(|p| p.get(from..rows))
                .unwrap_or_default(),
            &mut found,
        );
        self.looked = self
            .looked
            .max(until.min(times.last().map_or(i64::MIN, |&t| t + 1)));
        self.changes.extend(found);
        self.turns.known_before()
    }

    /// Whether it is on load at each of the next rows, 1 or 0; NaN where that is not known.
    pub(super) fn loaded(&mut self, times: &[i64]) -> Vec<f64> {
        let at = |&time: &i64| {
            while let Some(&(since, loaded)) = self.changes.front()
                && since < time
            {
                self.now = loaded;
                self.changes.pop_front();
            }
            self.now.map_or(f64::NAN, |on| if on { 1.0 } else { 0.0 })
        };
        times.iter().map(at).collect()
    }

    /// The columns of signals that this is as good as: running, loaded.
    pub(super) fn columns<'a>(&self, loaded: Option<&'a [f64]>) -> [Option<&'a [f64]>; 2] {
        if self.stops {
            [loaded, None]
        } else {
            [None, loaded]
        }
    }

    /// Tells the machine.
    pub(super) fn tell(
        &self,
        machines: &mut [MachineTrack],
        hours: &[(Hour, Range<usize>)],
        times: &[i64],
        loaded: &[f64],
        gap: i64,
    ) {
        let [running, loaded] = self.columns(Some(loaded));
        for machine in machines.iter_mut().filter(|m| m.machine == self.machine) {
            machine.by_signals(hours, times, [running, loaded, None], (gap, 0));
            let (near, all) = self.turns.near;
            machine.by_turns = Some((near, all));
        }
    }

    /// No rows follow: what is known stays.
    pub(super) fn ends(&mut self) {
        self.turns.ends();
    }
}
