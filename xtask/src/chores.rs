//! The chores that are a row of Cargo commands.
//!
//! Must not know: how a document is made, how a bench is run.

use std::process::ExitCode;

use anyhow::Result;

use crate::docs;
use crate::python;
use crate::shell::{Job, in_turn, say};

/// The pure crates: no input or output, no clock. Their documentation must build without a warning.
pub(crate) const PURE: &[&str] = &["physics", "series", "station", "judge", "report"];

/// Everything that must pass before a change is taken in.
pub(crate) fn test() -> Result<ExitCode> {
    let mut doc = Job::cargo(&["doc", "--quiet", "--no-deps"]).with("RUSTDOCFLAGS", "-D warnings");
    for name in PURE {
        doc = doc.and("--package").and(*name);
    }
    let mut jobs = vec![
        Job::cargo(&["fmt", "--all", "--check"]),
        Job::cargo(&[
            "clippy",
            "--quiet",
            "--workspace",
            "--all-targets",
            "--",
            "-D",
            "warnings",
        ]),
        Job::cargo(&["test", "--quiet", "--workspace"]),
        doc,
    ];
    jobs.extend(sql()?);
    in_turn(&jobs)
}

/// The page of SQL beside the study's own figures. Where Python is not at hand, or nothing can be
/// installed, that is said and the rest is tested, but not where changes are taken in.
fn sql() -> Result<Option<Job>> {
    let left_out = "docs/sql.md is not tried, and the rest is tested";
    match python::SQL.python() {
        Ok(Some(python)) => Ok(Some(
            Job::new(python, &[]).and("crates/calcant/tests/sql/figures.py"),
        )),
        Ok(None) => {
            say(&format!("Python 3.11 is not at hand: {left_out}"));
            Ok(None)
        }
        Err(fault) if std::env::var_os("CI").is_some() => Err(fault),
        Err(fault) => {
            say(&format!("{fault:#}: {left_out}"));
            Ok(None)
        }
    }
}

/// The main job, on the invented station. Its status is that of the program: 3 if rows were
/// rejected.
pub(crate) fn demo() -> Result<ExitCode> {
    let demo = Job::cargo(&[
        "run",
        "--quiet",
        "--release",
        "--package",
        "calcant",
        "--",
        "judge",
        "examples/quillbank/station.toml",
        "examples/quillbank/rounds.csv",
    ]);
    Ok(ExitCode::from(demo.run()?))
}

/// Writes the documents that are made from code and data.
pub(crate) fn docs() -> Result<ExitCode> {
    for page in docs::pages() {
        if docs::write(&page)? {
            say(&format!("wrote {}", page.path));
        } else {
            say(&format!("{} is up to date", page.path));
        }
    }
    Ok(ExitCode::SUCCESS)
}

/// Documents, then snapshots: a snapshot test re-writes what it expects when `BLESS` is `1`.
pub(crate) fn bless() -> Result<ExitCode> {
    docs()?;
    in_turn(&[Job::cargo(&["test", "--quiet", "--workspace", "--no-fail-fast"]).with("BLESS", "1")])
}
