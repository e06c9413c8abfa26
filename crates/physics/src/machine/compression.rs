//! Work, power and temperature of an ideal compression of air, and the efficiencies that compare a
//! machine with it.
//!
//! Symbols: x = p_2/p_1 pressure ratio of absolute pressures [-]; n polytropic exponent [-], k its
//! isentropic value for air, 1.4; V free air at intake conditions [m³/s]. The isothermal power is
//! the least that any machine could draw; real ones draw about twice as much.
//!
//! Air is an ideal gas here: against real air from 1 to 14 bar(a) the isentropic work is 0.07 to
//! 0.17 % high and the isothermal work 0.12 to 0.18 % high (reference library).
//!
//! Must not know: machines, their losses, what they are rated at.

use crate::air::R_DRY_AIR;
use crate::quantity::{AbsolutePressure, CUBIC_FOOT_M3, FreeAir, Power, Temperature};
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

/// Isentropic exponent of air as a perfect gas.
pub const ISENTROPIC_EXPONENT: f64 = 1.4;

/// The isothermal power as people read it.
pub const ISOTHERMAL_POWER: Formula = Formula {
    name: "isothermal power",
    equation: "P_iso = p_1 V ln(p_2/p_1)",
    unit: "kW",
    source: "work of reversible isothermal compression of an ideal gas",
    mark: Mark::Derived,
};

const RATIO: Range = Range {
    what: "pressure ratio",
    unit: "-",
    min: 1.0,
    max: 40.0,
    source: "the ideal compression",
};
const EXPONENT: Range = Range {
    what: "polytropic exponent",
    unit: "-",
    min: 1.01,
    max: 1.67,
    source: "the ideal compression",
};
const INTAKE: Range = Range {
    what: "intake temperature",
    unit: "K",
    min: 173.15,
    max: 473.15,
    source: "the ideal compression",
};
const PRESSURE: Range = Range {
    what: "absolute pressure",
    unit: "Pa",
    min: 1.0e3,
    max: 1.0e7,
    source: "the ideal compression",
};
const FLOW: Range = Range {
    what: "free air",
    unit: "m³/s",
    min: 0.0,
    max: 1.0e3,
    source: "the ideal compression",
};
const EFFICIENCY: Range = Range {
    what: "polytropic efficiency",
    unit: "-",
    min: 0.4,
    max: 1.0,
    source: "the polytropic relation",
};
const REGULATED_FLOW: Range = Range {
    what: "full-load actual flow",
    unit: "cfm",
    min: 35.0,
    max: 1250.0,
    source: "10 CFR 431.345",
};

/// Head of a polytropic compression over p_1 V (or over R T_1 per kilogram).
///
/// g(x) = n/(n−1) · (x^((n−1)/n) − 1)
///
/// - `ratio`: x = p_2/p_1 [-]
/// - `n`: polytropic exponent [-]
/// - returns: g [-]; towards n = 1 it becomes ln x
///
/// # Validity
/// 1 ≤ x ≤ 40; 1.01 ≤ n ≤ 1.67.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Integral of v dp along p vⁿ = const (textbook thermodynamics).
///
/// # Example
/// 1 to 9 bar(a) from 300 K, n = 1.3: 246.4 kJ/kg (Çengel & Boles, ch. 7).
/// ```
/// let w = 287.0 * 300.0 * physics::machine::compression::polytropic_head(9.0, 1.3)?;
/// assert!((w - 246_391.1).abs() < 0.1);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn polytropic_head(ratio: f64, n: f64) -> Answer<f64> {
    let x = RATIO.check(ratio)?;
    let n = EXPONENT.check(n)?;
    let share = (n - 1.0) / n;
    Ok((share * x.ln()).exp_m1() / share)
}

/// Head of two equal stages with cooling back to the intake temperature between them.
///
/// g₂(x) = 2 g(√x): the intermediate pressure √(p_1 p_2) shares the work equally
///
/// # Validity
/// As [`polytropic_head`].
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Çengel & Boles, *Thermodynamics*, ch. 7.
pub fn two_stage_head(ratio: f64, n: f64) -> Answer<f64> {
    Ok(2.0 * polytropic_head(RATIO.check(ratio)?.sqrt(), n)?)
}

/// Pressure between two stages that makes their work equal: p_x = √(p_1 p_2).
///
/// # Validity
/// Pressures 0.01…100 bar(a), p_2 from 1 to 40 times p_1.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Çengel & Boles, *Thermodynamics*, ch. 7.
pub fn intermediate_pressure(
    p1: AbsolutePressure,
    p2: AbsolutePressure,
) -> Answer<AbsolutePressure> {
    let x = ratio(p1, p2)?;
    Ok(AbsolutePressure::new(p1.si() * x.sqrt()))
}

/// x from two checked pressures.
fn ratio(p1: AbsolutePressure, p2: AbsolutePressure) -> Answer<f64> {
    RATIO.check(PRESSURE.check(p2.si())? / PRESSURE.check(p1.si())?)
}

/// p_1 V from checked values, W.
fn flow_work_w(p1: AbsolutePressure, free_air: FreeAir) -> Answer<f64> {
    Ok(PRESSURE.check(p1.si())? * FLOW.check(free_air.si())?)
}

/// R T_1 from a checked temperature, J/kg.
fn gas_work_j_kg(intake: Temperature) -> Answer<f64> {
    Ok(R_DRY_AIR * INTAKE.check(intake.si())?)
}

/// Specific work of isothermal compression, J/kg.
///
/// w = R T_1 ln x
///
/// # Validity
/// Intake −100…200 °C; 1 ≤ x ≤ 40.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Çengel & Boles, *Thermodynamics*, ch. 7.
pub fn isothermal_work_j_kg(intake: Temperature, ratio: f64) -> Answer<f64> {
    Ok(gas_work_j_kg(intake)? * RATIO.check(ratio)?.ln())
}

/// Specific work of polytropic compression, J/kg.
///
/// w = R T_1 g(x)
///
/// # Validity
/// Intake −100…200 °C; x and n as [`polytropic_head`].
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Çengel & Boles, *Thermodynamics*, ch. 7.
pub fn polytropic_work_j_kg(intake: Temperature, ratio: f64, n: f64) -> Answer<f64> {
    Ok(gas_work_j_kg(intake)? * polytropic_head(ratio, n)?)
}

/// Specific work of isentropic compression, J/kg: [`polytropic_work_j_kg`] with n = 1.4.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Çengel & Boles, *Thermodynamics*, ch. 7.
pub fn isentropic_work_j_kg(intake: Temperature, ratio: f64) -> Answer<f64> {
    polytropic_work_j_kg(intake, ratio, ISENTROPIC_EXPONENT)
}

/// Specific work of two equal stages with full cooling between them, J/kg.
///
/// w = 2 R T_1 g(√x)
///
/// # Errors
/// [`Refusal::OutOfRange`] outside the validity of [`polytropic_work_j_kg`].
///
/// # Source
/// Çengel & Boles, *Thermodynamics*, ch. 7.
pub fn two_stage_work_j_kg(intake: Temperature, ratio: f64, n: f64) -> Answer<f64> {
    Ok(gas_work_j_kg(intake)? * two_stage_head(ratio, n)?)
}

/// Isothermal power: the least that could compress this flow.
///
/// P = p_1 V ln(p_2/p_1)
///
/// - `p1`, `p2`: intake and discharge \[Pa\]
/// - `free_air`: V at the intake's state [m³/s]
///
/// # Validity
/// Pressures 0.01…100 bar(a) with a ratio of 1…40; V 0…1000 m³/s.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// [`ISOTHERMAL_POWER`].
///
/// # Example
/// 1 m³/min from 1 to 8 bar(a): 3.466 kW.
/// ```
/// use physics::machine::compression::isothermal_power;
/// use physics::quantity::{AbsolutePressure, FreeAir};
/// let (p1, p2) = (AbsolutePressure::from_bar(1.0), AbsolutePressure::from_bar(8.0));
/// let power = isothermal_power(p1, FreeAir::from_m3_per_min(1.0), p2)?;
/// assert!((power.kw() - 3.465_736).abs() < 1e-6);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn isothermal_power(
    p1: AbsolutePressure,
    free_air: FreeAir,
    p2: AbsolutePressure,
) -> Answer<Power> {
    Ok(Power::new(flow_work_w(p1, free_air)? * ratio(p1, p2)?.ln()))
}

/// Power of polytropic compression: P = p_1 V g(p_2/p_1).
///
/// # Validity
/// As [`isothermal_power`] and [`polytropic_head`].
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Textbook thermodynamics, as [`polytropic_head`].
pub fn polytropic_power(
    p1: AbsolutePressure,
    free_air: FreeAir,
    p2: AbsolutePressure,
    n: f64,
) -> Answer<Power> {
    let head = polytropic_head(ratio(p1, p2)?, n)?;
    Ok(Power::new(flow_work_w(p1, free_air)? * head))
}

/// Power of isentropic compression: [`polytropic_power`] with n = 1.4.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Textbook thermodynamics, as [`polytropic_head`].
pub fn isentropic_power(
    p1: AbsolutePressure,
    free_air: FreeAir,
    p2: AbsolutePressure,
) -> Answer<Power> {
    polytropic_power(p1, free_air, p2, ISENTROPIC_EXPONENT)
}

/// Power of two equal stages with full cooling between them: P = 2 p_1 V g(√(p_2/p_1)).
///
/// # Errors
/// [`Refusal::OutOfRange`] outside the validity of [`polytropic_power`].
///
/// # Source
/// Textbook thermodynamics, as [`two_stage_head`].
pub fn two_stage_power(
    p1: AbsolutePressure,
    free_air: FreeAir,
    p2: AbsolutePressure,
    n: f64,
) -> Answer<Power> {
    let head = two_stage_head(ratio(p1, p2)?, n)?;
    Ok(Power::new(flow_work_w(p1, free_air)? * head))
}

/// Isothermal power over the power drawn.
///
/// η = P_iso/P
///
/// # Validity
/// 0 ≤ P_iso ≤ P: nothing compresses with less than the isothermal power.
///
/// # Errors
/// [`Refusal::Contradiction`] otherwise.
///
/// # Source
/// Definition.
pub fn isothermal_efficiency(isothermal: Power, drawn: Power) -> Answer<f64> {
    let share = isothermal / drawn;
    if isothermal.si() >= 0.0 && (0.0..=1.0).contains(&share) {
        Ok(share)
    } else {
        Err(Refusal::Contradiction {
            must: "the power drawn is not less than the isothermal power",
            first: drawn.si(),
            second: isothermal.si(),
        })
    }
}

/// Temperature behind an isentropic compression.
///
/// T_2 = T_1 x^((k−1)/k)
///
/// - `k`: isentropic exponent, 1.4 for dry air at room temperature [-]
///
/// # Validity
/// Intake −100…200 °C; 1 ≤ x ≤ 40; 1.01 ≤ k ≤ 1.67. Constant k: real air ends 3 to 7 K cooler at
/// 8 to 14 bar(a).
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Textbook thermodynamics.
pub fn isentropic_outlet_temperature(
    intake: Temperature,
    ratio: f64,
    k: f64,
) -> Answer<Temperature> {
    let (t, x, k) = (
        INTAKE.check(intake.si())?,
        RATIO.check(ratio)?,
        EXPONENT.check(k)?,
    );
    Ok(Temperature::new(t * x.powf((k - 1.0) / k)))
}

/// Polytropic exponent of a compression with a polytropic efficiency.
///
/// n = k η_p/(1 − k (1 − η_p))
///
/// # Validity
/// 1.01 ≤ k ≤ 1.67; 0.4 ≤ η_p ≤ 1, with 1 − k (1 − η_p) positive.
///
/// # Errors
/// [`Refusal`] outside.
///
/// # Source
/// Definition of η_p; checked against the `fluids` library.
pub fn polytropic_exponent(k: f64, polytropic_efficiency: f64) -> Answer<f64> {
    let (k, eta) = (EXPONENT.check(k)?, EFFICIENCY.check(polytropic_efficiency)?);
    let rest = 1.0 - k * (1.0 - eta);
    if rest > 0.0 {
        Ok(k * eta / rest)
    } else {
        Err(Refusal::Contradiction {
            must: "the exponent times the polytropic loss stays below 1",
            first: k,
            second: eta,
        })
    }
}

/// Isentropic efficiency of a compression with a polytropic efficiency.
///
/// η_s = (x^a − 1)/(x^(a/η_p) − 1), a = (k−1)/k
///
/// # Validity
/// 1.001 and more for x (both works vanish at 1), up to 40; k and η_p as [`polytropic_exponent`].
///
/// # Errors
/// [`Refusal`] outside.
///
/// # Source
/// Definition of η_p; checked against the `fluids` library.
pub fn isentropic_efficiency(ratio: f64, k: f64, polytropic_efficiency: f64) -> Answer<f64> {
    let range = Range {
        min: 1.001,
        ..RATIO
    };
    let (x, k) = (range.check(ratio)?, EXPONENT.check(k)?);
    let eta = EFFICIENCY.check(polytropic_efficiency)?;
    let log = (k - 1.0) / k * x.ln();
    Ok(log.exp_m1() / (log / eta).exp_m1())
}

/// How a machine's speed is driven, as the regulation parts them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Speed {
    /// One speed.
    Fixed,
    /// Speed follows demand.
    Variable,
}

/// What carries the heat away, as the regulation parts machines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cooling {
    /// Air.
    Air,
    /// Water or another liquid.
    Liquid,
}

/// Least package isentropic efficiency of a lubricated rotary compressor sold in the United States
/// since 10 January 2025.
///
/// η = r + (1 − r) d/100 (+ 0.02349 if liquid-cooled), y = ln(0.4719 V),
/// fixed speed r = −0.00928 y² + 0.13911 y + 0.27110, d = −15;
/// variable speed r = −0.01549 y² + 0.21573 y + 0.00905, d = −10 (liquid-cooled −15)
///
/// - `flow`: V, full-load actual flow, in the equation in ft³/min
///
/// # Validity
/// 35…1250 ft³/min (about 1…35 m³/min); the regulation covers 75…200 psi(g).
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// 10 CFR 431.345, Table 1.
pub fn least_efficiency_10_cfr_431_345(
    flow: FreeAir,
    speed: Speed,
    cooling: Cooling,
) -> Answer<f64> {
    let cfm = REGULATED_FLOW.check(flow.m3_per_min() / CUBIC_FOOT_M3)?;
    let y = (0.4719 * cfm).ln();
    let (best, d) = match speed {
        Speed::Fixed => (-0.00928 * y * y + 0.13911 * y + 0.27110, -15.0),
        Speed::Variable => (-0.01549 * y * y + 0.21573 * y + 0.00905, -10.0),
    };
    Ok(match cooling {
        Cooling::Air => best + (1.0 - best) * d / 100.0,
        Cooling::Liquid => best + 0.02349 - (1.0 - best) * 0.15,
    })
}
