//! What findings of many rounds say about each other: the next look is always named where a gauge or
//! a machine may be at fault, and a loss is priced once.
//!
//! The histories are invented, with physics of their own (crate `histories`).

use histories::{Climate, Fault, Habits, Plant, Trouble, Weather, invent, to_csv, to_station_toml};
use judge::{Judge, Judgement, Kind, Options};
use station::file::rounds::{Reader, Row};
use station::file::station::parse;

fn judged(plant: &Plant, trouble: Trouble, seed: u64, days: u32) -> Judgement {
    let weather = Weather {
        climate: Climate::inland(),
        seed,
    };
    let history = invent(plant, &weather, &[trouble], &Habits::default(), seed, days);
    let station = parse(&to_station_toml(plant, &weather.climate)).expect("our own file is sound");
    let csv = to_csv(&history);
    let mut reader = Reader::open(csv.as_bytes(), &station).expect("our own columns are known");
    let mut judge = Judge::new(&station, Options::default());
    for row in &mut reader {
        if let Row::Round(round) = row.expect("text in memory can be read") {
            judge.see(round);
        }
    }
    judge.judge()
}

#[test]
fn what_may_be_a_gauge_is_compared_as_a_next_look() {
    let plant = Plant::two_screws(5);
    let mut kinds = Vec::new();
    for (fault, on, size) in [
        (Fault::DryerWeak, "D1", 0.5),
        (Fault::SeparatorLoading, "K1", 0.8),
    ] {
        let trouble = Trouble::new(fault, on, 120, 180, size);
        let judgement = judged(&plant, trouble, 5, 240);
        for f in &judgement.findings {
            kinds.push(f.kind);
            assert!(!f.id.ends_with(".over-pressure"), "{}", f.title);
            let wants = [Kind::DewPointHigh, Kind::PowerHigh, Kind::UnloadedPowerHigh];
            assert!(
                !wants.contains(&f.kind) || f.next_check.is_some(),
                "{} has no next look",
                f.id
            );
            let gauge = f.causes.iter().find(|c| c.cause == "gauge wrong");
            if f.kind != Kind::GaugeSuspect && gauge.is_some_and(|c| c.probability >= 0.2) {
                let check = f.next_check.as_deref().unwrap_or_default().to_lowercase();
                assert!(check.contains("compare"), "{}: {check}", f.id);
            }
        }
    }
    assert!(kinds.contains(&Kind::PowerHigh), "{kinds:?}");
    assert!(kinds.contains(&Kind::SeparatorLoaded), "{kinds:?}");
}

#[test]
fn a_separator_that_also_shows_as_power_is_priced_once() {
    let plant = Plant::two_screws(5);
    let trouble = Trouble::new(Fault::SeparatorLoading, "K1", 60, 200, 0.9);
    let judgement = judged(&plant, trouble, 5, 240);
    let of = |kind: Kind| {
        let findings = judgement.findings.iter();
        findings.filter(move |f| f.kind == kind && f.id.starts_with("K1"))
    };
    let separator = of(Kind::SeparatorLoaded).next().expect("it is loaded");
    for power in of(Kind::PowerHigh) {
        let priced = [separator, power]
            .into_iter()
            .filter(|f| f.cost.kwh_per_year.is_some())
            .count();
        assert_eq!(priced, 1, "{separator:?}\n{power:?}");
    }
}
