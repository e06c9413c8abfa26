//! Units by choice: SI inside, what the reader is used to outside.
//!
//! Must not know: which quantity stands where in a picture.

use physics::quantity::{BAR_PA, PSI_PA, ZERO_CELSIUS_K};

/// Litres in one US gallon (231 cubic inches, exact).
const GALLON_L: f64 = 3.785_411_784;

/// Which units the reader wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Units {
    /// bar, °C, litres.
    #[default]
    Si,
    /// psi, °F, US gallons.
    Us,
}

impl Units {
    /// A pressure in pascal as the reader's number.
    #[must_use]
    pub fn pressure(self, pa: f64) -> f64 {
        match self {
            Self::Si => pa / BAR_PA,
            Self::Us => pa / PSI_PA,
        }
    }

    /// A temperature in kelvin as the reader's number.
    #[must_use]
    pub fn temperature(self, kelvin: f64) -> f64 {
        let celsius = kelvin - ZERO_CELSIUS_K;
        match self {
            Self::Si => celsius,
            Self::Us => celsius * 1.8 + 32.0,
        }
    }

    /// Litres as the reader's number.
    #[must_use]
    pub fn volume(self, litres: f64) -> f64 {
        match self {
            Self::Si => litres,
            Self::Us => litres / GALLON_L,
        }
    }

    /// Name of the unit of a gauge pressure.
    #[must_use]
    pub fn gauge_name(self) -> &'static str {
        match self {
            Self::Si => "bar(g)",
            Self::Us => "psi(g)",
        }
    }

    /// Name of the unit of an absolute pressure.
    #[must_use]
    pub fn absolute_name(self) -> &'static str {
        match self {
            Self::Si => "bar(a)",
            Self::Us => "psi(a)",
        }
    }

    /// Name of the unit of a pressure difference.
    #[must_use]
    pub fn drop_name(self) -> &'static str {
        match self {
            Self::Si => "bar",
            Self::Us => "psi",
        }
    }

    /// Name of the unit of temperature.
    #[must_use]
    pub fn temperature_name(self) -> &'static str {
        match self {
            Self::Si => "°C",
            Self::Us => "°F",
        }
    }

    /// Name of the unit of water in a day.
    #[must_use]
    pub fn water_name(self) -> &'static str {
        match self {
            Self::Si => "L/day",
            Self::Us => "gal/day",
        }
    }

    /// A pressure or a difference, written without its unit.
    #[must_use]
    pub fn write_pressure(self, pa: f64) -> String {
        fixed(self.pressure(pa), if self == Self::Si { 2 } else { 1 })
    }

    /// A temperature written without its unit.
    #[must_use]
    pub fn write_temperature(self, kelvin: f64) -> String {
        fixed(self.temperature(kelvin), 0)
    }

    /// Water in a day written without its unit: two figures under ten.
    #[must_use]
    pub fn write_water(self, litres: f64) -> String {
        let value = self.volume(litres);
        fixed(value, if value < 9.95 { 1 } else { 0 })
    }
}

/// A number with fixed decimals, a true minus sign and no negative zero.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{:.*}", decimals, value);
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_string(),
        Some(rest) => format!("\u{2212}{rest}"),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_as_a_gauge_shows_them() {
        // Unit definitions: NIST Special Publication 811 (2008), appendix B.8: 1 psi is 6894.757 Pa,
        // 1 US gallon is 3.785 412 L.
        assert_eq!(Units::Si.write_pressure(715_000.0), "7.15");
        assert_eq!(Units::Us.write_pressure(689_475.7), "100.0");
        assert_eq!(Units::Si.write_temperature(272.95), "0");
        assert_eq!(Units::Si.write_temperature(233.15), "\u{2212}40");
        assert_eq!(Units::Us.write_temperature(233.15), "\u{2212}40");
        assert_eq!(Units::Us.write_water(37.854), "10");
        assert_eq!(Units::Si.write_water(3.44), "3.4");
    }
}
