//! Oil as the machine's coolant: discharge temperature, its lag behind load, and its ageing.
//!
//! The sump is slow (15 to 20 minutes), the rise through the air end is fast. So the discharge
//! temperature that a panel shows on load depends on the load of the last quarter of an hour *and*
//! on the load of this moment; leaving that out makes a reading at half duty 4 to 8 K wrong.

use crate::quantity::{Power, Temperature, TemperatureDifference};
use crate::validity::{Answer, Range, Refusal};
use crate::working::{Formula, Mark};

/// Specific heat of the oil, J/(kg K): mineral and synthetic oils near 60 °C (from memory).
pub const CP_OIL: f64 = 2000.0;
/// Temperature at which an oil's life is stated (common practice, no source).
pub const LIFE_REFERENCE: Temperature = Temperature::from_celsius(85.0);

/// The free-running discharge temperature as people read it.
pub const DISCHARGE: Formula = Formula {
    name: "oil temperature with all oil through the cooler",
    equation: "T_free = T_cool + Q̄_oil (1/G − 1/C_oil) + Q_now/C_oil",
    unit: "degC",
    source: "energy balance of sump and air end; oil flow 7 ± 2 kg per kg of air from memory",
    mark: Mark::Derived,
};

/// Ageing as people read it.
pub const AGEING: Formula = Formula {
    name: "equivalent hours of the oil",
    equation: "h_eq = ∫ max(1, 2^((T − 85 °C)/10 K)) dt",
    unit: "h",
    source: "oxidation about doubles per 10 K in turbine-oil tests (ASTM book chapter, 1986)",
    mark: Mark::Published,
};

const COOLING_AIR: Range = Range {
    what: "cooling-air temperature",
    unit: "K",
    min: 213.15,
    max: 353.15,
    source: "the oil circuit model",
};
const OIL: Range = Range {
    what: "oil temperature",
    unit: "K",
    min: 173.15,
    max: 673.15,
    source: "the rule of 10 kelvin",
};

/// Discharge temperature with all oil through the cooler.
///
/// T_free = T_cool + Q̄_oil (1/G − 1/C_oil) + Q_now/C_oil
///
/// - `cooling_air`: T_cool, air entering the coolers \[K\]
/// - `mean_heat`: Q̄_oil, heat to the oil cooler averaged over the last 15–20 min \[W\]
/// - `present_heat`: Q_now, heat taken up by the oil in the air end at this moment \[W\]
/// - `conductance_w_k`: G of the oil cooler [W/K]
/// - `oil_capacity_w_k`: C_oil, oil flow times specific heat [W/K]
///
/// At steady full load it is T_cool + Q/G.
///
/// # Validity
/// Cooling air −60…80 °C; heats not negative; G and C_oil positive.
///
/// # Errors
/// [`Refusal`] outside.
///
/// # Source
/// Derived: the sump gives up Q̄ through G, the air end adds Q_now to the oil that it gets.
pub fn free_discharge_temperature(
    cooling_air: Temperature,
    mean_heat: Power,
    present_heat: Power,
    conductance_w_k: f64,
    oil_capacity_w_k: f64,
) -> Answer<Temperature> {
    let t = COOLING_AIR.check(cooling_air.si())?;
    let (mean, now) = (mean_heat.si(), present_heat.si());
    let sump = mean * (1.0 / conductance_w_k - 1.0 / oil_capacity_w_k);
    let result = t + sump + now / oil_capacity_w_k;
    let sound = mean >= 0.0 && now >= 0.0 && conductance_w_k > 0.0 && oil_capacity_w_k > 0.0;
    if sound && result.is_finite() {
        Ok(Temperature::new(result))
    } else {
        Err(Refusal::Contradiction {
            must: "heats are not negative, conductance and oil capacity are positive",
            first: conductance_w_k,
            second: oil_capacity_w_k,
        })
    }
}

/// Heat capacity rate of the circulating oil, W/K.
///
/// C_oil = ratio · ṁ_air · c_p,oil
///
/// # Errors
/// [`Refusal::Contradiction`] unless both are positive.
///
/// # Source
/// Definition; the ratio of 7 ± 2 kg of oil per kg of air is from memory.
pub fn oil_capacity(ratio_kg_kg: f64, air_kg_s: f64) -> Answer<f64> {
    let c = ratio_kg_kg * air_kg_s * CP_OIL;
    if ratio_kg_kg > 0.0 && air_kg_s > 0.0 && c > 0.0 && c.is_finite() {
        Ok(c)
    } else {
        Err(Refusal::Contradiction {
            must: "oil ratio and air flow are positive",
            first: ratio_kg_kg,
            second: air_kg_s,
        })
    }
}

/// How many hours of life one hour at this temperature takes, never less than one.
///
/// a = max(1, 2^((T − T_ref)/10 K))
///
/// - `temperature`: T of the oil \[K\]
/// - `reference`: T_ref at which the life is stated \[K\]
///
/// # Validity
/// −100 to 400 °C; the rule is meant for 60 to 120 °C, and not every oil follows it.
///
/// # Errors
/// [`Refusal::OutOfRange`] outside.
///
/// # Source
/// Reaction rate about doubles per 10 K: *Turbine Lubricant Oxidation: Testing, Experience, and
/// Prediction* (ASTM book chapter, 1986).
///
/// # Example
/// ```
/// use physics::{machine::oil::ageing_rate, quantity::Temperature};
/// let a = ageing_rate(Temperature::from_celsius(95.0), Temperature::from_celsius(85.0))?;
/// assert!((a - 2.0).abs() < 1e-9);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn ageing_rate(temperature: Temperature, reference: Temperature) -> Answer<f64> {
    let over: TemperatureDifference = Temperature::new(OIL.check(temperature.si())?)
        - Temperature::new(OIL.check(reference.si())?);
    Ok((over.si() / 10.0).exp2().max(1.0))
}
