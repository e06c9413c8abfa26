//! Friction factors against library values. Each check names its source and how it is known.

mod air_support;

use air_support::{near_rel, table};
use physics::flow::*;
use physics::validity::Answer;

/// fluids 1.3.1 (library, computed).
#[test]
fn library_values() -> Answer<()> {
    for row in table(include_str!("data/flow_friction.csv")) {
        let (re, rough) = (row.num("Re"), row.num("eD"));
        let colebrook = friction_factor_colebrook_1939(re, rough)?;
        near_rel("Colebrook", colebrook, row.num("Colebrook37"), 1e-9);
        near_rel(
            "at Re ≥ 4000",
            friction_factor(re, rough)?,
            colebrook,
            1e-15,
        );
        let with_371 = FrictionLaw::Colebrook371.factor(re, rough)?;
        near_rel("3.71", with_371, row.num("Colebrook371"), 1e-9);
        let haaland = friction_factor_haaland_1983(re, rough)?;
        near_rel("Haaland", haaland, row.num("Haaland"), 1e-9);
        near_rel("Haaland and Colebrook", haaland, colebrook, 0.02);
        if rough > 0.0 {
            let swamee_jain = friction_factor_swamee_jain_1976(re, rough)?;
            // The library writes (6.97/Re)^0.9 for 5.74/Re^0.9; 6.97^0.9 is 5.7397.
            near_rel("Swamee–Jain", swamee_jain, row.num("SwameeJain"), 1e-5);
            near_rel("Swamee–Jain and Colebrook", swamee_jain, colebrook, 0.03);
        } else {
            assert!(friction_factor_swamee_jain_1976(re, rough).is_err());
        }
    }
    Ok(())
}

/// fluids 1.3.1 (library): `friction_factor` at Re 1500, and at Re 2300, where the library already
/// counts the flow as turbulent (from 2040); [`friction_factor`] lies between the two laws there.
#[test]
fn laminar_and_transition() -> Answer<()> {
    near_rel(
        "Re 1500",
        friction_factor(1500.0, 1e-3)?,
        0.042_666_666_7,
        1e-9,
    );
    near_rel(
        "Re 1500",
        friction_factor_laminar(1500.0)?,
        64.0 / 1500.0,
        1e-15,
    );
    let turbulent = friction_factor_colebrook_1939(2300.0, 1e-3)?;
    near_rel("Re 2300", turbulent, 0.048_087_413_6, 1e-9);
    let between = friction_factor(2300.0, 1e-3)?;
    assert!(64.0 / 2300.0 < between && between < turbulent);
    assert!(friction_factor_laminar(2300.0).is_err());
    Ok(())
}
