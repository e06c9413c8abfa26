//! Streams: what the model leaves of each point's readings, round by round, with how strongly each
//! reading feels each fault.
//!
//! Bounded: a stream keeps its newest samples. Must not know: findings, sentences.

mod flows;
mod little;
mod mends;
mod stretch;
mod worse;

use std::collections::{BTreeMap, VecDeque};

use jiff::Timestamp;
use physics::heat::thermostat::ROUNDING;
use physics::quantity::ReferenceAir;
use station::forward::{
    Conditions, Health, Intake, MachineState, OilState, State, expect, room_temperature,
};
use station::model::{Asset, MachineKind, Station};
use station::point::{Point, PointId};
use station::round::{Round, Work, WorkDone};

use crate::band::{by_speed, model_value};
use crate::context::{modelled, resets, unfit};
use crate::day::{Day, Moment};
use crate::line::before;
use crate::water::by_its_outlets;

use super::changed;
use super::owed::Fallen;
use super::own::Bend;
use little::Little;
pub(crate) use mends::Mends;
use stretch::Stretch;
use worse::Worse;

/// Samples that a stream keeps: two years of daily rounds and more.
const MOST_SAMPLES: usize = 900;
/// Pieces of work that are kept for pictures.
const MOST_WORK: usize = 200;
/// Changes of parts that nobody wrote down that are kept.
const MOST_UNWRITTEN: usize = 50;
/// The loss that sensitivities are taken at.
pub(crate) const PROBE: f64 = 0.8;
/// How far a dryer's dew point rises between no load and full load: the valve that holds the evaporator up
/// gives way, K (from memory).
const DROOP_K: f64 = 1.5;

/// A thermostatic valve opens over about this span, as the forward model has it too (common
/// practice): where it holds the oil, more cooling is had only for a warmer valve.
const VALVE_SPAN_K: f64 = 10.0;

/// A real valve holds the oil some kelvin warmer the further it opens; each machine's own by its rounds.
const HALVES: f64 = 2.0;

/// Outdoor humidity that is known better than this, one standard deviation, was read (common practice, no
/// source).
const HUMIDITY_KNOWN: f64 = 0.06;
/// How far the oil of a machine that carries less than this share strays, K: walls and a valve that leaks count then (common
/// practice, no source).
const LITTLE_LOAD: f64 = 0.3;
const MAYBE_COOL: f64 = 3.0;
/// A drop follows the flow by about this power (textbook: between linear and square).
const DROP_FOLLOWS: f64 = 1.8;
/// The outlet follows the oil by about this share (common practice, no source).
const OUTLET_FOLLOWS: f64 = 0.15;

/// What a fault moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Part {
    /// Cooling air of a machine: both coolers.
    CoolingAir,
    /// Its oil cooler.
    OilSide,
    /// Cooling air and oil cooler again, as readings feel a loss of half: a valve that hides a small
    /// loss in cool weather does not hide a large one.
    CoolingAirByHalf,
    OilSideByHalf,
    /// Its aftercooler.
    Aftercooler,
    /// What its thermostatic valve holds, K.
    Thermostat,
    /// How far its thermostatic valve stays open, 1 for wholly.
    ValveOpen,
    /// The drop over its separator, in tenths of a bar.
    Separator,
    /// The air that goes through its aftercooler, in twentieths lost.
    DeliveredAir,
    /// The air that it delivers, as a share of its own.
    Delivery(usize),
    /// A dryer's capacity, in steps of a fifth lost.
    Capacity,
    /// The room's ventilation: by how much the rise grows, as a share.
    Ventilation,
}

impl Part {
    /// The part itself, however much of it is lost.
    pub(crate) const fn itself(self) -> Self {
        match self {
            Self::CoolingAirByHalf => Self::CoolingAir,
            Self::OilSideByHalf => Self::OilSide,
            part => part,
        }
    }
}

/// Parts that a sample can feel at once; so many machines' delivery can be told apart.
pub(crate) const FELT: usize = 9;
/// A loss of half, and how many steps of the probe it is: ln 0.5/ln 0.8.
const HALF: f64 = 0.5;
pub(crate) const HALF_STEPS: f64 = 3.106_284;
/// What sensitivities to delivered air are taken at.
pub(crate) const TWENTIETH: f64 = 0.95;
/// What sensitivities to the separator are taken at, Pa.
const SEPARATOR_STEP: f64 = 1.0e4;

/// One reading beside the model's value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Sample {
    /// Days since 1970-01-01.
    pub(crate) day: f64,
    /// What was read, SI.
    pub(crate) read: f64,
    /// What the model gives for a machine as new.
    pub(crate) mid: f64,
    /// How far each part moves the model's value, see [`Stream::feels`]: a loss of 20 %, a kelvin of
    /// the valve, a valve wholly open, a tenth of a bar, or a machine's whole delivery.
    pub(crate) feels: [f64; FELT],
    /// How far a kelvin of warmer cooling air moves it, K: little where the valve holds the oil.
    pub(crate) warm_air: f64,
    /// How much warmer the room's air is by its thermometer than the model expects, and how much warmer
    /// than outdoors it expects it, K.
    pub(crate) room: (f64, f64),
    /// How far it may stray since the load of that moment is not known, one standard deviation, SI.
    pub(crate) strays: f64,
    /// Outdoors, K.
    pub(crate) ambient: f64,
    pub(crate) duty: f64,
    /// What else it follows: humidity ratio in g/kg; of the oil, how far the valve that holds it is open,
    /// in halves of its way.
    pub(crate) third: f64,
    /// Work that resets the point was done since the sample before: what it mends.
    pub(crate) reset: Option<Mends>,
    /// Something else that was read in the same round says that it was not misread.
    pub(crate) borne_out: bool,
    /// How it goes with the oil cooler's own size, where a fan follows the oil, and by how much the model's value was
    /// moved for that, K.
    pub(crate) bend: Option<Bend>,
    pub(crate) moved: f64,
}

#[cfg(test)]
impl Sample {
    /// A sample of which a test says only what it is about.
    pub(crate) fn nothing() -> Self {
        Self {
            day: 0.0,
            read: 0.0,
            mid: 0.0,
            feels: [0.0; FELT],
            warm_air: 0.0,
            room: (0.0, 0.0),
            strays: 0.0,
            ambient: 0.0,
            duty: 0.0,
            third: 0.0,
            reset: None,
            borne_out: false,
            bend: None,
            moved: 0.0,
        }
    }
}

/// All samples of one point in one state.
#[derive(Debug, Clone)]
pub(crate) struct Stream {
    pub(crate) id: PointId,
    /// Power unloaded is another stream than power on load.
    pub(crate) moment: Moment,
    pub(crate) samples: VecDeque<Sample>,
    /// A reset was seen and no sample since.
    pending_reset: Option<Mends>,
}

impl Stream {
    /// Notes work that was done since the newest sample.
    fn set_back(&mut self, mends: Mends) {
        self.pending_reset = Some(self.pending_reset.map_or(mends, |p| p.and(mends)));
    }

    /// The place of the first sample since a part was last changed; a gauge that was is the same part.
    pub(crate) fn since_change(&self) -> usize {
        let changed = |s: &Sample| s.reset.is_some_and(|m| m != Mends::Gauge);
        self.samples.iter().rposition(changed).unwrap_or(0)
    }

    /// What it is of, in words, where that is no gauge's reading of one moment.
    pub(crate) fn no_gauge(&self) -> Option<&'static str> {
        match (self.id.point, self.moment) {
            (Point::HeaderFlow, BY_TEST) => Some("what timed cycles find"),
            (Point::HeaderFlow, BY_HOURS) => Some("what the plant takes by the hours on load"),
            _ => None,
        }
    }

    pub(crate) fn feels(part: Part, sample: &Sample) -> f64 {
        match part {
            Part::CoolingAir => sample.feels[0],
            Part::OilSide => sample.feels[1],
            Part::Aftercooler => sample.feels[2],
            Part::Thermostat => sample.feels[3],
            Part::ValveOpen => sample.feels[4],
            Part::Separator => sample.feels[5],
            Part::CoolingAirByHalf => sample.feels[6],
            Part::OilSideByHalf => sample.feels[7],
            Part::DeliveredAir => sample.feels[8],
            Part::Capacity | Part::Ventilation => sample.feels[0],
            Part::Delivery(machine) => sample.feels.get(machine).copied().unwrap_or(0.0),
        }
    }
}

/// All streams of a station.
#[derive(Debug, Clone, Default)]
pub(crate) struct Streams {
    pub(crate) list: Vec<Stream>,
    /// Work that was done, newest last; the newest of it is kept.
    pub(crate) work: VecDeque<(Timestamp, WorkDone)>,
    /// When each point was last looked at, in days.
    looked_at: BTreeMap<PointId, f64>,
    /// The water that fell out at the newest round.
    fallen: Fallen,
    /// What is summed up for the week.
    stretch: Stretch,
    /// How each machine's outlet usually stands at little load.
    little: Little,
    /// Parts that were changed though nobody wrote it down, with the day of the new one's first reading.
    pub(crate) unwritten: Vec<(PointId, f64)>,
}

/// The header's flow beside what the machines deliver at that moment.
pub(crate) const BY_WATCH: Moment = Moment::Unknown;
/// The header's mean flow of a week beside what the machines delivered by their counters.
pub(crate) const BY_COUNTERS: Moment = Moment::Loaded;
/// What a timed cycle finds with the plant at rest.
pub(crate) const BY_TEST: Moment = Moment::Unloaded;
/// What the plant took, week by week, by the machines' counters.
pub(crate) const BY_HOURS: Moment = Moment::Stopped;
/// A machine's oil while it carries little, as with the plant at rest.
pub(crate) const AT_LITTLE_LOAD: Moment = Moment::Stopped;
/// What the plant takes, whether a meter stands there or not.
pub(crate) const TAKEN: PointId = PointId {
    asset: Asset::Header(0),
    point: Point::HeaderFlow,
};
/// Two moments in days are the same within this.
const SAME_DAY: f64 = 1.0e-6;
/// Readings of one point closer together than this tell no more than one.
const CLOSEST_DAYS: f64 = 0.12;

/// Work on a machine or a drain that the header's flow feels.
fn restores_delivery(work: &Work) -> bool {
    matches!(
        work,
        Work::TightenBelt | Work::ChangeBelt | Work::ChangeIntakeFilter | Work::MendDrain
    )
}

/// Work after which the plant takes another share of the machines' hours than before.
fn ends_a_week(work: &Work) -> bool {
    *work == Work::MendLeaks || restores_delivery(work)
}

/// The points of a round that streams are made of.
fn told(round: &Round) -> impl Iterator<Item = PointId> + '_ {
    let beside = [
        Point::BeltIndicator,
        Point::HeaderFlow,
        Point::LoadTime,
        Point::Collected,
    ];
    round
        .readings
        .iter()
        .map(|r| r.id)
        .filter(move |id| modelled(id.point) || beside.contains(&id.point))
}

/// A machine that starts often and carries little is cold at one look and warm at the next: its
/// temperatures tell nothing of its coolers.
fn maybe_cold(day: &Day, id: PointId) -> bool {
    let warm = matches!(id.point, Point::OilTemperature | Point::OutletTemperature);
    matches!(id.asset, Asset::Machine(i) if warm && day.barely_runs[i])
}

/// Days since 1970-01-01.
pub(crate) fn day_of(time: Timestamp) -> f64 {
    time.as_millisecond() as f64 / 86_400_000.0
}

impl Streams {
    /// Notes work done: it sets the streams back that it touches.
    pub(crate) fn note_work(&mut self, round: &Round) {
        for work in &round.done {
            if self.work.len() == MOST_WORK {
                self.work.pop_front();
            }
            self.work.push_back((round.time, work.clone()));
            if ends_a_week(&work.work) {
                self.stretch.break_off();
            }
            for stream in &mut self.list {
                let through_the_header = stream.id.point == Point::HeaderFlow
                    && match stream.moment {
                        BY_TEST => work.work == Work::MendLeaks,
                        BY_HOURS => ends_a_week(&work.work),
                        _ => restores_delivery(&work.work),
                    };
                // Another drain that works again leaves less water to this one, which learns anew.
                if stream.id.point == Point::Collected
                    && stream.id.asset != work.on
                    && work.work == Work::MendDrain
                {
                    stream.samples.clear();
                }
                if through_the_header || resets(&work.work, work.on, stream.id) {
                    stream.set_back(Mends::by(&work.work));
                }
            }
        }
    }

    /// Whether a round comes so soon after others that it tells no more.
    pub(crate) fn too_soon(&self, round: &Round) -> bool {
        told(round).all(|id| self.looked_at_lately(id, day_of(round.time)))
    }

    fn looked_at_lately(&self, id: PointId, today: f64) -> bool {
        let last = self.looked_at.get(&id);
        last.is_some_and(|last| today - last < CLOSEST_DAYS)
    }

    /// Takes a round in.
    pub(crate) fn see(&mut self, station: &Station, round: &Round, day: &Day) {
        let today = day_of(round.time);
        let ids: Vec<PointId> = told(round)
            .filter(|id| !self.looked_at_lately(*id, today))
            .filter(|id| unfit(station, day, *id).is_none() && !maybe_cold(day, *id))
            .collect();
        if ids.is_empty() {
            return;
        }
        self.looked_at.extend(told(round).map(|id| (id, today)));
        let Some(view) = View::of(station, round, day) else {
            return;
        };
        let fallen = Fallen::of(view.wet(), view.wet.is_some(), today);
        let earlier = std::mem::replace(&mut self.fallen, fallen);
        for id in ids {
            let Some(read) = round.number(id.asset, id.point) else {
                continue;
            };
            if let (Asset::Drain(drain), Point::Collected) = (id.asset, id.point) {
                let state = view.wet();
                // Without a hygrometer nobody knows what the air brought.
                let moist_known = day.inputs.humidity < HUMIDITY_KNOWN;
                let owed = self.fallen.owed(&earlier, station, state, round, drain);
                if let Some((litres, strays)) = owed.filter(|_| moist_known) {
                    let plain = view.plain(day, read, litres, today);
                    self.push(id, BY_WATCH, Sample { strays, ..plain });
                }
                continue;
            }
            if id.point == Point::LoadTime {
                let seen = (round, day);
                if let Some(sample) = view.leak_test(station, seen, today) {
                    self.push(TAKEN, BY_TEST, sample);
                }
                continue;
            }
            let moment = match id.asset {
                Asset::Machine(i) => day.moments[i],
                _ => BY_WATCH,
            };
            if let Some(sample) = view.sample(station, round, day, id, read, today) {
                self.push(id, moment, sample);
                let little = self.little.take(&view, station, (round, day), id, sample);
                if let Some(sample) = little {
                    self.push(id, AT_LITTLE_LOAD, sample);
                }
            }
        }
        if let Some(week) = self.stretch.take(&view, station, round, day) {
            self.push(TAKEN, BY_HOURS, week.taken);
            if let Some(sample) = week.metered {
                self.push(TAKEN, BY_COUNTERS, sample);
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
                    pending_reset: None,
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
        if let Some(day) = changed::mark(stream) {
            self.unwritten.push((id, day));
            let over = self.unwritten.len().saturating_sub(MOST_UNWRITTEN);
            self.unwritten.drain(..over);
        }
    }

    /// Forgets the newest samples of some streams, if they are of this day.
    pub(super) fn leave_aside(&mut self, day: f64, of: impl Fn(&Stream) -> bool) {
        for stream in self.list.iter_mut().filter(|s| of(s)) {
            while (stream.samples.back()).is_some_and(|s| (s.day - day).abs() < SAME_DAY) {
                let gone = stream.samples.pop_back();
                if let Some(mends) = gone.and_then(|s| s.reset) {
                    stream.set_back(mends);
                }
            }
        }
    }

    /// Streams of some points only.
    pub(crate) fn few(&self, wanted: impl Fn(PointId) -> bool) -> Self {
        let list = self.list.iter().filter(|s| wanted(s.id));
        Self {
            list: list.cloned().collect(),
            ..Self::default()
        }
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
    worse: Vec<Worse>,
    /// The state where an outlet is hotter than new: that air's water, and what its dryers do.
    wet: Option<State>,
    /// That state, or the healthy one, with every dryer's capacity a fifth less.
    weak_dryers: Option<State>,
    room_unread: Option<f64>,
    moisture: f64,
}

impl View {
    fn of(station: &Station, round: &Round, day: &Day) -> Option<Self> {
        let health = Health::new(station);
        // Drops follow what flows at that moment, read or not.
        let conditions = &Conditions {
            demand: day.flows.map(|(flow, _)| ReferenceAir::new(flow)),
            ..day.conditions.clone()
        };
        let state = expect(station, &health, conditions).ok()?;
        let intake = Intake::of(conditions).ok()?;
        let worse = (0..station.machines.len())
            .map(|i| {
                let wanted = state.machines[i].is_some()
                    && day.moments[i] == Moment::Loaded
                    && station.machines[i].kind == MachineKind::Screw;
                if wanted {
                    Worse::of(station, i, conditions, &intake, state.room)
                } else {
                    Worse::default()
                }
            })
            .collect();
        let read = |point| round.readings.iter().any(|r| r.id.point == point);
        let dew_point_read = read(Point::DryerDewPoint);
        let hot = (dew_point_read || read(Point::Collected))
            .then(|| by_its_outlets(station, day, round, &state))
            .flatten();
        let wet = hot
            .as_ref()
            .and_then(|hot| expect(station, hot, conditions).ok());
        let weak_dryers = dew_point_read
            .then(|| {
                let mut weak = hot.unwrap_or_else(|| health.clone());
                weak.dryers.fill(PROBE);
                expect(station, &weak, conditions).ok()
            })
            .flatten();
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
            wet,
            weak_dryers,
            room_unread,
        })
    }

    /// What the line's water and its dryers get.
    fn wet(&self) -> &State {
        self.wet.as_ref().unwrap_or(&self.state)
    }

    fn sample(
        &self,
        station: &Station,
        round: &Round,
        day: &Day,
        id: PointId,
        read: f64,
        today: f64,
    ) -> Option<Sample> {
        let mut feels = [0.0; FELT];
        let mid = match id.point {
            Point::BeltIndicator => 0.0,
            Point::HeaderFlow => {
                let (flow, from) = self.flow_now(station, day)?;
                feels = from.map(|q| -q);
                flow
            }
            Point::VesselPressure | Point::HeaderPressure => {
                model_value(station, &self.state, self.room_unread, day, id)?
                    - self.drops_read(station, round, id.asset)
            }
            Point::DryerDewPoint => model_value(station, self.wet(), self.room_unread, day, id)?,
            _ => model_value(station, &self.state, self.room_unread, day, id)?,
        };
        match (id.point, id.asset) {
            (Point::DryerDewPoint, asset) => {
                let weak = self.weak_dryers.as_ref().and_then(|s| s.place(asset));
                feels[0] = weak.map_or(0.0, |place| place.dew_point.si() - mid);
                // What it holds within its capacity it holds the less well the more of it is asked for.
                let asked =
                    |state: &State| state.place(asset)?.dryer_load.map(|load| load.min(1.0));
                if let Some(weak) = &self.weak_dryers
                    && let (Some(weak), Some(well)) = (asked(weak), asked(self.wet()))
                {
                    feels[0] += DROOP_K * (weak - well);
                }
            }
            (Point::RoomTemperature, _) => feels[0] = mid - day.conditions.ambient.si(),
            _ => {}
        }
        let duty = match id.asset {
            Asset::Machine(i) => {
                feels = self.feels(i, id.point, mid);
                day.conditions.machines[i].recent_load
            }
            _ => mean_duty(day),
        };
        let bend = match id.asset {
            Asset::Machine(i) => self.bend(i, id.point),
            _ => None,
        };
        let mut warm_air = 1.0;
        let mut third = self.moisture;
        if let (Asset::Machine(i), Point::OilTemperature) = (id.asset, id.point)
            && let Some((held, open)) = self.held(station, i)
        {
            // The share of the cooler's flow that is open grows with what is lost.
            feels[0] += held * VALVE_SPAN_K * open * (1.0 / PROBE - 1.0);
            feels[6] += held * VALVE_SPAN_K * ((open / HALF).min(1.0) - open) / HALF_STEPS;
            third = held * open * HALVES;
            let over_air = (mid - self.state.room.si()).max(10.0);
            warm_air = 1.0 - held + held * VALVE_SPAN_K * open / over_air;
        }
        Some(Sample {
            day: today,
            read,
            mid,
            feels,
            warm_air,
            room: self.room_unread.map_or((0.0, 0.0), |unread| {
                let ambient = day.conditions.ambient.si();
                (self.state.room.si() - unread, unread - ambient)
            }),
            strays: self.strays(station, day, id, mid),
            ambient: day.conditions.ambient.si(),
            duty,
            third,
            reset: None,
            borne_out: false,
            bend,
            moved: 0.0,
        })
    }

    /// A sample that no part of the model moves.
    fn plain(&self, day: &Day, read: f64, mid: f64, today: f64) -> Sample {
        Sample {
            day: today,
            read,
            mid,
            feels: [0.0; FELT],
            warm_air: 0.0,
            room: (0.0, 0.0),
            strays: 0.0,
            ambient: day.conditions.ambient.si(),
            // The share on load is what is read here, and no weather that it could be laid to.
            duty: 0.0,
            third: self.moisture,
            reset: None,
            borne_out: false,
            bend: None,
            moved: 0.0,
        }
    }

    fn bend(&self, i: usize, point: Point) -> Option<Bend> {
        self.worse[i].bend(self.state.machines[i].as_ref()?, point)
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

    /// How far the unknown load of that moment makes a reading stray: drops by what flows; oil and
    /// outlet by the last quarter of an hour, with which the free oil temperature's rise over the
    /// room goes, and so much of that as the valve lets through.
    fn strays(&self, station: &Station, day: &Day, id: PointId, mid: f64) -> f64 {
        if matches!(id.point, Point::FilterDrop | Point::DryerDrop) {
            return DROP_FOLLOWS * mid * day.flows.map_or(0.0, |(_, share)| share);
        }
        if let (Asset::Machine(i), Point::SeparatorDrop | Point::IntakeDrop) = (id.asset, id.point)
        {
            return by_speed(day, i) * mid;
        }
        let (Asset::Machine(i), Point::OilTemperature | Point::OutletTemperature) =
            (id.asset, id.point)
        else {
            return 0.0;
        };
        let by_oil = || {
            let free = self.state.machines[i].as_ref()?.free_oil_temperature?.si();
            let (held, _) = self.held(station, i)?;
            let load = day.conditions.machines[i].recent_load.max(0.1);
            let rise = (free - self.state.room.si()).max(0.0);
            Some((1.0 - held) * rise / load * day.inputs.recent_load[i])
        };
        let little = day.conditions.machines[i].recent_load < LITTLE_LOAD;
        let cold = if little { MAYBE_COOL } else { 0.0 };
        let oil = by_oil().unwrap_or(0.0).hypot(cold);
        if id.point == Point::OilTemperature {
            oil
        } else {
            OUTLET_FOLLOWS * oil
        }
    }

    fn feels(&self, i: usize, point: Point, mid: f64) -> [f64; FELT] {
        let worse = &self.worse[i];
        let by = |part: &Option<MachineState>| Worse::moves(part.as_ref(), point, mid);
        let by_oil = |part: &Option<OilState>| {
            let healthy = self.state.machines[i].as_ref();
            healthy.map_or(0.0, |m| worse.moves_by_oil(part.as_ref(), m, point, mid))
        };
        let separator = if point == Point::SeparatorDrop {
            SEPARATOR_STEP
        } else {
            by_oil(&worse.separator)
        };
        [
            by(&worse.air),
            by_oil(&worse.oil_side),
            by(&worse.aftercooler),
            by(&worse.thermostat),
            self.open(i, point),
            separator,
            by(&worse.air_by_half) / HALF_STEPS,
            by(&worse.oil_side_by_half) / HALF_STEPS,
            by(&worse.delivery),
        ]
    }

    /// How far a valve that stays wholly open moves oil and outlet: the oil goes where the whole
    /// cooler takes it, and the outlet follows the oil.
    fn open(&self, i: usize, point: Point) -> f64 {
        let Some(m) = self.state.machines[i].as_ref() else {
            return 0.0;
        };
        let (Some(free), Some(oil)) = (m.free_oil_temperature, m.oil_temperature) else {
            return 0.0;
        };
        let falls = (free.si() - oil.si()).min(0.0);
        match point {
            Point::OilTemperature => falls,
            Point::OutletTemperature => {
                // Of a kelvin of the valve the oil shows one part and the outlet another.
                let Some(by_valve) = self.worse[i].thermostat.as_ref() else {
                    return 0.0;
                };
                let oil_by = by_valve.oil_temperature.map_or(0.0, |t| t.si() - oil.si());
                if oil_by < 0.05 {
                    return 0.0;
                }
                falls * (by_valve.outlet.si() - m.outlet.si()) / oil_by
            }
            _ => 0.0,
        }
    }

    /// How far the drops that were read on the way exceed the model's, Pa.
    fn drops_read(&self, station: &Station, round: &Round, asset: Asset) -> f64 {
        before(&station.air_path, asset)
            .into_iter()
            .filter_map(|on| {
                let point = match on {
                    Asset::Filter(_) => Point::FilterDrop,
                    Asset::Dryer(_) => Point::DryerDrop,
                    _ => return None,
                };
                Some(round.number(on, point)? - self.state.place(on)?.drop.si())
            })
            .sum()
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
