//! What the picture shows, in words: for screen readers and for marks.
//!
//! Must not know: paper and ink.

use station::model::{Asset, Station};

use super::places::{Column, Part, Places, kind};
use super::{AirLine, PlaceReading, What};
use crate::units::Units;

/// Name and kind of a thing, `R1, receiver`.
pub(super) fn named(station: &Station, asset: Asset) -> String {
    match asset {
        Asset::Site | Asset::Room => kind(asset).to_string(),
        _ => format!("{}, {}", station.id(asset), kind(asset)),
    }
}

/// A value with its unit.
pub(super) fn value(units: Units, what: What, si: f64) -> String {
    match what {
        What::Pressure => format!("{} {}", units.write_pressure(si), units.gauge_name()),
        _ => format!(
            "{} {}",
            units.write_temperature(si),
            units.temperature_name()
        ),
    }
}

/// What a mark says: its note, or what was read and what is expected.
pub(super) fn sentence(picture: &AirLine, reading: &PlaceReading) -> String {
    if let Some(note) = reading.note.as_ref().filter(|n| !n.trim().is_empty()) {
        return note.trim().to_string();
    }
    let units = picture.units;
    let mut text = format!(
        "{}: {} {} read",
        picture.station.id(reading.asset),
        reading.what.word(),
        value(units, reading.what, reading.value)
    );
    match super::band(picture, reading.asset, reading.what) {
        Some((low, high)) => {
            let plain = |si| match reading.what {
                What::Pressure => units.write_pressure(si),
                _ => units.write_temperature(si),
            };
            text.push_str(&format!(", {} to {} expected", plain(low), plain(high)));
        }
        None if reading.outside => text.push_str(", outside its band"),
        None => {}
    }
    text
}

/// Litres or gallons in a day.
pub(super) fn water(units: Units, litres: f64) -> String {
    format!("{} {}", units.write_water(litres), units.water_name())
}

/// Liquid that no drain takes and that leaves the end of the path, if there is any.
pub(super) fn goes_on(picture: &AirLine) -> Option<String> {
    let duty = picture.state.places.last()?.duty;
    let litres = picture.state.water.liquid_out * duty * 86_400.0;
    (litres.is_finite() && litres >= 0.05).then(|| {
        format!(
            "{} of liquid water go on with the air to the plant",
            water(picture.units, litres)
        )
    })
}

/// The line under the title.
pub(super) fn conditions(picture: &AirLine, places: &Places) -> String {
    let units = picture.units;
    let mut text = format!(
        "Room {}, atmosphere {} {}",
        value(units, What::Temperature, picture.state.room.si()),
        units.write_pressure(picture.state.atmosphere.si()),
        units.absolute_name(),
    );
    if places.flows {
        text.push_str(
            "; expected while loaded, water as if this day's load went on round the clock",
        );
    }
    let still: Vec<&str> = places
        .still
        .iter()
        .map(|a| picture.station.id(*a))
        .collect();
    if let Some((last, others)) = still.split_last() {
        let (names, verb) = if others.is_empty() {
            ((*last).to_string(), "is")
        } else {
            (format!("{} and {last}", others.join(", ")), "are")
        };
        text.push_str(&format!("; {names} {verb} without flow"));
    }
    text.push('.');
    text
}

/// The whole picture in words.
pub(super) fn description(picture: &AirLine, places: &Places) -> String {
    let mut text = conditions(picture, places);
    if !places.flows {
        text.push(' ');
        text.push_str(super::STOPPED);
    }
    for column in &places.columns {
        text.push_str(&format!(" {}.", column_words(picture.units, column)));
    }
    if let Some(water) = goes_on(picture) {
        text.push_str(&format!(" {water}."));
    }
    for (name, wanted) in super::wanted(picture.station) {
        text.push_str(&format!(
            " {name} wants {}.",
            value(picture.units, What::Pressure, wanted)
        ));
    }
    for header in &picture.station.headers {
        if let Some(coldest) = header.coldest {
            text.push_str(&format!(
                " Coldest pipe at {}: {}.",
                header.id,
                value(picture.units, What::Temperature, coldest.si())
            ));
        }
    }
    for reading in picture.readings.iter().filter(|r| r.value.is_finite()) {
        let place = if reading.outside {
            "outside its band"
        } else {
            "inside its band"
        };
        text.push_str(&format!(
            " Read at {}: {} {}, {place}.",
            named(picture.station, reading.asset),
            reading.what.word(),
            value(picture.units, reading.what, reading.value)
        ));
        if let Some(note) = reading.note.as_ref().filter(|n| !n.trim().is_empty()) {
            text.push_str(&format!(" {}.", note.trim().trim_end_matches('.')));
        }
    }
    text
}

fn column_words(units: Units, column: &Column) -> String {
    let mut text = match column.part {
        Part::Intake => "Intake, room air".to_string(),
        _ => format!("{}, {}", column.name, column.kind),
    };
    let mut facts = Vec::new();
    if let Some(p) = column.pressure {
        facts.push(format!("pressure {}", value(units, What::Pressure, p)));
    }
    if let Some(t) = column.temperature {
        facts.push(format!("air {}", value(units, What::Temperature, t)));
    }
    if let Some(t) = column.dew_point {
        facts.push(format!("dew point {}", value(units, What::DewPoint, t)));
    }
    if let Some(l) = column.water {
        facts.push(format!("{} of water fall out", water(units, l)));
    }
    if !facts.is_empty() {
        text.push_str(": ");
        text.push_str(&facts.join(", "));
    }
    text
}
