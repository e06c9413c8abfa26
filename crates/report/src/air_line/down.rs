//! The air line for a phone held upright: the same places, from the intake at the top down to the
//! header, with their numbers beside them.
//!
//! Must not know: how a band was made.

use super::places::{Column, Part, Places, air_way};
use super::{AirLine, Mark, STOPPED, What, band, document, marks, wanted, words};
use crate::frame::NARROW;
use crate::scale::Scale;
use crate::svg::{Anchor, Canvas, shorten, width, wrap};
use crate::units::fixed;

const PAPER: f64 = NARROW.paper;
/// Where names end and drawings begin and end, px.
const FROM: f64 = 96.0;
const TO: f64 = 204.0;
const ROW: f64 = 30.0;
/// Labels of an axis keep this distance, px.
const APART: f64 = 34.0;

/// The picture, its names set apart from those of other pictures on the page by `mark`.
pub(crate) fn drawn(picture: &AirLine, mark: &str) -> String {
    let places = Places::of(picture.station, picture.state);
    let (marks, elsewhere) = marks(picture, &places);
    let mut canvas = Canvas::default();
    let mut y = lines(&mut canvas, "q", &words::conditions(picture, &places), 0.0);
    if places.flows {
        y = pressure(&mut canvas, picture, &places, &marks, y + 14.0);
        y = temperature(&mut canvas, picture, &places, &marks, y + 18.0);
        y = key(&mut canvas, y + 22.0);
        for mark in marks.iter().filter(|m| m.outside) {
            y = lines(&mut canvas, "o", &mark.sentence, y + 4.0);
        }
        if let Some(said) = words::goes_on(picture) {
            y = lines(&mut canvas, "t", &said, y + 4.0);
        }
    } else {
        y = lines(&mut canvas, "b", STOPPED, y + 8.0);
    }
    for (name, p) in wanted(picture.station) {
        let value = words::value(picture.units, What::Pressure, p);
        y = lines(&mut canvas, "t", &format!("{name} wants {value}."), y + 4.0);
    }
    for (said, outside) in &elsewhere {
        let class = if *outside { "o" } else { "t" };
        let said = format!("Also read: {said}.");
        y = lines(&mut canvas, class, &said, y + 4.0);
    }
    document(picture, &places, PAPER, &canvas, (y + 10.0, mark))
}

/// Words over the whole width; returns where they end.
fn lines(canvas: &mut Canvas, class: &str, text: &str, mut y: f64) -> f64 {
    let (size, bold) = match class {
        "q" => (13.0, false),
        "o" => (14.0, true),
        "b" => (15.0, true),
        _ => (14.0, false),
    };
    for line in wrap(text, PAPER, size, bold) {
        y += 18.0;
        canvas.text(class, (0.0, y), Anchor::Start, &line, "");
    }
    y
}

/// The name of a place, with what part of a machine it is.
fn name(canvas: &mut Canvas, column: &Column, y: f64) {
    let name = match column.part {
        Part::AirEnd | Part::Outlet => format!("{} {}", column.name, column.kind),
        Part::Intake | Part::Place => column.name.clone(),
    };
    let short = shorten(&name, FROM - 10.0, 14.0, false);
    canvas.text("t", (0.0, y), Anchor::Start, &short, &name);
}

/// An axis from left to right with its numbers on top.
fn axis(canvas: &mut Canvas, values: &[f64], least: f64, (top, bottom): (f64, f64)) -> Scale {
    // A scale rises towards its `top`: here towards the right.
    let scale = Scale::holding(values, least, TO, FROM);
    let mut last = f64::NEG_INFINITY;
    for tick in &scale.ticks {
        let x = scale.y(*tick);
        canvas.line("hair", (x, top), (x, bottom));
        let text = fixed(*tick, scale.decimals);
        let half = 0.5 * width(&text, 13.0, false);
        if x - half > last + 6.0 && x - last > APART - half {
            canvas.text("q tick", (x, top - 6.0), Anchor::Middle, &text, "");
            last = x + half;
        }
    }
    scale
}

/// A reading: open inside its band, filled outside.
fn read(canvas: &mut Canvas, mark: &Mark, at: (f64, f64)) {
    let (class, r) = if mark.outside {
        ("out", 5.5)
    } else {
        ("in", 4.0)
    };
    canvas.circle(class, at, r, None);
}

/// The reading of a place, where it has one.
fn at(marks: &[Mark], column: usize, of: impl Fn(What) -> bool) -> Option<&Mark> {
    marks.iter().rfind(|m| m.column == column && of(m.what))
}

fn number(canvas: &mut Canvas, mark: Option<&Mark>, (x, y): (f64, f64), text: &str) {
    let outside = mark.is_some_and(|m| m.outside);
    let class = if outside { "o" } else { "t" };
    canvas.text(class, (x, y), Anchor::End, text, "");
}

fn head(canvas: &mut Canvas, title: &str, columns: &[(&str, f64)], y: f64) -> f64 {
    canvas.text("b", (0.0, y + 16.0), Anchor::Start, title, "");
    for (word, x) in columns {
        canvas.text("q", (*x, y + 38.0), Anchor::End, word, "");
    }
    y + 46.0
}

fn pressure(
    canvas: &mut Canvas,
    picture: &AirLine,
    places: &Places,
    marks: &[Mark],
    y: f64,
) -> f64 {
    let units = picture.units;
    let rows: Vec<(usize, &Column)> = places
        .columns
        .iter()
        .enumerate()
        .filter(|(_, c)| c.part != Part::Intake)
        .collect();
    let title = format!("Pressure, {}", units.gauge_name());
    let top = head(
        canvas,
        &title,
        &[("expected", 276.0), ("read", PAPER - 2.0)],
        y,
    );
    let bottom = top + ROW * rows.len() as f64;
    let is_pressure = |what| what == What::Pressure;
    let mut held: Vec<f64> = rows.iter().filter_map(|(_, c)| c.pressure).collect();
    held.extend(
        marks
            .iter()
            .filter(|m| is_pressure(m.what))
            .map(|m| m.value),
    );
    held.extend(wanted(picture.station).iter().map(|(_, p)| *p));
    let held: Vec<f64> = held.into_iter().map(|p| units.pressure(p)).collect();
    let scale = axis(canvas, &held, 0.2, (top, bottom));
    let x = |pa: f64| scale.y(units.pressure(pa));
    let middle = |row: usize| top + ROW * (row as f64 + 0.5);
    for (_, p) in wanted(picture.station) {
        canvas.line("wanted", (x(p), top), (x(p), bottom));
    }
    for row in 1..=rows.len() {
        let end = top + ROW * row as f64;
        canvas.line("hair", (0.0, end), (PAPER, end));
    }
    for (row, (_, column)) in rows.iter().enumerate() {
        let is_end = !matches!(column.part, Part::AirEnd);
        if let Some((low, high)) = band(picture, column.asset, What::Pressure).filter(|_| is_end) {
            let (a, b) = (x(low), x(high));
            canvas.rect("ribbon", a, middle(row) - 8.0, (b - a).max(2.0), 16.0);
        }
    }
    for edge in &places.edges {
        let of = |column: usize| {
            let row = rows.iter().position(|(n, _)| *n == column)?;
            Some((x(rows.get(row)?.1.pressure?), middle(row)))
        };
        if let (Some(from), Some(to)) = (of(edge.from), of(edge.to)) {
            let class = if edge.is_beside() { "grade" } else { "join" };
            canvas.path(class, &[from, to], false);
        }
    }
    for (row, (n, column)) in rows.iter().enumerate() {
        let base = middle(row) + 5.0;
        name(canvas, column, base);
        if let Some(p) = column.pressure {
            canvas.circle("dot", (x(p), middle(row)), 2.6, None);
            let text = units.write_pressure(p);
            canvas.text("t", (268.0, base), Anchor::End, &text, "");
        }
        if let Some(mark) = at(marks, *n, is_pressure) {
            read(canvas, mark, (x(mark.value), middle(row)));
            let text = units.write_pressure(mark.value);
            number(canvas, Some(mark), (PAPER - 2.0, base), &text);
        }
    }
    bottom
}

fn temperature(
    canvas: &mut Canvas,
    picture: &AirLine,
    places: &Places,
    marks: &[Mark],
    y: f64,
) -> f64 {
    let units = picture.units;
    let title = format!("Air and its dew point, {}", units.temperature_name());
    let columns = [
        ("air", 238.0),
        ("read", 272.0),
        ("dew", 304.0),
        ("read", PAPER - 2.0),
    ];
    let top = head(canvas, &title, &columns, y);
    // Where water falls out, a line of its own says how much.
    let mut tops = vec![top];
    for column in &places.columns {
        let wet = if column.water.is_some() { 20.0 } else { 0.0 };
        let last = tops.last().copied().unwrap_or(top);
        tops.push(last + ROW + wet);
    }
    let bottom = tops.last().copied().unwrap_or(top);
    let middle = |row: usize| tops.get(row).copied().unwrap_or(top) + 0.5 * ROW;
    let mut held: Vec<f64> = Vec::new();
    for column in &places.columns {
        held.extend(
            [column.temperature, column.dew_point, column.inside]
                .into_iter()
                .flatten(),
        );
    }
    held.extend(
        marks
            .iter()
            .filter(|m| m.what != What::Pressure)
            .map(|m| m.value),
    );
    let held: Vec<f64> = held.into_iter().map(|t| units.temperature(t)).collect();
    let scale = axis(canvas, &held, 5.0, (top, bottom));
    let x = |kelvin: f64| scale.y(units.temperature(kelvin));
    for end in tops.iter().skip(1) {
        canvas.line("hair", (0.0, *end), (PAPER, *end));
    }
    for (row, column) in places.columns.iter().enumerate() {
        let shown = matches!(column.part, Part::Outlet | Part::Place);
        if let Some((low, high)) = band(picture, column.asset, What::Temperature).filter(|_| shown)
        {
            let (a, b) = (x(low), x(high));
            canvas.rect("ribbon", a, middle(row) - 8.0, (b - a).max(2.0), 16.0);
        }
    }
    for edge in &places.edges {
        let Some((from, to)) = places.ends(*edge) else {
            continue;
        };
        let (a, b) = (middle(edge.from), middle(edge.to));
        let place = |(share, v): &(f64, f64)| (x(*v), a + share * (b - a));
        let beside = edge.is_beside();
        if let Some(way) = air_way(from, to) {
            let points: Vec<(f64, f64)> = way.iter().map(place).collect();
            canvas.path(if beside { "air" } else { "join" }, &points, false);
        }
        if let Some((way, _)) = super::places::dew_way(from, to) {
            let points: Vec<(f64, f64)> = way.iter().map(place).collect();
            canvas.path(if beside { "dew" } else { "dewjoin" }, &points, false);
        }
    }
    for (row, column) in places.columns.iter().enumerate() {
        let base = middle(row) + 5.0;
        let end = tops.get(row + 1).copied().unwrap_or(bottom);
        name(canvas, column, base);
        if let Some(t) = column.temperature {
            canvas.circle("dot", (x(t), middle(row)), 2.6, None);
            let text = units.write_temperature(t);
            canvas.text("t", (238.0, base), Anchor::End, &text, "");
        }
        if let Some(t) = column.dew_point {
            let text = units.write_temperature(t);
            canvas.text("t", (304.0, base), Anchor::End, &text, "");
        }
        let is_air = |what| matches!(what, What::Temperature | What::OilTemperature);
        for (mark, right) in [
            (at(marks, row, is_air), 272.0),
            (at(marks, row, |what| what == What::DewPoint), PAPER - 2.0),
        ] {
            if let Some(mark) = mark {
                read(canvas, mark, (x(mark.value), middle(row)));
                let text = units.write_temperature(mark.value);
                number(canvas, Some(mark), (right, base), &text);
            }
        }
        if let Some(litres) = column.water {
            canvas.rect("water", 208.0, end - 19.0, 18.0, 14.0);
            let text = words::water(units, litres);
            canvas.text("b", (232.0, end - 7.0), Anchor::Start, &text, "");
        }
    }
    bottom
}

/// What each mark means; returns where it ends.
fn key(canvas: &mut Canvas, mut y: f64) -> f64 {
    type Sample = fn(&mut Canvas, f64, f64);
    let samples: [(&str, Sample); 7] = [
        ("expected", |c, x, y| c.line("air", (x, y), (x + 26.0, y))),
        ("expected band", |c, x, y| {
            c.rect("ribbon", x, y - 7.0, 26.0, 14.0)
        }),
        ("dew point", |c, x, y| c.line("dew", (x, y), (x + 28.0, y))),
        ("water falls out", |c, x, y| {
            c.rect("water", x, y - 7.0, 26.0, 14.0)
        }),
        ("read, in its band", |c, x, y| {
            c.circle("in", (x + 14.0, y), 4.5, None)
        }),
        ("read, outside", |c, x, y| {
            c.circle("out", (x + 14.0, y), 6.0, None)
        }),
        ("wanted", |c, x, y| c.line("wanted", (x, y), (x + 26.0, y))),
    ];
    for pair in samples.chunks(2) {
        for ((words, draw), x) in pair.iter().zip([0.0, 170.0]) {
            draw(canvas, x, y);
            canvas.text("q", (x + 36.0, y + 4.5), Anchor::Start, words, "");
        }
        y += 22.0;
    }
    y - 8.0
}
