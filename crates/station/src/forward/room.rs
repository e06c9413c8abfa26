//! The room: how far all running machines warm the air that enters their coolers.

use physics::quantity::{Power, Temperature, TemperatureDifference};
use physics::room::room_rise;

use super::conditions::Conditions;
use super::health::Health;
use super::machine::{mean_power, surface_share};
use super::{AtPlace, Expected};
use crate::model::{Asset, Station};

/// The temperature of the air entering the coolers: read, or outdoors plus the room's rise.
///
/// With a ventilation flow, ΔT = heat rejected by all running machines and dryers/(ρ c_p V); where
/// the cooling air is ducted away only what motors, drives and casings give off stays. Without one,
/// the assumed rise at full load goes with the power drawn.
///
/// # Errors
/// Any refusal of the formulas.
pub fn room_temperature(
    station: &Station,
    health: &Health,
    conditions: &Conditions,
) -> Expected<Temperature> {
    if let Some(read) = conditions.room {
        return Ok(read);
    }
    let (mut heat, mut full) = (Power::new(0.0), Power::new(0.0));
    for (i, running) in conditions.machines.iter().enumerate() {
        let machine = &station.machines[i];
        full = full + machine.rated.power.value;
        if running.duty > 0.0 {
            let power = mean_power(machine, &health.machines[i], running, conditions.atmosphere)
                .at(Asset::Machine(i))?;
            let stays = if station.room.ducted {
                surface_share(machine)
            } else {
                1.0
            };
            heat = heat + power * stays;
        }
    }
    let running = heat.si() > 0.0;
    if running {
        for dryer in &station.dryers {
            heat = heat + dryer.power.value;
        }
    }
    let rise = match station.room.ventilation {
        Some(flow) if running => room_rise(
            heat,
            flow.value.si(),
            conditions.ambient,
            conditions.atmosphere,
        )
        .at(Asset::Room)?,
        Some(_) => TemperatureDifference::new(0.0),
        None => station.room.assumed_rise.value * (heat / full).min(1.5),
    };
    Ok(conditions.ambient + rise)
}
