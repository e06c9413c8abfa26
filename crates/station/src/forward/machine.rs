//! One machine while loaded: air, power, heat, oil and outlet temperature.
//!
//! The rated point fixes the oil cooler's conductance and the aftercooler's transfer units; the
//! day's conditions and health then give the state by one energy balance, closed to 1e-9.
//!
//! Must not know: other machines, the path behind the outlet.

mod oil;
mod power;
mod rating;

use physics::air::{dry_air_density, dry_air_mass_flow, enthalpy_moist_air};
use physics::heat::aftercooler::{self, CooledAir, Cooler, HotAir};
use physics::heat::cooler::AIR_EXPONENT;
use physics::quantity::{
    AbsolutePressure, FreeAir, GaugePressure, MassFlow, Power, PressureDifference, Temperature,
    TemperatureDifference,
};
use physics::validity::{Answer, Refusal};

pub(super) use power::{mean_power, time_on_load};
pub(super) use rating::surface_share;

use self::oil::{FanMode, OilCircuit};
use self::power::{Work, delivered, unloaded_power};
use self::rating::{Rating, cooling_density};
use super::conditions::{Conditions, Intake, Running};
use super::health::MachineHealth;
use super::moisture::{dew_point, held};
use super::{AtPlace, Expected};
use crate::model::{Asset, Fan, Machine, MachineKind, Station};

/// The film on the compressed-air side goes with flow to this power (turbulent flow in a duct).
const FILM_EXPONENT: f64 = 0.8;
/// Share of the rated cooling air that flows with a dead fan (from memory).
const NATURAL_DRAUGHT: f64 = 0.01;
/// How far over the thermostat's temperature a fan of unknown control is taken to hold the oil.
const UNKNOWN_FAN_OVER_HELD: TemperatureDifference = TemperatureDifference::new(8.0);

/// Where the package's input goes, W; the sum of all is the input to 1e-9.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatBalance {
    /// Package input, at the pressure of the last quarter of an hour.
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
    let day = Day::of(station, index, health, conditions, intake, room)?;
    match day.machine.kind {
        MachineKind::Screw => day.screw(),
        MachineKind::Other => day.other(),
    }
    .at(Asset::Machine(index))
}

/// Oil and power of one machine while loaded, without what happens in its aftercooler.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OilState {
    /// Air-end discharge temperature.
    pub oil_temperature: Temperature,
    /// Package input on load.
    pub power: Power,
}

/// The oil circuit of one machine while loaded: the same numbers as [`machine_state`]'s, for a small
/// part of its effort. `None` for a kind without thermal model.
///
/// # Errors
/// Any refusal of the formulas, with the machine's place.
pub fn oil_state(
    station: &Station,
    index: usize,
    health: &MachineHealth,
    conditions: &Conditions,
    intake: &Intake,
    room: Temperature,
) -> Expected<Option<OilState>> {
    let day = Day::of(station, index, health, conditions, intake, room)?;
    match day.machine.kind {
        MachineKind::Screw => day.oil().map(Some),
        MachineKind::Other => Ok(None),
    }
    .at(Asset::Machine(index))
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

/// Air through the machine.
struct Air {
    free: FreeAir,
    dry: MassFlow,
    outlet_pressure: AbsolutePressure,
    enthalpy_in: f64,
}

fn blend(a: f64, b: f64, weight: f64) -> f64 {
    a + weight * (b - a)
}

fn half_distance(a: Temperature, b: Temperature) -> TemperatureDifference {
    TemperatureDifference::new(0.5 * (b - a).si().abs())
}

impl<'a> Day<'a> {
    fn of(
        station: &'a Station,
        index: usize,
        health: &'a MachineHealth,
        conditions: &'a Conditions,
        intake: &'a Intake,
        room: Temperature,
    ) -> Expected<Self> {
        let running = &conditions.machines[index];
        running.check().at(Asset::Machine(index))?;
        Ok(Self {
            machine: &station.machines[index],
            health,
            running,
            conditions,
            intake,
            room,
        })
    }
}

impl Day<'_> {
    /// The work of this moment.
    fn work(&self) -> Answer<Work> {
        self.work_at(self.running.pressure)
    }

    /// What it draws at this moment: the fan as in the circuit, the shaft by this moment's pressure.
    fn drawn(work: &Work, warms: &Work, oil: &OilCircuit) -> Power {
        oil.power + (work.loaded(0.0) - warms.loaded(0.0))
    }

    /// The work that has warmed the oil.
    fn warming_work(&self) -> Answer<Work> {
        self.work_at(self.running.warms_at())
    }

    fn work_at(&self, pressure: GaugePressure) -> Answer<Work> {
        let atmosphere = self.conditions.atmosphere;
        Work::of(
            self.machine,
            self.health,
            self.running,
            pressure,
            atmosphere,
        )
    }

    /// Air taken in: the room's temperature, the vapour of outdoors.
    fn air(&self, rating: &Rating, work: &Work) -> Answer<Air> {
        let (w, atmosphere) = (self.intake.humidity_ratio, self.conditions.atmosphere);
        let intake_share = work.at.intake / atmosphere;
        let free = delivered(
            self.machine,
            self.health,
            self.running,
            rating,
            intake_share,
        )?;
        Ok(Air {
            free,
            dry: dry_air_mass_flow(free, self.room, w, atmosphere)?,
            outlet_pressure: self.running.pressure.absolute(atmosphere),
            enthalpy_in: enthalpy_moist_air(self.room, w, 0.0)?,
        })
    }

    /// Cooling-air mass flow over rated: a fan that stands still leaves a natural draught.
    fn cooling_air_share(&self, rating: &Rating, fan_share: f64) -> f64 {
        let density = cooling_density(self.room, self.conditions.atmosphere);
        let share = fan_share * self.health.fan * density / rating.density;
        if share < NATURAL_DRAUGHT {
            NATURAL_DRAUGHT
        } else {
            share
        }
    }

    /// A machine without thermal model: stated outlet temperature over the cooling air.
    fn other(&self) -> Answer<MachineState> {
        let w = self.intake.humidity_ratio;
        let rating = Rating::of(self.machine)?;
        let work = self.work()?;
        let air = self.air(&rating, &work)?;
        let temperature = self.room + self.machine.cooling.air_approach.value;
        let vapour = held(w, temperature.si(), air.outlet_pressure)?;
        let gained =
            air.dry.si() * (enthalpy_moist_air(temperature, vapour, w - vapour)? - air.enthalpy_in);
        let power = work.loaded(1.0);
        Ok(MachineState {
            free_air: air.free,
            dry_air: air.dry,
            humidity_ratio: w,
            air_end: work.at.discharge,
            intake: work.at.intake,
            power,
            unloaded_power: unloaded_power(self.machine, self.health),
            oil_temperature: None,
            free_oil_temperature: None,
            outlet: temperature,
            outlet_humidity_ratio: vapour,
            liquid: w - vapour,
            oil_dew_point: dew_point(w, work.at.discharge)?,
            conductance_w_k: 0.0,
            oil_capacity_w_k: 0.0,
            transfer_units: 0.0,
            fan_share: 1.0,
            heat: HeatBalance {
                power: power.si(),
                oil: 0.0,
                aftercooler: 0.0,
                surface: power.si() - gained,
                air: gained,
            },
            fan_doubt: Default::default(),
        })
    }

    fn screw(&self) -> Answer<MachineState> {
        let rating = Rating::of(self.machine)?;
        let work = self.work()?;
        let air = self.air(&rating, &work)?;
        let warms = self.warming_work()?;
        let circuit = |fan| oil::solve(self, &rating, &warms, fan, air.dry);
        let cooled = |oil: &OilCircuit, fan_share| self.aftercooler(&rating, &air, oil, fan_share);
        let none = TemperatureDifference::new(0.0);
        match self.machine.cooling.fan {
            Fan::Constant => {
                let oil = circuit(FanMode::Full)?;
                let (n, out) = cooled(&oil, 1.0)?;
                self.state((&work, &warms), &air, &oil, (n, out), (none, none))
            }
            Fan::Variable(held) => {
                let oil = circuit(FanMode::Holds(held.value))?;
                let (n, out) = cooled(&oil, oil.fan_share)?;
                self.state((&work, &warms), &air, &oil, (n, out), (none, none))
            }
            Fan::OnOff(about) => {
                // The sump follows the fan's mean, the outlet the fan of this moment.
                let oil = circuit(FanMode::Holds(about.value))?;
                let (n, on) = cooled(&oil, 1.0)?;
                if self.running.fan_on == Some(true) {
                    return self.state((&work, &warms), &air, &oil, (n, on), (none, none));
                }
                let (n_mean, mean) = cooled(&oil, oil.fan_share)?;
                let doubt = half_distance(on.temperature, mean.temperature);
                let out = self.between(&air, &oil, &on, &mean)?;
                self.state(
                    (&work, &warms),
                    &air,
                    &oil,
                    (0.5 * (n + n_mean), out),
                    (none, doubt),
                )
            }
            Fan::Unknown => {
                let held = self.machine.oil.held_at.value + UNKNOWN_FAN_OVER_HELD;
                let (full, holding) = (circuit(FanMode::Full)?, circuit(FanMode::Holds(held))?);
                let (n, cold) = cooled(&full, 1.0)?;
                let (n_held, warm) = cooled(&holding, holding.fan_share)?;
                let doubt = (
                    half_distance(full.discharge, holding.discharge),
                    half_distance(cold.temperature, warm.temperature),
                );
                let oil = OilCircuit::between(&full, &holding, 0.5);
                let out = self.between(&air, &oil, &cold, &warm)?;
                self.state(
                    (&work, &warms),
                    &air,
                    &oil,
                    (0.5 * (n + n_held), out),
                    doubt,
                )
            }
        }
    }

    fn oil(&self) -> Answer<OilState> {
        let rating = Rating::of(self.machine)?;
        let work = self.work()?;
        let air = self.air(&rating, &work)?;
        let warms = self.warming_work()?;
        let circuit = |fan| oil::solve(self, &rating, &warms, fan, air.dry);
        let oil = match self.machine.cooling.fan {
            Fan::Constant => circuit(FanMode::Full)?,
            Fan::Variable(held) | Fan::OnOff(held) => circuit(FanMode::Holds(held.value))?,
            Fan::Unknown => {
                let held = self.machine.oil.held_at.value + UNKNOWN_FAN_OVER_HELD;
                let (full, holding) = (circuit(FanMode::Full)?, circuit(FanMode::Holds(held))?);
                OilCircuit::between(&full, &holding, 0.5)
            }
        };
        Ok(OilState {
            oil_temperature: oil.discharge,
            power: Self::drawn(&work, &warms, &oil),
        })
    }

    /// The aftercooler as it is: its transfer units, and the air that leaves it.
    fn aftercooler(
        &self,
        rating: &Rating,
        air: &Air,
        oil: &OilCircuit,
        fan_share: f64,
    ) -> Answer<(f64, CooledAir)> {
        let hot_side_share = self.machine.cooling.hot_side_share.value;
        let air_share = self.cooling_air_share(rating, fan_share);
        // N = UA/(ṁ c_p); of 1/UA the hot side's share goes with flow^−0.8.
        let flow_exponent = FILM_EXPONENT * hot_side_share - 1.0;
        let transfer_units = (rating.transfer_units
            * self.health.aftercooler
            * air_share.powf(AIR_EXPONENT)
            * (air.dry / rating.dry_air).powf(flow_exponent))
        .clamp(1.0e-3, 12.0);
        let hot = HotAir {
            temperature: oil.discharge,
            humidity_ratio: self.intake.humidity_ratio,
            pressure: air.outlet_pressure,
        };
        let cooler = Cooler {
            transfer_units,
            hot_side_share,
            cooling_air: self.room,
        };
        Ok((transfer_units, aftercooler::march(hot, cooler)?))
    }

    /// Half-way between two airs that may leave the aftercooler, with what that air holds.
    fn between(
        &self,
        air: &Air,
        oil: &OilCircuit,
        a: &CooledAir,
        b: &CooledAir,
    ) -> Answer<CooledAir> {
        let w = self.intake.humidity_ratio;
        let temperature = Temperature::new(blend(a.temperature.si(), b.temperature.si(), 0.5));
        let vapour = blend(a.humidity_ratio, b.humidity_ratio, 0.5);
        let vapour = held(vapour, temperature.si(), air.outlet_pressure)?;
        let liquid = w - vapour;
        let heat = enthalpy_moist_air(oil.discharge, w, 0.0)?
            - enthalpy_moist_air(temperature, vapour, liquid)?;
        Ok(CooledAir {
            temperature,
            humidity_ratio: vapour,
            liquid,
            heat,
        })
    }

    fn state(
        &self,
        (work, warms): (&Work, &Work),
        air: &Air,
        oil: &OilCircuit,
        (transfer_units, out): (f64, CooledAir),
        fan_doubt: (TemperatureDifference, TemperatureDifference),
    ) -> Answer<MachineState> {
        let w = self.intake.humidity_ratio;
        let hot = enthalpy_moist_air(oil.discharge, w, 0.0)?;
        let left = enthalpy_moist_air(out.temperature, out.humidity_ratio, out.liquid)?;
        Ok(MachineState {
            free_air: air.free,
            dry_air: air.dry,
            humidity_ratio: w,
            air_end: work.at.discharge,
            intake: work.at.intake,
            power: Self::drawn(work, warms, oil),
            unloaded_power: unloaded_power(self.machine, self.health),
            oil_temperature: Some(oil.discharge),
            free_oil_temperature: Some(oil.free),
            outlet: out.temperature,
            outlet_humidity_ratio: out.humidity_ratio,
            liquid: out.liquid,
            oil_dew_point: dew_point(w, work.at.discharge)?,
            conductance_w_k: oil.conductance_w_k,
            oil_capacity_w_k: oil.capacity_w_k,
            transfer_units,
            fan_share: oil.fan_share,
            heat: HeatBalance {
                power: oil.power.si(),
                oil: oil.heat(air.dry, (air.enthalpy_in, hot))?.si(),
                aftercooler: air.dry.si() * out.heat,
                surface: oil.surface.si(),
                air: air.dry.si() * (left - air.enthalpy_in),
            },
            fan_doubt,
        })
    }
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

/// How the pressure drop of separators, filters and dryers follows the actual flow through them:
/// Δp ∝ V^1.8, between 1 (creeping flow) and 2 (turbulent), nearer to the latter (common practice,
/// no source).
pub const DROP_EXPONENT: f64 = 1.8;

/// Pressure lost in a part at another actual flow: Δp = Δp_r · k · (V/V_r)^1.8.
pub(super) fn drop_at(
    rated: PressureDifference,
    health: f64,
    flow_share: f64,
) -> PressureDifference {
    rated * (health * flow_share.max(0.0).powf(DROP_EXPONENT))
}
