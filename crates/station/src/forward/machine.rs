//! One machine while loaded: air, power, heat, oil and outlet temperature.
//!
//! The rated point fixes the oil cooler's conductance and the aftercooler's transfer units; the
//! day's conditions and health then give the state by one energy balance, closed to 1e-9.

use physics::air::{
    Formulation, R_DRY_AIR, dry_air_density, dry_air_mass_flow, enthalpy_moist_air,
    humidity_ratio_from_vapour_pressure, vapour_pressure_from_humidity_ratio,
};
use physics::heat::aftercooler::{self, Cooler, HotAir};
use physics::heat::cooler::{AIR_EXPONENT, OIL_EXPONENT, conductance, rated_conductance};
use physics::heat::thermostat::{ROUNDING, smooth_maximum};
use physics::machine::oil::{free_discharge_temperature, oil_capacity};
use physics::machine::package::{
    Compression, Delivery, SURFACE_SHARE, air_end_pressure, free_air_delivered,
    modulating_power_share, oil_heat, power_on_load, surface_heat,
};
use physics::quantity::{
    AbsolutePressure, FreeAir, MassFlow, Power, PressureDifference, Temperature,
    TemperatureDifference,
};
use physics::solve::{MonotoneCubic, bracketed_root};
use physics::validity::{Answer, Refusal};

use super::conditions::{Conditions, Intake, Running};
use super::health::MachineHealth;
use super::{AtPlace, Expected};
use crate::model::{Asset, Control, Drive, Fan, Machine, MachineKind, Station};

/// ISO 1217 reference inlet: 1 bar(a).
const RATED_ATMOSPHERE: AbsolutePressure = AbsolutePressure::from_bar(1.0);
/// The lowest share of full flow that a variable fan turns down to (common practice, no source).
const LOWEST_FAN: f64 = 0.25;
/// The aftercooler's transfer units go with flow to this power: half of the resistance on the
/// compressed-air side, whose film goes with flow^0.8, and N = UA/(ṁ c_p).
const FLOW_EXPONENT: f64 = -0.6;
/// How far over the thermostat's temperature a fan of unknown control is taken to hold the oil.
const UNKNOWN_FAN_OVER_HELD: TemperatureDifference = TemperatureDifference::new(8.0);

/// Where the package's input goes, W; the sum of all is the input to 1e-9.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatBalance {
    /// Package input.
    pub power: f64,
    /// To the oil cooler.
    pub oil: f64,
    /// To the aftercooler.
    pub aftercooler: f64,
    /// By motor, drive, fan and casing.
    pub surface: f64,
    /// Gained by air and water between intake and package outlet.
    pub air: f64,
}

/// One machine while loaded.
#[derive(Debug, Clone, PartialEq)]
pub struct MachineState {
    /// Free air delivered, at the machine's own intake.
    pub free_air: FreeAir,
    /// The same as dry air.
    pub dry_air: MassFlow,
    /// Vapour taken in, kg/kg.
    pub humidity_ratio: f64,
    /// Pressure at the air end's discharge.
    pub air_end: AbsolutePressure,
    /// Pressure behind the intake filter.
    pub intake: AbsolutePressure,
    /// Package input on load.
    pub power: Power,
    /// Package input unloaded.
    pub unloaded_power: Power,
    /// Air-end discharge temperature; `None` for a kind without thermal model.
    pub oil_temperature: Option<Temperature>,
    /// The same with all oil through the cooler.
    pub free_oil_temperature: Option<Temperature>,
    /// Air leaving the package.
    pub outlet: Temperature,
    /// Vapour leaving the package, kg/kg.
    pub outlet_humidity_ratio: f64,
    /// Liquid that falls out in the aftercooler, kg/kg.
    pub liquid: f64,
    /// Below this oil temperature water condenses in the oil: dew point at the air end.
    pub oil_dew_point: Temperature,
    /// Conductance of the oil cooler as it is, W/K.
    pub conductance_w_k: f64,
    /// Heat capacity rate of the circulating oil, W/K.
    pub oil_capacity_w_k: f64,
    /// Transfer units of the aftercooler as it is.
    pub transfer_units: f64,
    /// Cooling-air share of the fan's full flow.
    pub fan_share: f64,
    /// Where the power goes.
    pub heat: HeatBalance,
    /// Half the distance between what a constant and a variable fan would give, for oil and outlet:
    /// not zero only where the fan's control is unknown or its moment was not seen.
    pub fan_doubt: (TemperatureDifference, TemperatureDifference),
}

/// Drive loss as a share of shaft power (common practice, no source).
fn drive_loss(machine: &Machine) -> f64 {
    match machine.drive {
        Drive::Belt => 0.04,
        Drive::Gear => 0.02,
        Drive::Direct => 0.0,
    }
}

/// Share of the input that leaves by motor, drive, fan and casing.
pub(super) fn surface_share(machine: &Machine) -> f64 {
    machine.motor.efficiency.map_or(SURFACE_SHARE, |eta| {
        let fan = machine.fan_power.value / machine.rated.power.value;
        fan + (1.0 - fan) * (1.0 - eta * (1.0 - drive_loss(machine)))
    })
}

fn surface(machine: &Machine, power: Power, fan: Power, slip: f64) -> Answer<Power> {
    surface_heat(power, fan, machine.motor.efficiency, drive_loss(machine), slip)
}

/// The rated point turned into what the model needs.
struct Rating {
    dry_air: MassFlow,
    compression: Compression,
    density: f64,
    /// Conductance of the clean oil cooler, W/K.
    conductance_w_k: f64,
    /// Transfer units of the clean aftercooler.
    transfer_units: f64,
}

fn rating(machine: &Machine) -> Answer<Rating> {
    let cool = machine.cooling.rated_ambient;
    let w = Formulation::REAL.humidity_ratio(cool, machine.rated.humidity, RATED_ATMOSPHERE)?;
    let dry_air = dry_air_mass_flow(machine.rated.fad.value, cool, w, RATED_ATMOSPHERE)?;
    let outlet = machine.rated.pressure.absolute(RATED_ATMOSPHERE);
    let compression = Compression {
        intake: RATED_ATMOSPHERE - machine.intake.clean.value,
        discharge: outlet + machine.cooling.after_drop.value + machine.separator.clean.value,
    };
    let density = RATED_ATMOSPHERE.si() / (R_DRY_AIR * cool.si());
    if machine.kind == MachineKind::Other {
        return Ok(Rating {
            dry_air,
            compression,
            density,
            conductance_w_k: 1.0,
            transfer_units: 1.0,
        });
    }
    let hot = cool + machine.cooling.oil_approach.value;
    let power = machine.rated.power.value;
    let heat = oil_heat(
        power,
        surface(machine, power, machine.fan_power.value, 0.0)?,
        dry_air,
        enthalpy_moist_air(cool, w, 0.0)?,
        enthalpy_moist_air(hot, w, 0.0)?,
    )?;
    let transfer_units = aftercooler::transfer_units_at(
        HotAir { temperature: hot, humidity_ratio: w, pressure: outlet },
        cool,
        machine.cooling.air_approach.value,
        machine.cooling.hot_side_share.value,
    )?;
    Ok(Rating {
        dry_air,
        compression,
        density,
        conductance_w_k: rated_conductance(heat, machine.cooling.oil_approach.value)?,
        transfer_units,
    })
}

/// The intake and the discharge of the air end.
fn compression(
    machine: &Machine,
    health: &MachineHealth,
    running: &Running,
    atmosphere: AbsolutePressure,
) -> Answer<Compression> {
    let flow = running.speed;
    let drop = machine.intake.clean.value * (health.intake_drop * flow.powf(1.8));
    let separator = machine.separator.clean.value * (health.separator_drop * flow.powf(1.8));
    let after = machine.cooling.after_drop.value * flow.powf(1.8);
    Ok(Compression {
        intake: atmosphere - drop,
        discharge: air_end_pressure(
            running.pressure.absolute(atmosphere),
            after,
            machine.minimum_pressure.value.absolute(atmosphere),
            separator,
        )?,
    })
}

/// Input on load with the fan at this share of its flow.
fn loaded_power(
    machine: &Machine,
    health: &MachineHealth,
    running: &Running,
    at: Compression,
    rated_at: Compression,
    fan_share: f64,
) -> Answer<Power> {
    let rated = match &machine.control {
        Control::VariableSpeed { part_load, .. } => part_load_power(machine, part_load, running.speed)?,
        _ => machine.rated.power.value,
    };
    let fan = machine.fan_power.value.si().min(0.5 * rated.si());
    let fan_now = Power::new(fan * fan_share.powi(3));
    let full = power_on_load(rated, Power::new(fan), fan_now, health.power, at, rated_at)?;
    match machine.control {
        Control::Modulating(_) => Ok(full * modulating_power_share(running.duty.min(1.0))?),
        _ => Ok(full),
    }
}

fn part_load_power(
    machine: &Machine,
    part_load: &[(FreeAir, Power)],
    speed: f64,
) -> Answer<Power> {
    let flow = machine.rated.fad.value.si() * speed;
    let points: Vec<(f64, f64)> = part_load.iter().map(|(q, p)| (q.si(), p.si())).collect();
    match (points.first(), points.last()) {
        (Some(first), Some(last)) if points.len() > 1 => {
            let watt = MonotoneCubic::through(&points)?.at(flow.clamp(first.0, last.0))?;
            // The curve ends at the file's rated point; nudges of the rated power go along.
            Ok(Power::new(watt * machine.rated.power.value.si() / last.1))
        }
        _ => Ok(machine.rated.power.value * speed),
    }
}

/// Mean input of a running machine: loaded for its duty, unloaded for the rest.
pub(super) fn mean_power(
    machine: &Machine,
    index: usize,
    health: &MachineHealth,
    running: &Running,
    conditions: &Conditions,
) -> Expected<Power> {
    let here = Asset::Machine(index);
    let at = compression(machine, health, running, conditions.atmosphere).at(here)?;
    let rated_at = rating(machine).at(here)?.compression;
    let loaded = loaded_power(machine, health, running, at, rated_at, 1.0).at(here)?;
    Ok(match machine.control {
        Control::LoadUnload(_) => {
            let unloaded = machine.unloaded_power.value * health.unloaded_power;
            loaded * running.duty + unloaded * (1.0 - running.duty)
        }
        Control::StartStop(_) => loaded * running.duty,
        Control::Modulating(_) | Control::VariableSpeed { .. } => loaded,
    })
}

/// How the fan runs, once it is decided.
#[derive(Clone, Copy)]
enum FanMode {
    Full,
    Holds(Temperature),
}

/// The state of one machine while loaded.
///
/// # Errors
/// Any refusal of the formulas, with the machine's place.
pub fn machine_state(
    station: &Station,
    index: usize,
    health: &MachineHealth,
    conditions: &Conditions,
    intake: &Intake,
    room: Temperature,
) -> Expected<MachineState> {
    let machine = &station.machines[index];
    let running = &conditions.machines[index];
    let day = Day { machine, health, running, conditions, intake, room };
    let here = Asset::Machine(index);
    if machine.kind == MachineKind::Other {
        return other_state(&day).at(here);
    }
    let full = |mode| screw_state(&day, mode).at(here);
    match machine.cooling.fan {
        Fan::Constant => full(FanMode::Full),
        Fan::Variable(held) => full(FanMode::Holds(held.value)),
        Fan::OnOff(about) => match running.fan_on {
            // What the outlet shows follows the fan of this moment, the sump the mean.
            Some(true) => Ok(between(&full(FanMode::Full)?, &full(FanMode::Holds(about.value))?, 0.0, 1.0)),
            _ => Ok(between(&full(FanMode::Full)?, &full(FanMode::Holds(about.value))?, 0.5, 1.0)),
        },
        Fan::Unknown => {
            let held = machine.oil.held_at.value + UNKNOWN_FAN_OVER_HELD;
            Ok(between(&full(FanMode::Full)?, &full(FanMode::Holds(held))?, 0.5, 0.5))
        }
    }
}

/// Between the full fan and the fan that holds a temperature: `outlet` and `oil` are the weights of
/// the second, and the doubt is half of their distance where the weight is not certain.
fn between(full: &MachineState, holding: &MachineState, outlet: f64, oil: f64) -> MachineState {
    let mix = |a: f64, b: f64, weight: f64| a + weight * (b - a);
    let doubt = |a: f64, b: f64, weight: f64| {
        TemperatureDifference::new(if weight > 0.0 && weight < 1.0 { 0.5 * (b - a).abs() } else { 0.0 })
    };
    let (oil_full, oil_held) = (kelvin(full.oil_temperature), kelvin(holding.oil_temperature));
    let (out_full, out_held) = (full.outlet.si(), holding.outlet.si());
    let w = mix(full.outlet_humidity_ratio, holding.outlet_humidity_ratio, outlet);
    MachineState {
        oil_temperature: Some(Temperature::new(mix(oil_full, oil_held, oil))),
        outlet: Temperature::new(mix(out_full, out_held, outlet)),
        outlet_humidity_ratio: w,
        liquid: full.humidity_ratio - w,
        fan_share: mix(full.fan_share, holding.fan_share, 0.5),
        fan_doubt: (doubt(oil_full, oil_held, oil), doubt(out_full, out_held, outlet)),
        ..if oil < 0.75 { full.clone() } else { holding.clone() }
    }
}

fn kelvin(t: Option<Temperature>) -> f64 {
    t.map_or(f64::NAN, Temperature::si)
}

/// What one evaluation needs, borrowed.
struct Day<'a> {
    machine: &'a Machine,
    health: &'a MachineHealth,
    running: &'a Running,
    conditions: &'a Conditions,
    intake: &'a Intake,
    room: Temperature,
}

impl Day<'_> {
    /// Air taken in: the room's temperature, the vapour of outdoors.
    fn delivery(&self, at: Compression) -> Answer<(FreeAir, MassFlow)> {
        let m = self.machine;
        let flow_share = match m.control {
            Control::Modulating(_) => self.running.duty.min(1.0),
            _ => self.running.speed,
        };
        let free_air = free_air_delivered(Delivery {
            rated: m.rated.fad.value,
            air_end: self.health.delivery,
            belt: self.health.belt,
            speed: flow_share,
            slip_per_pa: m.slip_per_pa.value,
            rated_pressure: m.rated.pressure,
            pressure: self.running.pressure,
            intake_share: at.intake / self.conditions.atmosphere,
        })?;
        let w = self.intake.humidity_ratio;
        let dry = dry_air_mass_flow(free_air, self.room, w, self.conditions.atmosphere)?;
        Ok((free_air, dry))
    }

    fn oil_dew_point(&self, at: Compression) -> Answer<Temperature> {
        Formulation::REAL.dew_point(self.intake.humidity_ratio, at.discharge)
    }
}

/// A machine without thermal model: stated outlet temperature over the cooling air.
fn other_state(day: &Day<'_>) -> Answer<MachineState> {
    let (machine, w) = (day.machine, day.intake.humidity_ratio);
    let rated = rating(machine)?;
    let at = compression(machine, day.health, day.running, day.conditions.atmosphere)?;
    let power = loaded_power(machine, day.health, day.running, at, rated.compression, 1.0)?;
    let (free_air, dry_air) = day.delivery(at)?;
    let outlet = day.room + machine.cooling.air_approach.value;
    let pressure = day.running.pressure.absolute(day.conditions.atmosphere);
    let vapour = w.min(Formulation::REAL.saturated_humidity_ratio(outlet, pressure)?);
    let air = dry_air.si()
        * (enthalpy_moist_air(outlet, vapour, w - vapour)? - enthalpy_moist_air(day.room, w, 0.0)?);
    Ok(MachineState {
        free_air,
        dry_air,
        humidity_ratio: w,
        air_end: at.discharge,
        intake: at.intake,
        power,
        unloaded_power: machine.unloaded_power.value * day.health.unloaded_power,
        oil_temperature: None,
        free_oil_temperature: None,
        outlet,
        outlet_humidity_ratio: vapour,
        liquid: w - vapour,
        oil_dew_point: day.oil_dew_point(at)?,
        conductance_w_k: 0.0,
        oil_capacity_w_k: 0.0,
        transfer_units: 0.0,
        fan_share: 1.0,
        heat: HeatBalance {
            power: power.si(),
            oil: 0.0,
            aftercooler: 0.0,
            surface: power.si() - air,
            air,
        },
        fan_doubt: Default::default(),
    })
}

/// What the oil circuit comes to at one trial discharge temperature.
struct OilCircuit {
    free: Temperature,
    held: Temperature,
    fan_share: f64,
    power: Power,
    surface: Power,
    heat_now: Power,
    conductance_w_k: f64,
}

fn screw_state(day: &Day<'_>, fan: FanMode) -> Answer<MachineState> {
    let (machine, w) = (day.machine, day.intake.humidity_ratio);
    let rated = rating(machine)?;
    let at = compression(machine, day.health, day.running, day.conditions.atmosphere)?;
    let (free_air, dry_air) = day.delivery(at)?;
    let oil_capacity_w_k = oil_capacity(machine.oil.ratio.value, rated.dry_air.si())?;
    let enthalpy_in = enthalpy_moist_air(day.room, w, 0.0)?;
    let circuit = |t: f64| {
        let hot = enthalpy_moist_air(Temperature::new(t), w, 0.0)?;
        oil_circuit(day, fan, &rated, at, dry_air, (enthalpy_in, hot), oil_capacity_w_k)
    };
    let t = bracketed_root(
        "oil temperature",
        day.room.si(),
        day.room.si() + 260.0,
        1.0e-11,
        |t| Ok(circuit(t)?.held.si() - t),
    )?;
    let oil = circuit(t)?;
    let discharge = Temperature::new(t);
    let density = day.conditions.atmosphere.si() / (R_DRY_AIR * day.room.si());
    let air_share = oil.fan_share * day.health.fan * density / rated.density;
    let flow_share = dry_air / rated.dry_air;
    let transfer_units = (rated.transfer_units
        * day.health.aftercooler
        * air_share.powf(AIR_EXPONENT)
        * flow_share.powf(FLOW_EXPONENT))
    .clamp(1.0e-3, 12.0);
    let pressure = day.running.pressure.absolute(day.conditions.atmosphere);
    let cooled = aftercooler::march(
        HotAir { temperature: discharge, humidity_ratio: w, pressure },
        Cooler {
            transfer_units,
            hot_side_share: machine.cooling.hot_side_share.value,
            cooling_air: day.room,
        },
    )?;
    let gained = enthalpy_moist_air(cooled.temperature, cooled.humidity_ratio, cooled.liquid)?
        - enthalpy_in;
    Ok(MachineState {
        free_air,
        dry_air,
        humidity_ratio: w,
        air_end: at.discharge,
        intake: at.intake,
        power: oil.power,
        unloaded_power: machine.unloaded_power.value * day.health.unloaded_power,
        oil_temperature: Some(discharge),
        free_oil_temperature: Some(oil.free),
        outlet: cooled.temperature,
        outlet_humidity_ratio: cooled.humidity_ratio,
        liquid: cooled.liquid,
        oil_dew_point: day.oil_dew_point(at)?,
        conductance_w_k: oil.conductance_w_k,
        oil_capacity_w_k,
        transfer_units,
        fan_share: oil.fan_share,
        heat: HeatBalance {
            power: oil.power.si(),
            oil: oil.heat_now.si(),
            aftercooler: dry_air.si() * cooled.heat,
            surface: oil.surface.si(),
            air: dry_air.si() * gained,
        },
        fan_doubt: Default::default(),
    })
}

fn oil_circuit(
    day: &Day<'_>,
    fan: FanMode,
    rated: &Rating,
    at: Compression,
    dry_air: MassFlow,
    (enthalpy_in, enthalpy_out): (f64, f64),
    oil_capacity_w_k: f64,
) -> Answer<OilCircuit> {
    let (machine, health, running) = (day.machine, day.health, day.running);
    let density = day.conditions.atmosphere.si() / (R_DRY_AIR * day.room.si());
    let slip = (1.0 - health.belt).clamp(0.0, 1.0);
    let balance = |fan_share: f64| -> Answer<(Power, Power, Power, Power)> {
        let power = loaded_power(machine, health, running, at, rated.compression, fan_share)?;
        let fan_now = Power::new(machine.fan_power.value.si().min(0.4 * power.si()));
        let lost = surface(machine, power, fan_now, slip)?;
        let now = oil_heat(power, lost, dry_air, enthalpy_in, enthalpy_out)?;
        let unloaded = machine.unloaded_power.value * health.unloaded_power;
        let idle = unloaded * (1.0 - surface_share(machine)).max(0.0);
        let idle = if matches!(machine.control, Control::StartStop(_)) { idle * 0.0 } else { idle };
        let recent = running.recent_load.clamp(0.0, 1.0);
        Ok((power, lost, now, now * recent + idle * (1.0 - recent)))
    };
    let conductance_at = |fan_share: f64| {
        let share = (fan_share * health.fan * density / rated.density).clamp(0.01, 3.0);
        conductance(rated.conductance_w_k, health.oil_cooler, share)
    };
    let free_at = |g: f64, now: Power, mean: Power| {
        free_discharge_temperature(day.room, mean, now, g, oil_capacity_w_k)
    };
    let (mut power, mut lost, mut now, mut mean) = balance(1.0)?;
    let mut g = conductance_at(1.0)?;
    let mut fan_share = 1.0;
    if let FanMode::Holds(set) = fan {
        let wanted = smooth_maximum(free_at(g, now, mean)?, set, ROUNDING)?;
        // The conductance that gives this temperature, and the fan's share that gives that.
        let resistance = ((wanted - day.room).si() - now.si() / oil_capacity_w_k) / mean.si()
            + 1.0 / oil_capacity_w_k;
        if resistance.is_finite() && resistance > 0.0 {
            fan_share = (1.0 / (resistance * g)).powf(1.0 / OIL_EXPONENT).clamp(LOWEST_FAN, 1.0);
        }
        (power, lost, now, mean) = balance(fan_share)?;
        g = conductance_at(fan_share)?;
    }
    let free = free_at(g, now, mean)?;
    let held = smooth_maximum(free, machine.oil.held_at.value + health.thermostat, ROUNDING)?;
    Ok(OilCircuit {
        free,
        held,
        fan_share,
        power,
        surface: lost,
        heat_now: now,
        conductance_w_k: g,
    })
}

impl MachineState {
    /// The package's balance: what is left over, as a share of the input. Zero to 1e-9.
    #[must_use]
    pub fn heat_left_over(&self) -> f64 {
        let h = &self.heat;
        (h.power - h.oil - h.aftercooler - h.surface - h.air) / h.power
    }

    /// Density of the dry air that the machine took in, kg/m³.
    ///
    /// # Errors
    /// [`Refusal`] of the density formula.
    pub fn intake_density(
        &self,
        room: Temperature,
        atmosphere: AbsolutePressure,
    ) -> Result<f64, Refusal> {
        dry_air_density(room, self.humidity_ratio, atmosphere)
    }
}

/// Pressure lost in a part at another actual flow: Δp = Δp_r · k · (V/V_r)^1.8.
pub(super) fn drop_at(
    rated: PressureDifference,
    health: f64,
    flow_share: f64,
) -> PressureDifference {
    rated * (health * flow_share.max(0.0).powf(1.8))
}

/// Vapour of intake air once compressed, as a partial pressure, Pa: for workings.
///
/// # Errors
/// Refusals of the formulas.
pub fn vapour_at(w: f64, p: AbsolutePressure) -> Answer<(f64, f64)> {
    let partial = vapour_pressure_from_humidity_ratio(w, p)?;
    Ok((partial, humidity_ratio_from_vapour_pressure(partial, p)?))
}
