//! The compressor package: delivery, power, heat, oil, belts, motor.
//!
//! Oil-injected screw, air-cooled, single-stage. Health values are 1 (factors) or 0 (offsets) when
//! healthy. Must not know: stations, readings.

pub mod belt;
pub mod compression;
pub mod motor;
pub mod oil;
pub mod package;
