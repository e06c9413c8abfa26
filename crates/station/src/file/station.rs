//! The station file: TOML text to a [`Station`], or every problem of the file at once.
//!
//! The text becomes a tree that knows the line of every value (`tree`); [`keys`] lists every key
//! with its unit and limits; `reader` reads one table by that list and notes what is wrong; the
//! other modules say what the keys of each thing mean and which values contradict each other. What
//! the file leaves out is taken from [`crate::defaults`] and listed in [`Station::defaults_used`].
//!
//! Must not know: paths, rounds, the forward model.

mod air_path;
mod assets;
mod bytes;
mod hours;
pub(crate) mod keys;
mod machine;
mod reader;
mod records;
mod site;
mod treatment;
mod tree;

use std::collections::{BTreeMap, BTreeSet};

use assets::{Assets, Item};
use reader::{Gathered, Reader};
use tree::{Table, Value};

use super::problem::Problem;
use crate::air_path::AirPath;
use crate::model::{Asset, Machine, Station};

/// The commented station file to start from: complete, and valid as it stands.
pub const TEMPLATE: &str = include_str!("template.toml");

/// Reads a station file.
///
/// # Errors
/// Every problem of the file, sorted by line.
pub fn parse(text: &str) -> Result<Station, Vec<Problem>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.len() > bytes::LARGEST {
        return Err(vec![bytes::too_large()]);
    }
    if text.trim().is_empty() {
        return Err(vec![Problem {
            line: None,
            at: String::new(),
            what: "the station file is empty".to_owned(),
            hint: Some("begin with `calcant station new`, which writes a commented one".to_owned()),
        }]);
    }
    let root = tree::read(text).map_err(tidy)?;
    let gathered = Gathered::default();
    let station = read(&gathered, &root);
    let problems = gathered.problems.into_inner();
    match station {
        Some(mut station) if problems.is_empty() => {
            station.defaults_used = gathered.defaults.into_inner();
            Ok(station)
        }
        _ => Err(tidy(problems)),
    }
}

/// Reads a station file as it lies on disk: UTF-8, with or without a byte-order mark.
///
/// # Errors
/// As [`parse`]; other encodings and what is no text are refused.
pub fn parse_bytes(bytes: &[u8]) -> Result<Station, Vec<Problem>> {
    parse(bytes::text(bytes).map_err(|problem| vec![*problem])?)
}

/// Every key of the station file, by its path: `machine.oil.held_at`.
pub fn keys() -> impl Iterator<Item = &'static str> {
    keys::KEYS.iter().map(|(path, _)| *path)
}

/// Sorted by line, and each problem once: a thing that is like another repeats its contradictions.
fn tidy(mut problems: Vec<Problem>) -> Vec<Problem> {
    let mut seen = BTreeSet::new();
    problems.retain(|p| seen.insert((p.line, p.what.clone(), last_key(&p.at).to_owned())));
    problems.sort_by(|a, b| a.line.cmp(&b.line).then_with(|| a.at.cmp(&b.at)));
    if problems.is_empty() {
        // Nothing is refused without a sentence.
        problems.push(Problem {
            line: None,
            at: String::new(),
            what: "the station file cannot be used".to_owned(),
            hint: None,
        });
    }
    problems
}

fn last_key(at: &str) -> &str {
    at.rsplit(": ").next().unwrap_or(at)
}

fn read(gathered: &Gathered, root: &Table) -> Option<Station> {
    let file = Reader::open(gathered, Some(root), "", "", "");
    version(gathered, root);
    let assets = Assets::gather(gathered, root);
    if assets.of("machine").is_empty() && !root.entries.contains_key("machine") {
        let hint = "describe at least one machine below a line `[[machine]]`".to_owned();
        gathered.problem(1, "machine", "is missing", Some(hint));
    }
    let path = air_path::read(gathered, root, &assets);
    let drained: BTreeSet<Asset> = assets
        .of("drain")
        .iter()
        .filter_map(|item| treatment::drained_asset(&assets, &item.id))
        .collect();

    let site = site::site(&open_table(&file, gathered, root, "site"));
    let room = site::room(&open_table(&file, gathered, root, "room"));
    let machines = machines(gathered, &assets, &drained);
    let before = path
        .as_ref()
        .map(AirPath::machines_before)
        .unwrap_or_default();
    let air: BTreeMap<Asset, f64> = before
        .into_iter()
        .filter_map(|(asset, from)| {
            let fads = from
                .iter()
                .map(|&i| machines.get(i)?.as_ref().map(|m| m.rated.fad.value.si()));
            Some((asset, fads.sum::<Option<f64>>()?))
        })
        .collect();
    let is_drained = |asset| drained.contains(&asset);
    let fed = |asset| air.get(&asset).copied();

    let vessels = each(gathered, &assets, "vessel", |i, r, item| {
        treatment::vessel(r, &item.id, is_drained(Asset::Vessel(i)))
    });
    let dryers = each(gathered, &assets, "dryer", |i, r, item| {
        treatment::dryer(
            r,
            &item.id,
            is_drained(Asset::Dryer(i)),
            fed(Asset::Dryer(i)),
        )
    });
    let filters = each(gathered, &assets, "filter", |i, r, item| {
        treatment::filter(
            r,
            &item.id,
            is_drained(Asset::Filter(i)),
            fed(Asset::Filter(i)),
        )
    });
    let drains = each(gathered, &assets, "drain", |_, r, item| {
        treatment::drain(r, &item.id, &assets)
    });
    let pipes = each(gathered, &assets, "pipe", |_, r, item| {
        treatment::pipe(r, &item.id)
    });
    let headers = each(gathered, &assets, "header", |_, r, item| {
        Some(treatment::header(r, &item.id))
    });
    let tasks = file
        .tables("task")
        .map(|found| found.value)
        .unwrap_or_default();
    let tasks: Vec<_> = tasks
        .iter()
        .zip(1..)
        .map(|(r, n)| records::task(&r.named(format!("task {n}")), &assets))
        .collect();
    let accuracies = records::accuracies(gathered, &file, &assets);
    let log_columns = records::log_columns(gathered, &file.table("log"), &assets);

    Some(Station {
        site: site?,
        room,
        machines: machines.into_iter().collect::<Option<_>>()?,
        vessels: vessels?,
        dryers: dryers?,
        filters: filters?,
        drains: drains?,
        pipes: pipes?,
        headers: headers?,
        tasks: tasks.into_iter().collect::<Option<_>>()?,
        air_path: path?,
        accuracies,
        log_columns,
        defaults_used: Vec::new(),
    })
}

/// `calcant = 1`.
fn version(gathered: &Gathered, root: &Table) {
    let hint = "write `calcant = 1` on the first line".to_owned();
    match root.entries.get("calcant") {
        None => gathered.problem(1, "calcant", "is missing", Some(hint)),
        Some(node) => match &node.value {
            Value::Number(_, text) if text == "1" => {}
            Value::Number(_, text) => gathered.problem(
                node.line,
                "calcant",
                format!(
                    "version {} of the file format is not known here",
                    super::unit::short(text)
                ),
                Some("this program reads version 1".to_owned()),
            ),
            other => {
                let what = format!("the number 1 is expected, found {}", other.words());
                gathered.problem(node.line, "calcant", what, Some(hint));
            }
        },
    }
}

/// A table of the file itself; its defaults are listed under its own name.
fn open_table<'a>(
    file: &Reader<'a>,
    gathered: &'a Gathered,
    root: &'a Table,
    key: &str,
) -> Reader<'a> {
    match root.entries.get(key).map(|node| &node.value) {
        Some(Value::Table(table)) => Reader::open(gathered, Some(table), key, key, key),
        Some(_) => file.table(key),
        None => Reader::open(gathered, None, key, key, key),
    }
}

fn machines(
    gathered: &Gathered,
    assets: &Assets,
    drained: &BTreeSet<Asset>,
) -> Vec<Option<Machine>> {
    let items = assets.of("machine");
    let readers: Vec<Reader<'_>> = items
        .iter()
        .map(|item| open(gathered, "machine", item))
        .collect();
    let orders = orders(&readers);
    let read = readers.iter().zip(items).zip(orders).enumerate();
    read.map(|(i, ((r, item), order))| {
        machine::machine(r, &item.id, order, drained.contains(&Asset::Machine(i)))
    })
    .collect()
}

/// The order of each machine: as given, else the first number that is free.
fn orders(readers: &[Reader<'_>]) -> Vec<u32> {
    let given: Vec<Option<u32>> = readers
        .iter()
        .map(|r| r.count("order").map(|f| f.value))
        .collect();
    let mut taken: BTreeSet<u32> = BTreeSet::new();
    for (r, order) in readers.iter().zip(&given) {
        if let Some(order) = order
            && !taken.insert(*order)
        {
            let hint = "give each machine a place of its own: 1 takes load first".to_owned();
            let what = format!("{order} is the place of two machines");
            r.tell(r.line_of("order"), "order", what, Some(hint));
        }
    }
    given
        .into_iter()
        .map(|order| {
            order.unwrap_or_else(|| {
                let free = (1..).find(|n| !taken.contains(n)).unwrap_or(1);
                taken.insert(free);
                free
            })
        })
        .collect()
}

fn open<'a>(gathered: &'a Gathered, kind: &str, item: &'a Item) -> Reader<'a> {
    Reader::open(gathered, Some(&item.table), kind, &item.name, &item.id)
}

/// Reads each thing of a kind; `None` if any of them cannot be used.
fn each<T>(
    gathered: &Gathered,
    assets: &Assets,
    kind: &str,
    read: impl Fn(usize, &Reader<'_>, &Item) -> Option<T>,
) -> Option<Vec<T>> {
    let read: Vec<Option<T>> = assets
        .of(kind)
        .iter()
        .enumerate()
        .map(|(i, item)| read(i, &open(gathered, kind, item), item))
        .collect();
    read.into_iter().collect()
}
