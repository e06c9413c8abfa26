//! Air through a hole: leaks, drains, vents, valves.
//!
//! Must not know: what the hole is, what its air costs.

use super::{K_AIR, MASS_FLOW, R_AIR, kelvin, kg_per_s, pressure_pa};
use crate::quantity::{AbsolutePressure, MassFlow, Temperature};
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

/// Choked flow through a hole as shown in a working.
pub const ORIFICE_CHOKED: Formula = Formula {
    name: "choked flow through a hole",
    equation: "ṁ = C_d A p₁ √(k/(R T₁)) (2/(k + 1))^((k + 1)/(2(k − 1))), k = 1.4, R = 287.05",
    unit: "kg/s",
    source: "isentropic flow of an ideal gas; Çengel & Boles, Thermodynamics, ch. 17",
    mark: Mark::Published,
};
/// Unchoked flow through a hole as shown in a working.
pub const ORIFICE_SUBSONIC: Formula = Formula {
    name: "unchoked flow through a hole",
    equation: "ṁ = C_d A p₁ √(2k/((k − 1) R T₁) · (r^(2/k) − r^((k + 1)/k))), r = p₂/p₁",
    unit: "kg/s",
    source: "isentropic flow of an ideal gas; Çengel & Boles, Thermodynamics, ch. 17",
    mark: Mark::Published,
};

/// Density of the reference air of ISO 6358, kg/m³: 20 °C, 1 bar(a), 65 %. Moist air of that state
/// has 1.1816; the standard's own number belongs to its conductances.
pub const ISO_6358_DENSITY: f64 = 1.185;
/// Temperature of the reference air of ISO 6358, K.
pub const ISO_6358_TEMPERATURE_K: f64 = 293.15;

const AREA: Range = Range {
    what: "area of the hole",
    unit: "m²",
    min: 0.0,
    max: 100.0,
    source: "the flow through a hole",
};
const DIAMETER: Range = Range {
    what: "diameter of the hole",
    unit: "m",
    min: 0.0,
    max: 10.0,
    source: "the flow through a hole",
};
const COEFFICIENT: Range = Range {
    what: "discharge coefficient",
    unit: "-",
    min: 0.01,
    max: 1.0,
    source: "the flow through a hole",
};
const CONDUCTANCE: Range = Range {
    what: "sonic conductance",
    unit: "m³/(s Pa)",
    min: 0.0,
    max: 1.0e-2,
    source: "ISO 6358",
};
const CRITICAL_RATIO: Range = Range {
    what: "critical pressure ratio",
    unit: "-",
    min: 0.0,
    max: 0.999,
    source: "ISO 6358",
};
const OUTLET: Range = Range {
    what: "absolute pressure behind the hole",
    unit: "bar(a)",
    min: 0.0,
    max: 50.0,
    source: "the flow through a hole",
};
const EXPONENT: Range = Range {
    what: "isentropic exponent",
    unit: "-",
    min: 1.01,
    max: 2.0,
    source: "the flow of an ideal gas",
};
const GAS_CONSTANT: Range = Range {
    what: "gas constant",
    unit: "J/(kg K)",
    min: 10.0,
    max: 5.0e3,
    source: "the flow of an ideal gas",
};

/// An ideal gas in isentropic flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gas {
    /// Isentropic exponent k.
    pub exponent: f64,
    /// Gas constant R, J/(kg K); with a compressibility factor, Z R.
    pub constant: f64,
}

impl Gas {
    /// Dry air.
    pub const AIR: Self = Self {
        exponent: K_AIR,
        constant: R_AIR,
    };

    /// Outlet over inlet pressure at or below which a hole chokes.
    ///
    /// r* = (2/(k + 1))^(k/(k − 1))
    ///
    /// # Errors
    /// [`Refusal::OutOfRange`] for k outside 1.01…2.
    pub fn critical_pressure_ratio(self) -> Answer<f64> {
        let k = EXPONENT.check(self.exponent)?;
        Ok((2.0 / (k + 1.0)).powf(k / (k - 1.0)))
    }

    /// Mass flow per area of an ideal hole, kg/(s m²), choked or not.
    ///
    /// - `p1`, `t1`: pressure and temperature before the hole, at rest
    /// - `p2`: pressure behind it
    ///
    /// # Errors
    /// As [`mass_flow_orifice`].
    pub fn mass_flux(
        self,
        p1: AbsolutePressure,
        t1: Temperature,
        p2: AbsolutePressure,
    ) -> Answer<f64> {
        let ratio = pressure_ratio(p1, p2)?.max(self.critical_pressure_ratio()?);
        let rt = GAS_CONSTANT.check(self.constant)? * kelvin(t1)?;
        Ok(p1.si() * (self.flux_squared(ratio) / rt).sqrt())
    }

    /// 2k/(k − 1) · (r^(2/k) − r^((k+1)/k)), written so that r near 1 keeps its digits.
    fn flux_squared(self, ratio: f64) -> f64 {
        let k = self.exponent;
        let drop = -((k - 1.0) / k * ratio.ln()).exp_m1();
        2.0 * k / (k - 1.0) * ratio.powf(2.0 / k) * drop
    }

    /// Flow at a pressure ratio as a share of the choked flow: 1 up to the critical ratio, 0 at 1.
    pub(crate) fn share_of_choked(self, ratio: f64) -> f64 {
        let critical = (2.0 / (self.exponent + 1.0)).powf(self.exponent / (self.exponent - 1.0));
        if ratio <= critical {
            return 1.0;
        }
        (self.flux_squared(ratio) / self.flux_squared(critical)).sqrt()
    }
}

fn pressure_ratio(p1: AbsolutePressure, p2: AbsolutePressure) -> Answer<f64> {
    let p1_pa = pressure_pa(p1)?;
    OUTLET.check(p2.bar())?;
    if p2.si() > p1_pa {
        return Err(Refusal::Contradiction {
            must: "the pressure behind the hole is not above the pressure before it",
            first: p2.si(),
            second: p1_pa,
        });
    }
    Ok(p2.si() / p1_pa)
}

/// Outlet over inlet pressure at or below which a hole in air chokes: 0.528 281 787 7.
///
/// r* = (2/(k + 1))^(k/(k − 1)), k = 1.4
///
/// # Source
/// Isentropic flow of an ideal gas (first principles).
#[must_use]
pub fn critical_pressure_ratio() -> f64 {
    (2.0 / (K_AIR + 1.0)).powf(K_AIR / (K_AIR - 1.0))
}

/// Area of a round hole, m².
///
/// A = π d²/4
///
/// # Errors
/// [`Refusal::OutOfRange`] outside 0…10 m.
pub fn orifice_area(diameter_m: f64) -> Answer<f64> {
    Ok(core::f64::consts::FRAC_PI_4 * DIAMETER.check(diameter_m)?.powi(2))
}

/// Mass flow of air through a hole, choked or not.
///
/// ṁ = C_d A p₁ √(2k/((k − 1) R T₁) · (r^(2/k) − r^((k+1)/k))), r = max(p₂/p₁, r*), k = 1.4,
/// R = 287.05 J/(kg K); choked, at r = r* = 0.5283: ṁ = 0.040415 C_d A p₁/√T₁
///
/// - `area_m2`: A
/// - `discharge_coefficient`: C_d; 1 ideal, 0.97 well rounded, 0.61…0.65 sharp-edged
/// - `p1`, `t1`: pressure and temperature before the hole
/// - `p2`: pressure behind it
///
/// # Validity
/// 0.01…50 bar(a) before, 150…1000 K, 0.01 ≤ C_d ≤ 1, A ≤ 100 m², p₂ ≤ p₁. C_d is taken as
/// constant; that of a sharp edge climbs from 0.6 towards 0.84 as p₂ falls far below p₁ (from
/// memory).
///
/// # Errors
/// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] for p₂ above p₁.
///
/// # Source
/// [`ORIFICE_CHOKED`], [`ORIFICE_SUBSONIC`]; coefficients US Department of Energy, Tip Sheet #3,
/// 2004, and the handbook table "Discharge of air through an orifice" (published).
///
/// # Example
/// An ideal hole of 3 mm at 7 bar(g): 0.67 m³/min.
/// ```
/// # use physics::flow::{mass_flow_orifice, orifice_area};
/// # use physics::quantity::{AbsolutePressure, Temperature};
/// let (p1, p2) = (AbsolutePressure::new(801_325.0), AbsolutePressure::new(101_325.0));
/// let m = mass_flow_orifice(orifice_area(0.003)?, 1.0, p1, Temperature::from_celsius(20.0), p2)?;
/// assert!((m.si() - 0.013_370_191_8).abs() < 1e-10);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn mass_flow_orifice(
    area_m2: f64,
    discharge_coefficient: f64,
    p1: AbsolutePressure,
    t1: Temperature,
    p2: AbsolutePressure,
) -> Answer<MassFlow> {
    let area = AREA.check(area_m2)? * COEFFICIENT.check(discharge_coefficient)?;
    Ok(MassFlow::new(area * Gas::AIR.mass_flux(p1, t1, p2)?))
}

/// Diameter of the round hole that passes a mass flow, m: inverse of [`mass_flow_orifice`].
///
/// # Errors
/// As [`mass_flow_orifice`]; [`Refusal::OutOfRange`] if the hole would be wider than 10 m;
/// [`Refusal::NoSolution`] for a flow without a pressure difference.
pub fn diameter_for_flow(
    m: MassFlow,
    discharge_coefficient: f64,
    p1: AbsolutePressure,
    t1: Temperature,
    p2: AbsolutePressure,
) -> Answer<f64> {
    let flux = COEFFICIENT.check(discharge_coefficient)? * Gas::AIR.mass_flux(p1, t1, p2)?;
    let flow = kg_per_s(m)?;
    if flow <= 0.0 {
        return Ok(0.0);
    }
    if flux <= 0.0 {
        return Err(Refusal::NoSolution {
            what: "diameter of the hole",
        });
    }
    DIAMETER.check((flow / flux / core::f64::consts::FRAC_PI_4).sqrt())
}

/// Mass flow through a component rated to ISO 6358.
///
/// ṁ = C ρ₀ p₁ √(T₀/T₁) · √(1 − ((r − b)/(1 − b))²) for r = p₂/p₁ > b, without the second root
/// below; ρ₀ = 1.185 kg/m³, T₀ = 293.15 K
///
/// - `sonic_conductance_m3_s_pa`: C; 1 dm³/(s bar) = 10⁻⁸ m³/(s Pa)
/// - `critical_ratio`: b
/// - `p1`, `t1`: pressure and temperature before the component
/// - `p2`: pressure behind it
///
/// # Validity
/// 0.01…50 bar(a) before, 150…1000 K, 0 ≤ b ≤ 0.999, p₂ ≤ p₁.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] for p₂ above p₁.
///
/// # Source
/// ISO 6358 (published, seen in public worked examples).
pub fn mass_flow_iso_6358(
    sonic_conductance_m3_s_pa: f64,
    critical_ratio: f64,
    p1: AbsolutePressure,
    t1: Temperature,
    p2: AbsolutePressure,
) -> Answer<MassFlow> {
    let conductance = CONDUCTANCE.check(sonic_conductance_m3_s_pa)?;
    let b = CRITICAL_RATIO.check(critical_ratio)?;
    let ratio = pressure_ratio(p1, p2)?;
    let choked =
        conductance * ISO_6358_DENSITY * p1.si() * (ISO_6358_TEMPERATURE_K / kelvin(t1)?).sqrt();
    let share = if ratio <= b {
        1.0
    } else {
        // 1 − ((r − b)/(1 − b))², as a product that reaches 0 at r = 1.
        ((1.0 - ratio) * (1.0 + ratio - 2.0 * b)).sqrt() / (1.0 - b)
    };
    Ok(MassFlow::new(MASS_FLOW.check(choked * share)?))
}

/// Sonic conductance to ISO 6358 of a hole, m³/(s Pa).
///
/// C = C_d A √(k/(R T₀)) (2/(k + 1))^((k+1)/(2(k−1)))/ρ₀
///
/// # Errors
/// [`Refusal::OutOfRange`] for an area outside 0…100 m² or a coefficient outside 0.01…1.
///
/// # Source
/// [`ORIFICE_CHOKED`] set equal to [`mass_flow_iso_6358`] (derived). A hole's b is near
/// [`critical_pressure_ratio`]; the ellipse of the standard is not the isentropic curve.
pub fn sonic_conductance(area_m2: f64, discharge_coefficient: f64) -> Answer<f64> {
    let area = AREA.check(area_m2)? * COEFFICIENT.check(discharge_coefficient)?;
    let flux = Gas::AIR.flux_squared(critical_pressure_ratio()).sqrt();
    Ok(area * flux / (R_AIR * ISO_6358_TEMPERATURE_K).sqrt() / ISO_6358_DENSITY)
}
