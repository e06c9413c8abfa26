//! Motors against three-phase arithmetic, the NEMA starts table and the IEC efficiency classes.

mod air_support;

use air_support::{near, near_rel, table};
use physics::machine::motor::*;
use physics::quantity::Power;
use physics::validity::Answer;

/// P = √3 U I cos φ (closed form, computed).
#[test]
fn three_phase() -> Answer<()> {
    for (u, i, factor, kw) in [
        (400.0, 50.0, 0.85, 29.444_864),
        (400.0, 102.5, 0.87, 61.782_252),
        (415.0, 21.0, 0.80, 12.075_858),
        (690.0, 96.0, 0.88, 100.963_320),
        (460.0, 71.0, 0.86, 48.649_150),
    ] {
        near("kW", three_phase_power(u, i, factor)?.kw(), kw, 6e-7);
    }
    let shaft = shaft_power(three_phase_power(400.0, 102.5, 0.87)?, 0.946)?;
    near("shaft kW", shaft.kw(), 58.446_011, 6e-7);
    near_rel("back", input_power(shaft, 0.946)?.kw(), 61.782_252, 1e-8);
    Ok(())
}

/// The split agrees with the plate at rated current; near no load the rated power factor reads twice
/// the truth and more (first principles).
#[test]
fn current_split() -> Answer<()> {
    let plate = MotorPlate {
        current_a: 54.0,
        power_factor: 0.86,
    };
    let rated = three_phase_power(400.0, 54.0, 0.86)?;
    near_rel(
        "rated",
        power_from_current(54.0, 400.0, plate)?.si(),
        rated.si(),
        1e-12,
    );
    let magnetising = magnetising_current_a(plate)?;
    // Pythagoras: a 30 A active part.
    let current = magnetising.hypot(30.0);
    let truth = three_phase_power(400.0, 30.0, 1.0)?;
    near_rel(
        "30 A",
        power_from_current(current, 400.0, plate)?.si(),
        truth.si(),
        1e-12,
    );
    let near_unloaded = magnetising.hypot(0.25 * 54.0 * 0.86);
    let read = power_from_current_naive(near_unloaded, 400.0, plate)?;
    let truth = power_from_current(near_unloaded, 400.0, plate)?;
    assert!(read / truth > 2.0 && read / truth < 3.0, "{}", read / truth);
    near(
        "no load",
        power_from_current(magnetising, 400.0, plate)?.si(),
        0.0,
        1e-9,
    );
    assert!(power_from_current(0.9 * magnetising, 400.0, plate).is_err());
    Ok(())
}

/// NEMA MG 10, Table 2-3 (published), exact at its own powers.
#[test]
fn starts_of_nema_mg_10() -> Answer<()> {
    let rows = table(include_str!("data/motor_starts.csv"));
    assert_eq!(rows.len(), 16);
    for row in &rows {
        let kw = row.num("hp") * HORSEPOWER_KW;
        near_rel("A", starts_per_hour_nema_mg_10(kw)?, row.num("a"), 1e-9);
        near_rel(
            "C",
            rest_between_starts_s_nema_mg_10(kw)?,
            row.num("c_s"),
            1e-9,
        );
        let heavy = starts_per_hour_with_load_nema_mg_10(kw, 1.0e4)?;
        near_rel(
            "B",
            heavy * 1.0e4 / POUND_SQUARE_FOOT_KG_M2,
            row.num("b"),
            1e-9,
        );
    }
    for pair in rows.windows(2) {
        let middle = 0.5 * (pair[0].num("hp") + pair[1].num("hp"));
        let mean = 0.5 * (pair[0].num("a") + pair[1].num("a"));
        near(
            "between",
            starts_per_hour_nema_mg_10(middle * HORSEPOWER_KW)?,
            mean,
            1e-9,
        );
    }
    assert!(starts_per_hour_nema_mg_10(3.7).is_err());
    assert!(starts_per_hour_nema_mg_10(187.0).is_err());
    Ok(())
}

/// The same page's example: 25 hp, load of 50 lb ft² → 2.44 starts per hour (published).
#[test]
fn starts_with_a_heavy_load() -> Answer<()> {
    let (kw, load) = (25.0 * HORSEPOWER_KW, 50.0 * POUND_SQUARE_FOOT_KG_M2);
    near(
        "starts",
        starts_per_hour_with_load_nema_mg_10(kw, load)?,
        2.44,
        1e-9,
    );
    near(
        "no load",
        starts_per_hour_with_load_nema_mg_10(kw, 0.0)?,
        8.8,
        1e-9,
    );
    Ok(())
}

/// IEC 60034-30-1:2014 (published), exact at its own ratings.
#[test]
fn efficiency_classes() -> Answer<()> {
    let rows = table(include_str!("data/motor_efficiency.csv"));
    assert_eq!(rows.len(), 14);
    for row in &rows {
        for (column, class) in [
            ("ie2", EfficiencyClass::Ie2),
            ("ie3", EfficiencyClass::Ie3),
            ("ie4", EfficiencyClass::Ie4),
        ] {
            let eta = efficiency_iec_60034_30_1_2014(class, row.num("kw"))?;
            near(column, 100.0 * eta, row.num(column), 1e-9);
        }
    }
    assert!(efficiency_iec_60034_30_1_2014(EfficiencyClass::Ie3, 5.4).is_err());
    assert!(efficiency_iec_60034_30_1_2014(EfficiencyClass::Ie3, 133.0).is_err());
    Ok(())
}

/// DOE motor tip sheet 5: 527 000 kWh a year from 93 to 98 % drive efficiency saves 26 888 kWh
/// (example from memory, arithmetic exact; the facts of the sheet published).
#[test]
fn better_belt_saves() -> Answer<()> {
    let shaft = shaft_power(Power::from_kw(527.0), 0.93)?;
    let saved = Power::from_kw(527.0) - input_power(shaft, 0.98)?;
    near("MWh", saved.kw(), 26.888, 1e-3);
    Ok(())
}

/// The current at an input is the inverse of the input from a current (library of its own law).
#[test]
fn current_and_power_are_inverse() {
    use physics::machine::motor::{MotorPlate, current_at_power, power_from_current};
    let plate = MotorPlate {
        current_a: 54.0,
        power_factor: 0.86,
    };
    for amps in [28.0, 35.0, 54.0, 80.0] {
        let power = power_from_current(amps, 400.0, plate).expect("above the magnetising current");
        let back = current_at_power(power, 400.0, plate).expect("inside the range");
        assert!((back - amps).abs() < 1e-9);
    }
}
