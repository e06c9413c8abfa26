//! Judges the rounds of one station: what is not right, how sure that is, what it costs, what to do.
//!
//! Pure: a station and rounds in, a [`Judgement`] out. Rounds are seen one by one and memory stays
//! bounded, so a file of any length can be judged. A judgement never fails as a whole: what cannot
//! be judged is said in [`Judgement::not_judged`], with the reading that is lacking. All sentences
//! that people read are written here.
//!
//! Must not know: files, databases, JSON, colours, the clock.

mod band;
mod context;
mod cost;
mod day;
mod expectation;
pub mod finding;
mod findings;
mod history;
mod line;
mod memory;
mod outlook;
pub mod safety;
pub mod say;
mod water;
mod working;

use jiff::Timestamp;
use physics::quantity::Temperature;
use station::model::{Asset, Station};
use station::round::Round;

pub use band::{Band, bands};
pub use day::{Day, DutyFrom, Moment};
pub use expectation::Expectation;
pub use finding::{Finding, Kind, NotJudged, Urgency};
pub use history::IfHot;
pub use memory::Memory;
pub use outlook::{MachineOutlook, Outlook, PlaceOutlook, outlook};

use crate::context::Context;
use crate::history::History;
use crate::say::Units;

/// How to judge.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Options {
    /// As if it were then: later rounds and work are not seen. `None` is the last round's time.
    pub as_of: Option<Timestamp>,
    /// Units of the sentences.
    pub units: Units,
    /// Ask what each machine would do at this temperature outdoors.
    pub if_hot: Option<Temperature>,
}

/// What the rounds of one station say.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Judgement {
    /// The moment that it is made for; `None` without any round.
    pub as_of: Option<Timestamp>,
    /// Rounds that were seen.
    pub rounds: u64,
    /// What was expected at the last round, beside what was read.
    pub expectations: Vec<Expectation>,
    /// What is worth telling, most urgent first.
    pub findings: Vec<Finding>,
    /// What could not be judged, and why.
    pub not_judged: Vec<NotJudged>,
    /// Each health that drifts.
    pub drifts: Vec<Drift>,
    /// Each modelled machine at the temperature that was asked about; `None` if none was.
    pub if_hot: Option<Vec<IfHot>>,
}

/// One health that drifts, for one line of text.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    /// On what.
    pub subject: Asset,
    /// What.
    pub what: String,
    /// Its unit, `1` for a factor.
    pub unit: String,
    /// The level now.
    pub level: f64,
    /// The change in a month.
    pub per_month: f64,
    /// The level at which the part is changed, if it is one that wears.
    pub limit: Option<f64>,
    /// Its course, oldest first, evenly spaced.
    pub spark: Vec<f64>,
}

/// Sees rounds in the order of time, then judges.
#[derive(Debug)]
pub struct Judge<'a> {
    station: &'a Station,
    options: Options,
    memory: Memory,
    history: History,
}

impl<'a> Judge<'a> {
    /// A judge of one station.
    #[must_use]
    pub fn new(station: &'a Station, options: Options) -> Self {
        Self {
            station,
            options,
            memory: Memory::new(station),
            history: History::default(),
        }
    }

    /// Sees the next round. Rounds after `as_of` are passed over.
    pub fn see(&mut self, round: Round) {
        if self.options.as_of.is_none_or(|as_of| round.time <= as_of) {
            self.memory.see(self.station, round);
            if let Some(round) = self.memory.latest() {
                self.history.see(self.station, &self.memory, round);
            }
        }
    }

    /// Judges what was seen.
    #[must_use]
    pub fn judge(&self) -> Judgement {
        let Some(mut context) = Context::new(self.station, &self.memory, &self.options) else {
            return Judgement {
                as_of: self.options.as_of,
                not_judged: vec![NotJudged {
                    what: "the station".to_owned(),
                    why: "there is no round to judge".to_owned(),
                }],
                ..Judgement::default()
            };
        };
        findings::look(&mut context);
        let drifts = history::tell(&mut context, &self.history);
        let if_hot = self.options.if_hot.map(|t| history::if_hot(&context, t));
        let expectations = expectation::of_the_last_round(&context);
        let mut findings = context.findings;
        findings.sort_by(Finding::order);
        let mut not_judged = context.not_judged;
        not_judged.sort();
        Judgement {
            as_of: Some(context.now),
            rounds: self.memory.seen,
            expectations,
            findings,
            not_judged,
            drifts,
            if_hot,
        }
    }
}
