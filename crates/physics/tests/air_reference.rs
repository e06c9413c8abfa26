//! Moist air against tables of general-purpose libraries, standards and worked examples.
//! Each check names its source; "library" tables name theirs in their first line.

mod air_support;

use air_support::{near, near_rel, table};
use physics::air::{
    Formulation, NORMAL_DENSITY, REFERENCE_DENSITY, atmosphere_iso_2533_1975, condensate,
    dry_air_density, dry_air_mass_flow, enhancement_factor_greenspan_1976, enthalpy_liquid_water,
    enthalpy_moist_air, enthalpy_vapour_air, humidity_ratio_from_vapour_pressure,
    moist_air_density, normal_flow, reference_air, saturation_pressure,
    saturation_pressure_hyland_wexler_1983, saturation_pressure_ice_iapws_r14_08,
    saturation_pressure_water_if97, saturation_temperature, vapour_density, viscosity_sutherland,
};
use physics::quantity::{AbsolutePressure, FreeAir, MassFlow, Temperature};
use physics::validity::Answer;

const SEA_LEVEL: AbsolutePressure = AbsolutePressure::new(101_325.0);

fn c(celsius: f64) -> Temperature {
    Temperature::from_celsius(celsius)
}
fn pa(pressure_pa: f64) -> AbsolutePressure {
    AbsolutePressure::new(pressure_pa)
}

/// IAPWS-IF97 (2007) tables 35 and 36; IAPWS R14-08 (2011) check value (published).
#[test]
fn check_values_of_the_iapws_releases() -> Answer<()> {
    for (t_k, mpa) in [
        (300.0, 0.353_658_941e-2),
        (500.0, 2.638_897_76),
        (600.0, 12.344_314_6),
    ] {
        let got = saturation_pressure_water_if97(Temperature::new(t_k))?;
        near_rel("p_s", got, mpa * 1e6, 2e-9);
    }
    for (mpa, t_k) in [(0.1, 372.755_919), (1.0, 453.035_632)] {
        near("T_s", saturation_temperature(mpa * 1e6)?.si(), t_k, 5e-7);
    }
    let ice = saturation_pressure_ice_iapws_r14_08(Temperature::new(230.0))?;
    near_rel("p_subl", ice, 8.947_352_740_189_152, 1e-12);
    Ok(())
}

/// PsychroLib 2.5.0 and iapws 1.5.5 (library).
#[test]
fn saturation_pressures_of_the_libraries() -> Answer<()> {
    for row in table(include_str!("data/air_saturation.csv")) {
        let t = c(row.num("t_c"));
        let (iapws, hyland_wexler) = (row.num("iapws_pa"), row.num("hyland_wexler_pa"));
        near_rel("iapws", saturation_pressure(t)?, iapws, 1e-9);
        near_rel(
            "H–W",
            saturation_pressure_hyland_wexler_1983(t)?,
            hyland_wexler,
            1e-10,
        );
        near_rel(
            "H–W and iapws",
            hyland_wexler,
            saturation_pressure(t)?,
            4e-4,
        );
        near(
            "inverse",
            saturation_temperature(iapws)?.celsius(),
            t.celsius(),
            1e-7,
        );
    }
    Ok(())
}

/// ASHRAE Handbook Fundamentals 2017, ch. 1, table 3 (published).
#[test]
fn saturation_pressures_of_ashrae_table_3() -> Answer<()> {
    near("−60 °C", saturation_pressure(c(-60.0))?, 1.08, 0.01);
    for (t, p) in [
        (-20.0, 103.24),
        (-5.0, 401.74),
        (5.0, 872.6),
        (25.0, 3169.7),
        (50.0, 12_351.3),
        (100.0, 101_418.0),
        (150.0, 476_101.4),
    ] {
        near_rel("p_ws", saturation_pressure(c(t))?, p, 3e-4);
        near_rel(
            "p_ws H–W",
            saturation_pressure_hyland_wexler_1983(c(t))?,
            p,
            3e-4,
        );
    }
    Ok(())
}

/// ASHRAE Handbook Fundamentals 2017, ch. 1, table 2 (published; real gas).
#[test]
fn saturated_humidity_ratios_of_ashrae_table_2() -> Answer<()> {
    for (t, w, half_digit) in [
        (-50.0, 0.000_024_3, 5e-8),
        (-20.0, 0.000_637_3, 5e-8),
        (-5.0, 0.002_486_3, 5e-8),
        (5.0, 0.005_425, 5e-7),
        (25.0, 0.020_173, 5e-7),
        (50.0, 0.086_863, 5e-7),
        (85.0, 0.838_105, 5e-7),
    ] {
        let real = Formulation::REAL.saturated_humidity_ratio(c(t), SEA_LEVEL)?;
        near("W_sat real", real, w, 5e-4 * w + half_digit);
        let ideal = Formulation::ASHRAE_IDEAL.saturated_humidity_ratio(c(t), SEA_LEVEL)?;
        near_rel("W_sat ideal", ideal, w, 0.02);
    }
    // PsychroLib 2.5.0 `GetSatHumRatio` (library).
    for (t, w) in [
        (-20.0, 0.000_634_471_18),
        (5.0, 0.005_401_942_6),
        (20.0, 0.014_695_052),
        (25.0, 0.020_081_123),
        (40.0, 0.048_882_593),
        (50.0, 0.086_326_711),
    ] {
        let ideal = Formulation::ASHRAE_IDEAL.saturated_humidity_ratio(c(t), SEA_LEVEL)?;
        near_rel("W_sat ideal", ideal, w, 1e-6);
    }
    Ok(())
}

/// ASHRAE Handbook Fundamentals 2017, ch. 1, example 1 (published): 40 °C dry and 20 °C wet bulb,
/// the humidity ratio from the same chapter's wet-bulb equation.
#[test]
fn the_moist_air_state_of_ashrae_example_1() -> Answer<()> {
    let (t, t_wet) = (c(40.0), c(20.0));
    let w_wet = Formulation::ASHRAE_IDEAL.saturated_humidity_ratio(t_wet, SEA_LEVEL)?;
    let cooling = enthalpy_vapour_air(t, 0.0)? - enthalpy_vapour_air(t_wet, 0.0)?;
    let liquid = enthalpy_liquid_water(t_wet)?;
    let vapour = |t| -> Answer<f64> {
        Ok(enthalpy_vapour_air(t, 1.0)? - enthalpy_vapour_air(t, 0.0)? - liquid)
    };
    let w = (w_wet * vapour(t_wet)? - cooling) / vapour(t)?;
    near("W", w, 0.0065, 1e-4);
    near(
        "t_d",
        Formulation::REAL.dew_point(w, SEA_LEVEL)?.celsius(),
        7.0,
        0.5,
    );
    near(
        "φ",
        Formulation::REAL.relative_humidity(t, w, SEA_LEVEL)?,
        0.14,
        0.01,
    );
    near("h", enthalpy_vapour_air(t, w)? / 1000.0, 56.7, 0.1);
    near_rel("v", 1.0 / dry_air_density(t, w, SEA_LEVEL)?, 0.896, 0.01);
    // Spreadsheet value in the tests of PsychroLib (published).
    let w = humidity_ratio_from_vapour_pressure(3169.7, pa(95_461.0))?;
    near_rel("W", w, 0.021_360_399_804_748_7, 1e-6);
    Ok(())
}

/// Ideal gas with PsychroLib 2.5.0 saturation (library).
#[test]
fn water_content_of_saturated_air() -> Answer<()> {
    let p = pa(801_325.0);
    for (t, actual_g, referred_g) in [
        (20.0, 17.286_63, 2.163_570_9),
        (3.0, 5.947_693, 0.699_851_75),
        (35.0, 39.571_68, 5.227_679_7),
        (-40.0, 0.119_375_1, 0.011_848_338),
    ] {
        let p_ws = saturation_pressure_hyland_wexler_1983(c(t))?;
        near_rel(
            "per actual m³",
            vapour_density(c(t), p_ws)? * 1e3,
            actual_g,
            1e-6,
        );
        let w = Formulation::ASHRAE_IDEAL.saturated_humidity_ratio(c(t), p)?;
        near_rel(
            "per reference m³",
            w * REFERENCE_DENSITY * 1e3,
            referred_g,
            1e-6,
        );
    }
    Ok(())
}

/// CoolProp 8.0.0 (library) and the values printed by Greenspan (1976) for one atmosphere.
#[test]
fn enhancement_factors() -> Answer<()> {
    for (t, f) in [(0.0, 1.0039), (25.0, 1.0041), (50.0, 1.0052)] {
        near(
            "f",
            enhancement_factor_greenspan_1976(c(t), SEA_LEVEL)?,
            f,
            5e-4,
        );
    }
    for row in table(include_str!("data/air_enhancement.csv")) {
        let (t, p) = (c(row.num("t_c")), pa(row.num("p_pa")));
        let f = enhancement_factor_greenspan_1976(t, p)?;
        near_rel("f", f, row.num("f"), 0.005);
        if p.si() < 2.0e5 {
            near("f near one atmosphere", f, row.num("f"), 6.5e-4);
        }
        let real = Formulation::REAL.saturated_humidity_ratio(t, p)?;
        near_rel("W_sat", real, row.num("w_real"), 0.005);
        let ideal = Formulation::IDEAL.saturated_humidity_ratio(t, p)?;
        near_rel("W_sat ideal", ideal, row.num("w_ideal"), 1e-3);
        assert!(f > 1.0 && real > ideal);
    }
    // Greenspan's equation with iapws 1.5.5 saturation, evaluated in Python (library).
    for (t, p, f) in [
        (-90.0, 801_325.0, 1.078_104_664_794),
        (-40.0, 101_325.0, 1.005_008_938_662),
        (-10.0, 1_401_325.0, 1.055_736_712_722),
        (3.0, 801_325.0, 1.027_904_271_853),
        (40.0, 1_401_325.0, 1.038_157_561_026),
        (95.0, 1_101_325.0, 1.030_475_338_725),
    ] {
        near(
            "f",
            enhancement_factor_greenspan_1976(c(t), pa(p))?,
            f,
            1e-9,
        );
    }
    Ok(())
}

/// CoolProp 8.0.0 (real) and PsychroLib 2.5.0 (ideal) (library).
#[test]
fn pressure_dew_points_at_atmosphere() -> Answer<()> {
    let (real, ideal) = (Formulation::REAL, Formulation::ASHRAE_IDEAL);
    for row in table(include_str!("data/air_dew_point_conversion.csv")) {
        let (pdp, p) = (c(row.num("pdp_c")), pa(row.num("p_pa")));
        let adp = ideal.convert_dew_point(pdp, p, SEA_LEVEL)?;
        near("ideal", adp.celsius(), row.num("adp_ideal_c"), 1e-6);
        let adp_real = real.convert_dew_point(pdp, p, SEA_LEVEL)?;
        let tolerance = if pdp.celsius() < -60.0 { 0.07 } else { 0.03 };
        near("real", adp_real.celsius(), row.num("adp_real_c"), tolerance);
        let error = (adp_real - adp).si();
        near(
            "ideal is too low by",
            error,
            row.num("adp_real_c") - adp.celsius(),
            tolerance,
        );
        let back = real.convert_dew_point(adp_real, SEA_LEVEL, p)?;
        near("back", back.celsius(), pdp.celsius(), 1e-6);
    }
    for (adp, gauge_bar, pdp) in [
        (-20.0, 7.0, 4.054_996),
        (-25.0, 7.0, -2.403_582),
        (2.0, 7.0, 34.855_556),
        (10.0, 7.0, 45.238_607),
        (-40.0, 10.0, -16.817_037),
    ] {
        let p = pa(101_325.0 + gauge_bar * 1e5);
        near(
            "PDP",
            ideal.convert_dew_point(c(adp), SEA_LEVEL, p)?.celsius(),
            pdp,
            1e-6,
        );
    }
    Ok(())
}

/// CoolProp 8.0.0 (real) and PsychroLib 2.5.0 (ideal) (library).
#[test]
fn condensate_after_compression_and_cooling() -> Answer<()> {
    for row in table(include_str!("data/air_condensate.csv")) {
        let (t_in, t_out) = (c(row.num("t_in_c")), c(row.num("t_out_c")));
        let (p_in, p_out) = (pa(row.num("p_in_pa")), pa(row.num("p_out_pa")));
        let fad = FreeAir::new(row.num("fad_m3_h") / 3600.0);
        let kg_h = |air: Formulation| -> Answer<(f64, f64)> {
            let w = air.humidity_ratio(t_in, row.num("rh"), p_in)?;
            let m = dry_air_mass_flow(fad, t_in, w, p_in)?;
            let held = air.saturated_humidity_ratio(t_out, p_out)?;
            let water = condensate(m, w, held)?.si() * 3600.0;
            Ok((water, air.dew_point(w, p_out)?.celsius()))
        };
        let (ideal, pdp) = kg_h(Formulation::ASHRAE_IDEAL)?;
        near_rel("ideal", ideal, row.num("condensate_kg_h_ideal"), 1e-6);
        near("PDP ideal", pdp, row.num("pdp_c_ideal"), 1e-6);
        let (real, pdp) = kg_h(Formulation::REAL)?;
        near_rel("real", real, row.num("condensate_kg_h_real"), 0.002);
        near_rel("real and ideal", real, ideal, 0.01);
        near("PDP real", pdp, row.num("pdp_c_real"), 0.01);
    }
    Ok(())
}

/// CoolProp 8.0.0 (real) and PsychroLib 2.5.0 (ideal) (library).
#[test]
fn lowest_safe_discharge_temperatures() -> Answer<()> {
    for row in table(include_str!("data/air_discharge.csv")) {
        let (t, rh) = (c(row.num("t_c")), row.num("rh"));
        let (p_in, p_out) = (pa(row.num("p_in_pa")), pa(row.num("p_out_pa")));
        let t_min = |air: Formulation| -> Answer<f64> {
            Ok(air
                .dew_point(air.humidity_ratio(t, rh, p_in)?, p_out)?
                .celsius())
        };
        near(
            "ideal",
            t_min(Formulation::ASHRAE_IDEAL)?,
            row.num("t_min_ideal_c"),
            1e-6,
        );
        near(
            "real",
            t_min(Formulation::REAL)?,
            row.num("t_min_real_c"),
            0.01,
        );
        let safe_side = t_min(Formulation::ASHRAE_IDEAL)? - t_min(Formulation::REAL)?;
        assert!(
            (0.3..0.85).contains(&safe_side),
            "ideal is high by {safe_side} K"
        );
    }
    Ok(())
}

/// ISO 2533:1975 by geopotential altitude; ASHRAE Handbook Fundamentals 2017, ch. 1, table 1
/// (published).
#[test]
fn standard_atmosphere() -> Answer<()> {
    for (h, p) in [
        (100.0, 100_129.0),
        (500.0, 95_460.8),
        (1000.0, 89_874.6),
        (1500.0, 84_556.0),
        (1800.0, 81_489.2),
        (2000.0, 79_495.2),
        (-500.0, 107_478.0),
        (0.0, 101_325.0),
        (4000.0, 61_640.0),
    ] {
        near("p", atmosphere_iso_2533_1975(h)?.si(), p, 1.0);
    }
    // US Standard Atmosphere 1976 by geometric altitude (library): the two heights part slowly.
    near("p", atmosphere_iso_2533_1975(1000.0)?.si(), 89_876.285, 2.0);
    near(
        "p",
        atmosphere_iso_2533_1975(3000.0)?.si(),
        70_121.162,
        15.0,
    );
    Ok(())
}

/// PsychroLib 2.5.0 (library); normal state: DIN 1343 (published).
#[test]
fn densities_of_the_reference_states() -> Answer<()> {
    near("dry, 20 °C, 1 bar(a)", REFERENCE_DENSITY, 1.188_405_5, 5e-8);
    near("dry, 0 °C, 101 325 Pa", NORMAL_DENSITY, 1.292_319_7, 5e-8);
    let p = AbsolutePressure::from_bar(1.0);
    let w = Formulation::ASHRAE_IDEAL.humidity_ratio(c(20.0), 0.65, p)?;
    near(
        "20 °C, 1 bar(a), 65 %",
        moist_air_density(c(20.0), w, p)?,
        1.181_575_4,
        1e-6,
    );
    near(
        "reference air",
        reference_air(MassFlow::new(REFERENCE_DENSITY)).si(),
        1.0,
        1e-12,
    );
    Ok(())
}

/// PsychroLib 2.5.0 (library).
#[test]
fn normal_cubic_metres_of_free_air() -> Answer<()> {
    for (t, rh, p, dried, moist) in [
        (20.0, 0.0, 100_000.0, 0.919_590_96, 0.919_590_96),
        (20.0, 0.65, 100_000.0, 0.905_611_13, 0.919_590_96),
        (35.0, 0.60, 101_325.0, 0.856_878_72, 0.886_418_95),
        (30.0, 0.70, 89_875.0, 0.772_788_56, 0.799_219_23),
    ] {
        let w = Formulation::ASHRAE_IDEAL.humidity_ratio(c(t), rh, pa(p))?;
        let one = FreeAir::new(1.0);
        let normal = normal_flow(dry_air_mass_flow(one, c(t), w, pa(p))?);
        near("water removed", normal, dried, 1e-8);
        let normal = normal_flow(dry_air_mass_flow(one, c(t), 0.0, pa(p))?);
        near("as if dry", normal, moist, 1e-8);
    }
    Ok(())
}

/// CoolProp 8.0.0 (library): real air against the ideal gas and Sutherland's law.
#[test]
fn density_and_viscosity_of_real_air() -> Answer<()> {
    for (p, rho, tolerance) in [
        (101_325.0, 1.204_575, 5e-4),
        (801_325.0, 9.549_632, 3e-3),
        (1_101_325.0, 13.137_488, 4e-3),
        (1_401_325.0, 16.731_458, 5e-3),
    ] {
        near_rel("ρ", dry_air_density(c(20.0), 0.0, pa(p))?, rho, tolerance);
    }
    for (t, mu) in [
        (0.0, 1.721_841e-5),
        (20.0, 1.820_568e-5),
        (40.0, 1.916_523e-5),
        (80.0, 2.100_893e-5),
    ] {
        near_rel("µ", viscosity_sutherland(c(t))?, mu, 0.007);
    }
    Ok(())
}

/// CoolProp 8.0.0 (library): enthalpy of dry air at 101 325 Pa above 0 °C, of water at 2 MPa above
/// 0 °C, and of saturated air at 101 325 Pa over dry air at 0 °C.
#[test]
fn enthalpies_of_real_air_and_water() -> Answer<()> {
    for (t, h) in H_DRY {
        let tolerance = match t {
            ..=60.0 => 0.001,
            ..=110.0 => 0.0025,
            _ => 0.007,
        };
        near_rel("dry air", enthalpy_vapour_air(c(t), 0.0)?, h, tolerance);
    }
    for (t, h) in H_WATER {
        near_rel(
            "water",
            enthalpy_liquid_water(c(t))?,
            h,
            if t <= 100.0 { 0.005 } else { 0.02 },
        );
    }
    for (t, w, h) in H_MOIST {
        near_rel("moist air", enthalpy_moist_air(c(t), w, 0.0)?, h, 0.0015);
        let with_liquid = enthalpy_moist_air(c(t), w, 0.01)? - enthalpy_moist_air(c(t), w, 0.0)?;
        near(
            "liquid",
            with_liquid,
            0.01 * enthalpy_liquid_water(c(t))?,
            1e-6,
        );
    }
    Ok(())
}

const H_DRY: [(f64, f64); 6] = [
    (-20.0, -20_111.7),
    (20.0, 20_117.8),
    (60.0, 60_396.8),
    (80.0, 80_571.0),
    (110.0, 110_894.7),
    (200.0, 202_522.7),
];
const H_WATER: [(f64, f64); 6] = [
    (10.0, 41_934.4),
    (25.0, 104_642.6),
    (50.0, 209_020.9),
    (80.0, 334_532.2),
    (100.0, 418_558.5),
    (200.0, 850_416.2),
];
const H_MOIST: [(f64, f64, f64); 4] = [
    (10.0, 0.007_663, 29_354.5),
    (25.0, 0.020_173, 76_504.5),
    (40.0, 0.049_144, 166_688.0),
    (60.0, 0.153_545, 460_887.9),
];
