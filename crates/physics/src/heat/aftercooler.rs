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
    CP_DRY_AIR, CP_VAPOUR, CP_WATER, Formulation, LATENT_0C, MASS_RATIO, R_WATER_VAPOUR,
    enthalpy_moist_air,
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

/// Steps are no longer than this over N_h, in units of x.
const STEP: f64 = 0.8;
/// Air with less vapour (kg/kg) is dry.
const DRY: f64 = 1.0e-9;
/// Within a step a temperature is found once Newton moves it by less: what is left is the square of that.
const NEAR_K: f64 = 0.05;
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

/// The air at one place along the cooler.
#[derive(Clone, Copy)]
struct Place {
    /// Of air, vapour and liquid, J/kg dry air.
    enthalpy: f64,
    /// kg/kg dry air.
    vapour: f64,
    /// K.
    t_k: f64,
}

/// What passes the wall at one place, per unit of x.
#[derive(Clone, Copy)]
struct Wall {
    /// Heat, J/kg dry air.
    heat: f64,
    /// Vapour condensing, kg/kg dry air.
    water: f64,
    /// K.
    t_k: f64,
}

/// Air with all its water on its way through a cooler.
struct Way {
    /// Vapour and liquid, kg/kg dry air.
    water: f64,
    pressure: AbsolutePressure,
    /// Transfer units of the hot and of the cold film.
    n_h: f64,
    n_c: f64,
    /// The cooling air, K.
    t_c: f64,
}

impl Way {
    fn of(air: HotAir, cooler: Cooler) -> Self {
        Self {
            water: air.humidity_ratio,
            pressure: air.pressure,
            n_h: cooler.transfer_units / cooler.hot_side_share,
            n_c: cooler.transfer_units / (1.0 - cooler.hot_side_share),
            t_c: cooler.cooling_air.si(),
        }
    }

    /// Air of that enthalpy and vapour, whether or not it can hold it.
    fn place(&self, enthalpy: f64, vapour: f64) -> Place {
        let t_k = temperature_of(enthalpy, vapour, self.water - vapour);
        Place {
            enthalpy,
            vapour,
            t_k,
        }
    }

    /// Dry transfer units of both films together.
    fn units(&self) -> f64 {
        self.n_h * self.n_c / (self.n_h + self.n_c)
    }

    /// The wall where nothing condenses.
    fn dry_wall(&self, t_k: f64) -> f64 {
        (self.n_h * t_k + self.n_c * self.t_c) / (self.n_h + self.n_c)
    }

    /// The wall's balance at one place; a guess near it saves steps.
    fn wall(&self, at: Place, guess_k: f64) -> Answer<Wall> {
        let (n_h, n_c, w) = (self.n_h, self.n_c, at.vapour);
        let c_p = CP_DRY_AIR + w * CP_VAPOUR + (self.water - w) * CP_WATER;
        // The wall lies between the dry wall (condensing warms it) and the bulk: Newton, held inside that bracket.
        let dry_wall = self.dry_wall(at.t_k);
        let (mut low, mut high) = (dry_wall, at.t_k.max(dry_wall));
        let mut t_w = guess_k.clamp(low, high);
        for _ in 0..60 {
            let w_s = saturated(t_w, self.pressure)?;
            let wet = (w - w_s).max(0.0);
            let latent = latent_heat(t_w);
            let excess = n_h * (c_p * (at.t_k - t_w) + latent * wet) - n_c * c_p * (t_w - self.t_c);
            if excess > 0.0 {
                low = t_w
            } else {
                high = t_w
            }
            let slope = if wet > 0.0 { slope(w_s, t_w) } else { 0.0 };
            let next = t_w + excess / (n_h * c_p + n_h * latent * slope + n_c * c_p);
            let next = if next >= low && next <= high {
                next
            } else {
                0.5 * (low + high)
            };
            if (next - t_w).abs() < NEAR_K {
                // So near, the saturation line is straight.
                let wet = (wet - slope * (next - t_w)).max(0.0);
                return Ok(Wall {
                    heat: n_c * c_p * (next - self.t_c),
                    water: n_h * wet,
                    t_k: next,
                });
            }
            t_w = next;
        }
        Err(Refusal::NoSolution {
            what: "wall temperature of the aftercooler",
        })
    }

    /// Brings air that holds more vapour than it can to saturation at constant enthalpy.
    fn settled(&self, at: Place, to_k: f64) -> Answer<Place> {
        let mut w_s = saturated(at.t_k, self.pressure)?;
        if at.vapour <= w_s {
            return Ok(at);
        }
        // Vapour that condenses warms the air along the saturation line: Newton on the temperature, bracketed.
        let (mut low, mut high) = (at.t_k, temperature_of(at.enthalpy, 0.0, self.water));
        let mut warm = at.t_k;
        for _ in 0..60 {
            let rises = slope(w_s, warm);
            let by_latent = 1.0 + rises * latent_heat(warm) / (CP_DRY_AIR + self.water * CP_VAPOUR);
            let over = if w_s < self.water {
                temperature_of(at.enthalpy, w_s, self.water - w_s) - warm
            } else {
                f64::NEG_INFINITY
            };
            if over > 0.0 {
                low = warm
            } else {
                high = warm
            }
            let next = warm + over / by_latent;
            let next = if next >= low && next <= high {
                next
            } else {
                0.5 * (low + high)
            };
            if (next - warm).abs() < to_k {
                let vapour = (w_s + rises * (next - warm)).clamp(0.0, at.vapour);
                return Ok(self.place(at.enthalpy, vapour));
            }
            warm = next;
            w_s = saturated(warm, self.pressure)?;
        }
        Err(Refusal::NoSolution {
            what: "vapour at saturation",
        })
    }

    /// How far the air gets before its wall is wet, as a share of the cooler: dry air comes near the cooling air by
    /// e^(−N x).
    fn dry_as_far_as(&self, at: Place) -> Answer<f64> {
        if at.t_k <= self.t_c || at.vapour < DRY {
            return Ok(1.0);
        }
        let dew_point = match Formulation::REAL.dew_point(at.vapour, self.pressure) {
            Ok(t) => t.si(),
            // Beyond the saturation line's range it is wet all along.
            Err(_) => return Ok(0.0),
        };
        let wet_at = dew_point + (dew_point - self.t_c) * self.n_c / self.n_h;
        if wet_at <= self.t_c {
            return Ok(1.0);
        }
        let far = ((at.t_k - self.t_c) / (wet_at - self.t_c)).ln() / self.units();
        Ok(far.clamp(0.0, 1.0))
    }

    /// The air after so much of the cooler, dry.
    fn dry_stretch(&self, at: Place, x: f64) -> Place {
        let t_k = self.t_c + (at.t_k - self.t_c) * (-self.units() * x).exp();
        let liquid = self.water - at.vapour;
        let c_p = CP_DRY_AIR + at.vapour * CP_VAPOUR + liquid * CP_WATER;
        self.place(at.enthalpy - c_p * (at.t_k - t_k), at.vapour)
    }

    /// One step by Runge and Kutta's method of order four; what the bulk cannot hold falls within it, if `foggy`.
    /// Gives the wall at its end too.
    fn step(&self, at: Place, dx: f64, guess_k: f64, foggy: bool) -> Answer<(Place, f64)> {
        let after = |wall: &[(f64, Wall)]| {
            let heat: f64 = wall.iter().map(|(share, w)| share * w.heat).sum();
            let water: f64 = wall.iter().map(|(share, w)| share * w.water).sum();
            self.place(at.enthalpy - dx * heat, (at.vapour - dx * water).max(0.0))
        };
        let held = |place: Place| {
            if foggy {
                self.settled(place, NEAR_K)
            } else {
                Ok(place)
            }
        };
        let first = self.wall(at, guess_k)?;
        let second = self.wall(held(after(&[(0.5, first)]))?, first.t_k)?;
        let third = self.wall(held(after(&[(0.5, second)]))?, second.t_k)?;
        let ahead = 2.0 * third.t_k - first.t_k;
        let fourth = self.wall(held(after(&[(1.0, third)]))?, ahead)?;
        let sixth = 1.0 / 6.0;
        let whole = [
            (sixth, first),
            (2.0 * sixth, second),
            (2.0 * sixth, third),
            (sixth, fourth),
        ];
        Ok((after(&whole), fourth.t_k))
    }

    /// The air after the rest of the cooler, whose wall is wet.
    fn wet_stretch(&self, at: Place, from: f64) -> Answer<Place> {
        let most = STEP / self.n_h;
        let mut here = at;
        let mut x = from;
        let mut wall_k = self.dry_wall(at.t_k);
        // What the bulk could hold beyond its vapour.
        let mut room = saturated(at.t_k, self.pressure)? - at.vapour;
        let mut foggy = room <= 0.0;
        while 1.0 - x > 1.0e-9 {
            let left = 1.0 - x;
            let dx = left / (left / most).ceil();
            let (next, wall) = self.step(here, dx, wall_k, foggy)?;
            if foggy {
                here = self.settled(next, SATURATED_TO_K)?;
            } else {
                let room_left = saturated(next.t_k, self.pressure)? - next.vapour;
                if room_left < 0.0 {
                    // Fog begins within this step: as far as there, and on from there.
                    foggy = true;
                    let dx = dx * room / (room - room_left);
                    let (next, wall) = self.step(here, dx, wall_k, false)?;
                    (here, wall_k) = (self.settled(next, SATURATED_TO_K)?, wall);
                    x += dx;
                    continue;
                }
                (here, room) = (next, room_left);
            }
            wall_k = wall;
            x += dx;
        }
        Ok(here)
    }
}

/// Heat of condensing at a temperature, J/kg.
fn latent_heat(t_k: f64) -> f64 {
    LATENT_0C - 2_326.0 * (t_k - ZERO_CELSIUS_K)
}

/// Slope of the saturation line in W: d ln W_s/dT is near h_fg/(R_v T²) · p/(p − p_ws).
fn slope(w_s: f64, t_k: f64) -> f64 {
    w_s * (1.0 + w_s / MASS_RATIO) * latent_heat(t_k) / (R_WATER_VAPOUR * t_k * t_k)
}

/// Marches the air through the cooler: what is dry of it in closed form, the rest in steps.
///
/// # Validity
/// Air −40…200 °C with at most 0.2 kg/kg of vapour, cooling air −60…80 °C, 0.001 ≤ N ≤ 12,
/// 0.05 ≤ s ≤ 0.95. Where the air is cooler than the cooling air it is warmed, dry. The steps leave 0.02 K at most.
///
/// # Errors
/// [`Refusal`] outside.
///
/// # Source
/// Derived, see the module. Checked: dry limit 1 − e^(−N); duty against real-gas enthalpies of a
/// reference library; a general solver of differential equations; approaches of the module's first paragraph.
pub fn march(air: HotAir, cooler: Cooler) -> Answer<CooledAir> {
    HOT.check(air.temperature.si())?;
    HUMIDITY.check(air.humidity_ratio)?;
    NTU.check(cooler.transfer_units)?;
    SHARE.check(cooler.hot_side_share)?;
    COOLANT.check(cooler.cooling_air.si())?;
    crate::air::TOTAL_PRESSURE.check(air.pressure.bar())?;
    let way = Way::of(air, cooler);
    let start = enthalpy_moist_air(air.temperature, way.water, 0.0)?;
    let inlet = way.settled(way.place(start, way.water), SATURATED_TO_K)?;
    let dry = way.dry_as_far_as(inlet)?;
    let outlet = way.wet_stretch(way.dry_stretch(inlet, dry), dry)?;
    Ok(CooledAir {
        temperature: Temperature::new(outlet.t_k),
        humidity_ratio: outlet.vapour,
        liquid: way.water - outlet.vapour,
        heat: start - outlet.enthalpy,
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
