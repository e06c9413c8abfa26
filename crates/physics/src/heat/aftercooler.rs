//! The aftercooler: sensible and latent heat marched together along the compressed air.
//!
//! Dry-air effectiveness is wrong here by as much as a third of the fan: at a rated dry approach
//! of 8 K a healthy cooler shows 9–12 K on a mild day and 13–20 K on a hot and humid one, because
//! the water that falls out gives up its latent heat first.
//!
//! Model, per kilogram of dry air, over the dimensionless length x from 0 to 1:
//! the compressed air at T, W meets a wall at T_w whose far side is cooled by air at T_c.
//!
//! - hot-side film N_h = N/s, cold side N_c = N/(1−s), with N the dry transfer units of the whole
//!   and s the hot side's share of the resistance;
//! - the wall's balance: N_h [c_p (T−T_w) + h_fg · max(0, W−W_s(T_w))] = N_c c_p (T_w−T_c)
//!   (mass transfer by analogy, Lewis number 1);
//! - dW/dx = −N_h · max(0, W−W_s(T_w)); the enthalpy of air and water falls by the wall's heat.
//!
//! Must not know: whose cooler it is, or why its transfer units are what they are.

use crate::air::{
    CP_DRY_AIR, CP_VAPOUR, CP_WATER, Formulation, LATENT_0C, R_WATER_VAPOUR, enthalpy_moist_air,
};
use crate::quantity::{AbsolutePressure, Temperature, TemperatureDifference, ZERO_CELSIUS_K};
use crate::solve::bracketed_root;
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

/// The formula as people read it.
pub const MARCH: Formula = Formula {
    name: "air leaving the aftercooler",
    equation: "dT, dW marched over N transfer units; wall: N_h[c_p(T−T_w)+h_fg(W−W_s(T_w))] = N_c c_p(T_w−T_c)",
    unit: "degC",
    source: "film model with simultaneous heat and mass transfer, Lewis number 1; hot-side share 0.5 ± 0.2 from memory",
    mark: Mark::Derived,
};

const STEPS: u32 = 28;
/// A temperature is found once Newton moves it by less.
const CLOSE_K: f64 = 1.0e-5;
/// Saturation is met closer still, so that no air is left holding more than it can.
const SATURATED_TO_K: f64 = 1.0e-8;
const NTU: Range = Range {
    what: "transfer units of the aftercooler",
    unit: "-",
    min: 1.0e-3,
    max: 12.0,
    source: "the aftercooler model",
};
const SHARE: Range = Range {
    what: "hot-side share of the resistance",
    unit: "-",
    min: 0.05,
    max: 0.95,
    source: "the aftercooler model",
};
const COOLANT: Range = Range {
    what: "cooling-air temperature",
    unit: "K",
    min: 213.15,
    max: 353.15,
    source: "the aftercooler model",
};
const HOT: Range = Range {
    what: "temperature of the air to be cooled",
    unit: "K",
    min: 233.15,
    max: 473.15,
    source: "the aftercooler model",
};
const HUMIDITY: Range = Range {
    what: "humidity ratio of the air to be cooled",
    unit: "kg/kg",
    min: 0.0,
    max: 0.2,
    source: "the aftercooler model",
};

/// Compressed air on its way into a cooler.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HotAir {
    /// Temperature.
    pub temperature: Temperature,
    /// Vapour, kg per kg of dry air.
    pub humidity_ratio: f64,
    /// Pressure.
    pub pressure: AbsolutePressure,
}

/// Compressed air that has been cooled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CooledAir {
    /// Temperature of air and liquid.
    pub temperature: Temperature,
    /// Vapour left, kg per kg of dry air.
    pub humidity_ratio: f64,
    /// Liquid that fell out, kg per kg of dry air.
    pub liquid: f64,
    /// Heat given up, J per kg of dry air.
    pub heat: f64,
}

/// A cooler seen from the compressed air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooler {
    /// N: dry transfer units of the whole cooler [-].
    pub transfer_units: f64,
    /// s: the hot side's share of the resistance [-].
    pub hot_side_share: f64,
    /// T_c: the cooling air, taken as constant along the cooler.
    pub cooling_air: Temperature,
}

/// Temperature of air with vapour and liquid of that enthalpy, per kg of dry air.
fn temperature_of(enthalpy: f64, vapour: f64, liquid: f64) -> f64 {
    (enthalpy - vapour * LATENT_0C) / (CP_DRY_AIR + vapour * CP_VAPOUR + liquid * CP_WATER)
        + ZERO_CELSIUS_K
}

/// Saturation that says "plenty" where the air is too hot to be saturated at this pressure.
fn saturated(t_k: f64, pressure: AbsolutePressure) -> Answer<f64> {
    match Formulation::REAL.saturated_humidity_ratio(Temperature::new(t_k), pressure) {
        Ok(w) => Ok(w),
        Err(_) if t_k > 350.0 => Ok(f64::INFINITY),
        Err(refusal) => Err(refusal),
    }
}

struct Wall {
    /// Heat through the wall per unit of x, J/kg dry air.
    heat: f64,
    /// Vapour condensing per unit of x, kg/kg dry air.
    water: f64,
}

/// The wall's balance at one place. `guess_k` carries the wall temperature from step to step.
fn wall(air: HotAir, liquid: f64, cooler: Cooler, guess_k: &mut f64) -> Answer<Wall> {
    let (t, w) = (air.temperature.si(), air.humidity_ratio);
    let (n_h, n_c) = (
        cooler.transfer_units / cooler.hot_side_share,
        cooler.transfer_units / (1.0 - cooler.hot_side_share),
    );
    let t_c = cooler.cooling_air.si();
    let c_p = CP_DRY_AIR + w * CP_VAPOUR + liquid * CP_WATER;
    let dry_wall = (n_h * t + n_c * t_c) / (n_h + n_c);
    if w <= saturated(dry_wall, air.pressure)? {
        *guess_k = dry_wall;
        return Ok(Wall {
            heat: n_c * c_p * (dry_wall - t_c),
            water: 0.0,
        });
    }
    // The wall lies between the dry wall (condensing warms it) and the bulk: Newton with a
    // numerical slope of W_s, held inside that bracket.
    let (mut low, mut high) = (dry_wall, t.max(dry_wall));
    let mut t_w = guess_k.clamp(low, high);
    for _ in 0..60 {
        let w_s = saturated(t_w, air.pressure)?;
        let wet = (w - w_s).max(0.0);
        let latent = LATENT_0C - 2_326.0 * (t_w - ZERO_CELSIUS_K);
        let excess = n_h * (c_p * (t - t_w) + latent * wet) - n_c * c_p * (t_w - t_c);
        if excess > 0.0 {
            low = t_w
        } else {
            high = t_w
        }
        // d ln W_s/dT is near h_fg/(R_v T²): the slope of the saturation line.
        let slope = w_s * latent / (R_WATER_VAPOUR * t_w * t_w);
        let next = t_w + excess / (n_h * c_p + n_h * latent * slope + n_c * c_p);
        let next = if next > low && next < high {
            next
        } else {
            0.5 * (low + high)
        };
        if (next - t_w).abs() < CLOSE_K {
            *guess_k = next;
            // So near, the saturation line is straight.
            let wet = (w - (w_s + slope * (next - t_w))).max(0.0);
            return Ok(Wall {
                heat: n_c * c_p * (next - t_c),
                water: n_h * wet,
            });
        }
        t_w = next;
    }
    Err(Refusal::NoSolution {
        what: "wall temperature of the aftercooler",
    })
}

/// Brings air that holds more vapour than it can to saturation at constant enthalpy.
///
/// # Errors
/// [`Refusal`] outside the range of the saturation line.
fn let_fall(enthalpy: f64, water: f64, vapour: f64, p: AbsolutePressure) -> Answer<(f64, f64)> {
    let t = temperature_of(enthalpy, vapour, water - vapour);
    if vapour <= saturated(t, p)? {
        return Ok((t, vapour));
    }
    // Newton on the temperature: vapour that condenses warms the air along the saturation line.
    let mut warm = t;
    for _ in 0..20 {
        let w_s = saturated(warm, p)?;
        let latent = LATENT_0C - 2_326.0 * (warm - ZERO_CELSIUS_K);
        let slope = w_s * latent / (R_WATER_VAPOUR * warm * warm);
        let over = temperature_of(enthalpy, w_s, water - w_s) - warm;
        let next = warm + over / (1.0 + slope * latent / (CP_DRY_AIR + water * CP_VAPOUR));
        if !next.is_finite() || w_s > water {
            break;
        }
        if (next - warm).abs() < SATURATED_TO_K {
            let vapour = (w_s + slope * (next - warm)).clamp(0.0, vapour);
            return Ok((temperature_of(enthalpy, vapour, water - vapour), vapour));
        }
        warm = next;
    }
    let vapour = bracketed_root("vapour at saturation", 0.0, vapour, 1.0e-13, |w| {
        let t = temperature_of(enthalpy, w, water - w);
        Ok(w - saturated(t, p)?.min(1.0))
    })?;
    Ok((temperature_of(enthalpy, vapour, water - vapour), vapour))
}

/// Marches the air through the cooler.
///
/// # Validity
/// Air −40…200 °C with at most 0.2 kg/kg of vapour, cooling air −60…80 °C, 0.001 ≤ N ≤ 12,
/// 0.05 ≤ s ≤ 0.95. Where the air is cooler than the cooling air it is warmed, dry.
///
/// # Errors
/// [`Refusal`] outside.
///
/// # Source
/// Derived, see the module. Checked: dry limit 1 − e^(−N); duty against real-gas enthalpies of a
/// reference library; approaches of the module's first paragraph.
pub fn march(air: HotAir, cooler: Cooler) -> Answer<CooledAir> {
    HOT.check(air.temperature.si())?;
    HUMIDITY.check(air.humidity_ratio)?;
    NTU.check(cooler.transfer_units)?;
    SHARE.check(cooler.hot_side_share)?;
    COOLANT.check(cooler.cooling_air.si())?;
    crate::air::TOTAL_PRESSURE.check(air.pressure.bar())?;
    let water = air.humidity_ratio;
    let start = enthalpy_moist_air(air.temperature, water, 0.0)?;
    let (mut enthalpy, mut vapour) = (start, water);
    let mut t = air.temperature.si();
    let mut guess = cooler.cooling_air.si();
    let dx = 1.0 / f64::from(STEPS);
    for _ in 0..STEPS {
        let here = HotAir {
            temperature: Temperature::new(t),
            humidity_ratio: vapour,
            pressure: air.pressure,
        };
        let first = wall(here, water - vapour, cooler, &mut guess)?;
        let (mid_h, mid_w) = (
            enthalpy - 0.5 * dx * first.heat,
            (vapour - 0.5 * dx * first.water).max(0.0),
        );
        let middle = HotAir {
            temperature: Temperature::new(temperature_of(mid_h, mid_w, water - mid_w)),
            humidity_ratio: mid_w,
            pressure: air.pressure,
        };
        let second = wall(middle, water - mid_w, cooler, &mut guess)?;
        enthalpy -= dx * second.heat;
        vapour = (vapour - dx * second.water).max(0.0);
        (t, vapour) = let_fall(enthalpy, water, vapour, air.pressure)?;
    }
    Ok(CooledAir {
        temperature: Temperature::new(t),
        humidity_ratio: vapour,
        liquid: water - vapour,
        heat: start - enthalpy,
    })
}

/// Transfer units that bring the air to a rated approach over the cooling air.
///
/// Dry air has the closed form N = ln((T_in − T_c)/approach); with vapour the march is inverted.
///
/// # Errors
/// [`Refusal::Contradiction`] if the approach does not lie between 0 and the inlet's own distance
/// from the cooling air; any refusal of [`march`].
///
/// # Source
/// Inverse of [`march`].
pub fn transfer_units_at(
    air: HotAir,
    cooling_air: Temperature,
    approach: TemperatureDifference,
    hot_side_share: f64,
) -> Answer<f64> {
    let whole = (air.temperature - cooling_air).si();
    if !(approach.si() > 0.0 && approach.si() < whole) {
        return Err(Refusal::Contradiction {
            must: "the rated approach lies between zero and the inlet's distance from the cooling air",
            first: approach.si(),
            second: whole,
        });
    }
    let dry = (whole / approach.si()).ln();
    if air.humidity_ratio < 1.0e-9 {
        return NTU.check(dry);
    }
    bracketed_root(
        "transfer units of the aftercooler",
        0.5 * dry.min(12.0),
        12.0,
        1.0e-7,
        |n| {
            let cooler = Cooler {
                transfer_units: n,
                hot_side_share,
                cooling_air,
            };
            Ok((march(air, cooler)?.temperature - cooling_air).si() - approach.si())
        },
    )
}
