//! A year of weather, hour by hour: 1 m³/min of free air, compressed and cooled to somewhat above
//! the outdoors, against PsychroLib 2.5.0 (library). The hours include frost, fog and heat.

mod air_support;

use air_support::{Row, near, near_rel, table};
use physics::air::{Formulation, condensate, dry_air_mass_flow};
use physics::quantity::{
    AbsolutePressure, FreeAir, PressureDifference, Temperature, TemperatureDifference,
};
use physics::validity::Answer;

fn hourly() -> Vec<Row> {
    table(include_str!("data/air_weather_hourly.csv"))
}

/// Water out of an hour's air after cooling to `approach_k` above the outdoors at `gauge_bar`, and
/// further water down to a pressure dew point of +3 °C, kg/h.
fn condensate_kg_h(
    air: Formulation,
    row: &Row,
    p: AbsolutePressure,
    approach_k: f64,
    gauge_bar: f64,
) -> Answer<(f64, f64)> {
    let t = Temperature::from_celsius(row.num("t_c"));
    let w = air.humidity_ratio(t, row.num("rh"), p)?;
    let dry = dry_air_mass_flow(FreeAir::from_m3_per_min(1.0), t, w, p)?;
    let pressed = p + PressureDifference::from_bar(gauge_bar);
    let cooled = t + TemperatureDifference::new(approach_k);
    let held = air.saturated_humidity_ratio(cooled, pressed)?;
    let water = condensate(dry, w, held)?.si() * 3600.0;
    let dried = air.saturated_humidity_ratio(Temperature::from_celsius(3.0), pressed)?;
    let further = condensate(dry, w.min(held), dried)?.si() * 3600.0;
    Ok((water, further))
}

fn pressure(row: &Row) -> AbsolutePressure {
    AbsolutePressure::new(row.num("p_pa"))
}

#[test]
fn every_hour_every_month_and_the_year_agree_with_the_library() -> Answer<()> {
    let rows = hourly();
    assert_eq!(rows.len(), 8760);
    let mut months = [0.0; 12];
    let mut dryer = 0.0;
    for row in &rows {
        let (got, further) =
            condensate_kg_h(Formulation::ASHRAE_IDEAL, row, pressure(row), 8.0, 7.0)?;
        near(
            "an hour's condensate",
            got,
            row.num("condensate_kg_h"),
            1e-7,
        );
        let month: usize = row.text("month").parse().expect("a month is a number");
        months[month - 1] += got;
        dryer += further;
    }
    let monthly = table(include_str!("data/air_weather_monthly.csv"));
    assert_eq!(monthly.len(), 13);
    for row in &monthly {
        let got = match row.text("month").parse::<usize>() {
            Ok(month) => months[month - 1],
            Err(_) => months.iter().sum(),
        };
        near_rel(row.text("month"), got, row.num("condensate_kg"), 1e-6);
    }
    near_rel("the year", months.iter().sum(), 3640.9628, 1e-6);
    near_rel("the year's water in a dryer", dryer, 1123.2113, 1e-6);
    Ok(())
}

#[test]
fn the_year_at_other_coolers_and_pressures() -> Answer<()> {
    let rows = hourly();
    let mean = rows.iter().map(|row| row.num("p_pa")).sum::<f64>() / 8760.0;
    near("mean pressure", mean, 98_691.723_7, 1e-4);
    let (mut warmer, mut higher, mut steady) = (0.0, 0.0, 0.0);
    for row in &rows {
        let air = Formulation::ASHRAE_IDEAL;
        warmer += condensate_kg_h(air, row, pressure(row), 15.0, 7.0)?.0;
        higher += condensate_kg_h(air, row, pressure(row), 8.0, 10.0)?.0;
        steady += condensate_kg_h(air, row, AbsolutePressure::new(mean), 8.0, 7.0)?.0;
    }
    near_rel("15 K above the outdoors", warmer, 2915.7292, 1e-6);
    near_rel("10 bar(g)", higher, 4047.8775, 1e-6);
    near_rel("the mean pressure all year", steady, 3639.6041, 1e-6);
    Ok(())
}

/// 162 hours of this year end below 0 °C after the cooler: there the ice branch is at work.
#[test]
fn the_real_gas_changes_the_year_by_less_than_one_percent() -> Answer<()> {
    let (mut year, mut frost_hours) = (0.0, 0);
    for row in &hourly() {
        let (real, _) = condensate_kg_h(Formulation::REAL, row, pressure(row), 8.0, 7.0)?;
        let (ideal, _) = condensate_kg_h(Formulation::ASHRAE_IDEAL, row, pressure(row), 8.0, 7.0)?;
        assert!(
            (real - ideal).abs() < 0.01,
            "an hour's condensate {real} and {ideal} kg"
        );
        year += real;
        frost_hours += u32::from(row.num("t_c") + 8.0 < 0.0);
    }
    assert_eq!(frost_hours, 162);
    near_rel("the year", year, 3640.9628, 0.01);
    Ok(())
}
