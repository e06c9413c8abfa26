//! Where rows go: cleaned, then reduced, in the order of the log.
//!
//! The first rows of each file are held until they have taught its interval and, of machines, the
//! levels between the states; then everything is reduced as it comes.
//!
//! Must not know: text, threads.

mod air;
mod by_pressure;
mod current;
mod held;
mod machine;
mod meters;
mod track;

use jiff::Timestamp;
use physics::quantity::GaugePressure;
use station::file::problem::Problem;
use station::model::{Asset, Station};
use station::point::{Dimension, Point};

use self::air::Sure;
pub(crate) use self::air::{AirTrack, breathes, stated_volume};
use self::by_pressure::ByPressure;
use self::current::Current;
pub(crate) use self::machine::MachineTrack;
pub(crate) use self::meters::Meters;
use self::track::{Shared, Track};
use crate::channel::Channel;
use crate::clean::learn::{self, Learned, learn};
use crate::clean::left_out::{LeftOut, List, Why, stamp};
use crate::clean::order::Order;
use crate::figures::{ChannelDays, LevelsFrom, RejectedCell, SourceRead, Study};
use crate::options::LogOptions;
use crate::read::Plan;
use crate::read::batch::Batch;
use crate::reduce::days::Calendar;
use crate::reduce::levels;
use crate::reduce::pressure::Pressure;
use crate::whole;

/// How well a dew point is read, K, one standard deviation (common practice, no source).
const DEW_POINT_SIGMA: f64 = 1.0;
/// So much of what was left out or rejected is told in words.
const TOLD: usize = 1000;

/// Rows that are held while the start of a file is learned from.
#[derive(Debug, Default)]
struct Store {
    times: Vec<i64>,
    columns: Vec<Vec<f64>>,
}

/// Takes the rows of one log after another.
pub(crate) struct Sink<'a> {
    station: &'a Station,
    limits: (i64, i64),
    order: Order,
    list: List,
    calendar: Calendar,
    tracks: Vec<Track>,
    machines: Vec<MachineTrack>,
    air: AirTrack,
    sources: Vec<SourceRead>,
    rejected: Vec<RejectedCell>,
    rejected_total: u64,
    rows: u64,
    first: Option<i64>,
    last: Option<i64>,
    /// Of the file that is being read: the track of each column, headers, the next line.
    slots: Vec<usize>,
    headers: Vec<String>,
    line: u64,
    store: Option<Store>,
    gap: i64,
    shared: Shared,
}

impl<'a> Sink<'a> {
    pub(crate) fn new(station: &'a Station, options: &LogOptions<'_>) -> Self {
        Self {
            station,
            limits: (
                options.from.map_or(i64::MIN, Timestamp::as_microsecond),
                options.to.map_or(i64::MAX, Timestamp::as_microsecond),
            ),
            order: Order::default(),
            list: List::default(),
            calendar: Calendar::new(&station.site.time_zone, station.site.hours.as_ref()),
            tracks: Vec::new(),
            machines: Vec::new(),
            air: AirTrack::new(station),
            sources: Vec::new(),
            rejected: Vec::new(),
            rejected_total: 0,
            rows: 0,
            first: None,
            last: None,
            slots: Vec::new(),
            headers: Vec::new(),
            line: 0,
            store: None,
            gap: i64::MAX,
            shared: Shared::default(),
        }
    }

    /// A file begins, whose header stands on this line.
    pub(crate) fn begin(&mut self, plan: &Plan, read: SourceRead, header_line: u64) {
        self.headers = plan.columns.iter().map(|c| c.header.clone()).collect();
        self.line = header_line + 1;
        self.slots.clear();
        for value in plan.values() {
            let known = self
                .tracks
                .iter()
                .position(|track| track.channel == value.channel);
            let at = known.unwrap_or_else(|| {
                let pressure = pressure_of(value.channel, self.station);
                self.tracks.push(Track::new(value.channel, pressure));
                self.tracks.len() - 1
            });
            self.slots.push(at);
        }
        self.sources.push(read);
        self.store = Some(Store {
            times: Vec::new(),
            columns: vec![Vec::new(); self.slots.len()],
        });
    }

    /// The next rows of the file.
    pub(crate) fn take(&mut self, batch: &mut Batch) {
        self.rows += batch.rows() as u64 - 1;
        let source = self
            .sources
            .last()
            .map_or("", |source| source.name.as_str());
        for rejected in batch
            .rejected
            .drain(..)
            .take(TOLD - self.rejected.len().min(TOLD))
        {
            let column = rejected.column.and_then(|at| self.headers.get(at));
            self.rejected.push(RejectedCell {
                source: source.to_owned(),
                line: self.line + rejected.line,
                column: column.cloned().unwrap_or_default(),
                problem: rejected.problem,
                hint: rejected.hint,
            });
        }
        self.rejected_total += batch.rejected_total;
        self.line += batch.lines;
        self.order.take(batch, self.limits, &mut self.list);
        let columns: Vec<&[f64]> = (0..batch.width()).map(|c| batch.column(c)).collect();
        self.rows_in_order(&batch.times, &columns, &batch.missing);
    }

    /// The file ends, by this fault if it broke off.
    pub(crate) fn end(&mut self, fault: Option<String>) {
        if let Some((time, values)) = self.order.end(self.limits, &mut self.list) {
            let columns: Vec<&[f64]> = values.chunks(1).collect();
            let missing: Vec<bool> = values.iter().map(|v| v.is_nan()).collect();
            self.rows_in_order(&[time], &columns, &missing);
        }
        self.learn_and_go_on();
        self.air
            .flush(self.station, &mut self.calendar, &mut self.machines);
        if let Some(source) = self.sources.last_mut() {
            source.fault = fault;
        }
    }

    fn rows_in_order(&mut self, times: &[i64], columns: &[&[f64]], missing: &[bool]) {
        let Some(store) = &mut self.store else {
            self.reduce(times, columns, missing);
            return;
        };
        store.times.extend_from_slice(times);
        for (to, from) in store.columns.iter_mut().zip(columns) {
            to.extend_from_slice(from.get(..times.len()).unwrap_or_default());
        }
        if store.times.len() >= learn::ROWS {
            self.learn_and_go_on();
        }
    }

    fn learn_and_go_on(&mut self) {
        let Some(store) = self.store.take().filter(|store| !store.times.is_empty()) else {
            return;
        };
        let start = ..store.times.len().min(learn::ROWS);
        let times = store.times.get(start).unwrap_or_default();
        let rows = learn(times, None);
        self.gap = rows.gap;
        if let Some(source) = self.sources.last_mut() {
            source.interval_s = rows.interval.map(|micros| micros as f64 * 1e-6);
        }
        let named: Vec<Channel> = self
            .slots
            .iter()
            .filter_map(|&s| self.tracks.get(s))
            .map(|t| t.channel)
            .collect();
        let column = |channel: Channel| {
            let at = named.iter().position(|&c| c == channel)?;
            store.columns.get(at)?.get(start)
        };
        for machine in 0..self.station.machines.len() {
            let read = column(Channel::power_of(machine));
            let amperes = column(Channel::current_of(machine)).filter(|_| read.is_none());
            let current = amperes.and(Current::of(&self.station.machines[machine]));
            let watts = current.zip(amperes).map(|(current, a)| current.all(a));
            let power = read.or(watts.as_deref());
            let signals = [Channel::Running(machine), Channel::Loaded(machine)];
            let signalled = signals.iter().any(|&c| column(c).is_some());
            if power.is_none() && !signalled {
                continue;
            }
            let mut found = levels::of(&self.station.machines[machine], power.unwrap_or_default());
            if signalled {
                found.from = LevelsFrom::Signals;
            }
            match self
                .machines
                .iter_mut()
                .find(|track| track.machine == machine)
            {
                Some(track) => {
                    (track.by_signals, track.current) = (signalled, current);
                    track.reads_power |= power.is_some();
                }
                None => {
                    let model = &self.station.machines[machine];
                    let mut track = MachineTrack::new(machine, model, found, signalled);
                    (track.current, track.reads_power) = (current, power.is_some());
                    self.machines.push(track);
                }
            }
        }
        self.by_pressure(times, &named, &column, rows);
        for (&slot, column) in self.slots.iter().zip(&store.columns) {
            if let Some(track) = self.tracks.get_mut(slot) {
                let learned = learn(times, column.get(start));
                let of = self.machines.iter().find(|m| m.channel() == track.channel);
                let off = of.map(|machine| {
                    let watts = machine.states.levels().runs_w;
                    machine.current.map_or(watts, |c| c.amperes(watts))
                });
                track.learned(learned, rows, off);
            }
        }
        let first = times.first().copied().unwrap_or(0);
        let gaps = self.slots.iter().filter_map(|&s| self.tracks.get(s));
        let gaps: Vec<(Channel, i64)> = gaps.map(|t| (t.channel, t.gap())).collect();
        self.air.begin(self.station, &self.machines, (&gaps, first));
        let columns: Vec<&[f64]> = store.columns.iter().map(Vec::as_slice).collect();
        let missing: Vec<bool> = columns
            .iter()
            .map(|c| c.iter().any(|v| v.is_nan()))
            .collect();
        self.reduce(&store.times, &columns, &missing);
    }

    /// Where nothing of any machine is logged, the pressure tells of one.
    fn by_pressure<'c>(
        &mut self,
        times: &[i64],
        named: &[Channel],
        column: &dyn Fn(Channel) -> Option<&'c [f64]>,
        rows: Learned,
    ) {
        let before = self.air.by_pressure.take();
        let tells = |machine| {
            [
                Channel::power_of(machine),
                Channel::current_of(machine),
                Channel::Running(machine),
                Channel::Loaded(machine),
            ]
        };
        let mut machines = 0..self.station.machines.len();
        if machines.any(|machine| tells(machine).iter().any(|c| named.contains(c))) {
            return;
        }
        let followed = self.air.follows(named.iter().copied());
        let Some(pressures) = followed.and_then(column) else {
            return;
        };
        let gap = learn(times, Some(pressures)).gap.max(rows.gap);
        let Some(found) = ByPressure::learn(self.station, times, pressures, gap, before.as_ref())
        else {
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

    /// Rows whose file is known.
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
        let sure: Vec<Sure<'_>> = tracks.map(|track| Sure::of(track)).collect();
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
    pub(crate) fn finish(mut self) -> Result<Study, Vec<Problem>> {
        if self.first.is_none() {
            return Err(vec![self.nothing()]);
        }
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
        let mut left_out: Vec<LeftOut> = self.list.kept;
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
        let read = whole::Read {
            station: self.station,
            channels: &channels,
            pressures: &pressures,
            dew_points: &dew_points,
            interval_s: self.sources.last().and_then(|s| s.interval_s),
        };
        let whole = whole::of(&read, self.machines, self.air.end());
        Ok(Study {
            from: self.first.map(stamp),
            to: self.last.map(stamp),
            rows: self.rows,
            left_out,
            left_out_total: self.list.total,
            sources: self.sources,
            machines: whole.machines,
            station: whole.station,
            storage: whole.storage,
            control_bands: whole.control_bands,
            demand: whole.demand,
            leakage: whole.leakage,
            remarks: whole.remarks,
            close_up: whole.close_up,
            findings: whole.findings,
            not_judged: whole.not_judged,
            channels,
            pressures,
            dew_points,
            rejected: self.rejected,
            rejected_total: self.rejected_total,
        })
    }

    fn nothing(&self) -> Problem {
        let (line, what, hint) = match self.rejected.first() {
            Some(first) => (
                Some(first.line),
                format!("no row can be used; the first: {}", first.problem),
                first.hint.clone(),
            ),
            None if self.rows > 0 => (
                None,
                "no row lies in the time that is asked for".to_owned(),
                "check from when to when".to_owned(),
            ),
            None => match self.sources.iter().find_map(|s| s.fault.as_deref()) {
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
