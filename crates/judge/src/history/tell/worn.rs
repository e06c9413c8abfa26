//! Parts that wear towards their change, and an element that tears.
//!
//! Must not know: the cooling.

use std::borrow::Cow;

use station::model::Control;
use station::round::Work;

use crate::tables::{FELL_BACK, Tables};

use super::*;
use crate::day::reading_sigma;
use crate::findings::change_step;

const WEAR: Formula = Formula {
    name: "wear in a month",
    equation: "slope of the newest stretch of a line that may bend once, bends averaged by their evidence",
    unit: "per month",
    source: "segmented least squares with BIC weights (textbook)",
    mark: Mark::Derived,
};

const AT_RATED: Formula = Formula {
    name: "drop brought to its rated flow",
    equation: "Δp_rated = Δp_read · Δp_clean/(Δp_clean · (V/V_rated)^1.8)",
    unit: "bar",
    source: "filter law of the forward model, exponent common practice, no source",
    mark: Mark::Derived,
};

const CLEAN_NOW: Formula = Formula {
    name: "what a clean element takes at this flow",
    equation: "Δp = Δp_clean · (V/V_rated)^1.8",
    unit: "-",
    source: "filter law of the forward model, exponent common practice, no source",
    mark: Mark::Derived,
};
/// ln K from which a part is told to wear faster than it did.
const TELL_HURRY: f64 = 6.0;
/// Wear is told this long before its limit.
const TELL_WEAR_DAYS: f64 = 60.0;
/// A drop scatters with the flow law's exponent and the gauge's divisions, as shares of it.
const FILTER: Scale = Scale {
    level: 0.15,
    weather: 0.06,
    duty: 0.06,
    least_noise: 0.04,
    relative: true,
    learn: LEARN,
    after: AFTER,
    wears: None,
    blur: 0.0,
    own: None,
    seldom: false,
};

/// An element loads by itself, as a share of its drop over the spread of its days; beside that a
/// change is sought (from memory).
const LOADING: Scale = Scale {
    learn: 2 * LEARN,
    wears: Some(0.15),
    ..FILTER
};
/// Less than this beyond what it loads by itself is not told, as a share of its drop (from memory).
const LEAST_LOADING: f64 = 0.15;
/// ln K from which an element is told to load faster: it loads unevenly by itself (from memory).
const TELL_LOADING: f64 = 8.0;
/// An intake filter, read with the cabinet open, chokes by itself, Pa; it has no weather (from memory).
const CHOKING: Scale = Scale {
    level: 1500.0,
    weather: 0.0,
    duty: 0.0,
    least_noise: 50.0,
    relative: false,
    learn: 6,
    after: 2,
    wears: Some(150.0),
    blur: 0.0,
    own: None,
    seldom: false,
};
/// A separator wears by itself; its reading has no weather, Pa.
pub(super) const SEPARATOR: Scale = Scale {
    level: 0.15e5,
    weather: 0.0,
    duty: 0.0,
    least_noise: 0.02e5,
    relative: false,
    learn: 5,
    after: 2,
    wears: Some(0.1e5),
    blur: 0.0,
    own: None,
    seldom: true,
};
/// Less than this beyond what it wears by itself is not told, Pa; and ln K from which it is (from memory).
const LEAST_WORN: f64 = 0.06e5;
const TELL_WORN: f64 = 5.0;
/// Less than this beyond what it chokes by itself is not told, Pa; and ln K from which it is (from memory).
const LEAST_CHOKING: f64 = 150.0;
const TELL_CHOKING: f64 = 5.0;
/// A drop whose flow is known worse than this, as a share of the drop, says nothing of wear (from memory).
const FLOW_KNOWN: f64 = 0.35;
/// Readings at less than this share of the rated clean drop say nothing of a hole.
const FULL_ENOUGH: f64 = 0.25;
/// An element that has lost this share of its drop has a hole; less may be the gauge's zero.
const TORN_SHARE: f64 = 0.2;
/// One that has lost this share may have one: worth watching (from memory).
const MAYBE_TORN: f64 = 0.10;

/// A drop that falls so soon after its element was changed is the new element's own, unless it is less than
/// half of a clean one's (from memory).
const WITH_THE_CHANGE_DAYS: f64 = 10.0;
const HALF_OF_CLEAN: f64 = 0.5;

/// Parts that wear towards their change.
pub(super) fn wear(
    ctx: &mut Context<'_>,
    streams: &Streams,
    loading_since: &[Option<f64>],
    drifts: &mut Vec<Drift>,
) {
    for i in 0..ctx.station.machines.len() {
        let m = &ctx.station.machines[i];
        let separator = (m.separator.clean.value.si(), m.separator.change.si());
        let intake = (m.intake.clean.value.si(), m.intake.change.si());
        let asset = Asset::Machine(i);
        // Where power is read the two were weighed together.
        let by_power = streams
            .of(asset, Point::MachinePower, Moment::Loaded)
            .is_some();
        let told = (LEAST_WORN, TELL_WORN);
        let wears_since = match streams.of(asset, Point::SeparatorDrop, Moment::Loaded) {
            Some(s) if !by_power => {
                let s = at_full_flow(ctx, s, separator.0);
                loads_faster(ctx, (&s, SEPARATOR), Group::SeparatorDrop, told)
            }
            _ => loading_since.get(i).copied().flatten(),
        };
        worn(
            ctx,
            streams,
            asset,
            Point::SeparatorDrop,
            separator,
            "separator",
            Kind::SeparatorLoaded,
            wears_since,
            drifts,
        );
        let told = (LEAST_CHOKING, TELL_CHOKING);
        let chokes_since = streams
            .of(asset, Point::IntakeDrop, Moment::Loaded)
            .and_then(|s| {
                let s = at_full_flow(ctx, s, intake.0);
                loads_faster(ctx, (&s, CHOKING), Group::IntakeDrop, told)
            });
        worn(
            ctx,
            streams,
            asset,
            Point::IntakeDrop,
            intake,
            "intake",
            Kind::IntakeChoked,
            chokes_since,
            drifts,
        );
        worn(
            ctx,
            streams,
            asset,
            Point::BeltIndicator,
            (0.0, 1.0),
            "belt",
            Kind::BeltSlack,
            None,
            drifts,
        );
    }
    for i in 0..ctx.station.filters.len() {
        let told = (LEAST_LOADING, TELL_LOADING);
        let loads_since = streams
            .of(Asset::Filter(i), Point::FilterDrop, Moment::Unknown)
            .and_then(|s| loads_faster(ctx, (s, LOADING), Group::FilterDrop, told));
        let f = &ctx.station.filters[i];
        let limits = (f.clean.value.si(), f.change.si());
        let asset = Asset::Filter(i);
        worn(
            ctx,
            streams,
            asset,
            Point::FilterDrop,
            limits,
            "element",
            Kind::FilterLoaded,
            loads_since,
            drifts,
        );
    }
}

/// How well a drop at rated flow is known, as a share: the power of a meter's 3 % and the gauge's own error (common
/// practice, no source).
const AT_RATED_SIGMA: f64 = 0.07;

/// Whether a point's drop is to be brought to full flow: filters always, and what a machine of variable speed has inside.
fn follows_flow(ctx: &Context<'_>, id: PointId) -> bool {
    let varies = |i: usize| {
        let control = &ctx.station.machines[i].control;
        matches!(control, Control::VariableSpeed { .. })
    };
    match (id.point, id.asset) {
        (Point::FilterDrop, _) => true,
        (Point::SeparatorDrop | Point::IntakeDrop, Asset::Machine(i)) => varies(i),
        _ => false,
    }
}

/// A drop read at less than this share of that at full flow says little of it.
const LEAST_SHARE: f64 = 0.25;

/// A machine's drop as it would be at full flow, where its speed varies.
pub(super) fn at_full_flow<'a>(
    ctx: &Context<'_>,
    stream: &'a Stream,
    clean: f64,
) -> Cow<'a, Stream> {
    if !follows_flow(ctx, stream.id) {
        return Cow::Borrowed(stream);
    }
    let mut full = stream.clone();
    full.samples.retain(|s| s.mid > LEAST_SHARE * clean);
    for s in &mut full.samples {
        let share = s.mid / clean;
        // The gauge errs by as much at little flow as at full.
        let gauge = reading_sigma(ctx.station, stream.id, s.read) * (1.0 / share - 1.0);
        (s.read, s.mid, s.strays) = (s.read / share, clean, (s.strays / share).hypot(gauge));
    }
    Cow::Owned(full)
}

/// Since when a part loads faster than by itself; `least` is what is worth telling, and `sure` the ln K
/// from which it is.
fn loads_faster(
    ctx: &Context<'_>,
    (stream, scale): (&Stream, Scale),
    group: Group,
    (least, sure): (f64, f64),
) -> Option<f64> {
    let search = Search::of(ctx.tables, ctx.tables.causes(group), vec![(stream, scale)]);
    let changes = search.run().changes;
    let told = |c: &&Change| !nothing(c) && c.log_odds > sure && c.size > least;
    let begins = changes.iter().filter(told).map(|c| c.course.begins());
    begins.reduce(f64::min)
}

/// What the growth of a part's drop is laid to by all its readings; nothing where they do not say.
fn laid_to(ctx: &Context<'_>, stream: &Stream, clean: f64) -> (Vec<Cause>, Vec<Step>) {
    // What it has grown in all is the question, and not how fast.
    let grown = |scale: Scale| Scale {
        wears: None,
        weather: scale.least_noise,
        duty: scale.least_noise,
        ..scale
    };
    let (group, scale) = match stream.id.point {
        Point::FilterDrop => (Group::FilterDrop, FILTER),
        Point::SeparatorDrop => (Group::SeparatorDrop, grown(SEPARATOR)),
        Point::IntakeDrop => (Group::IntakeDrop, grown(CHOKING)),
        _ => return (Vec::new(), Vec::new()),
    };
    let full = match stream.id.point {
        Point::FilterDrop => Cow::Borrowed(stream),
        _ => at_full_flow(ctx, stream, clean),
    };
    let search = Search::of(ctx.tables, ctx.tables.causes(group), vec![(&full, scale)]);
    let changes = search.run().changes;
    let grew = changes.iter().find(|c| !nothing(c) && c.size > 0.0);
    grew.map_or_else(Default::default, |change| {
        (named::causes(ctx, change), named::steps(ctx, change))
    })
}

#[expect(clippy::too_many_arguments, reason = "one row of the table above")]
fn worn(
    ctx: &mut Context<'_>,
    streams: &Streams,
    asset: Asset,
    point: Point,
    (clean, change): (f64, f64),
    part: &str,
    kind: Kind,
    known_since: Option<f64>,
    drifts: &mut Vec<Drift>,
) {
    let moments = [
        Moment::Loaded,
        Moment::Unknown,
        Moment::Stopped,
        Moment::Unloaded,
    ];
    let Some(stream) = moments
        .into_iter()
        .find_map(|m| streams.of(asset, point, m))
    else {
        return;
    };
    // A drop is brought to the flow at which its clean drop is rated.
    let by_flow = follows_flow(ctx, stream.id);
    let line = Wear::of(
        stream,
        |s| {
            if !by_flow {
                return Some(s.read);
            }
            let known = s.mid > LEAST_SHARE * clean && s.strays < FLOW_KNOWN * s.mid;
            known.then(|| s.read / s.mid * clean)
        },
        known_since.filter(|_| point != Point::FilterDrop),
    );
    let Some(line) = line.filter(|l| known_since.is_some() || l.grows()) else {
        return;
    };
    let today = today(ctx);
    let known = if by_flow { AT_RATED_SIGMA } else { 0.0 };
    let dates = line.dates((change, known), today);
    let (_, unit) = crate::say::in_file_unit(point, 0.0);
    let per_month = crate::working::in_difference_unit(point, line.a_day * MONTH);
    let id = format!("{}.{part}", ctx.station.id(asset));
    drifts.push(Drift {
        subject: asset,
        what: format!(
            "{part} wear{}",
            if by_flow { ", at rated flow" } else { "" }
        ),
        unit: unit.to_owned(),
        level: crate::working::in_difference_unit(point, line.now),
        sigma: crate::working::in_difference_unit(point, line.sigma),
        per_month,
        per_month_sigma: crate::working::in_difference_unit(point, line.a_day_sigma * MONTH),
        limit: Some(crate::working::in_difference_unit(point, change)),
        spark: line
            .values
            .iter()
            .map(|(_, v)| crate::working::in_difference_unit(point, *v))
            .collect(),
        finding: id.clone(),
        chart: chart::of_line(ctx, streams, stream, &line).map(|mut chart| {
            chart.limits = vec![("change".to_owned(), change)];
            chart
        }),
    });
    let likely = match dates.likely {
        Some(likely) => likely,
        None => return,
    };
    let days = days_to(today, likely);
    let told = ctx.findings.iter().any(|f| f.id == id);
    let hurries = line.hurry > TELL_HURRY || known_since.is_some();
    if days > TELL_WEAR_DAYS && !told && !hurries {
        return;
    }
    let first = stream.since_change();
    let since = match known_since.or(line.since).filter(|_| hurries) {
        Some(day) => moment(day),
        None => stream.samples.get(first).and_then(|s| moment(s.day)),
    };
    let mut f = draft(ctx, kind, asset, part, since);
    let last = stream.samples.back().map_or(line.now, |s| s.read);
    let pace = if hurries {
        "wears faster than it did"
    } else {
        "goes towards its change"
    };
    let read = ctx.units.reading(point, last);
    let read = if by_flow {
        let at_rated = ctx.units.reading(point, line.now);
        format!("{read} read, {at_rated} at its rated flow")
    } else {
        format!("{read} read")
    };
    f.title = format!(
        "{} of {} {pace}: {read}, change at {} about {likely} by its own pace",
        what(kind),
        ctx.station.id(asset),
        ctx.units.reading(point, change),
    );
    f.evidence = vec![Evidence {
        id: stream.id,
        read: last,
        mid: None,
        deviations: None,
    }];
    f.health = (point != Point::BeltIndicator).then(|| PartHealth {
        what: format!("{} over clean", what(kind).to_lowercase()),
        unit: "1",
        value: line.now / clean,
        low: (line.now - 1.96 * line.sigma) / clean,
        high: (line.now + 1.96 * line.sigma) / clean,
        per_month: Some(line.a_day * MONTH / clean),
    });
    f.working.push(change_step(
        crate::working::in_difference_unit(point, change),
        unit,
    ));
    if by_flow {
        f.working.push(AT_RATED.step(
            "in the middle, by the line through all of them",
            crate::working::in_difference_unit(point, line.now),
        ));
    }
    f.working.push(WEAR.step(
        format!("{} readings since the last change", line.values.len()),
        per_month,
    ));
    apply(
        ctx,
        &mut f,
        "its change value by its own pace",
        dates,
        today,
    );
    if days <= TELL_WEAR_DAYS {
        f.urgency = f.urgency.min(Urgency::NextService);
    }
    if line.by_newest {
        f.urgency = Urgency::Watch;
    }
    let (causes, steps) = laid_to(ctx, stream, clean);
    f.causes = causes;
    f.working.extend(steps);
    // What one round asks for by itself stays.
    let look = match point {
        Point::FilterDrop => format!(
            "Read {} again at full flow, by one gauge at both taps",
            ctx.point_name(stream.id)
        ),
        Point::BeltIndicator => format!(
            "Look at {} again when the machine is next isolated",
            ctx.point_name(stream.id)
        ),
        _ => format!("Read {} again at full load", ctx.point_name(stream.id)),
    };
    f.next_check = (!told).then_some(look);
    f.cost = Cost::at_stake("wear that is ordinary: the part wants ordering in time");
    f.action = format!(
        "Have the part ready: {} of {} by {likely}",
        what(kind).to_lowercase(),
        ctx.station.id(asset)
    );
    if let Asset::Machine(i) = asset {
        isolate(&mut f, ctx, i);
    } else {
        f.isolate = true;
        f.cautions = at_the_line(ctx.station, asset, ctx.units);
    }
    merge(ctx, f);
}

fn what(kind: Kind) -> &'static str {
    match kind {
        Kind::SeparatorLoaded => "The oil separator",
        Kind::IntakeChoked => "The intake filter",
        Kind::BeltSlack => "The belt tensioner",
        _ => "The filter element",
    }
}

const OVER_BEFORE: Formula = Formula {
    name: "what the part takes after over before",
    equation: "(Δp/Δp_clean)_after / (Δp/Δp_clean)_before",
    unit: "1",
    source: "readings on both sides, at their own flow",
    mark: Mark::Derived,
};

/// Causes by a table alone.
fn by_table(tables: Tables, kind: &str) -> Vec<Cause> {
    let causes = tables.behind(kind).into_iter();
    let cause = |(cause, probability): (&str, f64)| Cause {
        cause: cause.to_owned(),
        probability,
        speaks_for: Vec::new(),
        speaks_against: Vec::new(),
    };
    causes.map(cause).collect()
}

/// A drop that fell back to a new part's though no change is written: asks who changed it, and of a filter whether it
/// has torn.
pub(super) fn changed(ctx: &mut Context<'_>, streams: &Streams) {
    let lately = |(_, day): &&(PointId, f64)| day_of(ctx.now) - day < ASKED_FOR;
    let asked: Vec<(PointId, f64)> = streams.unwritten.iter().filter(lately).copied().collect();
    for (id, day) in asked {
        let new = streams
            .list
            .iter()
            .filter(|s| s.id == id)
            .find_map(|s| Some((s, s.samples.iter().position(|x| x.day >= day)?)));
        let Some((stream, place)) = new.filter(|(_, place)| *place > 0) else {
            continue;
        };
        let (before, after) = (&stream.samples[place - 1], &stream.samples[place]);
        let name = ctx.station.id(id.asset).to_owned();
        let date = moment(day).map_or_else(String::new, |t| t.strftime("%Y-%m-%d").to_string());
        let (part, work) = match id.point {
            Point::FilterDrop => ("element", Work::ChangeElement),
            Point::SeparatorDrop => ("separator", Work::ChangeSeparator),
            _ => ("intake filter", Work::ChangeIntakeFilter),
        };
        let fell = format!(
            "{} fell from {} to {} about {date}, though no change of the {part} is written",
            ctx.point_name(id),
            ctx.units.reading(id.point, before.read),
            ctx.units.reading(id.point, after.read),
        );
        let write = format!("write `{name}:{}` into `done`", work.phrase());
        let step = OVER_BEFORE.step(
            format!(
                "{} read, {} of clean, over {} read, {} of clean",
                ctx.units.reading(id.point, after.read),
                round(after.read / after.mid, 2),
                ctx.units.reading(id.point, before.read),
                round(before.read / before.mid, 2)
            ),
            after.read / after.mid / (before.read / before.mid),
        );
        if id.point != Point::FilterDrop {
            let why =
                format!("{fell}; if it was changed, {write}: what wears is reckoned from then");
            ctx.skip_by(&format!("what was done at {name}"), &why, vec![step]);
            continue;
        }
        let mut f = draft(ctx, Kind::FilterBreached, id.asset, "fell", moment(day));
        f.title = format!("{fell}: a new one, or one that has torn");
        f.urgency = Urgency::Watch;
        f.evidence = vec![Evidence {
            id,
            read: after.read,
            mid: Some(after.mid),
            deviations: None,
        }];
        f.working = vec![step];
        f.causes = by_table(ctx.tables, FELL_BACK);
        f.cost = Cost::at_stake("risk, not energy: oil and dirt reach the plant if it has torn");
        f.next_check = Some(format!(
            "Ask who changed the element of {name}, and {write}"
        ));
        f.action = format!("If nobody did, open {name} and look at the element and its seat");
        f.isolate = true;
        f.cautions = at_the_line(ctx.station, id.asset, ctx.units);
        merge(ctx, f);
    }
}

/// A drop that fell by itself: air goes past the element.
pub(super) fn torn(ctx: &mut Context<'_>, streams: &Streams, i: usize) {
    let asset = Asset::Filter(i);
    let Some(stream) = streams.of(asset, Point::FilterDrop, Moment::Unknown) else {
        return;
    };
    // At little flow the drop is within the gauge's divisions.
    let clean = ctx.station.filters[i].clean.value.si();
    let mut stream = stream.clone();
    let changed = stream.samples.iter().rev().find(|s| s.reset.is_some());
    let changed = changed.map(|s| s.day);
    stream.samples.retain(|s| s.mid > FULL_ENOUGH * clean);
    let stream = &stream;
    let search = Search::of(
        ctx.tables,
        ctx.tables.causes(Group::FilterDrop),
        vec![(stream, FILTER)],
    );
    let changes = search.run().changes;
    let Some(change) = changes.first() else {
        return;
    };
    let Some(last) = stream.samples.back() else {
        return;
    };
    // A gauge that reads low falls too, but seldom so far: both are told in the causes.
    if change.size > -MAYBE_TORN || change.size + 2.0 * change.sigma > 0.0 {
        return;
    }
    // A new element takes what it takes: less than the one before is no hole.
    let with_it = changed.is_some_and(|day| change.course.begins() - day < WITH_THE_CHANGE_DAYS);
    if with_it && last.read > HALF_OF_CLEAN * last.mid {
        return;
    }
    let name = ctx.station.id(asset);
    let since = moment(change.course.begins());
    let mut f = draft(ctx, Kind::FilterBreached, asset, "breach", since);
    let half = 1.96 * FILTER.least_noise * last.mid;
    let beside = ctx.units.beside(stream.id.point, last.read, last.mid, half);
    f.title = format!(
        "{}: {beside}; it has fallen by {} below its own level, which a whole element does not do",
        ctx.point_name(stream.id),
        crate::say::percent(-change.size),
    );
    f.urgency = if change.size > -TORN_SHARE {
        Urgency::Watch
    } else {
        Urgency::ThisWeek
    };
    f.evidence = vec![Evidence {
        id: stream.id,
        read: last.read,
        mid: Some(last.mid),
        deviations: None,
    }];
    f.causes = named::causes(ctx, change);
    f.cost = Cost::at_stake("risk, not energy: oil and dirt reach the plant");
    f.next_check = Some(format!(
        "Read {name}.drop again at full flow with both taps open, by one gauge"
    ));
    f.action = format!("Open {name} and look at the element and its seat; change it");
    f.isolate = true;
    f.cautions = at_the_line(ctx.station, asset, ctx.units);
    let (clean_now, unit) = crate::say::in_file_unit(stream.id.point, last.mid);
    f.working.push(Step {
        unit: unit.to_owned(),
        ..CLEAN_NOW.step(
            format!("the flow of that round, {name}: {beside}"),
            clean_now,
        )
    });
    f.working.push(grown_step(change));
    f.working.extend(evidence_steps(ctx, change));
    merge(ctx, f);
}
