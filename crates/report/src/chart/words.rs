//! What a chart shows, in words.
//!
//! Must not know: paper and ink.

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
    let day = |t: jiff::Timestamp| {
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
    if let Some(end) = chart
        .ahead
        .last()
        .filter(|a| a.low.is_finite() && a.high.is_finite())
    {
        said.push_str(&format!(
            " If it goes on so, {}: {} to {} by {}.",
            chart.ahead_at,
            measure.write(end.low),
            measure.with_unit(end.high),
            day(end.time)
        ));
    }
    said
}
