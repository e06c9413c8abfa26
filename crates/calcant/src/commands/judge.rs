//! `calcant judge`: rounds of one or more stations, as text for people or as JSON.
//!
//! Must not know: how anything is judged.

use std::io::{Read, Write as _};
use std::sync::atomic::{AtomicUsize, Ordering};

use ::judge::{Judge, Judgement, LastRound, Options, Tables};
use ::station::file::problem::Problem;
use ::station::file::rounds::{Reader, Rejection, Row};
use ::station::file::station::parse_bytes;
use ::station::model::Station;
use anyhow::{Context, Result};
use jiff::Timestamp;

use super::causes::tables_in;
use crate::args::{JudgeArgs, JudgeHow, JudgeLog};
use crate::edge::{Outcome, about, open, print_with, read, unusable};
use crate::wire;

mod answers;
mod asked;
mod hot;
pub(crate) mod logged;
mod order;
pub(crate) mod report;
mod said;
pub(crate) mod text;
mod trend;

use answers::{Place, Shelf};
use asked::Asked;
use logged::{Feed, Logged};
use order::Need;
use said::Said;

pub(super) use logged::Refused;

/// Rejected rows that are listed; more are only counted.
const MOST_REJECTED: usize = 1000;
/// Where a station and its rounds come from.
pub(crate) enum Source {
    Files(Asked, JudgeLog),
    BuiltIn {
        name: &'static str,
        station: &'static str,
        rounds: &'static str,
    },
}

impl Source {
    pub(crate) const fn built_in(
        name: &'static str,
        station: &'static str,
        rounds: &'static str,
    ) -> Self {
        Self::BuiltIn {
            name,
            station,
            rounds,
        }
    }
}

/// One station, judged.
pub(crate) struct Judged {
    /// Where the rounds come from.
    pub(crate) name: String,
    pub(crate) station: Station,
    pub(crate) judgement: Judgement,
    pub(crate) rows: Rows,
    /// What the logs gave that were judged beside the rounds.
    pub(crate) logged: Option<Logged>,
    /// For the picture of the page, where one is wanted.
    last_round: Option<LastRound>,
    /// Whether the station file says of itself that it is invented.
    invented: bool,
}

/// What became of the rows.
#[derive(Debug, Default)]
pub(crate) struct Rows {
    pub(crate) read: u64,
    pub(crate) accepted: u64,
    pub(crate) rejected_total: u64,
    pub(crate) rejected: Vec<Rejection>,
}

pub(super) fn run(args: &JudgeArgs) -> Result<Outcome> {
    let asked = match asked::asked(&args.inputs.0) {
        Ok(asked) => asked,
        Err(problem) => return Ok(unusable("judge", &[problem])),
    };
    let sources: Vec<Source> = asked
        .into_iter()
        .map(|asked| Source::Files(asked, args.log.clone()))
        .collect();
    judge_all(&sources, &args.how)
}

/// What is kept of a station's judgement until all are told; the answer itself is set aside.
struct Answer {
    /// Where the rounds come from.
    name: String,
    /// The station's name.
    station: String,
    need: Need,
    /// Its findings, counted in words.
    in_short: String,
    /// What its worst machine would do on the hot day that is asked about.
    if_hot: Option<String>,
    rounds: u64,
    /// Why nothing was judged, if so.
    nothing: Option<Problem>,
    /// Whether some rows were rejected.
    rejected: bool,
    place: Place,
    /// The whole judgement, where a page is to be made of it.
    whole: Option<Judged>,
}

impl Answer {
    /// Renders a judgement and sets it aside.
    fn of(one: Judged, how: &JudgeHow, several: bool, shelf: &Shelf) -> Result<Self> {
        let answer = match (how.json, several) {
            (true, true) => wire::among_several(&one)?,
            (true, false) => wire::judged(&one)?,
            (false, _) => text::of_one(&one, how),
        };
        let in_part = one.logged.as_ref().is_some_and(|log| log.in_part);
        let rounds = one.judgement.rounds;
        Ok(Self {
            name: one.name.clone(),
            station: one.station.site.name.clone(),
            need: Need::of(&one.judgement),
            in_short: one.judgement.in_short(),
            if_hot: trend::worst_if_hot(&one),
            rounds,
            nothing: (rounds == 0).then(|| nothing_to_judge(&one, how)),
            rejected: one.rows.rejected_total > 0 || in_part,
            place: shelf.put(&answer)?,
            whole: how.report.is_some().then_some(one),
        })
    }
}

pub(crate) fn judge_all(sources: &[Source], how: &JudgeHow) -> Result<Outcome> {
    let several = sources.len() > 1;
    if let Some(problem) = report::not_writable(sources, how) {
        return Ok(unusable("judge", &[problem]));
    }
    let tables = match tables_in(how.causes.as_deref()) {
        Ok(tables) => tables,
        Err(refused) => {
            for (whose, problems) in &refused {
                unusable(whose, problems);
            }
            return Ok(Outcome::Unusable);
        }
    };
    let shelf = Shelf::new();
    let judged = side_by_side(sources, |source| -> Result<Result<Answer, Refused>> {
        Ok(match from_source(source, (how, tables))? {
            Ok(one) => Ok(Answer::of(one, how, several, &shelf)?),
            Err(refused) => Err(refused),
        })
    });
    let mut answers = Vec::new();
    let mut unusables = Refused::new();
    for one in judged {
        match one? {
            Ok(one) => answers.push(one),
            // A wrong `--as-of`, or a file named twice, is told once.
            Err(refused) => {
                for one in refused {
                    if !unusables.contains(&one) {
                        unusables.push(one);
                    }
                }
            }
        }
    }
    if !unusables.is_empty() {
        for (whose, problems) in &unusables {
            unusable(whose, problems);
        }
        return Ok(Outcome::Unusable);
    }
    if answers.iter().all(|one| one.rounds == 0) {
        for one in answers {
            unusable(&one.name, &one.nothing.into_iter().collect::<Vec<_>>());
        }
        return Ok(Outcome::Unusable);
    }
    answers.sort_by(|a, b| a.need.most_first(&b.need));
    if let Some(path) = &how.report {
        let whole: Vec<&Judged> = answers.iter().filter_map(|a| a.whole.as_ref()).collect();
        report::write_page(path, &whole, how)?;
    }
    tell(&answers, &shelf, how)?;
    Ok(if answers.iter().any(|one| one.rejected) {
        Outcome::SomeRejected
    } else {
        Outcome::Done
    })
}

/// Prints the answers in their order.
fn tell(answers: &[Answer], shelf: &Shelf, how: &JudgeHow) -> Result<()> {
    let several = answers.len() > 1;
    let findings = answers.iter().any(|a| a.need.findings != [0; 4]);
    let [head, before_each, between, end] = match (how.json, several) {
        (true, true) => {
            let [head, between, end] = wire::several();
            [head, String::new(), between, end]
        }
        (true, false) => <[String; 4]>::default(),
        (false, true) => [
            text::overview(answers, how),
            text::between(),
            String::new(),
            text::last_words(findings, how).to_owned(),
        ],
        (false, false) => {
            let end = text::last_words(findings, how).to_owned();
            [String::new(), String::new(), String::new(), end]
        }
    };
    print_with(|out| {
        out.write_all(head.as_bytes())?;
        for (n, answer) in answers.iter().enumerate() {
            if n > 0 {
                out.write_all(between.as_bytes())?;
            }
            out.write_all(before_each.as_bytes())?;
            shelf.tell(answer.place, out)?;
        }
        out.write_all(end.as_bytes())
    })
}

/// Why no round of a file could be judged.
fn nothing_to_judge(one: &Judged, how: &JudgeHow) -> Problem {
    let rows = &one.rows;
    let first_day = how.as_of.as_deref().filter(|_| rows.accepted > 0);
    if let Some(log) = one.logged.as_ref().filter(|_| rows.accepted == 0)
        && rows.rejected_total == 0
    {
        return match (&how.as_of, log.looks) {
            (Some(as_of), 1..) => about(
                "",
                format!("nothing is judged: all that was logged is later than `--as-of {as_of}`"),
                Some("ask for a later day, or leave --as-of out"),
            ),
            _ => about(
                "",
                format!("nothing is judged: {}", logged::NO_LOOK.0),
                Some(logged::NO_LOOK.1),
            ),
        };
    }
    match first_day {
        Some(as_of) => about(
            "",
            format!("nothing is judged: every round is later than `--as-of {as_of}`"),
            Some("ask for a later day, or leave --as-of out"),
        ),
        None if rows.rejected_total > 0 => about(
            "",
            "nothing is judged: every row was rejected",
            Some("mend what stands above, line by line"),
        ),
        None => about(
            "",
            "nothing is judged: there is no row below the header",
            Some("write one row for each round: its time, and what was read"),
        ),
    }
}

type OrProblems = Result<Judged, Refused>;

/// How to judge, as typed, and what causes are weighed by.
type How<'a> = (&'a JudgeHow, Tables);

/// Does the work on every source, as many at a time as the computer has cores; in the order of
/// `sources`.
fn side_by_side<T: Send>(sources: &[Source], work: impl Fn(&Source) -> T + Sync) -> Vec<T> {
    let workers = std::thread::available_parallelism()
        .map_or(1, usize::from)
        .min(sources.len());
    let next = AtomicUsize::new(0);
    let hand = || {
        let mut done = Vec::new();
        loop {
            let place = next.fetch_add(1, Ordering::Relaxed);
            let Some(source) = sources.get(place) else {
                return done;
            };
            done.push((place, work(source)));
        }
    };
    let mut all: Vec<(usize, T)> = std::thread::scope(|scope| {
        let hands: Vec<_> = (1..workers).map(|_| scope.spawn(hand)).collect();
        let mut all = hand();
        for other in hands {
            match other.join() {
                Ok(done) => all.extend(done),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        all
    });
    all.sort_by_key(|(place, _)| *place);
    all.into_iter().map(|(_, one)| one).collect()
}

fn from_source(source: &Source, how: How<'_>) -> Result<OrProblems> {
    match source {
        Source::Files(asked, log) => from_files(asked, log, how),
        Source::BuiltIn {
            name,
            station,
            rounds,
        } => match parse_bytes(station.as_bytes()) {
            Ok(parsed) => {
                let invented = report::says_invented(station.as_bytes());
                let rounds = Some(rounds.as_bytes());
                judge_one(name, parsed, rounds, (Feed::alone(), None), how)
                    .map(|one| marked(one, invented))
            }
            Err(problems) => Ok(refused(name, problems)),
        },
    }
}

fn refused(whose: &str, problems: Vec<Problem>) -> OrProblems {
    Err(vec![(whose.to_owned(), problems)])
}

fn from_files(asked: &Asked, log: &JudgeLog, how: How<'_>) -> Result<OrProblems> {
    let name = asked.station.display().to_string();
    let bytes = match read(&asked.station) {
        Ok(bytes) => bytes,
        Err(problem) => return Ok(refused(&name, vec![problem])),
    };
    let parsed = match parse_bytes(&bytes) {
        Ok(parsed) => parsed,
        Err(problems) => return Ok(refused(&name, problems)),
    };
    let invented = report::says_invented(&bytes);
    let rounds = asked.rounds.as_deref();
    let name = rounds.map(|path| path.display().to_string());
    let rounds = match rounds.map(open).transpose() {
        Ok(rounds) => rounds,
        Err(problem) => return Ok(refused(&name.unwrap_or_default(), vec![problem])),
    };
    let (feed, logged) = match logged::read(&parsed, asked, log) {
        Ok(read) => read,
        Err(refused) => return Ok(Err(refused)),
    };
    let of_log = logged.as_ref().map(|log| log.name.clone());
    let name = name.or(of_log).unwrap_or_default();
    judge_one(&name, parsed, rounds, (feed, logged), how).map(|one| marked(one, invented))
}

fn marked(one: OrProblems, invented: bool) -> OrProblems {
    one.map(|judged| Judged { invented, ..judged })
}

fn judge_one(
    name: &str,
    station: Station,
    rounds: Option<impl Read>,
    (mut feed, mut logged): (Feed, Option<Logged>),
    (how, tables): How<'_>,
) -> Result<OrProblems> {
    let options = match options(&station, (how, tables)) {
        Ok(options) => options,
        Err((whose, problem)) => return Ok(refused(whose, vec![problem])),
    };
    let reader = rounds.map(|rounds| Reader::open(rounds, &station));
    let mut reader = match reader.transpose() {
        Ok(reader) => reader,
        Err(problems) => return Ok(refused(name, problems)),
    };
    let mut judge = Judge::new(&station, options);
    let mut rows = Rows::default();
    let mut said = Said::default();
    for row in reader.iter_mut().flatten() {
        rows.read += 1;
        match row.with_context(|| format!("{name} could not be read to its end"))? {
            Row::Round(round) => {
                rows.accepted += 1;
                feed.round(round, &mut judge);
            }
            Row::Rejected(rejection) => {
                said.say(name, &rejection);
                rows.rejected_total += 1;
                if rows.rejected.len() < MOST_REJECTED {
                    rows.rejected.push(rejection);
                }
            }
        }
    }
    said.close(name, rows.rejected_total);
    feed.end(&mut judge);
    let mut judgement = judge.judge();
    hot::sort(&mut judgement);
    if let Some(logged) = &mut logged {
        logged.evidence = feed.evidence(&judgement);
    }
    let last_round = how.report.as_ref().and_then(|_| judge.last_round());
    Ok(Ok(Judged {
        name: name.to_owned(),
        judgement,
        station,
        rows,
        logged,
        last_round,
        invented: false,
    }))
}

/// How to judge, as typed; or which option cannot be read, and why.
fn options(station: &Station, (how, tables): How<'_>) -> Result<Options, (&'static str, Problem)> {
    let as_of = how.as_of.as_deref().map(|text| time(text, station));
    let if_hot = how.if_hot.as_deref().map(hot::outdoors);
    Ok(Options {
        as_of: as_of.transpose().map_err(|p| ("--as-of", p))?,
        units: how.units.into(),
        tables,
        if_hot: if_hot.transpose().map_err(|p| ("--if-hot", p))?,
    })
}

/// A moment as typed: RFC 3339, or local to the station.
fn time(text: &str, station: &Station) -> Result<Timestamp, Problem> {
    let text = text.trim();
    if let Ok(time) = text.parse::<Timestamp>() {
        return Ok(time);
    }
    // A date alone means its end: everything of that day is seen. It has to be told from a moment
    // first, for a bare date can also be read as its first moment.
    let bare = !text.contains(['T', 't', ' ', ':']);
    let local = if bare {
        text.parse::<jiff::civil::Date>()
            .map(|date| date.at(23, 59, 59, 0))
    } else {
        text.replacen(' ', "T", 1).parse::<jiff::civil::DateTime>()
    };
    local
        .ok()
        .and_then(|local| {
            station
                .site
                .time_zone
                .to_ambiguous_timestamp(local)
                .compatible()
                .ok()
        })
        .ok_or_else(|| {
            about(
                "",
                format!("`{text}` is no time"),
                Some("write 2026-03-01, or 2026-03-01T07:00 in the station's time zone or with an offset"),
            )
        })
}
