//! Times the work: the benches of the crates, and beside them the scripts that do the same with
//! general-purpose reference libraries.
//!
//! The scripts run in a small Python environment of the project's own. Without Python they are left
//! out, and that is said. Timings are for people to read: nothing is judged by them.
//!
//! Must not know: what is timed.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Context as _, Result, bail};

use crate::python;
use crate::shell::{Job, in_turn, root, say};

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
        match python::BENCH.python()? {
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
}
