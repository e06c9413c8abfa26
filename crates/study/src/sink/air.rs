//! The air on its way through reducing: which columns tell what, then row by row.
//!
//! One pressure is followed: a vessel's, else a header's, else a machine's. A value that is missing
//! in a row leaves things as they were.
//!
//! Must not know: text, figures.

use jiff::Timestamp;
use station::model::{Asset, Station};
use station::point::{Point, PointId};

use super::current::Current;
use super::machine::MachineTrack;
use super::track::Shared;
use crate::channel::Channel;
use crate::forward::{Line, Weather};
use crate::reduce::air::{Air, Follower, Rows, Told};

/// Where in a file the columns of a machine stand.
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
    pub(crate) measures_flow: bool,
    places: Vec<Places>,
    pressure_at: Option<usize>,
    flow_at: Option<usize>,
    /// Of the pressure and of the flow, µs.
    gaps: (i64, i64),
}

impl AirTrack {
    pub(crate) fn new(station: &Station) -> Self {
        Self {
            air: Air::new(stated_volume(station)),
            pressure: None,
            weather: None,
            measures_flow: false,
            places: Vec::new(),
            pressure_at: None,
            flow_at: None,
            gaps: (0, 0),
        }
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
            if self.air.followers.iter().any(|f| f.machine == index) {
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
        self.places = self
            .air
            .followers
            .iter()
            .map(|follower| {
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
                Places {
                    power,
                    current,
                    running,
                    loaded,
                    gap: if signals > 0 { signals } else { gap(power) },
                }
            })
            .collect();
        if self.pressure.is_none_or(|known| place(known).is_none()) {
            self.pressure = channels
                .iter()
                .map(|&(channel, _)| channel)
                .filter(|&c| rank(c).is_some())
                .min_by_key(|&c| rank(c))
                .or(self.pressure);
        }
        self.pressure_at = self.pressure.and_then(place);
        self.flow_at = channels.iter().position(|&(channel, _)| {
            matches!(
                channel,
                Channel::Point(PointId {
                    point: Point::HeaderFlow,
                    ..
                })
            )
        });
        self.gaps = (gap(self.pressure_at), gap(self.flow_at));
        self.measures_flow |= self.flow_at.is_some();
    }

    /// The rows of a batch.
    pub(crate) fn take(
        &mut self,
        station: &Station,
        shared: &Shared,
        times: &[i64],
        columns: &[&[f64]],
    ) {
        let column = |at: Option<usize>| at.and_then(|at| columns.get(at).copied());
        let watts: Vec<Option<Vec<f64>>> = self
            .places
            .iter()
            .map(|p| Some(p.current?.all(column(p.power)?)))
            .collect();
        let told = self.places.iter().zip(&watts).map(|(places, watts)| Told {
            power: watts.as_deref().or(column(places.power)),
            running: column(places.running),
            loaded: column(places.loaded),
            gap: places.gap,
        });
        let rows = Rows {
            times,
            steps: &shared.steps,
            told: told.collect(),
            pressure: column(self.pressure_at),
            flow: column(self.flow_at),
            gaps: self.gaps,
        };
        for (hour, range) in &shared.hours {
            self.air
                .add(*hour, range.clone(), &rows, station.site.hours.as_ref());
        }
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
    matches!(channel, Channel::Point(PointId { asset, .. })
        if matches!(asset, Asset::Vessel(_) | Asset::Header(_)))
}
