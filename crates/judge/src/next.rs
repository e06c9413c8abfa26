//! The next look: what is expected to settle most of a finding's causes for its effort.
//!
//! Gain of a look with outcomes o: H(p) − Σ_o P(o) H(p | o), H the entropy of the causes' probabilities in nats;
//! over its effort. Source: expected information (textbook). Must not know: how findings come about.

use physics::working::{Formula, Mark, Step};
use station::model::Asset;
use station::point::PointId;

use crate::context::Context;
use crate::finding::{Cause, Finding};

const GAIN: Formula = Formula {
    name: "what the next look is expected to settle, for its effort",
    equation: "(H(p) − Σ_o P(o) H(p | o))/effort",
    unit: "nat",
    source: "expected information (textbook); what a look shows with each cause by the tables of causes",
    mark: Mark::Derived,
};

/// A look that is expected to settle less for its effort is not asked for, nats (from memory).
const LEAST: f64 = 0.02;

/// A look with what it is expected to settle for its effort.
pub(crate) struct Look {
    pub(crate) words: String,
    pub(crate) gain: f64,
}

impl Look {
    pub(crate) fn step(&self) -> Step {
        GAIN.step("by the causes' probabilities", self.gain)
    }
}

/// The best look for a finding by its causes; `another` says what a point is compared with.
pub(crate) fn best(
    ctx: &Context<'_>,
    f: &Finding,
    another: impl Fn(PointId) -> String,
) -> Option<Look> {
    let p: Vec<f64> = f.causes.iter().map(|c| c.probability).collect();
    let by_words = words(ctx, f.subject, &f.causes, &p);
    let by_trial = trials(ctx, f, &p, another);
    by_words
        .chain(by_trial)
        .filter(|look| look.gain > LEAST)
        .max_by(|a, b| a.gain.total_cmp(&b.gain))
}

fn entropy(p: &[f64]) -> f64 {
    p.iter().filter(|p| **p > 0.0).map(|p| -p * p.ln()).sum()
}

/// What outcomes are expected to settle: each gives its likelihood with every cause.
fn settles(p: &[f64], outcomes: impl Iterator<Item = Vec<f64>>) -> f64 {
    let after = |likelihood: Vec<f64>| -> f64 {
        let both: Vec<f64> = p.iter().zip(&likelihood).map(|(p, l)| p * l).collect();
        let seen: f64 = both.iter().sum();
        let given: Vec<f64> = both.iter().map(|x| x / seen.max(1e-12)).collect();
        seen * entropy(&given)
    };
    entropy(p) - outcomes.map(after).sum::<f64>()
}

/// Words that could be seen.
fn words<'a>(
    ctx: &'a Context<'_>,
    on: Asset,
    causes: &'a [Cause],
    p: &'a [f64],
) -> impl Iterator<Item = Look> + 'a {
    let checks = ctx.tables.checks().into_iter();
    // What was seen within the last weeks is weighed in already.
    let unseen = checks.filter(move |check| {
        let seen = |(id, _): (&PointId, _)| id.asset == on && id.point.name() == check.point;
        !ctx.words.iter().any(seen)
    });
    unseen.filter_map(move |check| {
        let of = |c: &Cause| ctx.tables.words_of(&c.cause, check.point);
        let tables: Vec<Vec<(&str, f64, f64)>> = causes.iter().map(of).collect();
        let any = tables.iter().find(|t| !t.is_empty())?.clone();
        let outcomes = any.into_iter().map(|(word, _, without)| {
            let with = |t: &Vec<(&str, f64, f64)>| {
                let own = t.iter().find(|(w, ..)| *w == word);
                own.map_or(without, |(_, with, _)| *with)
            };
            tables.iter().map(with).collect()
        });
        Some(Look {
            gain: settles(p, outcomes) / check.effort,
            words: format!("{}: {}", ctx.station.id(on), check.words),
        })
    })
}

/// What could be tried or measured.
fn trials<'a>(
    ctx: &'a Context<'_>,
    f: &'a Finding,
    p: &'a [f64],
    another: impl Fn(PointId) -> String + 'a,
) -> impl Iterator<Item = Look> + 'a {
    let told = move |name: &str| {
        let read = |(id, (_, time)): (&PointId, &(f64, _))| {
            id.asset == Asset::Room && id.point.name() == name && ctx.is_newest(*time)
        };
        ctx.numbers.iter().any(read)
    };
    let open = ctx.tables.trials().into_iter();
    let open = open.filter(move |trial| trial.unless.is_none_or(|name| !told(name)));
    open.filter_map(move |trial| {
        let with: Vec<f64> = f
            .causes
            .iter()
            .map(|c| trial.shows_with(&c.cause))
            .collect();
        let not: Vec<f64> = with.iter().map(|x| 1.0 - x).collect();
        let gain = settles(p, [with, not].into_iter()) / trial.effort;
        let reading = f.evidence.first().map(|e| e.id);
        let needs_reading = trial.what.contains("{reading}");
        let name = reading.map_or_else(String::new, |id| ctx.point_name(id));
        let other = reading.map_or_else(String::new, &another);
        let words = trial
            .what
            .replace("{on}", ctx.station.id(f.subject))
            .replace("{reading}", &name)
            .replace("{another}", &other);
        (reading.is_some() || !needs_reading).then_some(Look { words, gain })
    })
}
