//! One machine with each of its cooling parts worse, at one round.
//!
//! Must not know: what was read.

use physics::quantity::{Temperature, TemperatureDifference};
use station::forward::{
    Conditions, Intake, MachineHealth, MachineState, OilState, machine_state, oil_state,
};
use station::model::{Fan, Station};
use station::point::Point;

use super::{HALF, PROBE, SEPARATOR_STEP, TWENTIETH};
use crate::history::own::{Bend, NODES};

/// One machine with each of its parts worse.
#[derive(Default)]
pub(super) struct Worse {
    pub(super) air: Option<MachineState>,
    pub(super) air_by_half: Option<MachineState>,
    pub(super) aftercooler: Option<MachineState>,
    pub(super) thermostat: Option<MachineState>,
    pub(super) delivery: Option<MachineState>,
    pub(super) oil_side_by_half: Option<MachineState>,
    // The outlet follows these through the oil alone.
    pub(super) oil_side: Option<OilState>,
    pub(super) separator: Option<OilState>,
    /// The oil at each size of its cooler, where a fan follows it.
    pub(super) coolers: Option<[f64; NODES.len()]>,
}

/// How much of a kelvin that the oil rises comes through to the outlet, where it rises by more than so much.
fn through(half: Option<&MachineState>, healthy: &MachineState, least_k: f64) -> Option<f64> {
    let half = half?;
    let rise = (half.oil_temperature? - healthy.oil_temperature?).si();
    Some((half.outlet.si() - healthy.outlet.si()) / rise).filter(|_| rise > least_k)
}

impl Worse {
    pub(super) fn of(
        station: &Station,
        i: usize,
        conditions: &Conditions,
        intake: &Intake,
        room: Temperature,
    ) -> Self {
        let new = MachineHealth::NEW;
        let at = |h: MachineHealth| machine_state(station, i, &h, conditions, intake, room).ok();
        let oil_at = |h: MachineHealth| oil_state(station, i, &h, conditions, intake, room).ok()?;
        let clean = station.machines[i].separator.clean.value.si().max(1.0);
        let follows = matches!(station.machines[i].cooling.fan, Fan::Variable(_));
        let coolers = || -> Option<[f64; NODES.len()]> {
            let mut oil = [0.0; NODES.len()];
            for (oil, lost) in oil.iter_mut().zip(NODES) {
                let oil_cooler = PROBE.powf(lost);
                *oil = oil_at(MachineHealth { oil_cooler, ..new })?
                    .oil_temperature
                    .si();
            }
            Some(oil)
        };
        Self {
            coolers: follows.then(coolers).flatten(),
            air: at(MachineHealth { fan: PROBE, ..new }),
            air_by_half: at(MachineHealth { fan: HALF, ..new }),
            aftercooler: at(MachineHealth {
                aftercooler: PROBE,
                ..new
            }),
            delivery: at(MachineHealth {
                delivery: TWENTIETH,
                ..new
            }),
            thermostat: at(MachineHealth {
                thermostat: TemperatureDifference::new(1.0),
                ..new
            }),
            oil_side_by_half: at(MachineHealth {
                oil_cooler: HALF,
                ..new
            }),
            oil_side: oil_at(MachineHealth {
                oil_cooler: PROBE,
                ..new
            }),
            separator: oil_at(MachineHealth {
                separator_drop: 1.0 + SEPARATOR_STEP / clean,
                ..new
            }),
        }
    }

    /// How the reading goes with the size of the oil cooler, where a fan follows the oil.
    pub(super) fn bend(&self, healthy: &MachineState, point: Point) -> Option<Bend> {
        let mid = healthy.oil_temperature?.si();
        let oil = self.coolers?.map(|t| t - mid);
        let half = self.air_by_half.as_ref()?;
        let by_half = half.oil_temperature?.si() - mid;
        let through = |half| through(half, healthy, 0.5).unwrap_or(0.0);
        let (by_oil_side, by_air) = match point {
            Point::OilTemperature => (1.0, 1.0),
            Point::OutletTemperature => {
                (through(self.oil_side_by_half.as_ref()), through(Some(half)))
            }
            _ => return None,
        };
        Some(Bend::of(oil, by_half, (by_oil_side, by_air)))
    }

    /// How far a part moves a point's reading of the model; nothing where it was not computed.
    pub(super) fn moves(part: Option<&MachineState>, point: Point, mid: f64) -> f64 {
        let shown = part.and_then(|m| match point {
            Point::OilTemperature => m.oil_temperature.map(|t| t.si()),
            Point::OutletTemperature => Some(m.outlet.si()),
            Point::MachinePower => Some(m.power.si()),
            _ => None,
        });
        shown.map_or(0.0, |t| t - mid)
    }

    /// The same of a part that moves the outlet through the oil alone: as much of the oil's rise
    /// comes through as of the rise that an oil cooler's loss of half makes.
    pub(super) fn moves_by_oil(
        &self,
        part: Option<&OilState>,
        healthy: &MachineState,
        point: Point,
        mid: f64,
    ) -> f64 {
        let Some(part) = part else { return 0.0 };
        match point {
            Point::OilTemperature => part.oil_temperature.si() - mid,
            Point::MachinePower => part.power.si() - mid,
            Point::OutletTemperature => {
                let through = through(self.oil_side_by_half.as_ref(), healthy, 0.05);
                let rise = healthy
                    .oil_temperature
                    .map_or(0.0, |t| (part.oil_temperature - t).si());
                through.unwrap_or(0.0) * rise
            }
            _ => 0.0,
        }
    }
}
