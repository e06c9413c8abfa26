//! States that a power alone does not part into stopped, unloaded and loaded: throttled, slowed, by
//! current, by signals; and levels that move.

mod support;

use station::model::Station;
use study::{LevelsFrom, LogOptions, MachineDays, State, Study, plain, read_log};

/// A station of one machine with this control, 5.3 m³/min and 33.4 kW at 7.0 bar(g).
fn station(control: &str, more: &str) -> Station {
    let more = format!("max_pressure = \"8.5 bar(g)\"\n{more}");
    support::station::Described {
        machines: support::station::machine("K1", control, (7.0, 5.3, 33.4), &more),
        ..Default::default()
    }
    .parse()
}

const BAND: &str = r#"band = { load = "6.6 bar(g)", unload = "7.4 bar(g)" }"#;

fn study(header: &str, station: &Station, seconds: u32, row: impl Fn(u32) -> String) -> Study {
    let text = support::rows(header, 0..seconds, row);
    read_log([support::source(text)], station, &LogOptions::default()).expect("a good log")
}

fn hours(machine: &MachineDays, state: State) -> f64 {
    let at = State::ALL.iter().position(|s| *s == state).expect("all");
    machine.totals.hours[at]
}

fn near(found: f64, wanted: f64, slack: f64) {
    assert!((found - wanted).abs() <= slack, "{found}, wanted {wanted}");
}

/// A little that changes from row to row, so that no value stands still.
fn flutter(second: u32) -> f64 {
    0.02 * f64::from(second % 7) - 0.06
}

#[test]
fn a_throttled_machine_is_modulating_and_delivers_its_share() {
    let station = station("modulating", BAND);
    // An hour each on full load and at half flow: 0.7 + 0.3 · 0.5 of full power (common practice).
    let read = study(
        "time,K1.power [kW],R1.pressure [bar(g)]",
        &station,
        7200,
        |s| {
            let power = if s < 3600 { 33.4 } else { 0.85 * 33.4 };
            format!("{:.2},{:.3}", power + flutter(s), 7.0 + 0.01 * flutter(s))
        },
    );
    let machine = &read.machines[0];
    near(hours(machine, State::Loaded), 1.0, 0.01);
    near(hours(machine, State::Modulating), 1.0, 0.01);
    let delivered = |at: usize| machine.hours[at].delivered_m3.expect("the model knows it");
    near(delivered(1) / delivered(0), 0.5, 0.02);
}

#[test]
fn a_slowed_machine_is_at_speed_and_delivers_by_its_points() {
    let points = r#"
target = "7.0 bar(g)"
unloaded_power = "7 kW"
part_load = [{ fad = "1.6 m3/min", power = "10.9 kW" }, { fad = "3.4 m3/min", power = "21.0 kW" }, { fad = "5.3 m3/min", power = "33.4 kW" }]
"#;
    let station = station("variable speed", points);
    // An hour each at full speed, at the middle and at the lowest point, and standing.
    let kw = [33.4, 21.0, 10.9, 0.0];
    let read = study(
        "time,K1.power [kW],R1.pressure [bar(g)]",
        &station,
        14_400,
        |s| {
            let power = kw[(s / 3600) as usize];
            let noise = if power > 0.0 { 0.5 * flutter(s) } else { 0.0 };
            format!("{:.2},{:.3}", power + noise, 7.0 + 0.01 * flutter(s))
        },
    );
    let machine = &read.machines[0];
    near(hours(machine, State::Loaded), 1.0, 0.01);
    near(hours(machine, State::AtSpeed), 2.0, 0.01);
    near(hours(machine, State::Stopped), 1.0, 0.01);
    let delivered = |at: usize| machine.hours[at].delivered_m3.expect("the model knows it");
    near(delivered(1) / delivered(0), 3.4 / 5.3, 0.02);
    near(delivered(2) / delivered(0), 1.6 / 5.3, 0.02);
    near(delivered(3), 0.0, 0.01 * delivered(0));
    assert_eq!(machine.levels_moved, 0);
}

#[test]
fn a_machine_blows_down_once_after_it_unloads() {
    let station = station(
        "load/unload",
        &format!("{BAND}\nunloaded_power = \"9.2 kW\"\nblowdown = \"40 s\""),
    );
    // Ten cycles of two minutes on load and three off, then it stands.
    let read = study("time,K1.power [kW]", &station, 3600, |s| {
        let power = match (s < 3000, s % 300) {
            (true, 0..120) => 33.4,
            (true, _) => 9.2,
            _ => 0.0,
        };
        let noise = if power > 0.0 { flutter(s) } else { 0.0 };
        format!("{:.2}", power + noise)
    });
    let machine = &read.machines[0];
    near(hours(machine, State::BlowingDown), 400.0 / 3600.0, 0.003);
    near(hours(machine, State::Unloaded), 1400.0 / 3600.0, 0.003);
    near(hours(machine, State::Loaded), 1200.0 / 3600.0, 0.003);
    let lost = machine
        .totals
        .whole
        .blown_down_m3
        .expect("the model knows it");
    assert!(lost > 0.0 && lost < 2.0, "{lost}");
}

#[test]
fn a_current_tells_the_states_where_no_power_is_read() {
    let plate = "motor = { power = \"30 kW\", voltage = \"400 V\", current = \"54 A\", power_factor = 0.86 }";
    let station = station(
        "load/unload",
        &format!("{BAND}\nunloaded_power = \"9.2 kW\"\n{plate}"),
    );
    // 53 A are 31.5 kW, 31 A are 9.9 kW: √3 · 400 V · √(I² − 27.56²), textbook.
    let read = study("time,K1.current [A]", &station, 7200, |s| {
        let amperes = match (s / 60) % 4 {
            0 => 53.0,
            1 | 2 => 31.0,
            _ => 0.0,
        };
        let noise = if amperes > 0.0 { flutter(s) } else { 0.0 };
        format!("{:.2}", amperes + noise)
    });
    let [stopped, unloaded, loaded] = plain(&read.machines[0].totals.hours);
    near(loaded, 0.5, 0.01);
    near(unloaded, 1.0, 0.01);
    near(stopped, 0.5, 0.01);
    let [_, unloaded, loaded] = plain(&read.machines[0].totals.kwh);
    near(loaded, 0.5 * 31.37, 0.3);
    near(unloaded, 9.85, 0.3);
}

#[test]
fn a_current_that_stands_still_while_the_machine_is_off_has_not_stuck() {
    let plate = "motor = { power = \"30 kW\", voltage = \"400 V\", current = \"54 A\", power_factor = 0.86 }";
    let station = station("load/unload", &format!("{BAND}\n{plate}"));
    // Three hours off: only what the panel takes.
    let read = study("time,K1.current [A]", &station, 14_400, |s| {
        if s < 3600 {
            format!("{:.2}", 53.0 + flutter(s))
        } else {
            "0.40".to_owned()
        }
    });
    assert_eq!(read.left_out_total, 0, "{:?}", read.left_out);
    let [stopped, _, loaded] = plain(&read.machines[0].totals.hours);
    near(stopped, 3.0, 0.01);
    near(loaded, 1.0, 0.01);
}

#[test]
fn signals_that_fit_the_power_are_sure_and_others_are_not() {
    let station = station(
        "load/unload",
        &format!("{BAND}\nunloaded_power = \"9.2 kW\""),
    );
    let header = "time,K1.running,K1.loaded,K1.power [kW]";
    let read = |lies: bool| {
        study(header, &station, 7200, |s| {
            let loaded = (s / 120) % 2 == 0;
            let told = loaded != (lies && s % 1200 < 300);
            let power = if loaded { 33.4 } else { 9.2 } + flutter(s);
            format!("1,{},{power:.2}", u8::from(told))
        })
    };
    let (good, bad) = (read(false), read(true));
    assert_eq!(good.machines[0].levels.from, LevelsFrom::Signals);
    assert!(
        good.machines[0].confidence > 0.999,
        "{}",
        good.machines[0].confidence
    );
    near(bad.machines[0].confidence, 0.75, 0.02);
}

#[test]
fn levels_that_no_longer_fit_are_learned_anew() {
    let station = station("load/unload", BAND);
    // From the third day on a meter reads a third of what it did.
    let days = 5;
    let text = {
        let seconds = (0..days * 86_400_u32).step_by(10);
        support::rows("time,K1.power [kW]", seconds, |s| {
            let factor = if s < 2 * 86_400 { 1.0 } else { 1.0 / 3.0 };
            let power = if (s / 120) % 2 == 0 { 33.4 } else { 9.2 };
            format!("{:.2}", factor * (power + flutter(s / 10)))
        })
    };
    let read = read_log([support::source(text)], &station, &LogOptions::default());
    let study = read.expect("a good log");
    let machine = &study.machines[0];
    assert!(machine.levels_moved >= 1, "{:?}", machine.levels);
    assert_eq!(machine.levels.from, LevelsFrom::Learned);
    assert!(
        study.remarks.iter().any(|r| r.contains("learned anew")),
        "{:?}",
        study.remarks
    );
    // The last day is told right again.
    let [_, unloaded, loaded] = plain(&machine.days[4].hours);
    near(loaded, 12.0, 0.1);
    near(unloaded, 12.0, 0.1);
}
