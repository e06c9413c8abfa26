//! How bad every fault is on one day, looked up once and kept for its minutes.
//!
//! Must not know: what a fault does.

use crate::faults::{Fault, Trouble, severity};
use crate::plant::{Machine, Plant};

/// How bad each fault is on one day.
#[derive(Debug, Clone, Default)]
pub(crate) struct Severities {
    pub(crate) machines: Vec<MachineSeverity>,
    pub(crate) filter_bar: f64,
    pub(crate) filter_torn: f64,
    pub(crate) dryer: f64,
    pub(crate) receiver_blocked: f64,
    pub(crate) receiver_passing: f64,
    pub(crate) dryer_blocked: f64,
    pub(crate) dryer_passing: f64,
    pub(crate) leaks: f64,
    pub(crate) room: f64,
}

/// How bad each fault of one machine is on one day.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct MachineSeverity {
    pub(crate) mat: f64,
    pub(crate) oil_side: f64,
    pub(crate) stuck_open: f64,
    pub(crate) slip: f64,
    pub(crate) separator_bar: f64,
    pub(crate) worn: f64,
    pub(crate) choke_bar: f64,
    pub(crate) blocked: f64,
    pub(crate) passing: f64,
}

impl Severities {
    pub(crate) fn on(plant: &Plant, troubles: &[Trouble], day: u32) -> Self {
        let at = |fault: Fault, on: &str| severity(troubles, &fault, on, day);
        let machine = |m: &Machine| MachineSeverity {
            mat: at(Fault::MatClogging, &m.id).clamp(0.0, 0.9),
            oil_side: at(Fault::OilSideFouling, &m.id).clamp(0.0, 0.9),
            stuck_open: at(Fault::ThermostatStuckOpen, &m.id).clamp(0.0, 1.0),
            slip: at(Fault::BeltSlipping, &m.id).clamp(0.0, 0.5),
            separator_bar: at(Fault::SeparatorLoading, &m.id),
            worn: at(Fault::AirEndWorn, &m.id).clamp(0.0, 0.6),
            choke_bar: at(Fault::IntakeChoked, &m.id).clamp(0.0, 0.3),
            blocked: at(Fault::DrainBlocked, &format!("{}.drain", m.id)).clamp(0.0, 1.0),
            passing: at(Fault::DrainPassing, &format!("{}.drain", m.id)),
        };
        let (receiver, dryer) = (&plant.receiver.id, &plant.dryer.id);
        Self {
            machines: plant.machines.iter().map(machine).collect(),
            filter_bar: at(Fault::FilterLoading, &plant.filter.id),
            filter_torn: at(Fault::FilterTorn, &plant.filter.id).clamp(0.0, 0.95),
            dryer: at(Fault::DryerWeak, dryer).clamp(0.0, 0.95),
            receiver_blocked: at(Fault::DrainBlocked, &format!("{receiver}.drain")).clamp(0.0, 1.0),
            receiver_passing: at(Fault::DrainPassing, &format!("{receiver}.drain")),
            dryer_blocked: at(Fault::DrainBlocked, &format!("{dryer}.drain")).clamp(0.0, 1.0),
            dryer_passing: at(Fault::DrainPassing, &format!("{dryer}.drain")),
            leaks: at(Fault::LeaksGrowing, &plant.header.id),
            room: at(Fault::RoomHot, "room").clamp(0.0, 0.9),
        }
    }

    /// Air lost through drains that do not close, m³/min (ANR).
    pub(crate) fn passing(&self) -> f64 {
        let packages: f64 = self.machines.iter().map(|m| m.passing).sum();
        packages + self.receiver_passing + self.dryer_passing
    }
}
