//! Leakage and delivery from how the pressure of a known volume moves.
//!
//! All of these are tests with every consumer off; what a process draws unseen counts as leakage.
//!
//! Must not know: where the leaks are, what they cost.

use super::storage::mass_between;
use super::{DURATION, VOLUME, falling};
use crate::flow::{R_AIR, critical_pressure_ratio, kelvin, kg_per_s, pressure_pa};
use crate::quantity::{AbsolutePressure, FreeAir, MassFlow, Temperature};
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

/// Leakage from load and unload times as shown in a working.
pub const LEAK_FROM_CYCLE: Formula = Formula {
    name: "leakage as a share of the capacity",
    equation: "t_load/(t_load + t_unload)",
    unit: "-",
    source: "US Department of Energy, Improving Compressed Air System Performance, 3rd ed. 2016",
    mark: Mark::Published,
};
/// Leakage from a pressure decay as shown in a working.
pub const LEAK_FROM_DECAY: Formula = Formula {
    name: "leakage at the starting pressure",
    equation: "ṁ = V p₁/(R T t) · ln(p₁/p₂)",
    unit: "kg/s",
    source: "mass balance of an ideal gas, leakage in proportion to absolute pressure",
    mark: Mark::Derived,
};
/// Delivery from a pump-up test as shown in a working.
pub const PUMP_UP_DELIVERY: Formula = Formula {
    name: "free air delivered in a pump-up test",
    equation: "V̇ = V/t · (p₂/T₂ − p₁/T₁) T₀/p₀",
    unit: "m³/s",
    source: "mass balance of an ideal gas",
    mark: Mark::Derived,
};

/// The published factor that lifts the mean leakage of a decay to half pressure to that at its
/// start.
pub const DECAY_FACTOR: f64 = 1.25;

const TIME: Range = Range {
    what: "time",
    unit: "s",
    min: 0.0,
    max: 1.0e9,
    source: "the leak test",
};

/// Leakage as a share of the capacity, from load and unload times without demand.
///
/// t_load/(t_load + t_unload)
///
/// - `load_s`: time on load, one cycle or the sum of several
/// - `unload_s`: time off load, of the same cycles
///
/// # Validity
/// 0…10⁹ s each, not both 0. The capacity is that of the machines that cycle.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside; [`Refusal::NoSolution`] if both are 0.
///
/// # Source
/// [`LEAK_FROM_CYCLE`].
///
/// # Example
/// 7.5 minutes on load in 30: a quarter.
/// ```
/// # use physics::vessel::leak_share_from_cycle;
/// assert!((leak_share_from_cycle(7.5 * 60.0, 22.5 * 60.0)? - 0.25).abs() < 1e-12);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn leak_share_from_cycle(load_s: f64, unload_s: f64) -> Answer<f64> {
    let (load, unload) = (TIME.check(load_s)?, TIME.check(unload_s)?);
    if load + unload <= 0.0 {
        return Err(Refusal::NoSolution {
            what: "share of a time on load without any time",
        });
    }
    Ok(load / (load + unload))
}

/// Mean leakage while the pressure of an isolated volume falls.
///
/// ṁ = V (p₁ − p₂)/(R T t)
///
/// - `volume_m3`: V, receivers and pipes together
/// - `t`: temperature T, the same before and after
/// - `p_start`, `p_end`: p₁ ≥ p₂
/// - `time_s`: t, the length of this step (not the running clock)
///
/// # Validity
/// 10⁻⁶…10⁶ m³, 150…1000 K, 0.01…50 bar(a), 10⁻³…10⁹ s. One kelvin of cooling looks like a fall of
/// 0.34 %.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] for p₁ below p₂.
///
/// # Source
/// Ideal gas (first principles); so used in NAVFAC MO-209, ch. 5 (its table is reproduced).
pub fn leak_from_decay_mean(
    volume_m3: f64,
    t: Temperature,
    p_start: AbsolutePressure,
    p_end: AbsolutePressure,
    time_s: f64,
) -> Answer<MassFlow> {
    let mass = mass_between(volume_m3, t, p_start, p_end)?;
    Ok(MassFlow::new(mass / DURATION.check(time_s)?))
}

/// Leakage at the starting pressure of a fall to about half of it, as published.
///
/// ṁ = 1.25 V (p₁ − p₂)/(R T t)
///
/// # Validity
/// As [`leak_from_decay_mean`]. 1.25 is 4…5 % below [`leak_from_decay_exact`] for a fall to half
/// the gauge pressure; for a smaller fall it is too high.
///
/// # Errors
/// As [`leak_from_decay_mean`].
///
/// # Source
/// US Department of Energy, *Improving Compressed Air System Performance*, 2nd ed. 2003 and 3rd ed.
/// 2016, section on leaks (published, second-hand). There in free air: V (P₁ − P₂) · 1.25/(14.7 T).
pub fn leak_from_decay_doe(
    volume_m3: f64,
    t: Temperature,
    p_start: AbsolutePressure,
    p_end: AbsolutePressure,
    time_s: f64,
) -> Answer<MassFlow> {
    Ok(leak_from_decay_mean(volume_m3, t, p_start, p_end, time_s)? * DECAY_FACTOR)
}

/// Leakage at the starting pressure of a fall, exact for leaks that choke.
///
/// ṁ = V p₁/(R T t) · ln(p₁/p₂)
///
/// The pressure falls as p = p₁ exp(−t/τ), since a choked leak passes mass in proportion to
/// absolute pressure.
///
/// - `atmosphere`: what the leaks blow into
/// - otherwise as [`leak_from_decay_mean`]
///
/// # Validity
/// As [`leak_from_decay_mean`], and choked to the end: p₂ ≥ 1.893 times the atmosphere, which at
/// sea level is 0.91 bar(g).
///
/// # Errors
/// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] for p₁ below p₂, or p₂ too low to
/// choke.
///
/// # Source
/// [`LEAK_FROM_DECAY`].
pub fn leak_from_decay_exact(
    volume_m3: f64,
    t: Temperature,
    p_start: AbsolutePressure,
    p_end: AbsolutePressure,
    atmosphere: AbsolutePressure,
    time_s: f64,
) -> Answer<MassFlow> {
    let (high, low) = falling(p_start, p_end)?;
    let choked_from = pressure_pa(atmosphere)? / critical_pressure_ratio();
    if low < choked_from {
        return Err(Refusal::Contradiction {
            must: "the pressure in Pa at the end is high enough for the leaks to choke",
            first: choked_from,
            second: low,
        });
    }
    let mass = VOLUME.check(volume_m3)? * high / (R_AIR * kelvin(t)?);
    let fall = ((high - low) / low).ln_1p();
    Ok(MassFlow::new(mass * fall / DURATION.check(time_s)?))
}

/// Leakage at another pressure.
///
/// ṁ₂ = ṁ₁ p₂/p₁ (absolute)
///
/// # Validity
/// Leaks that choke at both pressures; 0.01…50 bar(a), 0…10⁴ kg/s.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// As [`ORIFICE_CHOKED`](crate::flow::ORIFICE_CHOKED).
pub fn leak_at_pressure(
    leak: MassFlow,
    known_at: AbsolutePressure,
    wanted_at: AbsolutePressure,
) -> Answer<MassFlow> {
    let flow = kg_per_s(leak)?;
    Ok(MassFlow::new(
        flow * (pressure_pa(wanted_at)? / pressure_pa(known_at)?),
    ))
}

/// Volume of a net from a known mean leakage and the fall it makes, m³: inverse of
/// [`leak_from_decay_mean`].
///
/// V = ṁ R T t/(p₁ − p₂)
///
/// # Errors
/// As [`leak_from_decay_mean`], also for a volume that comes out outside 10⁻⁶…10⁶ m³ and for equal
/// pressures.
///
/// # Source
/// Ideal gas (first principles).
pub fn volume_from_decay(
    leak: MassFlow,
    t: Temperature,
    p_start: AbsolutePressure,
    p_end: AbsolutePressure,
    time_s: f64,
) -> Answer<f64> {
    let (high, low) = falling(p_start, p_end)?;
    if high - low < 1.0e-6 {
        return Err(Refusal::Contradiction {
            must: "the pressure falls",
            first: low,
            second: high,
        });
    }
    let mass = kg_per_s(leak)? * DURATION.check(time_s)?;
    VOLUME.check(mass * R_AIR * kelvin(t)? / (high - low))
}

/// Free air delivered by a compressor that pumps up a shut vessel.
///
/// V̇ = V/t · (p₂/T₂ − p₁/T₁) T₀/p₀
///
/// - `volume_m3`: V, vessel and pipes up to the shut valve
/// - `start`, `end`: p and T of the air in the vessel
/// - `time_s`: t
/// - `intake`: p₀ and T₀
///
/// # Validity
/// 10⁻⁶…10⁶ m³, 0.01…50 bar(a), 150…1000 K, 10⁻³…10⁹ s. Moisture that falls out is left out: up to
/// 2 % of the intake's air at 25 °C and 60 %, 4 % at 35 °C and 80 %. Leaks of the vessel count
/// against the machine. A vessel still warm from pumping holds less: read its air's temperature,
/// not the room's.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] if the vessel holds less at the end.
///
/// # Source
/// [`PUMP_UP_DELIVERY`].
pub fn fad_from_pump_up(
    volume_m3: f64,
    start: (AbsolutePressure, Temperature),
    end: (AbsolutePressure, Temperature),
    time_s: f64,
    intake: (AbsolutePressure, Temperature),
) -> Answer<FreeAir> {
    let density = |(p, t): (AbsolutePressure, Temperature)| -> Answer<f64> {
        Ok(pressure_pa(p)? / (R_AIR * kelvin(t)?))
    };
    let (before, after, outside) = (density(start)?, density(end)?, density(intake)?);
    if after < before {
        return Err(Refusal::Contradiction {
            must: "the vessel holds no less, in kg/m³, at the end than at the start",
            first: before,
            second: after,
        });
    }
    let mass = VOLUME.check(volume_m3)? * (after - before);
    Ok(FreeAir::new(mass / (outside * DURATION.check(time_s)?)))
}

/// The pressure a shut volume would have at another temperature.
///
/// p₂ = p₁ T₂/T₁
///
/// - `p`, `t`: as read
/// - `wanted_at`: T₂, for a leak test the temperature at its start
///
/// # Validity
/// 0.01…50 bar(a), 150…1000 K.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Ideal gas; so used for pressure tests in UFC 4-390-01, 2003 (published).
pub fn pressure_at_temperature(
    p: AbsolutePressure,
    t: Temperature,
    wanted_at: Temperature,
) -> Answer<AbsolutePressure> {
    Ok(AbsolutePressure::new(
        pressure_pa(p)? * (kelvin(wanted_at)? / kelvin(t)?),
    ))
}
