//! The truth behind a round, which nobody at the station knows.
//!
//! Must not know: how readings are made from it.

use std::collections::BTreeMap;

use crate::faults::Fault;

/// What was really so when a round was taken.
#[derive(Debug, Clone, PartialEq)]
pub struct TruthRow {
    /// Days since the first day of the history.
    pub day: u32,
    /// The true value of every point that has a number, by point, in the unit of the rounds. A
    /// machine that stands still has counters only.
    pub values: BTreeMap<String, f64>,
    /// Health by part, 1 for a factor or 0 for an offset when healthy: `K1.cooling_air`,
    /// `K1.oil_cooler` (conductance over healthy, air and deposit together), `K1.delivery`,
    /// `K1.belt` (1 − slip), `K1.separator_bar`, `F1.factor` (drop over true clean drop),
    /// `D1.capacity`, `leaks` in m³/min (ANR).
    pub health: BTreeMap<String, f64>,
    /// The troubles present.
    pub troubles: Vec<ActiveTrouble>,
    /// The point that was misread, if one was.
    pub misread: Option<String>,
}

/// A trouble on the day of a round.
#[derive(Debug, Clone, PartialEq)]
pub struct ActiveTrouble {
    /// What.
    pub fault: Fault,
    /// Where.
    pub on: String,
    /// How bad, in the measure of the fault.
    pub severity: f64,
}

/// Where the water of the whole history went, kg.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct WaterBook {
    /// Drawn in with the air.
    pub drawn_in: f64,
    /// Out of the packages' own drains.
    pub package_drains: f64,
    /// Out of the vessel's drain.
    pub receiver_drain: f64,
    /// Still lying in the vessel.
    pub receiver_held: f64,
    /// Out of the dryer's drain.
    pub dryer_drain: f64,
    /// Gone down the header as liquid.
    pub header_liquid: f64,
    /// Gone as vapour, down the header or with lost air.
    pub vapour: f64,
}

impl WaterBook {
    /// What went out or stayed, over what came in, less 1: nought when the balance closes.
    #[must_use]
    pub fn error(&self) -> f64 {
        let out = self.package_drains
            + self.receiver_drain
            + self.receiver_held
            + self.dryer_drain
            + self.header_liquid
            + self.vapour;
        out / self.drawn_in - 1.0
    }
}
