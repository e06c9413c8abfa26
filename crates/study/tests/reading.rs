//! Logs as loggers write them: each form gives the same readings.

mod support;

use std::io::Write;

use study::{Channel, DateOrder, LogOptions, LogSource, read_log};

use support::{mean, near, read, read_with, rows, source, station};

#[test]
fn every_form_of_the_same_rows_gives_the_same_figures() {
    for text in [
        "time,K1.power [kW]\n2026-07-14 07:10:00,33.4\n2026-07-14 07:10:01,9.25\n",
        "\u{feff}time,K1.power [kW]\r\n2026-07-14 07:10:00,33.4\r\n2026-07-14 07:10:01,9.25\r\n",
        "time;K1.power [kW]\n2026-07-14 07:10:00;33,4\n2026-07-14 07:10:01;9,25",
        "time\tK1.power [W]\n2026-07-14 07:10:00\t33400\n2026-07-14 07:10:01\t9250\n",
        "\"time\",\"K1.power [kW]\"\n\"2026-07-14 07:10:00\",\"33.4\"\n\"2026-07-14 07:10:01\",\"9.25\"\n",
        "\n\nZeit,K1.power [kW]\n2026-07-14T07:10:00,33.4\n\n2026-07-14T07:10:01, 9.25 \n",
        "K1.power [kW],time\n33.4,2026-07-14T07:10:00Z\n9.25,2026-07-14T07:10:01Z\n",
        "time,K1.power [kW]\n2026-07-14T08:10:00+01:00,33.4\n2026-07-14T08:10:01+01:00,9.25\n",
        "time,K1.power [kW]\n14.07.2026 07:10:00,33.4\n14.07.2026 07:10:01,9.25\n",
        "time,K1.power [kW]\n07/14/2026 7:10:00 AM,33.4\n07/14/2026 7:10:01 AM,9.25\n",
        "time,K1.power [kW],Serial\n2026/07/14 07:10:00.000,3.34e1,x\n2026/07/14 07:10:01.000,+9.25,\"y,z\"\n",
    ] {
        let study = read(text);
        assert_eq!((study.rows, study.rejected_total), (2, 0), "{text}");
        near(mean(&study, 0), 21_325.0);
        near(study.channels[0].days[0].integral, 21_325.0);
        assert_eq!(
            study.from.map(|t| t.to_string()).as_deref(),
            Some("2026-07-14T07:10:00Z"),
            "{text}"
        );
        assert_eq!(study.sources[0].interval_s, Some(1.0));
    }
}

#[test]
fn what_was_found_out_is_told() {
    let study =
        read("time;K1.power [kW];Serial\n01/02/2026 23:59:59;33,4;7\n02/02/2026 00:00:00;9,2;7\n");
    let told = &study.sources[0];
    assert_eq!((told.separator, told.decimal_comma), (Some(';'), true));
    let dates = told.dates.as_ref().expect("it is text");
    assert_eq!(dates.order, DateOrder::DayFirst);
    assert_eq!(
        dates.because,
        "the first number goes up at midnight, line 3"
    );
    assert_eq!(told.columns_left_out, ["Serial"]);
}

#[test]
fn the_order_of_dates_can_be_given() {
    let text = "time,K1.power [kW]\n01/02/2026 12:00,33.4\n";
    let options = LogOptions {
        dates: Some(DateOrder::MonthFirst),
        ..LogOptions::default()
    };
    let study = read_with(text, "UTC", &options).expect("the order is given");
    assert_eq!(
        study.from.map(|t| t.to_string()).as_deref(),
        Some("2026-01-02T12:00:00Z")
    );
}

#[test]
fn packed_files_are_unpacked_and_follow_each_other() {
    let log = |seconds: std::ops::Range<u32>| {
        rows("time,K1.power [kW]", seconds, |s| {
            format!("{}.{}", 30 + s % 4, s % 10)
        })
    };
    let mut gzip = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    gzip.write_all(log(0..1000).as_bytes())
        .expect("into memory");
    let gzip = gzip.finish().expect("into memory");
    let pack = |text: &str| {
        ruzstd::encoding::compress_to_vec(
            text.as_bytes(),
            ruzstd::encoding::CompressionLevel::Fastest,
        )
    };
    // Two frames in one file.
    let second = log(1000..2000);
    let (start, end) = second.split_at(9_999);
    let zstd = [pack(start), pack(end)].concat();
    let packed = [source(gzip), source(zstd), source(log(2000..3000))];
    let study = read_log(packed, &station("UTC"), &LogOptions::default()).expect("good logs");
    let plain = read(log(0..3000));
    assert_eq!(study.channels, plain.channels);
    assert_eq!(study.machines, plain.machines);
    assert_eq!((study.rows, study.left_out_total), (3000, 0));
}

#[test]
fn a_packed_file_that_breaks_off_is_read_as_far_as_it_goes() {
    let log = rows("time,K1.power [kW]", 0..50_000, |s| {
        format!("{}.{}", 30 + s % 4, s * 7 % 10)
    });
    let mut gzip = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    gzip.write_all(log.as_bytes()).expect("into memory");
    let mut gzip = gzip.finish().expect("into memory");
    gzip.truncate(gzip.len() / 2);
    let study = read(gzip);
    assert!(study.rows > 10_000 && study.rows < 40_000, "{}", study.rows);
    assert!(study.sources[0].fault.is_some());
    assert_eq!(study.rejected_total, 0);
}

#[test]
fn signals_tell_the_state() {
    let study = read(rows("time,Run,Unl", 0..100, |s| match s {
        0..20 => "0,1".to_owned(),
        20..50 => "1,0".to_owned(),
        50..70 => "on,true".to_owned(),
        _ => "1,0".to_owned(),
    }));
    assert_eq!(
        study.channels.iter().map(|c| c.channel).collect::<Vec<_>>(),
        [Channel::Running(0), Channel::Loaded(0)]
    );
    let day = &study.machines[0].days[0];
    for (hours, seconds) in study::plain(&day.hours).iter().zip([20.0, 20.0, 59.0]) {
        near(hours * 3600.0, seconds);
    }
    assert_eq!(
        (day.loads, day.unloads, day.starts, day.stops),
        (2, 1, 1, 0)
    );
}

#[test]
fn a_caller_can_map_headers() {
    let options = LogOptions {
        map: vec![("P (kW)".to_owned(), "K2.power [kW]".to_owned())],
        ..LogOptions::default()
    };
    let study = read_with("time,P (kW)\n2026-01-01 00:00:00,5\n", "UTC", &options).expect("mapped");
    assert_eq!(study.channels[0].channel, Channel::power_of(1));
}

#[test]
fn the_clocks_go_back_and_forward() {
    // In Lisbon 01:00…01:59 comes twice on 25 October 2026 and not at all on 29 March.
    let mut text = "time,K1.power [kW]\n".to_owned();
    for hour in ["00", "01", "01", "02"] {
        for minute in 0..60 {
            text.push_str(&format!(
                "2026-10-25 {hour}:{minute:02}:00,{}\n",
                minute % 7
            ));
        }
    }
    let study = read_with(text, "Europe/Lisbon", &LogOptions::default()).expect("good");
    assert_eq!(
        (study.rows, study.left_out_total, study.rejected_total),
        (240, 0, 0)
    );
    near(study.channels[0].days[0].covered_s, 239.0 * 60.0);
    let text =
        "time,K1.power [kW]\n2026-03-29 00:59:00,1\n2026-03-29 01:00:00,2\n2026-03-29 02:00:00,3\n";
    let study = read_with(text, "Europe/Lisbon", &LogOptions::default()).expect("good");
    assert_eq!(
        study.rejected[0].problem,
        "`2026-03-29 01:00:00` does not exist: the clocks go forward over it"
    );
    near(study.channels[0].days[0].covered_s, 60.0);
}

#[test]
fn a_long_log_without_a_sign_of_its_order_is_looked_at_further() {
    // 1 February: the first sign comes at midnight, far behind the first bytes.
    let mut text = "time,K1.power [kW]\n".to_owned();
    for second in (0..2 * 86_400).step_by(5) {
        let (day, hour, minute) = (1 + second / 86_400, second / 3600 % 24, second / 60 % 60);
        text.push_str(&format!(
            "{day:02}/02/2026 {hour:02}:{minute:02}:{:02},{}\n",
            second % 60,
            second % 11
        ));
    }
    let study = read(text);
    let dates = study.sources[0].dates.as_ref();
    assert_eq!(dates.map(|told| told.order), Some(DateOrder::DayFirst));
    assert_eq!(study.channels[0].days.len(), 2);
}

#[test]
fn progress_is_told() {
    let text = rows("time,K1.power [kW]", 0..5000, |s| format!("{}", s % 9));
    let bytes = std::sync::atomic::AtomicU64::new(0);
    let tell = |so_far: u64| {
        bytes.fetch_max(so_far, std::sync::atomic::Ordering::Relaxed);
    };
    let options = LogOptions {
        progress: Some(&tell),
        block: 1000,
        ..LogOptions::default()
    };
    let log = LogSource::new("log.csv", std::io::Cursor::new(text.clone().into_bytes()));
    read_log([log], &station("UTC"), &options).expect("good");
    assert_eq!(bytes.into_inner(), text.len() as u64);
}
