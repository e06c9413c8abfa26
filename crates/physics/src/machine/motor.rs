//! The motor: power from current, efficiency by class, and how often it may be started.
//!
//! A motor's current has a magnetising part, which hardly changes with load, and an active part,
//! which carries the power. Near no load nearly all of the current magnetises: power taken as
//! current times the rated power factor then reads twice the truth and more.
//!
//! The tables are data files beside the module, each line with its source.
//!
//! Must not know: what the motor drives.

use crate::quantity::Power;
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

const STARTS: &str = include_str!("data/motor_starts.csv");
const EFFICIENCIES: &str = include_str!("data/motor_efficiency.csv");
/// Kilowatt in one mechanical horsepower (550 ft·lbf/s).
pub const HORSEPOWER_KW: f64 = 0.745_699_871_582;
/// Kilogram square metres in one pound square foot.
pub const POUND_SQUARE_FOOT_KG_M2: f64 = 0.042_140_110_094;

/// Power from current as people read it.
pub const MOTOR_POWER: Formula = Formula {
    name: "motor input from its current",
    equation: "P = √3 U √(I² − I_m²), I_m = I_r √(1 − cos²φ_r)",
    unit: "kW",
    source: "three-phase power; magnetising current constant with load",
    mark: Mark::Derived,
};

const VOLTAGE: Range = Range {
    what: "voltage between two phases",
    unit: "V",
    min: 50.0,
    max: 15_000.0,
    source: "the motor model",
};
const CURRENT: Range = Range {
    what: "motor current",
    unit: "A",
    min: 0.0,
    max: 1.0e4,
    source: "the motor model",
};
const RATED_CURRENT: Range = Range {
    what: "rated motor current",
    unit: "A",
    min: 0.1,
    max: 1.0e4,
    source: "the motor model",
};
const POWER_FACTOR: Range = Range {
    what: "power factor",
    unit: "-",
    min: 0.0,
    max: 1.0,
    source: "the motor model",
};
const RATED_POWER_FACTOR: Range = Range {
    what: "rated power factor",
    unit: "-",
    min: 0.3,
    max: 1.0,
    source: "the motor model",
};
const EFFICIENCY: Range = Range {
    what: "motor efficiency",
    unit: "-",
    min: 0.1,
    max: 1.0,
    source: "the motor model",
};
const POWER: Range = Range {
    what: "motor power",
    unit: "W",
    min: 0.0,
    max: 1.0e8,
    source: "the motor model",
};
const STARTS_POWER: Range = Range {
    what: "motor power",
    unit: "kW",
    min: 5.0 * HORSEPOWER_KW,
    max: 250.0 * HORSEPOWER_KW,
    source: "NEMA MG 10, Table 2-3 (5 to 250 hp)",
};
const CLASS_POWER: Range = Range {
    what: "motor power",
    unit: "kW",
    min: 5.5,
    max: 132.0,
    source: "the table of IEC 60034-30-1:2014",
};
const INERTIA: Range = Range {
    what: "inertia of the load",
    unit: "kg m²",
    min: 0.0,
    max: 1.0e5,
    source: "NEMA MG 10, Table 2-3",
};

const INPUT: Range = Range {
    what: "motor input",
    unit: "W",
    min: 0.0,
    max: 1.0e7,
    source: "three-phase power",
};

/// What the motor's plate says that splits its current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MotorPlate {
    /// I_r, current at rated load \[A\].
    pub current_a: f64,
    /// cos φ_r, power factor at rated load [-].
    pub power_factor: f64,
}

/// Efficiency class of a motor (IEC 60034-30-1).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EfficiencyClass {
    /// High efficiency.
    Ie2,
    /// Premium efficiency.
    Ie3,
    /// Super premium efficiency.
    Ie4,
}

/// Electrical power of a balanced three-phase load.
///
/// P = √3 U I cos φ
///
/// - `voltage_v`: U between two phases \[V\]
/// - `current_a`: I in one phase \[A\]
/// - `power_factor`: cos φ at this load [-]
///
/// # Validity
/// U 50…15 000 V, I 0…10 000 A, cos φ 0…1.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Textbook three-phase power.
///
/// # Example
/// ```
/// let p = physics::machine::motor::three_phase_power(400.0, 50.0, 0.85)?;
/// assert!((p.kw() - 29.444_864).abs() < 1e-6);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn three_phase_power(voltage_v: f64, current_a: f64, power_factor: f64) -> Answer<Power> {
    let (u, i) = (VOLTAGE.check(voltage_v)?, CURRENT.check(current_a)?);
    Ok(Power::new(
        3.0_f64.sqrt() * u * i * POWER_FACTOR.check(power_factor)?,
    ))
}

/// Magnetising current of a motor, A.
///
/// I_m = I_r √(1 − cos²φ_r)
///
/// # Validity
/// I_r 0.1…10 000 A, cos φ_r 0.3…1.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Derived: the reactive part of the rated current, taken as constant with load. Leakage makes the
/// reactive part at no load somewhat smaller.
pub fn magnetising_current_a(plate: MotorPlate) -> Answer<f64> {
    let current = RATED_CURRENT.check(plate.current_a)?;
    let factor = RATED_POWER_FACTOR.check(plate.power_factor)?;
    Ok(current * (1.0 - factor * factor).sqrt())
}

/// Motor input from its current, with the magnetising part taken off.
///
/// P = √3 U √(I² − I_m²), I_m as [`magnetising_current_a`]
///
/// - `current_a`: I read in one phase \[A\]
/// - `voltage_v`: U between two phases \[V\]
/// - `plate`: what the motor's plate says
///
/// # Validity
/// U 50…15 000 V, I_m ≤ I ≤ 10 000 A. Near I_m a small error of the reading is a large one of the
/// power.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] for a current below I_m.
///
/// # Source
/// [`MOTOR_POWER`].
///
/// # Example
/// A motor of 54 A and 0.86 that draws 32 A takes 11.3 kW; the rated power factor says 19.1 kW.
/// ```
/// use physics::machine::motor::{MotorPlate, power_from_current};
/// let plate = MotorPlate { current_a: 54.0, power_factor: 0.86 };
/// assert!((power_from_current(32.0, 400.0, plate)?.kw() - 11.27).abs() < 0.01);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn power_from_current(current_a: f64, voltage_v: f64, plate: MotorPlate) -> Answer<Power> {
    let (u, i) = (VOLTAGE.check(voltage_v)?, CURRENT.check(current_a)?);
    let magnetising = magnetising_current_a(plate)?;
    if i < magnetising {
        return Err(Refusal::Contradiction {
            must: "a running motor draws at least its magnetising current in A",
            first: i,
            second: magnetising,
        });
    }
    let active = ((i - magnetising) * (i + magnetising)).sqrt();
    Ok(Power::new(3.0_f64.sqrt() * u * active))
}

/// Current that a motor draws at an input, A.
///
/// I = √( (P/(√3 U))² + I_m² ), I_m as [`magnetising_current_a`]
///
/// # Validity
/// P 0…10 MW, U 50…15 000 V.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Inverse of [`power_from_current`].
pub fn current_at_power(input: Power, voltage_v: f64, plate: MotorPlate) -> Answer<f64> {
    let watt = INPUT.check(input.si())?;
    let active = watt / (3.0_f64.sqrt() * VOLTAGE.check(voltage_v)?);
    Ok(active.hypot(magnetising_current_a(plate)?))
}

/// Motor input with the power factor of the plate at every load: right at rated load only.
///
/// P = √3 U I cos φ_r
///
/// Kept to show how far it is off.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside the validity of [`three_phase_power`].
///
/// # Source
/// Common practice, no source.
pub fn power_from_current_naive(
    current_a: f64,
    voltage_v: f64,
    plate: MotorPlate,
) -> Answer<Power> {
    three_phase_power(voltage_v, current_a, plate.power_factor)
}

/// Shaft power of a motor: P_shaft = η P.
///
/// # Validity
/// 0…100 MW, η 0.1…1.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Definition.
pub fn shaft_power(input: Power, efficiency: f64) -> Answer<Power> {
    Ok(Power::new(
        POWER.check(input.si())? * EFFICIENCY.check(efficiency)?,
    ))
}

/// Motor input for a shaft power: P = P_shaft/η, inverse of [`shaft_power`].
///
/// # Validity
/// 0…100 MW, η 0.1…1.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Definition.
pub fn input_power(shaft: Power, efficiency: f64) -> Answer<Power> {
    Ok(Power::new(
        POWER.check(shaft.si())? / EFFICIENCY.check(efficiency)?,
    ))
}

/// The numbers at the head of every line of a table; its first line and its notes have none.
fn lines<const N: usize>(table: &str) -> impl Iterator<Item = [f64; N]> {
    table.lines().filter_map(|line| {
        let mut cells = line.split(',').map(|cell| cell.trim().parse().ok());
        let mut numbers = [0.0; N];
        for number in &mut numbers {
            *number = cells.next()??;
        }
        Some(numbers)
    })
}

/// The value in column `column` at `at` in the first, straight between two lines.
fn between<const N: usize>(table: &str, column: usize, at: f64, what: &'static str) -> Answer<f64> {
    let mut before: Option<[f64; N]> = None;
    for line in lines::<N>(table) {
        // Half a millionth of slack: a limit in kilowatt is not exact in horsepower.
        if at <= line[0] * (1.0 + 5.0e-7) {
            return Ok(match before {
                Some(low) if at < line[0] => {
                    let share = (at - low[0]) / (line[0] - low[0]);
                    low[column] + share * (line[column] - low[column])
                }
                _ => line[column],
            });
        }
        before = Some(line);
    }
    Err(Refusal::NoSolution { what })
}

/// Starts per hour, at most, of a four-pole motor of design A or B.
///
/// Column A of the table, straight between its lines by power. The load's inertia may allow fewer:
/// [`starts_per_hour_with_load_nema_mg_10`].
///
/// - `shaft_kw`: rated power of the motor \[kW\]
///
/// # Validity
/// 5…250 hp (3.73…186 kW).
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// NEMA MG 10, Table 2-3, as reproduced in the EASA Electrical Engineering Handbook.
///
/// # Example
/// ```
/// let starts = physics::machine::motor::starts_per_hour_nema_mg_10(30.0)?;
/// assert!(starts > 7.3 && starts < 7.5);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn starts_per_hour_nema_mg_10(shaft_kw: f64) -> Answer<f64> {
    let hp = STARTS_POWER.check(shaft_kw)? / HORSEPOWER_KW;
    between::<4>(STARTS, 1, hp, "starts per hour in the table")
}

/// Starts per hour, at most, of a four-pole motor with the inertia of its load.
///
/// min(A, B/J)
///
/// - `load_kg_m2`: J, inertia of the load referred to the motor's shaft [kg m²]
///
/// # Validity
/// 5…250 hp; J 0…10⁵ kg m².
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// NEMA MG 10, Table 2-3.
pub fn starts_per_hour_with_load_nema_mg_10(shaft_kw: f64, load_kg_m2: f64) -> Answer<f64> {
    let most = starts_per_hour_nema_mg_10(shaft_kw)?;
    let load = INERTIA.check(load_kg_m2)? / POUND_SQUARE_FOOT_KG_M2;
    let b = between::<4>(STARTS, 2, shaft_kw / HORSEPOWER_KW, "inertia in the table")?;
    Ok(if b < most * load { b / load } else { most })
}

/// Rest between two starts of a four-pole motor, s.
///
/// # Validity
/// 5…250 hp.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// NEMA MG 10, Table 2-3, column C.
pub fn rest_between_starts_s_nema_mg_10(shaft_kw: f64) -> Answer<f64> {
    let hp = STARTS_POWER.check(shaft_kw)? / HORSEPOWER_KW;
    between::<4>(STARTS, 3, hp, "rest in the table")
}

/// Least efficiency of a four-pole motor of a class at full load and 50 Hz.
///
/// The table at its own ratings, straight between two of them (common practice, no source).
///
/// - `shaft_kw`: rated power of the motor \[kW\]
/// - returns: efficiency [-]
///
/// # Validity
/// 5.5…132 kW.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// IEC 60034-30-1:2014, as in Regulation (EU) 2019/1781, Annex I.
///
/// # Example
/// ```
/// use physics::machine::motor::{EfficiencyClass, efficiency_iec_60034_30_1_2014};
/// let eta = efficiency_iec_60034_30_1_2014(EfficiencyClass::Ie3, 30.0)?;
/// assert!((eta - 0.936).abs() < 1e-12);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn efficiency_iec_60034_30_1_2014(class: EfficiencyClass, shaft_kw: f64) -> Answer<f64> {
    let kw = CLASS_POWER.check(shaft_kw)?;
    let column = match class {
        EfficiencyClass::Ie2 => 1,
        EfficiencyClass::Ie3 => 2,
        EfficiencyClass::Ie4 => 3,
    };
    Ok(between::<4>(EFFICIENCIES, column, kw, "efficiency in the table")? / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_of_the_tables_is_read_and_names_its_source() {
        for (table, count) in [(STARTS, 16), (EFFICIENCIES, 14)] {
            let data: Vec<&str> = table.lines().skip(2).collect();
            assert_eq!(data.len(), count);
            assert_eq!(lines::<4>(table).count(), count);
            assert!(data.iter().all(|line| line.ends_with("(published)")));
            let powers: Vec<f64> = lines::<4>(table).map(|line| line[0]).collect();
            assert!(powers.windows(2).all(|pair| pair[0] < pair[1]));
        }
    }
}
