//! Laws over any numbers: an answer is finite or a refusal, and nothing panics.

use proptest::prelude::*;
use series::baseline::{Baseline, Enough, Prior};
use series::change::{Cusum, Ewma, Individuals, run_length};
use series::detect::{Detector, Watch, threshold_for};
use series::distribution::{
    normal_cdf, normal_density, normal_quantile, student_cdf, student_quantile,
};
use series::filter::{Filter, Reading, Wariness};
use series::forecast::{Outlook, first_passage};
use series::motion::{Belief, Motion};
use series::regress::{least_squares, median_slope, next_value};
use series::smooth::away_since;

/// Any float at all, with the everyday ones and the edges of the ranges often among them.
fn any() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -100.0..100.0,
        2 => proptest::num::f64::ANY,
        1 => prop::sample::select(vec![
            0.0, -0.0, 1e-12, 1e12, -1e12, 1e7, -1e7, 1e-300, f64::MAX, f64::MIN,
            f64::INFINITY, f64::NEG_INFINITY, f64::NAN, f64::MIN_POSITIVE,
        ]),
    ]
}

fn sigma() -> impl Strategy<Value = f64> {
    prop_oneof![3 => 0.01..10.0, 1 => any()]
}

fn readings() -> impl Strategy<Value = Vec<Reading>> {
    let one = (prop_oneof![4 => 0.0..60.0, 1 => any()], any(), sigma());
    prop::collection::vec(one, 1..40).prop_map(|all| {
        let mut day = 0.0;
        all.into_iter()
            .map(|(gap, value, sigma): (f64, f64, f64)| {
                day += if gap.is_finite() && gap.abs() < 1e6 {
                    gap
                } else {
                    0.0
                };
                Reading { day, value, sigma }
            })
            .collect()
    })
}

fn finite(belief: &Belief) -> bool {
    let all = [
        belief.day,
        belief.level,
        belief.drift,
        belief.level_variance,
        belief.covariance,
        belief.drift_variance,
    ];
    let sound = belief.level_variance >= 0.0 && belief.drift_variance >= 0.0;
    sound && all.iter().all(|v| v.is_finite())
}

fn motion() -> impl Strategy<Value = Motion> {
    (any(), any(), any(), any()).prop_map(|(level, drift, back, mean)| Motion {
        level_variance: level.abs(),
        drift_variance: drift.abs(),
        drift_return: back.abs(),
        drift_mean: mean,
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn distributions(x in any(), y in any(), z in any()) {
        let answers = [
            normal_cdf(x), normal_density(x), normal_quantile(x),
            student_cdf(x, y), student_quantile(x, y), run_length(x, y, z), threshold_for(x),
        ];
        for answer in answers.into_iter().flatten() {
            prop_assert!(answer.is_finite());
        }
        if let (Ok(p), Ok(q)) = (normal_cdf(x), normal_cdf(y)) && x <= y {
            prop_assert!((0.0..=1.0).contains(&p) && p <= q);
        }
        if let (Ok(p), Ok(q)) = (normal_quantile(x), normal_quantile(y)) && x <= y {
            prop_assert!(p <= q + 1e-12);
        }
    }

    #[test]
    fn charts(k in any(), h in any(), values in prop::collection::vec(any(), 0..30)) {
        let mut individuals = Individuals::default();
        let mut cusum = Cusum::new(k, h);
        let mut ewma = Ewma::new(k, h, 0.0, 1.0);
        for (i, &x) in values.iter().enumerate() {
            if let Ok(chart) = &mut cusum && let Ok(state) = chart.update(i as f64, x) {
                prop_assert!(state.high.is_finite() && state.low.is_finite());
                prop_assert!(state.since.is_none_or(|since| since <= i as f64));
            }
            if let Ok(chart) = &mut ewma && let Ok(state) = chart.update(x) {
                prop_assert!(state.value.is_finite() && state.lower <= state.upper);
            }
            if individuals.update(x).is_ok() && let Ok(limits) = individuals.limits() {
                prop_assert!(limits.lower <= limits.mean && limits.mean <= limits.upper);
            }
        }
    }

    #[test]
    fn filters(
        start in (any(), sigma(), any(), sigma()), motion in motion(), readings in readings(),
        plain in proptest::bool::ANY, reset in (any(), any(), sigma()),
    ) {
        let Ok(start) = Belief::new(0.0, (start.0, start.1), (start.2, start.3)) else {
            return Ok(());
        };
        let wariness = if plain { Wariness::NONE } else { Wariness::USUAL };
        let Ok(mut filter) = Filter::new(start, motion, wariness, 8) else { return Ok(()) };
        for reading in readings {
            let before = filter.clone();
            match filter.update(reading) {
                Ok(update) => {
                    prop_assert!(update.surprise.is_finite());
                    prop_assert!((0.0..=1.0).contains(&update.weight));
                }
                Err(_) => prop_assert_eq!(&before, &filter),
            }
            prop_assert!(finite(&filter.belief()), "{:?}", filter.belief());
            prop_assert!(filter.log_likelihood().is_finite());
        }
        let smoothed = filter.smoothed();
        prop_assert!(smoothed.iter().all(finite), "{smoothed:?}");
        prop_assert!(away_since(&smoothed, reset.1, reset.2).is_err()
            || away_since(&smoothed, reset.1, reset.2).is_ok_and(|s| s.is_none_or(f64::is_finite)));
        if filter.reset(reset.0, reset.1, reset.2).is_ok() {
            prop_assert!(finite(&filter.belief()));
        }
    }

    #[test]
    fn detectors(readings in readings(), offset in any(), correlation in any()) {
        let watch = Watch { window: 12, offset_sigma: offset, correlation_days: correlation,
            ..Watch::USUAL };
        let Ok(mut detector) = Detector::new(watch) else { return Ok(()) };
        for reading in readings {
            let before = detector.clone();
            match detector.update(reading) {
                Ok(None) => {}
                Ok(Some(found)) => {
                    let all = [found.log_ratio, found.since, found.amount, found.sigma,
                        found.by_now, found.noise_factor];
                    prop_assert!(all.iter().all(|v| v.is_finite()), "{found:?}");
                    prop_assert!(found.log_ratio >= 0.0 && found.since <= reading.day);
                }
                Err(_) => prop_assert_eq!(&before, &detector),
            }
        }
    }

    #[test]
    fn baselines(readings in readings(), level in any(), sigma in sigma(), weight in any()) {
        let prior = Prior { level, sigma, noise_weight: weight };
        let enough = Enough { readings: 10, days: 5.0, sigma: 1.0 };
        let Ok(mut baseline) = Baseline::new(prior, enough, 1.0) else { return Ok(()) };
        for reading in readings {
            let _ = baseline.learn(reading);
            let learnt = baseline.learnt();
            let all = [learnt.level, learnt.sigma, learnt.noise_factor, learnt.days];
            prop_assert!(all.iter().all(|v| v.is_finite()), "{learnt:?}");
            prop_assert!(learnt.sigma > 0.0 && learnt.sigma <= 1.000_001 * sigma);
        }
    }

    #[test]
    fn lines(points in prop::collection::vec((any(), any()), 0..20), x in any(), c in any()) {
        if let Ok(line) = least_squares(&points) {
            prop_assert!(line.slope.is_finite() && line.intercept.is_finite());
            prop_assert!(line.slope_sigma.is_finite() && line.residual_sigma.is_finite());
            if let Ok(at) = line.at(x, c) {
                prop_assert!(at.value.is_finite() && at.half_mean <= at.half_new);
            }
        }
        if let Ok(line) = median_slope(&points, c) {
            prop_assert!(line.slope_low <= line.slope && line.slope <= line.slope_high);
            prop_assert!(line.intercept.is_finite());
        }
        let ys: Vec<f64> = points.iter().map(|p| p.1).collect();
        if let Ok((mean, half)) = next_value(&ys, c) {
            prop_assert!(mean.is_finite() && half.is_finite());
        }
    }

    /// A shift of y moves the line and leaves its slope.
    #[test]
    fn lines_shift(ys in prop::collection::vec(-50.0..50.0_f64, 4..20), up in -50.0..50.0_f64) {
        let points: Vec<(f64, f64)> = ys.iter().zip(0..).map(|(&y, x)| (f64::from(x), y)).collect();
        let moved: Vec<(f64, f64)> = points.iter().map(|&(x, y)| (x, y + up)).collect();
        let (a, b) = (least_squares(&points).unwrap(), least_squares(&moved).unwrap());
        prop_assert!((a.slope - b.slope).abs() < 1e-10);
        prop_assert!((a.intercept + up - b.intercept).abs() < 1e-9);
        let (a, b) = (median_slope(&points, 0.9).unwrap(), median_slope(&moved, 0.9).unwrap());
        prop_assert!((a.slope - b.slope).abs() < 1e-10);
    }

    #[test]
    fn forecasts(
        level in any(), drift in any(), spread in (sigma(), sigma()), motion in motion(),
        limit in any(), gaps in prop::collection::vec(0.0..100.0, 1..6), seed in proptest::num::u64::ANY,
    ) {
        let Ok(now) = Belief::new(0.0, (level, spread.0), (drift, spread.1)) else {
            return Ok(());
        };
        let mut day = 0.0;
        let days: Vec<f64> = gaps.iter().map(|gap| { day += gap; day }).collect();
        let outlook = Outlook { now, motion, days: &days, paths: 16, seed };
        if let Ok(passage) = first_passage(&outlook, |health, _| limit - health) {
            let [earliest, likely, latest] =
                [passage.earliest(), passage.likely(), passage.latest()].map(Result::unwrap);
            let late = |d: Option<f64>| d.unwrap_or(f64::INFINITY);
            prop_assert!(late(earliest) <= late(likely) && late(likely) <= late(latest));
            prop_assert!(earliest.is_none_or(|d| (0.0..=day).contains(&d)));
            prop_assert!((0.0..=1.0).contains(&passage.probability_within()));
        }
    }
}
