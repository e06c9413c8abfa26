//! A round: what one person read and did at one time; or a look of the same form, taken off a log.
//!
//! Numbers are SI (kelvin, pascal, watt, second, m³/s); litres, hours, rpm, ampere and per cent of
//! speed stay as read. Must not know: file syntax, expectations.

use jiff::Timestamp;

use crate::model::Asset;
use crate::point::{Point, PointId, Word};

/// One walk.
#[derive(Debug, Clone, PartialEq)]
pub struct Round {
    /// The line of the file that it begins on.
    pub line: u64,
    /// When.
    pub time: Timestamp,
    /// By whom, if told.
    pub who: Option<String>,
    /// Free words.
    pub note: Option<String>,
    /// Work done since the last round.
    pub done: Vec<WorkDone>,
    /// What was read, in column order.
    pub readings: Vec<Reading>,
    /// How far each counter moved since its last accepted reading, in column order. It holds across
    /// a roll-over. A counter has no step at its first reading, after it was replaced, and where the
    /// two readings cannot belong to one count.
    pub counter_steps: Vec<CounterStep>,
    /// What the log knows beside the readings, where this look was taken off a log; `None` where a
    /// person walked.
    pub logged: Option<Logged>,
}

/// What a log knows beside the readings of a look that was taken off it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Logged {
    /// Whether it tells no more than how the one machine cycles that runs while the plant rests.
    pub at_rest: bool,
    /// Of each machine, in station order; `None` where the log does not show what it does.
    pub machines: Vec<Option<LoggedRun>>,
}

/// How one machine ran, by a log.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LoggedRun {
    /// Share of the last twenty minutes on load, and one standard deviation; `None` where hours on
    /// load say nothing of the flow.
    pub load: Option<(f64, f64)>,
    /// Hours run since the look before that told them.
    pub run: f64,
    /// Hours of those on load.
    pub loaded: f64,
    /// Days that these hours cover.
    pub days: f64,
}

/// How far a counter moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CounterStep {
    /// Which counter.
    pub id: PointId,
    /// The increase, in the counter's own unit (h, starts, kWh), 0 or more.
    pub increase: f64,
    /// When it was read before.
    pub since: Timestamp,
}

/// One value of one point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// What was read.
    pub id: PointId,
    /// What it said.
    pub value: Value,
}

/// What a point says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value {
    /// A number in SI, see [`Point`].
    Number(f64),
    /// One of the point's words.
    Word(Word),
}

/// Work done on a thing.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkDone {
    /// On what.
    pub on: Asset,
    /// What was done.
    pub work: Work,
}

/// Work that resets health, or words that are kept and reset nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
#[expect(missing_docs, reason = "each variant is the phrase of the rounds file")]
pub enum Work {
    CleanMat,
    ChangeMat,
    CleanCooler,
    FlushOilSide,
    ChangeThermostat,
    TightenBelt,
    ChangeBelt,
    ChangeSeparator,
    ChangeOil,
    ChangeOilFilter,
    ChangeIntakeFilter,
    ChangeElement,
    MendDrain,
    MendDryer,
    MendLeaks,
    ChangeGauge,
    /// `replace counter <point>`.
    ReplaceCounter(Point),
    /// Other words.
    Other(String),
}

impl Work {
    /// The phrase of the rounds file.
    #[must_use]
    pub fn phrase(&self) -> String {
        match self {
            Self::CleanMat => "clean mat".into(),
            Self::ChangeMat => "change mat".into(),
            Self::CleanCooler => "clean cooler".into(),
            Self::FlushOilSide => "flush oil side".into(),
            Self::ChangeThermostat => "change thermostat".into(),
            Self::TightenBelt => "tighten belt".into(),
            Self::ChangeBelt => "change belt".into(),
            Self::ChangeSeparator => "change separator".into(),
            Self::ChangeOil => "change oil".into(),
            Self::ChangeOilFilter => "change oil filter".into(),
            Self::ChangeIntakeFilter => "change intake filter".into(),
            Self::ChangeElement => "change element".into(),
            Self::MendDrain => "mend drain".into(),
            Self::MendDryer => "mend dryer".into(),
            Self::MendLeaks => "mend leaks".into(),
            Self::ChangeGauge => "change gauge".into(),
            Self::ReplaceCounter(point) => format!("replace counter {}", point.name()),
            Self::Other(words) => words.clone(),
        }
    }

    /// The work of this phrase; unknown words are kept.
    #[must_use]
    pub fn from_phrase(phrase: &str) -> Self {
        let words = phrase.split_whitespace().collect::<Vec<_>>().join(" ");
        let lower = words.to_lowercase();
        let known = [
            Self::CleanMat,
            Self::ChangeMat,
            Self::CleanCooler,
            Self::FlushOilSide,
            Self::ChangeThermostat,
            Self::TightenBelt,
            Self::ChangeBelt,
            Self::ChangeSeparator,
            Self::ChangeOil,
            Self::ChangeOilFilter,
            Self::ChangeIntakeFilter,
            Self::ChangeElement,
            Self::MendDrain,
            Self::MendDryer,
            Self::MendLeaks,
            Self::ChangeGauge,
        ];
        if let Some(work) = known.into_iter().find(|work| work.phrase() == lower) {
            return work;
        }
        lower
            .strip_prefix("replace counter ")
            .and_then(Point::counter_of_name)
            .map_or(Self::Other(words), Self::ReplaceCounter)
    }
}

impl Round {
    /// How a machine ran, where this look was taken off a log that shows it.
    #[must_use]
    pub fn logged_run(&self, machine: usize) -> Option<&LoggedRun> {
        self.logged.as_ref()?.machines.get(machine)?.as_ref()
    }

    /// How far a counter moved since it was last read, if that can be said.
    #[must_use]
    pub fn step(&self, asset: Asset, counter: Point) -> Option<CounterStep> {
        let id = PointId {
            asset,
            point: counter,
        };
        self.counter_steps
            .iter()
            .copied()
            .find(|step| step.id == id)
    }

    /// The number read at a point, in SI.
    #[must_use]
    pub fn number(&self, asset: Asset, point: Point) -> Option<f64> {
        self.readings.iter().find_map(|r| match r.value {
            Value::Number(n) if r.id == PointId { asset, point } => Some(n),
            _ => None,
        })
    }

    /// The word observed at a point.
    #[must_use]
    pub fn word(&self, asset: Asset, point: Point) -> Option<Word> {
        self.readings.iter().find_map(|r| match r.value {
            Value::Word(w) if r.id == PointId { asset, point } => Some(w),
            _ => None,
        })
    }
}
