//! Times the work: the benches of the crates, and beside them the scripts that do the same with
//! general-purpose reference libraries.
//!
//! The scripts run in a small Python environment of the project's own, `target/venv`, made from
//! the pinned versions of `bench-requirements.txt`. Without Python they are left out, and that is
//! said. Timings are for people to read: nothing is judged by them.
//!
//! Must not know: what is timed.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};

use anyhow::{Context as _, Result, bail};

use crate::shell::{Job, in_turn, root, say};

const REQUIREMENTS: &str = "xtask/bench-requirements.txt";
const ENVIRONMENT: &str = "target/venv";

/// Runs every bench that there is.
pub(crate) fn bench() -> Result<ExitCode> {
    let mut jobs = Vec::new();
    let mut scripts = Vec::new();
    for path in benches()? {
        match path.extension().and_then(|e| e.to_str()) {
            Some("rs") => jobs.push(rust_bench(&path)?),
            Some("sh") => jobs.push(Job::new("bash", &[]).and(&path)),
            Some("py") => scripts.push(path),
            _ => {}
        }
    }
    if !scripts.is_empty() {
        match environment()? {
            Some(python) => {
                jobs.extend(scripts.iter().map(|path| Job::new(&python, &[]).and(path)));
            }
            None => {
                say("Python 3 is not at hand: the comparisons with other libraries are left out")
            }
        }
    }
    in_turn(&jobs)
}

/// The files of every `crates/*/benches`, from the root, in the order of their names.
fn benches() -> Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for member in entries(&root().join("crates"))? {
        let folder = member.join("benches");
        if folder.is_dir() {
            let own = entries(&folder)?.into_iter().filter(|path| path.is_file());
            files.extend(own.filter_map(|path| Some(path.strip_prefix(root()).ok()?.to_owned())));
        }
    }
    Ok(files)
}

fn entries(folder: &Path) -> Result<Vec<PathBuf>> {
    let within = || format!("cannot list {}", folder.display());
    let mut paths = fs::read_dir(folder)
        .with_context(within)?
        .map(|entry| entry.map(|e| e.path()))
        .collect::<std::io::Result<Vec<_>>>()
        .with_context(within)?;
    paths.sort();
    Ok(paths)
}

/// `crates/physics/benches/moist_air.rs` is the bench `moist_air` of the package `physics`.
fn rust_bench(path: &Path) -> Result<Job> {
    let package = path.ancestors().nth(2).and_then(Path::file_name);
    let (Some(package), Some(name)) = (package, path.file_stem()) else {
        bail!("{} is not a bench of a crate", path.display());
    };
    let job = Job::cargo(&["bench", "--quiet", "--package"]);
    Ok(job.and(package).and("--bench").and(name))
}

/// The Python of the environment, which is made or brought up to date first; `None` without Python.
fn environment() -> Result<Option<PathBuf>> {
    let folder = root().join(ENVIRONMENT);
    let python = if cfg!(windows) {
        folder.join("Scripts/python.exe")
    } else {
        folder.join("bin/python")
    };
    let wanted = fs::read_to_string(root().join(REQUIREMENTS))
        .with_context(|| format!("cannot read {REQUIREMENTS}"))?;
    let made_from = folder.join("made-from.txt");
    if python.exists() && fs::read_to_string(&made_from).is_ok_and(|text| text == wanted) {
        return Ok(Some(python));
    }
    let Some(system) = system_python() else {
        return Ok(None);
    };
    for job in [
        Job::new(system, &["-m", "venv", ENVIRONMENT]),
        Job::new(
            &python,
            &[
                "-m",
                "pip",
                "install",
                "--quiet",
                "--requirement",
                REQUIREMENTS,
            ],
        ),
    ] {
        if job.run()? != 0 {
            bail!("cannot make {ENVIRONMENT}: `{}` failed", job.line());
        }
    }
    fs::write(&made_from, wanted)
        .with_context(|| format!("cannot write {}", made_from.display()))?;
    Ok(Some(python))
}

fn system_python() -> Option<&'static str> {
    ["python3", "python"].into_iter().find(|name| {
        Command::new(name)
            .args([
                "-c",
                "import sys, venv; sys.exit(sys.version_info < (3, 11))",
            ])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .is_ok_and(|status| status.success())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bench_is_found_and_named_by_its_place() {
        let found = benches().unwrap();
        let moist_air = found
            .iter()
            .find(|path| path.ends_with("physics/benches/moist_air.rs"));
        let job = rust_bench(moist_air.expect("physics times its moist air")).unwrap();
        assert_eq!(
            job.line(),
            "cargo bench --quiet --package physics --bench moist_air"
        );
    }

    #[test]
    fn every_requirement_is_pinned() {
        let text = fs::read_to_string(root().join(REQUIREMENTS)).unwrap();
        let wanted: Vec<&str> = text
            .lines()
            .map(str::trim)
            .filter(|l| !l.is_empty() && !l.starts_with('#'))
            .collect();
        assert!(!wanted.is_empty());
        for line in wanted {
            assert!(
                line.contains("=="),
                "{REQUIREMENTS}: `{line}` names no version"
            );
        }
    }
}
