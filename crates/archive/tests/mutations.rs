//! Law: whatever the bytes, a file is read or refused in words; nothing panics, nothing grows.
//!
//! A library that trips over damaged bytes is caught where the file is read; its own words on stderr
//! are silenced here.

mod support;

use std::panic::{AssertUnwindSafe, catch_unwind};

use study::LogOptions;

use support::{file, read_with};

const FILES: [&str; 6] = [
    "duckdb-snappy.parquet",
    "duckdb-zstd-v2.parquet",
    "duckdb-types.parquet",
    "duckdb-text.parquet",
    "polars-zstd.parquet",
    "polars-local.parquet",
];

/// Mutations of each file.
const EACH: usize = 3000;

fn mutated(random: &mut fastrand::Rng, bytes: &[u8]) -> Vec<u8> {
    let mut bytes = bytes.to_vec();
    for _ in 0..random.usize(1..4) {
        let at = random.usize(0..bytes.len());
        match random.u8(0..5) {
            0 => bytes[at] ^= 1 << random.u8(0..8),
            1 => bytes[at] = random.u8(..),
            2 => bytes.truncate(at.max(8)),
            3 => {
                let end = (at + random.usize(1..16)).min(bytes.len());
                bytes.drain(at..end);
            }
            _ => {
                let end = (at + random.usize(1..16)).min(bytes.len());
                let part = bytes[at..end].to_vec();
                let to = random.usize(0..=bytes.len());
                bytes.splice(to..to, part);
            }
        }
        if bytes.len() < 8 {
            bytes.resize(8, b'1');
        }
    }
    bytes
}

#[test]
fn whatever_the_bytes_nothing_panics() {
    std::panic::set_hook(Box::new(|_| {}));
    let options = LogOptions {
        workers: Some(1),
        ..LogOptions::default()
    };
    let (mut read, mut refused, mut fault) = (0, 0, None);
    for name in FILES {
        let whole = file(name);
        let mut random = fastrand::Rng::with_seed(11);
        for serial in 0..EACH {
            let bytes = mutated(&mut random, &whole);
            let outcome = catch_unwind(AssertUnwindSafe(|| read_with(bytes, &options)));
            match outcome {
                Ok(Ok(study)) => {
                    read += 1;
                    assert!(study.rows <= 1_000_000, "{name} {serial}");
                }
                Ok(Err(words)) => {
                    refused += 1;
                    if words.is_empty() || !words.contains("hint: ") {
                        fault = Some(format!("{name} {serial}: `{words}`"));
                    }
                }
                Err(_) => fault = Some(format!("{name} {serial}: it panicked")),
            }
        }
    }
    let _ = std::panic::take_hook();
    assert_eq!(fault, None);
    // The mutations reach both ends.
    assert!(
        read > 100 && refused > 100,
        "{read} read, {refused} refused"
    );
}
