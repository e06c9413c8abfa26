//! Stored air and load cycles against library values, textbooks and a handbook.
//! Each check names its source and how it is known.

mod air_support;

use air_support::{near, near_rel};
use physics::quantity::{
    AbsolutePressure, CUBIC_FOOT_M3, MassFlow, PSI_PA, PressureDifference, Temperature,
};
use physics::validity::{Answer, Refusal};
use physics::vessel::*;

const T: Temperature = Temperature::new(293.15);
const R: f64 = 287.05;
const NONE: MassFlow = MassFlow::new(0.0);

fn pa(p: f64) -> AbsolutePressure {
    AbsolutePressure::new(p)
}
/// Absolute psi.
fn psi(p: f64) -> AbsolutePressure {
    pa(p * PSI_PA)
}
/// Free air in m³/min at a pressure and the vessel's temperature.
fn free(m3_min: f64, p0: f64) -> MassFlow {
    MassFlow::new(m3_min / 60.0 * p0 / (R * T.si()))
}
/// Standard cubic feet per minute at 14.7 psia and the vessel's temperature.
fn scfm(flow: f64) -> MassFlow {
    free(flow * CUBIC_FOOT_M3, 14.7 * PSI_PA)
}

/// Ideal gas (library, computed): 3 m³, 7 → 6 bar(g), 1 m³/min at 1.01325 bar.
#[test]
fn receiver_decay() -> Answer<()> {
    let (p1, p2) = (pa(801_325.0), pa(701_325.0));
    let s = hold_time(3.0, T, p1, p2, free(1.0, 101_325.0), NONE)?;
    near_rel("min", s / 60.0, 2.960_769_8, 1e-8);
    near_rel("s", s, 177.646, 1e-5);
    let volume = volume_for_hold(s, T, p1, p2, free(1.0, 101_325.0), NONE)?;
    near_rel("m³", volume, 3.0, 1e-12);
    Ok(())
}

/// Ideal gas (library, computed): 2 m³ by 1 m³/min, 0 → 7 bar(g), and 6.5 → 7.5 bar(g).
#[test]
fn receiver_fill() -> Answer<()> {
    let supply = free(1.0, 101_325.0);
    let s = fill_time(2.0, T, pa(101_325.0), pa(801_325.0), supply, NONE)?;
    near_rel("min", s / 60.0, 13.816_926, 1e-7);
    let s = fill_time(2.0, T, pa(751_325.0), pa(851_325.0), supply, NONE)?;
    near_rel("s", s, 118.430_792, 1e-8);
    // What is drawn meanwhile slows it: half the supply, twice the time.
    let slow = fill_time(2.0, T, pa(751_325.0), pa(851_325.0), supply, supply * 0.5)?;
    near_rel("s", slow, 2.0 * s, 1e-12);
    Ok(())
}

/// The fastest load cycle, half the capacity drawn (derived, computed): 39.476 931 s, 91.1925/h.
#[test]
fn load_cycle_max() -> Answer<()> {
    let (band, capacity) = (PressureDifference::from_bar(0.5), free(6.0, 101_325.0));
    let worst = worst_cycles_per_hour(2.0, T, band, capacity)?;
    near_rel("1/h", worst, 91.1925, 1e-9);
    let load = load_time(2.0, T, band, capacity, 0.5)?;
    let unload = unload_time(2.0, T, band, capacity, 0.5)?;
    near_rel("s", load + unload, 39.476_931, 1e-7);
    near_rel(
        "m³",
        volume_for_cycles(worst, T, band, capacity)?,
        2.0,
        1e-12,
    );
    // The times on and off load are those of filling and holding.
    let (low, high) = (pa(751_325.0), pa(801_325.0));
    let demand = capacity * 0.3;
    let fill = fill_time(2.0, T, low, high, capacity, demand)?;
    let hold = hold_time(2.0, T, high, low, demand, NONE)?;
    near_rel(
        "on load",
        load_time(2.0, T, band, capacity, 0.3)?,
        fill,
        1e-9,
    );
    near_rel(
        "off load",
        unload_time(2.0, T, band, capacity, 0.3)?,
        hold,
        1e-9,
    );
    let z = cycles_per_hour(2.0, T, band, capacity, 0.3)?;
    near_rel("1/h", z, 3600.0 / (fill + hold), 1e-9);
    // And the share on load is the share that is drawn.
    near_rel("share", leak_share_from_cycle(fill, hold)?, 0.3, 1e-9);
    Ok(())
}

/// A pressure lost between sensor and receiver eats the band (derived): 0.2 of 0.5 bar leaves 0.3,
/// so the machine switches 5/3 as often.
#[test]
fn lost_pressure_eats_the_band() -> Answer<()> {
    let bar = PressureDifference::from_bar;
    let left = receiver_band(bar(0.5), bar(0.2))?;
    near("bar", left.bar(), 0.3, 1e-12);
    let capacity = free(6.0, 101_325.0);
    let often = worst_cycles_per_hour(2.0, T, left, capacity)?;
    near_rel("1/h", often, 91.1925 * 5.0 / 3.0, 1e-9);
    let gone = receiver_band(bar(0.5), bar(0.5));
    assert!(matches!(gone, Err(Refusal::Contradiction { .. })));
    Ok(())
}

/// Textbook example 13-7 (formula and inputs published, answers recomputed): 20 scfm for 6 minutes
/// between 100 and 80 psi, alone and with 5 scfm from a compressor: 660 and 495 gal. A US gallon is
/// 231 in³ here, 1/7.48 ft³ there (0.007 %).
#[test]
fn textbook_receiver_size() -> Answer<()> {
    for (supply, ft3, gallons) in [(NONE, 88.2, 660.0), (scfm(5.0), 66.15, 495.0)] {
        let m3 = volume_for_hold(360.0, T, psi(114.7), psi(94.7), scfm(20.0), supply)?;
        near_rel("ft³", m3 / CUBIC_FOOT_M3, ft3, 1e-9);
        near("gal", m3 / 3.785_411_784e-3, gallons, 0.5);
    }
    Ok(())
}

/// MIL-HDBK-1028/6A, Tables 2 and 3 (published): air to start 36 aircraft. 27 192 scf stored,
/// 7823 scf of it in 2300 ft³ of pipe between 115 and 65 psig, refill in 120 minutes by 230 scfm
/// (rounded up in print). The printed receiver, 970 ft³, takes the pipe's share off twice: the
/// formula gives 1627 ft³, which is what is checked.
#[test]
fn navy_starting_air() -> Answer<()> {
    let per_scf = scfm(1.0).si() * 60.0;
    let stored = 36.0 / 3.0 * 85.0 * 1.0 * 2.0 * 13.33;
    near_rel("scf", stored, 27_192.0, 1e-4);
    let pipe = mass_between(2300.0 * CUBIC_FOOT_M3, T, psi(129.7), psi(79.7))? / per_scf;
    near_rel("scf in the pipe", pipe, 7823.0, 1e-4);
    near_rel("scfm", stored / 120.0, 230.0, 0.02);
    let demand = scfm(stored - pipe);
    let m3 = volume_for_hold(60.0, T, psi(254.7), psi(79.7), demand, NONE)?;
    near_rel("ft³", m3 / CUBIC_FOOT_M3, 1627.0, 1e-4);
    let twice = volume_for_hold(
        60.0,
        T,
        psi(254.7),
        psi(79.7),
        scfm(stored - 2.0 * pipe),
        NONE,
    )?;
    near_rel("ft³ as printed", twice / CUBIC_FOOT_M3, 970.0, 1e-3);
    // And filled again by the printed 230 scfm: a little under the 120 minutes.
    let refill = fill_time(m3, T, psi(79.7), psi(254.7), scfm(230.0), NONE)?;
    near_rel("min", refill / 60.0, (stored - pipe) / 230.0, 1e-9);
    Ok(())
}

/// US Navy Diving Manual, vol. 2, p. 7-14 (formula published, no worked number seen): usable air of
/// N vessels above a floor pressure, (P_c − P_m)/14.7 · V · N, and the minutes it lasts.
#[test]
fn navy_divers() -> Answer<()> {
    let (volume_ft3, vessels, use_scfm) = (8.0, 3.0, 12.0);
    let minutes = (520.0 - 220.0) / 14.7 * volume_ft3 * vessels / use_scfm;
    let m3 = volume_ft3 * vessels * CUBIC_FOOT_M3;
    let s = hold_time(m3, T, psi(520.0), psi(220.0), scfm(use_scfm), NONE)?;
    near_rel("min", s / 60.0, minutes, 1e-9);
    Ok(())
}

#[test]
fn what_never_ends_is_refused() {
    let (p1, p2, flow) = (pa(8.0e5), pa(7.0e5), free(1.0, 1.0e5));
    assert!(hold_time(1.0, T, p1, p2, flow, flow).is_err());
    assert!(fill_time(1.0, T, p2, p1, flow, flow).is_err());
    assert!(hold_time(1.0, T, p2, p1, flow, NONE).is_err());
    let band = PressureDifference::from_bar(0.5);
    assert!(load_time(1.0, T, band, flow, 1.0).is_err());
    assert!(unload_time(1.0, T, band, flow, 0.0).is_err());
}
