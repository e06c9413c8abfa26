//! A machine's own oil cooler, where a fan follows the oil: readings held against the model with that cooler.
//!
//! While the fan has speed to spare it holds the oil, and a cooler that was always a little smaller than its plate
//! shows nothing; once the fan runs fully it shows all of it. Between the two no straight line holds. So the oil's
//! answer to its cooler is kept at some sizes of it, and the size is sought that leaves the readings likeliest.
//!
//! Must not know: sentences, money.

use std::borrow::Cow;

use station::model::{Asset, Fan, Station};
use station::point::Point;

use super::change::Search;
use super::stream::{HALF_STEPS, PROBE, Sample, Stream, Streams};
use crate::day::Moment;

/// Sizes of the oil cooler at which the oil is asked about, in steps of the probe lost.
pub(crate) const NODES: [f64; 11] = [
    -1.25, -0.75, -0.5, -0.25, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, HALF_STEPS,
];
/// A step of cooling air does as much as so many of the cooler, where nothing better is known (from memory), and in
/// how many parts that is sought.
const USUAL_AIR: f64 = 0.45;
const LIKE: u32 = 60;
/// How far coolers stray from their plates, in steps of the probe (from memory).
const STRAYS: f64 = 0.4;
/// Sizes that are tried first, and how far beside the best ones after that.
const TRIED: [f64; 8] = [-1.0, -0.75, -0.5, -0.25, 0.25, 0.5, 0.75, 1.0];
const BESIDE: f64 = 0.125;
/// A fan that runs fully leaves the oil at least this slope, K for each step of the probe (from memory).
const LEAST_SLOPE_K: f64 = 2.0;

/// How one reading of a machine whose fan follows the oil goes with the size of the oil cooler.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Bend {
    /// How far the oil moves from the model as new at each of [`NODES`], K.
    pub(crate) oil: [f64; NODES.len()],
    /// A step of cooling air lost does as much to the oil as so many steps of its cooler.
    pub(crate) air: f64,
    /// Of a kelvin that the oil rises for its cooler, or for cooling air, the reading shows so much.
    pub(crate) by_oil_side: f64,
    pub(crate) by_air: f64,
}

impl Bend {
    /// `by_half` is what a loss of half the cooling air does to the oil, K.
    pub(crate) fn of(
        oil: [f64; NODES.len()],
        by_half: f64,
        (by_oil_side, by_air): (f64, f64),
    ) -> Self {
        let mut bend = Self {
            oil,
            air: USUAL_AIR,
            by_oil_side,
            by_air,
        };
        // Where a loss of half shows, it says how a step of air compares with one of the cooler.
        if by_half > LEAST_SLOPE_K {
            let like = |lost: f64| bend.at(lost) < by_half;
            let lost = (1..=LIKE).map(|n| HALF_STEPS * f64::from(n) / f64::from(LIKE));
            let lost = lost.take_while(|l| like(*l)).last();
            bend.air = lost.map_or(USUAL_AIR, |l| l / HALF_STEPS).max(0.2);
        }
        bend
    }

    /// How far the oil moves with so much of its cooler lost, K.
    fn at(&self, lost: f64) -> f64 {
        // Nothing is lost of a cooler as new.
        let place = NODES.iter().take_while(|n| **n < lost).count();
        let point = |i: usize| (NODES[i], self.oil[i]);
        let new = (0.0, 0.0);
        let zero = NODES.iter().take_while(|n| **n < 0.0).count();
        let (a, b) = match place {
            0 => (point(0), point(1)),
            p if p == zero && lost <= 0.0 => (point(p - 1), new),
            p if p == zero => (new, point(p)),
            p if p < NODES.len() => (point(p - 1), point(p)),
            _ => (point(NODES.len() - 2), point(NODES.len() - 1)),
        };
        a.1 + (b.1 - a.1) * (lost - a.0) / (b.0 - a.0)
    }
}

impl Sample {
    /// The same reading beside the model of a machine whose oil cooler has so much less than its plate.
    pub(crate) fn with_cooler(self, lost: f64) -> Self {
        let Some(bend) = self.bend else {
            return self;
        };
        // What another step does from here, over what it does from the plate.
        let more = |step: f64| bend.at(lost + step) - bend.at(lost) - bend.at(step);
        let mut feels = self.feels;
        feels[0] += bend.by_air * more(bend.air);
        feels[1] += bend.by_oil_side * more(1.0);
        feels[6] += bend.by_air * more(HALF_STEPS * bend.air) / HALF_STEPS;
        feels[7] += bend.by_oil_side * more(HALF_STEPS) / HALF_STEPS;
        let moved = bend.by_oil_side * bend.at(lost);
        Self {
            mid: self.mid + moved,
            moved,
            feels,
            ..self
        }
    }
}

/// The streams with each machine's readings beside the model with its own cooler, and each machine's cooler over its
/// plate's.
pub(super) fn streams<'a>(
    station: &Station,
    streams: &'a Streams,
    search: impl Fn(&Streams, usize) -> Option<Search<'_>>,
) -> (Cow<'a, Streams>, Vec<f64>) {
    let mut own = Cow::Borrowed(streams);
    let mut coolers = vec![1.0; station.machines.len()];
    for (i, machine) in station.machines.iter().enumerate() {
        if !matches!(machine.cooling.fan, Fan::Variable(_)) {
            continue;
        }
        let few = streams.few(|id| [Asset::Room, Asset::Machine(i)].contains(&id.asset));
        let likely = |u: f64| {
            let mut fitted = few.clone();
            fit_cooler(&mut fitted, i, u);
            let search = search(&fitted, i)?;
            Some(search.likelihood() - 0.5 * (u / STRAYS).powi(2))
        };
        let Some(as_new) = likely(0.0) else { continue };
        let best_of = |list: &[f64], best: (f64, f64)| {
            list.iter().fold(best, |best, &u| {
                let better = likely(u).filter(|l| *l > best.1);
                better.map_or(best, |l| (u, l))
            })
        };
        let coarse = best_of(&TRIED, (0.0, as_new));
        let (lost, _) = best_of(&[coarse.0 - BESIDE, coarse.0 + BESIDE], coarse);
        coolers[i] = PROBE.powf(lost);
        fit_cooler(own.to_mut(), i, lost);
    }
    (own, coolers)
}

/// Puts one machine's readings beside another cooler.
fn fit_cooler(streams: &mut Streams, i: usize, lost: f64) {
    let warm = [Point::OilTemperature, Point::OutletTemperature];
    let own = |s: &&mut Stream| {
        s.id.asset == Asset::Machine(i) && warm.contains(&s.id.point) && s.moment == Moment::Loaded
    };
    for stream in streams.list.iter_mut().filter(own) {
        for sample in &mut stream.samples {
            *sample = sample.with_cooler(lost);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A fan that holds the oil until three quarters of a step are lost, and then 8 K for each step.
    fn held() -> Bend {
        let oil = NODES.map(|lost| 8.0 * (lost - 0.75_f64).max(0.0));
        Bend::of(oil, 8.0 * (0.5 * HALF_STEPS - 0.75), (1.0, 1.0))
    }

    fn sample() -> Sample {
        let mut feels = [0.0; super::super::stream::FELT];
        let bend = held();
        (feels[0], feels[1]) = (bend.at(bend.air), bend.at(1.0));
        Sample {
            mid: 350.0,
            feels,
            bend: Some(bend),
            ..Sample::nothing()
        }
    }

    #[test]
    fn a_step_of_air_is_as_much_of_the_cooler_as_does_the_same() {
        // Made so: half of the air lost does what 1.55 of 3.1 steps of the cooler do.
        assert!((held().air - 0.5).abs() < 0.02, "{}", held().air);
    }

    #[test]
    fn a_smaller_cooler_is_felt_where_the_fan_has_nothing_to_spare() {
        let as_new = sample().with_cooler(0.0);
        assert_eq!(
            as_new,
            Sample {
                moved: 0.0,
                ..sample()
            }
        );
        let smaller = sample().with_cooler(0.75);
        assert!((smaller.mid - 350.0).abs() < 1e-9, "the fan still holds it");
        // From there a step of the cooler, or two of the air, show in full.
        assert!((smaller.feels[1] - 8.0).abs() < 1e-9);
        assert!((smaller.feels[0] - 8.0 * held().air).abs() < 0.2);
        let small = sample().with_cooler(1.0);
        assert!((small.mid - 352.0).abs() < 1e-9 && (small.moved - 2.0).abs() < 1e-9);
    }

    #[test]
    fn beyond_its_ends_the_curve_goes_on_straight() {
        let bend = held();
        assert!((bend.at(5.0) - 8.0 * 4.25).abs() < 1e-6);
        assert!(bend.at(-3.0).abs() < 1e-9);
        assert!(bend.at(0.0).abs() < 1e-9 && bend.at(-0.1).abs() < 1e-9);
    }
}
