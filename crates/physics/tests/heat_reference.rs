//! Heat exchangers against a reference library and a textbook.

mod air_support;

use air_support::{near, near_rel, table};
use physics::heat::cooler::{conductance, fan_share_to_hold, rated_conductance};
use physics::heat::ntu::*;
use physics::heat::thermostat::{ROUNDING, smooth_maximum};
use physics::quantity::{Power, Temperature, TemperatureDifference};
use physics::validity::Answer;

/// ht 1.2.0 `effectiveness_from_NTU` (library, computed): the exact relation against its numerical
/// integral, the two closed ones exactly.
#[test]
fn effectiveness_table() -> Answer<()> {
    for row in table(include_str!("data/heat_ntu_crossflow.csv")) {
        let (n, c_r) = (row.num("ntu"), row.num("cr"));
        let what = |form: &str| format!("{form} at {n}, {c_r}");
        let exact = effectiveness_crossflow_mason_1954(n, c_r)?;
        near(&what("exact"), exact, row.num("crossflow_exact"), 1e-6);
        let usual = effectiveness_crossflow_approximate(n, c_r)?;
        near(
            &what("usual"),
            usual,
            row.num("crossflow_approximate"),
            1e-12,
        );
        let counter = effectiveness_counterflow(n, c_r)?;
        near(&what("counterflow"), counter, row.num("counterflow"), 1e-9);
        assert!(
            exact <= counter + 1e-12,
            "counterflow is the best at {n}, {c_r}"
        );
        near_rel("back", transfer_units_crossflow(exact, c_r)?, n, 1e-8);
    }
    Ok(())
}

/// Worked example after Nellis & Klein, *Heat Transfer*: UA 75 W/K, 50 and 30 W/K (published). The
/// usual form gives 0.7632; the exact integral is 0.7557 (a march over 400 × 400 cells 0.755718).
#[test]
fn nellis_and_klein() -> Answer<()> {
    near(
        "usual",
        effectiveness_crossflow_approximate(75.0 / 30.0, 30.0 / 50.0)?,
        0.7632,
        1e-4,
    );
    near(
        "exact",
        effectiveness_crossflow_mason_1954(2.5, 0.6)?,
        0.755_718,
        1e-6,
    );
    // Its inverse, ε 0.61 and NTU 1.341 by the usual form: forward again, and UA 40.23 W/K.
    near(
        "inverse",
        effectiveness_crossflow_approximate(1.340_953_637, 0.6)?,
        0.61,
        1e-9,
    );
    near("UA", 1.340_953_637 * 30.0, 40.23, 1e-3 * 40.23);
    // The exact form needs fewer units at this point, within the 2 % of the two.
    let exact = effectiveness_crossflow_mason_1954(transfer_units_crossflow(0.61, 0.6)?, 0.6)?;
    near("exact inverse", exact, 0.61, 1e-9);
    Ok(())
}

/// UA down by a fifth: ε 0.732409 → 0.676692 (ht 1.2.0, computed).
#[test]
fn fouling_by_a_fifth() -> Answer<()> {
    near(
        "clean",
        effectiveness_crossflow_mason_1954(2.0, 0.5)?,
        0.732_409,
        1e-6,
    );
    near(
        "fouled",
        effectiveness_crossflow_mason_1954(1.6, 0.5)?,
        0.676_692,
        1e-6,
    );
    Ok(())
}

/// A march of both streams over cells, which knows no closed form, gives the same effectiveness.
#[test]
fn march_over_cells_agrees_with_the_exact_form() -> Answer<()> {
    let (n, c_r, cells) = (2.5, 0.6, 400_usize);
    let part = n / cells as f64;
    // Hot runs across, cold runs down; central differences within a cell.
    let mut cold = vec![0.0; cells];
    let mut leaving = 0.0;
    for _ in 0..cells {
        let mut hot = 1.0;
        for below in &mut cold {
            let moved = part * (hot - *below) / (1.0 + 0.5 * part * (1.0 + c_r));
            hot -= moved;
            *below += c_r * moved;
        }
        leaving += hot;
    }
    let effectiveness = 1.0 - leaving / cells as f64;
    near(
        "march",
        effectiveness,
        effectiveness_crossflow_mason_1954(n, c_r)?,
        2e-5,
    );
    Ok(())
}

/// Definition of the conductance and its inverse by the fan.
#[test]
fn conductance_follows_air_and_health() -> Answer<()> {
    let rated = rated_conductance(Power::from_kw(23.0), TemperatureDifference::new(60.0))?;
    near_rel("G_r", rated, 383.333_333_333, 1e-9);
    near_rel(
        "a quarter of the air",
        conductance(rated, 1.0, 0.25)?,
        0.5 * rated,
        1e-12,
    );
    near_rel(
        "fouled by a fifth",
        conductance(rated, 0.8, 1.0)?,
        0.8 * rated,
        1e-12,
    );
    let (held, cool) = (
        Temperature::from_celsius(80.0),
        Temperature::from_celsius(10.0),
    );
    let share = fan_share_to_hold(Power::from_kw(20.0), held, cool, rated)?;
    let carried = conductance(rated, 1.0, share)? * 70.0;
    near_rel("what the slowed fan carries", carried, 20.0e3, 1e-12);
    Ok(())
}

/// The thermostat: held in cool weather, free in hot, 0.69 w above both where they meet.
#[test]
fn thermostat_hides_fouling_in_cool_weather() -> Answer<()> {
    let held = Temperature::from_celsius(80.0);
    let at = |free: f64| -> Answer<f64> {
        Ok(smooth_maximum(Temperature::from_celsius(free), held, ROUNDING)?.celsius())
    };
    near("cool", at(55.0)?, 80.0, 1e-3);
    near("hot", at(105.0)?, 105.0, 1e-3);
    near("corner", at(80.0)?, 80.0 + 2.5 * 2.0_f64.ln(), 1e-9);
    // Ten kelvin of fouling: invisible at 0 °C of cooling air, whole on a hot day.
    near("cool and fouled", at(65.0)? - at(55.0)?, 0.0, 0.01);
    near("hot and fouled", at(110.0)? - at(100.0)?, 10.0, 0.01);
    Ok(())
}
