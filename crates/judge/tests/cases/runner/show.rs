//! What was found, in words for whoever reads a failure.

use judge::finding::Finding;
use judge::say::in_file_unit;

use super::page::Case;
use super::run::Outcome;

/// Which case.
pub(crate) fn place(case: &Case) -> String {
    let file = case.file.file_name().unwrap_or_default().to_string_lossy();
    format!("{file}, line {}: \"{}\"", case.line, case.heading)
}

/// One finding as an `expect` block writes it, and its title.
pub(crate) fn finding(outcome: &Outcome, f: &Finding) -> String {
    format!(
        "{} on {}, {} ({}): {}",
        f.kind.name(),
        outcome.station.id(f.subject),
        f.urgency.words(),
        f.id,
        f.title
    )
}

/// The text of a `snapshot` block.
pub(crate) fn snapshot(outcome: &Outcome) -> String {
    outcome
        .judgement
        .findings
        .iter()
        .map(|f| format!("{}: {}\n", f.urgency.words(), f.title))
        .collect()
}

/// What is wrong with a case, and what the last round was expected to read.
pub(crate) fn complaint(case: &Case, wrong: &[String], outcome: &Outcome) -> String {
    let list: Vec<String> = wrong.iter().map(|w| format!("  - {w}")).collect();
    format!(
        "{}\n{}\n  the last round beside what is expected of it:\n{}",
        place(case),
        list.join("\n"),
        expectations(outcome)
    )
}

fn expectations(outcome: &Outcome) -> String {
    let rows: Vec<String> = outcome
        .judgement
        .expectations
        .iter()
        .map(|e| {
            let number = |si| in_file_unit(e.id.point, si).0;
            format!(
                "    {}.{}: read {:.2}, expected {:.2} ({:.2} to {:.2}), {:+.1} deviations, mostly {}",
                outcome.station.id(e.id.asset),
                e.id.point.name(),
                number(e.read),
                number(e.mid),
                number(e.low),
                number(e.high),
                e.deviations,
                e.mostly.as_deref().unwrap_or("nothing")
            )
        })
        .collect();
    rows.join("\n")
}

/// Everything about a case.
pub(crate) fn all(case: &Case, outcome: &Outcome) -> String {
    let findings: Vec<String> = outcome
        .judgement
        .findings
        .iter()
        .map(|f| {
            format!(
                "  {}\n    since {:?}, health {:?}, limit {:?}, cost {:?} kWh {:?} {:?}",
                finding(outcome, f),
                f.since,
                f.health.as_ref().map(|h| (h.value, h.low, h.high)),
                f.limit.as_ref().and_then(|l| l.likely),
                f.cost.per_year,
                f.cost.kwh_per_year,
                f.cost.why_not
            )
        })
        .collect();
    let not: Vec<String> = outcome
        .judgement
        .not_judged
        .iter()
        .map(|n| format!("  {}: {}", n.what, n.why))
        .collect();
    let rejected: Vec<String> = outcome.rejected.iter().map(|r| format!("  {r}")).collect();
    format!(
        "{}\n found:\n{}\n expected of the last round:\n{}\n not judged:\n{}\n rejected:\n{}",
        place(case),
        findings.join("\n"),
        expectations(outcome),
        not.join("\n"),
        rejected.join("\n")
    )
}

/// Each line further in.
pub(crate) fn indented(text: &str) -> String {
    text.lines()
        .map(|line| format!("    {line}"))
        .collect::<Vec<_>>()
        .join("\n")
}
