//! One drift over time: the expected band behind, readings in front, work done on the axis, limits
//! as named lines, and what is to come if it goes on so.
//!
//! Shape and words carry every meaning: a point is a reading inside its band, a diamond one outside.
//!
//! Must not know: files, the clock, how a band was made.

mod ahead;
mod axis;
mod course;
mod style;
mod words;
mod work;

use jiff::tz::TimeZone;
use judge::Chart;

use crate::frame::{BROAD, Frame};
use crate::measure::Measure;
use crate::rules;
use crate::scale::Scale;
use crate::svg::{Anchor, Canvas, escape, num};
use crate::units::Units;
use axis::Axis;

pub(crate) use course::course;
pub(crate) use style::sheet;
pub(crate) use words::goes_on;

const TOP: f64 = 34.0;
const BOTTOM: f64 = 264.0;
/// More readings than this are drawn as the lowest and the highest of each stretch of time.
const MOST_MARKS: usize = 500;

/// What one picture shows.
#[derive(Debug, Clone, Copy)]
pub struct Drawn<'a> {
    /// What drifts: the heading of the picture.
    pub title: &'a str,
    /// The readings and what is to come.
    pub chart: &'a Chart,
    /// Where the clock of the station stands.
    pub time_zone: &'a TimeZone,
    /// Units of the reader.
    pub units: Units,
    /// Sets this picture's names apart from those of other pictures on the page.
    pub id: &'a str,
}

/// A reading in the reader's units.
#[derive(Debug, Clone, Copy)]
struct Mark {
    second: f64,
    read: f64,
    low: f64,
    high: f64,
}

impl Mark {
    fn outside(&self) -> bool {
        self.read < self.low || self.read > self.high
    }
}

/// The picture as an SVG element for a desk and for paper, `None` where nothing finite is to be drawn.
#[must_use]
pub fn chart(drawn: &Drawn) -> Option<String> {
    chart_on(&BROAD, drawn)
}

/// The picture on this paper.
pub(crate) fn chart_on(frame: &Frame, drawn: &Drawn) -> Option<String> {
    let measure = Measure::of(drawn.chart.id.point.dimension(), drawn.units);
    let marks = marks(drawn.chart, &measure);
    let (first, last) = (marks.first()?.second, marks.last()?.second);
    let limits: Vec<(String, f64)> = drawn
        .chart
        .limits
        .iter()
        .filter(|(_, si)| si.is_finite())
        .map(|(name, si)| {
            let shown = measure.plainly(*si);
            (format!("{name}, {shown}"), measure.value(*si))
        })
        .collect();
    let ahead = ahead::of(drawn.chart, &measure, &limits);
    let end = ahead.last().map_or(last, |a| a.second.max(last));
    let axis = Axis::over((first, end), (frame.left, frame.end()), drawn.time_zone);
    let held: Vec<f64> = marks
        .iter()
        .flat_map(|m| [m.read, m.low, m.high])
        .chain(limits.iter().map(|(_, v)| *v))
        .collect();
    let held = ahead::room_for(held, &ahead);
    let scale = Scale::holding(&held, 1.0e-6, TOP, BOTTOM);
    let mut canvas = Canvas::default();
    rules::grid(&mut canvas, frame, &scale, measure.unit, BOTTOM);
    days(&mut canvas, &axis);
    band(&mut canvas, &marks, &axis, &scale);
    let clip = format!("{}{}-plot", escape(drawn.id), frame.mark);
    canvas.raw(&format!(
        "<clipPath id=\"{clip}\"><rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/></clipPath>\n<g clip-path=\"url(#{clip})\">",
        num(frame.left),
        num(TOP - 6.0),
        num(frame.room()),
        num(BOTTOM - TOP + 6.0)
    ));
    ahead::fan(&mut canvas, &ahead, &axis, &scale);
    canvas.raw("</g>");
    if ahead.len() > 1 {
        ahead::today(&mut canvas, frame, axis.x(last));
    }
    limit_lines(&mut canvas, frame, &limits, &scale);
    readings(&mut canvas, &marks, &axis, &scale);
    let bottom = work::done(&mut canvas, frame, drawn.chart, &axis);
    let said = words::said(drawn, &measure, &marks, &limits)
        + &words::ahead(drawn, &measure, &ahead, (&marks, &limits), &held);
    let (id, height) = (
        escape(&format!("{}{}", drawn.id, frame.mark)),
        num(bottom + 10.0),
    );
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart\" viewBox=\"0 0 {} {height}\" \
         role=\"img\" aria-labelledby=\"{id}-title {id}-desc\">\n<title id=\"{id}-title\">{}</title>\n\
         <desc id=\"{id}-desc\">{}</desc>\n{}</svg>\n",
        num(frame.paper),
        escape(drawn.title),
        escape(&said),
        canvas.body
    ))
}

fn marks(chart: &Chart, measure: &Measure) -> Vec<Mark> {
    let mut marks: Vec<Mark> = chart
        .readings
        .iter()
        .map(|r| Mark {
            second: r.time.as_second() as f64,
            read: measure.value(r.read),
            low: measure.value(r.low.min(r.high)),
            high: measure.value(r.high.max(r.low)),
        })
        .filter(|m| m.read.is_finite() && m.low.is_finite() && m.high.is_finite())
        .collect();
    marks.sort_by(|a, b| a.second.total_cmp(&b.second));
    if marks.len() <= MOST_MARKS {
        return marks;
    }
    let stretch = marks.len().div_ceil(MOST_MARKS / 2);
    let mut fewer = Vec::with_capacity(MOST_MARKS);
    for part in marks.chunks(stretch) {
        let by = |a: &&Mark, b: &&Mark| a.read.total_cmp(&b.read);
        if let (Some(low), Some(high)) = (part.iter().min_by(by), part.iter().max_by(by)) {
            let (a, b) = if low.second <= high.second {
                (low, high)
            } else {
                (high, low)
            };
            fewer.extend([*a, *b]);
        }
    }
    fewer
}

fn days(canvas: &mut Canvas, axis: &Axis) {
    for (second, label) in &axis.ticks {
        let x = axis.x(*second);
        canvas.line("rule", (x, BOTTOM), (x, BOTTOM + 5.0));
        canvas.text("q tick", (x, BOTTOM + 21.0), Anchor::Middle, label, "");
    }
}

fn band(canvas: &mut Canvas, marks: &[Mark], axis: &Axis, scale: &Scale) {
    let at = |m: &Mark, v: f64| (axis.x(m.second), scale.y(v));
    let mut outline: Vec<_> = marks.iter().map(|m| at(m, m.high)).collect();
    outline.extend(marks.iter().rev().map(|m| at(m, m.low)));
    canvas.path("ribbon", &outline, true);
}

/// Lines of limits, each with its name; names of near lines stand at different ends.
fn limit_lines(canvas: &mut Canvas, frame: &Frame, limits: &[(String, f64)], scale: &Scale) {
    let mut sorted: Vec<_> = limits.to_vec();
    sorted.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut taken: Vec<(f64, bool)> = Vec::new();
    for (name, value) in sorted {
        let y = scale.y(value);
        canvas.line("limit", (frame.left, y), (frame.end(), y));
        let free = |right: bool| {
            taken
                .iter()
                .all(|(t, r)| *r != right || (t - y).abs() > 17.0)
        };
        let right = !free(false) && free(true);
        taken.push((y, right));
        let (x, anchor) = if right {
            (frame.end() - 4.0, Anchor::End)
        } else {
            (frame.left + 6.0, Anchor::Start)
        };
        canvas.text("name", (x, y - 5.0), anchor, &name, "");
    }
}

fn readings(canvas: &mut Canvas, marks: &[Mark], axis: &Axis, scale: &Scale) {
    let inside = marks.iter().filter(|m| !m.outside());
    for mark in inside {
        canvas.circle("in", (axis.x(mark.second), scale.y(mark.read)), 2.4, None);
    }
    for mark in marks.iter().filter(|m| m.outside()) {
        let (x, y) = (axis.x(mark.second), scale.y(mark.read));
        let diamond = [(x, y - 5.0), (x + 5.0, y), (x, y + 5.0), (x - 5.0, y)];
        canvas.path("out", &diamond, true);
    }
}
