//! What a chart shows, in words.
//!
//! Must not know: paper and ink.

use jiff::Timestamp;

use super::ahead::Ahead;
use super::{Drawn, Mark};
use crate::measure::Measure;

/// The picture in words.
pub(super) fn said(
    drawn: &Drawn,
    measure: &Measure,
    marks: &[Mark],
    limits: &[(String, f64)],
) -> String {
    let chart = drawn.chart;
    let day = |t: Timestamp| {
        t.to_zoned_datetime(drawn.time_zone.clone())
            .strftime("%-d %B %Y")
            .to_string()
    };
    let mut said = String::new();
    if let (Some(first), Some(last)) = (chart.readings.first(), chart.readings.last()) {
        said.push_str(&format!(
            "{} readings from {} to {}, {} outside the expected band. First {}, last {}, where {} to {} is expected.",
            chart.readings.len(),
            day(first.time),
            day(last.time),
            chart.readings.iter().filter(|r| r.read < r.low || r.read > r.high).count(),
            measure.with_unit(first.read),
            measure.with_unit(last.read),
            measure.write(last.low),
            measure.with_unit(last.high),
        ));
    }
    if marks.len() < chart.readings.len() {
        said.push_str(" Drawn are the lowest and the highest of each stretch of time.");
    }
    for (name, _) in limits {
        said.push_str(&format!(" Limit: {name}."));
    }
    for (time, what) in &chart.work {
        said.push_str(&format!(" {}: {what}.", day(*time)));
    }
    said
}

/// On what what is to come rests: `if it goes on so`, and at which conditions.
pub(crate) fn goes_on(at: &str) -> String {
    const SO: &str = "if it goes on so";
    match at.strip_suffix(SO).unwrap_or(at).trim_end_matches(", ") {
        "" => SO.to_owned(),
        own if own.starts_with("if it goes on") => own.to_owned(),
        at => format!("{SO}, {at}"),
    }
}

/// What is to come in words: when its middle passes each limit and, while it stays on the paper and
/// short of the last limit, between what it lies at its end.
pub(super) fn ahead(
    drawn: &Drawn,
    measure: &Measure,
    ahead: &[Ahead],
    (marks, limits): (&[Mark], &[(String, f64)]),
    held: &[f64],
) -> String {
    let Some(first) = ahead.first() else {
        return String::new();
    };
    let day = |second: f64| {
        // Within the years that the chart spans; the cast cannot wrap.
        let time = Timestamp::from_second(second as i64).ok()?;
        let local = time.to_zoned_datetime(drawn.time_zone.clone());
        Some(local.strftime("%-d %B %Y").to_string())
    };
    // A limit lies on the side to which it is seen from where the readings began.
    let began = marks.first().map_or(first.mid, |m| 0.5 * (m.low + m.high));
    let beyond = |a: &Ahead, limit: f64| match limit >= began {
        true => a.mid >= limit,
        false => a.mid <= limit,
    };
    let mut to_come: Vec<_> = limits.iter().filter(|(_, l)| !beyond(first, *l)).collect();
    to_come.sort_by(|a, b| (a.1 - began).abs().total_cmp(&(b.1 - began).abs()));
    let mut said: Vec<String> = Vec::new();
    for (name, limit) in &to_come {
        let step = ahead.windows(2).find_map(|two| match two {
            [a, b] if beyond(b, *limit) => Some((a, b)),
            _ => None,
        });
        let passes = step.map(|(a, b)| {
            let share = (limit - a.mid) / (b.mid - a.mid);
            a.second + share * (b.second - a.second)
        });
        if let Some(passes) = passes.and_then(day) {
            said.push(format!("passes {name}, about {passes}"));
        }
    }
    // Beyond the last limit, or off the paper, nobody lets it come.
    let short = to_come.is_empty() || said.len() < to_come.len();
    let on_paper = |a: &Ahead| {
        let some = |edge: fn(f64, f64) -> f64, from| held.iter().copied().fold(from, edge);
        (some(f64::min, f64::INFINITY)..=some(f64::max, f64::NEG_INFINITY)).contains(&a.mid)
    };
    if short
        && let Some(end) = ahead.iter().take_while(|a| on_paper(a)).last()
        && let (Some(at), Some(by)) = (drawn.chart.ahead.get(end.place), day(end.second))
    {
        let (low, high) = (at.low.min(at.high), at.low.max(at.high));
        let (low, high) = (measure.write(low), measure.with_unit(high));
        said.push(format!("{low} to {high} with 80 % by {by}"));
    }
    if said.is_empty() {
        return String::new();
    }
    let goes_on = goes_on(&drawn.chart.ahead_at);
    format!(" Ahead {goes_on}: {}.", said.join("; "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_said_twice_of_how_it_goes_on() {
        let same = |at, told| assert_eq!(goes_on(at), told);
        same("", "if it goes on so");
        same("if it goes on so", "if it goes on so");
        same(
            "at the newest conditions, if it goes on so",
            "if it goes on so, at the newest conditions",
        );
        same(
            "if it goes on at its newest pace",
            "if it goes on at its newest pace",
        );
        same(
            "at each month's mean maximum",
            "if it goes on so, at each month's mean maximum",
        );
    }
}
