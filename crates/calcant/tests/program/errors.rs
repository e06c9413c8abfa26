//! Every word that the edge says about input that it cannot use: whole, on stderr, with status 2
//! and nothing on stdout.

use crate::harness::{Folder, calcant, snapshot};

/// Snapshot, then the command, run beside the demo's `station.toml` and `rounds.csv`.
const REFUSED: &[(&str, &[&str])] = &[
    ("error-no-command", &[]),
    ("error-unknown-command", &["judg"]),
    ("error-unknown-option", &["demo", "--wrking"]),
    ("error-unknown-units", &["demo", "--units", "metric"]),
    ("error-judge-one-file", &["judge", "station.toml"]),
    (
        "error-judge-odd-files",
        &["judge", "station.toml", "rounds.csv", "station.toml"],
    ),
    (
        "error-judge-no-station",
        &["judge", "nope.toml", "rounds.csv"],
    ),
    (
        "error-judge-no-rounds",
        &["judge", "station.toml", "nope.csv"],
    ),
    (
        "error-judge-all-at-once",
        &[
            "judge",
            "nope.toml",
            "rounds.csv",
            "station.toml",
            "nope.csv",
        ],
    ),
    ("error-judge-folder", &["judge", ".", "rounds.csv"]),
    ("error-judge-rounds-folder", &["judge", "station.toml", "."]),
    (
        "error-judge-swapped",
        &["judge", "rounds.csv", "station.toml"],
    ),
    ("error-judge-empty", &["judge", "station.toml", "empty"]),
    ("error-judge-utf16", &["judge", "station.toml", "utf16"]),
    (
        "error-judge-header",
        &["judge", "station.toml", "header.csv"],
    ),
    (
        "error-station-broken",
        &["judge", "broken.toml", "rounds.csv"],
    ),
    (
        "error-judge-before",
        &[
            "judge",
            "station.toml",
            "rounds.csv",
            "--as-of",
            "2020-01-01",
        ],
    ),
    (
        "error-if-hot-cold",
        &[
            "judge",
            "station.toml",
            "rounds.csv",
            "--if-hot",
            "-42 degC",
        ],
    ),
    (
        "error-as-of",
        &[
            "judge",
            "station.toml",
            "rounds.csv",
            "--as-of",
            "2026-13-01",
        ],
    ),
    ("error-as-of-words", &["demo", "--as-of", "yesterday"]),
    (
        "error-if-hot",
        &["judge", "station.toml", "rounds.csv", "--if-hot", "42"],
    ),
    (
        "error-if-hot-no-weather",
        &[
            "judge",
            "station.toml",
            "rounds.csv",
            "--if-hot",
            "420 degC",
        ],
    ),
    ("error-check-no-file", &["station", "check", "nope.toml"]),
    ("error-check-broken", &["station", "check", "broken.toml"]),
    ("error-check-empty", &["station", "check", "empty"]),
    ("error-defaults-folder", &["station", "defaults", "."]),
    ("error-expect-nothing-said", &["expect", "station.toml"]),
    (
        "error-expect-no-file",
        &[
            "expect",
            "nope.toml",
            "--ambient",
            "32 degC",
            "--humidity",
            "60",
        ],
    ),
    (
        "error-expect-all-at-once",
        &[
            "expect",
            "station.toml",
            "--ambient",
            "32",
            "--humidity",
            "0.6",
            "--duty",
            "2",
            "--pressure",
            "7.2 bar",
        ],
    ),
    (
        "error-expect-no-weather",
        &[
            "expect",
            "station.toml",
            "--ambient",
            "300 degC",
            "--humidity",
            "160",
        ],
    ),
    (
        "error-expect-words",
        &[
            "expect",
            "station.toml",
            "--ambient",
            "hot",
            "--humidity",
            "wet",
            "--duty",
            "full",
        ],
    ),
    (
        "error-expect-machine",
        &[
            "expect",
            "station.toml",
            "--ambient",
            "32 degC",
            "--humidity",
            "60",
            "--duty",
            "K3=0.5,K1=x",
        ],
    ),
    (
        "error-expect-pressure",
        &[
            "expect",
            "station.toml",
            "--ambient",
            "32 degC",
            "--humidity",
            "60",
            "--pressure",
            "72 bar(g)",
        ],
    ),
    (
        "error-svg-no-folder",
        &[
            "expect",
            "station.toml",
            "--ambient",
            "32 degC",
            "--humidity",
            "60",
            "--svg",
            "no/such/a.svg",
        ],
    ),
    (
        "error-svg-folder",
        &[
            "expect",
            "station.toml",
            "--ambient",
            "32 degC",
            "--humidity",
            "60",
            "--svg",
            ".",
        ],
    ),
    ("error-kind", &["explain", "cooling-los"]),
    ("error-kind-far", &["explain", "zzz"]),
    ("error-demo-there-already", &["demo", "--write", "."]),
];

#[test]
fn every_refusal() {
    let folder = Folder::with_demo();
    folder.put("empty", "");
    std::fs::write(folder.path("utf16"), b"\xff\xfet\0i\0m\0e\0\n\0").expect("it takes a file");
    folder.put(
        "header.csv",
        "time,K1.oil_temprature [degC],K1.pressure [bar],K9.power [kW],colour\n2026-01-01 07:00,80,7.1,33,red\n",
    );
    let broken = folder
        .text("station.toml")
        .replacen("\"7.5 bar(g)\"", "\"7.5 bar\"", 1)
        .replacen("\"load/unload\"", "\"load-unload\"", 1);
    folder.put("broken.toml", &broken);
    let before = folder.names();
    for (name, command) in REFUSED {
        let mut said = folder.run(*command).refused();
        if *name == "error-as-of-words" {
            said = said.replace("This station is invented, and so are its rounds.\n", "");
        }
        assert!(
            !said.contains('\u{1b}'),
            "{name}: an escape among the words"
        );
        assert!(!said.contains("panicked"), "{name}: {said}");
        snapshot(name, &said);
    }
    assert_eq!(before, folder.names(), "a refusal left something behind");
}

#[test]
fn one_of_many_is_named_with_its_file() {
    let folder = Folder::with_demo();
    let said = folder
        .run([
            "judge",
            "station.toml",
            "rounds.csv",
            "nope.toml",
            "rounds.csv",
        ])
        .refused();
    assert!(said.starts_with("nope.toml: "), "{said}");
}

#[test]
#[cfg(target_os = "linux")]
fn a_file_that_cannot_be_read() {
    // It can be opened, but its first byte cannot be read, whoever asks.
    let unreadable = "/proc/self/mem";
    let folder = Folder::with_demo();
    snapshot(
        "error-unreadable",
        &calcant(["station", "check", unreadable]).refused(),
    );
    let said = folder.run(["judge", "station.toml", unreadable]).refused();
    snapshot("error-unreadable-rounds", &said);
    let said = folder.run(["judge", unreadable, "rounds.csv"]).refused();
    assert!(said.contains("cannot be read"), "{said}");
}

#[test]
#[cfg(target_os = "linux")]
fn data_that_cannot_be_written() {
    let ran = Folder::fresh().shell("calcant explain > /dev/full");
    assert_eq!(ran.status, Some(1), "{ran:?}");
    snapshot("error-stdout-full", &ran.err);
}

#[test]
fn rejected_rows_are_told() {
    let folder = Folder::with_demo();
    folder.put(
        "rounds.csv",
        "time,K1.state,K1.oil_temperature [degC],K1.oil_level\n\
         2026-01-01 07:00,loaded,80,in band\n\
         2026-01-02 07:00,loadd,80,in band\n\
         2026-01-03 07:00,loaded,8O,in band\n\
         2026-01-04 07:00,loaded,800,in band\n\
         2026-01-05 07:00,loaded,80,full\n\
         2026-02-30 07:00,loaded,80,in band\n\
         2026-01-06 07:00,loaded,81,in band\n",
    );
    let ran = folder.run(["judge", "station.toml", "rounds.csv"]);
    assert_eq!(ran.status, Some(3), "{ran:?}");
    snapshot("rejected-rows", &ran.err);
    assert!(
        ran.out.contains("2 rounds read, 5 rows rejected\n"),
        "{}",
        ran.out
    );
}
