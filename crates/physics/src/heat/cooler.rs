//! The oil cooler as one conductance, and how it follows the cooling air.
//!
//! Q = G · (T_d − T_cool): heat from the oil per kelvin that the air-end discharge lies above the
//! cooling air. G folds in film, surface and the finite flows of oil and air.
//!
//! How both coolers follow the cooling-air flow φ is derived with the exact crossflow relation
//! ([`super::ntu`]), the air-side film going with φ^m and the flows' capacities taken into account:
//!
//! - oil cooler (air over oil capacity 0.6…0.8, UA over oil capacity 0.5…1.2, 60…80 % of the
//!   resistance on the air side, m 0.5…0.6): d ln G/d ln φ = 0.41…0.62; 0.5 is taken;
//! - aftercooler (compressed over cooling capacity 0.33…0.6, N 2.5…3.2, half to 60 % of the
//!   resistance on the air side, m 0.6…0.8): d ln N/d ln φ = 0.52…0.81; 0.7 is taken.
//!
//! `tests/cooler_exponents.rs` repeats the derivation.

use crate::quantity::{Power, Temperature, TemperatureDifference};
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

/// Exponent of the oil cooler's conductance on cooling-air mass flow (0.41–0.62, see the module).
pub const OIL_EXPONENT: f64 = 0.5;
/// Half-width of [`OIL_EXPONENT`] as one standard deviation.
pub const OIL_EXPONENT_SIGMA: f64 = 0.06;
/// Exponent of the aftercooler's transfer units on cooling-air mass flow (0.52–0.81).
pub const AIR_EXPONENT: f64 = 0.7;
/// Half-width of [`AIR_EXPONENT`] as one standard deviation.
pub const AIR_EXPONENT_SIGMA: f64 = 0.08;

/// The conductance as people read it.
pub const CONDUCTANCE: Formula = Formula {
    name: "oil cooler conductance",
    equation: "G = G_r · k_G · (k_fan · φ · ρ/ρ_r)^0.5, G_r = Q_oil,r / approach_r",
    unit: "W/K",
    source: "energy balance at the rated approach; exponent from exact crossflow, 0.41 to 0.62",
    mark: Mark::Derived,
};

const SHARE: Range = Range {
    what: "share of the rated cooling-air mass flow",
    unit: "-",
    min: 0.01,
    max: 3.0,
    source: "the cooler model",
};
const HEALTH: Range = Range {
    what: "cooler health",
    unit: "-",
    min: 0.02,
    max: 2.0,
    source: "the cooler model",
};

/// Conductance at rating: heat over approach.
///
/// G_r = Q_oil,r / (T_d,r − T_cool,r)
///
/// # Errors
/// [`Refusal::Contradiction`] unless both are finite and positive.
///
/// # Source
/// Definition.
pub fn rated_conductance(heat: Power, approach: TemperatureDifference) -> Answer<f64> {
    let g = heat.si() / approach.si();
    if heat.si() > 0.0 && approach.si() > 0.0 && g.is_finite() {
        Ok(g)
    } else {
        Err(Refusal::Contradiction {
            must: "heat to the oil cooler and rated approach are positive",
            first: heat.si(),
            second: approach.si(),
        })
    }
}

/// Conductance [W/K] at another cooling-air flow and health.
///
/// G = G_r · k_G · s^0.5
///
/// - `rated_w_k`: G_r [W/K]
/// - `health`: k_G, 1 when clean [-]
/// - `air_share`: s, cooling-air mass flow over rated [-]
///
/// # Validity
/// 0.01 ≤ s ≤ 3; 0.02 ≤ k_G ≤ 2.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Derived, see the module.
pub fn conductance(rated_w_k: f64, health: f64, air_share: f64) -> Answer<f64> {
    let share = SHARE.check(air_share)?;
    let health = HEALTH.check(health)?;
    let g = rated_w_k * health * share.powf(OIL_EXPONENT);
    if g.is_finite() && g > 0.0 {
        Ok(g)
    } else {
        Err(Refusal::Contradiction {
            must: "the rated conductance is positive",
            first: rated_w_k,
            second: g,
        })
    }
}

/// Share of full cooling-air flow that a fan needs to hold an oil temperature.
///
/// φ = [ (Q/(T_held − T_cool))/G_full ]^(1/0.5)
///
/// Not limited to 1: above it the fan can't hold that temperature.
///
/// # Errors
/// [`Refusal::Contradiction`] unless `held` lies above the cooling air and all are positive.
///
/// # Source
/// Inverse of [`conductance`].
pub fn fan_share_to_hold(
    heat: Power,
    held: Temperature,
    cooling_air: Temperature,
    full_w_k: f64,
) -> Answer<f64> {
    let over = (held - cooling_air).si();
    let share = (heat.si() / over / full_w_k).powf(1.0 / OIL_EXPONENT);
    if over > 0.0 && full_w_k > 0.0 && heat.si() >= 0.0 && share.is_finite() {
        Ok(share)
    } else {
        Err(Refusal::Contradiction {
            must: "the held temperature lies above the cooling air",
            first: held.si(),
            second: cooling_air.si(),
        })
    }
}
