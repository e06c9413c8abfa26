//! Belts against geometry, a textbook, manuals and a workshop note.

mod air_support;

use air_support::{near, near_rel, table};
use physics::machine::belt::*;
use physics::validity::Answer;

const INCH_M: f64 = 0.0254;
const MM: f64 = 1.0e-3;

/// Closed forms in double precision (computed); the first, exact length against its approximation
/// too.
#[test]
fn geometry_table() -> Answer<()> {
    for row in table(include_str!("data/belt_geometry.csv")) {
        let [c, large, small] = ["c_mm", "large_mm", "small_mm"].map(|name| row.num(name) * MM);
        let same = |what: &str, got: f64| near_rel(what, got / MM, row.num(what), 1e-9);
        same("length_exact_mm", length_exact_m(c, large, small)?);
        same(
            "length_approximate_mm",
            length_approximate_m(c, small, large)?,
        );
        let span = span_m(c, large, small)?;
        same("span_mm", span);
        near_rel(
            "wrap",
            wrap_small_deg(c, small, large)?,
            row.num("wrap_deg"),
            1e-9,
        );
        same("deflection_16_mm", deflection_m(span)?);
        same("deflection_64_mm", deflection_sixty_fourth_m(span)?);
        let back = centres_from_length_m(row.num("length_approximate_mm") * MM, large, small)?;
        same("c_back_mm", back);
    }
    Ok(())
}

/// Mott, *Machine Elements in Mechanical Design*, 4th ed., example problem 7-1, p. 279 (published).
/// The book takes 1.57 and 6.28 for π/2 and 2π.
#[test]
fn mott_example_7_1() -> Answer<()> {
    let (large, small) = (21.1 * INCH_M, 12.4 * INCH_M);
    let length = length_approximate_m(24.0 * INCH_M, large, small)?;
    near_rel("L, in", length / INCH_M, 101.4, 1e-3);
    let c = centres_from_length_m(100.0 * INCH_M, large, small)?;
    near_rel("C, in", c / INCH_M, 23.30, 1e-3);
    near(
        "wrap, the print rounds to 158",
        wrap_small_deg(c, large, small)?,
        158.477,
        0.02,
    );
    Ok(())
}

/// US Army TM 5-4310-339-15, p. 5-3; Bloch & Geitner, *Practical Machinery Management for Process
/// Plants*, vol. 4, fig. 7-14: 100 in span, 1 9/16 in (published).
#[test]
fn sixty_fourth_of_an_inch_per_inch() -> Answer<()> {
    let h = deflection_sixty_fourth_m(100.0 * INCH_M)? / INCH_M;
    near("h, in", h, 1.5625, 1e-12);
    // The metric rule is the same within 2.4 %.
    near_rel(
        "16 mm per m",
        deflection_m(100.0 * INCH_M)? / INCH_M,
        h,
        0.025,
    );
    // The same TM: 1 to 1.5 times the normal force is in order, twice at first for a new belt.
    near("in order", FORCE_SHARE_MAX, 1.5, 0.0);
    near("new", FORCE_SHARE_NEW, 2.0, 0.0);
    Ok(())
}

/// Tensioning table repeated in at least three equipment manuals (published).
#[test]
fn forces_by_section_and_pulley() {
    for row in table(include_str!("data/belt_forces.csv")) {
        let section = Section::named(row.text("section")).expect("a section of the table");
        let [low, high] = ["pulley_min_mm", "pulley_max_mm"].map(|name| row.num(name) * MM);
        for pulley in [low, 0.5 * (low + high), high] {
            let window = force_window(section, pulley).expect("a pulley of the table");
            near("least", window.min_n, row.num("force_min_n"), 1e-12);
            near("most", window.max_n, row.num("force_max_n"), 1e-12);
        }
    }
    assert_eq!(force_window(Section::Spz, 0.050), None);
    assert_eq!(force_window(Section::Spc, 0.600), None);
    assert_eq!(force_window(Section::A, f64::NAN), None);
    assert_eq!(Section::named("XPA"), None);
}

/// Railway workshop note on belt tension meters: 0.11 kg/m, 0.17 m, 220 Hz → 610 N, which the note
/// rounds (615.454); 624 N → 221 Hz (published).
#[test]
fn railway_note_on_frequency() -> Answer<()> {
    near_rel(
        "T",
        tension_from_frequency_n(0.11, 0.17, 220.0)?,
        610.0,
        1e-2,
    );
    near_rel(
        "T unrounded",
        tension_from_frequency_n(0.11, 0.17, 220.0)?,
        615.454,
        1e-6,
    );
    near_rel(
        "f",
        frequency_from_tension_hz(0.11, 0.17, 624.0)?,
        221.0,
        1e-2,
    );
    near_rel(
        "f unrounded",
        frequency_from_tension_hz(0.11, 0.17, 624.0)?,
        221.522,
        3e-6,
    );
    Ok(())
}

/// T = 4 m t² f² (closed form, computed).
#[test]
fn tension_of_three_spans() -> Answer<()> {
    for (mass, span, frequency, tension) in [
        (0.12, 0.598, 35.0, 210.271_152),
        (0.20, 0.848, 28.0, 451.022_029),
        (0.07, 0.45, 45.0, 114.817_500),
    ] {
        let got = tension_from_frequency_n(mass, span, frequency)?;
        near_rel("T", got, tension, 2e-9);
        near_rel(
            "f",
            frequency_from_tension_hz(mass, span, got)?,
            frequency,
            1e-12,
        );
    }
    Ok(())
}

/// Statics: two halves of a string, each pulling with T at the angle atan(2 h/t), hold the force
/// between them. 1/64 of the span gives T/16, the share that drive handbooks print (from memory).
#[test]
fn deflection_force_is_a_sixteenth_of_the_tension() -> Answer<()> {
    let span = 0.6;
    let force = deflection_force_n(160.0, span, span / 64.0)?;
    near_rel("T/16", force, 10.0, 1e-3);
    // Energy says the same: the force times a small step is the work of stretching both halves.
    let (h, step) = (0.016 * span, 1.0e-6);
    let stretch = |h: f64| 2.0 * (0.5 * span).hypot(h);
    let by_work = 160.0 * (stretch(h + step) - stretch(h - step)) / (2.0 * step);
    near_rel("work", deflection_force_n(160.0, span, h)?, by_work, 1e-6);
    near_rel("16 mm per m", by_work / 160.0, 0.063_967_257, 1e-6);
    near_rel(
        "back",
        tension_from_deflection_n(force, span, span / 64.0)?,
        160.0,
        1e-12,
    );
    Ok(())
}

/// Mass per metre (from memory, ±15 % between makers): tension from a note follows it in proportion.
#[test]
fn mass_per_metre() {
    for (section, mass) in [
        (Section::Z, 0.060),
        (Section::A, 0.105),
        (Section::B, 0.170),
        (Section::C, 0.300),
        (Section::Spz, 0.072),
        (Section::Spa, 0.112),
        (Section::Spb, 0.192),
        (Section::Spc, 0.370),
    ] {
        near(
            "kg/m",
            section.mass_kg_m().expect("in the table"),
            mass,
            1e-12,
        );
    }
    near("spread", MASS_SPREAD, 0.15, 0.0);
}

/// Slip is what the air end lacks of the speed that the pulleys promise (definition).
#[test]
fn slip_from_speeds() -> Answer<()> {
    let promised = 1_480.0 * 0.250 / 0.140;
    near("none", slip(1_480.0, promised, 0.250, 0.140)?, 0.0, 1e-12);
    near(
        "3 %",
        slip(1_480.0, 0.97 * promised, 0.250, 0.140)?,
        0.03,
        1e-12,
    );
    near("standing", slip(1_480.0, 0.0, 0.250, 0.140)?, 1.0, 1e-12);
    // Pulleys taken the wrong way round are refused.
    assert!(slip(1_480.0, promised, 0.140, 0.250).is_err());
    Ok(())
}
