//! The logs that were named, and how they are to be read.
//!
//! A file is opened when its turn comes, so that a folder may hold a file for each day of years.
//! What can be read only once, such as a pipe, is opened at once.
//!
//! Must not know: what is done with the rows.

use std::fs::{self, File};
use std::io::{Cursor, Read};
use std::path::{Path, PathBuf};

use ::station::file::problem::Problem;
use ::station::model::Station;
use ::study::{DateOrder, LogHolds, LogOptions, LogSource};
use jiff::Timestamp;
use jiff::civil::{Date, DateTime};

use super::map;
use super::progress::Progress;
use crate::args::{Dates, LogArgs};
use crate::edge::{about, open, read};

/// Whose problems, and which.
pub(crate) type Refused = Vec<(String, Vec<Problem>)>;

/// The logs that were named.
pub(crate) struct Logs {
    paths: Vec<PathBuf>,
    pub(crate) progress: Progress,
}

impl Logs {
    /// The files that stand for these paths; every one that is not there is told.
    pub(crate) fn named(logs: &[PathBuf]) -> Result<Self, Refused> {
        let (mut paths, mut refused) = (Vec::new(), Refused::new());
        for log in logs {
            let found = if log.is_dir() {
                in_folder(log)
            } else {
                open(log).map(|_| vec![log.clone()])
            };
            match found {
                Ok(found) => paths.extend(found),
                Err(problem) => refused.push((log.display().to_string(), vec![problem])),
            }
        }
        if !refused.is_empty() {
            return Err(refused);
        }
        let sizes = paths
            .iter()
            .filter_map(|path| Some(fs::metadata(path).ok()?.len()));
        Ok(Self {
            progress: Progress::new(sizes.sum()),
            paths,
        })
    }

    /// The files, to be opened when their turn comes.
    pub(crate) fn sources(&self) -> impl Iterator<Item = LogSource> {
        self.paths.iter().map(|path| {
            let name = path.display().to_string();
            if !path.is_file()
                && let Ok(holds) = holds(path)
            {
                return LogSource::once(name, holds);
            }
            let path = path.clone();
            LogSource::anew(name, move || holds(&path))
        })
    }

    /// What can be read only once, told as a problem of what reads twice.
    pub(crate) fn read_twice(&self) -> Result<(), Refused> {
        let once = self.paths.iter().filter(|path| !path.is_file());
        let refused = once.map(|path| {
            let what = "it is read twice, which a pipe cannot be";
            let problem = about("", what, Some("write it to a file first"));
            (path.display().to_string(), vec![problem])
        });
        let refused: Refused = refused.collect();
        if refused.is_empty() {
            Ok(())
        } else {
            Err(refused)
        }
    }

    /// The answer; its problems with the file that each concerns.
    pub(crate) fn answer<T>(&self, answer: Result<T, Vec<Problem>>) -> Result<T, Refused> {
        self.progress.end();
        answer.map_err(|problems| {
            let names = self.paths.iter().map(|path| path.display().to_string());
            let names: Vec<String> = names.collect();
            let mut refused = Refused::new();
            for mut problem in problems {
                let whose = match names.as_slice() {
                    [one] => one.clone(),
                    names => whose(&mut problem, names).unwrap_or_else(|| self.name()),
                };
                match refused.last_mut().filter(|(last, _)| *last == whose) {
                    Some((_, problems)) => problems.push(problem),
                    None => refused.push((whose, vec![problem])),
                }
            }
            refused
        })
    }

    /// What they are called together.
    pub(crate) fn name(&self) -> String {
        match self.paths.as_slice() {
            [one] => one.display().to_string(),
            _ => "logs".to_owned(),
        }
    }
}

/// The file that a problem names itself, taken out of it.
fn whose(problem: &mut Problem, names: &[String]) -> Option<String> {
    let is_of = |name: &&String| {
        let rest = problem.at.strip_prefix(name.as_str());
        rest.is_some_and(|rest| rest.is_empty() || rest.starts_with(": "))
    };
    let name = names.iter().filter(is_of).max_by_key(|name| name.len())?;
    let rest = problem.at.get(name.len()..).unwrap_or_default();
    problem.at = rest.strip_prefix(": ").unwrap_or(rest).to_owned();
    Some(name.clone())
}

/// Every Parquet file of a folder and the folders in it, in the order of their paths.
fn in_folder(folder: &Path) -> Result<Vec<PathBuf>, Problem> {
    let (mut found, mut folders) = (Vec::new(), vec![folder.to_owned()]);
    while let Some(folder) = folders.pop() {
        let entries = fs::read_dir(&folder).map_err(|error| {
            let what = format!("{} cannot be listed: {error}", folder.display());
            about("", what, Some("check that it may be read"))
        })?;
        for entry in entries.flatten() {
            let path = entry.path();
            let hidden = entry.file_name().to_string_lossy().starts_with('.');
            if hidden {
                continue;
            }
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "parquet") {
                found.push(path);
            }
        }
    }
    found.sort();
    if found.is_empty() {
        let hint = "name the log itself, or a folder that `calcant log convert` wrote";
        return Err(about("", "no Parquet file is in this folder", Some(hint)));
    }
    Ok(found)
}

fn holds(path: &Path) -> Result<LogHolds, Problem> {
    let mut file = open(path)?;
    let mut first = Vec::new();
    let start = u64::try_from(archive::FIRST_BYTES).unwrap_or(0);
    let unread = |error: std::io::Error| {
        let what = format!("the file cannot be read: {error}");
        about("", what, Some("check that it is there and may be read"))
    };
    Read::by_ref(&mut file)
        .take(start)
        .read_to_end(&mut first)
        .map_err(unread)?;
    if archive::is_parquet(&first) {
        return parquet(file);
    }
    Ok(LogHolds::text(Cursor::new(first).chain(file)))
}

fn parquet(file: File) -> Result<LogHolds, Problem> {
    let log = archive::read::open_file(file);
    let log = log.map_err(|refusal| about("", refusal.what, Some(&refusal.hint)))?;
    Ok(LogHolds::Columns(Box::new(log)))
}

/// How the logs are read, as typed; every problem at once.
pub(crate) fn options<'a>(
    args: &LogArgs,
    station: &Station,
    progress: &'a (dyn Fn(u64) + Sync),
) -> Result<LogOptions<'a>, Refused> {
    let mut refused = Refused::new();
    let mut map = Vec::new();
    if let Some(path) = &args.map {
        match read(path).map_err(|p| vec![p]).and_then(|b| map::parse(&b)) {
            Ok(renames) => map = renames,
            Err(problems) => refused.push((path.display().to_string(), problems)),
        }
    }
    let mut time = |whose: &str, text: Option<&String>, end: bool| {
        let time = text.map(|text| time(text, station, end)).transpose();
        time.unwrap_or_else(|problem| {
            refused.push((whose.to_owned(), vec![problem]));
            None
        })
    };
    let from = time("--from", args.from.as_ref(), false);
    let to = time("--to", args.to.as_ref(), true);
    if let (Some(first), Some(end)) = (from, to)
        && first >= end
    {
        let problem = about("", "it does not lie after `--from`", Some("swap the two"));
        refused.push(("--to".to_owned(), vec![problem]));
    }
    if !refused.is_empty() {
        return Err(refused);
    }
    Ok(LogOptions {
        map,
        dates: args.dates.map(|dates| match dates {
            Dates::DayFirst => DateOrder::DayFirst,
            Dates::MonthFirst => DateOrder::MonthFirst,
        }),
        from,
        to,
        progress: Some(progress),
        ..LogOptions::default()
    })
}

/// A moment as typed: RFC 3339, or local to the station; a date alone is its beginning or its end.
fn time(text: &str, station: &Station, end: bool) -> Result<Timestamp, Problem> {
    let text = text.trim();
    if let Ok(time) = text.parse::<Timestamp>() {
        return Ok(time);
    }
    // A time of day makes it more than a date.
    let date = (!text.contains(':')).then(|| text.parse::<Date>().ok());
    let date = date.flatten();
    let local = match date {
        Some(date) if end => date.tomorrow().ok().map(|next| next.at(0, 0, 0, 0)),
        Some(date) => Some(date.at(0, 0, 0, 0)),
        None => text.replacen(' ', "T", 1).parse::<DateTime>().ok(),
    };
    let zone = &station.site.time_zone;
    let time = local.and_then(|local| zone.to_ambiguous_timestamp(local).compatible().ok());
    time.ok_or_else(|| {
        let hint = "write 2026-03-01, or 2026-03-01T07:00 in the station's time zone or with an \
                    offset";
        about("", format!("`{text}` is no time"), Some(hint))
    })
}
