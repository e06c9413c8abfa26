//! Reading the keys of one table: type, unit, limits and default of each, with every problem noted.
//!
//! A value that is there but wrong leaves its problem behind and reads as nothing; the caller goes
//! on, so that all problems of a file come out at once. Must not know: what the keys are for.

mod taken;
mod values;

use std::cell::RefCell;

use super::keys::{Holds, holds, keys_of};
use super::tree::{Node, Table, Value};
use crate::defaults::DefaultUsed;
use crate::file::problem::{Problem, nearest};
use crate::file::unit::short;
use crate::model::Known;

/// What is gathered while a file is read.
#[derive(Default)]
pub(super) struct Gathered {
    pub(super) problems: RefCell<Vec<Problem>>,
    pub(super) defaults: RefCell<Vec<DefaultUsed>>,
}

impl Gathered {
    /// Notes a problem.
    pub(super) fn problem(
        &self,
        line: u64,
        at: impl Into<String>,
        what: impl Into<String>,
        hint: Option<String>,
    ) {
        let problem = Problem {
            line: Some(line),
            at: at.into(),
            what: what.into(),
            hint,
        };
        self.problems.borrow_mut().push(problem);
    }
}

/// `did you mean …?`, if something near is known.
pub(super) fn did_you_mean<'k>(
    word: &str,
    known: impl IntoIterator<Item = &'k str>,
) -> Option<String> {
    nearest(word, known).map(|near| format!("did you mean `{near}`?"))
}

/// `a`, `b` or `c`.
pub(super) fn one_of(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|w| format!("`{w}`")).collect();
    match quoted.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => quoted.concat(),
    }
}

/// A value that was read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Found<T> {
    pub(super) value: T,
    /// Its line.
    pub(super) line: u64,
    /// As written.
    pub(super) text: String,
}

/// A value that was given or is a default.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Taken {
    pub(super) si: f64,
    pub(super) sigma: f64,
    pub(super) given: bool,
    pub(super) line: u64,
    pub(super) text: String,
}

impl Taken {
    /// As the model holds it.
    pub(super) fn known<T>(&self, make: impl Fn(f64) -> T) -> Known<T> {
        Known {
            value: make(self.si),
            sigma: self.sigma,
            given: self.given,
        }
    }
}

const MISSING: &str = "is missing";
/// More entries than any list of a station file has.
const MOST: usize = 1000;

/// One table being read.
#[derive(Clone)]
pub(super) struct Reader<'a> {
    gathered: &'a Gathered,
    table: Option<&'a Table>,
    /// The line on which a missing key is told.
    pub(super) line: u64,
    /// The path of the table in the list of keys: `machine.oil`.
    path: String,
    /// What it belongs to, for messages: `machine K1`.
    name: String,
    /// The name that its defaults are listed under: `K1`.
    id: String,
    /// The keys that lead here, for messages: `oil.`.
    prefix: String,
    incomplete: bool,
    /// What it is like, as messages name it.
    base: Option<String>,
    /// Whether defaults are taken without being listed, because nothing uses them.
    quiet: bool,
}

impl<'a> Reader<'a> {
    /// Opens a table and tells of its unknown keys.
    pub(super) fn open(
        gathered: &'a Gathered,
        table: Option<&'a Table>,
        path: &str,
        name: &str,
        id: &str,
    ) -> Self {
        let reader = Self {
            gathered,
            table,
            line: table.map_or(1, |t| t.line),
            path: path.to_owned(),
            name: name.to_owned(),
            id: id.to_owned(),
            prefix: String::new(),
            incomplete: table.is_some_and(|t| t.incomplete),
            base: table.and_then(|t| match t.entries.get("like").map(|n| &n.value) {
                Some(Value::Text(like)) => Some(format!("{path} {like}")),
                _ => None,
            }),
            quiet: false,
        };
        reader.unknown_keys();
        reader
    }

    /// The same table with its defaults not listed.
    pub(super) fn quietly(&self) -> Self {
        Self {
            quiet: true,
            ..self.clone()
        }
    }

    /// The table under a key; absent, it reads as empty.
    pub(super) fn table(&self, key: &str) -> Self {
        let node = self.node(key);
        let table = match node.map(|n| &n.value) {
            Some(Value::Table(table)) => Some(table),
            Some(other) => {
                let hint = match other {
                    Value::List(_) => format!("write `{key} = {{ … }}`, once"),
                    _ => format!("write `{key} = {{ … }}` with its keys inside"),
                };
                self.wrong(
                    key,
                    format!("a table is expected, found {}", other.words()),
                    Some(hint),
                );
                None
            }
            None => None,
        };
        let reader = Self {
            table,
            line: node.map_or(self.line, |n| n.line),
            path: self.full(key),
            prefix: format!("{}{key}.", self.prefix),
            // A table that is there but no table has no missing keys of its own.
            incomplete: self.incomplete || (node.is_some() && table.is_none()),
            ..self.clone()
        };
        reader.unknown_keys();
        reader
    }

    /// The tables of a list under a key, each with its place in the list.
    pub(super) fn tables(&self, key: &str) -> Option<Found<Vec<Self>>> {
        let node = self.node(key)?;
        let expected = format!("write `{key} = [{{ … }}, {{ … }}]`");
        let Value::List(items) = &node.value else {
            let what = format!("a list of tables is expected, found {}", node.value.words());
            self.wrong(key, what, Some(expected));
            return None;
        };
        let mut readers = Vec::new();
        let mut items: Vec<&Node> = items.iter().collect();
        self.at_most(key, &mut items);
        for (i, item) in items.into_iter().enumerate() {
            let Value::Table(table) = &item.value else {
                let what = format!("a list of tables is expected, found {}", item.value.words());
                self.wrong(key, what, Some(expected));
                return None;
            };
            let reader = Self {
                table: Some(table),
                line: item.line,
                path: self.full(key),
                prefix: format!("{}{key}[{}].", self.prefix, i + 1),
                ..self.clone()
            };
            reader.unknown_keys();
            readers.push(reader);
        }
        Some(Found {
            value: readers,
            line: node.line,
            text: String::new(),
        })
    }

    /// The same table as a thing of its own, for messages: `task 1`.
    pub(super) fn named(&self, name: String) -> Self {
        Self {
            name,
            prefix: String::new(),
            ..self.clone()
        }
    }

    /// The id of the thing that the table belongs to.
    pub(super) fn id(&self) -> &str {
        &self.id
    }

    /// The keys and values of a table whose keys are free, in the order of the file.
    pub(super) fn free(&self, key: &str) -> Vec<(&'a str, &'a Node)> {
        let Some(node) = self.node(key) else {
            return Vec::new();
        };
        let Value::Table(table) = &node.value else {
            let what = format!("a table is expected, found {}", node.value.words());
            self.wrong(
                key,
                what,
                Some("begin it with a header in brackets".to_owned()),
            );
            return Vec::new();
        };
        let mut entries: Vec<_> = table.entries.iter().map(|(k, n)| (k.as_str(), n)).collect();
        entries.sort_by_key(|(_, node)| node.line);
        self.at_most(key, &mut entries);
        entries
    }

    /// Whether the key is there.
    pub(super) fn has(&self, key: &str) -> bool {
        self.node(key).is_some()
    }

    /// The line of a key, or of its table.
    pub(super) fn line_of(&self, key: &str) -> u64 {
        self.node(key).map_or(self.line, |n| n.line)
    }

    /// Notes that the key is missing, unless it is there.
    pub(super) fn need(&self, key: &str) {
        if self.has(key) || self.incomplete || self.told_of_base(key) {
            return;
        }
        let hint = match holds(&self.full(key)) {
            Some(Holds::Quantity(kind, low, high)) => Some(format!(
                "write `{key} = \"…\"`: {} between {low} and {high}",
                kind.name()
            )),
            Some(Holds::Word(words)) => Some(format!("write `{key} = \"…\"`: {}", one_of(words))),
            Some(Holds::Text) => Some(format!("write `{key} = \"…\"`")),
            Some(Holds::Number(low, high, _)) => Some(format!(
                "write `{key} = …`: a number between {low} and {high}"
            )),
            Some(Holds::Months(..)) => Some(format!(
                "write `{key} = [ … ]`: twelve numbers, January first"
            )),
            Some(Holds::Tables) => Some(format!("write `{key} = [{{ … }}, {{ … }}]`")),
            _ => None,
        };
        self.tell(self.line, key, MISSING.to_owned(), hint);
    }

    /// Whether the same key is missing from what this is like, and was told there.
    fn told_of_base(&self, key: &str) -> bool {
        let Some(base) = &self.base else { return false };
        let at = format!("{base}: {}{key}", self.prefix);
        self.gathered
            .problems
            .borrow()
            .iter()
            .any(|p| p.at == at && p.what == MISSING)
    }

    /// Notes that two values contradict each other, or another problem on a line.
    pub(super) fn tell(&self, line: u64, key: &str, what: String, hint: Option<String>) {
        self.gathered.problem(line, self.at(key), what, hint);
    }

    /// Notes that a key has no place here; `why` is the whole sentence.
    pub(super) fn refuse(&self, key: &str, why: &str, hint: &str) {
        if self.has(key) {
            self.tell(
                self.line_of(key),
                key,
                why.to_owned(),
                Some(hint.to_owned()),
            );
        }
    }

    fn node(&self, key: &str) -> Option<&'a Node> {
        self.table.and_then(|t| t.entries.get(key))
    }

    fn full(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    /// The key as messages name it.
    pub(super) fn at(&self, key: &str) -> String {
        let key = format!("{}{}", self.prefix, short(key));
        if self.name.is_empty() {
            key
        } else {
            format!("{}: {key}", self.name)
        }
    }

    /// Notes a problem of one value, unless it is told where the value was written.
    fn wrong(&self, key: &str, what: String, hint: Option<String>) {
        let node = self.node(key);
        if node.is_some_and(|n| n.inherited) {
            return;
        }
        self.tell(node.map_or(self.line, |n| n.line), key, what, hint);
    }

    fn unknown_keys(&self) {
        let Some(table) = self.table else { return };
        for key in table.entries.keys() {
            if keys_of(&self.path).any(|known| known == key) {
                continue;
            }
            let hint = did_you_mean(key, keys_of(&self.path))
                .or_else(|| self.belongs_in(key))
                .unwrap_or_else(|| {
                    let known: Vec<&str> = keys_of(&self.path).collect();
                    format!("known here: {}", known.join(", "))
                });
            let noun = if self.path.is_empty() {
                "table or key"
            } else {
                "key"
            };
            self.wrong(
                key,
                format!("`{}` is no {noun} of the station file", short(key)),
                Some(hint),
            );
        }
    }

    /// A key of a table inside this one, written outside of it.
    fn belongs_in(&self, key: &str) -> Option<String> {
        let inside = keys_of(&self.path)
            .find(|table| keys_of(&self.full(table)).any(|known| known == key))?;
        Some(format!("`{key}` stands inside `{inside}`"))
    }

    /// Keeps the first of what no station has so many of, and says so.
    fn at_most<T>(&self, key: &str, entries: &mut Vec<T>) {
        if entries.len() > MOST {
            let what = format!("has {} entries, and {MOST} are the most", entries.len());
            self.wrong(
                key,
                what,
                Some("look whether it is the right file".to_owned()),
            );
            entries.truncate(MOST);
        }
    }
}
