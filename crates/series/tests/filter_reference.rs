//! The filter and the smoother against an independent solution and a reference library.

mod support;

use series::Answer;
use series::filter::{Filter, Reading, Verdict, Wariness};
use series::motion::{Belief, Motion};
use support::{Noise, Row, near, near_rel, table};

fn reading(row: &Row) -> Reading {
    Reading {
        day: row.num("day"),
        value: row.num("value"),
        sigma: row.num("sigma"),
    }
}

fn same_as_library(text: &str, motion: Motion) -> Answer<()> {
    let rows = table(text);
    let start = Belief::new(0.0, (1.0, 2.0), (0.0, 0.1))?;
    let mut filter = Filter::new(start, motion, Wariness::NONE, 100)?;
    for row in &rows {
        filter.update(reading(row))?;
        let belief = filter.belief();
        near_rel("level", belief.level, row.num("level"), 1e-9);
        near("drift", belief.drift, row.num("drift"), 1e-10);
        near_rel("p00", belief.level_variance, row.num("p00"), 1e-9);
        near("p01", belief.covariance, row.num("p01"), 1e-10);
        near_rel("p11", belief.drift_variance, row.num("p11"), 1e-9);
        let likelihood = row.num("log_likelihood");
        near_rel("log likelihood", filter.log_likelihood(), likelihood, 1e-9);
    }
    let smoothed = filter.smoothed();
    assert_eq!(smoothed.len(), rows.len() + 1);
    for (belief, row) in smoothed.iter().skip(1).zip(&rows) {
        near_rel("smoothed level", belief.level, row.num("s_level"), 1e-8);
        near("smoothed drift", belief.drift, row.num("s_drift"), 1e-9);
        near_rel("s00", belief.level_variance, row.num("s00"), 1e-7);
        near("s01", belief.covariance, row.num("s01"), 1e-9);
        near_rel("s11", belief.drift_variance, row.num("s11"), 1e-7);
    }
    Ok(())
}

#[test]
fn statsmodels_random_walk() -> Answer<()> {
    let motion = Motion::random_walk(0.01, 1e-4);
    same_as_library(include_str!("data/filter_walk.csv"), motion)
}

#[test]
fn statsmodels_returning_drift() -> Answer<()> {
    let motion = Motion {
        drift_return: 0.05,
        ..Motion::random_walk(0.02, 5e-4)
    };
    same_as_library(include_str!("data/filter_return.csv"), motion)
}

/// Solves a symmetric positive system by elimination.
fn solve(mut rows: Vec<Vec<f64>>, mut right: Vec<f64>) -> Vec<f64> {
    let n = right.len();
    for i in 0..n {
        let (above, below) = rows.split_at_mut(i + 1);
        let pivot = &above[i];
        for (r, row) in below.iter_mut().enumerate() {
            let share = row[i] / pivot[i];
            for (cell, p) in row.iter_mut().zip(pivot) {
                *cell -= share * p;
            }
            right[i + 1 + r] -= share * right[i];
        }
    }
    for i in (0..n).rev() {
        for c in i + 1..n {
            right[i] -= rows[i][c] * right[c];
        }
        right[i] /= rows[i][i];
    }
    right
}

/// Generalised least squares over the whole history at once: the readings are jointly normal with
/// the covariance that the integrals of the motion give, written down here without any recursion:
/// Cov(l(s), l(t)) = σ_l² + s t σ_d² + q_l min + q_d (min² max/2 − min³/6).
#[test]
fn batch_least_squares_gives_the_same() -> Answer<()> {
    let (q_l, q_d, level_sigma, drift_sigma) = (0.03, 2e-4, 1.5, 0.08);
    let mut noise = Noise::new(3);
    let mut readings = Vec::new();
    let mut day = 0.0;
    for i in 0..30 {
        day += [0.5, 1.0, 7.0, 21.0][i % 4];
        readings.push(Reading {
            day,
            value: 0.4 + 0.02 * day + noise.normal(),
            sigma: 0.5 + noise.uniform(),
        });
    }
    let motion = Motion::random_walk(q_l, q_d);
    let start = Belief::new(0.0, (0.3, level_sigma), (0.01, drift_sigma))?;
    let mut filter = Filter::new(start, motion, Wariness::NONE, 50)?;
    for &r in &readings {
        filter.update(r)?;
    }
    let levels = |s: f64, t: f64| {
        let (a, b) = (s.min(t), s.max(t));
        level_sigma.powi(2)
            + s * t * drift_sigma.powi(2)
            + q_l * a
            + q_d * (a * a * b / 2.0 - a.powi(3) / 6.0)
    };
    let n = readings.len();
    let v: Vec<Vec<f64>> = (0..n)
        .map(|i| {
            (0..n)
                .map(|j| {
                    let own = if i == j {
                        readings[i].sigma.powi(2)
                    } else {
                        0.0
                    };
                    levels(readings[i].day, readings[j].day) + own
                })
                .collect()
        })
        .collect();
    let mean = |t: f64| 0.3 + 0.01 * t;
    let miss: Vec<f64> = readings.iter().map(|r| r.value - mean(r.day)).collect();
    let weights = solve(v.clone(), miss);
    let smoothed = filter.smoothed();
    for (i, belief) in smoothed.iter().enumerate() {
        let t = if i == 0 { 0.0 } else { readings[i - 1].day };
        let with: Vec<f64> = readings.iter().map(|r| levels(t, r.day)).collect();
        let level = mean(t) + with.iter().zip(&weights).map(|(c, w)| c * w).sum::<f64>();
        near("level", belief.level, level, 1e-9);
        let told = solve(v.clone(), with.clone());
        let variance = levels(t, t) - with.iter().zip(&told).map(|(c, w)| c * w).sum::<f64>();
        near("variance", belief.level_variance, variance, 1e-9);
    }
    let drift_with: Vec<f64> = readings
        .iter()
        .map(|r| r.day * drift_sigma.powi(2) + q_d * r.day * r.day / 2.0)
        .collect();
    let drift = 0.01
        + drift_with
            .iter()
            .zip(&weights)
            .map(|(c, w)| c * w)
            .sum::<f64>();
    near("drift at the end", filter.belief().drift, drift, 1e-9);
    Ok(())
}

fn weekly(weeks: u32, noise: &mut Noise, truth: impl Fn(f64) -> f64) -> Vec<Reading> {
    (1..=weeks)
        .map(|week| {
            let day = 7.0 * f64::from(week);
            Reading {
                day,
                value: truth(day) + noise.normal(),
                sigma: 1.0,
            }
        })
        .collect()
}

fn usual() -> Answer<Filter> {
    let start = Belief::new(0.0, (0.0, 1.0), (0.0, 0.02))?;
    Filter::new(start, Motion::random_walk(1e-3, 1e-7), Wariness::USUAL, 60)
}

/// A misread of any size moves neither level nor drift, and is told.
#[test]
fn one_misread_makes_no_drift() -> Answer<()> {
    let mut told = 0;
    for seed in 0..100 {
        let mut noise = Noise::new(seed);
        let mut readings = weekly(40, &mut noise, |_| 0.0);
        let (mut clean, mut misread) = (usual()?, usual()?);
        for (i, r) in readings.iter_mut().enumerate() {
            clean.update(*r)?;
            if i == 25 {
                r.value += if seed % 2 == 0 { 12.0 } else { -1000.0 };
            }
            match misread.update(*r)?.verdict {
                Verdict::Suspect => assert!((i == 25) || seed > 0, "at {i}"),
                Verdict::WasMisread { day } if day > 180.0 && day < 184.0 => told += 1,
                Verdict::Stepped { .. } => panic!("seed {seed}: a misread became a step"),
                _ => {}
            }
        }
        let (a, b) = (clean.belief(), misread.belief());
        near("level", b.level, a.level, 0.5 * a.level_sigma());
        near("drift", b.drift, a.drift, 0.5 * a.drift_sigma());
    }
    assert!(told >= 97, "{told} of 100 misreads were told");
    Ok(())
}

/// A step that stays is taken over after the readings that follow, with its day and size.
#[test]
fn a_step_that_stays_is_taken_over() -> Answer<()> {
    let (mut found, mut delay) = (0, 0);
    for seed in 0..100 {
        let mut noise = Noise::new(1000 + seed);
        let readings = weekly(40, &mut noise, |day| if day > 170.0 { 9.0 } else { 0.0 });
        let mut filter = usual()?;
        for (i, &r) in readings.iter().enumerate() {
            if let Verdict::Stepped { day, size } = filter.update(r)?.verdict {
                near("day", day, 175.0, 7.1);
                near("size", size, 9.0, 4.0);
                found += 1;
                delay += i - 24;
            }
        }
        near("level", filter.belief().level, 9.0, 3.0);
    }
    assert!(found >= 97, "{found} of 100 steps were found");
    assert!(delay <= 3 * found, "{delay} readings for {found} steps");
    Ok(())
}

/// The belief's own σ is honest under its own model, robust or not: 90 % of the levels lie within
/// 1.645 σ, and a tenth of misreads does not change that much.
#[test]
fn coverage_with_and_without_misreads() -> Answer<()> {
    let motion = Motion::random_walk(0.01, 1e-5);
    for (misreads, least, most) in [(0.0, 0.87, 0.93), (0.05, 0.84, 0.93)] {
        let mut noise = Noise::new(77);
        let (mut inside, mut all) = (0.0, 0.0);
        for _ in 0..600 {
            let start = Belief::new(0.0, (0.0, 1.0), (0.0, 0.02))?;
            let mut filter = Filter::new(start, motion, Wariness::USUAL, 10)?;
            let (mut level, mut drift, mut day) = (noise.normal(), 0.02 * noise.normal(), 0.0);
            for _ in 0..30 {
                let gap = 1.0 + 13.0 * noise.uniform();
                day += gap;
                // Small Euler steps: not the formulas under test.
                let small = gap / 50.0;
                for _ in 0..50 {
                    level += drift * small + (0.01 * small).sqrt() * noise.normal();
                    drift += (1e-5 * small).sqrt() * noise.normal();
                }
                let wrong = noise.uniform() < misreads;
                let miss = if wrong {
                    15.0 * noise.normal()
                } else {
                    noise.normal()
                };
                filter.update(Reading {
                    day,
                    value: level + miss,
                    sigma: 1.0,
                })?;
            }
            let belief = filter.belief();
            all += 1.0;
            if (belief.level - level).abs() < 1.645 * belief.level_sigma() {
                inside += 1.0;
            }
        }
        let share = inside / all;
        assert!(
            least < share && share < most,
            "{share} at {misreads} misreads"
        );
    }
    Ok(())
}

#[test]
fn work_done_resets_level_and_keeps_drift() -> Answer<()> {
    let mut filter = usual()?;
    for r in weekly(30, &mut Noise::new(9), |day| 0.05 * day) {
        filter.update(r)?;
    }
    let before = filter.belief();
    filter.reset(212.0, 0.0, 0.3)?;
    let after = filter.belief();
    near("level", after.level, 0.0, 0.0);
    near("sigma", after.level_sigma(), 0.3, 1e-12);
    near("drift", after.drift, before.drift, 1e-12);
    assert_eq!(filter.smoothed().len(), 1);
    filter.reset_drift(212.0, 0.0, 0.01)?;
    near("drift", filter.belief().drift, 0.0, 0.0);
    near("level", filter.belief().level, 0.0, 0.0);
    Ok(())
}
