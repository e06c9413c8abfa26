//! One value of the newest round misread: it is asked about, and nothing else is made of it.
//!
//! The history is invented (crate `histories`), with a mat, a filter and a separator that load, so that findings
//! stand beside what is misread. The slips are those that hands make: digits changed about, the point a place off,
//! degrees Fahrenheit (common practice, no source).

use histories::{Climate, Fault, Habits, Plant, Trouble, Weather, invent, to_csv, to_station_toml};
use judge::{Judge, Judgement, Kind, Options, Urgency};
use station::file::rounds::{Reader, Row};
use station::file::station::parse;
use station::model::Station;
use station::round::Round;

const SEED: u64 = 7;
const DAYS: u32 = 330;

/// The rounds of a text, and how many rows were refused.
fn rounds(csv: &str, station: &Station) -> (Vec<Round>, usize) {
    let mut reader = Reader::open(csv.as_bytes(), station).expect("our own columns are known");
    let (mut rounds, mut refused) = (Vec::new(), 0);
    for row in &mut reader {
        match row.expect("text in memory can be read") {
            Row::Round(round) => rounds.push(round),
            Row::Rejected(_) => refused += 1,
        }
    }
    (rounds, refused)
}

/// What hands make of a number.
fn slips(value: f64, cell: &str, unit: &str) -> Vec<f64> {
    let turned: String = cell.chars().filter(char::is_ascii_digit).rev().collect();
    let places = cell.split_once('.').map_or(0, |(_, p)| p.len());
    let turned = turned.parse::<f64>().unwrap_or(0.0) / 10_f64.powi(places as i32);
    let mut list = vec![turned, 10.0 * value, value / 10.0];
    if unit == "degC" {
        list.push(value * 1.8 + 32.0);
    }
    list
}

/// Ids of what asks for more than watching or reading again, with how urgent each is.
fn errands(judgement: &Judgement) -> Vec<(String, Urgency)> {
    let more = judgement
        .findings
        .iter()
        .filter(|f| f.urgency != Urgency::Watch && f.kind != Kind::GaugeSuspect);
    more.map(|f| (f.id.clone(), f.urgency)).collect()
}

#[test]
fn what_is_misread_once_is_asked_about_and_nothing_is_made_of_it() {
    let plant = Plant::two_screws(SEED);
    let climate = Climate::inland();
    let weather = Weather {
        climate: climate.clone(),
        seed: SEED,
    };
    let habits = Habits {
        misread: 0.0,
        missed: 0.0,
        ..Habits::default()
    };
    let grows = |fault, on, by| Trouble::new(fault, on, 150, DAYS + 30, by);
    let troubles = [
        grows(Fault::MatClogging, "K1", 0.4),
        grows(Fault::FilterLoading, "F1", 0.2),
        grows(Fault::SeparatorLoading, "K2", 0.3),
    ];
    let history = invent(&plant, &weather, &troubles, &habits, SEED, DAYS);
    let station = parse(&to_station_toml(&plant, &climate)).expect("our own file is sound");
    let csv = to_csv(&history);
    let lines: Vec<&str> = csv.lines().collect();
    let header: Vec<&str> = lines[0].split(',').collect();
    let (all, _) = rounds(&csv, &station);
    let mut before = Judge::new(&station, Options::default());
    for round in &all[..all.len() - 1] {
        before.see(round.clone());
    }
    let judged = |round: &Round| {
        let mut judge = before.clone();
        judge.see(round.clone());
        judge.judge()
    };
    let right = judged(&all[all.len() - 1]);
    assert!(!errands(&right).is_empty(), "findings stand");
    let last = lines.len() - 1;
    let cells: Vec<&str> = lines[last].split(',').collect();
    let (mut tried, mut asked) = (0, 0);
    for (column, name) in header.iter().enumerate() {
        let Ok(value) = cells[column].parse::<f64>() else {
            continue;
        };
        let (point, unit) = name.split_once(" [").unwrap_or((name, ""));
        let with = |cell: &str| {
            let mut cells = cells.clone();
            cells[column] = cell;
            let mut lines = lines.clone();
            let newest = cells.join(",");
            lines[last] = &newest;
            rounds(&lines.join("\n"), &station)
        };
        let unread = judged(with("").0.last().expect("rounds"));
        let known = [errands(&right), errands(&unread)].concat();
        for wrong in slips(value, cells[column], unit.trim_end_matches(']')) {
            let (list, refused) = with(&format!("{wrong:.3}"));
            if refused > 0 || list.len() < all.len() {
                continue;
            }
            tried += 1;
            let judgement = judged(&list[list.len() - 1]);
            let asks = |f: &judge::Finding| {
                let evidence = f.evidence.iter();
                let mut points =
                    evidence.map(|e| format!("{}.{}", station.id(e.id.asset), e.id.point.name()));
                f.kind == Kind::GaugeSuspect && points.any(|p| p == point)
            };
            asked += usize::from(judgement.findings.iter().any(asks));
            for errand in errands(&judgement) {
                // What would be dangerous if it were right is told at once.
                let at_once = errand.1 == Urgency::Now;
                assert!(
                    known.contains(&errand) || at_once,
                    "{point} read as {wrong} instead of {value}: {errand:?}"
                );
            }
        }
    }
    assert!(tried > 40, "{tried}");
    assert!(4 * asked > 3 * tried, "{asked} of {tried} were asked about");
}
