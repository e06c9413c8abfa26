//! What the station's forward model says of each machine, ready for every row of a log: delivery
//! and power against the pressure.
//!
//! Both are straight lines between two pressures of the model, between which it is all but straight:
//! delivery exactly, power to 0.2 % over 2 bar.
//!
//! Must not know: rows, readings.

use physics::air::reference_air;
use physics::machine::package::{blowdown_loss_kg, modulating_power_share};
use physics::quantity::{AbsolutePressure, GaugePressure, MassFlow, Temperature};
use station::forward::{
    Conditions, Health, Intake, MachineHealth, MachineState, machine_state, room_temperature,
};
use station::model::{Control, Station};

/// Where the station file tells no climate (common practice, no source).
const MILD: (Temperature, f64) = (Temperature::from_celsius(15.0), 0.7);
/// How far on each side of the usual pressure the lines are drawn, Pa.
const ASIDE: f64 = 5.0e4;

/// The weather in which a log was taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Weather {
    pub(crate) ambient: Temperature,
    pub(crate) humidity: f64,
    /// Air entering the machines, if it was logged.
    pub(crate) room: Option<Temperature>,
}

impl Weather {
    /// That of a month, January 0, by the station file.
    pub(crate) fn of_month(station: &Station, month: usize) -> Self {
        let (ambient, humidity) = station.site.climate.as_ref().map_or(MILD, |climate| {
            let month = month.min(11);
            (climate.mean[month], climate.humidity[month])
        });
        Self {
            ambient,
            humidity,
            room: None,
        }
    }
}

/// One machine, as the model sees it.
#[derive(Debug, Clone)]
pub(crate) struct Line {
    /// The usual pressure, Pa above atmosphere.
    pub(crate) usual: f64,
    /// m³/s of reference air at the usual pressure, and more for each Pa.
    pub(crate) air: (f64, f64),
    /// W on full load at the usual pressure, and more for each Pa.
    pub(crate) power: (f64, f64),
    /// W unloaded.
    pub(crate) unloaded: f64,
    /// Standard deviation of the delivery, as a share.
    pub(crate) air_sigma: f64,
    /// m³ of reference air that its separator loses each time it is blown down whole.
    pub(crate) blown_down: f64,
    follows: Follows,
}

/// How the flow shows in the power.
#[derive(Debug, Clone)]
enum Follows {
    Loading,
    Throttling,
    /// Power over full power, and flow over full flow; rising.
    Speed(Vec<(f64, f64)>),
}

impl Line {
    /// A machine in this weather; `None` where the model refuses.
    pub(crate) fn of(station: &Station, machine: usize, weather: &Weather) -> Option<Self> {
        let m = station.machines.get(machine)?;
        let usual = m.mid_pressure().si();
        let (low, high) = (
            state(station, machine, weather, usual - ASIDE)?,
            state(station, machine, weather, usual + ASIDE)?,
        );
        let air = |s: &MachineState| reference_air(s.dry_air).si();
        let through = |a: f64, b: f64| (0.5 * (a + b), (b - a) / (2.0 * ASIDE));
        let follows = match &m.control {
            Control::LoadUnload(_) | Control::StartStop(_) => Follows::Loading,
            Control::Modulating(_) => Follows::Throttling,
            Control::VariableSpeed { part_load, .. } => {
                let last = part_load.last()?;
                let share = |(air, power): &(_, _)| (*power / last.1, *air / last.0);
                Follows::Speed(part_load.iter().map(share).collect())
            }
        };
        let kg = low.oil_temperature.and_then(|oil| {
            let discharge = AbsolutePressure::new(0.5 * (low.air_end.si() + high.air_end.si()));
            let volume = m.separator.volume_m3.value;
            blowdown_loss_kg(volume, discharge, station.standard_atmosphere(), oil).ok()
        });
        Some(Self {
            usual,
            air: through(air(&low), air(&high)),
            power: through(low.power.si(), high.power.si()),
            unloaded: low.unloaded_power.si(),
            air_sigma: m.rated.fad.sigma / m.rated.fad.value.si(),
            blown_down: kg.map_or(0.0, |kg| reference_air(MassFlow::new(kg)).si()),
            follows,
        })
    }

    /// Delivery on full load at a pressure, m³/s.
    #[inline(always)]
    pub(crate) fn full(&self, pressure: f64) -> f64 {
        (self.air.0 + self.air.1 * (pressure - self.usual)).max(0.0)
    }

    /// Power on full load at a pressure, W.
    pub(crate) fn full_power(&self, pressure: f64) -> f64 {
        self.power.0 + self.power.1 * (pressure - self.usual)
    }

    /// Whether it is either on full load or delivers nothing.
    pub(crate) fn is_whole(&self) -> bool {
        matches!(self.follows, Follows::Loading)
    }

    /// The share of its full delivery that a loaded machine gives at a power.
    #[inline(always)]
    pub(crate) fn share(&self, power: Option<f64>, pressure: f64) -> f64 {
        match (&self.follows, power) {
            (Follows::Loading, _) | (_, None) => 1.0,
            (_, Some(power)) => self.share_of(power, pressure),
        }
    }

    fn share_of(&self, power: f64, pressure: f64) -> f64 {
        let of_full = power / self.full_power(pressure).max(1.0);
        match &self.follows {
            Follows::Loading => 1.0,
            Follows::Throttling => {
                // The model's power share is a straight line over the flow share.
                let idle = modulating_power_share(0.0).unwrap_or(0.7);
                ((of_full - idle) / (1.0 - idle)).clamp(0.0, 1.0)
            }
            Follows::Speed(points) => through_points(points, of_full),
        }
    }

    /// How uncertain that share is, as a share of the delivery.
    pub(crate) fn share_sigma(&self) -> f64 {
        match self.follows {
            Follows::Loading => 0.0,
            // A built-in ratio that does not fit, a throttle that is only nearly straight (common
            // practice, no source).
            Follows::Throttling => 0.10,
            Follows::Speed(_) => 0.03,
        }
    }
}

/// Straight lines through points, held beyond the last; before the first, straight to nothing.
fn through_points(points: &[(f64, f64)], at: f64) -> f64 {
    let mut before = (0.0, 0.0);
    for &(x, y) in points {
        if at <= x {
            let width = x - before.0;
            let share = if width > 0.0 {
                (at - before.0) / width
            } else {
                1.0
            };
            return before.1 + share.max(0.0) * (y - before.1);
        }
        before = (x, y);
    }
    before.1
}

/// The model of one machine on full load at a pressure.
fn state(
    station: &Station,
    machine: usize,
    weather: &Weather,
    pressure: f64,
) -> Option<MachineState> {
    let mut conditions = Conditions::new(station, weather.ambient, weather.humidity, 1.0);
    conditions.room = weather.room;
    let running = conditions.machines.get_mut(machine)?;
    running.pressure = GaugePressure::new(pressure.max(0.0));
    let intake = Intake::of(&conditions).ok()?;
    let room = room_temperature(station, &Health::new(station), &conditions).ok()?;
    machine_state(
        station,
        machine,
        &MachineHealth::NEW,
        &conditions,
        &intake,
        room,
    )
    .ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn straight_lines_through_points() {
        let points = [(0.35, 0.3), (0.6, 0.6), (1.0, 1.0)];
        let at = |x: f64| through_points(&points, x);
        assert!((at(0.35) - 0.3).abs() < 1e-12 && (at(0.8) - 0.8).abs() < 1e-12);
        assert!((at(1.2) - 1.0).abs() < 1e-12 && at(-1.0).abs() < 1e-12);
        assert!((at(0.175) - 0.15).abs() < 1e-12);
    }
}
