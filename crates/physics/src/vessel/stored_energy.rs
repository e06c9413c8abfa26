//! What a vessel under pressure would let loose if it gave way.
//!
//! A number to be respected, not a licence: whether a vessel may stay in use, be tested or be
//! opened is for local codes and the persons licensed under them.
//!
//! Must not know: which sections of a station can stay pressurised.

use super::VOLUME;
use crate::flow::{K_AIR, pressure_pa};
use crate::quantity::AbsolutePressure;
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

/// Stored energy as shown in a working.
pub const STORED_ENERGY: Formula = Formula {
    name: "stored energy",
    equation: "E = p V/(k − 1) · [1 − (p_a/p)^((k − 1)/k)], k = 1.4",
    unit: "J",
    source: "ASME PCC-2–2008, Article 5.1, Mandatory Appendix II",
    mark: Mark::Published,
};

/// Energy of a kilogram of TNT in ASME PCC-2, J/kg. Its constant in US units, 1 488 617 ft lbf/lb,
/// is 4.3 % greater; this one gives the greater distance.
pub const TNT_J_PER_KG: f64 = 4.266_920e6;
/// Smallest scaled distance of ASME PCC-2, m/kg^(1/3).
pub const SCALED_DISTANCE_M_KG13: f64 = 20.0;

const ENERGY: Range = Range {
    what: "stored energy",
    unit: "J",
    min: 0.0,
    max: 1.0e15,
    source: "the TNT equivalent",
};
const TEST_ENERGY: Range = Range {
    what: "stored energy",
    unit: "J",
    min: 0.0,
    max: 271.0e6,
    source: "the distance of ASME PCC-2",
};

/// Energy that air in a vessel gives up when it expands to the atmosphere, J.
///
/// E = p V/(k − 1) · [1 − (p_a/p)^((k − 1)/k)], k = 1.4
///
/// - `p`: absolute pressure in the vessel
/// - `volume_m3`: V
/// - `atmosphere`: p_a
///
/// # Validity
/// Ideal gas, isentropic; 0.01…50 bar(a), 10⁻⁶…10⁶ m³, p ≥ p_a. The publication rounds the exponent
/// to 0.286, which gives 0.07 % more.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] for a pressure below the atmosphere.
///
/// # Source
/// [`STORED_ENERGY`].
///
/// # Example
/// 1 m³ at 7 bar(g): as much as 0.21 kg of TNT.
/// ```
/// # use physics::quantity::AbsolutePressure;
/// # use physics::vessel::{stored_energy_j, tnt_equivalent_kg};
/// let (p, atmosphere) = (AbsolutePressure::from_bar(8.01), AbsolutePressure::from_bar(1.01));
/// let energy = stored_energy_j(p, 1.0, atmosphere)?;
/// assert!((energy - 894_278.7).abs() < 0.1);
/// assert!((tnt_equivalent_kg(energy)? - 0.2096).abs() < 1e-4);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn stored_energy_j(
    p: AbsolutePressure,
    volume_m3: f64,
    atmosphere: AbsolutePressure,
) -> Answer<f64> {
    let (p_pa, outside_pa) = (pressure_pa(p)?, pressure_pa(atmosphere)?);
    let volume = VOLUME.check(volume_m3)?;
    if p_pa < outside_pa {
        return Err(Refusal::Contradiction {
            must: "the pressure in the vessel is not below the atmosphere",
            first: outside_pa,
            second: p_pa,
        });
    }
    let share = -((K_AIR - 1.0) / K_AIR * (outside_pa / p_pa).ln()).exp_m1();
    Ok(p_pa * volume / (K_AIR - 1.0) * share)
}

/// Mass of TNT that gives as much energy, kg.
///
/// m = E/4 266 920
///
/// # Errors
/// [`Refusal::OutOfRange`] outside 0…10¹⁵ J.
///
/// # Source
/// ASME PCC-2–2008, Article 5.1, Mandatory Appendix II (published).
pub fn tnt_equivalent_kg(energy_j: f64) -> Answer<f64> {
    Ok(ENERGY.check(energy_j)? / TNT_J_PER_KG)
}

/// How the distance counts the TNT equivalent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DistanceRule {
    /// The 2008 edition: once.
    Pcc2Of2008,
    /// Later editions, Article 501: twice (seen only in reproductions).
    Pcc2Article501,
}

/// Distance that people keep from a vessel under a pressure test with air, m.
///
/// The greater of a step, 30 m up to 135.5 MJ and 60 m up to 271 MJ, and 20 (f m)^(1/3), m the TNT
/// equivalent in kg, f = 1 or 2
///
/// # Validity
/// Pressure tests; 0…271 MJ. Above, the publication asks for more than a formula.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// ASME PCC-2–2008, Article 5.1, Mandatory Appendix III (published); f = 2 second-hand. The edition
/// in force at the place decides.
pub fn test_distance_m(energy_j: f64, rule: DistanceRule) -> Answer<f64> {
    let energy = TEST_ENERGY.check(energy_j)?;
    let step = if energy <= 135.5e6 { 30.0 } else { 60.0 };
    Ok(scaled_distance_m(energy, rule)?.max(step))
}

/// The part of [`test_distance_m`] that goes by the TNT equivalent, without the step, m.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside 0…10¹⁵ J.
///
/// # Source
/// As [`test_distance_m`].
pub fn scaled_distance_m(energy_j: f64, rule: DistanceRule) -> Answer<f64> {
    let times = match rule {
        DistanceRule::Pcc2Of2008 => 1.0,
        DistanceRule::Pcc2Article501 => 2.0,
    };
    Ok(SCALED_DISTANCE_M_KG13 * (times * tnt_equivalent_kg(energy_j)?).cbrt())
}
