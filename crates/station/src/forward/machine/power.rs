//! What a machine draws and delivers, before any heat.
//!
//! Must not know: coolers, the room.

use physics::machine::package::{
    Compression, Delivery, air_end_pressure, free_air_delivered, modulating_power_share,
    power_on_load,
};
use physics::quantity::{AbsolutePressure, FreeAir, GaugePressure, Power};
use physics::solve::MonotoneCubic;
use physics::validity::Answer;

use super::DROP_EXPONENT;
use super::rating::{RATED_ATMOSPHERE, Rating};
use crate::forward::conditions::Running;
use crate::forward::health::MachineHealth;
use crate::model::{Control, Machine};

/// The intake and the discharge of the air end.
fn compression(
    machine: &Machine,
    (intake_health, separator_health): (f64, f64),
    speed: f64,
    pressure: GaugePressure,
    atmosphere: AbsolutePressure,
) -> Answer<Compression> {
    let flow = speed.powf(DROP_EXPONENT);
    Ok(Compression {
        intake: atmosphere - machine.intake.clean.value * (intake_health * flow),
        discharge: air_end_pressure(
            pressure.absolute(atmosphere),
            machine.cooling.after_drop.value * flow,
            machine.minimum_pressure.value.absolute(atmosphere),
            machine.separator.clean.value * (separator_health * flow),
        )?,
    })
}

/// The same at the rated pressure and inlet, clean. A part-load point was taken with the drops of
/// its own speed.
pub(super) fn rated_compression(machine: &Machine, speed: f64) -> Answer<Compression> {
    compression(
        machine,
        (1.0, 1.0),
        speed,
        machine.rated.pressure,
        RATED_ATMOSPHERE,
    )
}

/// Everything about the power on load but how fast the fan turns.
#[derive(Debug, Clone, Copy)]
pub(super) struct Work {
    /// Intake and discharge.
    pub(super) at: Compression,
    shaft: Power,
    full_fan: Power,
    share: f64,
}

impl Work {
    pub(super) fn of(
        machine: &Machine,
        health: &MachineHealth,
        running: &Running,
        pressure: GaugePressure,
        atmosphere: AbsolutePressure,
    ) -> Answer<Self> {
        let speed = running.speed;
        let drops = (health.intake_drop, health.separator_drop);
        let at = compression(machine, drops, speed, pressure, atmosphere)?;
        let (rated, share) = match &machine.control {
            Control::VariableSpeed { part_load, .. } => {
                (part_load_power(machine, part_load, speed)?, 1.0)
            }
            Control::Modulating(_) => (
                machine.rated.power.value,
                modulating_power_share(running.duty.min(1.0))?,
            ),
            Control::LoadUnload(_) | Control::StartStop(_) => (machine.rated.power.value, 1.0),
        };
        let full_fan = Power::new(machine.fan_power.value.si().min(0.5 * rated.si()));
        let rated_at = rated_compression(machine, speed)?;
        let still = Power::new(0.0);
        let shaft = power_on_load(rated, full_fan, still, health.power, at, rated_at)?;
        Ok(Self {
            at,
            shaft,
            full_fan,
            share,
        })
    }

    /// What the fan draws at a share of its flow: with the cube of its speed.
    pub(super) fn fan(&self, fan_share: f64) -> Power {
        self.full_fan * (fan_share.powi(3) * self.share)
    }

    /// Package input on load.
    pub(super) fn loaded(&self, fan_share: f64) -> Power {
        self.shaft * self.share + self.fan(fan_share)
    }
}

/// The rated input at a share of the rated flow, from the part-load points.
fn part_load_power(machine: &Machine, part_load: &[(FreeAir, Power)], speed: f64) -> Answer<Power> {
    let points: Vec<(f64, f64)> = part_load.iter().map(|(q, p)| (q.si(), p.si())).collect();
    match (points.first(), points.last()) {
        (Some(first), Some(last)) if points.len() > 1 => {
            let watt =
                MonotoneCubic::through(&points)?.at((last.0 * speed).max(first.0).min(last.0))?;
            // The curve ends at the file's rated point; nudges of the rated power go along.
            Ok(Power::new(watt * machine.rated.power.value.si() / last.1))
        }
        _ => Ok(machine.rated.power.value * speed),
    }
}

/// Share of its running time that a machine is on load.
///
/// One that throttles or varies its speed delivers all the time, but for variable speed at a duty
/// below its lowest speed: it then loads and unloads at that speed.
pub(in crate::forward) fn time_on_load(machine: &Machine, running: &Running) -> f64 {
    match machine.control {
        Control::LoadUnload(_) | Control::StartStop(_) => running.duty,
        Control::Modulating(_) => 1.0,
        Control::VariableSpeed { .. } if running.speed > 0.0 => {
            (running.duty / running.speed).min(1.0)
        }
        Control::VariableSpeed { .. } => 1.0,
    }
}

/// Mean input of a running machine: loaded for its time on load, else unloaded or stopped.
pub(in crate::forward) fn mean_power(
    machine: &Machine,
    health: &MachineHealth,
    running: &Running,
    atmosphere: AbsolutePressure,
) -> Answer<Power> {
    let loaded = Work::of(machine, health, running, running.warms_at(), atmosphere)?.loaded(1.0);
    let share = time_on_load(machine, running);
    Ok(match machine.control {
        Control::StartStop(_) => loaded * share,
        _ => loaded * share + unloaded_power(machine, health) * (1.0 - share),
    })
}

/// Package input unloaded.
pub(super) fn unloaded_power(machine: &Machine, health: &MachineHealth) -> Power {
    machine.unloaded_power.value * health.unloaded_power
}

/// Free air that the machine delivers.
pub(super) fn delivered(
    machine: &Machine,
    health: &MachineHealth,
    running: &Running,
    rating: &Rating,
    intake_share: f64,
) -> Answer<FreeAir> {
    let flow_share = match machine.control {
        Control::Modulating(_) => running.duty.min(1.0),
        _ => running.speed,
    };
    free_air_delivered(Delivery {
        rated: rating.unthrottled,
        air_end: health.delivery,
        belt: health.belt,
        speed: flow_share,
        slip_per_pa: machine.slip_per_pa.value,
        rated_pressure: machine.rated.pressure,
        pressure: running.pressure,
        intake_share,
    })
}
