//! Who walks round, when, what they read and how well.
//!
//! Must not know: physics, gauges.

use jiff::civil::{Date, Weekday, date};

/// The habits of the people who walk round.
#[derive(Debug, Clone, PartialEq)]
pub struct Habits {
    /// The first day of the history.
    pub first_day: Date,
    /// When a round begins, minutes after midnight.
    pub at_minute: u32,
    /// Spread of the beginning, min.
    pub minutes_spread: f64,
    /// Chance that a working day has no round.
    pub missed: f64,
    /// The only day of the week that has a round, timed tests on Saturdays aside; `None` for all.
    pub only_on: Option<Weekday>,
    /// Days without any round, first and last inclusive, since the first day.
    pub away: Vec<(u32, u32)>,
    /// Every how many weeks a Saturday has a round; 0 for never.
    pub saturday_every: u32,
    /// Every how many weeks, on a Saturday after the works have closed, one machine is timed with a
    /// watch while only leaks take air; 0 for never. That round takes the place of the morning's.
    pub off_shift_every: u32,
    /// The day on which the cabinet is opened: belts, mats, separators.
    pub cabinet_day: Weekday,
    /// Chance that a round on a Monday is taken just after switching on, with machines still cold.
    pub cold_monday: f64,
    /// Chance that the reader waits for a machine to load before reading it.
    pub waits_for_load: f64,
    /// Chance that one cell is left empty.
    pub left_out: f64,
    /// Chance that one number of a round is misread.
    pub misread: f64,
    /// Misreadings that are certain.
    pub misreads: Vec<Misread>,
    /// Spread of reading errors, over the usual: 1 for an ordinary reader, 0 for none.
    pub care: f64,
    /// Points that are never read, by the name after the dot.
    pub never: Vec<String>,
    /// Who, in turn by chance.
    pub people: Vec<String>,
    /// Work done that mends no trouble.
    pub services: Vec<Service>,
}

/// A misreading on a known day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misread {
    /// Day since the first.
    pub day: u32,
    /// The point, `K2.oil_temperature` for example.
    pub point: String,
}

/// Work on a known day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Service {
    /// Day since the first; told on the first round of that day or after.
    pub day: u32,
    /// As written in the rounds: `K1:change oil filter`.
    pub work: String,
}

impl Default for Habits {
    /// Daily rounds about ten past seven by ordinary readers, from 1 January 2025.
    fn default() -> Self {
        Self {
            first_day: date(2025, 1, 1),
            at_minute: 7 * 60 + 10,
            minutes_spread: 7.0,
            missed: 0.04,
            only_on: None,
            away: Vec::new(),
            saturday_every: 4,
            off_shift_every: 4,
            cabinet_day: Weekday::Friday,
            cold_monday: 0.05,
            waits_for_load: 0.9,
            left_out: 0.01,
            misread: 0.005,
            misreads: Vec::new(),
            care: 1.0,
            never: Vec::new(),
            people: ["Ines", "Tomas", "R.V."].map(str::to_owned).to_vec(),
            services: Vec::new(),
        }
    }
}

impl Habits {
    /// Habits without chance: every working day, every cell, no misreading, no reading error.
    #[must_use]
    pub fn perfect() -> Self {
        Self {
            missed: 0.0,
            cold_monday: 0.0,
            waits_for_load: 1.0,
            left_out: 0.0,
            misread: 0.0,
            care: 0.0,
            ..Self::default()
        }
    }
}
