//! Bands: the uncertainty of every input, propagated through the forward model to first order.
//!
//! σ² = Σ (∂y/∂x_i · σ_i)² + σ_instrument² + σ_model², derivatives by nudging each input by its own
//! σ and running the model again. Must not know: findings.

use physics::machine::motor;
use physics::machine::package::POWER_SLOPE_SIGMA_PER_BAR;
use physics::quantity::{BAR_PA, Power};
use station::forward::{
    Conditions, DROP_EXPONENT, Expected, Health, Input, MachineState, State, expect,
    room_temperature,
};
use station::model::{Asset, Control, MachineKind, Station};
use station::point::{Point, PointId};

use crate::day::{Day, Moment, band_half_width, reading_sigma};

/// From off to on, a fan that switches lets the oil swing by so much, K (from memory).
const FAN_BAND_K: f64 = 8.0;
/// Share of time below which a fan that switches hardly does (common practice, no source).
const ALWAYS_OFF: f64 = 0.02;

/// An expectation with its band. SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// The value.
    pub mid: f64,
    /// One standard deviation, instrument and all.
    pub sigma: f64,
    /// The largest contributions: what, and its share of the standard deviation in the point's unit.
    pub from: Vec<(String, f64)>,
}

impl Band {
    /// Low end of the 95 % band.
    #[must_use]
    pub fn low(&self) -> f64 {
        self.mid - 1.96 * self.sigma
    }
    /// High end of the 95 % band.
    #[must_use]
    pub fn high(&self) -> f64 {
        self.mid + 1.96 * self.sigma
    }
}

/// What the model leaves out, one standard deviation (common practice, no source).
fn model_sigma(station: &Station, day: &Day, id: PointId, mid: f64) -> f64 {
    match id.point {
        Point::OilTemperature | Point::OutletTemperature => 1.2,
        Point::MachinePower | Point::MachineCurrent => {
            let slope = match id.asset {
                Asset::Machine(i) => {
                    let over = day.conditions.machines[i].pressure.si()
                        - station.machines[i].rated.pressure.si();
                    POWER_SLOPE_SIGMA_PER_BAR * over.abs() / BAR_PA
                }
                _ => 0.0,
            };
            mid.abs() * 0.01_f64.hypot(slope)
        }
        Point::DryerDewPoint => 1.0,
        Point::DryerInlet => 2.0,
        Point::VesselPressure | Point::HeaderPressure => 0.04e5,
        Point::FilterDrop | Point::DryerDrop => 0.1 * mid.abs(),
        Point::HeaderFlow => 0.05 * mid.abs(),
        Point::RoomTemperature => 1.0,
        _ => 0.0,
    }
}

/// What a drop inside a machine is of that at full flow: a machine that turns slowly takes less air.
pub(crate) fn flow_share(day: &Day, i: usize) -> f64 {
    day.conditions.machines[i].speed.powf(DROP_EXPONENT)
}

/// How far that strays with the speed, as a share of the drop.
pub(crate) fn by_speed(day: &Day, i: usize) -> f64 {
    let speed = day.conditions.machines[i].speed.max(0.1);
    DROP_EXPONENT * day.inputs.speed[i] / speed
}

/// What the model gives for a point, SI; `None` where it gives nothing.
pub(crate) fn model_value(
    station: &Station,
    state: &State,
    room: Option<f64>,
    day: &Day,
    id: PointId,
) -> Option<f64> {
    let machine = |i: usize| state.machines[i].as_ref();
    let value = match (id.point, id.asset) {
        (Point::OilTemperature, Asset::Machine(i)) => machine(i)?.oil_temperature?.si(),
        (Point::OutletTemperature, Asset::Machine(i)) => machine(i)?.outlet.si(),
        (Point::MachinePower, Asset::Machine(i)) => power(machine(i)?, day.moments[i])?.si(),
        (Point::MachineCurrent, Asset::Machine(i)) => {
            let motor = &station.machines[i].motor;
            let plate = motor::MotorPlate {
                current_a: motor.current_a?,
                power_factor: motor.power_factor.value,
            };
            let power = power(machine(i)?, day.moments[i])?;
            motor::current_at_power(power, motor.voltage_v?, plate).ok()?
        }
        (Point::SeparatorDrop, Asset::Machine(i)) => {
            machine(i)?;
            station.machines[i].separator.clean.value.si() * flow_share(day, i)
        }
        (Point::IntakeDrop, Asset::Machine(i)) => {
            machine(i)?;
            station.machines[i].intake.clean.value.si() * flow_share(day, i)
        }
        (Point::RoomTemperature, Asset::Room) => room?,
        (Point::HeaderFlow, Asset::Header(_)) => mean_flow(state),
        (Point::VesselPressure | Point::HeaderPressure, asset) => state.place(asset)?.pressure.si(),
        (Point::FilterDrop | Point::DryerDrop, asset) => state.place(asset)?.drop.si(),
        (Point::DryerDewPoint, asset) => state.place(asset)?.dew_point.si(),
        (Point::DryerInlet, asset) => state.place(asset)?.inlet_temperature.si(),
        _ => return None,
    };
    value.is_finite().then_some(value)
}

fn power(machine: &MachineState, moment: Moment) -> Option<Power> {
    match moment {
        Moment::Loaded => Some(machine.power),
        Moment::Unloaded => Some(machine.unloaded_power),
        Moment::Stopped | Moment::Unknown => None,
    }
}

/// What all running machines deliver on average, m³/s of reference air.
fn mean_flow(state: &State) -> f64 {
    state
        .places
        .iter()
        .filter(|p| matches!(p.asset, Asset::Machine(_)))
        .map(|p| physics::air::reference_air(p.dry_air * p.duty).si())
        .sum()
}

/// Whether a drop there is set by a demand that was not read.
fn flow_unknown(station: &Station, day: &Day, id: PointId) -> bool {
    matches!(id.point, Point::FilterDrop | Point::DryerDrop)
        && day.conditions.demand.is_none()
        && station.air_path.behind_a_vessel(id.asset)
}

/// Evaluates the model for several points at once.
fn evaluate(
    station: &Station,
    health: &Health,
    day: &Day,
    conditions: &Conditions,
    ids: &[PointId],
) -> Expected<(State, Vec<Option<f64>>)> {
    let state = expect(station, health, conditions)?;
    let room = if ids.iter().any(|id| id.point == Point::RoomTemperature) {
        let unread = Conditions {
            room: None,
            ..conditions.clone()
        };
        Some(room_temperature(station, health, &unread)?.si())
    } else {
        None
    };
    let values = ids
        .iter()
        .map(|&id| model_value(station, &state, room, day, id))
        .collect();
    Ok((state, values))
}

/// The model's values alone, without bands.
///
/// # Errors
/// Refusals of the model.
pub(crate) fn mids(
    station: &Station,
    health: &Health,
    day: &Day,
    ids: &[PointId],
) -> Expected<Vec<Option<f64>>> {
    evaluate(station, health, day, &day.conditions, ids).map(|(_, values)| values)
}

/// Expectations with bands for several points, and the state behind them.
///
/// # Errors
/// Refusals of the model at the round's own conditions.
pub fn bands(
    station: &Station,
    health: &Health,
    day: &Day,
    ids: &[PointId],
) -> Expected<(State, Vec<Option<Band>>)> {
    let mut inputs = day.inputs.all(station, &day.conditions);
    if ids.iter().any(|id| id.point == Point::RoomTemperature) && day.conditions.room.is_some() {
        let unread = Conditions {
            room: None,
            ..day.conditions.clone()
        };
        let known: Vec<String> = inputs.iter().map(|i| i.name(station)).collect();
        inputs.extend(
            day.inputs
                .all(station, &unread)
                .into_iter()
                .filter(|i| !known.contains(&i.name(station))),
        );
    }
    let (state, base, parts) = propagate(station, day, &inputs, |station, conditions| {
        evaluate(station, health, day, conditions, ids)
    })?;
    let bands = ids
        .iter()
        .zip(base)
        .zip(parts)
        .map(|((&id, mid), part)| Some(assemble(station, &state, day, id, mid?, part)))
        .collect();
    Ok((state, bands))
}

/// What each input contributes to a value: its name and |∂y/∂x · σ_x|.
pub(crate) type Parts = Vec<(String, f64)>;

/// The values of `of` at the day's conditions, and what each input contributes to each of them.
pub(crate) fn propagate(
    station: &Station,
    day: &Day,
    inputs: &[Input],
    of: impl Fn(&Station, &Conditions) -> Expected<(State, Vec<Option<f64>>)>,
) -> Expected<(State, Vec<Option<f64>>, Vec<Parts>)> {
    let (state, base) = of(station, &day.conditions)?;
    let mut parts: Vec<Parts> = vec![Vec::new(); base.len()];
    let mut nudged = station.clone();
    for input in inputs {
        let moved = moved_by(&mut nudged, day, input, &of)?;
        for ((part, &before), after) in parts.iter_mut().zip(&base).zip(moved) {
            if let (Some(before), Some(after)) = (before, after) {
                let by = (after - before).abs();
                if by > 0.0 {
                    part.push((input.name(station), by));
                }
            }
        }
    }
    Ok((state, base, parts))
}

/// The values after one input moved by its σ: upwards, or downwards where upwards is refused.
fn moved_by(
    station: &mut Station,
    day: &Day,
    input: &Input,
    of: impl Fn(&Station, &Conditions) -> Expected<(State, Vec<Option<f64>>)>,
) -> Expected<Vec<Option<f64>>> {
    let mut answer = Ok(Vec::new());
    for sign in [1.0, -1.0] {
        let mut conditions = day.conditions.clone();
        input.nudge(station, &mut conditions, sign * input.sigma);
        answer = of(station, &conditions).map(|(_, values)| values);
        input.nudge(station, &mut day.conditions.clone(), -sign * input.sigma);
        if answer.is_ok() {
            return answer;
        }
    }
    answer
}

pub(crate) fn assemble(
    station: &Station,
    state: &State,
    day: &Day,
    id: PointId,
    mid: f64,
    mut from: Vec<(String, f64)>,
) -> Band {
    let mut add = |what: &str, sigma: f64| {
        if sigma > 0.0 {
            from.push((what.to_owned(), sigma));
        }
    };
    add("the instrument", reading_sigma(station, id, mid));
    add(
        "what the model leaves out",
        model_sigma(station, day, id, mid),
    );
    match (id.point, id.asset) {
        (Point::SeparatorDrop, Asset::Machine(i)) => {
            let clean = station.machines[i].separator.clean.sigma;
            add("clean drop", clean * flow_share(day, i));
            add("the speed", by_speed(day, i) * mid);
        }
        (Point::IntakeDrop, Asset::Machine(i)) => {
            let clean = station.machines[i].intake.clean.sigma;
            add("clean drop", clean * flow_share(day, i));
            add("the speed", by_speed(day, i) * mid);
        }
        (Point::MachinePower, Asset::Machine(i)) if day.moments[i] == Moment::Unloaded => {
            // Blowing down, or not: the first half minute after unloading draws more.
            add("blowing down", 0.05 * mid);
        }
        (Point::MachineCurrent, _) => add("the power factor at part load", 0.04 * mid),
        (Point::VesselPressure | Point::HeaderPressure, _) => {
            if let Some(half) = widest_band(station, day) {
                add("where the machines are in their band", half / 1.96);
            }
        }
        _ => {}
    }
    if let (Point::OilTemperature | Point::OutletTemperature, Asset::Machine(i)) =
        (id.point, id.asset)
    {
        if let Some(machine) = &state.machines[i] {
            let doubt = match id.point {
                Point::OilTemperature => machine.fan_doubt.0,
                _ => machine.fan_doubt.1,
            };
            add("how the fan runs", doubt.si() / 1.5);
            let switching = station.machines[i].cooling.fan.switches()
                && (ALWAYS_OFF..1.0 - ALWAYS_OFF).contains(&machine.fan_share);
            if switching && id.point == Point::OilTemperature {
                add("where the fan is in its band", FAN_BAND_K / 12.0_f64.sqrt());
            }
            if id.point == Point::OilTemperature {
                add(
                    "where in its band the valve stands",
                    valve_sigma(station, machine, day.conditions.machines[i].duty, i),
                );
            }
        }
        if station.machines[i].kind == MachineKind::Other {
            add("a kind that is not modelled", 3.0);
        }
        if matches!(station.machines[i].control, Control::VariableSpeed { .. }) {
            add("a speed that moves", 1.5);
        }
    }
    if flow_unknown(station, day, id) {
        // The demand of the moment may be anything between nothing and all that runs.
        add("the flow, which was not read", 0.6 * mid);
    }
    let sigma = from.iter().map(|(_, s)| s * s).sum::<f64>().sqrt();
    from.sort_by(|a, b| b.1.total_cmp(&a.1));
    from.truncate(6);
    Band {
        mid,
        sigma: sigma.max(1.0e-9),
        from,
    }
}

/// While the thermostatic valve sets the oil temperature, its band of about 10 K is felt: the held
/// temperature was read at one load and weather, not at all. On load after little load, the air end
/// already warms the oil by more than the mean that the valve has settled at (common practice, no
/// source).
fn valve_sigma(station: &Station, machine: &MachineState, duty: f64, i: usize) -> f64 {
    const FULLY_FELT_K: f64 = 1.8;
    const AFTER_LITTLE_LOAD_K: f64 = 1.7;
    let held = station.machines[i].oil.held_at.value.si();
    let over = machine
        .free_oil_temperature
        .map_or(0.0, |free| free.si() - held);
    let felt = FULLY_FELT_K + AFTER_LITTLE_LOAD_K * (1.0 - duty).clamp(0.0, 1.0);
    felt / (1.0 + (over / 2.5).exp())
}

/// Half of the widest band of the running machines whose pressure was not read.
fn widest_band(station: &Station, day: &Day) -> Option<f64> {
    station
        .machines
        .iter()
        .enumerate()
        .filter(|(i, _)| day.conditions.machines[*i].duty > 0.0)
        .map(|(_, machine)| band_half_width(machine))
        .reduce(f64::max)
}
