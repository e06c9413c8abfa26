//! Several flow meters: which of them together tell all the air, by the air path.

mod support;

use study::{LeakageMethod, LogOptions, Study, read_log};
use support::station::{Described, band, machine};

/// A station whose air goes this way from R1 on, with three headers.
fn station(path: &str) -> station::model::Station {
    let more = format!("{}\nmax_pressure = \"8.0 bar(g)\"", band(6.8, 7.5));
    let header = |id: &str| format!("[[header]]\nid = \"{id}\"\n");
    Described {
        path: format!(r#""K1", "R1", {path}"#),
        site: "hours = \"Mon-Fri 06:00-22:00\"".to_owned(),
        machines: machine("K1", "load/unload", (7.5, 9.0, 55.0), &more),
        rest: header("EAST") + &header("HALL"),
        ..Described::default()
    }
    .parse()
}

/// A night in which each of these meters reads so much, m³/min.
fn study(path: &str, meters: &[(&str, f64)]) -> Study {
    let header: String = meters
        .iter()
        .map(|(id, _)| format!(",{id}.flow [m3/min]"))
        .collect();
    let flutter = |second: u32| 0.001 * f64::from(second % 7) - 0.003;
    // Thursday 1 January 2026, from midnight, past the beginning of the shift.
    let text = support::rows(
        &format!("time,K1.power [kW]{header}"),
        (0..8 * 3600).step_by(5),
        |s| {
            let power = if s % 100 < 40 { 55.0 } else { 15.0 } + flutter(s);
            let flows = meters
                .iter()
                .map(|(_, flow)| format!(",{:.3}", flow + flutter(s)));
            format!("{power:.3}{}", flows.collect::<String>())
        },
    );
    let station = station(path);
    let read = read_log([support::source(text)], &station, &LogOptions::default());
    read.unwrap_or_else(|problems| panic!("a good log: {}", problems[0]))
}

fn at_night(study: &Study) -> f64 {
    let found = study
        .leakage
        .iter()
        .find(|l| l.method == LeakageMethod::OffShiftDelivery);
    60.0 * found.expect("there is a night").m3_s.mid
}

fn said(study: &Study, words: &str) -> bool {
    study.remarks.iter().any(|remark| remark.contains(words))
}

#[test]
fn meters_side_by_side_are_added() {
    let study = study(
        r#"["MAIN", "EAST", "HALL"]"#,
        &[("MAIN", 2.0), ("HALL", 0.5), ("EAST", 1.0)],
    );
    assert!(study.station.measured && study.demand.measured);
    assert!(
        (at_night(&study) - 3.5).abs() < 0.01,
        "{}",
        at_night(&study)
    );
    assert!(
        said(&study, "the sum of MAIN and EAST and HALL"),
        "{:?}",
        study.remarks
    );
}

#[test]
fn of_meters_one_behind_the_other_the_first_is_taken() {
    // In the order of the air path, whatever the order of the columns.
    let study = study(r#""MAIN", "EAST", "HALL""#, &[("EAST", 1.0), ("MAIN", 2.0)]);
    assert!(study.station.measured);
    assert!(
        (at_night(&study) - 2.0).abs() < 0.01,
        "{}",
        at_night(&study)
    );
    assert!(
        said(
            &study,
            "The flow of EAST is left out, which lies behind MAIN"
        ),
        "{:?}",
        study.remarks
    );
}

#[test]
fn a_meter_behind_a_header_without_one_is_taken_and_that_is_said() {
    let study = study(r#""MAIN", "EAST", "HALL""#, &[("EAST", 1.0)]);
    assert!((at_night(&study) - 1.0).abs() < 0.01);
    assert!(
        said(&study, "What is drawn from MAIN before it reaches EAST"),
        "{:?}",
        study.remarks
    );
}

#[test]
fn a_meter_in_one_branch_only_is_not_the_whole() {
    let one = study(
        r#"["MAIN", "EAST", "HALL"]"#,
        &[("MAIN", 2.0), ("EAST", 1.0)],
    );
    assert!(!one.station.measured && !one.demand.measured);
    assert!(
        said(&one, "The flow of MAIN and EAST is not all"),
        "{:?}",
        one.remarks
    );
    // The machine is on load for two fifths of the time.
    assert!(
        (at_night(&one) - 0.4 * 9.0).abs() < 0.2,
        "{}",
        at_night(&one)
    );
    // A header behind both branches has all of it again.
    let behind = study(
        r#"["MAIN", "EAST"], "HALL""#,
        &[("MAIN", 2.0), ("HALL", 2.8)],
    );
    assert!((at_night(&behind) - 2.8).abs() < 0.01);
}
