//! A value with its uncertainty: given, or the default of its key, listed.
//!
//! Must not know: types and limits of values.

use super::{Found, Reader, Taken};
use crate::defaults::{self, DefaultUsed};
use crate::file::station::keys::{Holds, holds};
use crate::file::unit::{self, digits};

impl Reader<'_> {
    /// A value, or its default as a multiple of `base` (1 where it stands alone).
    pub(in crate::file::station) fn value_or_default(&self, key: &str, base: f64) -> Taken {
        let path = self.full(key);
        let found = match holds(&path) {
            Some(Holds::Number(..)) => self.number(key),
            _ => self.quantity(key),
        };
        match found {
            Some(found) => self.given(key, found),
            None => self.default_value(key, base),
        }
    }

    /// A value that was given, with the uncertainty of given values.
    pub(in crate::file::station) fn given(&self, key: &str, found: Found<f64>) -> Taken {
        let row = defaults::find(&format!("given.{}", self.full(key)));
        let sigma = row.map_or(0.0, |row| {
            row.sigma_si(if row.per.is_empty() { 1.0 } else { found.value })
        });
        Taken {
            si: found.value,
            sigma,
            given: true,
            line: found.line,
            text: found.text,
        }
    }

    /// A quantity that was given.
    pub(in crate::file::station) fn given_quantity(&self, key: &str) -> Option<Taken> {
        self.quantity(key).map(|found| self.given(key, found))
    }

    /// Notes that `a`, the value of `key`, is not below `b`, the value of `other`.
    pub(in crate::file::station) fn below(
        &self,
        key: &str,
        a: Option<&Taken>,
        other: &str,
        b: Option<&Taken>,
        hint: &str,
    ) {
        if let (Some(a), Some(b)) = (a, b)
            && a.si >= b.si
        {
            self.tell_of_two(
                a,
                b,
                key,
                format!("{} is not below `{other}`, {}", a.text, b.text),
                hint,
            );
        }
    }

    /// Notes that `a`, the value of `key`, lies above `b`, the value of `other`.
    pub(in crate::file::station) fn not_above(
        &self,
        key: &str,
        a: Option<&Taken>,
        other: &str,
        b: Option<&Taken>,
        hint: &str,
    ) {
        if let (Some(a), Some(b)) = (a, b)
            && a.si > b.si
        {
            self.tell_of_two(
                a,
                b,
                key,
                format!("{} lies above `{other}`, {}", a.text, b.text),
                hint,
            );
        }
    }

    fn tell_of_two(&self, a: &Taken, b: &Taken, key: &str, what: String, hint: &str) {
        let line = if a.given { a.line } else { b.line };
        self.tell(line, key, what, Some(hint.to_owned()));
    }

    fn default_value(&self, key: &str, base: f64) -> Taken {
        let path = self.full(key);
        let row = defaults::find(&path).expect("a test reads a file without any optional key");
        let si = row
            .si(base)
            .expect("a test checks that this default is a number");
        let sigma = row.sigma_si(base);
        let with_unit = |number: &str, unit: &str| format!("{number} {unit}").trim().to_owned();
        let (text, spread) = match holds(&path) {
            Some(Holds::Quantity(kind, ..)) if !row.per.is_empty() => {
                (unit::show(kind, si), unit::show(kind, sigma))
            }
            _ => (
                with_unit(&row.value, if row.unit == "1" { "" } else { &row.unit }),
                with_unit(&digits(row.sigma), row.difference_unit()),
            ),
        };
        if !self.has(key) {
            self.list_default(key, &text, if sigma > 0.0 { &spread } else { "" });
        }
        Taken {
            si,
            sigma,
            given: false,
            line: self.line,
            text: format!("{text} (the default)"),
        }
    }

    /// The word that is the default of a key, listed.
    pub(in crate::file::station) fn default_word(&self, key: &str) -> &'static str {
        let row =
            defaults::find(&self.full(key)).expect("a test reads a file without any optional key");
        self.list_default(key, &row.value, "");
        &row.value
    }

    /// Lists a default that was used, with another value than the table's where that is computed.
    pub(in crate::file::station) fn list_default(&self, key: &str, value: &str, uncertainty: &str) {
        if let Some(row) = defaults::find(&self.full(key)) {
            self.list_row(key, row, value, uncertainty);
        }
    }

    /// Lists a default with the support of a row that is not the key's own.
    pub(in crate::file::station) fn list_row(
        &self,
        key: &str,
        row: &defaults::Default,
        value: &str,
        uncertainty: &str,
    ) {
        if self.quiet {
            return;
        }
        self.gathered.defaults.borrow_mut().push(DefaultUsed {
            key: format!("{}.{}{key}", self.id, self.prefix),
            value: value.to_owned(),
            uncertainty: uncertainty.to_owned(),
            mark: row.mark,
            source: row.source.clone(),
        });
    }
}
