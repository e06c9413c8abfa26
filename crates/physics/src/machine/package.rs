//! What the package delivers, draws and rejects.
//!
//! Subscript r is rated. Health: k_q air-end delivery, k_b belt transmission (1 − slip), k_w power;
//! 1 when healthy. Slip and wear cost air and not power; a choked intake does lower the power.

use super::compression::polytropic_head;
use crate::quantity::{
    AbsolutePressure, FreeAir, GaugePressure, MassFlow, Power, PressureDifference,
};
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

/// Polytropic exponent of an oil-flooded compression, as the power's slope on pressure shows it:
/// about 7 % per bar near 7 bar(g), the published rule of 1 % per 2 psi; ±1.5 % per bar.
pub const POLYTROPIC_EXPONENT: f64 = 1.2;
/// Standard uncertainty of the power's slope, share per bar.
pub const POWER_SLOPE_SIGMA_PER_BAR: f64 = 0.0075;

/// Delivery as people read it.
pub const DELIVERY: Formula = Formula {
    name: "free air delivered",
    equation: "V = V_r · k_q · k_b · s · [1 − c_v (p_d − p_d,r)] · p_in/p_amb",
    unit: "m3/min",
    source: "displacement with internal leakage; c_v 0.5 %/bar from memory",
    mark: Mark::Derived,
};
/// Power as people read it.
pub const POWER: Formula = Formula {
    name: "package power on load",
    equation: "P = P_fan + (P_r − P_fan) · k_w · s · (p_in/p_in,r) · g(p_2/p_in)/g(p_2,r/p_in,r), g(x) = n/(n−1)·(x^((n−1)/n)−1), n = 1.2",
    unit: "kW",
    source: "polytropic work; slope as the published rule of 1 % per 2 psi near 100 psi(g)",
    mark: Mark::Published,
};
/// The pressure that the air end works against, as people read it.
pub const AIR_END_PRESSURE: Formula = Formula {
    name: "pressure at the air end's discharge",
    equation: "p_2 = max(p_d + Δp_after, p_MPV) + Δp_separator",
    unit: "bar(a)",
    source: "pressures in series; the minimum-pressure valve keeps the separator up",
    mark: Mark::Derived,
};
/// Blowdown as people read it.
pub const BLOWDOWN: Formula = Formula {
    name: "air lost by blowing the separator down",
    equation: "V_lost = V_sep · (p_2 − p_amb)/p_ref · cycles/h",
    unit: "m3/h",
    source: "ideal gas",
    mark: Mark::Derived,
};

const FACTOR: Range = Range {
    what: "health or speed factor",
    unit: "-",
    min: 0.0,
    max: 3.0,
    source: "the package model",
};
const PRESSURE: Range = Range {
    what: "discharge pressure",
    unit: "Pa(g)",
    min: 0.0,
    max: 20.0e5,
    source: "the package model",
};
const INTAKE_SHARE: Range = Range {
    what: "intake pressure over atmosphere",
    unit: "-",
    min: 0.3,
    max: 1.0,
    source: "the package model",
};
const MODULATION: Range = Range {
    what: "share of full flow",
    unit: "-",
    min: 0.0,
    max: 1.0,
    source: "the modulation rule",
};

/// The factors that move delivery.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Delivery {
    /// V_r, rated free air.
    pub rated: FreeAir,
    /// k_q, the air end's health [-].
    pub air_end: f64,
    /// k_b, belt transmission, 1 − slip [-].
    pub belt: f64,
    /// s, speed over rated [-].
    pub speed: f64,
    /// c_v, share of delivery lost per pascal over rated pressure [1/Pa].
    pub slip_per_pa: f64,
    /// p_d,r, rated package outlet pressure.
    pub rated_pressure: GaugePressure,
    /// p_d, package outlet pressure.
    pub pressure: GaugePressure,
    /// p_in/p_amb [-].
    pub intake_share: f64,
}

/// Free air delivered at the intake's own conditions.
///
/// V = V_r · k_q · k_b · s · [1 − c_v (p_d − p_d,r)] · p_in/p_amb
///
/// # Validity
/// Factors 0…3, outlet 0…20 bar(g), intake share 0.3…1, bracket positive.
///
/// # Errors
/// [`Refusal`] outside.
///
/// # Source
/// Derived: a displacement machine with leakage that grows with pressure.
pub fn free_air_delivered(d: Delivery) -> Answer<FreeAir> {
    for factor in [d.air_end, d.belt, d.speed] {
        FACTOR.check(factor)?;
    }
    INTAKE_SHARE.check(d.intake_share)?;
    let over = PRESSURE.check(d.pressure.si())? - PRESSURE.check(d.rated_pressure.si())?;
    let bracket = 1.0 - d.slip_per_pa * over;
    let flow = d.rated.si() * d.air_end * d.belt * d.speed * bracket * d.intake_share;
    if bracket > 0.0 && flow >= 0.0 && flow.is_finite() {
        Ok(FreeAir::new(flow))
    } else {
        Err(Refusal::Contradiction {
            must: "delivery stays positive at this pressure",
            first: bracket,
            second: d.rated.si(),
        })
    }
}

/// Pressure that the air end works against.
///
/// p_2 = max(p_d + Δp_after, p_MPV) + Δp_sep
///
/// # Errors
/// [`Refusal::Contradiction`] if a part is negative or not finite.
///
/// # Source
/// Derived: pressures in series.
pub fn air_end_pressure(
    outlet: AbsolutePressure,
    aftercooler: PressureDifference,
    minimum_pressure: AbsolutePressure,
    separator: PressureDifference,
) -> Answer<AbsolutePressure> {
    let p2 = (outlet + aftercooler).si().max(minimum_pressure.si()) + separator.si();
    let sound = outlet.si() > 0.0
        && minimum_pressure.si() > 0.0
        && aftercooler.si() >= 0.0
        && separator.si() >= 0.0;
    if sound && p2.is_finite() {
        Ok(AbsolutePressure::new(p2))
    } else {
        Err(Refusal::Contradiction {
            must: "pressures are positive and pressure drops are not negative",
            first: outlet.si(),
            second: separator.si(),
        })
    }
}

/// The state of the intake and discharge that sets the power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compression {
    /// p_in, behind the intake filter.
    pub intake: AbsolutePressure,
    /// p_2, see [`air_end_pressure`].
    pub discharge: AbsolutePressure,
}

/// Package input on load.
///
/// P = P_fan + (P_r − P_fan) · k_w · s · (p_in/p_in,r) · g(p_2/p_in)/g(p_2,r/p_in,r)
///
/// - `rated`, `fan`: P_r and P_fan \[W\]; `fan_now` is the fan's draw at this moment
/// - `factor`: k_w · s [-]
///
/// # Validity
/// Factor 0…3; pressure ratios over 1.
///
/// # Errors
/// [`Refusal`] outside.
///
/// # Source
/// Polytropic work with n = 1.2; the slope is checked against the published rule of 1 % per 2 psi.
pub fn power_on_load(
    rated: Power,
    fan: Power,
    fan_now: Power,
    factor: f64,
    at: Compression,
    rated_at: Compression,
) -> Answer<Power> {
    FACTOR.check(factor)?;
    let head = polytropic_head(at.discharge / at.intake, POLYTROPIC_EXPONENT)?;
    let rated_head = polytropic_head(rated_at.discharge / rated_at.intake, POLYTROPIC_EXPONENT)?;
    let shaft = (rated - fan) * (factor * (at.intake / rated_at.intake) * head / rated_head);
    let power = fan_now + shaft;
    let pressures = at.intake.si() > 0.0 && rated_at.intake.si() > 0.0;
    if pressures && rated_head > 0.0 && power.si().is_finite() && shaft.si() >= 0.0 {
        Ok(power)
    } else {
        Err(Refusal::Contradiction {
            must: "rated power exceeds fan power and the pressure ratio exceeds 1",
            first: rated.si(),
            second: fan.si(),
        })
    }
}

impl core::ops::Div for AbsolutePressure {
    type Output = f64;
    /// The ratio of two absolute pressures.
    fn div(self, other: Self) -> f64 {
        self.si() / other.si()
    }
}

/// Package input of a machine that throttles its intake, over full-load input.
///
/// P/P_full = 0.7 + 0.3 · q, q the share of full flow
///
/// # Validity
/// 0 ≤ q ≤ 1.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Common practice, no source. A throttled intake with a fixed built-in ratio does not follow the
/// polytropic work of its pressure ratio.
pub fn modulating_power_share(flow_share: f64) -> Answer<f64> {
    Ok(0.7 + 0.3 * MODULATION.check(flow_share)?)
}

/// Air lost each time the separator blows down, kg.
///
/// m = V_sep (p_2 − p_amb)/(R T)
///
/// # Validity
/// p_2 not below the atmosphere.
///
/// # Errors
/// [`Refusal::Contradiction`] otherwise.
///
/// # Source
/// Ideal gas. 18 L at 7.5 bar(g), 60 times an hour, with the separator at oil temperature, is about
/// 2.1 % of 5.3 m³/min if it empties wholly, 1.7 % if some 1.5 bar stay in it.
pub fn blowdown_loss_kg(
    volume_m3: f64,
    discharge: AbsolutePressure,
    atmosphere: AbsolutePressure,
    temperature: crate::quantity::Temperature,
) -> Answer<f64> {
    let over = discharge.si() - atmosphere.si();
    let lost = volume_m3 * over / (crate::air::R_DRY_AIR * temperature.si());
    if over >= 0.0 && volume_m3 >= 0.0 && temperature.si() > 0.0 && lost.is_finite() {
        Ok(lost)
    } else {
        Err(Refusal::Contradiction {
            must: "the separator's pressure is not below the atmosphere",
            first: discharge.si(),
            second: atmosphere.si(),
        })
    }
}

/// Heat that leaves by the motor, the fan, the drive and the casing, W: not by oil or air.
///
/// With a motor efficiency η: P_fan + (P − P_fan)·(1 − η) + drive loss · (P − P_fan)·η;
/// otherwise 0.12 · P. Belt slip (1 − k_b) of the shaft power is added.
///
/// # Errors
/// [`Refusal::Contradiction`] if a share lies outside 0…1 or the fan draws more than the package.
///
/// # Source
/// Energy balance; 0.12 ± 0.04 and the drive losses (belt 4 %, gear 2 %) are common practice.
pub fn surface_heat(
    power: Power,
    fan: Power,
    motor_efficiency: Option<f64>,
    drive_loss: f64,
    belt_slip: f64,
) -> Answer<Power> {
    let shares_sound = (0.0..=1.0).contains(&drive_loss)
        && (0.0..=1.0).contains(&belt_slip)
        && motor_efficiency.is_none_or(|eta| (0.1..=1.0).contains(&eta));
    if !(shares_sound && power.si().is_finite() && fan.si() >= 0.0 && fan.si() <= power.si()) {
        return Err(Refusal::Contradiction {
            must: "losses are shares of the power and the fan draws less than the package",
            first: fan.si(),
            second: power.si(),
        });
    }
    let main = power - fan;
    let (still, shaft) = match motor_efficiency {
        Some(eta) => (
            fan + main * (1.0 - eta) + main * (eta * drive_loss),
            main * eta,
        ),
        None => (power * SURFACE_SHARE, main * (1.0 - SURFACE_SHARE)),
    };
    Ok(still + shaft * belt_slip)
}

/// Share of the package power that leaves by neither oil nor air when nothing is known.
pub const SURFACE_SHARE: f64 = 0.12;
/// One standard deviation of [`SURFACE_SHARE`].
pub const SURFACE_SHARE_SIGMA: f64 = 0.02;

/// Specific power on load, kW per m³/min of free air.
///
/// # Errors
/// [`Refusal::Contradiction`] without flow.
///
/// # Source
/// Definition.
pub fn specific_power(power: Power, flow: FreeAir) -> Answer<f64> {
    let value = power.kw() / flow.m3_per_min();
    if flow.si() > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(Refusal::Contradiction {
            must: "there is flow to refer the power to",
            first: power.si(),
            second: flow.si(),
        })
    }
}

/// What one cubic metre of free air less is worth, kWh, under a control that unloads.
///
/// e = (P_loaded − P_unloaded)/(60 V): not the whole specific power, since the machine goes on
/// turning unloaded.
///
/// # Errors
/// [`Refusal::Contradiction`] without flow.
///
/// # Source
/// Derived.
pub fn worth_of_air_kwh_per_m3(loaded: Power, unloaded: Power, flow: FreeAir) -> Answer<f64> {
    specific_power(loaded - unloaded, flow).map(|kw_per_m3_min| kw_per_m3_min / 60.0)
}

/// Heat that the oil carries to its cooler: what the package draws less what leaves otherwise.
///
/// Q_oil = P − Q_surface − ṁ (h_2 − h_1)
///
/// - `air`: dry air through the air end [kg/s]
/// - `enthalpy_in`, `enthalpy_out`: per kg of dry air, at the intake and behind the separator [J/kg]
///
/// # Errors
/// [`Refusal::Contradiction`] if the balance leaves less than nothing for the oil.
///
/// # Source
/// First law over the package.
pub fn oil_heat(
    power: Power,
    surface: Power,
    air: MassFlow,
    enthalpy_in: f64,
    enthalpy_out: f64,
) -> Answer<Power> {
    let q = power.si() - surface.si() - air.si() * (enthalpy_out - enthalpy_in);
    if q.is_finite() && q >= 0.0 {
        Ok(Power::new(q))
    } else {
        Err(Refusal::Contradiction {
            must: "the package draws more than its air and its surfaces carry away",
            first: power.si(),
            second: q,
        })
    }
}
