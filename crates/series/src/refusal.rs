//! Why a calculation gives no answer, and the ranges that its inputs must keep.
//!
//! A public function of this crate either answers with finite numbers or refuses with a sentence;
//! it never answers NaN, never clamps in silence and never panics on what it is given.
//!
//! Must not know: any calculation.

use core::fmt;

/// The range that an input must keep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// The quantity, in words.
    pub what: &'static str,
    /// The smallest value allowed.
    pub min: f64,
    /// The largest value allowed.
    pub max: f64,
}

/// A time in days since the caller's epoch: about 27 000 years either way.
pub const DAY: Range = Range {
    what: "day",
    min: -1.0e7,
    max: 1.0e7,
};
/// A reading, level or drift in the caller's own unit.
pub const VALUE: Range = Range {
    what: "value",
    min: -1.0e12,
    max: 1.0e12,
};
/// A standard deviation, in the caller's own unit: never zero.
pub const SIGMA: Range = Range {
    what: "standard deviation",
    min: 1.0e-12,
    max: 1.0e12,
};
impl Range {
    /// Declares a range of its own name.
    pub const fn new(what: &'static str, min: f64, max: f64) -> Self {
        Self { what, min, max }
    }

    /// The same range under another name.
    pub const fn named(self, what: &'static str) -> Self {
        Self { what, ..self }
    }

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

/// What a calculation answers: a value, or why it refuses.
pub type Answer<T> = Result<T, Refusal>;

/// Why a calculation gives no answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Refusal {
    /// An input lies outside its range.
    OutOfRange {
        /// The range that was left.
        range: Range,
        /// The value that was given.
        got: f64,
    },
    /// A reading lies before the one taken in last.
    BackInTime {
        /// The day that the calculation has reached.
        reached: f64,
        /// The day that was given.
        got: f64,
    },
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange { range, got } => write!(
                f,
                "{} is {got}, but it must lie from {} to {}",
                range.what, range.min, range.max
            ),
            Self::BackInTime { reached, got } => write!(
                f,
                "a reading of day {got} comes after one of day {reached}; give readings in order of time"
            ),
        }
    }
}

impl core::error::Error for Refusal {}

/// Checks that `day` is a day and not before `reached`.
pub(crate) fn check_order(reached: f64, day: f64) -> Answer<f64> {
    let day = DAY.check(day)?;
    if day < reached {
        return Err(Refusal::BackInTime { reached, got: day });
    }
    Ok(day)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_what_was_wrong() {
        let far = DAY.check(f64::INFINITY).expect_err("infinity is no day");
        assert_eq!(
            far.to_string(),
            "day is inf, but it must lie from -10000000 to 10000000"
        );
        assert!(VALUE.check(f64::NAN).is_err());
        let late = check_order(5.0, 4.0).expect_err("4 lies before 5");
        assert_eq!(
            late.to_string(),
            "a reading of day 4 comes after one of day 5; give readings in order of time"
        );
    }
}
