//! Distributions and the law of motion against general numerical libraries.
#![expect(
    dead_code,
    reason = "each test file uses a part of what the tests share"
)]

mod support;

use series::Answer;
use series::distribution::{normal_cdf, normal_quantile, student_cdf, student_quantile};
use series::motion::{Belief, Motion};
use support::{near, near_rel, table};

#[test]
fn normal() -> Answer<()> {
    for row in table(include_str!("data/normal_cdf.csv")) {
        let z = row.num("z");
        near_rel("Φ", normal_cdf(z)?, row.num("p"), 1e-12);
    }
    for row in table(include_str!("data/normal_quantile.csv")) {
        let got = normal_quantile(row.num("p"))?;
        near("Φ⁻¹", got, row.num("z"), 1e-15 + 2e-15 * got.abs());
    }
    Ok(())
}

#[test]
fn student() -> Answer<()> {
    for row in table(include_str!("data/student_cdf.csv")) {
        let got = student_cdf(row.num("t"), row.num("freedom"))?;
        near_rel("F", got, row.num("p"), 1e-10);
    }
    for row in table(include_str!("data/student_quantile.csv")) {
        let got = student_quantile(row.num("p"), row.num("freedom"))?;
        near_rel("F⁻¹", got, row.num("t"), 1e-9);
    }
    Ok(())
}

/// The matrix exponential keeps about 1e-9 of these elements.
#[test]
fn motion() -> Answer<()> {
    for row in table(include_str!("data/motion.csv")) {
        let motion = Motion {
            drift_return: row.num("drift_return"),
            ..Motion::random_walk(row.num("level_variance"), row.num("drift_variance"))
        };
        let days = row.num("days");
        // A certain start shows the noise alone; a unit of drift shows the transition.
        let after = Belief::new(0.0, (0.0, 0.0), (1.0, 0.0))?.at(days, &motion)?;
        near("gain", after.level, row.num("gain"), 1e-11);
        near("keep", after.drift, row.num("keep"), 1e-11);
        let room = 1e-14 + 1e-9 * row.num("q00").abs();
        near("q00", after.level_variance, row.num("q00"), room);
        near(
            "q01",
            after.covariance,
            row.num("q01"),
            1e-14 + 1e-9 * row.num("q01"),
        );
        near(
            "q11",
            after.drift_variance,
            row.num("q11"),
            1e-14 + 1e-9 * row.num("q11"),
        );
    }
    Ok(())
}

/// Two steps are one step, with and without a mean drift.
#[test]
fn two_steps_are_one() -> Answer<()> {
    let start = Belief::new(3.0, (2.0, 0.5), (0.1, 0.04))?;
    for (drift_return, drift_mean) in [(0.0, 0.0), (0.01, 0.2), (0.5, -0.3), (4.0, 1.0)] {
        let motion = Motion {
            drift_return,
            drift_mean,
            ..Motion::random_walk(0.02, 0.003)
        };
        let once = start.at(12.0, &motion)?;
        let twice = start.at(5.5, &motion)?.at(12.0, &motion)?;
        near_rel("level", twice.level, once.level, 1e-12);
        near_rel("drift", twice.drift, once.drift, 1e-12);
        near_rel("p00", twice.level_variance, once.level_variance, 1e-12);
        near_rel("p01", twice.covariance, once.covariance, 1e-11);
        near_rel("p11", twice.drift_variance, once.drift_variance, 1e-12);
    }
    Ok(())
}
