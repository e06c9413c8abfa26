//! Work done, as labelled ticks on the axis.
//!
//! Must not know: what the work sets back.

use judge::Chart;

use super::BOTTOM;
use super::axis::Axis;
use crate::frame::Frame;
use crate::svg::{Anchor, Canvas, width};

/// Rows of labels; more work than finds room is told in the description.
const WORK_ROWS: usize = 6;

/// Work done as ticks on the axis with their labels in rows below; returns where they end.
pub(super) fn done(canvas: &mut Canvas, frame: &Frame, chart: &Chart, axis: &Axis) -> f64 {
    let mut ends: Vec<f64> = Vec::new();
    let mut bottom = BOTTOM + 26.0;
    let mut done: Vec<_> = chart.work.iter().collect();
    done.sort_by_key(|(time, _)| *time);
    for (time, what) in done {
        let second = time.as_second() as f64;
        if !axis.holds(second) {
            continue;
        }
        let x = axis.x(second);
        let wide = width(what, 13.0, false);
        let from = (x - 0.5 * wide).clamp(frame.left, (frame.end() - wide).max(frame.left));
        let row = match ends.iter().position(|end| from > end + 12.0) {
            Some(row) => row,
            None if ends.len() < WORK_ROWS => {
                ends.push(0.0);
                ends.len() - 1
            }
            None => {
                canvas.line("work", (x, BOTTOM - 9.0), (x, BOTTOM + 5.0));
                continue;
            }
        };
        if let Some(end) = ends.get_mut(row) {
            *end = from + wide;
        }
        let y = BOTTOM + 44.0 + 18.0 * row as f64;
        canvas.line("lead", (x, BOTTOM), (x, y - 13.0));
        canvas.line("work", (x, BOTTOM - 9.0), (x, BOTTOM + 5.0));
        canvas.text("done", (from, y), Anchor::Start, what, "");
        bottom = bottom.max(y);
    }
    bottom
}
