//! Judges the rounds of one station: what is not right, how sure that is, what it costs, what to do.
//!
//! Pure: a station and rounds in, a [`Judgement`] out. A look that was taken off a log is a round
//! like any other. Rounds are seen one by one and memory stays
//! bounded, so a file of any length can be judged. A judgement never fails as a whole: what cannot
//! be judged is said in [`Judgement::not_judged`], with the reading that is lacking. All sentences
//! that people read are written here.
//!
//! Must not know: files, databases, JSON, colours, the clock.

mod band;
mod by_kind;
mod context;
pub mod cost;
mod day;
mod doubt;
pub mod drain;
mod expectation;
pub mod finding;
mod findings;
mod history;
mod line;
mod load;
mod memory;
mod next;
mod outlook;
pub mod safety;
pub mod say;
mod settle;
mod tables;
mod water;
mod working;

use jiff::Timestamp;
use physics::quantity::Temperature;
use station::model::{Asset, Station};
use station::point::PointId;
use station::round::Round;

pub use band::{Band, bands};
pub use by_kind::name_causes;
pub use day::{Day, DutyFrom, Moment};
pub use expectation::Expectation;
pub use finding::{Finding, Kind, NotJudged, Urgency};
pub use history::IfHot;
pub use memory::Memory;
pub use outlook::{MachineOutlook, Outlook, PlaceOutlook, outlook};
pub use tables::{Table, TableProblem, Tables};

use crate::context::Context;
use crate::doubt::Doubt;
use crate::history::History;
use crate::say::Units;

/// How to judge.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Options {
    /// As if it were then: later rounds and work are not seen. `None` is the last round's time.
    pub as_of: Option<Timestamp>,
    /// Units of the sentences.
    pub units: Units,
    /// What causes are weighed by.
    pub tables: Tables,
    /// Ask what each machine would do at this temperature outdoors.
    pub if_hot: Option<Temperature>,
}

/// What the rounds of one station say.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Judgement {
    /// The moment that it is made for; `None` without any round.
    pub as_of: Option<Timestamp>,
    /// Rounds that were seen, and looks off a log.
    pub rounds: u64,
    /// Looks off a log among them.
    pub looks: u64,
    /// What was expected at the last round, beside what was read.
    pub expectations: Vec<Expectation>,
    /// What is worth telling, most urgent first.
    pub findings: Vec<Finding>,
    /// What could not be judged, and why.
    pub not_judged: Vec<NotJudged>,
    /// Each health that drifts.
    pub drifts: Vec<Drift>,
    /// What each reading stands at by itself, as far as it was learned.
    pub levels: Vec<Level>,
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
    /// How uncertain that is, one standard deviation.
    pub sigma: f64,
    /// The change in a month.
    pub per_month: f64,
    /// How uncertain that is, one standard deviation.
    pub per_month_sigma: f64,
    /// The level at which the part is changed, if it is one that wears.
    pub limit: Option<f64>,
    /// Its course, oldest first, evenly spaced.
    pub spark: Vec<f64>,
    /// The finding that tells it, by its `id`.
    pub finding: String,
    /// What a picture of it shows.
    pub chart: Option<Chart>,
}

/// What a reading stands at by itself, whether it drifts or not.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// Which reading.
    pub id: PointId,
    /// What the machine did then; unknown for what is no machine's.
    pub moment: Moment,
    /// How far it stands over the model of a machine as new, at the newest conditions: SI, or a share of the model's
    /// value if `relative`.
    pub over: f64,
    /// How well that is known, one standard deviation.
    pub sigma: f64,
    /// Scatter of one reading about it, one standard deviation.
    pub scatter: f64,
    /// Whether these are shares of the model's value.
    pub relative: bool,
    /// Readings that taught it.
    pub readings: usize,
    /// The larger cumulative sum of what was read about it, in σ of one reading: k = 0.5, it tells from 5 on
    /// (NIST/SEMATECH e-Handbook 6.3.2.3).
    pub sum: f64,
    /// When that sum last left nought, where it tells.
    pub since: Option<Timestamp>,
    /// The moving average of it, in σ of one reading: λ = 0.2, it tells from 1 on (NIST/SEMATECH e-Handbook 6.3.2.4).
    pub average: f64,
}

/// The reading that shows a drift, over time and ahead. Values are SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// Which reading.
    pub id: PointId,
    /// What is drawn, in words, where it is no gauge's reading of one moment.
    pub what: Option<&'static str>,
    /// What was read beside what was to be expected, oldest first.
    pub readings: Vec<ChartReading>,
    /// Work that sets the part back, as it was written down.
    pub work: Vec<(Timestamp, String)>,
    /// Limits with their names.
    pub limits: Vec<(String, f64)>,
    /// The reading to come if it goes on so, at the conditions that the limit is judged at.
    pub ahead: Vec<ChartAhead>,
    /// Those conditions, in words.
    pub ahead_at: String,
}

/// One reading of a chart, with its 95 % band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChartReading {
    /// When.
    pub time: Timestamp,
    /// What was read.
    pub read: f64,
    /// The lower edge of what is expected of this part in good health at its own level.
    pub low: f64,
    /// The middle.
    pub mid: f64,
    /// The upper edge.
    pub high: f64,
}

/// One day ahead: between low and high with 80 %.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChartAhead {
    /// When.
    pub time: Timestamp,
    /// 10 %.
    pub low: f64,
    /// 50 %.
    pub mid: f64,
    /// 90 %.
    pub high: f64,
}

/// The newest round as a picture of the whole air path wants it.
#[derive(Debug, Clone, PartialEq)]
pub struct LastRound {
    /// When.
    pub time: Timestamp,
    /// What was to be expected, with bands, at the conditions of that round.
    pub outlook: Outlook,
    /// All numbers that were read, SI.
    pub read: Vec<(PointId, f64)>,
}

impl Judgement {
    /// How many findings there are of each of [`Urgency::ALL`].
    #[must_use]
    pub fn counts(&self) -> [usize; 4] {
        Urgency::ALL.map(|urgency| {
            let findings = self.findings.iter();
            findings.filter(|f| f.urgency == urgency).count()
        })
    }

    /// The same in words: `1 now, 3 this week`.
    #[must_use]
    pub fn in_short(&self) -> String {
        if self.rounds == 0 {
            return "no round to judge".to_owned();
        }
        let counts: Vec<String> = Urgency::ALL
            .iter()
            .zip(self.counts())
            .filter(|(_, n)| *n > 0)
            .map(|(urgency, n)| format!("{n} {}", urgency.words()))
            .collect();
        if counts.is_empty() {
            "steady".to_owned()
        } else {
            counts.join(", ")
        }
    }
}

/// Sees rounds in the order of time, then judges.
#[derive(Debug, Clone)]
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

    /// The newest round beside what was to be expected of the whole air path; `None` without any
    /// round, or where the model refuses its conditions.
    #[must_use]
    pub fn last_round(&self) -> Option<LastRound> {
        let round = self.memory.latest_walk()?;
        let day = Day::of(self.station, &self.memory, round).ok()?;
        Some(LastRound {
            time: round.time,
            outlook: outlook(self.station, &day.conditions).ok()?,
            read: round
                .readings
                .iter()
                .filter_map(|r| Some((r.id, round.number(r.id.asset, r.id.point)?)))
                .collect(),
        })
    }

    /// Judges what was seen.
    #[must_use]
    pub fn judge(&self) -> Judgement {
        let doubts = doubt::doubts(self.station, &self.memory, &self.history);
        if doubts.is_empty() {
            return self.judge_by((&self.memory, &self.history), None);
        }
        let (memory, history) = doubt::left_aside((&self.memory, &self.history), &doubts);
        self.judge_by((&memory, &history), Some(&doubts))
    }

    /// Judges by what is known; `doubts` were taken out of it.
    fn judge_by(
        &self,
        (memory, history): (&Memory, &History),
        doubts: Option<&[Doubt]>,
    ) -> Judgement {
        let Some(mut context) = Context::new(self.station, memory, &self.options) else {
            return Judgement {
                as_of: self.options.as_of,
                not_judged: vec![NotJudged {
                    what: "the station".to_owned(),
                    why: "there is no round to judge".to_owned(),
                    working: Vec::new(),
                }],
                ..Judgement::default()
            };
        };
        context.unwritten = history.unwritten();
        findings::look(&mut context);
        let mut expectations = None;
        if let Some(doubts) = doubts
            && let Some(mut whole) = Context::new(self.station, &self.memory, &self.options)
        {
            // All that was read, doubtful or not.
            whole.unwritten.clone_from(&context.unwritten);
            findings::look(&mut whole);
            expectations = Some(expectation::of_the_last_round(&whole));
            findings::ask_about(&mut context, doubts, whole.findings);
        }
        let mut drifts = history::tell(&mut context, history);
        settle::settle(&mut context, &mut drifts);
        let if_hot = self.options.if_hot.map(|t| history::if_hot(&context, t));
        let expectations = expectations.unwrap_or_else(|| expectation::of_the_last_round(&context));
        let mut findings = context.findings;
        findings.sort_by(Finding::order);
        let mut not_judged = context.not_judged;
        not_judged.sort_by(|a, b| (&a.what, &a.why).cmp(&(&b.what, &b.why)));
        Judgement {
            as_of: Some(context.now),
            rounds: self.memory.seen,
            looks: self.memory.looks,
            expectations,
            findings,
            not_judged,
            drifts,
            levels: context.levels,
            if_hot,
        }
    }
}
