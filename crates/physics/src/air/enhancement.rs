//! The vapour enhancement factor: under pressure, air holds a little more water than water alone
//! would evaporate into the same space.
//!
//! Without it the dew point at atmosphere comes out 0.24…0.52 K too low at 7…13 bar(g).
//!
//! Must not know: how the factor is used.

use super::saturation::iapws_pa;
use super::{celsius_in, total_pa};
use crate::quantity::{AbsolutePressure, Temperature};
use crate::validity::{Answer, Range};
use crate::working::{Formula, Mark};

/// The enhancement factor as shown in a working.
pub const ENHANCEMENT: Formula = Formula {
    name: "vapour enhancement factor",
    equation: "f = exp[α(1 − p_ws/p) + β(p/p_ws − 1)]",
    unit: "-",
    source: "L. Greenspan, J. Res. NBS 80A (1976) 41",
    mark: Mark::Published,
};

pub(super) const GREENSPAN: Range = Range {
    what: "temperature",
    unit: "°C",
    min: -100.0,
    max: 130.0,
    source: "the enhancement factor of Greenspan (1976)",
};

/// Vapour enhancement factor of moist air at saturation.
///
/// f = exp[α(1 − p_ws/p) + β(p/p_ws − 1)], α = Σ Aᵢ tⁱ, ln β = Σ Bᵢ tⁱ, i = 0…3, with one set of
/// Aᵢ, Bᵢ over ice (t < 0 °C) and one over water
///
/// - `t`: temperature, t in °C
/// - `p`: total pressure
/// - p_ws: [saturation pressure](super::saturation_pressure) in Pa
/// - returns: partial pressure of the vapour in saturated air over p_ws
///
/// The two sets differ by 0.06 % at 8 bar(a) and 0 °C, and the step would give some vapour
/// pressures two dew points. Within 0.25 K of 0 °C, ln f therefore passes evenly from one to the
/// other.
///
/// # Validity
/// −100…100 °C and up to 20 bar(a) (published range, from memory); continued here to 130 °C.
/// Against the virial equations of ASHRAE RP-1485 (CoolProp 8.0.0) f is a little low in the cold and
/// high above 100 °C. Expressed as the error of the dew point it leads to, up to 14 bar(a):
/// 0…+0.04 K from −30 to 100 °C, −0.032…0 K from 100 to 130 °C; +0.05 K at −50 °C, +0.08 K at −70 °C,
/// +0.12 K at −100 °C. At 20 bar(a): +0.06 K at −30 °C, −0.042 K at 130 °C, +0.19 K at −100 °C.
///
/// # Errors
/// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) outside.
///
/// # Source
/// L. Greenspan, *Functional equations for the enhancement factors for CO₂-free moist air*,
/// J. Res. NBS 80A (1976) 41; coefficients from public reproductions (published).
///
/// # Example
/// ```
/// # use physics::air::enhancement_factor_greenspan_1976;
/// # use physics::quantity::{AbsolutePressure, Temperature};
/// let atmosphere = AbsolutePressure::new(101_325.0);
/// let f = enhancement_factor_greenspan_1976(Temperature::from_celsius(25.0), atmosphere)?;
/// assert!((f - 1.0041).abs() < 5e-4);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn enhancement_factor_greenspan_1976(t: Temperature, p: AbsolutePressure) -> Answer<f64> {
    let t_c = celsius_in(GREENSPAN, t)?;
    let p_pa = total_pa(p)?;
    Ok(greenspan_ln(t_c, iapws_pa(t.si()) / p_pa).exp())
}

const HALF_PASSAGE_K: f64 = 0.25;

/// ln f at `t_c` in °C and the ratio p_ws/p.
pub(super) fn greenspan_ln(t_c: f64, ratio: f64) -> f64 {
    if t_c <= -HALF_PASSAGE_K {
        return over_ice(t_c, ratio);
    }
    if t_c >= HALF_PASSAGE_K {
        return over_water(t_c, ratio);
    }
    let share = 0.5 * (t_c / HALF_PASSAGE_K + 1.0);
    (1.0 - share) * over_ice(t_c, ratio) + share * over_water(t_c, ratio)
}

fn over_water(t_c: f64, ratio: f64) -> f64 {
    ln_factor(
        t_c,
        ratio,
        [3.536_24e-4, 2.932_28e-5, 2.614_74e-7, 8.575_38e-9],
        [-10.758_8, 6.325_29e-2, -2.535_91e-4, 6.337_84e-7],
    )
}

fn over_ice(t_c: f64, ratio: f64) -> f64 {
    ln_factor(
        t_c,
        ratio,
        [3.644_49e-4, 2.936_31e-5, 4.886_35e-7, 4.365_43e-9],
        [-10.727_1, 7.619_89e-2, -1.747_71e-4, 2.467_21e-6],
    )
}

fn ln_factor(t_c: f64, ratio: f64, a: [f64; 4], b: [f64; 4]) -> f64 {
    let cubic = |c: [f64; 4]| ((c[3] * t_c + c[2]) * t_c + c[1]) * t_c + c[0];
    cubic(a) * (1.0 - ratio) + cubic(b).exp() * (1.0 / ratio - 1.0)
}
