//! Laws of vessels over random numbers: every float gets a finite answer or a refusal that names a
//! range without it; what must rise rises; inverses come back.

use physics::quantity::{AbsolutePressure, FreeAir, MassFlow, PressureDifference, Temperature};
use physics::validity::{Answer, Refusal};
use physics::vessel::*;
use proptest::num::f64::ANY;
use proptest::prelude::*;

/// Any float, or one that a station could know.
fn any_or(low: f64, high: f64) -> impl Strategy<Value = f64> {
    prop_oneof![1 => ANY, 4 => low..high]
}
fn any_pressure() -> impl Strategy<Value = AbsolutePressure> {
    any_or(1.0e3, 5.0e6).prop_map(AbsolutePressure::new)
}
fn any_temperature() -> impl Strategy<Value = Temperature> {
    any_or(150.0, 600.0).prop_map(Temperature::new)
}
fn any_flow() -> impl Strategy<Value = MassFlow> {
    any_or(0.0, 2.0).prop_map(MassFlow::new)
}
fn any_band() -> impl Strategy<Value = PressureDifference> {
    any_or(0.0, 1.0e5).prop_map(PressureDifference::new)
}
fn bar(p: f64) -> AbsolutePressure {
    AbsolutePressure::from_bar(p)
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
            // Flows and pressures that are equal but for rounding contradict too.
            prop_assert!(
                first >= second - 1e-5,
                "{first} and {second} do not contradict"
            );
        }
        Err(Refusal::NoSolution { what }) => prop_assert!(false, "no {what}"),
    }
    Ok(())
}
fn kg(answer: Answer<MassFlow>) -> Answer<f64> {
    answer.map(MassFlow::si)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn storage_is_sound(
        v in any_or(1e-3, 50.0), t in any_temperature(), p1 in any_pressure(), p2 in any_pressure(),
        m1 in any_flow(), m2 in any_flow(), s in any_or(0.0, 1.0e4),
    ) {
        sound(mass_between(v, t, p1, p2))?;
        sound(hold_time(v, t, p1, p2, m1, m2))?;
        sound(fill_time(v, t, p1, p2, m1, m2))?;
        sound(volume_for_hold(s, t, p1, p2, m1, m2))?;
    }

    #[test]
    fn cycles_are_sound(
        v in any_or(1e-3, 50.0), t in any_temperature(), band in any_band(), lost in any_band(),
        m in any_flow(), x in any_or(0.0, 1.0), z in any_or(0.0, 500.0),
    ) {
        sound(cycles_per_hour(v, t, band, m, x))?;
        sound(worst_cycles_per_hour(v, t, band, m))?;
        sound(volume_for_cycles(z, t, band, m))?;
        match receiver_band(band, lost) {
            // What is left must be a band itself, not only more than nothing.
            Err(Refusal::Contradiction { first, second, .. }) => {
                prop_assert!(second - first < 10.001);
            }
            answer => sound(answer.map(PressureDifference::si))?,
        }
        // A time that never ends is refused only when nothing moves the pressure.
        let never = |flow: f64| flow <= 1e-15;
        match load_time(v, t, band, m, x) {
            Err(Refusal::NoSolution { .. }) => prop_assert!(never(m.si() * (1.0 - x))),
            answer => sound(answer)?,
        }
        match unload_time(v, t, band, m, x) {
            Err(Refusal::NoSolution { .. }) => prop_assert!(never(m.si() * x)),
            answer => sound(answer)?,
        }
    }

    #[test]
    fn leak_tests_are_sound(
        v in any_or(1e-3, 50.0), t in any_temperature(), t2 in any_temperature(),
        p1 in any_pressure(), p2 in any_pressure(), p3 in any_pressure(), s in any_or(0.0, 1.0e4),
        s2 in any_or(0.0, 1.0e4), m in any_flow(),
    ) {
        match leak_share_from_cycle(s, s2) {
            Err(Refusal::NoSolution { .. }) => prop_assert!(s + s2 <= 0.0),
            answer => sound(answer)?,
        }
        sound(kg(leak_from_decay_mean(v, t, p1, p2, s)))?;
        sound(kg(leak_from_decay_doe(v, t, p1, p2, s)))?;
        sound(kg(leak_from_decay_exact(v, t, p1, p2, p3, s)))?;
        sound(kg(leak_at_pressure(m, p1, p2)))?;
        sound(volume_from_decay(m, t, p1, p2, s))?;
        let fad = fad_from_pump_up(v, (p1, t), (p2, t2), s, (p3, t));
        sound(fad.map(FreeAir::si))?;
        sound(pressure_at_temperature(p1, t, t2).map(AbsolutePressure::si))?;
    }

    #[test]
    fn energy_venting_and_cooling_are_sound(
        v in any_or(1e-3, 50.0), p in any_pressure(), p_end in any_pressure(),
        sea in any_pressure(),
        energy in any_or(0.0, 3.0e8), u in any_or(0.0, 50.0), area in any_or(1e-8, 1e-2),
        cd in any_or(0.01, 1.0), t in any_temperature(), adiabatic in any::<bool>(),
    ) {
        sound(stored_energy_j(p, v, sea))?;
        sound(tnt_equivalent_kg(energy))?;
        for rule in [DistanceRule::Pcc2Of2008, DistanceRule::Pcc2Article501] {
            sound(test_distance_m(energy, rule))?;
            sound(scaled_distance_m(energy, rule))?;
        }
        sound(receiver_area_m2(v))?;
        sound(receiver_ua_w_k(u, v))?;
        let vent = Vent { volume_m3: v, area_m2: area, discharge_coefficient: cd, atmosphere: sea };
        let expansion = if adiabatic { Expansion::Adiabatic } else { Expansion::Isothermal };
        sound(vent.time_constant_s(t))?;
        sound(vent.time_s(p, t, p_end, expansion))?;
    }

    /// Volume and time turn into each other; the load cycle is worst at half and the same both
    /// ways.
    #[test]
    fn storage_comes_back(
        v in 0.1..50.0_f64, low in 1.0..7.0_f64, band in 0.05..2.0_f64, m in 1e-3..1.0_f64,
        x in 0.01..0.99_f64,
    ) {
        let (t, none) = (Temperature::new(300.0), MassFlow::new(0.0));
        let (demand, p1, p2) = (MassFlow::new(m), bar(low + band), bar(low));
        let s = hold_time(v, t, p1, p2, demand, none)?;
        prop_assert!((volume_for_hold(s, t, p1, p2, demand, none)? - v).abs() <= 1e-9 * v);
        prop_assert!((fill_time(v, t, p2, p1, demand, none)? - s).abs() <= 1e-12 * s);
        prop_assert!(hold_time(v, t, p1, p2, demand, demand * x)? > s);
        let leak = leak_from_decay_mean(v, t, p1, p2, s)?;
        prop_assert!((leak.si() - m).abs() <= 1e-9 * m);
        prop_assert!((volume_from_decay(leak, t, p1, p2, s)? - v).abs() <= 1e-9 * v);

        let band = PressureDifference::from_bar(band);
        let z = cycles_per_hour(v, t, band, demand, x)?;
        let mirrored = cycles_per_hour(v, t, band, demand, 1.0 - x)?;
        prop_assert!((z - mirrored).abs() <= 1e-9 * z);
        let worst = worst_cycles_per_hour(v, t, band, demand)?;
        prop_assert!(z <= worst * (1.0 + 1e-12));
        prop_assert!((volume_for_cycles(worst, t, band, demand)? - v).abs() <= 1e-9 * v);
        let cycle = load_time(v, t, band, demand, x)? + unload_time(v, t, band, demand, x)?;
        prop_assert!((3600.0 / cycle - z).abs() <= 1e-9 * z);
    }

    /// The exact leakage lies between the mean one and the mean one at the ratio of the pressures.
    #[test]
    fn exact_decay_lies_above_the_mean(p2 in 2.0..8.0_f64, more in 1.01..3.0_f64) {
        let (t, p1, sea) = (Temperature::new(300.0), bar(p2 * more), bar(1.01));
        let mean = leak_from_decay_mean(2.0, t, p1, bar(p2), 100.0)?;
        let exact = leak_from_decay_exact(2.0, t, p1, bar(p2), sea, 100.0)?;
        prop_assert!(exact.si() >= mean.si());
        prop_assert!(exact.si() <= mean.si() * more);
        let end = leak_at_pressure(exact, p1, bar(p2))?;
        prop_assert!(end.si() <= mean.si() * (1.0 + 1e-12));
        let back = leak_at_pressure(end, bar(p2), p1)?;
        prop_assert!((back.si() - exact.si()).abs() <= 1e-12 * exact.si());
    }

    /// A pump-up by a known flow gives that flow back.
    #[test]
    fn pump_up_comes_back(
        v in 0.1..10.0_f64, low in 1.0..3.0_f64, rise in 0.5..6.0_f64, m in 0.01..1.0_f64,
    ) {
        let (t, none) = (Temperature::new(300.0), MassFlow::new(0.0));
        let (p1, p2) = (bar(low), bar(low + rise));
        let s = fill_time(v, t, p1, p2, MassFlow::new(m), none)?;
        let intake = (bar(0.98), Temperature::new(290.0));
        let fad = fad_from_pump_up(v, (p1, t), (p2, t), s, intake)?;
        let mass = fad.si() * 0.98e5 / (287.05 * 290.0);
        prop_assert!((mass - m).abs() <= 1e-9 * m);
    }

    /// More pressure or volume stores more; energy is at most p V ln(p/p_a), which is isothermal.
    #[test]
    fn energy_rises(p in 1.02..40.0_f64, v in 1e-3..50.0_f64, more in 1.0..1.2_f64) {
        let sea = bar(1.01);
        let energy = stored_energy_j(bar(p), v, sea)?;
        prop_assert!(stored_energy_j(bar(p * more), v, sea)? >= energy);
        prop_assert!(stored_energy_j(bar(p), v * more, sea)? >= energy);
        prop_assert!(energy <= p * 1e5 * v * (p / 1.01).ln());
        prop_assert!(stored_energy_j(sea, v, sea)?.abs() < 1e-9);
        prop_assert!(receiver_area_m2(v * more)? >= receiver_area_m2(v)?);
    }

    /// Venting further takes longer, in two parts as long as in one when isothermal; taking no heat
    /// is always faster.
    #[test]
    fn venting_adds_up(p0 in 1.2..20.0_f64, a in 0.0..1.0_f64, b in 0.0..1.0_f64) {
        let sea = 1.01;
        let vent = Vent {
            volume_m3: 1.0, area_m2: 1e-4, discharge_coefficient: 0.65, atmosphere: bar(sea),
        };
        let t = Temperature::new(300.0);
        let mid = sea + (p0 - sea) * a.max(b);
        let end = sea + (p0 - sea) * a.min(b);
        let isothermal =
            |from: f64, to: f64| vent.time_s(bar(from), t, bar(to), Expansion::Isothermal);
        let whole = isothermal(p0, end)?;
        let parts = isothermal(p0, mid)? + isothermal(mid, end)?;
        prop_assert!((whole - parts).abs() <= 1e-6 * whole + 1e-9, "{whole} {parts}");
        prop_assert!(isothermal(p0, mid)? <= whole + 1e-9);
        let adiabatic = vent.time_s(bar(p0), t, bar(end), Expansion::Adiabatic)?;
        prop_assert!(adiabatic <= whole * (1.0 + 1e-9) + 1e-12);
    }
}
