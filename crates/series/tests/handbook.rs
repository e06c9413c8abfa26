//! The charts against worked numbers of a published handbook.
#![expect(
    dead_code,
    reason = "each test file uses a part of what the tests share"
)]

mod support;

use series::Answer;
use series::change::{Cusum, Ewma, Side, run_length};
use support::{near, near_rel};

/// NIST/SEMATECH e-Handbook, 6.3.2.3: twenty group means, target 325, k 0.3175, h 4.1959.
/// Published, seen; the print has two decimals, its ties go either way.
#[test]
fn cumulative_sum() -> Answer<()> {
    let groups = [
        324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
        324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
    ];
    let high = [
        0.0, 0.0, 0.0, 0.0, 0.03, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 3.01, 4.94, 7.45, 10.63,
        11.99, 14.44, 16.00, 19.04,
    ];
    let low = [
        0.0, 0.01, 0.0, 0.33, 0.0, 0.0, 0.56, 0.72, 0.17, 0.25, 0.31, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
        0.0, 0.0, 0.0,
    ];
    let mut chart = Cusum::new(0.3175, 4.1959)?;
    let mut first = None;
    for (i, group) in groups.iter().enumerate() {
        let number = (i + 1) as f64;
        let state = chart.update(number, group - 325.0)?;
        near("upper sum", state.high, high[i], 0.0051);
        near("lower sum", state.low, low[i], 0.0051);
        if let (None, Some(side)) = (first, state.signal) {
            assert_eq!(side, Side::High);
            first = Some((number, state.since));
        }
    }
    // The upper sum was last zero at group 12: the change lies between 12 and 13.
    assert_eq!(first, Some((14.0, Some(12.0))));
    Ok(())
}

/// The same, section 6.3.2.4: λ 0.3, target 50, s 2.0539, k 3. Published, seen.
#[test]
fn moving_average() -> Answer<()> {
    let readings = [
        52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8,
        51.2, 52.6, 52.4, 53.6, 52.1,
    ];
    let averages = [
        50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52,
        50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
    ];
    let mut chart = Ewma::new(0.3, 3.0, 50.0, 2.0539)?;
    let (lower, upper) = chart.long_run_limits();
    near("lower limit", lower, 47.4115, 1e-4);
    near("upper limit", upper, 52.5884, 1e-4);
    for (reading, average) in readings.iter().zip(averages) {
        let state = chart.update(*reading)?;
        near("average", state.value, average, 0.0051);
        assert_eq!(state.signal, None);
        assert!(state.lower >= lower && state.upper <= upper);
    }
    // After 20 readings the limits are those of the long run but for 0.7⁴⁰.
    chart.reset();
    let first = chart.update(50.0)?;
    near("first limit", first.upper - 50.0, 3.0 * 2.0539 * 0.3, 1e-12);
    Ok(())
}

/// Exact run length of a one-sided cumulative sum by the Markov chain of D. Brook and D. A. Evans,
/// *Biometrika* 59 (1972) 539–549, worked out here on 400 cells: (I − R) L = 1.
fn run_length_exact(k: f64, h: f64, shift: f64) -> Answer<f64> {
    const CELLS: usize = 400;
    let width = 2.0 * h / (2.0 * CELLS as f64 - 1.0);
    let mut rows = vec![vec![0.0; CELLS + 1]; CELLS];
    for (i, row) in rows.iter_mut().enumerate() {
        let from = i as f64 * width - k + shift;
        let below = |edge: f64| series::distribution::normal_cdf(edge - from);
        for (j, cell) in row.iter_mut().take(CELLS).enumerate() {
            let upper = below((j as f64 + 0.5) * width)?;
            let lower = if j == 0 {
                0.0
            } else {
                below((j as f64 - 0.5) * width)?
            };
            *cell = f64::from(u8::from(i == j)) - (upper - lower);
        }
        row[CELLS] = 1.0;
    }
    // Elimination; the matrix is diagonally dominant.
    for i in 0..CELLS {
        let (above, below) = rows.split_at_mut(i + 1);
        let pivot = &above[i];
        for row in below {
            let share = row[i] / pivot[i];
            for (cell, p) in row.iter_mut().zip(pivot).skip(i) {
                *cell -= share * p;
            }
        }
    }
    let mut lengths = vec![0.0; CELLS];
    for i in (0..CELLS).rev() {
        let known: f64 = (i + 1..CELLS).map(|j| rows[i][j] * lengths[j]).sum();
        lengths[i] = (rows[i][CELLS] - known) / rows[i][i];
    }
    Ok(lengths[0])
}

/// The handbook's table of run lengths, 6.3.2.3.1, k 0.5 (from memory; the Markov chain agrees).
#[test]
fn run_lengths() -> Answer<()> {
    for (h, shift, printed) in [
        (4.0, 0.0, 336.0),
        (4.0, 0.5, 26.6),
        (4.0, 1.0, 8.38),
        (4.0, 2.0, 3.34),
        (5.0, 0.0, 930.0),
        (5.0, 0.5, 38.0),
        (5.0, 1.0, 10.4),
        (5.0, 2.0, 4.01),
    ] {
        let exact = run_length_exact(0.5, h, shift)?;
        near_rel("exact against print", exact, printed, 0.012);
        near_rel("approximate", run_length(0.5, h, shift)?, exact, 0.05);
    }
    Ok(())
}

/// The chart itself runs as long as the chain says.
#[test]
fn run_length_of_the_chart() -> Answer<()> {
    let mut noise = support::Noise::new(5);
    for shift in [0.0, 1.0] {
        let runs = 1500;
        let mut total = 0.0;
        for _ in 0..runs {
            let mut chart = Cusum::new(0.5, 4.0)?;
            let mut day = 0.0;
            loop {
                day += 1.0;
                if chart.update(day, noise.normal() + shift)?.high > 4.0 {
                    break;
                }
            }
            total += day;
        }
        let mean = total / f64::from(runs);
        near_rel("mean run", mean, run_length_exact(0.5, 4.0, shift)?, 0.08);
    }
    Ok(())
}
