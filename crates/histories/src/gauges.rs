//! What a gauge shows and what a reader writes down.
//!
//! Every gauge has a fixed error of its own, each reading a small one, and the reader rounds to
//! what the scale allows: half a division of a class 1.6 dial, one kelvin of a thermometer.
//!
//! Must not know: where the true value comes from.

use fastrand::Rng;

use crate::random::{normal, scatter, stream};

/// How the gauge of one kind of point behaves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Gauge {
    /// Spread of the fixed error, in the unit of the point, or as a share if `relative`.
    bias: f64,
    /// Spread of the reading error, likewise.
    noise: f64,
    relative: bool,
    /// What readings are rounded to; 0 for a counter, which shows whole hours gone by.
    step: f64,
    /// Decimals written down.
    pub(crate) decimals: usize,
    low: f64,
    high: f64,
}

impl Gauge {
    const fn new(bias: f64, noise: f64, step: f64, decimals: usize) -> Self {
        let (low, high) = (f64::NEG_INFINITY, f64::INFINITY);
        Self {
            bias,
            noise,
            relative: false,
            step,
            decimals,
            low,
            high,
        }
    }

    const fn relative(self) -> Self {
        Self {
            relative: true,
            ..self
        }
    }

    const fn within(self, low: f64, high: f64) -> Self {
        Self { low, high, ..self }
    }

    /// The gauge of a point, by asset and by the name after the dot.
    pub(crate) fn of(asset: &str, name: &str) -> Self {
        match name {
            "hours_run" | "hours_loaded" | "starts" => Self::new(0.0, 0.0, 0.0, 0),
            "ambient" | "temperature" => Self::new(0.5, 0.3, 0.5, 1),
            "humidity" => Self::new(2.0, 1.5, 1.0, 0).within(5.0, 99.0),
            "oil_temperature" | "outlet_temperature" => Self::new(0.7, 0.4, 1.0, 0),
            // The panel's transmitter; a dial of class 1.6 to 16 bar; another to 10 bar.
            "pressure" if asset.starts_with('K') => {
                Self::new(0.03, 0.015, 0.1, 1).within(0.0, 16.0)
            }
            "pressure" if asset.starts_with('R') => Self::new(0.08, 0.03, 0.1, 1).within(0.0, 16.0),
            "pressure" => Self::new(0.06, 0.025, 0.1, 1).within(0.0, 10.0),
            "power" => Self::new(0.008, 0.004, 0.1, 1).relative(),
            "separator_drop" => Self::new(0.015, 0.012, 0.05, 2).within(0.0, 2.0),
            "intake_drop" => Self::new(0.5, 0.4, 1.0, 0).within(0.0, 200.0),
            "drop" => Self::new(0.006, 0.004, 0.01, 2).within(0.0, 1.0),
            "dew_point" => Self::new(0.4, 0.25, 0.5, 1),
            "flow" => Self::new(0.02, 0.01, 0.1, 1).relative(),
            "belt_indicator" => Self::new(0.0, 0.025, 0.05, 2).within(0.0, 1.0),
            "collected" => Self::new(0.0, 0.03, 0.1, 1)
                .relative()
                .within(0.0, f64::INFINITY),
            "load_time" | "unload_time" => Self::new(0.0, 0.6, 1.0, 0).within(1.0, 3600.0),
            // `oil_added`: by the mark on the can.
            _ => Self::new(0.0, 0.0, 0.1, 1),
        }
    }

    /// The fixed error of the gauge of `point`, in the unit of the point (or as a share).
    fn bias_of(self, point: &str, seed: u64) -> f64 {
        scatter(&mut stream(seed, &format!("gauge {point}"), 0), self.bias)
    }

    /// What is written down for a true value. `fault` is the error of a gauge that is wrong, `care`
    /// scales the ordinary errors. Always draws the same number of random numbers.
    pub(crate) fn read(
        self,
        point: &str,
        truth: f64,
        fault: f64,
        care: f64,
        seed: u64,
        rng: &mut Rng,
    ) -> f64 {
        let error = care * (self.bias_of(point, seed) + self.noise * normal(rng));
        if self.step <= 0.0 {
            return (truth + fault).floor();
        }
        let size = if self.relative { truth.abs() } else { 1.0 };
        let shown = truth + error * size + fault;
        let written = (shown / self.step).round() * self.step;
        // `+ 0.0` turns a minus nought into nought.
        written.clamp(self.low, self.high) + 0.0
    }
}

/// A number as a hasty or tired reader would get it wrong: two digits changed about, or a digit off.
pub(crate) fn misread(value: f64, decimals: usize, rng: &mut Rng) -> f64 {
    let scale = 10_f64.powi(i32::try_from(decimals).unwrap_or(0));
    let whole = (value.abs() * scale).round();
    let digits: Vec<u8> = format!("{whole:.0}").bytes().collect();
    let swap = (0..digits.len().saturating_sub(1)).find(|&i| digits[i].abs_diff(digits[i + 1]) > 1);
    let wrong = match swap {
        Some(i) => {
            let mut mixed = digits;
            mixed.swap(i, i + 1);
            mixed
                .into_iter()
                .fold(0.0, |sum, digit| sum * 10.0 + f64::from(digit - b'0'))
        }
        None => whole + [10.0, 20.0, -10.0][rng.usize(..3)],
    };
    let wrong = if wrong < 0.0 { whole + 10.0 } else { wrong };
    wrong / scale * if value < 0.0 { -1.0 } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counters_are_exact_whole_numbers() {
        let gauge = Gauge::of("K1", "hours_run");
        let mut rng = stream(1, "t", 0);
        let read = gauge.read("K1.hours_run", 1234.9, 0.0, 1.0, 1, &mut rng);
        assert!((read - 1234.0).abs() < 1e-9);
    }

    #[test]
    fn a_class_1_6_dial_stays_within_its_class_and_on_its_scale() {
        let gauge = Gauge::of("R1", "pressure");
        for seed in 0..500 {
            let mut rng = stream(seed, "t", 0);
            let read = gauge.read("R1.pressure", 7.03, 0.0, 1.0, seed, &mut rng);
            // 1.6 % of 16 bar, half a rounding step and the reader's own error.
            assert!((read - 7.03).abs() < 0.256 + 0.05 + 0.1, "{read}");
            assert!((read * 10.0 - (read * 10.0).round()).abs() < 1e-6);
        }
    }

    #[test]
    fn a_misreading_is_another_number() {
        let mut rng = stream(1, "t", 0);
        for (value, decimals) in [(84.0, 0), (7.1, 1), (11.0, 0), (12_345.0, 0), (0.2, 2)] {
            assert!(
                (misread(value, decimals, &mut rng) - value).abs() > 0.05,
                "{value}"
            );
        }
        assert!((misread(84.0, 0, &mut rng) - 48.0).abs() < 1e-9);
    }
}
