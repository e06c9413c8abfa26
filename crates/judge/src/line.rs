//! What lies before a thing on the air line, along its own branch.
//!
//! Must not know: readings, findings.

use station::air_path::{AirPath, Path, Stage};
use station::model::Asset;

/// Everything whose air comes to a thing, in the order in which the air meets it. Branches beside
/// its own are not among it.
pub(crate) fn before(line: &AirPath, asset: Asset) -> Vec<Asset> {
    let mut met = Vec::new();
    if walk(&line.stages, asset, &mut met) {
        met
    } else {
        Vec::new()
    }
}

/// Adds what is met on a path until the thing is found.
fn walk(path: &Path, asset: Asset, met: &mut Vec<Asset>) -> bool {
    for stage in path {
        match stage {
            Stage::One(one) if *one == asset => return true,
            Stage::One(one) => met.push(*one),
            Stage::SideBySide(branches) => {
                let mut all = Vec::new();
                for branch in branches {
                    let mut own = Vec::new();
                    if walk(branch, asset, &mut own) {
                        met.append(&mut own);
                        return true;
                    }
                    all.append(&mut own);
                }
                met.append(&mut all);
            }
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn branches_side_by_side_are_not_before_each_other() {
        let one = |asset| vec![Stage::One(asset)];
        let line = AirPath {
            stages: vec![
                Stage::SideBySide(vec![
                    vec![Stage::One(Asset::Machine(0)), Stage::One(Asset::Vessel(0))],
                    vec![Stage::One(Asset::Machine(1)), Stage::One(Asset::Vessel(1))],
                ]),
                Stage::SideBySide(vec![one(Asset::Filter(0)), one(Asset::Filter(1))]),
                Stage::One(Asset::Header(0)),
            ],
        };
        let vessel = before(&line, Asset::Vessel(1));
        assert_eq!(vessel, [Asset::Machine(1)]);
        let filter = before(&line, Asset::Filter(1));
        assert!(filter.contains(&Asset::Vessel(0)) && filter.contains(&Asset::Vessel(1)));
        assert!(!filter.contains(&Asset::Filter(0)));
        assert_eq!(before(&line, Asset::Header(0)).len(), 6);
        assert!(before(&line, Asset::Dryer(0)).is_empty());
    }
}
