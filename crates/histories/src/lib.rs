//! Invented years of rounds, for tests and for the demo.
//!
//! A [`Plant`] says what is fitted: what the nameplates claim, and what the machines truly are. A
//! [`Weather`] makes outdoor air from twelve monthly means. A list of [`Trouble`]s says what goes
//! wrong, when, and when it is mended. [`Habits`] say who walks round, when, and how well they read.
//! [`invent`] puts these together and gives a [`History`]: the rounds as they would be written down,
//! and beside each the truth that nobody at the station knows. [`log`] gives what a [`Logger`] would
//! have written of the same days.
//!
//! ```
//! use histories::{Fault, Habits, Plant, Trouble, Weather, invent, to_csv};
//!
//! let plant = Plant::two_screws(1);
//! let weather = Weather::mild(1);
//! let trouble = Trouble::new(Fault::MatClogging, "K1", 5, 25, 0.3);
//! let history = invent(&plant, &weather, &[trouble], &Habits::default(), 1, 30);
//! assert!(history.rounds.len() > 10);
//! assert!(to_csv(&history).starts_with("time,who,site.ambient [degC],"));
//! ```
//!
//! The formulas, exponents and lags here are chosen to be plausible and to differ from those of the
//! model that judges: a judge that is right about these years is not right merely because it wrote
//! them. So the crate must not know the crates `physics`, `station` or `judge`. It tests judging and
//! never physics: nothing here is a reference value. Unless a line says otherwise, its constants are
//! *from memory*.
//!
//! Random numbers come only from the seeds given. Each kind of draw has a stream of its own, so two
//! histories that differ in one trouble share weather, demand, gauges and reading errors.

mod csv;
mod fans;
mod faults;
mod gauges;
mod habits;
mod invent;
mod keeper;
mod logger;
mod moist_air;
mod plant;
pub mod quillbank;
mod random;
mod scatter;
mod severities;
mod simulate;
mod station_file;
mod truth;
mod walk;
mod water;
mod weather;

pub use csv::to_csv;
pub use fans::{Fan, FanPlate, Fans, HeldFan};
pub use faults::{Fault, Trouble};
pub use habits::{Habits, Misread, Service};
pub use invent::{History, Reading, RoundRow, invent};
pub use logger::{Logger, log};
pub use plant::{
    Dryer, Filter, Header, Load, Machine, MachinePlate, MachineTruth, Plant, Receiver, Room,
    TaskPlan,
};
pub use station_file::to_station_toml;
pub use truth::{ActiveTrouble, TruthRow, WaterBook};
pub use weather::{Air, Climate, Weather};
