//! The literate cases: stories of stations in `cases/*.md`, each with its readings and with what
//! has to be found in them.
//!
//! `cases/README.md` tells how a case is written. `BLESS=1 cargo test -p judge --test cases` writes
//! the `snapshot` blocks anew; `SHOW=word` shows all that is found in the cases that have the word
//! in their heading.

#![expect(
    clippy::disallowed_methods,
    reason = "the cases are files, and whoever writes one asks for more by BLESS and SHOW"
)]

use std::collections::{BTreeMap, BTreeSet};

use judge::finding::Finding;
use judge::{Judgement, Kind};

#[path = "cases/runner/mod.rs"]
mod runner;

use runner::page::{Case, all_cases, bless};
use runner::run::{Outcome, run};
use runner::{compare, show};

/// Every case with what came out; a case that cannot be run is told as its complaint.
fn outcomes() -> Vec<(Case, Result<Outcome, String>)> {
    all_cases()
        .unwrap_or_else(|complaint| panic!("{complaint}"))
        .into_iter()
        .map(|case| {
            let outcome = run(&case);
            (case, outcome)
        })
        .collect()
}

/// The outcomes of the cases that can be run.
fn judged() -> Vec<(Case, Outcome)> {
    outcomes()
        .into_iter()
        .filter_map(|(case, outcome)| Some((case, outcome.ok()?)))
        .collect()
}

#[test]
fn every_case_comes_out_as_it_is_written() {
    let wanted = std::env::var("SHOW").ok();
    let mut complaints = Vec::new();
    let mut shown = Vec::new();
    let mut blessed = Vec::new();
    for (case, outcome) in outcomes() {
        match outcome {
            Ok(outcome) => {
                let wrong = compare::complaints(&case, &outcome);
                if wanted
                    .as_ref()
                    .is_some_and(|word| case.heading.contains(word))
                {
                    shown.push(show::all(&case, &outcome));
                }
                if !wrong.is_empty() {
                    complaints.push(show::complaint(&case, &wrong, &outcome));
                }
                blessed.push((case, show::snapshot(&outcome)));
            }
            Err(why) => complaints.push(format!("{}\n  {why}", show::place(&case))),
        }
    }
    if std::env::var_os("BLESS").is_some() {
        bless(&blessed).unwrap_or_else(|why| panic!("{why}"));
    } else {
        let stale = blessed
            .iter()
            .filter_map(|(case, found)| compare::snapshot(case, found));
        complaints.extend(stale);
    }
    assert!(shown.is_empty(), "\n\n{}\n", shown.join("\n\n"));
    assert!(
        complaints.is_empty(),
        "\n\n{}\n\n{} cases do not come out as they are written\n",
        complaints.join("\n\n"),
        complaints.len()
    );
}

#[test]
fn every_kind_appears_in_a_case_and_stays_quiet_in_another() {
    let (mut appears, mut quiet) = (BTreeSet::new(), BTreeSet::new());
    for case in all_cases().unwrap_or_else(|complaint| panic!("{complaint}")) {
        appears.extend(case.expect.findings.iter().map(|f| f.kind));
        quiet.extend(case.expect.quiet.iter().map(|f| f.kind));
    }
    let lacking = |seen: &BTreeSet<Kind>| -> Vec<&str> {
        Kind::ALL
            .iter()
            .filter(|kind| !seen.contains(kind))
            .map(|kind| kind.name())
            .collect()
    };
    assert!(
        lacking(&appears).is_empty(),
        "no case in which it appears: {:?}",
        lacking(&appears)
    );
    assert!(
        lacking(&quiet).is_empty(),
        "no case in which it has to stay quiet (`not {{kind}} on …`): {:?}",
        lacking(&quiet)
    );
}

/// Applies a law to every finding of every case and tells where it does not hold.
fn law(holds: impl Fn(&Finding) -> bool, says: &str) {
    let broken: Vec<String> = judged()
        .iter()
        .flat_map(|(case, outcome)| {
            outcome
                .judgement
                .findings
                .iter()
                .filter(|f| !holds(f))
                .map(|f| format!("{}: {} {}", show::place(case), f.kind.name(), f.id))
                .collect::<Vec<_>>()
        })
        .collect();
    assert!(broken.is_empty(), "{says}:\n{}", broken.join("\n"));
}

#[test]
fn every_finding_says_what_and_what_to_do_and_how_it_comes_about() {
    law(
        |f| !f.title.trim().is_empty() && !f.title.ends_with('.'),
        "a finding has a title without a full stop",
    );
    law(|f| !f.action.trim().is_empty(), "a finding says what to do");
    law(|f| !f.working.is_empty(), "a finding shows its working");
    law(
        |f| {
            f.working
                .iter()
                .all(|s| !s.name.is_empty() && !s.formula.is_empty() && !s.source.is_empty())
        },
        "every step of a working has a name, a formula and a source",
    );
    law(
        |f| f.cost.per_year.is_some() != f.cost.why_not.is_some(),
        "a finding has a price, or says why not",
    );
}

#[test]
fn what_may_be_a_gauge_names_the_next_look() {
    let wants = [Kind::DewPointHigh, Kind::PowerHigh, Kind::UnloadedPowerHigh];
    law(
        |f| !wants.contains(&f.kind) || f.next_check.is_some(),
        "a dew point or a power that is high names the next look",
    );
}

#[test]
fn a_loss_that_is_priced_elsewhere_names_a_finding_that_is_there() {
    let mut seen = 0;
    for (case, outcome) in judged() {
        let findings = &outcome.judgement.findings;
        for f in findings {
            let why = f.cost.why_not.as_deref().unwrap_or_default();
            if let Some(rest) = why.strip_prefix("already in the cost of ") {
                let id = rest.split(' ').next().unwrap_or_default();
                let other = findings.iter().find(|o| o.id == id);
                assert!(
                    other.is_some_and(|o| o.cost.kwh_per_year.is_some()),
                    "{}: {} is priced in {id}, which has no price",
                    show::place(&case),
                    f.id
                );
                seen += 1;
            }
        }
    }
    assert!(seen >= 2, "only {seen} losses are told twice in the cases");
}

#[test]
fn every_finding_that_isolates_brings_its_cautions() {
    law(
        |f| !f.isolate || f.cautions.len() > 2,
        "where something is isolated, cautions stand beside it",
    );
    law(
        |f| {
            f.cautions
                .last()
                .is_some_and(|last| last.starts_with("Local codes and licensed people"))
        },
        "cautions end with local codes and licensed people",
    );
}

#[test]
fn every_number_is_finite_and_every_text_is_clean() {
    law(
        |f| numbers(f).into_iter().all(f64::is_finite),
        "a number is finite",
    );
    law(
        |f| {
            !texts(f)
                .iter()
                .any(|t| t.chars().any(char::is_control) || t.contains("NaN"))
        },
        "a text has no control characters and no missing numbers",
    );
    law(
        |f| {
            f.causes
                .iter()
                .all(|c| (0.0..=1.0).contains(&c.probability))
        },
        "a probability is between 0 and 1",
    );
    law(
        |f| {
            f.health
                .as_ref()
                .is_none_or(|h| h.low <= h.value && h.value <= h.high)
        },
        "a health lies inside its interval",
    );
    for (case, outcome) in judged() {
        for e in &outcome.judgement.expectations {
            assert!(
                [e.read, e.low, e.mid, e.high, e.deviations]
                    .into_iter()
                    .all(f64::is_finite)
                    && e.low <= e.mid
                    && e.mid <= e.high,
                "{}: {e:?}",
                show::place(&case)
            );
        }
    }
}

#[test]
fn findings_have_names_of_their_own_and_stand_in_order() {
    for (case, outcome) in judged() {
        let findings = &outcome.judgement.findings;
        let mut ids = BTreeMap::new();
        for f in findings {
            *ids.entry(&f.id).or_insert(0) += 1;
        }
        assert!(
            ids.values().all(|count| *count == 1),
            "{}: two findings have the same id: {ids:?}",
            show::place(&case)
        );
        assert!(
            findings.is_sorted_by(|a, b| a.order(b).is_le()),
            "{}: findings are not in the order of urgency",
            show::place(&case)
        );
    }
}

#[test]
fn a_second_judgement_says_the_same() {
    for (case, first) in judged() {
        let again: Judgement = run(&case).expect("it ran before").judgement;
        assert_eq!(first.judgement, again, "{}", show::place(&case));
    }
}

fn numbers(f: &Finding) -> Vec<f64> {
    let health = f.health.iter().flat_map(|h| {
        [Some(h.value), Some(h.low), Some(h.high), h.per_month]
            .into_iter()
            .flatten()
    });
    let evidence = f
        .evidence
        .iter()
        .flat_map(|e| [Some(e.read), e.mid, e.deviations].into_iter().flatten());
    let cost = [f.cost.per_year, f.cost.kwh_per_year].into_iter().flatten();
    f.working
        .iter()
        .map(|step| step.value)
        .chain(health)
        .chain(evidence)
        .chain(cost)
        .chain(f.causes.iter().map(|c| c.probability))
        .collect()
}

fn texts(f: &Finding) -> Vec<&str> {
    let steps = f
        .working
        .iter()
        .flat_map(|s| [&s.name, &s.formula, &s.numbers, &s.unit, &s.source].map(String::as_str));
    [f.title.as_str(), f.action.as_str(), f.id.as_str()]
        .into_iter()
        .chain(f.next_check.as_deref())
        .chain(f.cost.why_not.as_deref())
        .chain(f.cautions.iter().map(String::as_str))
        .chain(f.causes.iter().map(|c| c.cause.as_str()))
        .chain(steps)
        .collect()
}
