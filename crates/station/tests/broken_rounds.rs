//! Rounds files that are wrong in one way each, with the exact sentences that they must get.
//!
//! `broken/rounds/<name>.csv` is the file, `broken/rounds/<name>.told` what is said about it: the
//! problems of the header, or one line for each row that was taken and the words for each that was
//! rejected. The station is the one of `common`, in the time zone Europe/Lisbon; the local times
//! that occur twice or never there follow the IANA time zone database.
#![expect(clippy::disallowed_methods, reason = "a test reads its own files")]

mod common;

use std::collections::BTreeSet;
use std::fmt::Write;
use std::fs;
use std::path::Path;

use station::file::rounds::{Reader, Row};
use station::model::Station;
use station::round::{Round, Value};

/// What a round says, in SI, on one line.
fn line(round: &Round, station: &Station) -> String {
    let mut text = format!("line {}: taken, {}", round.line, round.time);
    for word in [&round.who, &round.note].into_iter().flatten() {
        let start: String = word.chars().take(30).collect();
        write!(text, ", {start:?}").expect("a string takes all");
    }
    for reading in &round.readings {
        let (id, name) = (station.id(reading.id.asset), reading.id.point.name());
        match reading.value {
            Value::Number(n) => write!(text, ", {id}.{name} {}", (n * 1e6).round() / 1e6),
            Value::Word(word) => write!(text, ", {id}.{name} {}", word.text()),
        }
        .expect("a string takes all");
    }
    for done in &round.done {
        let (id, phrase) = (station.id(done.on), done.work.phrase());
        write!(text, ", done {id}:{phrase}").expect("a string takes all");
    }
    for step in &round.counter_steps {
        let (id, name) = (station.id(step.id.asset), step.id.point.name());
        write!(
            text,
            ", {id}.{name} +{} since {}",
            step.increase, step.since
        )
        .expect("a string takes all");
    }
    text
}

/// Everything that is said about a file.
fn told(bytes: &[u8]) -> String {
    let station = common::station("Europe/Lisbon");
    let mut told = String::new();
    match Reader::open(bytes, &station) {
        Err(problems) => {
            for problem in problems {
                writeln!(told, "{problem}").expect("a string takes all");
            }
        }
        Ok(reader) => {
            for row in reader {
                match row.expect("bytes in memory can be read") {
                    Row::Round(round) => writeln!(told, "{}", line(&round, &station)),
                    Row::Rejected(rejection) => writeln!(told, "{rejection}"),
                }
                .expect("a string takes all");
            }
        }
    }
    if told.is_empty() {
        told.push_str("no rounds\n");
    }
    told
}

#[test]
fn every_broken_file_gets_exactly_its_sentences() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/broken/rounds");
    let names = |kind: &str| -> BTreeSet<String> {
        fs::read_dir(&folder)
            .expect("the folder stands in the repository")
            .map(|entry| entry.expect("the folder can be read").path())
            .filter(|path| path.extension().is_some_and(|e| e == kind))
            .filter_map(|path| path.file_stem()?.to_str().map(str::to_owned))
            .collect()
    };
    let files = names("csv");
    assert_eq!(
        files,
        names("told"),
        "each file has its sentences, and each sentences a file"
    );
    assert!(files.len() >= 35);
    let mut wrong = String::new();
    for name in &files {
        let file = folder.join(name);
        let bytes = fs::read(file.with_extension("csv")).expect("listed above");
        let expected = fs::read_to_string(file.with_extension("told")).expect("listed above");
        let found = told(&bytes);
        if found != expected {
            write!(wrong, "== {name}\n-- expected\n{expected}-- found\n{found}").expect("a string");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}
