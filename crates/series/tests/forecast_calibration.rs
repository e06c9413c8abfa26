//! Forecasts against closed forms and against invented futures.

mod support;

use series::Answer;
use series::filter::{Filter, Reading, Wariness};
use series::forecast::{Outlook, Passage, first_passage};
use series::motion::{Belief, Motion};
use support::{Noise, near, near_rel, table};

const MONTH: f64 = 30.4375;

fn months(from: f64, count: u32) -> Vec<f64> {
    (1..=count).map(|m| from + MONTH * f64::from(m)).collect()
}

fn passage(now: Belief, motion: Motion, days: &[f64], limit: f64) -> Answer<Passage> {
    let outlook = Outlook {
        now,
        motion,
        days,
        paths: 2000,
        seed: 42,
    };
    first_passage(&outlook, |health, _| limit - health)
}

/// A drift that is steady but not known: the day of passage is (limit − level)/drift, so its
/// quantiles are those of the drift. Normal quantile by scipy, `data/normal_quantile.csv`.
#[test]
fn steady_drift_has_a_closed_form() -> Answer<()> {
    let now = Belief::new(100.0, (2.0, 0.0), (0.02, 0.004))?;
    let days = months(100.0, 36);
    let got = passage(now, Motion::random_walk(0.0, 0.0), &days, 8.0)?;
    let z = -table(include_str!("data/normal_quantile.csv"))
        .iter()
        .find(|row| (row.num("p") - 0.1).abs() < 1e-12)
        .expect("the table has 0.1")
        .num("z");
    let exact = |z: f64| 100.0 + 6.0 / (0.02 + 0.004 * z);
    near_rel("earliest", got.earliest()?.unwrap_or(0.0), exact(z), 2e-3);
    near_rel("likely", got.likely()?.unwrap_or(0.0), exact(0.0), 2e-3);
    near_rel("latest", got.latest()?.unwrap_or(0.0), exact(-z), 3e-3);
    near(
        "by the likely day",
        got.probability_by(exact(0.0)),
        0.5,
        3e-3,
    );
    Ok(())
}

/// A level that only wanders: P(passage by t) = 2 Φ(−a/√(q t)) (reflection principle; Bachelier
/// 1900), watched daily, so a little later than watched always: the limit moves away by
/// 0.5826 √(q Δt) (Broadie, Glasserman and Kou, *Mathematical Finance* 7 (1997) 325–349).
#[test]
fn wandering_level_has_a_closed_form() -> Answer<()> {
    let now = Belief::new(0.0, (0.0, 0.0), (0.0, 0.0))?;
    let days: Vec<f64> = (1..=200).map(f64::from).collect();
    let got = passage(now, Motion::random_walk(1.0, 0.0), &days, 10.0)?;
    for t in [50.0, 100.0, 200.0_f64] {
        let exact = 2.0 * series::distribution::normal_cdf(-10.5826 / t.sqrt())?;
        near("probability", got.probability_by(t), exact, 0.03);
    }
    Ok(())
}

#[test]
fn not_within_is_an_answer() -> Answer<()> {
    let now = Belief::new(0.0, (0.0, 0.1), (0.0, 1e-4))?;
    let days = months(0.0, 24);
    let quiet = passage(now, Motion::random_walk(1e-5, 0.0), &days, 50.0)?;
    assert_eq!(quiet.likely()?, None);
    near("probability", quiet.probability_within(), 0.0, 0.0);
    // One path in four passes: an earliest date, no likely one.
    let now = Belief::new(0.0, (0.0, 0.0), (0.0, 0.01))?;
    let some = passage(now, Motion::random_walk(0.0, 0.0), &days, 5.0)?;
    assert!(some.earliest()?.is_some());
    assert_eq!(some.likely()?, None);
    assert_eq!(some.latest()?, None);
    // A limit already passed is passed now.
    let past = passage(now, Motion::random_walk(0.0, 0.0), &days, -1.0)?;
    assert_eq!(past.latest()?, Some(0.0));
    Ok(())
}

/// The limit is the caller's: one that only summer breaks is broken in summer.
#[test]
fn the_limit_may_move_with_the_season() -> Answer<()> {
    let now = Belief::new(0.0, (0.0, 0.1), (0.01, 0.001))?;
    let days = months(0.0, 24);
    let outlook = Outlook {
        now,
        motion: Motion::random_walk(1e-4, 0.0),
        days: &days,
        paths: 500,
        seed: 1,
    };
    let warm = |day: f64| 3.0 * (std::f64::consts::TAU * (day - 200.0) / 365.25).cos();
    let got = first_passage(&outlook, |health, day| 6.0 - health - warm(day))?;
    let likely = got.likely()?.unwrap_or(0.0);
    assert!((450.0..600.0).contains(&likely), "likely on day {likely}");
    let wrong = first_passage(&outlook, |_, _| f64::NAN);
    assert!(wrong.is_err());
    assert_eq!(
        got,
        first_passage(&outlook, |health, day| 6.0 - health - warm(day))?
    );
    Ok(())
}

/// Truths of the motion's own kind, read irregularly, filtered, forecast; then the future comes.
/// Returns the share of passages in the 10 to 90 % interval and below the median.
fn coverage(motion: Motion, drift: (f64, f64), misreads: f64) -> Answer<(f64, f64)> {
    let mut noise = Noise::new(2024);
    let (mut inside, mut early, machines) = (0, 0, 1200);
    for seed in 0..machines {
        let start = Belief::new(0.0, (0.0, 0.5), drift)?;
        let mut filter = Filter::new(start, motion, Wariness::USUAL, 8)?;
        let mut truth = (0.5 * noise.normal(), drift.0 + drift.1 * noise.normal());
        let mut day = 0.0;
        let advance = |truth: &mut (f64, f64), days: f64, noise: &mut Noise| {
            // Euler steps of at most a quarter day: not the formulas under test.
            let count = (4.0 * days).ceil();
            let small = days / count;
            for _ in 0..count as u32 {
                truth.0 +=
                    truth.1 * small + (motion.level_variance * small).sqrt() * noise.normal();
                truth.1 += motion.drift_return * (motion.drift_mean - truth.1) * small
                    + (motion.drift_variance * small).sqrt() * noise.normal();
            }
        };
        for _ in 0..25 {
            let gap = if noise.uniform() < 0.1 {
                30.0
            } else {
                2.0 + 8.0 * noise.uniform()
            };
            day += gap;
            advance(&mut truth, gap, &mut noise);
            let wrong = noise.uniform() < misreads;
            let miss = if wrong { 10.0 } else { 0.5 } * noise.normal();
            filter.update(Reading {
                day,
                value: truth.0 + miss,
                sigma: 0.5,
            })?;
        }
        let now = filter.belief();
        let limit = now.level + 4.0;
        let days: Vec<f64> = (1..=240).map(|k| day + 7.0 * f64::from(k)).collect();
        let outlook = Outlook {
            now,
            motion,
            days: &days,
            paths: 400,
            seed,
        };
        let got = first_passage(&outlook, |health, _| limit - health)?;
        let mut when = None;
        let mut before = truth.0;
        for k in 1..=240 {
            advance(&mut truth, 7.0, &mut noise);
            if truth.0 >= limit {
                let share = ((limit - before) / (truth.0 - before)).clamp(0.0, 1.0);
                when = Some(day + 7.0 * (f64::from(k - 1) + share));
                break;
            }
            before = truth.0;
        }
        let no_later = |bound: Option<f64>| match (when, bound) {
            (Some(when), Some(bound)) => when <= bound,
            (Some(_), None) => true,
            (None, Some(_)) => false,
            // Neither passes within the days asked about: the forecast said so.
            (None, None) => true,
        };
        if no_later(got.latest()?) && !(when.is_some() && no_later(got.earliest()?)) {
            inside += 1;
        }
        if when.is_some() && no_later(got.likely()?) {
            early += 1;
        }
    }
    let share = |n: u32| f64::from(n) / machines as f64;
    Ok((share(inside), share(early)))
}

fn calibrated(motion: Motion, drift: (f64, f64), misreads: f64) -> Answer<()> {
    let (inside, early) = coverage(motion, drift, misreads)?;
    assert!(
        (0.75..=0.85).contains(&inside),
        "the interval held {inside}"
    );
    assert!(
        (0.44..=0.56).contains(&early),
        "the median had {early} before it"
    );
    Ok(())
}

#[test]
fn interval_covers_steady_drift() -> Answer<()> {
    calibrated(Motion::random_walk(1e-4, 0.0), (0.02, 0.004), 0.0)
}

#[test]
fn interval_covers_wandering_drift() -> Answer<()> {
    calibrated(Motion::random_walk(2e-3, 4e-8), (0.025, 0.004), 0.0)
}

#[test]
fn interval_covers_returning_drift_with_misreads() -> Answer<()> {
    let motion = Motion {
        drift_return: 0.01,
        drift_mean: 0.02,
        ..Motion::random_walk(1e-3, 1e-6)
    };
    calibrated(motion, (0.02, 0.007), 0.03)
}
