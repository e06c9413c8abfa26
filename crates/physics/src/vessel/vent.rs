//! How long a vessel takes to empty through an opening.
//!
//! A time to wait is no proof: a gauge at zero and an open, silent cock are, and local codes and
//! the isolation procedure of the place come first.
//!
//! Must not know: which cock, which vessel.

use super::{VOLUME, falling};
use crate::flow::{Gas, K_AIR, R_AIR, critical_pressure_ratio, kelvin};
use crate::quantity::{AbsolutePressure, Temperature};
use crate::validity::{Answer, Range};
use crate::working::{Formula, Mark};

/// Time to vent as shown in a working.
pub const VENT_TIME: Formula = Formula {
    name: "time to vent",
    equation: "t = τ [ln(p₀/p*) + ∫ dp/(p φ)], τ = V/(C_d A K √(R T)), p* = p_a/0.5283",
    unit: "s",
    source: "mass balance with choked, then unchoked flow; isothermal",
    mark: Mark::Derived,
};

const AREA: Range = Range {
    what: "area of the opening",
    unit: "m²",
    min: 1.0e-10,
    max: 10.0,
    source: "the venting of a vessel",
};
const COEFFICIENT: Range = Range {
    what: "discharge coefficient",
    unit: "-",
    min: 0.01,
    max: 1.0,
    source: "the venting of a vessel",
};

/// What the air left in the vessel does while it vents.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Expansion {
    /// Stays at the vessel's temperature: slow venting, and the longer time, so the one to wait.
    Isothermal,
    /// Takes no heat from the shell: fast venting, the shorter time. Warming up afterwards raises
    /// the pressure again if the opening is shut.
    Adiabatic,
}

/// A vessel and the opening it vents through.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vent {
    /// Volume V, m³.
    pub volume_m3: f64,
    /// Area A of the opening, m².
    pub area_m2: f64,
    /// Discharge coefficient C_d; 0.6…0.8 for a cock or a hole.
    pub discharge_coefficient: f64,
    /// What it vents into, p_a.
    pub atmosphere: AbsolutePressure,
}

impl Vent {
    /// The time in which choked flow would carry off the air first held, s.
    ///
    /// τ = V/(C_d A K √(R T₀)), K = √k (2/(k + 1))^((k+1)/(2(k−1))) = 0.684 731
    ///
    /// # Errors
    /// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) outside 10⁻⁶…10⁶ m³,
    /// 10⁻¹⁰…10 m², 0.01 ≤ C_d ≤ 1, 150…1000 K.
    pub fn time_constant_s(&self, t0: Temperature) -> Answer<f64> {
        let opening = AREA.check(self.area_m2)? * COEFFICIENT.check(self.discharge_coefficient)?;
        let choked =
            K_AIR.sqrt() * (2.0 / (K_AIR + 1.0)).powf((K_AIR + 1.0) / (2.0 * (K_AIR - 1.0)));
        let speed = (R_AIR * kelvin(t0)?).sqrt();
        Ok(VOLUME.check(self.volume_m3)? / (opening * choked * speed))
    }

    /// Time to vent from one pressure to another, s.
    ///
    /// While choked, p ≥ p* = p_a/0.5283: isothermal t = τ ln(p₀/p), adiabatic
    /// t = 2τ/(k − 1) · [(p₀/p)^((k−1)/2k) − 1]. Below p* the flow falls short of choked by a share
    /// φ(p_a/p), and the time is integrated: isothermal τ ∫ dp/(p φ), adiabatic
    /// (τ/k) ∫ (p₀/p)^((k−1)/2k) dp/(p φ).
    ///
    /// - `p0`, `t0`: pressure and temperature at the start
    /// - `p_end`: pressure at the end, down to the atmosphere itself
    /// - `expansion`: see [`Expansion`]
    ///
    /// # Validity
    /// 0.01…50 bar(a), p₀ ≥ p_end ≥ p_a; otherwise as [`Vent::time_constant_s`]. Nothing flows in
    /// meanwhile; what is dissolved in oil comes out later.
    ///
    /// # Errors
    /// [`Refusal::OutOfRange`](crate::validity::Refusal::OutOfRange) outside;
    /// [`Refusal::Contradiction`](crate::validity::Refusal::Contradiction) for pressures in the
    /// wrong order.
    ///
    /// # Source
    /// Mass balance (first principles); the closed forms stand in process-safety handbooks, one of
    /// which prints k + 1 for k − 1 in the adiabatic one.
    ///
    /// # Example
    /// 1 m³ from 7 to 1 bar(g) through 6 mm: five minutes.
    /// ```
    /// # use physics::flow::orifice_area;
    /// # use physics::quantity::{AbsolutePressure, Temperature};
    /// # use physics::vessel::{Expansion, Vent};
    /// let vent = Vent {
    ///     volume_m3: 1.0,
    ///     area_m2: orifice_area(0.006)?,
    ///     discharge_coefficient: 0.8,
    ///     atmosphere: AbsolutePressure::new(101_325.0),
    /// };
    /// let (p0, p_end) = (AbsolutePressure::new(801_325.0), AbsolutePressure::new(201_325.0));
    /// let t0 = Temperature::from_celsius(20.0);
    /// let time_s = vent.time_s(p0, t0, p_end, Expansion::Isothermal)?;
    /// assert!((time_s - 307.451).abs() < 1e-3);
    /// # Ok::<(), physics::validity::Refusal>(())
    /// ```
    pub fn time_s(
        &self,
        p0: AbsolutePressure,
        t0: Temperature,
        p_end: AbsolutePressure,
        expansion: Expansion,
    ) -> Answer<f64> {
        let tau = self.time_constant_s(t0)?;
        let (p0_pa, end_pa) = falling(p0, p_end)?;
        let (_, outside_pa) = falling(p_end, self.atmosphere)?;
        let choked_to = end_pa
            .max(outside_pa / critical_pressure_ratio())
            .min(p0_pa);
        // (p₀/p)^((k−1)/2k) is the root of the temperature ratio.
        let cooling = (K_AIR - 1.0) / (2.0 * K_AIR);
        let choked = match expansion {
            Expansion::Isothermal => (p0_pa / choked_to).ln(),
            Expansion::Adiabatic => {
                (cooling * (p0_pa / choked_to).ln()).exp_m1() * 2.0 / (K_AIR - 1.0)
            }
        };
        let unchoked = unchoked_share(outside_pa, choked_to, end_pa, |p| match expansion {
            Expansion::Isothermal => 1.0,
            Expansion::Adiabatic => (p0_pa / p).powf(cooling) / K_AIR,
        });
        Ok(tau * (choked + unchoked))
    }
}

/// ∫ weight(p) dp/(p φ(p_a/p)) from `end` to `start`, by Simpson's rule.
///
/// With p = p_a exp(s²) the integrand is 2 s weight/φ, smooth down to s = 0, where φ vanishes as s.
fn unchoked_share(outside: f64, start: f64, end: f64, weight: impl Fn(f64) -> f64) -> f64 {
    const PANELS: u32 = 200;
    let s_of = |p: f64| (p / outside).ln().max(0.0).sqrt();
    let (low, high) = (s_of(end), s_of(start));
    if high <= low {
        return 0.0;
    }
    let value = |s: f64| {
        let s = s.max(1.0e-6);
        let share = Gas::AIR.share_of_choked((-s * s).exp());
        2.0 * s * weight(outside * (s * s).exp()) / share
    };
    let width = (high - low) / f64::from(2 * PANELS);
    let inner: f64 = (1..2 * PANELS)
        .map(|i| {
            let times = if i % 2 == 1 { 4.0 } else { 2.0 };
            times * value(low + width * f64::from(i))
        })
        .sum();
    (value(low) + inner + value(high)) * width / 3.0
}
