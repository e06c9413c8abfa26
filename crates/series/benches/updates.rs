//! How many updates a second: charts, filter, detector, forecast.
#![expect(clippy::print_stdout, reason = "a bench prints its result")]
#![expect(clippy::disallowed_methods, reason = "a bench times itself")]

use std::hint::black_box;
use std::time::Instant;

use series::Answer;
use series::change::Cusum;
use series::detect::{Detector, Watch};
use series::draws::Draws;
use series::filter::{Filter, Reading, Wariness};
use series::forecast::{Outlook, first_passage};
use series::motion::{Belief, Motion};

fn main() -> Answer<()> {
    let draws = Draws::new(1);
    let readings: Vec<Reading> = (0..100_000_u32)
        .map(|i| Reading {
            day: f64::from(i),
            value: draws.normal(u64::from(i), 0, 0),
            sigma: 1.0,
        })
        .collect();
    let motion = Motion::random_walk(1.0e-4, 1.0e-8);
    let start = Belief::new(0.0, (0.0, 1.0), (0.0, 0.01))?;

    let mut cusum = Cusum::new(0.5, 5.0)?;
    rate("cumulative sum", &readings, |r| {
        Ok(cusum.update(r.day, r.value)?.high)
    })?;
    let mut filter = Filter::new(start, motion, Wariness::USUAL, 60)?;
    rate("filter", &readings, |r| {
        filter.update(r)?;
        Ok(filter.belief().level)
    })?;
    let mut detector = Detector::new(Watch::USUAL)?;
    rate("detector, window 60", &readings, |r| {
        Ok(detector.update(r)?.map_or(0.0, |change| change.log_ratio))
    })?;

    let days: Vec<f64> = (1..=24).map(|month| 30.4375 * f64::from(month)).collect();
    let now = Belief::new(0.0, (0.0, 1.0), (0.01, 0.01))?;
    let begin = Instant::now();
    let mut sum = 0.0;
    for seed in 0..100 {
        let outlook = Outlook {
            now,
            motion,
            days: &days,
            paths: 1000,
            seed,
        };
        let passage = first_passage(&outlook, |health, _| 5.0 - health)?;
        sum += passage.probability_within();
    }
    let per_second = 100.0 / begin.elapsed().as_secs_f64();
    println!("forecast, 1000 paths, 24 months: {per_second:.0} /s (checksum {sum:.3})");
    Ok(())
}

fn rate(
    name: &str,
    readings: &[Reading],
    mut update: impl FnMut(Reading) -> Answer<f64>,
) -> Answer<()> {
    let begin = Instant::now();
    let mut sum = 0.0;
    for &reading in readings {
        sum += update(black_box(reading))?;
    }
    let per_second = readings.len() as f64 / begin.elapsed().as_secs_f64();
    println!("{name}: {per_second:.0} updates/s (checksum {sum:.3})");
    Ok(())
}
