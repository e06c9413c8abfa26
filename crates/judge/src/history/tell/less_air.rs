//! Less air through an aftercooler than before: its outlet has become cooler than weather and load explain.
//!
//! Must not know: flows.

use super::*;

/// An outlet that has become cooler by less is not worth telling, K: two thirds of what such displays may err (common
/// practice, no source).
const LEAST_COOLER_K: f64 = 1.0;

const LESS: Formula = Formula {
    name: "what less air does to the outlet",
    equation: "ΔT = x · ∂T/∂x, x in twentieths of the delivery, at the newest reading",
    unit: "K",
    source: "the regression of all rounds, weighted with the forward model's sensitivities",
    mark: Mark::Derived,
};

/// The outlet alone tells it: worth watching, until a timed cycle says what the machine delivers.
pub(super) fn finding(
    ctx: &Context<'_>,
    streams: &Streams,
    i: usize,
    change: &Change,
    outcome: &Outcome,
    drifts: &mut Vec<Drift>,
) -> Option<Finding> {
    let id = PointId {
        asset: Asset::Machine(i),
        point: Point::OutletTemperature,
    };
    let stream = streams.of(id.asset, id.point, Moment::Loaded)?;
    let does = |s: &Sample| Stream::feels(Part::DeliveredAir, s) * change.size;
    let cooler = lately(stream, does)?;
    if cooler.abs() < LEAST_COOLER_K {
        return None;
    }
    let level = outcome.levels.iter().find(|l| l.id == id);
    let seen = Shown::of(stream, level, false, does)?;
    if !seen.shows {
        return None;
    }
    let name = &ctx.station.machines[i].id;
    let mut f = draft(
        ctx,
        Kind::DeliveryShort,
        id.asset,
        "delivery",
        moment(change.course.begins()),
    );
    f.title = format!(
        "{name} may deliver less than it did: {} by its own level at {} outdoors; less air leaves its aftercooler cooler, by all rounds {}",
        seen.beside(ctx, change.scatter(id)),
        ctx.units.temperature(seen.sample.ambient),
        ctx.units.kelvins(cooler.abs()),
    );
    f.urgency = Urgency::Watch;
    f.evidence = vec![seen.evidence()];
    f.causes = named::causes(ctx, change);
    f.next_check = Some(format!(
        "Time a load and an unload of {name} while it runs alone, and hold its outlet thermometer against another one"
    ));
    f.action = format!(
        "Look at intake filter, belt and minimum-pressure valve of {name}; if they are right and a timed cycle bears it out, have the air end measured"
    );
    isolate(&mut f, ctx, i);
    f.working.push(seen.step());
    f.working.push(scatter_step(id.point, change.scatter(id)));
    f.working.push(LESS.step(
        format!(
            "x = {} ± {} twentieths",
            round(change.size, 2),
            round(1.96 * change.sigma, 2)
        ),
        cooler.abs(),
    ));
    f.working.extend(evidence_steps(ctx, change));
    let mut chart = chart::of_stream(ctx, streams, stream, level, false, change.scatter(id));
    chart::grows_on(&mut chart, stream, change, cooler);
    let per_size = cooler / change.size;
    drifts.push(drift(
        (id.asset, "outlet, for less air", "K"),
        change,
        (cooler, 0.0, per_size),
        (&f, chart),
    ));
    Some(f)
}
