//! How well the log study was tried: the tables of `docs/study.md`, from the simulation of the tests.
//!
//! `cargo run --release -p study --example tried`
#![allow(clippy::print_stdout, reason = "its tables are what it is run for")]

#[path = "../tests/simulation/mod.rs"]
mod simulation;
#[path = "../tests/support/mod.rs"]
mod support;

use simulation::coarse::{INTERVALS, of, row};
use simulation::score::{Score, case};

/// Stations in the first table, with seeds that nothing was tuned on.
const SEEDS: std::ops::Range<u64> = 80_000..80_288;

fn main() {
    let mut score = Score::default();
    for seed in SEEDS {
        let interval = [1.0, 2.0, 5.0][seed as usize % 3];
        score.add(&case(seed, 1 + seed as usize % 2, interval, 1.3));
    }
    println!("| | told | held the truth |\n| --- | --- | --- |");
    let names = [
        "delivery off-shift",
        "load and unload times off-shift",
        "pressure decay off-shift",
        "storage",
    ];
    for (name, (held, told)) in names.iter().zip(score.held.iter().zip(score.told)) {
        let share = 100.0 * f64::from(*held) / f64::from(told);
        println!("| {name} | {told} | {share:.0} % |");
    }
    println!();
    for interval in INTERVALS {
        println!("{}", row(interval, &of(interval)));
    }
}
