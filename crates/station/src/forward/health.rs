//! Health: each part's present state as a factor (1) or an offset (0) of its clean or new state.

use physics::quantity::TemperatureDifference;

use super::conditions::counts;
use super::{AtPlace, Expected};
use crate::model::{Asset, Station};

/// One machine's health.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MachineHealth {
    /// Cooling-air flow (fan, mat, cabinet): moves both coolers.
    pub fan: f64,
    /// k_G: the oil cooler's conductance.
    pub oil_cooler: f64,
    /// The aftercooler's transfer units.
    pub aftercooler: f64,
    /// Offset of the temperature that the thermostatic valve holds.
    pub thermostat: TemperatureDifference,
    /// k_q: air-end delivery.
    pub delivery: f64,
    /// k_w: power on load.
    pub power: f64,
    /// Power unloaded.
    pub unloaded_power: f64,
    /// k_b: belt transmission, 1 − slip.
    pub belt: f64,
    /// Intake pressure drop over clean.
    pub intake_drop: f64,
    /// Separator pressure drop over clean.
    pub separator_drop: f64,
}

impl MachineHealth {
    /// As new.
    pub const NEW: Self = Self {
        fan: 1.0,
        oil_cooler: 1.0,
        aftercooler: 1.0,
        thermostat: TemperatureDifference::new(0.0),
        delivery: 1.0,
        power: 1.0,
        unloaded_power: 1.0,
        belt: 1.0,
        intake_drop: 1.0,
        separator_drop: 1.0,
    };
}

/// The station's health.
#[derive(Debug, Clone, PartialEq)]
pub struct Health {
    /// Each machine.
    pub machines: Vec<MachineHealth>,
    /// k_f of each filter: pressure drop over clean.
    pub filters: Vec<f64>,
    /// Capacity of each dryer over rated.
    pub dryers: Vec<f64>,
}

impl Health {
    /// Everything as new.
    #[must_use]
    pub fn new(station: &Station) -> Self {
        Self {
            machines: vec![MachineHealth::NEW; station.machines.len()],
            filters: vec![1.0; station.filters.len()],
            dryers: vec![1.0; station.dryers.len()],
        }
    }

    /// Whether it speaks of everything that this station has.
    pub(super) fn check(&self, station: &Station) -> Expected<()> {
        for (told, fitted) in [
            (self.machines.len(), station.machines.len()),
            (self.filters.len(), station.filters.len()),
            (self.dryers.len(), station.dryers.len()),
        ] {
            if told != fitted {
                return Err(counts(told, fitted)).at(Asset::Site);
            }
        }
        Ok(())
    }
}
