//! The demo: one invented year at Quillbank Tileworks, a place that does not exist.
//!
//! `examples/quillbank/` keeps what this module makes; a test compares the two byte for byte.
//!
//! Must not know: how rounds are made.

use jiff::civil::{Date, date};

use crate::{
    Fault, Habits, History, Misread, Plant, Service, TaskPlan, Trouble, Weather, invent,
    to_station_toml,
};

const SEED: u64 = 1707;
const DAYS: u32 = 365;

/// The first day of the year of rounds.
const FIRST_DAY: Date = date(2025, 7, 15);

/// The station, with true machines close to their nameplates.
#[must_use]
pub fn plant() -> Plant {
    let mut plant = Plant::two_screws(SEED);
    plant.name = "Quillbank Tileworks".to_owned();
    plant.load.closed = vec![
        (date(2025, 8, 11), date(2025, 8, 22)),
        (date(2025, 12, 24), date(2026, 1, 2)),
    ];
    let counters = [(6_480.0, 5_610.0, 1_902), (5_230.0, 1_760.0, 2_377)];
    for (machine, (run, loaded, starts)) in plant.machines.iter_mut().zip(counters) {
        machine.hours_run = run;
        machine.hours_loaded = loaded;
        machine.starts = starts;
    }
    let oil_change = date(2025, 3, 25);
    plant.tasks = vec![
        task(
            "K1",
            "change oil",
            (Some(6000), Some(24)),
            oil_change,
            Some(5_100),
        ),
        task(
            "K2",
            "change oil",
            (Some(6000), Some(24)),
            oil_change,
            Some(3_930),
        ),
        task(
            "K1",
            "change oil filter",
            (Some(3000), Some(12)),
            oil_change,
            Some(5_100),
        ),
        task(
            "K2",
            "change oil filter",
            (Some(3000), Some(12)),
            oil_change,
            Some(3_930),
        ),
        task(
            "K1",
            "change intake filter",
            (Some(3000), Some(12)),
            oil_change,
            Some(5_100),
        ),
        task(
            "K2",
            "change intake filter",
            (Some(3000), Some(12)),
            oil_change,
            Some(3_930),
        ),
        task(
            "F1",
            "change element",
            (None, Some(18)),
            date(2025, 6, 20),
            None,
        ),
    ];
    plant
}

fn task(
    on: &str,
    what: &str,
    (every_hours, every_months): (Option<u32>, Option<u32>),
    last_date: Date,
    last_hours: Option<u32>,
) -> TaskPlan {
    let (on, what) = (on.to_owned(), what.to_owned());
    TaskPlan {
        on,
        what,
        every_hours,
        every_months,
        last_date,
        last_hours,
    }
}

/// The day of the year of rounds on which a date falls.
fn day(of: Date) -> u32 {
    u32::try_from((of - FIRST_DAY).get_days()).unwrap_or(0)
}

/// What goes wrong in the year, and what is mended.
#[must_use]
pub fn troubles() -> Vec<Trouble> {
    let grows = |fault, on, from: Date, full: Date, severity| {
        Trouble::new(fault, on, day(from), day(full), severity)
    };
    let end = date(2026, 7, 14);
    vec![
        grows(
            Fault::BeltSlipping,
            "K1",
            date(2025, 8, 25),
            date(2025, 10, 27),
            0.035,
        )
        .mended(day(date(2025, 10, 28))),
        grows(
            Fault::MatClogging,
            "K1",
            date(2025, 10, 20),
            date(2026, 3, 24),
            0.34,
        )
        .mended(day(date(2026, 3, 25))),
        grows(Fault::MatClogging, "K1", date(2026, 5, 4), end, 0.285),
        grows(
            Fault::DrainBlocked,
            "R1.drain",
            date(2026, 1, 26),
            date(2026, 1, 27),
            1.0,
        )
        .mended(day(date(2026, 2, 4))),
        grows(Fault::FilterLoading, "F1", date(2025, 9, 1), end, 0.42),
        grows(Fault::SeparatorLoading, "K2", date(2025, 10, 1), end, 0.46),
        grows(Fault::LeaksGrowing, "MAIN", FIRST_DAY, end, 0.5),
    ]
}

/// Who walks round at Quillbank, and how.
#[must_use]
pub fn habits() -> Habits {
    let service = |on: Date, work: &str| Service {
        day: day(on),
        work: work.to_owned(),
    };
    let serviced = date(2025, 11, 26);
    Habits {
        first_day: FIRST_DAY,
        missed: 0.03,
        cold_monday: 0.13,
        misread: 0.0,
        misreads: vec![Misread {
            day: day(date(2025, 11, 18)),
            point: "K1.oil_temperature".to_owned(),
        }],
        never: vec!["intake_drop".to_owned()],
        people: ["Mirela", "Anselm", "B.T."].map(str::to_owned).to_vec(),
        services: vec![
            service(serviced, "K1:change oil filter"),
            service(serviced, "K1:change intake filter"),
            service(serviced, "K2:change oil filter"),
            service(serviced, "K2:change intake filter"),
        ],
        ..Habits::default()
    }
}

/// What somebody wrote beside a round.
fn notes() -> [(Date, &'static str); 9] {
    [
        (
            date(2025, 10, 14),
            "K1 chirps when it loads, black dust under the guard",
        ),
        (date(2025, 10, 28), "belts set, guard back on"),
        (date(2025, 11, 26), "service: filters, no oil this time"),
        (
            date(2026, 1, 28),
            "R1 drain does nothing on the button, told maintenance",
        ),
        (
            date(2026, 2, 4),
            "R1 drain cleaned, a lot of water came out",
        ),
        (date(2026, 3, 25), "K1 mat off and washed"),
        (
            date(2026, 6, 18),
            "kiln 2 door open all morning, dusty in the yard",
        ),
        (
            date(2026, 7, 7),
            "hissing at the glazing line, coupling marked",
        ),
        (date(2026, 7, 14), "K1 warmer than K2 for weeks"),
    ]
}

/// The year of rounds and its truth.
#[must_use]
pub fn history() -> History {
    let mut history = invent(
        &plant(),
        &Weather::mild(SEED),
        &troubles(),
        &habits(),
        SEED,
        DAYS,
    );
    for (on, note) in notes() {
        let round = history.rounds.iter_mut().find(|r| r.time.date() >= on);
        if let Some(round) = round.filter(|r| r.note.is_empty()) {
            round.note = note.to_owned();
        }
    }
    history
}

/// The station file, with a line at the top that says that all is invented.
#[must_use]
pub fn station_toml() -> String {
    let told = "\
# Quillbank Tileworks is invented: there is no such works, and no machine like these was measured.
# Every name, figure and date below is made up for showing the program. See README.md beside it.
";
    format!(
        "{told}{}",
        to_station_toml(&plant(), &Weather::mild(SEED).climate)
    )
}
