//! How far the newest readings stand from those before them.
//!
//! Must not know: what is made of that.

use station::model::Station;
use station::point::{Point, PointId};

use super::level;
use super::stream::{BY_WATCH, Stream, Streams};
use crate::day::{Moment, reading_sigma};

/// Readings that the newest is held against, and how few are enough.
const HELD_AGAINST: usize = 12;
const ENOUGH: usize = 5;
/// Older ones say nothing of today, days.
const DAYS: f64 = 120.0;
/// What the model leaves out from day to day, K (common practice, no source).
const MODEL_K: f64 = 1.5;
/// The same of what flows, of its drop and of its water, as a share (common practice, no source).
const MODEL_SHARE: f64 = 0.1;
/// A reading that the one before it bears out by so much of itself is not alone (common practice, no source).
const SAID_BEFORE: f64 = 0.4;
/// A normal distribution's σ over its median absolute deviation.
const MAD_SIGMA: f64 = 1.4826;

/// The newest reading of a point beside what was to be expected after those before it. SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Far {
    pub(crate) id: PointId,
    pub(crate) read: f64,
    pub(crate) usual: f64,
    /// When it was read, days since 1970-01-01; nothing where it is the newest round.
    pub(crate) day: Option<f64>,
    /// How far one strays.
    pub(crate) sigma: f64,
    /// Whether the reading just before it strayed as well.
    pub(crate) said_before: bool,
    /// Readings that it is held against.
    pub(crate) readings: usize,
}

impl Far {
    /// (read − usual)/σ.
    pub(crate) fn z(&self) -> f64 {
        (self.read - self.usual) / self.sigma
    }

    /// A reading beside earlier ones of itself, newest first; one strays by so much at least.
    pub(crate) fn beside(id: PointId, read: f64, earlier: &[f64], least: f64) -> Self {
        let usual = level::usual(earlier.iter().copied());
        let off = earlier.iter().map(|v| (v - usual).abs());
        let before = earlier.first().map_or(0.0, |v| v - usual);
        Self {
            id,
            read,
            usual,
            day: None,
            sigma: (MAD_SIGMA * level::usual(off))
                .max(least)
                .max(f64::MIN_POSITIVE),
            said_before: before / (read - usual) > SAID_BEFORE,
            readings: earlier.len(),
        }
    }
}

/// Every point's newest reading beside those before it; `today` is the newest round's.
pub(super) fn far_off(streams: &Streams, station: &Station, today: f64) -> Vec<Far> {
    let gauges = streams.list.iter().filter(|s| {
        ![Point::BeltIndicator, Point::Collected].contains(&s.id.point)
            && (s.id.point != Point::HeaderFlow || s.moment == BY_WATCH)
    });
    let moment = |s: &&Stream| s.moment != Moment::Stopped;
    gauges
        .filter(moment)
        .filter_map(|s| of(s, station, today))
        .collect()
}

fn of(stream: &Stream, station: &Station, today: f64) -> Option<Far> {
    let newest = stream.samples.back().filter(|s| s.reset.is_none())?;
    let since = stream.samples.iter().rposition(|s| s.reset.is_some());
    let since = since.unwrap_or(0);
    let earlier = stream.samples.iter().skip(since).rev().skip(1);
    let earlier: Vec<_> = earlier
        .take_while(|s| today - s.day < DAYS)
        .take(if wears(stream.id.point) {
            ENOUGH
        } else {
            HELD_AGAINST
        })
        .collect();
    if earlier.len() < ENOUGH {
        return None;
    }
    let id = stream.id;
    let gauge = reading_sigma(station, id, newest.read);
    // What goes with the flow, or the power, is so many times the model's; the rest is so much more.
    let share = matches!(
        id.point,
        Point::FilterDrop | Point::DryerDrop | Point::HeaderFlow | Point::MachinePower
    );
    let (lies, least) = if share {
        let times = level::usual(earlier.iter().map(|s| s.read / s.mid));
        let strays = (MODEL_SHARE * times * newest.mid).hypot(times * newest.strays);
        let lies: Vec<f64> = earlier.iter().map(|s| s.read - times * s.mid).collect();
        (lies, (times * newest.mid, strays.hypot(gauge)))
    } else {
        let model = match id.point {
            Point::OilTemperature
            | Point::OutletTemperature
            | Point::RoomTemperature
            | Point::DryerDewPoint => MODEL_K,
            // It never falls by itself.
            point if wears(point) && newest.read > newest.mid => newest.read,
            _ => 0.0,
        };
        let lies: Vec<f64> = earlier.iter().map(|s| s.read - s.mid).collect();
        (lies, (newest.mid, model.hypot(gauge).hypot(newest.strays)))
    };
    let (expected, least) = least;
    let far = Far::beside(id, newest.read - expected, &lies, least);
    Some(Far {
        read: newest.read,
        usual: expected + far.usual,
        day: (newest.day < today).then_some(newest.day),
        ..far
    })
}

/// What is read once a week, and may have worn since.
fn wears(point: Point) -> bool {
    matches!(point, Point::SeparatorDrop | Point::IntakeDrop)
}
