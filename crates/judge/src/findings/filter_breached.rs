//! `filter-breached`: a drop far below clean at a flow that is known.

use physics::working::{Formula, Mark};
use station::model::Asset;
use station::point::Point;

use super::draft;
use crate::context::{Context, Residual};
use crate::finding::{Cost, Finding, Kind, Urgency};
use crate::safety::at_the_line;

/// A whole element takes at least this share of its clean drop (common practice, no source).
const LEAST_SHARE: f64 = 0.45;
/// Below this expected drop a differential gauge shows nothing, Pa (common practice, no source).
const LEAST_EXPECTED_PA: f64 = 4.0e3;

const SHARE: Formula = Formula {
    name: "drop over clean at this flow",
    equation: "Δp_read / (Δp_clean · (V/V_rated)^1.8)",
    unit: "1",
    source: "filter law with exponent 1.8; a whole element never falls far below clean",
    mark: Mark::CommonPractice,
};

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in 0..ctx.station.filters.len() {
        if let Some(r) = ctx.residual(Asset::Filter(i), Point::FilterDrop) {
            found.extend(finding(ctx, i, r));
        }
    }
    ctx.findings.extend(found);
}

fn finding(ctx: &Context<'_>, i: usize, r: &Residual) -> Option<Finding> {
    let share = r.read / r.band.mid;
    let expected_enough = r.band.mid >= LEAST_EXPECTED_PA;
    if !(r.low() && share < LEAST_SHARE && expected_enough) {
        return None;
    }
    let filter = &ctx.station.filters[i];
    let mut f = draft(
        ctx,
        Kind::FilterBreached,
        Asset::Filter(i),
        "breach",
        Some(r.since),
    );
    f.title = format!(
        "Filter {} takes only {} clean at this flow: its element may be torn or not seated",
        filter.id,
        ctx.beside(r),
    );
    f.urgency = Urgency::ThisWeek;
    f.evidence = vec![r.evidence()];
    f.working = ctx.working_of(r);
    f.working.push(SHARE.step(
        format!(
            "{} / {}",
            ctx.units.drop(r.read),
            ctx.units.drop(r.band.mid)
        ),
        share,
    ));
    f.cost = Cost::at_stake("risk, not energy: oil and dirt reach the plant");
    f.next_check = Some(format!(
        "Read {}.drop again at full flow with both taps open, by one gauge",
        filter.id
    ));
    f.action = format!(
        "Open {} and look at the element and its seat; change it",
        filter.id
    );
    f.isolate = true;
    f.cautions = at_the_line(ctx.station, Asset::Filter(i), ctx.units);
    Some(f)
}
