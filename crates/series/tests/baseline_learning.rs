//! A machine's own level: against Bayes' rule worked out here, and by simulation.
#![expect(
    dead_code,
    reason = "each test file uses a part of what the tests share"
)]

mod support;

use series::Answer;
use series::baseline::{Baseline, Enough, Learning, Prior};
use series::filter::Reading;
use support::{Noise, near};

const ENOUGH: Enough = Enough {
    readings: 8,
    days: 14.0,
    sigma: 0.5,
};

fn reading(day: f64, value: f64) -> Reading {
    Reading {
        day,
        value,
        sigma: 1.0,
    }
}

/// With the noise known for sure and no reading far off, this is the normal mean under a normal
/// prior: precision adds up.
#[test]
fn bayes_rule() -> Answer<()> {
    let prior = Prior {
        level: 80.0,
        sigma: 3.0,
        noise_weight: 1.0e6,
    };
    let mut baseline = Baseline::new(prior, ENOUGH, 0.0)?;
    let values = [82.1, 81.0, 82.6, 81.7, 82.9];
    for (i, value) in values.iter().enumerate() {
        assert_eq!(baseline.learn(reading(i as f64, *value))?, Learning::More);
    }
    let precision = 1.0 / 9.0 + 5.0;
    let level = (80.0 / 9.0 + values.iter().sum::<f64>()) / precision;
    let learnt = baseline.learnt();
    near("level", learnt.level, level, 1e-4);
    near("sigma", learnt.sigma, (1.0 / precision).sqrt(), 1e-5);
    near("noise", learnt.noise_factor, 1.0, 1e-4);
    Ok(())
}

/// 400 machines, each off its nameplate, noise 1.5 times what the instruments state, one reading in
/// fifteen misread by ten deviations: the learnt level and its σ hold, the mean does not.
#[test]
fn own_level_with_misreads() -> Answer<()> {
    let prior = Prior {
        level: 80.0,
        sigma: 3.0,
        noise_weight: 5.0,
    };
    let enough = Enough {
        readings: 15,
        ..ENOUGH
    };
    let mut noise = Noise::new(21);
    let (mut inside, mut squares, mut mean_squares, mut factor) = (0, 0.0, 0.0, 0.0);
    let machines = 400;
    for _ in 0..machines {
        let truth = 80.0 + 3.0 * noise.normal();
        let mut baseline = Baseline::new(prior, enough, 0.0)?;
        let (mut day, mut sum, mut count) = (0.0, 0.0, 0.0);
        let wrong = (15.0 * noise.uniform()).floor();
        loop {
            day += 0.5 + 2.0 * noise.uniform();
            let miss = if (count - wrong).abs() < 0.5 {
                15.0
            } else {
                1.5 * noise.normal()
            };
            let value = truth + miss;
            sum += value;
            count += 1.0;
            if baseline.learn(reading(day, value))? == Learning::Enough {
                break;
            }
        }
        assert!(baseline.is_frozen());
        let learnt = baseline.learnt();
        squares += (learnt.level - truth).powi(2);
        mean_squares += (sum / count - truth).powi(2);
        factor += learnt.noise_factor / f64::from(machines);
        if (learnt.level - truth).abs() < 1.96 * learnt.sigma {
            inside += 1;
        }
        // Frozen: nothing more is learnt.
        assert_eq!(baseline.learn(reading(day, 500.0))?, Learning::Frozen);
        near("level", baseline.learnt().level, learnt.level, 0.0);
    }
    let share = f64::from(inside) / f64::from(machines);
    assert!(
        (0.90..=0.99).contains(&share),
        "95 % intervals held {share}"
    );
    assert!(
        squares < 0.45 * mean_squares,
        "{squares} against {mean_squares}"
    );
    assert!((1.3..=1.9).contains(&factor), "noise factor {factor}");
    Ok(())
}

/// Readings minutes apart under one weather tell little more than one of them.
#[test]
fn neighbours_tell_little_more() -> Answer<()> {
    let prior = Prior {
        level: 0.0,
        sigma: 10.0,
        noise_weight: 1.0e6,
    };
    let mut close = Baseline::new(prior, ENOUGH, 1.0)?;
    let mut apart = Baseline::new(prior, ENOUGH, 1.0)?;
    for i in 0..6 {
        close.learn(reading(0.01 * f64::from(i), 1.0))?;
        apart.learn(reading(10.0 * f64::from(i), 1.0))?;
    }
    assert!(close.learnt().sigma > 0.95, "{:?}", close.learnt());
    near("sigma", apart.learnt().sigma, 1.0 / 6.01_f64.sqrt(), 1e-3);
    Ok(())
}

/// A service makes the value it touched learn again, from what was known; the other stays frozen.
#[test]
fn a_service_relearns_what_it_touched() -> Answer<()> {
    let prior = Prior {
        level: 10.0,
        sigma: 2.0,
        noise_weight: 5.0,
    };
    let mut noise = Noise::new(4);
    let mut touched = Baseline::new(prior, ENOUGH, 0.0)?;
    let mut other = touched.clone();
    for week in 0..12 {
        let day = 7.0 * f64::from(week);
        touched.learn(reading(day, 12.0 + noise.normal()))?;
        other.learn(reading(day, 9.0 + noise.normal()))?;
    }
    let (before, kept) = (touched.learnt(), other.learnt());
    touched.relearn(84.0, 1.0)?;
    near("prior", touched.learnt().level, before.level, 0.0);
    near(
        "sigma",
        touched.learnt().sigma,
        before.sigma.hypot(1.0),
        1e-12,
    );
    assert!(touched.learn(reading(80.0, 11.0)).is_err());
    for week in 13..30 {
        let day = 7.0 * f64::from(week);
        touched.learn(reading(day, 10.5 + noise.normal()))?;
        other.learn(reading(day, 90.0))?;
    }
    assert!(touched.is_frozen());
    near(
        "level",
        touched.learnt().level,
        10.5,
        3.0 * touched.learnt().sigma,
    );
    assert_eq!(other.learnt(), kept);
    Ok(())
}
