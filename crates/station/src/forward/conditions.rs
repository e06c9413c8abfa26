//! The conditions of a day: weather, room, load.

use physics::air::Formulation;
use physics::quantity::{AbsolutePressure, GaugePressure, ReferenceAir, Temperature};
use physics::validity::{Answer, Range, Refusal};

use super::{AtPlace, Expected};
use crate::model::{Asset, Climate, Control, Station};

const fn range(what: &'static str, unit: &'static str, min: f64, max: f64) -> Range {
    Range {
        what,
        unit,
        min,
        max,
        source: "the forward model",
    }
}
const AMBIENT: Range = range("outdoor temperature", "°C", -60.0, 60.0);
const ROOM: Range = range("room temperature", "°C", -60.0, 80.0);
const HUMIDITY: Range = range("outdoor relative humidity", "-", 0.0, 1.0);
const ATMOSPHERE: Range = range("atmospheric pressure", "bar(a)", 0.4, 1.2);
const DEMAND: Range = range("demand", "m³/s", 0.0, 1.0e4);
const DUTY: Range = range("duty", "-", 0.0, 1.0 + 1.0e-9);
const RECENT: Range = range(
    "load of the last quarter of an hour",
    "-",
    0.0,
    1.0 + 1.0e-9,
);
const SPEED: Range = range("speed over rated", "-", 0.0, 1.5);
const PRESSURE: Range = range("outlet pressure", "bar(g)", 0.0, 18.5);

/// Lowest speed of a machine whose part-load points don't say it (common practice, no source).
const LOWEST_SPEED: f64 = 0.2;

/// How one machine runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Running {
    /// Hours loaded over hours run; 0 for a machine that does not run. For a modulating or
    /// variable-speed machine the share of its full flow.
    pub duty: f64,
    /// Share of the last quarter of an hour on load, which the sump remembers.
    pub recent_load: f64,
    /// Pressure at the package outlet.
    pub pressure: GaugePressure,
    /// Its mean over the last quarter of an hour, which the sump remembers: a machine that is read anywhere
    /// in its band does not warm its oil by that moment. `None` where it is the same.
    pub recent_pressure: Option<GaugePressure>,
    /// Flow over rated flow of a variable-speed machine, 1 for others.
    pub speed: f64,
    /// Whether an on/off fan turns, if it was seen.
    pub fan_on: Option<bool>,
}

/// Weather, room and load.
#[derive(Debug, Clone, PartialEq)]
pub struct Conditions {
    /// Outdoors.
    pub ambient: Temperature,
    /// Relative humidity outdoors, 0…1.
    pub humidity: f64,
    /// The atmosphere.
    pub atmosphere: AbsolutePressure,
    /// Air entering the coolers, if read; otherwise it is computed.
    pub room: Option<Temperature>,
    /// How each machine runs, in station order.
    pub machines: Vec<Running>,
    /// What the plant takes, if read; otherwise duty times delivery.
    pub demand: Option<ReferenceAir>,
}

impl Running {
    /// A machine of the station at this duty, at the middle of its band, full speed.
    #[must_use]
    pub fn at_duty(station: &Station, machine: usize, duty: f64) -> Self {
        let m = &station.machines[machine];
        // A machine that varies its flow does not cycle, and one that stops runs only loaded.
        let recent_load = match m.control {
            Control::LoadUnload(_) => duty,
            Control::StartStop(_) | Control::Modulating(_) | Control::VariableSpeed { .. } => 1.0,
        };
        let speed = match &m.control {
            Control::VariableSpeed { part_load, .. } if duty > 0.0 => {
                let lowest = match (part_load.first(), part_load.last()) {
                    (Some(first), Some(last)) if part_load.len() > 1 => first.0 / last.0,
                    _ => LOWEST_SPEED,
                };
                duty.max(lowest).min(1.0)
            }
            _ => 1.0,
        };
        Self {
            duty,
            recent_load,
            pressure: m.mid_pressure(),
            recent_pressure: None,
            speed,
            fan_on: None,
        }
    }

    /// The pressure that the oil's heat goes with.
    #[must_use]
    pub fn warms_at(&self) -> GaugePressure {
        self.recent_pressure.unwrap_or(self.pressure)
    }

    /// Whether the model can answer for this at all.
    pub(super) fn check(&self) -> Answer<()> {
        DUTY.check(self.duty)?;
        RECENT.check(self.recent_load)?;
        SPEED.check(self.speed)?;
        PRESSURE.check(self.pressure.bar())?;
        PRESSURE.check(self.warms_at().bar())?;
        Ok(())
    }
}

impl Conditions {
    /// Weather with every machine at the same duty.
    #[must_use]
    pub fn new(station: &Station, ambient: Temperature, humidity: f64, duty: f64) -> Self {
        let machines = (0..station.machines.len())
            .map(|i| Running::at_duty(station, i, duty))
            .collect();
        Self {
            ambient,
            humidity,
            atmosphere: station.standard_atmosphere(),
            room: None,
            machines,
            demand: None,
        }
    }

    /// Whether the model can answer for this weather and load at all.
    pub(super) fn check(&self, station: &Station) -> Expected<()> {
        self.check_weather().at(Asset::Site)?;
        if self.machines.len() != station.machines.len() {
            return Err(counts(self.machines.len(), station.machines.len())).at(Asset::Site);
        }
        for (i, running) in self.machines.iter().enumerate() {
            running.check().at(Asset::Machine(i))?;
        }
        if let Some(room) = self.room {
            ROOM.check(room.celsius()).at(Asset::Room)?;
        }
        Ok(())
    }

    fn check_weather(&self) -> Answer<()> {
        AMBIENT.check(self.ambient.celsius())?;
        HUMIDITY.check(self.humidity)?;
        ATMOSPHERE.check(self.atmosphere.bar())?;
        if let Some(demand) = self.demand {
            DEMAND.check(demand.si())?;
        }
        Ok(())
    }
}

/// Conditions or health of another station.
pub(super) fn counts(told: usize, fitted: usize) -> Refusal {
    Refusal::Contradiction {
        must: "conditions and health speak of as many things as the station has",
        first: told as f64,
        second: fitted as f64,
    }
}

impl Climate {
    /// Relative humidity in a month (0 is January) at a temperature.
    ///
    /// The climate's humidity belongs to the month's mean temperature; at any other temperature the
    /// vapour pressure is kept, not the relative humidity.
    ///
    /// # Errors
    /// Any refusal of the saturation formulas.
    pub fn humidity_at(&self, month: usize, t: Temperature) -> Answer<f64> {
        let month = month.min(11);
        let vapour = self.humidity[month] * physics::air::saturation_pressure(self.mean[month])?;
        Ok((vapour / physics::air::saturation_pressure(t)?).min(1.0))
    }

    /// The hottest day's conditions: design-hot if told, else the hottest month's mean maximum.
    #[must_use]
    pub fn hottest(&self) -> (Temperature, usize) {
        let month = (0..12)
            .max_by(|&a, &b| self.mean_max[a].si().total_cmp(&self.mean_max[b].si()))
            .unwrap_or(6);
        (self.design_hot.unwrap_or(self.mean_max[month]), month)
    }
}

/// The air that the machines take in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Intake {
    /// Vapour, kg per kg of dry air.
    pub humidity_ratio: f64,
}

impl Intake {
    /// From the weather outdoors.
    ///
    /// # Errors
    /// Any refusal of the moist-air formulas.
    pub fn of(conditions: &Conditions) -> Answer<Self> {
        let humidity_ratio = Formulation::REAL.humidity_ratio(
            conditions.ambient,
            conditions.humidity,
            conditions.atmosphere,
        )?;
        Ok(Self { humidity_ratio })
    }
}
