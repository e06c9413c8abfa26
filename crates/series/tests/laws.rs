//! Laws over any numbers: an answer is finite or a refusal, and nothing panics.

use proptest::prelude::*;
use series::change::{Cusum, Ewma, run_length};
use series::distribution::{normal_cdf, normal_density, normal_quantile};

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

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn distributions(x in any(), y in any(), z in any()) {
        let answers = [
            normal_cdf(x), normal_density(x), normal_quantile(x), run_length(x, y, z),
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
        }
    }
}
