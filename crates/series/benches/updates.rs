//! How many updates a second: the charts.
#![expect(clippy::print_stdout, reason = "a bench prints its result")]
#![expect(clippy::disallowed_methods, reason = "a bench times itself")]

use std::f64::consts::TAU;
use std::hint::black_box;
use std::time::Instant;

use series::Answer;
use series::change::{Cusum, Ewma};

fn main() -> Answer<()> {
    let mut chance = fastrand::Rng::with_seed(1);
    let readings: Vec<(f64, f64)> = (0..1_000_000_u32)
        .map(|day| {
            let radius = (-2.0 * (1.0 - chance.f64()).ln()).sqrt();
            (f64::from(day), radius * (TAU * chance.f64()).cos())
        })
        .collect();
    let mut cusum = Cusum::new(0.5, 5.0)?;
    rate("cumulative sum", &readings, |(day, z)| {
        Ok(cusum.update(day, z)?.high)
    })?;
    let mut ewma = Ewma::new(0.2, 3.0, 0.0, 1.0)?;
    rate("moving average", &readings, |(_, z)| {
        Ok(ewma.update(z)?.value)
    })
}

fn rate(
    name: &str,
    readings: &[(f64, f64)],
    mut update: impl FnMut((f64, f64)) -> Answer<f64>,
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
