//! Causes of what many rounds show, and which readings feel them.
//!
//! Must not know: how the evidence of readings comes about.

use super::stream::Part;

/// Readings that are looked at together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Group {
    /// Oil and outlet temperature of a machine.
    Cooling,
    /// The oil at little load beside the same gauge under load.
    HeldOil,
    /// Power on load.
    Power,
    /// Power unloaded.
    UnloadedPower,
    /// Pressure dew point behind a dryer.
    DewPoint,
    /// The room's temperature.
    Room,
    /// A filter's drop over what its flow explains.
    FilterDrop,
    /// The header's flow over what the machines on load should deliver.
    Delivery,
    /// Pressures of vessels and headers over what the machine's own gauge explains.
    Pressures,
    /// What timed cycles find with the plant at rest.
    Leakage,
    /// The same beside what the plant takes by its machines' hours on load.
    AirTaken,
    /// An intake filter's drop.
    IntakeDrop,
    /// A separator's drop, where the power does not speak of it too.
    SeparatorDrop,
    /// What a drain gave over what fell out.
    Water,
}

impl Group {
    /// Every group.
    pub(crate) const ALL: [Self; 14] = [
        Self::Cooling,
        Self::HeldOil,
        Self::Power,
        Self::UnloadedPower,
        Self::DewPoint,
        Self::Room,
        Self::FilterDrop,
        Self::Delivery,
        Self::Pressures,
        Self::Leakage,
        Self::AirTaken,
        Self::IntakeDrop,
        Self::SeparatorDrop,
        Self::Water,
    ];

    /// Its name in the table of causes.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Cooling => "cooling",
            Self::HeldOil => "held oil",
            Self::Power => "power",
            Self::UnloadedPower => "unloaded power",
            Self::DewPoint => "dew point",
            Self::Room => "room",
            Self::FilterDrop => "filter drop",
            Self::Delivery => "delivery",
            Self::Pressures => "pressures",
            Self::Leakage => "leakage",
            Self::AirTaken => "air taken",
            Self::IntakeDrop => "intake drop",
            Self::SeparatorDrop => "separator drop",
            Self::Water => "water",
        }
    }
}

/// Which readings feel a cause, and how.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Moves {
    /// Oil and outlet temperature, by the model's sensitivity to a part.
    Model(Part),
    /// Oil and outlet by equal kelvin.
    BothAlike,
    /// The first reading of the group alone.
    First,
    /// The second alone.
    Second,
    /// One reading of several alone.
    Only(usize),
    /// Every reading alike: what they are compared with.
    All,
    /// Readings from this one on, down the line.
    From(usize),
    /// Nothing that has a place yet: see [`Cause::placed`].
    Unplaced,
}

/// One cause.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Cause {
    pub(crate) name: &'static str,
    pub(crate) moves: Moves,
    /// `None` where it can go either way.
    pub(crate) sign: Option<f64>,
    pub(crate) spread: f64,
    /// A change that came to more would be no such fault.
    pub(crate) most: f64,
    pub(crate) prior: f64,
}

impl Cause {
    /// The same cause at a place that only the station knows.
    pub(crate) fn placed(&self, moves: Moves) -> Self {
        Self {
            moves,
            ..self.clone()
        }
    }
}

/// One thing that could be looked at next.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Check {
    pub(crate) point: &'static str,
    pub(crate) effort: f64,
    pub(crate) words: &'static str,
}
