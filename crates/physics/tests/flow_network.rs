//! Nets of pipes against a network program's states, and laws every net obeys.
//! Each check names its source and how it is known.

mod air_support;

use air_support::{near, near_rel, table};
use physics::flow::*;
use physics::quantity::{AbsolutePressure, GaugePressure, MassFlow, Temperature};
use physics::validity::{Answer, Refusal};
use proptest::num::f64::ANY;
use proptest::prelude::*;

const ATMOSPHERE: AbsolutePressure = AbsolutePressure::new(101_325.0);
const PIPES: [(&str, usize, usize, f64, f64); 7] = [
    ("P12", 1, 2, 60.0, 0.0779),
    ("P23", 2, 3, 80.0, 0.0525),
    ("P34", 3, 4, 50.0, 0.0525),
    ("P45", 4, 5, 70.0, 0.0525),
    ("P56", 5, 6, 90.0, 0.0525),
    ("P61", 6, 1, 40.0, 0.0779),
    ("P25", 2, 5, 75.0, 0.0409),
];

/// Two loops: N1 the supply at 7 bar(g), draw-offs at N3, N4 and N6; pipes named P12…P25.
fn ring_main(law: FrictionLaw, times: f64, closed: &str) -> (Vec<&'static str>, Network) {
    let open = PIPES.iter().filter(|(name, ..)| *name != closed);
    let (names, branches) = open
        .map(|&(name, from, to, length_m, bore_m)| {
            let pipe = Pipe {
                length_m,
                bore_m,
                roughness_m: 4.5e-5,
            };
            (
                name,
                Branch {
                    from: from - 1,
                    to: to - 1,
                    pipe,
                },
            )
        })
        .unzip();
    let draw_offs = [0.0, 0.0, 0.080, 0.055, 0.0, 0.040];
    let net = Network {
        draw_offs: draw_offs.iter().map(|m| MassFlow::new(m * times)).collect(),
        branches,
        supply: 0,
        supply_pressure: GaugePressure::from_bar(7.0).absolute(ATMOSPHERE),
        temperature: Temperature::new(293.15),
        viscosity_pa_s: 1.82e-5,
        law,
    };
    (names, net)
}

/// Holds a solved net against the lines of a table that are about it.
fn compare(text: &str, key: &str, name: &str, names: &[&str], net: &Network) -> Answer<usize> {
    let state = net.solve()?;
    let mut compared = 0;
    for row in table(text).iter().filter(|row| row.text(key) == name) {
        let (element, want) = (row.text("element"), row.num("value"));
        let branch = || {
            names
                .iter()
                .position(|n| *n == element)
                .expect("a pipe's name")
        };
        match row.text("quantity") {
            "p_gauge_bar" => {
                let node: usize = element[1..].parse().expect("a node's name");
                near(
                    element,
                    state.pressures[node - 1].gauge(ATMOSPHERE).bar(),
                    want,
                    1e-6,
                );
            }
            "mdot_kg_s" => near(element, state.flows[branch()].si(), want, 1e-7),
            "lambda" => {
                let (pipe, flow) = (net.branches[branch()].pipe, state.flows[branch()]);
                let re = pipe.reynolds(MassFlow::new(flow.si().abs()), net.viscosity_pa_s)?;
                let factor = net.law.factor(re, pipe.relative_roughness())?;
                near_rel(element, factor, want, 1e-6);
            }
            other => panic!("{other} is no quantity of this table"),
        }
        compared += 1;
    }
    Ok(compared)
}

/// pandapipes 0.16.0 and an independent scipy solution (library): three friction laws; Colebrook is
/// written with 3.71 there.
#[test]
fn ring_main_results() -> Answer<()> {
    let text = include_str!("data/flow_ring_main.csv");
    for (name, law) in [
        ("colebrook", FrictionLaw::Colebrook371),
        ("nikuradse", FrictionLaw::Nikuradse),
        ("swamee-jain", FrictionLaw::SwameeJain),
    ] {
        let (names, net) = ring_main(law, 1.0, "none");
        assert_eq!(compare(text, "friction_model", name, &names, &net)?, 20);
    }
    Ok(())
}

/// The same program with tabulated air, whose compressibility and viscosity vary (library): within
/// 1 % of each node's fall.
#[test]
fn ring_main_with_tabulated_air() -> Answer<()> {
    let (_, net) = ring_main(FrictionLaw::Colebrook371, 1.0, "none");
    let state = net.solve()?;
    let rows = table(include_str!("data/flow_ring_main.csv"));
    let rows = rows
        .iter()
        .filter(|r| r.text("friction_model") == "colebrook+library air");
    for (row, p) in rows.zip(&state.pressures) {
        let fall = 7.0 - row.num("value");
        near(
            row.text("element"),
            7.0 - p.gauge(ATMOSPHERE).bar(),
            fall,
            0.01 * fall + 1e-9,
        );
    }
    Ok(())
}

/// As [`ring_main_results`], with three times the draw-offs, and with twice and P12 shut.
#[test]
fn ring_main_stressed() -> Answer<()> {
    let text = include_str!("data/flow_ring_main_stressed.csv");
    for (name, times, closed, count) in [
        ("loads x3", 3.0, "none", 13),
        ("loads x2, P12 closed", 2.0, "P12", 12),
    ] {
        let (names, net) = ring_main(FrictionLaw::Colebrook371, times, closed);
        assert_eq!(compare(text, "case", name, &names, &net)?, count);
        near(
            "delivered",
            net.solve()?.delivered.si(),
            0.175 * times,
            1e-12,
        );
    }
    Ok(())
}

#[test]
fn a_net_at_rest_has_one_pressure() -> Answer<()> {
    let (_, net) = ring_main(FrictionLaw::Colebrook, 0.0, "none");
    let state = net.solve()?;
    for p in &state.pressures {
        near_rel("Pa", p.si(), net.supply_pressure.si(), 1e-12);
    }
    for m in &state.flows {
        near("kg/s", m.si(), 0.0, 1e-12);
    }
    Ok(())
}

#[test]
fn what_is_wrong_with_a_net_is_said() {
    let (_, good) = ring_main(FrictionLaw::Colebrook, 1.0, "none");
    let mut cut_off = good.clone();
    cut_off.branches.retain(|b| b.from != 3 && b.to != 3);
    assert!(matches!(cut_off.solve(), Err(Refusal::NoSolution { .. })));
    let mut nowhere = good.clone();
    nowhere.branches[0].to = 9;
    assert!(matches!(
        nowhere.solve(),
        Err(Refusal::Contradiction { .. })
    ));
    let mut looped = good.clone();
    looped.branches[0].to = looped.branches[0].from;
    assert!(matches!(looped.solve(), Err(Refusal::Contradiction { .. })));
    let mut empty = good.clone();
    empty.draw_offs.clear();
    assert!(matches!(empty.solve(), Err(Refusal::OutOfRange { .. })));
    let mut unfed = good.clone();
    unfed.supply = 6;
    assert!(matches!(unfed.solve(), Err(Refusal::Contradiction { .. })));
    // More than the pipes carry.
    let (_, starved) = ring_main(FrictionLaw::Colebrook, 30.0, "none");
    assert!(starved.solve().is_err());
}

/// A net of up to eight nodes: a tree, and some chords.
fn any_net() -> impl Strategy<Value = Network> {
    (2_usize..8).prop_flat_map(|nodes| {
        let tree = prop::collection::vec((0.0..1.0, 1.0..300.0, 0.01..0.2), nodes - 1);
        let chords = prop::collection::vec((0..nodes, 0..nodes, 1.0..300.0, 0.01..0.2), 0..5);
        let draws = prop::collection::vec(0.0..1.0e-2, nodes);
        (tree, chords, draws).prop_map(|(tree, chords, draws)| {
            let pipe = |length_m, bore_m| Pipe {
                length_m,
                bore_m,
                roughness_m: 4.5e-5,
            };
            let mut branches = Vec::new();
            for (i, (place, length_m, bore_m)) in tree.into_iter().enumerate() {
                let from = ((place * (i + 1) as f64) as usize).min(i);
                branches.push(Branch {
                    from,
                    to: i + 1,
                    pipe: pipe(length_m, bore_m),
                });
            }
            for (from, to, length_m, bore_m) in chords {
                if from != to {
                    branches.push(Branch {
                        from,
                        to,
                        pipe: pipe(length_m, bore_m),
                    });
                }
            }
            Network {
                draw_offs: draws.into_iter().map(MassFlow::new).collect(),
                branches,
                supply: 0,
                supply_pressure: AbsolutePressure::from_bar(8.0),
                temperature: Temperature::new(293.15),
                viscosity_pa_s: 1.82e-5,
                law: FrictionLaw::Colebrook,
            }
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    /// Every node balances, every pipe falls the way it flows, and no node lies above the supply.
    #[test]
    fn nets_balance(net in any_net()) {
        match net.solve() {
            Ok(state) => {
                for node in 1..net.draw_offs.len() {
                    let mut sum = -net.draw_offs[node].si();
                    for (branch, m) in net.branches.iter().zip(&state.flows) {
                        if branch.to == node { sum += m.si() }
                        if branch.from == node { sum -= m.si() }
                    }
                    prop_assert!(sum.abs() < 1e-9, "node {node} is off by {sum}");
                    let most = net.supply_pressure.si() * (1.0 + 1e-12);
                    prop_assert!(state.pressures[node].si() <= most);
                }
                for (branch, m) in net.branches.iter().zip(&state.flows) {
                    let forward = MassFlow::new(m.si().abs());
                    let re = branch.pipe.reynolds(forward, net.viscosity_pa_s)?;
                    if re < 1e-6 { continue }
                    let factor = friction_factor(re, branch.pipe.relative_roughness())?;
                    let flux = m.si() / branch.pipe.area_m2();
                    let want = factor * branch.pipe.length_m / branch.pipe.bore_m
                        * flux * flux.abs() * R_AIR * 293.15;
                    let pressure = |node: usize| state.pressures[node].si();
                    let (a, b) = (pressure(branch.from), pressure(branch.to));
                    let got = (a - b) * (a + b);
                    let slack = 1e-6 * want.abs() + 1e-9 * a * a;
                    prop_assert!((got - want).abs() <= slack, "{got} {want}");
                }
            }
            // Draw-offs through a bore of 10 mm can be too much for it; nothing else may fail.
            Err(Refusal::NoSolution { what }) => {
                prop_assert_eq!(what, "pressure in the net at these draw-offs");
            }
            Err(Refusal::Contradiction { first, second, .. }) => prop_assert!(first >= second),
            Err(other) => prop_assert!(false, "{other}"),
        }
    }

    /// Drawing more anywhere lowers no pressure less.
    #[test]
    fn more_draw_lowers_every_pressure(net in any_net(), more in 1e-4..1e-2_f64) {
        let mut fuller = net.clone();
        let last = fuller.draw_offs.len() - 1;
        fuller.draw_offs[last] = fuller.draw_offs[last] + MassFlow::new(more);
        if let (Ok(before), Ok(after)) = (net.solve(), fuller.solve()) {
            for (a, b) in before.pressures.iter().zip(&after.pressures) {
                prop_assert!(b.si() <= a.si() + 1e-6, "{a:?} {b:?}");
            }
        }
    }

    /// Any float anywhere: a finite answer or a refusal.
    #[test]
    fn any_float_is_answered_or_refused(
        net in any_net(), which in 0..7_usize, value in ANY, small in any::<bool>(),
    ) {
        let mut net = net;
        let value = if small { value.abs() % 1.0 } else { value };
        match which {
            0 => net.draw_offs[1] = MassFlow::new(value),
            1 => net.branches[0].pipe.length_m = value,
            2 => net.branches[0].pipe.bore_m = value,
            3 => net.branches[0].pipe.roughness_m = value,
            4 => net.supply_pressure = AbsolutePressure::new(value),
            5 => net.temperature = Temperature::new(value),
            _ => net.viscosity_pa_s = value,
        }
        if let Ok(state) = net.solve() {
            prop_assert!(state.pressures.iter().all(|p| p.si().is_finite()));
            prop_assert!(state.flows.iter().all(|m| m.si().is_finite()));
            prop_assert!(state.delivered.si().is_finite());
        }
    }
}
