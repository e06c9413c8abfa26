//! How long the air in a vessel lasts, how long it takes to fill, how large it must be.
//!
//! Must not know: what draws the air, what delivers it.

use super::{DURATION, VOLUME, falling};
use crate::flow::{R_AIR, kelvin, kg_per_s};
use crate::quantity::{AbsolutePressure, MassFlow, Temperature};
use crate::validity::{Answer, Refusal};
use crate::working::{Formula, Mark};

/// Time that stored air lasts as shown in a working.
pub const STORAGE_TIME: Formula = Formula {
    name: "time that the stored air lasts",
    equation: "t = V (p₁ − p₂)/(R T (ṁ_out − ṁ_in))",
    unit: "s",
    source: "mass balance of an ideal gas",
    mark: Mark::Derived,
};

/// Mass of air between two pressures in a vessel, kg.
///
/// m = V (p₁ − p₂)/(R T)
///
/// - `volume_m3`: V
/// - `t`: temperature T of the vessel
/// - `p_high`, `p_low`: p₁ ≥ p₂
///
/// # Validity
/// 10⁻⁶…10⁶ m³, 150…1000 K, 0.01…50 bar(a).
///
/// # Errors
/// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] for p₁ below p₂.
///
/// # Source
/// Ideal gas (first principles).
pub fn mass_between(
    volume_m3: f64,
    t: Temperature,
    p_high: AbsolutePressure,
    p_low: AbsolutePressure,
) -> Answer<f64> {
    let (high, low) = falling(p_high, p_low)?;
    Ok(VOLUME.check(volume_m3)? * (high - low) / (R_AIR * kelvin(t)?))
}

/// The excess of one flow over another, kg/s; refused if there is none.
fn excess(greater: MassFlow, smaller: MassFlow, must: &'static str) -> Answer<f64> {
    let (greater, smaller) = (kg_per_s(greater)?, kg_per_s(smaller)?);
    if greater - smaller > 1.0e-12 {
        return Ok(greater - smaller);
    }
    Err(Refusal::Contradiction {
        must,
        first: smaller,
        second: greater,
    })
}

/// Time until a vessel falls from one pressure to another, s.
///
/// t = V (p₁ − p₂)/(R T (ṁ_out − ṁ_in))
///
/// - `volume_m3`: V
/// - `t`: temperature T of the vessel
/// - `p_start`, `p_end`: p₁ ≥ p₂
/// - `demand`: ṁ_out
/// - `supply`: ṁ_in, below the demand
///
/// # Validity
/// As [`mass_between`]; constant flows, temperature held by the shell: slow enough for that, which
/// minutes are and seconds are not.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] for p₁ below p₂ or a supply that
/// meets the demand.
///
/// # Source
/// [`STORAGE_TIME`].
///
/// # Example
/// 3 m³ from 7 to 6 bar(g) at 1 m³/min of free air: 3 minutes.
/// ```
/// # use physics::quantity::{AbsolutePressure, MassFlow, Temperature};
/// # use physics::vessel::hold_time;
/// let (p1, p2) = (AbsolutePressure::new(801_325.0), AbsolutePressure::new(701_325.0));
/// let t = Temperature::from_celsius(20.0);
/// let demand = MassFlow::new(101_325.0 / (287.05 * t.si()) / 60.0);
/// let time_s = hold_time(3.0, t, p1, p2, demand, MassFlow::new(0.0))?;
/// assert!((time_s - 177.646).abs() < 1e-3);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn hold_time(
    volume_m3: f64,
    t: Temperature,
    p_start: AbsolutePressure,
    p_end: AbsolutePressure,
    demand: MassFlow,
    supply: MassFlow,
) -> Answer<f64> {
    let drain = excess(demand, supply, "the demand in kg/s exceeds the supply")?;
    Ok(mass_between(volume_m3, t, p_start, p_end)? / drain)
}

/// Time until a vessel rises from one pressure to another, s.
///
/// t = V (p₂ − p₁)/(R T (ṁ_in − ṁ_out))
///
/// - `p_start`, `p_end`: p₁ ≤ p₂
/// - `supply`: ṁ_in, above the demand
/// - `demand`: ṁ_out
///
/// # Validity
/// As [`hold_time`].
///
/// # Errors
/// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] for p₂ below p₁ or a supply that
/// does not exceed the demand.
///
/// # Source
/// As [`STORAGE_TIME`].
pub fn fill_time(
    volume_m3: f64,
    t: Temperature,
    p_start: AbsolutePressure,
    p_end: AbsolutePressure,
    supply: MassFlow,
    demand: MassFlow,
) -> Answer<f64> {
    let gain = excess(supply, demand, "the supply in kg/s exceeds the demand")?;
    Ok(mass_between(volume_m3, t, p_end, p_start)? / gain)
}

/// Volume that lasts a wanted time, m³: inverse of [`hold_time`].
///
/// V = t R T (ṁ_out − ṁ_in)/(p₁ − p₂)
///
/// - `time_s`: t
///
/// # Validity
/// As [`hold_time`]; 10⁻³…10⁹ s.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside, also for a volume that comes out outside 10⁻⁶…10⁶ m³;
/// [`Refusal::Contradiction`] as [`hold_time`], also for equal pressures.
///
/// # Source
/// As [`STORAGE_TIME`].
pub fn volume_for_hold(
    time_s: f64,
    t: Temperature,
    p_start: AbsolutePressure,
    p_end: AbsolutePressure,
    demand: MassFlow,
    supply: MassFlow,
) -> Answer<f64> {
    let drain = excess(demand, supply, "the demand in kg/s exceeds the supply")?;
    let (high, low) = falling(p_start, p_end)?;
    if high - low < 1.0e-6 {
        return Err(Refusal::Contradiction {
            must: "the pressure falls",
            first: low,
            second: high,
        });
    }
    VOLUME.check(DURATION.check(time_s)? * R_AIR * kelvin(t)? * drain / (high - low))
}
