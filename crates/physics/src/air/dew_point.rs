//! Dew point and frost point: the temperature at which moist air begins to let water go, and how
//! it moves with pressure.
//!
//! Must not know: dryers, classes.

use super::saturation::saturation_guess_k;
use super::{
    Formulation, VAPOUR_PRESSURE_RANGE, celsius_in, saturation_temperature, total_pa,
    vapour_pressure_from_humidity_ratio,
};
use crate::quantity::{AbsolutePressure, Temperature, ZERO_CELSIUS_K};
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

/// The dew point as shown in a working.
pub const DEW_POINT: Formula = Formula {
    name: "dew point",
    equation: "f(t_d, p) p_ws(t_d) = p_w, p_w = p W/(0.621945 + W)",
    unit: "°C",
    source: "IAPWS-IF97 (2007), IAPWS R14-08 (2011); f: L. Greenspan, J. Res. NBS 80A (1976) 41",
    mark: Mark::Published,
};

/// The change of the dew point with pressure as shown in a working.
pub const PRESSURE_DEW_POINT: Formula = Formula {
    name: "dew point at another pressure",
    equation: "f(t₂, p₂) p_ws(t₂)/p₂ = f(t₁, p₁) p_ws(t₁)/p₁",
    unit: "°C",
    source: "IAPWS-IF97 (2007), IAPWS R14-08 (2011); f: L. Greenspan, J. Res. NBS 80A (1976) 41",
    mark: Mark::Published,
};

/// Vapour pressures among which a dew point is sought: saturation at −143.15…200 °C, with a margin.
const SOUGHT: Range = Range {
    what: "vapour pressure",
    unit: "Pa",
    min: 1.2e-8,
    max: 1.6e6,
    source: "the dew point",
};

const MOST_STEPS: u32 = 30;

impl Formulation {
    /// Dew point of air that holds a humidity ratio; below 0.01 °C the frost point.
    ///
    /// f(t_d, p) p_ws(t_d) = p_w, p_w = p W/(0.621945 + W), solved for t_d
    ///
    /// - `humidity_ratio`: W in kg/kg dry air
    /// - `p`: total pressure
    /// - returns: dew point at that pressure
    ///
    /// # Validity
    /// Dew points of [`Self::REAL`] −100…130 °C, of [`Self::IDEAL`] −143.15…200 °C, of
    /// [`Self::ASHRAE_IDEAL`] −100…200 °C; 0.1…20 bar(a). Error of [`Self::REAL`] against ASHRAE
    /// RP-1485 (CoolProp 8.0.0) on 300 points, −30…60 °C, 1…14 bar(a), 5…100 %: dew points
    /// from −50 °C median 0.009 K, 99th percentile 0.043 K, largest 0.049 K, always too high; down to
    /// −56 °C largest 0.056 K. Outside that grid, up to 14 bar(a): +0.08 K at −70 °C, +0.12 K at
    /// −100 °C, −0.032…0 K from 100 to 130 °C; at 20 bar(a) +0.19 K at −100 °C, −0.042 K at 130 °C.
    ///
    /// # Errors
    /// [`Refusal::OutOfRange`] outside, also for dry air, which has no dew point.
    ///
    /// # Source
    /// [`DEW_POINT`].
    ///
    /// # Example
    /// Intake air of 20 °C and 60 % at 101 325 Pa, compressed to 7 bar(g): reference 47.5034 °C.
    /// ```
    /// # use physics::{air::Formulation, quantity::{AbsolutePressure, Temperature}};
    /// let intake = AbsolutePressure::new(101_325.0);
    /// let w = Formulation::REAL.humidity_ratio(Temperature::from_celsius(20.0), 0.6, intake)?;
    /// let t_d = Formulation::REAL.dew_point(w, AbsolutePressure::new(801_325.0))?;
    /// assert!((t_d.celsius() - 47.5034).abs() < 0.01);
    /// # Ok::<(), physics::validity::Refusal>(())
    /// ```
    pub fn dew_point(self, humidity_ratio: f64, p: AbsolutePressure) -> Answer<Temperature> {
        let p_w_pa = vapour_pressure_from_humidity_ratio(humidity_ratio, p)?;
        self.dew_point_from_vapour_pressure(p_w_pa, p)
    }

    /// Dew point of air whose vapour has a given partial pressure; below 0.01 °C the frost point.
    ///
    /// As [`Self::dew_point`], from p_w itself.
    ///
    /// - `p_w_pa`: partial pressure of the vapour in Pa
    /// - `p`: total pressure
    ///
    /// # Errors
    /// As [`Self::dew_point`]; [`Refusal::Contradiction`] unless p_w < p.
    pub fn dew_point_from_vapour_pressure(
        self,
        p_w_pa: f64,
        p: AbsolutePressure,
    ) -> Answer<Temperature> {
        let p_pa = total_pa(p)?;
        VAPOUR_PRESSURE_RANGE.check(p_w_pa)?;
        if p_w_pa >= p_pa {
            return Err(Refusal::Contradiction {
                must: "the vapour pressure in Pa stays below the total pressure in Pa",
                first: p_w_pa,
                second: p_pa,
            });
        }
        SOUGHT.check(p_w_pa)?;
        let found = if self == Self::IDEAL {
            saturation_temperature(p_w_pa)?
        } else {
            self.solve_dew_point(p_w_pa, p_pa)?
        };
        let range = Range {
            what: "dew point",
            ..self.temperature_range()
        };
        celsius_in(range, found)?;
        Ok(found)
    }

    /// The dew point that air of a given dew point has when its pressure changes.
    ///
    /// f(t₂, p₂) p_ws(t₂)/p₂ = f(t₁, p₁) p_ws(t₁)/p₁: the share of vapour in the air does not change
    ///
    /// - `dew_point`: t₁
    /// - `at`: p₁, the pressure at which it is stated
    /// - `to`: p₂, the pressure at which it is wanted
    /// - returns: t₂
    ///
    /// # Validity
    /// As [`Self::dew_point`], for both dew points. Error of [`Self::REAL`] for pressure dew points
    /// of −40…40 °C at 7…13 bar(g): below 0.03 K; of [`Self::IDEAL`]: 0.24…0.52 K too low.
    ///
    /// # Errors
    /// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] for a dew point at which water
    /// boils at `at`.
    ///
    /// # Source
    /// [`PRESSURE_DEW_POINT`].
    ///
    /// # Example
    /// +3 °C at 7 bar(g) is −20.53 °C at atmosphere:
    /// ```
    /// # use physics::{air::Formulation, quantity::{AbsolutePressure, Temperature}};
    /// let t = Formulation::REAL.convert_dew_point(
    ///     Temperature::from_celsius(3.0),
    ///     AbsolutePressure::new(801_325.0),
    ///     AbsolutePressure::new(101_325.0),
    /// )?;
    /// assert!((t.celsius() - -20.525).abs() < 0.03);
    /// # Ok::<(), physics::validity::Refusal>(())
    /// ```
    pub fn convert_dew_point(
        self,
        dew_point: Temperature,
        at: AbsolutePressure,
        to: AbsolutePressure,
    ) -> Answer<Temperature> {
        let p_w_pa = self.saturated_vapour_pressure(dew_point, at)?;
        let to_pa = total_pa(to)?;
        self.dew_point_from_vapour_pressure(p_w_pa * (to_pa / at.si()), to)
    }

    /// Secant steps on ln p from the saturation temperature of pure water, whose slope is known.
    fn solve_dew_point(self, p_w_pa: f64, p_pa: f64) -> Answer<Temperature> {
        let mut t_k = saturation_guess_k(p_w_pa, p_w_pa.ln());
        let excess = |t_k: f64| (self.saturated_pa(t_k, p_pa) / p_w_pa).ln();
        let mut above = excess(t_k);
        let mut slope = clapeyron_slope(t_k);
        for _ in 0..MOST_STEPS {
            let step = -above / slope;
            t_k += step;
            // The slope is known to 1e-3 by now, so what is left is below 1e-8 K.
            if step.abs() < 3.0e-6 {
                return Ok(Temperature::new(t_k));
            }
            let next = excess(t_k);
            slope = (next - above) / step;
            above = next;
        }
        Err(Refusal::NoSolution { what: "dew point" })
    }
}

/// d ln p_ws/dT ≈ L/(R_w T²), within 3 %: only steers the first step.
fn clapeyron_slope(t_k: f64) -> f64 {
    let latent = if t_k < 273.16 {
        2.834e6
    } else {
        2.501e6 - 2.4e3 * (t_k - ZERO_CELSIUS_K)
    };
    latent / (461.52 * t_k * t_k)
}
