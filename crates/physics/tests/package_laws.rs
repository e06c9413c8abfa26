//! Laws of compression, room, belt, motor, oil and package over random numbers: every float gets a
//! finite answer or a refusal that holds; what must rise rises; inverses come back.

use physics::machine::{belt::*, compression::*, motor::*, oil::*, package::*};
use physics::quantity::{
    AbsolutePressure, FreeAir, GaugePressure, MassFlow, Power, PressureDifference, Temperature,
    TemperatureDifference,
};
use physics::room::*;
use physics::validity::{Answer, Refusal};
use proptest::num::f64::ANY;
use proptest::prelude::*;

/// Any float, or one that a station could know.
fn any_or(low: f64, high: f64) -> impl Strategy<Value = f64> {
    prop_oneof![ANY, low..high]
}
fn share() -> impl Strategy<Value = f64> {
    any_or(0.0, 1.0)
}
fn pressure() -> impl Strategy<Value = AbsolutePressure> {
    any_or(5.0e4, 1.5e6).prop_map(AbsolutePressure::new)
}
fn gauge() -> impl Strategy<Value = GaugePressure> {
    any_or(0.0, 1.5e6).prop_map(GaugePressure::new)
}
fn temperature() -> impl Strategy<Value = Temperature> {
    any_or(230.0, 400.0).prop_map(Temperature::new)
}
fn power() -> impl Strategy<Value = Power> {
    any_or(0.0, 1.0e5).prop_map(Power::new)
}
fn free_air() -> impl Strategy<Value = FreeAir> {
    any_or(0.0, 1.0).prop_map(FreeAir::new)
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
        Err(Refusal::NoSolution { what }) => prop_assert!(false, "no {what}"),
    }
    Ok(())
}
fn same(what: &str, got: f64, want: f64, relative: f64) -> Result<(), TestCaseError> {
    let close = (got - want).abs() <= relative * want.abs().max(1.0e-9);
    prop_assert!(close, "{what}: {got}, expected {want}");
    Ok(())
}
fn given<T>(answer: Answer<T>) -> Result<T, TestCaseError> {
    answer.map_err(|refusal| TestCaseError::fail(refusal.to_string()))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn compression_answers_or_refuses(
        p1 in pressure(), p2 in pressure(), v in free_air(), t in temperature(),
        x in any_or(1.0, 40.0), n in any_or(1.01, 1.67), eta in any_or(0.4, 1.0),
        (drawn, ideal) in (power(), power()),
    ) {
        sound(polytropic_head(x, n))?;
        sound(two_stage_head(x, n))?;
        sound(intermediate_pressure(p1, p2).map(AbsolutePressure::si))?;
        sound(isothermal_work_j_kg(t, x))?;
        sound(polytropic_work_j_kg(t, x, n))?;
        sound(isentropic_work_j_kg(t, x))?;
        sound(two_stage_work_j_kg(t, x, n))?;
        sound(isothermal_power(p1, v, p2).map(Power::si))?;
        sound(polytropic_power(p1, v, p2, n).map(Power::si))?;
        sound(isentropic_power(p1, v, p2).map(Power::si))?;
        sound(two_stage_power(p1, v, p2, n).map(Power::si))?;
        sound(isothermal_efficiency(ideal, drawn))?;
        sound(isentropic_outlet_temperature(t, x, n).map(Temperature::si))?;
        sound(polytropic_exponent(n, eta))?;
        sound(isentropic_efficiency(x, n, eta))?;
        for speed in [Speed::Fixed, Speed::Variable] {
            for cooling in [Cooling::Air, Cooling::Liquid] {
                sound(least_efficiency_10_cfr_431_345(v, speed, cooling))?;
            }
        }
    }

    #[test]
    fn room_belt_and_motor_answer_or_refuse(
        (a, b, c) in (any_or(0.05, 3.0), any_or(0.05, 1.0), any_or(0.05, 1.0)),
        (x, y) in (any_or(0.0, 4000.0), any_or(0.0, 4000.0)),
        (q, t, p) in (power(), temperature(), pressure()),
        eta in share(),
    ) {
        sound(room_rise(q, a, t, p).map(TemperatureDifference::si))?;
        sound(ventilation_for_rise(q, TemperatureDifference::new(b), t, p))?;
        sound(opening_velocity_m_s(a, b))?;
        sound(length_exact_m(a, b, c))?;
        sound(length_approximate_m(a, b, c))?;
        sound(centres_from_length_m(a, b, c))?;
        sound(span_m(a, b, c))?;
        sound(wrap_small_deg(a, b, c))?;
        sound(deflection_m(a))?;
        sound(deflection_sixty_fourth_m(a))?;
        sound(tension_from_frequency_n(a, b, x))?;
        sound(frequency_from_tension_hz(a, b, x))?;
        sound(deflection_force_n(x, a, b))?;
        sound(deflection_force_n(x, a, 0.016 * a))?;
        sound(tension_from_deflection_n(x, a, b))?;
        sound(tension_from_deflection_n(x, a, 0.016 * a))?;
        sound(slip(x, y, b, c))?;
        for section in Section::ALL {
            if let Some(window) = force_window(section, b) {
                prop_assert!(window.min_n > 0.0 && window.min_n < window.max_n);
            }
        }
        let plate = MotorPlate { current_a: x, power_factor: eta };
        sound(three_phase_power(x, y, eta).map(Power::si))?;
        sound(magnetising_current_a(plate))?;
        sound(power_from_current(y, a * 400.0, plate).map(Power::si))?;
        sound(power_from_current_naive(y, a * 400.0, plate).map(Power::si))?;
        sound(shaft_power(q, eta).map(Power::si))?;
        sound(input_power(q, eta).map(Power::si))?;
        sound(starts_per_hour_nema_mg_10(x))?;
        sound(starts_per_hour_with_load_nema_mg_10(x, y))?;
        sound(starts_per_hour_with_load_nema_mg_10(100.0, y))?;
        sound(rest_between_starts_s_nema_mg_10(x))?;
        for class in [EfficiencyClass::Ie2, EfficiencyClass::Ie3, EfficiencyClass::Ie4] {
            sound(efficiency_iec_60034_30_1_2014(class, x))?;
        }
    }

    #[test]
    fn oil_and_package_answer_or_refuse(
        (t, t2, q, q2, q3) in (temperature(), temperature(), power(), power(), power()),
        (p1, p2, p3, p4) in (pressure(), pressure(), pressure(), pressure()),
        (g1, g2, v) in (gauge(), gauge(), free_air()),
        (a, b, c, d) in (any_or(0.0, 2.0), any_or(0.0, 2.0), any_or(0.0, 2.0), any_or(0.0, 2.0)),
        (g, oil) in (any_or(10.0, 1000.0), any_or(100.0, 5000.0)),
        (h1, h2) in (any_or(0.0, 2.0e5), any_or(0.0, 2.0e5)),
    ) {
        sound(free_discharge_temperature(t, q, q2, g, oil).map(Temperature::si))?;
        sound(oil_capacity(a, b))?;
        sound(ageing_rate(t, t2))?;
        let d1 = Delivery {
            rated: v, air_end: a, belt: b, speed: c, slip_per_pa: d * 1.0e-7,
            rated_pressure: g1, pressure: g2, intake_share: d,
        };
        sound(free_air_delivered(d1).map(FreeAir::si))?;
        let drop = PressureDifference::new(h1);
        sound(air_end_pressure(p1, drop, p2, PressureDifference::new(h2))
            .map(AbsolutePressure::si))?;
        let (at, rated) = (
            Compression { intake: p1, discharge: p2 },
            Compression { intake: p3, discharge: p4 },
        );
        sound(power_on_load(q, q2, q3, a, at, rated).map(Power::si))?;
        sound(modulating_power_share(a))?;
        sound(blowdown_loss_kg(a, p1, p2, t))?;
        sound(surface_heat(q, q2, None, a, b).map(Power::si))?;
        sound(surface_heat(q, q2, Some(c), a, b).map(Power::si))?;
        sound(specific_power(q, v))?;
        sound(worth_of_air_kwh_per_m3(q, q2, v))?;
        sound(oil_heat(q, q2, MassFlow::new(a), h1, h2).map(Power::si))?;
    }

    #[test]
    fn more_pressure_takes_more_work(
        x in 1.0..39.0_f64, more in 0.01..1.0_f64, n in 1.01..1.67_f64, t in 250.0..320.0_f64,
    ) {
        let t = Temperature::new(t);
        prop_assert!(given(polytropic_head(x + more, n))? > given(polytropic_head(x, n))?);
        // Isothermal is the least, two stages lie between, cooling between saves.
        let isothermal = given(isothermal_work_j_kg(t, x))?;
        let two = given(two_stage_work_j_kg(t, x, n))?;
        let one = given(polytropic_work_j_kg(t, x, n))?;
        let slack = 1.0 + 1.0e-12;
        prop_assert!(isothermal <= two * slack && two <= one * slack);
        let hot = given(isentropic_outlet_temperature(t, x, n))?;
        prop_assert!(hot >= t);
    }

    #[test]
    fn more_pressure_draws_more_power_and_a_choked_intake_less(
        gauge in 4.0..13.0_f64, more in 0.01..1.0_f64, choked in 0.7..0.999_f64,
    ) {
        let sea = AbsolutePressure::new(101_325.0);
        let power = |intake: AbsolutePressure, bar: f64| {
            let discharge = GaugePressure::from_bar(bar).absolute(sea);
            let rated = Compression { intake: sea, discharge: AbsolutePressure::from_bar(8.8) };
            let fan = Power::from_kw(1.0);
            power_on_load(Power::from_kw(33.0), fan, fan, 1.0, Compression { intake, discharge }, rated)
        };
        let here = given(power(sea, gauge))?;
        prop_assert!(given(power(sea, gauge + more))? > here);
        prop_assert!(given(power(AbsolutePressure::new(choked * sea.si()), gauge))? < here);
    }

    #[test]
    fn delivery_falls_with_slip_wear_pressure_and_choking(
        k in 0.5..0.999_f64, gauge in 4.0..12.0_f64, more in 0.01..1.0_f64,
    ) {
        let delivery = Delivery {
            rated: FreeAir::from_m3_per_min(5.3), air_end: 1.0, belt: 1.0, speed: 1.0,
            slip_per_pa: 0.005e-5, rated_pressure: GaugePressure::from_bar(7.5),
            pressure: GaugePressure::from_bar(gauge), intake_share: 1.0,
        };
        let full = given(free_air_delivered(delivery))?;
        let pressed = GaugePressure::from_bar(gauge + more);
        for less in [
            Delivery { air_end: k, ..delivery },
            Delivery { belt: k, ..delivery },
            Delivery { speed: k, ..delivery },
            Delivery { intake_share: k, ..delivery },
            Delivery { pressure: pressed, ..delivery },
        ] {
            prop_assert!(given(free_air_delivered(less))? < full);
        }
    }

    #[test]
    fn oil_is_hotter_with_less_conductance_more_heat_and_warmer_air(
        t in 260.0..320.0_f64, q in 1.0e3..1.0e5_f64, duty in 0.05..1.0_f64,
        part in 0.05..0.95_f64, oil in 500.0..5000.0_f64, more in 1.01..1.5_f64,
    ) {
        // No cooler gives the oil up to more than its own capacity carries.
        let g = part * oil / more;
        let at = |t: f64, mean: f64, now: f64, g: f64| given(free_discharge_temperature(
            Temperature::new(t), Power::new(mean), Power::new(now), g, oil,
        ));
        let here = at(t, q * duty, q, g)?;
        prop_assert!(at(t + 1.0, q * duty, q, g)? > here);
        prop_assert!(at(t, q * duty, q, g / more)? > here);
        prop_assert!(at(t, q * duty * more, q, g)? > here);
        prop_assert!(at(t, q * duty, q * more, g)? > here);
        // Ten kelvin more halve the life, above the reference.
        let rate = |t: Temperature| given(ageing_rate(t, LIFE_REFERENCE));
        let hot = LIFE_REFERENCE + TemperatureDifference::new(more * 10.0);
        same("doubling", rate(hot + TemperatureDifference::new(10.0))? / rate(hot)?, 2.0, 1e-9)?;
    }

    #[test]
    fn heat_of_the_package_balances(
        q in 2.0e3..2.0e5_f64, fan in 0.0..0.1_f64, eta in 0.7..1.0_f64,
        drive in 0.0..0.06_f64, slip in 0.0..0.05_f64, air in 0.0..1.0_f64,
    ) {
        let (input, fan) = (Power::new(q), Power::new(q * fan));
        for efficiency in [None, Some(eta)] {
            let surface = given(surface_heat(input, fan, efficiency, drive, slip))?;
            prop_assert!(surface.si() >= 0.0 && surface <= input);
            let more = given(surface_heat(input, fan, efficiency, drive, slip + 0.01))?;
            prop_assert!(more > surface);
            // The air takes a tenth of what is left per unit of `air`.
            let air_flow = MassFlow::new(0.1 * air * (q - surface.si()) / 6.0e4);
            let oil = given(oil_heat(input, surface, air_flow, 3.0e4, 9.0e4))?;
            let out = oil.si() + surface.si() + air_flow.si() * 6.0e4;
            same("out", out, q, 1e-9)?;
        }
    }

    #[test]
    fn room_and_its_inverse(
        q in 1.0e3..1.0e6_f64, v in 1.0..50.0_f64, t in 250.0..320.0_f64, p in 6.0e4..1.1e5_f64,
    ) {
        let (q, t, p) = (Power::new(q), Temperature::new(t), AbsolutePressure::new(p));
        if let Ok(rise) = room_rise(q, v, t, p) {
            prop_assume!(rise.si() > 0.2 && rise.si() < 80.0);
            same("m3/s", given(ventilation_for_rise(q, rise, t, p))?, v, 1e-12)?;
            prop_assert!(given(room_rise(q * 1.1, v, t, p))? > rise);
            prop_assert!(given(room_rise(q, v * 1.1, t, p))? < rise);
            // Thin and warm air carries less.
            prop_assert!(given(room_rise(q, v, t, AbsolutePressure::new(p.si() * 0.9)))? > rise);
            let warmer = t + TemperatureDifference::new(10.0);
            prop_assert!(given(room_rise(q, v, warmer, p))? > rise);
        }
    }

    #[test]
    fn belt_and_its_inverses(
        c in 0.3..3.0_f64, large in 0.1..0.29_f64, ratio in 0.3..1.0_f64,
        mass in 0.05..0.4_f64, tension in 50.0..1500.0_f64, h in 0.005..0.05_f64,
    ) {
        let small = large * ratio;
        let length = given(length_approximate_m(c, large, small))?;
        same("C", given(centres_from_length_m(length, small, large))?, c, 1e-9)?;
        let exact = given(length_exact_m(c, large, small))?;
        prop_assert!(exact >= length * (1.0 - 1e-12) && exact < length * 1.001);
        let span = given(span_m(c, large, small))?;
        prop_assert!(span <= c);
        prop_assert!(given(wrap_small_deg(c, large, small))? <= 180.0);
        let f = given(frequency_from_tension_hz(mass, span, tension))?;
        same("T", given(tension_from_frequency_n(mass, span, f))?, tension, 1e-12)?;
        prop_assert!(given(tension_from_frequency_n(mass, span, f * 1.1))? > tension);
        let force = given(deflection_force_n(tension, span, h * span))?;
        same("T", given(tension_from_deflection_n(force, span, h * span))?, tension, 1e-12)?;
        // Slip: what the air end turns too slowly.
        let s = given(slip(1_480.0, (1.0 - h) * 1_480.0 / ratio, large, small))?;
        same("slip", s, h, 1e-9)?;
    }

    #[test]
    fn motor_and_its_inverses(
        rated in 5.0..500.0_f64, factor in 0.5..0.95_f64, load in 0.01..1.5_f64,
        kw in 5.5..131.0_f64, more in 0.01..1.0_f64,
    ) {
        let plate = MotorPlate { current_a: rated, power_factor: factor };
        let magnetising = given(magnetising_current_a(plate))?;
        // A current built by Pythagoras from its active part comes back as that part.
        let active = load * rated * factor;
        let truth = given(three_phase_power(400.0, active, 1.0))?;
        let split = given(power_from_current(magnetising.hypot(active), 400.0, plate))?;
        same("power", split.si(), truth.si(), 1e-6)?;
        // Below rated load the naive form reads high, above it low.
        let naive = given(power_from_current_naive(magnetising.hypot(active), 400.0, plate))?;
        prop_assert!((naive > split) == (load < 1.0) || (load - 1.0).abs() < 1e-9);
        // Larger motors: fewer starts, longer rests, better efficiency; better classes are better.
        prop_assert!(given(starts_per_hour_nema_mg_10(kw + more))?
            < given(starts_per_hour_nema_mg_10(kw))?);
        prop_assert!(given(rest_between_starts_s_nema_mg_10(kw + more))?
            > given(rest_between_starts_s_nema_mg_10(kw))?);
        let eta = |class, kw| given(efficiency_iec_60034_30_1_2014(class, kw));
        prop_assert!(eta(EfficiencyClass::Ie3, kw + more)? > eta(EfficiencyClass::Ie3, kw)?);
        prop_assert!(eta(EfficiencyClass::Ie2, kw)? < eta(EfficiencyClass::Ie3, kw)?);
        prop_assert!(eta(EfficiencyClass::Ie3, kw)? < eta(EfficiencyClass::Ie4, kw)?);
        let shaft = given(shaft_power(Power::from_kw(kw), factor))?;
        same("input", given(input_power(shaft, factor))?.kw(), kw, 1e-12)?;
    }
}
