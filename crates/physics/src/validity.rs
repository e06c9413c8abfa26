//! Where a formula holds: one declaration gives the check, the sentence and the test generator.
//!
//! A public formula either answers with a finite number or refuses with a sentence that names the
//! range it left; it never answers NaN and never clamps in silence.
//!
//! Must not know: any formula.

use core::fmt;

/// The range in which a formula holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// The quantity, in words.
    pub what: &'static str,
    /// Its unit, `-` for a ratio.
    pub unit: &'static str,
    /// The smallest value allowed.
    pub min: f64,
    /// The largest value allowed.
    pub max: f64,
    /// Where the range comes from.
    pub source: &'static str,
}

impl Range {
    /// Returns `got` if it is a number inside the range.
    ///
    /// # Errors
    /// [`Refusal::OutOfRange`] otherwise; NaN lies outside every range.
    pub fn check(self, got: f64) -> Answer<f64> {
        if self.min <= got && got <= self.max {
            Ok(got)
        } else {
            Err(Refusal::OutOfRange { range: self, got })
        }
    }
}

/// What a formula answers: a value, or why it refuses.
pub type Answer<T> = Result<T, Refusal>;

/// Why a formula gives no answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Refusal {
    /// An input lies outside the formula's validity.
    OutOfRange {
        /// The range that was left.
        range: Range,
        /// The value that was given.
        got: f64,
    },
    /// Two inputs contradict each other.
    Contradiction {
        /// What must hold, as a sentence.
        must: &'static str,
        /// The first value.
        first: f64,
        /// The second value.
        second: f64,
    },
    /// An equation had no solution between its bounds, or none was found.
    NoSolution {
        /// The quantity that was sought.
        what: &'static str,
    },
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange { range, got } => write!(
                f,
                "{} is {} {}, but {} holds from {} to {} {}",
                range.what, got, range.unit, range.source, range.min, range.max, range.unit
            ),
            Self::Contradiction {
                must,
                first,
                second,
            } => {
                write!(f, "{must}; the values are {first} and {second}")
            }
            Self::NoSolution { what } => write!(f, "no {what} fits these conditions"),
        }
    }
}

impl core::error::Error for Refusal {}

#[cfg(test)]
mod tests {
    use super::*;

    const SPAN: Range = Range {
        what: "Reynolds number",
        unit: "-",
        min: 3.0e3,
        max: 1.0e5,
        source: "the law",
    };

    #[test]
    fn refuses_outside_and_nan_and_says_so() {
        assert_eq!(SPAN.check(5.0e3), Ok(5.0e3));
        assert!(SPAN.check(f64::NAN).is_err());
        let refusal = SPAN.check(900.0).expect_err("900 lies below 3000");
        assert_eq!(
            refusal.to_string(),
            "Reynolds number is 900 -, but the law holds from 3000 to 100000 -"
        );
    }
}
