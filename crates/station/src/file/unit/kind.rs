//! The kinds of quantity and the units of each.
//!
//! Conversions are exact by definition or taken from `physics::quantity`. `Nm3` is referred to
//! 0 °C and 1.01325 bar(a), dry (DIN 1343), `(ANR)` to 20 °C and 1 bar(a), dry (ISO 8778).
//!
//! Must not know: how a text is read.

use physics::quantity::{BAR_PA, CUBIC_FOOT_M3, INCH_WATER_PA, PSI_PA, ZERO_CELSIUS_K};

use super::Unit;

/// What kind of quantity, and so which units it may carry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// A temperature, to K.
    Temperature,
    /// A difference of temperatures, to K.
    TemperatureDifference,
    /// A pressure above the atmosphere, to Pa.
    GaugePressure,
    /// A pressure above vacuum, to Pa.
    AbsolutePressure,
    /// A difference of pressures, to Pa.
    PressureDifference,
    /// Power, to W.
    Power,
    /// Electric current, to A.
    Current,
    /// Electric tension, to V.
    Voltage,
    /// Energy, to kWh.
    Energy,
    /// Relative humidity, written in per cent, to 0…1.
    Humidity,
    /// Per cent, kept as per cent.
    Percent,
    /// Hours of a counter or a life, kept in h.
    Hours,
    /// A duration, to s.
    Duration,
    /// Revolutions a minute, kept in rpm.
    Speed,
    /// An amount of liquid, kept in L.
    Litres,
    /// A volume, to m³.
    Volume,
    /// A length, to m.
    Length,
    /// A mass, to kg.
    Mass,
    /// A force, to N.
    Force,
    /// A frequency, to Hz.
    Frequency,
    /// Free air at the intake's own conditions, to m³/s.
    FreeAir,
    /// Dry air referred to 20 °C and 1 bar(a), to m³/s.
    ReferenceAir,
    /// Air drawn through a room, to m³/s.
    Ventilation,
}

impl Kind {
    /// Every kind.
    pub const ALL: &'static [Self] = &[
        Self::Temperature,
        Self::TemperatureDifference,
        Self::GaugePressure,
        Self::AbsolutePressure,
        Self::PressureDifference,
        Self::Power,
        Self::Current,
        Self::Voltage,
        Self::Energy,
        Self::Humidity,
        Self::Percent,
        Self::Duration,
        Self::Hours,
        Self::Speed,
        Self::Volume,
        Self::Litres,
        Self::Length,
        Self::Mass,
        Self::Force,
        Self::Frequency,
        Self::FreeAir,
        Self::ReferenceAir,
        Self::Ventilation,
    ];

    /// The units that it may carry; the first is the one that messages use.
    #[must_use]
    pub const fn units(self) -> &'static [Unit] {
        match self {
            Self::Temperature => TEMPERATURE,
            Self::TemperatureDifference => TEMPERATURE_DIFFERENCE,
            Self::GaugePressure => GAUGE,
            Self::AbsolutePressure => ABSOLUTE,
            Self::PressureDifference => PRESSURE_DIFFERENCE,
            Self::Power => POWER,
            Self::Current => CURRENT,
            Self::Voltage => VOLTAGE,
            Self::Energy => ENERGY,
            Self::Humidity => HUMIDITY,
            Self::Percent => PERCENT,
            Self::Hours => HOURS,
            Self::Duration => DURATION,
            Self::Speed => SPEED,
            Self::Litres => LITRES,
            Self::Volume => VOLUME,
            Self::Length => LENGTH,
            Self::Mass => MASS,
            Self::Force => FORCE,
            Self::Frequency => FREQUENCY,
            Self::FreeAir => FREE_AIR,
            Self::ReferenceAir => REFERENCE_AIR,
            Self::Ventilation => VENTILATION,
        }
    }

    /// What it is called in a sentence.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Temperature => "a temperature",
            Self::TemperatureDifference => "a temperature difference",
            Self::GaugePressure => "a gauge pressure",
            Self::AbsolutePressure => "an absolute pressure",
            Self::PressureDifference => "a pressure difference",
            Self::Power => "a power",
            Self::Current => "a current",
            Self::Voltage => "a voltage",
            Self::Energy => "an energy",
            Self::Humidity => "a relative humidity",
            Self::Percent => "a percentage",
            Self::Hours => "a number of hours",
            Self::Duration => "a duration",
            Self::Speed => "a speed of rotation",
            Self::Litres => "an amount of liquid",
            Self::Volume => "a volume",
            Self::Length => "a length",
            Self::Mass => "a mass",
            Self::Force => "a force",
            Self::Frequency => "a frequency",
            Self::FreeAir => "a flow of free air",
            Self::ReferenceAir => "a flow of reference air",
            Self::Ventilation => "a flow of cooling air",
        }
    }

    /// Its name without the article.
    pub(super) fn noun(self) -> &'static str {
        let name = self.name();
        name.split_once(' ').map_or(name, |(_, noun)| noun)
    }

    /// Its units, as a sentence lists them.
    #[must_use]
    pub fn unit_list(self) -> String {
        let names: Vec<String> = self
            .units()
            .iter()
            .map(|u| format!("`{}`", u.name))
            .collect();
        match names.split_last() {
            Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
            _ => names.concat(),
        }
    }
}

const fn by(name: &'static str, factor: f64) -> Unit {
    Unit {
        name,
        factor,
        offset: 0.0,
    }
}

const FAHRENHEIT_K: f64 = 5.0 / 9.0;
/// One cubic metre at 0 °C and 1.01325 bar(a), in cubic metres at 20 °C and 1 bar(a).
const NORMAL_TO_REFERENCE: f64 = 1.01325 * (ZERO_CELSIUS_K + 20.0) / ZERO_CELSIUS_K;

const TEMPERATURE: &[Unit] = &[
    Unit {
        name: "degC",
        factor: 1.0,
        offset: ZERO_CELSIUS_K,
    },
    Unit {
        name: "degF",
        factor: FAHRENHEIT_K,
        offset: ZERO_CELSIUS_K - 32.0 * FAHRENHEIT_K,
    },
    by("K", 1.0),
];
const TEMPERATURE_DIFFERENCE: &[Unit] = &[by("K", 1.0), by("degF_diff", FAHRENHEIT_K)];
const GAUGE: &[Unit] = &[
    by("bar(g)", BAR_PA),
    by("kPa(g)", 1.0e3),
    by("MPa(g)", 1.0e6),
    by("psi(g)", PSI_PA),
];
const ABSOLUTE: &[Unit] = &[
    by("bar(a)", BAR_PA),
    by("mbar(a)", 100.0),
    by("hPa(a)", 100.0),
    by("kPa(a)", 1.0e3),
    by("MPa(a)", 1.0e6),
    by("psi(a)", PSI_PA),
];
const PRESSURE_DIFFERENCE: &[Unit] = &[
    by("bar", BAR_PA),
    by("mbar", 100.0),
    by("Pa", 1.0),
    by("kPa", 1.0e3),
    by("psi", PSI_PA),
    by("inH2O", INCH_WATER_PA),
];
const POWER: &[Unit] = &[
    by("kW", 1.0e3),
    by("W", 1.0),
    by("MW", 1.0e6),
    by("hp", 745.699_871_582),
];
const CURRENT: &[Unit] = &[by("A", 1.0), by("mA", 1.0e-3)];
const VOLTAGE: &[Unit] = &[by("V", 1.0), by("kV", 1.0e3)];
const ENERGY: &[Unit] = &[by("kWh", 1.0), by("MWh", 1.0e3)];
const HUMIDITY: &[Unit] = &[by("%", 0.01)];
const PERCENT: &[Unit] = &[by("%", 1.0)];
const HOURS: &[Unit] = &[by("h", 1.0)];
const DURATION: &[Unit] = &[by("s", 1.0), by("min", 60.0), by("h", 3600.0)];
const SPEED: &[Unit] = &[by("rpm", 1.0), by("1/min", 1.0)];
const LITRES: &[Unit] = &[by("L", 1.0), by("mL", 1.0e-3)];
const VOLUME: &[Unit] = &[by("L", 1.0e-3), by("m3", 1.0), by("ft3", CUBIC_FOOT_M3)];
const LENGTH: &[Unit] = &[
    by("m", 1.0),
    by("mm", 1.0e-3),
    by("cm", 1.0e-2),
    by("ft", 0.3048),
    by("in", 0.0254),
];
const MASS: &[Unit] = &[by("kg", 1.0), by("g", 1.0e-3), by("lb", 0.453_592_37)];
const FORCE: &[Unit] = &[by("N", 1.0), by("lbf", 4.448_221_615_260_5)];
const FREQUENCY: &[Unit] = &[by("Hz", 1.0), by("kHz", 1.0e3)];
pub(super) const FREE_AIR: &[Unit] = &[
    by("m3/min", 1.0 / 60.0),
    by("m3/h", 1.0 / 3600.0),
    by("m3/s", 1.0),
    by("L/s", 1.0e-3),
    by("L/min", 1.0e-3 / 60.0),
    by("cfm", CUBIC_FOOT_M3 / 60.0),
];
const REFERENCE_AIR: &[Unit] = &[
    by("m3/min(ANR)", 1.0 / 60.0),
    by("m3/h(ANR)", 1.0 / 3600.0),
    by("m3/s(ANR)", 1.0),
    by("L/s(ANR)", 1.0e-3),
    by("L/min(ANR)", 1.0e-3 / 60.0),
    by("cfm(ANR)", CUBIC_FOOT_M3 / 60.0),
    by("Nm3/h", NORMAL_TO_REFERENCE / 3600.0),
    by("Nm3/min", NORMAL_TO_REFERENCE / 60.0),
];
const VENTILATION: &[Unit] = &[
    by("m3/s", 1.0),
    by("m3/h", 1.0 / 3600.0),
    by("m3/min", 1.0 / 60.0),
    by("L/s", 1.0e-3),
    by("cfm", CUBIC_FOOT_M3 / 60.0),
];
