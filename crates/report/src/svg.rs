//! Small helpers for writing SVG: escaping, numbers, estimated text width, wrapping.
//!
//! Must not know: what is drawn.

use std::fmt::Write as _;

/// Text made safe for element content and quoted attributes; characters that XML 1.0 forbids go.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' | '\r' => out.push(' '),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => {}
            c => out.push(c),
        }
    }
    out
}

/// A coordinate with one decimal.
pub(crate) fn num(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" {
        "0".into()
    } else {
        text.into()
    }
}

/// Estimated width of a text in a sans-serif, px. Made for the widest that is common, so that no
/// font lets words run into each other.
pub(crate) fn width(text: &str, size: f64, bold: bool) -> f64 {
    let ems: f64 = text
        .chars()
        .map(|c| match c {
            'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '\'' | '|' | '(' | ')' | ' ' | '\u{a0}'
            | 'f' | 't' => 0.36,
            'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.96,
            'A'..='Z' => 0.72,
            c if c as u32 >= 0x2e80 => 1.0,
            _ => 0.62,
        })
        .sum();
    ems * size * if bold { 1.12 } else { 1.0 }
}

/// The text, shortened with an ellipsis to fit.
pub(crate) fn shorten(text: &str, room: f64, size: f64, bold: bool) -> String {
    if width(text, size, bold) <= room {
        return text.to_string();
    }
    let mut out = String::new();
    for c in text.chars() {
        let mut next = out.clone();
        next.push(c);
        if width(&next, size, bold) + size > room {
            break;
        }
        out = next;
    }
    format!("{}…", out.trim_end())
}

/// The text in lines of at most this width and of about the same length; a longer word is
/// shortened, a number stays with its unit and its ±.
pub(crate) fn wrap(text: &str, room: f64, size: f64, bold: bool) -> Vec<String> {
    let text = bound(text);
    let lines = fill(&text, room, size, bold);
    let longest = text
        .split(' ')
        .map(|w| width(w, size, bold))
        .fold(0.0, f64::max);
    let whole = width(&text, size, bold);
    let mut narrow = (whole / lines.len().max(1) as f64).max(longest);
    while lines.len() > 1 && narrow < room {
        let tried = fill(&text, narrow, size, bold);
        if tried.len() <= lines.len() {
            return tried;
        }
        narrow += 4.0;
    }
    lines
}

/// Ties numbers to what follows them, with spaces that do not break.
fn bound(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut before = "";
    for word in text.split_whitespace() {
        let number = before.ends_with(|c: char| c.is_ascii_digit());
        let unit = ["±", "°C", "°F", "bar", "psi", "L/day", "gal/day"]
            .iter()
            .any(|u| word.starts_with(u));
        if !out.is_empty() {
            out.push(if before == "±" || (number && unit) {
                '\u{a0}'
            } else {
                ' '
            });
        }
        out.push_str(word);
        before = word;
    }
    out
}

fn fill(text: &str, room: f64, size: f64, bold: bool) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|w| !w.is_empty()) {
        let word = shorten(word, room, size, bold);
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size, bold) <= room => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

/// Where a text hangs from its x.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// An SVG fragment being written.
#[derive(Debug, Default)]
pub(crate) struct Canvas {
    pub(crate) body: String,
}

impl Canvas {
    /// A line of markup as it is.
    pub(crate) fn raw(&mut self, markup: &str) {
        self.body.push_str(markup);
        self.body.push('\n');
    }

    /// A straight line.
    pub(crate) fn line(&mut self, class: &str, from: (f64, f64), to: (f64, f64)) {
        let _ = writeln!(
            self.body,
            r#"<line class="{class}" x1="{}" y1="{}" x2="{}" y2="{}"/>"#,
            num(from.0),
            num(from.1),
            num(to.0),
            num(to.1)
        );
    }

    /// A line through points, or an area between them.
    pub(crate) fn path(&mut self, class: &str, points: &[(f64, f64)], closed: bool) {
        let mut d = String::new();
        for (i, (x, y)) in points.iter().enumerate() {
            let _ = write!(
                d,
                "{}{} {}",
                if i == 0 { "M" } else { "L" },
                num(*x),
                num(*y)
            );
        }
        let end = if closed { "Z" } else { "" };
        let _ = writeln!(self.body, r#"<path class="{class}" d="{d}{end}"/>"#);
    }

    /// A rectangle.
    pub(crate) fn rect(&mut self, class: &str, x: f64, y: f64, w: f64, h: f64) {
        let _ = writeln!(
            self.body,
            r#"<rect class="{class}" x="{}" y="{}" width="{}" height="{}"/>"#,
            num(x),
            num(y),
            num(w.max(0.0)),
            num(h.max(0.0))
        );
    }

    /// A circle, with words for whoever points at it.
    pub(crate) fn circle(&mut self, class: &str, at: (f64, f64), r: f64, title: Option<&str>) {
        let _ = write!(
            self.body,
            r#"<circle class="{class}" cx="{}" cy="{}" r="{}""#,
            num(at.0),
            num(at.1),
            num(r)
        );
        match title {
            Some(t) => {
                let _ = writeln!(self.body, "><title>{}</title></circle>", escape(t));
            }
            None => self.body.push_str("/>\n"),
        }
    }

    /// A text; where it was shortened, `whole` is its title.
    pub(crate) fn text(
        &mut self,
        class: &str,
        at: (f64, f64),
        anchor: Anchor,
        text: &str,
        whole: &str,
    ) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let title = if whole.is_empty() || whole == text {
            String::new()
        } else {
            format!("<title>{}</title>", escape(whole))
        };
        let _ = writeln!(
            self.body,
            r#"<text class="{class}" x="{}" y="{}" text-anchor="{anchor}">{title}{}</text>"#,
            num(at.0),
            num(at.1),
            escape(text)
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_breaks_out_of_the_markup() {
        assert_eq!(
            escape("<a & \"b\">'\u{1}"),
            "&lt;a &amp; &quot;b&quot;&gt;&#39;"
        );
        assert_eq!(num(-0.01), "0");
        assert_eq!(num(12.34), "12.3");
    }

    #[test]
    fn long_texts_are_shortened_and_wrapped() {
        assert!(
            width(
                &shorten("a very long name indeed", 60.0, 14.0, true),
                14.0,
                true
            ) <= 62.0
        );
        assert_eq!(shorten("R1", 60.0, 14.0, true), "R1");
        let lines = wrap("one two three four five six", 60.0, 14.0, false);
        assert!(lines.len() > 1 && lines.iter().all(|l| width(l, 14.0, false) <= 60.0));
        assert_eq!(lines.join(" "), "one two three four five six");
        for room in [40.0, 90.0, 120.0, 200.0] {
            for line in wrap(
                "takes 0.34 bar, where 0.08 ± 0.03 is expected",
                room,
                14.0,
                true,
            ) {
                assert!(!line.ends_with('±') && !line.starts_with('±'), "{line}");
            }
        }
    }
}
