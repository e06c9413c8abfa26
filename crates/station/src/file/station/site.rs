//! The site, its climate and the compressor room.
//!
//! Must not know: the machines.

use jiff::tz::TimeZone;
use physics::quantity::{ActualFlow, Temperature, TemperatureDifference};

use super::hours;
use super::reader::{Found, Reader, did_you_mean};
use crate::file::unit::{digits, short};
use crate::model::{Climate, Price, Room, Site};

/// The site.
pub(super) fn site(r: &Reader<'_>) -> Option<Site> {
    ["name", "altitude", "time_zone"]
        .iter()
        .for_each(|key| r.need(key));
    let name = r.text("name");
    let altitude = r.quantity("altitude");
    let time_zone = time_zone(r);
    let price = price(r);
    let carbon = r.number("carbon");
    let hours = r
        .text("hours")
        .and_then(|found| match hours::parse(&found.value) {
            Ok(hours) => Some(hours),
            Err(what) => {
                let hint = "write `Mon-Fri 06:00-22:00; Sat 06:00-13:00`".to_owned();
                r.tell(found.line, "hours", what, Some(hint));
                None
            }
        });
    let climate = climate(r);
    Some(Site {
        name: name?.value,
        altitude_m: altitude?.value,
        time_zone: time_zone?,
        price,
        carbon_kg_per_kwh: carbon.map(|f| f.value),
        hours,
        climate,
    })
}

/// Towns that their own people write otherwise than the time zone database does.
const OTHER_NAMES: &[(&str, &str)] = &[
    ("Wien", "Europe/Vienna"),
    ("Roma", "Europe/Rome"),
    ("Lisboa", "Europe/Lisbon"),
    ("Praha", "Europe/Prague"),
    ("Warszawa", "Europe/Warsaw"),
    ("København", "Europe/Copenhagen"),
    ("Bruxelles", "Europe/Brussels"),
    ("Brussel", "Europe/Brussels"),
    ("Athina", "Europe/Athens"),
    ("București", "Europe/Bucharest"),
    ("Genève", "Europe/Zurich"),
    ("Zürich", "Europe/Zurich"),
    ("Kyiv", "Europe/Kyiv"),
    ("Moskva", "Europe/Moscow"),
    ("München", "Europe/Berlin"),
];

fn time_zone(r: &Reader<'_>) -> Option<TimeZone> {
    let found = r.text("time_zone")?;
    if let Ok(zone) = TimeZone::get(&found.value) {
        return Some(zone);
    }
    let names: Vec<String> = jiff::tz::db()
        .available()
        .map(|n| n.as_str().to_owned())
        .collect();
    // A town alone is more often written than a misspelt name.
    let town = names.iter().find(|name| {
        name.rsplit('/').next().is_some_and(|town| {
            town.eq_ignore_ascii_case(&found.value.replace(' ', "_")) && name.contains('/')
        })
    });
    let known_as = OTHER_NAMES.iter().find(|(written, _)| {
        let town = found.value.rsplit('/').next().unwrap_or_default();
        written.eq_ignore_ascii_case(town.trim())
    });
    let hint = known_as
        .map(|(_, zone)| *zone)
        .or(town.map(String::as_str))
        .map(|name| format!("did you mean `{name}`?"))
        .or_else(|| did_you_mean(&found.value, names.iter().map(String::as_str)))
        .unwrap_or_else(|| "write an IANA name such as `Europe/Lisbon`".to_owned());
    let what = format!("`{}` is no time zone", short(&found.value));
    r.tell(found.line, "time_zone", what, Some(hint));
    None
}

fn price(r: &Reader<'_>) -> Option<Price> {
    if !r.has("price") {
        return None;
    }
    let r = r.table("price");
    ["energy", "currency"].iter().for_each(|key| r.need(key));
    let (energy, currency, outage) = (r.number("energy"), r.text("currency"), r.number("outage"));
    Some(Price {
        energy_per_kwh: energy?.value,
        currency: currency?.value,
        outage_per_h: outage.map(|f| f.value),
    })
}

fn climate(r: &Reader<'_>) -> Option<Climate> {
    if !r.has("climate") {
        return None;
    }
    let r = r.table("climate");
    ["mean", "mean_max", "humidity"]
        .iter()
        .for_each(|key| r.need(key));
    let (mean, mean_max, humidity) = (r.months("mean"), r.months("mean_max"), r.months("humidity"));
    let (hot, cold) = (r.quantity("design_hot"), r.quantity("design_cold"));
    let humid = r
        .has("design_humid")
        .then(|| r.table("design_humid"))
        .and_then(|r| {
            ["temperature", "humidity"]
                .iter()
                .for_each(|key| r.need(key));
            let (temperature, humidity) = (r.quantity("temperature"), r.number("humidity"));
            Some((Temperature::new(temperature?.value), humidity?.value))
        });
    contradictions(
        &r,
        mean.as_ref(),
        mean_max.as_ref(),
        hot.as_ref(),
        cold.as_ref(),
    );
    Some(Climate {
        mean: mean?.value.map(Temperature::from_celsius),
        mean_max: mean_max?.value.map(Temperature::from_celsius),
        humidity: humidity?.value,
        design_hot: hot.map(|f| Temperature::new(f.value)),
        design_humid: humid,
        design_cold: cold.map(|f| Temperature::new(f.value)),
    })
}

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

fn contradictions(
    r: &Reader<'_>,
    mean: Option<&Found<[f64; 12]>>,
    mean_max: Option<&Found<[f64; 12]>>,
    hot: Option<&Found<f64>>,
    cold: Option<&Found<f64>>,
) {
    if let (Some(mean), Some(max)) = (mean, mean_max) {
        let mut months = MONTHS.iter().zip(mean.value.iter().zip(max.value));
        if let Some((month, (mean, max_value))) = months.find(|(_, (m, x))| *x < **m) {
            r.tell(
                max.line,
                "mean_max",
                format!(
                    "in {month} the mean of the daily maxima, {} degC, lies below the mean, {} degC",
                    digits(max_value),
                    digits(*mean)
                ),
                Some("write the mean temperature in `mean` and the mean of the daily maxima in `mean_max`".to_owned()),
            );
        }
    }
    let highest = mean_max.map(|f| f.value.iter().copied().fold(f64::NEG_INFINITY, f64::max));
    if let (Some(hot), Some(highest)) = (hot, highest)
        && Temperature::new(hot.value).celsius() < highest
    {
        r.tell(
            hot.line,
            "design_hot",
            format!(
                "{} lies below the hottest `mean_max`, {} degC",
                hot.text,
                digits(highest)
            ),
            Some("write the hottest day that the station must stand".to_owned()),
        );
    }
    let lowest = mean.map(|f| f.value.iter().copied().fold(f64::INFINITY, f64::min));
    if let (Some(cold), Some(lowest)) = (cold, lowest)
        && Temperature::new(cold.value).celsius() > lowest
    {
        r.tell(
            cold.line,
            "design_cold",
            format!(
                "{} lies above the coldest `mean`, {} degC",
                cold.text,
                digits(lowest)
            ),
            Some("write the coldest day that the station must stand".to_owned()),
        );
    }
}

/// The room.
pub(super) fn room(r: &Reader<'_>) -> Room {
    let ducted = r.yes_or_default("ducted");
    let ventilation = r
        .quantity("ventilation")
        .map(|found| r.given("ventilation", found));
    let rise = if r.has("ventilation") {
        r.quietly()
    } else {
        r.clone()
    };
    Room {
        ventilation: ventilation.map(|v| v.known(ActualFlow::new)),
        ducted,
        assumed_rise: rise
            .value_or_default("rise", 1.0)
            .known(TemperatureDifference::new),
    }
}
