//! Which of several flow meters tell all the air that a station delivers: those that lie side by
//! side, one in each branch; of those one behind the other the first, through which all of it goes.
//!
//! Must not know: flows.

use station::air_path::{Path, Stage};
use station::model::{Asset, Station};
use station::point::{Point, PointId};

use crate::channel::Channel;

/// The headers whose flow is logged, and those that are taken.
#[derive(Debug, Clone, Default)]
pub(crate) struct Meters {
    /// Headers, each once.
    logged: Vec<usize>,
    /// Those whose flows together are all.
    taken: Vec<usize>,
}

fn channel(header: usize) -> Channel {
    Channel::Point(PointId {
        asset: Asset::Header(header),
        point: Point::HeaderFlow,
    })
}

/// The first headers of a path through which, together, all of its air goes.
fn all_of(path: &Path, logged: &[usize]) -> Option<Vec<usize>> {
    path.iter().find_map(|stage| match stage {
        Stage::One(Asset::Header(header)) => logged.contains(header).then(|| vec![*header]),
        Stage::One(_) => None,
        Stage::SideBySide(branches) => {
            let each: Option<Vec<_>> = branches.iter().map(|b| all_of(b, logged)).collect();
            each.map(|each| each.concat())
        }
    })
}

impl Meters {
    /// From the channels of a log; what was chosen once stays.
    pub(crate) fn choose(&mut self, station: &Station, channels: impl Iterator<Item = Channel>) {
        for channel in channels {
            let Channel::Point(id) = channel else {
                continue;
            };
            if let (Asset::Header(header), Point::HeaderFlow) = (id.asset, id.point)
                && !self.logged.contains(&header)
            {
                self.logged.push(header);
            }
        }
        if self.taken.is_empty() {
            self.taken = all_of(&station.air_path.stages, &self.logged).unwrap_or_default();
        }
    }

    /// The channels of those that are taken.
    pub(crate) fn channels(&self) -> impl Iterator<Item = Channel> {
        self.taken.iter().map(|&header| channel(header))
    }

    /// Whether they tell all the air.
    pub(crate) fn measure(&self) -> bool {
        !self.taken.is_empty()
    }

    /// Whether air comes to a thing only through those that are taken.
    pub(crate) fn lies_behind(&self, station: &Station, asset: Asset) -> bool {
        let path = station.air_path.assets();
        let at = |asset: Asset| path.iter().position(|&a| a == asset);
        let last = self.taken.iter().map(|&header| at(Asset::Header(header)));
        at(asset).is_some_and(|own| last.max().flatten().is_none_or(|last| last <= own))
    }

    /// What has to be said of the choice.
    pub(crate) fn remark(&self, station: &Station) -> Option<String> {
        let names = |headers: &[usize]| {
            let ids = headers.iter().filter_map(|&at| station.headers.get(at));
            let ids: Vec<&str> = ids.map(|header| header.id.as_str()).collect();
            ids.join(" and ")
        };
        let left: Vec<usize> = self
            .logged
            .iter()
            .copied()
            .filter(|header| !self.taken.contains(header))
            .collect();
        if self.taken.is_empty() {
            return (!left.is_empty()).then(|| {
                format!(
                    "The flow of {} is not all that the station delivers: some air takes a way on which none is logged. Deliveries are those of the machines",
                    names(&left)
                )
            });
        }
        let sum = (self.taken.len() > 1).then(|| {
            format!(
                "The flow is the sum of {}, which lie side by side on the air path",
                names(&self.taken)
            )
        });
        let first = (!left.is_empty()).then(|| {
            format!(
                "{} behind {} on the air path: the same air is not counted twice",
                match left.as_slice() {
                    [_] => format!("The flow of {} is left out, which lies", names(&left)),
                    _ => format!("The flows of {} are left out, which lie", names(&left)),
                },
                names(&self.taken)
            )
        });
        let before: Vec<usize> = station
            .air_path
            .assets()
            .into_iter()
            .map_while(|asset| match asset {
                Asset::Header(header) if self.taken.contains(&header) => None,
                Asset::Header(header) => Some(Some(header)),
                _ => Some(None),
            })
            .flatten()
            .filter(|header| !self.logged.contains(header))
            .collect();
        let unseen = (!before.is_empty()).then(|| {
            format!(
                "What is drawn from {} before it reaches {} is in no flow that is logged",
                names(&before),
                names(&self.taken)
            )
        });
        let said: Vec<String> = [sum, first, unseen].into_iter().flatten().collect();
        (!said.is_empty()).then(|| said.join(". "))
    }
}
