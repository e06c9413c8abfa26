//! Units: what a written unit does to a number, and why it may not stand where it stands.
//!
//! Every quantity in a file carries its unit. Gauge and absolute pressure, a pressure and a pressure
//! difference, a temperature and a temperature difference, free air and reference air are different
//! kinds, and each kind has its own list of units. Values come out in SI, except those that the
//! whole program keeps as written: kilowatt-hours, hours, litres, revolutions a minute, per cent.
//!
//! Must not know: columns, keys, plausible ranges.

mod kind;
mod refusal;

use self::kind::FREE_AIR;
pub use self::kind::Kind;
use self::refusal::refusal;

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
    quantity_in(kind, text).map(|(si, _)| si)
}

/// A number with its unit, in SI, and the unit in which it is written.
///
/// # Errors
/// If there is no number, it is not finite, or the unit does not fit the kind.
pub fn quantity_in(kind: Kind, text: &str) -> Result<(f64, Unit), UnitProblem> {
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
        Ok((si, unit))
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

#[cfg(test)]
mod tests;
