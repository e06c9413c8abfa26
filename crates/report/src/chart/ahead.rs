//! What is to come if it goes on so: its middle and its range, beside the readings.
//!
//! Must not know: how it was forecast.

use judge::Chart;

use super::axis::Axis;
use super::{BOTTOM, TOP};
use crate::frame::Frame;
use crate::measure::Measure;
use crate::scale::Scale;
use crate::svg::{Anchor, Canvas, width};

/// One day ahead, in the reader's units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ahead {
    pub(super) second: f64,
    low: f64,
    pub(super) mid: f64,
    high: f64,
    /// Its place in the chart's own list.
    pub(super) place: usize,
}

/// What is to come, as far as it is worth drawing.
pub(super) fn of(chart: &Chart, measure: &Measure, limits: &[(String, f64)]) -> Vec<Ahead> {
    let mut ahead: Vec<Ahead> = chart
        .ahead
        .iter()
        .enumerate()
        .map(|(place, a)| {
            let (low, high) = (a.low.min(a.high), a.low.max(a.high));
            Ahead {
                place,
                second: a.time.as_second() as f64,
                low: measure.value(low),
                mid: measure.value(a.mid),
                high: measure.value(high),
            }
        })
        .filter(|a| a.low.is_finite() && a.mid.is_finite() && a.high.is_finite())
        .collect();
    ahead.sort_by(|a, b| a.second.total_cmp(&b.second));
    ahead.truncate(worth_drawing(&ahead, limits));
    ahead
}

/// How much of what is to come is drawn: not far beyond the day on which even its near edge has
/// passed the last limit, since nobody lets it come so far.
fn worth_drawing(ahead: &[Ahead], limits: &[(String, f64)]) -> usize {
    const LEAST_S: f64 = 60.0 * 86_400.0;
    let (Some(first), Some(last)) = (ahead.first(), ahead.last()) else {
        return 0;
    };
    let values = limits.iter().map(|(_, v)| *v);
    let (top, bottom) = (
        values.clone().fold(f64::NEG_INFINITY, f64::max),
        values.fold(f64::INFINITY, f64::min),
    );
    let beyond = |a: &Ahead| {
        if last.mid >= first.mid {
            top.is_finite() && a.low > top
        } else {
            bottom.is_finite() && a.high < bottom
        }
    };
    ahead
        .iter()
        .position(|a| a.second - first.second > LEAST_S && beyond(a))
        .map_or(ahead.len(), |n| n + 1)
}

/// The values that the axis holds: what is to come takes no more room than half of all else.
pub(super) fn room_for(mut held: Vec<f64>, ahead: &[Ahead]) -> Vec<f64> {
    let low = held.iter().copied().fold(f64::INFINITY, f64::min);
    let high = held.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let more = 0.5 * (high - low);
    held.extend(
        ahead
            .iter()
            .flat_map(|a| [a.low, a.mid, a.high])
            .map(|v| v.clamp(low - more, high + more)),
    );
    held
}

/// The range and the middle.
pub(super) fn fan(canvas: &mut Canvas, ahead: &[Ahead], axis: &Axis, scale: &Scale) {
    if ahead.len() < 2 {
        return;
    }
    let at = |second: f64, v: f64| (axis.x(second), scale.y_beyond(v));
    let mut outline: Vec<_> = ahead.iter().map(|a| at(a.second, a.high)).collect();
    outline.extend(ahead.iter().rev().map(|a| at(a.second, a.low)));
    canvas.path("fan", &outline, true);
    let mid: Vec<_> = ahead.iter().map(|a| at(a.second, a.mid)).collect();
    canvas.path("ahead", &mid, false);
}

/// Where readings end and what is to come begins.
pub(super) fn today(canvas: &mut Canvas, frame: &Frame, x: f64) {
    canvas.line("today", (x, TOP - 8.0), (x, BOTTOM));
    let word = "last round";
    let half = 0.5 * width(word, 13.0, false);
    let middle = x.clamp(frame.left + half, frame.end() - half);
    canvas.text("q", (middle, TOP - 14.0), Anchor::Middle, word, "");
}
