//! Sensors that stuck, in logs of the simulation: nothing that they say while they stand still
//! reaches slopes, switching pressures, windows of demand or what a machine is taken to do.

mod simulation;
mod support;

use std::ops::Range;

use fastrand::Rng;
use simulation::invented::make;
use simulation::{Truth, log, run};
use station::model::Station;
use study::{LeakageMethod, LogOptions, Study, Why, read_log};

struct Case {
    station: Station,
    text: String,
    truth: Truth,
}

fn case(seed: u64) -> Case {
    let mut random = Rng::with_seed(seed);
    let (station, plant) = make(&mut random, 1, 0.5);
    let (stretches, truth) = run(&plant, &mut random, 1.5);
    let text = log(&plant, &stretches, 2.0, &mut random);
    Case {
        station,
        text,
        truth,
    }
}

/// The log with this cell of each row in these hours.
fn stuck(text: &str, column: usize, hours: Range<usize>, cell: &str) -> String {
    let rows = 1800 * hours.start..1800 * hours.end;
    let line = |(at, line): (usize, &str)| {
        let mut cells: Vec<&str> = line.split(',').collect();
        if at > 0 && rows.contains(&(at - 1)) {
            cells[column] = cell;
        }
        cells.join(",") + "\n"
    };
    text.lines().enumerate().map(line).collect()
}

fn study(case: &Case, text: &str, block: usize) -> Study {
    let options = LogOptions {
        block,
        ..LogOptions::default()
    };
    let read = read_log([support::source(text)], &case.station, &options);
    let study = read.unwrap_or_else(|problems| panic!("a good log: {}", problems[0]));
    let stood = |l: &&study::LeftOut| matches!(l.why, Why::Stuck | Why::Saturated);
    let left_out = study.left_out.iter().filter(stood).count();
    assert_eq!(
        left_out,
        usize::from(text != case.text),
        "{:?}",
        study.left_out
    );
    study
}

fn leakage(study: &Study, method: LeakageMethod) -> study::Band95 {
    let found = study.leakage.iter().find(|l| l.method == method);
    found.expect("it is told").m3_s.times(60.0)
}

#[test]
fn a_gauge_that_stuck_is_in_no_slope_and_no_switching_pressure() {
    let case = case(810);
    let good = study(&case, &case.text, 1 << 20);
    // Four of 36 hours at a pressure in the middle of the band, across working and resting hours.
    let text = stuck(&case.text, 2, 20..24, "7.050");
    let bad = study(&case, &text, 1 << 20);
    let (was, is) = (good.control_bands[0], bad.control_bands[0]);
    for (was, is) in [(was.load, is.load), (was.unload, is.unload)] {
        let (was, is) = (was.expect("it switches"), is.expect("it switches"));
        for (was, is) in [(was.low, is.low), (was.mid, is.mid), (was.high, is.high)] {
            assert!((was - is).abs() < 500.0, "{was} {is}");
        }
    }
    let storage = |study: &Study| study.storage.clone().expect("slopes");
    let (was, is) = (storage(&good), storage(&bad));
    assert!((was.m3.mid - is.m3.mid).abs() < 0.01 * was.m3.mid);
    // No load and no unload of these hours has a slope.
    assert!(is.pairs < was.pairs);
    let decay = leakage(&bad, LeakageMethod::PressureDecay);
    let truth = case.truth.leakage_off;
    assert!(
        decay.low <= truth && truth <= decay.high,
        "{decay:?} {truth}"
    );
}

#[test]
fn a_power_that_stuck_is_no_load() {
    let case = case(811);
    let good = study(&case, &case.text, 1 << 20);
    let loaded = format!(
        "{:.2}",
        case.station.machines[0].rated.power.value.si() / 1e3
    );
    // Three hours of the night, as if it had been on load.
    let text = stuck(&case.text, 1, 1..4, &loaded);
    let bad = study(&case, &text, 1 << 20);
    let truth = case.truth.leakage_off;
    for method in [
        LeakageMethod::OffShiftDelivery,
        LeakageMethod::LoadUnloadTimes,
    ] {
        let (was, is) = (leakage(&good, method), leakage(&bad, method));
        assert!((was.mid - is.mid).abs() < 0.02 * was.mid, "{was:?} {is:?}");
        assert!(is.low <= truth && truth <= is.high, "{is:?} {truth}");
    }
    // Demand is not told for hours in which the machine was not seen.
    let apart = good.demand.hours.len() - bad.demand.hours.len();
    assert!((3..=5).contains(&apart), "{apart} hours fewer");
    let most = |study: &Study| study.demand.duration.last().expect("a curve").1;
    assert!(most(&bad) <= 1.001 * most(&good));
    let longest = |study: &Study| {
        let [_, _, loaded] = study::plain(&study.machines[0].totals.hours);
        loaded
    };
    assert!(longest(&bad) < longest(&good));
}

#[test]
fn a_meter_that_stood_at_its_end_is_not_the_demand() {
    let case = case(812);
    let metered = |cell: &dyn Fn(usize) -> String| -> String {
        let line = |(at, line): (usize, &str)| match at {
            0 => format!("{line},MAIN.flow [m3/min]\n"),
            at => format!("{line},{}\n", cell(at - 1)),
        };
        case.text.lines().enumerate().map(line).collect()
    };
    let flow = |row: usize| format!("{:.3}", 2.0 + 0.001 * (row * 7 % 100) as f64);
    let ends = |row: usize| {
        let over = (1800 * 2..1800 * 5).contains(&row);
        if over { "9.999".to_owned() } else { flow(row) }
    };
    let read = |text: String| {
        let read = read_log(
            [support::source(text)],
            &case.station,
            &LogOptions::default(),
        );
        read.unwrap_or_else(|problems| panic!("a good log: {}", problems[0]))
    };
    let bad = read(metered(&ends));
    assert_eq!(bad.left_out[0].why, Why::Saturated);
    let found = leakage(&bad, LeakageMethod::OffShiftDelivery);
    assert!((found.mid - 2.05).abs() < 0.02, "{found:?}");
    let most = bad.demand.hours.iter().map(|(_, flow)| 60.0 * flow);
    assert!(most.fold(0.0, f64::max) < 2.2);
    // What was measured stands for the rest: as much as the meter read, all the time.
    assert!(bad.station.measured);
    let all = bad.station.delivered_m3.expect("it is measured").mid;
    assert!((all - 2.05 * 36.0 * 60.0).abs() < 0.01 * all, "{all} m³");
}

#[test]
fn what_is_left_out_does_not_depend_on_how_the_log_is_cut() {
    let case = case(813);
    let both = stuck(&case.text, 2, 3..6, "6.950");
    let whole = study(&case, &both, 64 << 20);
    for block in [700, 10_007, 200_000] {
        assert_eq!(study(&case, &both, block), whole, "{block} bytes");
    }
}
