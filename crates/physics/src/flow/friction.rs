//! Darcy friction factor of a round pipe.
//!
//! Laminar up to Re 2000, turbulent from Re 4000; between the two the flow switches to and fro and
//! no law is exact: [`friction_factor`] goes straight from one to the other, so that the pressure
//! lost still rises with the flow (common practice, no source).
//!
//! Must not know: gases, pressures.

use crate::validity::{Answer, Range, Refusal};

/// The Reynolds number up to which a flow is taken as laminar.
pub const LAMINAR_UP_TO: f64 = 2.0e3;
/// The Reynolds number from which a flow is taken as turbulent.
pub const TURBULENT_FROM: f64 = 4.0e3;

const LAMINAR: Range = Range {
    what: "Reynolds number",
    unit: "-",
    min: 1.0e-9,
    max: LAMINAR_UP_TO,
    source: "the friction factor of laminar flow",
};
const COLEBROOK_REYNOLDS: Range = Range {
    what: "Reynolds number",
    unit: "-",
    min: LAMINAR_UP_TO,
    max: 1.0e10,
    source: "the friction law of Colebrook (1939)",
};
const EXPLICIT_REYNOLDS: Range = Range {
    what: "Reynolds number",
    unit: "-",
    min: TURBULENT_FROM,
    max: 1.0e8,
    source: "the explicit friction law",
};
const ANY_REYNOLDS: Range = Range {
    what: "Reynolds number",
    unit: "-",
    min: 1.0e-9,
    max: 1.0e10,
    source: "the friction factor of a pipe",
};
const RELATIVE_ROUGHNESS: Range = Range {
    what: "relative roughness",
    unit: "-",
    min: 0.0,
    max: 0.05,
    source: "the friction factor of a pipe",
};
const ROUGH: Range = Range {
    what: "relative roughness",
    unit: "-",
    min: 1.0e-6,
    max: 0.05,
    source: "a friction law for rough pipes",
};

const MOST_STEPS: u32 = 60;

/// How the friction factor of a pipe is found.
///
/// Apart from [`FrictionLaw::Nikuradse`] every law is laminar below Re 2000 and joins its turbulent
/// form at Re 4000.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FrictionLaw {
    /// Colebrook with 3.7, as the original writes it.
    #[default]
    Colebrook,
    /// Colebrook with 3.71, as some network programs write it: λ is 0.007…0.1 % lower.
    Colebrook371,
    /// Swamee and Jain 1976; rough pipes only.
    SwameeJain,
    /// Haaland 1983.
    Haaland,
    /// 64/Re + (2 log10(D/ε) + 1.14)⁻²: laminar and fully rough added up, no smooth turbulent
    /// part, so it is up to a sixth low in smooth pipes. Rough pipes only.
    Nikuradse,
}

impl FrictionLaw {
    /// Darcy friction factor λ by this law.
    ///
    /// - `reynolds`: Reynolds number
    /// - `relative_roughness`: ε/D
    ///
    /// # Errors
    /// [`Refusal::OutOfRange`] outside 10⁻⁹ ≤ Re ≤ 10¹⁰ (10⁸ for Swamee–Jain and Haaland) or
    /// 0 ≤ ε/D ≤ 0.05 (from 10⁻⁶ for Swamee–Jain and Nikuradse).
    pub fn factor(self, reynolds: f64, relative_roughness: f64) -> Answer<f64> {
        if self == Self::Nikuradse {
            let re = ANY_REYNOLDS.check(reynolds)?;
            let rough = 2.0 * ROUGH.check(relative_roughness)?.recip().log10() + 1.14;
            return Ok(64.0 / re + rough.powi(-2));
        }
        let turbulent = |re| match self {
            Self::Colebrook | Self::Nikuradse => colebrook(re, relative_roughness, 3.7),
            Self::Colebrook371 => colebrook(re, relative_roughness, 3.71),
            Self::SwameeJain => friction_factor_swamee_jain_1976(re, relative_roughness),
            Self::Haaland => friction_factor_haaland_1983(re, relative_roughness),
        };
        let re = ANY_REYNOLDS.check(reynolds)?;
        RELATIVE_ROUGHNESS.check(relative_roughness)?;
        if re <= LAMINAR_UP_TO {
            return friction_factor_laminar(re);
        }
        if re >= TURBULENT_FROM {
            return turbulent(re);
        }
        let (low, high) = (64.0 / LAMINAR_UP_TO, turbulent(TURBULENT_FROM)?);
        let share = (re - LAMINAR_UP_TO) / (TURBULENT_FROM - LAMINAR_UP_TO);
        Ok(low + share * (high - low))
    }
}

/// Darcy friction factor of a round pipe at any Reynolds number.
///
/// λ = 64/Re up to Re 2000; Colebrook (3.7) from Re 4000; a straight line between
///
/// - `reynolds`: Reynolds number
/// - `relative_roughness`: ε/D
///
/// # Validity
/// 10⁻⁹ ≤ Re ≤ 10¹⁰, 0 ≤ ε/D ≤ 0.05.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// [`friction_factor_laminar`], [`friction_factor_colebrook_1939`]; the line between is common
/// practice, no source.
pub fn friction_factor(reynolds: f64, relative_roughness: f64) -> Answer<f64> {
    FrictionLaw::Colebrook.factor(reynolds, relative_roughness)
}

/// Darcy friction factor of laminar flow.
///
/// λ = 64/Re
///
/// # Validity
/// 10⁻⁹ ≤ Re ≤ 2000.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Hagen–Poiseuille (first principles).
pub fn friction_factor_laminar(reynolds: f64) -> Answer<f64> {
    Ok(64.0 / LAMINAR.check(reynolds)?)
}

/// Darcy friction factor of turbulent flow in a rough or smooth pipe.
///
/// 1/√λ = −2 log10(ε/(3.7 D) + 2.51/(Re √λ))
///
/// - `reynolds`: Reynolds number
/// - `relative_roughness`: ε/D
///
/// # Validity
/// 2000 ≤ Re ≤ 10¹⁰, 0 ≤ ε/D ≤ 0.05; below Re 4000 only if the flow is known to be turbulent.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// C. F. Colebrook, J. Inst. Civil Eng. 11, 1939 (citation from memory). The constant 3.7 is also
/// printed as 3.71, which lowers λ by 0.007…0.1 %.
///
/// # Example
/// ```
/// # use physics::flow::friction_factor_colebrook_1939;
/// assert!((friction_factor_colebrook_1939(1.0e5, 1.0e-4)? - 0.018_513_866_08).abs() < 1e-10);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn friction_factor_colebrook_1939(reynolds: f64, relative_roughness: f64) -> Answer<f64> {
    colebrook(reynolds, relative_roughness, 3.7)
}

/// Colebrook with the given constant, by Newton's rule on x = 1/√λ.
fn colebrook(reynolds: f64, relative_roughness: f64, constant: f64) -> Answer<f64> {
    let re = COLEBROOK_REYNOLDS.check(reynolds)?;
    let rough = RELATIVE_ROUGHNESS.check(relative_roughness)? / constant;
    let slope = 2.51 / re;
    let mut x = haaland_inverse_root(re, relative_roughness);
    for _ in 0..MOST_STEPS {
        let inside = rough + slope * x;
        let miss = x + 2.0 * inside.log10();
        let steep = 1.0 + 2.0 * core::f64::consts::LOG10_E * slope / inside;
        let step = miss / steep;
        x -= step;
        if step.abs() <= 1.0e-14 * x {
            return Ok(x.powi(-2));
        }
    }
    Err(Refusal::NoSolution {
        what: "friction factor",
    })
}

/// 1/√λ by Haaland.
fn haaland_inverse_root(reynolds: f64, relative_roughness: f64) -> f64 {
    -1.8 * ((relative_roughness / 3.7).powf(1.11) + 6.9 / reynolds).log10()
}

/// Darcy friction factor by Haaland, explicit, within about 2 % of Colebrook.
///
/// 1/√λ = −1.8 log10((ε/(3.7 D))^1.11 + 6.9/Re)
///
/// # Validity
/// 4·10³ ≤ Re ≤ 10⁸, 0 ≤ ε/D ≤ 0.05 (from memory).
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// S. E. Haaland, J. Fluids Eng. 105, 1983 (citation from memory).
pub fn friction_factor_haaland_1983(reynolds: f64, relative_roughness: f64) -> Answer<f64> {
    let re = EXPLICIT_REYNOLDS.check(reynolds)?;
    let rough = RELATIVE_ROUGHNESS.check(relative_roughness)?;
    Ok(haaland_inverse_root(re, rough).powi(-2))
}

/// Darcy friction factor by Swamee and Jain, explicit, within about 3 % of Colebrook.
///
/// λ = 0.25/log10(ε/(3.7 D) + 5.74/Re^0.9)²
///
/// # Validity
/// 4·10³ ≤ Re ≤ 10⁸, 10⁻⁶ ≤ ε/D ≤ 0.05; the authors start at 5·10³ (from memory), at 4·10³ it is
/// 2 % above Colebrook.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// P. K. Swamee, A. K. Jain, J. Hydraulics Div. 102, 1976 (citation from memory).
pub fn friction_factor_swamee_jain_1976(reynolds: f64, relative_roughness: f64) -> Answer<f64> {
    let re = EXPLICIT_REYNOLDS.check(reynolds)?;
    let rough = ROUGH.check(relative_roughness)?;
    Ok(0.25 / (rough / 3.7 + 5.74 / re.powf(0.9)).log10().powi(2))
}
