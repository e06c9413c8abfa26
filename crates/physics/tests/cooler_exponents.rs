//! How both coolers follow the cooling-air flow: the derivation behind the exponents of
//! `physics::heat::cooler`, with the exact crossflow relation (first principles).

use physics::heat::cooler::{AIR_EXPONENT, OIL_EXPONENT};
use physics::heat::ntu::effectiveness_crossflow_mason_1954;
use physics::validity::Answer;

const STEP: f64 = 1.0e-4;

/// d ln f/d ln φ at φ = 1.
fn slope(f: impl Fn(f64) -> Answer<f64>) -> Answer<f64> {
    Ok((f(STEP.exp())?.ln() - f((-STEP).exp())?.ln()) / (2.0 * STEP))
}

/// Evenly spaced from `low` to `high`, both included.
fn grid(low: f64, high: f64) -> impl Iterator<Item = f64> {
    (0..=4).map(move |i| low + (high - low) * f64::from(i) / 4.0)
}

/// UA at the air flow φ over its value at 1, with a share of the resistance on the air side.
fn conductance(air_side: f64, exponent: f64, phi: f64) -> f64 {
    1.0 / (air_side * phi.powf(-exponent) + 1.0 - air_side)
}

fn extremes(values: &[f64]) -> [f64; 2] {
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    [
        low,
        values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
    ]
}

/// G = ε C_min over the oil's capacity, the oil entering at the discharge temperature.
fn oil_cooler(air: f64, ua: f64, air_side: f64, exponent: f64) -> Answer<f64> {
    slope(|phi| {
        let (air, ua) = (air * phi, ua * conductance(air_side, exponent, phi));
        let (least, most) = (air.min(1.0), air.max(1.0));
        Ok(least * effectiveness_crossflow_mason_1954(ua / least, least / most)?)
    })
}

/// The transfer units against a constant cooling-air temperature that give the same outlet.
fn aftercooler(ratio: f64, units: f64, air_side: f64, exponent: f64) -> Answer<f64> {
    slope(|phi| {
        let n = units * conductance(air_side, exponent, phi);
        Ok(-(-effectiveness_crossflow_mason_1954(n, ratio / phi)?).ln_1p())
    })
}

#[test]
fn the_oil_coolers_conductance_goes_with_the_root_of_the_air() -> Answer<()> {
    let mut slopes = Vec::new();
    for air in grid(0.6, 0.8) {
        for ua in grid(0.5, 1.2) {
            for air_side in grid(0.6, 0.8) {
                for exponent in grid(0.5, 0.6) {
                    slopes.push(oil_cooler(air, ua, air_side, exponent)?);
                }
            }
        }
    }
    let [low, high] = extremes(&slopes);
    assert!(
        (low - 0.41).abs() < 0.005 && (high - 0.62).abs() < 0.005,
        "{low} {high}"
    );
    assert!(low < OIL_EXPONENT && OIL_EXPONENT < high);
    Ok(())
}

#[test]
fn the_aftercoolers_transfer_units_follow_more_steeply() -> Answer<()> {
    let mut slopes = Vec::new();
    for ratio in grid(0.33, 0.6) {
        for units in grid(2.5, 3.2) {
            for air_side in grid(0.5, 0.6) {
                for exponent in grid(0.6, 0.8) {
                    slopes.push(aftercooler(ratio, units, air_side, exponent)?);
                }
            }
        }
    }
    let [low, high] = extremes(&slopes);
    assert!(
        (low - 0.52).abs() < 0.005 && (high - 0.81).abs() < 0.005,
        "{low} {high}"
    );
    assert!(low < AIR_EXPONENT && AIR_EXPONENT < high);
    Ok(())
}
