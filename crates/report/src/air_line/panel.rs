//! The two panels: pressure above, temperature and dew point below.
//!
//! Must not know: the rows of numbers beneath them.

use super::places::{Edge, Part, Places, Way, air_way, dew_way};
use super::words;
use super::{AirLine, LEFT, Mark, Page, What, band, wanted};
use crate::label::{Rect, Room, nearest};
use crate::scale::Scale;
use crate::svg::{Anchor, Canvas, num, width, wrap};
use crate::units::fixed;

/// Height of the pressure panel, px.
const PRESSURE_PX: f64 = 200.0;
/// Height of the temperature panel, px.
const TEMPERATURE_PX: f64 = 250.0;
/// Height of a line of words, px.
const LINE_PX: f64 = 18.0;

/// One panel while it is drawn.
struct Panel<'a> {
    page: &'a Page,
    scale: Scale,
    room: Room,
    /// How a value in SI is read on the axis.
    reader: Box<dyn Fn(f64) -> f64 + 'a>,
}

impl Panel<'_> {
    fn y(&self, si: f64) -> f64 {
        self.scale.y((self.reader)(si))
    }

    fn way(&self, edge: Edge, way: &Way) -> Vec<(f64, f64)> {
        let (from, to) = (self.page.x(edge.from), self.page.x(edge.to));
        way.iter()
            .map(|(share, v)| (from + share * (to - from), self.y(*v)))
            .collect()
    }

    fn frame(&self, canvas: &mut Canvas, unit: &str, what: &str) {
        let Rect { y: top, h, .. } = self.room.panel;
        for i in 0..self.page.count {
            let x = self.page.x(i);
            canvas.line("hair", (x, top), (x, top + h));
        }
        for tick in &self.scale.ticks {
            let y = self.scale.y(*tick);
            canvas.line("hair", (LEFT, y), (self.page.right(), y));
            let text = fixed(*tick, self.scale.decimals);
            canvas.text("q tick", (LEFT - 14.0, y + 4.5), Anchor::End, &text, "");
        }
        for y in [top, top + h] {
            canvas.line("rule", (LEFT, y), (self.page.right(), y));
        }
        let x = super::RIGHT;
        for (i, line) in wrap(what, 92.0, 14.0, true).iter().enumerate() {
            canvas.text(
                "b",
                (x, top + 18.0 + 19.0 * i as f64),
                Anchor::Start,
                line,
                "",
            );
        }
        let lines = wrap(what, 92.0, 14.0, true).len() as f64;
        canvas.text("q", (x, top + 18.0 + 19.0 * lines), Anchor::Start, unit, "");
    }

    /// Bands: a capsule at each place, a ribbon between neighbours that follow each other.
    fn ribbons(&self, canvas: &mut Canvas, picture: &AirLine, places: &Places, what: What) {
        let band_at = |i: usize| {
            let column = places.columns.get(i)?;
            // Saturated air has its dew point at its temperature: one band says both.
            let said = what == What::DewPoint
                && band(picture, column.asset, What::Temperature).is_some()
                && matches!((column.temperature, column.dew_point), (Some(t), Some(d)) if t - d < 0.5);
            (matches!(column.part, Part::Outlet | Part::Place) && !said)
                .then(|| band(picture, column.asset, what))?
        };
        let mut joined = vec![false; self.page.count];
        for edge in places.edges.iter().filter(|e| e.is_beside()) {
            let dips = what == What::Temperature
                && places
                    .columns
                    .get(edge.to)
                    .is_some_and(|c| c.inside.is_some());
            if let (Some(a), Some(b), false) = (band_at(edge.from), band_at(edge.to), dips) {
                let (x1, x2) = (self.page.x(edge.from), self.page.x(edge.to));
                let corners = [
                    (x1, self.y(a.1)),
                    (x2, self.y(b.1)),
                    (x2, self.y(b.0)),
                    (x1, self.y(a.0)),
                ];
                canvas.path("ribbon", &corners, true);
                for i in [edge.from, edge.to] {
                    if let Some(j) = joined.get_mut(i) {
                        *j = true;
                    }
                }
            }
        }
        for (i, joined) in joined.iter().enumerate() {
            if let Some((low, high)) = band_at(i).filter(|_| !joined) {
                let (top, bottom) = (self.y(high), self.y(low));
                canvas.rect(
                    "ribbon",
                    self.page.x(i) - 8.0,
                    top,
                    16.0,
                    (bottom - top).max(2.0),
                );
            }
        }
    }

    /// A line through these points, remembered so that words stay off it.
    fn draw(&mut self, canvas: &mut Canvas, class: &str, points: &[(f64, f64)]) {
        canvas.path(class, points, false);
        for pair in points.windows(2) {
            if let [a, b] = pair {
                self.room.lines.push((*a, *b));
            }
        }
    }

    /// Marks first, so that no words cover one; then words.
    fn marks(
        &mut self,
        canvas: &mut Canvas,
        places: &Places,
        marks: &[&Mark],
        below: &mut Vec<(String, bool)>,
    ) {
        let mut circles = Canvas::default();
        for mark in marks {
            let at = (self.page.x(mark.column), self.y(mark.value));
            let (class, r) = if mark.outside {
                ("out", 7.0)
            } else {
                ("in", 5.5)
            };
            circles.circle(class, at, r, Some(&mark.sentence));
            self.room.taken.push(Rect {
                x: at.0 - 9.0,
                y: at.1 - 9.0,
                w: 18.0,
                h: 18.0,
            });
        }
        for mark in marks.iter().filter(|m| m.outside) {
            let at = (self.page.x(mark.column), self.y(mark.value));
            if !self.words(canvas, &[at], &mark.sentence, "o", true) {
                // Away from its mark a sentence needs its place's name.
                let name = places
                    .columns
                    .get(mark.column)
                    .map_or("", |c| c.name.as_str());
                let said = mark.sentence.contains(name);
                let lead = if said {
                    String::new()
                } else {
                    format!("{name}: ")
                };
                below.push((format!("{lead}{}", mark.sentence), true));
            }
        }
        canvas.raw(circles.body.trim_end());
    }

    /// Words near one of some points, with a thin line where they stand away from it.
    fn words(
        &mut self,
        canvas: &mut Canvas,
        points: &[(f64, f64)],
        text: &str,
        class: &str,
        bold: bool,
    ) -> bool {
        for measure in [300.0, 220.0, 160.0] {
            let lines = wrap(text, measure, 14.0, bold);
            let w = lines
                .iter()
                .map(|l| width(l, 14.0, bold))
                .fold(0.0, f64::max);
            let h = LINE_PX * lines.len() as f64;
            let Some((at, rect)) = self.room.find_near_one(points, w, h) else {
                continue;
            };
            let near = nearest(&rect, at);
            let far = (near.0 - at.0).hypot(near.1 - at.1);
            if far > 15.0 {
                canvas.line(if bold { "outlead" } else { "lead" }, at, near);
                self.room.leads.push((at, near));
            }
            canvas.raw(&format!(
                r#"<rect class="halo" x="{}" y="{}" width="{}" height="{}" rx="3" fill-opacity="0.86"/>"#,
                num(rect.x - 3.0),
                num(rect.y),
                num(rect.w + 6.0),
                num(rect.h)
            ));
            // Words at the left of their mark end there, so that the eye finds the mark.
            let (x, anchor) = if rect.x + rect.w <= at.0 {
                (rect.x + rect.w, Anchor::End)
            } else if rect.x >= at.0 {
                (rect.x, Anchor::Start)
            } else {
                (rect.x + 0.5 * rect.w, Anchor::Middle)
            };
            for (i, line) in lines.iter().enumerate() {
                let y = rect.y + 14.0 + LINE_PX * i as f64;
                canvas.text(class, (x, y), anchor, line, "");
            }
            return true;
        }
        false
    }
}

fn panel<'a>(
    page: &'a Page,
    values: &[f64],
    least: f64,
    (top, height): (f64, f64),
    reader: impl Fn(f64) -> f64 + 'a,
) -> Panel<'a> {
    let values: Vec<f64> = values.iter().map(|v| reader(*v)).collect();
    let rect = Rect {
        x: LEFT,
        y: top,
        w: page.right() - LEFT,
        h: height,
    };
    Panel {
        page,
        scale: Scale::holding(&values, least, top + 6.0, top + height - 6.0),
        room: Room {
            panel: rect,
            taken: Vec::new(),
            lines: Vec::new(),
            leads: Vec::new(),
        },
        reader: Box::new(reader),
    }
}

/// The pressure panel; returns where it ends.
pub(super) fn pressure(
    canvas: &mut Canvas,
    picture: &AirLine,
    places: &Places,
    page: &Page,
    marks: &[Mark],
    top: f64,
    below: &mut Vec<(String, bool)>,
) -> f64 {
    let units = picture.units;
    let marks: Vec<&Mark> = marks.iter().filter(|m| m.what == What::Pressure).collect();
    let mut values: Vec<f64> = places.columns.iter().filter_map(|c| c.pressure).collect();
    values.extend(marks.iter().map(|m| m.value));
    values.extend(wanted(picture.station).iter().map(|w| w.1));
    for column in &places.columns {
        values.extend(
            band(picture, column.asset, What::Pressure)
                .iter()
                .flat_map(|b| [b.0, b.1]),
        );
    }
    let least = units.pressure(30_000.0);
    let size = (top, PRESSURE_PX);
    let mut panel = panel(page, &values, least, size, |si| units.pressure(si));
    panel.frame(canvas, units.gauge_name(), "Pressure");
    panel.ribbons(canvas, picture, places, What::Pressure);
    for edge in &places.edges {
        let Some((from, to)) = places.ends(*edge) else {
            continue;
        };
        if let (Some(a), Some(b)) = (from.pressure, to.pressure) {
            let points = panel.way(*edge, &vec![(0.0, a), (1.0, b)]);
            panel.draw(
                canvas,
                if edge.is_beside() { "grade" } else { "join" },
                &points,
            );
        }
    }
    for (i, column) in places.columns.iter().enumerate() {
        if let Some(p) = column.pressure {
            canvas.circle("dot", (page.x(i), panel.y(p)), 3.0, None);
        }
    }
    let mut lines = wanted(picture.station);
    lines.dedup_by(|a, b| a.1.total_cmp(&b.1).is_eq());
    for (_, p) in &lines {
        let y = panel.y(*p);
        panel.draw(canvas, "wanted", &[(LEFT, y), (page.right(), y)]);
    }
    panel.marks(canvas, places, &marks, below);
    for (name, p) in wanted(picture.station) {
        let text = format!("{name} wants {}", words::value(units, What::Pressure, p));
        // At the header that wants it, or before it where there is more room.
        let from = places
            .columns
            .iter()
            .position(|c| c.name == name)
            .unwrap_or(page.count);
        let y = panel.y(p);
        let points: Vec<(f64, f64)> = (0..=from).rev().map(|i| (page.x(i), y)).collect();
        if !panel.words(canvas, &points, &text, "t", false) {
            below.push((text, false));
        }
    }
    top + PRESSURE_PX
}

/// The temperature panel; returns where it ends.
pub(super) fn temperature(
    canvas: &mut Canvas,
    picture: &AirLine,
    places: &Places,
    page: &Page,
    marks: &[Mark],
    top: f64,
    below: &mut Vec<(String, bool)>,
) -> f64 {
    let units = picture.units;
    let marks: Vec<&Mark> = marks.iter().filter(|m| m.what != What::Pressure).collect();
    let coldest = coldest(picture, places);
    let mut values: Vec<f64> = marks.iter().map(|m| m.value).collect();
    values.extend(coldest.iter().map(|c| c.1));
    for c in &places.columns {
        values.extend([c.temperature, c.dew_point, c.inside].iter().flatten());
        for what in [What::Temperature, What::DewPoint] {
            values.extend(band(picture, c.asset, what).iter().flat_map(|b| [b.0, b.1]));
        }
    }
    let size = (top, TEMPERATURE_PX);
    let mut panel = panel(page, &values, 20.0, size, |si| units.temperature(si));
    panel.frame(canvas, units.temperature_name(), "Air and its dew point");
    panel.ribbons(canvas, picture, places, What::Temperature);
    panel.ribbons(canvas, picture, places, What::DewPoint);
    let beside = |e: &&Edge| e.is_beside();
    for edge in places.edges.iter().filter(beside) {
        let hatched = places
            .ends(*edge)
            .and_then(|(a, b)| dew_way(a, b))
            .and_then(|(_, h)| h);
        if let Some(area) = hatched {
            canvas.path("water", &panel.way(*edge, &area), true);
        }
    }
    for edge in &places.edges {
        let Some((from, to)) = places.ends(*edge) else {
            continue;
        };
        let (air, dew) = if edge.is_beside() {
            ("air", "dew")
        } else {
            ("join", "dewjoin")
        };
        if let Some(way) = air_way(from, to) {
            let points = panel.way(*edge, &way);
            panel.draw(canvas, air, &points);
        }
        if let Some((way, _)) = dew_way(from, to) {
            let points = panel.way(*edge, &way);
            panel.draw(canvas, dew, &points);
        }
    }
    for (i, column) in places.columns.iter().enumerate() {
        // A value that no line leads to is a short stroke of its own.
        let x = page.x(i);
        let alone = !places.edges.iter().any(|e| e.from == i || e.to == i);
        for (class, value) in [("air", column.temperature), ("dew", column.dew_point)] {
            let Some(v) = value else { continue };
            if alone {
                let y = panel.y(v);
                panel.draw(canvas, class, &[(x - 20.0, y), (x + 20.0, y)]);
            } else if class == "air" {
                canvas.circle("dot", (x, panel.y(v)), 3.0, None);
            }
        }
    }
    for (i, t) in &coldest {
        let (x, y) = (page.x(*i), panel.y(*t));
        canvas.path(
            "cold",
            &[(x - 7.0, y - 9.0), (x + 7.0, y - 9.0), (x, y)],
            true,
        );
        canvas.line("lead", (x - 16.0, y), (x + 16.0, y));
        panel.room.taken.push(Rect {
            x: x - 16.0,
            y: y - 10.0,
            w: 32.0,
            h: 12.0,
        });
    }
    panel.marks(canvas, places, &marks, below);
    for (i, t) in coldest {
        let text = format!("coldest pipe {}", words::value(units, What::Temperature, t));
        if !panel.words(canvas, &[(page.x(i), panel.y(t))], &text, "t", false) {
            below.push((text, false));
        }
    }
    top + TEMPERATURE_PX
}

/// The coldest that pipes get, at the headers' columns, K.
fn coldest(picture: &AirLine, places: &Places) -> Vec<(usize, f64)> {
    let mut found = Vec::new();
    for header in &picture.station.headers {
        let at = places.columns.iter().position(|c| c.name == header.id);
        if let (Some(column), Some(t)) = (at, header.coldest) {
            found.push((column, t.si()));
        }
    }
    found
}
