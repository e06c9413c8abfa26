//! What good station files say: the numbers in SI, their uncertainty, and the defaults used.

#![expect(clippy::unwrap_used, reason = "the files are beside the test")]

use physics::quantity::Temperature;
use physics::working::Mark;
use station::air_path::Stage;
use station::file::station::{TEMPLATE, keys, parse};
use station::model::{
    Asset, Control, DrainKind, Drive, DryerKind, Fan, Known, MachineKind, Station,
};
use station::point::{Point, PointId};

/// The example of the file format's description.
const GOOD: &str = include_str!("broken/station/good.toml");

/// The least that a station file can say.
const LEAST: &str = r#"
calcant = 1
air_path = ["K1", "R1", "D1", "F1", "MAIN"]
[site]
name = "Least Works (invented)"
altitude = "0 m"
time_zone = "UTC"
[[machine]]
id = "K1"
kind = "oil-injected screw"
drive = "gear"
control = "load/unload"
rated = { pressure = "7 bar(g)", fad = "6 m3/min", power = "40 kW" }
band = { load = "6.5 bar(g)", unload = "7.1 bar(g)" }
[[vessel]]
id = "R1"
volume = "1 m3"
max_pressure = "11 bar(g)"
[[dryer]]
id = "D1"
kind = "refrigeration"
dew_point = "3 degC"
[[filter]]
id = "F1"
[[pipe]]
id = "P1"
length = "10 m"
bore = "50 mm"
[[header]]
id = "MAIN"
[[drain]]
id = "R1.drain"
kind = "float"
"#;

fn near(got: f64, want: f64) {
    assert!(
        (got - want).abs() <= 1e-9 * want.abs().max(1e-9),
        "{got} is not {want}"
    );
}

fn known(got: f64, sigma: f64, known: Known<f64>) {
    near(known.value, got);
    near(known.sigma, sigma);
}

fn celsius(got: Temperature, want: f64) {
    near(got.si(), want + 273.15);
}

fn edited(old: &str, new: &str) -> Station {
    assert_eq!(LEAST.matches(old).count(), 1, "{old}");
    parse(&LEAST.replace(old, new)).unwrap()
}

#[test]
fn the_example_of_the_format_is_read_in_si() {
    let station = parse(GOOD).unwrap();
    assert_eq!(station.site.name, "Quillbank Tileworks");
    near(station.site.altitude_m, 120.0);
    assert_eq!(station.site.time_zone.iana_name(), Some("Europe/Lisbon"));
    let price = station.site.price.as_ref().unwrap();
    near(price.energy_per_kwh, 0.21);
    near(price.outage_per_h.unwrap(), 900.0);
    near(station.site.hours.as_ref().unwrap().hours_a_week(), 87.0);
    let climate = station.site.climate.as_ref().unwrap();
    celsius(climate.mean_max[7], 31.0);
    near(climate.humidity[6], 0.55);
    celsius(climate.design_hot.unwrap(), 41.0);
    let (humid, share) = climate.design_humid.unwrap();
    celsius(humid, 28.0);
    near(share, 0.85);
    let ventilation = station.room.ventilation.unwrap();
    near(ventilation.value.si(), 9.0);
    near(ventilation.sigma, 0.9);
    assert!(ventilation.given && !station.room.ducted);

    let [k1, k2] = station.machines.as_slice() else {
        panic!("two machines")
    };
    assert_eq!(
        (k1.kind, k1.drive, k1.order),
        (MachineKind::Screw, Drive::Belt, 1)
    );
    near(k1.rated.fad.value.si(), 5.3 / 60.0);
    near(k1.rated.fad.sigma, 0.025 * 5.3 / 60.0);
    near(k1.rated.power.value.si(), 33_400.0);
    near(k1.rated.pressure.si(), 7.5e5);
    near(k1.max_pressure.si(), 8.0e5);
    near(k1.mid_pressure().si(), 7.15e5);
    near(k1.unloaded_power.sigma, 0.05 * 9_200.0);
    near(k1.fan_power.sigma, 0.1 * 1_100.0);
    near(k1.motor.efficiency.unwrap(), 0.936);
    celsius(k1.oil.held_at.value, 72.0);
    near(k1.oil.held_at.sigma, 1.5);
    celsius(k1.oil.trip, 110.0);
    known(6_000.0, 600.0, k1.oil.life_h);
    near(k1.oil.fill_l.unwrap(), 14.0);
    near(k1.cooling.oil_approach.value.si(), 60.0);
    near(k1.cooling.oil_approach.sigma, 2.0);
    near(k1.cooling.air_approach.sigma, 1.5);
    assert!(k1.cooling.fan == Fan::Constant && k1.cooling.mat);
    let belt = k1.belt.as_ref().unwrap();
    assert_eq!((belt.count, belt.indicator), (3, true));
    near(belt.centres_m.unwrap(), 0.52);
    near(k1.separator.clean.value.si(), 2.0e4);
    near(k1.separator.change.si(), 8.0e4);
    known(0.018, 0.0009, k1.separator.volume_m3);

    // K2 is like K1 but for its band and its place; it has no drain of its own.
    assert_eq!(k2.order, 2);
    near(k2.mid_pressure().si(), 6.95e5);
    assert_eq!(
        (k2.rated, k2.motor, &k2.belt),
        (k1.rated, k1.motor, &k1.belt)
    );
    known(0.9, 0.07, k1.cooling.separates);
    known(0.0, 0.0, k2.cooling.separates);

    let vessel = &station.vessels[0];
    near(vessel.volume_m3, 1.0);
    let valve = vessel.safety_valve.unwrap();
    near(valve.set.si(), 10.5e5);
    assert_eq!(valve.due.unwrap().to_string(), "2027-03-01");
    assert_eq!(
        vessel.inspection.unwrap().last.unwrap().to_string(),
        "2024-05-10"
    );
    assert!(matches!(
        station.dryers[0].kind,
        DryerKind::Refrigeration { .. }
    ));
    celsius(station.dryers[0].dew_point.value, 3.0);
    near(station.filters[0].clean.sigma, 0.15 * 1.0e4);
    assert_eq!(
        station.filters[0].separates.value.to_bits(),
        0.0_f64.to_bits()
    );
    assert_eq!(station.drains.len(), 3);
    assert_eq!(station.drains[1].on, Asset::Vessel(0));
    assert!(station.drains[1].test_button);
    near(station.pipes[0].bore_m, 0.054);
    near(station.headers[0].wanted.unwrap().si(), 6.2e5);
    near(station.headers[0].volume_m3.unwrap(), 0.35);
    assert_eq!(
        (station.tasks[0].on, station.tasks[0].every_months),
        (Asset::Machine(0), Some(24))
    );
    let oil = PointId {
        asset: Asset::Machine(0),
        point: Point::OilTemperature,
    };
    near(station.accuracies[&oil], 2.0);
    assert_eq!(
        station.log_columns[2],
        ("Unl".to_owned(), "not K1.loaded".to_owned())
    );

    assert_eq!(
        station.air_path.stages,
        [
            Stage::SideBySide(vec![
                vec![Stage::One(Asset::Machine(0))],
                vec![Stage::One(Asset::Machine(1))]
            ]),
            Stage::One(Asset::Vessel(0)),
            Stage::One(Asset::Filter(0)),
            Stage::One(Asset::Dryer(0)),
            Stage::One(Asset::Header(0)),
        ]
    );
}

#[test]
fn the_example_lists_the_defaults_that_it_uses() {
    let station = parse(GOOD).unwrap();
    let keys: Vec<&str> = station
        .defaults_used
        .iter()
        .map(|d| d.key.as_str())
        .collect();
    assert_eq!(
        keys,
        [
            "K1.minimum_pressure",
            "K1.slip",
            "K1.oil.ratio",
            "K1.cooling.hot_side_share",
            "K1.cooling.after_drop",
            "K1.cooling.separates",
            "K1.intake.clean",
            "K1.intake.change",
            "K2.minimum_pressure",
            "K2.slip",
            "K2.oil.ratio",
            "K2.cooling.hot_side_share",
            "K2.cooling.after_drop",
            "K2.intake.clean",
            "K2.intake.change",
            "R1.u",
            "R1.separates",
            "D1.reheat",
            "D1.derate",
            "D1.separates",
        ]
    );
    let ratio = &station.defaults_used[2];
    assert_eq!(
        (ratio.value.as_str(), ratio.uncertainty.as_str()),
        ("7 kg/kg", "2 kg/kg")
    );
    assert_eq!(ratio.mark, Mark::FromMemory);
    assert_eq!(ratio.source, "oil circulated per dry air delivered");
}

#[test]
fn the_least_file_takes_every_default_and_says_so() {
    let station = parse(LEAST).unwrap();
    let machine = &station.machines[0];
    near(machine.fan_power.value.si(), 1_200.0);
    near(machine.fan_power.sigma, 400.0);
    near(machine.unloaded_power.value.si(), 0.27 * 40_000.0);
    near(machine.max_pressure.si(), 7.6e5);
    known(0.005e-5, 0.0025e-5, machine.slip_per_pa);
    known(30.0, 10.0, machine.blowdown_s);
    near(machine.minimum_pressure.value.si(), 4.5e5);
    celsius(machine.oil.held_at.value, 75.0);
    near(machine.oil.held_at.sigma, 4.0);
    known(4_000.0, 800.0, machine.oil.life_h);
    near(machine.cooling.oil_approach.value.si(), 58.0);
    assert!(machine.cooling.fan == Fan::Unknown && !machine.cooling.oil_approach.given);
    near(machine.separator.change.si(), 0.7e5);
    // 0.6 L a kW of motor power, which is taken as nine tenths of the package input.
    known(0.6e-3 * 36.0, 0.2e-3 * 36.0, machine.separator.volume_m3);
    near(machine.intake.clean.value.si(), 2_000.0);
    near(station.room.assumed_rise.value.si(), 4.0);
    let dryer = &station.dryers[0];
    near(dryer.rated_flow.value.si(), 0.1);
    near(dryer.rated_flow.sigma, 0.015);
    celsius(dryer.rated_inlet, 35.0);
    known(0.9, 0.07, station.vessels[0].separates);
    // Its drain is assumed, and with it the share that goes there.
    assert!(dryer.own_drain);
    known(0.9, 0.07, dryer.separates);
    near(station.filters[0].change.si(), 0.35e5);
    known(0.045e-3, 0.02e-3, station.pipes[0].roughness_m);

    let find = |key: &str| {
        let used = station.defaults_used.iter().find(|d| d.key == key);
        used.map(|d| (d.value.as_str(), d.uncertainty.as_str()))
    };
    assert_eq!(find("room.rise"), Some(("4 K", "2.5 K")));
    assert_eq!(find("room.ducted"), Some(("false", "")));
    assert_eq!(find("K1.order"), Some(("1", "")));
    assert_eq!(find("K1.fan_power"), Some(("1.2 kW", "0.4 kW")));
    assert_eq!(find("K1.max_pressure"), Some(("7.6 bar(g)", "")));
    assert_eq!(find("K1.oil.held_at"), Some(("75 degC", "4 K")));
    assert_eq!(find("K1.motor.starts_per_hour"), Some(("8 1/h", "2 1/h")));
    assert_eq!(find("K1.cooling.fan"), Some(("unknown", "")));
    assert_eq!(find("D1.rated.flow"), Some(("6 m3/min", "0.9 m3/min")));
    assert_eq!(find("D1.power"), Some(("0 kW", "")));
    assert_eq!(find("R1.drain.test_button"), Some(("false", "")));
    // What no drain takes away is no default: nothing separates it.
    assert_eq!(find("F1.separates"), None);
    for used in &station.defaults_used {
        assert!(
            !used.value.is_empty() && !used.source.is_empty(),
            "{used:?}"
        );
    }
}

/// NEMA MG 10, table 2-3: a motor of 30 kW stands about 7.4 starts an hour.
#[test]
fn starts_an_hour_follow_the_motor_where_its_power_is_told() {
    let station = edited(
        "drive = \"gear\"",
        "drive = \"gear\"\nmotor = { power = \"37 kW\" }",
    );
    let starts = station.machines[0].motor.starts_per_hour;
    assert!(
        6.0 < starts.value && starts.value < 7.5 && !starts.given,
        "{starts:?}"
    );
    let used = station
        .defaults_used
        .iter()
        .find(|d| d.key == "K1.motor.starts_per_hour")
        .unwrap();
    assert_eq!(used.mark, Mark::Published);
}

#[test]
fn another_kind_of_machine_states_its_outlet() {
    let without = LEAST.replace("oil-injected screw", "other").replace(
        "drive = \"gear\"",
        "stages = 2\ncooling = { rated_ambient = \"25 degC\", medium = \"water\" }",
    );
    let refused = parse(&without).unwrap_err();
    assert_eq!(refused.len(), 1);
    assert_eq!(refused[0].at, "machine K1: rated.outlet");

    let station = parse(&without.replace(
        "power = \"40 kW\"",
        "power = \"40 kW\", outlet = \"33 degC\"",
    ))
    .unwrap();
    let machine = &station.machines[0];
    assert_eq!(
        (machine.kind, machine.drive),
        (MachineKind::Other, Drive::Direct)
    );
    near(machine.cooling.air_approach.value.si(), 8.0);
    assert!(machine.cooling.air_approach.given);
    // Its oil is not looked at, and so no default of it is listed.
    assert!(
        !station
            .defaults_used
            .iter()
            .any(|d| d.key.contains(".oil."))
    );
}

#[test]
fn variable_speed_desiccant_and_timer_are_read() {
    let text = LEAST
        .replace("load/unload", "variable speed")
        .replace(
            "band = { load = \"6.5 bar(g)\", unload = \"7.1 bar(g)\" }",
            "target = \"6.8 bar(g)\"\npart_load = [{ fad = \"2 m3/min\", power = \"14 kW\" }, { fad = \"6 m3/min\", power = \"40 kW\" }]\ncooling = { fan = \"variable\", fan_held_at = \"80 degC\" }",
        )
        .replace("kind = \"refrigeration\"\ndew_point = \"3 degC\"", "kind = \"desiccant\"\npurge = 0.15\ndew_point = \"-40 degC\"")
        .replace("kind = \"float\"", "kind = \"timer\"\nopen = \"10 s\"\nevery = \"10 min\"\norifice = \"4 mm\"");
    let station = parse(&text).unwrap();
    let Control::VariableSpeed { target, part_load } = &station.machines[0].control else {
        panic!("variable speed")
    };
    near(target.si(), 6.8e5);
    near(part_load[0].0.si(), 2.0 / 60.0);
    near(part_load[1].1.si(), 40_000.0);
    let Fan::Variable(held) = station.machines[0].cooling.fan else {
        panic!("a variable fan")
    };
    celsius(held.value, 80.0);
    let DryerKind::Desiccant { purge } = station.dryers[0].kind else {
        panic!("a desiccant")
    };
    near(purge, 0.15);
    let DrainKind::Timer {
        open_s,
        every_s,
        orifice_m,
    } = station.drains[0].kind
    else {
        panic!("a timer")
    };
    near(open_s, 10.0);
    near(every_s, 600.0);
    near(orifice_m, 0.004);
}

#[test]
fn a_branch_may_be_a_path_of_its_own() {
    let text = GOOD.replace(
        "[[\"K1\", \"K2\"], \"R1\", \"F1\", \"D1\", \"MAIN\"]",
        "[[[\"K1\", \"P1\", \"D1\"], [\"K2\", \"F1\"]], \"R1\", \"MAIN\"]",
    );
    let station = parse(&text).unwrap();
    let Some(Stage::SideBySide(branches)) = station.air_path.stages.first() else {
        panic!("branches")
    };
    assert_eq!(
        branches[0],
        [
            Stage::One(Asset::Machine(0)),
            Stage::One(Asset::Pipe(0)),
            Stage::One(Asset::Dryer(0))
        ]
    );
    assert!(station.air_path.behind_a_vessel(Asset::Header(0)));
    assert!(!station.air_path.behind_a_vessel(Asset::Dryer(0)));
}

/// What belongs to one machine or one vessel alone is not taken over by `like`.
#[test]
fn like_takes_over_no_order_and_no_inspection() {
    let text = GOOD
        .replace("order = 2\n", "control = \"start/stop\"\n")
        .replace("\"R1\",", "\"R1\", \"R2\",")
        + "[[vessel]]\nid = \"R2\"\nlike = \"R1\"\n";
    let station = parse(&text).unwrap();
    assert_eq!(station.machines[1].order, 2);
    assert!(matches!(station.machines[1].control, Control::StartStop(_)));
    assert_eq!(station.vessels[1].inspection, None);
    let valve = station.vessels[1].safety_valve.unwrap();
    near(valve.set.si(), 10.5e5);
}

/// The template is complete: it says every key, and what it leaves to a default it shows in a note.
#[test]
fn the_template_is_valid_and_names_every_key() {
    let station = parse(TEMPLATE).unwrap();
    assert_eq!(station.machines.len(), 3);
    let words: Vec<&str> = TEMPLATE
        .split(|c: char| !(c.is_ascii_alphanumeric() || c == '_'))
        .collect();
    // These are read only to say that a machine is of another kind.
    let unused = ["stages", "lubrication", "medium"];
    for path in keys() {
        let key = path.rsplit('.').next().unwrap();
        let said = unused.contains(&key) || words.contains(&key);
        assert!(said, "the template does not say {path}");
    }
    assert!(keys().count() > 120);
}
