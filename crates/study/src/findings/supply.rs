//! `pressure-short`: the header's pressure is under what the plant wants while it works.

use judge::finding::Cost;
use judge::safety::before_more_pressure;
use judge::say::{Units, round};
use judge::{Kind, Urgency};
use physics::working::{Formula, Mark};

use super::{Looking, evidence, sigma_of};
use crate::channel::Channel;

/// A shorter time below is no finding, h (common practice, no source).
const LEAST_HOURS: f64 = 0.1;

const SHORT: Formula = Formula {
    name: "time with too little pressure",
    equation: "Σ time with p < p_wanted, in hours that touch working hours",
    unit: "h",
    source: "`header.wanted` of the station file",
    mark: Mark::Derived,
};

pub(super) fn look(looking: &mut Looking<'_>) {
    for pressures in looking.told.read.pressures {
        let Channel::Point(id) = pressures.channel else {
            continue;
        };
        let (Some(wanted), Some(hours)) = (
            pressures.wanted,
            pressures
                .working_hours_below_wanted
                .filter(|h| *h >= LEAST_HOURS),
        ) else {
            continue;
        };
        let station = looking.station;
        let sigma = sigma_of(station, id, pressures.min);
        let certain = wanted - pressures.min > 1.96 * sigma;
        let mut f = looking.draft(Kind::PressureShort, id.asset, "pressure");
        f.title = format!(
            "{} stood below the wanted {} for {} h while the plant worked, down to {}",
            station.id(id.asset),
            Units::Si.gauge(wanted),
            round(hours, 1),
            Units::Si.gauge(pressures.min)
        );
        f.urgency = if certain {
            Urgency::ThisWeek
        } else {
            Urgency::NextService
        };
        f.evidence = vec![evidence(
            id.asset,
            id.point,
            pressures.min,
            Some((wanted, sigma)),
        )];
        f.working.push(SHORT.step(
            format!(
                "wanted {} bar(g), 5 % of the time below {} bar(g), at least {} bar(g)",
                round(wanted / 1e5, 2),
                round(pressures.p05 / 1e5, 2),
                round(pressures.min / 1e5, 2)
            ),
            hours,
        ));
        f.cost = Cost::at_stake("risk, not energy: what the plant makes");
        f.next_check = Some(
            "Log machine, vessel and header pressure together, by gauges that were compared: the largest drop at the moment of the fall is the place to look".to_owned(),
        );
        f.action = format!(
            "See which machines ran when the pressure fell; if all did, find the drop between machines and {}: dryer, filters, valves; raising the band comes last: it costs about 7 % of the power per bar",
            station.id(id.asset)
        );
        let all: Vec<usize> = (0..station.machines.len()).collect();
        f.cautions = before_more_pressure(station, &all, Units::Si);
        looking.findings.push(f);
    }
}
