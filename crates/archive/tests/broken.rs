//! Logs in Parquet that are wrong in one way each, and what is said about them.

mod support;

use archive::write::{DayRows, DayWriter, Layout};
use study::LogOptions;
use study::table::{Table, TableRows};

use support::{file, read, read_with};

fn refused(bytes: Vec<u8>) -> String {
    read(bytes)
        .err()
        .unwrap_or_else(|| "it was accepted".to_owned())
}

/// A file of one row group with a power each second.
fn written(rows: usize) -> Vec<u8> {
    let layout = Layout {
        columns: vec!["K1.power [kW]".to_owned()],
        ..Layout::default()
    };
    let mut writer = DayWriter::new(Vec::new(), &layout).expect("into memory");
    let times: Vec<i64> = (0..rows as i64).map(|s| s * 1_000_000).collect();
    let power: Vec<f64> = (0..rows).map(|s| (s % 300) as f64 / 10.0).collect();
    writer
        .group(DayRows {
            day: 0,
            times: &times,
            columns: &[power],
        })
        .expect("into memory");
    writer.end().expect("into memory")
}

#[test]
fn what_cannot_be_used_at_all_is_refused() {
    let good = file("duckdb-snappy.parquet");
    let mut cut = good.clone();
    cut.truncate(good.len() - 20);
    let mut encrypted = good.clone();
    encrypted[..4].copy_from_slice(b"PARE");
    for (bytes, message) in [
        (
            cut,
            "the file is Parquet, and damaged or not whole: Invalid Parquet file. Corrupt footer\n  hint: check that it \
             was copied whole",
        ),
        (
            b"PAR1".to_vec(),
            "the file is Parquet, and damaged or not whole: Parquet file too small. Size is 4 but need 8\n  hint: \
             check that it was copied whole",
        ),
        (
            encrypted,
            "the file is Parquet, and encrypted\n  hint: write it without encryption",
        ),
        (
            file("duckdb-lz4.parquet"),
            "the pages of the file are packed with LZ4_RAW\n  hint: write it with zstd, snappy or gzip, or unpacked",
        ),
        (
            file("duckdb-no-time.parquet"),
            "header: there is no column `time`\n  hint: name a column `time`, or map the logger's own: `\"Clock\" = \
             \"time\"`",
        ),
        (
            file("duckdb-wrong-types.parquet"),
            "time: this column holds numbers, not times\n  hint: write it as timestamps, or as text like \
             `2026-07-14T07:10:05Z`\nK1.power [kW]: this column holds lists, not numbers\n  hint: write it as numbers, or \
             begin its name with `#` to leave it out: `#K1.power [kW]`",
        ),
        (
            file("duckdb-empty.parquet"),
            "there are no rows under the header\n  hint: check that the logger recorded, and that the file was copied \
             whole",
        ),
    ] {
        assert_eq!(refused(bytes), message);
    }
}

#[test]
fn rows_that_go_back_in_time_are_left_out_and_told() {
    let study = read(file("duckdb-unsorted.parquet")).expect("the first row counts");
    let told: Vec<_> = study
        .left_out
        .iter()
        .map(|l| (l.why.text(), l.rows))
        .collect();
    assert_eq!(told, [("clock set back", 5)]);
}

#[test]
fn a_file_that_is_damaged_inside_is_read_as_far_as_it_goes() {
    let mut bytes = written(200_000);
    // In the pages of the power, which stand behind those of the time.
    let middle = bytes.len() / 2;
    bytes[middle..middle + 64].fill(0xFF);
    let study = read(bytes);
    let fault = match study {
        Ok(study) => study.sources[0].fault.clone().unwrap_or_default(),
        Err(problem) => problem,
    };
    assert!(fault.contains("it is damaged or not whole"), "{fault}");
}

#[test]
fn a_page_that_asks_for_too_much_is_refused_before_it_gets_it() {
    let good = bytes::Bytes::from(written(200_000));
    let file = parquet::file::serialized_reader::SerializedFileReader::new(good.clone());
    let file = file.expect("it is good");
    let chunk = parquet::file::reader::FileReader::metadata(&file)
        .row_group(0)
        .column(1)
        .clone();
    let (start, _) = chunk.byte_range();
    // Behind two bytes that say what kind of page it is, and one that a number follows.
    let at = usize::try_from(start).expect("it is short") + 3;
    let length = good[at..].iter().position(|byte| byte & 0x80 == 0);
    let end = at + length.expect("it ends") + 1;
    let asks = |number: &[u8]| {
        let mut bytes = good[..at].to_vec();
        bytes.extend_from_slice(number);
        bytes.extend_from_slice(&good[end..]);
        bytes
    };
    assert!(read(asks(&good[at..end])).is_ok());
    for (number, words) in [
        (
            &[0xFE, 0xFF, 0xFF, 0xFF, 0x0F][..],
            "a page says that it is 2147483647 bytes long",
        ),
        (
            &[0xFF, 0xFF, 0xFF, 0xFF, 0x0F],
            "the head of a page cannot be read",
        ),
    ] {
        let told = match read(asks(number)) {
            Ok(study) => study.sources[0].fault.clone().unwrap_or_default(),
            Err(problem) => problem,
        };
        assert!(told.contains(words), "{told}");
    }
}

#[test]
fn a_huge_row_group_is_read_some_rows_at_a_time() {
    let bytes = bytes::Bytes::from(written(500_000));
    let mut log = archive::read::open(bytes).expect("it is good");
    log.choose(&[0, 1]);
    let (mut rows, mut all) = (TableRows::default(), 0);
    while log.next(&mut rows).expect("it is whole") {
        assert!(rows.count <= 1 << 16, "{}", rows.count);
        all += rows.count;
    }
    assert_eq!(all, 500_000);
    let study = read(written(500_000)).expect("it is good");
    assert_eq!((study.rows, study.rejected_total), (500_000, 0));
}

#[test]
fn a_bad_cell_is_left_out_and_told_by_its_row() {
    let layout = Layout {
        columns: vec!["K1.power [kW]".to_owned(), "K1.running".to_owned()],
        ..Layout::default()
    };
    let mut writer = DayWriter::new(Vec::new(), &layout).expect("into memory");
    let times = [0, 1_000_000, -5, 3_000_000];
    let columns = [vec![5.0, 1e9, 7.0, 8.0], vec![0.0, 1.0, f64::INFINITY, 1.0]];
    writer
        .group(DayRows {
            day: 0,
            times: &times,
            columns: &columns,
        })
        .expect("into memory");
    let options = LogOptions {
        workers: Some(1),
        ..LogOptions::default()
    };
    let study = read_with(writer.end().expect("into memory"), &options).expect("some is good");
    let told: Vec<String> = study
        .rejected
        .iter()
        .map(|r| format!("{} {}: {}", r.line, r.column, r.problem))
        .collect();
    assert_eq!(
        told,
        [
            "2 K1.power [kW]: `1000000000` is outside what can be read here, 0 to 2000 kW",
            "3 time: there is no day `1969-12-31T23:59:59.999995`",
        ]
    );
    assert_eq!(study.rejected_total, 2);
}
