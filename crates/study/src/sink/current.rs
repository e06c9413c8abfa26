//! A machine's power from the current of its motor, where no power is read.
//!
//! Must not know: files, states.

use physics::machine::motor::{MotorPlate, power_from_current};
use station::model::Machine;

/// What the motor's plate says.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Current {
    voltage_v: f64,
    plate: MotorPlate,
}

impl Current {
    /// `None` where the station file tells neither voltage nor current.
    pub(crate) fn of(machine: &Machine) -> Option<Self> {
        Some(Self {
            voltage_v: machine.motor.voltage_v?,
            plate: MotorPlate {
                current_a: machine.motor.current_a?,
                power_factor: machine.motor.power_factor.value,
            },
        })
    }

    /// Watts of an ampere reading; below the magnetising current it is none, NaN stays NaN.
    pub(crate) fn watts(self, amperes: f64) -> f64 {
        if amperes.is_nan() {
            return f64::NAN;
        }
        power_from_current(amperes, self.voltage_v, self.plate).map_or(0.0, |power| power.si())
    }

    /// The amperes at so many watts, as far as ten times the plate's current.
    pub(crate) fn amperes(self, watts: f64) -> f64 {
        let (mut low, mut high) = (0.0, 10.0 * self.plate.current_a);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.watts(middle) > watts {
                high = middle;
            } else {
                low = middle;
            }
        }
        low
    }

    /// Watts of many.
    pub(crate) fn all(self, amperes: &[f64]) -> Vec<f64> {
        amperes.iter().map(|&a| self.watts(a)).collect()
    }
}
