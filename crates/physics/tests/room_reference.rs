//! The room's ventilation against hand calculations with stated density and specific heat.

mod air_support;

use air_support::near_rel;
use physics::air::{CP_DRY_AIR, R_DRY_AIR};
use physics::quantity::{AbsolutePressure, Power, Temperature, TemperatureDifference};
use physics::room::{opening_velocity_m_s, room_rise, ventilation_for_rise};
use physics::validity::Answer;

const SEA: AbsolutePressure = AbsolutePressure::new(101_325.0);

/// Air of a stated density at sea level.
fn of_density(density: f64) -> Temperature {
    Temperature::new(101_325.0 / (R_DRY_AIR * density))
}

/// V = Q/(ρ c_p ΔT) with ρ 1.2 and c_p 1005 (closed form, computed). This crate's c_p is 1006.
#[test]
fn ventilation_for_40_and_75_kw() -> Answer<()> {
    let cp = CP_DRY_AIR / 1_005.0;
    for (kw, rise, m3_h) in [(40.0, 10.0, 11_940.298_5), (75.0, 7.0, 31_982.942_4)] {
        let rise = TemperatureDifference::new(rise);
        let flow = ventilation_for_rise(Power::from_kw(kw), rise, of_density(1.2), SEA)?;
        near_rel("m3/h", flow * 3_600.0 * cp, m3_h, 1e-8);
        let back = room_rise(Power::from_kw(kw), flow, of_density(1.2), SEA)?;
        near_rel("back", back.si(), rise.si(), 1e-12);
    }
    Ok(())
}

/// The same at 35 °C and 89 875 Pa: ρ 1.01605959 with R 287.05, c_p 1006 (closed form, computed).
/// This crate's R is 287.042.
#[test]
fn thin_hot_air_needs_more_volume() -> Answer<()> {
    let flow = ventilation_for_rise(
        Power::from_kw(40.0),
        TemperatureDifference::new(10.0),
        Temperature::from_celsius(35.0),
        AbsolutePressure::new(89_875.0),
    )?;
    near_rel(
        "m3/h",
        flow * 3_600.0 * (287.05 / R_DRY_AIR),
        14_087.869_9,
        1e-8,
    );
    Ok(())
}

/// US form Q = 1.08 · cfm · ΔT in BTU/h and °F (published): 40 kW, 18 °F → 7020.868 cfm. Its 1.08
/// rounds 60 · 0.075 lb/ft³ · 0.24, so 0.5 % is allowed.
#[test]
fn us_rule_of_1_08() -> Answer<()> {
    let flow = ventilation_for_rise(
        Power::from_kw(40.0),
        TemperatureDifference::new(10.0),
        Temperature::from_celsius((70.0 - 32.0) / 1.8),
        SEA,
    )?;
    near_rel("cfm", flow * 60.0 / 0.028_316_846_592, 7_020.868, 5e-3);
    Ok(())
}

/// Continuity.
#[test]
fn velocity_in_the_opening() -> Answer<()> {
    near_rel("m/s", opening_velocity_m_s(3.0, 1.5)?, 2.0, 1e-12);
    Ok(())
}
