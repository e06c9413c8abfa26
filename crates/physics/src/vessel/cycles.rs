//! How often a compressor that loads and unloads switches.
//!
//! Constant demand, constant delivery, constant temperature. Lags of the valves and the blowdown of
//! the separator are left out: they lengthen a cycle, so the counts here are the most there can be.
//!
//! Must not know: which machine switches, how many cycles it bears.

use super::VOLUME;
use crate::flow::{R_AIR, kelvin, kg_per_s};
use crate::quantity::{MassFlow, PressureDifference, Temperature};
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

/// Cycles per hour as shown in a working.
pub const CYCLES_PER_HOUR: Formula = Formula {
    name: "load cycles per hour",
    equation: "z = 3600 x (1 − x) ṁ R T/(V Δp), x = demand/capacity",
    unit: "1/h",
    source: "mass balance of an ideal gas",
    mark: Mark::Derived,
};

const BAND: Range = Range {
    what: "pressure band",
    unit: "bar",
    min: 1.0e-4,
    max: 50.0,
    source: "the load cycle",
};
const DROP: Range = Range {
    what: "pressure drop before the receiver",
    unit: "bar",
    min: 0.0,
    max: 50.0,
    source: "the load cycle",
};
const SHARE: Range = Range {
    what: "demand as a share of the capacity",
    unit: "-",
    min: 0.0,
    max: 1.0,
    source: "the load cycle",
};
const WANTED: Range = Range {
    what: "cycles per hour",
    unit: "1/h",
    min: 1.0e-3,
    max: 1.0e5,
    source: "the load cycle",
};

/// Mass that the band holds, kg.
fn band_mass(volume_m3: f64, t: Temperature, band: PressureDifference) -> Answer<f64> {
    BAND.check(band.bar())?;
    Ok(VOLUME.check(volume_m3)? * band.si() / (R_AIR * kelvin(t)?))
}

/// Load cycles per hour.
///
/// z = 3600 x (1 − x) ṁ R T/(V Δp)
///
/// - `volume_m3`: V, all the volume that swings with the band
/// - `t`: temperature T of that volume
/// - `band`: Δp at the receiver (see [`receiver_band`])
/// - `capacity`: ṁ, what the compressor delivers on load
/// - `demand_share`: x, demand over capacity; the count is greatest at one half, 0 at 0 and at 1
///
/// # Validity
/// 10⁻⁶…10⁶ m³, 150…1000 K, 10⁻⁴…50 bar, 0…10⁴ kg/s, 0 ≤ x ≤ 1.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// [`CYCLES_PER_HOUR`].
pub fn cycles_per_hour(
    volume_m3: f64,
    t: Temperature,
    band: PressureDifference,
    capacity: MassFlow,
    demand_share: f64,
) -> Answer<f64> {
    let mass = band_mass(volume_m3, t, band)?;
    let x = SHARE.check(demand_share)?;
    Ok(3600.0 * x * (1.0 - x) * kg_per_s(capacity)? / mass)
}

/// The most load cycles per hour that any demand brings: half the capacity.
///
/// z = 900 ṁ R T/(V Δp)
///
/// # Errors
/// As [`cycles_per_hour`].
///
/// # Source
/// [`CYCLES_PER_HOUR`] at x = 1/2.
///
/// # Example
/// 2 m³, 0.5 bar, 6 m³/min of free air: 91 cycles an hour.
/// ```
/// # use physics::quantity::{MassFlow, PressureDifference, Temperature};
/// # use physics::vessel::worst_cycles_per_hour;
/// let t = Temperature::from_celsius(20.0);
/// let capacity = MassFlow::new(0.1 * 101_325.0 / (287.05 * t.si()));
/// let z = worst_cycles_per_hour(2.0, t, PressureDifference::from_bar(0.5), capacity)?;
/// assert!((z - 91.1925).abs() < 1e-9);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn worst_cycles_per_hour(
    volume_m3: f64,
    t: Temperature,
    band: PressureDifference,
    capacity: MassFlow,
) -> Answer<f64> {
    cycles_per_hour(volume_m3, t, band, capacity, 0.5)
}

/// Volume that keeps the load cycles per hour to a number at any demand, m³: inverse of
/// [`worst_cycles_per_hour`].
///
/// V = 900 ṁ R T/(z Δp)
///
/// - `cycles_per_hour`: z
///
/// # Validity
/// 10⁻³…10⁵ per hour; otherwise as [`cycles_per_hour`].
///
/// # Errors
/// [`Refusal::OutOfRange`] outside, also for a volume that comes out outside 10⁻⁶…10⁶ m³.
///
/// # Source
/// As [`worst_cycles_per_hour`].
pub fn volume_for_cycles(
    cycles_per_hour: f64,
    t: Temperature,
    band: PressureDifference,
    capacity: MassFlow,
) -> Answer<f64> {
    let per_m3 = band_mass(1.0, t, band)?;
    VOLUME.check(900.0 * kg_per_s(capacity)? / (WANTED.check(cycles_per_hour)? * per_m3))
}

/// Time on load in each cycle, s.
///
/// t = V Δp/(R T ṁ (1 − x))
///
/// # Errors
/// As [`cycles_per_hour`]; [`Refusal::NoSolution`] if the demand meets the capacity, as the
/// compressor then never unloads.
///
/// # Source
/// As [`CYCLES_PER_HOUR`].
pub fn load_time(
    volume_m3: f64,
    t: Temperature,
    band: PressureDifference,
    capacity: MassFlow,
    demand_share: f64,
) -> Answer<f64> {
    let spare = kg_per_s(capacity)? * (1.0 - SHARE.check(demand_share)?);
    time_s(
        band_mass(volume_m3, t, band)?,
        spare,
        "end of the time on load",
    )
}

/// Time off load in each cycle, s.
///
/// t = V Δp/(R T ṁ x)
///
/// # Errors
/// As [`cycles_per_hour`]; [`Refusal::NoSolution`] without demand.
///
/// # Source
/// As [`CYCLES_PER_HOUR`].
pub fn unload_time(
    volume_m3: f64,
    t: Temperature,
    band: PressureDifference,
    capacity: MassFlow,
    demand_share: f64,
) -> Answer<f64> {
    let drawn = kg_per_s(capacity)? * SHARE.check(demand_share)?;
    time_s(
        band_mass(volume_m3, t, band)?,
        drawn,
        "end of the time off load",
    )
}

fn time_s(mass: f64, flow: f64, what: &'static str) -> Answer<f64> {
    if flow > 1.0e-15 {
        return Ok(mass / flow);
    }
    Err(Refusal::NoSolution { what })
}

/// The band that is left for the receiver when pressure is lost between the machine's sensor and
/// the receiver.
///
/// Δp_receiver = Δp_sensor − Δp_lost
///
/// On load the sensor reads the lost pressure on top of the receiver's, off load it does not: the
/// machine unloads that much early.
///
/// # Errors
/// [`Refusal::OutOfRange`] for a band outside 10⁻⁴…50 bar or a drop outside 0…50 bar;
/// [`Refusal::Contradiction`] for a drop that leaves no band, so that the machine would switch at
/// once.
///
/// # Source
/// Statics (first principles).
pub fn receiver_band(
    sensor_band: PressureDifference,
    lost_on_load: PressureDifference,
) -> Answer<PressureDifference> {
    BAND.check(sensor_band.bar())?;
    DROP.check(lost_on_load.bar())?;
    let left = sensor_band - lost_on_load;
    if left.bar() < BAND.min {
        return Err(Refusal::Contradiction {
            must: "the pressure in Pa lost before the receiver is smaller than the band",
            first: lost_on_load.si(),
            second: sensor_band.si(),
        });
    }
    Ok(left)
}
