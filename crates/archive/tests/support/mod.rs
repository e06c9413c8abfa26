//! An invented station, and logs in memory.
#![allow(dead_code, reason = "each test file uses a part of it")]

use bytes::Bytes;
use station::file::problem::Problem;
use station::model::Station;
use study::{LogOptions, LogSource, Study, read_log};

/// One machine, a receiver and a header, in Lisbon.
pub(crate) fn station() -> Station {
    let text = r#"
calcant  = 1
air_path = ["K1", "R1", "MAIN"]
[site]
name      = "Quillbank Tileworks (invented)"
altitude  = "0 m"
time_zone = "Europe/Lisbon"
[[machine]]
id             = "K1"
kind           = "oil-injected screw"
drive          = "gear"
control        = "load/unload"
rated          = { pressure = "7.5 bar(g)", fad = "5.3 m3/min", power = "33.4 kW" }
band           = { load = "6.8 bar(g)", unload = "7.5 bar(g)" }
max_pressure   = "8.0 bar(g)"
unloaded_power = "9.2 kW"
[[vessel]]
id           = "R1"
volume       = "1000 L"
max_pressure = "11 bar(g)"
[[header]]
id     = "MAIN"
wanted = "6.2 bar(g)"
"#;
    station::file::station::parse(text).unwrap_or_else(|problems| panic!("{}", told(&problems)))
}

pub(crate) fn told(problems: &[Problem]) -> String {
    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
    lines.join("\n")
}

/// A file that another program wrote.
pub(crate) fn file(name: &str) -> Vec<u8> {
    let path = format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read(&path).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// A source of these bytes; what refuses them is told as a problem is.
pub(crate) fn source(bytes: Vec<u8>) -> Result<LogSource, String> {
    let log = archive::read::open(Bytes::from(bytes));
    let log = log.map_err(|refusal| format!("{}\n  hint: {}", refusal.what, refusal.hint))?;
    Ok(LogSource::columns("log.parquet", log))
}

pub(crate) fn read(bytes: Vec<u8>) -> Result<Study, String> {
    read_with(bytes, &LogOptions::default())
}

pub(crate) fn read_with(bytes: Vec<u8>, options: &LogOptions<'_>) -> Result<Study, String> {
    read_log([source(bytes)?], &station(), options).map_err(|problems| told(&problems))
}

pub(crate) fn near(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "{a} is not {b}");
}
