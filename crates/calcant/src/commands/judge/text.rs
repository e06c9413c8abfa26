//! The judgement as text for people: short, most urgent first, each with what to do.
//!
//! Plain without colour. Must not know: how a finding comes about.

use std::fmt::Write as _;

use jiff::Timestamp;
use judge::say::{grouped, round};
use judge::{Finding, Urgency};
use physics::working::Step;
use station::model::{Asset, Station};

use super::Judged;
use crate::args::JudgeHow;

const WIDTH: usize = 96;

pub(super) fn of_all(judged: &[Judged], how: &JudgeHow) -> String {
    let mut text = String::new();
    for (place, one) in judged.iter().enumerate() {
        if place > 0 {
            text.push('\n');
        }
        of_one(&mut text, one, how);
    }
    text
}

fn of_one(text: &mut String, one: &Judged, how: &JudgeHow) {
    let station = &one.station;
    let when = one
        .judgement
        .as_of
        .map_or_else(String::new, |t| format!(", as of {}", time(station, t)));
    let _ = writeln!(text, "{}{when}", station.site.name);
    let rows = &one.rows;
    let rejected = match rows.rejected_total {
        0 => String::new(),
        n => format!(", {n} rejected"),
    };
    let _ = writeln!(text, "{} rounds read{rejected}\n", rows.accepted);
    let findings = &one.judgement.findings;
    if findings.is_empty() {
        let _ = writeln!(text, "steady: nothing to say\n");
    }
    let mut last: Option<Urgency> = None;
    for (n, finding) in findings.iter().enumerate() {
        if last != Some(finding.urgency) {
            let _ = writeln!(text, "{}\n", finding.urgency.words().to_uppercase());
            last = Some(finding.urgency);
        }
        of_finding(text, station, n + 1, finding, how.working);
    }
    isolation(text, one);
    not_judged(text, one);
    if !how.working && !findings.is_empty() {
        let _ = writeln!(
            text,
            "`--working` lays every number open; `calcant explain KIND` tells how a kind is decided."
        );
    }
}

fn of_finding(text: &mut String, station: &Station, n: usize, f: &Finding, working: bool) {
    wrap(
        text,
        &format!("{n:>2}. "),
        4,
        &format!("{}  [{}]", f.title, f.kind.name()),
    );
    let since = f
        .since
        .map_or_else(String::new, |t| format!("since {}; ", date(station, t)));
    wrap(text, "    ", 4, &format!("{since}{}", cost(station, f)));
    if let Some(limit) = &f.limit {
        if let Some(likely) = limit.likely {
            wrap(text, "    ", 4, &format!("{}: {likely}", limit.what));
        }
    }
    wrap(text, "    do: ", 8, &f.action);
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
    if working {
        text.push('\n');
        for step in &f.working {
            of_step(text, step);
        }
    }
    text.push('\n');
}

fn cost(station: &Station, f: &Finding) -> String {
    let currency = station
        .site
        .price
        .as_ref()
        .map_or("", |p| p.currency.as_str());
    match (f.cost.per_year, f.cost.kwh_per_year, &f.cost.why_not) {
        (Some(money), Some(kwh), _) => {
            format!(
                "{} {currency} a year ({} kWh)",
                grouped(money),
                grouped(kwh)
            )
        }
        (None, Some(kwh), why) => format!(
            "{} kWh a year{}",
            grouped(kwh),
            why.as_ref().map_or(String::new(), |w| format!(" ({w})"))
        ),
        (_, _, Some(why)) => format!("at stake: {why}"),
        _ => String::new(),
    }
}

fn of_step(text: &mut String, step: &Step) {
    let value = figures(step.value);
    wrap(
        text,
        "      ",
        8,
        &format!("{} = {value} {}", step.name, step.unit),
    );
    wrap(text, "        ", 10, &step.formula);
    wrap(text, "        ", 10, &step.numbers);
    wrap(text, "        ", 10, &format!("source: {}", step.source));
}

/// Four figures, as an engineer writes them.
pub(crate) fn figures(value: f64) -> String {
    let places = match value.abs() {
        v if v >= 1000.0 => 0,
        v if v >= 100.0 => 1,
        v if v >= 10.0 => 2,
        v if v >= 1.0 => 3,
        v if v >= 0.01 => 4,
        _ => 6,
    };
    round(value, places)
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

/// `14 July 2026`.
fn date(station: &Station, t: Timestamp) -> String {
    let local = t.to_zoned_datetime(station.site.time_zone.clone());
    local.strftime("%-d %B %Y").to_string()
}

/// Writes words in lines, the first behind `first`, the others indented.
pub(crate) fn wrap(text: &mut String, first: &str, indent: usize, words: &str) {
    let mut line = first.to_owned();
    let mut empty = true;
    for word in words.split_whitespace() {
        if !empty && line.chars().count() + 1 + word.chars().count() > WIDTH {
            let _ = writeln!(text, "{line}");
            line = " ".repeat(indent);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    let _ = writeln!(text, "{}", line.trim_end());
}
