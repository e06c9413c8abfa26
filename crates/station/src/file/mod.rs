//! Text in, values and problems out: units, the station file, the rounds.
//!
//! Must not know: paths, the forward model, findings.

pub mod problem;
pub mod rounds;
pub mod station;
pub mod unit;
