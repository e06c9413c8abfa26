//! The air: all machines and one pressure together, row by row.
//!
//! A row need not tell everything, since each logger writes at its own interval. What it does not
//! tell stays as it was read last, until that is longer ago than a gap of that reading.
//!
//! Each row adds to the hour it lies in: how long each machine delivered, how much, at what
//! pressure. Rows between two changes of state make a [`phase::Phase`]; what phases tell, gathers in
//! [`gather::Gather`].
//!
//! Must not know: files, columns, money.

pub(crate) mod close_up;
pub(crate) mod gather;
pub(crate) mod phase;
mod steady;

use station::model::{Machine, WorkingHours};

use self::gather::Gather;
use self::phase::{Fit, Phase};
use super::days::Hour;
use super::signals::Signals;
use super::watch::Watch;
use crate::figures::{Levels, State};
use crate::forward::Line;

/// After a change of state so long is not fitted: valves take their time, µs (common practice, no
/// source).
const SETTLING: i64 = 2_000_000;

/// What a machine did in one hour.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct Delivered {
    /// On load, s.
    pub(crate) loaded_s: f64,
    /// The same, weighed with the share of full delivery.
    pub(crate) full_s: f64,
    /// That times the pressure, Pa s, over the part in which the pressure was read.
    pub(crate) pressure_s: f64,
    /// That part, s.
    pub(crate) read_s: f64,
}

/// One hour of the station.
#[derive(Debug, Clone)]
pub(crate) struct AirHour {
    pub(crate) hour: Hour,
    /// µs.
    pub(crate) from: i64,
    pub(crate) off_shift: bool,
    /// µs that rows cover; none where the state of a machine was not known all the time.
    pub(crate) covered: i64,
    unknown: bool,
    /// µs that rows cover, whatever they tell.
    pub(crate) spanned: i64,
    pub(crate) machines: Vec<Delivered>,
    /// Of each meter the flow, m³/s · s, and for how long it was read, s.
    pub(crate) flows: Vec<(f64, f64)>,
    /// The first and the last pressure, Pa.
    pub(crate) pressure: Option<(f64, f64)>,
}

impl AirHour {
    /// What the meters say in a row; `last` is what each said before.
    fn measured(
        &mut self,
        last: &mut Vec<Option<(i64, f64)>>,
        row: usize,
        time: i64,
        flows: &[(Option<&[f64]>, i64)],
    ) {
        last.resize(flows.len(), None);
        self.flows.resize(flows.len(), (0.0, 0.0));
        for ((sums, last), &(column, gap)) in self.flows.iter_mut().zip(last).zip(flows) {
            let flow = value(column, row);
            if flow.is_nan() {
                continue;
            }
            if let Some((at, before)) = last.filter(|(at, _)| time - at <= gap) {
                let step = (time - at) as f64 * 1e-6;
                sums.0 += 0.5 * (before + flow) * step;
                sums.1 += step;
            }
            *last = Some((time, flow));
        }
    }

    /// The measured flow of all meters together, m³/s · s, and for how long it was read, s.
    pub(crate) fn flow(&self) -> (f64, f64) {
        let shortest = self.flows.iter().map(|(_, s)| *s).reduce(f64::min);
        let seconds = shortest.unwrap_or(0.0);
        if seconds <= 0.0 {
            return (0.0, 0.0);
        }
        let mean: f64 = self.flows.iter().map(|(m3, s)| m3 / s).sum();
        (seconds * mean, seconds)
    }
}

/// One machine, from row to row.
#[derive(Debug, Clone)]
pub(crate) struct Follower {
    pub(crate) machine: usize,
    pub(crate) line: Line,
    levels: Levels,
    watch: Watch,
    state: Option<State>,
    power: Option<f64>,
    signals: Signals,
    /// When its state was told last, µs.
    told: Option<i64>,
}

impl Follower {
    pub(crate) fn new(index: usize, machine: &Machine, line: Line, levels: Levels) -> Self {
        Self {
            machine: index,
            line,
            levels,
            watch: Watch::new(machine, levels),
            state: None,
            power: None,
            signals: Signals::default(),
            told: None,
        }
    }

    /// From here on its state is told by these levels.
    pub(crate) fn learned(&mut self, levels: Levels) {
        if self.levels.from != levels.from {
            self.levels = levels;
        }
    }

    /// Whether its state was told once, but longer ago than a gap.
    fn unknown(&self, time: i64, gap: i64) -> bool {
        self.told.is_some_and(|told| time - told > gap)
    }

    fn loaded(&self) -> bool {
        self.state == Some(State::Loaded)
    }
}

/// The columns of a batch that a machine is told from.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Told<'a> {
    pub(crate) power: Option<&'a [f64]>,
    pub(crate) running: Option<&'a [f64]>,
    pub(crate) loaded: Option<&'a [f64]>,
    /// A longer time without any of them is a gap, µs.
    pub(crate) gap: i64,
}

/// The rows of a batch.
#[derive(Debug, Clone)]
pub(crate) struct Rows<'a> {
    pub(crate) times: &'a [i64],
    /// Seconds since the row before; 0 where it does not join on.
    pub(crate) steps: &'a [f64],
    /// Of each follower, in order.
    pub(crate) told: Vec<Told<'a>>,
    pub(crate) pressure: Option<&'a [f64]>,
    /// A longer time without a pressure is a gap, µs.
    pub(crate) gap: i64,
    /// Of each meter the flow, and the time that is a gap, µs.
    pub(crate) flows: Vec<(Option<&'a [f64]>, i64)>,
}

/// All machines and one pressure.
#[derive(Debug, Clone)]
pub(crate) struct Air {
    pub(crate) followers: Vec<Follower>,
    pub(crate) hours: Vec<AirHour>,
    pub(crate) gather: Gather,
    phase: Option<Phase>,
    /// The time of the last row.
    last: Option<i64>,
    /// The last pressure and the last flow of each meter, and when they were read.
    pressure: Option<(i64, f64)>,
    flows: Vec<Option<(i64, f64)>>,
    /// m³ delivered up to each of the rows that are being added at once.
    delivered: Vec<f64>,
}

fn value(column: Option<&[f64]>, row: usize) -> f64 {
    column.and_then(|c| c.get(row).copied()).unwrap_or(f64::NAN)
}

impl Air {
    pub(crate) fn new(volume: Option<f64>) -> Self {
        Self {
            followers: Vec::new(),
            hours: Vec::new(),
            gather: Gather::new(volume),
            phase: None,
            last: None,
            pressure: None,
            flows: Vec::new(),
            delivered: Vec::new(),
        }
    }

    /// Adds the rows of one hour of the day, which may be a part of it.
    pub(crate) fn add(
        &mut self,
        hour: Hour,
        mut range: std::ops::Range<usize>,
        rows: &Rows<'_>,
        shifts: Option<&WorkingHours>,
    ) {
        let from = rows.times.get(range.start).copied().unwrap_or(0);
        if self.hours.last().is_none_or(|open| open.hour != hour) {
            self.new_hour(hour, from, shifts);
        } else {
            range.start += self.steady(range.clone(), rows);
        }
        while range.start < range.end {
            let row = range.start;
            let (Some(&time), Some(&step)) = (rows.times.get(row), rows.steps.get(row)) else {
                return;
            };
            self.row(row, (time, step), rows);
            range.start += 1 + self.steady(row + 1..range.end, rows);
        }
    }

    fn new_hour(&mut self, hour: Hour, from: i64, shifts: Option<&WorkingHours>) {
        let day = self.hours.last().map(|open| open.hour.date);
        if day.is_some_and(|day| day != hour.date) {
            for follower in &mut self.followers {
                if let Some(levels) = follower.watch.night(&follower.levels) {
                    follower.levels = levels;
                }
            }
        }
        let at = super::totals::of_week(hour.date, hour.hour);
        self.hours.push(AirHour {
            hour,
            from,
            off_shift: super::totals::rests(shifts, at),
            covered: 0,
            unknown: false,
            spanned: 0,
            machines: vec![Delivered::default(); self.followers.len()],
            flows: Vec::new(),
            pressure: None,
        });
    }

    fn row(&mut self, row: usize, (time, step): (i64, f64), rows: &Rows<'_>) {
        let gap_of = |at: usize| rows.told.get(at).map_or(0, |told| told.gap);
        let mut followers = self.followers.iter().enumerate();
        let unknown = followers.any(|(at, follower)| follower.unknown(time, gap_of(at)));
        let steps = step > 0.0 && self.last.is_some();
        let joins = steps && !unknown;
        if !joins {
            self.end_phase(false);
            self.gather.breaks();
        }
        let pressure = value(rows.pressure, row);
        let Some(open) = self.hours.last_mut() else {
            return;
        };
        open.machines
            .resize(self.followers.len(), Delivered::default());
        let before = self.last.unwrap_or(time);
        let fresh = self.pressure.filter(|(at, _)| before - at <= rows.gap);
        let last_pressure = fresh.map_or(f64::NAN, |(_, pressure)| pressure);
        open.spanned += if steps { time - before } else { 0 };
        open.unknown |= unknown;
        if open.unknown {
            open.covered = 0;
        } else if joins {
            // A step goes to the hour of its later row: at most one step an hour.
            open.covered += time - before;
        }
        open.measured(&mut self.flows, row, time, &rows.flows);
        let mut changed = None;
        let (mut loaded, mut whole, mut delivered) = (0_u64, true, 0.0);
        for (at, follower) in self.followers.iter_mut().enumerate() {
            let told = rows.told.get(at).copied().unwrap_or_default();
            let power = value(told.power, row);
            let known = steps && !follower.unknown(time, told.gap);
            let was = follower.state.filter(|_| known);
            if known && let Some(sums) = open.machines.get_mut(at) {
                delivered += follower.spend(sums, last_pressure, step);
            }
            let by_signals = told.running.is_some() || told.loaded.is_some();
            let state = if by_signals {
                if !known {
                    follower.signals = Signals::default();
                }
                let running = told.running.map(|_| value(told.running, row));
                let loaded = told.loaded.map(|_| value(told.loaded, row));
                follower.signals.state(running, loaded)
            } else if power.is_nan() {
                None
            } else {
                follower.watch.counts.add(power);
                Some(follower.levels.state(power, was))
            };
            if state.is_some() {
                follower.told = Some(time);
            }
            // A row that tells nothing leaves things as they were.
            let state = state.or(was);
            if !power.is_nan() {
                follower.power = Some(power / follower.watch.scale());
            }
            if state != was || !known {
                changed = changed.or((joins && was.is_some()).then_some((at, state)));
                follower.state = state;
            }
            if follower.loaded() {
                loaded |= 1_u64.checked_shl(at as u32).unwrap_or(0);
                whole &= follower.line.is_whole();
            }
        }
        let off_shift = open.off_shift;
        if !pressure.is_nan() {
            let first = open.pressure.map_or(pressure, |(first, _)| first);
            open.pressure = Some((first, pressure));
        }
        if joins {
            self.gather
                .delivered(delivered, time - before, (last_pressure, pressure));
        }
        if let Some((at, state)) = changed {
            self.end_phase(true);
            self.gather.changed(at, state, last_pressure);
        }
        // The pressure was lost for a while: a line through what is left of it says nothing.
        let lost = |(at, _): (i64, f64)| time - at > rows.gap;
        if !pressure.is_nan() && self.pressure.is_some_and(lost) {
            if let Some(phase) = &mut self.phase {
                phase.torn = true;
            }
            self.gather.lost();
        }
        let phase = self.phase.get_or_insert(Phase {
            from: if changed.is_some() { before } else { time },
            to: time,
            loaded,
            whole,
            off_shift: true,
            begins: changed.is_some(),
            ends: false,
            torn: false,
            fit: Fit::default(),
            fit_from: if changed.is_some() { before } else { time },
        });
        phase.to = time;
        phase.off_shift &= off_shift;
        if !pressure.is_nan() {
            if time - phase.from >= SETTLING || !phase.begins {
                phase.fit.add((time - phase.from) as f64 * 1e-6, pressure);
            }
            self.gather.points(time, pressure);
        }
        self.last = Some(time);
        if !pressure.is_nan() {
            self.pressure = Some((time, pressure));
        }
    }

    fn end_phase(&mut self, by_change: bool) {
        if let Some(mut phase) = self.phase.take() {
            phase.ends = by_change;
            if by_change {
                // The row that changed is not its own; it ends at the row before.
                phase.to = self.last.unwrap_or(phase.to);
            }
            self.gather.phase(&phase);
        }
    }

    /// The log ends.
    pub(crate) fn end(&mut self) {
        self.end_phase(false);
        self.gather.breaks();
    }
}

impl Follower {
    /// The time up to a row goes to the state of the row before; m³ that were delivered in it.
    #[inline(always)]
    fn spend(&self, sums: &mut Delivered, pressure: f64, step: f64) -> f64 {
        if !self.loaded() {
            return 0.0;
        }
        let known = !pressure.is_nan();
        let at = if known { pressure } else { self.line.usual };
        let full_s = self.line.share(self.power, at) * step;
        sums.loaded_s += step;
        sums.full_s += full_s;
        if known {
            sums.pressure_s += full_s * pressure;
            sums.read_s += full_s;
        }
        full_s * self.line.full(at)
    }
}
