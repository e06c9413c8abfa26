//! What the pictures of a log have in common: axes, shades, the key.
//!
//! Must not know: which picture is drawn.

use std::fmt::Write as _;

use crate::frame::Frame;
use crate::rules;
use crate::scale::Scale;
use crate::svg::{Anchor, Canvas, escape, num, width};

pub(super) const TOP: f64 = 34.0;
pub(super) const BOTTOM: f64 = 264.0;
pub(super) const HEIGHT: f64 = 292.0;

/// The picture as an SVG element.
pub(super) fn svg(
    frame: &Frame,
    (key, title, says): (&str, &str, &str),
    height: f64,
    canvas: &Canvas,
) -> String {
    let id = format!("log-{key}{}", frame.mark);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart\" viewBox=\"0 0 {} {}\" role=\"img\" \
         aria-labelledby=\"{id}-title {id}-desc\">\n<title id=\"{id}-title\">{}</title>\n\
         <desc id=\"{id}-desc\">{}</desc>\n{}</svg>\n",
        num(frame.paper),
        num(height),
        escape(title),
        escape(says),
        canvas.body
    )
}

/// Lines and numbers of the upright axis.
pub(super) fn grid(canvas: &mut Canvas, frame: &Frame, scale: &Scale, unit: &str) {
    rules::grid(canvas, frame, scale, unit, BOTTOM);
}

/// A mark on the level axis with its label, which never leaves the paper.
pub(super) fn mark(canvas: &mut Canvas, frame: &Frame, share: f64, label: &str) {
    let x = frame.across(share);
    let half = 0.5 * width(label, 13.0, false);
    canvas.line("rule", (x, BOTTOM), (x, BOTTOM + 5.0));
    let x = x.min(frame.paper - half - 1.0);
    canvas.text("q tick", (x, BOTTOM + 21.0), Anchor::Middle, label, "");
}

/// Shade of a state: the first is darkest.
pub(super) fn shade(n: usize, all: usize) -> f64 {
    0.9 - 0.8 * n as f64 / (all.max(2) - 1) as f64
}

pub(super) fn bar(canvas: &mut Canvas, [x, y, wide, high]: [f64; 4], opacity: f64) {
    let _ = write!(
        canvas.body,
        "<rect class=\"bar\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill-opacity=\"{opacity:.2}\"/>",
        num(x),
        num(y),
        num(wide.max(0.0)),
        num(high.max(0.0)),
    );
}

/// The states with their shades, from `y` down; returns where they end.
pub(super) fn legend(canvas: &mut Canvas, frame: &Frame, states: &[&'static str], y: f64) -> f64 {
    let (mut x, mut y) = (frame.left, y);
    for (n, state) in states.iter().enumerate() {
        let wide = 40.0 + width(state, 13.0, false);
        if x + wide > frame.paper + 18.0 && x > frame.left {
            (x, y) = (frame.left, y + 20.0);
        }
        bar(canvas, [x, y - 10.0, 14.0, 12.0], shade(n, states.len()));
        canvas.text("q", (x + 20.0, y), Anchor::Start, state, "");
        x += wide;
    }
    y + 8.0
}

pub(super) fn greatest(values: impl Iterator<Item = f64>) -> Option<f64> {
    values.filter(|v| v.is_finite()).reduce(f64::max)
}

pub(super) fn least(values: impl Iterator<Item = f64>) -> Option<f64> {
    values.filter(|v| v.is_finite()).reduce(f64::min)
}
