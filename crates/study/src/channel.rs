//! What a column of a log says: a point of the station, or a signal of a machine.
//!
//! Must not know: files, figures.

use station::model::{Asset, Station};
use station::point::{Point, PointId};

/// What a column of a log says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Channel {
    /// A reading, in SI.
    Point(PointId),
    /// Whether a machine runs, 0 or 1.
    Running(usize),
    /// Whether a machine is loaded, 0 or 1.
    Loaded(usize),
}

impl Channel {
    /// Its name as in headers, without the unit: `K1.power`, `K1.running`.
    #[must_use]
    pub fn name(self, station: &Station) -> String {
        let (asset, point) = match self {
            Self::Point(id) => (id.asset, id.point.name()),
            Self::Running(machine) => (Asset::Machine(machine), "running"),
            Self::Loaded(machine) => (Asset::Machine(machine), "loaded"),
        };
        format!("{}.{point}", station.id(asset))
    }

    /// The power of this machine.
    #[must_use]
    pub fn power_of(machine: usize) -> Self {
        Self::Point(PointId {
            asset: Asset::Machine(machine),
            point: Point::MachinePower,
        })
    }

    /// The current of this machine.
    #[must_use]
    pub fn current_of(machine: usize) -> Self {
        Self::Point(PointId {
            asset: Asset::Machine(machine),
            point: Point::MachineCurrent,
        })
    }

    /// Whether a value that does not change says nothing: signals, counters, and what is copied
    /// from a slow source.
    pub(crate) fn may_stand_still(self) -> bool {
        match self {
            Self::Running(_) | Self::Loaded(_) => true,
            Self::Point(id) => {
                id.point.is_counter()
                    || matches!(
                        id.point,
                        Point::SiteAmbient
                            | Point::SiteHumidity
                            | Point::SiteBarometer
                            | Point::MachineSpeed
                    )
            }
        }
    }
}
