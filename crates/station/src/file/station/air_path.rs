//! `air_path`: names in order, an inner list for branches side by side.
//!
//! Must not know: what the things are rated for.

use std::collections::BTreeSet;

use super::assets::Assets;
use super::reader::Gathered;
use super::tree::{Node, Table, Value};
use crate::air_path::{AirPath, Path, Stage};
use crate::file::unit::short;
use crate::model::Asset;

const AT: &str = "air_path";

/// More places than any station has.
const MOST: usize = 2000;

struct Walk<'a> {
    gathered: &'a Gathered,
    assets: &'a Assets,
    used: BTreeSet<Asset>,
    /// How many places were written.
    written: usize,
    sound: bool,
}

/// Reads the air path; `None` after any problem.
pub(super) fn read(gathered: &Gathered, root: &Table, assets: &Assets) -> Option<AirPath> {
    let Some(node) = root.entries.get(AT) else {
        let hint = "write the places from the machines to the header: `air_path = [[\"K1\", \"K2\"], \"R1\", \"MAIN\"]`";
        gathered.problem(1, AT, "is missing", Some(hint.to_owned()));
        return None;
    };
    let Value::List(items) = &node.value else {
        let what = format!("a list of ids is expected, found {}", node.value.words());
        let hint = "write `air_path = [\"K1\", \"R1\", \"MAIN\"]`";
        gathered.problem(node.line, AT, what, Some(hint.to_owned()));
        return None;
    };
    let mut walk = Walk {
        gathered,
        assets,
        used: BTreeSet::new(),
        written: 0,
        sound: true,
    };
    let stages = walk.path(items, node.line, false);
    walk.left_out(node.line);
    walk.sound.then_some(AirPath { stages })
}

impl Walk<'_> {
    fn tell(&mut self, line: u64, what: String, hint: &str) {
        self.sound = false;
        self.gathered.problem(line, AT, what, Some(hint.to_owned()));
    }

    /// Places one after the other; `fed` says whether air already comes from before them.
    fn path(&mut self, items: &[Node], line: u64, mut fed: bool) -> Path {
        if items.is_empty() {
            self.tell(
                line,
                "a list is empty".to_owned(),
                "write at least one id in it, or leave it out",
            );
        }
        let mut path = Path::new();
        for item in items {
            match &item.value {
                Value::Text(id) => {
                    if let Some(asset) = self.place(id, item.line, fed) {
                        path.push(Stage::One(asset));
                    }
                }
                Value::List(branches) => {
                    if branches.is_empty() {
                        self.tell(
                            item.line,
                            "a list is empty".to_owned(),
                            "write at least one id in it, or leave it out",
                        );
                    }
                    let branches: Vec<Path> = branches
                        .iter()
                        .map(|branch| match &branch.value {
                            Value::List(items) => self.path(items, branch.line, fed),
                            _ => self.path(std::slice::from_ref(branch), branch.line, fed),
                        })
                        .collect();
                    path.push(Stage::SideBySide(branches));
                }
                other => self.tell(
                    item.line,
                    format!(
                        "an id or a list of ids is expected, found {}",
                        other.words()
                    ),
                    "write `air_path = [[\"K1\", \"K2\"], \"R1\", \"MAIN\"]`",
                ),
            }
            fed = true;
        }
        path
    }

    /// One thing on the path.
    fn place(&mut self, id: &str, line: u64, fed: bool) -> Option<Asset> {
        self.written += 1;
        if self.written > MOST {
            if self.written == MOST + 1 {
                let what = format!("there are more than {MOST} places on it");
                self.tell(line, what, "write each thing once");
            }
            return None;
        }
        let shown = short(id);
        let carries_air = |a| !matches!(a, Asset::Site | Asset::Room | Asset::Drain(_));
        let Some(asset) = self.assets.find(id) else {
            let hint = self.assets.suggest(id, carries_air);
            self.tell(line, format!("there is no `{shown}` in this file"), &hint);
            return None;
        };
        if !carries_air(asset) {
            self.tell(
                line,
                format!("`{shown}` has no place on the air path"),
                "leave it out: only machines, vessels, dryers, filters, pipes and headers carry the air",
            );
            return None;
        }
        if !self.used.insert(asset) {
            self.tell(
                line,
                format!("`{shown}` stands on the air path twice"),
                "write it once, where the air meets it",
            );
            return None;
        }
        match (asset, fed) {
            (Asset::Machine(_), true) => self.tell(
                line,
                format!(
                    "machine `{shown}` stands behind something else: machines draw from outdoors"
                ),
                "put the machines side by side at the beginning: `[[\"K1\", \"K2\"], \"R1\"]`",
            ),
            (Asset::Machine(_), false) | (_, true) => {}
            (_, false) => self.tell(
                line,
                format!("`{shown}` has no machine before it"),
                "begin the path, and each branch at its beginning, with a machine",
            ),
        }
        Some(asset)
    }

    /// Things that the air must go through and that are not on the path. A pipe may be described
    /// beside it.
    fn left_out(&mut self, line: u64) {
        let assets = self.assets;
        for (asset, id) in assets.all() {
            let off = !matches!(asset, Asset::Drain(_) | Asset::Pipe(_))
                && !id.is_empty()
                && !self.used.contains(&asset);
            if off {
                self.tell(
                    line,
                    format!(
                        "`{}` is described but does not stand on the air path",
                        short(id)
                    ),
                    "write it where the air meets it, or take its description out",
                );
            }
        }
    }
}
