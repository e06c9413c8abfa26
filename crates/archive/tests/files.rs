//! Logs that other programs wrote: the same rows in each, whatever the types, packing and pages.
//!
//! SOURCE DuckDB 2.0.1 and Polars 2.1.0, written by data/scripts/make_files.py. The numbers in the
//! checks are those that the script gave them.

mod support;

use std::io::Cursor;

use archive::write::{DayRows, DayWriter, Layout};
use study::table::{Table as _, TableRows};
use study::{Channel, DateOrder, LogOptions, LogSource, Study};

use support::{file, near, read, read_with, station};

const POWER: [f64; 5] = [33.4, 33.5, 9.2, 9.3, 0.0];

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// The rows of the script, but for what its types lose.
fn holds_the_rows(study: &Study, name: &str, tolerance: f64) {
    assert_eq!((study.rows, study.rejected_total), (6, 0), "{name}");
    let from = study.from.map(|t| t.to_string());
    assert_eq!(from.as_deref(), Some("2026-07-14T06:10:00Z"), "{name}");
    let to = study.to.map(|t| t.to_string());
    assert_eq!(to.as_deref(), Some("2026-07-14T06:10:05Z"), "{name}");
    let power = study
        .channels
        .iter()
        .find(|c| c.channel == Channel::power_of(0));
    let day = power.expect("the power is there").days[0];
    assert_eq!(day.count, 5, "{name}: one is missing");
    let right = 1e3 * mean(&POWER);
    assert!(
        (day.mean - right).abs() <= tolerance * right,
        "{name}: {}",
        day.mean
    );
}

#[test]
fn every_writer_and_packing_is_read() {
    for (name, tolerance) in [
        ("duckdb-snappy.parquet", 1e-12),
        ("duckdb-zstd-v2.parquet", 1e-12),
        // Numbers of single precision.
        ("polars-zstd.parquet", 1e-7),
        ("polars-local.parquet", 1e-7),
    ] {
        let study = read(file(name)).unwrap_or_else(|error| panic!("{name}: {error}"));
        holds_the_rows(&study, name, tolerance);
        let pressure = study.channels[1].days[0];
        near(
            pressure.mean / 1e5,
            mean(&[7.02, 7.03, 7.05, 7.04, 7.01, 7.0]),
        );
        assert_eq!(study.sources[0].interval_s, Some(1.0));
        assert_eq!(study.sources[0].dates, None);
    }
}

#[test]
fn other_types_become_numbers() {
    // Stamps of nanoseconds by the clock on the wall, decimals, whole numbers, truth values.
    let study = read(file("duckdb-types.parquet")).expect("it is good");
    holds_the_rows(&study, "duckdb-types.parquet", 1e-12);
    near(study.channels[1].days[0].max, 7.05e5);
    near(study.channels[2].days[0].mean, 0.8);
    near(study.channels[3].days[0].mean, 0.4);
    // `day` is what a converted log has; nothing is said about it.
    assert_eq!(study.sources[0].columns_left_out, ["list"]);
}

#[test]
fn text_is_read_as_in_a_file_of_text() {
    let study = read(file("duckdb-text.parquet")).expect("it is good");
    holds_the_rows(&study, "duckdb-text.parquet", 1e-12);
    let dates = study.sources[0].dates.clone().expect("times are text");
    assert_eq!(dates.order, DateOrder::DayFirst);
    assert_eq!(dates.because, "row 1 says `14.07.2026 07:10:00`");
    assert!(study.sources[0].decimal_comma);
}

#[test]
fn only_the_time_that_is_asked_for_counts() {
    let options = LogOptions {
        from: Some("2026-07-14T06:10:01Z".parse().expect("a time")),
        to: Some("2026-07-14T06:10:05Z".parse().expect("a time")),
        ..LogOptions::default()
    };
    let study = read_with(file("duckdb-snappy.parquet"), &options).expect("it is good");
    assert_eq!(study.channels[0].days[0].count, 3);
}

/// Ten days of a power each minute, a row group for each day.
fn ten_days() -> Vec<u8> {
    let layout = Layout {
        columns: vec!["K1.power [kW]".to_owned()],
        ..Layout::default()
    };
    let mut writer = DayWriter::new(Vec::new(), &layout).expect("into memory");
    for day in 20_000..20_010_i32 {
        let minutes = || 0..1440_i64;
        let times = minutes().map(|m| (i64::from(day) * 1440 + m) * 60_000_000);
        let power = minutes().map(|m| (m * 7 % 330) as f64 / 10.0);
        let rows = DayRows {
            day,
            times: &times.collect::<Vec<_>>(),
            columns: &[power.collect()],
        };
        writer.group(rows).expect("into memory");
    }
    writer.end().expect("into memory")
}

#[test]
fn row_groups_outside_the_time_that_is_asked_for_are_not_read() {
    const DAY: i64 = 86_400_000_000;
    let bytes = bytes::Bytes::from(ten_days());
    for (from, to, read, left_out) in [
        (i64::MIN, i64::MAX, 14_400, 0),
        (20_004 * DAY, 20_006 * DAY, 2880, 11_520),
        // Half of a day needs its whole row group.
        (20_004 * DAY + 1, 20_005 * DAY, 1440, 12_960),
        (20_009 * DAY, i64::MAX, 1440, 12_960),
        (i64::MIN, 20_000 * DAY, 0, 14_400),
    ] {
        let mut log = archive::read::open(bytes.clone()).expect("it is good");
        log.choose(&[0, 1]);
        log.within(0, from, to);
        let (mut rows, mut found) = (TableRows::default(), (0, 0));
        while log.next(&mut rows).expect("it is whole") {
            found = (found.0 + rows.count, found.1 + rows.skipped);
        }
        assert_eq!(found, (read, left_out), "{from} {to}");
    }
}

#[test]
fn what_is_left_out_by_row_groups_changes_nothing_that_is_told() {
    let at = |text: &str| Some(text.parse().expect("a time"));
    let text: String = std::iter::once("time,K1.power [kW]\n".to_owned())
        .chain((0..14_400_i64).map(|m| {
            let time = jiff::Timestamp::from_second((20_000 * 1440 + m) * 60);
            let power = (m % 1440 * 7 % 330) as f64 / 10.0;
            format!("{},{power}\n", time.expect("in range"))
        }))
        .collect();
    let asked = [
        (at("2024-10-07T12:00:00Z"), at("2024-10-09T00:00:00Z")),
        (None, at("2024-10-05T00:00:00+01:00")),
        (at("2030-01-01T00:00:00Z"), None),
    ];
    for (from, to) in asked {
        let options = LogOptions {
            from,
            to,
            ..LogOptions::default()
        };
        let of_parquet = read_with(ten_days(), &options).map(bare);
        let of_text = study::read_log(
            [LogSource::new(
                "log.csv",
                Cursor::new(text.clone().into_bytes()),
            )],
            &station(),
            &options,
        );
        let of_text = of_text
            .map(bare)
            .map_err(|problems| support::told(&problems));
        assert_eq!(of_parquet, of_text);
    }
}

/// Everything but what is told of the file itself.
fn bare(mut study: Study) -> Study {
    study.sources.clear();
    study
}

#[test]
fn several_files_and_kinds_follow_each_other() {
    let text = "time,K1.power [kW]\n2026-07-14T06:10:06Z,7.5\n2026-07-14T06:10:07Z,8.5\n";
    let sources = [
        support::source(file("duckdb-snappy.parquet")).expect("it is good"),
        LogSource::new("log.csv", text.as_bytes()),
    ];
    let study = study::read_log(sources, &station(), &LogOptions::default());
    let study = study.unwrap_or_else(|problems| panic!("{}", support::told(&problems)));
    let power = study.channels[0].days[0];
    near(
        power.mean / 1e3,
        mean(&[33.4, 33.5, 9.2, 9.3, 0.0, 7.5, 8.5]),
    );
    assert_eq!(study.rows, 8);
}
