//! Viscosity of air.
//!
//! Must not know: pipes.

use super::celsius_in;
use crate::quantity::Temperature;
use crate::validity::{Answer, Range};
use crate::working::{Formula, Mark};

/// Viscosity as shown in a working.
pub const VISCOSITY: Formula = Formula {
    name: "dynamic viscosity of air",
    equation: "µ = 1.458e-6 T^1.5/(T + 110.4)",
    unit: "Pa s",
    source: "US Standard Atmosphere 1976, eq. 51",
    mark: Mark::FromMemory,
};

const SUTHERLAND: Range = Range {
    what: "temperature",
    unit: "°C",
    min: -100.0,
    max: 300.0,
    source: "the viscosity law of Sutherland",
};

/// Dynamic viscosity of air, Pa s.
///
/// µ = 1.458·10⁻⁶ T^1.5/(T + 110.4)
///
/// - `t`: temperature, T in K
///
/// # Validity
/// −100…300 °C. Against CoolProp 8.0.0, −20…110 °C: 0.3…0.8 % low at one atmosphere, 1.0…1.2 % low
/// at 8 bar(a), since pressure is left out.
///
/// # Errors
/// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) outside.
///
/// # Source
/// Sutherland's law with the constants of the US Standard Atmosphere 1976, eq. 51 (from memory).
pub fn viscosity_sutherland(t: Temperature) -> Answer<f64> {
    celsius_in(SUTHERLAND, t)?;
    let t_k = t.si();
    Ok(1.458e-6 * t_k * t_k.sqrt() / (t_k + 110.4))
}
