//! `calcant demo`: the invented station that comes with the program.
//!
//! Must not know: how its rounds were made.

use std::fs;

use anyhow::{Context, Result};

use super::judge::{Source, judge_all};
use crate::args::DemoArgs;
use crate::edge::{Outcome, say, there_already, unusable, write};

const STATION: &str = include_str!("../../../../examples/quillbank/station.toml");
const ROUNDS: &str = include_str!("../../../../examples/quillbank/rounds.csv");

pub(super) fn run(args: &DemoArgs) -> Result<Outcome> {
    if let Some(folder) = &args.write {
        fs::create_dir_all(folder)
            .with_context(|| format!("{} could not be made", folder.display()))?;
        let (station, rounds) = (folder.join("station.toml"), folder.join("rounds.csv"));
        let there = there_already("--write", &[station.clone(), rounds.clone()]);
        if !there.is_empty() {
            return Ok(unusable("demo", &there));
        }
        write(&station, STATION)?;
        write(&rounds, ROUNDS).inspect_err(|_| {
            // Half a demo must not stay; the fault itself is told by the caller.
            let _ = fs::remove_file(&station);
        })?;
        say(&format!(
            "written; now `calcant judge {} {}`",
            station.display(),
            rounds.display()
        ));
        return Ok(Outcome::Done);
    }
    say("This station is invented, and so are its rounds.");
    judge_all(&[Source::built_in("demo", STATION, ROUNDS)], &args.how)
}
