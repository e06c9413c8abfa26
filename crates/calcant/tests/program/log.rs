//! `calcant log convert`: what is written, and that it is whole or not there.

use crate::harness::{Folder, Ran, snapshot};
use crate::study::{log, put_station};

const CONVERT: [&str; 4] = ["log", "convert", "station.toml", "log.csv"];

fn convert(folder: &Folder, out: &str) -> Ran {
    folder.run(CONVERT.iter().chain(&["--out", out]))
}

fn with_log() -> Folder {
    let folder = Folder::fresh();
    put_station(&folder);
    folder.put("log.csv", &log(0..200_000));
    folder
}

/// The figures of the days, which do not depend on how the log is kept.
fn figures(ran: Ran) -> serde_json::Value {
    let mut json = ran.json();
    for source in json["sources"].as_array_mut().into_iter().flatten() {
        source["name"] = serde_json::Value::Null;
    }
    serde_json::json!([
        json["machines"],
        json["pressures"],
        json["rows"],
        json["station"]
    ])
}

#[test]
fn a_converted_log_says_the_same() {
    let folder = with_log();
    let said = convert(&folder, "log.parquet");
    assert_eq!(
        said.err,
        "wrote log.parquet: 200\u{202f}000 rows of 3 days\n"
    );
    assert_eq!(said.done(), "");
    convert(&folder, "fleet").done();
    let days: Vec<String> = crate::harness::files(&folder.path("fleet"), "parquet")
        .iter()
        .map(|path| {
            let path = path
                .strip_prefix(folder.path("fleet"))
                .expect("it is in it");
            path.display().to_string()
        })
        .collect();
    let day = |date: &str| format!("station=Tilling%20Joinery/day={date}/part-0.parquet");
    assert_eq!(
        days,
        [day("2026-07-14"), day("2026-07-15"), day("2026-07-16")]
    );
    let study = |log: &str| figures(folder.run(["study", "station.toml", log, "--json"]));
    let plain = study("log.csv");
    for log in ["log.parquet", "fleet"] {
        let converted = study(log);
        assert_eq!(converted[2], plain[2]);
        near(&converted, &plain, log);
    }
}

/// Numbers to one part in 10⁹: the way through another unit may change the last digit.
fn near(a: &serde_json::Value, b: &serde_json::Value, at: &str) {
    use serde_json::Value::{Array, Number, Object};
    match (a, b) {
        (Number(a), Number(b)) => {
            let (a, b) = (a.as_f64().unwrap_or(0.0), b.as_f64().unwrap_or(1.0));
            assert!(
                (a - b).abs() <= 1e-9 * b.abs().max(1.0),
                "{at}: {a} and {b}"
            );
        }
        (Array(a), Array(b)) => {
            assert_eq!(a.len(), b.len(), "{at}");
            for (n, (a, b)) in a.iter().zip(b).enumerate() {
                near(a, b, &format!("{at}/{n}"));
            }
        }
        (Object(a), Object(b)) => {
            assert!(a.keys().eq(b.keys()), "{at}");
            // How a storage or a leakage is worked out is said in words, with rounded numbers.
            for (key, value) in a.iter().filter(|(key, _)| !key.ends_with("working")) {
                near(value, &b[key], &format!("{at}/{key}"));
            }
        }
        _ => assert_eq!(a, b, "{at}"),
    }
}

#[test]
fn loggers_of_one_time_are_studied_and_converted_together() {
    let folder = Folder::fresh();
    put_station(&folder);
    let text = log(0..20_000);
    let of = |column: usize, every: usize| {
        let kept = text
            .lines()
            .enumerate()
            .filter(|(row, _)| *row == 0 || (row - 1).is_multiple_of(every));
        let cells = kept.map(|(_, line)| {
            let cells: Vec<&str> = line.split(',').collect();
            format!("{},{}\n", cells[0], cells[column])
        });
        cells.collect::<String>()
    };
    folder.put("power.csv", &of(1, 1));
    folder.put("pressure.csv", &of(2, 10));
    let logs = ["pressure.csv", "power.csv"];
    let convert = ["log", "convert", "station.toml"].iter().chain(&logs);
    let said = folder.run(convert.chain(&["--out", "log.parquet"]));
    assert_eq!(said.err, "wrote log.parquet: 20\u{202f}000 rows of 1 day\n");
    let study = |logs: &[&str]| {
        let command = ["study", "station.toml", "--json"];
        figures(folder.run(command.iter().chain(logs)))
    };
    let (both, converted) = (study(&logs), study(&["log.parquet"]));
    // A row of two loggers counts once when it is joined.
    assert_eq!((&both[2], &converted[2]), (&22_000.into(), &20_000.into()));
    for part in [0, 1, 3] {
        near(&converted[part], &both[part], "log.parquet");
    }
    assert!(both[3]["delivered_m3"].is_number(), "{}", both[3]);
}

#[test]
fn a_day_that_is_there_is_not_written_over() {
    let folder = with_log();
    convert(&folder, "fleet").done();
    let before = folder.names();
    let again = convert(&folder, "fleet");
    snapshot("error-convert-there", &again.refused());
    assert_eq!(folder.names(), before);
    assert_eq!(names(&folder, "fleet"), ["station=Tilling%20Joinery"]);
    // Another day finds its place beside them.
    folder.put("more.csv", &log(300_000..300_100));
    let more = [
        "log",
        "convert",
        "station.toml",
        "more.csv",
        "--out",
        "fleet",
    ];
    folder.run(more).done();
    assert_eq!(names(&folder, "fleet/station=Tilling%20Joinery").len(), 4);
}

fn names(folder: &Folder, of: &str) -> Vec<String> {
    let entries = std::fs::read_dir(folder.path(of)).expect("it is there");
    let mut names: Vec<String> = entries
        .map(|entry| entry.expect("it can be listed").file_name())
        .map(|name| name.to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

#[test]
fn rows_that_are_left_out_are_counted() {
    let folder = with_log();
    let log = folder.text("log.csv");
    let mut lines: Vec<&str> = log.lines().collect();
    lines.insert(50, lines[49]);
    lines.insert(90, "2026-07-14 07:00:81,5.0,7.0");
    folder.put("log.csv", &format!("{}\n", lines.join("\n")));
    let ran = convert(&folder, "log.parquet");
    assert_eq!(ran.status, Some(3));
    snapshot("convert-left-out", &ran.err);
}

#[test]
fn what_cannot_be_used_leaves_nothing_behind() {
    for (name, header, extra) in [
        ("error-convert-header", "time,K1.powr [kW]", &[][..]),
        (
            "error-convert-no-row",
            "time,K1.power [kW],MAIN.pressure [bar(g)]",
            &["--from", "2030-01-01"][..],
        ),
    ] {
        let folder = with_log();
        let text = folder.text("log.csv");
        let (_, rows) = text.split_once('\n').expect("there is a header");
        folder.put("log.csv", &format!("{header}\n{rows}"));
        for out in ["log.parquet", "fleet"] {
            let to = ["--out", out];
            let words = folder.run(CONVERT.iter().chain(&to).chain(extra)).refused();
            snapshot(name, &words);
            assert_eq!(folder.names(), ["log.csv", "station.toml"], "{name} {out}");
        }
    }
}

#[test]
fn a_place_that_cannot_be_written_is_told() {
    let folder = with_log();
    let said = ["nowhere/log.parquet", "station.toml"].map(|out| convert(&folder, out).refused());
    snapshot("error-convert-place", &said.concat());
    assert_eq!(folder.names(), ["log.csv", "station.toml"]);
}

#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_leaves_no_part_of_a_log() {
    let folder = with_log();
    for out in ["log.parquet", "fleet"] {
        let line = format!("calcant log convert station.toml log.csv --out {out}");
        let ran = folder.shell(&format!("trap '' XFSZ; ulimit -f 8; {line}"));
        assert_eq!(ran.status, Some(1), "{ran:?}");
        assert!(ran.err.contains("could not be written"), "{}", ran.err);
        assert_eq!(folder.names(), ["log.csv", "station.toml"], "{out}");
    }
}
