//! Numbers in time: is a value drifting, since when, how fast, and when does it reach its limit.
//!
//! Time is a number of days since an epoch of the caller's choice, as `f64`; values carry the
//! caller's own unit. Nothing here reads a clock or draws a random number of its own: days and
//! seeds are arguments. Every calculation is deterministic.
//!
//! The way through, from reading to date:
//!
//! 1. [`baseline`] learns what is healthy for this one machine, the rated value being the prior;
//! 2. [`filter`] follows level and drift through irregular readings, on the law of motion in
//!    [`motion`]; [`smooth`] looks back over the last readings;
//! 3. [`detect`] asks whether what remains holds a step or a ramp, and since when; [`change`] has
//!    the plain charts;
//! 4. [`forecast`] draws the health forward to a limit, with numbers from [`draws`].
//!
//! [`regress`] fits lines; [`distribution`] has the normal and Student distributions.
//!
//! Must not know: compressors, stations, files, calendars, money.
//!
//! # Sources
//! - NIST/SEMATECH, *e-Handbook of Statistical Methods*, sections 6.3.2.2 to 6.3.2.4 (charts).
//! - NIST Statistical Reference Datasets, Norris (straight line).
//! - A. C. Harvey, *Forecasting, Structural Time Series Models and the Kalman Filter*, Cambridge
//!   1989 (local linear trend, continuous time, smoothing).
//! - P. J. Huber, *Robust Statistics*, Wiley 1981 (bounded influence).
//! - E. S. Page, *Biometrika* 41 (1954) 100–115 (cumulative sums).
//! - M. J. Wichura, *Applied Statistics* 37 (1988) 477–484, algorithm AS 241 (normal quantile).
//! - P. K. Sen, *Journal of the American Statistical Association* 63 (1968) 1379–1389.

#![warn(missing_docs)]

pub mod baseline;
pub mod change;
pub mod detect;
pub mod distribution;
pub mod draws;
pub mod filter;
pub mod forecast;
pub mod motion;
pub mod refusal;
pub mod regress;
mod robust;
pub mod smooth;

pub use refusal::{Answer, Refusal};
