//! Healthy years stay quiet: invented stations of many sizes, without any trouble, are judged
//! through the year, and what is found nevertheless is counted.
//!
//! The invented years have physics, scatter and gauges of their own, so the machines differ from
//! their nameplates and the readers err. A finding counts once for every time that it comes up.

use std::collections::BTreeSet;

use histories::{Climate, Habits, Plant, Weather, invent, to_csv, to_station_toml};
use judge::{Finding, Judge, Kind, Options, Urgency};
use station::file::rounds::{Reader, Row};
use station::file::station::parse;

/// The station is judged after every so many rounds.
const EVERY: u64 = 14;
const DAYS: u32 = 365;

/// Kinds that a station without any trouble may show: work that comes round, a design that does not
/// stand its worst day, and oil that has lived its life.
const NO_FALSE_ALARM: [Kind; 3] = [Kind::ServiceDue, Kind::Design, Kind::OilAged];

struct Year {
    name: String,
    plant: Plant,
    climate: Climate,
    habits: Habits,
    seed: u64,
}

/// A finding that came up: on which station, which one, on which day, what it said.
struct CameUp {
    year: usize,
    what: String,
    day: String,
    title: String,
}

/// Stations of every size, site and climate, read by people with different habits.
fn years() -> Vec<Year> {
    let climates = [
        ("mild", Climate::mild as fn() -> Climate),
        ("inland", Climate::inland),
        ("damp and hot", Climate::damp_and_hot),
    ];
    let readers = [
        ("usual readers", Habits::default()),
        (
            "hurried readers",
            Habits {
                missed: 0.3,
                cold_monday: 0.5,
                waits_for_load: 0.5,
                left_out: 0.1,
                misread: 0.02,
                care: 1.3,
                ..Habits::default()
            },
        ),
        (
            "readers of little",
            Habits {
                never: ["temperature", "humidity", "flow", "power", "load_time"]
                    .map(str::to_owned)
                    .to_vec(),
                ..Habits::default()
            },
        ),
    ];
    (0..18)
        .map(|k| {
            let (climate, of_climate) = climates[k % 3];
            let (reader, habits) = &readers[(k / 3) % 3];
            let seed = 20 + k as u64;
            Year {
                name: format!("station {seed}, {climate}, {reader}"),
                plant: if k < 3 {
                    Plant::two_screws(seed)
                } else {
                    Plant::drawn(seed)
                },
                climate: of_climate(),
                habits: habits.clone(),
                seed,
            }
        })
        .collect()
}

/// What came up though nothing was wrong.
fn came_up(place: usize, year: &Year, counts: impl Fn(&Finding) -> bool) -> Vec<CameUp> {
    let weather = Weather {
        climate: year.climate.clone(),
        seed: year.seed,
    };
    let history = invent(&year.plant, &weather, &[], &year.habits, year.seed, DAYS);
    let station = parse(&to_station_toml(&year.plant, &year.climate))
        .unwrap_or_else(|problems| panic!("{}: {}", year.name, problems[0]));
    let csv = to_csv(&history);
    let mut reader = Reader::open(csv.as_bytes(), &station)
        .unwrap_or_else(|problems| panic!("{}: {}", year.name, problems[0]));
    let mut judge = Judge::new(&station, Options::default());
    let mut rounds = 0;
    let mut standing = BTreeSet::new();
    let mut list = Vec::new();
    for row in &mut reader {
        let Row::Round(round) = row.expect("text in memory can be read") else {
            continue;
        };
        let day = round.time.strftime("%Y-%m-%d").to_string();
        judge.see(round);
        rounds += 1;
        if rounds % EVERY != 0 {
            continue;
        }
        let mut now = BTreeSet::new();
        for f in judge.judge().findings.iter().filter(|f| counts(f)) {
            let what = format!("{} {}", f.kind.name(), f.id);
            if !standing.contains(&what) {
                list.push(CameUp {
                    year: place,
                    what: what.clone(),
                    day: day.clone(),
                    title: format!("{}: {}", f.urgency.words(), f.title),
                });
            }
            now.insert(what);
        }
        standing = now;
    }
    assert!(rounds > 150, "{}: only {rounds} rounds", year.name);
    list
}

#[test]
fn healthy_stations_show_less_than_one_false_finding_per_machine_and_year() {
    let years = years();
    let machines: usize = years.iter().map(|year| year.plant.machines.len()).sum();
    let counts = |f: &Finding| f.urgency != Urgency::Watch && !NO_FALSE_ALARM.contains(&f.kind);
    let found: Vec<CameUp> = years
        .iter()
        .enumerate()
        .flat_map(|(place, year)| came_up(place, year, counts))
        .collect();
    let list: Vec<String> = found
        .iter()
        .map(|f| format!("{}: {}, {}, {}", years[f.year].name, f.what, f.day, f.title))
        .collect();
    assert!(
        found.len() < machines,
        "{} false findings in {machines} machine-years:\n{}",
        found.len(),
        list.join("\n")
    );
}
