//! `leakage`: air that goes while the plant does not work.

use judge::finding::PartHealth;
use judge::safety::in_the_room;
use judge::say::{Units, percent, round};
use judge::{Kind, Urgency};
use physics::working::{Formula, Mark};
use station::model::Asset;

use super::{Looking, price};
use crate::whole::leakage;

/// Leakage below this share of capacity is well kept (published: below 10 %).
const WELL_KEPT: f64 = 0.10;
/// From here on it is worth a service, whatever it costs (common practice, no source).
const WORTH_A_SERVICE: f64 = 0.15;

const SHARE_OF_ALL: Formula = Formula {
    name: "leakage over what the machines can deliver",
    equation: "V_leak/Σ V_rated",
    unit: "1",
    source: "definition; below 10 % in a well kept system, 20 to 30 % in a poor one (DOE Sourcebook)",
    mark: Mark::Published,
};

pub(super) fn look(looking: &mut Looking<'_>) {
    let station = looking.station;
    let Some(found) = leakage::best(looking.told.leakage) else {
        looking.skip(
            "leakage",
            if station.site.hours.is_none() {
                "`site.hours` is not told, so no hour is known to be off-shift"
            } else if looking.told.air.others_unseen {
                "nothing of the machines themselves is logged, and several may have run"
            } else {
                "the log holds too few hours off-shift in which the machines' states are known"
            },
        );
        return;
    };
    let capacity: f64 = station
        .machines
        .iter()
        .map(|m| m.rated.fad.value.si())
        .sum();
    let (mid, sigma) = (found.m3_s.mid, (found.m3_s.high - found.m3_s.mid) / 1.96);
    let share = mid / capacity.max(1e-9);
    if (mid - sigma) / capacity.max(1e-9) < WELL_KEPT {
        return;
    }
    let subject = if station.headers.is_empty() {
        Asset::Site
    } else {
        Asset::Header(0)
    };
    let mut f = looking.draft(Kind::Leakage, subject, "leakage");
    f.title = format!(
        "{} ± {} are drawn off-shift{}, {} of what the machines can deliver, told by {}",
        Units::Si.flow(mid),
        round(1.96 * sigma * 60.0, 2),
        if found.total_m3_s.mid > mid {
            " beside what is spent on purpose"
        } else {
            ""
        },
        percent(share),
        found.method.text()
    );
    f.health = Some(PartHealth {
        what: "leakage".to_owned(),
        unit: "m3/min(ANR)",
        value: 60.0 * mid,
        low: 60.0 * found.m3_s.low,
        high: 60.0 * found.m3_s.high,
        per_month: None,
    });
    // The way that is told first, then the others beside it.
    f.working.extend(found.working.iter().cloned());
    let others = looking
        .told
        .leakage
        .iter()
        .filter(|l| l.method != found.method);
    f.working
        .extend(others.flat_map(|l| l.working.iter().cloned()));
    f.working.push(SHARE_OF_ALL.step(
        format!("{} m³/min of all machines", round(60.0 * capacity, 2)),
        share,
    ));
    let priced = looking
        .year
        .and_then(|year| year.of_air(station, mid, Some(year.hours_under_pressure())));
    price(&mut f, priced);
    if share >= WORTH_A_SERVICE {
        f.urgency = Urgency::NextService;
    }
    f.next_check = Some(
        "Ask what has to run at night and shut it off for one night; then walk the plant at rest and listen: couplings, hoses, drains, valves that pass".to_owned(),
    );
    f.action = "Mark the leaks, mend the largest first, and log one more night".to_owned();
    f.cautions = in_the_room();
    looking.findings.push(f);
}
