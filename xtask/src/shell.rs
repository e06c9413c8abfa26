//! Runs other programs from the root of the repository, and says which.
//!
//! Words go to standard error, so that the standard output of what is run comes straight through.
//!
//! Must not know: which chores there are.

use std::ffi::OsString;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

use anyhow::{Context as _, Result};

/// The root of the repository.
pub(crate) fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_owned()
}

/// One program to be run, with words for it.
#[derive(Debug, Clone)]
pub(crate) struct Job {
    program: OsString,
    arguments: Vec<OsString>,
    variables: Vec<(&'static str, &'static str)>,
}

impl Job {
    /// A program with its arguments.
    pub(crate) fn new(program: impl Into<OsString>, arguments: &[&str]) -> Self {
        Self {
            program: program.into(),
            arguments: arguments.iter().map(OsString::from).collect(),
            variables: Vec::new(),
        }
    }

    /// The Cargo that runs this.
    pub(crate) fn cargo(arguments: &[&str]) -> Self {
        Self::new(
            std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()),
            arguments,
        )
    }

    /// With a variable of the environment set.
    pub(crate) fn with(mut self, name: &'static str, value: &'static str) -> Self {
        self.variables.push((name, value));
        self
    }

    /// With one more argument.
    pub(crate) fn and(mut self, argument: impl Into<OsString>) -> Self {
        self.arguments.push(argument.into());
        self
    }

    /// Says what is run, and runs it.
    pub(crate) fn run(&self) -> Result<u8> {
        say(&format!("$ {}", self.line()));
        self.status()
    }

    /// Runs it and gives its exit status; 1 if a signal ended it.
    fn status(&self) -> Result<u8> {
        let status = Command::new(&self.program)
            .args(&self.arguments)
            .envs(self.variables.iter().copied())
            .current_dir(root())
            .status()
            .with_context(|| format!("cannot run `{}`", self.line()))?;
        Ok(status
            .code()
            .map_or(1, |code| u8::try_from(code).unwrap_or(1)))
    }

    /// As it would be typed.
    pub(crate) fn line(&self) -> String {
        let name = Path::new(&self.program).file_stem().unwrap_or_default();
        let variables = self
            .variables
            .iter()
            .map(|(k, v)| format!("{k}={}", quoted(v)));
        let arguments = self.arguments.iter().map(|a| quoted(&a.to_string_lossy()));
        variables
            .chain([name.to_string_lossy().into_owned()])
            .chain(arguments)
            .collect::<Vec<_>>()
            .join(" ")
    }
}

/// Runs one job after the other; the first that fails gives its status, and the rest is not run.
pub(crate) fn in_turn(jobs: &[Job]) -> Result<ExitCode> {
    match first_failure(jobs, Job::run)? {
        None => Ok(ExitCode::SUCCESS),
        Some((job, status)) => {
            say(&format!("failed with status {status}: {}", job.line()));
            Ok(ExitCode::from(status))
        }
    }
}

fn first_failure(
    jobs: &[Job],
    mut run: impl FnMut(&Job) -> Result<u8>,
) -> Result<Option<(&Job, u8)>> {
    for job in jobs {
        let status = run(job)?;
        if status != 0 {
            return Ok(Some((job, status)));
        }
    }
    Ok(None)
}

/// One line on standard error.
pub(crate) fn say(line: &str) {
    // Nobody is left to tell if standard error cannot be written.
    let _ = writeln!(std::io::stderr(), "{line}");
}

fn quoted(word: &str) -> String {
    if word.contains(' ') {
        format!("\"{word}\"")
    } else {
        word.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_job_reads_as_it_is_typed() {
        let job =
            Job::new("/usr/bin/cargo", &["doc", "--no-deps"]).with("RUSTDOCFLAGS", "-D warnings");
        assert_eq!(
            job.and("-v").line(),
            "RUSTDOCFLAGS=\"-D warnings\" cargo doc --no-deps -v"
        );
    }

    #[test]
    fn the_first_failure_ends_the_row_and_gives_its_status() {
        let jobs = ["a", "b", "c"].map(|name| Job::new(name, &[]));
        let mut seen = Vec::new();
        let failure = first_failure(&jobs, |job| {
            seen.push(job.line());
            Ok(if job.line() == "b" { 3 } else { 0 })
        });
        let (job, status) = failure.unwrap().unwrap();
        assert_eq!((job.line().as_str(), status), ("b", 3));
        assert_eq!(seen, ["a", "b"]);
        assert!(first_failure(&jobs, |_| Ok(0)).unwrap().is_none());
    }

    #[test]
    fn a_program_that_is_not_there_is_named() {
        let fault = Job::new("no-such-program-at-all", &["x"])
            .status()
            .unwrap_err();
        assert_eq!(fault.to_string(), "cannot run `no-such-program-at-all x`");
    }
}
