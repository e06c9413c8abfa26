//! The real-gas formulation against the virial equations of ASHRAE RP-1485 (CoolProp 8.0.0) over
//! the whole working range, and below and above it. The errors found here stand in the
//! documentation of `dew_point`, `humidity_ratio` and `enhancement_factor_greenspan_1976`.

mod air_support;

use air_support::{percentiles, table};
use physics::air::Formulation;
use physics::quantity::{AbsolutePressure, Temperature};
use physics::validity::Answer;

const REAL: Formulation = Formulation::REAL;

#[test]
fn dew_point_and_humidity_ratio_over_the_working_range() -> Answer<()> {
    let rows = table(include_str!("data/air_grid.csv"));
    assert_eq!(rows.len(), 300);
    let (mut dew_point_k, mut below_50, mut ratio, mut relative_humidity) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for row in &rows {
        let t = Temperature::from_celsius(row.num("t_c"));
        let p = AbsolutePressure::new(row.num("p_pa"));
        let (w, rh, dew_point_c) = (row.num("w"), row.num("rh"), row.num("dew_point_c"));
        ratio.push((REAL.humidity_ratio(t, rh, p)? / w - 1.0).abs());
        relative_humidity.push((REAL.relative_humidity(t, w, p)? / rh - 1.0).abs());
        let error = REAL.dew_point(w, p)?.celsius() - dew_point_c;
        assert!(
            error >= 0.0,
            "the dew point of {w} at {p:?} is {error} K too high, not too low"
        );
        if dew_point_c >= -50.0 {
            dew_point_k.push(error)
        } else {
            below_50.push(error)
        }
    }
    assert!(
        dew_point_k.len() == 294 && below_50.len() == 6,
        "both ranges are covered"
    );
    within(
        "dew point from −50 °C, K",
        dew_point_k,
        [0.009, 0.043, 0.049],
    );
    within("dew point below −50 °C, K", below_50, [0.016, 0.042, 0.056]);
    within("humidity ratio", ratio, [0.000_5, 0.004_2, 0.004_2]);
    within(
        "relative humidity",
        relative_humidity,
        [0.000_5, 0.004_2, 0.004_2],
    );
    Ok(())
}

#[test]
fn dew_points_below_and_above_the_published_range() -> Answer<()> {
    let mut checked = 0;
    for row in table(include_str!("data/air_extremes.csv")) {
        let p = AbsolutePressure::new(row.num("p_pa"));
        let dew_point_c = row.num("dew_point_c");
        let error = REAL.dew_point(row.num("w"), p)?.celsius() - dew_point_c;
        let (low, high) = match (dew_point_c, p.bar() <= 14.0) {
            (..-90.0, true) => (0.0, 0.12),
            (..-70.0, true) => (0.0, 0.115),
            (..-50.0, true) => (0.0, 0.08),
            (..60.0, true) => (0.0, 0.05),
            (..100.1, true) => (-0.003, 0.012),
            (_, true) => (-0.032, 0.0),
            (..0.0, false) => (0.0, 0.19),
            (_, false) => (-0.042, 0.02),
        };
        assert!(
            (low..=high).contains(&error),
            "{dew_point_c} °C at {} bar(a) is off by {error} K, expected {low}…{high}",
            p.bar()
        );
        checked += 1;
    }
    assert!(checked > 90);
    Ok(())
}

#[track_caller]
fn within(what: &str, errors: Vec<f64>, limits: [f64; 3]) {
    let found = percentiles(errors);
    let held = found
        .iter()
        .zip(limits)
        .all(|(found, limit)| *found <= limit);
    assert!(
        held,
        "{what}: median, 99 %, largest {found:?}, documented {limits:?}"
    );
}
