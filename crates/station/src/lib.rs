//! One compressed-air station: what is fitted, what was read, and the forward model.
//!
//! Pure: bytes and text in, values and problems out; no paths, no clock. The station file becomes
//! a [`model::Station`] that is valid by construction, the rounds become [`round::Round`]s, and
//! [`forward`] computes the expected state at every place. It is the only composition of the
//! formulas in `physics`: whatever the program says comes from it.
//!
//! Must not know: findings, money's worth, databases, HTTP.
#![warn(missing_docs)]

pub mod air_path;
pub mod defaults;
pub mod file;
pub mod forward;
pub mod model;
pub mod point;
pub mod round;
pub mod valves;
