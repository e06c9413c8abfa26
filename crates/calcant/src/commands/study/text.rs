//! The study as text for people: machines, air, pressures, what to do, what was left out.
//!
//! Must not know: how any figure comes about.

use std::fmt::Write as _;

use ::station::model::Station;
use ::study::{LeftOut, SourceRead, Study, Why};
use jiff::Timestamp;
use judge::Finding;
use judge::say::{Units, grouped, round};

use super::figures;
use crate::layout::wrap;

/// So many stretches that were left out are told; the rest is counted.
const MOST_TOLD: usize = 12;

pub(super) fn of(station: &Station, study: &Study, units: Units) -> String {
    let mut text = String::new();
    head(&mut text, station, study);
    findings(&mut text, study);
    figures::machines(&mut text, station, study);
    figures::air(&mut text, station, study, units);
    figures::pressures(&mut text, station, study, units);
    remarks(&mut text, study);
    left_out(&mut text, station, study);
    not_judged(&mut text, study);
    text
}

fn counted(n: u64, what: &str) -> String {
    let s = if n == 1 { "" } else { "s" };
    format!("{} {what}{s}", grouped(n as f64))
}

fn head(text: &mut String, station: &Station, study: &Study) {
    let span = match (study.from, study.to) {
        (Some(from), Some(to)) => {
            format!(", {} to {}", time(station, from), time(station, to))
        }
        _ => String::new(),
    };
    let _ = writeln!(text, "{}{span}", station.site.name);
    let mut said = format!("{} read", counted(study.rows, "row"));
    if study.rejected_total > 0 {
        let _ = write!(
            said,
            ", {} could not be read",
            counted(study.rejected_total, "cell")
        );
    }
    if study.left_out_total > 0 {
        let _ = write!(
            said,
            ", {} left out: see below",
            counted(study.left_out_total, "stretch").replace("stretchs", "stretches")
        );
    }
    let _ = writeln!(text, "{said}");
    // Files that were all written alike are told once.
    let mut told: Vec<String> = Vec::new();
    for source in &study.sources {
        let said = how_written(source);
        if !told.contains(&said) {
            wrap(text, "", 2, &said);
            told.push(said);
        }
    }
    text.push('\n');
}

/// `a row every 1 s; dates are day, month, year: line 31 says …`
fn how_written(source: &SourceRead) -> String {
    let mut said = Vec::new();
    if let Some(interval) = source.interval_s {
        said.push(format!("a row every {}", duration(interval)));
    }
    if let Some(dates) = &source.dates {
        said.push(format!("dates are {}: {}", dates.order, dates.because));
    }
    if source.decimal_comma {
        said.push("numbers have a decimal comma".to_owned());
    }
    if !source.columns_left_out.is_empty() {
        said.push(format!(
            "columns that say nothing about this station: {}",
            source.columns_left_out.join(", ")
        ));
    }
    said.join("; ")
}

fn findings(text: &mut String, study: &Study) {
    let mut last = None;
    for (n, finding) in study.findings.iter().enumerate() {
        if last != Some(finding.urgency) {
            let _ = writeln!(text, "{}\n", finding.urgency.words().to_uppercase());
            last = Some(finding.urgency);
        }
        let first = format!("{:>2}. ", n + 1);
        wrap(
            text,
            &first,
            4,
            &format!("{}  [{}]", finding.title, finding.kind.name()),
        );
        if let Some(cost) = cost(finding) {
            wrap(text, "    ", 8, &cost);
        }
        wrap(text, "    do: ", 8, &finding.action);
        for caution in &finding.cautions {
            wrap(text, "    ! ", 6, caution);
        }
        text.push('\n');
    }
}

fn cost(finding: &Finding) -> Option<String> {
    let cost = &finding.cost;
    match (cost.per_year, cost.kwh_per_year, &cost.why_not) {
        (Some(money), Some(kwh), _) => Some(format!(
            "costs {} a year ({} kWh)",
            grouped(money),
            grouped(kwh)
        )),
        (None, Some(kwh), _) => Some(format!("costs {} kWh a year", grouped(kwh))),
        (_, _, Some(why)) => Some(format!("at stake: {why}")),
        _ => None,
    }
}

fn remarks(text: &mut String, study: &Study) {
    if study.remarks.is_empty() {
        return;
    }
    let _ = writeln!(text, "What the figures rest on\n");
    for remark in &study.remarks {
        wrap(text, "  - ", 4, remark);
    }
    text.push('\n');
}

fn left_out(text: &mut String, station: &Station, study: &Study) {
    if study.left_out.is_empty() {
        return;
    }
    let _ = writeln!(text, "Left out\n");
    for stretch in study.left_out.iter().take(MOST_TOLD) {
        wrap(text, "  - ", 4, &stretch_told(station, stretch));
    }
    let more = study
        .left_out_total
        .saturating_sub(study.left_out.len().min(MOST_TOLD) as u64);
    if more > 0 {
        let _ = writeln!(
            text,
            "  and {} more; `--json` lists the first 1000",
            grouped(more as f64)
        );
    }
    text.push('\n');
}

/// `gap: Tue 14 July 2026 07:10:05 to 07:12:05, 2 min`
pub(super) fn stretch_told(station: &Station, stretch: &LeftOut) -> String {
    let of = stretch
        .channel
        .map_or_else(String::new, |c| format!(" of {}", c.name(station)));
    let zone = &station.site.time_zone;
    let (from, to) = (zone.to_datetime(stretch.from), zone.to_datetime(stretch.to));
    let end = if from.date() == to.date() {
        to.strftime("%H:%M:%S").to_string()
    } else {
        to.strftime("%a %-d %B %Y %H:%M:%S").to_string()
    };
    let mut said = format!(
        "{}{of}: {}",
        stretch.why.text(),
        from.strftime("%a %-d %B %Y %H:%M:%S")
    );
    if stretch.from != stretch.to {
        let seconds = stretch.to.duration_since(stretch.from).as_secs_f64();
        let _ = write!(said, " to {end}, {}", duration(seconds));
    }
    if stretch.rows > 0 {
        let _ = write!(said, ", {}", counted(stretch.rows, "row"));
    }
    if stretch.why == Why::ClockSetBack && stretch.rows > 1000 {
        said.push_str("; give files in the order of time, each sorted by it");
    }
    said
}

fn not_judged(text: &mut String, study: &Study) {
    if study.not_judged.is_empty() {
        return;
    }
    let _ = writeln!(text, "Not judged\n");
    for note in &study.not_judged {
        wrap(text, "  - ", 4, &format!("{}: {}", note.what, note.why));
    }
    text.push('\n');
}

/// `Tue 14 July 2026 07:10`.
fn time(station: &Station, t: Timestamp) -> String {
    let local = t.to_zoned_datetime(station.site.time_zone.clone());
    local.strftime("%a %-d %B %Y %H:%M").to_string()
}

/// A time in the unit that suits it.
pub(super) fn duration(seconds: f64) -> String {
    match seconds {
        s if s < 120.0 => {
            let whole = (s - s.round()).abs() < 0.005;
            format!("{} s", round(s, if whole { 0 } else { 2 }))
        }
        s if s < 7200.0 => format!("{} min", round(s / 60.0, 0)),
        s if s < 172_800.0 => format!("{} h", round(s / 3600.0, 1)),
        s => format!("{} days", round(s / 86_400.0, 1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_said_in_the_unit_that_suits_it() {
        for (seconds, said) in [
            (1.0, "1 s"),
            (0.1, "0.10 s"),
            (90.0, "90 s"),
            (600.0, "10 min"),
            (9_000.0, "2.5 h"),
            (259_200.0, "3.0 days"),
        ] {
            assert_eq!(duration(seconds), said);
        }
    }
}
