//! The hot day that is asked about: how it is typed and told, and which machine fears it most.
//!
//! Must not know: how a machine's oil is found.

use std::cmp::Ordering;

use ::judge::say::{as_told, without_noise};
use ::judge::{IfHot, Judgement};
use ::station::file::problem::Problem;
use ::station::file::unit;
use physics::quantity::{Temperature, ZERO_CELSIUS_K};

use crate::args::Units;
use crate::edge::about;

/// Colder than this nobody asks whether a machine gets too hot, K.
const COLDEST_K: f64 = 273.15;
/// Hotter than this it gets nowhere, K.
const HOTTEST_K: f64 = 333.15;

/// A temperature outdoors as typed.
pub(super) fn outdoors(text: &str) -> Result<Temperature, Problem> {
    typed(text).map(|(temperature, _)| temperature)
}

fn typed(text: &str) -> Result<(Temperature, unit::Unit), Problem> {
    let (kelvin, unit) = unit::quantity_in(unit::Kind::Temperature, text)
        .map_err(|p| about("", p.what, p.hint.as_deref()))?;
    if (COLDEST_K..=HOTTEST_K).contains(&kelvin) {
        Ok((Temperature::new(kelvin), unit))
    } else {
        let hint = "write the temperature outdoors of the hot day that you fear, 0 to 60 degC: `--if-hot \"42 degC\"`";
        let what = format!("`{}` is no hot day", text.trim());
        Err(about("", what, Some(hint)))
    }
}

/// The temperature asked about as people write it: in the unit in which it was typed and, where that
/// is not the reader's, in the reader's as well. `None` if nothing was asked.
pub(super) fn in_words(text: Option<&str>, units: Units) -> Option<String> {
    let (temperature, unit) = typed(text?).ok()?;
    let celsius = without_noise(temperature.si() - ZERO_CELSIUS_K);
    let said = |units| match units {
        Units::Si => format!("{} °C", short(celsius)),
        Units::Us => format!("{} °F", short(celsius * 1.8 + 32.0)),
    };
    let other = match (unit.name, units) {
        ("degF", Units::Si) => Units::Us,
        ("degC", Units::Us) => Units::Si,
        _ => return Some(said(units)),
    };
    Some(format!("{} ({})", said(other), said(units)))
}

/// One decimal, where it says something.
fn short(value: f64) -> String {
    unit::digits((value * 10.0).round() / 10.0)
}

/// The likelier to trip first, then the likelier to be warned of.
pub(super) fn most_first(a: [f64; 2], b: [f64; 2]) -> Ordering {
    b[0].total_cmp(&a[0]).then(b[1].total_cmp(&a[1]))
}

/// How likely a machine trips and reaches its warning, as finely as it is told.
fn feared(m: &IfHot) -> [f64; 2] {
    [as_told(m.p_trip), as_told(m.p_warn)]
}

/// Puts the machine that fears the day most first.
pub(super) fn sort(judgement: &mut Judgement) {
    if let Some(machines) = &mut judgement.if_hot {
        machines.sort_by(|a, b| most_first(feared(a), feared(b)));
    }
}

/// How likely the worst machine of a station trips, and how likely one reaches its warning; nothing
/// where nothing was asked or can be said.
pub(super) fn worst(judgement: &Judgement) -> [f64; 2] {
    let machines = judgement.if_hot.iter().flatten();
    machines
        .map(feared)
        .fold([0.0; 2], |a, b| match most_first(a, b) {
            Ordering::Greater => b,
            _ => a,
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hot_day_is_told_in_proper_units() {
        let said = |text, units| in_words(Some(text), units).expect("a temperature");
        assert_eq!(said(" 42   degC ", Units::Si), "42 °C");
        assert_eq!(said("42.5°C", Units::Si), "42.5 °C");
        assert_eq!(said("108 degF", Units::Us), "108 °F");
        assert_eq!(said("108 degF", Units::Si), "108 °F (42.2 °C)");
        assert_eq!(said("40 degC", Units::Us), "40 °C (104 °F)");
        assert_eq!(said("315.15 K", Units::Si), "42 °C");
        assert_eq!(said("315 K", Units::Us), "107.3 °F");
        assert_eq!(in_words(None, Units::Si), None);
    }

    #[test]
    fn a_trip_comes_before_any_warning() {
        let at = |machine, p_trip, p_warn| IfHot {
            machine,
            oil: (0.0, 0.0, 0.0),
            p_warn,
            p_trip,
        };
        let mut judgement = Judgement {
            if_hot: Some(vec![
                at(0, 0.000_1, 0.2),
                at(1, 0.000_2, 0.9),
                at(2, 0.3, 0.5),
                at(3, 0.0, 0.9),
            ]),
            ..Judgement::default()
        };
        sort(&mut judgement);
        let order: Vec<usize> = judgement
            .if_hot
            .iter()
            .flatten()
            .map(|m| m.machine)
            .collect();
        assert_eq!(order, [2, 1, 3, 0]);
        let same = |a, b| assert_eq!(most_first(a, b), Ordering::Equal);
        same(worst(&judgement), [0.3, 0.5]);
        same(worst(&Judgement::default()), [0.0; 2]);
    }
}
