//! Humidity ratio, vapour pressure and relative humidity of moist air.
//!
//! A [`Formulation`] says how saturation and the real-gas correction are computed; everything that
//! judges a station uses [`Formulation::REAL`].
//!
//! Must not know: flows, machines.

use super::enhancement::{GREENSPAN, greenspan_ln};
use super::saturation::{hyland_wexler_pa, iapws_pa};
use super::{
    HUMIDITY_RATIO_RANGE, MASS_RATIO, RELATIVE_HUMIDITY_RANGE, VAPOUR_PRESSURE_RANGE, celsius_in,
    total_pa,
};
use crate::quantity::{AbsolutePressure, Temperature, ZERO_CELSIUS_K};
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

/// Humidity ratio as shown in a working.
pub const HUMIDITY_RATIO: Formula = Formula {
    name: "humidity ratio",
    equation: "W = 0.621945 p_w/(p − p_w), p_w = φ f p_ws(t)",
    unit: "kg/kg dry air",
    source: "ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 20 and 22",
    mark: Mark::Published,
};

/// Relative humidity as shown in a working.
pub const RELATIVE_HUMIDITY: Formula = Formula {
    name: "relative humidity",
    equation: "φ = p_w/(f p_ws(t)), p_w = p W/(0.621945 + W)",
    unit: "-",
    source: "ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 20 and 22",
    mark: Mark::Published,
};

/// Which equation gives the saturation pressure of pure water.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Saturation {
    /// IAPWS-IF97 over water, IAPWS R14-08 over ice.
    Iapws,
    /// Hyland–Wexler as printed by ASHRAE.
    HylandWexler1983,
}

/// How the real-gas effect on saturation is computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Enhancement {
    /// Not at all: the factor is 1.
    Ideal,
    /// Greenspan's factor.
    Greenspan1976,
}

/// How saturation and its real-gas effect are computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Formulation {
    /// The saturation pressure of pure water.
    pub saturation: Saturation,
    /// The enhancement factor in air.
    pub enhancement: Enhancement,
}

impl Formulation {
    /// IAPWS saturation with Greenspan's factor: what a station is judged with.
    pub const REAL: Self = Self {
        saturation: Saturation::Iapws,
        enhancement: Enhancement::Greenspan1976,
    };
    /// IAPWS saturation, ideal gas.
    pub const IDEAL: Self = Self {
        saturation: Saturation::Iapws,
        enhancement: Enhancement::Ideal,
    };
    /// Hyland–Wexler saturation, ideal gas: the formulas of ASHRAE chapter 1, for comparison.
    pub const ASHRAE_IDEAL: Self = Self {
        saturation: Saturation::HylandWexler1983,
        enhancement: Enhancement::Ideal,
    };

    /// The temperatures, in °C, at which this formulation knows saturation.
    #[must_use]
    pub const fn temperature_range(self) -> Range {
        match (self.enhancement, self.saturation) {
            (Enhancement::Greenspan1976, _) => GREENSPAN,
            (Enhancement::Ideal, Saturation::Iapws) => IDEAL_IAPWS,
            (Enhancement::Ideal, Saturation::HylandWexler1983) => IDEAL_HYLAND_WEXLER,
        }
    }

    /// f p_ws in Pa, unchecked.
    pub(super) fn saturated_pa(self, t_k: f64, p_pa: f64) -> f64 {
        let p_ws = match self.saturation {
            Saturation::Iapws => iapws_pa(t_k),
            Saturation::HylandWexler1983 => hyland_wexler_pa(t_k),
        };
        match self.enhancement {
            Enhancement::Ideal => p_ws,
            Enhancement::Greenspan1976 => {
                p_ws * greenspan_ln(t_k - ZERO_CELSIUS_K, p_ws / p_pa).exp()
            }
        }
    }

    /// Partial pressure of the vapour in saturated air, in Pa.
    ///
    /// p_w,s = f(t, p) p_ws(t)
    ///
    /// - `t`: temperature
    /// - `p`: total pressure
    /// - returns: partial pressure of the vapour in Pa
    ///
    /// # Validity
    /// 0.1…20 bar(a); [`Self::REAL`] −100…130 °C, [`Self::IDEAL`] −143.15…200 °C,
    /// [`Self::ASHRAE_IDEAL`] −100…200 °C, always below the boiling point at `p`.
    ///
    /// # Errors
    /// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] where water boils.
    ///
    /// # Source
    /// ASHRAE Handbook Fundamentals 2017, ch. 1 (definition of saturation of moist air).
    pub fn saturated_vapour_pressure(self, t: Temperature, p: AbsolutePressure) -> Answer<f64> {
        celsius_in(self.temperature_range(), t)?;
        let p_pa = total_pa(p)?;
        let saturated_pa = self.saturated_pa(t.si(), p_pa);
        if saturated_pa < p_pa {
            Ok(saturated_pa)
        } else {
            Err(Refusal::Contradiction {
                must: "the saturated vapour pressure in Pa stays below the total pressure in Pa",
                first: saturated_pa,
                second: p_pa,
            })
        }
    }

    /// Partial pressure of the vapour at a relative humidity, in Pa.
    ///
    /// p_w = φ f(t, p) p_ws(t)
    ///
    /// - `t`: temperature
    /// - `relative_humidity`: φ, 0…1
    /// - `p`: total pressure
    /// - returns: partial pressure of the vapour in Pa
    ///
    /// # Errors
    /// As [`Self::saturated_vapour_pressure`]; [`Refusal::OutOfRange`] for φ outside 0…1.
    ///
    /// # Source
    /// ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 22 (published).
    pub fn vapour_pressure(
        self,
        t: Temperature,
        relative_humidity: f64,
        p: AbsolutePressure,
    ) -> Answer<f64> {
        let relative_humidity = RELATIVE_HUMIDITY_RANGE.check(relative_humidity)?;
        Ok(relative_humidity * self.saturated_vapour_pressure(t, p)?)
    }

    /// Humidity ratio at a relative humidity, in kg water per kg dry air.
    ///
    /// W = 0.621945 p_w/(p − p_w), p_w = φ f p_ws(t)
    ///
    /// - `t`: temperature
    /// - `relative_humidity`: φ, 0…1
    /// - `p`: total pressure
    /// - returns: W in kg/kg dry air
    ///
    /// # Validity
    /// As [`Self::saturated_vapour_pressure`]. Error of [`Self::REAL`] against ASHRAE RP-1485
    /// (CoolProp 8.0.0) on 300 points, −30…60 °C, 1…14 bar(a), 5…100 %: median
    /// 0.05 %, 99th percentile 0.42 %, largest 0.42 % (14 bar(a), −30 °C).
    ///
    /// # Errors
    /// As [`Self::vapour_pressure`].
    ///
    /// # Source
    /// ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 20 (published).
    ///
    /// # Example
    /// Saturated at 25 °C and 101 325 Pa, table 2 of the same chapter:
    /// ```
    /// # use physics::{air::Formulation, quantity::{AbsolutePressure, Temperature}};
    /// let w = Formulation::REAL.humidity_ratio(
    ///     Temperature::from_celsius(25.0),
    ///     1.0,
    ///     AbsolutePressure::new(101_325.0),
    /// )?;
    /// assert!((w / 0.020_173 - 1.0).abs() < 5e-4);
    /// # Ok::<(), physics::validity::Refusal>(())
    /// ```
    pub fn humidity_ratio(
        self,
        t: Temperature,
        relative_humidity: f64,
        p: AbsolutePressure,
    ) -> Answer<f64> {
        let p_w_pa = self.vapour_pressure(t, relative_humidity, p)?;
        Ok(MASS_RATIO * p_w_pa / (p.si() - p_w_pa))
    }

    /// Humidity ratio of saturated air: the most water it can hold as vapour, kg/kg dry air.
    ///
    /// As [`Self::humidity_ratio`] with φ = 1.
    ///
    /// # Errors
    /// As [`Self::saturated_vapour_pressure`].
    pub fn saturated_humidity_ratio(self, t: Temperature, p: AbsolutePressure) -> Answer<f64> {
        let p_w_pa = self.saturated_vapour_pressure(t, p)?;
        Ok(MASS_RATIO * p_w_pa / (p.si() - p_w_pa))
    }

    /// Relative humidity of air that holds a given humidity ratio.
    ///
    /// φ = p_w/(f p_ws(t)), p_w = p W/(0.621945 + W)
    ///
    /// - `t`: temperature
    /// - `humidity_ratio`: W in kg/kg dry air
    /// - `p`: total pressure
    /// - returns: φ; above 1 the air cannot hold this water as vapour and the rest is liquid
    ///
    /// # Errors
    /// As [`Self::saturated_vapour_pressure`]; [`Refusal::OutOfRange`] for W outside 0…100 kg/kg.
    ///
    /// # Source
    /// ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 20 and 22 (published).
    pub fn relative_humidity(
        self,
        t: Temperature,
        humidity_ratio: f64,
        p: AbsolutePressure,
    ) -> Answer<f64> {
        let saturated_pa = self.saturated_vapour_pressure(t, p)?;
        Ok(vapour_pressure_from_humidity_ratio(humidity_ratio, p)? / saturated_pa)
    }
}

const IDEAL_IAPWS: Range = Range {
    what: "temperature",
    unit: "°C",
    min: -143.15,
    max: 200.0,
    source: "moist air as an ideal gas",
};
const IDEAL_HYLAND_WEXLER: Range = Range {
    min: -100.0,
    ..IDEAL_IAPWS
};

/// Partial pressure of the vapour in air of a humidity ratio, in Pa.
///
/// p_w = p W/(0.621945 + W)
///
/// - `humidity_ratio`: W in kg/kg dry air
/// - `p`: total pressure
/// - returns: p_w in Pa
///
/// # Errors
/// [`Refusal::OutOfRange`] for W outside 0…100 kg/kg or p outside 0.1…20 bar(a).
///
/// # Source
/// ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 20 solved for p_w (published).
pub fn vapour_pressure_from_humidity_ratio(
    humidity_ratio: f64,
    p: AbsolutePressure,
) -> Answer<f64> {
    let w = HUMIDITY_RATIO_RANGE.check(humidity_ratio)?;
    Ok(total_pa(p)? * w / (MASS_RATIO + w))
}

/// Humidity ratio of air from the partial pressure of its vapour, kg/kg dry air.
///
/// W = 0.621945 p_w/(p − p_w)
///
/// - `p_w_pa`: p_w in Pa
/// - `p`: total pressure
/// - returns: W in kg/kg dry air
///
/// # Errors
/// [`Refusal::OutOfRange`] for p outside 0.1…20 bar(a) or p_w outside 0…2 MPa;
/// [`Refusal::Contradiction`] unless p_w < p.
///
/// # Source
/// ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 20 (published).
///
/// # Example
/// ```
/// # use physics::{air::humidity_ratio_from_vapour_pressure, quantity::AbsolutePressure};
/// let w = humidity_ratio_from_vapour_pressure(3169.7, AbsolutePressure::new(95_461.0))?;
/// assert!((w / 0.021_360_399_8 - 1.0).abs() < 1e-6);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn humidity_ratio_from_vapour_pressure(p_w_pa: f64, p: AbsolutePressure) -> Answer<f64> {
    let p_w_pa = VAPOUR_PRESSURE_RANGE.check(p_w_pa)?;
    let p_pa = total_pa(p)?;
    if p_w_pa < p_pa {
        Ok(MASS_RATIO * p_w_pa / (p_pa - p_w_pa))
    } else {
        Err(Refusal::Contradiction {
            must: "the vapour pressure in Pa stays below the total pressure in Pa",
            first: p_w_pa,
            second: p_pa,
        })
    }
}
