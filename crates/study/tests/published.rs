//! Leakage and energy from logs, against published worked leak tests and a reference library.
//!
//! The published readings are laid out as a log; what the study makes of it must be what was
//! published.

mod support;

use physics::quantity::{CUBIC_FOOT_M3, PSI_PA};
use station::model::Station;
use study::{Channel, Leakage, LeakageMethod, LogOptions, Study, read_log};

/// A station with this delivery and storage, off-shift all day but for one minute on Sundays.
fn station(fad: f64, volume_l: f64) -> Station {
    let more = format!(
        "{}\nmax_pressure = \"9.5 bar(g)\"\nunloaded_power = \"{:.3} kW\"",
        support::station::band(6.5, 7.5),
        1.7 * fad
    );
    support::station::Described {
        site: "hours = \"Sun 23:58-23:59\"".to_owned(),
        machines: support::station::machine("K1", "load/unload", (7.0, fad, 6.3 * fad), &more),
        vessel_l: volume_l - 1.0,
        rest: "volume = \"1 L\"".to_owned(),
        ..Default::default()
    }
    .parse()
}

/// 5 January 2026 is a Monday.
fn time(second: u32) -> String {
    format!(
        "2026-01-{:02} {:02}:{:02}:{:02}",
        5 + second / 86_400,
        second / 3600 % 24,
        second / 60 % 60,
        second % 60
    )
}

fn by(study: &Study, method: LeakageMethod) -> &Leakage {
    study
        .leakage
        .iter()
        .find(|l| l.method == method)
        .unwrap_or_else(|| panic!("{method:?} of {:?}", study.leakage))
}

fn read(text: String, station: &Station) -> Study {
    read_log([support::source(text)], station, &LogOptions::default()).expect("a good log")
}

/// A step of a pressure decay, made six times over, each after a gap in the log.
fn falls(from_psi: f64, to_psi: f64, minutes: f64) -> Study {
    // The volume is the one that all seven published results give: 629 ft³.
    let station = station(10.0, 629.0 * CUBIC_FOOT_M3 * 1e3);
    let mut text = "time,K1.power [kW],R1.pressure [psi(g)]\n".to_owned();
    let length = (minutes * 60.0 / 6.0).floor() as u32;
    for repeat in 0..6_u32 {
        let start = repeat * (length * 6 + 1200);
        for row in 0..=length {
            let share = f64::from(row) * 6.0 / (minutes * 60.0);
            let pressure = from_psi + (to_psi - from_psi) * share;
            let line = format!("{},0.0,{pressure:.4}\n", time(start + 6 * row));
            text.push_str(&line);
        }
    }
    read(text, &station)
}

/// NAVFAC MO-209, ch. 5, Tables 5-3 and 5-4 (published): pressures and running clock of a decay test,
/// and the loss at the mean pressure of each step, printed as whole scfm (14.7 psi).
#[test]
fn a_published_pressure_decay_gives_its_published_losses() {
    let clock = [
        0.0,
        10.0 + 42.0 / 60.0,
        23.0 + 17.0 / 60.0,
        38.0 + 34.0 / 60.0,
    ];
    let clock = [
        clock[0],
        clock[1],
        clock[2],
        clock[3],
        58.0 + 56.0 / 60.0,
        87.0 + 28.0 / 60.0,
    ];
    let psi = [90.0, 80.0, 70.0, 60.0, 50.0, 40.0];
    for (step, printed) in [40.0, 34.0, 28.0, 21.0, 15.0].into_iter().enumerate() {
        let study = falls(psi[step], psi[step + 1], clock[step + 1] - clock[step]);
        let leakage = by(&study, LeakageMethod::PressureDecay);
        // Reference air of 1 bar(a) to standard cubic feet of 14.7 psi, both at 20 °C.
        let scfm = leakage.m3_s.mid * 60.0 / CUBIC_FOOT_M3 * 1.0e5 / (14.7 * PSI_PA);
        // Printed to a whole scfm; the logarithm and the straight line differ by 0.3 %.
        assert!(
            (scfm - printed).abs() <= 0.5 + 0.003 * printed,
            "{scfm}, printed {printed}"
        );
        assert_eq!(leakage.count, 6);
    }
}

/// Cycles of so many minutes on and off load, with nothing else.
fn cycles(on_min: u32, off_min: u32, fad: f64) -> Study {
    let mut text = "time,K1.power [kW],R1.pressure [bar(g)]\n".to_owned();
    let (on, off) = (60 * on_min, 60 * off_min);
    for second in (0..12 * (on + off)).step_by(5) {
        let at = second % (on + off);
        let (power, pressure) = if at < on {
            (6.3 * fad, 6.5 + f64::from(at) / f64::from(on))
        } else {
            (1.7 * fad, 7.5 - f64::from(at - on) / f64::from(off))
        };
        text.push_str(&format!("{},{power:.2},{pressure:.3}\n", time(second)));
    }
    read(text, &station(fad, 3000.0))
}

/// Leakage share = T/(T + t): US DOE Sourcebook, section on leaks (published, formula second-hand);
/// 7.5 of 30 minutes is a quarter (a trade page, seen; here 15 of 60); 8 min on and 48 min off at 900
/// cfm are 14.286 %, 128.57 cfm (a published training exercise, seen, there rounded to 14.2 % and
/// 127.8); 1.5 on and 10.5 off at 35 m³/min are 4.375 m³/min (from memory; here 3 and 21).
#[test]
fn published_load_and_unload_times_give_their_published_leakage() {
    for (on, off, fad, share, printed_m3_min) in [
        (15, 45, 10.0, 0.25, 2.5),
        (
            8,
            48,
            900.0 * CUBIC_FOOT_M3,
            0.142_857,
            128.57 * CUBIC_FOOT_M3,
        ),
        (3, 21, 35.0, 0.125, 4.375),
    ] {
        let study = cycles(on, off, fad);
        let leakage = by(&study, LeakageMethod::LoadUnloadTimes);
        let found = leakage.working[0].value;
        // Rows every 5 s.
        assert!((found - share).abs() < 0.002, "{found}, published {share}");
        // The published flow is free air as rated; here the forward model's delivery at the log's
        // pressure and in mild weather, as reference air: 3 % apart at most.
        let flow = leakage.m3_s.mid * 60.0;
        assert!(
            (flow / printed_m3_min - 1.0).abs() < 0.04,
            "{flow}, {printed_m3_min}"
        );
        let delivery = flow / found;
        let step = &leakage.working[1];
        assert!((step.value - flow).abs() < 1e-9 && step.numbers.contains('·'));
        assert!(delivery > 0.0);
    }
}

/// Trapezoids against `scipy.integrate.cumulative_trapezoid` (scipy 1.17.1): `data/energy.csv`, made
/// by `data/scripts/energy.py`.
#[test]
fn energy_is_that_of_a_reference_library() {
    let data = include_str!("data/energy.csv");
    let rows: Vec<Vec<f64>> = data
        .lines()
        .skip(2)
        .map(|line| {
            line.split(',')
                .map(|cell| cell.parse().expect("a number"))
                .collect()
        })
        .collect();
    assert_eq!(rows.len(), 4001);
    let mut text = "time,K1.power [kW]\n".to_owned();
    for row in &rows {
        text.push_str(&format!("{},{}\n", time(row[0] as u32), row[1]));
    }
    let study = read(text, &station(5.3, 1000.0));
    let energy = rows[4000][2];
    let channel = &study.channels[0];
    assert_eq!(channel.channel, Channel::power_of(0));
    let integral: f64 = channel.days.iter().map(|d| d.integral).sum();
    assert!(
        (integral / 3.6e6 - energy).abs() < 1e-9 * energy,
        "{integral} J, {energy} kWh"
    );
    // Between two states the power before holds up to the edge: at most half a step of each change.
    let kwh: f64 = study.machines[0].totals.kwh.iter().sum();
    assert!((kwh - energy).abs() < 0.01 * energy, "{kwh}, {energy}");
    assert!((study.station.kwh.iter().sum::<f64>() - kwh).abs() < 1e-9 * kwh);
}
