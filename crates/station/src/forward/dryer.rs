//! Dryers: how dry the air leaves, and how much of its capacity a refrigeration dryer spends.
//!
//! A refrigeration dryer holds its dew point as long as the heat to be taken out stays below its
//! capacity; above, the dew point rises to what the capacity allows, and the capacity with it: with
//! a fixed one an overloaded dryer would leave air at 30 °C and more where 15 to 20 °C are met. A
//! desiccant dryer holds its
//! dew point and spends a share of the air.
//!
//! Must not know: the order of places, drains.

use physics::air::{CP_WATER, Formulation, dry_air_mass_flow, enthalpy_moist_air};
use physics::quantity::{AbsolutePressure, Temperature, TemperatureDifference, ZERO_CELSIUS_K};
use physics::solve::bracketed_root;
use physics::validity::Answer;

use super::machine::drop_at;
use super::moisture::held;
use super::path::{Stream, Walker};
use crate::model::{Dryer, DryerKind};

/// However hot the room, this share of the rated capacity is left (from memory).
const LEAST_CAPACITY: f64 = 0.05;
/// A refrigerating circuit moves more heat the warmer it evaporates: share of its capacity per kelvin
/// of dew point over the rated one (from memory).
const GAIN_PER_K: f64 = 0.03;
/// A capacity of nothing still makes a finite load, W.
const NO_CAPACITY_W: f64 = 1.0e-3;

impl Walker<'_> {
    /// The air as it leaves the cold side or the bed, and the load over the capacity; `flow` is
    /// what passes on average, kg/s of dry air.
    pub(super) fn dryer(&self, i: usize, air: Stream, flow: f64) -> Answer<(Stream, Option<f64>)> {
        let dryer = &self.station.dryers[i];
        let share = self.actual_share(&air, flow, dryer.rated_flow.value, dryer.rated_pressure)?;
        let gauge = air.gauge_behind(drop_at(dryer.drop.value, 1.0, share))?;
        let p = self.absolute(gauge);
        let water = air.vapour + air.liquid;
        let set = dryer.dew_point.value.si();
        match dryer.kind {
            DryerKind::Refrigeration { derate_per_k, .. } => {
                let hotter = (self.room - dryer.rated_ambient).si();
                let capacity = (rated_heat(dryer)?
                    * self.health.dryers[i]
                    * (1.0 - derate_per_k.value * hotter).max(LEAST_CAPACITY))
                .max(NO_CAPACITY_W);
                let needs = |dew: f64| heat(dryer, &air, flow, dew, p);
                let offers = |dew: f64| capacity * (1.0 + GAIN_PER_K * (dew - set));
                let at_set = needs(set)?;
                let warmest = air.temperature.max(set + 0.01);
                let dew = if at_set <= capacity {
                    set
                } else if needs(warmest)? >= offers(warmest) {
                    warmest
                } else {
                    bracketed_root("dew point behind the dryer", set, warmest, 1e-8, |dew| {
                        Ok(needs(dew)? - offers(dew))
                    })?
                };
                // It cools and never warms.
                let temperature = dew.min(air.temperature);
                let vapour = held(water, temperature, p)?;
                let cold = Stream {
                    vapour,
                    liquid: water - vapour,
                    temperature,
                    gauge,
                    ..air
                };
                Ok((cold, Some(at_set.max(0.0) / capacity)))
            }
            DryerKind::Desiccant { purge } => {
                // Vapour is held by the bed and leaves with the purge; liquid too, as far as the
                // bed stands it.
                let left = 1.0 - purge;
                let dried = Stream {
                    dry: air.dry * left,
                    mean: air.mean * left,
                    vapour: held(water, set, p)?,
                    liquid: 0.0,
                    gauge,
                    ..air
                };
                Ok((dried, None))
            }
        }
    }

    /// The air leaves a refrigeration dryer warmed by the air that enters it.
    pub(super) fn reheat(&self, i: usize, inlet: &Stream, cold: Stream) -> Answer<Stream> {
        match self.station.dryers[i].kind {
            DryerKind::Refrigeration { reheat, .. } => {
                let t = outlet_temperature(inlet.temperature, reheat.value, cold.temperature);
                self.at_temperature(cold, cold.gauge, t)
            }
            DryerKind::Desiccant { .. } => Ok(cold),
        }
    }
}

fn outlet_temperature(inlet: f64, reheat: TemperatureDifference, cold: f64) -> f64 {
    (inlet - reheat.si()).max(cold)
}

/// Heat that a refrigeration dryer takes out to reach a dew point, W.
///
/// Q = ṁ [h_in − h_out] − ṁ (water that leaves as liquid) c_w t_dew, the outlet already warmed by
/// the inlet, so that the sensible part is small and the water the larger.
fn heat(dryer: &Dryer, air: &Stream, flow: f64, dew: f64, p: AbsolutePressure) -> Answer<f64> {
    let DryerKind::Refrigeration { reheat, .. } = dryer.kind else {
        return Ok(0.0);
    };
    let water = air.vapour + air.liquid;
    let cold = dew.min(air.temperature);
    let vapour = held(water, cold, p)?;
    let out = outlet_temperature(air.temperature, reheat.value, cold);
    let h_out = enthalpy_moist_air(Temperature::new(out), vapour, 0.0)?;
    let liquid = (water - vapour) * CP_WATER * (cold - ZERO_CELSIUS_K);
    Ok(flow * (air.enthalpy()? - h_out - liquid))
}

/// The same at the dryer's rated point: its capacity, W.
fn rated_heat(dryer: &Dryer) -> Answer<f64> {
    let atmosphere = AbsolutePressure::from_bar(1.0);
    let p = dryer.rated_pressure.absolute(atmosphere);
    let twenty = Temperature::from_celsius(20.0);
    let flow = dry_air_mass_flow(dryer.rated_flow.value, twenty, 0.0, atmosphere)?.si();
    let inlet = Stream {
        dry: flow,
        vapour: Formulation::REAL.saturated_humidity_ratio(dryer.rated_inlet, p)?,
        liquid: 0.0,
        temperature: dryer.rated_inlet.si(),
        gauge: dryer.rated_pressure.si(),
        mean: flow,
    };
    heat(dryer, &inlet, flow, dryer.dew_point.value.si(), p)
}
