//! The order of several stations: who needs help first.
//!
//! Must not know: how a finding comes about.

use std::cmp::Ordering;

use judge::{Finding, Judgement, Urgency};

/// The station with the more urgent findings comes first; then the one with more of them, then the
/// one that loses more.
pub(super) fn who_needs_help_first(a: &Judgement, b: &Judgement) -> Ordering {
    let count = |j: &Judgement, urgency: Urgency| {
        j.findings.iter().filter(|f| f.urgency == urgency).count()
    };
    let money = |j: &Judgement| -> f64 {
        j.findings
            .iter()
            .filter_map(|f: &Finding| f.cost.per_year.or(f.cost.kwh_per_year))
            .sum()
    };
    [
        Urgency::Now,
        Urgency::ThisWeek,
        Urgency::NextService,
        Urgency::Watch,
    ]
    .into_iter()
    .map(|urgency| count(b, urgency).cmp(&count(a, urgency)))
    .find(|order| order.is_ne())
    .unwrap_or_else(|| money(b).total_cmp(&money(a)))
}
