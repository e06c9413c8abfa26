//! A problem in what somebody gave us: where, what, and how to mend it. Never the first alone:
//! a list, all of them at once.

use std::fmt;

/// One problem.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The line, counted from 1; `None` if it concerns the file as a whole.
    pub line: Option<u64>,
    /// The key or column that it concerns: `machine K1: band.load`, `K1.pressure [bar(g)]`.
    pub at: String,
    /// What was found and what was expected.
    pub what: String,
    /// How to mend it, if that can be said.
    pub hint: Option<String>,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(line) = self.line {
            write!(f, "line {line}: ")?;
        }
        if !self.at.is_empty() {
            write!(f, "{}: ", self.at)?;
        }
        f.write_str(&self.what)?;
        if let Some(hint) = &self.hint {
            write!(f, "\n  hint: {hint}")?;
        }
        Ok(())
    }
}

/// The known word nearest to a misspelt one, if any is near.
#[must_use]
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    known
        .into_iter()
        .map(|candidate| (strsim::damerau_levenshtein(word, candidate), candidate))
        .filter(|(distance, candidate)| *distance <= 1 + candidate.len() / 4)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}
