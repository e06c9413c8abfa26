//! Water that a drain gave beside what fell out since the round before.
//!
//! A shorter way than the balance that a finding rests on (see `water`): the share of water in the
//! air that fell out at both rounds, and the air that the counters tell. Must not know: findings.

use std::collections::BTreeMap;

use station::forward::State;
use station::model::{Asset, Station};
use station::round::Round;

use crate::memory::Hours;
use crate::water::by_its_walls;

use super::stream::day_of;

/// Owing less than this, nothing can be told from what was collected, L (common practice, no source).
const LEAST_OWED_L: f64 = 1.5;
/// What both rounds' weather says of the hours between them is known so well at best, as a share, and
/// by so much of their difference worse (common practice, no source).
const WEATHER_SHARE: f64 = 0.15;
const WEATHER_PARTS: f64 = 0.25;

/// Where air comes hotter than it did, what falls out at a vessel's walls is another share than it was: known
/// so badly it says nothing of the drain (from memory).
const WALLS_KNOWN: f64 = 0.1;

/// At the newest round: its day, and for each place what falls out there of a kilogram of dry air.
#[derive(Debug, Clone, Default)]
pub(crate) struct Fallen {
    day: Option<f64>,
    share: BTreeMap<Asset, f64>,
    /// How badly that is known, as a share of it.
    walls: BTreeMap<Asset, f64>,
    /// Whether an outlet is hotter than new.
    hot: bool,
}

impl Fallen {
    pub(crate) fn of(state: &State, hot: bool, day: f64) -> Self {
        let share = state.owed.iter().filter_map(|owed| {
            let dry = state.place(owed.on)?.dry_air.si();
            (dry > 0.0).then(|| (owed.on, owed.kg_s / dry))
        });
        let walls = state.owed.iter().map(|o| (o.on, by_its_walls(state, o)));
        Self {
            day: Some(day),
            share: share.collect(),
            walls: walls.collect(),
            hot,
        }
    }

    /// Litres that the one drain of a place owes since the round before, `earlier`, and how far that may
    /// be off.
    pub(crate) fn owed(
        &self,
        earlier: &Self,
        station: &Station,
        state: &State,
        round: &Round,
        drain: usize,
    ) -> Option<(f64, f64)> {
        let on = station.drains.get(drain)?.on;
        if station.drains_of(on).count() > 1 {
            return None;
        }
        let air = (0..station.machines.len())
            .filter(|&i| !matches!(on, Asset::Machine(j) if j != i))
            .map(|i| {
                let hours = Hours::of(round, Asset::Machine(i))?;
                let since = round
                    .step(Asset::Machine(i), station::point::Point::HoursRun)?
                    .since;
                // Hours of another stretch of time brought other water.
                ((day_of(since) - earlier.day?).abs() < 1e-6).then_some(())?;
                let dry = match &state.machines[i] {
                    Some(machine) => machine.dry_air.si(),
                    None if hours.loaded <= 0.0 => 0.0,
                    None => return None,
                };
                Some(dry * hours.loaded * 3600.0)
            })
            .sum::<Option<f64>>()?;
        let (now, before) = (*self.share.get(&on)?, *earlier.share.get(&on)?);
        let litres = 0.5 * (now + before) * air;
        let walls = self.walls.get(&on).copied().unwrap_or_default();
        let known = !(self.hot || earlier.hot) || walls < WALLS_KNOWN;
        let sigma = (WEATHER_SHARE * litres).hypot(WEATHER_PARTS * (now - before).abs() * air);
        (litres >= LEAST_OWED_L && known).then_some((litres, sigma))
    }
}
