//! `water-downstream`: liquid reaches the plant, or the line gets colder than the dew point there.

use jiff::Timestamp;
use physics::air::DEW_POINT;
use physics::quantity::ZERO_CELSIUS_K;
use physics::working::{Formula, Mark};
use station::forward::{Health, PlaceState, expect};
use station::model::{Asset, Station};
use station::point::Point;

use super::draft;
use crate::context::{Context, Residual};
use crate::day::Moment;
use crate::finding::{Cost, Evidence, Finding, Kind, Urgency};
use crate::line::before;
use crate::safety::at_drains;
use crate::say::round;

const FALLS: Formula = Formula {
    name: "liquid that reaches the header",
    equation: "m_dry · (W + w − W_s(T, p)) that no drain took, on load times duty",
    unit: "L/day",
    source: "mass balance of water along the air path",
    mark: Mark::Derived,
};
const COLDEST: Formula = Formula {
    name: "the coldest that the pipes get",
    equation: "T_coldest",
    unit: "degC",
    source: "the station file",
    mark: Mark::Derived,
};
/// Less than this a day is not worth telling.
const LEAST_L_DAY: f64 = 0.05;

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    for i in 0..ctx.station.headers.len() {
        found.extend(by_dew_point(ctx, i).or_else(|| by_balance(ctx, i)));
    }
    ctx.findings.extend(found);
}

/// The dew point that was read lies over the coldest that the pipes get.
fn by_dew_point(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let header = &ctx.station.headers[i];
    let coldest = header.coldest?.si();
    // The last dryer before it decides.
    let (dryer, r) = before(&ctx.station.air_path, Asset::Header(i))
        .into_iter()
        .rev()
        .find_map(|a| match a {
            Asset::Dryer(d) => Some((d, ctx.residual(a, Point::DryerDewPoint)?)),
            _ => None,
        })?;
    let sigma = ctx.sigma(r.id.asset, r.id.point, r.read);
    if r.read - 1.96 * sigma < coldest {
        return None;
    }
    let mut f = draft(
        ctx,
        Kind::WaterDownstream,
        Asset::Header(i),
        "water",
        Some(since_it_proves(ctx, r, coldest)),
    );
    f.title = format!(
        "Water falls out in {}: the pressure dew point behind {} is {}, and the pipes get as cold as {}",
        header.id,
        ctx.station.dryers[dryer].id,
        ctx.units.temperature(r.read),
        ctx.units.temperature(coldest)
    );
    if coldest < ZERO_CELSIUS_K {
        f.title += ", where it freezes";
    }
    f.evidence = vec![r.evidence()];
    f.working = ctx.working_of(r);
    f.working.push(COLDEST.step(
        format!("`coldest` of {}", header.id),
        coldest - ZERO_CELSIUS_K,
    ));
    Some(told(f, ctx, i))
}

/// The first of the unbroken run of readings that each prove water at the coldest of the pipes.
fn since_it_proves(ctx: &Context<'_>, r: &Residual, coldest: f64) -> Timestamp {
    let mut since = r.time;
    let earlier = ctx.memory.recent.iter().rev();
    for round in earlier.filter(|round| round.time <= r.time) {
        let Some(read) = round.number(r.id.asset, r.id.point) else {
            continue;
        };
        if read - 1.96 * ctx.sigma(r.id.asset, r.id.point, read) < coldest {
            break;
        }
        since = round.time;
    }
    since
}

/// The model says that liquid goes on to the header today.
fn by_balance(ctx: &Context<'_>, i: usize) -> Option<Finding> {
    let look = ctx.looks.first()?;
    let header = &ctx.station.headers[i];
    // A dryer before it whose dew point was read, and is right, keeps the line dry, whatever is
    // assumed of it; where the coldest of the pipes is told, the reading has decided already.
    let dryness_read = before(&ctx.station.air_path, Asset::Header(i))
        .into_iter()
        .filter_map(|a| ctx.residual(a, Point::DryerDewPoint))
        .any(|r| !r.high() || header.coldest.is_some());
    // How much air goes through is not known while a machine's state is not.
    if dryness_read || look.day.moments.contains(&Moment::Unknown) {
        return None;
    }
    let place: &PlaceState = look.state.as_ref()?.place(Asset::Header(i))?;
    let litres = place.liquid * place.dry_air.si() * 86_400.0 * place.duty;
    if litres < LEAST_L_DAY {
        return None;
    }
    // What separators only seem to let through is no water: they count as perfect where the
    // station file does not tell their share.
    let least = expect(
        &with_perfect_separators(ctx.station),
        &Health::new(ctx.station),
        &look.day.conditions,
    )
    .ok()
    .and_then(|state| {
        let place = state.place(Asset::Header(i))?;
        Some(place.liquid * place.dry_air.si() * 86_400.0 * place.duty)
    })?;
    if least < LEAST_L_DAY {
        return None;
    }
    let mut f = draft(
        ctx,
        Kind::WaterDownstream,
        Asset::Header(i),
        "water",
        Some(look.day.time),
    );
    f.title = format!(
        "About {} a day reach {}, and {} even if every separator takes all it meets: the air comes at a dew point of {} to a place at {}",
        ctx.units.litres(litres),
        header.id,
        ctx.units.litres(least),
        ctx.units.temperature(place.dew_point.si()),
        ctx.units.temperature(place.temperature.si())
    );
    if let Some(flow) = ctx.number(Asset::Header(i), Point::HeaderFlow) {
        let id = station::point::PointId {
            asset: Asset::Header(i),
            point: Point::HeaderFlow,
        };
        f.evidence = vec![Evidence {
            id,
            read: flow,
            mid: None,
            deviations: None,
        }];
    }
    f.working.push(DEW_POINT.step(
        format!(
            "W = {} kg/kg at {} bar(g)",
            round(place.humidity_ratio, 5),
            round(place.pressure.bar(), 2)
        ),
        place.dew_point.celsius(),
    ));
    f.working.push(FALLS.step(
        format!(
            "{} g/kg of liquid, {} kg/s of dry air, duty {}",
            round(place.liquid * 1e3, 2),
            round(place.dry_air.si(), 4),
            round(place.duty, 2)
        ),
        litres,
    ));
    f.working.push(FALLS.step(
        "the same with every separator whose share is a default taking all that it meets",
        least,
    ));
    Some(told(f, ctx, i))
}

/// The station with every separator whose share is a default taking all the water that it meets.
fn with_perfect_separators(station: &Station) -> Station {
    let mut perfect = station.clone();
    let shares = perfect
        .machines
        .iter_mut()
        .map(|m| &mut m.cooling.separates)
        .chain(perfect.vessels.iter_mut().map(|v| &mut v.separates))
        .chain(perfect.filters.iter_mut().map(|f| &mut f.separates))
        .chain(perfect.dryers.iter_mut().map(|d| &mut d.separates));
    for share in shares.filter(|share| !share.given) {
        share.value = 1.0;
    }
    perfect
}

fn told(mut f: Finding, ctx: &Context<'_>, i: usize) -> Finding {
    let header = &ctx.station.headers[i];
    f.urgency = Urgency::ThisWeek;
    f.cost =
        Cost::at_stake("risk, not energy: rust, washed-out grease and frozen lines in the plant");
    f.next_check = Some(format!(
        "Open a low point of {} slowly and look for water",
        header.id
    ));
    f.action = format!(
        "Find where the water should have left before {}: drains first, then the dryer; let it out at the low points meanwhile",
        header.id
    );
    f.cautions = at_drains();
    f
}
