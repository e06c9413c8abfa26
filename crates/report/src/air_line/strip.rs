//! Rows of plain numbers under each panel, the water that falls out, and the key.
//!
//! Must not know: how the panels are drawn.

use super::places::{Column, Places};
use super::{AirLine, LEFT, Mark, Page, What};
use crate::svg::{Anchor, Canvas, width};

/// Height of a row, px.
const ROW_PX: f64 = 23.0;
/// Height of the largest bar of water, px.
const BAR_PX: f64 = 44.0;

/// A row of numbers; nothing is written for an empty one.
fn row(canvas: &mut Canvas, page: &Page, y: f64, label: &str, cells: &[Option<String>]) -> f64 {
    if cells.iter().all(Option::is_none) {
        return y;
    }
    let base = y + ROW_PX - 6.0;
    canvas.text("q", (LEFT - 14.0, base), Anchor::End, label, "");
    for (i, cell) in cells.iter().enumerate() {
        if let Some(text) = cell {
            canvas.text("t", (page.x(i), base), Anchor::Middle, text, "");
        }
    }
    canvas.line("hair", (LEFT, y + ROW_PX), (page.right(), y + ROW_PX));
    y + ROW_PX
}

/// A row of read values, each with its mark: open inside the band, filled outside.
fn read_row(
    canvas: &mut Canvas,
    page: &Page,
    y: f64,
    label: &str,
    marks: &[&Mark],
    write: impl Fn(f64) -> String,
) -> f64 {
    if marks.is_empty() {
        return y;
    }
    let base = y + ROW_PX - 6.0;
    canvas.text("q", (LEFT - 14.0, base), Anchor::End, label, "");
    for i in 0..page.count {
        let here: Vec<&&Mark> = marks.iter().filter(|m| m.column == i).collect();
        // Where one thing was read more than once, the last stands in the row.
        let Some(mark) = here.last() else { continue };
        let text = write(mark.value);
        let (class, circle, r) = if mark.outside {
            ("o", "out", 6.0)
        } else {
            ("t", "in", 4.5)
        };
        let half = 0.5 * width(&text, 14.0, mark.outside);
        canvas.circle(circle, (page.x(i) - half - 9.0, base - 5.0), r, None);
        canvas.text(class, (page.x(i), base), Anchor::Middle, &text, "");
    }
    canvas.line("hair", (LEFT, y + ROW_PX), (page.right(), y + ROW_PX));
    y + ROW_PX
}

fn cells(places: &Places, of: impl Fn(&Column) -> Option<String>) -> Vec<Option<String>> {
    places.columns.iter().map(of).collect()
}

/// Rows under the pressure panel; returns where they end.
pub(super) fn pressure(
    canvas: &mut Canvas,
    picture: &AirLine,
    places: &Places,
    page: &Page,
    marks: &[Mark],
    y: f64,
) -> f64 {
    let units = picture.units;
    let read: Vec<&Mark> = marks.iter().filter(|m| m.what == What::Pressure).collect();
    let write = |si: f64| units.write_pressure(si);
    let expected = cells(places, |c| c.pressure.map(write));
    let falls = cells(places, |c| c.drop.map(write).filter(|t| is_not_zero(t)));
    let y = row(
        canvas,
        page,
        y,
        &format!("expected, {}", units.gauge_name()),
        &expected,
    );
    let y = read_row(
        canvas,
        page,
        y,
        &format!("read, {}", units.gauge_name()),
        &read,
        write,
    );
    row(
        canvas,
        page,
        y,
        &format!("falls here by, {}", units.drop_name()),
        &falls,
    )
}

/// Whether a written number is more than zero.
fn is_not_zero(text: &str) -> bool {
    text.chars().any(|c| c.is_ascii_digit() && c != '0')
}

/// Rows under the temperature panel; returns where they end.
pub(super) fn temperature(
    canvas: &mut Canvas,
    picture: &AirLine,
    places: &Places,
    page: &Page,
    marks: &[Mark],
    y: f64,
) -> f64 {
    let units = picture.units;
    let name = units.temperature_name();
    let write = |si: f64| units.write_temperature(si);
    let of = |dew: bool| -> Vec<&Mark> {
        marks
            .iter()
            .filter(|m| m.what != What::Pressure && (m.what == What::DewPoint) == dew)
            .collect()
    };
    let air = cells(places, |c| c.temperature.map(write));
    let dew = cells(places, |c| c.dew_point.map(write));
    let y = row(canvas, page, y, &format!("air, expected, {name}"), &air);
    let y = read_row(
        canvas,
        page,
        y,
        &format!("air, read, {name}"),
        &of(false),
        write,
    );
    let y = row(
        canvas,
        page,
        y,
        &format!("dew point, expected, {name}"),
        &dew,
    );
    read_row(
        canvas,
        page,
        y,
        &format!("dew point, read, {name}"),
        &of(true),
        write,
    )
}

/// Water that falls out: hatched columns, with the amount written in; returns where they end.
pub(super) fn water(
    canvas: &mut Canvas,
    picture: &AirLine,
    places: &Places,
    page: &Page,
    y: f64,
) -> f64 {
    let units = picture.units;
    let most = places
        .columns
        .iter()
        .filter_map(|c| c.water)
        .fold(0.0, f64::max);
    let base = y + ROW_PX - 6.0;
    let label = format!("water falls out, {}", units.water_name());
    canvas.text("q", (LEFT - 14.0, base), Anchor::End, &label, "");
    if most <= 0.0 {
        canvas.text(
            "t",
            (LEFT, base),
            Anchor::Start,
            "none along the whole path",
            "",
        );
        canvas.line("rule", (LEFT, y + ROW_PX), (page.right(), y + ROW_PX));
        return y + ROW_PX;
    }
    for (i, column) in places.columns.iter().enumerate() {
        let Some(litres) = column.water else { continue };
        let height = (BAR_PX * litres / most).max(2.0);
        let x = page.x(i);
        canvas.rect("water", x - 32.0, y + 5.0, 26.0, height);
        canvas.text(
            "b",
            (x, y + 20.0),
            Anchor::Start,
            &units.write_water(litres),
            "",
        );
    }
    let end = y + BAR_PX + 14.0;
    canvas.line("rule", (LEFT, end), (page.right(), end));
    end
}

/// What each mark means; returns where it ends.
pub(super) fn key(canvas: &mut Canvas, page: &Page, y: f64) -> f64 {
    type Sample = fn(&mut Canvas, f64, f64);
    let samples: [(&str, Sample); 7] = [
        ("expected pressure, air temperature", |c, x, y| {
            c.line("air", (x, y), (x + 30.0, y))
        }),
        ("dew point", |c, x, y| c.line("dew", (x, y), (x + 34.0, y))),
        ("expected band", |c, x, y| {
            c.rect("ribbon", x, y - 7.0, 30.0, 14.0)
        }),
        ("read, inside its band", |c, x, y| {
            c.circle("in", (x + 22.0, y), 5.5, None)
        }),
        ("read, outside its band", |c, x, y| {
            c.circle("out", (x + 22.0, y), 7.0, None)
        }),
        ("water falls out", |c, x, y| {
            c.rect("water", x, y - 7.0, 30.0, 14.0)
        }),
        ("wanted at the header", |c, x, y| {
            c.line("wanted", (x, y), (x + 32.0, y))
        }),
    ];
    let (mut x, mut y) = (super::RIGHT, y + 10.0);
    for (words, draw) in samples {
        let w = 40.0 + width(words, 13.0, false) + 18.0;
        if x + w > page.right() + 18.0 {
            (x, y) = (super::RIGHT, y + 24.0);
        }
        draw(canvas, x, y);
        canvas.text("q", (x + 40.0, y + 4.5), Anchor::Start, words, "");
        x += w;
    }
    y + 10.0
}
