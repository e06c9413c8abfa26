//! The figures of a log: of each local day, each channel and each machine.
//!
//! Values are SI: W, Pa above atmosphere, K, m³/s of reference air (20 °C, 1 bar(a), dry); hours, kWh
//! and m³ where the name says so. Must not know: how they came about.

mod air;

use jiff::Timestamp;
use jiff::civil::Date;
use judge::cost::Year;
use judge::{Finding, NotJudged};

pub use air::{
    Band95, CloseUp, CloseUpSlope, ControlBand, Demand, DewPoints, Leakage, LeakageMethod,
    StationFigures, Storage,
};

use crate::channel::Channel;
use crate::clean::left_out::LeftOut;
use crate::read::dates::DatesTold;

/// What the logs say.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    /// The first time that was counted.
    pub from: Option<Timestamp>,
    /// The last time that was counted.
    pub to: Option<Timestamp>,
    /// Rows read, with those that were left out.
    pub rows: u64,
    /// What was kept out of the sums, in the order in which it was found; the first 1000.
    pub left_out: Vec<LeftOut>,
    /// How many there are in all.
    pub left_out_total: u64,
    /// What was found out about each file.
    pub sources: Vec<SourceRead>,
    /// The days of each channel, in the order of the columns.
    pub channels: Vec<ChannelDays>,
    /// The days of each machine whose state can be told.
    pub machines: Vec<MachineDays>,
    /// The distribution of each pressure that was logged.
    pub pressures: Vec<Pressures>,
    /// The distribution of each dew point that was logged.
    pub dew_points: Vec<DewPoints>,
    /// All machines together.
    pub station: StationFigures,
    /// The storage that the pressure's slopes show; `None` where they show none.
    pub storage: Option<Storage>,
    /// The pressures at which each machine really took load and gave it up.
    pub control_bands: Vec<ControlBand>,
    /// What the plant takes.
    pub demand: Demand,
    /// The leakage, by each way that the log allows.
    pub leakage: Vec<Leakage>,
    /// What has to be said about the figures: where ways disagree, what they rest on.
    pub remarks: Vec<String>,
    /// A usual cycle off-shift, close up; `None` where there is none.
    pub close_up: Option<CloseUp>,
    /// The yearly model that findings are priced by: each machine runs as it did in the log. `None`
    /// where the weather, and so the model, is not known.
    pub year: Option<Year>,
    /// What is worth telling, in order of telling.
    pub findings: Vec<Finding>,
    /// What could not be said, and why.
    pub not_judged: Vec<NotJudged>,
    /// The first 1000 cells and rows that could not be read.
    pub rejected: Vec<RejectedCell>,
    /// How many there are in all.
    pub rejected_total: u64,
}

impl Study {
    /// The leakage to reckon with: of the ways that were found, the one with the narrowest interval.
    #[must_use]
    pub fn surest_leakage(&self) -> Option<&Leakage> {
        crate::whole::leakage::best(&self.leakage)
    }
}

/// What was found out about a file.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceRead {
    /// Its name.
    pub name: String,
    /// Between its columns; `None` where it is no text.
    pub separator: Option<char>,
    /// Whether its numbers are written with a comma.
    pub decimal_comma: bool,
    /// The order of its dates, and what shows it; `None` where times are not written as text.
    pub dates: Option<DatesTold>,
    /// The usual time between rows, s; `None` with fewer than two rows.
    pub interval_s: Option<f64>,
    /// Headers that say nothing about this station and were left out.
    pub columns_left_out: Vec<String>,
    /// Why it could not be read to its end, if so.
    pub fault: Option<String>,
}

impl SourceRead {
    /// Of which nothing is known yet but its name.
    pub(crate) fn unread(name: String) -> Self {
        Self {
            name,
            separator: None,
            decimal_comma: false,
            dates: None,
            interval_s: None,
            columns_left_out: Vec::new(),
            fault: None,
        }
    }
}

/// A cell, or a whole row, that could not be read and was left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RejectedCell {
    /// Which file.
    pub source: String,
    /// The line, counted from 1; the row, where the file is no text.
    pub line: u64,
    /// The header of its column; empty if the row as a whole is meant.
    pub column: String,
    /// What is wrong.
    pub problem: String,
    /// How to mend it.
    pub hint: String,
}

/// The days of one channel.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelDays {
    /// Which.
    pub channel: Channel,
    /// Its days with readings, in order.
    pub days: Vec<Day>,
}

/// One channel on one local day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day {
    /// The local date.
    pub date: Date,
    /// Readings.
    pub count: u64,
    /// Their mean, each counted once.
    pub mean: f64,
    /// The least.
    pub min: f64,
    /// The greatest.
    pub max: f64,
    /// Integral over time by trapezoids, unit × s. A step from one reading to the next belongs to
    /// the day in which it begins; gaps add nothing.
    pub integral: f64,
    /// The time that the integral covers, s.
    pub covered_s: f64,
}

/// What a machine does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum State {
    /// It stands still.
    Stopped,
    /// It runs, delivers nothing, and its separator is blown down.
    Unloaded,
    /// It delivers all the air that it can.
    Loaded,
    /// It has just unloaded: its separator blows down, its power falls.
    BlowingDown,
    /// It delivers, with its intake throttled.
    Modulating,
    /// It delivers, at less than its full speed.
    AtSpeed,
}

/// How many states there are.
pub const STATES: usize = 6;

impl State {
    /// All, in the order of every array of states.
    pub const ALL: [Self; STATES] = [
        Self::Stopped,
        Self::Unloaded,
        Self::Loaded,
        Self::BlowingDown,
        Self::Modulating,
        Self::AtSpeed,
    ];

    /// Its name, as in the study's JSON.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Stopped => "stopped",
            Self::Unloaded => "unloaded",
            Self::Loaded => "loaded",
            Self::BlowingDown => "blowing_down",
            Self::Modulating => "modulating",
            Self::AtSpeed => "at_speed",
        }
    }

    /// Stopped, unloaded or loaded.
    #[must_use]
    pub const fn plain(self) -> Self {
        match self {
            Self::Stopped => Self::Stopped,
            Self::Unloaded | Self::BlowingDown => Self::Unloaded,
            Self::Loaded | Self::Modulating | Self::AtSpeed => Self::Loaded,
        }
    }

    pub(crate) const fn index(self) -> usize {
        match self {
            Self::Stopped => 0,
            Self::Unloaded => 1,
            Self::Loaded => 2,
            Self::BlowingDown => 3,
            Self::Modulating => 4,
            Self::AtSpeed => 5,
        }
    }
}

/// Stopped, unloaded and loaded out of all states.
#[must_use]
pub fn plain(states: &[f64; STATES]) -> [f64; 3] {
    let [
        stopped,
        unloaded,
        loaded,
        blowing_down,
        modulating,
        at_speed,
    ] = *states;
    [
        stopped,
        unloaded + blowing_down,
        loaded + modulating + at_speed,
    ]
}

/// Where the levels between the states come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LevelsFrom {
    /// Half-way between the powers that the station file gives.
    StationFile,
    /// The emptiest places between the powers that were read.
    Learned,
    /// The station file's defaults: the log's start does not show the levels apart.
    Defaults,
    /// Signals of the machine say its state; there are no levels.
    Signals,
    /// The slope of the pressure alone says when it is loaded; there are no levels. Unloaded and
    /// stopped cannot be told apart: both are told as unloaded.
    Pressure,
}

/// The powers at which the state changes, W.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Levels {
    /// Above, it runs.
    pub runs_w: f64,
    /// Above, it is loaded.
    pub loaded_w: f64,
    /// Unloaded it draws about this.
    pub usual_unloaded_w: f64,
    /// On full load it draws about this.
    pub usual_loaded_w: f64,
    /// Half the width of the band about `runs_w` within which the state stays.
    pub runs_band_w: f64,
    /// Half the width of the band about `loaded_w` within which the state stays.
    pub loaded_band_w: f64,
    /// Where they come from.
    pub from: LevelsFrom,
}

/// The hours and days of one machine.
#[derive(Debug, Clone, PartialEq)]
pub struct MachineDays {
    /// Its index in the station.
    pub machine: usize,
    /// How its state was told, at the end of the log.
    pub levels: Levels,
    /// How often the levels had to be learned anew on the way.
    pub levels_moved: u64,
    /// How sure its states are, 0…1: the share of the time in which the power stood clear of the
    /// levels, or in which the machine's own signals and its power agreed. By the pressure alone,
    /// half the share of its turns that lie where the machine switches.
    pub confidence: f64,
    /// Whether its power or current was read; else every kWh is 0 because none is known.
    pub energy_read: bool,
    /// Its local hours, in order.
    pub hours: Vec<MachineHour>,
    /// Its days, in order: the sums of their hours.
    pub days: Vec<MachineDay>,
    /// The whole of it.
    pub totals: MachineTotals,
}

/// One machine in one hour of a local day. Arrays follow [`State::ALL`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MachineHour {
    /// The local date.
    pub date: Date,
    /// The hour of the day, 0…23. Where the clocks go back, one hour is twice as long.
    pub hour: i8,
    /// Hours in each state.
    pub hours: [f64; STATES],
    /// Energy in each state, kWh; 0 where no power was read.
    pub kwh: [f64; STATES],
    /// How often it took load.
    pub loads: u64,
    /// How often it gave load up.
    pub unloads: u64,
    /// How often it started.
    pub starts: u64,
    /// How often it stopped.
    pub stops: u64,
    /// Air delivered, m³; `None` where the forward model does not say.
    pub delivered_m3: Option<f64>,
}

/// One machine on one local day. Arrays follow [`State::ALL`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MachineDay {
    /// The local date.
    pub date: Date,
    /// Hours in each state.
    pub hours: [f64; STATES],
    /// Energy in each state, kWh; 0 where no power was read.
    pub kwh: [f64; STATES],
    /// How often it took load.
    pub loads: u64,
    /// How often it gave load up.
    pub unloads: u64,
    /// How often it started.
    pub starts: u64,
    /// How often it stopped.
    pub stops: u64,
    /// Air delivered, m³; `None` where the forward model does not say.
    pub delivered_m3: Option<f64>,
    /// Of its energy, in the currency of the station file; `None` without a price.
    pub cost: Option<f64>,
    /// Of its energy, kg CO₂e; `None` where the station file does not tell.
    pub carbon_kg: Option<f64>,
}

/// One machine over a part of the log. Arrays follow [`State::ALL`].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Period {
    /// Hours in each state.
    pub hours: [f64; STATES],
    /// Energy in each state, kWh.
    pub kwh: [f64; STATES],
    /// Its cost, in the currency of the station file; `None` without a price.
    pub cost: Option<[f64; STATES]>,
    /// Its carbon, kg CO₂e; `None` where the station file does not tell.
    pub carbon_kg: Option<[f64; STATES]>,
    /// How often it started.
    pub starts: u64,
    /// How often it took load.
    pub loads: u64,
    /// Loads in an hour in which it ran, on average; `None` if it never ran.
    pub cycles_per_hour: Option<f64>,
    /// The most loads in one hour of the clock.
    pub worst_cycles_per_hour: u64,
    /// The most starts in one hour of the clock.
    pub worst_starts_per_hour: u64,
    /// Hours loaded over hours run; `None` if it never ran.
    pub duty: Option<f64>,
    /// Air delivered, m³.
    pub delivered_m3: Option<Band95>,
    /// Air blown down from its separator, m³.
    pub blown_down_m3: Option<f64>,
    /// Energy of all states for each m³ delivered, kWh/m³.
    pub specific_energy_kwh_m3: Option<f64>,
    /// Mean power on load over mean delivery on load, kW/(m³/min).
    pub specific_power_kw_min_m3: Option<f64>,
}

/// One machine over the whole log. Arrays follow [`State::ALL`].
#[derive(Debug, Clone, PartialEq)]
pub struct MachineTotals {
    /// The whole log.
    pub whole: Period,
    /// Hours that touch working hours; `None` without working hours in the station file.
    pub working: Option<Period>,
    /// Hours that lie wholly outside working hours; `None` without any.
    pub off_shift: Option<Period>,
    /// Each day of the week, Monday first.
    pub weekdays: [Period; 7],
    /// Hours in each state.
    pub hours: [f64; STATES],
    /// Energy in each state, kWh.
    pub kwh: [f64; STATES],
    /// How often it started.
    pub starts: u64,
    /// How often it took load.
    pub loads: u64,
    /// Loads in an hour in which it ran, on average; `None` if it never ran.
    pub cycles_per_hour: Option<f64>,
    /// The most loads in one hour of the clock.
    pub worst_cycles_per_hour: u64,
    /// In how many hours of the clock it took load so often: 0 times, once, … The last entry holds
    /// all hours with as many loads as it, or more.
    pub hours_by_loads: Vec<u64>,
    /// The same for starts.
    pub hours_by_starts: Vec<u64>,
    /// Hours loaded over hours run; `None` if it never ran.
    pub duty: Option<f64>,
    /// Share of the time on load outside working hours, over hours that lie wholly outside: what
    /// the plant draws then, as a share of the machine's delivery. `None` without such hours or
    /// without working hours in the station file.
    pub off_shift_load_share: Option<f64>,
    /// Share of the time on load in each hour of the week, Monday 00:00 first; `None` where none
    /// was logged. 168 of them.
    pub load_share_by_hour_of_week: Vec<Option<f64>>,
    /// Mean power in each hour of the day, by state, W: what a day looks like. 24 of them; their
    /// sum over the states is the machine's mean power in that hour.
    pub power_by_hour_of_day_w: Vec<[f64; STATES]>,
}

/// The distribution of the pressure at one place, by time, Pa above atmosphere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pressures {
    /// The point.
    pub channel: Channel,
    /// The least.
    pub min: f64,
    /// 5 % of the time it is lower, to 0.01 bar.
    pub p05: f64,
    /// Half the time it is lower.
    pub median: f64,
    /// 95 % of the time it is lower.
    pub p95: f64,
    /// The greatest.
    pub max: f64,
    /// What is wanted; `None` where nothing is.
    pub wanted: Option<f64>,
    /// Hours below what is wanted; `None` where nothing is.
    pub hours_below_wanted: Option<f64>,
    /// Of these, those in hours that touch working hours; all of them without working hours in the
    /// station file.
    pub working_hours_below_wanted: Option<f64>,
    /// The fastest fall from one reading to the next, Pa/s, as a positive number.
    pub fastest_fall: f64,
    /// The fastest fall that lasted, over 10 s or three readings, whichever is longer, Pa/s, as a
    /// positive number; `None` where no readings lie close enough.
    pub fastest_lasting_fall: Option<f64>,
}
