//! Numbers in words: units and rounding, in one place.
//!
//! Rounds only here, to what an instrument shows. Must not know: findings.

use jiff::civil::Date;
use physics::quantity::{BAR_PA, CUBIC_FOOT_M3, PSI_PA, ZERO_CELSIUS_K};
use station::point::{Dimension, Point, Word};

/// Which units people read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Units {
    /// bar, °C, m³/min.
    #[default]
    Si,
    /// psi, °F, cfm.
    Us,
}

/// Below this a pressure difference is told in mbar.
const SMALL_DROP_PA: f64 = 5.0e3;
/// One foot-pound, J: 0.3048 m · 0.45359237 kg · 9.80665 m/s², exact.
const FOOT_POUND_J: f64 = 1.355_817_948_331_400_4;
const LITRES_PER_GALLON: f64 = 3.785_411_784;

impl Units {
    /// A temperature in kelvin.
    #[must_use]
    pub fn temperature(self, kelvin: f64) -> String {
        let celsius = kelvin - ZERO_CELSIUS_K;
        match self {
            Self::Si => format!("{} °C", round(celsius, 0)),
            Self::Us => format!("{} °F", round(celsius * 1.8 + 32.0, 0)),
        }
    }

    /// A temperature with one decimal.
    #[must_use]
    pub fn fine_temperature(self, kelvin: f64) -> String {
        let celsius = kelvin - ZERO_CELSIUS_K;
        match self {
            Self::Si => format!("{} °C", round(celsius, 1)),
            Self::Us => format!("{} °F", round(celsius * 1.8 + 32.0, 1)),
        }
    }

    /// A temperature difference in kelvin.
    #[must_use]
    pub fn kelvins(self, kelvin: f64) -> String {
        match self {
            Self::Si => format!("{} K", round(kelvin, places(kelvin))),
            Self::Us => format!("{} °F", round(kelvin * 1.8, places(kelvin * 1.8))),
        }
    }

    /// A gauge pressure in pascal.
    #[must_use]
    pub fn gauge(self, pa: f64) -> String {
        match self {
            Self::Si => format!("{} bar(g)", round(pa / BAR_PA, 2)),
            Self::Us => format!("{} psi(g)", round(pa / PSI_PA, 0)),
        }
    }

    /// An absolute pressure in pascal.
    #[must_use]
    pub fn absolute(self, pa: f64) -> String {
        match self {
            Self::Si => format!("{} bar(a)", round(pa / BAR_PA, 3)),
            Self::Us => format!("{} psi(a)", round(pa / PSI_PA, 1)),
        }
    }

    /// A pressure difference in pascal.
    #[must_use]
    pub fn drop(self, pa: f64) -> String {
        match self {
            Self::Si if pa.abs() < SMALL_DROP_PA => format!("{} mbar", round(pa / 100.0, 0)),
            Self::Si => format!("{} bar", round(pa / BAR_PA, 2)),
            Self::Us => format!("{} psi", round(pa / PSI_PA, 1)),
        }
    }

    /// A volume flow in m³/s.
    #[must_use]
    pub fn flow(self, m3_s: f64) -> String {
        match self {
            Self::Si => format!("{} m³/min", round(m3_s * 60.0, 2)),
            Self::Us => {
                let cfm = m3_s * 60.0 / CUBIC_FOOT_M3;
                format!("{} cfm", round(cfm, places(cfm)))
            }
        }
    }

    /// The half-width of a flow's band, without unit, as finely as the flow itself is told.
    #[must_use]
    pub fn half_flow(self, m3_s: f64, half: f64) -> String {
        match self {
            Self::Si => round(half * 60.0, 2),
            Self::Us => {
                let cfm = |m3_s: f64| m3_s * 60.0 / CUBIC_FOOT_M3;
                round(cfm(half), places(cfm(m3_s)).max(places(cfm(half))))
            }
        }
    }

    /// Litres.
    #[must_use]
    pub fn litres(self, litres: f64) -> String {
        match self {
            Self::Si => format!("{} L", round(litres, places(litres))),
            Self::Us => {
                let gallons = litres / LITRES_PER_GALLON;
                format!("{} gal", round(gallons, places(gallons)))
            }
        }
    }

    /// A stored energy in joule.
    #[must_use]
    pub fn energy(self, joule: f64) -> String {
        match self {
            Self::Si => format!("{} kJ", round(joule / 1000.0, 0)),
            // Nobody knows it better than to a hundred.
            Self::Us => format!(
                "{} ft·lbf",
                grouped((joule / FOOT_POUND_J / 100.0).round() * 100.0)
            ),
        }
    }

    /// A power in watt.
    #[must_use]
    pub fn power(self, watt: f64) -> String {
        format!("{} kW", round(watt / 1000.0, 1))
    }

    /// A reading of a point, with its unit.
    #[must_use]
    pub fn reading(self, point: Point, si: f64) -> String {
        match point.dimension() {
            Dimension::Temperature => self.temperature(si),
            Dimension::GaugePressure => self.gauge(si),
            Dimension::AbsolutePressure => self.absolute(si),
            Dimension::PressureDifference => self.drop(si),
            Dimension::Power => self.power(si),
            Dimension::ReferenceAir => self.flow(si),
            Dimension::Litres => self.litres(si),
            Dimension::Current => format!("{} A", round(si, 0)),
            Dimension::Energy => format!("{} kWh", round(si, 0)),
            Dimension::Humidity => format!("{} %", round(si * 100.0, 0)),
            Dimension::Percent => format!("{} %", round(si, 0)),
            Dimension::Hours => format!("{} h", round(si, 0)),
            Dimension::Seconds => format!("{} s", round(si, 0)),
            Dimension::Speed => format!("{} rpm", round(si, 0)),
            Dimension::Length => format!("{} mm", round(si * 1000.0, 1)),
            Dimension::Force => format!("{} N", round(si, 0)),
            Dimension::Frequency => format!("{} Hz", round(si, 0)),
            Dimension::Count | Dimension::Share => round(si, 2),
            Dimension::Words(_) => String::new(),
        }
    }

    /// "92 °C, where 84 ± 4 is expected", all in one unit.
    #[must_use]
    pub fn beside(self, point: Point, read: f64, mid: f64, half: f64) -> String {
        let (read, mid, half) = match (self, point.dimension()) {
            (Self::Si, Dimension::PressureDifference) => {
                // A reading is told in the unit that it has alone.
                let (name, pa, places) = match read.abs() {
                    small if small < SMALL_DROP_PA => ("mbar", 100.0, 0),
                    _ => ("bar", BAR_PA, 2),
                };
                (
                    format!("{} {name}", round(read / pa, places)),
                    round(mid / pa, places),
                    round(half / pa, places),
                )
            }
            (_, Dimension::Temperature) => (
                self.temperature(read),
                strip(&self.temperature(mid)),
                strip(&self.kelvins(half)),
            ),
            (Self::Si, Dimension::GaugePressure) => (
                self.gauge(read),
                strip(&self.gauge(mid)),
                round(half / BAR_PA, 2),
            ),
            (Self::Us, Dimension::GaugePressure) => (
                self.gauge(read),
                strip(&self.gauge(mid)),
                round(half / PSI_PA, 0),
            ),
            _ => (
                self.reading(point, read),
                strip(&self.reading(point, mid)),
                strip(&self.reading(point, half)),
            ),
        };
        format!("{read}, where {mid} ± {half} is expected")
    }

    /// The half-width of a temperature's band, without unit.
    #[must_use]
    pub fn half_kelvins(self, kelvin: f64) -> String {
        strip(&self.kelvins(kelvin))
    }
}

/// The number without its unit.
fn strip(text: &str) -> String {
    text.split(' ').next().unwrap_or(text).to_owned()
}

/// Two figures for a small number, none after the point for a large one.
fn places(value: f64) -> usize {
    match value.abs() {
        v if v < 1.0 => 2,
        v if v < 10.0 => 1,
        _ => 0,
    }
}

/// Decimals that make three figures of a value, three at most.
#[must_use]
pub fn of_three_figures(value: f64) -> usize {
    match value.abs() {
        v if v >= 100.0 => 0,
        v if v >= 10.0 => 1,
        v if v >= 1.0 => 2,
        _ => 3,
    }
}

/// Rounded, without a minus before a zero.
#[must_use]
pub fn round(value: f64, places: usize) -> String {
    // A half goes away from zero, as people round; binary halves would go to the even digit.
    let value = value + value.signum() * 1.0e-9 * value.abs().max(1.0e-3);
    let text = format!("{value:.places$}");
    if text
        .trim_start_matches('-')
        .chars()
        .all(|c| c == '0' || c == '.')
    {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    }
}

/// A number without what conversions leave behind the digits that anyone read: 75.8 is read as
/// 348.95 K and must not come back as 75.80000000000001. Twelve digits after the point are kept at
/// most, and twelve that count of a large number.
#[must_use]
pub fn without_noise(value: f64) -> f64 {
    let size = value.abs().max(1.0).log10().floor();
    let scale = 10.0_f64.powf(11.0 - size);
    let rounded = (value * scale).round() / scale;
    if rounded.is_finite() { rounded } else { value }
}

/// What was seen, in words.
pub(crate) fn seen(name: &str, word: Word) -> String {
    format!("{name} was seen {}", word.text())
}

/// A share as per cent.
#[must_use]
pub fn percent(share: f64) -> String {
    format!(
        "{} %",
        round(share * 100.0, if share.abs() < 0.1 { 1 } else { 0 })
    )
}

/// A probability in words that never claim to be certain.
#[must_use]
pub fn chance(probability: f64) -> String {
    match probability {
        p if p > 0.99 => "over 99 %".to_owned(),
        p if p < 0.01 => "under 1 %".to_owned(),
        p => percent(p),
    }
}

/// A probability no finer than [`chance`] tells it, to put in order what is told: two that read the
/// same are the same.
#[must_use]
pub fn as_told(probability: f64) -> f64 {
    let steps = if probability < 0.1 { 1000.0 } else { 100.0 };
    match probability {
        p if p > 0.99 => 1.0,
        p if p >= 0.01 => (p * steps).round() / steps,
        _ => 0.0,
    }
}

/// `14 July 2026`.
#[must_use]
pub fn date(date: Date) -> String {
    date.strftime("%-d %B %Y").to_string()
}

/// A large whole number in groups of three.
#[must_use]
pub fn grouped(value: f64) -> String {
    let digits = round(value, 0);
    let (sign, digits) = digits
        .strip_prefix('-')
        .map_or(("", digits.as_str()), |d| ("-", d));
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push('\u{202f}');
        }
        out.push(c);
    }
    format!("{sign}{out}")
}

/// What a JSON number of this dimension is called, and the SI size of its unit: value = SI/size. A
/// temperature is in °C, and its size is that of a difference.
#[must_use]
pub fn file_unit(dimension: Dimension) -> (&'static str, f64) {
    match dimension {
        Dimension::Temperature => ("degC", 1.0),
        Dimension::GaugePressure => ("bar(g)", BAR_PA),
        Dimension::AbsolutePressure => ("bar(a)", BAR_PA),
        Dimension::PressureDifference => ("bar", BAR_PA),
        Dimension::Power => ("kW", 1.0e3),
        Dimension::Current => ("A", 1.0),
        Dimension::Energy => ("kWh", 1.0),
        Dimension::Humidity => ("1", 1.0),
        Dimension::Percent => ("%", 1.0),
        Dimension::Hours => ("h", 1.0),
        Dimension::Count | Dimension::Share | Dimension::Words(_) => ("1", 1.0),
        Dimension::Seconds => ("s", 1.0),
        Dimension::Speed => ("rpm", 1.0),
        Dimension::Litres => ("L", 1.0),
        Dimension::Length => ("mm", 1.0e-3),
        Dimension::Force => ("N", 1.0),
        Dimension::Frequency => ("Hz", 1.0),
        Dimension::ReferenceAir => ("m3/min(ANR)", 1.0 / 60.0),
    }
}

/// A value of a point as JSON writes it, with its unit.
#[must_use]
pub fn in_file_unit(point: Point, si: f64) -> (f64, &'static str) {
    let (unit, size) = file_unit(point.dimension());
    let value = match point.dimension() {
        Dimension::Temperature => si - ZERO_CELSIUS_K,
        _ => si / size,
    };
    (without_noise(value), unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounds_to_what_an_instrument_shows() {
        assert_eq!(Units::Si.temperature(365.15), "92 °C");
        assert_eq!(Units::Us.temperature(365.15), "198 °F");
        assert_eq!(Units::Si.gauge(7.2e5), "7.20 bar(g)");
        assert_eq!(Units::Si.drop(2_000.0), "20 mbar");
        assert_eq!(Units::Si.drop(0.39e5), "0.39 bar");
        assert_eq!(round(-0.001, 1), "0.0");
        assert_eq!(grouped(12_345.0), "12\u{202f}345");
        assert_eq!(Units::Si.energy(16_000.0), "16 kJ");
        assert_eq!(Units::Us.energy(16_000.0), "11\u{202f}800 ft·lbf");
        assert_eq!(Units::Us.flow(0.01 / 60.0), "0.35 cfm");
        assert_eq!(Units::Us.flow(5.3 / 60.0), "187 cfm");
        assert_eq!(Units::Us.half_flow(1.16 / 60.0, 0.19 / 60.0), "6.7");
        assert_eq!(Units::Si.half_flow(1.16 / 60.0, 0.19 / 60.0), "0.19");
        let noisy = (75.8 + ZERO_CELSIUS_K) - ZERO_CELSIUS_K;
        assert_eq!(without_noise(noisy).to_string(), "75.8");
        assert_eq!(without_noise(7.2e5 / BAR_PA).to_string(), "7.2");
        assert_eq!(without_noise(12_345.678).to_string(), "12345.678");
        assert_eq!(without_noise(0.000_123_4).to_string(), "0.0001234");
    }
}
