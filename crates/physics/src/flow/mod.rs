//! Air through holes, pipes and nets of pipes.
//!
//! Map: [`orifice`] holes: leaks, drains, vents · [`friction`] the friction factor · [`pipe`]
//! pressure lost in a pipe · [`network`] ring mains.
//!
//! Air is a dry ideal gas with R = 287.05 J/(kg K) and k = 1.4: real air is 0.3 % denser at
//! 8 bar(a), 0.5 % at 14 bar(a), which is left out.
//!
//! Must not know: machines, demand, which pipe or hole belongs to which station.

pub mod friction;
pub mod network;
pub mod orifice;
pub mod pipe;

pub use friction::{
    FrictionLaw, friction_factor, friction_factor_colebrook_1939, friction_factor_haaland_1983,
    friction_factor_laminar, friction_factor_swamee_jain_1976,
};
pub use network::{Branch, Network, NetworkState};
pub use orifice::{
    Gas, ORIFICE_CHOKED, ORIFICE_SUBSONIC, critical_pressure_ratio, diameter_for_flow,
    mass_flow_iso_6358, mass_flow_orifice, orifice_area, sonic_conductance,
};
pub use pipe::{
    PIPE_DROP, Pipe, choking_pressure_ratio, mass_flow_isothermal, outlet_pressure_isothermal,
    outlet_pressure_with_friction, pressure_drop, pressure_drop_darcy, velocity,
};

use crate::quantity::{AbsolutePressure, MassFlow, Temperature};
use crate::validity::{Answer, Range};

/// Gas constant of dry air, J/(kg K).
pub const R_AIR: f64 = 287.05;
/// Isentropic exponent of air.
pub const K_AIR: f64 = 1.4;

/// Absolute pressure.
pub const PRESSURE: Range = Range {
    what: "absolute pressure",
    unit: "bar(a)",
    min: 0.01,
    max: 50.0,
    source: "the flow of air as an ideal gas",
};
/// Temperature of the flowing air.
pub const TEMPERATURE: Range = Range {
    what: "temperature",
    unit: "K",
    min: 150.0,
    max: 1000.0,
    source: "the flow of air as an ideal gas",
};
/// Mass flow.
pub const MASS_FLOW: Range = Range {
    what: "mass flow",
    unit: "kg/s",
    min: 0.0,
    max: 1.0e4,
    source: "the flow of air as an ideal gas",
};

pub(crate) fn pressure_pa(p: AbsolutePressure) -> Answer<f64> {
    PRESSURE.check(p.bar())?;
    Ok(p.si())
}

pub(crate) fn kelvin(t: Temperature) -> Answer<f64> {
    TEMPERATURE.check(t.si())
}

pub(crate) fn kg_per_s(m: MassFlow) -> Answer<f64> {
    MASS_FLOW.check(m.si())
}
