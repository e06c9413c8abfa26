//! Air through the opening of a drain.
//!
//! Must not know: why it is open.

use physics::flow::orifice::{mass_flow_orifice, orifice_area};
use physics::quantity::{AbsolutePressure, MassFlow, Temperature};
use physics::validity::Answer;

/// Flow coefficient of a drain's opening, as of a sharp-edged orifice (published: the engineering
/// table "Discharge of air through an orifice" prints 0.65 for a sharp edge; US DOE, Energy Tips:
/// Compressed Air, tip sheet 3, 2004, has 0.61).
pub const COEFFICIENT: f64 = 0.65;
/// The air before a drain is about as warm as that (common practice, no source).
const DRAINED: Temperature = Temperature::from_celsius(25.0);

/// Air through a drain's opening of so many metres across, at the pressure of the drained place.
///
/// # Errors
/// Any refusal of the orifice's formulas.
pub fn through_a_drain(
    opening_m: f64,
    pressure: AbsolutePressure,
    atmosphere: AbsolutePressure,
) -> Answer<MassFlow> {
    mass_flow_orifice(
        orifice_area(opening_m)?,
        COEFFICIENT,
        pressure,
        DRAINED,
        atmosphere,
    )
}
