//! Judges the rounds of a case.

use judge::say::Units;
use judge::{Judge, Judgement, Options};
use station::file::rounds::{Reader, Rejection, Row};
use station::model::Station;

use super::page::Case;
use super::station::of_block;

/// What came out.
pub(crate) struct Outcome {
    pub(crate) station: Station,
    pub(crate) judgement: Judgement,
    pub(crate) rejected: Vec<Rejection>,
}

/// Judges a case.
///
/// # Errors
/// Why it cannot be judged.
pub(crate) fn run(case: &Case) -> Result<Outcome, String> {
    let station = of_block(&case.station)?;
    let as_of = match &case.expect.as_of {
        None => None,
        Some(text) => Some(moment(text, &station)?),
    };
    let units = if case.expect.us_units {
        Units::Us
    } else {
        Units::Si
    };
    let (judgement, rejected) = {
        let mut reader =
            Reader::open(case.rounds.text.as_bytes(), &station).map_err(|problems| {
                let list: Vec<String> = problems.iter().map(ToString::to_string).collect();
                format!(
                    "the `csv` block (line {}): {}",
                    case.rounds.line,
                    list.join("\n  ")
                )
            })?;
        let mut judge = Judge::new(
            &station,
            Options {
                as_of,
                units,
                ..Options::default()
            },
        );
        let mut rejected = Vec::new();
        for row in &mut reader {
            match row.map_err(|fault| fault.to_string())? {
                Row::Round(round) => judge.see(round),
                Row::Rejected(rejection) => rejected.push(rejection),
            }
        }
        (judge.judge(), rejected)
    };
    Ok(Outcome {
        station,
        judgement,
        rejected,
    })
}

fn moment(text: &str, station: &Station) -> Result<jiff::Timestamp, String> {
    text.replacen(' ', "T", 1)
        .parse::<jiff::civil::DateTime>()
        .map_err(|e| e.to_string())
        .and_then(|local| {
            station
                .site
                .time_zone
                .to_ambiguous_timestamp(local)
                .compatible()
                .map_err(|e| e.to_string())
        })
        .map_err(|e| format!("`asked as of {text}`: {e}"))
}
