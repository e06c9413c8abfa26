//! The things of a station file by name: ids, doubles, and what `like` takes over.
//!
//! Must not know: what their keys mean.

use std::collections::BTreeSet;

use super::reader::{Gathered, did_you_mean};
use super::tree::{Node, Table, Value};
use crate::file::unit::short;
use crate::model::Asset;

/// The lists of things, in the order in which the model lists them.
pub(super) const KINDS: &[&str] = &[
    "machine", "vessel", "dryer", "filter", "drain", "pipe", "header",
];

/// One thing with everything that `like` gives it.
pub(super) struct Item {
    /// Its id; empty if it has none that can be used.
    pub(super) id: String,
    /// As messages name it: `machine K1`.
    pub(super) name: String,
    /// What is written about it.
    pub(super) table: Table,
}

/// Every thing of the file.
pub(super) struct Assets {
    lists: Vec<(&'static str, Vec<Item>)>,
}

impl Assets {
    /// Gathers the things and notes what is wrong with their names.
    pub(super) fn gather(gathered: &Gathered, root: &Table) -> Self {
        let mut seen = BTreeSet::new();
        let lists = KINDS
            .iter()
            .map(|kind| {
                let tables = own_tables(gathered, root, kind);
                let named: Vec<(String, String)> = tables
                    .iter()
                    .enumerate()
                    .map(|(i, table)| name(gathered, kind, i, table, &mut seen))
                    .collect();
                let items = (0..tables.len())
                    .map(|i| {
                        let table = resolve(gathered, kind, &tables, &named, i, &mut Vec::new());
                        let (id, name) = named[i].clone();
                        Item { id, name, table }
                    })
                    .collect();
                (*kind, items)
            })
            .collect();
        Self { lists }
    }

    /// The things of a kind.
    pub(super) fn of(&self, kind: &str) -> &[Item] {
        self.lists
            .iter()
            .find(|(k, _)| *k == kind)
            .map_or(&[], |(_, items)| items)
    }

    /// Every thing with its id.
    pub(super) fn all(&self) -> impl Iterator<Item = (Asset, &str)> {
        self.lists.iter().flat_map(|(kind, items)| {
            items.iter().enumerate().map(|(i, item)| {
                let asset = match *kind {
                    "machine" => Asset::Machine(i),
                    "vessel" => Asset::Vessel(i),
                    "dryer" => Asset::Dryer(i),
                    "filter" => Asset::Filter(i),
                    "drain" => Asset::Drain(i),
                    "pipe" => Asset::Pipe(i),
                    _ => Asset::Header(i),
                };
                (asset, item.id.as_str())
            })
        })
    }

    /// The thing of this id; `site` and `room` too.
    pub(super) fn find(&self, id: &str) -> Option<Asset> {
        match id {
            "" => None,
            "site" => Some(Asset::Site),
            "room" => Some(Asset::Room),
            _ => self
                .all()
                .find(|(_, known)| *known == id)
                .map(|(asset, _)| asset),
        }
    }

    /// A word about an id that names nothing.
    pub(super) fn suggest(&self, id: &str, fits: impl Fn(Asset) -> bool) -> String {
        let known: Vec<&str> = self
            .all()
            .filter(|&(a, id)| fits(a) && !id.is_empty())
            .map(|(_, id)| id)
            .collect();
        // Of two letters, one is half the word: every id is as near as the next.
        let near = if id.chars().count() > 2 {
            did_you_mean(id, known.iter().copied())
        } else {
            None
        };
        near.unwrap_or_else(|| {
            if known.is_empty() {
                "describe it first".to_owned()
            } else {
                format!("described are: {}", known.join(", "))
            }
        })
    }
}

/// More things of one kind than any station has.
const MOST: usize = 200;

/// The tables of one list.
fn own_tables(gathered: &Gathered, root: &Table, kind: &str) -> Vec<Table> {
    let Some(node) = root.entries.get(kind) else {
        return Vec::new();
    };
    let hint = Some(format!("begin each one with a line `[[{kind}]]`"));
    let items = match &node.value {
        Value::List(items) => items,
        other => {
            let what = format!("a list of tables is expected, found {}", other.words());
            gathered.problem(node.line, kind, what, hint);
            return Vec::new();
        }
    };
    if items.len() > MOST {
        let what = format!(
            "there are {}, and {MOST} are the most that a station can have",
            items.len()
        );
        let hint = "describe each station in a file of its own".to_owned();
        gathered.problem(node.line, kind, what, Some(hint));
    }
    let mut tables = Vec::new();
    for item in items.iter().take(MOST) {
        if let Value::Table(table) = &item.value {
            let mut table = table.clone();
            table.line = item.line;
            tables.push(table);
        } else {
            let what = format!("a list of tables is expected, found {}", item.value.words());
            gathered.problem(item.line, kind, what, hint.clone());
        }
    }
    tables
}

/// The id of a thing and how messages name it.
fn name(
    gathered: &Gathered,
    kind: &str,
    place: usize,
    table: &Table,
    seen: &mut BTreeSet<String>,
) -> (String, String) {
    let unnamed = format!("{kind} {}", place + 1);
    let hint = if kind == "drain" {
        "write the id of what it drains and `.drain`: `id = \"R1.drain\"`".to_owned()
    } else {
        "write a letter, then letters, digits, `_` and `-`: `id = \"K1\"`".to_owned()
    };
    let (line, id) = match table.entries.get("id") {
        None => {
            gathered.problem(
                table.line,
                format!("{unnamed}: id"),
                "is missing",
                Some(hint),
            );
            return (String::new(), unnamed);
        }
        Some(Node {
            line,
            value: Value::Text(id),
            ..
        }) => (*line, id.clone()),
        Some(Node { line, value, .. }) => {
            let what = format!("a text is expected, found {}", value.words());
            gathered.problem(*line, format!("{unnamed}: id"), what, Some(hint));
            return (String::new(), unnamed);
        }
    };
    let at = format!("{unnamed}: id");
    if id == "site" || id == "room" {
        let what = format!("`{id}` is reserved for the {id} itself");
        gathered.problem(line, at, what, Some("choose another id".to_owned()));
        return (String::new(), unnamed);
    }
    let sound = if kind == "drain" {
        is_drain_id(&id)
    } else {
        is_id(&id)
    };
    if !sound {
        let what = format!("`{}` is no id of a {kind}", short(&id));
        gathered.problem(line, at, what, Some(hint));
        return (String::new(), unnamed);
    }
    if !seen.insert(id.clone()) {
        let what = format!("`{}` is the id of two things", short(&id));
        gathered.problem(
            line,
            at,
            what,
            Some("give each thing an id of its own".to_owned()),
        );
        return (String::new(), format!("{kind} {id}"));
    }
    let name = format!("{kind} {}", short(&id));
    (id, name)
}

/// `[A-Za-z][A-Za-z0-9_-]*`
fn is_id(id: &str) -> bool {
    id.starts_with(|c: char| c.is_ascii_alphabetic())
        && id
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-')
}

/// `<asset>.drain`, `<asset>.drain2` and so on.
fn is_drain_id(id: &str) -> bool {
    let Some((asset, drain)) = id.split_once('.') else {
        return false;
    };
    let Some(number) = drain.strip_prefix("drain") else {
        return false;
    };
    is_id(asset)
        && (number.is_empty()
            || (!number.starts_with('0') && number.parse::<u16>().is_ok_and(|n| n >= 2)))
}

/// Keys that hold only together with another key's value, so that a thing which says that other
/// key itself does not take them over.
const BELONGS_TO: &[(&str, &str, &[&str])] = &[
    (
        "machine",
        "kind",
        &[
            "oil",
            "separator",
            "cooling",
            "intake",
            "stages",
            "lubrication",
        ],
    ),
    ("machine", "control", &["band", "target", "part_load"]),
    ("machine", "drive", &["belt"]),
    ("dryer", "kind", &["purge", "reheat", "derate"]),
    ("drain", "kind", &["open", "every", "orifice"]),
];
/// Keys that are each thing's own.
const OWN: &[&str] = &["id", "like", "order", "inspection"];

/// What is written about a thing, over what it is like.
fn resolve(
    gathered: &Gathered,
    kind: &str,
    tables: &[Table],
    named: &[(String, String)],
    place: usize,
    way: &mut Vec<usize>,
) -> Table {
    let Some(own) = tables.get(place) else {
        return Table::default();
    };
    let Some(node) = own.entries.get("like") else {
        return own.clone();
    };
    let incomplete = || Table {
        incomplete: true,
        ..own.clone()
    };
    // A wrong `like` is told once: for the thing itself, not for those that are like it.
    let tell = |what: String, hint: String| {
        if way.is_empty() {
            let at = format!("{}: like", named.get(place).map_or(kind, |(_, name)| name));
            gathered.problem(node.line, at, what, Some(hint));
        }
    };
    let Value::Text(like) = &node.value else {
        tell(
            format!("a text is expected, found {}", node.value.words()),
            format!("write the id of another {kind}: `like = \"…\"`"),
        );
        return incomplete();
    };
    let Some(base) = named
        .iter()
        .position(|(id, _)| !id.is_empty() && id == like)
    else {
        let known = named
            .iter()
            .map(|(id, _)| id.as_str())
            .filter(|id| !id.is_empty());
        let hint = did_you_mean(like, known)
            .unwrap_or_else(|| format!("write the id of another {kind} of this file"));
        tell(format!("there is no {kind} `{}`", short(like)), hint);
        return incomplete();
    };
    if base == place || way.contains(&base) {
        // Each thing of the circle is told; those that only lead into it are not.
        let first = way.first().copied().unwrap_or(place);
        let line = tables
            .get(first)
            .and_then(|t| t.entries.get("like"))
            .map(|n| n.line);
        if let (true, Some(line)) = (base == first, line) {
            let at = format!("{}: like", named.get(first).map_or(kind, |(_, name)| name));
            let hint = "describe one of them in full, without `like`".to_owned();
            gathered.problem(line, at, "goes round in a circle", Some(hint));
        }
        return incomplete();
    }
    way.push(place);
    let mut merged = resolve(gathered, kind, tables, named, base, way);
    way.pop();
    merged.entries.retain(|key, _| !OWN.contains(&key.as_str()));
    for (of, key, belonging) in BELONGS_TO {
        if *of == kind && says_otherwise(&own.entries.get(*key), &merged.entries.get(*key)) {
            merged
                .entries
                .retain(|key, _| !belonging.contains(&key.as_str()));
        }
    }
    merged.entries.values_mut().for_each(inherit);
    merge(&mut merged, own);
    merged.line = own.line;
    merged
}

fn says_otherwise(own: &Option<&Node>, base: &Option<&Node>) -> bool {
    match (own.map(|n| &n.value), base.map(|n| &n.value)) {
        (Some(Value::Text(own)), Some(Value::Text(base))) => own != base,
        (Some(_), _) => true,
        (None, _) => false,
    }
}

fn inherit(node: &mut Node) {
    node.inherited = true;
    match &mut node.value {
        Value::List(items) => items.iter_mut().for_each(inherit),
        Value::Table(table) => table.entries.values_mut().for_each(inherit),
        _ => {}
    }
}

/// Puts `over` over `table`: tables key by key, everything else replaced.
fn merge(table: &mut Table, over: &Table) {
    for (key, node) in &over.entries {
        match (table.entries.get_mut(key), &node.value) {
            (
                Some(Node {
                    value: Value::Table(base),
                    line,
                    inherited,
                }),
                Value::Table(own),
            ) => {
                merge(base, own);
                base.line = own.line;
                *line = node.line;
                *inherited = false;
            }
            _ => {
                table.entries.insert(key.clone(), node.clone());
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_letters_first_and_drains_name_their_asset() {
        for good in ["K1", "k", "ring_main-2"] {
            assert!(is_id(good), "{good}");
        }
        for bad in ["", "1K", "K 1", "K1.x", "Kä", "-K"] {
            assert!(!is_id(bad), "{bad}");
        }
        for good in ["K1.drain", "K1.drain2", "R1.drain10"] {
            assert!(is_drain_id(good), "{good}");
        }
        for bad in [
            "K1",
            "K1.drain1",
            "K1.drain0",
            "K1.drain02",
            "K1.trap",
            ".drain",
            "K1.x.drain",
        ] {
            assert!(!is_drain_id(bad), "{bad}");
        }
    }
}
