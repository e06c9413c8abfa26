//! The course of a health where no reading can be drawn: one line, its limit, its level now.
//!
//! Must not know: what drifts.

use crate::frame::Frame;
use crate::rules;
use crate::scale::Scale;
use crate::svg::{Anchor, Canvas, escape, num};
use crate::units::fixed;

/// Room for the level now, behind the line's end.
const LEVEL: f64 = 74.0;
const BOTTOM: f64 = 150.0;

/// The course as an SVG element; `None` where there is none. Values in the reader's units.
pub(crate) fn course(
    frame: &Frame,
    id: &str,
    title: &str,
    values: &[f64],
    limit: Option<f64>,
    unit: &str,
) -> Option<String> {
    let values: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    let last = *values.last()?;
    let limit = limit.filter(|l| l.is_finite());
    let held: Vec<f64> = values.iter().copied().chain(limit).collect();
    let scale = Scale::holding(&held, 1.0e-3, 14.0, BOTTOM);
    let end = frame.end() - LEVEL;
    let mut canvas = Canvas::default();
    rules::levels(&mut canvas, frame, &scale, end);
    let step = (end - frame.left) / (values.len().max(2) - 1) as f64;
    let points: Vec<(f64, f64)> = values
        .iter()
        .enumerate()
        .map(|(i, v)| (frame.left + i as f64 * step, scale.y(*v)))
        .collect();
    if let Some(limit) = limit {
        let y = scale.y(limit);
        canvas.line("limit", (frame.left, y), (end, y));
        canvas.text(
            "name",
            (frame.left + 6.0, y - 5.0),
            Anchor::Start,
            "change",
            "",
        );
    }
    canvas.path("course", &points, false);
    let (x, y) = *points.last()?;
    canvas.circle("in", (x, y), 4.0, None);
    let now = format!("{} {unit}", fixed(last, scale.decimals + 1));
    canvas.text("done", (x + 10.0, y + 5.0), Anchor::Start, now.trim(), "");
    let said = format!(
        "From {} to {}{}.",
        fixed(values.first().copied()?, scale.decimals + 1),
        now.trim(),
        limit.map_or(String::new(), |l| format!(
            ", changed at {} {unit}",
            fixed(l, scale.decimals + 1)
        ))
    );
    let id = escape(&format!("{id}{}", frame.mark));
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart\" viewBox=\"0 0 {} {}\" role=\"img\" \
         aria-labelledby=\"{id}-title {id}-desc\">\n<title id=\"{id}-title\">{}</title>\n\
         <desc id=\"{id}-desc\">{}</desc>\n{}</svg>\n",
        num(frame.paper),
        num(BOTTOM + 12.0),
        escape(title),
        escape(&said),
        canvas.body
    ))
}
