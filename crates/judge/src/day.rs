//! The conditions of one round: what was read, what is taken for what was not, and how well each is
//! known.
//!
//! Must not know: findings, sentences about health.

use jiff::Timestamp;
use physics::quantity::{AbsolutePressure, GaugePressure, ReferenceAir, Temperature};
use physics::validity::Answer;
use station::forward::{Conditions, Inputs, Running};
use station::model::{Asset, Control, Machine, Station};
use station::point::{Accuracy, Point, PointId, Word};
use station::round::Round;

use crate::load::Beside;
use crate::memory::{Hours, Memory};

/// Spread of the atmosphere about its standard with the weather, Pa (common practice, no source).
const WEATHER_PRESSURE_SIGMA: f64 = 900.0;
/// Spread of a day's temperature about the month's mean, K (common practice, no source).
const WEATHER_TEMPERATURE_SIGMA: f64 = 5.0;
/// Spread of a day's relative humidity about the month's (common practice, no source).
const WEATHER_HUMIDITY_SIGMA: f64 = 0.12;
/// How far the load of the last quarter of an hour strays from the duty of the last day, at one
/// standard deviation (common practice, no source).
const RECENT_LOAD_SIGMA: f64 = 0.17;
/// Oil and coolers need so long on load to come to their temperature, min (common practice, no
/// source).
const WARM_UP_MIN: i64 = 45;

/// What a machine did when it was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moment {
    /// On load.
    Loaded,
    /// Turning without load.
    Unloaded,
    /// Not turning.
    Stopped,
    /// Not read.
    Unknown,
}

/// Where a duty comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DutyFrom {
    /// Hour counters since the last round.
    Counters,
    /// Load and unload time by the watch.
    Watch,
    /// The share of the last twenty minutes on load, by a log.
    Log,
    /// Hours on load and hours run of the last weeks, by a log.
    LogOfWeeks,
    /// The speed that was read.
    Speed,
    /// Nothing was read: assumed.
    Assumed,
    /// Stated by whoever asks.
    Stated,
}

/// The conditions of one round.
#[derive(Debug, Clone, PartialEq)]
pub struct Day {
    /// When.
    pub time: Timestamp,
    /// The conditions.
    pub conditions: Conditions,
    /// How uncertain they are.
    pub inputs: Inputs,
    /// What goes down the line, m³/s of reference air, and how uncertain that is as a share: read, or
    /// by what each machine carries. `None` where neither is known.
    pub flows: Option<(f64, f64)>,
    /// What each machine did.
    pub moments: Vec<Moment>,
    /// Where each duty comes from.
    pub duty_from: Vec<DutyFrom>,
    /// Whether each machine just started after a rest, so that nothing is warm yet.
    pub warming_up: Vec<bool>,
    /// Whether each machine starts so often and carries so little that it may be cold at any time.
    pub barely_runs: Vec<bool>,
    /// Whether the plant works; `None` if its hours are not told.
    pub working: Option<bool>,
    /// Month, 0 is January.
    pub month: usize,
    /// Whether the weather was read.
    pub weather_read: bool,
}

/// One standard deviation of a reading: the limit of error holds at 95 %.
#[must_use]
pub(crate) fn reading_sigma(station: &Station, id: PointId, value: f64) -> f64 {
    if let Some(limit) = station.accuracies.get(&id) {
        return limit / 1.96;
    }
    match id.point.usual_accuracy() {
        Accuracy::Limit(limit) => limit / 1.96,
        Accuracy::Share(share) => share * value.abs() / 1.96,
        Accuracy::Exact => 0.0,
    }
}

/// Minutes since Monday 00:00 in the station's time zone.
#[must_use]
pub(crate) fn minute_of_week(station: &Station, time: Timestamp) -> u32 {
    let local = time.to_zoned_datetime(station.site.time_zone.clone());
    let day = local.weekday().to_monday_zero_offset().unsigned_abs();
    u32::from(day) * 1440
        + u32::from(local.hour().unsigned_abs()) * 60
        + u32::from(local.minute().unsigned_abs())
}

impl Day {
    /// The conditions of a round.
    ///
    /// # Errors
    /// Refusals of the saturation formulas.
    pub fn of(station: &Station, memory: &Memory, round: &Round) -> Answer<Self> {
        let local = round.time.to_zoned_datetime(station.site.time_zone.clone());
        let month = usize::from(local.month().unsigned_abs()) - 1;
        let weather = Weather::of(station, round, month)?;
        let (mut machines, mut moments, mut duty_from) = (vec![], vec![], vec![]);
        let mut inputs = Inputs {
            ambient: weather.ambient.1,
            humidity: weather.humidity.1,
            atmosphere: weather.atmosphere.1,
            room: 0.0,
            demand_share: 0.0,
            duty: vec![],
            recent_load: vec![],
            pressure: vec![],
            speed: vec![],
        };
        for (i, machine) in station.machines.iter().enumerate() {
            let run = running(station, memory, round, i, machine);
            moments.push(run.moment);
            duty_from.push(run.from);
            inputs.duty.push(run.duty_sigma);
            inputs.recent_load.push(run.recent_sigma);
            inputs.pressure.push(run.pressure_sigma);
            inputs.speed.push(run.speed_sigma);
            machines.push(run.running);
        }
        let room_id = PointId {
            asset: Asset::Room,
            point: Point::RoomTemperature,
        };
        let room = round.number(Asset::Room, Point::RoomTemperature);
        inputs.room = room.map_or(0.0, |t| reading_sigma(station, room_id, t));
        let demand = flow_read(station, round);
        inputs.demand_share = demand.map_or(0.0, |(_, share)| share);
        let minute = minute_of_week(station, round.time);
        let working = station
            .site
            .hours
            .as_ref()
            .map(|hours| hours.works_at(minute));
        let plant_rested = just_started(station, minute);
        // What a log tells of a machine's temperatures is taken only once it is warm.
        let warming_up = (0..station.machines.len())
            .map(|i| {
                round.logged_run(i).is_none()
                    && (plant_rested || machine_rested(round, Asset::Machine(i)))
            })
            .collect();
        let beside = Beside {
            station,
            memory,
            round,
            conditions: Conditions {
                ambient: weather.ambient.0,
                humidity: weather.humidity.0,
                atmosphere: weather.atmosphere.0,
                room: room.map(Temperature::new),
                machines,
                demand: demand.map(|(flow, _)| ReferenceAir::new(flow)),
            },
            moments: &moments,
            duty_from: &duty_from,
            working,
        };
        let (conditions, by_machines) = beside.settle(&mut inputs);
        let flows = demand.or(by_machines);
        Ok(Self {
            time: round.time,
            conditions,
            flows,
            inputs,
            moments,
            duty_from,
            warming_up,
            barely_runs: (0..station.machines.len())
                .map(|i| barely_runs(round, Asset::Machine(i)))
                .collect(),
            working,
            month,
            weather_read: weather.read,
        })
    }
}

impl Day {
    /// Conditions that are stated, not read: nothing about them is uncertain, and every machine with
    /// a duty is on load.
    #[must_use]
    pub fn stated(conditions: Conditions, time: Timestamp) -> Self {
        let count = conditions.machines.len();
        let moments = conditions
            .machines
            .iter()
            .map(|run| {
                if run.duty > 0.0 {
                    Moment::Loaded
                } else {
                    Moment::Stopped
                }
            })
            .collect();
        Self {
            time,
            flows: None,
            inputs: Inputs {
                ambient: 0.0,
                humidity: 0.0,
                atmosphere: 0.0,
                room: 0.0,
                demand_share: 0.0,
                duty: vec![0.0; count],
                recent_load: vec![0.0; count],
                pressure: vec![0.0; count],
                speed: vec![0.0; count],
            },
            conditions,
            moments,
            duty_from: vec![DutyFrom::Stated; count],
            warming_up: vec![false; count],
            barely_runs: vec![false; count],
            working: None,
            month: 0,
            weather_read: true,
        }
    }
}

/// Whether the plant opened within the warm-up, or opens within the hour, after four hours of rest.
fn just_started(station: &Station, minute: u32) -> bool {
    const WEEK: u32 = 7 * 1440;
    let Some(hours) = &station.site.hours else {
        return false;
    };
    let works = |by: i64| {
        let shifted = (i64::from(minute) + by).rem_euclid(i64::from(WEEK));
        hours.works_at(u32::try_from(shifted).unwrap_or(0))
    };
    let rested_before = |by: i64| (0..240).step_by(10).all(|more| !works(by - more));
    if works(0) {
        (1..=WARM_UP_MIN)
            .find(|&by| !works(-by))
            .is_some_and(|by| rested_before(-by))
    } else {
        (1..=60).any(works) && rested_before(0)
    }
}

/// Whether the counter moved by less than an hour while the machine could have run for six or more.
fn machine_rested(round: &Round, asset: Asset) -> bool {
    let id = PointId {
        asset,
        point: Point::HoursRun,
    };
    round
        .counter_steps
        .iter()
        .find(|s| s.id == id)
        .is_some_and(|step| {
            step.increase < 0.75 && crate::memory::days_between(step.since, round.time) > 0.25
        })
}

/// Whether a machine, since the round before, started more often than every other hour that it ran and
/// was on load for less than a fifth of them (common practice, no source).
fn barely_runs(round: &Round, machine: Asset) -> bool {
    let Some(hours) = Hours::of(round, machine) else {
        return false;
    };
    let starts = round
        .step(machine, Point::Starts)
        .map_or(0.0, |s| s.increase);
    starts >= 2.0 && hours.run < 2.0 * starts && hours.loaded <= 0.2 * hours.run
}

struct Weather {
    ambient: (Temperature, f64),
    humidity: (f64, f64),
    atmosphere: (AbsolutePressure, f64),
    read: bool,
}

impl Weather {
    fn of(station: &Station, round: &Round, month: usize) -> Answer<Self> {
        let site = |point| {
            let value = round.number(Asset::Site, point)?;
            Some((
                value,
                reading_sigma(
                    station,
                    PointId {
                        asset: Asset::Site,
                        point,
                    },
                    value,
                ),
            ))
        };
        let read = site(Point::SiteAmbient);
        let room = round.number(Asset::Room, Point::RoomTemperature);
        let climate = station.site.climate.as_ref();
        let ambient = match (read, room, climate) {
            (Some((t, sigma)), _, _) => (Temperature::new(t), sigma),
            (None, Some(room), _) => {
                let rise = station.room.assumed_rise;
                (Temperature::new(room) - rise.value, rise.sigma + 1.0)
            }
            (None, None, Some(c)) => (c.mean[month], WEATHER_TEMPERATURE_SIGMA),
            (None, None, None) => (Temperature::from_celsius(15.0), 8.0),
        };
        let humidity = match (site(Point::SiteHumidity), climate) {
            (Some(read), _) => read,
            (None, Some(c)) => (c.humidity_at(month, ambient.0)?, WEATHER_HUMIDITY_SIGMA),
            (None, None) => (0.7, 0.15),
        };
        let atmosphere = match site(Point::SiteBarometer) {
            Some((p, sigma)) => (AbsolutePressure::new(p), sigma),
            None => (station.standard_atmosphere(), WEATHER_PRESSURE_SIGMA),
        };
        Ok(Self {
            ambient,
            humidity,
            atmosphere,
            read: read.is_some(),
        })
    }
}

/// A meter that reads so many times what all machines are rated for is misread: a vessel that empties gives some
/// more for a while (from memory).
const MORE_THAN_ALL: f64 = 1.5;

/// What all machines together are rated for, m³/s.
pub(crate) fn rated_of_all(station: &Station) -> f64 {
    let each = station.machines.iter().map(|m| m.rated.fad.value.si());
    each.sum()
}

/// Whether no machines could give a flow that was read, m³/s.
pub(crate) fn is_more_than_all(station: &Station, flow: f64) -> bool {
    flow > MORE_THAN_ALL * rated_of_all(station)
}

/// The header's flow, m³/s of reference air, and its uncertainty as a share.
fn flow_read(station: &Station, round: &Round) -> Option<(f64, f64)> {
    (0..station.headers.len()).find_map(|i| {
        let id = PointId {
            asset: Asset::Header(i),
            point: Point::HeaderFlow,
        };
        let flow = round.number(id.asset, id.point).filter(|q| *q > 0.0)?;
        if is_more_than_all(station, flow) {
            return None;
        }
        Some((flow, reading_sigma(station, id, flow) / flow))
    })
}

struct Run {
    running: Running,
    moment: Moment,
    from: DutyFrom,
    duty_sigma: f64,
    recent_sigma: f64,
    pressure_sigma: f64,
    speed_sigma: f64,
}

fn running(station: &Station, memory: &Memory, round: &Round, i: usize, machine: &Machine) -> Run {
    let asset = Asset::Machine(i);
    let moment = match round.word(asset, Point::MachineState) {
        Some(Word::Loaded) => Moment::Loaded,
        Some(Word::Unloaded) => Moment::Unloaded,
        Some(Word::Stopped) => Moment::Stopped,
        _ => by_power(machine, round.number(asset, Point::MachinePower)),
    };
    let (duty, duty_sigma, mut from) = duty(memory, round, i);
    let mut run = Running::at_duty(station, i, duty);
    let cycles = matches!(
        machine.control,
        Control::LoadUnload(_) | Control::StartStop(_)
    );
    let recent_sigma = match from {
        _ if !cycles || duty > 0.99 => 0.0,
        DutyFrom::Watch => 0.05,
        DutyFrom::Log => duty_sigma,
        // A machine that is on load now has had some load of late.
        _ => RECENT_LOAD_SIGMA.min(0.6 * (1.0 - duty) + 0.03),
    };
    let mut speed_sigma = 0.0;
    if let Control::VariableSpeed { .. } = machine.control {
        speed_sigma = 0.15;
        if let Some(speed) = round
            .number(asset, Point::MachineSpeed)
            .filter(|s| *s > 5.0)
        {
            run.speed = speed / 100.0;
            speed_sigma = 0.01;
            from = DutyFrom::Speed;
        }
        run.duty = run.speed.min(1.0);
    }
    run.fan_on = round.word(asset, Point::Fan).map(|word| word == Word::On);
    let id = PointId {
        asset,
        point: Point::MachinePressure,
    };
    let pressure_sigma = match round.number(asset, Point::MachinePressure) {
        Some(p) if moment != Moment::Stopped => {
            run.pressure = GaugePressure::new(p);
            reading_sigma(station, id, p)
        }
        _ => band_half_width(machine) / 1.96,
    };
    if moment == Moment::Stopped {
        run.duty = 0.0;
    } else if run.duty <= 0.0 {
        run.duty = 0.02;
    }
    Run {
        running: run,
        moment,
        from,
        duty_sigma,
        recent_sigma,
        pressure_sigma,
        speed_sigma,
    }
}

/// Half of the pressure band that a machine works in, Pa.
pub(crate) fn band_half_width(machine: &Machine) -> f64 {
    match &machine.control {
        Control::LoadUnload(b) | Control::StartStop(b) | Control::Modulating(b) => {
            0.5 * (b.unload.si() - b.load.si())
        }
        Control::VariableSpeed { .. } => 0.1e5,
    }
}

/// Where the state was not written down, the power tells it.
fn by_power(machine: &Machine, power: Option<f64>) -> Moment {
    let Some(power) = power else {
        return Moment::Unknown;
    };
    let rated = machine.rated.power.value.si();
    let unloaded = machine.unloaded_power.value.si();
    if power < 0.03 * rated {
        Moment::Stopped
    } else if power < unloaded + 0.3 * (rated - unloaded) {
        Moment::Unloaded
    } else if power > unloaded + 0.6 * (rated - unloaded) {
        Moment::Loaded
    } else {
        Moment::Unknown
    }
}

/// Hours loaded over hours run: by the log or the watch now, by counters since the last round, by
/// counters or the log of the last weeks, or assumed.
fn duty(memory: &Memory, round: &Round, machine: usize) -> (f64, f64, DutyFrom) {
    let asset = Asset::Machine(machine);
    if let Some((share, sigma)) = round.logged_run(machine).and_then(|run| run.load) {
        return (share, sigma, DutyFrom::Log);
    }
    let load = round.number(asset, Point::LoadTime);
    let unload = round.number(asset, Point::UnloadTime);
    if let (Some(load), Some(unload)) = (load, unload) {
        return (load / (load + unload), 0.03, DutyFrom::Watch);
    }
    let enough = |hours: &Hours| hours.run > 0.5;
    let hours = Hours::of(round, asset)
        .filter(enough)
        .or_else(|| memory.hours(asset, round.time, 30.0).filter(enough));
    let logged = || memory.logged_hours(asset, round.time, 30.0).filter(enough);
    if hours.is_none()
        && let Some(h) = logged()
    {
        let duty = (h.loaded / h.run).clamp(0.02, 1.0);
        return (duty, 0.05, DutyFrom::LogOfWeeks);
    }
    match hours {
        // Counters show whole hours: each end may be off by up to one.
        Some(h) => (
            (h.loaded / h.run).clamp(0.02, 1.0),
            0.03_f64.hypot(0.4 / h.run),
            DutyFrom::Counters,
        ),
        None => (0.75, 0.15, DutyFrom::Assumed),
    }
}
