//! Laws of the forward model over random stations, weather, load and health: balances close, and
//! whatever comes in, a finite answer or a refusal that names the place comes out.

mod forward_support;

use forward_support::{example, random_conditions, random_health, random_station, state};
use physics::quantity::{AbsolutePressure, GaugePressure, ReferenceAir, Temperature};
use physics::validity::Refusal;
use proptest::prelude::*;
use station::air_path::{Path, Stage};
use station::forward::{Conditions, Health, Intake, MachineState, State, expect, oil_state};
use station::model::{Asset, Control, DryerKind, Fan, MachineKind, Station};

/// Enthalpy of moist air with liquid, J/kg of dry air (ASHRAE Handbook Fundamentals 2017, ch. 1,
/// eq. 30), written again so that the model's own is not used to check itself.
fn enthalpy(t: Temperature, vapour: f64, liquid: f64) -> f64 {
    let c = t.celsius();
    1006.0 * c + vapour * (2_501_000.0 + 1860.0 * c) + liquid * 4186.0 * c
}

fn close(what: &str, got: f64, want: f64, scale: f64, share: f64) {
    assert!(
        (got - want).abs() <= share * scale.abs().max(1e-12),
        "{what}: {got} is not {want}"
    );
}

/// First law over the package: what comes in as power and with the air goes out by oil, aftercooler,
/// surface and with the air.
fn package_balance(station: &Station, i: usize, m: &MachineState, room: Temperature) {
    let (h, dry) = (&m.heat, m.dry_air.si());
    let power = m.power.si();
    let h_in = enthalpy(room, m.humidity_ratio, 0.0);
    let h_out = enthalpy(m.outlet, m.outlet_humidity_ratio, m.liquid);
    let id = &station.machines[i].id;
    assert!(m.heat_left_over().abs() < 1e-9, "{id}: {:?}", m.heat);
    let out = h.oil + h.aftercooler + h.surface + dry * h_out;
    close(
        &format!("{id} first law"),
        power + dry * h_in,
        out,
        power,
        1e-9,
    );
    close(&format!("{id} input"), h.power, power, power, 1e-12);
    close(
        &format!("{id} water"),
        m.outlet_humidity_ratio + m.liquid,
        m.humidity_ratio,
        1.0,
        1e-12,
    );
    if let Some(oil) = m.oil_temperature {
        let h_hot = enthalpy(oil, m.humidity_ratio, 0.0);
        close(
            &format!("{id} aftercooler"),
            h.aftercooler,
            dry * (h_hot - h_out),
            power,
            1e-9,
        );
        assert!(h.oil >= 0.0 && h.surface >= 0.0);
    } else {
        assert_eq!(station.machines[i].kind, MachineKind::Other);
    }
}

/// Air that comes out of a path when this much comes in, from the machines' flows alone.
fn flows(station: &Station, state: &State, path: &Path, mut dry: f64) -> f64 {
    for stage in path {
        dry = match stage {
            Stage::One(Asset::Machine(i)) => {
                state.machines[*i].as_ref().map_or(0.0, |m| m.dry_air.si())
            }
            Stage::One(Asset::Dryer(i)) => match station.dryers[*i].kind {
                DryerKind::Desiccant { purge } => dry * (1.0 - purge),
                DryerKind::Refrigeration { .. } => dry,
            },
            Stage::One(_) => dry,
            Stage::SideBySide(branches) => {
                let share = dry / branches.len() as f64;
                branches
                    .iter()
                    .map(|b| flows(station, state, b, share))
                    .sum()
            }
        };
    }
    dry
}

fn station_balance(station: &Station, s: &State) {
    let w = &s.water;
    let out = w.drained + w.vapour_out + w.liquid_out + w.purged;
    close("water of the station", out, w.taken_in, w.taken_in, 1e-9);
    let owed: f64 = s.owed.iter().map(|o| o.kg_s).sum();
    // A dryer's own drain that no `[[drain]]` describes takes water without owing it by name.
    let own: f64 = s
        .places
        .iter()
        .filter(|p| station.drains_of(p.asset).next().is_none())
        .map(|p| p.drained_kg_s)
        .sum();
    close("water owed", owed + own, w.drained, w.taken_in, 1e-12);
    let drained: f64 = s.places.iter().map(|p| p.drained_kg_s).sum();
    close(
        "water drained by place",
        drained,
        w.drained,
        w.taken_in,
        1e-12,
    );
    let running = s.machines.iter().flatten().count();
    if running == 0 {
        assert!(s.places.is_empty() && s.owed.is_empty());
        return;
    }
    let end = s.places.last().expect("a machine runs");
    let dry = flows(station, s, &station.air_path.stages, 0.0);
    close("dry air at the end", end.dry_air.si(), dry, dry, 1e-9);
    let leaving = end.dry_air.si() * (end.humidity_ratio + end.liquid);
    close(
        "water leaving",
        leaving,
        w.vapour_out + w.liquid_out,
        w.taken_in,
        1e-9,
    );
    for p in &s.places {
        assert!(p.pressure.si() >= 0.0 && p.drop.si() >= 0.0, "{p:?}");
        assert!((0.0..=1.0 + 1e-9).contains(&p.duty), "{p:?}");
        assert!(
            p.liquid >= 0.0 && p.humidity_ratio >= 0.0 && p.falls_kg_s >= 0.0,
            "{p:?}"
        );
        assert!(p.dew_point.si() <= p.temperature.si() + 1e-6, "{p:?}");
    }
}

fn finite(s: &State) {
    let text = format!("{s:?}");
    assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
}

/// The state. A draw so harsh that the oil would pass 200 °C is refused, rightly, and drawn anew.
fn drawn(
    station: &Station,
    health: &Health,
    conditions: &Conditions,
) -> Result<State, TestCaseError> {
    expect(station, health, conditions).map_err(|refused| match refused.why {
        Refusal::NoSolution {
            what: "oil temperature",
        } => TestCaseError::reject("the oil would pass 200 °C"),
        _ => TestCaseError::fail(refused.sentence(station)),
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Energy of each package, water and dry air of the whole station, for every topology.
    #[test]
    fn balances_close(seed in any::<u64>()) {
        let station = random_station(seed);
        let health = random_health(&station, seed);
        let conditions = random_conditions(&station, seed);
        let s = drawn(&station, &health, &conditions)?;
        finite(&s);
        for (i, m) in s.machines.iter().enumerate() {
            prop_assert_eq!(m.is_some(), conditions.machines[i].duty > 0.0);
            if let Some(m) = m {
                package_balance(&station, i, m, s.room);
            }
        }
        station_balance(&station, &s);
    }

    /// At its steady state the oil cooler moves what its conductance says: Q = G (T_free − T_cool).
    #[test]
    fn the_oil_cooler_moves_what_its_conductance_says(seed in any::<u64>()) {
        let station = random_station(seed);
        let mut conditions = random_conditions(&station, seed);
        conditions.machines.iter_mut().for_each(|m| m.recent_load = 1.0);
        let s = drawn(&station, &random_health(&station, seed), &conditions)?;
        for (i, m) in s.machines.iter().enumerate() {
            let fan = station.machines[i].cooling.fan;
            if let (Some(m), true) = (m, fan != Fan::Unknown)
                && let Some(free) = m.free_oil_temperature
            {
                let moved = m.conductance_w_k * (free - s.room).si();
                close("oil heat", moved, m.heat.oil, m.heat.power, 1e-7);
            }
        }
    }

    /// The oil circuit alone has the numbers of the whole machine.
    #[test]
    fn the_oil_alone_is_that_of_the_whole_machine(seed in any::<u64>()) {
        let station = random_station(seed);
        let health = random_health(&station, seed);
        let conditions = random_conditions(&station, seed);
        let s = drawn(&station, &health, &conditions)?;
        let intake = Intake::of(&conditions).expect("an intake");
        for (i, m) in s.machines.iter().enumerate() {
            let Some(m) = m else { continue };
            let h = &health.machines[i];
            let oil = oil_state(&station, i, h, &conditions, &intake, s.room).expect("as the whole");
            prop_assert_eq!(oil.map(|o| o.oil_temperature), m.oil_temperature);
            if let Some(oil) = oil {
                close("power", oil.power.si(), m.power.si(), m.power.si(), 1e-12);
            }
        }
    }

    /// One value that is no weather and no load: an answer in finite numbers, or a refusal that
    /// names a place.
    #[test]
    fn any_condition_is_answered_or_refused(
        seed in any::<u64>(),
        which in 0_usize..10,
        value in prop_oneof![
            prop::num::f64::ANY, -1.0e3..1.0e3_f64, -2.0..2.0_f64, 100.0..500.0_f64, 0.0..2.0e6_f64,
        ],
    ) {
        let station = random_station(seed % 64);
        let mut c = random_conditions(&station, seed);
        let m = &mut c.machines[0];
        match which {
            0 => c.ambient = Temperature::new(value),
            1 => c.humidity = value,
            2 => c.atmosphere = AbsolutePressure::new(value),
            3 => c.room = Some(Temperature::new(value)),
            4 => c.demand = Some(ReferenceAir::new(value)),
            5 => m.duty = value,
            6 => m.recent_load = value,
            7 => m.pressure = GaugePressure::new(value),
            8 => m.recent_pressure = Some(GaugePressure::new(value)),
            _ => m.speed = value,
        }
        match expect(&station, &Health::new(&station), &c) {
            Ok(s) => {
                finite(&s);
                station_balance(&station, &s);
            }
            Err(refused) => {
                let sentence = refused.sentence(&station);
                prop_assert!(sentence.starts_with(station.id(refused.asset)) && sentence.len() > 20);
            }
        }
    }

    /// Nothing but wild numbers.
    #[test]
    fn wild_conditions_are_answered_or_refused(v in prop::array::uniform9(prop::num::f64::ANY)) {
        let station = example();
        let mut c = Conditions::new(&station, Temperature::new(v[0]), v[1], v[2]);
        c.atmosphere = AbsolutePressure::new(v[3]);
        c.room = Some(Temperature::new(v[4]));
        c.demand = Some(ReferenceAir::new(v[5]));
        c.machines[0].recent_load = v[6];
        c.machines[0].pressure = GaugePressure::new(v[7]);
        c.machines[0].speed = v[8];
        if let Ok(s) = expect(&station, &Health::new(&station), &c) {
            finite(&s);
        }
    }
}

/// Conditions or health of another station are refused, not indexed.
#[test]
fn another_stations_conditions_are_refused() {
    let station = example();
    let good = Conditions::new(&station, Temperature::from_celsius(20.0), 0.6, 1.0);
    let mut short = good.clone();
    short.machines.pop();
    let healthy = Health::new(&station);
    assert!(expect(&station, &healthy, &short).is_err());
    let mut long = good.clone();
    long.machines.push(good.machines[0]);
    assert!(expect(&station, &healthy, &long).is_err());
    let mut health = healthy.clone();
    health.filters.clear();
    assert!(expect(&station, &health, &good).is_err());
    assert!(expect(&station, &healthy, &good).is_ok());
}

/// With no machine running nothing flows, and that is an answer; the room is as warm as outdoors.
#[test]
fn a_station_that_stands_is_answered() {
    let station = example();
    let c = Conditions::new(&station, Temperature::from_celsius(20.0), 0.6, 0.0);
    let s = state(&station, &Health::new(&station), &c);
    assert!(s.places.is_empty() && s.machines.iter().all(Option::is_none));
    assert!((s.room.celsius() - 20.0).abs() < 1e-12);
}

/// The generator reaches every control, fan and kind, and machines that stand.
#[test]
fn the_random_stations_cover_what_they_should() {
    let mut seen = std::collections::BTreeSet::new();
    for seed in 0..200 {
        let station = random_station(seed);
        for m in &station.machines {
            seen.insert(match m.control {
                Control::LoadUnload(_) => "load/unload",
                Control::StartStop(_) => "start/stop",
                Control::Modulating(_) => "modulating",
                Control::VariableSpeed { .. } => "variable speed",
            });
            seen.insert(match (m.kind, m.cooling.fan) {
                (MachineKind::Other, _) => "other",
                (_, Fan::Constant) => "constant",
                (_, Fan::OnOff(_)) => "on/off",
                (_, Fan::Variable(_)) => "variable",
                (_, Fan::Unknown) => "unknown",
            });
        }
        if random_conditions(&station, seed)
            .machines
            .iter()
            .all(|m| m.duty <= 0.0)
        {
            seen.insert("all stand");
        }
        if station
            .dryers
            .iter()
            .any(|d| matches!(d.kind, DryerKind::Desiccant { purge } if purge > 0.0))
        {
            seen.insert("purge");
        }
    }
    assert_eq!(seen.len(), 11, "{seen:?}");
}
