//! A reading's numbers in the units of the reader, for axes and tables.
//!
//! Must not know: which point is drawn.

use judge::say;
use physics::quantity::{BAR_PA, CUBIC_FOOT_M3, PSI_PA, ZERO_CELSIUS_K};
use station::point::Dimension;

use crate::units::{Units, fixed};

const LITRES_PER_GALLON: f64 = 3.785_411_784;

/// How a quantity is written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Measure {
    offset: f64,
    size: f64,
    /// The unit's name; empty for a count or a share.
    pub(crate) unit: &'static str,
    decimals: usize,
}

impl Measure {
    /// Of a dimension, for this reader.
    pub(crate) fn of(dimension: Dimension, units: Units) -> Self {
        let us = units == Units::Us;
        let plain = |size: f64, unit, decimals| Self {
            offset: 0.0,
            size,
            unit,
            decimals,
        };
        match dimension {
            Dimension::Temperature if us => Self {
                offset: ZERO_CELSIUS_K - 32.0 / 1.8,
                size: 1.0 / 1.8,
                unit: "°F",
                decimals: 0,
            },
            Dimension::Temperature => Self {
                offset: ZERO_CELSIUS_K,
                size: 1.0,
                unit: "°C",
                decimals: 1,
            },
            Dimension::GaugePressure if us => plain(PSI_PA, "psi(g)", 1),
            Dimension::GaugePressure => plain(BAR_PA, "bar(g)", 2),
            Dimension::AbsolutePressure if us => plain(PSI_PA, "psi(a)", 1),
            Dimension::AbsolutePressure => plain(BAR_PA, "bar(a)", 3),
            Dimension::PressureDifference if us => plain(PSI_PA, "psi", 2),
            Dimension::PressureDifference => plain(BAR_PA, "bar", 3),
            Dimension::Power => plain(1.0e3, "kW", 1),
            Dimension::ReferenceAir if us => plain(CUBIC_FOOT_M3 / 60.0, "cfm", 0),
            Dimension::ReferenceAir => plain(1.0 / 60.0, "m³/min", 2),
            Dimension::Litres if us => plain(LITRES_PER_GALLON, "gal", 2),
            Dimension::Litres => plain(1.0, "L", 1),
            Dimension::Current => plain(1.0, "A", 1),
            Dimension::Energy => plain(1.0, "kWh", 0),
            Dimension::Humidity => plain(0.01, "%", 0),
            Dimension::Percent => plain(1.0, "%", 1),
            Dimension::Hours => plain(1.0, "h", 0),
            Dimension::Seconds => plain(1.0, "s", 1),
            Dimension::Speed => plain(1.0, "rpm", 0),
            Dimension::Length => plain(1.0e-3, "mm", 1),
            Dimension::Force => plain(1.0, "N", 0),
            Dimension::Frequency => plain(1.0, "Hz", 1),
            Dimension::Count | Dimension::Share | Dimension::Words(_) => plain(1.0, "", 3),
        }
    }

    /// The number of the reader.
    pub(crate) fn value(&self, si: f64) -> f64 {
        (si - self.offset) / self.size
    }

    /// The number, written, without its unit.
    pub(crate) fn write(&self, si: f64) -> String {
        fixed(self.value(si), self.decimals)
    }

    /// A difference, written, without its unit.
    pub(crate) fn write_difference(&self, si: f64) -> String {
        fixed(si / self.size, self.decimals.max(1))
    }

    /// The number with its unit, without decimals that say nothing.
    pub(crate) fn plainly(&self, si: f64) -> String {
        let number = self.write(si);
        let number = if number.contains('.') {
            number.trim_end_matches('0').trim_end_matches('.')
        } else {
            &number
        };
        format!("{number} {}", self.unit).trim_end().to_owned()
    }

    /// The number with its unit.
    pub(crate) fn with_unit(&self, si: f64) -> String {
        format!("{} {}", self.write(si), self.unit)
            .trim_end()
            .to_owned()
    }
}

impl From<Units> for say::Units {
    fn from(units: Units) -> Self {
        match units {
            Units::Si => Self::Si,
            Units::Us => Self::Us,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_come_out_as_gauges_show_them() {
        // Unit definitions: NIST Special Publication 811 (2008), appendix B.8: t/°F = 1.8 t/°C + 32;
        // 1 psi is 6894.757 Pa; 1 cubic foot is 0.028 316 85 m³.
        let write = |d, u, si| Measure::of(d, u).with_unit(si);
        assert_eq!(write(Dimension::Temperature, Units::Si, 365.15), "92.0 °C");
        assert_eq!(write(Dimension::Temperature, Units::Us, 365.15), "198 °F");
        assert_eq!(
            write(Dimension::GaugePressure, Units::Us, 689_475.7),
            "100.0 psi(g)"
        );
        assert_eq!(
            write(Dimension::ReferenceAir, Units::Us, 2.831_685 / 60.0),
            "100 cfm"
        );
        assert_eq!(write(Dimension::Share, Units::Si, 0.5), "0.500");
        let plain = |d, si| Measure::of(d, Units::Si).plainly(si);
        assert_eq!(plain(Dimension::PressureDifference, 0.8e5), "0.8 bar");
        assert_eq!(plain(Dimension::Hours, 6000.0), "6000 h");
    }
}
