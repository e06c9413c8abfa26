//! The working of a calculation: what every number shown to a person leads back to.
//!
//! A formula that people see is declared once as a [`Formula`] beside its code, with its equation
//! and its source; a [`Step`] is that formula with the numbers of one day put in.
//!
//! Must not know: stations, sentences of findings.

use core::fmt;

/// How well a fact is supported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// Read in the publication, or in a reproduction of it.
    Published,
    /// First principles or statics: derived beside the code.
    Derived,
    /// Usual in the trade; no source to cite.
    CommonPractice,
    /// Recalled, not looked up.
    FromMemory,
}

impl fmt::Display for Mark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Published => "published",
            Self::Derived => "derived",
            Self::CommonPractice => "common practice, no source",
            Self::FromMemory => "from memory",
        })
    }
}

/// A formula as people read it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Formula {
    /// What it gives, in words.
    pub name: &'static str,
    /// The equation, in symbols explained in the formula's documentation.
    pub equation: &'static str,
    /// The unit of the result, `-` for a ratio.
    pub unit: &'static str,
    /// The publication, with edition and place.
    pub source: &'static str,
    /// How well the formula is supported.
    pub mark: Mark,
}

/// One step of a working: a formula with its numbers put in.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What is computed.
    pub name: String,
    /// The equation in symbols.
    pub formula: String,
    /// The equation with the numbers put in.
    pub numbers: String,
    /// The result.
    pub value: f64,
    /// The unit of the result, `-` for a ratio.
    pub unit: String,
    /// Where the equation, or the value, comes from.
    pub source: String,
}

impl Formula {
    /// The formula with its numbers put in.
    #[must_use]
    pub fn step(&self, numbers: impl Into<String>, value: f64) -> Step {
        Step {
            name: self.name.to_owned(),
            formula: self.equation.to_owned(),
            numbers: numbers.into(),
            value,
            unit: self.unit.to_owned(),
            source: format!("{} ({})", self.source, self.mark),
        }
    }
}
