//! A log is read in memory that does not grow with its length: two million rows and eight million
//! take the same.
//!
//! The peak is what the system says of this process, which is why this test has a binary of its own.
#![cfg(target_os = "linux")]

mod support;

use std::io::{self, Read};

use study::{LogOptions, LogSource, read_log};

/// The most memory that the process has held so far, MB.
fn peak() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").expect("the system tells it");
    let line = status.lines().find(|line| line.starts_with("VmHWM:"));
    let kb = line.and_then(|line| line.split_whitespace().nth(1));
    kb.and_then(|kb| kb.parse::<f64>().ok()).expect("a number") / 1024.0
}

/// The text of a log, made as it is read: a row a second of a machine that cycles.
struct Rows {
    second: u64,
    end: u64,
    text: Vec<u8>,
    at: usize,
}

impl Rows {
    fn new(rows: u64) -> Self {
        Self {
            second: 0,
            end: rows,
            text: b"time,K1.power [kW],MAIN.pressure [bar(g)]\n".to_vec(),
            at: 0,
        }
    }

    fn more(&mut self) {
        self.text.clear();
        self.at = 0;
        let end = self.end.min(self.second + 4096);
        for second in self.second..end {
            // Seconds since 1 January 1970, from 1 January 2026 on.
            let stamp = jiff::Timestamp::from_second(1_767_225_600 + second.cast_signed());
            let stamp = stamp.expect("it lies in range");
            let (at, flutter) = (second % 100, second * 7 % 10);
            let row = if at < 40 {
                format!("{stamp},33.{flutter},{}.{:03}\n", 6 + at / 37, 100 + at)
            } else {
                format!("{stamp},9.{flutter},7.{:03}\n", 110 - at)
            };
            self.text.extend_from_slice(row.as_bytes());
        }
        self.second = end;
    }
}

impl Read for Rows {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.at == self.text.len() {
            self.more();
        }
        let left = self.text.get(self.at..).unwrap_or_default();
        let count = left.len().min(into.len());
        into[..count].copy_from_slice(&left[..count]);
        self.at += count;
        Ok(count)
    }
}

#[test]
fn memory_does_not_grow_with_the_length_of_a_log() {
    let station = support::station("UTC");
    let read = |rows: u64| {
        let source = LogSource::new("made", Rows::new(rows));
        let options = LogOptions {
            workers: Some(2),
            ..LogOptions::default()
        };
        let study = read_log([source], &station, &options).expect("a good log");
        assert_eq!((study.rows, study.left_out_total), (rows, 0));
        assert!(study.machines[0].totals.loads > rows / 101);
        peak()
    };
    let before = peak();
    let short = read(2_000_000);
    let long = read(8_000_000);
    // Six million rows more are 270 MB of text and 144 MB of numbers. What may grow are the figures
    // of each hour, some hundred bytes for each of 1700.
    assert!(
        long - short < 8.0,
        "{before:.0} MB, then {short:.0}, then {long:.0}"
    );
}
