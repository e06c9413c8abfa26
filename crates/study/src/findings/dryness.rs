//! `dew-point-high`: behind a dryer the air was wetter than the dryer should make it.

use judge::finding::Cost;
use judge::safety::at_a_dryer;
use judge::say::{Units, percent, round};
use judge::{Kind, Urgency};
use physics::working::{Formula, Mark};
use station::model::{Asset, DryerKind};

use super::{Looking, evidence, sigma_of};
use crate::channel::Channel;

/// A shorter time above is no finding: h, and share of the time (common practice, no source).
const LEAST_HOURS: f64 = 1.0;
const LEAST_SHARE: f64 = 0.02;

const ABOVE: Formula = Formula {
    name: "time with too high a dew point",
    equation: "Σ time with T_pdp above what the dryer holds, by more than both are uncertain",
    unit: "h",
    source: "`dryer.dew_point` of the station file",
    mark: Mark::Derived,
};

pub(super) fn look(looking: &mut Looking<'_>) {
    for points in looking.told.read.dew_points {
        let Channel::Point(id) = points.channel else {
            continue;
        };
        let Asset::Dryer(i) = id.asset else {
            continue;
        };
        let station = looking.station;
        let (Some(dryer), Some(wanted), Some(hours)) = (
            station.dryers.get(i),
            points.wanted,
            points.hours_above_wanted,
        ) else {
            continue;
        };
        let share = points.share_above_wanted.unwrap_or(0.0);
        if hours < LEAST_HOURS || share < LEAST_SHARE {
            continue;
        }
        let mut f = looking.draft(Kind::DewPointHigh, id.asset, "dew-point");
        f.title = format!(
            "The pressure dew point behind {} stood above {} for {} h of the log, {} of the time, up to {}",
            dryer.id,
            Units::Si.temperature(wanted),
            round(hours, 1),
            percent(share),
            Units::Si.temperature(points.max)
        );
        f.evidence = vec![evidence(
            id.asset,
            id.point,
            points.p95,
            Some((
                wanted,
                sigma_of(station, id, points.p95).hypot(dryer.dew_point.sigma),
            )),
        )];
        f.urgency = if share > 0.5 {
            Urgency::ThisWeek
        } else {
            Urgency::NextService
        };
        f.working.push(ABOVE.step(
            format!(
                "held at {} °C; half the time below {} °C, 95 % below {} °C",
                round(wanted - 273.15, 1),
                round(points.median - 273.15, 1),
                round(points.p95 - 273.15, 1)
            ),
            hours,
        ));
        f.cost = Cost::at_stake("risk, not energy: water in the plant");
        f.next_check = Some(format!(
            "Lay the log of {0}.dew_point beside the flow, {0}.inlet_temperature and the room's temperature: too much load, too warm an inlet and a weak dryer each show at other hours",
            dryer.id
        ));
        f.action = match dryer.kind {
            DryerKind::Refrigeration { .. } => format!(
                "Switch {} off, lock and tag it, then clean its condenser; see that its drain passes water and that its air is cool; refrigerant is for licensed people",
                dryer.id
            ),
            DryerKind::Desiccant { .. } => format!(
                "See that the valves of {} switch and its purge flows; then have the desiccant looked at",
                dryer.id
            ),
        };
        f.cautions = at_a_dryer(station, i, Units::Si);
        looking.findings.push(f);
    }
}
