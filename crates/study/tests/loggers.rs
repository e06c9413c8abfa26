//! Several loggers beside each other, each at an interval of its own: every channel keeps its times,
//! and what is told of it is what its logger alone would tell.

mod support;

use study::{MachineDays, Study};

use support::{near, read, rows};

/// A machine that loads for 40 s of every 100.
fn loads(second: u32) -> bool {
    second % 100 < 40
}

fn signals(second: u32) -> String {
    format!("1,{}", u32::from(!loads(second)))
}

fn machine(study: &Study) -> &MachineDays {
    study.machines.first().expect("it is logged")
}

#[test]
fn rows_that_lack_the_signals_leave_the_state_as_it_was() {
    let alone = read(rows("time,Run,Unl", (0..7200).step_by(10), signals));
    let both = read(rows("time,Run,Unl,MAIN.pressure [bar(g)]", 0..7191, |s| {
        let pressure = 6.8 + f64::from(s % 97) * 0.007;
        if s.is_multiple_of(10) {
            format!("{},{pressure:.3}", signals(s))
        } else {
            format!(",,{pressure:.3}")
        }
    }));
    assert_eq!(both.left_out_total, 0);
    let (alone, both) = (machine(&alone), machine(&both));
    assert_eq!(alone.days[0].hours, both.days[0].hours);
    assert_eq!(
        (alone.days[0].loads, alone.days[0].unloads),
        (both.days[0].loads, both.days[0].unloads)
    );
    near(alone.confidence, both.confidence);
}

#[test]
fn a_flow_that_few_rows_hold_is_measured_all_the_same() {
    let flow = |s: u32| format!("{:.2}", 3.0 + f64::from(s / 10 % 7) * 0.1);
    let power = |s: u32| if loads(s) { "33.4" } else { "9.2" };
    let study = read(rows(
        "time,K1.power [kW],MAIN.flow [m3/min]",
        0..7201,
        |s| {
            if s.is_multiple_of(10) {
                format!("{},{}", power(s), flow(s))
            } else {
                format!("{},", power(s))
            }
        },
    ));
    let station = &study.station;
    assert!(station.measured);
    let mid = station.delivered_m3.expect("it is measured").mid;
    // Trapezoids of the flow's own readings: 720 steps of 10 s, m³/min.
    let right: f64 = (0..720_u32)
        .map(|step| {
            let at = |step: u32| 3.0 + f64::from(step % 7) * 0.1;
            0.5 * (at(step) + at(step + 1)) / 6.0
        })
        .sum();
    assert!((mid - right).abs() < 1e-6 * right, "{mid} is not {right}");
}
