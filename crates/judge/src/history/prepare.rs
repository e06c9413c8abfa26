//! Residuals made ready for the search: with what may stray beside each, and how far it is trusted.
//!
//! Must not know: causes, changes.

use super::change::Scale;
use super::shift::{NUISANCE, Point, Prepared, correlated, noise};
use super::stream::{Part, Sample, Stream};

/// A reading so many times its noise from its neighbours is a misreading, unless another bears it out (from
/// memory).
pub(super) const MISREAD: f64 = 6.0;
/// How far what bends with the weather may go, as a share of what goes straight with it (from
/// memory).
const BENT: f64 = 0.5;

/// One stream's residuals, ready for questions; `None` with too few to have learned a level.
pub(super) fn prepared(samples: &[Sample], scale: Scale) -> Option<Prepared> {
    if samples.len() < scale.learn {
        return None;
    }
    let mut points = standardised(samples, scale);
    let noise = doubt_unknown_load(&mut points, samples, scale);
    distrust_misreadings(&mut points, samples, (noise, scale));
    if let Some((part, _)) = scale.own {
        for (point, sample) in points.iter_mut().zip(samples) {
            let blurred = scale.blur * Stream::feels(part, sample) / noise;
            point.trust /= 1.0 + blurred * blurred;
        }
    }
    let sigmas = [
        scale.level,
        scale.weather,
        scale.duty,
        scale.weather,
        match scale.own {
            Some((_, strays)) => strays,
            None => BENT * scale.weather,
        },
    ];
    let sigmas = match scale.wears {
        Some(wear) => [scale.level, wear, 1.0, 1.0, 1.0],
        None => sigmas,
    };
    let variance = |points: &[Point], noise: f64| noise * noise * correlated(points, noise);
    let first = variance(&points, noise);
    let prepared = Prepared::new(points, first, sigmas)?;
    // Shares and blurred readings scatter unevenly: what the calm ones leave would make the rest news.
    if scale.wears.is_some() || scale.relative || scale.blur > 0.0 {
        return Some(prepared);
    }
    // What weather, load and the rest explain is no noise.
    let left = prepared.left();
    let noise = super::shift::noise(&left).map_or(noise, |n| n.max(scale.least_noise));
    Prepared::new(prepared.into_points(), variance(&left, noise), sigmas)
}

/// Mean and spread of weather, load and what else it follows.
pub(super) fn columns(samples: &[Sample]) -> [(f64, f64); 3] {
    [
        spread(samples, |s| s.ambient, 2.0),
        spread(samples, |s| s.duty, 0.05),
        spread(samples, |s| s.third, 1.0),
    ]
}

/// Mean and spread of one value, the spread at least so much.
fn spread(samples: &[Sample], of: impl Fn(&Sample) -> f64, least: f64) -> (f64, f64) {
    let n = samples.len() as f64;
    let mean = samples.iter().map(&of).sum::<f64>() / n;
    let spread = (samples.iter().map(|s| (of(s) - mean).powi(2)).sum::<f64>() / n).sqrt();
    (mean, spread.max(least))
}

/// How strongly a reading feels a part by the weather: at the mean ambient, for each standardised
/// ambient, and the most that was met.
pub(super) fn felt_by_weather(part: Part, samples: &[Sample]) -> [f64; 3] {
    let (mean, spread) = columns(samples)[0];
    let n = samples.len() as f64;
    let felt = || samples.iter().map(|s| Stream::feels(part, s));
    let z = |s: &Sample| (s.ambient - mean) / spread;
    let middle = felt().sum::<f64>() / n;
    let squares: f64 = samples.iter().map(|s| z(s).powi(2)).sum();
    let products: f64 = samples.iter().zip(felt()).map(|(s, f)| z(s) * f).sum();
    let most = felt().fold(0.0, |a: f64, b| if b.abs() > a.abs() { b } else { a });
    [middle, products / squares.max(1.0), most]
}

/// What bends with the weather: a valve that opens, a fan that slows. Of a standardised value.
pub(super) fn bow(z: f64) -> f64 {
    z * z - 1.0
}

/// Residuals with weather, load and what else they follow standardised over what was read.
fn standardised(samples: &[Sample], scale: Scale) -> Vec<Point> {
    let [ambient, duty, third] = columns(samples);
    let age = |s: &Sample| s.day;
    let days = spread(samples, age, 20.0);
    let unit = |value: f64, (mean, spread): (f64, f64)| (value - mean) / spread;
    samples
        .iter()
        .map(|s| {
            let nuisance: [f64; NUISANCE] = [
                1.0,
                unit(s.ambient, ambient),
                unit(s.duty, duty),
                unit(s.third, third),
                match scale.own {
                    Some((part, _)) => Stream::feels(part, s),
                    None => bow(unit(s.ambient, ambient)),
                },
            ];
            let nuisance = match scale.wears {
                Some(_) => [1.0, unit(age(s), days), 0.0, 0.0, 0.0],
                None => nuisance,
            };
            let residual = if scale.relative {
                s.read / s.mid - 1.0
            } else {
                s.read - s.mid
            };
            Point {
                day: s.day,
                residual,
                nuisance,
                trust: 1.0,
            }
        })
        .collect()
}

/// Readings whose load is known worse than the others' are trusted less; gives the noise of those
/// whose load is known well.
fn doubt_unknown_load(points: &mut [Point], samples: &[Sample], scale: Scale) -> f64 {
    let of = |points: &[Point]| {
        let noise = noise(points).unwrap_or(scale.least_noise);
        noise.max(scale.least_noise)
    };
    let unit = |s: &Sample| if scale.relative { s.mid } else { 1.0 };
    let strays: Vec<f64> = samples
        .iter()
        .map(|s| (s.strays / unit(s)).powi(2))
        .collect();
    let mut noise = of(points);
    let mut sorted = strays.clone();
    sorted.sort_by(f64::total_cmp);
    if sorted.last().is_none_or(|most| *most <= 0.0) {
        return noise;
    }
    // What scatters is the load of most readings, and the rest; a quarter is known this well.
    let usual = |share: usize| sorted[sorted.len() * share / 4];
    let well = usual(1);
    for within in [usual(2), well] {
        let rest = (noise * noise - within).max(scale.least_noise.powi(2));
        for (point, stray) in points.iter_mut().zip(&strays) {
            point.trust = ((rest + well) / (rest + stray)).min(1.0);
        }
        noise = of(points);
    }
    noise
}

/// So much of a reading's distance from its neighbours' median the one beside it must have too (from
/// memory).
pub(super) const BORNE_OUT: f64 = 0.4;

/// Neighbours on either side that a reading is held against, and how near their load must be: what
/// shows at low load only is no misreading for it (from memory).
pub(super) const NEIGHBOURS: usize = 3;
const LIKE_LOAD: f64 = 0.3;

/// What may be misread counts as if it were so many times its noise off (from memory).
const HALF_A_PROOF: f64 = 3.0;

/// A reading far from the median of its neighbours is not trusted; the newest needs the next one to
/// bear it out.
fn distrust_misreadings(points: &mut [Point], samples: &[Sample], (noise, scale): (f64, Scale)) {
    let residuals: Vec<f64> = points.iter().map(|p| p.residual).collect();
    for i in 0..points.len() {
        let like = |k: &usize| (samples[*k].duty - samples[i].duty).abs() <= LIKE_LOAD;
        let earlier: Vec<usize> = (0..i).rev().filter(like).take(NEIGHBOURS).collect();
        let later: Vec<usize> = (i + 1..points.len())
            .filter(like)
            .take(NEIGHBOURS)
            .collect();
        let mut near: Vec<f64> = earlier
            .iter()
            .chain(&later)
            .map(|k| residuals[*k])
            .collect();
        if near.len() < 3 {
            continue;
        }
        near.sort_by(f64::total_cmp);
        let median = near[near.len() / 2];
        let off = (residuals[i] - median).abs() / noise;
        // One beside it that strays the same way bears it out.
        let borne_out = [earlier.first(), later.first()]
            .into_iter()
            .flatten()
            .any(|k| (residuals[*k] - median) / (residuals[i] - median) > BORNE_OUT);
        let borne_out = borne_out || samples[i].borne_out;
        // The newest may be borne out yet: what is read once a week waits long for the next.
        let may_be = scale.seldom && later.is_empty();
        points[i].trust *= if off > MISREAD {
            match (borne_out, may_be) {
                (true, _) => 1.0,
                (false, true) => (HALF_A_PROOF / off).powi(2),
                (false, false) => 0.0,
            }
        } else if off > 3.0 && !samples[i].borne_out {
            3.0 / off
        } else {
            1.0
        };
    }
}
