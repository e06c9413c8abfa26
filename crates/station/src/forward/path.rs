//! Down the air path: pressure, temperature, vapour and liquid at every place.
//!
//! Moisture is computed with the flow while loaded. Pressure drops and a dryer's load behind a
//! vessel follow the plant's demand: what was read, or duty times delivery.

use physics::air::{
    CP_WATER, Formulation, R_DRY_AIR, WaterClass, dry_air_mass_flow, enthalpy_moist_air, free_air,
    mass_of_reference_air, water_class_iso_8573_1_2010,
};
use physics::flow::pipe::{Pipe as PipeGeometry, pressure_drop};
use physics::quantity::{
    AbsolutePressure, FreeAir, GaugePressure, MassFlow, PressureDifference, Temperature,
    TemperatureDifference, ZERO_CELSIUS_K,
};
use physics::solve::bracketed_root;
use physics::validity::{Answer, Refusal};
use physics::vessel::cooling::receiver_ua_w_k;

use super::conditions::{Conditions, Intake};
use super::health::Health;
use super::machine::{MachineState, drop_at};
use super::{AtPlace, Expected};
use crate::air_path::{Path, Stage};
use crate::model::{Asset, Dryer, DryerKind, Station};

/// The expected state at a place's outlet, while loaded.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceState {
    /// Which place.
    pub asset: Asset,
    /// Pressure.
    pub pressure: GaugePressure,
    /// Drop over the place.
    pub drop: PressureDifference,
    /// Temperature of air and liquid.
    pub temperature: Temperature,
    /// Pressure dew point.
    pub dew_point: Temperature,
    /// Dry air while loaded.
    pub dry_air: MassFlow,
    /// The same as free air of the site.
    pub free_air: FreeAir,
    /// Vapour, kg/kg.
    pub humidity_ratio: f64,
    /// Liquid that goes on with the air, kg/kg.
    pub liquid: f64,
    /// Liquid that falls out here while loaded, kg/s.
    pub falls_kg_s: f64,
    /// Mean duty of the machines whose air comes here, weighted by air.
    pub duty: f64,
    /// ISO 8573-1:2010 class of water.
    pub water_class: WaterClass,
    /// Load of a refrigeration dryer over its capacity; `None` elsewhere.
    pub dryer_load: Option<f64>,
    /// Share of the liquid met that goes to a drain here.
    pub drained_kg_s: f64,
}

/// What the drains of one place owe together.
#[derive(Debug, Clone, PartialEq)]
pub struct Owed {
    /// The place.
    pub on: Asset,
    /// Its drains, by index; where there are several only the sum is known.
    pub drains: Vec<usize>,
    /// While loaded, kg/s.
    pub kg_s: f64,
    /// Mean duty of the air that brings it.
    pub duty: f64,
}

/// The station's water while loaded, kg/s: what comes in is what goes out.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Water {
    /// Taken in by all machines.
    pub taken_in: f64,
    /// Taken by drains.
    pub drained: f64,
    /// Leaving the end of the path as vapour.
    pub vapour_out: f64,
    /// Leaving the end of the path as liquid.
    pub liquid_out: f64,
    /// Lost with a desiccant dryer's purge.
    pub purged: f64,
}

pub(super) struct Walk {
    pub(super) places: Vec<PlaceState>,
    pub(super) owed: Vec<Owed>,
    pub(super) water: Water,
}

/// Air on its way.
#[derive(Debug, Clone, Copy)]
struct Stream {
    dry: f64,
    vapour: f64,
    liquid: f64,
    temperature: f64,
    gauge: f64,
    /// Flow times duty, kg/s.
    mean: f64,
}

impl Stream {
    const NONE: Self =
        Self { dry: 0.0, vapour: 0.0, liquid: 0.0, temperature: 293.15, gauge: 0.0, mean: 0.0 };

    fn enthalpy(&self) -> Answer<f64> {
        enthalpy_moist_air(Temperature::new(self.temperature), self.vapour, self.liquid)
    }
}

struct Walker<'a> {
    station: &'a Station,
    health: &'a Health,
    conditions: &'a Conditions,
    room: Temperature,
    machines: &'a [Option<MachineState>],
    behind_a_vessel: bool,
    walk: Walk,
}

pub(super) fn walk(
    station: &Station,
    health: &Health,
    conditions: &Conditions,
    room: Temperature,
    machines: &[Option<MachineState>],
) -> Expected<Walk> {
    let mut walker = Walker {
        station,
        health,
        conditions,
        room,
        machines,
        behind_a_vessel: false,
        walk: Walk { places: Vec::new(), owed: Vec::new(), water: Water::default() },
    };
    let end = walker.path(&station.air_path.stages, Stream::NONE, 1.0)?;
    walker.walk.water.vapour_out = end.dry * end.vapour;
    walker.walk.water.liquid_out = end.dry * end.liquid;
    Ok(walker.walk)
}

impl Walker<'_> {
    /// Follows one path; `share` is its part of the plant's demand.
    fn path(&mut self, path: &Path, mut air: Stream, share: f64) -> Expected<Stream> {
        for stage in path {
            air = match stage {
                Stage::One(asset) => self.place(*asset, air, share)?,
                Stage::SideBySide(branches) => self.side_by_side(branches, air, share)?,
            };
        }
        Ok(air)
    }

    fn side_by_side(&mut self, branches: &[Path], air: Stream, share: f64) -> Expected<Stream> {
        let count = branches.len().max(1) as f64;
        let divided = Stream { dry: air.dry / count, mean: air.mean / count, ..air };
        let before = self.behind_a_vessel;
        let mut joined: Option<Stream> = None;
        let mut behind = false;
        for branch in branches {
            self.behind_a_vessel = before;
            let out = self.path(branch, divided, share / count)?;
            behind |= self.behind_a_vessel;
            joined = Some(match joined {
                None => out,
                Some(sum) => self.join(sum, out).at(Asset::Site)?,
            });
        }
        self.behind_a_vessel = behind;
        Ok(joined.unwrap_or(air))
    }

    /// Two streams meet: masses and enthalpy add, what the air can't hold falls out.
    fn join(&self, a: Stream, b: Stream) -> Answer<Stream> {
        let dry = a.dry + b.dry;
        if a.dry <= 0.0 || b.dry <= 0.0 {
            return Ok(if a.dry > 0.0 { a } else { b });
        }
        let mix = |x: f64, y: f64| (x * a.dry + y * b.dry) / dry;
        let water = mix(a.vapour + a.liquid, b.vapour + b.liquid);
        let enthalpy = mix(a.enthalpy()?, b.enthalpy()?);
        let gauge = mix(a.gauge, b.gauge);
        let p = self.absolute(gauge);
        let (low, high) =
            (a.temperature.min(b.temperature) - 30.0, a.temperature.max(b.temperature) + 30.0);
        let temperature = bracketed_root("temperature of joined air", low, high, 1e-9, |t| {
            let vapour = held(water, t, p)?;
            Ok(enthalpy_moist_air(Temperature::new(t), vapour, water - vapour)? - enthalpy)
        })?;
        let vapour = held(water, temperature, p)?;
        Ok(Stream {
            dry,
            vapour,
            liquid: water - vapour,
            temperature,
            gauge,
            mean: a.mean + b.mean,
        })
    }

    fn absolute(&self, gauge: f64) -> AbsolutePressure {
        GaugePressure::new(gauge).absolute(self.conditions.atmosphere)
    }

    /// Dry air that sets pressure drops here: the demand behind a vessel, else the flow while
    /// loaded.
    fn flow_for_drops(&self, air: &Stream, share: f64) -> f64 {
        if !self.behind_a_vessel {
            return air.dry;
        }
        self.conditions
            .demand
            .map_or(air.mean, |demand| mass_of_reference_air(demand).si() * share)
    }

    fn place(&mut self, asset: Asset, air: Stream, share: f64) -> Expected<Stream> {
        if let Asset::Machine(i) = asset {
            return self.machine(i);
        }
        if air.dry <= 0.0 {
            // No machine on this branch runs: nothing flows, nothing can be said.
            return Ok(air);
        }
        let met = air.vapour + air.liquid;
        let flow = self.flow_for_drops(&air, share);
        let mut load = None;
        let mut out = match asset {
            Asset::Vessel(_) => self.vessel(asset, air).at(asset)?,
            Asset::Dryer(i) => {
                let (dried, dryer_load) = self.dryer(i, air, flow).at(asset)?;
                load = dryer_load;
                dried
            }
            Asset::Filter(i) => {
                let f = &self.station.filters[i];
                let share =
                    self.actual_share(&air, flow, f.rated_flow.value, f.rated_pressure).at(asset)?;
                let drop = drop_at(f.clean.value, self.health.filters[i], share);
                self.at_temperature(air, drop, air.temperature).at(asset)?
            }
            Asset::Pipe(i) => {
                let pipe = &self.station.pipes[i];
                let geometry = PipeGeometry {
                    length_m: pipe.length_m,
                    bore_m: pipe.bore_m,
                    roughness_m: pipe.roughness_m.value,
                };
                let p = self.absolute(air.gauge);
                let t = Temperature::new(air.temperature);
                let gas = MassFlow::new(flow * (1.0 + air.vapour));
                let drop = pressure_drop(&geometry, p, t, gas).at(asset)?;
                self.at_temperature(air, drop, air.temperature).at(asset)?
            }
            Asset::Header(i) => {
                let coldest = self.station.headers[i].coldest.map_or(f64::MIN, Temperature::si);
                let pipes = self.conditions.ambient.si().max(coldest);
                self.at_temperature(air, PressureDifference::new(0.0), pipes).at(asset)?
            }
            Asset::Site | Asset::Room | Asset::Machine(_) | Asset::Drain(_) => air,
        };
        // A desiccant dryer's purge takes its share of the air; liquid is counted in what is left.
        let purged = air.dry - out.dry;
        self.walk.water.purged += air.dry * met - out.dry * (out.vapour + out.liquid);
        let falls = if purged > 0.0 { 0.0 } else { (out.liquid - air.liquid).max(0.0) * out.dry };
        if matches!(asset, Asset::Vessel(_)) {
            self.behind_a_vessel = true;
        }
        // What a refrigeration dryer takes to its drain was counted as liquid at its dew point.
        let drained = self.drain(asset, &mut out, self.separates(asset));
        if let Asset::Dryer(i) = asset {
            out = self.reheat(i, &air, out).at(asset)?;
        }
        self.record(asset, &out, &air, falls, drained, load).at(asset)?;
        Ok(out)
    }

    fn machine(&mut self, i: usize) -> Expected<Stream> {
        let here = Asset::Machine(i);
        let Some(m) = &self.machines[i] else { return Ok(Stream::NONE) };
        let running = &self.conditions.machines[i];
        self.walk.water.taken_in += m.dry_air.si() * m.humidity_ratio;
        let duty = match self.station.machines[i].control {
            // These deliver their flow all the time that they run.
            crate::model::Control::Modulating(_)
            | crate::model::Control::VariableSpeed { .. } => 1.0,
            _ => running.duty,
        };
        let mut out = Stream {
            dry: m.dry_air.si(),
            vapour: m.outlet_humidity_ratio,
            liquid: m.liquid,
            temperature: m.outlet.si(),
            gauge: running.pressure.si(),
            mean: m.dry_air.si() * duty,
        };
        let falls = m.liquid * out.dry;
        let before = Stream { gauge: out.gauge, ..Stream::NONE };
        let drained = self.drain(here, &mut out, self.separates(here));
        self.record(here, &out, &before, falls, drained, None).at(here)?;
        Ok(out)
    }

    fn separates(&self, asset: Asset) -> f64 {
        match asset {
            Asset::Machine(i) => self.station.machines[i].cooling.separates.value,
            Asset::Vessel(i) => self.station.vessels[i].separates.value,
            Asset::Filter(i) => self.station.filters[i].separates.value,
            // A dryer's rated dew point already holds what its separator lets through.
            Asset::Dryer(_) => 1.0,
            _ => 1.0,
        }
    }

    /// Takes the liquid to the drain, if one is fitted; returns what it takes, kg/s.
    fn drain(&mut self, asset: Asset, out: &mut Stream, share: f64) -> f64 {
        let drains: Vec<usize> = self.station.drains_of(asset).collect();
        if drains.is_empty() || out.dry <= 0.0 {
            return 0.0;
        }
        let taken = out.liquid * share;
        out.liquid -= taken;
        let kg_s = taken * out.dry;
        self.walk.water.drained += kg_s;
        self.walk.owed.push(Owed { on: asset, drains, kg_s, duty: out.mean / out.dry });
        kg_s
    }

    fn record(
        &mut self,
        asset: Asset,
        out: &Stream,
        before: &Stream,
        falls_kg_s: f64,
        drained_kg_s: f64,
        dryer_load: Option<f64>,
    ) -> Answer<()> {
        let p = self.absolute(out.gauge);
        let t = Temperature::new(out.temperature);
        let dew_point = Formulation::REAL.dew_point(out.vapour, p)?;
        let dew_point = if out.liquid > 0.0 { t } else { dew_point };
        let intake = Intake::of(self.conditions)?;
        let dry_air = MassFlow::new(out.dry);
        let litre = out.liquid * p.si() / (R_DRY_AIR * out.temperature) * 1000.0;
        self.walk.places.push(PlaceState {
            asset,
            pressure: GaugePressure::new(out.gauge),
            drop: PressureDifference::new(before.gauge - out.gauge),
            temperature: t,
            dew_point,
            dry_air,
            free_air: free_air(
                dry_air,
                self.conditions.ambient,
                intake.humidity_ratio,
                self.conditions.atmosphere,
            )?,
            humidity_ratio: out.vapour,
            liquid: out.liquid,
            falls_kg_s,
            duty: if out.dry > 0.0 { out.mean / out.dry } else { 0.0 },
            water_class: water_class_iso_8573_1_2010(
                (out.liquid <= 0.0).then_some(dew_point),
                litre,
            )?,
            dryer_load,
            drained_kg_s,
        });
        Ok(())
    }

    /// Actual flow over rated actual flow.
    fn actual_share(
        &self,
        air: &Stream,
        flow: f64,
        rated: FreeAir,
        rated_pressure: GaugePressure,
    ) -> Answer<f64> {
        let reference = AbsolutePressure::from_bar(1.0);
        let twenty = Temperature::from_celsius(20.0);
        let rated_mass = dry_air_mass_flow(rated, twenty, 0.0, reference)?;
        let actual = flow * air.temperature / self.absolute(air.gauge).si();
        let at_rating = rated_mass.si() * twenty.si() / rated_pressure.absolute(reference).si();
        Ok(actual / at_rating)
    }

    /// The same air at another pressure and temperature: water falls out or goes back into the air.
    fn at_temperature(
        &self,
        air: Stream,
        drop: PressureDifference,
        temperature: f64,
    ) -> Answer<Stream> {
        let gauge = air.gauge - drop.si();
        let p = self.absolute(gauge);
        if !(gauge > 0.0) {
            return Err(Refusal::Contradiction {
                must: "pressure is left behind the place; the flow is too large for it",
                first: air.gauge,
                second: drop.si(),
            });
        }
        let water = air.vapour + air.liquid;
        let vapour = held(water, temperature, p)?;
        Ok(Stream { vapour, liquid: water - vapour, temperature, gauge, ..air })
    }

    /// A vessel gives heat to the room through its wall: ṁ (h_in − h_out) = UA (T − T_room), the
    /// air inside mixed, saturated air counted with its latent heat.
    fn vessel(&self, asset: Asset, air: Stream) -> Answer<Stream> {
        let Asset::Vessel(i) = asset else { return Ok(air) };
        let vessel = &self.station.vessels[i];
        let ua = receiver_ua_w_k(vessel.u_w_m2k.value, vessel.volume_m3)?;
        let p = self.absolute(air.gauge);
        let water = air.vapour + air.liquid;
        let enthalpy = air.enthalpy()?;
        let room = self.room.si();
        let (low, high) = (room.min(air.temperature), room.max(air.temperature));
        if high - low < 1.0e-9 {
            return self.at_temperature(air, PressureDifference::new(0.0), air.temperature);
        }
        let t = bracketed_root("temperature in the vessel", low, high, 1e-9, |t| {
            let vapour = held(water, t, p)?;
            let h = enthalpy_moist_air(Temperature::new(t), vapour, water - vapour)?;
            Ok(air.dry * (enthalpy - h) - ua * (t - room))
        })?;
        self.at_temperature(air, PressureDifference::new(0.0), t)
    }

    fn dryer(&self, i: usize, air: Stream, flow: f64) -> Answer<(Stream, Option<f64>)> {
        let dryer = &self.station.dryers[i];
        let share = self.actual_share(&air, flow, dryer.rated_flow.value, dryer.rated_pressure)?;
        let drop = drop_at(dryer.drop.value, 1.0, share);
        let gauge = air.gauge - drop.si();
        let p = self.absolute(gauge);
        let water = air.vapour + air.liquid;
        let set = dryer.dew_point.value.si();
        match dryer.kind {
            DryerKind::Refrigeration { derate_per_k, .. } => {
                let capacity = rated_heat(dryer)?
                    * self.health.dryers[i]
                    * (1.0 - derate_per_k.value * (self.room - dryer.rated_ambient).si()).max(0.05);
                let needs = |dew: f64| dryer_heat(dryer, &air, flow, dew, p);
                let at_set = needs(set)?;
                let warmest = air.temperature.max(set + 0.01);
                let dew = if at_set <= capacity {
                    set
                } else if needs(warmest)? >= capacity {
                    warmest
                } else {
                    bracketed_root("dew point behind the dryer", set, warmest, 1e-8, |dew| {
                        Ok(needs(dew)? - capacity)
                    })?
                };
                let vapour = held(water, dew, p)?;
                let cold = Stream { vapour, liquid: water - vapour, temperature: dew, gauge, ..air };
                Ok((cold, Some(at_set / capacity)))
            }
            DryerKind::Desiccant { purge } => {
                // Vapour is held by the bed and leaves with the purge; liquid too, as far as the
                // bed stands it.
                let vapour = held(water, set, p)?;
                let left = 1.0 - purge;
                Ok((
                    Stream {
                        dry: air.dry * left,
                        mean: air.mean * left,
                        vapour,
                        liquid: 0.0,
                        gauge,
                        ..air
                    },
                    None,
                ))
            }
        }
    }

    /// The air leaves a refrigeration dryer warmed by the air that enters it.
    fn reheat(&self, i: usize, inlet: &Stream, cold: Stream) -> Answer<Stream> {
        match self.station.dryers[i].kind {
            DryerKind::Refrigeration { reheat, .. } => {
                let t = outlet_temperature(inlet.temperature, reheat.value, cold.temperature);
                self.at_temperature(cold, PressureDifference::new(0.0), t)
            }
            DryerKind::Desiccant { .. } => Ok(cold),
        }
    }
}

/// Vapour that air with so much water holds at this temperature and pressure, kg/kg.
fn held(water: f64, t: f64, p: AbsolutePressure) -> Answer<f64> {
    match Formulation::REAL.saturated_humidity_ratio(Temperature::new(t), p) {
        Ok(saturated) => Ok(water.min(saturated)),
        // Too hot to be saturated at this pressure.
        Err(_) if t > 350.0 => Ok(water),
        Err(refusal) => Err(refusal),
    }
}

fn outlet_temperature(inlet: f64, reheat: TemperatureDifference, dew: f64) -> f64 {
    (inlet - reheat.si()).max(dew)
}

/// Heat that a refrigeration dryer takes out to reach a dew point, W.
///
/// Q = ṁ [h_in − h_out] − ṁ (water that leaves as liquid) c_w t_dew, the outlet already warmed by
/// the inlet, so that the sensible part is small and the water the larger.
fn dryer_heat(dryer: &Dryer, air: &Stream, flow: f64, dew: f64, p: AbsolutePressure) -> Answer<f64> {
    let DryerKind::Refrigeration { reheat, .. } = dryer.kind else { return Ok(0.0) };
    let water = air.vapour + air.liquid;
    let vapour = held(water, dew, p)?;
    let out = outlet_temperature(air.temperature, reheat.value, dew);
    let h_out = enthalpy_moist_air(Temperature::new(out), vapour, 0.0)?;
    let liquid = (water - vapour) * CP_WATER * (dew - ZERO_CELSIUS_K);
    Ok(flow * (air.enthalpy()? - h_out - liquid))
}

/// The same at the dryer's rated point: its capacity, W.
fn rated_heat(dryer: &Dryer) -> Answer<f64> {
    let atmosphere = AbsolutePressure::from_bar(1.0);
    let p = dryer.rated_pressure.absolute(atmosphere);
    let twenty = Temperature::from_celsius(20.0);
    let flow = dry_air_mass_flow(dryer.rated_flow.value, twenty, 0.0, atmosphere)?.si();
    let vapour = Formulation::REAL.saturated_humidity_ratio(dryer.rated_inlet, p)?;
    let inlet = Stream {
        dry: flow,
        vapour,
        liquid: 0.0,
        temperature: dryer.rated_inlet.si(),
        gauge: dryer.rated_pressure.si(),
        mean: flow,
    };
    dryer_heat(dryer, &inlet, flow, dryer.dew_point.value.si(), p)
}
