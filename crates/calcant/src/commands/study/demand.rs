//! The demand profile as CSV: each hour of the week, then each hour that was logged.
//!
//! Must not know: how demand is found.

use std::fmt::Write as _;

use ::station::model::Station;
use ::study::Study;

const WEEKDAYS: [&str; 7] = [
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
];

/// Two tables under one header; `None` where the demand is not known.
pub(super) fn csv(station: &Station, study: &Study) -> Option<String> {
    let demand = &study.demand;
    if demand.by_hour_of_week.is_empty() && demand.hours.is_empty() {
        return None;
    }
    let mut csv = "kind,weekday,hour [h],time,demand [m3/min(ANR)]\n".to_owned();
    for (at, mean) in demand.by_hour_of_week.iter().enumerate() {
        let weekday = WEEKDAYS.get(at / 24).copied().unwrap_or_default();
        let mean = mean.map_or_else(String::new, flow);
        let _ = writeln!(csv, "hour of the week,{weekday},{},,{mean}", at % 24);
    }
    for (time, m3_s) in &demand.hours {
        let local = time.to_zoned_datetime(station.site.time_zone.clone());
        let time = local.strftime("%A,%-H,%Y-%m-%dT%H:%M:%S%:z");
        let _ = writeln!(csv, "hour,{time},{}", flow(*m3_s));
    }
    Some(csv)
}

/// m³/min, finer than any meter.
fn flow(m3_s: f64) -> String {
    format!("{:.5}", m3_s * 60.0)
}
