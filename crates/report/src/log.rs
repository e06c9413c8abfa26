//! What a long log shows: pictures of it, and figures with their workings.
//!
//! The pictures: the week as a heat map of demand, its load-duration curve, the power of a day by
//! state, the pressure day by day, one cycle close up, and energy by state. Shades of one ink and
//! words carry every meaning, so that they hold on paper and in greyscale. Each comes with the
//! numbers that matter most in it and with the working of every number that it writes.
//!
//! Must not know: how a log is read, files.

mod demand;
mod paint;
mod power;
mod pressure;

use physics::working::Step;

use crate::frame::Frame;

/// All that a page shows of one log, in the units that are written on it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Logged {
    /// The stretch of time, in words.
    pub period: String,
    /// Rows that were counted.
    pub rows: u64,
    /// Unit of flows.
    pub flow_unit: &'static str,
    /// Unit of pressures.
    pub pressure_unit: &'static str,
    /// Demand in each hour of the week, Monday 00:00 first; 168, or none.
    pub demand: Vec<Option<HourOfWeek>>,
    /// How demand is known, in words.
    pub demand_from: &'static str,
    /// Share of the time, 0…1, in which demand is at most so much; rising.
    pub duration: Vec<(f64, f64)>,
    /// What each machine can deliver.
    pub capacity: Vec<(String, f64)>,
    /// States in the order of stacking, in words.
    pub states: Vec<&'static str>,
    /// Hours that were logged in each hour of the day, and the energy of all machines in each state
    /// then, kWh; 24, or none.
    pub day: Vec<(f64, Vec<f64>)>,
    /// Energy of each machine in each state, kWh.
    pub energy: Vec<(String, Vec<f64>)>,
    /// The pressure at one place, day by day.
    pub pressure: Vec<PressureDay>,
    /// Where it was read.
    pub pressure_at: String,
    /// What is wanted there.
    pub wanted: Option<f64>,
    /// One cycle: seconds and pressure as read.
    pub cycle: Vec<(f64, f64)>,
    /// Straight lines through it: from and to in seconds, with the pressures there; whether a
    /// machine delivered.
    pub slopes: Vec<([f64; 2], [f64; 2], bool)>,
    /// Figures with their workings, in groups.
    pub figures: Vec<Figure>,
    /// What an owner reads first.
    pub facts: Vec<Fact>,
    /// What to look at where no finding asks for work, and the key of the figure that its numbers
    /// stand in.
    pub nothing_found: Option<(String, String)>,
    /// What has to be said about them.
    pub remarks: Vec<String>,
    /// Stretches that were left out, in words.
    pub left_out: Vec<String>,
    /// How many there are in all.
    pub left_out_total: u64,
}

/// Demand in one hour of the week, over all logged hours of that name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HourOfWeek {
    /// The mean.
    pub mean: f64,
    /// How many hours were logged.
    pub hours: u32,
    /// The mean of the least of them.
    pub least: f64,
    /// The mean of the greatest of them.
    pub most: f64,
}

/// A pressure on one day.
#[derive(Debug, Clone, PartialEq)]
pub struct PressureDay {
    /// The date, in few signs.
    pub date: String,
    /// The least.
    pub min: f64,
    /// The mean of all readings.
    pub mean: f64,
    /// The greatest.
    pub max: f64,
    /// How many readings.
    pub count: u64,
}

/// One figure and how it comes about.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Of what it is: the heading of its group.
    pub group: String,
    /// Its name among all figures, fit for an anchor.
    pub key: String,
    /// What.
    pub what: String,
    /// How much, with units.
    pub says: String,
    /// How it comes about; never empty.
    pub steps: Vec<Step>,
}

/// One large fact on the first sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// The fact.
    pub says: String,
    /// What it is.
    pub what: String,
    /// The figures, by their keys, in whose workings its numbers stand.
    pub figures: Vec<String>,
}

/// Draws a picture on a paper.
type Draw<'a> = Box<dyn Fn(&Frame) -> Option<String> + 'a>;

/// One picture with its heading, its numbers and their working.
pub(crate) struct Picture<'a> {
    pub(crate) key: &'static str,
    pub(crate) title: &'static str,
    /// What is drawn, from what.
    pub(crate) says: String,
    /// The numbers that matter most.
    pub(crate) numbers: String,
    pub(crate) draw: Draw<'a>,
    pub(crate) steps: Vec<Step>,
    pub(crate) table: Option<Table>,
}

/// Numbers of a working that stand in rows.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Table {
    /// What the rows hold.
    pub(crate) about: String,
    pub(crate) head: Vec<String>,
    /// The first of each row is its name.
    pub(crate) rows: Vec<Vec<String>>,
}

/// The style of these pictures, in the inks of the page.
pub(crate) const STYLE: &str = ".chart .heat{fill:var(--ink)}.chart .on{fill:var(--paper)}\
     .chart .bar{fill:var(--ink);stroke:var(--ink);stroke-width:.6}\
     .chart .fit{stroke:var(--outside);stroke-width:2;fill:none}.chart .small{font-size:12px}";

/// All pictures that the log has something to show for.
pub(crate) fn pictures(log: &Logged) -> Vec<Picture<'_>> {
    [
        demand::week(log),
        demand::duration(log),
        power::day(log),
        pressure::days(log),
        pressure::cycle(log),
        power::energy(log),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// A step whose formula is a definition or stands beside it.
pub(crate) fn step(
    name: impl Into<String>,
    formula: &str,
    numbers: impl Into<String>,
    (value, unit): (f64, &str),
    source: &str,
) -> Step {
    Step {
        name: name.into(),
        formula: formula.to_owned(),
        numbers: numbers.into(),
        value,
        unit: unit.to_owned(),
        source: source.to_owned(),
    }
}
