//! The air path: the order of places from the machines to the header, with branches side by side.
//!
//! Must not know: the file's syntax, flows and pressures.

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
}
