//! The V-belt drive: geometry, tension by deflection and by the note of the plucked span, slip.
//!
//! Symbols: D and d large and small pulley diameter \[m\] (arguments take the two in either order),
//! C distance of the shafts \[m\], L length of the belt \[m\], t free span \[m\], T tension of one span
//! of one belt \[N\].
//!
//! A slack belt slips: the air end turns slower, air is lost and the motor works no less. Tension is
//! measured with the machine locked out and the guard off, never on a running belt.
//!
//! The table of forces and masses is a data file beside the module, each line with its source.
//!
//! Must not know: machines, the price of air.

use std::f64::consts::PI;

use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

const TABLE: &str = include_str!("data/belts.csv");

/// Deflection per metre of span at which the table's forces hold.
pub const DEFLECTION_PER_SPAN: f64 = 0.016;
/// A belt in order takes from 1 to this share of the normal force (US Army TM 5-4310-339-15).
pub const FORCE_SHARE_MAX: f64 = 1.5;
/// A new belt may be set to this share of the normal force at first (US Army TM 5-4310-339-15).
pub const FORCE_SHARE_NEW: f64 = 2.0;
/// Share of its mass per metre that a belt may differ from the table (from memory).
pub const MASS_SPREAD: f64 = 0.15;

/// Slip as people read it.
pub const BELT_SLIP: Formula = Formula {
    name: "belt slip",
    equation: "s = 1 − n_air end d_air end/(n_motor d_motor)",
    unit: "-",
    source: "equal belt speed at both pulleys without slip",
    mark: Mark::Derived,
};
/// Tension from the note as people read it.
pub const BELT_TENSION_FREQUENCY: Formula = Formula {
    name: "belt tension from the plucked span",
    equation: "T = 4 m t² f²",
    unit: "N",
    source: "fundamental of a stretched string, as a railway workshop note on belt tension meters",
    mark: Mark::Published,
};
/// Deflection as people read it.
pub const BELT_DEFLECTION: Formula = Formula {
    name: "deflection at mid-span",
    equation: "h = 0.016 t, t = √(C² − ((D − d)/2)²)",
    unit: "mm",
    source: "16 mm per metre of span, tensioning tables of equipment manuals",
    mark: Mark::Published,
};

const SOURCE: &str = "the belt's geometry";
const CENTRES: Range = Range {
    what: "distance of the shafts",
    unit: "m",
    min: 0.01,
    max: 50.0,
    source: SOURCE,
};
const DIAMETER: Range = Range {
    what: "pulley diameter",
    unit: "m",
    min: 0.005,
    max: 10.0,
    source: SOURCE,
};
const LENGTH: Range = Range {
    what: "belt length",
    unit: "m",
    min: 0.03,
    max: 150.0,
    source: SOURCE,
};
const SPAN: Range = Range {
    what: "belt span",
    unit: "m",
    min: 0.005,
    max: 50.0,
    source: "the belt's tension",
};
const MASS: Range = Range {
    what: "mass per metre of belt",
    unit: "kg/m",
    min: 1.0e-3,
    max: 10.0,
    source: "the belt's tension",
};
const FREQUENCY: Range = Range {
    what: "frequency of the span",
    unit: "Hz",
    min: 0.0,
    max: 5.0e3,
    source: "the belt's tension",
};
const TENSION: Range = Range {
    what: "belt tension",
    unit: "N",
    min: 0.0,
    max: 1.0e6,
    source: "the belt's tension",
};
const FORCE: Range = Range {
    what: "deflection force",
    unit: "N",
    min: 0.0,
    max: 1.0e5,
    source: "the belt's tension",
};
const DEFLECTION: Range = Range {
    what: "deflection over span",
    unit: "-",
    min: 0.002,
    max: 0.1,
    source: "the statics of a deflected span",
};
const MOTOR_SPEED: Range = Range {
    what: "motor speed",
    unit: "1/min",
    min: 1.0,
    max: 1.0e5,
    source: "the belt's speed",
};
const AIR_END_SPEED: Range = Range {
    what: "air-end speed",
    unit: "1/min",
    min: 0.0,
    max: 1.0e5,
    source: "the belt's speed",
};
const SLIP: Range = Range {
    what: "belt slip",
    unit: "-",
    min: -0.05,
    max: 1.0,
    source: "the belt's speed (less than 0 is the scatter of speeds and diameters)",
};

/// Checked distance of the shafts, sum and difference of the diameters.
fn geometry(centres_m: f64, one_m: f64, other_m: f64) -> Answer<(f64, f64, f64)> {
    let c = CENTRES.check(centres_m)?;
    let (sum, difference) = pulleys(one_m, other_m)?;
    if 2.0 * c >= sum {
        Ok((c, sum, difference))
    } else {
        Err(Refusal::Contradiction {
            must: "the pulleys do not overlap: half the sum of their diameters in m is not more \
                   than the distance of the shafts",
            first: 0.5 * sum,
            second: c,
        })
    }
}

/// D + d and D − d of two checked diameters in either order.
fn pulleys(one_m: f64, other_m: f64) -> Answer<(f64, f64)> {
    let (one, other) = (DIAMETER.check(one_m)?, DIAMETER.check(other_m)?);
    Ok((one + other, (one - other).abs()))
}

/// Length of an open belt, exact, m.
///
/// L = 2 C cos α + π/2 (D + d) + α (D − d), α = asin((D − d)/(2C))
///
/// # Validity
/// C 0.01…50 m, diameters 5 mm…10 m, pulleys that do not overlap.
///
/// # Errors
/// [`Refusal`] outside.
///
/// # Source
/// Geometry.
pub fn length_exact_m(centres_m: f64, one_m: f64, other_m: f64) -> Answer<f64> {
    let (c, sum, difference) = geometry(centres_m, one_m, other_m)?;
    let alpha = (difference / (2.0 * c)).asin();
    Ok(2.0 * c * alpha.cos() + 0.5 * PI * sum + alpha * difference)
}

/// Length of an open belt by the usual approximation, m.
///
/// L = 2 C + π/2 (D + d) + (D − d)²/(4C)
///
/// # Validity
/// As [`length_exact_m`]; low by 0.02 % at wrap 147°.
///
/// # Errors
/// [`Refusal`] outside.
///
/// # Source
/// Mott, *Machine Elements in Mechanical Design*, 4th ed., ch. 7.
pub fn length_approximate_m(centres_m: f64, one_m: f64, other_m: f64) -> Answer<f64> {
    let (c, sum, difference) = geometry(centres_m, one_m, other_m)?;
    Ok(2.0 * c + 0.5 * PI * sum + difference * difference / (4.0 * c))
}

/// Distance of the shafts for a belt length, m.
///
/// C = [B + √(B² − 32 (D − d)²)]/16, B = 4 L − 2π (D + d)
///
/// # Validity
/// L 0.03…150 m, diameters 5 mm…10 m, and a length that goes round both pulleys.
///
/// # Errors
/// [`Refusal`] outside.
///
/// # Source
/// Mott, *Machine Elements in Mechanical Design*, 4th ed., ch. 7: inverse of
/// [`length_approximate_m`].
///
/// # Example
/// Example problem 7-1, in inches: C = 23.3.
/// ```
/// let inch = 0.0254;
/// let c = physics::machine::belt::centres_from_length_m(100.0 * inch, 21.1 * inch, 12.4 * inch)?;
/// assert!((c / inch - 23.3).abs() < 0.02);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn centres_from_length_m(length_m: f64, one_m: f64, other_m: f64) -> Answer<f64> {
    let length = LENGTH.check(length_m)?;
    let (sum, difference) = pulleys(one_m, other_m)?;
    let b = 4.0 * length - 2.0 * PI * sum;
    let inside = b * b - 32.0 * difference * difference;
    let c = (b + inside.max(0.0).sqrt()) / 16.0;
    if b > 0.0 && inside >= 0.0 && 2.0 * c >= sum {
        CENTRES.check(c)
    } else {
        Err(Refusal::Contradiction {
            must: "the belt goes round both pulleys: the length in m exceeds their sum of diameters",
            first: length,
            second: sum,
        })
    }
}

/// Free span between the pulleys, m.
///
/// t = √(C² − ((D − d)/2)²)
///
/// # Validity
/// As [`length_exact_m`].
///
/// # Errors
/// [`Refusal`] outside.
///
/// # Source
/// Geometry.
pub fn span_m(centres_m: f64, one_m: f64, other_m: f64) -> Answer<f64> {
    let (c, _, difference) = geometry(centres_m, one_m, other_m)?;
    let half = 0.5 * difference;
    Ok(((c - half) * (c + half)).sqrt())
}

/// Wrap on the smaller pulley, degrees.
///
/// θ = 180° − 2 asin((D − d)/(2C))
///
/// # Validity
/// As [`length_exact_m`].
///
/// # Errors
/// [`Refusal`] outside.
///
/// # Source
/// Geometry.
pub fn wrap_small_deg(centres_m: f64, one_m: f64, other_m: f64) -> Answer<f64> {
    let (c, _, difference) = geometry(centres_m, one_m, other_m)?;
    Ok(180.0 - 2.0 * (difference / (2.0 * c)).asin().to_degrees())
}

/// Deflection at mid-span at which a force is compared with [`force_window`], m.
///
/// h = 0.016 t
///
/// # Validity
/// 5 mm…50 m.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Tensioning table of at least three equipment manuals.
pub fn deflection_m(span_m: f64) -> Answer<f64> {
    Ok(DEFLECTION_PER_SPAN * SPAN.check(span_m)?)
}

/// Deflection at mid-span by the rule in inches, 1/64 inch per inch, m.
///
/// h = t/64
///
/// # Validity
/// 5 mm…50 m.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// US Army TM 5-4310-339-15, p. 5-3.
pub fn deflection_sixty_fourth_m(span_m: f64) -> Answer<f64> {
    Ok(SPAN.check(span_m)? / 64.0)
}

/// Tension of a span from its frequency when plucked, N.
///
/// T = 4 m t² f²
///
/// - `mass_kg_m`: m, mass per metre of one belt [kg/m]
/// - `span_m`: t \[m\]
/// - `frequency_hz`: f, the fundamental \[Hz\]
///
/// # Validity
/// m 0.001…10 kg/m, t 5 mm…50 m, f 0…5000 Hz, T up to 1 MN. Belt stiffness, left out, reads short
/// spans high.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Stretched string; railway workshop note on belt tension meters.
///
/// # Example
/// 0.11 kg/m, 0.17 m, 220 Hz: 615 N.
/// ```
/// let t = physics::machine::belt::tension_from_frequency_n(0.11, 0.17, 220.0)?;
/// assert!((t - 615.454).abs() < 1e-3);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn tension_from_frequency_n(mass_kg_m: f64, span_m: f64, frequency_hz: f64) -> Answer<f64> {
    let twice = 2.0 * SPAN.check(span_m)? * FREQUENCY.check(frequency_hz)?;
    TENSION.check(MASS.check(mass_kg_m)? * twice * twice)
}

/// Frequency of a span at a tension, Hz: inverse of [`tension_from_frequency_n`].
///
/// f = √(T/m)/(2 t)
///
/// # Validity
/// As [`tension_from_frequency_n`].
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Stretched string.
pub fn frequency_from_tension_hz(mass_kg_m: f64, span_m: f64, tension_n: f64) -> Answer<f64> {
    let per_mass = TENSION.check(tension_n)? / MASS.check(mass_kg_m)?;
    FREQUENCY.check(per_mass.sqrt() / (2.0 * SPAN.check(span_m)?))
}

/// sin of the angle by which a span leaves its line, from deflection over span.
fn deflection_sine(span_m: f64, deflection_m: f64) -> Answer<f64> {
    let share = DEFLECTION.check(deflection_m / SPAN.check(span_m)?)?;
    Ok((2.0 * share).atan().sin())
}

/// Force at mid-span that deflects one belt, N.
///
/// F = 2 T sin(atan(2 h/t)): the two halves of the span pull back along their own directions
///
/// - `tension_n`: T \[N\]; `span_m`: t \[m\]; `deflection_m`: h \[m\]
/// - returns: F; at 16 mm per metre 0.064 T
///
/// # Validity
/// h/t 0.002…0.1, t 5 mm…50 m, T up to 1 MN. The belt's stretch and stiffness, left out, add to F.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Statics of a string (derived).
pub fn deflection_force_n(tension_n: f64, span_m: f64, deflection_m: f64) -> Answer<f64> {
    let sine = deflection_sine(span_m, deflection_m)?;
    Ok(2.0 * TENSION.check(tension_n)? * sine)
}

/// Tension from the force that deflects one belt at mid-span, N: inverse of
/// [`deflection_force_n`].
///
/// T = F/(2 sin(atan(2 h/t)))
///
/// # Validity
/// h/t 0.002…0.1, t 5 mm…50 m, F up to 100 kN.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Statics of a string (derived).
pub fn tension_from_deflection_n(force_n: f64, span_m: f64, deflection_m: f64) -> Answer<f64> {
    let sine = deflection_sine(span_m, deflection_m)?;
    Ok(FORCE.check(force_n)? / (2.0 * sine))
}

/// Slip of a belt from speeds at both ends.
///
/// s = 1 − n_2 d_2/(n_1 d_1)
///
/// - `motor_rpm`, `air_end_rpm`: n_1 and n_2 [1/min]
/// - `driver_m`, `driven_m`: d_1 and d_2, effective diameters of the pulleys at motor and air end \[m\]
/// - returns: s [-]; 0.005…0.01 is good order, above 0.02…0.03 act (common practice, no source)
///
/// # Validity
/// n_1 1…10⁵, n_2 0…10⁵ 1/min; result −0.05…1. A diameter that is 1 % off moves s by 0.01.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// [`BELT_SLIP`].
///
/// # Example
/// ```
/// let s = physics::machine::belt::slip(1_480.0, 2_590.0, 0.250, 0.140)?;
/// assert!((s - 0.02).abs() < 1e-4);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn slip(motor_rpm: f64, air_end_rpm: f64, driver_m: f64, driven_m: f64) -> Answer<f64> {
    let drive = MOTOR_SPEED.check(motor_rpm)? * DIAMETER.check(driver_m)?;
    let driven = AIR_END_SPEED.check(air_end_rpm)? * DIAMETER.check(driven_m)?;
    SLIP.check(1.0 - driven / drive)
}

/// Section of a V-belt: narrow (SPZ to SPC) or classical (Z to C).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Section {
    /// Narrow, 10 mm.
    Spz,
    /// Narrow, 13 mm.
    Spa,
    /// Narrow, 17 mm.
    Spb,
    /// Narrow, 22 mm.
    Spc,
    /// Classical, 10 mm.
    Z,
    /// Classical, 13 mm.
    A,
    /// Classical, 17 mm.
    B,
    /// Classical, 22 mm.
    C,
}

impl Section {
    /// Every section of the table.
    pub const ALL: [Self; 8] = [
        Self::Spz,
        Self::Spa,
        Self::Spb,
        Self::Spc,
        Self::Z,
        Self::A,
        Self::B,
        Self::C,
    ];

    /// The mark printed on the belt.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Spz => "SPZ",
            Self::Spa => "SPA",
            Self::Spb => "SPB",
            Self::Spc => "SPC",
            Self::Z => "Z",
            Self::A => "A",
            Self::B => "B",
            Self::C => "C",
        }
    }

    /// The section with this mark; raw-edged cogged belts (`XPA`, `AX`) are not in the table.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|section| section.name() == name)
    }

    /// Mass per metre of one belt, kg/m (from memory; makers differ by 15 %, [`MASS_SPREAD`]).
    #[must_use]
    pub fn mass_kg_m(self) -> Option<f64> {
        lines(TABLE)
            .find(|line| line.section == self)
            .map(|line| line.mass_kg_m)
    }
}

/// Normal deflection force per belt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForceWindow {
    /// Least force \[N\]; below it the belt is slack.
    pub min_n: f64,
    /// Largest force \[N\]; new belts are set to it.
    pub max_n: f64,
}

struct Line {
    section: Section,
    pulley_m: [f64; 2],
    force_n: [f64; 2],
    mass_kg_m: f64,
}

/// The lines of the table; its notes and its header begin with no section.
fn lines(table: &str) -> impl Iterator<Item = Line> {
    table.lines().filter_map(|line| {
        let mut cells = line.split(',');
        let section = Section::named(cells.next()?)?;
        let mut number = || cells.next()?.parse().ok();
        Some(Line {
            section,
            pulley_m: [number()?, number()?],
            force_n: [number()?, number()?],
            mass_kg_m: number()?,
        })
    })
}

/// Force per belt that deflects its span by 16 mm per metre, by section and smaller pulley.
///
/// - `small_pulley_m`: d, diameter of the smaller pulley \[m\]
///
/// # Validity
/// `None` for a pulley that the table does not list; it has small gaps between its lines, where no
/// preferred diameter lies.
///
/// # Source
/// Tensioning table repeated in at least three equipment manuals; read again after about 30 minutes
/// of running, new belts to the higher value.
///
/// # Example
/// ```
/// use physics::machine::belt::{Section, force_window};
/// let window = force_window(Section::Spa, 0.140).expect("in the table");
/// assert!(window.min_n > 34.9 && window.max_n < 45.1);
/// ```
#[must_use]
pub fn force_window(section: Section, small_pulley_m: f64) -> Option<ForceWindow> {
    // A micrometre of slack for diameters given in millimetres.
    let fits = |line: &Line| {
        small_pulley_m >= line.pulley_m[0] - 1.0e-6 && small_pulley_m <= line.pulley_m[1] + 1.0e-6
    };
    lines(TABLE)
        .find(|line| line.section == section && fits(line))
        .map(|line| ForceWindow {
            min_n: line.force_n[0],
            max_n: line.force_n[1],
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_of_the_table_is_read_sound_and_names_its_source() {
        let data: Vec<&str> = TABLE.lines().skip(2).collect();
        assert_eq!(lines(TABLE).count(), data.len());
        for line in &data {
            let source = line.splitn(7, ',').nth(6).expect("a source column");
            assert!(source.contains("(published)") && source.contains("from memory"));
        }
        for line in lines(TABLE) {
            assert!(line.pulley_m[0] < line.pulley_m[1] && line.force_n[0] < line.force_n[1]);
            assert!(line.mass_kg_m > 0.0);
        }
        for section in Section::ALL {
            assert!(section.mass_kg_m().is_some(), "{}", section.name());
            assert_eq!(Section::named(section.name()), Some(section));
        }
    }
}
