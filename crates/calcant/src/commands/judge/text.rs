//! The judgement as text for people: short, most urgent first, each with what to do.
//!
//! Plain without colour. Must not know: how a finding comes about.

use std::fmt::Write as _;

use jiff::Timestamp;
use judge::say::{Units, date, grouped, round};
use judge::{Finding, Urgency};
use physics::working::Step;
use station::model::{Asset, Station};

use super::{Answer, Judged, hot};
use crate::args::JudgeHow;
use crate::layout::{figures, wrap};

/// What stands before the answers of several stations: one line each, so that nobody has to scroll to
/// see who needs help.
pub(super) fn overview(answers: &[Answer], how: &JudgeHow) -> String {
    let mut text = format!("{} stations; who needs help first", answers.len());
    if let Some(asked) = hot::in_words(how.if_hot.as_deref(), how.units) {
        let _ = write!(text, ", if it gets {asked} tomorrow,");
    }
    text.push_str(" comes first\n\n");
    let widest = |of: fn(&Answer) -> &str| {
        let each = answers.iter().map(|one| of(one).chars().count());
        each.max().unwrap_or(0)
    };
    let width = widest(|one| &one.station);
    let counts = widest(|one| &one.in_short);
    for one in answers {
        let _ = match &one.if_hot {
            Some(hot) => writeln!(
                text,
                "  {:width$}  {:counts$}  {hot}",
                one.station, one.in_short
            ),
            None => writeln!(text, "  {:width$}  {}", one.station, one.in_short),
        };
    }
    text.push('\n');
    text
}

/// A line between two stations.
pub(super) fn between() -> String {
    format!("{}\n", "-".repeat(72))
}

/// What stands last.
pub(super) fn last_words(findings: bool, how: &JudgeHow) -> &'static str {
    if !how.working && findings {
        "`--working` lays every number open; `calcant explain KIND` tells how a kind is decided.\n"
    } else {
        ""
    }
}

/// One station.
pub(super) fn of_one(one: &Judged, how: &JudgeHow) -> String {
    let mut text = String::new();
    write_one(&mut text, one, how);
    text
}

fn write_one(text: &mut String, one: &Judged, how: &JudgeHow) {
    let station = &one.station;
    let when = one
        .judgement
        .as_of
        .map_or_else(String::new, |t| format!(", as of {}", time(station, t)));
    let _ = writeln!(text, "{}{when}", station.site.name);
    let _ = writeln!(text, "{}\n", rows(one));
    let findings = &one.judgement.findings;
    if findings.is_empty() && one.judgement.rounds > 0 {
        let _ = writeln!(text, "Steady: nothing to say\n");
    }
    let mut last: Option<Urgency> = None;
    for (n, finding) in findings.iter().enumerate() {
        if last != Some(finding.urgency) {
            let _ = writeln!(text, "{}\n", finding.urgency.words().to_uppercase());
            last = Some(finding.urgency);
        }
        of_finding(text, one, n + 1, finding, how);
    }
    super::trend::drifts(text, one, how.units.into());
    if how.working {
        super::trend::levels(text, one, how.units.into());
    }
    if let Some(asked) = hot::in_words(how.if_hot.as_deref(), how.units) {
        super::trend::if_hot(text, one, &asked, how.units.into());
    }
    isolation(text, one);
    not_judged(text, one);
}

/// `259 rounds read, 120 of them by then, 2 rows rejected; 4 looks taken off the log, …`.
fn rows(one: &Judged) -> String {
    let counted = |n: u64, what: &str| match n {
        1 => format!("1 {what}"),
        n => format!("{n} {what}s"),
    };
    let rows = &one.rows;
    let rounds = one.judgement.rounds - one.judgement.looks;
    let mut said = format!("{} read", counted(rows.accepted, "round"));
    if rounds < rows.accepted {
        let _ = write!(said, ", {rounds} of them by then");
    }
    if rows.rejected_total > 0 {
        let _ = write!(said, ", {} rejected", counted(rows.rejected_total, "row"));
    }
    if let Some(log) = &one.logged {
        let taken = counted(log.looks, "look");
        let _ = write!(said, "; {taken} taken off the log");
        if let Some((from, to)) = log.span {
            let day = |t: Timestamp| {
                t.to_zoned_datetime(one.station.site.time_zone.clone())
                    .date()
            };
            let _ = write!(said, ", {} to {}", date(day(from)), date(day(to)));
        }
        // A look that says what a round of that day says as well is not judged twice.
        if one.judgement.looks < log.looks {
            let _ = write!(said, ", {} of them judged", one.judgement.looks);
        }
    }
    said
}

fn of_finding(text: &mut String, one: &Judged, n: usize, f: &Finding, how: &JudgeHow) {
    let station = &one.station;
    wrap(
        text,
        &format!("{n:>2}. "),
        4,
        &format!("{}  [{}]", f.title, f.kind.name()),
    );
    if let Some(since) = f.since {
        let since = since.to_zoned_datetime(station.site.time_zone.clone());
        wrap(text, "    since ", 8, &date(since.date()));
    }
    if let Some(limit) = limit(one, f) {
        wrap(text, "    ", 8, &limit);
    }
    if let Some(cost) = cost(station, f) {
        wrap(text, "    ", 8, &cost);
    }
    wrap(text, "    do: ", 8, &f.action);
    let causes = f.likely_in_words();
    if !causes.is_empty() {
        wrap(text, "    likely: ", 8, &causes);
    }
    for argument in f.arguments() {
        let side = if argument.is_for { "for" } else { "against" };
        let said = format!("{side} {}: {}", argument.cause, argument.says.join("; "));
        wrap(text, "      ", 8, &said);
    }
    if let Some(next) = &f.next_check {
        wrap(text, "    next check: ", 8, next);
    }
    match (f.isolate, f.subject) {
        (true, Asset::Machine(_)) => {
            let _ = writeln!(
                text,
                "    isolate {} first: see below",
                station.id(f.subject)
            );
        }
        _ => {
            for caution in &f.cautions {
                wrap(text, "    ! ", 6, caution);
            }
        }
    }
    if how.working {
        text.push('\n');
        let logged = one.logged.as_ref().and_then(|log| log.evidence.get(n - 1));
        evidence(text, station, f, logged, how.units.into());
        for step in &f.working {
            of_step(text, step);
        }
    }
    text.push('\n');
}

/// What it will run into, and when; nothing if that cannot be said.
fn limit(one: &Judged, f: &Finding) -> Option<String> {
    let limit = f.limit.as_ref()?;
    let today = one.judgement.as_of.map(|t| {
        t.to_zoned_datetime(one.station.site.time_zone.clone())
            .date()
    });
    let when = limit.when(today, true)?;
    Some(format!("{}: {when}", limit.which(today)))
}

fn cost(station: &Station, f: &Finding) -> Option<String> {
    let currency = station
        .site
        .price
        .as_ref()
        .map_or("", |p| p.currency.as_str());
    match (f.cost.per_year, f.cost.kwh_per_year, &f.cost.why_not) {
        (Some(money), Some(kwh), _) => Some(format!(
            "costs {} {currency} a year ({} kWh)",
            grouped(money),
            grouped(kwh)
        )),
        (None, Some(kwh), why) => Some(format!(
            "costs {} kWh a year{}",
            grouped(kwh),
            why.as_ref().map_or(String::new(), |w| format!(" ({w})"))
        )),
        (_, _, Some(why)) => Some(match why.strip_prefix("risk, not energy: ") {
            Some(risk) => format!("at stake: {risk}"),
            None if why.starts_with("safety") => format!("at stake: {why}"),
            None => format!("cost: {why}"),
        }),
        _ => None,
    }
}

/// The readings behind a finding, in the reader's units.
fn evidence(
    text: &mut String,
    station: &Station,
    f: &Finding,
    logged: Option<&Vec<Option<Timestamp>>>,
    units: Units,
) {
    for (at, e) in f.evidence.iter().enumerate() {
        let point = e.id.point;
        let value = units.reading(point, e.read);
        if value.is_empty() {
            continue;
        }
        let mut said = format!("{}.{}: {value}", station.id(e.id.asset), point.name());
        if let Some(mid) = e.mid {
            let _ = write!(said, ", expected {}", units.reading(point, mid));
        }
        if let Some(deviations) = e.deviations {
            let side = if deviations < 0.0 { "below" } else { "above" };
            let size = round(deviations.abs(), 1);
            let _ = write!(said, ", {size} deviations {side}");
        }
        let when = logged.and_then(|times| times.get(at).copied().flatten());
        if let Some(when) = when {
            let _ = write!(said, ", logged {}", time(station, when));
        }
        wrap(text, "      read ", 8, &said);
    }
}

fn of_step(text: &mut String, step: &Step) {
    let value = figures(step.value);
    wrap(
        text,
        "      ",
        8,
        format!("{} = {value} {}", step.name, unit_in_text(&step.unit)).trim_end(),
    );
    wrap(text, "        ", 10, &step.formula);
    wrap(text, "        ", 10, &step.numbers);
    wrap(text, "        ", 10, &format!("source: {}", step.source));
}

/// A unit as people read it: a pure number has none.
pub(crate) fn unit_in_text(unit: &str) -> &str {
    match unit {
        "1" | "-" | "[-]" => "",
        "degC" => "°C",
        unit => unit,
    }
}

/// The isolation of every machine that some finding wants opened, once.
fn isolation(text: &mut String, one: &Judged) {
    for i in 0..one.station.machines.len() {
        let wanted = one
            .judgement
            .findings
            .iter()
            .find(|f| f.isolate && f.subject == Asset::Machine(i));
        let Some(finding) = wanted else { continue };
        let _ = writeln!(text, "Before you open {}\n", one.station.machines[i].id);
        for caution in &finding.cautions {
            wrap(text, "  - ", 4, caution);
        }
        text.push('\n');
    }
}

fn not_judged(text: &mut String, one: &Judged) {
    if one.judgement.not_judged.is_empty() {
        return;
    }
    let _ = writeln!(text, "Not judged\n");
    for note in &one.judgement.not_judged {
        wrap(text, "  - ", 4, &format!("{}: {}", note.what, note.why));
    }
    text.push('\n');
}

/// `Tue 14 July 2026 07:10`.
fn time(station: &Station, t: Timestamp) -> String {
    let local = t.to_zoned_datetime(station.site.time_zone.clone());
    local.strftime("%a %-d %B %Y %H:%M").to_string()
}
