//! What is kept out of the sums, and told: from where, to where, how many rows.

mod support;

use study::{LeftOut, LogOptions, Study, Why};

use support::{near, read, read_with, rows};

const POWER: &str = "time,K1.power [kW]";

/// A power that moves a little.
fn wavy(second: u32) -> String {
    format!("{}.{}", 30 + second % 3, second * 7 % 10)
}

fn left_out(study: &Study) -> Vec<(Why, String, String, u64)> {
    let one = |l: &LeftOut| (l.why, clock(l.from), clock(l.to), l.rows);
    study.left_out.iter().map(one).collect()
}

fn clock(time: jiff::Timestamp) -> String {
    time.strftime("%d %H:%M:%S").to_string()
}

fn told(why: Why, from: &str, to: &str, rows: u64) -> (Why, String, String, u64) {
    (why, from.to_owned(), to.to_owned(), rows)
}

#[test]
fn a_gap_is_told_and_adds_nothing() {
    let study = read(rows(POWER, (0..600).chain(1200..1800), wavy));
    assert_eq!(
        left_out(&study),
        [told(Why::Gap, "01 00:09:59", "01 00:20:00", 0)]
    );
    let day = &study.channels[0].days[0];
    assert_eq!(day.count, 1200);
    near(day.covered_s, 1198.0);
    // Two rows missing are no gap at one row a second.
    let study = read(rows(POWER, (0..600).chain(602..1800), wavy));
    assert_eq!(left_out(&study), []);
    near(study.channels[0].days[0].covered_s, 1799.0);
}

#[test]
fn a_gap_of_one_channel_is_its_own() {
    let study = read(rows(
        "time,K1.power [kW],MAIN.pressure [bar(g)]",
        0..1000,
        |s| match s {
            300..400 => format!("{},", wavy(s)),
            500..502 => format!("NaN,7.{}", s % 10),
            _ => format!("{},7.{}", wavy(s), s % 10),
        },
    ));
    assert_eq!(
        left_out(&study),
        [told(Why::Gap, "01 00:04:59", "01 00:06:40", 0)]
    );
    assert_eq!(study.left_out[0].channel, Some(study.channels[1].channel));
    let [power, pressure] = [&study.channels[0].days[0], &study.channels[1].days[0]];
    assert_eq!((power.count, pressure.count), (998, 900));
    near(power.covered_s, 999.0);
    near(pressure.covered_s, 999.0 - 101.0);
}

#[test]
fn a_channel_logged_now_and_then_has_an_interval_of_its_own() {
    let study = read(rows(
        "time,K1.power [kW],site.ambient [degC]",
        0..3600,
        |s| {
            if s.is_multiple_of(60) {
                format!("{},{}", wavy(s), 20 + s / 60 % 3)
            } else {
                format!("{},", wavy(s))
            }
        },
    ));
    assert_eq!(left_out(&study), []);
    let ambient = &study.channels[1].days[0];
    assert_eq!(ambient.count, 60);
    near(ambient.covered_s, 59.0 * 60.0);
}

#[test]
fn repeats_and_a_clock_set_back_are_left_out() {
    let study = read(rows(POWER, (0..100).chain(99..200), wavy));
    assert_eq!(
        left_out(&study),
        [told(Why::Repeat, "01 00:01:39", "01 00:01:39", 1)]
    );
    let study = read(rows(POWER, (0..100).chain(40..200), wavy));
    assert_eq!(
        left_out(&study),
        [
            told(Why::ClockSetBack, "01 00:00:40", "01 00:01:38", 59),
            told(Why::Repeat, "01 00:01:39", "01 00:01:39", 1),
        ]
    );
    assert_eq!(study.channels[0].days[0].count, 200);
    assert_eq!(study.rows, 260);
}

#[test]
fn one_misread_time_does_not_cost_the_rest() {
    let study = read(rows(POWER, (0..100).chain([80_000]).chain(100..200), wavy));
    assert_eq!(
        left_out(&study),
        [told(Why::TimeMisread, "01 22:13:20", "01 22:13:20", 1)]
    );
    assert_eq!(study.channels[0].days[0].count, 200);
}

#[test]
fn a_stuck_channel_is_left_out_from_its_first_value() {
    let study = read(rows(POWER, 0..20_000, |s| {
        if (5000..12_000).contains(&s) {
            "31.5".to_owned()
        } else {
            wavy(s)
        }
    }));
    let found = left_out(&study);
    assert_eq!(
        found,
        [told(Why::Stuck, "01 01:23:20", "01 03:19:59", 7000)]
    );
    assert_eq!(study.left_out[0].value, Some(31_500.0));
    let day = &study.channels[0].days[0];
    assert_eq!(day.count, 13_000);
    near(day.covered_s, 4999.0 + 7999.0);
    near(
        study.machines[0].days[0].hours[2],
        (4999.0 + 7999.0) / 3600.0,
    );
}

#[test]
fn a_channel_at_its_end_is_saturated() {
    let study = read(rows("time,MAIN.pressure [bar(g)]", 0..20_000, |s| {
        if s > 10_000 {
            "10.00".to_owned()
        } else {
            format!("7.{:02}", s * 7 % 100)
        }
    }));
    assert_eq!(
        left_out(&study),
        [told(Why::Saturated, "01 02:46:41", "01 05:33:19", 9999)]
    );
}

#[test]
fn a_machine_that_is_off_is_not_stuck() {
    let study = read(rows(
        "time,K1.power [kW],MAIN.pressure [bar(g)]",
        0..20_000,
        |_| "0.3,0.0".to_owned(),
    ));
    assert_eq!(left_out(&study), []);
    near(study.machines[0].days[0].hours[0], 19_999.0 / 3600.0);
}

#[test]
fn only_what_is_asked_for_is_counted() {
    let at = |text: &str| text.parse().expect("a time");
    let options = LogOptions {
        from: Some(at("2026-01-01T00:10:00Z")),
        to: Some(at("2026-01-01T00:20:00Z")),
        ..LogOptions::default()
    };
    let study = read_with(rows(POWER, 0..3600, wavy), "UTC", &options).expect("good");
    assert_eq!(study.channels[0].days[0].count, 600);
    assert_eq!((study.rows, study.left_out_total), (3600, 0));
    let none = LogOptions {
        to: Some(at("2025-01-01T00:00:00Z")),
        ..LogOptions::default()
    };
    let answer = read_with(rows(POWER, 0..10, wavy), "UTC", &none);
    assert_eq!(
        answer.err().as_deref(),
        Some("no row lies in the time that is asked for\n  hint: check from when to when")
    );
}
