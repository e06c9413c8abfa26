//! Causes worth naming, with what speaks for and against each in words.
//!
//! Must not know: how the evidence comes about.

use station::point::Dimension;

use super::*;
use crate::history::change::WORTH_NAMING;
use crate::history::suspects::{Beside, Suspect};

const BY_CAUSE: Formula = Formula {
    name: "what a cause would make of a reading",
    equation: "Δ = x · ∂r/∂x, beside what the reading does by itself",
    unit: "in the reading's unit, or a share of the model's value",
    source: "the same regression, one reading at a time",
    mark: Mark::Derived,
};

/// The causes of a change, likeliest first.
pub(super) fn causes(ctx: &Context<'_>, change: &Change) -> Vec<Cause> {
    let suspect = |name: &str| change.suspects.iter().find(|s| s.name == name);
    let cause = |(name, p): &(&'static str, f64)| {
        let said = |on_its_side: bool| {
            suspect(name).map_or_else(Vec::new, |s| says(ctx, change, s, on_its_side))
        };
        Cause {
            cause: (*name).to_owned(),
            probability: *p,
            speaks_for: said(true),
            speaks_against: said(false),
        }
    };
    let worth = change.posterior.iter().filter(|(_, p)| *p >= WORTH_NAMING);
    worth.map(cause).collect()
}

/// The same as working.
pub(super) fn steps(ctx: &Context<'_>, change: &Change) -> Vec<Step> {
    let of = |suspect: &Suspect| -> Vec<Step> {
        let step = |b: &Beside| {
            BY_CAUSE.step(
                format!("{}: {}", suspect.name, beside(ctx, b)),
                in_its_unit(b, b.would),
            )
        };
        suspect.readings.iter().map(step).collect()
    };
    change.suspects.iter().flat_map(of).collect()
}

fn says(ctx: &Context<'_>, change: &Change, suspect: &Suspect, on_its_side: bool) -> Vec<String> {
    let readings = suspect
        .readings
        .iter()
        .filter(|b| b.speaks_for == on_its_side)
        .map(|b| beside(ctx, b));
    let on = change.ids.first().map(|id| id.asset);
    let words = suspect
        .words
        .iter()
        .filter(|(_, _, speaks_for)| *speaks_for == on_its_side)
        .filter_map(|(point, word, _)| {
            let id = PointId {
                asset: on?,
                point: *point,
            };
            Some(say::seen(&ctx.point_name(id), *word))
        });
    readings.chain(words).collect()
}

/// `K1.oil_temperature stands 3.1 K over its own level, this would put it 2.9 K over`.
fn beside(ctx: &Context<'_>, b: &Beside) -> String {
    let way = |x: f64| if x < 0.0 { "under" } else { "over" };
    let size = |x: f64| {
        if b.relative {
            return say::percent(x.abs());
        }
        match b.id.point.dimension() {
            Dimension::GaugePressure | Dimension::PressureDifference => ctx.units.drop(x.abs()),
            _ => ctx.units.kelvins(x.abs()),
        }
    };
    let would = if in_its_unit(b, b.would).abs() < HARDLY * in_its_unit(b, b.stands).abs() {
        "this would not move it".to_owned()
    } else {
        format!("this would put it {} {}", size(b.would), way(b.would))
    };
    if let Some(what) = b.no_gauge {
        return format!(
            "{what} stands {} its own level by {} of what all machines can deliver, this would make {}",
            way(b.stands),
            size(b.stands),
            size(b.would)
        );
    }
    let name = ctx.point_name(b.id);
    format!(
        "{name} stands {} {} its own level, {would}",
        size(b.stands),
        way(b.stands)
    )
}

/// A smaller share of what a reading did is nothing.
const HARDLY: f64 = 0.02;

fn in_its_unit(b: &Beside, x: f64) -> f64 {
    if b.relative {
        x
    } else {
        crate::working::in_difference_unit(b.id.point, x)
    }
}
