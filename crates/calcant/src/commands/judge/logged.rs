//! Logs beside rounds: their looks, what became of their rows, and which evidence is theirs.
//!
//! Must not know: how a look is taken.

use std::collections::VecDeque;

use ::judge::{Judge, Judgement};
use ::station::model::Station;
use ::station::point::PointId;
use ::station::round::Round;
#[cfg(feature = "study")]
use ::station::round::Value;
use jiff::Timestamp;

use super::asked::Asked;
use crate::args::JudgeLog;

/// Whose problems, and which.
pub(in crate::commands) type Refused = Vec<(String, Vec<::station::file::problem::Problem>)>;

/// What the logs gave.
#[derive(Debug, Default)]
pub(crate) struct Logged {
    /// How they are called together.
    pub(super) name: String,
    /// Looks that were taken off them, and the first and the last.
    pub(crate) looks: u64,
    pub(crate) span: Option<(Timestamp, Timestamp)>,
    /// Rows read, and cells and rows that could not be.
    pub(crate) rows: u64,
    pub(crate) rejected_total: u64,
    /// Whether a cell was rejected, or a file broke off.
    pub(super) in_part: bool,
    /// Of each finding, when each evidence was logged, if it was.
    pub(crate) evidence: Vec<Vec<Option<Timestamp>>>,
}

/// Readings that are remembered, to tell whose the evidence is.
#[cfg(feature = "study")]
const MOST_SEEN: usize = 200_000;

/// Hands rounds to the judge, with the looks of the logs beside them.
pub(super) struct Feed {
    #[cfg(feature = "study")]
    beside: Option<::study::Beside>,
    seen: Seen,
}

/// The newest readings that the judge saw.
#[derive(Default)]
struct Seen {
    list: VecDeque<(PointId, u64, Timestamp, bool)>,
}

impl Seen {
    #[cfg(feature = "study")]
    fn note(&mut self, round: &Round) {
        for reading in &round.readings {
            if let Value::Number(value) = reading.value {
                if self.list.len() == MOST_SEEN {
                    self.list.pop_front();
                }
                let logged = round.logged.is_some();
                let seen = (reading.id, value.to_bits(), round.time, logged);
                self.list.push_back(seen);
            }
        }
    }

    /// When a reading was logged; `None` if a person read it last.
    fn logged(&self, id: PointId, read: f64) -> Option<Timestamp> {
        let same = |s: &&(PointId, u64, Timestamp, bool)| s.0 == id && s.1 == read.to_bits();
        let (.., time, logged) = self.list.iter().rev().find(same)?;
        logged.then_some(*time)
    }
}

impl Feed {
    /// The rounds alone.
    pub(super) fn alone() -> Self {
        Self {
            #[cfg(feature = "study")]
            beside: None,
            seen: Seen::default(),
        }
    }

    /// The next round.
    pub(super) fn round(&mut self, round: Round, judge: &mut Judge<'_>) {
        #[cfg(feature = "study")]
        if let Some(beside) = &mut self.beside {
            let seen = &mut self.seen;
            beside.round(round, &mut |round| {
                seen.note(&round);
                judge.see(round);
            });
            return;
        }
        judge.see(round);
    }

    /// There are no more rounds.
    #[cfg_attr(
        not(feature = "study"),
        expect(unused_variables, reason = "it takes logs")
    )]
    pub(super) fn end(&mut self, judge: &mut Judge<'_>) {
        #[cfg(feature = "study")]
        if let Some(beside) = self.beside.take() {
            let seen = &mut self.seen;
            beside.end(&mut |round| {
                seen.note(&round);
                judge.see(round);
            });
        }
    }

    /// Which evidence of the findings was logged.
    pub(super) fn evidence(&self, judgement: &Judgement) -> Vec<Vec<Option<Timestamp>>> {
        let findings = judgement.findings.iter();
        findings
            .map(|finding| {
                let evidence = finding.evidence.iter();
                evidence.map(|e| self.seen.logged(e.id, e.read)).collect()
            })
            .collect()
    }
}

/// Reads the logs that were asked about; without any, the rounds stand alone.
#[cfg(not(feature = "study"))]
pub(super) fn read(
    _: &Station,
    _: &Asked,
    _: &JudgeLog,
) -> Result<(Feed, Option<Logged>), Refused> {
    Ok((Feed::alone(), None))
}

/// Reads the logs that were asked about; without any, the rounds stand alone.
#[cfg(feature = "study")]
pub(super) fn read(
    station: &Station,
    asked: &Asked,
    log: &JudgeLog,
) -> Result<(Feed, Option<Logged>), Refused> {
    use super::super::log::sources::{Logs, options};
    use super::super::log::words;
    use crate::args::LogArgs;
    use crate::edge::Outcome;

    if asked.logs.is_empty() {
        return Ok((Feed::alone(), None));
    }
    let logs = Logs::named(&asked.logs)?;
    let tell = |bytes: u64| logs.progress.tell(bytes);
    let args = LogArgs {
        station: asked.station.clone(),
        logs: Vec::new(),
        map: log.map.clone(),
        from: None,
        to: None,
        dates: log.dates,
    };
    let options = options(&args, station, &tell)?;
    let looks = logs.answer(::study::read_looks(logs.sources(), station, &options))?;
    let passed = &looks.passed;
    let told = words::rejected(&passed.sources, &passed.rejected, passed.rejected_total);
    let ends = looks.rounds.first().zip(looks.rounds.last());
    let logged = Logged {
        name: logs.name(),
        looks: looks.rounds.len() as u64,
        span: ends.map(|(first, last)| (first.time, last.time)),
        rows: passed.rows,
        rejected_total: passed.rejected_total,
        in_part: matches!(told, Outcome::SomeRejected),
        evidence: Vec::new(),
    };
    if logged.looks == 0 && asked.rounds.is_some() {
        tell_no_look(&logged.name);
    }
    let feed = Feed {
        beside: Some(::study::Beside::new(
            looks.rounds,
            station.site.time_zone.clone(),
        )),
        seen: Seen::default(),
    };
    Ok((feed, Some(logged)))
}

#[cfg(feature = "study")]
fn tell_no_look(name: &str) {
    let problem = crate::edge::about("", NO_LOOK.0, Some(NO_LOOK.1));
    crate::edge::say(&format!("{name}: {problem}"));
}

/// Why a log gives nothing to judge, and what it takes.
pub(super) const NO_LOOK: (&str, &str) = (
    "no look can be taken off it",
    "it takes a machine's power, or `running` and `loaded`, in rows no further apart than five \
     minutes, over twenty minutes on load within the plant's hours; or, with the plant at rest, the \
     cycles of one machine",
);
