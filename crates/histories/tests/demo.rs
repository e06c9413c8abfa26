//! The committed demo is what the generator makes, and tells the story that it is meant to tell.

use std::path::PathBuf;

use histories::quillbank::{habits, history, plant, station_toml};
use histories::{History, Reading, Weather, invent, to_csv};

fn committed(name: &str) -> String {
    let path: PathBuf = [
        env!("CARGO_MANIFEST_DIR"),
        "..",
        "..",
        "examples",
        "quillbank",
        name,
    ]
    .iter()
    .collect();
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

const AGAIN: &str = "cargo run -p histories --example quillbank examples/quillbank/rounds.csv \
                     examples/quillbank/station.toml";

#[test]
fn committed_rounds_are_what_the_generator_makes() {
    let (kept, made) = (committed("rounds.csv"), to_csv(&history()));
    let differs = kept.lines().zip(made.lines()).position(|(a, b)| a != b);
    assert!(
        kept == made,
        "differs from row {differs:?}; to make it again: {AGAIN}"
    );
}

#[test]
fn committed_station_is_what_the_generator_makes() {
    assert!(
        committed("station.toml") == station_toml(),
        "to make it again: {AGAIN}"
    );
}

#[test]
fn files_say_that_they_are_invented() {
    assert!(
        committed("station.toml")
            .lines()
            .next()
            .is_some_and(|l| l.contains("invented"))
    );
    assert!(committed("README.md").contains("invented"));
}

fn last(history: &History, point: &str) -> f64 {
    let rounds = history.rounds.iter().rev();
    let read = rounds.filter_map(|r| match r.readings.get(point) {
        Some(Reading::Number { value, .. }) => Some(*value),
        _ => None,
    });
    read.into_iter().next().unwrap_or(f64::NAN)
}

/// The end of the year against the same year without troubles.
#[test]
fn the_year_ends_as_told() {
    let story = history();
    let quiet = invent(&plant(), &Weather::mild(1707), &[], &habits(), 1707, 365);
    let mean_of = |h: &History, point: &str| {
        let rows: Vec<f64> = h
            .truth
            .iter()
            .rev()
            .filter_map(|t| t.values.get(point).copied())
            .take(5)
            .collect();
        rows.iter().sum::<f64>() / rows.len() as f64
    };
    let hotter = mean_of(&story, "K1.oil_temperature") - mean_of(&quiet, "K1.oil_temperature");
    assert!(
        (7.0..9.5).contains(&hotter),
        "K1 oil is {hotter:.1} K too warm"
    );
    let other = mean_of(&story, "K2.oil_temperature") - mean_of(&quiet, "K2.oil_temperature");
    assert!(other.abs() < 1.5, "K2 oil is {other:.1} K off");
    let drop = mean_of(&story, "F1.drop");
    assert!((0.30..0.42).contains(&drop), "F1 drop is {drop:.2} bar");
    let separator = last(&story, "K2.separator_drop");
    assert!(
        (0.6..0.8).contains(&separator),
        "K2 separator drop is {separator:.2} bar"
    );
    let left = 5_100.0 + 6_000.0 - last(&story, "K1.hours_run");
    assert!(
        (50.0..300.0).contains(&left),
        "{left} h until the oil of K1 is due"
    );
}

#[test]
fn the_year_has_what_a_year_has() {
    let story = history();
    let count = |what: &dyn Fn(usize) -> bool| (0..story.rounds.len()).filter(|&i| what(i)).count();
    assert!((230..275).contains(&story.rounds.len()));
    assert!(count(&|i| story.rounds[i].note.contains("still cold")) >= 3);
    assert!(count(&|i| story.rounds[i].note.contains("watch")) >= 8);
    assert_eq!(count(&|i| story.truth[i].misread.is_some()), 1);
    for work in [
        "K1:tighten belt",
        "K1:clean mat",
        "R1.drain:mend drain",
        "K1:change oil filter",
    ] {
        assert_eq!(
            count(&|i| story.rounds[i].done.iter().any(|d| d == work)),
            1,
            "{work}"
        );
    }
    let csv = to_csv(&story);
    let heads = csv.lines().next().unwrap_or_default().split(',').count();
    assert!(
        csv.lines()
            .all(|line| line.contains('"') || line.split(',').count() == heads)
    );
}
