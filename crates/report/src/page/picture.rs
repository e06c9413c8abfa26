//! The air line of the last round: what was to be expected of every place, and what was read there.
//!
//! Must not know: how a band was made.

use judge::LastRound;
use station::point::{Point, PointId};

use super::Sheet;
use super::phrase::time;
use crate::air_line::{AirLine, PlaceBand, PlaceReading, What, drawn, drawn_down};
use crate::frame::{Frame, both};
use crate::html::Html;

/// Half the width of a 95 % band, in standard deviations.
pub(super) const HALF_BAND: f64 = 1.96;

pub(super) fn of(h: &mut Html, sheet: &Sheet) {
    let Some(last) = sheet.one.last_round else {
        return;
    };
    sheet.section(h, "picture", "air-line", "The air line of the last round", |h| {
        both(h, |frame| Some(draw(sheet, last, frame)));
        h.el("p", &[("class", "q")], |h| {
            h.text("Where the pressure goes and where the water falls out. How its numbers come about: ");
            h.link(&sheet.at("expected-working"), "the working of what is expected");
            h.text(".");
        });
    });
}

fn draw(sheet: &Sheet, last: &LastRound, frame: &Frame) -> String {
    let outlook = &last.outlook;
    let bands: Vec<PlaceBand> = outlook
        .places
        .iter()
        .map(|p| PlaceBand {
            asset: p.asset,
            pressure: Some((p.pressure.low(), p.pressure.high())),
            temperature: Some((p.temperature.low(), p.temperature.high())),
            dew_point: Some((p.dew_point.low(), p.dew_point.high())),
        })
        .collect();
    let readings: Vec<PlaceReading> = last
        .read
        .iter()
        .filter_map(|(id, value)| reading(sheet, *id, *value))
        .collect();
    let title = format!(
        "{}, round of {}",
        sheet.station().site.name,
        time(sheet.station(), last.time)
    );
    let picture = AirLine {
        title: &title,
        station: sheet.station(),
        state: &outlook.state,
        bands: &bands,
        readings: &readings,
        units: sheet.report.units,
    };
    let mark = sheet.at(&format!("air-line{}", frame.mark));
    if frame.is_narrow() {
        drawn_down(&picture, &mark)
    } else {
        drawn(&picture, &mark)
    }
}

/// Whether the picture shows what was read there.
pub(super) fn is_drawn(point: Point) -> bool {
    drawn_as(point).is_some()
}

fn drawn_as(point: Point) -> Option<What> {
    match point {
        Point::MachinePressure | Point::VesselPressure | Point::HeaderPressure => {
            Some(What::Pressure)
        }
        Point::OutletTemperature | Point::RoomTemperature => Some(What::Temperature),
        Point::OilTemperature => Some(What::OilTemperature),
        Point::DryerDewPoint => Some(What::DewPoint),
        _ => None,
    }
}

fn reading(sheet: &Sheet, id: PointId, value: f64) -> Option<PlaceReading> {
    let what = drawn_as(id.point)?;
    let expected = sheet.one.judgement.expectations.iter().find(|e| e.id == id);
    let outside = expected.filter(|e| e.deviations.abs() > HALF_BAND);
    Some(PlaceReading {
        asset: id.asset,
        what,
        value,
        outside: outside.is_some(),
        note: outside.map(|e| {
            let beside = sheet
                .units()
                .beside(id.point, value, e.mid, 0.5 * (e.high - e.low));
            format!("{} {beside}", sheet.station().id(id.asset))
        }),
    })
}
