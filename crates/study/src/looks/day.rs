//! The looks of one local day: the moment that says most, and one for each machine that it leaves
//! out.
//!
//! Must not know: rows.

use station::model::{Asset, Station};
use station::point::{Point, PointId};
use station::round::{Logged, LoggedRun, Reading, Round, Value};

use super::machines::Machines;
use super::motion::Motion;
use super::window::{Alike, Window};
use super::{place, take};
use crate::channel::Channel;
use crate::clean::left_out::stamp;
use crate::figures::State;

/// Sensors need so long after a machine has loaded or unloaded, s (common practice, no source).
const SETTLED_S: f64 = 60.0;
/// Power and pressure so long.
const QUICK_S: f64 = 5.0;
/// What follows the load slowly.
const SLOW: [Point; 4] = [
    Point::OilTemperature,
    Point::OutletTemperature,
    Point::SeparatorDrop,
    Point::IntakeDrop,
];
/// What follows it at once.
const QUICK: [Point; 4] = [
    Point::MachinePressure,
    Point::MachinePower,
    Point::MachineCurrent,
    Point::MachineSpeed,
];
/// Coolers and oil need so long after a rest, µs (common practice, no source).
pub(super) const WARM: i64 = 45 * 60 * 1_000_000;
/// A load is steady if it was the same, to so much, over the same time before.
const STEADY: f64 = 0.25;
/// What a moment is worth at which it is not.
const UNSTEADY: f64 = 0.5;
/// With less load of late a machine's oil says little of its coolers.
const LEAST_SHARE: f64 = 0.15;
/// A flow, and what the oil warms, is read only where the share on load is known to so much, one
/// standard deviation.
const MOST_SIGMA: f64 = 0.07;
/// The same hour each day lets the looks be compared: the machines are warm, and most people there.
const USUAL_MINUTE: u32 = 10 * 60;
/// What an hour earlier or later takes off.
const AN_HOUR: f64 = 0.02;
/// What a machine without settled temperatures is worth beside one with.
const COOL: f64 = 0.2;

/// A moment that can be looked at.
#[derive(Debug, Clone)]
struct Moment {
    worth: f64,
    /// Machines on load whose temperatures can be judged.
    shown: Vec<usize>,
    round: Round,
}

/// The best moments of a day so far.
#[derive(Debug, Default)]
pub(super) struct Best {
    of_all: Option<Moment>,
    /// The best at which each machine is shown.
    of_each: Vec<Option<Moment>>,
}

/// What a moment is made of.
pub(super) struct View<'a> {
    pub(super) station: &'a Station,
    pub(super) channels: &'a [Channel],
    pub(super) machines: &'a Machines,
    pub(super) window: &'a Window,
    /// How far from the usual time of day it is, h.
    pub(super) hours_off: f64,
}

/// How far a minute of the week is from the usual time of day, h.
pub(super) fn hours_off(minute_of_week: u32) -> f64 {
    f64::from((minute_of_week % 1440).abs_diff(USUAL_MINUTE)) / 60.0
}

impl Best {
    /// A minute has passed: is this moment better than those before?
    pub(super) fn look(&mut self, view: &View<'_>) {
        self.of_each
            .resize_with(view.station.machines.len(), || None);
        let Some(time) = view.window.newest() else {
            return;
        };
        let tells_states = view.machines.list.iter().any(Motion::told);
        if !tells_states {
            if self.of_all.is_none() {
                self.of_all = view.without_states(time);
            }
            return;
        }
        let Some((worth, alike, shown)) = view.best_alike(time) else {
            return;
        };
        let beats = |old: &Option<Moment>| old.as_ref().is_none_or(|old| old.worth < worth);
        let new_of_all = beats(&self.of_all);
        let new_of_each: Vec<usize> = shown
            .iter()
            .copied()
            .filter(|&i| self.of_each.get(i).is_some_and(beats))
            .collect();
        if !new_of_all && new_of_each.is_empty() {
            return;
        }
        let Some(round) = view.round(time, &alike, &shown) else {
            return;
        };
        let moment = Moment {
            worth,
            shown,
            round,
        };
        for i in new_of_each {
            if let Some(slot) = self.of_each.get_mut(i) {
                *slot = Some(moment.clone());
            }
        }
        if new_of_all {
            self.of_all = Some(moment);
        }
    }

    /// The day is over: its looks, in no order.
    pub(super) fn end(&mut self) -> Vec<Round> {
        let of_each = std::mem::take(&mut self.of_each);
        let Some(best) = self.of_all.take() else {
            return Vec::new();
        };
        let mut shown = best.shown.clone();
        let mut rounds = vec![best.round];
        for (i, moment) in of_each.into_iter().enumerate() {
            let Some(moment) = moment.filter(|_| !shown.contains(&i)) else {
                continue;
            };
            let mut round = moment.round;
            let new: Vec<usize> = moment
                .shown
                .into_iter()
                .filter(|i| !shown.contains(i))
                .collect();
            round.readings.retain(|r| says_of(r, &new));
            shown.extend(new);
            rounds.push(round);
        }
        rounds
    }
}

/// Whether a reading belongs to a second look that is taken for the sake of these machines.
fn says_of(reading: &Reading, machines: &[usize]) -> bool {
    match reading.id.asset {
        Asset::Site | Asset::Room => true,
        Asset::Machine(i) => machines.contains(&i) || reading.id.point == Point::MachineState,
        _ => false,
    }
}

impl View<'_> {
    /// What this moment is worth, the rows that belong together, and the machines that they show.
    fn best_alike(&self, time: i64) -> Option<(f64, Alike, Vec<usize>)> {
        let mut best: Option<(f64, Alike, Vec<usize>)> = None;
        for alike in self.window.alike(QUICK_S) {
            let on_load: Vec<(usize, f64, bool)> = (0..self.machines.list.len())
                .filter(|&i| self.machines.state_in(alike.code, i) == Some(State::Loaded))
                .filter_map(|i| {
                    let (worth, shown) = self.worth_of(i, &alike, time)?;
                    Some((i, worth, shown))
                })
                .collect();
            let worth: f64 = on_load.iter().map(|(_, worth, _)| worth).sum();
            let worth = worth * (1.0 - AN_HOUR * self.hours_off).max(0.1);
            let better = match &best {
                Some((old, rows, _)) => worth > *old || (worth >= *old && alike.rows > rows.rows),
                None => worth > 0.0,
            };
            if better {
                let shown = on_load.iter().filter(|(.., shown)| *shown);
                best = Some((worth, alike, shown.map(|(i, ..)| *i).collect()));
            }
        }
        best
    }

    /// What it is worth to see this machine on load now, and whether its temperatures can be judged:
    /// it is warm, its load is known, and it stays on load long enough. How much it is loaded counts
    /// only as far as its oil would not get warm else: whoever picks the greatest load picks the
    /// greatest error of the load, and takes it for true.
    fn worth_of(&self, machine: usize, alike: &Alike, time: i64) -> Option<(f64, bool)> {
        let load = self.machines.load(machine)?;
        let motion = self.machines.list.get(machine)?;
        let known = load.share >= LEAST_SHARE && load.sigma <= MOST_SIGMA;
        let shown =
            known && motion.is_warm(time, WARM) && self.window.has(alike, self.aged(machine));
        let worth = if load.change <= STEADY { 1.0 } else { UNSTEADY };
        Some((if shown { worth } else { COOL * worth }, shown))
    }

    /// The column that tells for how long a machine has been in its state, and how long it takes.
    fn aged(&self, machine: usize) -> (usize, f64) {
        (self.channels.len() + machine, SETTLED_S)
    }

    fn value(&self, id: PointId, of: impl Fn(usize) -> Option<f64>) -> Option<Reading> {
        let column = place(self.channels, Channel::Point(id))?;
        Some(Reading {
            id,
            value: Value::Number(of(column)?),
        })
    }

    /// Readings of things that no machine's state touches.
    fn weather(&self) -> Vec<Reading> {
        [
            (Asset::Site, Point::SiteAmbient),
            (Asset::Site, Point::SiteHumidity),
            (Asset::Site, Point::SiteBarometer),
            (Asset::Room, Point::RoomTemperature),
        ]
        .into_iter()
        .filter_map(|(asset, point)| {
            self.value(PointId { asset, point }, |c| self.window.median_of_all(c))
        })
        .collect()
    }

    /// A log that tells no machine's state: what can be read without.
    fn without_states(&self, time: i64) -> Option<Moment> {
        let all = self.window.alike(0.0).into_iter().max_by_key(|a| a.rows)?;
        let mut readings = self.weather();
        readings.extend(self.line(&all));
        self.done(time, readings, Vec::new()).map(|round| Moment {
            worth: 0.0,
            shown: Vec::new(),
            round,
        })
    }

    fn round(&self, time: i64, alike: &Alike, shown: &[usize]) -> Option<Round> {
        let mut readings = self.weather();
        for i in 0..self.machines.list.len() {
            if let Some(state) = self.machines.state_in(alike.code, i) {
                readings.extend(self.machine(i, state, alike, shown.contains(&i)));
            }
        }
        readings.extend(self.line(alike));
        let runs = (0..self.machines.list.len())
            .map(|i| {
                let motion = self.machines.list.get(i)?;
                let load = self.machines.load(i).filter(|_| motion.whole);
                let told = motion.told();
                told.then(|| LoggedRun {
                    load: load.map(|load| (load.share, load.sigma)),
                    ..LoggedRun::default()
                })
            })
            .collect();
        self.done(time, readings, runs)
    }

    fn machine(&self, i: usize, state: State, alike: &Alike, shown: bool) -> Vec<Reading> {
        let asset = Asset::Machine(i);
        let mut readings = vec![Reading {
            id: PointId {
                asset,
                point: Point::MachineState,
            },
            value: Value::Word(take::word(state)),
        }];
        let mut read = |points: &[Point], least: Option<(usize, f64)>| {
            readings.extend(points.iter().filter_map(|&point| {
                self.value(PointId { asset, point }, |c| {
                    self.window.median(c, alike, least)
                })
            }));
        };
        match state {
            State::Stopped => {}
            State::Loaded => {
                if shown {
                    read(&SLOW, Some(self.aged(i)));
                }
                // Pressure and power climb while it loads: they are read over the whole of it.
                read(&QUICK, None);
            }
            // Its power falls for as long as the separator blows down.
            _ => {
                read(&[Point::MachinePressure], None);
                read(&QUICK[1..], Some(self.aged(i)));
            }
        }
        readings
    }

    /// What is read along the line.
    fn line(&self, alike: &Alike) -> Vec<Reading> {
        self.channels
            .iter()
            .filter_map(|channel| match channel {
                Channel::Point(id) => Some(*id),
                _ => None,
            })
            .filter(|id| !matches!(id.asset, Asset::Site | Asset::Room | Asset::Machine(_)))
            .filter_map(|id| match id.point {
                // What flows is judged by what the machines gave over the same time.
                Point::HeaderFlow if self.knows_loads() => self.value(id, |c| self.window.mean(c)),
                Point::HeaderFlow => None,
                _ => self.value(id, |c| self.window.median(c, alike, None)),
            })
            .collect()
    }

    /// Whether the rows show all loads well enough to compare a flow with them.
    fn knows_loads(&self) -> bool {
        (0..self.machines.list.len()).all(|i| {
            let load = self.machines.load(i);
            load.is_none_or(|load| load.sigma <= MOST_SIGMA)
        })
    }

    fn done(
        &self,
        time: i64,
        mut readings: Vec<Reading>,
        machines: Vec<Option<LoggedRun>>,
    ) -> Option<Round> {
        readings.retain(take::plausible);
        if !readings.iter().any(|r| !matches!(r.id.asset, Asset::Site)) {
            return None;
        }
        let mut round = take::look(stamp(take::minute(time)), readings);
        round.logged = Some(Logged {
            at_rest: false,
            machines,
        });
        Some(round)
    }
}
