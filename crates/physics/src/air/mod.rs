//! Moist air: what the air holds of water, at which temperature it lets it go, and what a volume
//! of it weighs.
//!
//! Map: [`saturation`] vapour pressure over water and ice · [`enhancement`] the real-gas correction
//! under pressure · [`humidity`] humidity ratio and relative humidity · [`dew_point`] its inversion
//! and the pressure dew point · [`density`] densities and the reference flows · [`enthalpy`] ·
//! [`atmosphere`] pressure by altitude · [`purity`] the water class · [`viscosity`].
//!
//! Air is an ideal gas mixture but for the enhancement factor: its compressibility differs from 1
//! by 0.3 % at 8 bar(a) and 0.5 % at 14 bar(a), which the densities leave out.
//!
//! Must not know: machines, stations, the weather of a place.

pub mod atmosphere;
pub mod density;
pub mod dew_point;
pub mod enhancement;
pub mod enthalpy;
pub mod humidity;
pub mod purity;
pub mod saturation;
pub mod viscosity;

pub use atmosphere::{ATMOSPHERE, atmosphere_iso_2533_1975};
pub use density::{
    CONDENSATE, DRY_AIR_MASS, NORMAL_DENSITY, R_WATER_VAPOUR, REFERENCE_DENSITY, condensate,
    dry_air_density, dry_air_mass_flow, free_air, mass_of_reference_air, moist_air_density,
    normal_flow, reference_air, vapour_density,
};
pub use dew_point::{DEW_POINT, PRESSURE_DEW_POINT};
pub use enhancement::{ENHANCEMENT, enhancement_factor_greenspan_1976};
pub use enthalpy::{
    CP_DRY_AIR, CP_VAPOUR, CP_WATER, ENTHALPY, LATENT_0C, enthalpy_liquid_water,
    enthalpy_moist_air, enthalpy_vapour_air,
};
pub use humidity::{
    Enhancement, Formulation, HUMIDITY_RATIO, RELATIVE_HUMIDITY, Saturation,
    humidity_ratio_from_vapour_pressure, vapour_pressure_from_humidity_ratio,
};
pub use purity::{WaterClass, water_class_iso_8573_1_2010};
pub use saturation::{
    SATURATION_PRESSURE, saturation_pressure, saturation_pressure_hyland_wexler_1983,
    saturation_pressure_ice_iapws_r14_08, saturation_pressure_water_if97, saturation_temperature,
};
pub use viscosity::{VISCOSITY, viscosity_sutherland};

use crate::quantity::{AbsolutePressure, Temperature};
use crate::validity::{Answer, Range};

/// Gas constant of dry air, J/(kg K) (ASHRAE Handbook Fundamentals 2017, ch. 1).
pub const R_DRY_AIR: f64 = 287.042;
/// Molar mass of water over that of dry air (ASHRAE Handbook Fundamentals 2017, ch. 1).
pub const MASS_RATIO: f64 = 0.621_945;

/// Total pressure of the moist air.
pub const TOTAL_PRESSURE: Range = Range {
    what: "total pressure",
    unit: "bar(a)",
    min: 0.1,
    max: 20.0,
    source: "the moist-air model",
};
/// Humidity ratio.
pub const HUMIDITY_RATIO_RANGE: Range = Range {
    what: "humidity ratio",
    unit: "kg/kg dry air",
    min: 0.0,
    max: 100.0,
    source: "the moist-air model",
};
/// Relative humidity.
pub const RELATIVE_HUMIDITY_RANGE: Range = Range {
    what: "relative humidity",
    unit: "-",
    min: 0.0,
    max: 1.0,
    source: "its definition",
};
/// Partial pressure of the vapour.
pub const VAPOUR_PRESSURE_RANGE: Range = Range {
    what: "vapour pressure",
    unit: "Pa",
    min: 0.0,
    max: 2.0e6,
    source: "the moist-air model",
};
/// Temperature of the air where only its gas equation is used.
pub const AIR_TEMPERATURE: Range = Range {
    what: "air temperature",
    unit: "°C",
    min: -143.15,
    max: 300.0,
    source: "the gas equation of moist air",
};

/// The temperature in °C if it lies in `range`, which is stated in °C.
///
/// A bound stated in °C is often not exact in kelvin: what lies within 1e-9 K of it is the bound.
fn celsius_in(range: Range, t: Temperature) -> Answer<f64> {
    let celsius = t.celsius();
    for bound in [range.min, range.max] {
        if (celsius - bound).abs() < 1.0e-9 {
            return Ok(bound);
        }
    }
    range.check(celsius)
}

/// The total pressure in pascal if the moist-air model holds there.
fn total_pa(p: AbsolutePressure) -> Answer<f64> {
    TOTAL_PRESSURE.check(p.bar())?;
    Ok(p.si())
}
