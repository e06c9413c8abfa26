//! What a volume of moist air weighs, and the flows that refer to a stated condition of air: free
//! air, reference air (ANR), normal cubic metres.
//!
//! Balances are in mass of dry air, which neither drains nor dryers change; a volume flow becomes
//! one at the door and back at the end.
//!
//! Must not know: compressors, gauges.

use super::{
    AIR_TEMPERATURE, HUMIDITY_RATIO_RANGE, MASS_RATIO, R_DRY_AIR, VAPOUR_PRESSURE_RANGE,
    celsius_in, total_pa,
};
use crate::quantity::{AbsolutePressure, FreeAir, MassFlow, ReferenceAir, Temperature};
use crate::validity::{Answer, Range};
use crate::working::{Formula, Mark};

/// Mass of dry air in a flow as shown in a working.
pub const DRY_AIR_MASS: Formula = Formula {
    name: "dry-air mass flow",
    equation: "ṁ = V̇ (p − p_w)/(287.042 T), p_w = p W/(0.621945 + W)",
    unit: "kg/s",
    source: "ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 26",
    mark: Mark::Published,
};

/// Condensate as shown in a working.
pub const CONDENSATE: Formula = Formula {
    name: "condensate",
    equation: "ṁ_w = ṁ max(0, W_in − W_sat)",
    unit: "kg/s",
    source: "water balance per kg of dry air",
    mark: Mark::Derived,
};

/// Gas constant of water vapour, J/(kg K).
pub const R_WATER_VAPOUR: f64 = R_DRY_AIR / MASS_RATIO;
/// Density of reference air (ANR as used here: dry, 20 °C, 1 bar(a)), kg/m³.
pub const REFERENCE_DENSITY: f64 = 1.0e5 / (R_DRY_AIR * 293.15);
/// Density of dry air at 0 °C and 101 325 Pa (the normal state of DIN 1343), kg/m³.
pub const NORMAL_DENSITY: f64 = 101_325.0 / (R_DRY_AIR * 273.15);

const FREE_AIR: Range = Range {
    what: "free air flow",
    unit: "m³/s",
    min: 0.0,
    max: 1.0e4,
    source: "the mass of an air flow",
};
const MASS_FLOW: Range = Range {
    what: "mass flow",
    unit: "kg/s",
    min: 0.0,
    max: 1.0e5,
    source: "the volume of an air flow",
};

/// Mass of dry air in a cubic metre of moist air, kg/m³.
///
/// ρ_da = (p − p_w)/(R T), p_w = p W/(0.621945 + W), R = 287.042 J/(kg K)
///
/// - `t`: temperature, T in K
/// - `humidity_ratio`: W in kg/kg dry air
/// - `p`: total pressure
/// - returns: kg dry air per m³ of moist air
///
/// # Validity
/// −143.15…300 °C, 0.1…20 bar(a), W ≤ 100 kg/kg. As an ideal gas: at 20 °C real air is 0.04 %
/// denser at 1 bar(a), 0.3 % at 8 bar(a), 0.5 % at 14 bar(a).
///
/// # Errors
/// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) outside.
///
/// # Source
/// ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 26 (published).
pub fn dry_air_density(t: Temperature, humidity_ratio: f64, p: AbsolutePressure) -> Answer<f64> {
    celsius_in(AIR_TEMPERATURE, t)?;
    let w = HUMIDITY_RATIO_RANGE.check(humidity_ratio)?;
    Ok(total_pa(p)? * MASS_RATIO / ((MASS_RATIO + w) * R_DRY_AIR * t.si()))
}

/// Density of moist air, kg/m³.
///
/// ρ = (1 + W) ρ_da
///
/// - arguments, validity and errors as [`dry_air_density`]
///
/// # Source
/// ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 9b (published).
///
/// # Example
/// 20 °C, 1 bar(a), 65 %:
/// ```
/// # use physics::air::{Formulation, moist_air_density};
/// # use physics::quantity::{AbsolutePressure, Temperature};
/// let (t, p) = (Temperature::from_celsius(20.0), AbsolutePressure::from_bar(1.0));
/// let w = Formulation::ASHRAE_IDEAL.humidity_ratio(t, 0.65, p)?;
/// assert!((moist_air_density(t, w, p)? - 1.181_575_4).abs() < 1e-6);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn moist_air_density(t: Temperature, humidity_ratio: f64, p: AbsolutePressure) -> Answer<f64> {
    Ok((1.0 + humidity_ratio) * dry_air_density(t, humidity_ratio, p)?)
}

/// Mass of water vapour in a cubic metre, kg/m³: the absolute humidity.
///
/// ρ_w = p_w/(R_w T), R_w = 287.042/0.621945 J/(kg K)
///
/// - `t`: temperature, T in K
/// - `p_w_pa`: partial pressure of the vapour in Pa
///
/// # Errors
/// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) outside −143.15…300 °C or
/// 0…2 MPa.
///
/// # Source
/// Ideal gas (first principles).
pub fn vapour_density(t: Temperature, p_w_pa: f64) -> Answer<f64> {
    celsius_in(AIR_TEMPERATURE, t)?;
    Ok(VAPOUR_PRESSURE_RANGE.check(p_w_pa)? / (R_WATER_VAPOUR * t.si()))
}

/// Dry-air mass flow of free air drawn in at an intake.
///
/// ṁ = V̇ ρ_da(T, W, p), all three at the intake
///
/// - `fad`: V̇, volume flow at the intake's own conditions
/// - `t_intake`, `humidity_ratio`, `p_intake`: the conditions at the intake
///
/// # Errors
/// As [`dry_air_density`];
/// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) for a flow outside 0…10⁴ m³/s.
///
/// # Source
/// [`DRY_AIR_MASS`].
///
/// # Example
/// 600 m³/h of 20 °C and 60 % at 101 325 Pa: 712.485 kg/h.
/// ```
/// # use physics::air::{Formulation, dry_air_mass_flow};
/// # use physics::quantity::{AbsolutePressure, FreeAir, Temperature};
/// let (t, p) = (Temperature::from_celsius(20.0), AbsolutePressure::new(101_325.0));
/// let w = Formulation::ASHRAE_IDEAL.humidity_ratio(t, 0.6, p)?;
/// let m = dry_air_mass_flow(FreeAir::from_m3_per_min(10.0), t, w, p)?;
/// assert!((m.si() * 3600.0 - 712.485_12).abs() < 1e-3);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn dry_air_mass_flow(
    fad: FreeAir,
    t_intake: Temperature,
    humidity_ratio: f64,
    p_intake: AbsolutePressure,
) -> Answer<MassFlow> {
    let flow = FREE_AIR.check(fad.si())?;
    Ok(MassFlow::new(
        flow * dry_air_density(t_intake, humidity_ratio, p_intake)?,
    ))
}

/// Free air at an intake that carries a dry-air mass flow: inverse of [`dry_air_mass_flow`].
///
/// V̇ = ṁ/ρ_da(T, W, p)
///
/// # Errors
/// As [`dry_air_density`];
/// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) for a flow outside 0…10⁵ kg/s.
///
/// # Source
/// [`DRY_AIR_MASS`].
pub fn free_air(
    mass_flow: MassFlow,
    t: Temperature,
    humidity_ratio: f64,
    p: AbsolutePressure,
) -> Answer<FreeAir> {
    let flow = MASS_FLOW.check(mass_flow.si())?;
    Ok(FreeAir::new(flow / dry_air_density(t, humidity_ratio, p)?))
}

/// Reference air (ANR: dry, 20 °C, 1 bar(a)) of a dry-air mass flow.
///
/// A fixed factor, 1/1.18841 m³/kg, so it answers for any mass flow.
///
/// # Source
/// State of ISO 8778 with dry air (from memory); ISO 8573-1:2010 states the same state for purity
/// (published).
#[must_use]
pub fn reference_air(mass_flow: MassFlow) -> ReferenceAir {
    ReferenceAir::new(mass_flow.si() / REFERENCE_DENSITY)
}

/// Dry-air mass flow of reference air: inverse of [`reference_air`].
#[must_use]
pub fn mass_of_reference_air(flow: ReferenceAir) -> MassFlow {
    MassFlow::new(flow.si() * REFERENCE_DENSITY)
}

/// Normal cubic metres per second (dry, 0 °C, 101 325 Pa) of a dry-air mass flow.
///
/// A fixed factor, 1/1.29232 m³/kg, so it answers for any mass flow.
///
/// # Source
/// DIN 1343 (published).
#[must_use]
pub fn normal_flow(mass_flow: MassFlow) -> f64 {
    mass_flow.si() / NORMAL_DENSITY
}

/// Water that falls out of an air flow when it can hold no more than a given humidity ratio.
///
/// ṁ_w = ṁ max(0, W_in − W_sat)
///
/// - `mass_flow`: ṁ of dry air
/// - `humidity_ratio_in`: W_in, what comes in as vapour, kg/kg dry air
/// - `humidity_ratio_saturated`: W_sat at the place's temperature and pressure, kg/kg dry air
/// - returns: mass flow of water
///
/// # Errors
/// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) for W outside 0…100 kg/kg or a
/// flow outside 0…10⁵ kg/s.
///
/// # Source
/// Water balance (first principles).
pub fn condensate(
    mass_flow: MassFlow,
    humidity_ratio_in: f64,
    humidity_ratio_saturated: f64,
) -> Answer<MassFlow> {
    let flow = MASS_FLOW.check(mass_flow.si())?;
    let w_in = HUMIDITY_RATIO_RANGE.check(humidity_ratio_in)?;
    let w_saturated = HUMIDITY_RATIO_RANGE.check(humidity_ratio_saturated)?;
    Ok(MassFlow::new(flow * (w_in - w_saturated).max(0.0)))
}
