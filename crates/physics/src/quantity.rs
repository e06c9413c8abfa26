//! Quantities that must not be mixed by accident, each a newtype over SI.
//!
//! Gauge and absolute pressure, a temperature and a temperature difference, free air and actual
//! flow look alike as numbers; here they are different types. Values are SI inside: pascal, kelvin,
//! cubic metre per second, kilogram per second, watt. A quantity that cannot be mistaken for
//! another (a length, a duration, a ratio) stays an `f64` whose name ends in its unit.
//!
//! ```compile_fail
//! # use physics::quantity::{AbsolutePressure, GaugePressure};
//! // A gauge pressure is not an absolute pressure.
//! let p: AbsolutePressure = GaugePressure::from_bar(7.0);
//! ```
//! ```compile_fail
//! # use physics::quantity::Temperature;
//! // The sum of two temperatures has no meaning.
//! let t = Temperature::from_celsius(20.0) + Temperature::from_celsius(5.0);
//! ```
//! ```compile_fail
//! # use physics::quantity::{ActualFlow, FreeAir};
//! // Free air is not the flow in the pipe.
//! let q: ActualFlow = FreeAir::from_m3_per_min(5.0);
//! ```
//!
//! Must not know: formulas, stations, files.

use core::ops::{Add, Div, Mul, Neg, Sub};

/// Kelvin at 0 °C.
pub const ZERO_CELSIUS_K: f64 = 273.15;
/// Pascal in one bar.
pub const BAR_PA: f64 = 1.0e5;
/// Pascal in one pound-force per square inch.
pub const PSI_PA: f64 = 6_894.757_293_168;
/// Pascal in one inch of water (conventional, 4 °C).
pub const INCH_WATER_PA: f64 = 249.088_91;
/// Cubic metres in one cubic foot.
pub const CUBIC_FOOT_M3: f64 = 0.028_316_846_592;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("From a value in ", $unit, ".")]
            #[must_use]
            pub const fn new(value: f64) -> Self {
                Self(value)
            }
            #[doc = concat!("The value in ", $unit, ".")]
            #[must_use]
            pub const fn si(self) -> f64 {
                self.0
            }
        }
    };
}

/// A quantity of which sums, differences and multiples make sense.
macro_rules! additive {
    ($($name:ident),*) => {$(
        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self { Self(self.0 + other.0) }
        }
        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self { Self(self.0 - other.0) }
        }
        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self { Self(-self.0) }
        }
        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self { Self(self.0 * factor) }
        }
        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, factor: f64) -> Self { Self(self.0 / factor) }
        }
        /// The ratio of two alike quantities.
        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 { self.0 / other.0 }
        }
    )*};
}

quantity!(
    /// Pressure above perfect vacuum.
    AbsolutePressure, "Pa"
);
quantity!(
    /// Pressure above the atmosphere of the place.
    GaugePressure, "Pa"
);
quantity!(
    /// Difference of two pressures.
    PressureDifference, "Pa"
);
quantity!(
    /// Thermodynamic temperature.
    Temperature, "K"
);
quantity!(
    /// Difference of two temperatures.
    TemperatureDifference, "K"
);
quantity!(
    /// Volume flow at the intake's own pressure, temperature and humidity (FAD).
    FreeAir, "m³/s"
);
quantity!(
    /// Volume flow of dry air referred to 20 °C and 1 bar(a) (ANR).
    ReferenceAir, "m³/s"
);
quantity!(
    /// Volume flow at the pressure and temperature where it flows.
    ActualFlow, "m³/s"
);
quantity!(
    /// Mass flow; of dry air unless said otherwise.
    MassFlow, "kg/s"
);
quantity!(
    /// Power: electrical, mechanical or heat.
    Power, "W"
);

additive!(
    PressureDifference,
    TemperatureDifference,
    FreeAir,
    ReferenceAir,
    ActualFlow,
    MassFlow,
    Power
);

impl AbsolutePressure {
    /// From bar(a).
    #[must_use]
    pub const fn from_bar(bar: f64) -> Self {
        Self(bar * BAR_PA)
    }
    /// In bar(a).
    #[must_use]
    pub const fn bar(self) -> f64 {
        self.0 / BAR_PA
    }
    /// The same pressure as a gauge reads it in the given atmosphere.
    #[must_use]
    pub const fn gauge(self, atmosphere: AbsolutePressure) -> GaugePressure {
        GaugePressure(self.0 - atmosphere.0)
    }
}

impl GaugePressure {
    /// From bar(g).
    #[must_use]
    pub const fn from_bar(bar: f64) -> Self {
        Self(bar * BAR_PA)
    }
    /// In bar(g).
    #[must_use]
    pub const fn bar(self) -> f64 {
        self.0 / BAR_PA
    }
    /// The absolute pressure in the given atmosphere.
    #[must_use]
    pub const fn absolute(self, atmosphere: AbsolutePressure) -> AbsolutePressure {
        AbsolutePressure(self.0 + atmosphere.0)
    }
}

macro_rules! point_and_difference {
    ($point:ident, $difference:ident) => {
        impl Add<$difference> for $point {
            type Output = Self;
            fn add(self, by: $difference) -> Self {
                Self(self.0 + by.0)
            }
        }
        impl Sub<$difference> for $point {
            type Output = Self;
            fn sub(self, by: $difference) -> Self {
                Self(self.0 - by.0)
            }
        }
        impl Sub for $point {
            type Output = $difference;
            fn sub(self, other: Self) -> $difference {
                $difference(self.0 - other.0)
            }
        }
    };
}
point_and_difference!(AbsolutePressure, PressureDifference);
point_and_difference!(GaugePressure, PressureDifference);
point_and_difference!(Temperature, TemperatureDifference);

impl PressureDifference {
    /// From bar.
    #[must_use]
    pub const fn from_bar(bar: f64) -> Self {
        Self(bar * BAR_PA)
    }
    /// In bar.
    #[must_use]
    pub const fn bar(self) -> f64 {
        self.0 / BAR_PA
    }
}

impl Temperature {
    /// From degrees Celsius.
    #[must_use]
    pub const fn from_celsius(celsius: f64) -> Self {
        Self(celsius + ZERO_CELSIUS_K)
    }
    /// In degrees Celsius.
    #[must_use]
    pub const fn celsius(self) -> f64 {
        self.0 - ZERO_CELSIUS_K
    }
}

macro_rules! per_minute {
    ($($name:ident),*) => {$(
        impl $name {
            /// From cubic metres per minute.
            #[must_use]
            pub const fn from_m3_per_min(value: f64) -> Self { Self(value / 60.0) }
            /// In cubic metres per minute.
            #[must_use]
            pub const fn m3_per_min(self) -> f64 { self.0 * 60.0 }
        }
    )*};
}
per_minute!(FreeAir, ReferenceAir, ActualFlow);

impl Power {
    /// From kilowatt.
    #[must_use]
    pub const fn from_kw(kw: f64) -> Self {
        Self(kw * 1.0e3)
    }
    /// In kilowatt.
    #[must_use]
    pub const fn kw(self) -> f64 {
        self.0 / 1.0e3
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gauge_and_absolute_differ_by_the_atmosphere() {
        let atmosphere = AbsolutePressure::new(101_325.0);
        let gauge = GaugePressure::from_bar(7.0);
        assert!((gauge.absolute(atmosphere).bar() - 8.013_25).abs() < 1e-12);
        assert!((gauge.absolute(atmosphere).gauge(atmosphere).bar() - 7.0).abs() < 1e-12);
    }

    #[test]
    fn a_difference_of_temperatures_is_not_shifted() {
        let rise = Temperature::from_celsius(30.0) - Temperature::from_celsius(20.0);
        assert!((rise.si() - 10.0).abs() < 1e-12);
    }
}
