//! Enthalpy of moist air, with the liquid it carries along.
//!
//! Zero is dry air and liquid water at 0 °C.
//!
//! Must not know: coolers.

use super::{HUMIDITY_RATIO_RANGE, celsius_in};
use crate::quantity::Temperature;
use crate::validity::{Answer, Range};
use crate::working::{Formula, Mark};

/// Enthalpy as shown in a working.
pub const ENTHALPY: Formula = Formula {
    name: "enthalpy of moist air",
    equation: "h = 1006 t + W (2 501 000 + 1860 t) + L 4186 t",
    unit: "J/kg dry air",
    source: "ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 30, and eq. 33 for the liquid",
    mark: Mark::Published,
};

/// Specific heat of dry air, J/(kg K) (ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 30).
pub const CP_DRY_AIR: f64 = 1006.0;
/// Specific heat of water vapour, J/(kg K) (as [`CP_DRY_AIR`]).
pub const CP_VAPOUR: f64 = 1860.0;
/// Specific heat of liquid water, J/(kg K) (same chapter, in its wet-bulb equation).
pub const CP_WATER: f64 = 4186.0;
/// Heat of evaporation at 0 °C, J/kg (as [`CP_DRY_AIR`]).
pub const LATENT_0C: f64 = 2_501_000.0;

const AIR: Range = Range {
    what: "air temperature",
    unit: "°C",
    min: -100.0,
    max: 200.0,
    source: "the enthalpy of moist air",
};
const WATER: Range = Range {
    what: "water temperature",
    unit: "°C",
    min: -40.0,
    max: 200.0,
    source: "the enthalpy of liquid water",
};

/// Enthalpy of air and the vapour in it, J per kg dry air.
///
/// h = 1006 t + W (2 501 000 + 1860 t)
///
/// - `t`: temperature, t in °C
/// - `humidity_ratio`: W in kg/kg dry air
/// - returns: J/kg dry air
///
/// # Validity
/// −100…200 °C, W ≤ 100 kg/kg. The specific heats are constants. Against CoolProp 8.0.0 at one
/// atmosphere, from 0 °C: dry air within 0.1 % up to 60 °C, 0.25 % at 110 °C, 0.7 % at 200 °C;
/// saturated air within 0.15 % up to 60 °C. Pressure is left out: at 8 bar(a) and 20 °C dry air
/// lies 1.65 kJ/kg lower.
///
/// # Errors
/// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) outside.
///
/// # Source
/// ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 30 (published).
///
/// # Example
/// The same chapter's example 1, 40 °C with a wet bulb of 20 °C (6.40 g/kg): 56.7 kJ/kg.
/// ```
/// # use physics::{air::enthalpy_vapour_air, quantity::Temperature};
/// let h = enthalpy_vapour_air(Temperature::from_celsius(40.0), 0.0064)?;
/// assert!((h / 1000.0 - 56.7).abs() < 0.1);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn enthalpy_vapour_air(t: Temperature, humidity_ratio: f64) -> Answer<f64> {
    let t_c = celsius_in(AIR, t)?;
    let w = HUMIDITY_RATIO_RANGE.check(humidity_ratio)?;
    Ok(CP_DRY_AIR * t_c + w * (LATENT_0C + CP_VAPOUR * t_c))
}

/// Enthalpy of liquid water, J/kg.
///
/// h = 4186 t
///
/// - `t`: temperature, t in °C
///
/// # Validity
/// −40…200 °C; within 0.5 % up to 100 °C, 2 % at 200 °C. Below 0 °C the water is taken as
/// undercooled; freezing would give another 334 kJ/kg.
///
/// # Errors
/// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) outside.
///
/// # Source
/// Specific heat as in ASHRAE Handbook Fundamentals 2017, ch. 1 (published).
pub fn enthalpy_liquid_water(t: Temperature) -> Answer<f64> {
    Ok(CP_WATER * celsius_in(WATER, t)?)
}

/// Enthalpy of air, vapour and the liquid carried along, J per kg dry air.
///
/// h = 1006 t + W (2 501 000 + 1860 t) + L 4186 t
///
/// - `t`: temperature, t in °C
/// - `humidity_ratio_vapour`: W, what is vapour, kg/kg dry air
/// - `liquid_per_kg_dry`: L, what is liquid, kg/kg dry air; with none, only the air's range counts
///
/// # Errors
/// As [`enthalpy_vapour_air`] and [`enthalpy_liquid_water`].
///
/// # Source
/// [`ENTHALPY`].
pub fn enthalpy_moist_air(
    t: Temperature,
    humidity_ratio_vapour: f64,
    liquid_per_kg_dry: f64,
) -> Answer<f64> {
    let air = enthalpy_vapour_air(t, humidity_ratio_vapour)?;
    let liquid = LIQUID.check(liquid_per_kg_dry)?;
    if liquid > 0.0 {
        Ok(air + liquid * enthalpy_liquid_water(t)?)
    } else {
        Ok(air)
    }
}

const LIQUID: Range = Range {
    what: "liquid water",
    ..HUMIDITY_RATIO_RANGE
};
