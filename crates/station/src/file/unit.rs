//! Units: what a written unit does to a number, and why it may not stand where it stands.
//!
//! Every quantity in a file carries its unit. Gauge and absolute pressure, a pressure and a pressure
//! difference, a temperature and a temperature difference, free air and reference air are different
//! kinds, and each kind has its own list of units. Values come out in SI, except those that the
//! whole program keeps as written: kilowatt-hours, hours, litres, revolutions a minute, per cent.
//!
//! Conversions are exact by definition or taken from `physics::quantity`. `Nm3` is referred to
//! 0 °C and 1.01325 bar(a), dry (DIN 1343), `(ANR)` to 20 °C and 1 bar(a), dry (ISO 8778).
//!
//! Must not know: columns, keys, plausible ranges.

use physics::quantity::{BAR_PA, CUBIC_FOOT_M3, INCH_WATER_PA, PSI_PA, ZERO_CELSIUS_K};

use super::problem::nearest;

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

/// What a unit does to a number: `si = number * factor + offset`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// Its name, as files write it.
    pub name: &'static str,
    /// The SI value of one.
    pub factor: f64,
    /// The SI value of none.
    pub offset: f64,
}

impl Unit {
    /// The SI value of a number in this unit.
    #[must_use]
    pub fn to_si(self, number: f64) -> f64 {
        number * self.factor + self.offset
    }
    /// The number in this unit of an SI value.
    #[must_use]
    pub fn from_si(self, si: f64) -> f64 {
        (si - self.offset) / self.factor
    }
}

/// Why a text is no quantity of its kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnitProblem {
    /// What was found and what was expected.
    pub what: String,
    /// How to mend it, if that can be said.
    pub hint: Option<String>,
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
const FREE_AIR: &[Unit] = &[
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
    fn noun(self) -> &'static str {
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

/// The unit of this name among those of a kind.
///
/// # Errors
/// If it is missing, unknown, or a unit of another kind.
pub fn unit(kind: Kind, written: &str) -> Result<Unit, UnitProblem> {
    let written = written.trim();
    if written.is_empty() {
        return Err(UnitProblem {
            what: format!("the unit is missing: {} is expected", kind.name()),
            hint: Some(format!("write {}", kind.unit_list())),
        });
    }
    let plain = plain_name(written);
    if let Some(found) = find(kind, &plain) {
        return Ok(found);
    }
    Err(refusal(kind, written, &plain))
}

/// A number with its unit, in SI.
///
/// # Errors
/// If there is no number, it is not finite, or the unit does not fit the kind.
pub fn quantity(kind: Kind, text: &str) -> Result<f64, UnitProblem> {
    let text = text.trim();
    let (number, written) = split(text);
    let in_first = |number: &str| {
        let name = kind.units().first().map_or("", |u| u.name);
        format!("write it as `{number} {name}`")
    };
    if number.is_empty() {
        return Err(UnitProblem {
            what: format!("{} is expected, found `{}`", kind.name(), short(text)),
            hint: Some(in_first("1.5")),
        });
    }
    if number.contains(',') {
        return Err(UnitProblem {
            what: format!("`{}` has a comma in its number", short(text)),
            hint: Some(
                "write a decimal point, and nothing between thousands: `7.5`, `1000`".to_owned(),
            ),
        });
    }
    if written.starts_with(|c: char| c.is_ascii_digit()) && !written.starts_with("1/") {
        return Err(UnitProblem {
            what: format!("`{}` has a gap in its number", short(text)),
            hint: Some("write nothing between thousands: `1000`, not `1 000`".to_owned()),
        });
    }
    let value = number_of(number).ok_or_else(|| UnitProblem {
        what: format!("`{}` is not a number that can be used", short(number)),
        hint: Some(in_first("1.5")),
    })?;
    let unit = unit(kind, written)?;
    if kind == Kind::Humidity
        && let Some(problem) = humidity_as_share(value)
    {
        return Err(problem);
    }
    let si = unit.to_si(value);
    if si.is_finite() {
        Ok(si)
    } else {
        Err(UnitProblem {
            what: format!("`{}` is too large a number", short(text)),
            hint: None,
        })
    }
}

/// A finite number with a decimal point; words such as `NaN` and `inf` are none.
#[must_use]
pub fn number_of(text: &str) -> Option<f64> {
    let first = text.as_bytes().first()?;
    let value: f64 = if first.is_ascii_digit() {
        text.parse().ok()?
    } else {
        let text = text.replacen('\u{2212}', "-", 1);
        text.bytes().any(|b| b.is_ascii_digit()).then_some(())?;
        text.parse().ok()?
    };
    value.is_finite().then_some(value)
}

/// The problem of a relative humidity in per cent that looks like a share, 1 or less.
#[must_use]
pub fn humidity_as_share(percent: f64) -> Option<UnitProblem> {
    (percent <= 1.0).then(|| UnitProblem {
        what: format!(
            "a relative humidity of {} % looks like a share",
            digits(percent)
        ),
        hint: Some(format!(
            "write per cent: `{}` for {}",
            digits(percent * 100.0),
            digits(percent)
        )),
    })
}

/// An SI value for a message, in the kind's first unit: `7.5 bar(g)`.
#[must_use]
pub fn show(kind: Kind, si: f64) -> String {
    match kind.units().first() {
        Some(unit) => format!("{} {}", digits(unit.from_si(si)), unit.name),
        None => digits(si),
    }
}

/// At most six digits that count, without trailing zeros.
#[must_use]
pub fn digits(value: f64) -> String {
    if !value.is_finite() {
        return value.to_string();
    }
    let size = value.abs();
    if size >= 1.0e15 || (size > 0.0 && size < 1.0e-9) {
        return format!("{value:.5e}");
    }
    let mut places = 5_usize;
    let mut bound = 10.0;
    while places > 0 && size >= bound {
        places -= 1;
        bound *= 10.0;
    }
    let mut bound = 1.0;
    while size > 0.0 && size < bound && places < 14 {
        places += 1;
        bound /= 10.0;
    }
    let text = format!("{value:.places$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// The start of a text that may be long, for a message.
#[must_use]
pub fn short(text: &str) -> String {
    const KEPT: usize = 40;
    let mut kept: String = text
        .chars()
        .take(KEPT)
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if text.chars().nth(KEPT).is_some() {
        kept.push('…');
    }
    kept
}

/// The number at the start of a text and what follows it.
fn split(text: &str) -> (&str, &str) {
    let mut end = 0;
    let mut chars = text.char_indices().peekable();
    let mut digits = false;
    while let Some((at, c)) = chars.next() {
        let exponent = |next: Option<&(usize, char)>| {
            digits && next.is_some_and(|(_, n)| n.is_ascii_digit() || matches!(n, '+' | '-'))
        };
        let belongs = match c {
            '0'..='9' | '.' | ',' | '+' | '-' | '\u{2212}' => true,
            'e' | 'E' => exponent(chars.peek()),
            _ => false,
        };
        if !belongs {
            break;
        }
        digits |= c.is_ascii_digit();
        end = at + c.len_utf8();
    }
    let (number, rest) = text.split_at(if digits { end } else { 0 });
    (number, rest.trim_start())
}

/// The name with the spellings that mean the same taken out: `°C`, `m³/h`, `psig`, `l/s`.
fn plain_name(written: &str) -> String {
    let mut plain = String::with_capacity(written.len());
    for c in written.chars() {
        match c {
            '°' | 'º' => plain.push_str("deg"),
            '³' => plain.push('3'),
            '₂' => plain.push('2'),
            '％' => plain.push('%'),
            c => plain.push(c),
        }
    }
    match plain.as_str() {
        "psig" => "psi(g)".to_owned(),
        "psia" => "psi(a)".to_owned(),
        "l" => "L".to_owned(),
        "ml" => "mL".to_owned(),
        _ => match plain.strip_prefix("l/") {
            Some(rest) => format!("L/{rest}"),
            None => plain,
        },
    }
}

fn find(kind: Kind, plain: &str) -> Option<Unit> {
    let named = |name: &str| kind.units().iter().copied().find(|u| u.name == name);
    named(plain).or_else(|| {
        // Where reference air is meant, the bare flow units mean it too.
        let bare = kind == Kind::ReferenceAir && FREE_AIR.iter().any(|u| u.name == plain);
        bare.then(|| named(&format!("{plain}(ANR)"))).flatten()
    })
}

fn refusal(kind: Kind, written: &str, plain: &str) -> UnitProblem {
    let shown = short(written);
    let list = || format!("write {}", kind.unit_list());
    let problem = |what: String, hint: String| UnitProblem {
        what,
        hint: Some(hint),
    };
    let stem = plain
        .strip_suffix("(g)")
        .or_else(|| plain.strip_suffix("(a)"))
        .unwrap_or(plain);
    match kind {
        Kind::GaugePressure | Kind::AbsolutePressure
            if matches!(plain, "bar" | "kPa" | "MPa" | "psi" | "mbar" | "hPa" | "Pa") =>
        {
            return problem(
                format!("`{shown}` does not say whether it is gauge or absolute"),
                match kind {
                    Kind::GaugePressure => gauge_or_absolute(plain, true),
                    _ => gauge_or_absolute(plain, false),
                },
            );
        }
        Kind::GaugePressure if find(Kind::AbsolutePressure, plain).is_some() => {
            return problem(
                format!("`{shown}` is absolute, and a gauge pressure is expected"),
                format!("write what a gauge shows: {}", kind.unit_list()),
            );
        }
        Kind::AbsolutePressure if find(Kind::GaugePressure, plain).is_some() => {
            return problem(
                format!("`{shown}` is gauge, and an absolute pressure is expected"),
                format!("write it above vacuum: {}", kind.unit_list()),
            );
        }
        Kind::PressureDifference if stem != plain && find(kind, stem).is_some() => {
            return problem(
                format!("`{shown}` is a pressure, and a pressure difference is expected"),
                format!("a difference is neither gauge nor absolute: write `{stem}`"),
            );
        }
        Kind::TemperatureDifference if plain == "degC" => {
            return problem(
                format!("`{shown}` is a temperature, and a temperature difference is expected"),
                "write `K`: a difference of 1 degC is 1 K".to_owned(),
            );
        }
        Kind::TemperatureDifference if plain == "degF" => {
            return problem(
                format!("`{shown}` is a temperature, and a temperature difference is expected"),
                "write `degF_diff`".to_owned(),
            );
        }
        Kind::Temperature if matches!(plain, "C" | "F") => {
            return problem(
                format!("`{shown}` is not a unit of temperature"),
                format!("did you mean `deg{plain}`?"),
            );
        }
        Kind::FreeAir | Kind::Ventilation
            if plain.ends_with("(ANR)") || plain.starts_with("Nm3") =>
        {
            return problem(
                format!(
                    "`{shown}` is referred to a standard state, and {} is expected",
                    kind.name()
                ),
                format!(
                    "write it at the intake's own pressure and temperature: {}",
                    kind.unit_list()
                ),
            );
        }
        Kind::FreeAir | Kind::ReferenceAir | Kind::Ventilation
            if plain.eq_ignore_ascii_case("scfm") =>
        {
            return problem(
                format!("`{shown}` does not say which standard state it is referred to"),
                list(),
            );
        }
        _ => {}
    }
    if let Some(other) = Kind::ALL
        .iter()
        .copied()
        .find(|&k| k != kind && find(k, plain).is_some())
    {
        return problem(
            format!(
                "`{shown}` is a unit of {}, and {} is expected",
                other.noun(),
                kind.name()
            ),
            list(),
        );
    }
    let names = || kind.units().iter().map(|u| u.name);
    let meant = names()
        .find(|name| name.eq_ignore_ascii_case(plain))
        .or_else(|| {
            (plain.len() <= 16)
                .then(|| nearest(plain, names()))
                .flatten()
        });
    problem(
        format!("`{shown}` is not a unit of {}", kind.noun()),
        match meant {
            Some(name) if kind.units().len() > 1 => {
                format!(
                    "did you mean `{name}`? {} may carry {}",
                    sentence(kind.name()),
                    kind.unit_list()
                )
            }
            _ => list(),
        },
    )
}

/// Which of the two to write for a unit that says neither.
fn gauge_or_absolute(plain: &str, gauge_expected: bool) -> String {
    let kind = if gauge_expected {
        Kind::GaugePressure
    } else {
        Kind::AbsolutePressure
    };
    let name = format!("{plain}{}", if gauge_expected { "(g)" } else { "(a)" });
    match (find(kind, &name), gauge_expected) {
        (None, _) => format!("write {}", kind.unit_list()),
        (Some(_), true) => {
            format!("write `{name}` for what a gauge shows; above vacuum it would be `{plain}(a)`")
        }
        (Some(_), false) => {
            format!("write `{name}` above vacuum; what a gauge shows would be `{plain}(g)`")
        }
    }
}

/// With a capital letter.
fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

#[cfg(test)]
mod tests;
