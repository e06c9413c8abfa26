//! What the plant takes: what was delivered, less what was stored, or what was measured.
//!
//! Must not know: leakage.

use super::Air;
use super::deliveries::measured;
use super::storage::{P0, Volume};
use crate::clean::left_out::stamp;
use crate::figures::{Demand, MachineDays};
use crate::reduce::air::Follower;
use crate::reduce::totals::of_week;

/// An hour with fewer seconds says nothing.
const LEAST_S: f64 = 300.0;

/// The demand. The load-duration curve was taken with the model's lines at the start of the log;
/// `followers` has those.
pub(super) fn of(
    air: &Air<'_>,
    followers: &[Follower],
    machines: &[MachineDays],
    volume: Option<Volume>,
) -> Demand {
    let measured = measured(air).is_some();
    let unknown = machines.is_empty() || air.models.len() < machines.len() || air.others_unseen;
    if !measured && unknown {
        return Demand::default();
    }
    let mut week = vec![(0.0, 0.0); 168];
    let mut hours = Vec::new();
    for hour in air.hours {
        let covered = hour.covered as f64 * 1e-6;
        let (m3, seconds) = if measured {
            hour.flow()
        } else {
            let mut m3 = 0.0;
            for machine in machines {
                let key = (hour.hour.date, hour.hour.hour);
                let at = machine
                    .hours
                    .binary_search_by_key(&key, |h| (h.date, h.hour));
                let found = at.ok().and_then(|at| machine.hours.get(at));
                m3 += found.and_then(|h| h.delivered_m3).unwrap_or(0.0);
            }
            if let (Some(volume), Some((first, last))) = (volume, hour.pressure) {
                m3 -= volume.m3 * (last - first) / P0;
            }
            (m3, covered)
        };
        if seconds < LEAST_S {
            continue;
        }
        hours.push((stamp(hour.from), (m3 / seconds).max(0.0)));
        let at = of_week(hour.hour.date, hour.hour.hour) as usize;
        if let Some(slot) = week.get_mut(at) {
            slot.0 += m3;
            slot.1 += seconds;
        }
    }
    let mean = |(m3, seconds): (f64, f64)| (seconds > 0.0).then(|| (m3 / seconds).max(0.0));
    // The log's own weather moved the lines a little since.
    let of_lines = |of: &mut dyn Iterator<Item = f64>| of.sum::<f64>();
    let was = of_lines(&mut followers.iter().map(|f| f.line.air.0));
    let is = of_lines(&mut air.models.iter().map(|m| m.line.air.0));
    let factor = if was > 0.0 && !measured {
        is / was
    } else {
        1.0
    };
    let duration = air.gather.duration().into_iter();
    Demand {
        measured,
        by_hour_of_week: week.into_iter().map(mean).collect(),
        duration: duration
            .map(|(share, flow)| (share, factor * flow))
            .collect(),
        hours,
    }
}
