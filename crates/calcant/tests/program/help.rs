//! Every help and the version, whole.

use crate::harness::{calcant, snapshot};

/// Snapshot, then the command.
const HELPS: &[(&str, &[&str])] = &[
    ("help", &[]),
    ("help-station", &["station"]),
    ("help-station-new", &["station", "new"]),
    ("help-station-check", &["station", "check"]),
    ("help-station-defaults", &["station", "defaults"]),
    ("help-expect", &["expect"]),
    ("help-judge", &["judge"]),
    ("help-study", &["study"]),
    ("help-log", &["log"]),
    ("help-log-convert", &["log", "convert"]),
    ("help-explain", &["explain"]),
    ("help-causes", &["causes"]),
    ("help-demo", &["demo"]),
];

#[test]
fn every_help() {
    for (name, command) in HELPS {
        let ran = calcant(command.iter().chain(&["--help"]));
        assert_eq!(ran.err, "", "{name}: help is data, not words");
        snapshot(name, &ran.done());
        let short = calcant(command.iter().chain(&["-h"])).done();
        assert!(short.contains("Usage: calcant"), "{name}: {short}");
    }
}

#[test]
fn no_command_has_no_help_here() {
    let mut commands: Vec<String> = listed(&calcant(["--help"]).done());
    for group in ["station", "log"] {
        let inner = listed(&calcant([group, "--help"]).done());
        commands.extend(inner.iter().map(|c| format!("{group} {c}")));
    }
    assert!(commands.len() > 6, "{commands:?}");
    for command in commands {
        let known = HELPS.iter().any(|(_, words)| words.join(" ") == command);
        assert!(known, "`calcant {command} --help` is not in the table");
    }
}

/// The commands that a help lists.
fn listed(help: &str) -> Vec<String> {
    help.lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.split_whitespace().next())
        .map(str::to_owned)
        .collect()
}

#[test]
fn version() {
    for flag in ["--version", "-V"] {
        snapshot("version", &calcant([flag]).done());
    }
}
