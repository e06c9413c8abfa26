//! Where rows go: cleaned, then reduced, in the order of the log.
//!
//! The first rows of each file teach its interval and, of machines, the levels between the states;
//! then everything is reduced as it comes.
//!
//! Must not know: text, threads.

mod air;
mod by_pressure;
mod current;
mod held;
mod machine;
mod meters;
mod track;

use physics::quantity::GaugePressure;
use station::file::problem::Problem;
use station::model::{Asset, Station};
use station::point::{Dimension, Point};

use self::air::Sure;
pub(crate) use self::air::{AirTrack, breathes, stated_volume};
pub(crate) use self::by_pressure::ByPressure;
use self::current::Current;
pub(crate) use self::machine::MachineTrack;
pub(crate) use self::meters::Meters;
use self::track::{Shared, Track};
use crate::channel::Channel;
use crate::clean::left_out::{LeftOut, List, Why, stamp};
use crate::figures::{ChannelDays, LevelsFrom, Study};
use crate::read::{Start, Taker, Told};
use crate::reduce::days::Calendar;
use crate::reduce::levels;
use crate::reduce::pressure::Pressure;
use crate::whole;

/// How well a dew point is read, K, one standard deviation (common practice, no source).
const DEW_POINT_SIGMA: f64 = 1.0;
/// So much of what was left out or rejected is told in words.
const TOLD: usize = 1000;

/// Takes the rows of all files.
pub(crate) struct Sink<'a> {
    station: &'a Station,
    list: List,
    calendar: Calendar,
    tracks: Vec<Track>,
    machines: Vec<MachineTrack>,
    air: AirTrack,
    first: Option<i64>,
    last: Option<i64>,
    /// The track of each column that rows have now.
    slots: Vec<usize>,
    gap: i64,
    shared: Shared,
}

impl<'a> Sink<'a> {
    pub(crate) fn new(station: &'a Station) -> Self {
        Self {
            station,
            list: List::default(),
            calendar: Calendar::new(&station.site.time_zone, station.site.hours.as_ref()),
            tracks: Vec::new(),
            machines: Vec::new(),
            air: AirTrack::new(station),
            first: None,
            last: None,
            slots: Vec::new(),
            gap: i64::MAX,
            shared: Shared::default(),
        }
    }

    /// The track of a channel, which begins if there is none yet.
    fn slot(&mut self, channel: Channel) -> usize {
        let known = self.tracks.iter().position(|t| t.channel == channel);
        known.unwrap_or_else(|| {
            let pressure = pressure_of(channel, self.station);
            self.tracks.push(Track::new(channel, pressure));
            self.tracks.len() - 1
        })
    }

    /// Learns from the first rows of files that begin; `has` says which channels rows have now.
    fn learn(&mut self, has: &dyn Fn(Channel) -> bool, starts: &[Start<'_>]) {
        let column = |channel: Channel| Some(starts.iter().find_map(|s| s.column(channel))?.0);
        for (machine, model) in self.station.machines.iter().enumerate() {
            let signals = [Channel::Running(machine), Channel::Loaded(machine)];
            let signalled = signals.iter().any(|&c| has(c));
            let reads = [Channel::power_of(machine), Channel::current_of(machine)].map(has);
            if !signalled && reads == [false, false] {
                continue;
            }
            let current = Current::of(model).filter(|_| reads == [false, true]);
            let known = self.machines.iter_mut().find(|t| t.machine == machine);
            let by_power = known.as_ref().is_some_and(|track| track.reads_power);
            if let Some(track) = known.filter(|_| by_power || reads == [false, false]) {
                (track.by_signals, track.current) = (signalled, current);
                continue;
            }
            let read = column(Channel::power_of(machine));
            let amperes = column(Channel::current_of(machine));
            let watts = current.zip(amperes).map(|(current, a)| current.all(a));
            let power = read.or(watts.as_deref());
            if power.is_none() && !signalled {
                continue;
            }
            let mut found = levels::of(model, power.unwrap_or_default());
            if signalled {
                found.from = LevelsFrom::Signals;
            }
            let known = self.machines.iter_mut().find(|t| t.machine == machine);
            if let Some(track) = known {
                // So far its signals or the pressure told its state.
                track.states.learned(found);
                (track.by_signals, track.current) = (signalled, current);
                track.reads_power = power.is_some();
                continue;
            }
            let mut track = MachineTrack::new(machine, model, found, signalled);
            (track.current, track.reads_power) = (current, power.is_some());
            self.machines.push(track);
        }
        self.by_pressure(has, starts);
        for start in starts {
            for (&channel, &learned) in start.channels.iter().zip(start.learned) {
                let of = self.machines.iter().find(|m| m.channel() == channel);
                let off = of.map(|machine| {
                    let watts = machine.states.levels().runs_w;
                    machine.current.map_or(watts, |c| c.amperes(watts))
                });
                let slot = self.slot(channel);
                if let Some(track) = self.tracks.get_mut(slot) {
                    track.learned(learned, off);
                }
            }
        }
    }

    /// Where nothing of any machine is logged, the pressure tells of one.
    fn by_pressure(&mut self, has: &dyn Fn(Channel) -> bool, starts: &[Start<'_>]) {
        let tells = |machine| {
            [
                Channel::power_of(machine),
                Channel::current_of(machine),
                Channel::Running(machine),
                Channel::Loaded(machine),
            ]
        };
        let mut machines = 0..self.station.machines.len();
        if machines.any(|machine| tells(machine).iter().any(|&c| has(c))) {
            self.air.by_pressure = None;
            return;
        }
        let named = starts.iter().flat_map(|start| start.channels);
        let followed = self.air.follows(named.copied());
        let begins = |channel| {
            let mut found = starts
                .iter()
                .filter_map(|s| Some((s.times, s.column(channel)?)));
            found.next()
        };
        let Some((times, (pressures, learned))) = followed.and_then(begins) else {
            return;
        };
        let before = self.air.by_pressure.take();
        let before = before.as_ref();
        let Some(found) = ByPressure::learn(self.station, times, pressures, learned, before) else {
            self.air.turns_unseen = true;
            return;
        };
        let machine = found.machine;
        if let Some(model) = self.station.machines.get(machine)
            && self.machines.iter().all(|track| track.machine != machine)
        {
            let mut levels = levels::of(model, &[]);
            levels.from = LevelsFrom::Pressure;
            let track = MachineTrack::new(machine, model, levels, false);
            self.machines.push(track);
        }
        self.air.by_pressure = Some(found);
    }

    /// Rows whose columns are known.
    fn reduce(&mut self, times: &[i64], columns: &[&[f64]], missing: &[bool]) {
        let (Some(&first), Some(&end)) = (times.first(), times.last()) else {
            return;
        };
        self.first = self.first.or(Some(first));
        self.shared.set(
            times,
            self.last,
            self.gap,
            &mut self.calendar,
            &mut self.list,
        );
        for ((&slot, column), &missing) in self.slots.iter().zip(columns).zip(missing) {
            let Some(track) = self.tracks.get_mut(slot) else {
                continue;
            };
            let column = column.get(..times.len()).unwrap_or_default();
            let of = |m: &&mut MachineTrack| !m.by_signals && m.channel() == track.channel;
            let machine = self.machines.iter_mut().find(of);
            track.take(
                &self.shared,
                (times, column),
                missing,
                self.last,
                &mut self.calendar,
                machine,
                &mut self.list,
            );
        }
        for machine in self.machines.iter_mut().filter(|m| m.by_signals) {
            let tracks = &self.tracks;
            let find = |channel: Channel| {
                let slots = self.slots.iter().zip(columns);
                let mut found = slots
                    .filter(|(slot, _)| tracks.get(**slot).is_some_and(|t| t.channel == channel));
                found.next().map(|(_, column)| *column)
            };
            let gap = |channel: Channel| {
                let track = tracks.iter().find(|t| t.channel == channel);
                track
                    .filter(|_| find(channel).is_some())
                    .map_or(0, Track::gap)
            };
            let of = machine.machine;
            let signals = gap(Channel::Running(of)).max(gap(Channel::Loaded(of)));
            let gaps = (signals, gap(Channel::power_of(of)));
            machine.by_signals(
                &self.shared.hours,
                times,
                [
                    find(Channel::Running(of)),
                    find(Channel::Loaded(of)),
                    find(Channel::power_of(of)),
                ],
                gaps,
            );
        }
        let tracks = self.air.uses().iter();
        let tracks = tracks.map(|&at| self.slots.get(at).and_then(|&s| self.tracks.get(s)));
        let sure: Vec<Sure<'_>> = tracks.map(Sure::of).collect();
        self.air.take(
            self.station,
            (&self.shared, &mut self.calendar),
            (times, columns),
            &sure,
            &mut self.machines,
        );
        self.last = Some(end);
    }

    /// Everything was read.
    pub(crate) fn finish(mut self, read: Told) -> Result<Study, Vec<Problem>> {
        if self.first.is_none() {
            return Err(vec![nothing(&read)]);
        }
        self.flush();
        for track in &self.tracks {
            track.tell_last_run(&mut self.list);
        }
        let is_dew_point = |track: &&Track| dew_point_of(track.channel).is_some();
        let (dew, pressed): (Vec<&Track>, Vec<&Track>) = self.tracks.iter().partition(is_dew_point);
        let of = |track: &Track| track.pressure.as_ref()?.finish(track.channel);
        let pressures: Vec<_> = pressed.into_iter().filter_map(of).collect();
        let of = |track: &Track| track.pressure.as_ref()?.finish_dew_point(track.channel);
        let dew_points: Vec<_> = dew.into_iter().filter_map(of).collect();
        let channels: Vec<ChannelDays> = self
            .tracks
            .into_iter()
            .map(|track| ChannelDays {
                channel: track.channel,
                days: track.sums.finish(),
            })
            .collect();
        let greatest = |channel: Channel| {
            let days = channels
                .iter()
                .find(|c| c.channel == channel)
                .map(|c| c.days.iter());
            days.into_iter()
                .flatten()
                .map(|day| day.max)
                .fold(f64::NEG_INFINITY, f64::max)
        };
        let mut left_out: Vec<LeftOut> = read.left_out;
        left_out.append(&mut self.list.kept);
        for told in &mut left_out {
            if let (Why::Stuck, Some(channel), Some(value)) = (told.why, told.channel, told.value)
                && value >= greatest(channel)
                && greatest(channel).is_finite()
            {
                told.why = Why::Saturated;
            }
        }
        left_out.sort_by_key(|told| (told.from, told.to, told.channel, told.why));
        left_out.truncate(TOLD);
        let seen = whole::Read {
            station: self.station,
            channels: &channels,
            pressures: &pressures,
            dew_points: &dew_points,
            interval_s: read.sources.last().and_then(|s| s.interval_s),
        };
        let whole = whole::of(&seen, self.machines, self.air.end());
        Ok(Study {
            from: self.first.map(stamp),
            to: self.last.map(stamp),
            rows: read.rows,
            left_out,
            left_out_total: read.left_out_total + self.list.total,
            sources: read.sources,
            machines: whole.machines,
            station: whole.station,
            storage: whole.storage,
            control_bands: whole.control_bands,
            demand: whole.demand,
            leakage: whole.leakage,
            remarks: whole.remarks,
            close_up: whole.close_up,
            year: whole.year,
            findings: whole.findings,
            not_judged: whole.not_judged,
            channels,
            pressures,
            dew_points,
            rejected: read.rejected,
            rejected_total: read.rejected_total,
        })
    }

    /// What is held back belongs to the columns that rows had so far.
    fn flush(&mut self) {
        self.air
            .flush(self.station, &mut self.calendar, &mut self.machines);
    }
}

impl Taker for Sink<'_> {
    fn columns(&mut self, channels: &[(Channel, i64)], gap: i64, starts: &[Start<'_>]) {
        self.flush();
        self.gap = gap;
        self.learn(&|channel| channels.iter().any(|c| c.0 == channel), starts);
        self.slots = channels.iter().map(|c| self.slot(c.0)).collect();
        for (&(_, of_channel), &slot) in channels.iter().zip(&self.slots) {
            if let Some(track) = self.tracks.get_mut(slot) {
                track.joins(of_channel, gap);
            }
        }
        let first = starts.iter().filter_map(|s| s.times.first()).min();
        let first = first.copied().or(self.last).unwrap_or(0);
        self.air
            .begin(self.station, &self.machines, (channels, first));
    }

    fn rows(&mut self, times: &[i64], columns: &[&[f64]], missing: &[bool]) {
        self.reduce(times, columns, missing);
    }
}

/// Why nothing can be studied.
fn nothing(read: &Told) -> Problem {
    let (line, what, hint) = match read.rejected.first() {
        Some(first) => (
            Some(first.line),
            format!("no row can be used; the first: {}", first.problem),
            first.hint.clone(),
        ),
        None if read.rows > 0 => (
            None,
            "no row lies in the time that is asked for".to_owned(),
            "check from when to when".to_owned(),
        ),
        None => match read.sources.iter().find_map(|s| s.fault.as_deref()) {
            Some(fault) => (
                None,
                format!("the file could not be read on after its header: {fault}"),
                "check that it was copied whole".to_owned(),
            ),
            None => (
                None,
                "there are no rows under the header".to_owned(),
                "check that the logger recorded, and that the file was copied whole".to_owned(),
            ),
        },
    };
    Problem {
        line,
        at: String::new(),
        what,
        hint: Some(hint),
    }
}

/// The dryer whose dew point a channel is.
fn dew_point_of(channel: Channel) -> Option<usize> {
    let Channel::Point(id) = channel else {
        return None;
    };
    match (id.asset, id.point) {
        (Asset::Dryer(at), Point::DryerDewPoint) => Some(at),
        _ => None,
    }
}

/// What the distribution of a pressure or a dew point starts from; `None` for other channels.
fn pressure_of(channel: Channel, station: &Station) -> Option<Pressure> {
    let Channel::Point(id) = channel else {
        return None;
    };
    if let Some(at) = dew_point_of(channel) {
        let wanted = station.dryers.get(at).map(|dryer| dryer.dew_point);
        let margin = wanted.map_or(0.0, |wanted| 1.96 * wanted.sigma.hypot(DEW_POINT_SIGMA));
        return Some(Pressure::dew_point(wanted.map(|w| w.value.si()), margin));
    }
    let wanted = match id.asset {
        Asset::Header(at) => station.headers.get(at).and_then(|header| header.wanted),
        _ => None,
    };
    let is = id.point.dimension() == Dimension::GaugePressure;
    is.then(|| Pressure::new(wanted.map(GaugePressure::si)))
}
