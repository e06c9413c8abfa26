//! Pressure lost by air in a straight pipe at constant temperature.
//!
//! Must not know: fittings by name, nets, what the pipe feeds. A fitting comes in as a length.

use super::{R_AIR, friction_factor, kelvin, kg_per_s, pressure_pa};
use crate::air::viscosity_sutherland;
use crate::quantity::{AbsolutePressure, MassFlow, PressureDifference, Temperature};
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

/// Pressure lost in a pipe as shown in a working.
pub const PIPE_DROP: Formula = Formula {
    name: "pressure lost in the pipe",
    equation: "Δp = λ (L/D) ρ v²/2; above 5 % of p: p₁² − p₂² = (ṁ/A)² R T (λ L/D + 2 ln(p₁/p₂))",
    unit: "Pa",
    source: "Darcy–Weisbach with Colebrook's friction factor; isothermal flow of an ideal gas",
    mark: Mark::Derived,
};

/// The share of the inlet pressure above which [`pressure_drop`] uses the compressible form.
pub const COMPRESSIBLE_ABOVE: f64 = 0.05;

const LENGTH: Range = Range {
    what: "pipe length",
    unit: "m",
    min: 0.0,
    max: 1.0e5,
    source: "the flow in a pipe",
};
const BORE: Range = Range {
    what: "pipe bore",
    unit: "m",
    min: 5.0e-4,
    max: 5.0,
    source: "the flow in a pipe",
};
const ROUGHNESS: Range = Range {
    what: "pipe roughness",
    unit: "m",
    min: 0.0,
    max: 0.01,
    source: "the flow in a pipe",
};
const FACTOR: Range = Range {
    what: "friction factor",
    unit: "-",
    min: 0.0,
    max: 1.0e12,
    source: "the flow in a pipe",
};
const VISCOSITY: Range = Range {
    what: "dynamic viscosity",
    unit: "Pa s",
    min: 1.0e-6,
    max: 1.0e-3,
    source: "the Reynolds number of a gas",
};
const INCOMPRESSIBLE: Range = Range {
    what: "share of the inlet pressure lost",
    unit: "-",
    min: 0.0,
    max: 0.1,
    source: "the incompressible pressure drop",
};

/// A straight round pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pipe {
    /// Length, fittings included as the length of pipe that loses as much, m.
    pub length_m: f64,
    /// Inside diameter, m.
    pub bore_m: f64,
    /// Height of the roughness of the wall, m; 0 is smooth.
    pub roughness_m: f64,
}

impl Pipe {
    /// The pipe itself if its sizes make sense.
    ///
    /// # Errors
    /// [`Refusal::OutOfRange`] for a length outside 0…100 km, a bore outside 0.5 mm…5 m, or a
    /// roughness outside 0…10 mm.
    pub fn checked(self) -> Answer<Self> {
        LENGTH.check(self.length_m)?;
        BORE.check(self.bore_m)?;
        ROUGHNESS.check(self.roughness_m)?;
        Ok(self)
    }

    /// Inside cross-section, m².
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        core::f64::consts::FRAC_PI_4 * self.bore_m * self.bore_m
    }

    /// Roughness over bore.
    #[must_use]
    pub fn relative_roughness(&self) -> f64 {
        self.roughness_m / self.bore_m
    }

    /// Reynolds number of a mass flow in the pipe.
    ///
    /// Re = 4 ṁ/(π D µ)
    ///
    /// # Errors
    /// [`Refusal::OutOfRange`] as [`Pipe::checked`], for a flow outside 0…10⁴ kg/s or a viscosity
    /// outside 10⁻⁶…10⁻³ Pa s.
    pub fn reynolds(&self, m: MassFlow, viscosity_pa_s: f64) -> Answer<f64> {
        let pipe = self.checked()?;
        let mu = VISCOSITY.check(viscosity_pa_s)?;
        Ok(4.0 * kg_per_s(m)? / (core::f64::consts::PI * pipe.bore_m * mu))
    }

    /// Darcy friction factor of a flow of air: Colebrook, or laminar, with Sutherland's viscosity.
    /// Without flow it is 0, as nothing is lost.
    ///
    /// # Errors
    /// [`Refusal::OutOfRange`] as [`Pipe::reynolds`], outside −100…300 °C, or for a roughness above
    /// a twentieth of the bore.
    pub fn friction_factor_of_air(&self, t: Temperature, m: MassFlow) -> Answer<f64> {
        let re = self.reynolds(m, viscosity_sutherland(t)?)?;
        if re < 1.0e-9 {
            return Ok(0.0);
        }
        friction_factor(re, self.relative_roughness())
    }
}

/// What the flow in a pipe looks like in numbers without units.
struct Scaled {
    /// (ṁ/A)² R T/p₁².
    load: f64,
    /// λ L/D.
    friction: f64,
}

fn scaled(
    pipe: Pipe,
    p1: AbsolutePressure,
    t: Temperature,
    m: MassFlow,
    friction_factor: f64,
) -> Answer<Scaled> {
    let pipe = pipe.checked()?;
    let flux = kg_per_s(m)? / pipe.area_m2();
    let (p1_pa, t_k) = (pressure_pa(p1)?, kelvin(t)?);
    let friction = FACTOR.check(friction_factor)? * pipe.length_m / pipe.bore_m;
    Ok(Scaled {
        load: flux * flux * R_AIR * t_k / (p1_pa * p1_pa),
        friction,
    })
}

/// The share of the inlet pressure that isothermal flow loses, or `None` if the pipe chokes.
///
/// With u = 1 − p₂/p₁: u (2 − u) = load (friction − 2 ln(1 − u)). The left less the right is
/// concave and rises up to the choking point, so Newton's rule from 0 climbs to the root.
fn isothermal_share(s: &Scaled) -> Answer<Option<f64>> {
    let miss = |u: f64| u * (2.0 - u) - s.load * (s.friction - 2.0 * (-u).ln_1p());
    if s.load < 1.0e-280 {
        return Ok(Some(0.0));
    }
    // The miss at the choking point, u = 1 − √load.
    if s.load >= 1.0 || 1.0 - s.load < s.load * (s.friction - s.load.ln()) {
        return Ok(None);
    }
    let mut u = 0.0;
    for _ in 0..200 {
        let slope = 2.0 * (1.0 - u) - 2.0 * s.load / (1.0 - u);
        if slope <= 0.0 {
            return Ok(Some(u));
        }
        let step = -miss(u) / slope;
        u += step;
        if step.abs() <= 1.0e-15 * u || step <= 0.0 {
            return Ok(Some(u.max(0.0)));
        }
    }
    Err(Refusal::NoSolution {
        what: "pressure at the end of the pipe",
    })
}

/// Pressure at the end of a pipe with a known friction factor, isothermal flow of an ideal gas.
///
/// p₁² − p₂² = (ṁ/A)² R T (λ L/D + 2 ln(p₁/p₂))
///
/// - `pipe`: L, D
/// - `p1`: pressure at the inlet
/// - `t`: temperature T, the same all along
/// - `m`: mass flow ṁ
/// - `friction_factor`: Darcy friction factor λ
///
/// # Validity
/// 0.01…50 bar(a), 150…1000 K, flow below choking, which isothermal flow reaches where the speed is
/// √(R T): there p₂ = (ṁ/A) √(R T). The second term is the kinetic energy the air gains; network
/// programs often leave it out (0.03…0.2 % of the drop in pipes of a station).
///
/// # Errors
/// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] for a flow above the choking flow.
///
/// # Source
/// Momentum balance (first principles).
pub fn outlet_pressure_with_friction(
    pipe: Pipe,
    p1: AbsolutePressure,
    t: Temperature,
    m: MassFlow,
    friction_factor: f64,
) -> Answer<AbsolutePressure> {
    let s = scaled(pipe, p1, t, m, friction_factor)?;
    match isothermal_share(&s)? {
        Some(share) => Ok(AbsolutePressure::new(p1.si() * (1.0 - share))),
        None => Err(Refusal::Contradiction {
            must: "the mass flow in kg/s lies below the one at which the pipe chokes",
            first: m.si(),
            second: m.si() * choking_pressure_ratio(s.friction)? / s.load.sqrt(),
        }),
    }
}

/// Outlet over inlet pressure at which isothermal flow chokes in a pipe.
///
/// x − 1 − ln x = λ L/D, x = (p₁/p₂)²
///
/// - `friction`: λ L/D
///
/// # Validity
/// 0 ≤ λ L/D ≤ 10²⁰.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Greatest mass flow of [`outlet_pressure_with_friction`] (first principles).
pub fn choking_pressure_ratio(friction: f64) -> Answer<f64> {
    const FRICTION: Range = Range {
        what: "friction factor times length over bore",
        unit: "-",
        min: 0.0,
        max: 1.0e20,
        source: "the choking of a pipe",
    };
    let n = FRICTION.check(friction)?;
    // With y = ln x the function e^y − 1 − y − n is convex, so Newton's rule from above descends to
    // the root; e^y ≤ 2(n + 1) + 2√n there.
    let mut y = (2.0 * (n + 1.0) + 2.0 * n.sqrt()).ln();
    for _ in 0..200 {
        let rise = y.exp_m1();
        if rise <= 0.0 {
            break;
        }
        let step = (rise - y - n) / rise;
        y -= step;
        if step <= 1.0e-15 * y {
            break;
        }
    }
    Ok((-0.5 * y).exp())
}

/// Mass flow through a pipe between two pressures, isothermal flow of an ideal gas: inverse of
/// [`outlet_pressure_with_friction`].
///
/// ṁ = A √((p₁² − p₂²)/(R T (λ L/D + 2 ln(p₁/p₂))))
///
/// A `p2` below the choking pressure gives the choking flow.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside the validity of [`outlet_pressure_with_friction`];
/// [`Refusal::Contradiction`] if `p2` lies above `p1`.
///
/// # Source
/// As [`outlet_pressure_with_friction`].
pub fn mass_flow_isothermal(
    pipe: Pipe,
    p1: AbsolutePressure,
    p2: AbsolutePressure,
    t: Temperature,
    friction_factor: f64,
) -> Answer<MassFlow> {
    let s = scaled(pipe, p1, t, MassFlow::new(0.0), friction_factor)?;
    let (p1_pa, p2_pa) = (pressure_pa(p1)?, pressure_pa(p2)?);
    if p2_pa > p1_pa {
        return Err(Refusal::Contradiction {
            must: "the pressure at the end is not above the pressure at the inlet",
            first: p2_pa,
            second: p1_pa,
        });
    }
    let ratio = (p2_pa / p1_pa).max(choking_pressure_ratio(s.friction)?);
    let resistance = s.friction - 2.0 * ratio.ln();
    let speed = (R_AIR * t.si()).sqrt();
    let share = if resistance > 0.0 {
        ((1.0 - ratio) * (1.0 + ratio) / resistance).sqrt()
    } else {
        // A pipe without friction and without a drop: any flow up to the speed √(R T) fits.
        1.0
    };
    Ok(MassFlow::new(pipe.area_m2() * p1_pa * share / speed))
}

/// Pressure at the end of a pipe, isothermal compressible flow.
///
/// As [`outlet_pressure_with_friction`] with the friction factor of
/// [`Pipe::friction_factor_of_air`].
///
/// # Validity
/// 0.01…50 bar(a), −100…300 °C, ε/D ≤ 0.05, flow below choking.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside; [`Refusal::Contradiction`] for a flow above the choking flow.
///
/// # Source
/// As [`outlet_pressure_with_friction`].
///
/// # Example
/// 3 m³/min of free air through 100 m of 40.9 mm at 7 bar(g) loses 61 mbar.
/// ```
/// # use physics::flow::{Pipe, outlet_pressure_isothermal};
/// # use physics::quantity::{AbsolutePressure, MassFlow, Temperature};
/// let pipe = Pipe { length_m: 100.0, bore_m: 0.0409, roughness_m: 4.5e-5 };
/// let (p1, t) = (AbsolutePressure::new(801_325.0), Temperature::from_celsius(20.0));
/// let p2 = outlet_pressure_isothermal(pipe, p1, t, MassFlow::new(0.060_206))?;
/// assert!(((p1 - p2).bar() - 0.0608).abs() < 1e-4);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn outlet_pressure_isothermal(
    pipe: Pipe,
    p1: AbsolutePressure,
    t: Temperature,
    m: MassFlow,
) -> Answer<AbsolutePressure> {
    outlet_pressure_with_friction(pipe, p1, t, m, pipe.friction_factor_of_air(t, m)?)
}

/// Pressure lost in a pipe if the density stays that of the inlet.
///
/// Δp = λ (L/D) ρ v²/2, ρ = p₁/(R T), v = ṁ/(ρ A)
///
/// # Validity
/// Up to a tenth of the inlet pressure, where it is 5 % low (2.5 % at 5 %); otherwise as
/// [`outlet_pressure_isothermal`].
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Darcy–Weisbach (first principles and [`friction_factor`]).
pub fn pressure_drop_darcy(
    pipe: Pipe,
    p1: AbsolutePressure,
    t: Temperature,
    m: MassFlow,
) -> Answer<PressureDifference> {
    let s = scaled(pipe, p1, t, m, pipe.friction_factor_of_air(t, m)?)?;
    let share = INCOMPRESSIBLE.check(0.5 * s.load * s.friction)?;
    Ok(PressureDifference::new(p1.si() * share))
}

/// Pressure lost in a pipe: [`pressure_drop_darcy`] up to 5 % of the inlet pressure, the isothermal
/// compressible form above.
///
/// # Errors
/// As [`outlet_pressure_isothermal`].
///
/// # Source
/// [`PIPE_DROP`]. At the change from one to the other the drop steps up by 2.6 %, or more in a
/// short pipe near choking.
pub fn pressure_drop(
    pipe: Pipe,
    p1: AbsolutePressure,
    t: Temperature,
    m: MassFlow,
) -> Answer<PressureDifference> {
    let p2 = outlet_pressure_isothermal(pipe, p1, t, m)?;
    let compressible = p1 - p2;
    if compressible.si() > COMPRESSIBLE_ABOVE * p1.si() {
        return Ok(compressible);
    }
    pressure_drop_darcy(pipe, p1, t, m)
}

/// Mean speed of the air in a pipe, m/s.
///
/// v = ṁ R T/(p A)
///
/// # Errors
/// [`Refusal::OutOfRange`] outside 0.01…50 bar(a), 150…1000 K, 0…10⁴ kg/s, or as
/// [`Pipe::checked`].
///
/// # Source
/// Continuity of an ideal gas (first principles).
pub fn velocity(pipe: Pipe, p: AbsolutePressure, t: Temperature, m: MassFlow) -> Answer<f64> {
    let pipe = pipe.checked()?;
    Ok(kg_per_s(m)? * R_AIR * kelvin(t)? / (pressure_pa(p)? * pipe.area_m2()))
}
