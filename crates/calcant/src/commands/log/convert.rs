//! `calcant log convert`: logs as Parquet, sorted by time.
//!
//! Must not know: how Parquet is written.

use std::fs;
use std::path::{Path, PathBuf};

use ::station::file::unit::Unit;
use ::station::model::Station;
use ::study::{Channel, LogColumn, Passed, log_columns, pass_log};
use anyhow::{Context as _, Result};
use archive::write::Layout;
use judge::say::grouped;

use super::days::{Days, Place, Written, move_days};
use super::sources::{Logs, options};
use super::words;
use crate::args::ConvertArgs;
use crate::commands::station_from;
use crate::edge::{Outcome, about, not_writable, say, unusable};

pub(super) fn run(args: &ConvertArgs) -> Result<Outcome> {
    let station = match station_from(&args.log.station) {
        Ok(station) => station,
        Err(problems) => {
            return Ok(unusable(&args.log.station.display().to_string(), &problems));
        }
    };
    let target = match Target::of(&args.out, &station) {
        Ok(target) => target,
        Err(problem) => return Ok(unusable("log convert", &[problem])),
    };
    let logs = Logs::named(&args.log.logs).and_then(|logs| logs.read_twice().map(|()| logs));
    let logs = match logs {
        Ok(logs) => logs,
        Err(refused) => return Ok(words::refused(&refused)),
    };
    let tell = |bytes: u64| logs.progress.tell(bytes);
    let options = match options(&args.log, &station, &tell) {
        Ok(options) => options,
        Err(refused) => return Ok(words::refused(&refused)),
    };
    let columns = log_columns(logs.sources(), &station, &options);
    let columns = match logs.answer(columns) {
        Ok(columns) => columns,
        Err(refused) => return Ok(words::refused(&refused)),
    };
    let units: Vec<Unit> = columns
        .iter()
        .map(|c| canonical(c.channel, c.unit))
        .collect();
    let layout = target.layout(&station, &columns, &units);
    let channels: Vec<Channel> = columns.iter().map(|c| c.channel).collect();
    target.begin()?;
    let zone = station.site.time_zone.clone();
    let mut days = Days::new(target.place(), layout, units, zone);
    let passed = pass_log(logs.sources(), &station, &options, &channels, &mut days);
    let written = days.end();
    let passed = match logs.answer(passed) {
        Ok(passed) => passed,
        Err(refused) => {
            target.give_up();
            return Ok(words::refused(&refused));
        }
    };
    let finished = written.and_then(|written| {
        if written.rows > 0 {
            target.finish(&written).map(|there| (written, there))
        } else {
            Ok((written, None))
        }
    });
    target.give_up();
    let outcome = words::rejected(&passed.sources, &passed.rejected, passed.rejected_total);
    match finished? {
        (written, _) if written.rows == 0 => {
            let hint = "check from when to when, and what is said above";
            let problem = about("", "no row can be used: nothing was written", Some(hint));
            Ok(unusable(&logs.name(), &[problem]))
        }
        (_, Some(there)) => {
            let what = format!("{} is there already: nothing was written", there.display());
            let hint = "take it away first, name another folder, or leave its days out with \
                        `--from` and `--to`";
            Ok(unusable("log convert", &[about("--out", what, Some(hint))]))
        }
        (written, None) => {
            say(&summary(args, &written, &passed));
            Ok(outcome)
        }
    }
}

/// The unit in which a channel is written: the first of its kind, whatever the log used.
fn canonical(channel: Channel, read: Unit) -> Unit {
    let kind = match channel {
        Channel::Point(id) => id.point.dimension().kind(),
        Channel::Running(_) | Channel::Loaded(_) => None,
    };
    kind.and_then(|kind| kind.units().first().copied())
        .unwrap_or(Unit {
            factor: 1.0,
            offset: 0.0,
            ..read
        })
}

fn summary(args: &ConvertArgs, written: &Written, passed: &Passed) -> String {
    let counted = |n: u64, what: &str| {
        let s = if n == 1 { "" } else { "s" };
        format!("{} {what}{s}", grouped(n as f64))
    };
    let left_out = match passed.rows_left_out {
        0 => String::new(),
        n => format!(
            "; {} left out, which came twice, were out of order, or lie outside the time that was \
             asked for",
            counted(n, "row")
        ),
    };
    format!(
        "wrote {}: {} of {}{left_out}",
        args.out.display(),
        counted(written.rows, "row"),
        counted(written.days.len() as u64, "day"),
    )
}

/// Where the log goes.
enum Target {
    File {
        path: PathBuf,
        beside: PathBuf,
    },
    Folder {
        /// `FOLDER/station=NAME`.
        station: PathBuf,
        beside: PathBuf,
    },
}

impl Target {
    fn of(out: &Path, station: &Station) -> Result<Self, ::station::file::problem::Problem> {
        let process = std::process::id();
        if out.extension().is_some_and(|e| e == "parquet") {
            if let Some(problem) = not_writable("--out", out) {
                return Err(problem);
            }
            let path = fs::canonicalize(out).unwrap_or_else(|_| out.to_owned());
            let mut beside = path.as_os_str().to_owned();
            beside.push(format!(".{process}.part"));
            return Ok(Self::File {
                path,
                beside: beside.into(),
            });
        }
        if out.exists() && !out.is_dir() {
            let what = format!("{} is neither a folder nor a Parquet file", out.display());
            let hint = "name a folder, or a file that ends in `.parquet`";
            return Err(about("--out", what, Some(hint)));
        }
        Ok(Self::Folder {
            station: out.join(format!("station={}", escaped(&station.site.name))),
            beside: out.join(format!(".calcant.{process}.part")),
        })
    }

    fn layout(&self, station: &Station, columns: &[LogColumn], units: &[Unit]) -> Layout {
        let named = columns.iter().zip(units).map(|(column, unit)| {
            let name = column.channel.name(station);
            match unit.name {
                "" => name,
                unit => format!("{name} [{unit}]"),
            }
        });
        let named: Vec<String> = named.collect();
        let read = named.iter().zip(columns).map(|(name, column)| {
            // The unit stands in the header, or in what the header was mapped to.
            let unit = match column.unit.name {
                "" => String::new(),
                unit => format!(", read in {unit}"),
            };
            (
                format!("calcant.column.{name}"),
                format!("`{}`{unit}", column.header),
            )
        });
        let zone = station.site.time_zone.iana_name().unwrap_or("UTC");
        let mut notes = vec![
            ("calcant.station".to_owned(), station.site.name.clone()),
            ("calcant.time_zone".to_owned(), zone.to_owned()),
        ];
        notes.extend(read);
        Layout {
            columns: named,
            // In a folder, the names of the folders say both.
            station: match self {
                Self::File { .. } => Some(station.site.name.clone()),
                Self::Folder { .. } => None,
            },
            notes,
        }
    }

    fn place(&self) -> Place {
        match self {
            Self::File { beside, .. } => Place::File {
                beside: beside.clone(),
            },
            Self::Folder { beside, .. } => Place::Folder {
                beside: beside.clone(),
            },
        }
    }

    fn begin(&self) -> Result<()> {
        if let Self::Folder { beside, .. } = self {
            fs::create_dir_all(beside)
                .with_context(|| format!("{} could not be made", beside.display()))?;
        }
        Ok(())
    }

    /// Everything is written: it takes its place. The first that is in the way, if any is.
    fn finish(&self, written: &Written) -> Result<Option<PathBuf>> {
        match self {
            Self::File { path, beside } => {
                fs::rename(beside, path)
                    .with_context(|| format!("{} could not be written", path.display()))?;
                Ok(None)
            }
            Self::Folder { station, beside } => {
                let days = written.days.iter();
                let mut there = days.map(|day| station.join(format!("day={day}")));
                if let Some(there) = there.find(|path| path.exists()) {
                    return Ok(Some(there));
                }
                fs::create_dir_all(station)
                    .with_context(|| format!("{} could not be made", station.display()))?;
                move_days(&written.days, beside, station)?;
                Ok(None)
            }
        }
    }

    /// Takes away whatever does not stand in its place.
    fn give_up(&self) {
        // That it is not there any more is the usual case.
        match self {
            Self::File { beside, .. } => drop(fs::remove_file(beside)),
            Self::Folder { beside, .. } => {
                let _ = fs::remove_dir_all(beside);
                // A folder that was made for nothing goes too; one that holds something stays.
                if let Some(folder) = beside.parent() {
                    let _ = fs::remove_dir(folder);
                }
            }
        }
    }
}

/// A name as a part of a path: what is not plain is written as `%` and two digits, as in addresses.
fn escaped(name: &str) -> String {
    let mut escaped = String::new();
    for byte in name.bytes() {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_' | b'.') {
            escaped.push(char::from(byte));
        } else {
            escaped.push_str(&format!("%{byte:02X}"));
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_a_part_of_a_path() {
        assert_eq!(escaped("Quillbank Tileworks"), "Quillbank%20Tileworks");
        assert_eq!(escaped("a/b=c\u{e9}"), "a%2Fb%3Dc%C3%A9");
    }
}
