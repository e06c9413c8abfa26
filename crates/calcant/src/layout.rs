//! Words in lines: where they break, and where they must not.
//!
//! Must not know: what the words say.

use std::fmt::Write as _;

use judge::say::round;

/// The widest line.
const WIDTH: usize = 96;

/// What belongs on one line with the number before it.
const UNITS: [&str; 35] = [
    "%", "A", "EUR", "GBP", "Hz", "K", "L", "L/day", "L/h", "N", "USD", "bar", "bar(a)", "bar(g)",
    "cfm", "day", "days", "gal", "gal/day", "gal/h", "h", "kJ", "kW", "kWh", "m³/min", "mbar",
    "min", "mm", "psi", "psi(a)", "psi(g)", "rpm", "s", "°C", "°F",
];

/// Writes words in lines, the first behind `first`, the others indented.
pub(crate) fn wrap(text: &mut String, first: &str, indent: usize, words: &str) {
    let mut line = first.to_owned();
    let mut empty = true;
    for group in groups(words) {
        if !empty && line.chars().count() + 1 + group.chars().count() > WIDTH {
            let _ = writeln!(text, "{}", line.trim_end());
            line = " ".repeat(indent);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(&group);
        empty = false;
    }
    let _ = writeln!(text, "{}", line.trim_end());
}

/// The words, each number with its unit and both sides of a `±` together.
fn groups(words: &str) -> Vec<String> {
    let mut groups: Vec<String> = Vec::new();
    // A narrow space inside a number is no place to break.
    for word in words.split([' ', '\n', '\t']).filter(|w| !w.is_empty()) {
        let bare = word.trim_end_matches([',', ';', ':', '.']);
        let stays = groups.last().is_some_and(|before| {
            word == "±"
                || before.ends_with('±')
                || (before.ends_with(|c: char| c.is_ascii_digit()) && UNITS.contains(&bare))
        });
        match groups.last_mut() {
            Some(last) if stays => {
                last.push(' ');
                last.push_str(word);
            }
            _ => groups.push(word.to_owned()),
        }
    }
    groups
}

/// Four figures, as an engineer writes them.
pub(crate) fn figures(value: f64) -> String {
    let places = match value.abs() {
        v if v >= 1000.0 => 0,
        v if v >= 100.0 => 1,
        v if v >= 10.0 => 2,
        v if v >= 1.0 => 3,
        v if v >= 0.01 => 4,
        _ => 6,
    };
    round(value, places)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wrapped(words: &str) -> String {
        let mut text = String::new();
        wrap(&mut text, "  - ", 4, words);
        text
    }

    #[test]
    fn keeps_a_number_with_its_unit() {
        let text = wrapped(&format!("{} 0.35 bar, and on", "x".repeat(86)));
        assert!(text.ends_with("\n    0.35 bar, and on\n"), "{text}");
        let text = wrapped(&format!("{} 84 ± 5.3 is", "x".repeat(87)));
        assert!(text.ends_with("\n    84 ± 5.3 is\n"), "{text}");
        let text = wrapped(&format!("{} 6\u{202f}000 h", "x".repeat(87)));
        assert!(text.ends_with("\n    6\u{202f}000 h\n"), "{text}");
    }

    #[test]
    fn a_word_longer_than_a_line_stands_alone() {
        let long = "x".repeat(200);
        assert_eq!(
            wrapped(&format!("a {long} b")),
            format!("  - a\n    {long}\n    b\n")
        );
    }

    #[test]
    fn no_words_leave_no_trailing_space() {
        assert_eq!(wrapped(""), "  -\n");
    }
}
