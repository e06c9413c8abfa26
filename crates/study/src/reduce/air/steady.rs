//! Rows in which nothing changes: every machine stays in its state by its power, and the pressure is
//! read in each. They add the same as they would one by one, to the last bit, and are most of all.
//!
//! Must not know: what a change of state means.

use std::ops::Range;

use super::{Air, Follower, Rows, SETTLING, Told};

impl Follower {
    /// In how many of the first rows its power keeps its state.
    fn stays(&self, powers: &[f64]) -> usize {
        let Some(state) = self.state else { return 0 };
        let (low, high) = self.levels.bounds(state);
        let leaves = |&power: &f64| !(low <= power && power <= high);
        powers.iter().position(leaves).unwrap_or(powers.len())
    }
}

impl Air {
    /// Adds the first of these rows, as far as nothing changes in them; how many they are.
    pub(super) fn steady(&mut self, range: Range<usize>, rows: &Rows<'_>) -> usize {
        let Some(count) = self.count_steady(&range, rows) else {
            return 0;
        };
        let range = range.start..range.start + count;
        let (Some(times), Some(steps), Some(pressures)) = (
            rows.times.get(range.clone()),
            rows.steps.get(range.clone()),
            rows.pressure.and_then(|p| p.get(range.clone())),
        ) else {
            return 0;
        };
        let ends = (times.last(), pressures.first(), pressures.last());
        let (Some(&last), Some(&first), Some(&now)) = ends else {
            return 0;
        };
        let (Some(before), Some((_, was)), Some(open), Some(phase)) = (
            self.last,
            self.pressure,
            self.hours.last_mut(),
            self.phase.as_mut(),
        ) else {
            return 0;
        };
        self.delivered.clear();
        self.delivered.resize(count, 0.0);
        for (at, follower) in self.followers.iter_mut().enumerate() {
            let told = rows.told.get(at).and_then(|told| told.power);
            let powers = told.and_then(|p| p.get(range.clone())).unwrap_or_default();
            let scale = follower.watch.scale();
            if let Some(sums) = open.machines.get_mut(at).filter(|_| follower.loaded()) {
                let mut all = *sums;
                let mut above = was;
                let steps = steps.iter().zip(powers).zip(pressures);
                for (((step, &power), &pressure), m3) in steps.zip(&mut self.delivered) {
                    *m3 += follower.spend(&mut all, above, *step);
                    follower.power = Some(power / scale);
                    above = pressure;
                }
                *sums = all;
            }
            powers.iter().for_each(|&p| follower.watch.counts.add(p));
            follower.power = powers.last().map(|power| power / scale);
            follower.told = Some(last);
        }
        let mut above = (before, was);
        for ((&time, &pressure), &m3) in times.iter().zip(pressures).zip(&self.delivered) {
            self.gather
                .delivered(m3, time - above.0, (above.1, pressure));
            above = (time, pressure);
            if time - phase.from >= SETTLING || !phase.begins {
                phase.fit.add((time - phase.from) as f64 * 1e-6, pressure);
            }
            self.gather.points(time, pressure);
        }
        phase.to = last;
        phase.off_shift &= open.off_shift;
        open.spanned += last - before;
        open.covered += if open.unknown { 0 } else { last - before };
        open.pressure = Some((open.pressure.map_or(first, |(first, _)| first), now));
        self.last = Some(last);
        self.pressure = Some((last, now));
        count
    }

    /// In how many of these rows nothing changes; `None` where the row before is no row to go on
    /// from, or where more than powers and one pressure is read.
    fn count_steady(&self, range: &Range<usize>, rows: &Rows<'_>) -> Option<usize> {
        let before = self.last?;
        self.phase.as_ref()?;
        let on = |follower: &Follower| follower.told == Some(before);
        let by_power = |told: &Told<'_>| told.running.is_none() && told.loaded.is_none();
        let whole = self.pressure.is_some_and(|(at, _)| at == before)
            && rows.flows.iter().all(|(flow, _)| flow.is_none())
            && rows.told.len() == self.followers.len()
            && rows.told.iter().all(by_power)
            && self.followers.iter().all(on);
        if !whole {
            return None;
        }
        let mut count = range.len();
        for (follower, told) in self.followers.iter().zip(&rows.told) {
            let powers = told.power?.get(range.start..range.start + count)?;
            count = follower.stays(powers);
        }
        let steps = rows.steps.get(range.start..range.start + count)?;
        let joins = |step: &&f64| **step > 0.0;
        count = steps.iter().take_while(joins).count();
        let pressures = rows.pressure?.get(range.start..range.start + count)?;
        count = pressures.iter().take_while(|p| !p.is_nan()).count();
        (count > 0).then_some(count)
    }
}
