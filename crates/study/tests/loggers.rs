//! Several loggers beside each other, each at an interval of its own: every channel keeps its times,
//! and what is told of it is what its logger alone would tell.

mod support;

use std::io::{Cursor, Read};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use study::{
    Channel, LeftOut, LogHolds, LogOptions, LogRows, LogSource, MachineDay, MachineDays, Study,
    Why, log_columns, pass_log, read_log,
};

use support::{near, read, rows, station};

/// A machine that loads for 40 s of every 100.
fn loads(second: u32) -> bool {
    second % 100 < 40
}

fn signals(second: u32) -> String {
    format!("1,{}", u32::from(!loads(second)))
}

fn machine(study: &Study) -> &MachineDays {
    study.machines.first().expect("it is logged")
}

#[test]
fn rows_that_lack_the_signals_leave_the_state_as_it_was() {
    let alone = read(rows("time,Run,Unl", (0..7200).step_by(10), signals));
    let both = read(rows("time,Run,Unl,MAIN.pressure [bar(g)]", 0..7191, |s| {
        let pressure = 6.8 + f64::from(s % 97) * 0.007;
        if s.is_multiple_of(10) {
            format!("{},{pressure:.3}", signals(s))
        } else {
            format!(",,{pressure:.3}")
        }
    }));
    assert_eq!(both.left_out_total, 0);
    let (alone, both) = (machine(&alone), machine(&both));
    let bits = |machine: &MachineDays| machine.days[0].hours.map(f64::to_bits);
    assert_eq!(bits(alone), bits(both));
    assert_eq!(
        (alone.days[0].loads, alone.days[0].unloads),
        (both.days[0].loads, both.days[0].unloads)
    );
    near(alone.confidence, both.confidence);
}

#[test]
fn a_flow_that_few_rows_hold_is_measured_all_the_same() {
    let flow = |s: u32| format!("{:.2}", 3.0 + f64::from(s / 10 % 7) * 0.1);
    let power = |s: u32| if loads(s) { "33.4" } else { "9.2" };
    let study = read(rows(
        "time,K1.power [kW],MAIN.flow [m3/min]",
        0..7201,
        |s| {
            if s.is_multiple_of(10) {
                format!("{},{}", power(s), flow(s))
            } else {
                format!("{},", power(s))
            }
        },
    ));
    let station = &study.station;
    assert!(station.measured);
    let mid = station.delivered_m3.expect("it is measured").mid;
    // Trapezoids of the flow's own readings: 720 steps of 10 s, m³/min.
    let right: f64 = (0..720_u32)
        .map(|step| {
            let at = |step: u32| 3.0 + f64::from(step % 7) * 0.1;
            0.5 * (at(step) + at(step + 1)) / 6.0
        })
        .sum();
    assert!((mid - right).abs() < 1e-6 * right, "{mid} is not {right}");
}

const POWER: &str = "time,K1.power [kW]";
const PRESSURE: &str = "time,MAIN.pressure [bar(g)]";

/// Logs of this station, under the names `0`, `1`, …
fn read_all(logs: &[String], options: &LogOptions<'_>) -> Result<Study, String> {
    let sources = logs
        .iter()
        .enumerate()
        .map(|(at, text)| LogSource::new(at.to_string(), Cursor::new(text.clone().into_bytes())));
    read_log(sources, &station("UTC"), options).map_err(|problems| {
        let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
        told.join("\n")
    })
}

fn together(logs: &[String]) -> Study {
    read_all(logs, &LogOptions::default()).expect("the logs are good")
}

/// What loads and unloads, in thousandths, the same for each second whoever reads it.
fn noise(second: u32, of: u64) -> f64 {
    fastrand::Rng::with_seed(u64::from(second) * 31 + of).f64()
}

fn power(second: u32) -> String {
    let usual = if loads(second) { 33.0 } else { 9.0 };
    format!("{:.3}", usual + 0.4 * noise(second, 1))
}

fn pressure(second: u32) -> String {
    let into = f64::from(second % 100);
    let rise = if loads(second) {
        into / 40.0
    } else {
        (100.0 - into) / 60.0
    };
    format!("{:.4}", 6.8 + 0.7 * rise + 0.01 * noise(second, 2))
}

/// The days of the machine but for the air, which the pressure has a say in.
fn powered(study: &Study) -> Vec<MachineDay> {
    let of = |day: &MachineDay| MachineDay {
        delivered_m3: None,
        ..*day
    };
    machine(study).days.iter().map(of).collect()
}

/// Everything but what is told of the files.
fn bare(mut study: Study) -> Study {
    study.sources.clear();
    study.rows = 0;
    study
}

#[test]
fn a_log_split_by_columns_is_studied_as_the_whole() {
    // A gap of all, a stuck sensor, cells that are missing, a slow channel; longer than what is
    // learned from.
    let seconds = || (0..150_000).filter(|s| !(70_000..71_000).contains(s));
    let cells = |s: u32| {
        [
            power(s),
            if (100_000..106_000).contains(&s) {
                "7.123".to_owned()
            } else {
                pressure(s)
            },
            if s % 613 < 3 {
                String::new()
            } else {
                format!("{:.2}", 24.0 + noise(s, 3))
            },
            if s.is_multiple_of(60) {
                format!("{:.1}", 20.0 + noise(s, 4))
            } else {
                String::new()
            },
        ]
    };
    let names = [
        "K1.power [kW]",
        "MAIN.pressure [bar(g)]",
        "K2.power [kW]",
        "site.ambient [degC]",
    ];
    let of = |columns: &[usize]| {
        let header = columns.iter().map(|&c| names[c]);
        let header: Vec<&str> = std::iter::once("time").chain(header).collect();
        rows(&header.join(","), seconds(), |s| {
            let cells = cells(s);
            let row: Vec<&str> = columns.iter().map(|&c| cells[c].as_str()).collect();
            row.join(",")
        })
    };
    let whole = bare(read(of(&[0, 1, 2, 3])));
    assert!(whole.storage.is_some() && whole.left_out_total >= 2);
    for split in [
        vec![vec![0], vec![1, 2, 3]],
        vec![vec![0, 2], vec![1], vec![3]],
    ] {
        let logs: Vec<String> = split.iter().map(|columns| of(columns)).collect();
        for (block, workers) in [(1 << 20, None), (30_011, Some(1)), (9_973, Some(3))] {
            let options = LogOptions {
                block,
                workers,
                ..LogOptions::default()
            };
            let mut study = bare(read_all(&logs, &options).expect("good"));
            study.channels.sort_by_key(|c| c.channel);
            let mut right = whole.clone();
            right.channels.sort_by_key(|c| c.channel);
            assert_eq!(study, right, "{split:?}, {block} bytes");
        }
    }
}

#[test]
fn loggers_at_their_own_intervals_say_what_each_says_alone() {
    let of_power = rows(POWER, 0..200_000, power);
    // Its clock stands 3.5 s beside the other's, and it begins and ends later.
    let shifted = rows(PRESSURE, (50_003..220_000).step_by(10), pressure);
    let of_pressure = shifted.replace(":03,", ":03.5,");
    let (one, other) = (read(of_power.clone()), read(of_pressure.clone()));
    for logs in [[&of_power, &of_pressure], [&of_pressure, &of_power]] {
        let both = together(&logs.map(Clone::clone));
        assert_eq!((both.left_out_total, both.rejected_total), (0, 0));
        assert_eq!(both.rows, one.rows + other.rows);
        for alone in [&one, &other] {
            let of = alone.channels[0].channel;
            let beside = both.channels.iter().find(|c| c.channel == of);
            assert_eq!(beside, Some(&alone.channels[0]));
        }
        assert_eq!(powered(&both), powered(&one));
        assert_eq!(both.pressures, other.pressures);
        // Neither alone tells what both tell of the air.
        assert!(one.storage.is_none() && both.storage.is_some());
        let interval = |at: usize| both.sources[at].interval_s;
        let right = if logs[0] == &of_power {
            [1.0, 10.0]
        } else {
            [10.0, 1.0]
        };
        assert_eq!([interval(0), interval(1)], right.map(Some));
    }
}

#[test]
fn gaps_and_clocks_are_judged_for_each_logger() {
    let of_power = rows(
        POWER,
        (0..4000).filter(|s| !(1000..1600).contains(s)),
        power,
    );
    // Its clock is set back by 50 s.
    let slow = (0..2000).chain(1950..4000).step_by(10);
    let of_pressure = rows(PRESSURE, slow, pressure);
    let both = together(&[of_power.clone(), of_pressure.clone()]);
    let (one, other) = (read(of_power), read(of_pressure));
    let (one, other) = (one.left_out[0], other.left_out[0]);
    assert_eq!((one.why, other.why), (Why::Gap, Why::ClockSetBack));
    // What is a gap of all to one logger alone is one of its channel beside another.
    let gap = LeftOut {
        channel: Some(Channel::power_of(0)),
        ..one
    };
    let told: Vec<LeftOut> = both.left_out.clone();
    assert!(told.contains(&gap) && told.contains(&other), "{told:?}");
    near(both.channels[0].days[0].covered_s, 3999.0 - 601.0);
}

#[test]
fn while_a_machine_is_not_logged_its_hours_are_no_part_of_the_demand() {
    let of_pressure = rows(PRESSURE, (0..40_000).step_by(5), pressure);
    let seconds = || (0..40_000).filter(|s| !(10_000..25_000).contains(s));
    let both = together(&[rows(POWER, seconds(), power), of_pressure]);
    let hours: Vec<String> = both
        .demand
        .hours
        .iter()
        .map(|(at, _)| at.to_string())
        .collect();
    let clock: Vec<&str> = hours.iter().map(|at| &at[11..13]).collect();
    assert_eq!(clock, ["00", "01", "07", "08", "09", "10", "11"]);
}

#[test]
fn a_power_that_begins_later_tells_the_state_from_then_on() {
    let of_pressure = rows(PRESSURE, (0..20_000).step_by(5), pressure);
    let seconds = || 5007..20_000;
    let both = together(&[rows(POWER, seconds(), power), of_pressure]);
    let one = read(rows(POWER, seconds(), power));
    assert_eq!(machine(&both).levels, machine(&one).levels);
    assert!(machine(&both).energy_read);
}

#[test]
fn files_that_follow_each_other_are_put_in_order() {
    let log = |seconds: std::ops::Range<u32>| rows(POWER, seconds, power);
    let whole = bare(read(log(0..9000)));
    let parts = [log(6000..9000), log(0..3000), log(3000..6000)];
    assert_eq!(bare(together(&parts)), whole);
}

#[test]
fn a_channel_that_two_files_hold_is_taken_from_the_first_named() {
    let log = |seconds: std::ops::Range<u32>| rows(POWER, seconds, power);
    let whole = read(log(0..9000));
    // Exports that overlap.
    let study = together(&[log(0..5000), log(4000..9000)]);
    assert_eq!(study.channels, whole.channels);
    assert_eq!(study.machines, whole.machines);
    let told: Vec<(Why, String, String, u64)> = study
        .left_out
        .iter()
        .map(|l| (l.why, l.from.to_string(), l.to.to_string(), l.rows))
        .collect();
    let at = |clock: &str| format!("2026-01-01T{clock}Z");
    assert_eq!(
        told,
        [(Why::LoggedTwice, at("01:06:40"), at("01:23:19"), 1000)]
    );
    // A gap of the first is filled by the other.
    let holed = rows(
        POWER,
        (0..9000).filter(|s| !(2000..4000).contains(s)),
        power,
    );
    let study = together(&[holed, log(0..9000)]);
    let day = study.channels[0].days[0];
    // The first is taken to go on for as long as no gap has passed.
    assert_eq!(day.count, 9000 - 2);
    near(day.covered_s, 8999.0);
    // Another meter of the same channel, at another interval, adds nothing where the first reads.
    let other = rows(POWER, (0..9000).step_by(7), |_| "50.0".to_owned());
    assert_eq!(together(&[log(0..9000), other]).channels, whole.channels);
}

#[test]
fn a_log_that_breaks_off_leaves_the_others_whole() {
    let of_power = rows(POWER, 0..20_000, power);
    let broken = rows(PRESSURE, 0..20_000, pressure);
    let broken = format!("{}{}", broken, "x".repeat(2 << 20));
    let study = together(&[broken, of_power.clone()]);
    let fault = study.sources[0].fault.as_deref();
    assert_eq!(fault, Some("a line is longer than 1 MiB"));
    assert_eq!(powered(&study), powered(&read(of_power)));
}

#[test]
fn every_problem_of_every_file_is_told_at_once() {
    let bad = ["time,K1.power [V]\n", "time,K1.powr [kW]\n", ""].map(str::to_owned);
    let good = rows(POWER, 0..10, power);
    let logs = [bad[0].clone(), good, bad[1].clone(), bad[2].clone()];
    let told = read_all(&logs, &LogOptions::default()).expect_err("three are bad");
    for start in ["0: K1.power [V]", "2: K1.powr [kW]", "3: the file is empty"] {
        assert!(told.contains(start), "{start}: {told}");
    }
}

/// Counts how many of its kind are open.
struct Open {
    text: Cursor<Vec<u8>>,
    open: Arc<AtomicUsize>,
}

impl Read for Open {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        self.text.read(into)
    }
}

impl Drop for Open {
    fn drop(&mut self) {
        self.open.fetch_sub(1, Ordering::SeqCst);
    }
}

#[test]
fn of_many_files_only_those_of_one_time_are_open() {
    let (open, most) = (Arc::new(AtomicUsize::new(0)), Arc::new(AtomicUsize::new(0)));
    let source = |name: String, text: String| {
        let (open, most) = (Arc::clone(&open), Arc::clone(&most));
        LogSource::anew(name, move || {
            most.fetch_max(open.fetch_add(1, Ordering::SeqCst) + 1, Ordering::SeqCst);
            Ok(LogHolds::text(Open {
                text: Cursor::new(text.clone().into_bytes()),
                open: Arc::clone(&open),
            }))
        })
    };
    let parts = |header: &'static str, step: usize, cell: fn(u32) -> String| {
        (0..40_u32).map(move |part| {
            let seconds = (part * 1000..(part + 1) * 1000).step_by(step);
            (format!("{header} {part}"), rows(header, seconds, cell))
        })
    };
    let sources = parts(POWER, 1, power).chain(parts(PRESSURE, 10, pressure));
    let sources = sources.map(|(name, text)| source(name, text));
    let study = read_log(sources, &station("UTC"), &LogOptions::default()).expect("good");
    assert_eq!((study.rows, study.left_out_total), (44_000, 0));
    assert_eq!(open.load(Ordering::SeqCst), 0);
    // One of each kind, and some more while the last are being closed.
    assert!(most.load(Ordering::SeqCst) <= 10, "{most:?}");
}

#[derive(Default)]
struct Kept {
    times: Vec<i64>,
    columns: Vec<Vec<f64>>,
}

impl LogRows for Kept {
    fn rows(&mut self, times: &[i64], columns: &[&[f64]]) {
        self.times.extend_from_slice(times);
        self.columns.resize(columns.len(), Vec::new());
        for (to, from) in self.columns.iter_mut().zip(columns) {
            to.extend_from_slice(from);
        }
    }
}

#[test]
fn rows_are_handed_on_joined() {
    let station = station("UTC");
    let logs = [
        "time,K1.power [kW]\n2026-01-01 00:00:00,1\n2026-01-01 00:00:02,2\n2026-01-01 00:00:03,3\n",
        "time,K2.power [kW]\n2026-01-01 00:00:01,4\n2026-01-01 00:00:02,5\n",
        "time,K2.power [kW]\n2026-01-01 00:00:02,6\n2026-01-01 00:00:09,7\n",
    ];
    let sources = || {
        logs.iter()
            .map(|text| LogSource::new("log", text.as_bytes()))
    };
    let options = LogOptions::default();
    let channels = log_columns(sources(), &station, &options).expect("good");
    let channels: Vec<Channel> = channels.iter().map(|c| c.channel).collect();
    let mut kept = Kept::default();
    let passed = pass_log(sources(), &station, &options, &channels, &mut kept).expect("good");
    let seconds: Vec<i64> = kept.times.iter().map(|t| t / 1_000_000 % 60).collect();
    assert_eq!(seconds, [0, 1, 2, 3, 9]);
    let told = |column: usize| -> Vec<String> {
        kept.columns[column]
            .iter()
            .map(|w| (w / 1e3).to_string())
            .collect()
    };
    assert_eq!(told(0), ["1", "NaN", "2", "3", "NaN"]);
    assert_eq!(told(1), ["NaN", "4", "5", "NaN", "7"]);
    assert_eq!((passed.rows, passed.rows_left_out), (7, 1));
}
