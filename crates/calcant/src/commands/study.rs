//! `calcant study`: logs of one station, as text for people or as JSON.
//!
//! Must not know: how a log is read or reduced.

use ::study::{read_log, read_looks};
use anyhow::Result;

use super::log::sources::{Logs, options};
use super::log::words;
use super::station_from;
use crate::args::StudyArgs;
use crate::edge::{Outcome, about, not_writable, print, say, unusable, write};
use crate::wire;

mod demand;
mod figures;
mod looks;
mod report;
mod text;

pub(super) fn run(args: &StudyArgs) -> Result<Outcome> {
    let station = match station_from(&args.log.station) {
        Ok(station) => station,
        Err(problems) => {
            return Ok(unusable(&args.log.station.display().to_string(), &problems));
        }
    };
    let files = [
        ("--demand", &args.demand),
        ("--looks", &args.looks),
        ("--report", &args.report),
    ];
    let problem = files
        .into_iter()
        .find_map(|(option, path)| not_writable(option, path.as_deref()?));
    if let Some(problem) = problem {
        return Ok(unusable("study", &[problem]));
    }
    let logs = match Logs::named(&args.log.logs) {
        Ok(logs) => logs,
        Err(refused) => return Ok(words::refused(&refused)),
    };
    let tell = |bytes: u64| logs.progress.tell(bytes);
    let options = match options(&args.log, &station, &tell) {
        Ok(options) => options,
        Err(refused) => return Ok(words::refused(&refused)),
    };
    let study = match logs.answer(read_log(logs.sources(), &station, &options)) {
        Ok(study) => study,
        Err(refused) => return Ok(words::refused(&refused)),
    };
    let outcome = words::rejected(&study.sources, &study.rejected, study.rejected_total);
    if let Some(path) = &args.demand {
        match demand::csv(&station, &study) {
            Some(csv) => write(path, &csv)?,
            None => {
                let hint = "log the flow, or the power of machines whose delivery the station \
                            file tells";
                let what = "the demand is not known: the file was not written";
                say(&format!("study: {}", about("--demand", what, Some(hint))));
            }
        }
    }
    if let Some(path) = &args.looks {
        match logs.answer(read_looks(logs.sources(), &station, &options)) {
            Ok(looks) => write(path, &looks::csv(&station, &looks.rounds))?,
            Err(refused) => return Ok(words::refused(&refused)),
        }
    }
    if let Some(path) = &args.report {
        let invented = std::fs::read(&args.log.station)
            .is_ok_and(|bytes| super::judge::report::says_invented(&bytes));
        report::write_page(path, &station, &study, args.units, invented)?;
    }
    if args.json {
        print(&wire::studied(&station, &study)?)?;
    } else {
        print(&text::of(&station, &study, args.units.into()))?;
    }
    Ok(outcome)
}
