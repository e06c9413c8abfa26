//! What the air holds of water, asked so that very dry and very hot air are answered too.
//!
//! Must not know: places.

use physics::air::Formulation;
use physics::quantity::{AbsolutePressure, Temperature};
use physics::validity::Answer;

/// No dew point is said to be lower, dry air's neither: the moist-air model ends here.
const DRIEST: Temperature = Temperature::from_celsius(-100.0);
/// Only air drier than this can have so low a dew point, kg/kg.
const DRY: f64 = 1.0e-6;
/// Above this, air that can't be saturated at its pressure is met, K.
const HOT: f64 = 350.0;

/// Dew point under pressure, not lower than −100 °C.
pub(super) fn dew_point(humidity_ratio: f64, p: AbsolutePressure) -> Answer<Temperature> {
    let driest = || Formulation::REAL.saturated_humidity_ratio(DRIEST, p);
    if humidity_ratio < DRY && humidity_ratio <= driest()? {
        return Ok(DRIEST);
    }
    Formulation::REAL.dew_point(humidity_ratio, p)
}

/// Vapour that air with so much water holds at this temperature (K) and pressure, kg/kg.
pub(super) fn held(water: f64, t: f64, p: AbsolutePressure) -> Answer<f64> {
    match Formulation::REAL.saturated_humidity_ratio(Temperature::new(t), p) {
        Ok(saturated) => Ok(water.min(saturated)),
        // Too hot to be saturated at this pressure.
        Err(_) if t > HOT => Ok(water),
        Err(refusal) => Err(refusal),
    }
}
