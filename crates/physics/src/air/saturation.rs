//! Vapour pressure of pure water over water and over ice, and its inverse.
//!
//! Two formulations stand side by side: the IAPWS equations, which everything uses, and
//! Hyland–Wexler as printed by ASHRAE, for comparison with published psychrometric tables.
//! Below the triple point the vapour pressure is the one over ice: over undercooled water it would
//! be 47 % higher at −40 °C.
//!
//! Must not know: air.

use super::celsius_in;
use crate::quantity::{Temperature, ZERO_CELSIUS_K};
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

/// Saturation pressure as shown in a working.
pub const SATURATION_PRESSURE: Formula = Formula {
    name: "saturation pressure of water",
    equation: "p_ws = p_ws(t)",
    unit: "Pa",
    source: "IAPWS-IF97 (2007) eq. 30 over water; IAPWS R14-08 (2011) eq. 6 over ice",
    mark: Mark::Published,
};

/// Triple point of water, K.
pub(super) const TRIPLE_POINT_K: f64 = 273.16;
/// Pressure at the triple point, Pa.
pub(super) const TRIPLE_POINT_PA: f64 = 611.657;

const WATER: Range = Range {
    what: "temperature",
    unit: "°C",
    min: 0.0,
    max: 373.946,
    source: "IAPWS-IF97 region 4",
};
const ICE: Range = Range {
    what: "temperature",
    unit: "°C",
    min: -143.15,
    max: 0.01,
    source: "IAPWS R14-08",
};
const WATER_OR_ICE: Range = Range {
    what: "temperature",
    unit: "°C",
    min: -143.15,
    max: 200.0,
    source: "the saturation pressure of moist air",
};
const HYLAND_WEXLER: Range = Range {
    what: "temperature",
    unit: "°C",
    min: -100.0,
    max: 200.0,
    source: "Hyland–Wexler (1983)",
};
/// The pressures at −143.15 °C and 200 °C, rounded outwards.
const PRESSURE: Range = Range {
    what: "vapour pressure",
    unit: "Pa",
    min: 1.200_168_529e-8,
    max: 1.554_671_868_271e6,
    source: "the saturation temperature",
};

/// Saturation pressure over liquid water, IAPWS-IF97 region 4, in Pa.
///
/// p_s/MPa = (2C / (−B + √(B² − 4AC)))⁴, with A, B, C quadratic in ϑ = T + n₉/(T − n₁₀)
///
/// - `t`: temperature, T in K
/// - returns: saturation pressure in Pa
///
/// # Validity
/// 0…373.946 °C (273.15…647.096 K).
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// IAPWS-IF97, revised release 2007, eq. 30, coefficients of table 34 (published).
///
/// # Example
/// The check value of table 35:
/// ```
/// # use physics::{air::saturation_pressure_water_if97, quantity::Temperature};
/// let p = saturation_pressure_water_if97(Temperature::new(500.0))?;
/// assert!((p / 2.638_897_76e6 - 1.0).abs() < 1e-8);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn saturation_pressure_water_if97(t: Temperature) -> Answer<f64> {
    celsius_in(WATER, t)?;
    Ok(water_pa(t.si()))
}

/// Saturation pressure over ice, IAPWS R14-08, in Pa.
///
/// ln(p/p_t) = θ⁻¹ Σ aᵢ θ^bᵢ, θ = T/T_t, T_t = 273.16 K, p_t = 611.657 Pa
///
/// - `t`: temperature, T in K
/// - returns: sublimation pressure in Pa
///
/// # Validity
/// −143.15…0.01 °C (130…273.16 K); the release holds down to 50 K.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// IAPWS R14-08 (2011), eq. 6 and table 3 (published).
///
/// # Example
/// The release's check value at 230 K:
/// ```
/// # use physics::{air::saturation_pressure_ice_iapws_r14_08, quantity::Temperature};
/// let p = saturation_pressure_ice_iapws_r14_08(Temperature::new(230.0))?;
/// assert!((p / 8.947_35 - 1.0).abs() < 1e-6);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn saturation_pressure_ice_iapws_r14_08(t: Temperature) -> Answer<f64> {
    celsius_in(ICE, t)?;
    Ok(ice_ln_pa(t.si()).exp())
}

/// Saturation pressure of water, over ice below the triple point and over water above, in Pa.
///
/// - `t`: temperature
/// - returns: saturation pressure in Pa
///
/// # Validity
/// −143.15…200 °C.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// [`saturation_pressure_water_if97`], [`saturation_pressure_ice_iapws_r14_08`].
pub fn saturation_pressure(t: Temperature) -> Answer<f64> {
    celsius_in(WATER_OR_ICE, t)?;
    Ok(iapws_pa(t.si()))
}

/// Saturation pressure of water after Hyland and Wexler, in Pa.
///
/// ln p_ws = C₁/T + C₂ + C₃T + C₄T² + C₅T³ + C₆T⁴ + C₇ ln T, one set over ice (up to 0.01 °C), one
/// over water
///
/// - `t`: temperature, T in K
/// - returns: saturation pressure in Pa
///
/// # Validity
/// −100…200 °C. Within 0.04 % of [`saturation_pressure`] between −70 and 100 °C.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// R. W. Hyland and A. Wexler 1983, as printed in ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 5
/// and 6 (published).
pub fn saturation_pressure_hyland_wexler_1983(t: Temperature) -> Answer<f64> {
    celsius_in(HYLAND_WEXLER, t)?;
    Ok(hyland_wexler_pa(t.si()))
}

/// Temperature at which water has the given vapour pressure, over ice below the triple point.
///
/// Over water the closed backward equation of IAPWS-IF97; over ice the root of IAPWS R14-08 to
/// better than 1e-9 K.
///
/// - `p_w_pa`: vapour pressure in Pa
/// - returns: the temperature at which it saturates pure water
///
/// # Validity
/// 1.2e-8 Pa (−143.15 °C) to 1.55467 MPa (200 °C).
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// IAPWS-IF97 (2007) eq. 31; IAPWS R14-08 (2011) eq. 6 (published).
///
/// # Example
/// The check value of IF97 table 36 for 0.1 MPa:
/// ```
/// # use physics::air::saturation_temperature;
/// assert!((saturation_temperature(0.1e6)?.si() - 372.755_919).abs() < 1e-6);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn saturation_temperature(p_w_pa: f64) -> Answer<Temperature> {
    let p_w_pa = PRESSURE.check(p_w_pa)?;
    if p_w_pa >= TRIPLE_POINT_PA {
        return Ok(Temperature::new(water_k(p_w_pa)));
    }
    ice_k(p_w_pa.ln()).map(Temperature::new)
}

/// A first guess of [`saturation_temperature`], within 0.01 K, without its check.
pub(super) fn saturation_guess_k(p_w_pa: f64, ln_p_w: f64) -> f64 {
    if p_w_pa >= TRIPLE_POINT_PA {
        water_k(p_w_pa)
    } else {
        ice_guess_k(ln_p_w)
    }
}

const N: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_70e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_30e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];

fn water_pa(t_k: f64) -> f64 {
    let theta = t_k + N[8] / (t_k - N[9]);
    let a = (theta + N[0]) * theta + N[1];
    let b = (N[2] * theta + N[3]) * theta + N[4];
    let c = (N[5] * theta + N[6]) * theta + N[7];
    let root = 2.0 * c / ((b * b - 4.0 * a * c).sqrt() - b);
    let square = root * root;
    square * square * 1.0e6
}

fn water_k(p_pa: f64) -> f64 {
    let beta = (p_pa * 1.0e-6).sqrt().sqrt();
    let e = (beta + N[2]) * beta + N[5];
    let f = (N[0] * beta + N[3]) * beta + N[6];
    let g = (N[1] * beta + N[4]) * beta + N[7];
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let sum = N[9] + d;
    0.5 * (sum - (sum * sum - 4.0 * (N[8] + N[9] * d)).sqrt())
}

const ICE_A: [f64; 3] = [-0.212_144_006e2, 0.273_203_819e2, -0.610_598_13e1];
const ICE_B: [f64; 3] = [0.333_333_333e-2, 0.120_666_667e1, 0.170_333_333e1];
const LN_TRIPLE_POINT_PA: f64 = 6.416171667880966;

/// The three terms aᵢ θ^(bᵢ − 1).
fn ice_terms(t_k: f64) -> [f64; 3] {
    let ln_theta = (t_k / TRIPLE_POINT_K).ln();
    [0, 1, 2].map(|i| ICE_A[i] * ((ICE_B[i] - 1.0) * ln_theta).exp())
}

fn ice_ln_pa(t_k: f64) -> f64 {
    LN_TRIPLE_POINT_PA + ice_terms(t_k).iter().sum::<f64>()
}

/// 1/T as a polynomial in ln p, fitted to IAPWS R14-08 over 130…273.16 K; only a first guess.
fn ice_guess_k(ln_p: f64) -> f64 {
    let inverse = (((((-8.434_463e-14 * ln_p - 5.333_688_05e-12) * ln_p - 1.544_662_398e-10)
        * ln_p
        - 2.592_084_93e-9)
        * ln_p
        + 4.164_448_538e-8)
        * ln_p
        - 1.627_298_067_6e-4)
        * ln_p
        + 4.704_258_380_4e-3;
    1.0 / inverse
}

fn ice_k(ln_p: f64) -> Answer<f64> {
    let mut t_k = ice_guess_k(ln_p);
    for _ in 0..8 {
        let terms = ice_terms(t_k);
        let excess = LN_TRIPLE_POINT_PA + terms.iter().sum::<f64>() - ln_p;
        let slope = (0..3).map(|i| (ICE_B[i] - 1.0) * terms[i]).sum::<f64>() / t_k;
        let step = excess / slope;
        t_k -= step;
        // Newton's rule leaves about step²/T, which is below 1e-9 K here.
        if step.abs() < 2.0e-4 {
            return Ok(t_k);
        }
    }
    Err(Refusal::NoSolution {
        what: "saturation temperature over ice",
    })
}

pub(super) fn iapws_pa(t_k: f64) -> f64 {
    if t_k < TRIPLE_POINT_K {
        ice_ln_pa(t_k).exp()
    } else {
        water_pa(t_k)
    }
}

pub(super) fn hyland_wexler_pa(t_k: f64) -> f64 {
    let ln_p = if t_k - ZERO_CELSIUS_K <= 0.01 {
        let powers = (((-9.484_024e-13 * t_k + 2.074_782_5e-9) * t_k + 6.221_570_1e-7) * t_k
            - 9.677_843e-3)
            * t_k;
        -5.674_535_9e3 / t_k + 6.392_524_7 + powers + 4.163_501_9 * t_k.ln()
    } else {
        let powers = ((-1.445_209_3e-8 * t_k + 4.176_476_8e-5) * t_k - 4.864_023_9e-2) * t_k;
        -5.800_220_6e3 / t_k + 1.391_499_3 + powers + 6.545_967_3 * t_k.ln()
    };
    ln_p.exp()
}
