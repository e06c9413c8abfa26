//! Lines and numbers of an upright axis, alike in every picture that has one.
//!
//! Must not know: what is drawn over them.

use crate::frame::Frame;
use crate::scale::Scale;
use crate::svg::{Anchor, Canvas};
use crate::units::fixed;

/// A line from left to `end` at each number of the scale.
pub(crate) fn levels(canvas: &mut Canvas, frame: &Frame, scale: &Scale, end: f64) {
    for tick in &scale.ticks {
        let y = scale.y(*tick);
        canvas.line("hair", (frame.left, y), (end, y));
        let text = fixed(*tick, scale.decimals);
        let at = (frame.left - 8.0, y + 5.0);
        canvas.text("q tick", at, Anchor::End, &text, "");
    }
}

/// The same across the whole picture, the unit above and the base line below.
pub(crate) fn grid(canvas: &mut Canvas, frame: &Frame, scale: &Scale, unit: &str, bottom: f64) {
    levels(canvas, frame, scale, frame.end());
    let (x, anchor) = if frame.is_narrow() {
        (0.0, Anchor::Start)
    } else {
        (frame.left - 8.0, Anchor::End)
    };
    canvas.text("q", (x, 18.0), anchor, unit, "");
    canvas.line("rule", (frame.left, bottom), (frame.end(), bottom));
}
