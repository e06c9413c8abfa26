//! What lies inside stopped, unloaded and loaded: blowing down, throttled, at less than full speed.
//!
//! A machine that has just unloaded blows down for the time that its package takes, and for as long
//! after it, up to three times that, as its power has not yet come down. A machine that throttles its
//! intake, or varies its speed, is on full load only near its full power.
//!
//! Must not know: sums.

use station::model::{Control, Machine};

use crate::figures::{Levels, State};

/// From this share of its full power on a machine is on full load (common practice, no source).
const FULL: f64 = 0.96;
/// Its power has come down when no more than this share of the fall is left.
const LEFT: f64 = 0.15;
/// A power that has not come down after so many blowdown times is no blowing down.
const LONGEST: i64 = 3;

/// How a machine follows demand, as far as its power shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Follows {
    Loading,
    Throttling,
    Speed,
}

/// The finer states of one machine.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Finer {
    follows: Follows,
    /// µs.
    blowdown: i64,
    /// When it gave load up, as long as it has not stopped or loaded since.
    unloaded_at: Option<i64>,
}

impl Finer {
    pub(crate) fn of(machine: &Machine) -> Self {
        Self {
            follows: match machine.control {
                Control::LoadUnload(_) | Control::StartStop(_) => Follows::Loading,
                Control::Modulating(_) => Follows::Throttling,
                Control::VariableSpeed { .. } => Follows::Speed,
            },
            // Station files give seconds to minutes.
            blowdown: (machine.blowdown_s.value * 1e6) as i64,
            unloaded_at: None,
        }
    }

    /// It changed its state.
    pub(crate) fn turned(&mut self, before: Option<State>, after: State, at: i64) {
        let unloads = before == Some(State::Loaded) && after == State::Unloaded;
        self.unloaded_at = unloads.then_some(at);
    }

    /// The finer state from this moment on.
    pub(crate) fn state(self, plain: State, at: i64, power: f64, levels: &Levels) -> State {
        self.lasting(plain, at, power, levels).0
    }

    /// The finer state from this moment on, and until when it lasts whatever the power does.
    pub(crate) fn lasting(
        self,
        plain: State,
        at: i64,
        power: f64,
        levels: &Levels,
    ) -> (State, i64) {
        match (plain, self.unloaded_at) {
            (State::Unloaded, Some(since)) => {
                let end = since + self.blowdown;
                let fall = levels.usual_loaded_w - levels.usual_unloaded_w;
                if at < end {
                    (State::BlowingDown, end)
                } else if at >= since + LONGEST * self.blowdown {
                    (State::Unloaded, i64::MAX)
                } else if power > levels.usual_unloaded_w + LEFT * fall {
                    (State::BlowingDown, at + 1)
                } else {
                    (State::Unloaded, at + 1)
                }
            }
            (State::Loaded, _) if self.follows != Follows::Loading => {
                let state = if power >= FULL * levels.usual_loaded_w {
                    State::Loaded
                } else if self.follows == Follows::Throttling {
                    State::Modulating
                } else {
                    State::AtSpeed
                };
                (state, at + 1)
            }
            _ => (plain, i64::MAX),
        }
    }
}

impl Levels {
    /// The powers between which a state stays.
    pub(crate) fn bounds(&self, state: State) -> (f64, f64) {
        match state.plain() {
            State::Stopped => (f64::NEG_INFINITY, self.runs_w + self.runs_band_w),
            State::Loaded => (self.loaded_w - self.loaded_band_w, f64::INFINITY),
            _ => (
                self.runs_w - self.runs_band_w,
                self.loaded_w + self.loaded_band_w,
            ),
        }
    }

    /// Stopped, unloaded or loaded by a power, seen from the state before.
    pub(crate) fn state(&self, power: f64, before: Option<State>) -> State {
        if let Some(before) = before {
            let (low, high) = self.bounds(before);
            if low <= power && power <= high {
                return before;
            }
        }
        if power > self.loaded_w {
            State::Loaded
        } else if power > self.runs_w {
            State::Unloaded
        } else {
            State::Stopped
        }
    }

    /// Whether a power stands clear of the levels: outside twice their bands.
    #[inline(always)]
    pub(crate) fn clear_of(&self, power: f64) -> bool {
        (power - self.runs_w).abs() > 2.0 * self.runs_band_w
            && (power - self.loaded_w).abs() > 2.0 * self.loaded_band_w
    }
}
