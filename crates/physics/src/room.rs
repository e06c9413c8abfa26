//! Ventilation of the compressor room: how much warmer the air gets that carries the heat away.
//!
//! The supply is what a fan or an opening brings in, at its own temperature and pressure; its
//! density makes the mass of a fixed volume flow fall with altitude and in hot weather. All heat of
//! running machines that is not ducted away ends here.
//!
//! Must not know: which machines run, what they reject, whether a duct is fitted.

use crate::air::{CP_DRY_AIR, dry_air_density};
use crate::quantity::{AbsolutePressure, Power, Temperature, TemperatureDifference};
use crate::validity::{Answer, Range};
use crate::working::{Formula, Mark};

/// The room's rise as people read it.
pub const ROOM_RISE: Formula = Formula {
    name: "temperature rise of the room",
    equation: "ΔT = Q/(ρ c_p V), ρ = p/(287.042 T), c_p = 1006 J/(kg K)",
    unit: "K",
    source: "heat balance of the ventilation air",
    mark: Mark::Derived,
};

const HEAT: Range = Range {
    what: "heat to the room",
    unit: "W",
    min: 0.0,
    max: 1.0e8,
    source: "the room's heat balance",
};
const VENTILATION: Range = Range {
    what: "ventilation",
    unit: "m³/s",
    min: 1.0e-4,
    max: 1.0e4,
    source: "the room's heat balance",
};
const SUPPLY: Range = Range {
    what: "temperature of the supply air",
    unit: "K",
    min: 203.15,
    max: 353.15,
    source: "the room's heat balance",
};
const ATMOSPHERE: Range = Range {
    what: "atmospheric pressure",
    unit: "Pa",
    min: 4.0e4,
    max: 1.2e5,
    source: "the room's heat balance",
};
const RISE: Range = Range {
    what: "temperature rise of the room",
    unit: "K",
    min: 0.0,
    max: 100.0,
    source: "the room's heat balance",
};
const WANTED_RISE: Range = Range {
    what: "wanted temperature rise of the room",
    unit: "K",
    min: 0.1,
    max: 100.0,
    source: "the room's heat balance",
};
const FLOW: Range = Range {
    what: "air through the opening",
    unit: "m³/s",
    min: 0.0,
    max: 1.0e4,
    source: "the opening's continuity",
};
const AREA: Range = Range {
    what: "free area of the opening",
    unit: "m²",
    min: 1.0e-4,
    max: 1.0e4,
    source: "the opening's continuity",
};

/// ρ c_p of the supply air, J/(m³ K).
fn heat_capacity_j_m3_k(supply: Temperature, p: AbsolutePressure) -> Answer<f64> {
    SUPPLY.check(supply.si())?;
    ATMOSPHERE.check(p.si())?;
    Ok(dry_air_density(supply, 0.0, p)? * CP_DRY_AIR)
}

/// How much warmer than the supply the room gets.
///
/// ΔT = Q/(ρ c_p V)
///
/// - `heat`: Q, heat that the ventilation carries away \[W\]
/// - `ventilation_m3_s`: V, volume of supply air at its own state [m³/s]
/// - `supply`: temperature of the supply air, for ρ \[K\]
/// - `p`: atmospheric pressure, for ρ \[Pa\]
///
/// # Validity
/// Q 0…100 MW, V 10⁻⁴…10⁴ m³/s, supply −70…80 °C, 0.4…1.2 bar(a), rise up to 100 K. Well mixed,
/// steady, walls carry nothing; humidity changes ρ c_p by less than 0.5 % and is left out.
///
/// # Errors
/// [`crate::validity::Refusal::OutOfRange`] outside.
///
/// # Source
/// Heat balance of the ventilation air (first principles).
///
/// # Example
/// ```
/// use physics::quantity::{AbsolutePressure, Power, Temperature};
/// let supply = Temperature::from_celsius(21.0);
/// let p = AbsolutePressure::new(101_325.0);
/// let rise = physics::room::room_rise(Power::from_kw(40.0), 3.316_75, supply, p)?;
/// assert!((rise.si() - 10.0).abs() < 0.02);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn room_rise(
    heat: Power,
    ventilation_m3_s: f64,
    supply: Temperature,
    p: AbsolutePressure,
) -> Answer<TemperatureDifference> {
    let heat_w = HEAT.check(heat.si())?;
    let flow = VENTILATION.check(ventilation_m3_s)?;
    let rise = heat_w / (heat_capacity_j_m3_k(supply, p)? * flow);
    Ok(TemperatureDifference::new(RISE.check(rise)?))
}

/// Supply air, m³/s at its own state, that keeps the room's rise to a wanted one.
///
/// V = Q/(ρ c_p ΔT)
///
/// - arguments as [`room_rise`]; `rise`: ΔT \[K\]
///
/// # Validity
/// As [`room_rise`]; ΔT 0.1…100 K.
///
/// # Errors
/// [`crate::validity::Refusal::OutOfRange`] outside.
///
/// # Source
/// Inverse of [`room_rise`].
pub fn ventilation_for_rise(
    heat: Power,
    rise: TemperatureDifference,
    supply: Temperature,
    p: AbsolutePressure,
) -> Answer<f64> {
    let heat_w = HEAT.check(heat.si())?;
    let rise_k = WANTED_RISE.check(rise.si())?;
    Ok(heat_w / (heat_capacity_j_m3_k(supply, p)? * rise_k))
}

/// Mean velocity in an opening, m/s.
///
/// v = V/A
///
/// - `flow_m3_s`: V, air through the opening [m³/s]
/// - `free_area_m2`: A, what the louvre's blades and the mesh leave open \[m²\]
///
/// # Validity
/// V 0…10⁴ m³/s, A 10⁻⁴…10⁴ m².
///
/// # Errors
/// [`crate::validity::Refusal::OutOfRange`] outside.
///
/// # Source
/// Continuity (first principles).
pub fn opening_velocity_m_s(flow_m3_s: f64, free_area_m2: f64) -> Answer<f64> {
    Ok(FLOW.check(flow_m3_s)? / AREA.check(free_area_m2)?)
}
