//! The rated point turned into what the model needs: conductance, transfer units, displacement.
//!
//! Must not know: the day, health.

use physics::air::{Formulation, R_DRY_AIR, dry_air_mass_flow, enthalpy_moist_air};
use physics::heat::aftercooler::{HotAir, transfer_units_at};
use physics::heat::cooler::rated_conductance;
use physics::machine::package::{SURFACE_SHARE, oil_heat, surface_heat};
use physics::quantity::{AbsolutePressure, FreeAir, MassFlow, Power, Temperature};
use physics::validity::Answer;

use super::power::rated_compression;
use crate::model::{Drive, Machine, MachineKind};

/// ISO 1217 reference inlet: 1 bar(a).
pub(super) const RATED_ATMOSPHERE: AbsolutePressure = AbsolutePressure::from_bar(1.0);

/// Drive loss as a share of shaft power (common practice, no source).
fn drive_loss(machine: &Machine) -> f64 {
    match machine.drive {
        Drive::Belt => 0.04,
        Drive::Gear => 0.02,
        Drive::Direct => 0.0,
    }
}

/// Share of the input that leaves by motor, drive, fan and casing.
pub(in crate::forward) fn surface_share(machine: &Machine) -> f64 {
    machine.motor.efficiency.map_or(SURFACE_SHARE, |eta| {
        let fan = machine.fan_power.value / machine.rated.power.value;
        fan + (1.0 - fan) * (1.0 - eta * (1.0 - drive_loss(machine)))
    })
}

/// Heat that leaves by motor, drive, fan and casing.
pub(super) fn surface(machine: &Machine, power: Power, fan: Power, slip: f64) -> Answer<Power> {
    surface_heat(
        power,
        fan,
        machine.motor.efficiency,
        drive_loss(machine),
        slip,
    )
}

/// Density that the cooling air is compared by, kg/m³.
pub(super) fn cooling_density(cool: Temperature, atmosphere: AbsolutePressure) -> f64 {
    atmosphere.si() / (R_DRY_AIR * cool.si())
}

/// The rated point turned into what the model needs.
pub(super) struct Rating {
    /// Rated free air with nothing lost in the intake filter: the rated one has its clean drop.
    pub(super) unthrottled: FreeAir,
    /// Dry air delivered.
    pub(super) dry_air: MassFlow,
    /// Of the cooling air, kg/m³.
    pub(super) density: f64,
    /// Conductance of the clean oil cooler, W/K.
    pub(super) conductance_w_k: f64,
    /// Transfer units of the clean aftercooler.
    pub(super) transfer_units: f64,
}

impl Rating {
    pub(super) fn of(machine: &Machine) -> Answer<Self> {
        let cool = machine.cooling.rated_ambient;
        let w = Formulation::REAL.humidity_ratio(cool, machine.rated.humidity, RATED_ATMOSPHERE)?;
        let fad = machine.rated.fad.value;
        let dry_air = dry_air_mass_flow(fad, cool, w, RATED_ATMOSPHERE)?;
        let intake_share = rated_compression(machine, 1.0)?.intake / RATED_ATMOSPHERE;
        let bare = Self {
            unthrottled: fad / intake_share,
            dry_air,
            density: cooling_density(cool, RATED_ATMOSPHERE),
            conductance_w_k: 0.0,
            transfer_units: 0.0,
        };
        if machine.kind == MachineKind::Other {
            return Ok(bare);
        }
        let approach = machine.cooling.oil_approach.value;
        let hot = cool + approach;
        let power = machine.rated.power.value;
        let heat = oil_heat(
            power,
            surface(machine, power, machine.fan_power.value, 0.0)?,
            dry_air,
            enthalpy_moist_air(cool, w, 0.0)?,
            enthalpy_moist_air(hot, w, 0.0)?,
        )?;
        let pressure = machine.rated.pressure.absolute(RATED_ATMOSPHERE);
        let transfer_units = transfer_units_at(
            HotAir {
                temperature: hot,
                humidity_ratio: w,
                pressure,
            },
            cool,
            machine.cooling.air_approach.value,
            machine.cooling.hot_side_share.value,
        )?;
        Ok(Self {
            conductance_w_k: rated_conductance(heat, approach)?,
            transfer_units,
            ..bare
        })
    }
}
