//! With the plant at rest: the cycles of the machine that runs alone, and the look that they make.
//!
//! Must not know: working days, when the plant rests; it is told.

use station::model::{Asset, Station};
use station::point::{Point, PointId, Word};
use station::round::{Logged, Reading, Round, Value};

use super::machines::Machines;
use super::{place, take};
use crate::channel::Channel;
use crate::clean::left_out::stamp;
use crate::figures::State;

/// So many cycles of one rest tell what goes then (common practice, no source).
const LEAST_CYCLES: usize = 4;
/// They must fill this time at least, s.
const LEAST_S: f64 = 20.0 * 60.0;
/// Each part of a cycle must last so many intervals of the log, or rows do not resolve it.
const LEAST_INTERVALS: f64 = 2.0;
/// And of the cycles no more than this share may have a part that is shorter than one and a half: rows
/// that fall anywhere into short cycles make such parts by the dozen.
const MOST_BRIEF: f64 = 0.1;
/// A rest that goes on is told each time that so much of it has passed, µs.
const LONGEST: i64 = 24 * 3600 * 1_000_000;

/// What stands beside a cycle, as means over it.
const BESIDE: [fn(usize) -> Option<PointId>; 5] = [
    |_| id(Asset::Site, Point::SiteAmbient),
    |_| id(Asset::Site, Point::SiteHumidity),
    |_| id(Asset::Site, Point::SiteBarometer),
    |_| id(Asset::Room, Point::RoomTemperature),
    |machine| id(Asset::Machine(machine), Point::MachinePressure),
];

const fn id(asset: Asset, point: Point) -> Option<PointId> {
    Some(PointId { asset, point })
}

/// A cycle that is going on: a load, and what follows until the next.
#[derive(Debug, Clone)]
struct Open {
    machine: usize,
    from: i64,
    unloaded: Option<i64>,
    last: i64,
    /// Of each column: value times seconds, and seconds.
    sums: Vec<(f64, f64)>,
}

/// A whole cycle.
#[derive(Debug, Clone)]
struct Cycle {
    machine: usize,
    from: i64,
    to: i64,
    loaded_s: f64,
    other_s: f64,
    sums: Vec<(f64, f64)>,
}

impl Cycle {
    fn share(&self) -> f64 {
        self.loaded_s / (self.loaded_s + self.other_s)
    }
}

/// The cycles of a rest.
#[derive(Debug, Default)]
pub(super) struct Rest {
    open: Option<Open>,
    cycles: Vec<Cycle>,
    /// What each machine did at the row before.
    before: Vec<Option<State>>,
}

impl Rest {
    /// What came before does not join on.
    pub(super) fn forget(&mut self) {
        self.open = None;
        self.before.clear();
    }

    /// A row with the plant at rest.
    pub(super) fn row(&mut self, time: i64, machines: &Machines, values: &[f64]) {
        let now: Vec<Option<State>> = machines.list.iter().map(|m| m.state).collect();
        let before = std::mem::replace(&mut self.before, now.clone());
        if let Some(open) = &mut self.open {
            open.add(time, values);
        }
        let mut running = (0..now.len()).filter(|&i| now[i] != Some(State::Stopped));
        let (first, second) = (running.next(), running.next());
        let loaded = |states: &[Option<State>], i: usize| {
            states.get(i).copied().flatten() == Some(State::Loaded)
        };
        match (first, second) {
            // A machine that the log does not show may run as well.
            (Some(i), None) if now[i].is_some() => {
                let known = before.get(i).copied().flatten().is_some();
                if self.open.as_ref().is_some_and(|open| open.machine != i) {
                    self.open = None;
                }
                match (loaded(&before, i), loaded(&now, i)) {
                    (false, true) if known => {
                        self.close(time);
                        self.open = Some(Open::new(i, time, values.len()));
                    }
                    (true, false) => self.unload(time),
                    _ => {}
                }
            }
            // It has stopped between two loads.
            (None, None) => self.unload(time),
            _ => self.open = None,
        }
    }

    fn unload(&mut self, time: i64) {
        if let Some(open) = &mut self.open {
            open.unloaded.get_or_insert(time);
        }
    }

    fn close(&mut self, time: i64) {
        let Some(open) = self.open.take() else { return };
        let Some(unloaded) = open.unloaded else {
            return;
        };
        self.cycles.push(Cycle {
            machine: open.machine,
            from: open.from,
            to: time,
            loaded_s: (unloaded - open.from) as f64 * 1e-6,
            other_s: (time - unloaded) as f64 * 1e-6,
            sums: open.sums,
        });
    }

    /// Whether so much of a rest has passed that it is told.
    pub(super) fn is_long(&self) -> bool {
        let ends = self.cycles.first().zip(self.cycles.last());
        ends.is_some_and(|(first, last)| last.to - first.from >= LONGEST)
    }

    /// The look that the rest makes, which is over; `None` if its cycles do not tell.
    pub(super) fn end(
        &mut self,
        station: &Station,
        channels: &[Channel],
        interval_s: f64,
    ) -> Option<Round> {
        let cycles = std::mem::take(&mut self.cycles);
        self.forget();
        let count = |machine: usize| cycles.iter().filter(|c| c.machine == machine).count();
        let machine = (0..station.machines.len()).max_by_key(|&i| count(i))?;
        let mut cycles: Vec<Cycle> = cycles
            .into_iter()
            .filter(|c| c.machine == machine)
            .collect();
        let all: f64 = cycles.iter().map(|c| c.loaded_s + c.other_s).sum();
        if cycles.len() < LEAST_CYCLES || all < LEAST_S {
            return None;
        }
        let begins = (cycles.first()?.from, cycles.last()?.to);
        // The middle half by share: a consumer that ran for a while is not taken for leaks.
        cycles.sort_by(|a, b| a.share().total_cmp(&b.share()));
        let quarter = cycles.len() / 4;
        let kept = cycles.get(quarter..cycles.len() - quarter)?;
        let mean = |of: fn(&Cycle) -> f64| kept.iter().map(of).sum::<f64>() / kept.len() as f64;
        let (loaded_s, other_s) = (mean(|c| c.loaded_s), mean(|c| c.other_s));
        let brief = |c: &&Cycle| c.loaded_s.min(c.other_s) < 1.5 * interval_s;
        let resolved =
            (cycles.iter().filter(brief).count() as f64) <= MOST_BRIEF * cycles.len() as f64;
        if loaded_s.min(other_s) < LEAST_INTERVALS * interval_s || !resolved {
            return None;
        }
        let middle = begins.0 + (begins.1 - begins.0) / 2;
        let at = kept.iter().min_by_key(|c| (c.from - middle).abs())?.from;
        let mut readings = states(station, machine);
        for beside in BESIDE {
            let Some(id) = beside(machine) else { continue };
            let Some(column) = place(channels, Channel::Point(id)) else {
                continue;
            };
            let sums = kept.iter().filter_map(|c| c.sums.get(column));
            let (sum, seconds) = sums.fold((0.0, 0.0), |(s, t), (v, d)| (s + v, t + d));
            if seconds > 0.5 * kept.iter().map(|c| c.loaded_s + c.other_s).sum::<f64>() {
                readings.push(number(id.asset, id.point, sum / seconds));
            }
        }
        let asset = Asset::Machine(machine);
        readings.push(number(asset, Point::LoadTime, loaded_s));
        readings.push(number(asset, Point::UnloadTime, other_s));
        readings.retain(take::plausible);
        Some(Round {
            logged: Some(Logged {
                at_rest: true,
                machines: Vec::new(),
            }),
            ..take::look(stamp(take::minute(at)), readings)
        })
    }
}

/// The machine on load, all others stopped.
fn states(station: &Station, machine: usize) -> Vec<Reading> {
    (0..station.machines.len())
        .map(|i| Reading {
            id: PointId {
                asset: Asset::Machine(i),
                point: Point::MachineState,
            },
            value: Value::Word(if i == machine {
                Word::Loaded
            } else {
                Word::Stopped
            }),
        })
        .collect()
}

fn number(asset: Asset, point: Point, value: f64) -> Reading {
    Reading {
        id: PointId { asset, point },
        value: Value::Number(value),
    }
}

impl Open {
    fn new(machine: usize, time: i64, width: usize) -> Self {
        Self {
            machine,
            from: time,
            unloaded: None,
            last: time,
            sums: vec![(0.0, 0.0); width],
        }
    }

    fn add(&mut self, time: i64, values: &[f64]) {
        let step = (time - self.last) as f64 * 1e-6;
        self.last = time;
        for ((sum, seconds), value) in self.sums.iter_mut().zip(values) {
            if !value.is_nan() {
                *sum += value * step;
                *seconds += step;
            }
        }
    }
}
