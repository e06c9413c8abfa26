//! Moist air by simple formulas: Magnus saturation, a linear pressure correction, fixed heats.
//!
//! Pressures are absolute, in hectopascal (hPa) for vapour and bar for the line.
//!
//! Must not know: machines, weather.

/// Dry-air density at 20 °C and 1 bar(a), kg/m³: the reference state of ANR flows.
pub(crate) const ANR_KG_PER_M3: f64 = 1.188;
/// Heat capacity of dry air, kJ/(kg K).
pub(crate) const AIR_KJ_PER_KG_K: f64 = 1.006;
/// Heat of condensation near 25 °C, kJ/kg.
pub(crate) const CONDENSATION_KJ_PER_KG: f64 = 2440.0;

/// Saturation vapour pressure over water, hPa.
///
/// e = 6.112 · exp(17.62 t / (243.12 + t)), t in °C.
///
/// Source: the Magnus form of the WMO guide to meteorological instruments (from memory).
pub(crate) fn saturation_hpa(celsius: f64) -> f64 {
    6.112 * (17.62 * celsius / (243.12 + celsius)).exp()
}

/// Largest vapour content of air at a temperature and an absolute pressure, kg per kg of dry air.
///
/// The factor stands for the vapour enhancement of compressed air, about 2.5 % at 8 bar(a)
/// (from memory).
pub(crate) fn saturated_kg_per_kg(celsius: f64, bar_a: f64) -> f64 {
    let vapour_hpa = saturation_hpa(celsius) * (1.004 + 0.003 * (bar_a - 1.0));
    0.622 * vapour_hpa / (1000.0 * bar_a - vapour_hpa).max(vapour_hpa)
}

/// Vapour content of air with the vapour pressure `vapour_hpa`, kg per kg of dry air.
pub(crate) fn content_kg_per_kg(vapour_hpa: f64, atmosphere_hpa: f64) -> f64 {
    0.622 * vapour_hpa / (atmosphere_hpa - vapour_hpa)
}

/// Dry mass in one cubic metre of intake air over the dry mass in one cubic metre (ANR).
pub(crate) fn anr_per_free_air(celsius: f64, vapour_hpa: f64, atmosphere_hpa: f64) -> f64 {
    (atmosphere_hpa - vapour_hpa) / 1000.0 * 293.15 / (celsius + 273.15)
}

/// Heat content of saturated air over dry air at 0 °C, kJ per kg of dry air.
pub(crate) fn saturated_heat_kj_per_kg(celsius: f64, bar_a: f64) -> f64 {
    AIR_KJ_PER_KG_K * celsius + saturated_kg_per_kg(celsius, bar_a) * (2500.0 + 1.86 * celsius)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// IAPWS-IF97 region 4 at 0, 20 and 50 °C: 6.112, 23.39 and 123.5 hPa (steam tables).
    #[test]
    fn saturation_is_close_to_the_steam_tables() {
        for (celsius, hpa) in [(0.0, 6.112), (20.0, 23.39), (50.0, 123.5)] {
            assert!(
                (saturation_hpa(celsius) / hpa - 1.0).abs() < 0.006,
                "{celsius}"
            );
        }
    }

    #[test]
    fn compressed_air_holds_less_water() {
        let free = saturated_kg_per_kg(30.0, 1.013);
        let squeezed = saturated_kg_per_kg(30.0, 8.0);
        assert!((0.0265..0.0285).contains(&free), "{free}");
        assert!((0.0031..0.0036).contains(&squeezed), "{squeezed}");
    }
}
