//! An invented station, and logs of it from text.
#![allow(dead_code, reason = "each test takes what it needs")]

pub(crate) mod station;

use std::io::Cursor;

use ::station::model::Station;
use study::{LogOptions, LogSource, Study, read_log};

const COLUMNS: &str = r#"
[log.columns]
"Zeit"   = "time"
"Amps"   = "K1.current [A]"
"Run"    = "K1.running"
"Unl"    = "not K1.loaded"
"#;

/// The station in this time zone.
pub(crate) fn station(zone: &str) -> Station {
    let more = format!(
        "{}\nmax_pressure = \"8.0 bar(g)\"\nunloaded_power = \"9.2 kW\"",
        station::band(6.8, 7.5)
    );
    let first = station::machine("K1", "load/unload", (7.5, 5.3, 33.4), &more);
    station::Described {
        path: r#"["K1", "K2"], "R1", "MAIN""#.to_owned(),
        zone: zone.to_owned(),
        machines: format!("{first}[[machine]]\nid = \"K2\"\nlike = \"K1\"\n"),
        rest: format!("wanted = \"6.2 bar(g)\"\n{COLUMNS}"),
        ..station::Described::default()
    }
    .parse()
}

pub(crate) fn source(bytes: impl Into<Vec<u8>>) -> LogSource {
    LogSource::new("log.csv", Cursor::new(bytes.into()))
}

/// Reads one log, or the messages that refuse it.
pub(crate) fn read_with(
    bytes: impl Into<Vec<u8>>,
    zone: &str,
    options: &LogOptions<'_>,
) -> Result<Study, String> {
    read_log([source(bytes)], &station(zone), options).map_err(|problems| {
        let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
        told.join("\n")
    })
}

pub(crate) fn read(bytes: impl Into<Vec<u8>>) -> Study {
    read_with(bytes, "UTC", &LogOptions::default()).expect("the log is good")
}

/// The mean of the first day of a channel, by its place among the columns.
pub(crate) fn mean(study: &Study, channel: usize) -> f64 {
    study.channels[channel].days[0].mean
}

pub(crate) fn near(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "{a} and {b}");
}

/// The log of an invented day, one row every so many seconds, with a row made of each second.
pub(crate) fn rows(
    header: &str,
    seconds: impl Iterator<Item = u32>,
    row: impl Fn(u32) -> String,
) -> String {
    let mut text = format!("{header}\n");
    for second in seconds {
        let (day, hour, minute) = (1 + second / 86_400, second / 3600 % 24, second / 60 % 60);
        let time = format!("2026-01-{day:02} {hour:02}:{minute:02}:{:02}", second % 60);
        text.push_str(&format!("{time},{}\n", row(second)));
    }
    text
}
