//! Down the air path: pressure, temperature, vapour and liquid at every place.
//!
//! Moisture is computed with the flow while loaded. Pressure drops and a dryer's load behind a
//! vessel follow the plant's demand: what was read, or duty times delivery.

use physics::air::{
    REFERENCE_DENSITY, WaterClass, dry_air_mass_flow, enthalpy_moist_air, free_air,
    mass_of_reference_air, water_class_iso_8573_1_2010,
};
use physics::flow::pipe::{Pipe as PipeGeometry, pressure_drop};
use physics::quantity::{
    AbsolutePressure, FreeAir, GaugePressure, MassFlow, PressureDifference, Temperature,
};
use physics::solve::bracketed_root;
use physics::validity::{Answer, Refusal};
use physics::vessel::cooling::receiver_ua_w_k;

use super::conditions::{Conditions, Intake};
use super::health::Health;
use super::machine::{MachineState, drop_at, time_on_load};
use super::moisture::{dew_point, held};
use super::{AtPlace, Expected};
use crate::air_path::{Path, Stage};
use crate::model::{Asset, DryerKind, Station};

/// The model knows liquid water down to here, K.
const COLDEST_LIQUID: f64 = 233.16;
/// A dew point that is held is met to within this, K: it must not fall into the next class.
const HAIR_K: f64 = 1.0e-6;

/// The expected state at a place's outlet, while loaded.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceState {
    /// Which place.
    pub asset: Asset,
    /// Pressure.
    pub pressure: GaugePressure,
    /// Drop over the place.
    pub drop: PressureDifference,
    /// Temperature of the air that comes in.
    pub inlet_temperature: Temperature,
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
pub(super) struct Stream {
    /// Dry air while loaded, kg/s.
    pub(super) dry: f64,
    /// Vapour, kg/kg.
    pub(super) vapour: f64,
    /// Liquid, kg/kg.
    pub(super) liquid: f64,
    /// Temperature, K.
    pub(super) temperature: f64,
    /// Pressure, Pa above atmosphere.
    pub(super) gauge: f64,
    /// Flow times duty, kg/s.
    pub(super) mean: f64,
}

impl Stream {
    const NONE: Self = Self {
        dry: 0.0,
        vapour: 0.0,
        liquid: 0.0,
        temperature: 293.15,
        gauge: 0.0,
        mean: 0.0,
    };

    /// J per kg of dry air.
    pub(super) fn enthalpy(&self) -> Answer<f64> {
        enthalpy_moist_air(Temperature::new(self.temperature), self.vapour, self.liquid)
    }

    /// What is left of the pressure behind a drop.
    pub(super) fn gauge_behind(&self, drop: PressureDifference) -> Answer<f64> {
        let gauge = self.gauge - drop.si();
        if gauge > 0.0 {
            Ok(gauge)
        } else {
            Err(Refusal::Contradiction {
                must: "pressure is left behind the place; the flow is too large for it",
                first: self.gauge,
                second: drop.si(),
            })
        }
    }
}

pub(super) struct Walker<'a> {
    pub(super) station: &'a Station,
    pub(super) health: &'a Health,
    pub(super) conditions: &'a Conditions,
    pub(super) room: Temperature,
    machines: &'a [Option<MachineState>],
    /// Free air of the site that carries one kilogram of dry air a second.
    free_air_of_a_kg: FreeAir,
    behind_a_vessel: bool,
    walk: Walk,
}

pub(super) fn walk(
    station: &Station,
    health: &Health,
    conditions: &Conditions,
    (room, intake): (Temperature, &Intake),
    machines: &[Option<MachineState>],
) -> Expected<Walk> {
    let free_air_of_a_kg = free_air(
        MassFlow::new(1.0),
        conditions.ambient,
        intake.humidity_ratio,
        conditions.atmosphere,
    )
    .at(Asset::Site)?;
    let mut walker = Walker {
        station,
        health,
        conditions,
        room,
        machines,
        free_air_of_a_kg,
        behind_a_vessel: false,
        walk: Walk {
            places: Vec::new(),
            owed: Vec::new(),
            water: Water::default(),
        },
    };
    let stages = &station.air_path.stages;
    // What the plant takes is what is left of the air behind the last purge.
    let share = 1.0 / walker.passes(stages).max(1.0e-3);
    let end = walker.path(stages, Stream::NONE, share)?;
    walker.walk.water.vapour_out = end.dry * end.vapour;
    walker.walk.water.liquid_out = end.dry * end.liquid;
    Ok(walker.walk)
}

impl Walker<'_> {
    /// Follows one path; `share` is the air that enters it over what the plant takes.
    fn path(&mut self, path: &Path, mut air: Stream, mut share: f64) -> Expected<Stream> {
        for stage in path {
            air = match stage {
                Stage::One(asset) => self.place(*asset, air, share)?,
                Stage::SideBySide(branches) => self.side_by_side(branches, air, share)?,
            };
            share *= self.passes_stage(stage);
        }
        Ok(air)
    }

    /// Share of the air that comes through a path: the rest is spent as purge.
    fn passes(&self, path: &Path) -> f64 {
        path.iter().map(|stage| self.passes_stage(stage)).product()
    }

    fn passes_stage(&self, stage: &Stage) -> f64 {
        match stage {
            Stage::One(Asset::Dryer(i)) => match self.station.dryers[*i].kind {
                DryerKind::Desiccant { purge } => 1.0 - purge,
                DryerKind::Refrigeration { .. } => 1.0,
            },
            Stage::One(_) => 1.0,
            Stage::SideBySide(branches) => {
                let weights = self.weights(branches);
                branches
                    .iter()
                    .zip(weights)
                    .map(|(branch, w)| w * self.passes(branch))
                    .sum()
            }
        }
    }

    /// How the air divides: by what their machines deliver on average, else evenly.
    fn weights(&self, branches: &[Path]) -> Vec<f64> {
        let delivered: Vec<f64> = branches.iter().map(|b| self.delivered(b)).collect();
        let sum: f64 = delivered.iter().sum();
        if sum > 0.0 {
            delivered.iter().map(|d| d / sum).collect()
        } else {
            vec![1.0 / branches.len().max(1) as f64; branches.len()]
        }
    }

    /// What the machines of a path deliver on average, kg/s of dry air.
    fn delivered(&self, path: &Path) -> f64 {
        path.iter()
            .map(|stage| match stage {
                Stage::One(Asset::Machine(i)) => self.mean_flow(*i),
                Stage::One(_) => 0.0,
                Stage::SideBySide(branches) => branches.iter().map(|b| self.delivered(b)).sum(),
            })
            .sum()
    }

    fn mean_flow(&self, i: usize) -> f64 {
        let time = time_on_load(&self.station.machines[i], &self.conditions.machines[i]);
        self.machines[i]
            .as_ref()
            .map_or(0.0, |m| m.dry_air.si() * time)
    }

    fn side_by_side(&mut self, branches: &[Path], air: Stream, share: f64) -> Expected<Stream> {
        let before = self.behind_a_vessel;
        let mut joined: Option<Stream> = None;
        let mut behind = before;
        for (branch, weight) in branches.iter().zip(self.weights(branches)) {
            self.behind_a_vessel = before;
            let part = Stream {
                dry: air.dry * weight,
                mean: air.mean * weight,
                ..air
            };
            let out = self.path(branch, part, share * weight)?;
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
        let coldest = a.temperature.min(b.temperature);
        let low = (coldest - 60.0).max(COLDEST_LIQUID.min(coldest));
        let high = a.temperature.max(b.temperature) + 30.0;
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

    pub(super) fn absolute(&self, gauge: f64) -> AbsolutePressure {
        GaugePressure::new(gauge).absolute(self.conditions.atmosphere)
    }

    /// Dry air that sets pressure drops here: the demand behind a vessel, else the flow while
    /// loaded.
    fn flow_for_drops(&self, air: &Stream, share: f64) -> f64 {
        if !self.behind_a_vessel {
            return air.dry;
        }
        self.conditions.demand.map_or(air.mean, |demand| {
            mass_of_reference_air(demand).si() * share
        })
    }

    fn place(&mut self, asset: Asset, air: Stream, share: f64) -> Expected<Stream> {
        if let Asset::Machine(i) = asset {
            return self.machine(i);
        }
        // A vessel whose machine stands still is storage all the same.
        self.behind_a_vessel |= matches!(asset, Asset::Vessel(_)) && air.dry <= 0.0;
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
                let share = self
                    .actual_share(&air, flow, f.rated_flow.value, f.rated_pressure)
                    .at(asset)?;
                let drop = drop_at(f.clean.value, self.health.filters[i], share);
                let gauge = air.gauge_behind(drop).at(asset)?;
                self.at_temperature(air, gauge, air.temperature).at(asset)?
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
                let drop = pressure_drop(geometry, p, t, gas).at(asset)?;
                let gauge = air.gauge_behind(drop).at(asset)?;
                self.at_temperature(air, gauge, air.temperature).at(asset)?
            }
            Asset::Header(i) => {
                // Where it is not told how cold the pipes get, nothing is claimed of them.
                let pipes = self.station.headers[i]
                    .coldest
                    .map_or(air.temperature, |coldest| {
                        coldest.si().max(self.conditions.ambient.si())
                    });
                self.at_temperature(air, air.gauge, pipes).at(asset)?
            }
            Asset::Site | Asset::Room | Asset::Machine(_) | Asset::Drain(_) => air,
        };
        // A desiccant dryer's purge takes its share of the air; liquid is counted in what is left.
        let purged = air.dry - out.dry;
        self.walk.water.purged += air.dry * met - out.dry * (out.vapour + out.liquid);
        let falls = if purged > 0.0 {
            0.0
        } else {
            (out.liquid - air.liquid).max(0.0) * out.dry
        };
        if matches!(asset, Asset::Vessel(_)) {
            self.behind_a_vessel = true;
        }
        // What a refrigeration dryer takes to its drain was counted as liquid at its dew point.
        let drained = self.drain(asset, &mut out, self.separates(asset));
        if let Asset::Dryer(i) = asset {
            out = self.reheat(i, &air, out).at(asset)?;
        }
        self.record(asset, &out, &air, falls, drained, load)
            .at(asset)?;
        Ok(out)
    }

    fn machine(&mut self, i: usize) -> Expected<Stream> {
        let here = Asset::Machine(i);
        let Some(m) = &self.machines[i] else {
            return Ok(Stream::NONE);
        };
        let running = &self.conditions.machines[i];
        self.walk.water.taken_in += m.dry_air.si() * m.humidity_ratio;
        let mut out = Stream {
            dry: m.dry_air.si(),
            vapour: m.outlet_humidity_ratio,
            liquid: m.liquid,
            temperature: m.outlet.si(),
            gauge: running.pressure.si(),
            mean: self.mean_flow(i),
        };
        let falls = m.liquid * out.dry;
        let before = Stream {
            gauge: out.gauge,
            temperature: self.room.si(),
            ..Stream::NONE
        };
        let drained = self.drain(here, &mut out, self.separates(here));
        self.record(here, &out, &before, falls, drained, None)
            .at(here)?;
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
        if !self.station.is_drained(asset) || out.dry <= 0.0 {
            return 0.0;
        }
        let taken = out.liquid * share.clamp(0.0, 1.0);
        out.liquid -= taken;
        let kg_s = taken * out.dry;
        self.walk.water.drained += kg_s;
        // A dryer's own drain that is not described has no name to owe by.
        let drains: Vec<usize> = self.station.drains_of(asset).collect();
        if !drains.is_empty() {
            self.walk.owed.push(Owed {
                on: asset,
                drains,
                kg_s,
                duty: out.mean / out.dry,
            });
        }
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
        let dew_point = if out.liquid > 0.0 {
            t
        } else {
            dew_point(out.vapour, p)?
        };
        let dry_air = MassFlow::new(out.dry);
        let liquid_g_per_m3 = out.liquid * REFERENCE_DENSITY * 1.0e3;
        self.walk.places.push(PlaceState {
            asset,
            pressure: GaugePressure::new(out.gauge),
            drop: PressureDifference::new(before.gauge - out.gauge),
            inlet_temperature: Temperature::new(before.temperature),
            temperature: t,
            dew_point,
            dry_air,
            free_air: self.free_air_of_a_kg * out.dry,
            humidity_ratio: out.vapour,
            liquid: out.liquid,
            falls_kg_s,
            duty: if out.dry > 0.0 {
                out.mean / out.dry
            } else {
                0.0
            },
            water_class: water_class_iso_8573_1_2010(
                (out.liquid <= 0.0).then_some(Temperature::new(dew_point.si() - HAIR_K)),
                liquid_g_per_m3,
            )?,
            dryer_load,
            drained_kg_s,
        });
        Ok(())
    }

    /// Actual flow over rated actual flow.
    pub(super) fn actual_share(
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
    pub(super) fn at_temperature(
        &self,
        air: Stream,
        gauge: f64,
        temperature: f64,
    ) -> Answer<Stream> {
        let water = air.vapour + air.liquid;
        let vapour = held(water, temperature, self.absolute(gauge))?;
        Ok(Stream {
            vapour,
            liquid: water - vapour,
            temperature,
            gauge,
            ..air
        })
    }

    /// A vessel gives heat to the room through its wall: ṁ (h_in − h_out) = UA (T − T_room), the
    /// air inside mixed, saturated air counted with its latent heat. Its wall cools all the time and
    /// it evens out minutes, so that ṁ is the mean flow.
    fn vessel(&self, asset: Asset, air: Stream) -> Answer<Stream> {
        let Asset::Vessel(i) = asset else {
            return Ok(air);
        };
        let vessel = &self.station.vessels[i];
        let ua = receiver_ua_w_k(vessel.u_w_m2k.value, vessel.volume_m3)?;
        let p = self.absolute(air.gauge);
        let water = air.vapour + air.liquid;
        let enthalpy = air.enthalpy()?;
        let room = self.room.si();
        // Liquid that comes in with air that isn't saturated may cool it by evaporating.
        let coldest = room.min(air.temperature);
        let low = (coldest - 60.0).max(COLDEST_LIQUID.min(coldest));
        let high = room.max(air.temperature) + 1.0;
        let t = bracketed_root("temperature in the vessel", low, high, 1e-9, |t| {
            let vapour = held(water, t, p)?;
            let h = enthalpy_moist_air(Temperature::new(t), vapour, water - vapour)?;
            Ok(air.mean * (enthalpy - h) - ua * (t - room))
        })?;
        self.at_temperature(air, air.gauge, t)
    }
}
