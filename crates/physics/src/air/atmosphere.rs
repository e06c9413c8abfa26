//! Pressure of the standard atmosphere by altitude, for a place without a barometer.
//!
//! Must not know: weather.

use crate::quantity::AbsolutePressure;
use crate::validity::{Answer, Range};
use crate::working::{Formula, Mark};

/// Pressure by altitude as shown in a working.
pub const ATMOSPHERE: Formula = Formula {
    name: "atmosphere at the altitude",
    equation: "p = 101 325 (1 − 2.25577e-5 h)^5.25588",
    unit: "Pa",
    source: "ISO 2533:1975",
    mark: Mark::Published,
};

const ALTITUDE: Range = Range {
    what: "altitude",
    unit: "m",
    min: -2000.0,
    max: 11_000.0,
    source: "the lowest layer of ISO 2533:1975",
};

/// Pressure of the standard atmosphere.
///
/// p = 101 325 (1 − 2.25577·10⁻⁵ h)^5.25588
///
/// - `altitude_m`: h, geopotential altitude in m; the geometric one differs by 1.7 Pa at 1000 m and
///   20 Pa at 4000 m
/// - returns: the pressure of an average day; weather moves it by some ±3 %
///
/// # Validity
/// −2000…11 000 m.
///
/// # Errors
/// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) outside.
///
/// # Source
/// ISO 2533:1975 (published), its constants put together.
///
/// # Example
/// ```
/// # use physics::air::atmosphere_iso_2533_1975;
/// assert!((atmosphere_iso_2533_1975(1000.0)?.si() - 89_874.6).abs() < 1.0);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn atmosphere_iso_2533_1975(altitude_m: f64) -> Answer<AbsolutePressure> {
    let altitude_m = ALTITUDE.check(altitude_m)?;
    Ok(AbsolutePressure::new(
        101_325.0 * (1.0 - 2.255_77e-5 * altitude_m).powf(5.255_88),
    ))
}
