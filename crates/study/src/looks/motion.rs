//! What each machine does, row by row: its state, since when, whether it is warm, and sums.
//!
//! Must not know: readings beside those that tell states, days.

use physics::machine::motor::{MotorPlate, power_from_current};
use station::model::{Control, Machine, Station};

use super::place;
use crate::channel::Channel;
use crate::figures::{Levels, State};
use crate::reduce::levels::{self, Counts};

/// A stop of this length lets a machine cool down, µs (common practice, no source).
const REST: i64 = 10 * 60 * 1_000_000;

/// A value that is missing for a shorter time leaves the state as it was, µs.
const HELD: i64 = 5 * 60 * 1_000_000;

/// What the motor's plate says, where the station file tells voltage and current.
#[derive(Debug, Clone, Copy)]
struct Motor {
    voltage_v: f64,
    plate: MotorPlate,
}

impl Motor {
    fn of(machine: &Machine) -> Option<Self> {
        Some(Self {
            voltage_v: machine.motor.voltage_v?,
            plate: MotorPlate {
                current_a: machine.motor.current_a?,
                power_factor: machine.motor.power_factor.value,
            },
        })
    }

    /// Watts; below the magnetising current there are none, NaN stays NaN.
    fn watts(self, amperes: f64) -> f64 {
        if amperes.is_nan() {
            return f64::NAN;
        }
        power_from_current(amperes, self.voltage_v, self.plate).map_or(0.0, |power| power.si())
    }
}

/// Where a machine's channels stand among those that are asked for.
#[derive(Debug, Clone, Copy)]
struct Places {
    power: Option<usize>,
    current: Option<usize>,
    running: Option<usize>,
    loaded: Option<usize>,
}

/// One machine.
#[derive(Debug)]
pub(super) struct Motion {
    places: Places,
    motor: Option<Motor>,
    levels: Levels,
    counts: Counts,
    /// Whether it either delivers all or nothing, so that time on load tells its air.
    pub(super) whole: bool,
    /// Whether it stops between loads by itself.
    stops: bool,
    /// When the log last told its state.
    told_at: Option<i64>,
    pub(super) state: Option<State>,
    /// Since when it is in that state, µs.
    pub(super) since: i64,
    /// Since when it has not rested, µs; `None` while it rests, or where that is not known.
    warm_from: Option<i64>,
    stopped_from: Option<i64>,
    /// How often it loaded or unloaded.
    pub(super) turns: u32,
    /// Seconds known, running and on load, over all.
    pub(super) known_s: f64,
    pub(super) run_s: f64,
    pub(super) loaded_s: f64,
}

impl Motion {
    /// A machine of which these rows are the start of the log, column by column.
    pub(super) fn new(
        station: &Station,
        machine: usize,
        channels: &[Channel],
        start: &[&[f64]],
    ) -> Option<Self> {
        let model = station.machines.get(machine)?;
        let places = Places {
            power: place(channels, Channel::power_of(machine)),
            current: place(channels, Channel::current_of(machine)),
            running: place(channels, Channel::Running(machine)),
            loaded: place(channels, Channel::Loaded(machine)),
        };
        let motor = Motor::of(model);
        let column = |at: Option<usize>| at.and_then(|at| start.get(at)).copied();
        let is_read = |values: &&[f64]| values.iter().any(|v| !v.is_nan());
        let amperes = column(places.current).filter(is_read);
        let watts: Option<Vec<f64>> = motor
            .zip(amperes)
            .map(|(motor, amperes)| amperes.iter().map(|a| motor.watts(*a)).collect());
        let power = column(places.power).filter(is_read).or(watts.as_deref());
        Some(Self {
            places,
            motor,
            levels: levels::of(model, power.unwrap_or_default()),
            counts: Counts::new(model.rated.power.value.si()),
            whole: matches!(
                model.control,
                Control::LoadUnload(_) | Control::StartStop(_)
            ),
            stops: matches!(model.control, Control::StartStop(_)),
            told_at: None,
            state: None,
            since: 0,
            warm_from: None,
            stopped_from: None,
            turns: 0,
            known_s: 0.0,
            run_s: 0.0,
            loaded_s: 0.0,
        })
    }

    /// The power up to which it is off, W.
    pub(super) fn off_w(&self) -> f64 {
        self.levels.runs_w
    }

    /// A new day: the levels are looked at again, as the study does.
    pub(super) fn new_day(&mut self) {
        if self.whole
            && let Some(levels) = self.counts.moved(&self.levels)
        {
            self.levels = levels;
        }
    }

    /// Whether the log ever told its state.
    pub(super) fn told(&self) -> bool {
        self.told_at.is_some()
    }

    /// What came before does not join on.
    pub(super) fn forget(&mut self) {
        self.state = None;
        self.warm_from = None;
        self.stopped_from = None;
    }

    /// A row, and whether it tells the state; `step` is the time since the row before, s. The state
    /// that was then lasted until now.
    pub(super) fn row(&mut self, time: i64, step: f64, values: &[f64]) -> bool {
        if let Some(state) = self.state {
            self.known_s += step;
            if state != State::Stopped {
                self.run_s += step;
            }
            if state == State::Loaded {
                self.loaded_s += step;
            }
        }
        let Some(state) = self.read(values) else {
            if self.told_at.is_none_or(|told| time - told > HELD) {
                self.forget();
            }
            return false;
        };
        self.told_at = Some(time);
        if self.state != Some(state) {
            self.since = time;
            let loaded = |state| state == Some(State::Loaded);
            self.turns += u32::from(loaded(self.state) != loaded(Some(state)));
        }
        self.state = Some(state);
        if state == State::Stopped {
            let from = *self.stopped_from.get_or_insert(time);
            if time - from >= REST {
                self.warm_from = None;
            }
        } else {
            self.stopped_from = None;
            self.warm_from.get_or_insert(time);
        }
        true
    }

    /// Whether it has run for so long, µs, that it is warm.
    pub(super) fn is_warm(&self, time: i64, after: i64) -> bool {
        self.warm_from.is_some_and(|from| time - from >= after)
    }

    fn read(&mut self, values: &[f64]) -> Option<State> {
        let at = |place: Option<usize>| {
            let value = place.and_then(|at| values.get(at)).copied();
            value.filter(|v| !v.is_nan())
        };
        let running = at(self.places.running).map(|v| v >= 0.5);
        let loaded = at(self.places.loaded).map(|v| v >= 0.5);
        match (running, loaded) {
            (Some(false), _) => return Some(State::Stopped),
            (_, Some(true)) => return Some(State::Loaded),
            (Some(true), Some(false)) => return Some(State::Unloaded),
            // A machine that stops between loads is on load whenever it runs.
            (Some(true), None) if self.stops => return Some(State::Loaded),
            _ => {}
        }
        let watts = at(self.places.power).or_else(|| {
            let amperes = at(self.places.current)?;
            self.motor.map(|motor| motor.watts(amperes))
        });
        match (watts, loaded) {
            (Some(watts), _) => {
                self.counts.add(watts);
                Some(self.levels.state(watts, self.state))
            }
            (None, Some(false)) => Some(State::Unloaded),
            (None, _) => None,
        }
    }
}
