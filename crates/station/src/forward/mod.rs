//! The one forward model: a station, its health and the day's conditions in; the expected state at
//! every place out. Expectation, health, cost, forecast and design review all come from here.
//!
//! Formulas live in `physics`; here they are only put in order. A second composition of them
//! anywhere else is a defect. Must not know: readings' bands, findings, money.

mod conditions;
mod dryer;
mod health;
mod inputs;
mod machine;
mod moisture;
mod path;
mod room;

use physics::quantity::{AbsolutePressure, Temperature};
use physics::validity::Refusal;

pub use conditions::{Conditions, Intake, Running};
pub use health::{Health, MachineHealth};
pub use inputs::{Input, Inputs};
pub use machine::{DROP_EXPONENT, HeatBalance, MachineState, OilState, machine_state, oil_state};
pub use path::{Owed, PlaceState, Water};
pub use room::room_temperature;

use crate::model::{Asset, Station};

/// The expected state of the whole station.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// The atmosphere.
    pub atmosphere: AbsolutePressure,
    /// Air entering the coolers.
    pub room: Temperature,
    /// Each machine while loaded; `None` for one that does not run.
    pub machines: Vec<Option<MachineState>>,
    /// Each place on the air path, in order; values at its outlet, while loaded.
    pub places: Vec<PlaceState>,
    /// What each drained place owes its drain.
    pub owed: Vec<Owed>,
    /// All the water of the station, for the balance.
    pub water: Water,
}

impl State {
    /// The state at a place.
    #[must_use]
    pub fn place(&self, asset: Asset) -> Option<&PlaceState> {
        self.places.iter().find(|p| p.asset == asset)
    }
}

/// The model refuses: where and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// Where.
    pub asset: Asset,
    /// Why.
    pub why: Refusal,
}

impl Refused {
    /// As a sentence with the thing's name.
    #[must_use]
    pub fn sentence(&self, station: &Station) -> String {
        format!("{}: {}", station.id(self.asset), self.why)
    }
}

/// The model's answer.
pub type Expected<T> = Result<T, Refused>;

pub(crate) trait AtPlace<T> {
    fn at(self, asset: Asset) -> Expected<T>;
}

impl<T> AtPlace<T> for Result<T, Refusal> {
    fn at(self, asset: Asset) -> Expected<T> {
        self.map_err(|why| Refused { asset, why })
    }
}

/// The expected state under these conditions with this health.
///
/// # Errors
/// [`Refused`] where a formula leaves its validity: a temperature, humidity or pressure that no
/// station works at, or conditions or health of another station.
pub fn expect(station: &Station, health: &Health, conditions: &Conditions) -> Expected<State> {
    conditions.check(station)?;
    health.check(station)?;
    let intake = Intake::of(conditions).at(Asset::Site)?;
    let room = room_temperature(station, health, conditions)?;
    let mut machines = Vec::with_capacity(station.machines.len());
    for (i, running) in conditions.machines.iter().enumerate() {
        machines.push(if running.duty > 0.0 {
            Some(machine_state(
                station,
                i,
                &health.machines[i],
                conditions,
                &intake,
                room,
            )?)
        } else {
            None
        });
    }
    let walk = path::walk(station, health, conditions, (room, &intake), &machines)?;
    Ok(State {
        atmosphere: conditions.atmosphere,
        room,
        machines,
        places: walk.places,
        owed: walk.owed,
        water: walk.water,
    })
}
