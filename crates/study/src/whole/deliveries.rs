//! What each machine delivered, hour by hour, and all together.
//!
//! Time on load × share of full delivery × delivery at that hour's pressure by the forward model, in
//! the weather that was logged, else in that of the month.
//!
//! Must not know: demand, leakage.

use physics::quantity::Temperature;
use station::model::{Asset, Station};
use station::point::{Point, PointId};

use super::{Air, Modelled, Read, by_pressure};
use crate::channel::Channel;
use crate::figures::{Band95, MachineDays, MachineHour, STATES, StationFigures, plain};
use crate::forward::{Line, Weather};
use crate::reduce::air::Delivered;
use crate::reduce::totals::add;
use crate::sink::AirTrack;

/// What the weather leaves open, as a share of the delivery: where it was logged, and where not
/// (common practice, no source: 3 and 6 K of the air taken in).
const LOGGED: f64 = 0.01;
const NOT_LOGGED: f64 = 0.02;
/// The same of a humidity that was not logged: half of it wrong, at 20 °C.
const HUMIDITY_NOT_LOGGED: f64 = 0.01;
/// How well a flow meter reads, one standard deviation as a share: 6 % as a limit.
const METER: f64 = 0.035;
/// The flow that was measured must cover this share of the time.
const COVERS: f64 = 0.9;

/// The mean of a channel over the log.
pub(super) fn mean(read: &Read<'_>, asset: Asset, point: Point) -> Option<f64> {
    let channel = Channel::Point(PointId { asset, point });
    let days = &read.channels.iter().find(|c| c.channel == channel)?.days;
    let (sum, count) = days.iter().fold((0.0, 0.0), |(sum, count), day| {
        let n = day.count as f64;
        (sum + n * day.mean, count + n)
    });
    (count > 0.0).then(|| sum / count)
}

/// The weather that was logged, completed by the usual.
pub(super) fn weather(read: &Read<'_>, usual: Weather) -> Weather {
    let ambient = mean(read, Asset::Site, Point::SiteAmbient);
    let room = mean(read, Asset::Room, Point::RoomTemperature);
    Weather {
        ambient: ambient.map_or(usual.ambient, Temperature::new),
        humidity: mean(read, Asset::Site, Point::SiteHumidity).unwrap_or(usual.humidity),
        room: room.map(Temperature::new),
    }
}

/// The machines, in the weather of the log.
pub(super) fn models(
    station: &Station,
    track: &AirTrack,
    weather: Option<Weather>,
    interval_s: Option<f64>,
) -> Vec<Modelled> {
    let logged = weather.zip(track.weather).is_some_and(|(w, usual)| {
        w.room.is_some() || (w.ambient.si() - usual.ambient.si()).abs() > 0.0
    });
    let of_weather = if logged { LOGGED } else { NOT_LOGGED };
    let of_weather = match weather.zip(track.weather) {
        Some((w, usual)) if (w.humidity - usual.humidity).abs() > 0.0 => of_weather,
        _ => of_weather.hypot(HUMIDITY_NOT_LOGGED),
    };
    let modelled = |(at, follower): (usize, &crate::reduce::air::Follower)| {
        let fresh = weather.and_then(|w| Line::of(station, follower.machine, &w));
        let line = fresh.unwrap_or_else(|| follower.line.clone());
        let mut sums = Delivered::default();
        for hour in &track.air.hours {
            if let Some(more) = hour.machines.get(at) {
                sums.loaded_s += more.loaded_s;
                sums.full_s += more.full_s;
                sums.pressure_s += more.pressure_s;
                sums.read_s += more.read_s;
            }
        }
        let by = track.by_pressure.as_ref();
        let of_turns = match by.filter(|by| by.machine == follower.machine) {
            Some(_) => by_pressure::of_turns(&track.air.gather, at, interval_s),
            None => 0.0,
        };
        Modelled {
            machine: follower.machine,
            sigma: line
                .air_sigma
                .hypot(line.share_sigma())
                .hypot(of_weather)
                .hypot(of_turns),
            line,
            sums,
        }
    };
    track
        .air
        .followers
        .iter()
        .enumerate()
        .map(modelled)
        .collect()
}

/// Fills in what each hour delivered.
pub(super) fn fill(hours: &mut [MachineHour], model: &Modelled, air: &Air<'_>) {
    let at = air.models.iter().position(|m| m.machine == model.machine);
    let mut from = 0;
    for hour in hours {
        // Both lists are in the order of time; one may lack hours of the other.
        let rest = air.hours.get(from..).unwrap_or_default();
        let same = rest
            .iter()
            .position(|a| a.hour.date == hour.date && a.hour.hour == hour.hour);
        let sums = same.and_then(|found| {
            from += found;
            air.hours.get(from)?.machines.get(at?).copied()
        });
        let sums = sums.unwrap_or_default();
        let share = if sums.loaded_s > 0.0 {
            sums.full_s / sums.loaded_s
        } else {
            1.0
        };
        let pressure = if sums.read_s > 0.0 {
            sums.pressure_s / sums.read_s
        } else {
            model.pressure()
        };
        let seconds = 3600.0 * plain(&hour.hours)[2];
        hour.delivered_m3 = Some(seconds * share * model.line.full(pressure));
    }
}

/// The flow that was measured, m³, if it covers the time.
pub(super) fn measured(air: &Air<'_>) -> Option<Band95> {
    let (m3, seconds) = air.hours.iter().fold((0.0, 0.0), |(m3, s), hour| {
        (m3 + hour.flow().0, s + hour.flow().1)
    });
    let covered: i64 = air.hours.iter().map(|hour| hour.spanned).sum();
    let covered = covered as f64 * 1e-6;
    (air.meters.measure() && seconds > COVERS * covered && seconds > 0.0).then(|| {
        let whole = m3 * covered / seconds;
        Band95::of(whole, METER * whole).positive()
    })
}

/// All machines together.
pub(super) fn station(air: &Air<'_>, machines: &[MachineDays]) -> StationFigures {
    let mut kwh = [0.0; STATES];
    let (mut m3, mut variance, mut known) = (0.0, 0.0, !machines.is_empty());
    for machine in machines {
        add(&mut kwh, machine.totals.kwh);
        match machine.totals.whole.delivered_m3 {
            Some(delivered) => {
                m3 += delivered.mid;
                variance += ((delivered.high - delivered.mid) / 1.96).powi(2);
            }
            None => known = false,
        }
    }
    let measured = measured(air);
    let known = known && !air.others_unseen;
    let read = machines.iter().any(|machine| machine.energy_read);
    let modelled = known.then(|| Band95::of(m3, variance.sqrt()).positive());
    let delivered = measured.or(modelled);
    let all: f64 = kwh.iter().sum();
    let site = &air.station.site;
    let specific = delivered
        .filter(|d| d.mid > 0.0 && all > 0.0)
        .map(|d| all / d.mid);
    StationFigures {
        kwh,
        cost: site
            .price
            .as_ref()
            .filter(|_| read)
            .map(|price| all * price.energy_per_kwh),
        carbon_kg: site
            .carbon_kg_per_kwh
            .filter(|_| read)
            .map(|carbon| all * carbon),
        delivered_m3: delivered,
        measured: measured.is_some(),
        specific_energy_kwh_m3: specific,
        specific_power_kw_min_m3: specific.map(|each| 60.0 * each),
    }
}
