//! The figures of each local day, in one pass: sums of channels, states of machines.
//!
//! Must not know: text, what was left out and why.

pub(crate) mod air;
pub(crate) mod days;
pub(crate) mod finer;
pub(crate) mod levels;
pub(crate) mod machine;
pub(crate) mod pressure;
pub(crate) mod signals;
pub(crate) mod sums;
pub(crate) mod thin;
pub(crate) mod totals;
pub(crate) mod turns;
pub(crate) mod watch;

/// Rows of one channel or machine, in order. Nothing is missing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Series<'a> {
    /// UTC, µs.
    pub(crate) times: &'a [i64],
    /// SI.
    pub(crate) values: &'a [f64],
    /// Seconds since the row before; 0 where it does not join on.
    pub(crate) steps: &'a [f64],
}

impl<'a> Series<'a> {
    pub(crate) fn part(self, range: std::ops::Range<usize>) -> Self {
        Self {
            times: self.times.get(range.clone()).unwrap_or_default(),
            values: self.values.get(range.clone()).unwrap_or_default(),
            steps: self.steps.get(range).unwrap_or_default(),
        }
    }

    pub(crate) fn rows(self) -> usize {
        self.times.len()
    }

    /// Each row.
    pub(crate) fn iter(self) -> impl Iterator<Item = (i64, f64, f64)> + use<'a> {
        let values = self.values.iter().copied();
        let rest = values.zip(self.steps.iter().copied());
        self.times
            .iter()
            .copied()
            .zip(rest)
            .map(|(time, (value, step))| (time, value, step))
    }
}
