//! Causes weighed against each other, and sizes over every beginning.
//!
//! Must not know: streams, sentences.

use super::causes::{Cause, Moves};
use super::shift::Course;
use super::stream::Part;

/// Size and growth of a change over every beginning and course, each by its evidence.
pub(super) struct Averaged {
    pub(super) size: f64,
    pub(super) sigma: f64,
    pub(super) a_day: f64,
    pub(super) a_day_sigma: f64,
}

impl Averaged {
    pub(super) fn over(
        list: impl Iterator<Item = (f64, Course, f64, f64)> + Clone,
        now: f64,
    ) -> Self {
        let top = list
            .clone()
            .map(|(odds, ..)| odds)
            .fold(f64::NEG_INFINITY, f64::max);
        // Sums of weight, size, size², growth, growth².
        let mut sum = [0.0; 5];
        for (odds, course, size, sigma) in list {
            let weight = (odds - top).exp();
            let (at, a) = (course.at(now), course.a_day());
            let terms = [
                1.0,
                size * at,
                (size * size + sigma * sigma) * at * at,
                size * a,
                (size * size + sigma * sigma) * a * a,
            ];
            for (s, t) in sum.iter_mut().zip(terms) {
                *s += weight * t;
            }
        }
        let [weight, size, square, a_day, a_square] = sum;
        let weight = weight.max(f64::MIN_POSITIVE);
        let (size, a_day) = (size / weight, a_day / weight);
        Self {
            size,
            sigma: (square / weight - size * size).max(0.0).sqrt(),
            a_day,
            a_day_sigma: (a_square / weight - a_day * a_day).max(0.0).sqrt(),
        }
    }
}

/// Probabilities of the causes and of none, one line a name; `nothing` are the odds of none, once a change shows.
pub(super) fn posterior(
    causes: &[Cause],
    weights: &[f64],
    nothing: f64,
) -> Vec<(&'static str, f64)> {
    let top = weights.iter().copied().fold(nothing.ln(), f64::max);
    let mut list: Vec<(&'static str, f64)> = vec![("nothing wrong", (nothing.ln() - top).exp())];
    for (cause, weight) in causes.iter().zip(weights) {
        let share = (weight - top).exp();
        match list.iter_mut().find(|(name, _)| *name == cause.name) {
            Some((_, sum)) => *sum += share,
            None => list.push((cause.name, share)),
        }
    }
    let sum: f64 = list.iter().map(|(_, p)| p).sum();
    for (_, p) in &mut list {
        *p /= sum;
    }
    list.sort_by(|a, b| b.1.total_cmp(&a.1));
    list
}

/// The likeliest cause of the kind of trouble that is likeliest as a whole: many small suspicions of a
/// cooler outweigh one of a gauge.
pub(super) fn likeliest(causes: &[Cause], weights: &[f64]) -> Option<usize> {
    let top = weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let share = |of: &Cause| -> f64 {
        let all = causes.iter().zip(weights);
        let alike = all.filter(|(cause, _)| trouble(cause) == trouble(of));
        alike.map(|(_, weight)| (weight - top).exp()).sum()
    };
    let shares: Vec<f64> = causes.iter().map(share).collect();
    // Shares of one kind are the same sum.
    (0..causes.len()).max_by(|&a, &b| {
        let by_kind = shares[a].total_cmp(&shares[b]);
        by_kind.then(weights[a].total_cmp(&weights[b]))
    })
}

/// Causes of one kind of trouble are told alike: a loss of cooling wherever it is, a valve, each gauge.
fn trouble(cause: &Cause) -> (&'static str, Moves) {
    let name = match cause.moves {
        _ if cause.name == "gauge wrong" => return (cause.name, cause.moves),
        Moves::Model(Part::Thermostat | Part::ValveOpen) => "valve",
        Moves::Model(Part::Capacity | Part::Separator | Part::Ventilation) => cause.name,
        Moves::Model(_) => "cooling",
        _ => cause.name,
    };
    (name, Moves::Unplaced)
}
