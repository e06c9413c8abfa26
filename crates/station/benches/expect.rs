//! How many full-station states a second: the example station through a year of weather and load.
#![expect(clippy::print_stdout, reason = "a bench prints its result")]
#![expect(clippy::disallowed_methods, reason = "a bench times itself")]

use std::hint::black_box;
use std::time::{Duration, Instant};

use physics::quantity::Temperature;
use station::file::station::parse;
use station::forward::{Conditions, Health, expect};

const STATION: &str = include_str!("../../../examples/quillbank/station.toml");
const AT_LEAST: Duration = Duration::from_secs(3);

fn main() {
    let station = parse(STATION).expect("the example is a valid station file");
    let health = Health::new(&station);
    let start = Instant::now();
    let (mut calls, mut sum) = (0_u32, 0.0);
    while start.elapsed() < AT_LEAST {
        for i in 0..100_u32 {
            let ambient = Temperature::from_celsius(-5.0 + 0.45 * f64::from(i));
            let humidity = 0.3 + 0.007 * f64::from(i);
            let duty = 0.4 + 0.006 * f64::from(i);
            let conditions = Conditions::new(&station, ambient, humidity, duty);
            match expect(black_box(&station), &health, &conditions) {
                Ok(state) => sum += state.water.drained,
                Err(refused) => println!("refused: {}", refused.sentence(&station)),
            }
            calls += 1;
        }
    }
    let per_second = f64::from(calls) / start.elapsed().as_secs_f64();
    println!(
        "full station: {per_second:.0} states/s (checksum {:.6})",
        sum / f64::from(calls)
    );
}
