//! The edge to the world: files, stdout, stderr, exit status.
//!
//! Must not know: what is in the files.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Context, Result};
use station::file::problem::Problem;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// All of it was done.
    Done,
    /// The input could not be used; nothing was done.
    Unusable,
    /// Done, but some rows were rejected.
    SomeRejected,
}

/// Prints data to stdout; a reader that closes early is no fault.
pub(crate) fn print(text: &str) -> Result<()> {
    print_with(|out| out.write_all(text.as_bytes()))
}

/// Writes to stdout piece by piece; whoever reads may stop.
pub(crate) fn print_with(
    write: impl FnOnce(&mut io::StdoutLock<'static>) -> io::Result<()>,
) -> Result<()> {
    let mut out = io::stdout().lock();
    match write(&mut out).and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other.context("stdout could not be written"),
    }
}

/// Says words on stderr.
pub(crate) fn say(text: &str) {
    // Nothing is left to say it to if this fails.
    let _ = writeln!(io::stderr(), "{text}");
}

/// Says what was wrong with a file or an argument.
pub(crate) fn unusable(whose: &str, problems: &[Problem]) -> Outcome {
    for problem in problems {
        say(&format!("{whose}: {problem}"));
    }
    if problems.len() > 1 {
        say(&format!("{whose}: {} problems", problems.len()));
    }
    Outcome::Unusable
}

/// A problem that has no line: an argument.
pub(crate) fn about(at: &str, what: impl Into<String>, hint: Option<&str>) -> Problem {
    Problem {
        line: None,
        at: at.to_owned(),
        what: what.into(),
        hint: hint.map(str::to_owned),
    }
}

/// Files that are there already, of those that are to be written together.
pub(crate) fn there_already(at: &str, paths: &[PathBuf]) -> Vec<Problem> {
    let there = paths.iter().filter(|path| path.exists());
    let told = there.map(|path| {
        let what = format!("{} is there already; nothing was written", path.display());
        about(at, what, Some("name another folder"))
    });
    told.collect()
}

/// Reads a whole file that is small by nature.
pub(crate) fn read(path: &Path) -> Result<Vec<u8>, Problem> {
    not_a_folder(path)?;
    fs::read(path).map_err(|error| unreadable(&error))
}

/// Opens a file that may be large.
pub(crate) fn open(path: &Path) -> Result<fs::File, Problem> {
    not_a_folder(path)?;
    fs::File::open(path).map_err(|error| unreadable(&error))
}

fn not_a_folder(path: &Path) -> Result<(), Problem> {
    if path.is_dir() {
        let hint = Some("name a file in it");
        return Err(about("", "this is a folder, not a file", hint));
    }
    Ok(())
}

/// A file that was named but cannot be read: unusable input, not a fault of the program's.
fn unreadable(error: &io::Error) -> Problem {
    match error.kind() {
        io::ErrorKind::NotFound => about("", "there is no such file", Some("check the path")),
        _ => about(
            "",
            format!("the file cannot be read: {error}"),
            Some("check that it is there and may be read"),
        ),
    }
}

/// Where a file is to be written, if that can be seen not to work: no folder, or a folder itself.
pub(crate) fn not_writable(at: &str, path: &Path) -> Option<Problem> {
    if path.is_dir() {
        let what = format!("{} is a folder, not a file", path.display());
        return Some(about(at, what, Some("name a file in it")));
    }
    let parent = path.parent().filter(|p| !p.as_os_str().is_empty())?;
    (!parent.is_dir()).then(|| {
        let what = format!("there is no folder {}", parent.display());
        about(at, what, Some("make it first, or name another"))
    })
}

/// Writes a file whole or not at all: beside it first, then moved into place.
///
/// A link is followed, so that it stays a link; a device or a pipe is written to and stays what it is.
pub(crate) fn write(path: &Path, text: &str) -> Result<()> {
    let failed = || format!("{} could not be written", path.display());
    let path = &fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    if fs::metadata(path).is_ok_and(|there| !there.is_file()) {
        return fs::write(path, text).with_context(failed);
    }
    let mut beside = path.as_os_str().to_owned();
    beside.push(format!(".{}.part", std::process::id()));
    let beside = PathBuf::from(beside);
    let outcome = fs::write(&beside, text).and_then(|()| fs::rename(&beside, path));
    if outcome.is_err() {
        // What was half-written must not stay; that it may not exist is no matter.
        let _ = fs::remove_file(&beside);
    }
    outcome.with_context(failed)
}

/// Says a fault with its chain.
pub(crate) fn fault(error: &anyhow::Error) -> ExitCode {
    say(&format!("calcant: {error:#}"));
    ExitCode::FAILURE
}

/// Help and version go to stdout, a wrong command line to stderr with status 2.
pub(crate) fn usage(error: &clap::Error) -> ExitCode {
    let text = error.to_string();
    if error.use_stderr() {
        say(text.trim_end());
        ExitCode::from(2)
    } else {
        match print(&text) {
            Ok(()) => ExitCode::SUCCESS,
            Err(error) => fault(&error),
        }
    }
}
