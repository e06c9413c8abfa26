//! The water class of compressed air.
//!
//! Class 0 is stricter than class 1 and agreed between the parties, so it is never computed.
//! Breathing air has standards of its own and is not judged here.
//!
//! Must not know: dryers, what class a station wants.

use core::fmt;

use super::celsius_in;
use crate::quantity::{Temperature, ZERO_CELSIUS_K};
use crate::validity::{Answer, Range};

/// Water class: 1 is the driest, X holds the most liquid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WaterClass {
    /// Pressure dew point −70 °C or lower.
    C1,
    /// Pressure dew point −40 °C or lower.
    C2,
    /// Pressure dew point −20 °C or lower.
    C3,
    /// Pressure dew point +3 °C or lower.
    C4,
    /// Pressure dew point +7 °C or lower.
    C5,
    /// Pressure dew point +10 °C or lower.
    C6,
    /// At most 0.5 g/m³ of liquid water.
    C7,
    /// At most 5 g/m³ of liquid water.
    C8,
    /// At most 10 g/m³ of liquid water.
    C9,
    /// More than 10 g/m³ of liquid water.
    X,
}

impl fmt::Display for WaterClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::C1 => "1",
            Self::C2 => "2",
            Self::C3 => "3",
            Self::C4 => "4",
            Self::C5 => "5",
            Self::C6 => "6",
            Self::C7 => "7",
            Self::C8 => "8",
            Self::C9 => "9",
            Self::X => "X",
        })
    }
}

const BY_DEW_POINT: [(f64, WaterClass); 6] = [
    (-70.0, WaterClass::C1),
    (-40.0, WaterClass::C2),
    (-20.0, WaterClass::C3),
    (3.0, WaterClass::C4),
    (7.0, WaterClass::C5),
    (10.0, WaterClass::C6),
];
const BY_LIQUID: [(f64, WaterClass); 3] = [
    (0.5, WaterClass::C7),
    (5.0, WaterClass::C8),
    (10.0, WaterClass::C9),
];

const DEW_POINT: Range = Range {
    what: "pressure dew point",
    unit: "°C",
    min: -143.15,
    max: 200.0,
    source: "the water class",
};
const LIQUID: Range = Range {
    what: "liquid water",
    unit: "g/m³",
    min: 0.0,
    max: 1.0e6,
    source: "the water class",
};

/// Water class of compressed air.
///
/// - `pressure_dew_point`: dew point at the pressure of the air, if known
/// - `liquid_g_per_m3`: liquid water at working pressure, g per m³ referred to 20 °C, 1 bar(a), dry
/// - returns: by dew point (1…6) where no liquid is present and the dew point is at most +10 °C,
///   else by liquid content (7…9, X)
///
/// # Errors
/// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) for a negative liquid content or a
/// dew point outside −143.15…200 °C.
///
/// # Source
/// ISO 8573-1:2010, table 2 (published, in reproductions that agree).
///
/// # Example
/// ```
/// # use physics::{air::water_class_iso_8573_1_2010, quantity::Temperature};
/// let class = water_class_iso_8573_1_2010(Some(Temperature::from_celsius(3.0)), 0.0)?;
/// assert_eq!(class.to_string(), "4");
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn water_class_iso_8573_1_2010(
    pressure_dew_point: Option<Temperature>,
    liquid_g_per_m3: f64,
) -> Answer<WaterClass> {
    let liquid = LIQUID.check(liquid_g_per_m3)?;
    if let Some(dew_point) = pressure_dew_point {
        celsius_in(DEW_POINT, dew_point)?;
        let class = BY_DEW_POINT
            .into_iter()
            .find(|(limit, _)| dew_point.si() <= limit + ZERO_CELSIUS_K);
        if let (Some((_, class)), true) = (class, liquid <= 0.0) {
            return Ok(class);
        }
    }
    let class = BY_LIQUID.into_iter().find(|(limit, _)| liquid <= *limit);
    Ok(class.map_or(WaterClass::X, |(_, class)| class))
}
