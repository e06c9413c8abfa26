//! Laws of moist air over random numbers: every float gets a finite answer or a refusal that names
//! a range without it; what must rise rises; inverses come back.

use physics::air::*;
use physics::quantity::{AbsolutePressure, FreeAir, MassFlow, ReferenceAir, Temperature};
use physics::validity::{Answer, Refusal};
use proptest::num::f64::ANY;
use proptest::prelude::*;

const ALL: [Formulation; 4] = [
    Formulation::REAL,
    Formulation::IDEAL,
    Formulation::ASHRAE_IDEAL,
    Formulation {
        saturation: Saturation::HylandWexler1983,
        enhancement: Enhancement::Greenspan1976,
    },
];

/// Any float, or one that a station could know.
fn any_or(low: f64, high: f64) -> impl Strategy<Value = f64> {
    prop_oneof![ANY, low..high]
}

fn any_temperature() -> impl Strategy<Value = Temperature> {
    any_or(150.0, 500.0).prop_map(Temperature::new)
}

fn any_pressure() -> impl Strategy<Value = AbsolutePressure> {
    any_or(1.0e4, 2.0e6).prop_map(AbsolutePressure::new)
}

fn formulation() -> impl Strategy<Value = Formulation> {
    prop::sample::select(ALL.to_vec())
}

/// A finite answer, or a refusal that excludes what was given.
fn sound(answer: Answer<f64>) -> Result<(), TestCaseError> {
    match answer {
        Ok(value) => prop_assert!(value.is_finite(), "{value}"),
        Err(Refusal::OutOfRange { range, got }) => {
            prop_assert!(
                !(range.min <= got && got <= range.max),
                "{range:?} holds {got}"
            );
        }
        Err(Refusal::Contradiction { first, second, .. }) => {
            prop_assert!(first >= second, "{first} and {second} do not contradict");
        }
        Err(Refusal::NoSolution { what }) => prop_assert!(false, "no {what}"),
    }
    Ok(())
}

fn kelvin(answer: Answer<Temperature>) -> Answer<f64> {
    answer.map(Temperature::si)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn functions_of_temperature_answer_or_refuse(t in any_temperature()) {
        sound(saturation_pressure_water_if97(t))?;
        sound(saturation_pressure_ice_iapws_r14_08(t))?;
        sound(saturation_pressure(t))?;
        sound(saturation_pressure_hyland_wexler_1983(t))?;
        sound(viscosity_sutherland(t))?;
        sound(enthalpy_liquid_water(t))?;
    }

    #[test]
    fn functions_of_one_number_answer_or_refuse(x in any_or(-3000.0, 3.0e6)) {
        sound(saturation_temperature(x).map(Temperature::si))?;
        sound(atmosphere_iso_2533_1975(x).map(AbsolutePressure::si))?;
        sound(water_class_iso_8573_1_2010(None, x).map(|_| 0.0))?;
        sound(water_class_iso_8573_1_2010(Some(Temperature::new(x)), 0.0).map(|_| 0.0))?;
    }

    #[test]
    fn functions_of_temperature_and_pressure_answer_or_refuse(
        air in formulation(), t in any_temperature(), p in any_pressure(), to in any_pressure(),
    ) {
        sound(enhancement_factor_greenspan_1976(t, p))?;
        sound(air.saturated_vapour_pressure(t, p))?;
        sound(air.saturated_humidity_ratio(t, p))?;
        sound(kelvin(air.convert_dew_point(t, p, to)))?;
    }

    #[test]
    fn functions_of_humidity_answer_or_refuse(
        air in formulation(), t in any_temperature(), p in any_pressure(),
        x in prop_oneof![ANY, 0.0..1.0, 0.0..1.0e-6, 0.0..150.0], y in any_or(0.0, 1.0),
    ) {
        sound(air.vapour_pressure(t, x, p))?;
        sound(air.humidity_ratio(t, x, p))?;
        sound(air.relative_humidity(t, x, p))?;
        sound(kelvin(air.dew_point(x, p)))?;
        sound(kelvin(air.dew_point_from_vapour_pressure(x, p)))?;
        sound(kelvin(air.dew_point_from_vapour_pressure(x * 1e4, p)))?;
        sound(vapour_pressure_from_humidity_ratio(x, p))?;
        sound(humidity_ratio_from_vapour_pressure(x, p))?;
        sound(dry_air_density(t, x, p))?;
        sound(moist_air_density(t, x, p))?;
        sound(vapour_density(t, x))?;
        sound(enthalpy_vapour_air(t, x))?;
        sound(enthalpy_moist_air(t, x, y))?;
        sound(dry_air_mass_flow(FreeAir::new(y), t, x, p).map(MassFlow::si))?;
        sound(free_air(MassFlow::new(y), t, x, p).map(FreeAir::si))?;
        sound(condensate(MassFlow::new(y), x, y).map(MassFlow::si))?;
    }

    #[test]
    fn warmer_air_holds_more(
        air in formulation(), t in -100.0..129.9_f64, rise in 1.0e-6..20.0_f64, bar in 0.1..20.0_f64,
    ) {
        let p = AbsolutePressure::from_bar(bar);
        let cold = air.saturated_vapour_pressure(Temperature::from_celsius(t), p);
        let warm = air.saturated_vapour_pressure(Temperature::from_celsius(t + rise), p);
        if let (Ok(cold), Ok(warm)) = (cold, warm) {
            prop_assert!(cold < warm, "{cold} at {t} °C, {warm} {rise} K above");
        }
    }

    /// Around 0 °C the equations over ice and over water meet.
    #[test]
    fn saturation_rises_through_the_freezing_point(
        air in formulation(), t in -0.5..0.5_f64, rise in 1.0e-4..0.1_f64, bar in 0.1..20.0_f64,
    ) {
        let p = AbsolutePressure::from_bar(bar);
        let at = |t: f64| air.saturated_vapour_pressure(Temperature::from_celsius(t), p);
        let (cold, warm) = (at(t).expect("in range"), at(t + rise).expect("in range"));
        prop_assert!(cold < warm, "{cold} at {t} °C, {warm} {rise} K above");
    }

    #[test]
    fn dew_point_returns_the_temperature_of_saturated_air(
        air in formulation(), t in -99.9..129.9_f64, bar in 0.1..20.0_f64,
    ) {
        let (t, p) = (Temperature::from_celsius(t), AbsolutePressure::from_bar(bar));
        let Ok(w) = air.saturated_humidity_ratio(t, p) else { return Ok(()) };
        prop_assume!(w < 50.0);
        let found = air.dew_point(w, p).expect("saturated air has a dew point");
        prop_assert!((found - t).si().abs() < 1.0e-6, "{found:?} for {t:?}");
    }

    #[test]
    fn dew_point_rises_with_water_and_pressure(
        air in formulation(), w in 1.0e-5..0.5_f64, more in 1.0001..2.0_f64, bar in 0.5..10.0_f64,
    ) {
        let p = AbsolutePressure::from_bar(bar);
        let Ok(dry) = air.dew_point(w, p) else { return Ok(()) };
        if let Ok(wet) = air.dew_point(w * more, p) {
            prop_assert!(wet > dry);
        }
        if let Ok(pressed) = air.dew_point(w, AbsolutePressure::from_bar(bar * more)) {
            prop_assert!(pressed > dry);
        }
    }

    #[test]
    fn a_dew_point_comes_back_from_another_pressure(
        air in formulation(), t in -60.0..48.0_f64, at in 1.0..20.0_f64, to in 0.6..20.0_f64,
    ) {
        let (at, to) = (AbsolutePressure::from_bar(at), AbsolutePressure::from_bar(to));
        let t = Temperature::from_celsius(t);
        let there = air.convert_dew_point(t, at, to).expect("in range");
        let back = air.convert_dew_point(there, to, at).expect("in range");
        prop_assert!((back - t).si().abs() < 1.0e-6);
        prop_assert_eq!(there > t, to > at);
    }

    #[test]
    fn relative_humidity_comes_back(
        air in formulation(), t in -60.0..60.0_f64, rh in 0.01..1.0_f64, bar in 0.6..20.0_f64,
    ) {
        let (t, p) = (Temperature::from_celsius(t), AbsolutePressure::from_bar(bar));
        let w = air.humidity_ratio(t, rh, p).expect("in range");
        let back = air.relative_humidity(t, w, p).expect("in range");
        prop_assert!((back / rh - 1.0).abs() < 1.0e-12);
        let dew_point = air.dew_point(w, p).expect("in range");
        prop_assert!(dew_point.si() <= t.si() + 1.0e-6);
    }

    #[test]
    fn saturation_temperature_comes_back(t in 130.1..473.0_f64) {
        let p = saturation_pressure(Temperature::new(t)).expect("in range");
        let back = saturation_temperature(p).expect("in range").si();
        prop_assert!((back - t).abs() < 1.0e-8, "{back} for {t}");
    }

    #[test]
    fn flows_come_back(
        flow in 1.0e-6..100.0_f64, t in -40.0..60.0_f64, w in 0.0..0.1_f64, bar in 0.6..20.0_f64,
    ) {
        let (t, p) = (Temperature::from_celsius(t), AbsolutePressure::from_bar(bar));
        let m = dry_air_mass_flow(FreeAir::new(flow), t, w, p).expect("in range");
        let back = free_air(m, t, w, p).expect("in range").si();
        prop_assert!((back / flow - 1.0).abs() < 1.0e-12);
        let m = mass_of_reference_air(ReferenceAir::new(flow));
        prop_assert!((reference_air(m).si() / flow - 1.0).abs() < 1.0e-12);
    }

    /// Moist air is lighter than dry air, and its two densities differ by its water.
    #[test]
    fn water_makes_air_lighter(t in -40.0..60.0_f64, w in 1.0e-6..0.1_f64, bar in 0.6..20.0_f64) {
        let (t, p) = (Temperature::from_celsius(t), AbsolutePressure::from_bar(bar));
        let dry_part = dry_air_density(t, w, p).expect("in range");
        let moist = moist_air_density(t, w, p).expect("in range");
        prop_assert!(moist < dry_air_density(t, 0.0, p).expect("in range"));
        let p_w = vapour_pressure_from_humidity_ratio(w, p).expect("in range");
        let water = vapour_density(t, p_w).expect("in range");
        prop_assert!(((moist - dry_part) / water - 1.0).abs() < 1.0e-9);
    }
}

#[test]
fn refusals_name_the_range_that_was_left() {
    let sea_level = AbsolutePressure::new(101_325.0);
    let dry = Formulation::REAL
        .dew_point(0.0, sea_level)
        .expect_err("dry air has no dew point");
    assert_eq!(
        dry.to_string(),
        "vapour pressure is 0 Pa, but the dew point holds from 0.000000012 to 1600000 Pa"
    );
    let hot = Temperature::from_celsius(131.0);
    let refusal = enhancement_factor_greenspan_1976(hot, sea_level).expect_err("too hot");
    assert_eq!(
        refusal.to_string(),
        "temperature is 131 °C, but the enhancement factor of Greenspan (1976) holds from -100 to \
         130 °C"
    );
    let boiling =
        Formulation::REAL.humidity_ratio(Temperature::from_celsius(101.0), 0.1, sea_level);
    assert!(matches!(boiling, Err(Refusal::Contradiction { .. })));
}

#[test]
fn the_bounds_themselves_are_inside() {
    let p = AbsolutePressure::from_bar(20.0);
    for air in ALL {
        let range = air.temperature_range();
        for t in [range.min, range.max] {
            let w = air.saturated_humidity_ratio(Temperature::from_celsius(t), p);
            let dew_point = w.and_then(|w| air.dew_point(w, p));
            assert!(dew_point.is_ok(), "{t} °C: {dew_point:?}");
        }
    }
    assert!(saturation_pressure_water_if97(Temperature::from_celsius(0.0)).is_ok());
    assert!(saturation_pressure_ice_iapws_r14_08(Temperature::from_celsius(0.01)).is_ok());
}
