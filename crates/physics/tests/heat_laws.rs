//! Laws of the heat exchangers over random numbers: every float gets a finite answer or a refusal
//! that holds; fouling makes hotter, above the thermostat and not below it; balances close.

use physics::air::{Formulation, enthalpy_moist_air};
use physics::heat::aftercooler::{Cooler, HotAir, march, transfer_units_at};
use physics::heat::cooler::*;
use physics::heat::ntu::*;
use physics::heat::thermostat::{ROUNDING, smooth_maximum};
use physics::machine::oil::free_discharge_temperature;
use physics::quantity::{AbsolutePressure, Power, Temperature, TemperatureDifference};
use physics::validity::{Answer, Refusal};
use proptest::num::f64::ANY;
use proptest::prelude::*;

/// Any float, or one that a station could know.
fn any_or(low: f64, high: f64) -> impl Strategy<Value = f64> {
    prop_oneof![ANY, low..high]
}
fn temperature() -> impl Strategy<Value = Temperature> {
    any_or(230.0, 400.0).prop_map(Temperature::new)
}

/// A finite answer, or a refusal whose range excludes what was given.
fn sound(answer: Answer<f64>) -> Result<(), TestCaseError> {
    match answer {
        Ok(value) => prop_assert!(value.is_finite(), "{value}"),
        Err(Refusal::OutOfRange { range, got }) => {
            let inside = range.min <= got && got <= range.max;
            prop_assert!(!inside, "{range:?} holds {got}");
        }
        Err(Refusal::Contradiction { must, .. }) => prop_assert!(!must.is_empty()),
        Err(Refusal::NoSolution { what }) => prop_assert!(!what.is_empty()),
    }
    Ok(())
}
fn given<T>(answer: Answer<T>) -> Result<T, TestCaseError> {
    answer.map_err(|refusal| TestCaseError::fail(refusal.to_string()))
}
fn celsius(t: f64) -> Temperature {
    Temperature::from_celsius(t)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn effectiveness_and_coolers_answer_or_refuse(
        (n, c_r, e) in (any_or(0.0, 30.0), any_or(0.0, 1.0), any_or(0.0, 0.999)),
        (t, t2, q) in (temperature(), temperature(), any_or(0.0, 1.0e5).prop_map(Power::new)),
        (dt, g, k) in (any_or(0.0, 80.0), any_or(1.0, 1000.0), any_or(0.0, 2.0)),
    ) {
        for answer in [
            effectiveness_crossflow_mason_1954(n, c_r),
            effectiveness_crossflow_approximate(n, c_r),
            effectiveness_counterflow(n, c_r),
        ] {
            sound(answer)?;
            if let Ok(value) = answer {
                prop_assert!((0.0..=1.0).contains(&value), "{value}");
            }
        }
        sound(transfer_units_crossflow(e, c_r))?;
        sound(rated_conductance(q, TemperatureDifference::new(dt)))?;
        sound(conductance(g, k, c_r))?;
        sound(fan_share_to_hold(q, t, t2, g))?;
        sound(smooth_maximum(t, t2, TemperatureDifference::new(dt)).map(Temperature::si))?;
    }

    #[test]
    fn more_transfer_units_move_more_heat(n in 0.01..25.0_f64, c_r in 0.0..1.0_f64) {
        for form in [
            effectiveness_crossflow_mason_1954,
            effectiveness_crossflow_approximate,
            effectiveness_counterflow,
        ] {
            let here = given(form(n, c_r))?;
            prop_assert!(given(form(n + 0.1, c_r))? >= here - 1e-12);
            prop_assert!(given(form(n, 0.9 * c_r))? >= here - 1e-12);
        }
        // No exchanger beats counterflow, none beats an endless other side.
        let exact = given(effectiveness_crossflow_mason_1954(n, c_r))?;
        prop_assert!(exact <= given(effectiveness_counterflow(n, c_r))? + 1e-9);
    }

    #[test]
    fn transfer_units_come_back(n in 0.05..5.0_f64, c_r in 0.0..1.0_f64) {
        let e = given(effectiveness_crossflow_mason_1954(n, c_r))?;
        let back = given(transfer_units_crossflow(e, c_r))?;
        prop_assert!((back - n).abs() < 1e-6 * n, "{back} for {n}");
    }

    #[test]
    fn more_air_and_a_clean_cooler_conduct_more(
        g in 50.0..1000.0_f64, k in 0.2..1.0_f64, s in 0.1..2.0_f64, q in 1.0e3..5.0e4_f64,
    ) {
        let here = given(conductance(g, k, s))?;
        prop_assert!(given(conductance(g, k * 1.05, s))? > here);
        prop_assert!(given(conductance(g, k, s * 1.05))? > here);
        let (held, cool) = (celsius(80.0), celsius(20.0));
        let share = given(fan_share_to_hold(Power::new(q), held, cool, g))?;
        if (0.01..3.0).contains(&share) {
            let carried = given(conductance(g, 1.0, share))? * 60.0;
            prop_assert!((carried / q - 1.0).abs() < 1e-9);
        }
    }

    /// Fouling makes the oil hotter above the thermostat's temperature and hides below it.
    #[test]
    fn fouling_shows_above_the_thermostat_only(
        cooling in -20.0..45.0_f64, heat in 5.0e3..4.0e4_f64, held in 70.0..90.0_f64,
        k in 0.5..0.9_f64,
    ) {
        let reading = |health: f64| -> Result<(f64, f64), TestCaseError> {
            let g = given(conductance(380.0, health, 1.0))?;
            let q = Power::new(heat);
            let free = given(free_discharge_temperature(celsius(cooling), q, q, g, 1_500.0))?;
            let shown = given(smooth_maximum(free, celsius(held), ROUNDING))?;
            Ok((free.celsius(), shown.celsius()))
        };
        let ((clean_free, clean), (fouled_free, fouled)) = (reading(1.0)?, reading(k)?);
        prop_assert!(fouled_free > clean_free);
        prop_assert!(fouled >= clean);
        prop_assert!(clean >= held - 1e-9 && clean >= clean_free - 1e-9);
        if fouled_free < held - 20.0 {
            prop_assert!(fouled - clean < 0.01, "hidden: {}", fouled - clean);
        }
        if clean_free > held + 10.0 {
            let whole = fouled_free - clean_free;
            prop_assert!((fouled - clean) > 0.9 * whole, "shown: {}", fouled - clean);
        }
    }

    #[test]
    fn the_smooth_maximum_rises_and_never_lies_below(
        free in 250.0..400.0_f64, held in 300.0..380.0_f64, w in 0.01..10.0_f64, more in 0.1..5.0_f64,
    ) {
        let at = |free: f64, held: f64| given(smooth_maximum(
            Temperature::new(free), Temperature::new(held), TemperatureDifference::new(w),
        ));
        let here = at(free, held)?.si();
        prop_assert!(here >= free.max(held) - 1e-9);
        prop_assert!(here <= free.max(held) + w * 2.0_f64.ln() + 1e-9);
        prop_assert!(at(free + more, held)?.si() >= here - 1e-9);
        prop_assert!(at(free, held + more)?.si() >= here - 1e-9);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn the_march_answers_or_refuses(
        (t, cool) in (temperature(), temperature()),
        (w, p) in (any_or(0.0, 0.2), any_or(5.0e4, 1.5e6).prop_map(AbsolutePressure::new)),
        (n, s, approach) in (any_or(0.001, 12.0), any_or(0.05, 0.95), any_or(1.0, 60.0)),
    ) {
        let air = HotAir { temperature: t, humidity_ratio: w, pressure: p };
        let cooler = Cooler { transfer_units: n, hot_side_share: s, cooling_air: cool };
        let out = march(air, cooler);
        sound(out.map(|o| o.temperature.si()))?;
        if let Ok(out) = out {
            prop_assert!(out.humidity_ratio.is_finite() && out.heat.is_finite());
            prop_assert!(out.liquid >= -1e-12 && out.humidity_ratio >= 0.0);
        }
        sound(transfer_units_at(air, cool, TemperatureDifference::new(approach), s))?;
    }

    /// In the range of a station the march always answers; heat and water balance, nothing leaves
    /// cooler than the cooling air or wetter than saturated, more units cool more.
    #[test]
    fn the_march_balances(
        day in -10.0..45.0_f64, rh in 0.05..1.0_f64, rise in 45.0..65.0_f64,
        bar in 5.0..14.0_f64, n in 0.5..3.5_f64, s in 0.3..0.7_f64,
    ) {
        let sea = AbsolutePressure::new(101_325.0);
        let w = given(Formulation::REAL.humidity_ratio(celsius(day), rh, sea))?;
        let air = HotAir {
            temperature: celsius(day + rise),
            humidity_ratio: w,
            pressure: AbsolutePressure::from_bar(bar),
        };
        // Vapour that the air cannot hold would be liquid at the inlet already.
        let most = Formulation::REAL.saturated_humidity_ratio(air.temperature, air.pressure);
        prop_assume!(most.is_ok_and(|most| w < most));
        let cooler = Cooler { transfer_units: n, hot_side_share: s, cooling_air: celsius(day) };
        let out = given(march(air, cooler))?;
        let start = given(enthalpy_moist_air(air.temperature, w, 0.0))?;
        let end = given(enthalpy_moist_air(out.temperature, out.humidity_ratio, out.liquid))?;
        prop_assert!((start - end - out.heat).abs() < 1e-6 * start.abs());
        prop_assert!((out.humidity_ratio + out.liquid - w).abs() < 1e-12);
        prop_assert!(out.temperature.celsius() > day - 1e-6);
        prop_assert!(out.temperature < air.temperature);
        let dry = day + rise * (-n).exp();
        prop_assert!(out.temperature.celsius() > dry - 0.02, "water warms the outlet");
        let most = given(Formulation::REAL.saturated_humidity_ratio(out.temperature, air.pressure))?;
        prop_assert!(out.humidity_ratio <= most * (1.0 + 1e-6));
        let larger = given(march(air, Cooler { transfer_units: n * 1.05, ..cooler }))?;
        prop_assert!(larger.temperature < out.temperature);
        prop_assert!(larger.heat > out.heat);
    }

    /// The inverse of the march comes back to the approach.
    #[test]
    fn the_rated_approach_comes_back(
        day in 0.0..40.0_f64, rh in 0.0..0.9_f64, approach in 5.0..20.0_f64, s in 0.3..0.7_f64,
    ) {
        let sea = AbsolutePressure::new(101_325.0);
        let w = given(Formulation::REAL.humidity_ratio(celsius(day), rh, sea))?;
        let air = HotAir {
            temperature: celsius(day + 60.0),
            humidity_ratio: w,
            pressure: AbsolutePressure::from_bar(8.0),
        };
        let (cool, wanted) = (celsius(day), TemperatureDifference::new(approach));
        let n = given(transfer_units_at(air, cool, wanted, s))?;
        let cooler = Cooler { transfer_units: n, hot_side_share: s, cooling_air: cool };
        let got = (given(march(air, cooler))?.temperature - cool).si();
        // Another number of steps is a hundredth of a kelvin.
        prop_assert!((got - approach).abs() < 0.02, "{got} for {approach}");
    }
}
