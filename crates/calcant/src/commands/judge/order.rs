//! The order of several stations: who needs help first.
//!
//! Must not know: how a finding comes about.

use std::cmp::{Ordering, Reverse};

use judge::{Finding, Judgement};

use super::hot;

/// How much help a station needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Need {
    /// Findings of each urgency, the most urgent first.
    pub(super) findings: [usize; 4],
    /// What they cost a year together.
    money: f64,
    /// How likely a machine trips, and reaches its warning, on the hot day that is asked about.
    if_hot: [f64; 2],
}

impl Need {
    pub(super) fn of(judgement: &Judgement) -> Self {
        Self {
            findings: judgement.counts(),
            money: judgement
                .findings
                .iter()
                .filter_map(|f: &Finding| f.cost.per_year.or(f.cost.kwh_per_year))
                .sum(),
            if_hot: hot::worst(judgement),
        }
    }

    /// If a hot day is asked about, the station whose machines fear it most comes first. Then the one
    /// with the more urgent findings; then the one with more of them, then the one that loses more.
    pub(super) fn most_first(&self, other: &Self) -> Ordering {
        hot::most_first(self.if_hot, other.if_hot)
            .then(Reverse(self.findings).cmp(&Reverse(other.findings)))
            .then(other.money.total_cmp(&self.money))
    }
}
