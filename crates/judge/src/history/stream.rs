//! Streams: what the model leaves of each point's readings, round by round, with how strongly each
//! reading feels each fault.
//!
//! Bounded: a stream keeps its newest samples. Must not know: findings, sentences.

use std::collections::VecDeque;

use physics::heat::thermostat::ROUNDING;
use physics::quantity::TemperatureDifference;
use station::forward::{
    Conditions, Health, Intake, MachineHealth, MachineState, State, expect, machine_state,
    room_temperature,
};
use station::model::{Asset, MachineKind, Station};
use station::point::{Point, PointId};
use station::round::Round;

use crate::band::model_value;
use crate::context::{modelled, resets, unfit};
use crate::day::{Day, Moment};

/// Samples that a stream keeps: two years of daily rounds and more.
const MOST_SAMPLES: usize = 900;
/// The loss that sensitivities are taken at.
pub(crate) const PROBE: f64 = 0.8;

/// A thermostatic valve opens over about this span, as the forward model has it too (common
/// practice): where it holds the oil, more cooling is had only for a warmer valve.
const VALVE_SPAN_K: f64 = 10.0;

/// What a fault moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Part {
    /// Cooling air of a machine: both coolers.
    CoolingAir,
    /// Its oil cooler.
    OilSide,
    /// Its aftercooler.
    Aftercooler,
    /// What its thermostatic valve holds, K.
    Thermostat,
}

/// One reading beside the model's value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Sample {
    /// Days since 1970-01-01.
    pub(crate) day: f64,
    /// What was read, SI.
    pub(crate) read: f64,
    /// What the model gives for a machine as new.
    pub(crate) mid: f64,
    /// How far a loss of 20 % (or 1 K of the valve) moves the model's value.
    pub(crate) feels: [f64; 4],
    /// How far a kelvin of warmer cooling air moves it, K: little where the valve holds the oil.
    pub(crate) warm_air: f64,
    /// Outdoors, K.
    pub(crate) ambient: f64,
    /// Duty, and humidity ratio in g/kg.
    pub(crate) duty: f64,
    pub(crate) moisture: f64,
    /// Work that resets the point was done since the sample before.
    pub(crate) reset: bool,
}

/// All samples of one point in one state.
#[derive(Debug, Clone)]
pub(crate) struct Stream {
    pub(crate) id: PointId,
    /// Power unloaded is another stream than power on load.
    pub(crate) moment: Moment,
    pub(crate) samples: VecDeque<Sample>,
    /// A reset was seen and no sample since.
    pending_reset: bool,
}

impl Stream {
    pub(crate) fn feels(part: Part, sample: &Sample) -> f64 {
        match part {
            Part::CoolingAir => sample.feels[0],
            Part::OilSide => sample.feels[1],
            Part::Aftercooler => sample.feels[2],
            Part::Thermostat => sample.feels[3],
        }
    }
}

/// All streams of a station.
#[derive(Debug, Clone, Default)]
pub(crate) struct Streams {
    pub(crate) list: Vec<Stream>,
    /// The last round that was taken in, in days.
    last_day: Option<f64>,
}

/// Rounds closer together than this tell no more than one.
const CLOSEST_DAYS: f64 = 0.12;

/// Days since 1970-01-01.
pub(crate) fn day_of(time: jiff::Timestamp) -> f64 {
    time.as_millisecond() as f64 / 86_400_000.0
}

impl Streams {
    /// Notes work done: it sets the streams back that it touches.
    pub(crate) fn note_work(&mut self, round: &Round) {
        for work in &round.done {
            for stream in &mut self.list {
                if resets(&work.work, work.on, stream.id) {
                    stream.pending_reset = true;
                }
            }
        }
    }

    /// Whether a round comes so soon after the last that it tells no more.
    pub(crate) fn too_soon(&self, time: jiff::Timestamp) -> bool {
        self.last_day
            .is_some_and(|last| day_of(time) - last < CLOSEST_DAYS)
    }

    /// Takes a round in.
    pub(crate) fn see(&mut self, station: &Station, round: &Round, day: &Day) {
        let today = day_of(round.time);
        let ids: Vec<PointId> = round
            .readings
            .iter()
            .map(|r| r.id)
            .filter(|id| modelled(id.point) || id.point == Point::BeltIndicator)
            .filter(|id| unfit(station, day, *id).is_none())
            .collect();
        if ids.is_empty() {
            return;
        }
        self.last_day = Some(today);
        let Some(view) = View::of(station, day) else {
            return;
        };
        for id in ids {
            let Some(read) = round.number(id.asset, id.point) else {
                continue;
            };
            let moment = match id.asset {
                Asset::Machine(i) => day.moments[i],
                _ => Moment::Unknown,
            };
            if let Some(sample) = view.sample(station, day, id, read, today) {
                self.push(id, moment, sample);
            }
        }
    }

    fn push(&mut self, id: PointId, moment: Moment, sample: Sample) {
        let place = self
            .list
            .iter()
            .position(|s| s.id == id && s.moment == moment);
        let stream = match place {
            Some(place) => &mut self.list[place],
            None => {
                let samples = VecDeque::new();
                self.list.push(Stream {
                    id,
                    moment,
                    samples,
                    pending_reset: false,
                });
                let last = self.list.len() - 1;
                &mut self.list[last]
            }
        };
        if stream.samples.len() == MOST_SAMPLES {
            stream.samples.pop_front();
        }
        let reset = std::mem::take(&mut stream.pending_reset);
        stream.samples.push_back(Sample { reset, ..sample });
    }

    pub(crate) fn of(&self, asset: Asset, point: Point, moment: Moment) -> Option<&Stream> {
        self.list
            .iter()
            .find(|s| s.id == PointId { asset, point } && s.moment == moment)
    }
}

/// The model's state at a round, healthy and with each cooling part worse by a fifth.
struct View {
    state: State,
    /// Per machine: cooling air, oil side, aftercooler, thermostat.
    worse: Vec<[Option<MachineState>; 4]>,
    room_unread: Option<f64>,
    moisture: f64,
}

impl View {
    fn of(station: &Station, day: &Day) -> Option<Self> {
        let health = Health::new(station);
        let conditions = &day.conditions;
        let state = expect(station, &health, conditions).ok()?;
        let intake = Intake::of(conditions).ok()?;
        let worse = (0..station.machines.len())
            .map(|i| {
                let wanted = state.machines[i].is_some()
                    && day.moments[i] == Moment::Loaded
                    && station.machines[i].kind == MachineKind::Screw;
                let at = |h: MachineHealth| {
                    wanted
                        .then(|| {
                            machine_state(station, i, &h, conditions, &intake, state.room).ok()
                        })
                        .flatten()
                };
                [
                    at(MachineHealth {
                        fan: PROBE,
                        ..MachineHealth::NEW
                    }),
                    at(MachineHealth {
                        oil_cooler: PROBE,
                        ..MachineHealth::NEW
                    }),
                    at(MachineHealth {
                        aftercooler: PROBE,
                        ..MachineHealth::NEW
                    }),
                    at(MachineHealth {
                        thermostat: TemperatureDifference::new(1.0),
                        ..MachineHealth::NEW
                    }),
                ]
            })
            .collect();
        let unread = Conditions {
            room: None,
            ..conditions.clone()
        };
        let room_unread = room_temperature(station, &health, &unread)
            .ok()
            .map(|t| t.si());
        Some(Self {
            moisture: intake.humidity_ratio * 1e3,
            state,
            worse,
            room_unread,
        })
    }

    fn sample(
        &self,
        station: &Station,
        day: &Day,
        id: PointId,
        read: f64,
        today: f64,
    ) -> Option<Sample> {
        let mid = if id.point == Point::BeltIndicator {
            0.0
        } else {
            model_value(station, &self.state, self.room_unread, day, id)?
        };
        let (mut feels, duty) = match id.asset {
            Asset::Machine(i) => (
                self.feels(i, id.point, mid),
                day.conditions.machines[i].recent_load,
            ),
            _ => ([0.0; 4], mean_duty(day)),
        };
        let mut warm_air = 1.0;
        if let (Asset::Machine(i), Point::OilTemperature) = (id.asset, id.point)
            && let Some((held, open)) = self.held(station, i)
        {
            // The share of the cooler's flow that is open grows with what is lost.
            feels[0] += held * VALVE_SPAN_K * open * (1.0 / PROBE - 1.0);
            let over_air = (mid - self.state.room.si()).max(10.0);
            warm_air = 1.0 - held + held * VALVE_SPAN_K * open / over_air;
        }
        Some(Sample {
            day: today,
            read,
            mid,
            feels,
            warm_air,
            ambient: day.conditions.ambient.si(),
            duty,
            moisture: self.moisture,
            reset: false,
        })
    }

    /// How far the valve holds a machine's oil (1 wholly, 0 not at all), and the share of the
    /// cooler's flow that it has open.
    fn held(&self, station: &Station, i: usize) -> Option<(f64, f64)> {
        let free = self.state.machines[i].as_ref()?.free_oil_temperature?.si();
        let held_at = station.machines[i].oil.held_at.value.si();
        // The slope of the forward model's smooth maximum.
        let held = 1.0 / (1.0 + ((free - held_at) / ROUNDING.si()).exp());
        let room = self.state.room.si();
        let open = ((free - room) / (held_at - room).max(10.0)).clamp(0.0, 1.0);
        Some((held, open))
    }

    fn feels(&self, i: usize, point: Point, mid: f64) -> [f64; 4] {
        let shown = |m: &MachineState| match point {
            Point::OilTemperature => m.oil_temperature.map(|t| t.si()),
            Point::OutletTemperature => Some(m.outlet.si()),
            _ => None,
        };
        [0, 1, 2, 3].map(|part: usize| {
            self.worse[i][part]
                .as_ref()
                .and_then(shown)
                .map_or(0.0, |t| t - mid)
        })
    }
}

fn mean_duty(day: &Day) -> f64 {
    let running: Vec<f64> = day
        .conditions
        .machines
        .iter()
        .map(|m| m.duty)
        .filter(|d| *d > 0.0)
        .collect();
    if running.is_empty() {
        0.0
    } else {
        running.iter().sum::<f64>() / running.len() as f64
    }
}
