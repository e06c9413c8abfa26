//! The air path: the order of places from the machines to the header, with branches side by side.
//!
//! Must not know: the file's syntax, flows and pressures.

use std::collections::{BTreeMap, BTreeSet};

use crate::model::Asset;

/// Places one after the other.
pub type Path = Vec<Stage>;

/// One stage of the air path.
#[derive(Debug, Clone, PartialEq)]
pub enum Stage {
    /// One thing that all the air of this path goes through.
    One(Asset),
    /// Branches side by side; the air of each joins again behind them.
    SideBySide(Vec<Path>),
}

/// The whole path.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AirPath {
    /// The stages, machines first.
    pub stages: Path,
}

impl AirPath {
    /// Every thing on the path, in the order in which air meets it.
    #[must_use]
    pub fn assets(&self) -> Vec<Asset> {
        fn walk(path: &Path, out: &mut Vec<Asset>) {
            for stage in path {
                match stage {
                    Stage::One(asset) => out.push(*asset),
                    Stage::SideBySide(branches) => branches.iter().for_each(|b| walk(b, out)),
                }
            }
        }
        let mut out = Vec::new();
        walk(&self.stages, &mut out);
        out
    }

    /// Whether a vessel stands before this thing, so that its flow is the demand and not what the
    /// machines deliver while loaded.
    #[must_use]
    pub fn behind_a_vessel(&self, asset: Asset) -> bool {
        self.assets()
            .iter()
            .take_while(|&&a| a != asset)
            .any(|a| matches!(a, Asset::Vessel(_)))
    }

    /// The machines whose air goes through each thing.
    #[must_use]
    pub fn machines_before(&self) -> BTreeMap<Asset, BTreeSet<usize>> {
        fn walk(
            path: &Path,
            from: &BTreeSet<usize>,
            out: &mut BTreeMap<Asset, BTreeSet<usize>>,
        ) -> BTreeSet<usize> {
            let mut machines = from.clone();
            for stage in path {
                match stage {
                    Stage::One(Asset::Machine(i)) => {
                        machines.insert(*i);
                    }
                    Stage::One(asset) => {
                        out.insert(*asset, machines.clone());
                    }
                    Stage::SideBySide(branches) => {
                        let before = machines.clone();
                        for branch in branches {
                            machines.extend(walk(branch, &before, out));
                        }
                    }
                }
            }
            machines
        }
        let mut out = BTreeMap::new();
        walk(&self.stages, &BTreeSet::new(), &mut out);
        out
    }
}
