//! The state of a machine by its own signals, `running` and `loaded`.
//!
//! Must not know: powers, levels.

use crate::figures::State;

/// The signals of one machine as they were read last; NaN is missing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Signals {
    running: f64,
    loaded: f64,
}

impl Default for Signals {
    fn default() -> Self {
        Self {
            running: f64::NAN,
            loaded: f64::NAN,
        }
    }
}

impl Signals {
    /// The state that a row tells, with the signals that are logged: if it lacks one of two, that
    /// stays as it was read last. `None` if it lacks both.
    pub(crate) fn state(&mut self, running: Option<f64>, loaded: Option<f64>) -> Option<State> {
        let known = |signal: Option<f64>| signal.filter(|v| !v.is_nan());
        if known(running).is_none() && known(loaded).is_none() {
            return None;
        }
        self.running = known(running).unwrap_or(self.running);
        self.loaded = known(loaded).unwrap_or(self.loaded);
        state(running.map(|_| self.running), loaded.map(|_| self.loaded))
    }
}

/// The state that signals tell; NaN is missing. With `loaded` alone a machine that is not loaded is
/// taken to run unloaded; with `running` alone one that runs is taken to be loaded.
fn state(running: Option<f64>, loaded: Option<f64>) -> Option<State> {
    let on = |signal: f64| (!signal.is_nan()).then_some(signal >= 0.5);
    let running = running.map(on);
    let loaded = loaded.map(on);
    match (running, loaded) {
        (Some(None), _) | (_, Some(None)) | (None, None) => None,
        (Some(Some(false)), _) => Some(State::Stopped),
        (_, Some(Some(true))) | (Some(Some(true)), None) => Some(State::Loaded),
        (_, Some(Some(false))) => Some(State::Unloaded),
    }
}
