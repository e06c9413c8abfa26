//! An invented station for the tests of files, built by hand.

use jiff::tz::TimeZone;
use physics::quantity::{
    FreeAir, GaugePressure, Power, PressureDifference, Temperature, TemperatureDifference,
};
use station::air_path::{AirPath, Stage};
use station::model::{
    Asset, Band, Control, Cooling, Drain, DrainKind, Drive, Dryer, DryerKind, Fan, Filter, Header,
    Intake, Known, Machine, MachineKind, Motor, Oil, Pipe, Rated, Room, Separator, Site, Station,
    Vessel,
};

fn known<T>(value: T, sigma: f64) -> Known<T> {
    Known {
        value,
        sigma,
        given: true,
    }
}

fn machine(id: &str, order: u32) -> Machine {
    Machine {
        id: id.to_owned(),
        kind: MachineKind::Screw,
        drive: Drive::Gear,
        control: Control::LoadUnload(Band {
            load: GaugePressure::from_bar(6.8),
            unload: GaugePressure::from_bar(7.5),
        }),
        order,
        rated: Rated {
            pressure: GaugePressure::from_bar(7.5),
            fad: known(FreeAir::from_m3_per_min(5.3), 0.004),
            power: known(Power::from_kw(33.4), 1000.0),
            humidity: 0.0,
        },
        max_pressure: GaugePressure::from_bar(8.0),
        unloaded_power: known(Power::from_kw(9.2), 500.0),
        fan_power: known(Power::from_kw(1.1), 100.0),
        blowdown_s: known(30.0, 5.0),
        minimum_pressure: known(GaugePressure::from_bar(4.0), 0.3e5),
        slip_per_pa: known(0.0, 1.0e-8),
        motor: Motor {
            power: Some(Power::from_kw(30.0)),
            voltage_v: Some(400.0),
            current_a: Some(54.0),
            efficiency: Some(0.936),
            power_factor: known(0.86, 0.02),
            starts_per_hour: known(10.0, 0.0),
        },
        oil: Oil {
            grade: Some("VG 46".to_owned()),
            fill_l: Some(14.0),
            held_at: known(Temperature::from_celsius(72.0), 2.0),
            warn: Temperature::from_celsius(105.0),
            trip: Temperature::from_celsius(110.0),
            life_h: known(6000.0, 500.0),
            ratio: known(7.0, 2.0),
        },
        cooling: Cooling {
            rated_ambient: Temperature::from_celsius(20.0),
            oil_approach: known(TemperatureDifference::new(60.0), 3.0),
            air_approach: known(TemperatureDifference::new(8.0), 2.0),
            fan: Fan::Constant,
            mat: true,
            hot_side_share: known(0.05, 0.02),
            after_drop: known(PressureDifference::from_bar(0.1), 3000.0),
            separates: known(0.9, 0.1),
        },
        belt: None,
        separator: Separator {
            clean: known(PressureDifference::from_bar(0.2), 5000.0),
            change: PressureDifference::from_bar(0.8),
            volume_m3: known(0.018, 0.002),
        },
        intake: Intake {
            clean: known(PressureDifference::new(1500.0), 500.0),
            change: PressureDifference::new(5000.0),
        },
    }
}

fn drain(id: &str, on: Asset) -> Drain {
    Drain {
        id: id.to_owned(),
        on,
        kind: DrainKind::LevelSensed,
        test_button: true,
    }
}

/// Two machines, a vessel, a filter, a dryer, a pipe, a header and two drains, in this time zone.
pub(crate) fn station(time_zone: &str) -> Station {
    let rated_pressure = GaugePressure::from_bar(7.0);
    Station {
        site: Site {
            name: "Quillbank Tileworks (invented)".to_owned(),
            altitude_m: 120.0,
            time_zone: TimeZone::get(time_zone).expect("the program carries the time zones"),
            price: None,
            carbon_kg_per_kwh: None,
            hours: None,
            climate: None,
        },
        room: Room {
            ventilation: None,
            ducted: false,
            assumed_rise: known(TemperatureDifference::new(8.0), 4.0),
        },
        machines: vec![machine("K1", 1), machine("K2", 2)],
        vessels: vec![Vessel {
            id: "R1".to_owned(),
            volume_m3: 1.0,
            max_pressure: GaugePressure::from_bar(11.0),
            safety_valve: None,
            inspection: None,
            u_w_m2k: known(6.0, 2.0),
            separates: known(0.9, 0.1),
        }],
        dryers: vec![Dryer {
            id: "D1".to_owned(),
            kind: DryerKind::Refrigeration {
                reheat: known(TemperatureDifference::new(10.0), 3.0),
                derate_per_k: known(0.02, 0.01),
            },
            dew_point: known(Temperature::from_celsius(3.0), 1.0),
            drop: known(PressureDifference::from_bar(0.2), 3000.0),
            power: known(Power::from_kw(0.9), 100.0),
            rated_flow: known(FreeAir::from_m3_per_min(6.0), 0.002),
            rated_pressure,
            rated_inlet: Temperature::from_celsius(35.0),
            rated_ambient: Temperature::from_celsius(25.0),
            separates: known(0.9, 0.1),
            own_drain: false,
        }],
        filters: vec![Filter {
            id: "F1".to_owned(),
            rated_flow: known(FreeAir::from_m3_per_min(6.5), 0.002),
            rated_pressure,
            clean: known(PressureDifference::from_bar(0.1), 2000.0),
            change: PressureDifference::from_bar(0.35),
            separates: known(0.0, 0.0),
        }],
        drains: vec![
            drain("K1.drain", Asset::Machine(0)),
            drain("R1.drain", Asset::Vessel(0)),
        ],
        pipes: vec![Pipe {
            id: "P1".to_owned(),
            length_m: 38.0,
            bore_m: 0.054,
            roughness_m: known(4.5e-5, 2.0e-5),
        }],
        headers: vec![Header {
            id: "MAIN".to_owned(),
            wanted: Some(GaugePressure::from_bar(6.2)),
            coldest: None,
            volume_m3: None,
        }],
        tasks: Vec::new(),
        air_path: AirPath {
            stages: vec![
                Stage::SideBySide(vec![
                    vec![Stage::One(Asset::Machine(0))],
                    vec![Stage::One(Asset::Machine(1))],
                ]),
                Stage::One(Asset::Vessel(0)),
                Stage::One(Asset::Filter(0)),
                Stage::One(Asset::Dryer(0)),
                Stage::One(Asset::Pipe(0)),
                Stage::One(Asset::Header(0)),
            ],
        },
        accuracies: std::collections::BTreeMap::new(),
        log_columns: Vec::new(),
        defaults_used: Vec::new(),
    }
}
