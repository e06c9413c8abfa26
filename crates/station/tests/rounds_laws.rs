//! Laws of the rounds reader over broken, long and slow input: it never panics, says something
//! about every row exactly once and in order, says the same again, and lets no number through that
//! cannot be read.

mod common;

use std::io::{self, Read};

use jiff::Timestamp;
use jiff::tz::AmbiguousOffset;
use station::file::problem::Problem;
use station::file::rounds::{Reader, Row};
use station::model::{Asset, Station};
use station::point::{Dimension, Point};
use station::round::{Round, Value};

fn read(bytes: &[u8], station: &Station) -> Result<Vec<Row>, Vec<Problem>> {
    let reader = Reader::open(bytes, station)?;
    Ok(reader
        .map(|row| row.expect("bytes in memory can be read"))
        .collect())
}

fn line(row: &Row) -> u64 {
    match row {
        Row::Round(round) => round.line,
        Row::Rejected(rejection) => rejection.line,
    }
}

/// Checks what holds for any input at all.
fn check(bytes: &[u8], station: &Station) -> Result<Vec<Row>, Vec<Problem>> {
    let rows = read(bytes, station);
    assert_eq!(rows, read(bytes, station), "the same again");
    let Ok(good) = &rows else { return rows };
    let lines = bytes.split(|&b| b == b'\n').count() as u64;
    for pair in good.windows(2) {
        assert!(
            line(&pair[0]) < line(&pair[1]),
            "each row once, in file order"
        );
    }
    let mut above = None;
    for row in good {
        assert!((2..=lines).contains(&line(row)));
        match row {
            Row::Rejected(rejection) => {
                assert!(!rejection.problem.is_empty() && !rejection.hint.is_empty());
                assert!(
                    rejection.problem.chars().count() < 300,
                    "a sentence: {rejection}"
                );
            }
            Row::Round(round) => {
                assert!(
                    above.is_none_or(|above| above <= round.time),
                    "time goes on"
                );
                above = Some(round.time);
                for reading in &round.readings {
                    let (low, high) = reading.id.point.plausible();
                    match (reading.value, reading.id.point.dimension()) {
                        (Value::Number(n), _) => assert!(low <= n && n <= high, "{reading:?}"),
                        (Value::Word(word), Dimension::Words(words)) => {
                            assert!(words.contains(&word));
                        }
                        other => panic!("a word where a number belongs: {other:?}"),
                    }
                }
                for step in &round.counter_steps {
                    assert!(step.increase >= 0.0 && step.increase.is_finite());
                    assert!(step.since <= round.time && step.id.point.is_counter());
                }
            }
        }
    }
    rows
}

const SOUND: &str = "time;who;K1.state;K1.pressure [bar(g)];K1.oil_temperature [degC];K1.hours_run [h];\
K1.starts;K1.energy [MWh];MAIN.flow [m3/min(ANR)];site.humidity [%];R1.drain.test;done;note\n\
2026-10-24 07:10;Ana;loaded;7,1;84;9985;120;99,1;5,1;62;strong;;\n\
2026-10-24 19:10;\"Rui\";Unloaded;7.4;80;9991;122;99,3;;70;weak;\"K1:clean mat; K2:change oil\";\"two\nlines\"\n\
2026-10-25 01:30;;stopped;0;40;9998;125;99,9;0;80;;;\"said \"\"no\"\"\"\n\
2026-10-25 01:10;;loaded;7;85;9999;126;100,1;5;81;;;\n\
2026-10-25T07:10:00Z;;loaded;7;85;4;127;0,2;5;82;;;\n\
2026-10-26 07:10;;loaded;7;85;24;1;0,4;5;83;;K1:replace counter starts;\n\
2026-10-27 07:10;;loaded;7;85;44;9;0,6;5;84;;;\n";

const PIECES: &[&str] = &[
    "\"",
    "\"\"",
    ";",
    ",",
    "\t",
    "\n",
    "\r\n",
    "\r",
    "\0",
    "\u{feff}",
    "é",
    "−",
    "1e999",
    "NaN",
    "-",
    ".",
    "7,5",
    "99999",
    "0",
    "2026-03-29 01:30",
    "2026-10-25 01:30",
    "Z",
    "+14:00",
    "loaded",
    "K1:",
    "replace counter hours_run",
    "K1.oil_temperature [degF]",
    "[",
    "]",
    "#",
    " ",
    "time",
    "9",
];

fn mutate(bytes: &mut Vec<u8>, random: &mut fastrand::Rng) {
    for _ in 0..random.usize(1..=4) {
        let at = random.usize(0..=bytes.len());
        let to = (at + random.usize(0..8)).min(bytes.len());
        match random.u8(0..6) {
            0 => drop(bytes.drain(at..to)),
            1 => bytes.insert(at, random.u8(..)),
            2 => {
                let piece = PIECES[random.usize(0..PIECES.len())];
                bytes.splice(at..to, piece.bytes()).for_each(drop);
            }
            3 => {
                let piece = PIECES[random.usize(0..PIECES.len())];
                bytes.splice(at..at, piece.bytes()).for_each(drop);
            }
            4 => {
                let mut lines: Vec<Vec<u8>> =
                    bytes.split(|&b| b == b'\n').map(<[u8]>::to_vec).collect();
                let (a, b) = (random.usize(0..lines.len()), random.usize(0..lines.len()));
                if random.bool() && a > 0 && b > 0 {
                    lines.swap(a, b);
                } else {
                    lines.insert(a.max(1), lines[b].clone());
                }
                *bytes = lines.join(&b'\n');
            }
            _ => {
                if let Some(byte) = bytes.get_mut(at) {
                    *byte ^= 1 << random.u8(0..8);
                }
            }
        }
    }
}

#[test]
fn any_spoilt_file_is_told_about_row_by_row() {
    let station = common::station("Europe/Lisbon");
    let sound = check(SOUND.as_bytes(), &station).expect("a sound header");
    assert!(
        sound.iter().all(|row| matches!(row, Row::Round(_))),
        "{sound:?}"
    );
    assert_eq!(sound.len(), 7);
    let mut random = fastrand::Rng::with_seed(20_260_714);
    let (mut headers, mut taken, mut rejected, mut tried) = (0_u64, 0_u64, 0_u64, 0_u64);
    while tried < 60_000 {
        tried += 1;
        let mut bytes = SOUND.as_bytes().to_vec();
        if random.u8(0..4) > 0 {
            // Leave the header whole, so that the rows are reached.
            let head = SOUND.find('\n').map_or(0, |at| at + 1);
            let mut rows = bytes.split_off(head);
            mutate(&mut rows, &mut random);
            bytes.extend(rows);
        } else {
            mutate(&mut bytes, &mut random);
        }
        match check(&bytes, &station) {
            Err(problems) => {
                assert!(!problems.is_empty());
                headers += 1;
            }
            Ok(rows) => {
                let good = rows
                    .iter()
                    .filter(|row| matches!(row, Row::Round(_)))
                    .count() as u64;
                taken += good;
                rejected += rows.len() as u64 - good;
            }
        }
    }
    assert!(
        headers > tried / 50 && taken > tried && rejected > tried / 2,
        "the spoiling spoils"
    );
}

#[test]
fn every_row_that_is_not_blank_is_told_about_once() {
    let station = common::station("Europe/Lisbon");
    let mut random = fastrand::Rng::with_seed(7);
    for _ in 0..300 {
        let mut text = String::from("time,K1.hours_run [h],K1.starts,K1.pressure [bar(g)]\n");
        let mut rows = 0;
        for i in 0..random.u32(0..60) {
            if random.u8(0..10) == 0 {
                text.push_str(["\n", " \n", ",,,\n"][random.usize(0..3)]);
                continue;
            }
            rows += 1;
            let hours = if random.u8(0..5) == 0 {
                random.u32(0..9999)
            } else {
                900 + i
            };
            let starts = if random.bool() {
                random.u32(0..200).to_string()
            } else {
                String::new()
            };
            let day = 1 + if random.u8(0..8) == 0 {
                random.u32(0..28)
            } else {
                i % 28
            };
            let month = 1 + i / 28;
            text.push_str(&format!(
                "2026-{month:02}-{day:02} 12:00,{hours},{starts},7.1\n"
            ));
        }
        assert_eq!(
            check(text.as_bytes(), &station)
                .expect("a sound header")
                .len(),
            rows
        );
    }
}

/// Gives one byte at a time, and fails at the end.
#[derive(Debug)]
struct Slow<'a>(&'a [u8], bool);

impl Read for Slow<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        match self.0.split_first() {
            Some((first, rest)) => {
                self.0 = rest;
                into[0] = *first;
                Ok(1)
            }
            None if self.1 => Err(io::Error::other("the cable was pulled")),
            None => Ok(0),
        }
    }
}

#[test]
fn it_does_not_matter_how_the_bytes_come() {
    let station = common::station("Europe/Lisbon");
    let slow = Reader::open(Slow(SOUND.as_bytes(), false), &station).expect("a sound header");
    let rows: Vec<Row> = slow.map(|row| row.expect("no fault")).collect();
    assert_eq!(Ok(rows), read(SOUND.as_bytes(), &station));
}

#[test]
fn a_fault_comes_after_the_rows_before_it() {
    let station = common::station("Europe/Lisbon");
    let long = format!("time,note\n2026-07-14 07:10,{}\n", "x".repeat(5000));
    let mut reader = Reader::open(Slow(long.as_bytes(), true), &station).expect("a sound header");
    assert!(matches!(reader.next(), Some(Ok(Row::Round(_)))));
    let fault = reader.next().expect("the fault").expect_err("a fault");
    assert_eq!(
        fault.to_string(),
        "the rounds could not be read on after line 2"
    );
    assert_eq!(fault.error.to_string(), "the cable was pulled");
    assert!(reader.next().is_none());

    let problems = Reader::open(Slow(b"ti", true), &station).expect_err("no header");
    assert_eq!(
        problems[0].what,
        "the file cannot be read: the cable was pulled"
    );
}

#[test]
fn long_cells_and_lines_are_held_within_bounds() {
    let station = common::station("Europe/Lisbon");
    let note = "x".repeat(100_000);
    let number = "9".repeat(100_000);
    let line = "y".repeat(1 << 21);
    let text = format!(
        "time,note,K1.pressure [bar(g)]\n2026-07-14 07:10,{note},7.1\n2026-07-14 07:20,,{number}\n\
         {note},,7.1\n2026-07-14 07:30,{line},7.1\n2026-07-14 07:40,\"{note}\n{line},7\n\
         2026-07-14 07:50,,7.2\n"
    );
    let rows = check(text.as_bytes(), &station).expect("a sound header");
    let told: Vec<String> = rows
        .iter()
        .map(|row| match row {
            Row::Round(round) => format!("line {}: taken", round.line),
            Row::Rejected(rejection) => format!("line {}: {}", rejection.line, rejection.problem),
        })
        .collect();
    assert_eq!(
        told,
        [
            "line 2: taken",
            "line 3: `9999999999999999999999999999999999999999…` is too large a number",
            "line 4: `xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx…` is not a time",
            "line 5: the line is longer than 1 MiB",
            "line 6: a double quote is opened and not closed",
            "line 7: the line is longer than 1 MiB",
            "line 8: taken",
        ]
    );
}

#[test]
fn rows_are_held_back_no_more_than_bounded() {
    let station = common::station("Europe/Lisbon");
    // The counter is read once and never again: the rows behind it still come out.
    let mut text = String::from("time,K1.hours_run [h]\n2026-07-14 07:10:00Z,8000\n");
    for second in 0..3000 {
        text.push_str(&format!(
            "2026-07-14T08:{:02}:{:02}Z,\n",
            second / 60,
            second % 60
        ));
    }
    let text = text.replace("10:00Z", "10");
    let mut pulled = 0;
    struct Counting<'a, 'b>(&'a [u8], &'b mut usize);
    impl Read for Counting<'_, '_> {
        fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
            let end = into.len().min(64);
            let n = self.0.read(&mut into[..end])?;
            *self.1 += n;
            Ok(n)
        }
    }
    let mut reader =
        Reader::open(Counting(text.as_bytes(), &mut pulled), &station).expect("a sound header");
    assert!(matches!(reader.next(), Some(Ok(Row::Round(round))) if round.line == 2));
    drop(reader);
    assert!(
        pulled < 40_000,
        "the first row came out after {pulled} bytes of {}",
        text.len()
    );
}

#[test]
fn steps_are_found_by_thing_and_counter() {
    let station = common::station("Europe/Lisbon");
    let text = "time,K1.starts,K2.starts\n2026-07-14 07:10,1,1\n2026-07-15 07:10,4,\n";
    let rows = read(text.as_bytes(), &station).expect("a sound header");
    let Row::Round(last) = &rows[1] else {
        panic!("{rows:?}")
    };
    let step = last
        .step(Asset::Machine(0), Point::Starts)
        .expect("it was read twice");
    assert!((step.increase - 3.0).abs() < 1e-12);
    assert_eq!(last.step(Asset::Machine(1), Point::Starts), None);
}

/// Local times read as the time zone database has them, whatever was read before.
#[test]
fn local_times_are_those_of_the_time_zone() {
    let mut random = fastrand::Rng::with_seed(11);
    for zone in [
        "Europe/Lisbon",
        "America/New_York",
        "Australia/Lord_Howe",
        "Africa/Casablanca",
        "Asia/Kathmandu",
        "Pacific/Apia",
        "UTC",
    ] {
        let station = common::station(zone);
        let zone = &station.site.time_zone;
        // Over sixty years in steps from minutes to a week, and around every change of the clocks.
        let (mut second, end) = (315_532_800_i64, 2_208_988_800_i64);
        let start = Timestamp::from_second(second).expect("within range");
        let mut seconds: Vec<i64> = zone
            .following(start)
            .map(|change| change.timestamp().as_second())
            .take_while(|&change| change < end)
            .flat_map(|change| (-10..=10).map(move |step| change + 900 * step))
            .collect();
        while second < end {
            seconds.push(second);
            let size = random.u32(1..5);
            second += 60 * random.i64(1..10_i64.pow(size));
        }
        seconds.sort_unstable();
        let times: Vec<Timestamp> = seconds
            .iter()
            .filter_map(|&second| Timestamp::from_second(second).ok())
            .collect();
        let mut text = String::from("time\n");
        for &time in &times {
            text.push_str(
                &zone
                    .to_datetime(time)
                    .strftime("%Y-%m-%d %H:%M:%S\n")
                    .to_string(),
            );
        }
        let rows = read(text.as_bytes(), &station).expect("a sound header");
        assert_eq!(rows.len(), times.len());
        let mut twice = 0;
        for (row, &time) in rows.iter().zip(&times) {
            let Row::Round(round) = row else {
                panic!("{row:?}")
            };
            let local = zone.to_datetime(time);
            let fold = match zone.to_ambiguous_timestamp(local).offset() {
                AmbiguousOffset::Fold { before, .. } => before.to_timestamp(local).ok(),
                _ => None,
            };
            twice += u32::from(fold.is_some());
            assert!(
                round.time == time || Some(round.time) == fold,
                "{time} in {zone:?}"
            );
        }
        assert!(
            twice > 0
                || zone
                    .iana_name()
                    .is_some_and(|n| n == "UTC" || n == "Asia/Kathmandu")
        );
    }
}

/// A counter that only counts, read to the hour by a person, with five or four digits: every row is
/// taken and the steps add up, across roll-overs too. One misread digit costs its own row alone.
#[test]
fn the_steps_of_a_counter_add_up() {
    let station = common::station("UTC");
    let mut random = fastrand::Rng::with_seed(3);
    let mut turned = 0;
    for _ in 0..400 {
        let turn = if random.bool() { 10_000_u64 } else { 100_000 };
        let mut hours = (turn - random.u64(1..2000)) as f64;
        let mut minute = 29_500_000_i64;
        let mut rows = Vec::new();
        for _ in 0..random.usize(8..40) {
            rows.push((minute, hours as u64));
            let minutes = random.i64(60..4000);
            minute += minutes;
            hours += minutes as f64 / 60.0 * random.f64();
        }
        let text = |spoilt: Option<(usize, u64)>| {
            let mut text = String::from("time,K1.hours_run [h]\n");
            for (i, &(minute, hours)) in rows.iter().enumerate() {
                let time = Timestamp::from_second(minute * 60).expect("within range");
                let shown = spoilt.filter(|s| s.0 == i).map_or(hours % turn, |s| s.1);
                text.push_str(&format!("{time},{shown}\n"));
            }
            check(text.as_bytes(), &station).expect("a sound header")
        };
        let total = |rows: &[Row]| -> f64 {
            let steps = |round: &Round| round.counter_steps.iter().map(|s| s.increase).sum::<f64>();
            rows.iter()
                .map(|r| {
                    if let Row::Round(round) = r {
                        steps(round)
                    } else {
                        0.0
                    }
                })
                .sum()
        };
        let (first, last) = (rows[0].1, rows[rows.len() - 1].1);
        turned += u32::from(first < turn && last >= turn);
        let good = text(None);
        assert!(
            good.iter().all(|row| matches!(row, Row::Round(_))),
            "{good:?}"
        );
        assert!((total(&good) - (last - first) as f64).abs() < 1e-6);

        let at = random.usize(1..rows.len() - 1);
        let near_the_turn = rows[at - 1].1 / turn != rows[at + 1].1 / turn;
        if !near_the_turn {
            let wrong = (rows[at].1 % turn) / 10;
            let spoilt = text(Some((at, wrong)));
            let lost = |row: &Row| matches!(row, Row::Rejected(_));
            assert_eq!(spoilt.iter().position(lost), Some(at), "{spoilt:?}");
            assert_eq!(spoilt.iter().filter(|row| lost(row)).count(), 1);
            assert!((total(&spoilt) - (last - first) as f64).abs() < 1e-6);
        }
    }
    assert!(turned > 20);
}
