//! Heat exchange: effectiveness, the oil cooler's conductance, the thermostatic valve, and the
//! aftercooler in which water falls out.
//!
//! Must not know: machines' names, readings.

pub mod aftercooler;
pub mod cooler;
pub mod ntu;
pub mod thermostat;
