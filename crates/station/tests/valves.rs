//! Safety valves that do not suit their vessel: the file can be used, and the exact sentences say
//! what to look at. The rule that a valve is set no higher than its vessel's pressure and passes
//! all that the machines deliver is common practice, no source; the law of the place sets it.
#![expect(clippy::expect_used, reason = "a test stops at what must not be")]

use station::file::station::parse;

const GOOD: &str = include_str!("broken/station/good.toml");
const VALVE: &str = r#"set = "10.5 bar(g)", capacity = "12 m3/min""#;

/// The faults of the good station with another safety valve: key and sentence.
fn faults(valve: &str) -> Vec<(&'static str, String)> {
    assert_eq!(GOOD.matches(VALVE).count(), 1);
    let station = parse(&GOOD.replace(VALVE, valve)).expect("the file can be used");
    let faults = station.valve_faults().into_iter();
    faults
        .map(|(vessel, fault)| {
            assert_eq!(station.vessels[vessel].id, "R1");
            (fault.key(), fault.sentence())
        })
        .collect()
}

#[test]
fn a_valve_that_suits_says_nothing() {
    assert_eq!(faults(VALVE), []);
    // The machines deliver 5.3 m3/min each, and the vessel may stand 11 bar(g): just enough.
    assert_eq!(faults(r#"set = "11 bar(g)", capacity = "10.6 m3/min""#), []);
}

#[test]
fn a_valve_set_above_its_vessel_is_told() {
    let told = faults(r#"set = "11.5 bar(g)", capacity = "12 m3/min""#);
    assert_eq!(
        told,
        [(
            "safety_valve.set",
            "11.5 bar(g) lies above `max_pressure`, 11 bar(g): a safety valve opens at or below the pressure that the vessel may stand".to_owned()
        )]
    );
}

#[test]
fn a_valve_smaller_than_the_machines_is_told() {
    let told = faults(r#"set = "10.5 bar(g)", capacity = "8 m3/min""#);
    assert_eq!(
        told,
        [(
            "safety_valve.capacity",
            "8 m3/min is less than the machines before it deliver, 10.6 m3/min: look at the valve's plate; a valve that is too small is a case for the inspector".to_owned()
        )]
    );
}
