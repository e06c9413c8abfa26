//! Whether the safety valves that are told suit their vessels and machines, by what is written down.
//!
//! Such a file can be used: readings are judged all the same. What does not suit is for people, with
//! a licensed person first. Must not know: readings, findings.

use crate::file::unit::{Kind, show};
use crate::model::Station;

/// What is wrong with a vessel's safety valve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ValveFault {
    /// It is set above the pressure that the vessel may stand; both in Pa.
    SetAboveVessel {
        /// What it is set to.
        set: f64,
        /// What the vessel may stand.
        max: f64,
    },
    /// It passes less than the machines before it deliver; both in m³/s of free air.
    TooSmall {
        /// What it passes.
        capacity: f64,
        /// What the machines before the vessel deliver together at their rated points.
        delivered: f64,
    },
}

impl ValveFault {
    /// The key of the vessel's table that says it.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::SetAboveVessel { .. } => "safety_valve.set",
            Self::TooSmall { .. } => "safety_valve.capacity",
        }
    }

    /// What does not suit, in the units of the station file.
    #[must_use]
    pub fn sentence(self) -> String {
        match self {
            Self::SetAboveVessel { set, max } => format!(
                "{} lies above `max_pressure`, {}: a safety valve opens at or below the pressure that the vessel may stand",
                show(Kind::GaugePressure, set),
                show(Kind::GaugePressure, max)
            ),
            Self::TooSmall {
                capacity,
                delivered,
            } => format!(
                "{} is less than the machines before it deliver, {}: look at the valve's plate; a valve that is too small is a case for the inspector",
                show(Kind::FreeAir, capacity),
                show(Kind::FreeAir, delivered)
            ),
        }
    }
}

impl Station {
    /// Every safety valve that does not suit, with its vessel by index.
    ///
    /// A valve may be set no higher than the vessel's maximum allowable working pressure and has to
    /// pass all that the machines before it deliver.
    ///
    /// Source: common practice, no source for this wording; the law of the place sets both.
    #[must_use]
    pub fn valve_faults(&self) -> Vec<(usize, ValveFault)> {
        let before = self.air_path.machines_before();
        let mut faults = Vec::new();
        for (i, vessel) in self.vessels.iter().enumerate() {
            let Some(valve) = vessel.safety_valve else {
                continue;
            };
            let (set, max) = (valve.set.si(), vessel.max_pressure.si());
            if set > max {
                faults.push((i, ValveFault::SetAboveVessel { set, max }));
            }
            let machines = before.get(&crate::model::Asset::Vessel(i));
            let delivered: f64 = machines
                .into_iter()
                .flatten()
                .filter_map(|&m| Some(self.machines.get(m)?.rated.fad.value.si()))
                .sum();
            if let Some(capacity) = valve.capacity.map(|c| c.si()).filter(|c| *c < delivered) {
                faults.push((
                    i,
                    ValveFault::TooSmall {
                        capacity,
                        delivered,
                    },
                ));
            }
        }
        faults
    }
}
