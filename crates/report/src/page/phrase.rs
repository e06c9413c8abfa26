//! Words between the sentences of a judgement: dates, limits, sums.
//!
//! Must not know: how a finding comes about.

use jiff::Timestamp;
use jiff::civil::Date;
use judge::say::{date, grouped, percent};
use judge::{Finding, Judgement, Urgency};
use station::model::Station;

/// `Tue 14 July 2026 07:10`.
pub(super) fn time(station: &Station, t: Timestamp) -> String {
    let local = t.to_zoned_datetime(station.site.time_zone.clone());
    local.strftime("%a %-d %B %Y %H:%M").to_string()
}

/// `14 July 2026`.
pub(super) fn day(station: &Station, t: Timestamp) -> String {
    date(t.to_zoned_datetime(station.site.time_zone.clone()).date())
}

/// The day of the judgement, at the station.
pub(super) fn today(station: &Station, judgement: &Judgement) -> Option<Date> {
    let t = judgement.as_of?;
    Some(t.to_zoned_datetime(station.site.time_zone.clone()).date())
}

/// The currency of the station, if prices are told.
pub(super) fn currency(station: &Station) -> &str {
    station
        .site
        .price
        .as_ref()
        .map_or("", |p| p.currency.as_str())
}

/// What leaving it costs a year, in a few words.
pub(super) fn sum(station: &Station, f: &Finding) -> Option<String> {
    match (f.cost.per_year, f.cost.kwh_per_year) {
        (Some(money), _) => Some(format!("{} {}", grouped(money), currency(station))),
        (None, Some(kwh)) => Some(format!("{} kWh", grouped(kwh))),
        _ => None,
    }
}

/// What leaving it costs a year, or what is at stake: a name and a sentence.
pub(super) fn cost(station: &Station, f: &Finding) -> Option<(&'static str, String)> {
    match (f.cost.per_year, f.cost.kwh_per_year, &f.cost.why_not) {
        (Some(money), Some(kwh), _) => Some((
            "It costs",
            format!(
                "{} {} a year ({} kWh)",
                grouped(money),
                currency(station),
                grouped(kwh)
            ),
        )),
        (Some(money), None, _) => Some((
            "It costs",
            format!("{} {} a year", grouped(money), currency(station)),
        )),
        (None, Some(kwh), why) => Some((
            "It costs",
            format!(
                "{} kWh a year{}",
                grouped(kwh),
                why.as_ref().map_or(String::new(), |w| format!(" ({w})"))
            ),
        )),
        (None, None, Some(why)) => Some(match why.strip_prefix("risk, not energy: ") {
            Some(risk) => ("At stake", risk.to_owned()),
            None if why.starts_with("safety") => ("At stake", why.clone()),
            None => ("It costs", why.clone()),
        }),
        (None, None, None) => None,
    }
}

/// `1 round`, `2 rounds`.
pub(super) fn counted(n: u64, what: &str) -> String {
    match n {
        1 => format!("1 {what}"),
        n => format!("{} {what}s", grouped(n as f64)),
    }
}

/// The urgency as a heading.
pub(super) fn heading(urgency: Urgency) -> &'static str {
    match urgency {
        Urgency::Now => "Now",
        Urgency::ThisWeek => "This week",
        Urgency::NextService => "Next service",
        Urgency::Watch => "Watch",
    }
}

/// Four figures, as an engineer writes them.
pub(super) fn figures(value: f64) -> String {
    let places = match value.abs() {
        v if !v.is_finite() => return "not known".to_owned(),
        v if v < 1.0e-12 => return "0".to_owned(),
        v if v >= 1000.0 => 0,
        v if v >= 100.0 => 1,
        v if v >= 10.0 => 2,
        v if v >= 1.0 => 3,
        v if v >= 0.01 => 4,
        _ => 6,
    };
    judge::say::round(value, places)
}

/// A share as per cent, for a health.
pub(super) fn percent_of(share: f64) -> String {
    if share.is_finite() {
        percent(share)
    } else {
        "not known".to_owned()
    }
}
