//! What is to be expected under stated conditions: every place and every machine's readings, with
//! bands.
//!
//! Must not know: rounds, findings.

use jiff::Timestamp;
use physics::machine::package::specific_power;
use physics::working::Step;
use station::forward::{
    Conditions, Expected, Health, Intake, MachineHealth, MachineState, PlaceState, State, expect,
    machine_state, room_temperature,
};
use station::model::{Asset, Station};
use station::point::{Point, PointId};

use crate::band::{Band, assemble, propagate};
use crate::day::Day;
use crate::working::{machine_steps, oil_dew_point_step};

/// One machine's expected readings. SI; specific power in kW per m³/min.
#[derive(Debug, Clone, PartialEq)]
pub struct MachineOutlook {
    /// Oil temperature on load; `None` for a kind without thermal model.
    pub oil: Option<Band>,
    /// Package outlet.
    pub outlet: Band,
    /// Package input on load.
    pub power: Band,
    /// Free air delivered.
    pub free_air: Band,
    /// Specific power.
    pub specific_power: Band,
    /// Dew point at the air end: below it water stays in the oil, K.
    pub oil_dew_point: f64,
    /// Oil temperature on the design-hot day, K; `None` without climate or thermal model.
    pub design_hot_oil: Option<f64>,
    /// How the numbers come about.
    pub working: Vec<Step>,
}

/// One place's bands.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceOutlook {
    /// Which place.
    pub asset: Asset,
    /// Gauge pressure.
    pub pressure: Band,
    /// Temperature.
    pub temperature: Band,
    /// Pressure dew point.
    pub dew_point: Band,
}

/// Everything to be expected.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// The state itself.
    pub state: State,
    /// Each machine; `None` for one that does not run.
    pub machines: Vec<Option<MachineOutlook>>,
    /// Each place.
    pub places: Vec<PlaceOutlook>,
}

const PER_MACHINE: usize = 5;
const PER_PLACE: usize = 3;

/// The values that bands are made of: five a machine, then three a place.
fn values(state: &State) -> Vec<Option<f64>> {
    let of_machine = |m: &Option<MachineState>| -> [Option<f64>; PER_MACHINE] {
        let Some(m) = m else {
            return [None; PER_MACHINE];
        };
        [
            m.oil_temperature.map(|t| t.si()),
            Some(m.outlet.si()),
            Some(m.power.si()),
            Some(m.free_air.si()),
            specific_power(m.power, m.free_air).ok(),
        ]
    };
    let of_place = |p: &PlaceState| -> [Option<f64>; PER_PLACE] {
        [
            Some(p.pressure.si()),
            Some(p.temperature.si()),
            Some(p.dew_point.si()),
        ]
    };
    state
        .machines
        .iter()
        .flat_map(of_machine)
        .chain(state.places.iter().flat_map(of_place))
        .collect()
}

/// What is to be expected under these conditions, health as new.
///
/// # Errors
/// Refusals of the model, with the place.
pub fn outlook(station: &Station, conditions: &Conditions) -> Expected<Outlook> {
    let day = Day::stated(conditions.clone(), Timestamp::UNIX_EPOCH);
    let health = Health::new(station);
    let inputs = day.inputs.all(station, conditions);
    let (state, base, parts) = propagate(station, &day, &inputs, |station, conditions| {
        let state = expect(station, &health, conditions)?;
        let values = values(&state);
        Ok((state, values))
    })?;
    let mut found = base.into_iter().zip(parts);
    let mut next = || found.next().unwrap_or((None, Vec::new()));
    let mut machines = Vec::new();
    for (i, machine) in state.machines.iter().enumerate() {
        let asset = Asset::Machine(i);
        let reading = |(mid, part): (Option<f64>, Vec<(String, f64)>), point| {
            mid.map(|mid| assemble(station, &state, &day, PointId { asset, point }, mid, part))
        };
        let oil = reading(next(), Point::OilTemperature);
        let outlet = reading(next(), Point::OutletTemperature);
        let power = reading(next(), Point::MachinePower);
        let (free_air, specific) = (plain(next()), plain(next()));
        machines.push(match (machine, outlet, power, free_air, specific) {
            (Some(m), Some(outlet), Some(power), Some(free_air), Some(specific_power)) => {
                let mut working = machine_steps(station, i, conditions, m);
                working.push(oil_dew_point_step(m));
                Some(MachineOutlook {
                    oil,
                    outlet,
                    power,
                    free_air,
                    specific_power,
                    oil_dew_point: m.oil_dew_point.si(),
                    design_hot_oil: design_hot(station, conditions, i),
                    working,
                })
            }
            _ => None,
        });
    }
    let places = state
        .places
        .iter()
        .filter_map(|place| {
            let (pressure, temperature, dew_point) = (plain(next()), plain(next()), plain(next()));
            Some(PlaceOutlook {
                asset: place.asset,
                pressure: pressure?,
                temperature: temperature?,
                dew_point: dew_point?,
            })
        })
        .collect();
    Ok(Outlook {
        state,
        machines,
        places,
    })
}

/// A band of the inputs alone.
fn plain((mid, mut from): (Option<f64>, Vec<(String, f64)>)) -> Option<Band> {
    let sigma = from.iter().map(|(_, s)| s * s).sum::<f64>().sqrt();
    from.sort_by(|a, b| b.1.total_cmp(&a.1));
    from.truncate(6);
    Some(Band {
        mid: mid?,
        sigma,
        from,
    })
}

/// The clean machine's oil temperature on the design-hot day, K.
fn design_hot(station: &Station, conditions: &Conditions, i: usize) -> Option<f64> {
    let climate = station.site.climate.as_ref()?;
    let (ambient, month) = climate.hottest();
    let day = Conditions {
        ambient,
        humidity: climate.humidity_at(month, ambient).ok()?,
        atmosphere: station.standard_atmosphere(),
        room: None,
        machines: conditions.machines.clone(),
        demand: None,
    };
    let intake = Intake::of(&day).ok()?;
    let health = Health::new(station);
    let room = room_temperature(station, &health, &day).ok()?;
    let state = machine_state(station, i, &MachineHealth::NEW, &day, &intake, room).ok()?;
    state.oil_temperature.map(|t| t.si())
}
