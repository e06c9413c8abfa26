//! The thermostatic valve of the oil circuit: below its temperature it lets oil pass the cooler by.
//!
//! The valve opens over a band, so the discharge temperature leaves the held temperature along a
//! smooth curve, not at a corner: a fouled cooler stays hidden until the weather lifts the
//! free-running temperature near the held one.

use crate::quantity::{Temperature, TemperatureDifference};
use crate::validity::{Answer, Range};
use crate::working::{Formula, Mark};

/// How a valve opening over about 10 K rounds the corner: a quarter of the band.
///
/// Common practice, no source: wax elements open fully over about 10 K.
pub const ROUNDING: TemperatureDifference = TemperatureDifference::new(2.5);

/// The formula as people read it.
pub const HELD: Formula = Formula {
    name: "oil temperature with the thermostatic valve",
    equation: "T = T_held + w ln(1 + exp((T_free − T_held)/w)), w = 2.5 K",
    unit: "degC",
    source: "smooth maximum for a valve that opens over about 10 K",
    mark: Mark::CommonPractice,
};

const OIL: Range = Range {
    what: "oil temperature",
    unit: "K",
    min: 173.15,
    max: 673.15,
    source: "the thermostat model",
};
const WIDTH: Range = Range {
    what: "rounding of the thermostat",
    unit: "K",
    min: 1.0e-3,
    max: 50.0,
    source: "the thermostat model",
};

/// Smooth maximum of the free-running and the held temperature.
///
/// T = T_held + w ln(1 + e^((T_free − T_held)/w))
///
/// - `free`: temperature with all oil through the cooler \[K\]
/// - `held`: temperature that the valve holds in cool weather \[K\]
/// - `rounding`: w, a quarter of the band over which the valve opens \[K\]
///
/// Never below either of the two, 0.69 w above both where they meet, and rising in both.
///
/// # Validity
/// 173 to 673 K; 0.001 K ≤ w ≤ 50 K.
///
/// # Errors
/// [`crate::validity::Refusal::OutOfRange`] outside.
///
/// # Source
/// Common practice, no source: the shape; the held temperature is read at the panel.
pub fn smooth_maximum(
    free: Temperature,
    held: Temperature,
    rounding: TemperatureDifference,
) -> Answer<Temperature> {
    let (free, held) = (OIL.check(free.si())?, OIL.check(held.si())?);
    let w = WIDTH.check(rounding.si())?;
    let x = (free - held) / w;
    // ln(1+e^x) without overflow.
    let above = if x > 0.0 {
        x + (-x).exp().ln_1p()
    } else {
        x.exp().ln_1p()
    };
    Ok(Temperature::new(held + w * above))
}
