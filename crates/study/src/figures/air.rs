//! The figures that need the air: storage, demand, leakage, the station as a whole.
//!
//! Flows are m³/s of reference air (20 °C, 1 bar(a), dry), pressures Pa above atmosphere. Must not
//! know: how they came about.

use jiff::Timestamp;
use physics::working::Step;

use crate::channel::Channel;
use crate::figures::STATES;

/// A value with the interval in which the truth lies 95 times in 100.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band95 {
    /// The low end.
    pub low: f64,
    /// The value.
    pub mid: f64,
    /// The high end.
    pub high: f64,
}

impl Band95 {
    /// From a value and its standard deviation.
    #[must_use]
    pub fn of(mid: f64, sigma: f64) -> Self {
        let half = 1.96 * sigma.abs();
        Self {
            low: mid - half,
            mid,
            high: mid + half,
        }
    }

    /// The same, not below zero.
    #[must_use]
    pub fn positive(self) -> Self {
        Self {
            low: self.low.max(0.0),
            ..self
        }
    }

    /// Multiplied by a positive number.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self {
            low: self.low * factor,
            mid: self.mid * factor,
            high: self.high * factor,
        }
    }

    /// Whether the two have anything in common.
    #[must_use]
    pub fn meets(&self, other: &Self) -> bool {
        self.low <= other.high && other.low <= self.high
    }
}

/// All machines together. Arrays follow [`State::ALL`](crate::State::ALL).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct StationFigures {
    /// Energy in each state, kWh, over all machines whose power was read.
    pub kwh: [f64; STATES],
    /// Its cost, in the currency of the station file; `None` without a price.
    pub cost: Option<f64>,
    /// Its carbon, kg CO₂e; `None` where the station file does not tell.
    pub carbon_kg: Option<f64>,
    /// Air delivered, m³: from the flow that was logged, else from the machines.
    pub delivered_m3: Option<Band95>,
    /// Whether the air delivered was measured.
    pub measured: bool,
    /// Energy for each m³ delivered, kWh/m³.
    pub specific_energy_kwh_m3: Option<f64>,
    /// Mean power over mean delivery, kW/(m³/min).
    pub specific_power_kw_min_m3: Option<f64>,
}

/// The storage that pressures show.
#[derive(Debug, Clone, PartialEq)]
pub struct Storage {
    /// The pressure from which it was found.
    pub channel: Channel,
    /// m³: vessels and all pipes that breathe with them.
    pub m3: Band95,
    /// m³ of the station file's vessels and headers; `None` where it tells none.
    pub stated_m3: Option<f64>,
    /// How many pairs of a load and an unload it rests on.
    pub pairs: u64,
    /// How it comes about.
    pub working: Vec<Step>,
}

/// Where a machine really took load and gave it up: 5, 50 and 95 % of the times, Pa above
/// atmosphere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ControlBand {
    /// The machine.
    pub machine: usize,
    /// The pressure in which it was seen.
    pub channel: Channel,
    /// Where it took load; `None` if it never did.
    pub load: Option<Band95>,
    /// Where it gave load up; `None` if it never did.
    pub unload: Option<Band95>,
}

/// What the plant takes, leakage and all.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Demand {
    /// Whether it was measured; else it is what the machines delivered, less what was stored.
    pub measured: bool,
    /// Mean in each hour of the week, m³/s, Monday 00:00 first; `None` where none was logged. 168
    /// of them, or none at all where the air is not known.
    pub by_hour_of_week: Vec<Option<f64>>,
    /// The load-duration curve: the share of the time, 0…1, in which demand is at most so much,
    /// m³/s. Rising; 0, 1, 2, … 100 %.
    pub duration: Vec<(f64, f64)>,
    /// Each local hour in order: its start and the mean demand, m³/s.
    pub hours: Vec<(Timestamp, f64)>,
}

/// A way to find the leakage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LeakageMethod {
    /// What the machines deliver off-shift.
    OffShiftDelivery,
    /// Load and unload times of one machine off-shift.
    LoadUnloadTimes,
    /// How fast the pressure falls off-shift while no machine delivers.
    PressureDecay,
}

impl LeakageMethod {
    /// In words, as in the study's JSON.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::OffShiftDelivery => "delivery off-shift",
            Self::LoadUnloadTimes => "load and unload times off-shift",
            Self::PressureDecay => "pressure decay off-shift",
        }
    }
}

/// The leakage by one way.
#[derive(Debug, Clone, PartialEq)]
pub struct Leakage {
    /// Which way.
    pub method: LeakageMethod,
    /// m³/s of reference air, at the pressures of the time off-shift, less what the station file
    /// says to flow on purpose.
    pub m3_s: Band95,
    /// All that is drawn off-shift, m³/s of reference air.
    pub total_m3_s: Band95,
    /// On how many hours, cycles or falls it rests.
    pub count: u64,
    /// How it comes about.
    pub working: Vec<Step>,
}

/// The distribution of a dew point over time, K.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DewPoints {
    /// The point.
    pub channel: Channel,
    /// The least.
    pub min: f64,
    /// Half the time it is lower.
    pub median: f64,
    /// 95 % of the time it is lower.
    pub p95: f64,
    /// The greatest.
    pub max: f64,
    /// What the dryer should hold; `None` where the station file does not tell.
    pub wanted: Option<f64>,
    /// Hours above it by more than the dew point's uncertainty.
    pub hours_above_wanted: Option<f64>,
    /// The same as a share of the time, 0…1.
    pub share_above_wanted: Option<f64>,
}

/// One cycle as it was read, so that it can be drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct CloseUp {
    /// The pressure.
    pub channel: Channel,
    /// When it begins.
    pub from: Timestamp,
    /// Seconds since then, and Pa above atmosphere, as read.
    pub points: Vec<(f64, f64)>,
    /// The straight lines through them.
    pub slopes: Vec<CloseUpSlope>,
}

/// A straight line through a stretch in which no machine changed its state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CloseUpSlope {
    /// Seconds since the beginning of the close-up.
    pub from_s: f64,
    /// Seconds since the beginning of the close-up.
    pub to_s: f64,
    /// Whether a machine delivered.
    pub delivering: bool,
    /// The line's value at `from_s`, Pa above atmosphere.
    pub start: f64,
    /// Its slope, Pa/s.
    pub slope: f64,
}
