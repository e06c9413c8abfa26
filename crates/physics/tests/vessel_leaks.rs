//! Leak tests and pump-up tests against public handbooks.
//! Each check names its source and how it is known.

mod air_support;

use air_support::{near, near_rel};
use physics::quantity::{AbsolutePressure, CUBIC_FOOT_M3, FreeAir, MassFlow, PSI_PA, Temperature};
use physics::validity::{Answer, Refusal};
use physics::vessel::*;

const T: Temperature = Temperature::new(293.15);
const R: f64 = 287.05;

fn psig(p: f64) -> AbsolutePressure {
    AbsolutePressure::new((p + 14.7) * PSI_PA)
}
/// One standard cubic foot per minute at 14.7 psia and the temperature of the net.
fn one_scfm() -> MassFlow {
    MassFlow::new(CUBIC_FOOT_M3 / 60.0 * 14.7 * PSI_PA / (R * T.si()))
}
fn fahrenheit(f: f64) -> Temperature {
    // The US sources count from −460 °F.
    Temperature::new((f + 460.0) / 1.8)
}

/// NAVFAC MO-209, Tables 5-3 and 5-4: clock in minutes, psig, and printed loss in scfm at the mean
/// pressure of the step that ends there.
const NAVY: [(f64, f64, f64); 8] = [
    (0.0, 90.0, 0.0),
    (10.70, 80.0, 40.0),
    (23.0 + 17.0 / 60.0, 70.0, 34.0),
    (38.0 + 34.0 / 60.0, 60.0, 28.0),
    (58.0 + 56.0 / 60.0, 50.0, 21.0),
    (87.0 + 28.0 / 60.0, 40.0, 15.0),
    (135.0 + 1.0 / 60.0, 30.0, 9.0),
    (277.0 + 40.0 / 60.0, 20.0, 3.0),
];
/// The volume stands on a page that was not seen; every row infers it (derived).
const NAVY_VOLUME_FT3: f64 = 629.0;

/// The loss of each step, with its mean pressure in psig.
fn navy_losses() -> Answer<Vec<(f64, f64)>> {
    NAVY.windows(2)
        .map(|step| {
            let ((from_min, p1, _), (to_min, p2, _)) = (step[0], step[1]);
            let volume = NAVY_VOLUME_FT3 * CUBIC_FOOT_M3;
            let seconds = (to_min - from_min) * 60.0;
            let leak = leak_from_decay_mean(volume, T, psig(p1), psig(p2), seconds)?;
            Ok((0.5 * (p1 + p2), leak / one_scfm()))
        })
        .collect()
}

/// NAVFAC MO-209, ch. 5 (published): seven losses, whole numbers, from one volume. The column of
/// times is the running clock: dividing by it goes wrong from the second row on.
#[test]
fn navy_decay_table() -> Answer<()> {
    for (step, (_, loss)) in NAVY.windows(2).zip(navy_losses()?) {
        let ((from_min, p1, _), (to_min, p2, printed)) = (step[0], step[1]);
        near("scfm", loss, printed, 0.5);
        near_rel("scfm", loss, printed, 5e-4);
        let seconds = (to_min - from_min) * 60.0;
        let volume = volume_from_decay(one_scfm() * printed, T, psig(p1), psig(p2), seconds)?;
        near("ft³", volume / CUBIC_FOOT_M3, NAVY_VOLUME_FT3, 0.35);
        if from_min > 0.0 {
            let wrong = leak_from_decay_mean(volume, T, psig(p1), psig(p2), to_min * 60.0)?;
            assert!(
                wrong / one_scfm() < printed - 0.5,
                "the clock is not the step"
            );
        }
    }
    Ok(())
}

/// NAVFAC MO-206, Appendix B, Figure B-1 (published): the line through the seven losses, Q = 0.62 P
/// − 12.75, 47 scfm at 96 psig, which costs 12 350 a year at 0.50 per 1000 ft³. The print prices
/// the rounded 47 scfm; unrounded it is 0.2 % less.
#[test]
fn navy_line_and_cost() -> Answer<()> {
    let points = navy_losses()?;
    let count = points.len() as f64;
    let (sum_x, sum_y) = points
        .iter()
        .fold((0.0, 0.0), |(x, y), p| (x + p.0, y + p.1));
    let (mean_x, mean_y) = (sum_x / count, sum_y / count);
    let (xy, xx) = points.iter().fold((0.0, 0.0), |(xy, xx), p| {
        let dx = p.0 - mean_x;
        (xy + dx * (p.1 - mean_y), xx + dx * dx)
    });
    let slope = xy / xx;
    near("slope", slope, 0.62, 0.005);
    near("intercept", mean_y - slope * mean_x, -12.75, 0.005);
    let at_96 = mean_y + slope * (96.0 - mean_x);
    near("scfm", at_96, 47.0, 0.5);
    let cost = |scfm: f64| scfm * 60.0 * 8760.0 / 1000.0 * 0.5;
    near_rel("per year", cost(at_96.round()), 12_350.0, 1e-3);
    near_rel("per year", cost(at_96), 12_350.0, 3e-3);
    Ok(())
}

/// Published training exercise: 8 min on load, 48 min off, 900 cfm, 6.25 cfm/kW: 14.286 %, 128.57
/// cfm, 20.57 kW. Printed with 14.2 %: 127.8 and 20.45, hence 0.7 %. Then a guidebook's 1.5 and
/// 10.5 min at 35 m³/min: 4.375 (from memory), and a trade page's 7.5 min of 30 (published,
/// second-hand, with the formula of the US Department of Energy's Sourcebook).
#[test]
fn leak_share() -> Answer<()> {
    let share = leak_share_from_cycle(480.0, 2880.0)?;
    near_rel("share", share, 0.142_86, 1e-4);
    near_rel("cfm", share * 900.0, 128.57, 1e-4);
    near_rel("cfm, printed", share * 900.0, 127.8, 7e-3);
    near_rel("kW", share * 900.0 / 6.25, 20.57, 1e-3);
    near_rel("kW, printed", share * 900.0 / 6.25, 20.45, 7e-3);
    near(
        "m³/min",
        leak_share_from_cycle(90.0, 630.0)? * 35.0,
        4.375,
        1e-12,
    );
    near(
        "share",
        leak_share_from_cycle(7.5 * 60.0, 22.5 * 60.0)?,
        0.25,
        1e-15,
    );
    near("share", leak_share_from_cycle(0.0, 60.0)?, 0.0, 0.0);
    assert!(leak_share_from_cycle(0.0, 0.0).is_err());
    Ok(())
}

/// US Department of Energy, Sourcebook (formula published, second-hand): V (P₁ − P₂)/(14.7 T) ·
/// 1.25. The exact factor for a fall to half the gauge pressure (derived) is 1.3134, 1.3070 and
/// 1.3189, so the published one is 4…5 % low.
#[test]
fn doe_and_exact_decay() -> Answer<()> {
    for (p1, p2, exact_factor) in [
        (100.0, 50.0, 1.3134),
        (90.0, 45.0, 1.3070),
        (110.0, 55.0, 1.3189),
    ] {
        let (volume_ft3, minutes) = (400.0, 12.5);
        let volume = volume_ft3 * CUBIC_FOOT_M3;
        let doe = leak_from_decay_doe(volume, T, psig(p1), psig(p2), minutes * 60.0)?;
        let scfm = volume_ft3 * (p1 - p2) / (14.7 * minutes) * 1.25;
        near_rel("scfm", doe / one_scfm(), scfm, 1e-12);
        let mean = leak_from_decay_mean(volume, T, psig(p1), psig(p2), minutes * 60.0)?;
        let sea = psig(0.0);
        let exact = leak_from_decay_exact(volume, T, psig(p1), psig(p2), sea, minutes * 60.0)?;
        near("factor", exact / mean, exact_factor, 5e-5);
        let low = 1.0 - doe / exact;
        assert!(0.04 < low && low < 0.055, "{low}");
    }
    Ok(())
}

/// The exponential is what a choked hole does: venting a vessel isothermally through it gives the
/// hole's own flow back (derived, two independent formulas).
#[test]
fn exact_decay_gives_the_hole_back() -> Answer<()> {
    let (p1, p2) = (
        AbsolutePressure::from_bar(8.0),
        AbsolutePressure::from_bar(5.0),
    );
    let sea = AbsolutePressure::new(101_325.0);
    let area_m2 = physics::flow::orifice_area(0.004)?;
    let vent = Vent {
        volume_m3: 2.0,
        area_m2,
        discharge_coefficient: 0.65,
        atmosphere: sea,
    };
    let seconds = vent.time_s(p1, T, p2, Expansion::Isothermal)?;
    let found = leak_from_decay_exact(2.0, T, p1, p2, sea, seconds)?;
    let hole = physics::flow::mass_flow_orifice(area_m2, 0.65, p1, T, sea)?;
    near_rel("kg/s", found.si(), hole.si(), 1e-9);
    let at_end = leak_at_pressure(found, p1, p2)?;
    let hole = physics::flow::mass_flow_orifice(area_m2, 0.65, p2, T, sea)?;
    near_rel("kg/s", at_end.si(), hole.si(), 1e-9);
    // Too low to choke: refused.
    let low = AbsolutePressure::from_bar(1.5);
    let refused = leak_from_decay_exact(2.0, T, p1, low, sea, seconds);
    assert!(matches!(refused, Err(Refusal::Contradiction { .. })));
    Ok(())
}

/// Energy-auditor guidebook 3 of a national bureau of energy efficiency, ch. 3 (formula published,
/// numbers from memory): 8.287 m³ from 0.5 to 7.03 kgf/cm² in 4.021 min, intake 1.026: 13.12
/// m³/min.
#[test]
fn pump_up_test() -> Answer<()> {
    let kgf = |p: f64| AbsolutePressure::new(p * 98_066.5);
    let fad = |t_end: f64| -> Answer<FreeAir> {
        let (start, end) = ((kgf(0.5), T), (kgf(7.03), Temperature::new(t_end)));
        fad_from_pump_up(8.287, start, end, 4.021 * 60.0, (kgf(1.026), T))
    };
    near_rel("m³/min", fad(T.si())?.m3_per_min(), 13.12, 1e-3);
    near_rel("m³/min", fad(T.si())?.m3_per_min(), 13.116_836, 1e-7);
    // A vessel 20 K too warm holds 7 % less than it seems.
    let warm = 8.287 / 4.021 / 1.026 * (7.03 * T.si() / (T.si() + 20.0) - 0.5);
    near_rel("m³/min", fad(T.si() + 20.0)?.m3_per_min(), warm, 1e-9);
    Ok(())
}

/// UFC 4-390-01, 2003 (formula published, numbers derived): a pressure-hold test corrected to the
/// temperature at its start.
#[test]
fn pressure_hold_corrected() -> Answer<()> {
    for (p, from_f, to_f, want) in [
        (98.0, 70.0, 60.0, 100.167),
        (100.0, 70.0, 80.0, 97.876),
        (97.0, 68.0, 68.0, 97.0),
    ] {
        let corrected = pressure_at_temperature(psig(p), fahrenheit(to_f), fahrenheit(from_f))?;
        near("psig", corrected.si() / PSI_PA - 14.7, want, 1e-3);
    }
    Ok(())
}
