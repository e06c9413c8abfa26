//! Numbers in time: the plain charts of the handbook, by which anyone can check whether a value has
//! changed, and the normal distribution.
//!
//! Time is a number of days since an epoch of the caller's choice, as `f64`; values carry the
//! caller's own unit. Nothing here reads a clock or draws a random number of its own: days are
//! arguments. Every calculation is deterministic.
//!
//! - [`change`] has the cumulative sum and the moving average.
//! - [`distribution`] has the normal distribution.
//!
//! Must not know: compressors, stations, files, calendars, money.
//!
//! # Sources
//! - NIST/SEMATECH, *e-Handbook of Statistical Methods*, sections 6.3.2.3 and 6.3.2.4 (charts).
//! - E. S. Page, *Biometrika* 41 (1954) 100–115 (cumulative sums).
//! - M. J. Wichura, *Applied Statistics* 37 (1988) 477–484, algorithm AS 241 (normal quantile).

#![warn(missing_docs)]

pub mod change;
pub mod distribution;
pub mod refusal;

pub use refusal::{Answer, Refusal};
