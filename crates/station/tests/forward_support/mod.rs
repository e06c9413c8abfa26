//! Random stations, conditions and health for the laws of the forward model, all from a seed, and
//! the example station.
//!
//! The stations are written as station files and read like any other, so that they are valid.

#![allow(dead_code, reason = "each test file uses a part of it")]

use std::fmt::Write as _;

use fastrand::Rng;
use physics::quantity::{GaugePressure, ReferenceAir, Temperature, TemperatureDifference};
use station::file::station::parse;
use station::forward::{Conditions, Health, MachineHealth, MachineState, Running, State, expect};
use station::model::{Control, Station};

const EXAMPLE: &str = include_str!("../../../../examples/quillbank/station.toml");

/// Every way of putting things one after the other that the model must know.
pub(crate) const PATHS: &[&str] = &[
    r#"[["K1", "K2"], "R1", "F1", "D1", "MAIN"]"#,
    r#"["K1", "D1", "R1", "MAIN"]"#,
    r#"[[["K1", "R1", "D1"], ["K2", "R2", "D2"]], "F1", "MAIN"]"#,
    r#"["K1", "F1", "R1", ["D1", "D2"], "P1", "MAIN"]"#,
    r#"[["K1", "K2", "K3"], "F1", "D1", "R1", "P1", "MAIN"]"#,
    r#"[["K1", ["K2", "R1"]], "F1", "D1", "R2", "F2", "MAIN"]"#,
    r#"["K1", "R1", [["D1", "F1"], ["F2", "P1"]], "MAIN"]"#,
    r#"[["K1", "K2"], ["R1", "R2"], "MAIN"]"#,
    r#"["K1", "MAIN"]"#,
];

pub(crate) fn example() -> Station {
    parse(EXAMPLE).expect("the example is a valid station file")
}

/// The example with its first machine alone, changed as told, its room read.
pub(crate) fn one_machine(change: impl FnOnce(&mut Station)) -> Station {
    let text = EXAMPLE.replace(
        r#"[["K1", "K2"], "R1", "F1", "D1", "MAIN"]"#,
        r#"["K1", "R1", "F1", "D1", "MAIN"]"#,
    );
    let second = text
        .find("[[machine]]\nid      = \"K2\"")
        .expect("the example has K2");
    let vessel = text.find("[[vessel]]").expect("the example has a vessel");
    let mut text = format!("{}{}", &text[..second], &text[vessel..]);
    while let Some(at) = text.find("[[task]]") {
        text.truncate(at);
    }
    let text = text.replace(
        "[[drain]]\nid = \"K2.drain\"\nkind = \"level-sensed\"\ntest_button = false\n",
        "",
    );
    let mut station = parse(&text).expect("what is left of the example is valid");
    change(&mut station);
    station
}

/// All machines at this duty, the air entering the coolers at this temperature.
pub(crate) fn day(station: &Station, room_c: f64, humidity: f64, duty: f64) -> Conditions {
    Conditions {
        room: Some(Temperature::from_celsius(room_c)),
        ..Conditions::new(station, Temperature::from_celsius(room_c), humidity, duty)
    }
}

/// The state, which must be answered.
pub(crate) fn state(station: &Station, health: &Health, conditions: &Conditions) -> State {
    match expect(station, health, conditions) {
        Ok(state) => state,
        Err(refused) => panic!("{}", refused.sentence(station)),
    }
}

/// The first machine's state, with this health.
pub(crate) fn machine(
    station: &Station,
    health: MachineHealth,
    conditions: &Conditions,
) -> MachineState {
    let mut all = Health::new(station);
    all.machines[0] = health;
    state(station, &all, conditions).machines[0]
        .clone()
        .expect("the machine runs")
}

/// Oil temperature, °C.
pub(crate) fn oil(m: &MachineState) -> f64 {
    m.oil_temperature.expect("a screw has oil").celsius()
}

pub(crate) fn between(rng: &mut Rng, low: f64, high: f64) -> f64 {
    low + (high - low) * rng.f64()
}

/// A random station: any of the paths, any control, fan and drive, 0…2500 m.
pub(crate) fn random_station(seed: u64) -> Station {
    let text = random_text(seed);
    parse(&text).unwrap_or_else(|e| panic!("{e:?}\n{text}"))
}

fn random_text(seed: u64) -> String {
    let rng = &mut Rng::with_seed(seed);
    let path = PATHS[rng.usize(..PATHS.len())];
    let altitude = between(rng, 0.0, 2500.0);
    let mut t = format!(
        "calcant = 1\nair_path = {path}\n[site]\nname = \"Random Works (invented)\"\naltitude = \"{altitude:.0} m\"\ntime_zone = \"UTC\"\n"
    );
    t += "[room]\n";
    if rng.bool() {
        let _ = writeln!(t, "ventilation = \"{:.1} m3/s\"", between(rng, 30.0, 80.0));
        let _ = writeln!(t, "ducted = {}", rng.bool());
    }
    let gauge = between(rng, 6.0, 13.0);
    let mut drains = String::new();
    for id in path
        .split(|c: char| !c.is_ascii_alphanumeric())
        .filter(|id| !id.is_empty())
    {
        match &id[..1] {
            "K" => random_machine(rng, &mut t, id, gauge),
            "R" => {
                let volume = between(rng, 200.0, 5000.0);
                let _ = writeln!(
                    t,
                    "[[vessel]]\nid = \"{id}\"\nvolume = \"{volume:.0} L\"\nmax_pressure = \"16 bar(g)\""
                );
            }
            "F" => {
                let clean = between(rng, 0.05, 0.15);
                let _ = writeln!(t, "[[filter]]\nid = \"{id}\"\nclean = \"{clean:.3} bar\"");
            }
            "D" if rng.u8(..3) > 0 => {
                let dew = between(rng, 2.0, 8.0);
                let _ = writeln!(
                    t,
                    "[[dryer]]\nid = \"{id}\"\nkind = \"refrigeration\"\ndew_point = \"{dew:.1} degC\"\npower = \"1 kW\""
                );
            }
            "D" => {
                let _ = writeln!(
                    t,
                    "[[dryer]]\nid = \"{id}\"\nkind = \"desiccant\"\ndew_point = \"-40 degC\"\npurge = {:.3}",
                    between(rng, 0.0, 0.2)
                );
            }
            "P" => {
                let _ = writeln!(
                    t,
                    "[[pipe]]\nid = \"{id}\"\nlength = \"{:.0} m\"\nbore = \"125 mm\"",
                    between(rng, 3.0, 60.0)
                );
            }
            _ => {
                let _ = writeln!(t, "[[header]]\nid = \"{id}\"");
                if rng.bool() {
                    let _ = writeln!(t, "coldest = \"{:.0} degC\"", between(rng, -10.0, 15.0));
                }
                continue;
            }
        }
        if !id.starts_with('P') && rng.u8(..4) > 0 {
            let _ = writeln!(drains, "[[drain]]\nid = \"{id}.drain\"\nkind = \"float\"");
        }
    }
    t + &drains
}

fn random_machine(rng: &mut Rng, t: &mut String, id: &str, gauge: f64) {
    let fad = between(rng, 1.0, 20.0);
    let power = fad * 6.2 * (1.0 + 0.07 * (gauge - 7.0)) * between(rng, 0.95, 1.15);
    let screw = rng.u8(..5) > 0;
    let _ = writeln!(t, "[[machine]]\nid = \"{id}\"");
    let outlet = if screw {
        let drive = ["belt", "gear", "direct"][rng.usize(..3)];
        let _ = writeln!(t, "kind = \"oil-injected screw\"\ndrive = \"{drive}\"");
        let fan = match rng.u8(..4) {
            0 => "fan = \"constant\"".to_owned(),
            1 => format!(
                "fan = \"on/off\", fan_held_at = \"{:.0} degC\"",
                between(rng, 76.0, 88.0)
            ),
            2 => format!(
                "fan = \"variable\", fan_held_at = \"{:.0} degC\"",
                between(rng, 76.0, 88.0)
            ),
            _ => "fan = \"unknown\"".to_owned(),
        };
        let _ = writeln!(
            t,
            "cooling = {{ oil_approach = \"{:.0} K\", air_approach = \"{:.1} K\", {fan} }}\noil = {{ held_at = \"{:.0} degC\" }}",
            between(rng, 52.0, 66.0),
            between(rng, 6.0, 14.0),
            between(rng, 65.0, 76.0),
        );
        if rng.bool() {
            let _ = writeln!(
                t,
                "motor = {{ power = \"{:.1} kW\", efficiency = 0.93 }}",
                0.9 * power
            );
        }
        String::new()
    } else {
        let _ = writeln!(t, "kind = \"other\"");
        format!(", outlet = \"{:.0} degC\"", between(rng, 30.0, 60.0))
    };
    let _ = writeln!(
        t,
        "rated = {{ pressure = \"{gauge:.2} bar(g)\", fad = \"{fad:.3} m3/min\", power = \"{power:.2} kW\"{outlet} }}"
    );
    let band = format!(
        "band = {{ load = \"{:.2} bar(g)\", unload = \"{gauge:.2} bar(g)\" }}",
        gauge - 0.7
    );
    let _ = match rng.u8(..4) {
        0 => writeln!(t, "control = \"load/unload\"\n{band}"),
        1 => writeln!(t, "control = \"start/stop\"\n{band}"),
        2 => writeln!(t, "control = \"modulating\"\n{band}"),
        _ => writeln!(
            t,
            "control = \"variable speed\"\ntarget = \"{:.2} bar(g)\"\npart_load = [{{ fad = \"{:.3} m3/min\", power = \"{:.2} kW\" }}, {{ fad = \"{:.3} m3/min\", power = \"{:.2} kW\" }}, {{ fad = \"{fad:.3} m3/min\", power = \"{power:.2} kW\" }}]",
            gauge - 0.3,
            0.3 * fad,
            0.35 * power,
            0.65 * fad,
            0.66 * power,
        ),
    };
}

/// Random weather −15…45 °C, 15…100 %, 5…13 bar(g), any duty; a machine in five stands.
pub(crate) fn random_conditions(station: &Station, seed: u64) -> Conditions {
    let rng = &mut Rng::with_seed(seed ^ 0x9e37_79b9_7f4a_7c15);
    let ambient = Temperature::from_celsius(between(rng, -15.0, 45.0));
    let mut c = Conditions::new(station, ambient, between(rng, 0.15, 1.0), 1.0);
    let gauge = between(rng, 5.0, 13.0);
    for (i, running) in c.machines.iter_mut().enumerate() {
        let duty = if rng.u8(..5) == 0 {
            0.0
        } else {
            between(rng, 0.05, 1.0)
        };
        *running = Running::at_duty(station, i, duty);
        if let Control::LoadUnload(_) = station.machines[i].control {
            running.recent_load = rng.f64();
        }
        running.pressure = GaugePressure::from_bar(gauge + between(rng, -0.3, 0.3));
        running.fan_on = [None, Some(true), Some(false)][rng.usize(..3)];
    }
    if rng.bool() {
        c.room = Some(ambient + TemperatureDifference::new(between(rng, 0.0, 12.0)));
    }
    if rng.bool() {
        let each = station.machines.iter().zip(&c.machines);
        let delivered: f64 = each.map(|(m, r)| m.rated.fad.value.si() * r.duty).sum();
        c.demand = Some(ReferenceAir::new(delivered * rng.f64()));
    }
    c
}

/// Random health: everything somewhat worn.
pub(crate) fn random_health(station: &Station, seed: u64) -> Health {
    let rng = &mut Rng::with_seed(seed ^ 0x5851_f42d_4c95_7f2d);
    let mut health = Health::new(station);
    for m in &mut health.machines {
        *m = MachineHealth {
            fan: between(rng, 0.6, 1.05),
            oil_cooler: between(rng, 0.7, 1.05),
            aftercooler: between(rng, 0.5, 1.1),
            thermostat: TemperatureDifference::new(between(rng, -5.0, 5.0)),
            delivery: between(rng, 0.8, 1.02),
            power: between(rng, 0.97, 1.1),
            unloaded_power: between(rng, 0.9, 1.5),
            belt: between(rng, 0.9, 1.0),
            intake_drop: between(rng, 0.5, 3.0),
            separator_drop: between(rng, 0.5, 4.0),
        };
    }
    health
        .filters
        .iter_mut()
        .for_each(|f| *f = between(rng, 0.3, 3.0));
    health
        .dryers
        .iter_mut()
        .for_each(|d| *d = between(rng, 0.3, 1.1));
    health
}
