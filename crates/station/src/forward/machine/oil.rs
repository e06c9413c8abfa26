//! The oil circuit: the discharge temperature that closes the package's energy balance.
//!
//! Must not know: the aftercooler.

use physics::air::enthalpy_moist_air;
use physics::heat::cooler::{OIL_EXPONENT, conductance};
use physics::heat::thermostat::{ROUNDING, smooth_maximum};
use physics::machine::oil::{free_discharge_temperature, oil_capacity};
use physics::machine::package::oil_heat;
use physics::quantity::{MassFlow, Power, Temperature, ZERO_CELSIUS_K};
use physics::solve::bracketed_root;
use physics::validity::Answer;

use super::power::{Work, unloaded_power};
use super::rating::{Rating, surface};
use super::{Day, blend};
use crate::model::Control;

/// The lowest share of full flow that a variable fan turns down to (common practice, no source).
const LOWEST_FAN: f64 = 0.25;
/// No oil is hotter: the enthalpy of moist air ends here, and oil is ruined long before.
const HOTTEST: f64 = ZERO_CELSIUS_K + 200.0;

/// A trial that is far too cold asks for far too hot oil: all the same to the search.
fn in_reach(trial: Temperature) -> Temperature {
    Temperature::new(trial.si().min(HOTTEST + 100.0))
}

/// How the fan runs, once it is decided.
#[derive(Debug, Clone, Copy)]
pub(super) enum FanMode {
    Full,
    Holds(Temperature),
}

/// The oil circuit at its balance.
#[derive(Debug, Clone, Copy)]
pub(super) struct OilCircuit {
    /// Air-end discharge.
    pub(super) discharge: Temperature,
    /// The same with all oil through the cooler.
    pub(super) free: Temperature,
    /// Cooling-air share of the fan's full flow.
    pub(super) fan_share: f64,
    pub(super) power: Power,
    pub(super) surface: Power,
    pub(super) conductance_w_k: f64,
    pub(super) capacity_w_k: f64,
}

impl OilCircuit {
    /// Between two, `weight` that of the second.
    pub(super) fn between(a: &Self, b: &Self, weight: f64) -> Self {
        let kelvin =
            |x: Temperature, y: Temperature| Temperature::new(blend(x.si(), y.si(), weight));
        let watt = |x: Power, y: Power| Power::new(blend(x.si(), y.si(), weight));
        Self {
            discharge: kelvin(a.discharge, b.discharge),
            free: kelvin(a.free, b.free),
            fan_share: blend(a.fan_share, b.fan_share, weight),
            power: watt(a.power, b.power),
            surface: watt(a.surface, b.surface),
            conductance_w_k: blend(a.conductance_w_k, b.conductance_w_k, weight),
            capacity_w_k: a.capacity_w_k,
        }
    }
}

/// What does not change while the temperature is sought.
struct Sought<'a> {
    day: &'a Day<'a>,
    rating: &'a Rating,
    work: &'a Work,
    fan: FanMode,
    dry_air: MassFlow,
    enthalpy_in: f64,
    capacity_w_k: f64,
    /// Heat to the oil while unloaded.
    idle: Power,
}

/// Finds the balance.
pub(super) fn solve(
    day: &Day<'_>,
    rating: &Rating,
    work: &Work,
    fan: FanMode,
    dry_air: MassFlow,
) -> Answer<OilCircuit> {
    let machine = day.machine;
    let unloaded = unloaded_power(machine, day.health);
    let fan_unloaded = Power::new(work.fan(1.0).si().min(0.5 * unloaded.si()));
    let sought = Sought {
        day,
        rating,
        work,
        fan,
        dry_air,
        enthalpy_in: enthalpy_moist_air(day.room, day.intake.humidity_ratio, 0.0)?,
        capacity_w_k: oil_capacity(machine.oil.ratio.value, rating.dry_air.si())?,
        idle: unloaded - surface(machine, unloaded, fan_unloaded, 0.0)?,
    };
    let t = bracketed_root("oil temperature", day.room.si(), HOTTEST, 1.0e-10, |t| {
        Ok(sought.at(Temperature::new(t))?.1.si() - t)
    })?;
    let discharge = Temperature::new(t);
    Ok(OilCircuit {
        discharge,
        ..sought.at(discharge)?.0
    })
}

impl Sought<'_> {
    /// The circuit if the discharge had this temperature, and the temperature that it would give.
    fn at(&self, trial: Temperature) -> Answer<(OilCircuit, Temperature)> {
        let (day, machine) = (self.day, self.day.machine);
        let hot = enthalpy_moist_air(trial, day.intake.humidity_ratio, 0.0)?;
        let slip = (1.0 - day.health.belt).clamp(0.0, 1.0);
        let gained = self.dry_air.si() * (hot - self.enthalpy_in);
        let balance = |fan_share: f64| -> Answer<(Power, Power, Power, Power)> {
            let power = self.work.loaded(fan_share);
            let lost = surface(machine, power, self.work.fan(fan_share), slip)?;
            // A trial may be so hot that the air would carry away more than all.
            let now = Power::new((power.si() - lost.si() - gained).max(0.0));
            Ok((power, lost, now, self.mean(now)))
        };
        let (mut power, mut lost, mut now, mut mean) = balance(1.0)?;
        let mut g = self.conductance(1.0)?;
        let mut fan_share = 1.0;
        if let FanMode::Holds(set) = self.fan {
            let wanted = smooth_maximum(in_reach(self.free(g, now, mean)?), set, ROUNDING)?;
            // The conductance that gives this temperature, and the fan's share that gives that.
            let resistance = ((wanted - day.room).si() - now.si() / self.capacity_w_k) / mean.si()
                + 1.0 / self.capacity_w_k;
            if resistance.is_finite() && resistance > 0.0 {
                fan_share = (1.0 / (resistance * g))
                    .powf(1.0 / OIL_EXPONENT)
                    .clamp(LOWEST_FAN, 1.0);
            }
            (power, lost, now, mean) = balance(fan_share)?;
            g = self.conductance(fan_share)?;
        }
        let free = self.free(g, now, mean)?;
        let held = machine.oil.held_at.value + day.health.thermostat;
        let circuit = OilCircuit {
            discharge: trial,
            free,
            fan_share,
            power,
            surface: lost,
            conductance_w_k: g,
            capacity_w_k: self.capacity_w_k,
        };
        Ok((circuit, smooth_maximum(in_reach(free), held, ROUNDING)?))
    }

    /// Heat to the oil over the last quarter of an hour, which the sump remembers.
    fn mean(&self, now: Power) -> Power {
        let recent = match self.day.machine.control {
            // While it stands neither oil nor cooling air moves: the sump keeps its heat.
            Control::StartStop(_) => 1.0,
            _ => self.day.running.recent_load.clamp(0.0, 1.0),
        };
        now * recent + self.idle * (1.0 - recent)
    }

    fn conductance(&self, fan_share: f64) -> Answer<f64> {
        let day = self.day;
        let share = day.cooling_air_share(self.rating, fan_share);
        conductance(self.rating.conductance_w_k, day.health.oil_cooler, share)
    }

    fn free(&self, conductance_w_k: f64, now: Power, mean: Power) -> Answer<Temperature> {
        free_discharge_temperature(self.day.room, mean, now, conductance_w_k, self.capacity_w_k)
    }
}

impl OilCircuit {
    /// Heat that the oil carries to its cooler now.
    pub(super) fn heat(&self, dry_air: MassFlow, enthalpies: (f64, f64)) -> Answer<Power> {
        oil_heat(
            self.power,
            self.surface,
            dry_air,
            enthalpies.0,
            enthalpies.1,
        )
    }
}
