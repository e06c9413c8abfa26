//! How much of a machine's cooling is lost, and how fast, by changes that the search found.
//!
//! Must not know: limits, sentences.

use super::*;
use crate::history::stream::HALF_STEPS;

/// How far the pace of a loss bends on its way, one standard deviation, as a share (from memory).
const PACE_BENDS: f64 = 0.5;
/// How far the pace of a loss lies from its mean one towards that of its newest readings (from memory).
const NEWEST_PACE: f64 = 0.25;

/// Whether two changes are stretches of one loss: it grew faster, or slower, from a day on.
pub(super) fn one_loss(a: &Change, b: &Change) -> bool {
    let part = |c: &Change| cooling_part(&c.cause).map(Part::itself);
    a.cause.name == b.cause.name && part(a).is_some() && part(a) == part(b)
}

/// A loss in steps of the probe, by what it does to the readings: the search takes their movement as straight
/// in its size, the model does not.
#[derive(Debug, Clone, Copy)]
pub(super) struct Loss {
    /// The day on which its first stretch began.
    pub(super) began: f64,
    pub(super) size: f64,
    pub(super) sigma: f64,
    /// What is lost a day of the clean cooling, and what the readings leave open of it: dust closes a mat,
    /// and a deposit grows, by an even share of the clean cooling a day rather than of what is left (common
    /// practice, no source).
    pub(super) a_day: f64,
    pub(super) a_day_sigma: f64,
    /// Whether it was sought as the model bends it, rather than straight.
    pub(super) bent: bool,
}

impl Loss {
    /// Through nought, one step and a loss of half goes E(x) = a x + b x²; of the newest readings of both.
    /// `stretches` are the changes of one part.
    pub(super) fn of(streams: &Streams, asset: Asset, stretches: &[&Change]) -> Self {
        if let Some(curve) = stretches.first().and_then(|c| c.curve) {
            let k = 1.0 - curve.lost;
            return Self {
                began: curve.began,
                size: k.ln() / PROBE.ln(),
                sigma: curve.sigma / (k * -PROBE.ln()),
                a_day: curve.a_day,
                a_day_sigma: curve.a_day_sigma,
                bent: true,
            };
        }
        let newest = |part: Part| -> f64 {
            let of = |point| streams.of(asset, point, Moment::Loaded);
            let both = [Point::OilTemperature, Point::OutletTemperature].map(of);
            let each = both.into_iter().flatten();
            let felt = each.flat_map(|s| s.samples.iter().rev().take(SHOWS));
            felt.map(|s| Stream::feels(part, s)).sum()
        };
        let part = |c: &Change| cooling_part(&c.cause).unwrap_or(Part::CoolingAir);
        let (one, half) = match stretches.first().map(|c| part(c).itself()) {
            Some(Part::CoolingAir) => (newest(Part::CoolingAir), newest(Part::CoolingAirByHalf)),
            Some(Part::OilSide) => (newest(Part::OilSide), newest(Part::OilSideByHalf)),
            Some(part) => (newest(part), newest(part)),
            None => (0.0, 0.0),
        };
        let bends = (half - one) / (HALF_STEPS - 1.0);
        let straight = one - bends;
        // In steps of the search, and what they come to in the readings.
        let sum = |of: &dyn Fn(&Change) -> f64| stretches.iter().map(|c| of(c)).sum::<f64>();
        let moved = sum(&|c| c.size * newest(part(c)));
        let steps = sum(&|c| c.size);
        let root = (straight * straight + 4.0 * bends * moved).max(0.0).sqrt();
        let told = |x: f64, otherwise: f64| if x.is_finite() { x } else { otherwise };
        let size = told(2.0 * moved / (straight + root), steps);
        // How much a step of the search is there, in steps of the model.
        let each = told(moved / steps / root, 1.0);
        // A straight line through what bends upwards begins late and ends slow: the pace lies between the
        // mean one and the newest.
        let k = PROBE.powf(size);
        let (even, late) = ((1.0 - k) / steps, -k * PROBE.ln() * each);
        let lost = told(even + NEWEST_PACE * (late - even), 0.0);
        let a_day = sum(&|c| c.a_day) * lost;
        let a_day_sigma = sum(&|c| c.a_day_sigma.powi(2)).sqrt() * lost;
        let began = stretches.iter().map(|c| c.course.begins());
        let began = began.fold(f64::INFINITY, f64::min);
        let lasts = stretches.first().map_or(0.0, |c| c.now) - began;
        let mean = (1.0 - k) / lasts;
        // A bend of late is seen by few readings: the pace since the first day speaks beside it.
        let (a_day, a_day_sigma) = if stretches.len() > 1 && mean.is_finite() && mean > 0.0 {
            let (old, new) = ((PACE_BENDS * mean).powi(-2), a_day_sigma.max(1e-9).powi(-2));
            let both = old + new;
            ((old * mean + new * a_day) / both, both.sqrt().recip())
        } else {
            (a_day, a_day_sigma)
        };
        Self {
            began,
            size,
            sigma: sum(&|c| c.sigma.powi(2)).sqrt() * each,
            a_day,
            a_day_sigma,
            bent: false,
        }
    }
}
