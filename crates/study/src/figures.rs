//! The figures of a log: of each local day, each channel and each machine.
//!
//! Values are SI: W, Pa above atmosphere, K. Must not know: how they came about.

use jiff::Timestamp;
use jiff::civil::Date;

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
    /// The first 1000 cells and rows that could not be read.
    pub rejected: Vec<RejectedCell>,
    /// How many there are in all.
    pub rejected_total: u64,
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
    /// It runs and delivers nothing.
    Unloaded,
    /// It delivers air.
    Loaded,
}

impl State {
    /// All, in order of power.
    pub const ALL: [Self; 3] = [Self::Stopped, Self::Unloaded, Self::Loaded];

    pub(crate) const fn index(self) -> usize {
        match self {
            Self::Stopped => 0,
            Self::Unloaded => 1,
            Self::Loaded => 2,
        }
    }
}

/// Where the levels between the states come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LevelsFrom {
    /// Half-way between the powers that the station file gives.
    StationFile,
    /// The emptiest places between the powers that were read at the start of the log.
    Learned,
    /// The station file's defaults: the log's start does not show the levels apart.
    Defaults,
    /// Signals of the machine say its state; there are no levels.
    Signals,
}

/// The powers at which the state changes, W.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Levels {
    /// Above, it runs.
    pub runs_w: f64,
    /// Above, it is loaded.
    pub loaded_w: f64,
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
    /// How its state was told.
    pub levels: Levels,
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
    pub hours: [f64; 3],
    /// Energy in each state, kWh; 0 where no power was read.
    pub kwh: [f64; 3],
    /// How often it took load.
    pub loads: u64,
    /// How often it gave load up.
    pub unloads: u64,
    /// How often it started.
    pub starts: u64,
    /// How often it stopped.
    pub stops: u64,
}

/// One machine on one local day. Arrays follow [`State::ALL`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MachineDay {
    /// The local date.
    pub date: Date,
    /// Hours in each state.
    pub hours: [f64; 3],
    /// Energy in each state, kWh; 0 where no power was read.
    pub kwh: [f64; 3],
    /// How often it took load.
    pub loads: u64,
    /// How often it gave load up.
    pub unloads: u64,
    /// How often it started.
    pub starts: u64,
    /// How often it stopped.
    pub stops: u64,
}

/// One machine over the whole log. Arrays follow [`State::ALL`].
#[derive(Debug, Clone, PartialEq)]
pub struct MachineTotals {
    /// Hours in each state.
    pub hours: [f64; 3],
    /// Energy in each state, kWh.
    pub kwh: [f64; 3],
    /// How often it started.
    pub starts: u64,
    /// How often it took load.
    pub loads: u64,
    /// Loads in an hour in which it ran, on average; `None` if it never ran.
    pub cycles_per_hour: Option<f64>,
    /// The most loads in one hour of the clock.
    pub worst_cycles_per_hour: u64,
    /// Hours loaded over hours run; `None` if it never ran.
    pub duty: Option<f64>,
    /// Share of the time on load outside working hours, over hours that lie wholly outside: what
    /// the plant draws then, as a share of the machine's delivery. `None` without such hours or
    /// without working hours in the station file.
    pub off_shift_load_share: Option<f64>,
    /// Share of the time on load in each hour of the week, Monday 00:00 first; `None` where none
    /// was logged. 168 of them.
    pub load_share_by_hour_of_week: Vec<Option<f64>>,
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
    /// Hours below what is wanted; `None` where nothing is.
    pub hours_below_wanted: Option<f64>,
    /// The fastest fall from one reading to the next, Pa/s, as a positive number.
    pub fastest_fall: f64,
}
