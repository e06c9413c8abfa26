//! How many full moist-air states a second: humidity ratio, dew point, density and enthalpy from
//! temperature, relative humidity and pressure. `moist_air_reference.py` beside this file does the
//! same with two reference libraries.
#![expect(clippy::print_stdout, reason = "a bench prints its result")]
#![expect(clippy::disallowed_methods, reason = "a bench times itself")]

use std::hint::black_box;
use std::time::Instant;

use physics::air::{Formulation, enthalpy_vapour_air, moist_air_density};
use physics::quantity::{AbsolutePressure, Temperature};
use physics::validity::Answer;

const STATES: u32 = 1_000_000;

fn main() -> Answer<()> {
    rate("real gas (IAPWS, Greenspan)", Formulation::REAL)?;
    rate("ideal gas (IAPWS)", Formulation::IDEAL)?;
    rate("ideal gas (Hyland–Wexler)", Formulation::ASHRAE_IDEAL)
}

fn rate(name: &str, air: Formulation) -> Answer<()> {
    let start = Instant::now();
    let mut sum = 0.0;
    for i in 0..STATES {
        sum += state(air, black_box(i))?;
    }
    let per_second = f64::from(STATES) / start.elapsed().as_secs_f64();
    println!("{name}: {per_second:.0} states/s (checksum {sum:.3})");
    Ok(())
}

/// The same states, in the same order, as the script beside this file: −20…50 °C, 10…95 %,
/// 1…14 bar(a).
fn state(air: Formulation, i: u32) -> Answer<f64> {
    let t = Temperature::from_celsius(-20.0 + 0.7 * f64::from(i % 101));
    let relative_humidity = 0.1 + 0.05 * f64::from(i % 18);
    let p = AbsolutePressure::from_bar(1.0 + f64::from(i % 14));
    let w = air.humidity_ratio(t, relative_humidity, p)?;
    let dew_point = air.dew_point(w, p)?;
    let density = moist_air_density(t, w, p)?;
    let enthalpy = enthalpy_vapour_air(t, w)?;
    Ok(w + dew_point.si() * 1e-3 + density * 1e-3 + enthalpy * 1e-6)
}
