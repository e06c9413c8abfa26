//! Moist air against textbooks, public handbooks and standards, in their own units.
//! Each check names its source and how it is known.

mod air_support;

use air_support::{near, near_rel};
use physics::air::{
    Formulation, WaterClass, atmosphere_iso_2533_1975, humidity_ratio_from_vapour_pressure,
    moist_air_density, saturation_pressure, saturation_pressure_water_if97, vapour_density,
    vapour_pressure_from_humidity_ratio, water_class_iso_8573_1_2010,
};
use physics::quantity::{AbsolutePressure, CUBIC_FOOT_M3, PSI_PA, Temperature};
use physics::validity::Answer;

const POUND_KG: f64 = 0.453_592_37;
const INCH_MERCURY_PA: f64 = 3386.389;
/// Pounds per 1000 ft³ in one kg/m³.
const LB_PER_1000_FT3: f64 = 1000.0 * CUBIC_FOOT_M3 / POUND_KG;

fn fahrenheit(f: f64) -> Temperature {
    Temperature::from_celsius((f - 32.0) / 1.8)
}
fn psi(p: f64) -> AbsolutePressure {
    AbsolutePressure::new(p * PSI_PA)
}

/// Himmelblau, *Basic Principles and Calculations in Chemical Engineering*, example 18.5: water
/// out of air of 100 °F and 90 %, 29.76 → 131.7 inHg, 120 °F (published).
#[test]
fn himmelblau_example_18_5() -> Answer<()> {
    let (p_in, p_out) = (
        AbsolutePressure::new(29.76 * INCH_MERCURY_PA),
        AbsolutePressure::new(131.7 * INCH_MERCURY_PA),
    );
    // With the book's own steam table.
    let w_in = humidity_ratio_from_vapour_pressure(1.737 * INCH_MERCURY_PA, p_in)?;
    let w_out = humidity_ratio_from_vapour_pressure(3.45 * INCH_MERCURY_PA, p_out)?;
    near_rel(
        "lb water per ton of dry air",
        (w_in - w_out) * 2000.0,
        43.6,
        0.005,
    );
    // With Hyland–Wexler saturation (library), and with what judges a station.
    for (air, pounds, tolerance) in [
        (Formulation::ASHRAE_IDEAL, 43.842, 1e-4),
        (Formulation::REAL, 43.6, 0.01),
    ] {
        let w_in = air.humidity_ratio(fahrenheit(100.0), 0.9, p_in)?;
        let w_out = air.saturated_humidity_ratio(fahrenheit(120.0), p_out)?;
        near_rel(
            "lb water per ton of dry air",
            (w_in - w_out) * 2000.0,
            pounds,
            tolerance,
        );
    }
    Ok(())
}

/// Çengel and Boles, *Thermodynamics*, 7th ed., problem 14-20: 20 °C and 90 % compressed
/// 100 → 800 kPa to 531 K (published).
#[test]
fn cengel_problem_14_20() -> Answer<()> {
    let p_in = AbsolutePressure::from_bar(1.0);
    let w = Formulation::IDEAL.humidity_ratio(Temperature::from_celsius(20.0), 0.9, p_in)?;
    near_rel("ω", w, 0.0134, 0.005);
    let p_w = vapour_pressure_from_humidity_ratio(w, AbsolutePressure::from_bar(8.0))?;
    near_rel("p_v2", p_w, 16_870.0, 0.005);
    let p_ws = saturation_pressure_water_if97(Temperature::new(531.0))?;
    near("RH₂ in %", 100.0 * p_w / p_ws, 0.37, 0.005);
    Ok(())
}

/// Textbook companion, example 13-9 (inputs and chart readings published): lb of water per
/// 1000 ft³ of free air, saturated at 80 °F, after cooling to 80 °F at 100 psig, after drying to
/// 40 °F.
#[test]
fn water_content_chart_of_a_textbook() -> Answer<()> {
    let saturated = |f: f64| -> Answer<f64> {
        let t = fahrenheit(f);
        Ok(vapour_density(t, saturation_pressure(t)?)? * LB_PER_1000_FT3)
    };
    let share = 14.7 / 114.7;
    near_rel("entering", saturated(80.0)?, 1.58, 0.005);
    near_rel("after the cooler", saturated(80.0)? * share, 0.20, 0.02);
    near_rel("after the dryer", saturated(40.0)? * share, 0.05, 0.06);
    // 100 scfm for 8 h a day, 8.34 lb/gal.
    let gallons = 100.0 * 60.0 * 8.0 / 1000.0 / 8.34;
    near_rel("gal/day entering", saturated(80.0)? * gallons, 9.09, 0.005);
    near_rel(
        "gal/day after the cooler",
        saturated(80.0)? * share * gallons,
        1.15,
        0.02,
    );
    Ok(())
}

/// Handbook of a trade institute, tables 3.3 and 3.4 (published, read second-hand): gal per
/// 1000 ft³. The density 0.0764 lb/ft³ is inferred, not read.
#[test]
fn moisture_tables_of_a_trade_handbook() -> Answer<()> {
    let air = Formulation::IDEAL;
    let gallons = |w: f64| w * 0.0764 * 1000.0 / 8.33;
    let intake = gallons(air.humidity_ratio(fahrenheit(80.0), 0.75, psi(14.7))?);
    let cooled = gallons(air.saturated_humidity_ratio(fahrenheit(100.0), psi(114.7))?);
    near_rel("80 °F, 75 %", intake, 0.1521, 0.005);
    near_rel("100 °F, 100 psig", cooled, 0.0478, 0.005);
    near_rel("difference", intake - cooled, 0.1043, 0.005);
    Ok(())
}

/// *Fluid Power Journal*, two articles on condensate (published): 200 cfm cooled to 100 °F at an
/// assumed 100 psig, in gal/h.
#[test]
fn condensate_of_a_trade_journal() -> Answer<()> {
    let lb_h = 200.0 * 60.0 * 0.075;
    for air in [Formulation::IDEAL, Formulation::REAL] {
        let held = |f: f64| air.saturated_humidity_ratio(fahrenheit(f), psi(114.7));
        let intake = |f: f64, rh: f64| air.humidity_ratio(fahrenheit(f), rh, psi(14.7));
        let gallons = |w: f64| w * lb_h / 8.33;
        near(
            "90 °F, 80 %",
            gallons(intake(90.0, 0.8)? - held(100.0)?),
            2.1,
            0.05,
        );
        near(
            "70 °F, 70 %",
            gallons(intake(70.0, 0.7)? - held(100.0)?),
            0.6,
            0.05,
        );
        near(
            "100 → 70 °F",
            gallons(held(100.0)? - held(70.0)?),
            0.36,
            0.02,
        );
    }
    Ok(())
}

/// *US Navy Diving Manual*, Change A, p. 8-19 (published): 70 °F, 14.7 psia, 36 % is 0.075 lb/ft³.
#[test]
fn density_of_the_navy_rated_inlet() -> Answer<()> {
    let w = Formulation::REAL.humidity_ratio(fahrenheit(70.0), 0.36, psi(14.7))?;
    let density = moist_air_density(fahrenheit(70.0), w, psi(14.7))?;
    near_rel("lb/ft³", density * CUBIC_FOOT_M3 / POUND_KG, 0.075, 0.01);
    Ok(())
}

/// *US Standard Atmosphere, 1976* (rows read second-hand): psia by feet.
#[test]
fn us_standard_atmosphere_by_feet() -> Answer<()> {
    for (feet, psia) in [
        (0.0, 14.696),
        (1000.0, 14.175),
        (2000.0, 13.664),
        (3000.0, 13.173),
        (5000.0, 12.230),
        (6000.0, 11.778),
        (8000.0, 10.914),
        (10_000.0, 10.108),
    ] {
        near_rel(
            "psia",
            atmosphere_iso_2533_1975(feet * 0.3048)?.si() / PSI_PA,
            psia,
            3e-4,
        );
    }
    Ok(())
}

/// ISO 8573-1:2010, table 2 (published, in reproductions that agree).
#[test]
fn water_classes_at_and_beside_their_limits() -> Answer<()> {
    use WaterClass::{C1, C2, C3, C4, C5, C6, C7, C8, C9, X};
    let by_dew_point =
        |c: f64| water_class_iso_8573_1_2010(Some(Temperature::from_celsius(c)), 0.0);
    for (limit, at, above) in [
        (-70.0, C1, C2),
        (-40.0, C2, C3),
        (-20.0, C3, C4),
        (3.0, C4, C5),
        (7.0, C5, C6),
        (10.0, C6, C7),
    ] {
        assert_eq!(by_dew_point(limit)?, at);
        assert_eq!(by_dew_point(limit + 1e-6)?, above);
    }
    for (liquid, class) in [
        (0.0, C7),
        (0.5, C7),
        (0.51, C8),
        (5.0, C8),
        (5.1, C9),
        (10.0, C9),
        (10.1, X),
    ] {
        assert_eq!(water_class_iso_8573_1_2010(None, liquid)?, class);
    }
    // Liquid water outweighs the dew point.
    let dry = Some(Temperature::from_celsius(-40.0));
    assert_eq!(water_class_iso_8573_1_2010(dry, 6.0)?, C9);
    assert_eq!([C1, C9, X].map(|class| class.to_string()), ["1", "9", "X"]);
    assert!(water_class_iso_8573_1_2010(dry, -0.1).is_err());
    assert!(water_class_iso_8573_1_2010(dry, f64::NAN).is_err());
    Ok(())
}
