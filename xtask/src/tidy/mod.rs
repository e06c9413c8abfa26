//! The tidy tests: what the code promises about itself, checked against the files that are there.
//!
//! Each rule is a test that lists every place that breaks it. The rule itself is a small function
//! over text, with a test of its own that it sees what it must.
//!
//! Must not know: formulas.

mod edges;
mod findings;
mod licences;
mod pages;
mod purity;
mod sources;
mod words;

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::shell::root;

/// One file of the repository.
struct File {
    /// From the root, with forward slashes.
    path: String,
    text: String,
}

impl File {
    fn is_rust(&self) -> bool {
        self.path.ends_with(".rs")
    }

    fn is_markdown(&self) -> bool {
        self.path.ends_with(".md")
    }

    /// Whether it is part of a crate, and not a test, a bench or an example of one.
    fn is_source(&self) -> bool {
        self.is_rust()
            && self.path.contains("/src/")
            && !self.path.ends_with("/tests.rs")
            && !["/tests/", "/benches/", "/examples/"]
                .iter()
                .any(|f| self.path.contains(f))
    }

    /// The crate that it is in, if it is in one.
    fn member(&self) -> Option<&str> {
        self.path.strip_prefix("crates/")?.split('/').next()
    }
}

/// Every file that is or would be kept: what version control lists, or all but made folders where
/// there is no version control.
fn files() -> Vec<File> {
    let listed = Command::new("git")
        .args([
            "ls-files",
            "-z",
            "--cached",
            "--others",
            "--exclude-standard",
        ])
        .current_dir(root())
        .output();
    let mut paths: Vec<String> = match listed {
        Ok(output) if output.status.success() && !output.stdout.is_empty() => {
            String::from_utf8_lossy(&output.stdout)
                .split('\0')
                .filter(|path| !path.is_empty())
                .map(str::to_owned)
                .collect()
        }
        _ => {
            let mut found = Vec::new();
            walk(&root(), "", &mut found);
            found
        }
    };
    paths.sort();
    paths.dedup();
    paths
        .into_iter()
        .filter_map(|path| {
            let bytes = fs::read(root().join(&path)).ok()?;
            let text = String::from_utf8_lossy(&bytes).into_owned();
            Some(File { path, text })
        })
        .collect()
}

fn walk(folder: &Path, before: &str, found: &mut Vec<String>) {
    const MADE: &[&str] = &[".git", ".venv", "__pycache__", "target"];
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let path = entry.path();
        if !path.is_dir() {
            found.push(format!("{before}{name}"));
        } else if !MADE.contains(&name.as_str()) {
            walk(&path, &format!("{before}{name}/"), found);
        }
    }
}

/// Fails with every fault, one a line.
#[track_caller]
fn none(rule: &str, faults: &[String]) {
    assert!(faults.is_empty(), "{rule}:\n  {}\n", faults.join("\n  "));
}

/// Whether a text has a word, and not only as a part of a longer one.
fn has_word(text: &str, word: &str) -> bool {
    let inner = |c: char| c.is_alphanumeric() || c == '_';
    text.match_indices(word).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        let after = text[at + word.len()..].chars().next();
        let open = |edge: Option<char>, neighbour: Option<char>| {
            !(edge.is_some_and(inner) && neighbour.is_some_and(inner))
        };
        open(word.chars().next(), before) && open(word.chars().next_back(), after)
    })
}

#[test]
fn the_files_are_found_with_and_without_version_control() {
    let listed = files();
    let mut walked = Vec::new();
    walk(&root(), "", &mut walked);
    for path in [
        "Cargo.toml",
        "xtask/src/main.rs",
        "crates/physics/src/lib.rs",
    ] {
        assert!(listed.iter().any(|file| file.path == path), "{path}");
        assert!(walked.iter().any(|found| found == path), "{path}");
    }
}

#[test]
fn a_word_is_not_a_part_of_one() {
    assert!(has_word("use std::time::Instant;", "Instant"));
    assert!(!has_word("Instantly", "Instant") && !has_word("an_Instant", "Instant"));
    assert!(has_word("std::fs::read", "std::fs") && has_word("println!(x)", "println!"));
    assert!(!has_word("eprintln!(x)", "println!"));
}
