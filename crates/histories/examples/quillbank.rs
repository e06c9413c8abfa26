//! Writes the rounds of the invented demo station, to a path or to standard output.
//!
//! `cargo run -p histories --example quillbank [ROUNDS.csv [STATION.toml]]`

use std::io::Write as _;

fn main() -> std::io::Result<()> {
    let mut paths = std::env::args_os().skip(1);
    let rounds = histories::to_csv(&histories::quillbank::history());
    match paths.next() {
        Some(path) => std::fs::write(path, rounds)?,
        None => std::io::stdout().lock().write_all(rounds.as_bytes())?,
    }
    match paths.next() {
        Some(path) => std::fs::write(path, histories::quillbank::station_toml()),
        None => Ok(()),
    }
}
