//! Small Python environments of the project's own, made from pinned versions.
//!
//! Must not know: what runs in them.

use std::fs;
use std::path::PathBuf;
use std::process::{Command, Stdio};

use anyhow::{Context as _, Result, bail};

use crate::shell::{Job, root};

/// An environment: where it is made, and from which list of versions.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Environment {
    requirements: &'static str,
    folder: &'static str,
}

/// What the benches compare with.
pub(crate) const BENCH: Environment = Environment {
    requirements: "xtask/bench-requirements.txt",
    folder: "target/venv",
};

/// What runs the SQL of docs/sql.md.
pub(crate) const SQL: Environment = Environment {
    requirements: "xtask/sql-requirements.txt",
    folder: "target/sql-venv",
};

impl Environment {
    /// Its Python; it is made or brought up to date first. `None` without Python.
    pub(crate) fn python(self) -> Result<Option<PathBuf>> {
        let folder = root().join(self.folder);
        let python = if cfg!(windows) {
            folder.join("Scripts/python.exe")
        } else {
            folder.join("bin/python")
        };
        let wanted = fs::read_to_string(root().join(self.requirements))
            .with_context(|| format!("cannot read {}", self.requirements))?;
        let made_from = folder.join("made-from.txt");
        if python.exists() && fs::read_to_string(&made_from).is_ok_and(|text| text == wanted) {
            return Ok(Some(python));
        }
        let Some(system) = system_python() else {
            return Ok(None);
        };
        let install = ["-m", "pip", "install", "--quiet", "--requirement"];
        for job in [
            Job::new(system, &["-m", "venv", self.folder]),
            Job::new(&python, &install).and(self.requirements),
        ] {
            if job.run()? != 0 {
                bail!("cannot make {}: `{}` failed", self.folder, job.line());
            }
        }
        fs::write(&made_from, wanted)
            .with_context(|| format!("cannot write {}", made_from.display()))?;
        Ok(Some(python))
    }
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
    fn every_requirement_is_pinned() {
        for Environment { requirements, .. } in [BENCH, SQL] {
            let text = fs::read_to_string(root().join(requirements)).unwrap();
            let wanted: Vec<&str> = text
                .lines()
                .map(str::trim)
                .filter(|l| !l.is_empty() && !l.starts_with('#'))
                .collect();
            assert!(!wanted.is_empty());
            for line in wanted {
                assert!(
                    line.contains("=="),
                    "{requirements}: `{line}` names no version"
                );
            }
        }
    }
}
