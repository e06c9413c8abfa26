//! The air on its way through reducing: which columns tell what, then row by row.
//!
//! One pressure is followed: a vessel's, else a header's, else a machine's. A value that is missing
//! in a row leaves things as they were. Rows wait until it is known whether their values stood still
//! for too long, so that those of a sensor that stuck reach neither slopes nor windows nor states.
//!
//! Must not know: text, figures.

use std::borrow::Cow;

use jiff::Timestamp;
use station::model::{Asset, Station};
use station::point::Point;

use super::by_pressure::ByPressure;
use super::current::Current;
use super::held::{Held, Stretch, blot};
use super::machine::MachineTrack;
use super::meters::Meters;
use super::track::{Shared, Track, within};
use crate::channel::Channel;
use crate::forward::{Line, Weather};
use crate::reduce::air::{Air, Follower, Rows, Told};
use crate::reduce::days::{Calendar, Hour};

/// Where among the columns that the air uses those of a machine stand.
#[derive(Debug, Clone, Copy, Default)]
struct Places {
    power: Option<usize>,
    /// The power's column is a current.
    current: Option<Current>,
    running: Option<usize>,
    loaded: Option<usize>,
    /// µs.
    gap: i64,
}

/// The air, and where the file that is being read tells of it.
#[derive(Debug)]
pub(crate) struct AirTrack {
    pub(crate) air: Air,
    /// The pressure that is followed.
    pub(crate) pressure: Option<Channel>,
    /// The weather that the model's lines were drawn for.
    pub(crate) weather: Option<Weather>,
    /// The meters whose flow is all that the station delivers.
    pub(crate) meters: Meters,
    /// The machine that the pressure alone tells of.
    pub(crate) by_pressure: Option<ByPressure>,
    /// Nothing of any machine is logged, and the pressure's turns cannot be told from its noise.
    pub(crate) turns_unseen: bool,
    /// The columns that the air uses.
    used: Vec<usize>,
    places: Vec<Places>,
    pressure_at: Option<usize>,
    /// Of the pressure, µs.
    gap: i64,
    /// Of each meter its place, and the time that is a gap, µs.
    flows: Vec<(Option<usize>, i64)>,
    held: Held,
}

/// What is known of a column that the air uses.
pub(crate) struct Sure<'a> {
    /// Its values in these stretches do not count.
    pub(crate) stuck: &'a [Stretch],
    /// Whether its values from here on count is not known yet, µs.
    pub(crate) until: i64,
}

impl<'a> Sure<'a> {
    /// What cleaning found out about a column in the last batch.
    pub(crate) fn of(track: Option<&'a Track>) -> Self {
        Self {
            stuck: track.map_or(&[], |track| &track.stuck),
            until: track.map_or(i64::MAX, Track::sure_until),
        }
    }
}

impl AirTrack {
    pub(crate) fn new(station: &Station) -> Self {
        Self {
            air: Air::new(stated_volume(station)),
            pressure: None,
            weather: None,
            meters: Meters::default(),
            by_pressure: None,
            turns_unseen: false,
            used: Vec::new(),
            places: Vec::new(),
            pressure_at: None,
            gap: 0,
            flows: Vec::new(),
            held: Held::default(),
        }
    }

    /// The pressure that is followed in rows with these channels.
    pub(crate) fn follows(
        &self,
        channels: impl Iterator<Item = Channel> + Clone,
    ) -> Option<Channel> {
        let known = self.pressure.filter(|&p| channels.clone().any(|c| c == p));
        let ranked = channels.filter_map(|c| Some((rank(c)?, c)));
        known.or_else(|| ranked.min().map(|(_, channel)| channel))
    }

    /// From this time on the rows have these channels, each with the longest time that is no gap.
    pub(crate) fn begin(
        &mut self,
        station: &Station,
        machines: &[MachineTrack],
        (channels, first): (&[(Channel, i64)], i64),
    ) {
        let place = |channel: Channel| channels.iter().position(|&(c, _)| c == channel);
        let gap = |at: Option<usize>| at.and_then(|at| channels.get(at)).map_or(0, |c| c.1);
        let stamp = Timestamp::from_microsecond(first).unwrap_or(Timestamp::UNIX_EPOCH);
        let month = station.site.time_zone.to_datetime(stamp).month() - 1;
        let weather = *self
            .weather
            .get_or_insert_with(|| Weather::of_month(station, usize::from(month.unsigned_abs())));
        for machine in machines {
            let index = machine.machine;
            let mut known = self.air.followers.iter_mut();
            if let Some(follower) = known.find(|f| f.machine == index) {
                follower.learned(machine.states.levels());
                continue;
            }
            if let (Some(model), Some(line)) = (
                station.machines.get(index),
                Line::of(station, index, &weather),
            ) {
                let levels = machine.states.levels();
                self.air
                    .followers
                    .push(Follower::new(index, model, line, levels));
            }
        }
        let mut used = Vec::new();
        let mut take = |at: Option<usize>| {
            let at = at?;
            Some(used.iter().position(|&u| u == at).unwrap_or_else(|| {
                used.push(at);
                used.len() - 1
            }))
        };
        self.places.clear();
        for follower in &self.air.followers {
            let index = follower.machine;
            let current = machines
                .iter()
                .find(|m| m.machine == index)
                .and_then(|m| m.current);
            let power = place(match current {
                Some(_) => Channel::current_of(index),
                None => Channel::power_of(index),
            });
            let running = place(Channel::Running(index));
            let loaded = place(Channel::Loaded(index));
            let signals = gap(running).max(gap(loaded));
            self.places.push(Places {
                power: take(power),
                current,
                running: take(running),
                loaded: take(loaded),
                gap: if signals > 0 { signals } else { gap(power) },
            });
        }
        let named = channels.iter().map(|&(channel, _)| channel);
        self.pressure = self.follows(named.clone()).or(self.pressure);
        let pressure = self.pressure.and_then(place);
        (self.pressure_at, self.gap) = (take(pressure), gap(pressure));
        self.meters.choose(station, named);
        let flows = self.meters.channels().map(place);
        self.flows = flows.map(|at| (take(at), gap(at))).collect();
        self.held.set_width(used.len());
        self.used = used;
    }

    /// Which columns the air uses.
    pub(crate) fn uses(&self) -> &[usize] {
        &self.used
    }

    /// The rows of a batch, and what is known of each column that is used.
    pub(crate) fn take(
        &mut self,
        station: &Station,
        (shared, calendar): (&Shared, &mut Calendar),
        (times, columns): (&[i64], &[&[f64]]),
        sure: &[Sure<'_>],
        machines: &mut [MachineTrack],
    ) {
        let until = sure.iter().map(|s| s.until).min().unwrap_or(i64::MAX);
        let mut fresh: Vec<Cow<'_, [f64]>> = Vec::with_capacity(self.used.len());
        for (column, (&at, sure)) in self.used.iter().zip(sure).enumerate() {
            self.held.leave_out(column, sure.stuck);
            let values = columns.get(at).copied().unwrap_or_default();
            let mut values = Cow::Borrowed(values.get(..times.len()).unwrap_or_default());
            if !sure.stuck.is_empty() {
                blot(times, values.to_mut(), sure.stuck);
            }
            fresh.push(values);
        }
        let mut from = 0;
        if self.by_pressure.is_none() {
            self.go_on(station, until, calendar, machines);
            if self.held.is_empty() {
                from = times.partition_point(|&t| t < until);
                let rows: Vec<&[f64]> = fresh.iter().map(AsRef::as_ref).collect();
                let clipped = |(hour, rows): &(Hour, _)| (*hour, within(rows, &(0..from)));
                let hours: Vec<_> = shared.hours.iter().map(clipped).collect();
                self.run(station, &hours, (times, &shared.steps), &rows, None);
            }
        }
        self.held.append(times, &shared.steps, &fresh, from);
        if self.by_pressure.is_some() {
            self.go_on(station, until, calendar, machines);
        }
    }

    /// Reduces the rows that wait and lie before a time, so far as all of them is known.
    fn go_on(
        &mut self,
        station: &Station,
        until: i64,
        calendar: &mut Calendar,
        machines: &mut [MachineTrack],
    ) {
        let mut rows = self.held.before(until);
        if let (Some(by), Some(at)) = (&mut self.by_pressure, self.pressure_at) {
            let known = by.look(&self.held.times, self.held.columns.get(at), rows, until);
            rows = self.held.before(known.min(until));
        }
        if rows == 0 {
            return;
        }
        let held = std::mem::take(&mut self.held);
        let times = held.times.get(..rows).unwrap_or_default();
        let steps = held.steps.get(..rows).unwrap_or_default();
        let columns = held
            .columns
            .iter()
            .map(|c| c.get(..rows).unwrap_or_default());
        let columns: Vec<&[f64]> = columns.collect();
        let mut hours = Vec::new();
        calendar.hours.split(times, &mut hours);
        let loaded = self.by_pressure.as_mut().map(|by| {
            let loaded = by.loaded(times);
            by.tell(machines, &hours, times, &loaded, self.gap);
            loaded
        });
        self.run(station, &hours, (times, steps), &columns, loaded.as_deref());
        self.held = held;
        self.held.drop_first(rows);
    }

    /// Reduces rows; `loaded` is what the pressure tells of a machine.
    fn run(
        &mut self,
        station: &Station,
        hours: &[(Hour, std::ops::Range<usize>)],
        (times, steps): (&[i64], &[f64]),
        columns: &[&[f64]],
        loaded: Option<&[f64]>,
    ) {
        let column = |at: Option<usize>| at.and_then(|at| columns.get(at).copied());
        let watts: Vec<Option<Vec<f64>>> = self
            .places
            .iter()
            .map(|p| Some(p.current?.all(column(p.power)?)))
            .collect();
        let places = self.places.iter().zip(&self.air.followers);
        let told = places.zip(&watts).map(|((places, follower), watts)| {
            let by = self.by_pressure.as_ref();
            if let Some(by) = by.filter(|by| by.machine == follower.machine) {
                let [running, loaded] = by.columns(loaded);
                return Told {
                    power: None,
                    running,
                    loaded,
                    gap: self.gap,
                };
            }
            Told {
                power: watts.as_deref().or(column(places.power)),
                running: column(places.running),
                loaded: column(places.loaded),
                gap: places.gap,
            }
        });
        let rows = Rows {
            times,
            steps,
            told: told.collect(),
            pressure: column(self.pressure_at),
            gap: self.gap,
            flows: self
                .flows
                .iter()
                .map(|&(at, gap)| (column(at), gap))
                .collect(),
        };
        for (hour, range) in hours.iter().filter(|(_, range)| !range.is_empty()) {
            self.air
                .add(*hour, range.clone(), &rows, station.site.hours.as_ref());
        }
    }

    /// The rows of these columns end: what waits is taken as it is.
    pub(crate) fn flush(
        &mut self,
        station: &Station,
        calendar: &mut Calendar,
        machines: &mut [MachineTrack],
    ) {
        self.go_on(station, i64::MAX, calendar, machines);
        if let Some(by) = &mut self.by_pressure {
            by.ends();
        }
        self.go_on(station, i64::MAX, calendar, machines);
    }

    /// Everything was read.
    pub(crate) fn end(mut self) -> Self {
        self.air.end();
        self
    }
}

/// Which pressure is followed first.
fn rank(channel: Channel) -> Option<u8> {
    let Channel::Point(id) = channel else {
        return None;
    };
    match id.point {
        Point::VesselPressure => Some(0),
        Point::HeaderPressure => Some(1),
        Point::MachinePressure => Some(2),
        _ => None,
    }
}

/// m³ of the vessels and of the headers that tell theirs; `None` without any.
pub(crate) fn stated_volume(station: &Station) -> Option<f64> {
    let vessels: f64 = station.vessels.iter().map(|v| v.volume_m3).sum();
    let headers: f64 = station.headers.iter().filter_map(|h| h.volume_m3).sum();
    (vessels + headers > 0.0).then_some(vessels + headers)
}

/// Whether this is a pressure in which the storage breathes.
pub(crate) fn breathes(channel: Channel) -> bool {
    matches!(channel, Channel::Point(id)
        if matches!(id.asset, Asset::Vessel(_) | Asset::Header(_)))
}
