//! Looks off a log, judged as rounds are: what a log alone must find, date and leave alone.
//!
//! The logs are invented, with physics of their own (crate `histories`, and the simulation beside
//! this file for leaks); only what they are told to contain is looked for. Bounds without a source are
//! those that the work was asked to keep.

mod simulation;
mod support;

use std::collections::BTreeSet;
use std::io::Cursor;

use histories::{
    Climate, Fault, Habits, Logger, Plant, Trouble, Weather, invent, log, to_csv, to_station_toml,
};
use jiff::civil::{Date, date};
use jiff::tz::TimeZone;
use jiff::{Span, Timestamp};
use judge::finding::PartHealth;
use judge::{Finding, Judge, Judgement, Kind, Options, Urgency};
use station::file::rounds::{Reader, Row};
use station::file::station::parse;
use station::model::{Asset, Station};
use station::point::Point;
use station::round::Round;
use study::{Beside, LogOptions, LogSource, Looks, read_looks};

/// What a logger on the machines' own sensors writes.
const POINTS: [&str; 13] = [
    "site.ambient",
    "site.humidity",
    "room.temperature",
    "K1.oil_temperature",
    "K1.outlet_temperature",
    "K1.pressure",
    "K1.power",
    "K2.oil_temperature",
    "K2.outlet_temperature",
    "K2.pressure",
    "K2.power",
    "R1.pressure",
    "D1.dew_point",
];

struct Year {
    plant: Plant,
    weather: Weather,
    troubles: Vec<Trouble>,
    habits: Habits,
    seed: u64,
    days: u32,
}

impl Year {
    fn new(seed: u64, days: u32, troubles: &[Trouble]) -> Self {
        Self {
            plant: Plant::two_screws(seed),
            weather: Weather {
                climate: Climate::inland(),
                seed,
            },
            troubles: troubles.to_vec(),
            habits: Habits {
                first_day: date(2025, 5, 1),
                ..Habits::default()
            },
            seed,
            days,
        }
    }

    fn station(&self) -> Station {
        parse(&to_station_toml(&self.plant, &self.weather.climate)).expect("our own file is sound")
    }

    fn log(&self, points: &[&str]) -> String {
        let logger = Logger {
            every_s: 15,
            // From when most machines are warm until the looks' usual hour is past.
            minutes: (8 * 60 + 30, 10 * 60 + 45),
            points: points.iter().map(|p| (*p).to_owned()).collect(),
            days: (0, self.days),
        };
        log(
            &self.plant,
            &self.weather,
            &self.troubles,
            &self.habits,
            self.seed,
            &logger,
        )
    }

    fn looks(&self, points: &[&str]) -> Looks {
        looks(&self.station(), self.log(points))
    }

    /// The keeper's rounds, without some points.
    fn rounds(&self, never: &[&str]) -> Vec<Round> {
        let habits = Habits {
            never: never.iter().map(|p| (*p).to_owned()).collect(),
            ..self.habits.clone()
        };
        let (plant, weather) = (&self.plant, &self.weather);
        let history = invent(
            plant,
            weather,
            &self.troubles,
            &habits,
            self.seed,
            self.days,
        );
        let csv = to_csv(&history);
        let mut reader =
            Reader::open(csv.as_bytes(), &self.station()).expect("our own columns are known");
        (&mut reader)
            .filter_map(|row| match row.expect("text in memory can be read") {
                Row::Round(round) => Some(round),
                Row::Rejected(_) => None,
            })
            .collect()
    }

    fn judged(&self, rounds: Vec<Round>, looks: Vec<Round>) -> Judgement {
        let station = self.station();
        let mut judge = Judge::new(&station, Options::default());
        let mut beside = Beside::new(looks, station.site.time_zone.clone());
        for round in rounds {
            beside.round(round, &mut |round| judge.see(round));
        }
        beside.end(&mut |round| judge.see(round));
        judge.judge()
    }
}

fn looks(station: &Station, log: String) -> Looks {
    let source = LogSource::new("log.csv", Cursor::new(log.into_bytes()));
    read_looks([source], station, &LogOptions::default()).expect("our own log is sound")
}

fn of<'a>(judgement: &'a Judgement, id: &str) -> Option<&'a Finding> {
    judgement.findings.iter().find(|f| f.id == id)
}

fn day(time: Timestamp) -> Date {
    time.to_zoned_datetime(TimeZone::UTC).date()
}

fn health(judgement: &Judgement, id: &str) -> PartHealth {
    let found = of(judgement, id).unwrap_or_else(|| panic!("{id} is found"));
    found.health.clone().expect("a health by all rounds")
}

/// Whether two intervals have something in common.
fn agree(a: &PartHealth, b: &PartHealth) -> bool {
    a.what == b.what && a.low <= b.high && b.low <= a.high
}

/// A mat that clogs from the sixtieth day on, through the summer.
fn fouling() -> Year {
    Year::new(
        3,
        150,
        &[Trouble::new(Fault::MatClogging, "K1", 60, 150, 0.3)],
    )
}

#[test]
fn a_cooler_that_no_keeper_reads_is_found_by_the_log() {
    let year = fouling();
    let unread = ["oil_temperature", "outlet_temperature"];
    let looks = year.looks(&POINTS).rounds;
    assert!(
        (100..=year.days as usize).contains(&looks.len()),
        "{}",
        looks.len()
    );
    let without = year.judged(year.rounds(&unread), Vec::new());
    assert!(of(&without, "K1.cooling").is_none());
    for (what, rounds) in [("log alone", Vec::new()), ("both", year.rounds(&unread))] {
        let judgement = year.judged(rounds, looks.clone());
        let found = of(&judgement, "K1.cooling").expect(what);
        assert_eq!(found.kind, Kind::CoolingLost);
        let health = found.health.as_ref().expect("a health by all rounds");
        assert!(health.high < 0.9, "{what}: {health:?}");
        assert_eq!(
            found.causes.first().map(|c| c.cause.as_str()),
            Some("mat clogged")
        );
        let since = day(found.since.expect("a beginning"));
        // It begins on 30 June.
        assert!(
            date(2025, 6, 15) < since && since < date(2025, 7, 31),
            "{what}: {since}"
        );
        let drift = judgement.drifts.iter().find(|d| d.finding == "K1.cooling");
        assert!(drift.is_some_and(|d| d.per_month < 0.0), "{what}");
    }
}

#[test]
fn log_and_rounds_speak_with_one_voice() {
    let year = fouling();
    let looks = year.looks(&POINTS).rounds;
    let rounds = year.rounds(&[]);
    let by_log = health(&year.judged(Vec::new(), looks.clone()), "K1.cooling");
    let by_rounds = health(&year.judged(rounds.clone(), Vec::new()), "K1.cooling");
    let by_both = health(&year.judged(rounds, looks), "K1.cooling");
    for (a, b) in [
        (&by_log, &by_rounds),
        (&by_log, &by_both),
        (&by_rounds, &by_both),
    ] {
        assert!(
            agree(a, b),
            "log {by_log:?}\nrounds {by_rounds:?}\nboth {by_both:?}"
        );
    }
}

#[test]
fn what_a_keeper_read_that_day_is_no_second_evidence() {
    let year = fouling();
    let looks = year.looks(&POINTS).rounds;
    let station = year.station();
    let mut beside = Beside::new(looks, station.site.time_zone.clone());
    let mut all: Vec<Round> = Vec::new();
    for round in year.rounds(&[]) {
        beside.round(round, &mut |round| all.push(round));
    }
    beside.end(&mut |round| all.push(round));
    assert!(all.windows(2).all(|pair| pair[0].time <= pair[1].time));
    let oil = |r: &Round| r.number(Asset::Machine(0), Point::OilTemperature).is_some();
    let read: BTreeSet<Date> = all
        .iter()
        .filter(|r| r.logged.is_none() && oil(r))
        .map(|r| day(r.time))
        .collect();
    let logged: BTreeSet<Date> = all
        .iter()
        .filter(|r| r.logged.is_some() && oil(r))
        .map(|r| day(r.time))
        .collect();
    assert!(
        read.len() > 50 && logged.len() > 3,
        "{} {}",
        read.len(),
        logged.len()
    );
    assert!(read.is_disjoint(&logged));
}

/// Kinds that a station without any trouble may show: work that comes round, a design that does not
/// stand its worst day, oil that has lived its life, and water in a header whose pipes get colder
/// than the dew point that was truly read.
const NO_FALSE_ALARM: [Kind; 4] = [
    Kind::ServiceDue,
    Kind::Design,
    Kind::OilAged,
    Kind::WaterDownstream,
];

#[test]
fn healthy_logged_stations_show_less_than_one_false_finding_per_machine_and_year() {
    let climates = [Climate::mild, Climate::inland, Climate::damp_and_hot];
    let mut points = POINTS.to_vec();
    points.extend(["MAIN.flow", "MAIN.pressure", "F1.drop"]);
    points.extend(["K1.separator_drop", "K2.separator_drop"]);
    let (mut machines, mut found) = (0, Vec::new());
    for (seed, climate) in (20..).zip(climates) {
        let mut year = Year::new(seed, 365, &[]);
        year.weather.climate = climate();
        machines += year.plant.machines.len();
        let station = year.station();
        let mut judge = Judge::new(&station, Options::default());
        let mut standing = BTreeSet::new();
        let looks = year.looks(&points).rounds;
        assert!(looks.len() > 250, "{}", looks.len());
        for (n, round) in looks.into_iter().enumerate() {
            judge.see(round);
            if n % 14 != 0 {
                continue;
            }
            let findings = judge.judge().findings;
            let counts =
                |f: &&Finding| f.urgency != Urgency::Watch && !NO_FALSE_ALARM.contains(&f.kind);
            let now: BTreeSet<String> = findings
                .iter()
                .filter(counts)
                .map(|f| f.id.clone())
                .collect();
            found.extend(now.difference(&standing).map(|id| format!("{seed}: {id}")));
            standing = now;
        }
    }
    assert!(
        found.len() < machines,
        "{machines} machine-years: {found:?}"
    );
}

/// So many nights of a plant whose leaks are `of(night)`, m³/min of reference air at 7 bar(g): two
/// and a half hours after each midnight from 5 January 2026, a row every 5 s.
fn nights(count: u32, of: impl Fn(u32) -> f64) -> String {
    let mut random = fastrand::Rng::with_seed(1907);
    let mut text = "time,K1.power [kW],K2.power [kW],R1.pressure [bar(g)]\n".to_owned();
    for night in 0..count {
        let plant = simulation::Plant {
            machines: vec![simulation::Machine {
                loaded_kw: 33.0,
                unloaded_kw: 9.2,
                delivery: 5.2,
                load: 6.8,
                unload: 7.5,
                run_on: 1.0e9,
            }],
            storage: 2.4,
            leakage: of(night) * (1.0 + 0.03 * simulation::normal(&mut random)),
            purge: [0.0; 2],
            drain: None,
            demand: 0.0,
        };
        let (stretches, _) = simulation::run(&plant, &mut random, 2.5 / 24.0);
        let log = simulation::log(&plant, &stretches, 5.0, &mut random);
        let date = date(2026, 1, 5)
            .checked_add(Span::new().days(night))
            .expect("within the calendar");
        for row in log.lines().skip(1) {
            let mut cells = row.split(',');
            let mut next = || cells.next().expect("as the simulation writes it");
            let (time, power, pressure) = (next(), next(), next());
            let time = time.split_once(' ').map_or("", |(_, time)| time);
            text.push_str(&format!("{date} {time},{power},0.0,{pressure}\n"));
        }
    }
    text
}

#[test]
fn leaks_that_grow_are_found_by_the_cycles_of_each_night() {
    let year = Year::new(3, 1, &[]);
    let station = year.station();
    // 0.9 m³/min until the thirtieth night, 1.8 on the eightieth.
    let grows = |night: u32| 0.9 + 0.9 * f64::from(night.saturating_sub(30)) / 50.0;
    let looks = looks(&station, nights(80, grows)).rounds;
    assert_eq!(looks.len(), 80);
    let judgement = year.judged(Vec::new(), looks);
    let drift = judgement
        .drifts
        .iter()
        .find(|d| d.finding == "MAIN.leakage");
    let drift = drift.expect("leaks have grown");
    // Of the 0.9 m³/min, and 0.54 a month.
    assert!((0.65..1.15).contains(&drift.level), "{}", drift.level);
    assert!(
        (0.35..0.75).contains(&drift.per_month),
        "{}",
        drift.per_month
    );
    let found = of(&judgement, "MAIN.leakage").expect("told");
    assert_eq!(found.kind, Kind::Leakage);
    let since = day(found.since.expect("a beginning"));
    // 4 February.
    assert!(
        date(2026, 1, 20) < since && since < date(2026, 2, 20),
        "{since}"
    );
    assert!(found.cost.per_year.is_some_and(|cost| cost > 0.0));
}

#[test]
fn leaks_that_stay_are_told_as_large_as_they_are_and_do_not_drift() {
    let year = Year::new(3, 1, &[]);
    let station = year.station();
    let judgement = year.judged(Vec::new(), looks(&station, nights(60, |_| 1.6)).rounds);
    assert!(judgement.drifts.is_empty(), "{:?}", judgement.drifts);
    let leaks = health(&judgement, "MAIN.leakage");
    // The plate's delivery is 2 % more than the machine's.
    assert!(leaks.low < 1.6 && 1.6 < leaks.high, "{leaks:?}");
}

#[test]
fn looks_do_not_depend_on_how_the_log_is_cut() {
    let station = Year::new(3, 1, &[]).station();
    let log = nights(3, |_| 1.2);
    let read = |block: usize, workers: usize| {
        let options = LogOptions {
            block,
            workers: Some(workers),
            ..LogOptions::default()
        };
        let source = LogSource::new("log.csv", Cursor::new(log.clone().into_bytes()));
        read_looks([source], &station, &options)
            .expect("our own log is sound")
            .rounds
    };
    let whole = read(1 << 20, 1);
    assert_eq!(whole.len(), 3);
    assert_eq!(read(1000, 2), whole);
    assert_eq!(read(77, 1), whole);
}

#[test]
fn signals_and_current_tell_what_power_tells() {
    let text = to_station_toml(&Plant::two_screws(3), &Climate::inland());
    let station = parse(&text).expect("our own file is sound");
    let log = nights(4, |night| 1.0 + 0.2 * f64::from(night));
    let by = |header: &str, of: &dyn Fn(f64) -> String| -> Vec<(Timestamp, f64, f64)> {
        let mut other = format!("{header}\n");
        for line in log.lines().skip(1) {
            let cells: Vec<&str> = line.split(',').collect();
            let kw = |at: usize| of(cells[at].parse().expect("a power"));
            other.push_str(&format!("{},{},{}\n", cells[0], kw(1), kw(2)));
        }
        let machine = Asset::Machine(0);
        let number = |r: &Round, point| r.number(machine, point).expect("a cycle was timed");
        looks(&station, other)
            .rounds
            .iter()
            .map(|r| {
                (
                    r.time,
                    number(r, Point::LoadTime),
                    number(r, Point::UnloadTime),
                )
            })
            .collect()
    };
    let power = by("time,K1.power [kW],K2.power [kW]", &|kw| format!("{kw}"));
    assert_eq!(power.len(), 4);
    assert!(
        power.windows(2).all(|n| n[0].1 / n[0].2 < n[1].1 / n[1].2),
        "{power:?}"
    );
    // A machine that stands still here is not loaded and does not run.
    let signal = |kw: f64, from: f64| u8::from(kw > from).to_string();
    let signals = |kw: f64| signal(kw, 21.0);
    let header = "time,K1.loaded,K2.running";
    assert_eq!(by(header, &signals), power);
    // 54 A at 33.4 kW, and what is left of it without load: magnetising current.
    let amperes = |kw: f64| format!("{:.1}", if kw > 0.0 { 23.0 + 0.93 * kw } else { 0.0 });
    let current = by("time,K1.current [A],K2.current [A]", &amperes);
    assert_eq!(current.len(), power.len());
    for ((_, load, other), (_, loaded, rest)) in current.iter().zip(&power) {
        assert!(
            (load - loaded).abs() < 6.0 && (other - rest).abs() < 6.0,
            "{load} {other}"
        );
    }
}

#[test]
fn several_loggers_of_one_time_make_one_look() {
    let year = Year::new(3, 4, &[]);
    let station = year.station();
    let whole = year.log(&[
        "K1.power",
        "K2.power",
        "K1.oil_temperature",
        "room.temperature",
    ]);
    // The machines' own logger writes a second later, every other time.
    let (mut powers, mut temperatures) = (String::new(), String::new());
    for (n, line) in whole.lines().enumerate() {
        let cells: Vec<&str> = line.split(',').collect();
        powers.push_str(&format!("{},{},{}\n", cells[0], cells[3], cells[4]));
        if n % 2 == 0 {
            let later = cells[0].replace(":00", ":01").replace(":30", ":31");
            let time = if n == 0 { cells[0] } else { &later };
            temperatures.push_str(&format!("{time},{},{}\n", cells[1], cells[2]));
        }
    }
    let source = |log: String| LogSource::new("log.csv", Cursor::new(log.into_bytes()));
    let options = LogOptions::default();
    let both = read_looks([source(powers), source(temperatures)], &station, &options)
        .expect("both are sound")
        .rounds;
    let one = looks(&station, whole).rounds;
    assert!(one.len() > 1, "{}", one.len());
    assert_eq!(both.len(), one.len());
    for (a, b) in both.iter().zip(&one) {
        let oil = |r: &Round| r.number(Asset::Machine(0), Point::OilTemperature);
        let (Some(a_oil), Some(b_oil)) = (oil(a), oil(b)) else {
            panic!("{a:#?}\n\n{b:#?}");
        };
        assert!(
            a.time == b.time && (a_oil - b_oil).abs() < 1.1,
            "{a_oil} {b_oil}"
        );
    }
}

#[test]
fn what_a_log_does_not_resolve_is_not_claimed() {
    let station = Year::new(3, 1, &[]).station();
    // Of the same nights, every twelfth row: once a minute, and most loads fall between two rows.
    let log = nights(5, |_| 0.9);
    let mut lines = log.lines();
    let mut thin = format!("{}\n", lines.next().expect("a header"));
    for line in lines.step_by(12) {
        thin.push_str(&format!("{line}\n"));
    }
    assert_eq!(looks(&station, log).rounds.len(), 5);
    assert_eq!(looks(&station, thin).rounds, Vec::new());
}

#[test]
fn a_stuck_sensor_is_not_read() {
    let year = Year::new(3, 3, &[]);
    let log = year.log(&[
        "K1.power",
        "K2.power",
        "K1.oil_temperature",
        "room.temperature",
    ]);
    let oil = |log: String| {
        let looks = looks(&year.station(), log).rounds;
        looks
            .iter()
            .filter(|r| r.number(Asset::Machine(0), Point::OilTemperature).is_some())
            .count()
    };
    let mut stuck = String::new();
    for line in log.lines() {
        let mut cells: Vec<&str> = line.split(',').collect();
        if cells[2] != "K1.oil_temperature [degC]" {
            cells[2] = "77";
        }
        stuck.push_str(&format!("{}\n", cells.join(",")));
    }
    assert!(oil(log) > 0);
    assert_eq!(oil(stuck), 0);
}
