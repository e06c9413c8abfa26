//! The station: what is fitted and how it is rated. Valid by construction: only
//! [`crate::file::station`] makes one from outside data, and it refuses what contradicts itself.
//!
//! Must not know: file formats, readings, findings.

use std::collections::BTreeMap;

use jiff::civil::Date;
use physics::quantity::{
    AbsolutePressure, ActualFlow, FreeAir, GaugePressure, Power, PressureDifference, Temperature,
    TemperatureDifference,
};

use crate::air_path::AirPath;
use crate::defaults::DefaultUsed;
use crate::point::PointId;

/// A value with its standard uncertainty, in the SI unit of `T`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Known<T> {
    /// The value.
    pub value: T,
    /// One standard deviation, in the SI unit of `value`.
    pub sigma: f64,
    /// Whether the station file gives it; otherwise it is a default.
    pub given: bool,
}

/// One station.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// The place and its prices.
    pub site: Site,
    /// The compressor room.
    pub room: Room,
    /// The machines, in file order.
    pub machines: Vec<Machine>,
    /// The receivers.
    pub vessels: Vec<Vessel>,
    /// The dryers.
    pub dryers: Vec<Dryer>,
    /// The filters.
    pub filters: Vec<Filter>,
    /// The drains.
    pub drains: Vec<Drain>,
    /// The pipes that were described.
    pub pipes: Vec<Pipe>,
    /// The headers.
    pub headers: Vec<Header>,
    /// Work that comes round by hours or months.
    pub tasks: Vec<Task>,
    /// The order of places from the machines to the header.
    pub air_path: AirPath,
    /// How well a point is read, where the file says so (limit of error, SI).
    pub accuracies: BTreeMap<PointId, f64>,
    /// Foreign log headers and what they mean.
    pub log_columns: Vec<(String, String)>,
    /// Every default that was used, in file order.
    pub defaults_used: Vec<DefaultUsed>,
}

/// The place of the station.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// The station's name.
    pub name: String,
    /// Metres above sea level.
    pub altitude_m: f64,
    /// The IANA name of the time zone.
    pub time_zone: jiff::tz::TimeZone,
    /// What energy and an outage cost, if told.
    pub price: Option<Price>,
    /// kg CO₂e per kWh, if told.
    pub carbon_kg_per_kwh: Option<f64>,
    /// When the plant works; `None` if not told.
    pub hours: Option<WorkingHours>,
    /// The climate; `None` if not told.
    pub climate: Option<Climate>,
}

/// What things cost.
#[derive(Debug, Clone, PartialEq)]
pub struct Price {
    /// Per kWh, in `currency`.
    pub energy_per_kwh: f64,
    /// The currency's name, as written.
    pub currency: String,
    /// Per hour without air, if told.
    pub outage_per_h: Option<f64>,
}

/// The weekly windows in which the plant works, as minutes from Monday 00:00 (0…10 080), each
/// `from < to`; a window that passes Sunday midnight is split in two.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WorkingHours {
    /// Sorted windows.
    pub windows: Vec<(u32, u32)>,
}

impl WorkingHours {
    /// Whether the plant works at this minute of the week (Monday 00:00 is 0).
    #[must_use]
    pub fn works_at(&self, minute_of_week: u32) -> bool {
        self.windows
            .iter()
            .any(|&(from, to)| from <= minute_of_week && minute_of_week < to)
    }
    /// Working hours in a week.
    #[must_use]
    pub fn hours_a_week(&self) -> f64 {
        self.windows
            .iter()
            .map(|&(from, to)| f64::from(to - from))
            .sum::<f64>()
            / 60.0
    }
}

/// Twelve months of weather, January first, and the design days.
#[derive(Debug, Clone, PartialEq)]
pub struct Climate {
    /// Monthly mean temperature.
    pub mean: [Temperature; 12],
    /// Mean of the daily maxima.
    pub mean_max: [Temperature; 12],
    /// Relative humidity 0…1 at the month's mean temperature.
    pub humidity: [f64; 12],
    /// The hottest day that the station must stand.
    pub design_hot: Option<Temperature>,
    /// The wettest day: temperature and relative humidity 0…1.
    pub design_humid: Option<(Temperature, f64)>,
    /// The coldest day.
    pub design_cold: Option<Temperature>,
}

/// The compressor room.
#[derive(Debug, Clone, PartialEq)]
pub struct Room {
    /// Air drawn through the room, m³/s, if told.
    pub ventilation: Option<Known<ActualFlow>>,
    /// Whether the cooling air leaves by a duct, so that it does not warm the room.
    pub ducted: bool,
    /// The rise over outdoors that is assumed when the ventilation is not told.
    pub assumed_rise: Known<TemperatureDifference>,
}

/// What kind of machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MachineKind {
    /// Oil-injected screw, air-cooled, single-stage: modelled whole.
    Screw,
    /// Anything else: stated air, power and outlet temperature, no thermal health.
    Other,
}

/// How the motor turns the air end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drive {
    /// V-belts.
    Belt,
    /// Gears.
    Gear,
    /// On one shaft.
    Direct,
}

/// How a machine follows demand.
#[derive(Debug, Clone, PartialEq)]
pub enum Control {
    /// Loads at the lower pressure, unloads at the upper.
    LoadUnload(Band),
    /// Starts at the lower pressure, stops at the upper.
    StartStop(Band),
    /// Throttles its intake between the two.
    Modulating(Band),
    /// Turns as fast as the target pressure needs.
    VariableSpeed {
        /// The pressure it holds.
        target: GaugePressure,
        /// Free air and power, rising; the last is the rated point.
        part_load: Vec<(FreeAir, Power)>,
    },
}

/// The pressures between which a machine works.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Takes load here.
    pub load: GaugePressure,
    /// Gives load up here.
    pub unload: GaugePressure,
}

/// One machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Machine {
    /// Its name on the air path.
    pub id: String,
    /// What kind.
    pub kind: MachineKind,
    /// How it is driven.
    pub drive: Drive,
    /// How it follows demand.
    pub control: Control,
    /// Which takes load first.
    pub order: u32,
    /// The rated point.
    pub rated: Rated,
    /// The highest pressure it may work at.
    pub max_pressure: GaugePressure,
    /// Package input while unloaded.
    pub unloaded_power: Known<Power>,
    /// Of the cooling fan, part of the package input.
    pub fan_power: Known<Power>,
    /// Time in which the separator blows down after unloading, s.
    pub blowdown_s: Known<f64>,
    /// The lowest pressure at which the minimum-pressure valve opens.
    pub minimum_pressure: Known<GaugePressure>,
    /// Loss of delivery per pascal above the rated pressure, as a share of the rated FAD.
    pub slip_per_pa: Known<f64>,
    /// The motor.
    pub motor: Motor,
    /// Oil and its limits.
    pub oil: Oil,
    /// Coolers and fan.
    pub cooling: Cooling,
    /// The belts, on a belt drive.
    pub belt: Option<Belt>,
    /// The oil separator.
    pub separator: Separator,
    /// The intake filter.
    pub intake: Intake,
}

/// The rated point: package input and free air at ISO 1217 reference inlet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rated {
    /// At the package outlet.
    pub pressure: GaugePressure,
    /// Free air delivered.
    pub fad: Known<FreeAir>,
    /// Package input, fan and all.
    pub power: Known<Power>,
    /// Relative humidity at rating, 0…1.
    pub humidity: f64,
}

/// The main motor's plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motor {
    /// Shaft power.
    pub power: Option<Power>,
    /// Line voltage, V.
    pub voltage_v: Option<f64>,
    /// Full-load current, A.
    pub current_a: Option<f64>,
    /// Full-load efficiency, 0…1; unknown if not told.
    pub efficiency: Option<f64>,
    /// Full-load power factor.
    pub power_factor: Known<f64>,
    /// Starts an hour that the motor stands.
    pub starts_per_hour: Known<f64>,
}

/// Oil and its limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Oil {
    /// The grade, as written.
    pub grade: Option<String>,
    /// Fill, litres.
    pub fill_l: Option<f64>,
    /// What the panel shows in cool weather, held by the thermostatic valve.
    pub held_at: Known<Temperature>,
    /// Warning.
    pub warn: Temperature,
    /// Trip.
    pub trip: Temperature,
    /// Life at the reference temperature, h.
    pub life_h: Known<f64>,
    /// Oil circulated per dry air delivered, kg/kg.
    pub ratio: Known<f64>,
}

/// How the cooling fan runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fan {
    /// Always while the machine runs.
    Constant,
    /// On and off about this oil temperature.
    OnOff(Known<Temperature>),
    /// At the speed that holds this oil temperature.
    Variable(Known<Temperature>),
    /// Not told.
    Unknown,
}

impl Fan {
    /// Whether it goes on and off while the machine runs.
    #[must_use]
    pub const fn switches(&self) -> bool {
        matches!(self, Self::OnOff(_))
    }
}

/// Coolers and fan. Approaches hold over the cooling air, at rated load and duty 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooling {
    /// The cooling air at rating.
    pub rated_ambient: Temperature,
    /// Air-end discharge over cooling air; unused for other kinds.
    pub oil_approach: Known<TemperatureDifference>,
    /// Package outlet over cooling air.
    pub air_approach: Known<TemperatureDifference>,
    /// How the fan runs.
    pub fan: Fan,
    /// Whether a filter mat lies before the coolers.
    pub mat: bool,
    /// Share of the aftercooler's resistance on the compressed-air side.
    pub hot_side_share: Known<f64>,
    /// Pressure lost in the aftercooler at rated flow.
    pub after_drop: Known<PressureDifference>,
    /// Share of the liquid that the aftercooler's separator takes, if a drain is fitted.
    pub separates: Known<f64>,
}

/// A V-belt drive.
#[derive(Debug, Clone, PartialEq)]
pub struct Belt {
    /// The section, as written.
    pub section: Option<String>,
    /// Number of belts.
    pub count: u32,
    /// Motor pulley, m.
    pub driver_m: Option<f64>,
    /// Air-end pulley, m.
    pub driven_m: Option<f64>,
    /// Distance of the shafts, m.
    pub centres_m: Option<f64>,
    /// Whether the tensioner shows its travel.
    pub indicator: bool,
}

/// The oil separator.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Separator {
    /// Pressure drop when clean, at rated load.
    pub clean: Known<PressureDifference>,
    /// Pressure drop at which it is changed.
    pub change: PressureDifference,
    /// Volume of the vessel, m³.
    pub volume_m3: Known<f64>,
}

/// The intake filter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Intake {
    /// Pressure drop when clean, at rated load.
    pub clean: Known<PressureDifference>,
    /// Pressure drop at which it is changed.
    pub change: PressureDifference,
}

/// A receiver.
#[derive(Debug, Clone, PartialEq)]
pub struct Vessel {
    /// Its name.
    pub id: String,
    /// Volume, m³.
    pub volume_m3: f64,
    /// Maximum allowable working pressure.
    pub max_pressure: GaugePressure,
    /// The safety valve, if described.
    pub safety_valve: Option<SafetyValve>,
    /// Inspection by local law, if told.
    pub inspection: Option<Inspection>,
    /// Heat transfer coefficient to the room, W/(m²K).
    pub u_w_m2k: Known<f64>,
    /// Share of the liquid that it takes to its drain.
    pub separates: Known<f64>,
}

/// A safety valve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SafetyValve {
    /// Set pressure.
    pub set: GaugePressure,
    /// Capacity.
    pub capacity: Option<FreeAir>,
    /// When its test is due.
    pub due: Option<Date>,
}

/// A vessel's inspection.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Inspection {
    /// Last done.
    pub last: Option<Date>,
    /// Due.
    pub due: Option<Date>,
}

/// How a dryer dries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DryerKind {
    /// By cooling.
    Refrigeration {
        /// How far the outlet lies under the inlet after reheating.
        reheat: Known<TemperatureDifference>,
        /// Loss of capacity per kelvin of ambient over rated, as a share.
        derate_per_k: Known<f64>,
    },
    /// By adsorption.
    Desiccant {
        /// Share of the flow that is spent to regenerate.
        purge: f64,
    },
}

/// A dryer.
#[derive(Debug, Clone, PartialEq)]
pub struct Dryer {
    /// Its name.
    pub id: String,
    /// How it dries.
    pub kind: DryerKind,
    /// The pressure dew point that it holds within its capacity.
    pub dew_point: Known<Temperature>,
    /// Pressure drop at rated flow.
    pub drop: Known<PressureDifference>,
    /// Electrical input.
    pub power: Known<Power>,
    /// Rated flow.
    pub rated_flow: Known<FreeAir>,
    /// Rated working pressure.
    pub rated_pressure: GaugePressure,
    /// Rated inlet temperature, saturated.
    pub rated_inlet: Temperature,
    /// Rated ambient temperature.
    pub rated_ambient: Temperature,
    /// Share of the liquid that it takes to its drain.
    pub separates: Known<f64>,
    /// Whether it drains what it condenses although no drain of it is described.
    pub own_drain: bool,
}

/// A filter.
#[derive(Debug, Clone, PartialEq)]
pub struct Filter {
    /// Its name.
    pub id: String,
    /// Rated flow.
    pub rated_flow: Known<FreeAir>,
    /// Rated working pressure.
    pub rated_pressure: GaugePressure,
    /// Pressure drop when clean, at rated flow.
    pub clean: Known<PressureDifference>,
    /// Pressure drop at which it is changed.
    pub change: PressureDifference,
    /// Share of the liquid that it takes to its drain.
    pub separates: Known<f64>,
}

/// Which thing on the station: what a point belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Asset {
    /// The site: weather.
    Site,
    /// The compressor room.
    Room,
    /// A machine, by its index.
    Machine(usize),
    /// A vessel.
    Vessel(usize),
    /// A dryer.
    Dryer(usize),
    /// A filter.
    Filter(usize),
    /// A drain.
    Drain(usize),
    /// A pipe.
    Pipe(usize),
    /// A header.
    Header(usize),
}

/// How a drain opens.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DrainKind {
    /// By a level sensor.
    LevelSensed,
    /// By the clock.
    Timer {
        /// Open time, s.
        open_s: f64,
        /// Interval, s.
        every_s: f64,
        /// Opening, m.
        orifice_m: f64,
    },
    /// By a float.
    Float,
    /// By hand.
    Manual,
}

/// A drain.
#[derive(Debug, Clone, PartialEq)]
pub struct Drain {
    /// `<asset>.drain`.
    pub id: String,
    /// What it drains.
    pub on: Asset,
    /// How it opens.
    pub kind: DrainKind,
    /// Whether it can be tested by a button.
    pub test_button: bool,
}

/// A pipe on the air path.
#[derive(Debug, Clone, PartialEq)]
pub struct Pipe {
    /// Its name.
    pub id: String,
    /// Length, m.
    pub length_m: f64,
    /// Bore, m.
    pub bore_m: f64,
    /// Roughness, m.
    pub roughness_m: Known<f64>,
}

/// A header: where the plant takes its air.
#[derive(Debug, Clone, PartialEq)]
pub struct Header {
    /// Its name.
    pub id: String,
    /// The pressure that the plant wants.
    pub wanted: Option<GaugePressure>,
    /// The coldest that the pipes get.
    pub coldest: Option<Temperature>,
    /// Storage in the pipes, m³.
    pub volume_m3: Option<f64>,
}

/// Work that comes round.
#[derive(Debug, Clone, PartialEq)]
pub struct Task {
    /// On what.
    pub on: Asset,
    /// What is done.
    pub what: String,
    /// After so many hours run.
    pub every_hours: Option<f64>,
    /// After so many months.
    pub every_months: Option<u32>,
    /// Last done on this day.
    pub last_date: Option<Date>,
    /// Last done at this hour counter.
    pub last_hours: Option<f64>,
}

impl Machine {
    /// The pressure at the package outlet half-way through its band, or its target.
    #[must_use]
    pub fn mid_pressure(&self) -> GaugePressure {
        match &self.control {
            Control::LoadUnload(b) | Control::StartStop(b) | Control::Modulating(b) => {
                GaugePressure::new(0.5 * (b.load.si() + b.unload.si()))
            }
            Control::VariableSpeed { target, .. } => *target,
        }
    }
}

impl Station {
    /// The name of a thing, as in files.
    #[must_use]
    pub fn id(&self, asset: Asset) -> &str {
        match asset {
            Asset::Site => "site",
            Asset::Room => "room",
            Asset::Machine(i) => &self.machines[i].id,
            Asset::Vessel(i) => &self.vessels[i].id,
            Asset::Dryer(i) => &self.dryers[i].id,
            Asset::Filter(i) => &self.filters[i].id,
            Asset::Drain(i) => &self.drains[i].id,
            Asset::Pipe(i) => &self.pipes[i].id,
            Asset::Header(i) => &self.headers[i].id,
        }
    }

    /// The thing of this name.
    #[must_use]
    pub fn asset(&self, id: &str) -> Option<Asset> {
        self.assets().find(|&asset| self.id(asset) == id)
    }

    /// Every thing, site and room first.
    pub fn assets(&self) -> impl Iterator<Item = Asset> + '_ {
        [Asset::Site, Asset::Room]
            .into_iter()
            .chain((0..self.machines.len()).map(Asset::Machine))
            .chain((0..self.vessels.len()).map(Asset::Vessel))
            .chain((0..self.dryers.len()).map(Asset::Dryer))
            .chain((0..self.filters.len()).map(Asset::Filter))
            .chain((0..self.drains.len()).map(Asset::Drain))
            .chain((0..self.pipes.len()).map(Asset::Pipe))
            .chain((0..self.headers.len()).map(Asset::Header))
    }

    /// The drains fitted to a thing, by index.
    pub fn drains_of(&self, asset: Asset) -> impl Iterator<Item = usize> + '_ {
        self.drains
            .iter()
            .enumerate()
            .filter(move |(_, d)| d.on == asset)
            .map(|(i, _)| i)
    }

    /// Whether something takes the liquid of a thing away: a drain, or a dryer's own.
    #[must_use]
    pub fn is_drained(&self, asset: Asset) -> bool {
        let own =
            matches!(asset, Asset::Dryer(i) if self.dryers.get(i).is_some_and(|d| d.own_drain));
        own || self.drains_of(asset).next().is_some()
    }

    /// The atmosphere at the site's altitude (ISO 2533).
    #[must_use]
    pub fn standard_atmosphere(&self) -> AbsolutePressure {
        physics::air::atmosphere_iso_2533_1975(self.site.altitude_m)
            .expect("the station file accepts only altitudes inside the formula's range")
    }
}
