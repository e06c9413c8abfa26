//! Laws of holes, pipes and friction over random numbers: every float gets a finite answer or a
//! refusal that names a range without it; what must rise rises; inverses come back.

use physics::flow::*;
use physics::quantity::{AbsolutePressure, MassFlow, PressureDifference, Temperature};
use physics::validity::{Answer, Refusal};
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
fn any_pipe() -> impl Strategy<Value = Pipe> {
    (any_or(0.0, 500.0), any_or(0.005, 0.2), any_or(0.0, 2.0e-4)).prop_map(
        |(length_m, bore_m, roughness_m)| Pipe {
            length_m,
            bore_m,
            roughness_m,
        },
    )
}
fn any_law() -> impl Strategy<Value = FrictionLaw> {
    prop::sample::select(vec![
        FrictionLaw::Colebrook,
        FrictionLaw::Colebrook371,
        FrictionLaw::SwameeJain,
        FrictionLaw::Haaland,
        FrictionLaw::Nikuradse,
    ])
}
fn steel(length_m: f64, bore_m: f64) -> Pipe {
    Pipe {
        length_m,
        bore_m,
        roughness_m: 4.5e-5,
    }
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
fn kg(answer: Answer<MassFlow>) -> Answer<f64> {
    answer.map(MassFlow::si)
}
fn pa(answer: Answer<AbsolutePressure>) -> Answer<f64> {
    answer.map(AbsolutePressure::si)
}
fn drop_pa(answer: Answer<PressureDifference>) -> Answer<f64> {
    answer.map(PressureDifference::si)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn friction_is_sound(law in any_law(), re in any_or(1.0, 1.0e8), rough in any_or(0.0, 0.05)) {
        sound(law.factor(re, rough))?;
        sound(friction_factor(re, rough))?;
        sound(friction_factor_laminar(re))?;
        sound(friction_factor_colebrook_1939(re, rough))?;
        sound(friction_factor_haaland_1983(re, rough))?;
        sound(friction_factor_swamee_jain_1976(re, rough))?;
    }

    #[test]
    fn holes_are_sound(
        area in any_or(0.0, 1.0e-2), diameter in any_or(0.0, 0.1), cd in any_or(0.01, 1.0),
        p1 in any_pressure(), t in any_temperature(), p2 in any_pressure(), m in any_flow(),
    ) {
        sound(kg(mass_flow_orifice(area, cd, p1, t, p2)))?;
        sound(orifice_area(diameter))?;
        sound(sonic_conductance(area, cd))?;
        sound(Gas::AIR.mass_flux(p1, t, p2))?;
        match diameter_for_flow(m, cd, p1, t, p2) {
            Err(Refusal::NoSolution { .. }) => {
                let open = mass_flow_orifice(1.0, cd, p1, t, p2).map(MassFlow::si);
                prop_assert!(open.is_ok_and(|m| m <= 0.0), "only without a difference");
            }
            answer => sound(answer)?,
        }
    }

    #[test]
    fn components_and_gases_are_sound(
        c in any_or(0.0, 1.0e-6), b in any_or(0.0, 1.0), exponent in any_or(1.0, 2.0),
        constant in any_or(50.0, 500.0),
        p1 in any_pressure(), t in any_temperature(), p2 in any_pressure(),
    ) {
        sound(kg(mass_flow_iso_6358(c, b, p1, t, p2)))?;
        let gas = Gas { exponent, constant };
        sound(gas.critical_pressure_ratio())?;
        sound(gas.mass_flux(p1, t, p2))?;
    }

    #[test]
    fn pipes_are_sound(
        pipe in any_pipe(), p1 in any_pressure(), p2 in any_pressure(), t in any_temperature(),
        m in any_flow(), factor in any_or(0.0, 0.1), viscosity in any_or(1.0e-5, 3.0e-5),
    ) {
        sound(pipe.checked().map(|pipe| pipe.area_m2()))?;
        sound(pipe.reynolds(m, viscosity))?;
        sound(pipe.friction_factor_of_air(t, m))?;
        sound(velocity(pipe, p1, t, m))?;
        sound(pa(outlet_pressure_with_friction(pipe, p1, t, m, factor)))?;
        sound(pa(outlet_pressure_isothermal(pipe, p1, t, m)))?;
        sound(drop_pa(pressure_drop_darcy(pipe, p1, t, m)))?;
        sound(drop_pa(pressure_drop(pipe, p1, t, m)))?;
        sound(kg(mass_flow_isothermal(pipe, p1, p2, t, factor)))?;
        sound(choking_pressure_ratio(factor * 100.0))?;
    }

    /// More Reynolds number, less friction factor; more roughness, more; and λ Re², which is what
    /// the drop goes by, rises all the way through the transition.
    #[test]
    fn friction_rises_and_falls(
        law in any_law(), re in 0.0..8.0_f64, rough in 1e-6..0.05_f64, more in 1.001..2.0_f64,
    ) {
        let (re, rougher) = (10.0_f64.powf(re), (rough * more).min(0.05));
        let (low, high) = (law.factor(re, rough), law.factor((re * more).min(1.0e8), rough));
        let (low, high) = (low?, high?);
        let further = (re * more).min(1.0e8) / re;
        prop_assert!(high * further * further >= low, "{low} {high}");
        prop_assert!(law.factor(re, rougher)? >= low * (1.0 - 1e-12));
        if re >= friction::TURBULENT_FROM {
            prop_assert!(high <= low * (1.0 + 1e-12));
        }
    }

    /// Colebrook's answer satisfies Colebrook's equation.
    #[test]
    fn colebrook_holds(re in 3.31..10.0_f64, rough in 0.0..0.05_f64) {
        let re = 10.0_f64.powf(re);
        let x = friction_factor_colebrook_1939(re, rough)?.sqrt().recip();
        let right = -2.0 * (rough / 3.7 + 2.51 * x / re).log10();
        prop_assert!((x - right).abs() <= 1e-11 * x, "{x} {right}");
    }

    /// A higher pressure before and a lower one behind pass more air; hotter air passes less mass.
    #[test]
    fn holes_rise(
        p1 in 1.1e5..2.0e6_f64, share in 0.0..1.0_f64, t in 250.0..400.0_f64, more in 1.0..1.5_f64,
    ) {
        let flow = |p1: f64, t: f64, p2: f64| {
            let (p1, p2) = (AbsolutePressure::new(p1), AbsolutePressure::new(p2));
            kg(mass_flow_orifice(1.0e-5, 0.65, p1, Temperature::new(t), p2))
        };
        let p2 = p1 * share;
        let base = flow(p1, t, p2)?;
        prop_assert!(flow(p1 * more, t, p2)? >= base);
        prop_assert!(flow(p1, t, p2 / more)? >= base * (1.0 - 1e-12));
        prop_assert!(flow(p1, t * more, p2)? <= base);
        // Choked, the pressure behind does not matter.
        if share < 0.5 {
            prop_assert!((flow(p1, t, 0.0)? - base).abs() <= 1e-12 * base);
        }
    }

    #[test]
    fn diameter_comes_back(
        d in 1e-4..0.1_f64, p1 in 1.2e5..2.0e6_f64, share in 0.0..0.99_f64, t in 250.0..400.0_f64,
    ) {
        let (p1, p2) = (AbsolutePressure::new(p1), AbsolutePressure::new(p1 * share));
        let t = Temperature::new(t);
        let m = mass_flow_orifice(orifice_area(d)?, 0.8, p1, t, p2)?;
        let back = diameter_for_flow(m, 0.8, p1, t, p2)?;
        prop_assert!((back - d).abs() <= 1e-12 * d);
    }

    /// The ISO 6358 ellipse falls from choked flow to nothing without a step.
    #[test]
    fn iso_6358_falls(b in 0.0..0.99_f64, share in 0.0..1.0_f64, more in 0.0..1.0_f64) {
        let flow = |ratio: f64| {
            let (p1, p2) = (AbsolutePressure::new(8.0e5), AbsolutePressure::new(8.0e5 * ratio));
            kg(mass_flow_iso_6358(1.0e-8, b, p1, Temperature::new(300.0), p2))
        };
        let higher = share + (1.0 - share) * more;
        prop_assert!(flow(higher)? <= flow(share)? * (1.0 + 1e-12));
        prop_assert!(flow(1.0)? <= 1e-12);
        prop_assert!((flow(b)? - flow(b + 1e-9)?).abs() <= 1e-6 * flow(0.0)?);
    }

    /// More flow, length or roughness lose more; more pressure or bore lose less.
    #[test]
    fn drops_rise(
        length in 1.0..500.0_f64, bore in 0.02..0.1_f64, m in 1e-4..0.2_f64, more in 1.0..1.3_f64,
    ) {
        let p1 = AbsolutePressure::new(8.0e5);
        let t = Temperature::new(293.15);
        let lost = |pipe: Pipe, p1: AbsolutePressure, m: f64| {
            drop_pa(pressure_drop(pipe, p1, t, MassFlow::new(m)))
        };
        let pipe = steel(length, bore);
        let Ok(base) = lost(pipe, p1, m) else { return Ok(()) };
        let slack = 1.0 - 1e-12;
        let longer = steel(length * more, bore);
        if let Ok(lost) = lost(pipe, p1, m * more) { prop_assert!(lost >= base * slack); }
        if let Ok(lost) = lost(longer, p1, m) { prop_assert!(lost >= base * slack); }
        let rougher = Pipe { roughness_m: 4.5e-5 * more, ..pipe };
        if let Ok(lost) = lost(rougher, p1, m) { prop_assert!(lost >= base * slack); }
        prop_assert!(lost(steel(length, bore * more), p1, m)? <= base * (1.0 + 1e-12));
        prop_assert!(lost(pipe, AbsolutePressure::new(8.0e5 * more), m)? <= base * (1.0 + 1e-12));
    }

    /// The flow between two pressures comes back, unless the pipe is choked.
    #[test]
    fn flow_comes_back(
        length in 1.0..500.0_f64, bore in 0.01..0.1_f64, share in 0.05..0.999_f64,
        f in 0.01..0.05_f64,
    ) {
        let (p1, p2) = (AbsolutePressure::new(8.0e5), AbsolutePressure::new(8.0e5 * share));
        let (pipe, t) = (steel(length, bore), Temperature::new(300.0));
        let choked_to = choking_pressure_ratio(f * length / bore)?;
        prop_assert!(choked_to > 0.0 && choked_to <= 1.0);
        let m = mass_flow_isothermal(pipe, p1, p2, t, f)?;
        if share > choked_to + 0.01 {
            let back = outlet_pressure_with_friction(pipe, p1, t, m, f)?;
            prop_assert!((back.si() - p2.si()).abs() <= 1e-8 * p2.si(), "{back:?} {p2:?}");
        }
        // Nothing passes more than the choking flow.
        let most = mass_flow_isothermal(pipe, p1, AbsolutePressure::new(1.0e3), t, f)?;
        prop_assert!(m.si() <= most.si() * (1.0 + 1e-12));
        prop_assert!(outlet_pressure_with_friction(pipe, p1, t, most * 1.001, f).is_err());
    }
}
