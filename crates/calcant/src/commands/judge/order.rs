//! The order of several stations: who needs help first.
//!
//! Must not know: how a finding comes about.

use std::cmp::{Ordering, Reverse};

use judge::{Finding, Judgement};

/// How much help a station needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Need {
    /// Findings of each urgency, the most urgent first.
    pub(super) findings: [usize; 4],
    /// What they cost a year together.
    money: f64,
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
        }
    }

    /// The station with the more urgent findings comes first; then the one with more of them, then
    /// the one that loses more.
    pub(super) fn most_first(&self, other: &Self) -> Ordering {
        Reverse(self.findings)
            .cmp(&Reverse(other.findings))
            .then(other.money.total_cmp(&self.money))
    }
}
