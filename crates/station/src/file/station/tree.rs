//! The TOML of a station file as a tree in which every value knows its line.
//!
//! Must not know: which keys mean what.

use std::collections::BTreeMap;

use jiff::civil::Date;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::file::problem::Problem;

/// A value and where it is written.
#[derive(Debug, Clone)]
pub(super) struct Node {
    /// The line of the key, or of the value in a list.
    pub(super) line: u64,
    /// Whether it came through `like`; what is wrong with it is told where it was written.
    pub(super) inherited: bool,
    /// The value.
    pub(super) value: Value,
}

/// What can be written.
#[derive(Debug, Clone)]
pub(super) enum Value {
    Text(String),
    /// The number and how it was written.
    Number(f64, String),
    Yes(bool),
    /// A day; `None` if it carries a time or is only a time.
    Day(Option<Date>),
    List(Vec<Node>),
    Table(Table),
}

impl Value {
    /// What it is, in plain words.
    pub(super) fn words(&self) -> String {
        match self {
            Self::Text(_) => "a text".to_owned(),
            Self::Number(_, text) => format!("the number {}", crate::file::unit::short(text)),
            Self::Yes(yes) => format!("`{yes}`"),
            Self::Day(_) => "a date or time".to_owned(),
            Self::List(_) => "a list".to_owned(),
            Self::Table(_) => "a table".to_owned(),
        }
    }
}

/// A table and where it begins.
#[derive(Debug, Clone, Default)]
pub(super) struct Table {
    /// The line of its header or brace.
    pub(super) line: u64,
    /// Its keys.
    pub(super) entries: BTreeMap<String, Node>,
    /// Whether its `like` could not be followed, so that missing keys mean nothing.
    pub(super) incomplete: bool,
}

/// More faults of syntax than this come from the first of them.
const TOLD: usize = 5;

/// Reads the text.
///
/// # Errors
/// What is no TOML, by line.
pub(super) fn read(text: &str) -> Result<Table, Vec<Problem>> {
    let lines = Lines::new(text);
    let (table, errors) = DeTable::parse_recoverable(text);
    if errors.is_empty() {
        return Ok(lines.table(table.get_ref(), 1));
    }
    let mut problems: Vec<Problem> = Vec::new();
    for error in errors {
        let line = error.span().map(|span| lines.line(span.start));
        if problems.iter().any(|p| p.line == line) {
            continue;
        }
        let message = error
            .message()
            .trim()
            .trim_end_matches(", expected nothing");
        problems.push(Problem {
            line,
            at: String::new(),
            what: format!("this is not valid TOML: {message}"),
            hint: Some(mend(message).to_owned()),
        });
    }
    problems.sort_by_key(|p| p.line);
    let open = |p: &Problem| p.what.contains("unclosed") || p.what.contains("comma between");
    if problems.len() > TOLD || problems.first().is_some_and(open) {
        // A bracket or a quote that is not closed makes faults of the lines behind it.
        problems.truncate(1);
    }
    Err(problems)
}

/// How a fault of syntax is mended, by the words that describe it.
fn mend(message: &str) -> &'static str {
    const WAYS: &[(&str, &str)] = &[
        (
            "duplicate key",
            "the same key or table stands twice: keep one of them",
        ),
        (
            "must be quoted",
            "put the value in quotes: `key = \"value\"`",
        ),
        (
            "invalid basic string",
            "close the quotes on the same line: `key = \"value\"`",
        ),
        ("unclosed inline table", "close the table with `}`"),
        ("unclosed array table", "close the header: `[[machine]]`"),
        ("unclosed array", "close the list with `]`"),
        ("unclosed table", "close the header: `[site]`"),
        (
            "comma between key-value pairs",
            "put one comma between two values, and close each table with `}`; look at the line before, too",
        ),
        ("comma", "put one comma between two values: `a = 1, b = 2`"),
        ("key with no value", "write `key = value`"),
        ("missing value", "write a value after the `=`"),
        ("missing assignment", "write `key = value`"),
        (
            "invalid unquoted key",
            "write the key with letters, digits, `_` and `-` only",
        ),
        (
            "invalid float",
            "a number is `7.5`, a day is `2026-03-01`; anything else stands in quotes",
        ),
        (
            "leading zero",
            "write the number without a leading zero; a date is `2026-03-01`",
        ),
        (
            "recursion limit",
            "lists and tables stand too deep inside one another",
        ),
        (
            "recurse further",
            "lists and tables stand too deep inside one another",
        ),
    ];
    WAYS.iter()
        .find(|(words, _)| message.contains(words))
        .map_or(
            "each line is `key = value`, `[table]`, `[[list of tables]]` or `# comment`",
            |w| w.1,
        )
}

/// Where the lines of a text begin.
struct Lines {
    starts: Vec<usize>,
}

impl Lines {
    fn new(text: &str) -> Self {
        let breaks = text
            .bytes()
            .enumerate()
            .filter(|&(_, b)| b == b'\n')
            .map(|(i, _)| i + 1);
        Self {
            starts: std::iter::once(0).chain(breaks).collect(),
        }
    }

    fn line(&self, offset: usize) -> u64 {
        self.starts.partition_point(|&start| start <= offset) as u64
    }

    fn table(&self, table: &DeTable<'_>, line: u64) -> Table {
        let mut entries = BTreeMap::new();
        for (key, value) in table {
            let line = self.line(key.span().start);
            entries.insert(key.get_ref().to_string(), self.node(value, line));
        }
        Table {
            line,
            entries,
            incomplete: false,
        }
    }

    fn node(&self, value: &Spanned<DeValue<'_>>, line: u64) -> Node {
        let value = match value.get_ref() {
            DeValue::String(text) => Value::Text(text.to_string()),
            DeValue::Integer(number) => {
                let digits = number.as_str();
                let value = match number.radix() {
                    10 => digits.parse().ok(),
                    #[expect(
                        clippy::cast_precision_loss,
                        reason = "a rounded number is refused by its range just the same"
                    )]
                    radix => i128::from_str_radix(digits, radix).ok().map(|n| n as f64),
                };
                Value::Number(value.unwrap_or(f64::INFINITY), number.to_string())
            }
            DeValue::Float(number) => Value::Number(
                number.as_str().parse().unwrap_or(f64::NAN),
                number.to_string(),
            ),
            DeValue::Boolean(yes) => Value::Yes(*yes),
            DeValue::Datetime(at) => {
                let day = at.date.filter(|_| at.time.is_none() && at.offset.is_none());
                Value::Day(day.and_then(|d| {
                    let [year, month, day] = [d.year, d.month.into(), d.day.into()]
                        .map(|n: u16| i16::try_from(n).unwrap_or(i16::MAX));
                    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
                }))
            }
            DeValue::Array(list) => Value::List(
                list.iter()
                    .map(|item| self.node(item, self.line(item.span().start)))
                    .collect(),
            ),
            DeValue::Table(table) => Value::Table(self.table(table, line)),
        };
        Node {
            line,
            inherited: false,
            value,
        }
    }
}
