//! The text for people: whole, narrow enough, plain.

use crate::harness::{Folder, calcant, snapshot};
use crate::small;

/// Snapshot, then the command, run beside the demo's `station.toml` and `rounds.csv`.
const TEXTS: &[(&str, &[&str])] = &[
    ("demo", &["demo"]),
    ("demo-working-us", &["demo", "--working", "--units", "us"]),
    ("demo-winter", &["demo", "--as-of", "2026-01-14"]),
    (
        "demo-if-hot-us",
        &[
            "demo",
            "--as-of",
            "2026-06-17",
            "--if-hot",
            "100 degF",
            "--units",
            "us",
        ],
    ),
    (
        "expect",
        &[
            "expect",
            "station.toml",
            "--ambient",
            "32 degC",
            "--humidity",
            "60",
        ],
    ),
    (
        "expect-us",
        &[
            "expect",
            "station.toml",
            "--ambient",
            "90 degF",
            "--humidity",
            "60 %",
            "--duty",
            "K1=0.8",
            "--pressure",
            "105 psig",
            "--units",
            "us",
        ],
    ),
    (
        "expect-working",
        &[
            "expect",
            "station.toml",
            "--ambient",
            "-2 degC",
            "--humidity",
            "90",
            "--duty",
            "0.5",
            "--working",
        ],
    ),
    (
        "expect-variable",
        &[
            "expect",
            "variable.toml",
            "--ambient",
            "20 degC",
            "--humidity",
            "60",
            "--duty",
            "0.6",
        ],
    ),
    (
        "expect-other",
        &[
            "expect",
            "other.toml",
            "--ambient",
            "20 degC",
            "--humidity",
            "60",
        ],
    ),
    (
        "expect-nothing-runs",
        &[
            "expect",
            "station.toml",
            "--ambient",
            "20 degC",
            "--humidity",
            "60",
            "--duty",
            "0",
        ],
    ),
    ("defaults", &["station", "defaults", "station.toml"]),
    (
        "judge-several",
        &[
            "judge",
            "bare.toml",
            "none.csv",
            "station.toml",
            "rounds.csv",
            "other.toml",
            "quiet.csv",
        ],
    ),
    ("kinds", &["explain"]),
];

fn folder() -> Folder {
    let folder = Folder::with_demo();
    small::put_all(&folder);
    folder.put("none.csv", "time,K1.state\n");
    folder.put("quiet.csv", "time,K1.state\n2026-01-05 07:00,loaded\n");
    folder
}

#[test]
fn every_text() {
    let folder = folder();
    for (name, command) in TEXTS {
        let text = folder.run(*command).done();
        is_plain(name, &text);
        snapshot(name, &text);
    }
}

/// Narrow enough for a terminal of a hundred columns, no escapes, no stray spaces.
#[track_caller]
fn is_plain(name: &str, text: &str) {
    assert!(
        text.ends_with('\n') && !text.ends_with("\n\n\n"),
        "{name}: how it ends"
    );
    for (n, line) in text.lines().enumerate() {
        let width = line.chars().count();
        assert!(
            width <= 100,
            "{name}, line {}: {width} columns: {line}",
            n + 1
        );
        assert_eq!(
            line,
            line.trim_end(),
            "{name}, line {}: space at its end",
            n + 1
        );
        let control = line.chars().find(|c| c.is_control());
        assert_eq!(control, None, "{name}, line {}: {line:?}", n + 1);
    }
    for word in ["NaN", "inf", "null", "None", "Some("] {
        assert!(
            !text
                .split(|c: char| !c.is_alphanumeric())
                .any(|w| w == word),
            "{name}: {word}"
        );
    }
}

#[test]
fn the_demo_is_plain_all_the_year() {
    let folder = folder();
    for as_of in small::DATES {
        for units in ["si", "us"] {
            let args = ["demo", "--working", "--units", units, "--as-of", as_of];
            is_plain(as_of, &folder.run(args).done());
        }
    }
}

#[test]
fn the_stories_are_plain() {
    for story in small::STORIES {
        let folder = Folder::with_demo();
        let station = story.station(&folder);
        folder.put("station.toml", &station);
        folder.put("rounds.csv", &story.rounds());
        for units in ["si", "us"] {
            let args = [
                "judge",
                "station.toml",
                "rounds.csv",
                "--working",
                "--units",
                units,
            ];
            is_plain(story.name, &folder.run(args).done());
        }
    }
}

#[test]
fn us_units_leave_no_metric_number_outside_the_working() {
    let folder = folder();
    let mut texts = vec![("demo", folder.run(["demo", "--units", "us"]).done())];
    for as_of in small::DATES {
        texts.push((
            as_of,
            folder
                .run(["demo", "--units", "us", "--as-of", as_of])
                .done(),
        ));
    }
    for (name, command) in TEXTS.iter().filter(|(name, _)| *name == "expect-us") {
        texts.push((name, folder.run(*command).done()));
    }
    let metric = [
        "°C", "bar", "bar(g)", "bar(a)", "mbar", "m³/min", "K", "L", "L/h", "L/day",
    ];
    let mut left = Vec::new();
    for (name, text) in texts {
        let mut before = "";
        for word in text.split_whitespace() {
            let bare = word.trim_end_matches([',', ';', ':', '.', ')']);
            let is_metric = metric.contains(&bare) || metric.contains(&word);
            let number = before.ends_with(|c: char| c.is_ascii_digit());
            if number && is_metric {
                left.push(format!("{name}: {before} {word}"));
            }
            before = word;
        }
    }
    left.dedup();
    assert!(left.is_empty(), "{left:#?}");
}

#[test]
fn long_names_keep_the_lines_apart() {
    let folder = Folder::with_demo();
    let long = format!("Works {}", "of a very long name ".repeat(12));
    let station = folder
        .text("station.toml")
        .replacen("Quillbank Tileworks", long.trim_end(), 1);
    folder.put("station.toml", &station);
    let text = folder.run(["judge", "station.toml", "rounds.csv"]).done();
    is_plain("a long name", &text);
    assert!(
        calcant(["demo"])
            .done()
            .starts_with("Quillbank Tileworks, as of ")
    );
}
