//! How a figure of a log is written, in the units of the reader, and the step that says what one
//! unit is in the other.
//!
//! Must not know: what the figures mean.

use ::study::Band95;
use judge::say::{Units, grouped, round};
use physics::quantity::{BAR_PA, CUBIC_FOOT_M3, PSI_PA};
use physics::working::Step;

/// Litres in one US gallon (231 cubic inches, exact).
const GALLON_L: f64 = 3.785_411_784;

/// A quantity in the two units that it is written in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Kind {
    unit: &'static str,
    places: usize,
    us_unit: &'static str,
    us_places: usize,
    /// So many of the US unit make one of the other.
    factor: f64,
}

pub(super) const FLOW: Kind = Kind {
    unit: "m³/min",
    places: 2,
    us_unit: "cfm",
    us_places: 1,
    factor: 1.0 / CUBIC_FOOT_M3,
};
pub(super) const AIR: Kind = Kind {
    unit: "m³",
    places: 0,
    us_unit: "ft³",
    us_places: 0,
    factor: 1.0 / CUBIC_FOOT_M3,
};
pub(super) const STORAGE: Kind = Kind {
    unit: "m³",
    places: 2,
    us_unit: "gal",
    us_places: 0,
    factor: 1.0e3 / GALLON_L,
};
pub(super) const PER_AIR: Kind = Kind {
    unit: "kWh/m³",
    places: 4,
    us_unit: "kWh/1000 ft³",
    us_places: 2,
    factor: 1.0e3 * CUBIC_FOOT_M3,
};
pub(super) const SPECIFIC: Kind = Kind {
    unit: "kW/(m³/min)",
    places: 2,
    us_unit: "kW/(100 cfm)",
    us_places: 2,
    factor: 100.0 * CUBIC_FOOT_M3,
};
pub(super) const GAUGE: Kind = Kind {
    unit: "bar(g)",
    places: 2,
    us_unit: "psi(g)",
    us_places: 1,
    factor: BAR_PA / PSI_PA,
};
pub(super) const FALL: Kind = Kind {
    unit: "bar/s",
    places: 3,
    us_unit: "psi/s",
    us_places: 2,
    factor: BAR_PA / PSI_PA,
};

impl Kind {
    /// The unit of the working.
    pub(super) fn unit(self) -> &'static str {
        self.unit
    }

    fn reader(self, units: Units) -> (&'static str, usize, f64) {
        match units {
            Units::Si => (self.unit, self.places, 1.0),
            Units::Us => (self.us_unit, self.us_places, self.factor),
        }
    }

    /// The number for the reader, without its unit.
    pub(super) fn number(self, units: Units, value: f64) -> String {
        let (_, places, factor) = self.reader(units);
        match places {
            0 => grouped(value * factor),
            places => round(value * factor, places),
        }
    }

    /// The number for the reader with its unit.
    pub(super) fn said(self, units: Units, value: f64) -> String {
        let (unit, ..) = self.reader(units);
        format!("{} {unit}", self.number(units, value))
    }

    /// `0.97 (0.91 to 1.02) m³/min`.
    pub(super) fn span(self, units: Units, band: Band95) -> String {
        let (unit, ..) = self.reader(units);
        let [low, mid, high] = [band.low, band.mid, band.high].map(|v| self.number(units, v));
        format!("{mid} ({low} to {high}) {unit}")
    }

    /// How an interval comes about.
    pub(super) fn interval(self, band: Band95, from: &str, source: &str) -> Step {
        let sigma = (band.high - band.mid) / 1.96;
        let [low, mid, high] = [band.low, band.mid, band.high].map(|v| self.number(Units::Si, v));
        Step {
            name: "its standard uncertainty, and the span that holds the truth 95 times in 100"
                .to_owned(),
            formula: "low, high = x ∓ 1.96 σ, not below 0".to_owned(),
            numbers: format!("{mid} {}: {low} to {high}; {from}", self.unit),
            value: sigma,
            unit: self.unit.to_owned(),
            source: source.to_owned(),
        }
    }

    /// The same values in the units of the reader, where these are others.
    pub(super) fn converted(self, units: Units, values: &[f64]) -> Option<Step> {
        let Units::Us = units else { return None };
        let first = values.first()?;
        let each: Vec<String> = values
            .iter()
            .map(|v| {
                format!(
                    "{} {} = {}",
                    self.number(Units::Si, *v),
                    self.unit,
                    self.said(units, *v)
                )
            })
            .collect();
        Some(Step {
            name: "the same in the units of the page".to_owned(),
            formula: format!(
                "1 {} = {} {}",
                self.unit,
                round(self.factor, 4),
                self.us_unit
            ),
            numbers: each.join("; "),
            value: first * self.factor,
            unit: self.us_unit.to_owned(),
            source: "definitions of the units: NIST SP 811 (2008), appendix B (published)"
                .to_owned(),
        })
    }
}

/// A step of its own.
pub(super) fn step(
    name: impl Into<String>,
    formula: impl Into<String>,
    numbers: impl Into<String>,
    (value, unit): (f64, &str),
    source: impl Into<String>,
) -> Step {
    Step {
        name: name.into(),
        formula: formula.into(),
        numbers: numbers.into(),
        value,
        unit: unit.to_owned(),
        source: source.into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST Special Publication 811 (2008), appendix B.8: 1 ft³/min is 4.719 474 · 10⁻⁴ m³/s, 1 psi is
    /// 6.894 757 kPa, 1 US gallon is 3.785 412 · 10⁻³ m³.
    #[test]
    fn units_are_those_of_the_published_table() {
        assert_eq!(
            FLOW.said(Units::Us, 60.0 * 4.719_474e-4 * 250.0),
            "250.0 cfm"
        );
        assert_eq!(GAUGE.said(Units::Us, 6.894_757), "100.0 psi(g)");
        assert_eq!(STORAGE.said(Units::Us, 0.378_541_2), "100 gal");
        // 100 cfm are 2.831 685 m³/min.
        assert_eq!(
            SPECIFIC.said(Units::Us, 20.0 / 2.831_685),
            "20.00 kW/(100 cfm)"
        );
        assert_eq!(
            PER_AIR.said(Units::Us, 5.0 / 28.316_85),
            "5.00 kWh/1000 ft³"
        );
    }
}
