//! The air line: where the pressure goes and where the water falls out, in one picture.
//!
//! Places stand along x, from the intake over each machine's air end and outlet down to the header.
//! Above, pressure falls from place to place; below, the air's temperature (solid) and its dew
//! point (dashed). Where the air is cooled under its dew point the area between is hatched, and
//! the litres a day stand beneath. Shape, weight and words carry every meaning; colour only helps.
//!
//! Must not know: files, the clock, how a band was made.

mod down;
mod panel;
mod places;
mod strip;
pub(crate) mod style;
mod words;

pub(crate) use down::drawn as drawn_down;
pub(crate) use places::drawn_in;

use station::forward::State;
use station::model::{Asset, Station};

use crate::svg::{Anchor, Canvas, escape, num, shorten, width, wrap};
use crate::units::Units;
use places::{Part, Places};

/// Said where no machine runs.
const STOPPED: &str = "No machine runs: no air flows, so nothing is expected along the air path.";
/// Room for the names of rows and the numbers of axes, px.
const LEFT: f64 = 196.0;
/// Free paper at the right, px.
const RIGHT: f64 = 28.0;
/// A column is never narrower, px.
const NARROWEST: f64 = 104.0;
/// The paper is never narrower, px.
const PAPER: f64 = 1120.0;

/// All that one picture shows.
#[derive(Debug, Clone, Copy)]
pub struct AirLine<'a> {
    /// The heading.
    pub title: &'a str,
    /// What is fitted.
    pub station: &'a Station,
    /// The expected state.
    pub state: &'a State,
    /// Expected bands, where they are known.
    pub bands: &'a [PlaceBand],
    /// What was read.
    pub readings: &'a [PlaceReading],
    /// Units of the reader.
    pub units: Units,
}

/// The expected band of a place: low and high, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaceBand {
    /// Which place; a machine's band is that of its package outlet.
    pub asset: Asset,
    /// Pressure, Pa(g).
    pub pressure: Option<(f64, f64)>,
    /// Air temperature, K.
    pub temperature: Option<(f64, f64)>,
    /// Pressure dew point, K.
    pub dew_point: Option<(f64, f64)>,
}

/// What was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// Gauge pressure, Pa(g).
    Pressure,
    /// Air temperature, K.
    Temperature,
    /// Pressure dew point, K.
    DewPoint,
    /// Air-end discharge temperature of a machine, K.
    OilTemperature,
}

impl What {
    fn word(self) -> &'static str {
        match self {
            Self::Pressure => "pressure",
            Self::Temperature => "air temperature",
            Self::DewPoint => "dew point",
            Self::OilTemperature => "oil temperature",
        }
    }
}

/// One reading on the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceReading {
    /// Where; the room's temperature stands at the intake.
    pub asset: Asset,
    /// What.
    pub what: What,
    /// The value, SI.
    pub value: f64,
    /// Whether it lies outside its band.
    pub outside: bool,
    /// The sentence beside the mark.
    pub note: Option<String>,
}

/// The picture as an SVG document.
///
/// Words that find no room beside their mark stand under the picture; so do readings of things that
/// have no column, such as the weather or a machine that stands. Numbers that are not finite are
/// left out.
#[must_use]
pub fn air_line(picture: &AirLine) -> String {
    drawn(picture, "")
}

/// The picture, its names set apart from those of other pictures on the page by `mark`.
pub(crate) fn drawn(picture: &AirLine, mark: &str) -> String {
    let places = Places::of(picture.station, picture.state);
    let page = Page::of(&places);
    let (marks, elsewhere) = marks(picture, &places);
    let mut canvas = Canvas::default();
    let mut y = heading(&mut canvas, picture, &places, &page);
    let top = y;
    let mut below: Vec<(String, bool)> = Vec::new();
    if places.flows {
        y = panel::pressure(
            &mut canvas,
            picture,
            &places,
            &page,
            &marks,
            y + 8.0,
            &mut below,
        );
        y = strip::pressure(&mut canvas, picture, &places, &page, &marks, y);
        y = panel::temperature(
            &mut canvas,
            picture,
            &places,
            &page,
            &marks,
            y + 22.0,
            &mut below,
        );
        y = strip::temperature(&mut canvas, picture, &places, &page, &marks, y);
        y = strip::water(&mut canvas, picture, &places, &page, y);
        y = strip::key(&mut canvas, &page, y + 14.0);
        below.extend(words::goes_on(picture).map(|text| (text, false)));
    } else {
        y = stopped(&mut canvas, picture, &page, top);
    }
    y = footnotes(&mut canvas, &page, &below, &elsewhere, y);
    document(picture, &places, page.width, &canvas, (y + 16.0, mark))
}

fn document(
    picture: &AirLine,
    places: &Places,
    wide: f64,
    canvas: &Canvas,
    (height, mark): (f64, &str),
) -> String {
    let (w, h) = (num(wide), num(height));
    let title = escape(&format!("Air line: {}", picture.title));
    let said = escape(&words::description(picture, places));
    // Two pictures on one page must not share a name (FNV-1a over what is said).
    let id = title
        .bytes()
        .chain(said.bytes())
        .chain(mark.bytes())
        .fold(0x811c_9dc5_u32, |hash, byte| {
            (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193)
        });
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" id=\"air-{id:08x}\" class=\"air-line\" viewBox=\"0 0 {w} {h}\" \
         role=\"img\" lang=\"en\" aria-labelledby=\"title-{id:08x} desc-{id:08x}\">\n\
         <title id=\"title-{id:08x}\">{title}</title>\n<desc id=\"desc-{id:08x}\">{said}</desc>\n\
         <style>{}</style>\n\
         <defs><pattern id=\"hatch-{id:08x}\" width=\"7\" height=\"7\" \
         patternTransform=\"rotate(45)\" patternUnits=\"userSpaceOnUse\">\
         <line class=\"hatch\" x1=\"0\" y1=\"0\" x2=\"0\" y2=\"7\"/></pattern></defs>\n\
         <rect class=\"paper\" width=\"{w}\" height=\"{h}\"/>\n{}</svg>\n",
        style::sheet(&format!("air-{id:08x}"), &format!("hatch-{id:08x}")),
        canvas.body,
    )
}

/// Where columns stand on the paper.
#[derive(Debug, Clone, Copy)]
struct Page {
    width: f64,
    column: f64,
    count: usize,
}

impl Page {
    fn of(places: &Places) -> Self {
        let count = places.columns.len().max(1);
        let width = PAPER.max(LEFT + RIGHT + count as f64 * NARROWEST);
        Self {
            width,
            column: (width - LEFT - RIGHT) / count as f64,
            count,
        }
    }

    /// The middle of a column.
    fn x(&self, column: usize) -> f64 {
        LEFT + (column as f64 + 0.5) * self.column
    }

    fn right(&self) -> f64 {
        self.width - RIGHT
    }
}

/// A reading at its column.
#[derive(Debug, Clone)]
struct Mark {
    column: usize,
    what: What,
    value: f64,
    outside: bool,
    sentence: String,
}

/// Readings that have a column, and the sentences of those that have none.
fn marks(picture: &AirLine, places: &Places) -> (Vec<Mark>, Vec<(String, bool)>) {
    let (mut marks, mut elsewhere) = (Vec::new(), Vec::new());
    for reading in picture.readings.iter().filter(|r| r.value.is_finite()) {
        let at = places.columns.iter().position(|c| {
            c.asset == reading.asset
                && match (c.part, reading.what) {
                    (Part::AirEnd, what) => what == What::OilTemperature,
                    (Part::Intake, what) => what == What::Temperature,
                    (Part::Outlet | Part::Place, what) => what != What::OilTemperature,
                }
        });
        let sentence = words::sentence(picture, reading);
        match at.filter(|_| places.flows) {
            Some(column) => marks.push(Mark {
                column,
                what: reading.what,
                value: reading.value,
                outside: reading.outside,
                sentence,
            }),
            None => elsewhere.push((sentence, reading.outside)),
        }
    }
    (marks, elsewhere)
}

/// The band of a value, where one is given; low first.
fn band(picture: &AirLine, asset: Asset, what: What) -> Option<(f64, f64)> {
    picture
        .bands
        .iter()
        .filter(|b| b.asset == asset)
        .find_map(|b| match what {
            What::Pressure => b.pressure,
            What::Temperature => b.temperature,
            What::DewPoint => b.dew_point,
            What::OilTemperature => None,
        })
        .filter(|(low, high)| low.is_finite() && high.is_finite())
        .map(|(a, b)| (a.min(b), a.max(b)))
}

/// The pressures that headers want, by name.
fn wanted(station: &Station) -> Vec<(&str, f64)> {
    station
        .headers
        .iter()
        .filter_map(|h| Some((h.id.as_str(), h.wanted?.si())))
        .filter(|(_, p)| p.is_finite())
        .collect()
}

/// Title, conditions and the columns' names; returns where the panels begin.
fn heading(canvas: &mut Canvas, picture: &AirLine, places: &Places, page: &Page) -> f64 {
    let room = page.width - 2.0 * RIGHT;
    let mut y = 14.0;
    for line in wrap(picture.title, room, 19.0, true) {
        y += 25.0;
        canvas.text("title", (RIGHT, y), Anchor::Start, &line, "");
    }
    for line in wrap(&words::conditions(picture, places), room, 13.0, false) {
        y += 20.0;
        canvas.text("q", (RIGHT, y), Anchor::Start, &line, "");
    }
    y + 14.0 + names(canvas, places, page, y + 14.0)
}

/// The columns' names, staggered where they are too long to stand in a row.
fn names(canvas: &mut Canvas, places: &Places, page: &Page, top: f64) -> f64 {
    let plain = |i: usize| {
        places
            .columns
            .get(i)
            .filter(|c| matches!(c.part, Part::Intake | Part::Place))
    };
    let staggered = (0..page.count)
        .filter_map(plain)
        .any(|c| width(&c.name, 15.0, true) > page.column - 10.0);
    let rows = if staggered { 2.0 } else { 1.0 };
    let base = top + 18.0 * rows;
    for (i, column) in places.columns.iter().enumerate() {
        let x = page.x(i);
        canvas.text("q", (x, base + 20.0), Anchor::Middle, column.kind, "");
        match column.part {
            Part::AirEnd => {
                // The outlet follows its air end: one name over both.
                let name = shorten(&column.name, 2.0 * page.column - 14.0, 15.0, true);
                let middle = x + 0.5 * page.column;
                canvas.text(
                    "b",
                    (middle, base - 3.0),
                    Anchor::Middle,
                    &name,
                    &column.name,
                );
                let (from, to) = (x - 0.30 * page.column, x + 1.30 * page.column);
                let line = [
                    (from, base + 8.0),
                    (from, base + 3.0),
                    (to, base + 3.0),
                    (to, base + 8.0),
                ];
                for pair in line.windows(2) {
                    if let [a, b] = pair {
                        canvas.line("rule", *a, *b);
                    }
                }
            }
            Part::Outlet => {}
            Part::Intake | Part::Place => {
                let lift = if staggered && i % 2 == 0 { 18.0 } else { 0.0 };
                let room = page.column * if staggered { 1.5 } else { 1.0 } - 8.0;
                let name = shorten(&column.name, room, 15.0, true);
                // A long name in the first or last column stays on the paper.
                let half = 0.5 * width(&name, 15.0, true);
                let x = x.clamp((8.0 + half).min(x), (page.width - 8.0 - half).max(0.0));
                canvas.text("b", (x, base - lift), Anchor::Middle, &name, &column.name);
            }
        }
    }
    18.0 * rows + 28.0
}

fn stopped(canvas: &mut Canvas, picture: &AirLine, page: &Page, top: f64) -> f64 {
    let bottom = top + 150.0;
    for y in [top + 8.0, bottom] {
        canvas.line("rule", (LEFT, y), (page.right(), y));
    }
    let middle = 0.5 * (LEFT + page.right());
    canvas.text("b", (middle, top + 76.0), Anchor::Middle, STOPPED, "");
    let wanted: Vec<String> = wanted(picture.station)
        .into_iter()
        .map(|(name, p)| {
            format!(
                "{name} wants {}",
                words::value(picture.units, What::Pressure, p)
            )
        })
        .collect();
    if !wanted.is_empty() {
        canvas.text(
            "q",
            (middle, top + 102.0),
            Anchor::Middle,
            &wanted.join("; "),
            "",
        );
    }
    bottom
}

/// Sentences that found no room beside their mark, and readings without a column.
fn footnotes(
    canvas: &mut Canvas,
    page: &Page,
    below: &[(String, bool)],
    elsewhere: &[(String, bool)],
    mut y: f64,
) -> f64 {
    let room = page.width - RIGHT - LEFT;
    let mut write = |label: &str, items: &[(String, bool)]| {
        if !items.is_empty() {
            y += 6.0;
        }
        for (n, (sentence, outside)) in items.iter().enumerate() {
            let class = if *outside { "o" } else { "t" };
            for (i, line) in wrap(sentence, room, 14.0, *outside).iter().enumerate() {
                y += 21.0;
                if n == 0 && i == 0 {
                    canvas.text("q", (LEFT - 14.0, y), Anchor::End, label, "");
                }
                canvas.text(class, (LEFT, y), Anchor::Start, line, "");
            }
        }
    };
    write("notes", below);
    write("also read", elsewhere);
    y
}
