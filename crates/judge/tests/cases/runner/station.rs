//! The station of a case: a whole station file, or `like = "…"` and what is different.
//!
//! Tables are merged key by key. Things in lists (`[[machine]]`, `[[vessel]]` …) are merged with the
//! one of the same `id`, tasks with the same `on` and `what`; a new one is added. Everything else is
//! replaced. `without = ["site.price", "filter.F1", "machine.K1.belt"]` takes away.

use std::fs;

use station::file::station::parse;
use station::model::Station;
use toml::{Table, Value};

use super::page::{Block, folder};

/// The station of a case's `toml` block.
///
/// # Errors
/// What is wrong with it.
pub(crate) fn of_block(block: &Block) -> Result<Station, String> {
    let mut own: Table = block
        .text
        .parse()
        .map_err(|e: toml::de::Error| format!("the `toml` block (line {}): {e}", block.line))?;
    let without = own.remove("without");
    let mut whole = match own.remove("like") {
        Some(Value::String(name)) => base(&name)?,
        Some(other) => return Err(format!("`like` names a base station, `{other}` does not")),
        None => Table::new(),
    };
    for path in without
        .as_ref()
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
    {
        let path = path.as_str().unwrap_or_default();
        if !take_away(&mut whole, path) {
            return Err(format!("there is no `{path}` to be without"));
        }
    }
    merge(&mut whole, own);
    let text = toml::to_string(&whole).map_err(|e| e.to_string())?;
    parse(&text).map_err(|problems| {
        let list: Vec<String> = problems
            .iter()
            .map(|p| format!("{}: {}{}", p.at, p.what, hint(p.hint.as_deref())))
            .collect();
        format!(
            "the station is not usable (line {}):\n  {}",
            block.line,
            list.join("\n  ")
        )
    })
}

fn hint(hint: Option<&str>) -> String {
    hint.map_or_else(String::new, |h| format!(" (hint: {h})"))
}

fn base(name: &str) -> Result<Table, String> {
    let path = folder().join("stations").join(format!("{name}.toml"));
    let text = fs::read_to_string(&path)
        .map_err(|e| format!("the base station `{name}` ({}): {e}", path.display()))?;
    text.parse()
        .map_err(|e: toml::de::Error| format!("{}: {e}", path.display()))
}

fn merge(base: &mut Table, own: Table) {
    for (key, value) in own {
        match (base.get_mut(&key), value) {
            (Some(Value::Table(old)), Value::Table(new)) => merge(old, new),
            (Some(Value::Array(old)), Value::Array(new)) if named(old) && named(&new) => {
                for thing in new {
                    merge_thing(old, thing);
                }
            }
            (_, value) => {
                base.insert(key, value);
            }
        }
    }
}

/// Whether these are things with names: a list of machines, of vessels, of tasks.
fn named(list: &[Value]) -> bool {
    list.iter().all(|thing| name(thing).is_some())
}

fn name(thing: &Value) -> Option<(&Value, Option<&Value>)> {
    let table = thing.as_table()?;
    match table.get("id") {
        Some(id) => Some((id, None)),
        None => Some((table.get("on")?, table.get("what"))),
    }
}

fn merge_thing(list: &mut Vec<Value>, thing: Value) {
    let same = list.iter_mut().find(|old| name(old) == name(&thing));
    match (same, thing) {
        (Some(Value::Table(old)), Value::Table(new)) => merge(old, new),
        (_, thing) => list.push(thing),
    }
}

/// Takes away a key, a thing of a list, or a key of a thing; `false` if there is none.
fn take_away(table: &mut Table, path: &str) -> bool {
    if table.remove(path).is_some() {
        return true;
    }
    let Some((first, rest)) = path.split_once('.') else {
        return false;
    };
    match table.get_mut(first) {
        Some(Value::Table(inner)) => take_away(inner, rest),
        Some(Value::Array(list)) => take_from(list, rest),
        _ => false,
    }
}

fn take_from(list: &mut Vec<Value>, path: &str) -> bool {
    let id = |thing: &Value| Some(thing.get("id")?.as_str()?.to_owned());
    if let Some(place) = list
        .iter()
        .position(|thing| id(thing).as_deref() == Some(path))
    {
        list.remove(place);
        return true;
    }
    list.iter_mut().any(|thing| {
        let rest =
            id(thing).and_then(|id| Some(path.strip_prefix(&id)?.strip_prefix('.')?.to_owned()));
        match (rest, thing) {
            (Some(rest), Value::Table(inner)) => take_away(inner, &rest),
            _ => false,
        }
    })
}
