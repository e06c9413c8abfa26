//! Weeks by the machines' counters: what they delivered, and what the meter showed on the way.
//!
//! One day's counters show whole hours, and one moment's flow is no day's; over a week both settle. Only
//! whole weeks are alike: each has one Sunday, and every machine its turn where turns go by the week.
//! Must not know: causes.

use std::collections::BTreeMap;

use station::model::{Asset, Control, Station};
use station::point::{Point, PointId};
use station::round::Round;

use super::{FELT, Sample, View, day_of};
use crate::day::Day;

/// A stretch ends with a round that comes within so many days of whole weeks after its first one; where
/// none does, after so many days, of which one Sunday more or less is little. Longer ones are dropped.
const NEAR_WEEKS: f64 = 0.3;
const LONG_DAYS: f64 = 20.0;
const MOST_DAYS: f64 = 35.0;
/// Counters show whole hours: fewer tell nothing.
const LEAST_HOURS: f64 = 15.0;
/// How far the meter's moment strays from the week's mean, as a share (common practice, no source).
const MOMENT_STRAYS: f64 = 0.08;
/// What the newest week weighs in a machine's usual share.
const NEWEST: f64 = 0.2;
/// How far a week's share strays where nobody takes turns (common practice, no source).
const SHARE_STRAYS: f64 = 0.04;

/// What is summed since a stretch began.
#[derive(Debug, Clone, Default)]
pub(super) struct Stretch {
    /// The day of its first round; none while no round has shown all counters.
    began: Option<f64>,
    /// Each counter's hours since then, and the day on which it was last read.
    counted: BTreeMap<PointId, (f64, f64)>,
    /// Hours of which some machine ran: of each time between two rounds the longest of one machine.
    pressed: f64,
    /// The same, and the days that it is of, over all stretches.
    ever: (f64, f64),
    /// Sum and count of the meter's readings with the plant at work.
    metered: (f64, usize),
    /// What share of the flow each machine usually delivers, and the square of how far a week strays.
    shares: Option<([f64; FELT], f64)>,
}

/// One week that has ended.
pub(super) struct Week {
    /// What the plant took beside what all machines can deliver.
    pub(super) taken: Sample,
    /// The meter's mean beside what the machines delivered.
    pub(super) metered: Option<Sample>,
}

impl Stretch {
    /// Work that changes what a machine delivers, or what is lost, ends a stretch.
    pub(super) fn break_off(&mut self) {
        *self = Self {
            shares: self.shares,
            ever: self.ever,
            ..Self::default()
        };
    }

    /// Takes a round in; gives the week that ends with it.
    pub(super) fn take(
        &mut self,
        view: &View,
        station: &Station,
        round: &Round,
        day: &Day,
    ) -> Option<Week> {
        let today = day_of(round.time);
        // Hours on load tell the air only of machines that deliver all or nothing.
        let cycles = |c: &Control| matches!(c, Control::LoadUnload(_) | Control::StartStop(_));
        if station.headers.is_empty() || !station.machines.iter().all(|m| cycles(&m.control)) {
            return None;
        }
        let reading = round.number(Asset::Header(0), Point::HeaderFlow);
        let reading = reading.filter(|_| day.working != Some(false));
        let counters = counters(station);
        let Some(began) = self.began.filter(|_| self.count(round, &counters)) else {
            self.begin(round, &counters, reading);
            return None;
        };
        self.read(reading);
        let all_read = counters
            .iter()
            .all(|id| round.step(id.asset, id.point).is_some());
        let weeks = ((today - began) / 7.0).round();
        let whole = weeks >= 1.0 && (today - began - 7.0 * weeks).abs() < NEAR_WEEKS;
        if !all_read || !(whole || today - began > LONG_DAYS) {
            return None;
        }
        let week = (today - began <= MOST_DAYS)
            .then(|| self.week(view, station, day, (began, today)))
            .flatten();
        self.begin(round, &counters, reading);
        week
    }

    /// Adds a round's hours; whether every counter that was read follows on what was counted before.
    fn count(&mut self, round: &Round, counters: &[PointId]) -> bool {
        let today = day_of(round.time);
        let run = counters.iter().filter(|id| id.point == Point::HoursRun);
        let run = run.filter_map(|id| round.step(id.asset, id.point));
        self.pressed += run.map(|step| step.increase).fold(0.0, f64::max);
        counters.iter().all(|id| {
            let Some(step) = round.step(id.asset, id.point) else {
                // Not read: the next step will cover this time too.
                return true;
            };
            let Some((sum, newest)) = self.counted.get_mut(id) else {
                return false;
            };
            let follows = (day_of(step.since) - *newest).abs() < 1e-6;
            (*sum, *newest) = (*sum + step.increase, today);
            follows
        })
    }

    /// Begins anew with a round that shows all counters.
    fn begin(&mut self, round: &Round, counters: &[PointId], reading: Option<f64>) {
        self.break_off();
        let read = |id: &PointId| round.number(id.asset, id.point).is_some();
        if counters.iter().all(read) {
            let today = day_of(round.time);
            self.began = Some(today);
            self.counted = counters.iter().map(|id| (*id, (0.0, today))).collect();
            self.read(reading);
        }
    }

    fn read(&mut self, reading: Option<f64>) {
        if let Some(flow) = reading {
            self.metered.0 += flow;
            self.metered.1 += 1;
        }
    }

    fn week(
        &mut self,
        view: &View,
        station: &Station,
        day: &Day,
        (began, today): (f64, f64),
    ) -> Option<Week> {
        let by_rated = view.by_rated(station)?;
        let rated = |i: usize| by_rated * station.machines[i].rated.fad.value.si();
        let all: f64 = (0..station.machines.len()).map(rated).sum();
        let hours = |i: usize, point: Point| {
            let id = PointId {
                asset: Asset::Machine(i),
                point,
            };
            self.counted.get(&id).map_or(0.0, |(sum, _)| *sum)
        };
        let of_each = |i: usize| rated(i) * hours(i, Point::HoursLoaded);
        let delivered: f64 = (0..station.machines.len()).map(of_each).sum();
        if self.pressed < LEAST_HOURS || delivered <= 0.0 {
            return None;
        }
        // Hours under pressure of one week are only known as well as its rounds part them; those of all weeks
        // settle, and whole weeks need no more.
        let days = today - began;
        self.ever = (self.ever.0 + self.pressed, self.ever.1 + days);
        let usual = self.ever.0 / self.ever.1;
        let mean = delivered / (usual * days);
        let runs = self.pressed / days / 24.0;
        let mut now = [0.0; FELT];
        for (i, share) in now.iter_mut().enumerate().take(station.machines.len()) {
            *share = of_each(i) / delivered;
        }
        let shares = self.share(now);
        let (sum, count) = self.metered;
        let metered = (count > 0).then(|| Sample {
            // The meter is read while much is taken: it shows a loss of a machine so many times over the mean.
            feels: shares.map(|share| -share * sum / count as f64),
            strays: MOMENT_STRAYS * mean / (count as f64).sqrt(),
            ..view.plain(day, sum / count as f64, mean, today)
        });
        Some(Week {
            taken: Sample {
                duty: runs,
                ..view.plain(day, mean, all, today)
            },
            metered,
        })
    }

    /// The share of the flow that each machine's loss is felt by. A week in which one ran long is one whose
    /// mean lies above the meter's moments: by that week's own shares it would seem to deliver less. So its
    /// usual share counts, and the week's own as far as shares change by more than that: machines take turns.
    fn share(&mut self, now: [f64; FELT]) -> [f64; FELT] {
        let Some((usual, strays)) = self.shares else {
            self.shares = Some((now, 0.0));
            return now;
        };
        let off: [f64; FELT] = core::array::from_fn(|i| now[i] - usual[i]);
        let farthest = off.iter().fold(0.0, |most: f64, x| most.max(x.abs()));
        let strays = strays + NEWEST * (farthest * farthest - strays);
        let moved = |by: f64| core::array::from_fn(|i| usual[i] + by * off[i]);
        self.shares = Some((moved(NEWEST), strays));
        let own = 1.0 - (SHARE_STRAYS * SHARE_STRAYS / strays.max(1e-9)).min(1.0);
        moved(own.max(NEWEST))
    }
}

/// The counters that must be read: hours run and on load of every machine.
fn counters(station: &Station) -> Vec<PointId> {
    let of = |i: usize| {
        [Point::HoursRun, Point::HoursLoaded].map(|point| PointId {
            asset: Asset::Machine(i),
            point,
        })
    };
    (0..station.machines.len()).flat_map(of).collect()
}
