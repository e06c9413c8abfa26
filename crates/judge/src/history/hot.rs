//! What each machine would do at a temperature tomorrow, with its present health.
//!
//! Must not know: sentences, JSON.

use physics::quantity::{Temperature, TemperatureDifference};
use station::forward::{Conditions, Health, MachineHealth, Running, room_temperature};
use station::model::Asset;
use station::point::{Point, PointId};

use super::forecast::normal;
use super::stream::{PROBE, Part};
use crate::band::bands;
use crate::context::{Context, Look};
use crate::day::Day;

/// The model's own error when it is asked about another day, K, and how it grows for each kelvin that it is warmer than
/// this machine has met (from memory).
const EXTRAPOLATION_K: f64 = 1.5;
const BEYOND_MET: f64 = 0.15;

/// What the history knows of one machine's cooling.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CoolingNow {
    pub(crate) machine: usize,
    pub(crate) part: Part,
    /// Size of the change, in fifths lost, and its standard deviation.
    pub(crate) size: f64,
    pub(crate) sigma: f64,
    /// The machine's own offset of its oil temperature, K, and the noise of one reading.
    pub(crate) offset: f64,
    pub(crate) noise: f64,
    /// Its own oil cooler over its plate's.
    pub(crate) own: f64,
    /// The share on load at which its oil was usually read, and the room's rise as read over the model's.
    pub(crate) duty: f64,
    pub(crate) rise: Option<f64>,
    /// The warmest weather in which its oil was read, K.
    pub(crate) met: f64,
}

/// One machine on a hot day. SI.
#[derive(Debug, Clone, PartialEq)]
pub struct IfHot {
    /// Which machine.
    pub machine: usize,
    /// Oil temperature, low, middle and high of the 95 % band, K.
    pub oil: (f64, f64, f64),
    /// Probability of reaching the warning temperature.
    pub p_warn: f64,
    /// Probability of reaching the trip temperature.
    pub p_trip: f64,
}

/// A day of that temperature and month, with the machine's usual share on load and the room's usual rise: what one
/// round happened to meet says little of another season, and a Monday's counters hold a weekend.
pub(crate) fn usual_day(
    ctx: &Context<'_>,
    (look, i): (&Look, usize),
    (outdoors, month): (Temperature, usize),
    (duty, rise): (Option<f64>, Option<f64>),
) -> Conditions {
    let mut at = ctx.hot_day(look, outdoors, month);
    if let Some(duty) = duty {
        at.machines[i] = Running {
            recent_pressure: at.machines[i].recent_pressure,
            ..Running::at_duty(ctx.station, i, duty)
        };
    }
    if let Some(rise) = rise {
        let unread = Conditions {
            room: None,
            ..at.clone()
        };
        at.room = room_temperature(ctx.station, &Health::new(ctx.station), &unread)
            .ok()
            .map(|room| outdoors + TemperatureDifference::new(rise * (room - outdoors).si()));
    }
    at
}

/// A machine of which so much of a cooling part is left; `own` is its oil cooler over its plate's before that.
pub(crate) fn worse(part: Part, k: f64, own: f64) -> MachineHealth {
    let sound = MachineHealth {
        oil_cooler: own,
        ..MachineHealth::NEW
    };
    match part {
        Part::OilSide => MachineHealth {
            oil_cooler: k * own,
            ..sound
        },
        Part::Aftercooler => MachineHealth {
            aftercooler: k,
            ..sound
        },
        _ => MachineHealth { fan: k, ..sound },
    }
}

/// Each modelled machine at this temperature outdoors, in the season of the judgement.
pub(crate) fn if_hot(ctx: &Context<'_>, outdoors: Temperature) -> Vec<IfHot> {
    ctx.screws().filter_map(|i| one(ctx, i, outdoors)).collect()
}

fn one(ctx: &Context<'_>, i: usize, outdoors: Temperature) -> Option<IfHot> {
    let look = ctx.looks.first()?;
    let known = ctx.cooling.iter().find(|c| c.machine == i);
    let usual = (known.map(|c| c.duty), known.and_then(|c| c.rise));
    let mut at = usual_day(ctx, (look, i), (outdoors, look.day.month), usual);
    if at.machines[i].duty <= 0.0 {
        at.machines[i] = Running::at_duty(ctx.station, i, ctx.year.uses.get(i)?.duty);
    }
    let oil = |size: f64| {
        let k = PROBE.powf(size);
        let (part, own) = known.map_or((Part::CoolingAir, 1.0), |c| (c.part, c.own));
        ctx.machine(i, &worse(part, k, own), &at)
            .and_then(|m| m.oil_temperature)
            .map(Temperature::si)
    };
    let (mid, sigma) = match known {
        Some(c) => {
            let mid = oil(c.size)?;
            let slope = oil(c.size + c.sigma.max(1e-3)).map_or(0.0, |t| t - mid);
            (
                mid + c.offset,
                slope
                    .hypot(0.5 * c.noise)
                    .hypot(EXTRAPOLATION_K)
                    .hypot(BEYOND_MET * (outdoors.si() - c.met).max(0.0)),
            )
        }
        // Nothing was learned: the plate's own uncertainty.
        None => {
            let day = Day {
                conditions: at.clone(),
                ..look.day.clone()
            };
            let day = Day {
                moments: vec![crate::day::Moment::Loaded; day.moments.len()],
                ..day
            };
            let id = PointId {
                asset: Asset::Machine(i),
                point: Point::OilTemperature,
            };
            let health = station::forward::Health::new(ctx.station);
            let (_, found) = bands(ctx.station, &health, &day, &[id]).ok()?;
            let band = found.into_iter().next()??;
            (band.mid, band.sigma.hypot(EXTRAPOLATION_K))
        }
    };
    let limits = &ctx.station.machines[i].oil;
    let beyond = |limit: f64| 1.0 - normal((limit - mid) / sigma);
    Some(IfHot {
        machine: i,
        oil: (mid - 1.96 * sigma, mid, mid + 1.96 * sigma),
        p_warn: beyond(limits.warn.si()),
        p_trip: beyond(limits.trip.si()),
    })
}
