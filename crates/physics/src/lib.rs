//! The physics of a compressed-air station.
//!
//! Pure: no files, no clock, no randomness, no dependencies. Everything computes in SI with
//! absolute pressure and kelvin; [`quantity`] keeps apart what must not be mixed. Each public
//! formula states its equation, symbols, units, validity, errors and source, and refuses outside
//! its validity ([`validity`]).
//!
//! Map: [`air`] air and water · [`machine`] the compressor package · [`heat`] coolers ·
//! [`flow`] orifices and pipes · [`vessel`] storage and stored energy · [`room`] ventilation ·
//! [`working`] how a calculation is shown · [`solve`] roots and curves.
//!
//! Must not know: station files, rounds, findings, money.
#![warn(missing_docs)]

pub mod air;
pub mod flow;
pub mod heat;
pub mod machine;
pub mod quantity;
pub mod room;
pub mod solve;
pub mod validity;
pub mod vessel;
pub mod working;
