//! `calcant judge … --log`: logs beside rounds, and alone.

use std::fs;

use serde_json::Value;

use crate::harness::{Folder, project, snapshot};
use crate::study::{log, put_station};

/// The demo with its log.
fn with_log() -> Folder {
    let folder = Folder::with_demo();
    let log = project().join("examples/quillbank/log.csv.gz");
    fs::copy(log, folder.path("log.csv.gz")).expect("the demo has a log");
    folder
}

const ALONE: [&str; 4] = ["judge", "station.toml", "--log", "log.csv.gz"];
const BOTH: [&str; 5] = ["judge", "station.toml", "rounds.csv", "--log", "log.csv.gz"];

fn found<'a>(json: &'a Value, id: &str) -> Option<&'a Value> {
    let findings = json["findings"].as_array().expect("findings are a list");
    findings.iter().find(|f| f["id"] == id)
}

#[test]
fn a_log_stands_beside_rounds() {
    let folder = with_log();
    let json = folder.run(BOTH.iter().chain(&["--json"])).json();
    assert_eq!(json["rounds"]["accepted"], 259);
    // Four days; on the two with rounds the keeper read what the day's look would say, but not at
    // rest. A look is told as it was taken, whether or not it is judged.
    assert_eq!(json["log"]["looks"], 8);
    assert_eq!(json["log"]["rows"], 34_560);
    let from = json["log"]["from"].as_str().expect("a time");
    assert!(from.starts_with("2026-07-03T"), "{from}");
    // What a person read last says no such thing.
    let cooling = found(&json, "K1.cooling").expect("the demo's own");
    assert!(cooling["evidence"][0].get("logged").is_none());
    let alone = folder.run(["judge", "station.toml", "rounds.csv", "--json"]);
    assert_eq!(alone.json()["log"], Value::Null);
}

#[test]
fn evidence_says_when_it_was_logged() {
    let folder = Folder::fresh();
    put_station(&folder);
    // The log's machine draws more than this plate says.
    let station = folder.text("station.toml").replace("33.4 kW", "27.0 kW");
    folder.put("station.toml", &station);
    folder.put("log.csv", &log(0..20_000));
    let args = ["judge", "station.toml", "--log", "log.csv"];
    let json = folder.run(args.iter().chain(&["--json"])).json();
    let high = found(&json, "K1.power").expect("it draws too much");
    assert_eq!(high["kind"], "power-high");
    let logged = high["evidence"][0]["logged"]
        .as_str()
        .expect("it was logged");
    assert!(logged.starts_with("2026-07-14T"), "{logged}");
    let text = folder.run(args.iter().chain(&["--working"])).done();
    assert!(text.contains(", logged Tue 14 July 2026"), "{text}");
}

#[test]
fn a_log_alone_is_judged() {
    let folder = with_log();
    let ran = folder.run(ALONE);
    assert_eq!(ran.err, "");
    snapshot("judge-log", &ran.done());
    let json = folder.run(ALONE.iter().chain(&["--json"])).json();
    assert_eq!(json["rounds"]["read"], 0);
    assert!(
        json["as_of"]
            .as_str()
            .is_some_and(|t| t.starts_with("2026-07-06T"))
    );
    let points: Vec<&str> = json["expectations"]
        .as_array()
        .expect("expectations are a list")
        .iter()
        .filter_map(|e| e["point"].as_str())
        .collect();
    assert!(points.contains(&"K1.power"), "{points:?}");
    let page = ["--report", "page.html"];
    folder.run(ALONE.iter().chain(&page)).done();
    let page = folder.text("page.html");
    assert!(
        page.contains("; 8 looks taken off a log"),
        "the page does not tell of the log"
    );
    // By its first evening, only that day's look is seen.
    let early = ["--as-of", "2026-07-03", "--json"];
    let json = folder.run(ALONE.iter().chain(&early)).json();
    assert!(
        json["as_of"]
            .as_str()
            .is_some_and(|t| t.starts_with("2026-07-03T"))
    );
}

#[test]
fn looks_are_written_as_rounds_that_are_judged_alike() {
    let folder = with_log();
    let study = "study station.toml log.csv.gz --looks looks.csv";
    folder.run(study.split(' ')).done();
    let csv = folder.text("looks.csv");
    assert!(csv.starts_with("time,who,site.ambient [degC],"), "{csv}");
    assert!(csv.contains(",#K1 on load in 20 min [%]"), "{csv}");
    // By the noon of the last day, its look is the last round.
    let noon = ["--as-of", "2026-07-06T12:00", "--json"];
    let file = ["judge", "station.toml", "looks.csv"];
    let by_rounds = folder.run(file.iter().chain(&noon)).json();
    let by_log = folder.run(ALONE.iter().chain(&noon)).json();
    assert_eq!(by_rounds["rounds"]["accepted"], by_log["log"]["looks"]);
    assert_eq!(by_rounds["rounds"]["rejected_total"], 0);
    // The file does not carry the load over, so more may be said of it, and not less.
    for finding in by_log["findings"].as_array().expect("findings are a list") {
        let id = finding["id"].as_str().expect("an id");
        assert!(found(&by_rounds, id).is_some(), "{id}");
    }
    let numbers = |json: &Value| -> Vec<(String, f64)> {
        let list = json["expectations"].as_array().expect("a list");
        let one = |e: &Value| {
            (
                e["point"].to_string(),
                e["read"].as_f64().expect("a number"),
            )
        };
        list.iter().map(one).collect()
    };
    let (file, log) = (numbers(&by_rounds), numbers(&by_log));
    assert!(log.len() > 2, "{log:?}");
    assert_eq!(file.len(), log.len());
    for ((point, read), (same, logged)) in file.iter().zip(&log) {
        assert_eq!(point, same);
        assert!((read - logged).abs() < 0.01, "{point}: {read} and {logged}");
    }
    let nowhere = "study station.toml log.csv.gz --looks no/looks.csv";
    snapshot(
        "error-study-looks",
        &folder.run(nowhere.split(' ')).refused(),
    );
}

#[test]
fn a_log_that_cannot_be_used_is_2_and_nothing_is_judged() {
    let folder = with_log();
    folder.put("header.csv", "time,K9.power [kW]\n2026-07-03 10:00,30\n");
    folder.put("empty.csv", "time,K1.power [kW]\n");
    folder.put("times.csv", "time,K1.power [kW]\nnoon,30\n");
    folder.put("dates.csv", "time,K1.power [kW]\n01/02/2026 10:00,9.2\n");
    for log in [
        "header.csv",
        "empty.csv",
        "times.csv",
        "dates.csv",
        "no.csv",
    ] {
        let ran = folder.run(["judge", "station.toml", "rounds.csv", "--log", log]);
        assert!(ran.err.contains(log), "{log}: {}", ran.err);
        ran.refused();
    }
    let header = folder.run(["judge", "station.toml", "rounds.csv", "--log", "header.csv"]);
    snapshot("error-judge-log", &header.refused());
    let first = folder.run(["judge", "--log", "log.csv.gz", "station.toml", "rounds.csv"]);
    snapshot("error-judge-log-first", &first.refused());
    let before = folder.run(ALONE.iter().chain(&["--as-of", "2026-07-01"]));
    snapshot("error-judge-log-before", &before.refused());
}

#[test]
fn a_log_that_gives_no_look_is_told() {
    let folder = with_log();
    folder.put("short.csv", "time,K1.power [kW]\n2026-07-03 10:00:00,30\n");
    let alone = folder.run(["judge", "station.toml", "--log", "short.csv"]);
    snapshot("error-judge-log-no-look", &alone.refused());
    let both = folder.run(["judge", "station.toml", "rounds.csv", "--log", "short.csv"]);
    assert!(
        both.err.contains("short.csv: no look can be taken off it"),
        "{}",
        both.err
    );
    assert!(
        both.done()
            .contains("259 rounds read; 0 looks taken off the log")
    );
}

#[test]
fn bad_cells_of_a_log_are_3() {
    let folder = Folder::fresh();
    put_station(&folder);
    let text = log(0..20_000).replacen(",6.800\n", ",ERR\n", 1);
    folder.put("log.csv", &text);
    let ran = folder.run(["judge", "station.toml", "--log", "log.csv"]);
    assert_eq!(ran.status, Some(3));
    assert!(ran.err.contains("log.csv: line 2"), "{}", ran.err);
    assert!(ran.out.contains("1 look taken off the log"), "{}", ran.out);
}

#[test]
fn a_log_belongs_to_the_station_before_it() {
    let folder = with_log();
    put_station(&folder);
    fs::rename(folder.path("station.toml"), folder.path("joinery.toml")).expect("it is there");
    let demo = project().join("examples/quillbank/station.toml");
    fs::copy(demo, folder.path("station.toml")).expect("the demo is in examples");
    folder.put("joinery.csv", &log(0..20_000));
    let line = "judge station.toml rounds.csv joinery.toml --log joinery.csv --json";
    let json = folder.run(line.split(' ')).json();
    let stations = json["stations"].as_array().expect("two stations");
    let of = |name: &str| {
        stations
            .iter()
            .find(|s| s["station"] == name)
            .expect("it is judged")
    };
    assert_eq!(of("Quillbank Tileworks")["log"], Value::Null);
    assert_eq!(of("Tilling Joinery")["log"]["looks"], 1);
    assert_eq!(of("Tilling Joinery")["rounds"]["read"], 0);
}

#[test]
fn foreign_headers_of_a_log_are_mapped() {
    let folder = Folder::fresh();
    put_station(&folder);
    let text = log(0..20_000).replacen("K1.power [kW]", "P (kW)", 1);
    folder.put("log.csv", &text);
    folder.put("map.toml", "\"P (kW)\" = \"K1.power [kW]\"\n");
    let line = "judge station.toml --log log.csv --map map.toml --json";
    assert_eq!(folder.run(line.split(' ')).json()["log"]["looks"], 1);
    let without = folder.run(["judge", "station.toml", "log.csv", "--map", "map.toml"]);
    without.refused();
}
