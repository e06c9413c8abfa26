//! Which crate may use which: the walls of the workspace.

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use serde_json::Value;

use super::none;
use crate::shell::root;

/// What a crate of ours may use of ours; nothing else is allowed.
const OURS: &[(&str, &[&str])] = &[
    ("physics", &[]),
    ("station", &["physics"]),
    ("judge", &["physics", "series", "station"]),
    ("report", &["judge", "physics", "station"]),
    (
        "calcant",
        &["archive", "judge", "physics", "report", "station", "study"],
    ),
    ("series", &[]),
    ("study", &["judge", "physics", "station"]),
    ("archive", &["station", "study"]),
    ("histories", &[]),
    ("xtask", &["judge", "station"]),
];

/// What tests may use beyond that. `histories` has physics of its own, so that the judging is not
/// tested against the formulas that it judges by.
const OURS_IN_TESTS: &[(&str, &[&str])] = &[
    ("judge", &["histories"]),
    ("calcant", &["histories"]),
    ("study", &["histories"]),
    ("report", &["histories", "judge"]),
];

/// What a pure crate uses from outside: exactly this.
const OUTSIDE: &[(&str, &[&str])] = &[
    ("physics", &[]),
    ("station", &["csv", "jiff", "strsim", "toml"]),
    ("judge", &["jiff"]),
    ("series", &[]),
    ("report", &["jiff"]),
];

/// Crates that only one crate may use: files and wire shapes have one home each.
const HOMES: &[(&str, &[&str])] = &[
    ("clap", &["calcant"]),
    ("parquet", &["archive"]),
    ("serde", &["calcant"]),
    ("serde_json", &["calcant"]),
    ("toml", &["station"]),
];

/// What Cargo knows of the workspace, or of everything that it is built from.
pub(super) fn metadata(extra: &[&str]) -> Value {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(cargo)
        .args(["metadata", "--format-version", "1"])
        .args(extra)
        .current_dir(root())
        .output()
        .expect("cargo runs these tests");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).expect("cargo metadata is JSON")
}

/// One dependency of one crate.
struct Edge {
    from: String,
    to: String,
    in_tests: bool,
}

/// Every dependency that the crates of the workspace name.
fn edges() -> Vec<Edge> {
    let metadata = metadata(&["--no-deps"]);
    let list = |value: &Value| value.as_array().cloned().unwrap_or_default();
    let mut edges = Vec::new();
    for package in list(&metadata["packages"]) {
        for dependency in list(&package["dependencies"]) {
            edges.push(Edge {
                from: package["name"].as_str().unwrap_or_default().to_owned(),
                to: dependency["name"].as_str().unwrap_or_default().to_owned(),
                in_tests: dependency["kind"] == "dev",
            });
        }
    }
    edges
}

fn row<'a>(table: &'a [(&str, &'a [&'a str])], name: &str) -> &'a [&'a str] {
    table
        .iter()
        .find(|(from, _)| *from == name)
        .map_or(&[], |(_, to)| to)
}

fn ours(name: &str) -> bool {
    OURS.iter().any(|(own, _)| *own == name)
}

fn refused(edge: &Edge) -> bool {
    let tests = if edge.in_tests {
        row(OURS_IN_TESTS, &edge.from)
    } else {
        &[]
    };
    let allowed = [row(OURS, &edge.from), tests].concat();
    ours(&edge.to) && !allowed.contains(&edge.to.as_str())
}

#[test]
fn crates_use_only_what_they_may() {
    let faults: Vec<String> = edges()
        .iter()
        .filter(|edge| refused(edge))
        .map(|edge| format!("`{}` may not use `{}`", edge.from, edge.to))
        .collect();
    none(
        "walls between crates, see the table in xtask/src/tidy/edges.rs",
        &faults,
    );
}

#[test]
fn every_crate_stands_in_the_table() {
    let metadata = metadata(&["--no-deps"]);
    let members: BTreeSet<&str> = metadata["packages"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|package| package["name"].as_str())
        .collect();
    let table: BTreeSet<&str> = OURS.iter().map(|(name, _)| *name).collect();
    assert_eq!(members, table);
}

#[test]
fn pure_crates_use_nothing_more_from_outside() {
    let mut used: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for edge in edges()
        .into_iter()
        .filter(|edge| !edge.in_tests && !ours(&edge.to))
    {
        used.entry(edge.from).or_default().insert(edge.to);
    }
    for (name, allowed) in OUTSIDE {
        let allowed: BTreeSet<String> = allowed.iter().map(|to| (*to).to_owned()).collect();
        assert_eq!(
            used.remove(*name).unwrap_or_default(),
            allowed,
            "what `{name}` uses"
        );
    }
}

#[test]
fn file_formats_have_one_home() {
    let faults: Vec<String> = edges()
        .iter()
        .filter(|edge| !edge.in_tests)
        .filter(|edge| HOMES.iter().any(|(to, _)| *to == edge.to))
        .filter(|edge| !row(HOMES, &edge.to).contains(&edge.from.as_str()))
        .map(|edge| format!("`{}` may not use `{}`", edge.from, edge.to))
        .collect();
    none("what only one crate may use", &faults);
}

#[test]
fn a_wall_holds() {
    let edge = |from: &str, to: &str, in_tests| Edge {
        from: from.to_owned(),
        to: to.to_owned(),
        in_tests,
    };
    assert!(refused(&edge("physics", "station", false)));
    assert!(refused(&edge("judge", "histories", false)));
    assert!(!refused(&edge("judge", "histories", true)));
    assert!(!refused(&edge("judge", "jiff", false)));
}
