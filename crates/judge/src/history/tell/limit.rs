//! When a cooling that is lost reaches the oil's warning temperature.
//!
//! Must not know: how the loss was found.

use super::*;
use crate::ChartAhead;
use crate::history::hot::{usual_day, worse};

/// Healths from which the search for a limit begins, worst first.
const LEAST_HEALTHS: [f64; 7] = [0.1, 0.2, 0.3, 0.4, 0.5, 0.65, 0.8];

/// How far a month's mean of daily maxima strays from the climate's, K (from memory).
const WEATHER_TO_COME_K: f64 = 1.3;
/// The model's own error in weather that it has not met with this machine, K (from memory).
const NOT_MET_K: f64 = 3.0;

/// Fifths of the clean cooling that are lost.
fn fifths(k: f64) -> f64 {
    (1.0 - k) / (1.0 - PROBE)
}

/// How fast they grow with the size of a change, k = 0.8^size.
fn fifths_per_size(k: f64) -> f64 {
    -k * PROBE.ln() / (1.0 - PROBE)
}

/// How well the model knows what a given loss does to the oil, as a share of its rise: the exponents
/// of cooler conductance with air flow lie between 0.35 and 0.6 (from memory).
const SENSITIVITY_SHARE: f64 = 0.2;

/// Puts the health through the model at each month's mean maximum.
pub(super) fn limit(
    ctx: &Context<'_>,
    streams: &Streams,
    i: usize,
    (now, loss): (f64, loss::Loss),
    part: Part,
    level: Option<&OwnLevel>,
    f: &mut Finding,
) -> Vec<ChartAhead> {
    let Some(climate) = &ctx.station.site.climate else {
        return Vec::new();
    };
    let Some(look) = ctx.looks.first() else {
        return Vec::new();
    };
    let warn = ctx.station.machines[i].oil.warn.si();
    // One round's load and room say little of a season: the usual ones of the newest weeks do.
    let rise = usual_rise(streams);
    let duty = level.map(|l| l.duty);
    let conditions =
        |t: Temperature, month: usize| usual_day(ctx, (look, i), (t, month), (duty, rise));
    let level_at = |at: &Conditions| {
        level.map_or(0.0, |l| {
            // Where the oil comes near its warning the valve holds nothing.
            l.at(at.ambient.si(), 0.0)
        })
    };
    let oil = |k: f64, at: &Conditions| {
        ctx.machine(i, &worse(part, k, ctx.own_cooler(i)), at)
            .and_then(|m| m.oil_temperature)
            .map(|t| t.si() + level_at(at))
    };
    let needs = |month: usize| {
        let at = conditions(climate.mean_max[month], month);
        let least = LEAST_HEALTHS.into_iter().find(|&k| oil(k, &at).is_some())?;
        let k = bracketed_root("health that reaches the limit", least, 1.3, 1.0e-3, |k| {
            oil(k, &at).map(|t| t - warn).ok_or(Refusal::NoSolution {
                what: "health that reaches the limit",
            })
        });
        let k = match k {
            Ok(k) => k,
            // A new cooler would not do either.
            Err(_) if oil(1.0, &at)? >= warn => 1.3,
            Err(_) => return None,
        };
        // Kelvin for each fifth lost, at the limit.
        let slope = (oil(PROBE * k.max(least / PROBE), &at)? - warn).max(1.0);
        let from_loss = warn - oil(1.0, &at)?;
        // What the loss of today does is read off readings, not off the model.
        let seen = oil(PROBE.powf(loss.size), &at)? - (warn - from_loss);
        let seen = seen.clamp(0.0, from_loss.max(0.0));
        let kelvin = WEATHER_TO_COME_K
            .hypot(NOT_MET_K)
            .hypot(SENSITIVITY_SHARE * (from_loss - seen));
        Some(Need {
            at: fifths(k),
            sigma: kelvin / slope * fifths_per_size(k),
        })
    };
    let k = PROBE.powf(loss.size);
    let each = fifths_per_size(k);
    let path = Path {
        now: fifths(k),
        sigma: loss.sigma * each,
        a_day: loss.a_day / (1.0 - PROBE),
        a_day_sigma: loss.a_day_sigma / (1.0 - PROBE),
    };
    let today = today(ctx);
    let dates = passage(path, today, needs);
    apply(
        ctx,
        f,
        "oil warning temperature at each month's mean maximum",
        dates,
        today,
    );
    // The design-hot day may come in its season even where the mean maximum is harmless.
    let (hottest, month) = climate.hottest();
    if oil(PROBE.powf(loss.size), &conditions(hottest, month)).is_some_and(|t| t >= warn) {
        f.urgency = f
            .urgency
            .min(crate::findings::in_the_hot_season(ctx, month));
    }
    let time_zone = &ctx.station.site.time_zone;
    chart::ahead_through(now, path, |fifths, time| {
        let month = time.to_zoned_datetime(time_zone.clone()).month();
        let month = usize::from(month.unsigned_abs()).clamp(1, 12) - 1;
        let k = (1.0 - fifths * (1.0 - PROBE)).clamp(LEAST_HEALTHS[0], 1.3);
        oil(k, &conditions(climate.mean_max[month], month))
    })
}

/// The room's rise over outdoors as read, over the model's, in the middle of the newest weeks.
pub(super) fn usual_rise(streams: &Streams) -> Option<f64> {
    let stream = streams.of(Asset::Room, Point::RoomTemperature, Moment::Unknown)?;
    let ratios: Vec<f64> = stream
        .samples
        .iter()
        .rev()
        .filter(|s| s.mid - s.ambient > 0.5)
        .take(45)
        .map(|s| (s.read - s.ambient) / (s.mid - s.ambient))
        .collect();
    (ratios.len() >= 8).then(|| usual(ratios.into_iter()).clamp(0.5, 2.0))
}
