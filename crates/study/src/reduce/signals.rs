//! The state of a machine by its own signals, `running` and `loaded`.
//!
//! Must not know: powers, levels.

use crate::figures::State;

/// The state that signals tell; NaN is missing. With `loaded` alone a machine that is not loaded is
/// taken to run unloaded; with `running` alone one that runs is taken to be loaded.
pub(crate) fn state(running: Option<f64>, loaded: Option<f64>) -> Option<State> {
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
