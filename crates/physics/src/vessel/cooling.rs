//! What the shell of a receiver passes to the room, per kelvin.
//!
//! How far the air in it cools needs its moisture, so that is solved elsewhere.
//!
//! Must not know: moist air, rooms.

use super::VOLUME;
use crate::validity::{Answer, Range};
use crate::working::{Formula, Mark};

/// Heat passed by a receiver's shell as shown in a working.
pub const RECEIVER_UA: Formula = Formula {
    name: "heat passed by the receiver's shell per kelvin",
    equation: "UA = U · 6 V^(2/3)",
    unit: "W/K",
    source: "surface of an upright cylinder about two diameters high",
    mark: Mark::CommonPractice,
};

/// Overall heat transfer coefficient of a bare receiver in a quiet room, W/(m² K) (from memory):
/// free convection and radiation outside; the air inside moves slowly.
pub const RECEIVER_U_W_M2K: f64 = 5.0;

const U: Range = Range {
    what: "heat transfer coefficient",
    unit: "W/(m² K)",
    min: 0.0,
    max: 1.0e3,
    source: "the heat passed by a vessel's shell",
};

/// Outer surface of a receiver, m².
///
/// A = 6 V^(2/3)
///
/// - `volume_m3`: V
///
/// # Validity
/// 10⁻⁶…10⁶ m³. Exact for a cube; a closed upright cylinder of height h and diameter d has
/// 5.54 V^(2/3) at h = d, 5.81 at h = 2 d, 6.21 at h = 3 d, 6.59 at h = 4 d.
///
/// # Errors
/// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) outside.
///
/// # Source
/// Common practice; the factor is derived above.
pub fn receiver_area_m2(volume_m3: f64) -> Answer<f64> {
    Ok(6.0 * VOLUME.check(volume_m3)?.powf(2.0 / 3.0))
}

/// Heat that a receiver's shell passes to the room per kelvin, W/K.
///
/// UA = U · 6 V^(2/3)
///
/// - `u_w_m2k`: U in W/(m² K), by default [`RECEIVER_U_W_M2K`]
/// - `volume_m3`: V
///
/// # Validity
/// 0…1000 W/(m² K), 10⁻⁶…10⁶ m³.
///
/// # Errors
/// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) outside.
///
/// # Source
/// [`RECEIVER_UA`].
pub fn receiver_ua_w_k(u_w_m2k: f64, volume_m3: f64) -> Answer<f64> {
    Ok(U.check(u_w_m2k)? * receiver_area_m2(volume_m3)?)
}
