//! What one finding means for another, once all are found: a loss is told once, two words about one
//! job are one job, and nothing is concluded from readings that contradict each other.
//!
//! Must not know: how any of them is decided.

use station::model::Asset;
use station::point::{Dimension, Point, PointId};

use crate::Drift;
use crate::by_kind;
use crate::context::Context;
use crate::finding::{Cause, Cost, Finding, Kind, Limit};
use crate::findings::SWAPPED;
use crate::next;
use crate::tables::{Belief, Tables};

/// A gauge that is less likely wrong than this need not be compared (common practice, no source).
const WORTH_COMPARING: f64 = 0.2;

/// Puts the findings in relation to each other.
pub(crate) fn settle(ctx: &mut Context<'_>, drifts: &mut Vec<Drift>) {
    let gone = hold_back(&mut ctx.findings);
    drifts.retain(|d| !gone.contains(&d.finding));
    one_job(&mut ctx.findings);
    one_gauge(&mut ctx.findings);
    one_reading(ctx.tables, &mut ctx.findings);
    by_its_gauge(&mut ctx.findings, drifts);
    one_loss(&mut ctx.findings);
    let seen: Vec<_> = ctx
        .words
        .iter()
        .map(|(id, seen)| (id.asset, id.point, seen.word))
        .collect();
    let mut findings = std::mem::take(&mut ctx.findings);
    // What only its kind is laid to has a look that its own readings ask for.
    let by_rounds: Vec<bool> = findings.iter().map(|f| f.causes.len() > 1).collect();
    by_kind::name(ctx.tables, &mut findings, &seen, |asset, point| {
        ctx.point_name(PointId { asset, point })
    });
    for (f, by_rounds) in findings.iter_mut().zip(by_rounds) {
        let parts = parted_by_looks(f.kind) && by_rounds;
        let look = next::best(ctx, f, |id| another(id.point).to_owned());
        match look.filter(|_| parts) {
            Some(look) => {
                f.working.push(look.step());
                f.next_check = Some(look.words);
            }
            None => f.next_check = check_of(ctx, f),
        }
    }
    ctx.findings = findings;
}

/// Kinds whose causes a look parts: what the others ask for depends on what was read.
fn parted_by_looks(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::CoolingLost
            | Kind::OilHot
            | Kind::OilCoolWet
            | Kind::Thermostat
            | Kind::DeliveryShort
            | Kind::PowerHigh
            | Kind::UnloadedPowerHigh
            | Kind::DewPointHigh
            | Kind::RoomHot
            | Kind::SeparatorLoaded
            | Kind::IntakeChoked
            | Kind::FilterLoaded
            | Kind::FilterBreached
    )
}

/// Takes away what depends on two temperatures of which one cannot be right; returns the ids. Hot
/// oil is told all the same: nobody waits for a column to be put right.
fn hold_back(findings: &mut Vec<Finding>) -> Vec<String> {
    let order = |f: &Finding| f.kind == Kind::GaugeSuspect && f.id.ends_with(SWAPPED);
    let disputed: Vec<Asset> = findings
        .iter()
        .filter(|f| order(f))
        .map(|f| f.subject)
        .collect();
    let depends = |f: &Finding| {
        let kinds = [
            Kind::CoolingLost,
            Kind::Thermostat,
            Kind::OilCoolWet,
            Kind::GaugeSuspect,
        ];
        let read = |point| f.evidence.iter().any(|e| e.id.point == point);
        disputed.contains(&f.subject)
            && kinds.contains(&f.kind)
            && (f.kind != Kind::GaugeSuspect
                || read(Point::OilTemperature)
                || read(Point::OutletTemperature))
            && !order(f)
    };
    let gone: Vec<String> = findings
        .iter()
        .filter(|f| depends(f))
        .map(|f| f.id.clone())
        .collect();
    findings.retain(|f| !depends(f));
    gone
}

/// Aged oil and the task that changes it are one job.
fn one_job(findings: &mut Vec<Finding>) {
    let due = |f: &Finding| f.kind == Kind::ServiceDue && f.action.ends_with("change oil");
    for i in 0..findings.len() {
        let Some(aged) = findings.get(i).filter(|f| f.kind == Kind::OilAged) else {
            continue;
        };
        let subject = aged.subject;
        let Some(task) = findings.iter().position(|f| due(f) && f.subject == subject) else {
            continue;
        };
        let task = findings.remove(task);
        let same = |f: &&mut Finding| f.kind == Kind::OilAged && f.subject == subject;
        if let Some(aged) = findings.iter_mut().find(same) {
            let what = task.title.split_once(": ").map_or(&*task.title, |(_, w)| w);
            // The day is told by the limit, and that of whichever comes first.
            let what = what.split_once(", about ").map_or(what, |(what, _)| what);
            aged.title = format!("{}; its task: {what}", aged.title);
            aged.urgency = aged.urgency.min(task.urgency);
            let day = |limit: &Option<Limit>| limit.as_ref().and_then(|l| l.likely);
            let sooner = match (day(&aged.limit), day(&task.limit)) {
                (Some(aged), Some(task)) => task < aged,
                (aged, _) => aged.is_none(),
            };
            if sooner {
                aged.limit = task.limit;
            }
            aged.working.extend(task.working);
        }
    }
}

/// Of two gauges that contradict each other the one is wrong that all rounds say has shifted; it is told as
/// urgently as the contradiction, and once.
fn one_gauge(findings: &mut Vec<Finding>) {
    let contradicts = |f: &Finding| {
        f.kind == Kind::GaugeSuspect
            && f.evidence.len() == 2
            && f.evidence
                .iter()
                .all(|e| e.id.point.dimension() == Dimension::GaugePressure)
    };
    let Some(pair) = findings.iter().position(contradicts) else {
        return;
    };
    let before = findings[pair].evidence[0].id.asset;
    let urgency = findings[pair].urgency;
    let shifted = findings.iter_mut().enumerate().find(|(n, f)| {
        *n != pair && f.kind == Kind::GaugeSuspect && f.subject == before && f.health.is_some()
    });
    if let Some((_, shifted)) = shifted {
        shifted.urgency = shifted.urgency.min(urgency);
        findings.remove(pair);
    }
}

/// What one reading shows, and that all rounds say its gauge has shifted, is one finding with the causes of both.
fn one_reading(tables: Tables, findings: &mut Vec<Finding>) {
    let by_it_alone = [
        Kind::SeparatorLoaded,
        Kind::IntakeChoked,
        Kind::FilterLoaded,
        Kind::DewPointHigh,
        Kind::PowerHigh,
        Kind::UnloadedPowerHigh,
    ];
    let point = |f: &Finding| f.evidence.first().map(|e| e.id);
    for n in (0..findings.len()).rev() {
        let gauge = &findings[n];
        if gauge.kind != Kind::GaugeSuspect || gauge.health.is_none() {
            continue;
        }
        let same = |f: &Finding| by_it_alone.contains(&f.kind) && point(f) == point(gauge);
        let Some(shows) = findings.iter().position(same) else {
            continue;
        };
        let gauge = findings[n].clone();
        let shows = &mut findings[shows];
        shows.causes = weighed(tables, shows.kind, gauge.causes);
        shows.working.extend(gauge.working);
        findings.remove(n);
    }
}

/// A gauge that is so likely wrong is told, and not what it makes of a machine (common practice, no source).
const MOST_LIKELY: f64 = 0.8;

/// What one round makes of a temperature whose gauge has most likely shifted is told with the gauge, as urgently.
fn by_its_gauge(findings: &mut Vec<Finding>, drifts: &[Drift]) {
    let made_of_it = [Kind::CoolingLost, Kind::Thermostat, Kind::OilCoolWet];
    for n in (0..findings.len()).rev() {
        let made = &findings[n];
        let gauge_wrong = |c: &Cause| c.cause == "gauge wrong" && c.probability >= MOST_LIKELY;
        let drifts_too = drifts.iter().any(|d| d.finding == made.id);
        if drifts_too || !made_of_it.contains(&made.kind) || !made.causes.iter().any(gauge_wrong) {
            continue;
        }
        let shown: Vec<PointId> = made.evidence.iter().map(|e| e.id).collect();
        let of_it = |f: &Finding| {
            f.kind == Kind::GaugeSuspect
                && f.health.is_some()
                && f.evidence.first().is_some_and(|e| shown.contains(&e.id))
        };
        let Some(gauge) = findings.iter().position(of_it) else {
            continue;
        };
        let urgency = findings[n].urgency;
        findings[gauge].urgency = findings[gauge].urgency.min(urgency);
        findings.remove(n);
    }
}

/// What lies behind a kind by itself, times what all rounds make of it.
fn weighed(tables: Tables, kind: Kind, by_rounds: Vec<Cause>) -> Vec<Cause> {
    // A cause that one of the two leaves out is not ruled out by it.
    let kept = tables.belief(Belief::NotRuledOut);
    let mut causes = by_rounds;
    let usual: Vec<(&str, f64)> = tables.behind(kind.name());
    for (name, _) in &usual {
        if !causes.iter().any(|c| c.cause == *name) {
            causes.push(Cause {
                cause: (*name).to_owned(),
                probability: 0.0,
                speaks_for: Vec::new(),
                speaks_against: Vec::new(),
            });
        }
    }
    for c in &mut causes {
        let by_kind = usual.iter().find(|(name, _)| *name == c.cause);
        let by_kind = by_kind.map_or(0.0, |(_, share)| *share);
        c.probability = c.probability.max(kept) * by_kind.max(kept);
    }
    let sum: f64 = causes.iter().map(|c| c.probability).sum();
    for c in &mut causes {
        c.probability /= sum;
    }
    causes.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    causes
}

/// A loss that two findings see is priced in the larger of them; the other says so.
fn one_loss(findings: &mut [Finding]) {
    let pairs = [
        (Kind::PowerHigh, Kind::SeparatorLoaded),
        (Kind::Leakage, Kind::DrainPassing),
        (Kind::DeliveryShort, Kind::BeltSlack),
    ];
    for (whole, part) in pairs {
        for p in 0..findings.len() {
            let of_part = findings
                .get(p)
                .filter(|f| f.kind == part && sees_air_loss(f));
            let Some((subject, kwh)) =
                of_part.and_then(|f| Some((f.subject, f.cost.kwh_per_year?)))
            else {
                continue;
            };
            // Leaks are the station's, everything else is one machine's.
            let same =
                |f: &Finding| f.kind == whole && (whole == Kind::Leakage || f.subject == subject);
            let Some(w) = findings.iter().position(same) else {
                continue;
            };
            let Some(of_whole) = findings[w].cost.kwh_per_year else {
                continue;
            };
            let (small, large) = if kwh <= of_whole { (p, w) } else { (w, p) };
            let large = (findings[large].id.clone(), findings[large].kind.name());
            if let Some(included) = findings.get_mut(small) {
                included.cost = Cost {
                    per_year: None,
                    kwh_per_year: None,
                    why_not: Some(format!("already in the cost of {} ({})", large.0, large.1)),
                };
            }
        }
    }
}

/// What a drain lets go by its clock is taken off before leakage is told; only a fault is seen twice.
fn sees_air_loss(f: &Finding) -> bool {
    f.kind != Kind::DrainPassing || !f.id.ends_with(".clock")
}

/// The next look: a kind's own, and a comparison of the gauge where it may well be what is wrong.
fn check_of(ctx: &Context<'_>, f: &Finding) -> Option<String> {
    let wrong = |c: &Cause| c.cause == "gauge wrong" && c.probability >= WORTH_COMPARING;
    let compared = f.evidence.first().map(|e| {
        let name = ctx.point_name(e.id);
        format!("compare {name} with {}", another(e.id.point))
    });
    let compare = compared.filter(|_| f.kind != Kind::GaugeSuspect);
    match (&f.next_check, compare) {
        (Some(check), Some(compare))
            if f.causes.iter().any(wrong) && !check.to_lowercase().contains("compare") =>
        {
            Some(format!("{check}; then {compare}"))
        }
        (None, Some(compare)) if wants_a_check(f.kind) || f.causes.iter().any(wrong) => {
            Some(upper_first(&compare))
        }
        (check, _) => check.clone(),
    }
}

/// Kinds that always have a next look.
fn wants_a_check(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::DewPointHigh | Kind::PowerHigh | Kind::UnloadedPowerHigh | Kind::CoolingLost
    )
}

/// What a reading is compared with.
fn another(point: Point) -> &'static str {
    match point.dimension() {
        _ if point == Point::DryerDewPoint => "another dew-point meter",
        Dimension::Temperature => "another thermometer",
        Dimension::GaugePressure | Dimension::AbsolutePressure => "another gauge",
        Dimension::PressureDifference => "what one gauge reads at both taps",
        _ => "another meter",
    }
}

fn upper_first(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}
