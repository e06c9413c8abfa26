//! What a piece of work takes away of what a reading feels.
//!
//! Must not know: samples.

use station::round::Work;

/// What a piece of work mends: the readings of a machine's cooling feel much else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mends {
    /// All that the reading feels, or so much of it that a new stretch begins.
    Whole,
    AirSide,
    OilSide,
    Thermostat,
    Gauge,
}

impl Mends {
    pub(super) fn by(work: &Work) -> Self {
        match work {
            Work::CleanMat | Work::ChangeMat => Self::AirSide,
            Work::FlushOilSide => Self::OilSide,
            Work::ChangeThermostat => Self::Thermostat,
            Work::ChangeGauge => Self::Gauge,
            _ => Self::Whole,
        }
    }

    /// Two pieces of work at once.
    pub(crate) fn and(self, other: Self) -> Self {
        if self == other { self } else { Self::Whole }
    }

    /// Whether it takes a cause away.
    pub(crate) fn ends(self, cause: &str) -> bool {
        match self {
            Self::Whole => true,
            Self::AirSide => cause == "mat clogged",
            Self::OilSide => cause == "oil side fouled",
            Self::Thermostat => cause == "thermostat stuck",
            Self::Gauge => cause == "gauge wrong",
        }
    }
}
