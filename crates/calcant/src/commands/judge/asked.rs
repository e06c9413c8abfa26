//! Which files were asked about: each station with its rounds and its logs.
//!
//! Must not know: what is in them.

use std::path::{Path, PathBuf};

use ::station::file::problem::Problem;

use crate::args::Input;
use crate::edge::about;

/// One station and what there is of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Asked {
    pub(super) station: PathBuf,
    /// There are none where logs alone are judged.
    pub(super) rounds: Option<PathBuf>,
    pub(super) logs: Vec<PathBuf>,
}

impl Asked {
    fn new(station: &Path, rounds: Option<&PathBuf>) -> Self {
        Self {
            station: station.to_owned(),
            rounds: rounds.cloned(),
            logs: Vec::new(),
        }
    }

    /// Every file of it.
    pub(super) fn paths(&self) -> impl Iterator<Item = &PathBuf> {
        std::iter::once(&self.station)
            .chain(&self.rounds)
            .chain(&self.logs)
    }
}

/// Each station with what follows it: its rounds, then its logs.
pub(super) fn asked(inputs: &[Input]) -> Result<Vec<Asked>, Problem> {
    let mut all: Vec<Asked> = Vec::new();
    let mut at = 0;
    while at < inputs.len() {
        let files: Vec<&PathBuf> = inputs[at..]
            .iter()
            .map_while(|input| match input {
                Input::File(path) => Some(path),
                Input::Log(_) => None,
            })
            .collect();
        at += files.len();
        let logs: Vec<PathBuf> = inputs[at..]
            .iter()
            .map_while(|input| match input {
                Input::Log(path) => Some(path.clone()),
                Input::File(_) => None,
            })
            .collect();
        at += logs.len();
        if files.is_empty() {
            let hint = "a log belongs to the station before it: calcant judge STATION ROUNDS \
                        --log LOG";
            return Err(about(
                "",
                "`--log` stands before any station file",
                Some(hint),
            ));
        }
        for pair in files.chunks(2) {
            all.push(Asked::new(pair[0], pair.get(1).copied()));
        }
        if let Some(last) = all.last_mut() {
            if last.rounds.is_none() && logs.is_empty() {
                return Err(no_rounds());
            }
            last.logs = logs;
        }
    }
    match all.iter().find_map(swapped) {
        Some(problem) => Err(problem),
        None => Ok(all),
    }
}

fn no_rounds() -> Problem {
    about(
        "",
        "every station file takes a rounds file after it",
        Some("calcant judge STATION ROUNDS [STATION ROUNDS …]"),
    )
}

/// Rounds that stand where a station file belongs.
fn swapped(asked: &Asked) -> Option<Problem> {
    let ends = |path: &Path, ending: &str| path.extension().is_some_and(|e| e == ending);
    let toml = asked
        .rounds
        .as_ref()
        .is_none_or(|rounds| ends(rounds, "toml"));
    (ends(&asked.station, "csv") && toml).then(|| {
        about(
            "",
            "rounds stand where a station file belongs",
            Some("the station file comes first: calcant judge STATION ROUNDS"),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked_of(line: &str) -> Result<Vec<(String, String, usize)>, String> {
        let inputs: Vec<Input> = line
            .split_whitespace()
            .map(|word| match word.strip_prefix("--log=") {
                Some(log) => Input::Log(log.into()),
                None => Input::File(word.into()),
            })
            .collect();
        let name = |path: &Path| path.display().to_string();
        let told = |one: Asked| {
            let rounds = one.rounds.as_deref().map(name).unwrap_or_default();
            (name(&one.station), rounds, one.logs.len())
        };
        match asked(&inputs) {
            Ok(all) => Ok(all.into_iter().map(told).collect()),
            Err(problem) => Err(problem.what),
        }
    }

    #[test]
    fn a_log_belongs_to_the_station_before_it() {
        let one = |station: &str, rounds: &str, logs| (station.into(), rounds.into(), logs);
        let line = "a.toml a.csv b.toml b.csv --log=1 --log=2 c.toml --log=3 d.toml d.csv";
        let wanted = vec![
            one("a.toml", "a.csv", 0),
            one("b.toml", "b.csv", 2),
            one("c.toml", "", 1),
            one("d.toml", "d.csv", 0),
        ];
        assert_eq!(asked_of(line), Ok(wanted));
        assert_eq!(asked_of("a.toml --log=1"), Ok(vec![one("a.toml", "", 1)]));
    }

    #[test]
    fn what_belongs_nowhere_is_refused() {
        for (line, words) in [
            ("a.toml", "takes a rounds file"),
            ("a.toml a.csv b.toml", "takes a rounds file"),
            ("--log=1 a.toml a.csv", "before any station file"),
            ("a.csv a.toml", "rounds stand where"),
            ("a.toml --log=1 a.csv --log=2", "rounds stand where"),
        ] {
            let what = asked_of(line).expect_err(line);
            assert!(what.contains(words), "{line}: {what}");
        }
    }
}
