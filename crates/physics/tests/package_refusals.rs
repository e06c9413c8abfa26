//! What is not a number, or contradicts physics, is refused by name and never answered.

use physics::heat::aftercooler::{Cooler, HotAir, march};
use physics::machine::oil::oil_capacity;
use physics::machine::package::*;
use physics::quantity::{
    AbsolutePressure, FreeAir, GaugePressure, Power, PressureDifference, Temperature,
};

fn celsius(t: f64) -> Temperature {
    Temperature::from_celsius(t)
}
fn kw(p: f64) -> Power {
    Power::from_kw(p)
}
fn bar(p: f64) -> AbsolutePressure {
    AbsolutePressure::from_bar(p)
}

/// A drop or a valve that is not a number.
#[test]
fn air_end_pressure_refuses_what_is_no_number() {
    let none = PressureDifference::from_bar(0.0);
    assert!(air_end_pressure(bar(8.0), none, AbsolutePressure::new(f64::NAN), none).is_err());
    assert!(air_end_pressure(bar(f64::NAN), none, bar(5.0), none).is_err());
    let no_number = PressureDifference::new(f64::NAN);
    assert!(air_end_pressure(bar(8.0), no_number, bar(5.0), none).is_err());
    assert!(air_end_pressure(bar(8.0), none, bar(5.0), no_number).is_err());
}

/// An endless power has no share of it left.
#[test]
fn surface_heat_is_finite_or_refused() {
    for power in [f64::INFINITY, f64::NAN, -1.0] {
        let answer = surface_heat(Power::new(power), kw(0.0), None, 0.04, 0.0);
        assert!(answer.is_err(), "{power}: {answer:?}");
    }
    assert!(surface_heat(kw(30.0), kw(31.0), None, 0.04, 0.0).is_err());
    assert!(surface_heat(kw(30.0), kw(1.0), Some(1.1), 0.04, 0.0).is_err());
}

/// Two negative numbers do not make oil flow.
#[test]
fn oil_capacity_refuses_negative_ratio_and_flow() {
    assert!(oil_capacity(-7.0, -0.1).is_err());
    assert!(oil_capacity(-7.0, 0.1).is_err());
    assert!(oil_capacity(7.0, 0.0).is_err());
}

/// Pressures below vacuum.
#[test]
fn power_refuses_negative_pressures() {
    let below = Compression {
        intake: bar(-1.0),
        discharge: bar(-8.0),
    };
    assert!(power_on_load(kw(33.0), kw(1.0), kw(1.0), 1.0, below, below).is_err());
}

/// Delivery in a state outside the model.
#[test]
fn delivery_refuses_outside_its_ranges() {
    let sound = Delivery {
        rated: FreeAir::from_m3_per_min(5.3),
        air_end: 1.0,
        belt: 1.0,
        speed: 1.0,
        slip_per_pa: 0.005e-5,
        rated_pressure: GaugePressure::from_bar(7.5),
        pressure: GaugePressure::from_bar(7.5),
        intake_share: 1.0,
    };
    assert!(free_air_delivered(sound).is_ok());
    for broken in [
        Delivery {
            air_end: -0.1,
            ..sound
        },
        Delivery {
            belt: f64::NAN,
            ..sound
        },
        Delivery {
            speed: 4.0,
            ..sound
        },
        Delivery {
            slip_per_pa: f64::NAN,
            ..sound
        },
        Delivery {
            intake_share: 1.1,
            ..sound
        },
        Delivery {
            pressure: GaugePressure::from_bar(21.0),
            ..sound
        },
        Delivery {
            rated: FreeAir::new(f64::INFINITY),
            ..sound
        },
    ] {
        assert!(free_air_delivered(broken).is_err(), "{broken:?}");
    }
}

/// Air so hot that it stays dry still has a pressure.
#[test]
fn the_aftercooler_refuses_a_pressure_that_is_no_number() {
    let cooler = Cooler {
        transfer_units: 0.01,
        hot_side_share: 0.5,
        cooling_air: celsius(79.0),
    };
    for pressure in [f64::NAN, -1.0, 0.0, f64::INFINITY] {
        let air = HotAir {
            temperature: celsius(120.0),
            humidity_ratio: 0.01,
            pressure: AbsolutePressure::new(pressure),
        };
        assert!(march(air, cooler).is_err(), "{pressure} Pa");
    }
}
