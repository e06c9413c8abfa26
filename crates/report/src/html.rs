//! Writes HTML: every tag that is opened is closed, every text and attribute is escaped.
//!
//! A template crate would do the same for a build-time price; the page needs a dozen kinds of tag.
//!
//! Must not know: what the page says.

use jiff::civil::Date;

use crate::svg::escape;

/// Attributes of a tag.
pub(crate) type Attributes<'a> = &'a [(&'static str, &'a str)];

/// A piece of a page being written.
#[derive(Debug, Default)]
pub(crate) struct Html {
    out: String,
}

impl Html {
    /// What was written.
    pub(crate) fn finish(self) -> String {
        self.out
    }

    /// A tag around what `inner` writes.
    pub(crate) fn el(
        &mut self,
        tag: &'static str,
        attributes: Attributes,
        inner: impl FnOnce(&mut Self),
    ) {
        self.open(tag, attributes);
        inner(self);
        self.out.push_str("</");
        self.out.push_str(tag);
        self.out.push('>');
        if !matches!(tag, "a" | "b" | "span" | "bdi") {
            self.out.push('\n');
        }
    }

    /// A tag around a text.
    pub(crate) fn put(&mut self, tag: &'static str, attributes: Attributes, text: &str) {
        self.el(tag, attributes, |h| h.text(text));
    }

    /// A tag without content.
    pub(crate) fn void(&mut self, tag: &'static str, attributes: Attributes) {
        self.open(tag, attributes);
        // Closed in itself, so that the page can be read as XML too.
        self.out.pop();
        self.out.push_str("/>\n");
    }

    /// A link within the page.
    pub(crate) fn link(&mut self, id: &str, text: &str) {
        self.put("a", &[("href", &format!("#{id}"))], text);
    }

    /// Text; a number stays on one line with its unit, and every date is written as on all the page.
    pub(crate) fn text(&mut self, text: &str) {
        self.out.push_str(&escape(&tied(&dated(text))));
    }

    /// Text that somebody has written, to the letter.
    pub(crate) fn as_written(&mut self, text: &str) {
        self.out.push_str(&escape(text));
    }

    /// Markup that this crate itself has made: a picture or a style sheet.
    pub(crate) fn own(&mut self, markup: &str) {
        self.out.push_str(markup);
    }

    fn open(&mut self, tag: &'static str, attributes: Attributes) {
        self.out.push('<');
        self.out.push_str(tag);
        for (name, value) in attributes {
            self.out.push(' ');
            self.out.push_str(name);
            self.out.push_str("=\"");
            self.out.push_str(&escape(value));
            self.out.push('"');
        }
        self.out.push('>');
    }
}

/// What stays on one line with the number before it.
const UNITS: [&str; 30] = [
    "%", "A", "EUR", "GBP", "Hz", "K", "L", "L/day", "N", "USD", "bar", "bar(a)", "bar(g)", "cfm",
    "gal", "gal/day", "h", "kJ", "kW", "kWh", "m³/min", "mbar", "mm", "psi", "psi(a)", "psi(g)",
    "rpm", "s", "°C", "°F",
];

/// The text with each date `2026-07-24` as `24 July 2026`, outside back-quotes, where it is quoted,
/// and outside words, names and times.
fn dated(text: &str) -> String {
    const LONG: usize = 10;
    let word = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ':');
    let mut out = String::with_capacity(text.len());
    let (mut quoted, mut before) = (false, ' ');
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let date = rest
            .get(..LONG)
            .filter(|_| c.is_ascii_digit() && !quoted && !word(before));
        let date = date.and_then(|d| Date::strptime("%Y-%m-%d", d).ok());
        let after = rest.get(LONG..).unwrap_or_default();
        let ends = !after.starts_with(|c: char| c.is_alphanumeric() || matches!(c, '-' | '_'));
        if let Some(date) = date.filter(|_| ends) {
            out.push_str(&date.strftime("%-d %B %Y").to_string());
            (before, rest) = ('0', after);
            continue;
        }
        quoted ^= c == '`';
        out.push(c);
        before = c;
        rest = rest.get(c.len_utf8()..).unwrap_or_default();
    }
    out
}

/// The text with spaces that do not break between numbers, `±` and units.
fn tied(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut before = "";
    for (i, word) in text.split(' ').enumerate() {
        let bare = word.trim_end_matches([',', ';', ':', '.', ')']);
        let number = before.ends_with(|c: char| c.is_ascii_digit());
        if i > 0 {
            let stays = word == "±" || before == "±" || (number && UNITS.contains(&bare));
            out.push(if stays { '\u{a0}' } else { ' ' });
        }
        out.push_str(word);
        before = word;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_breaks_out() {
        let mut h = Html::default();
        h.el("p", &[("title", "\"><script>")], |h| h.text("<b>&\u{0}"));
        assert_eq!(
            h.finish(),
            "<p title=\"&quot;&gt;&lt;script&gt;\">&lt;b&gt;&amp;</p>\n"
        );
    }

    #[test]
    fn dates_are_written_in_one_way() {
        for (text, written) in [
            (
                "due 2026-07-24, or 2026-08-02.",
                "due 24 July 2026, or 2 August 2026.",
            ),
            ("(2026-01-01)", "(1 January 2026)"),
            ("`2026-07-24` says so", "`2026-07-24` says so"),
            (
                "2026-13-01 and K1-2026-07-24",
                "2026-13-01 and K1-2026-07-24",
            ),
            ("2026-07-24T10:00", "2026-07-24T10:00"),
            ("é2026-07-24 2026-07", "é2026-07-24 2026-07"),
        ] {
            assert_eq!(dated(text), written);
        }
    }

    #[test]
    fn numbers_stay_with_their_units() {
        assert_eq!(
            tied("92 °C, where 84 ± 5.3 is"),
            "92\u{a0}°C, where 84\u{a0}±\u{a0}5.3 is"
        );
        assert_eq!(tied(""), "");
    }
}
