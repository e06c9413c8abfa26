//! Why a unit may not stand where it stands.
//!
//! Must not know: numbers.

use super::{Kind, UnitProblem, find, short};
use crate::file::problem::nearest;

pub(super) fn refusal(kind: Kind, written: &str, plain: &str) -> UnitProblem {
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
