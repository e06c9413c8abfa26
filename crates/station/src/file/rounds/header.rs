//! The header: which column says what.
//!
//! `<asset>.<point> [unit]`: the point is what follows the last dot, the unit stands between the
//! first ` [` and the final `]`. Every problem of the header is told at once.
//!
//! Must not know: rows.

use super::cell::near_id;
use super::source::Header;
use crate::file::problem::Problem;
use crate::file::unit::{Unit, short, unit};
use crate::model::{Asset, Station};
use crate::point::{Dimension, Point, PointId, Word};

/// One column.
#[derive(Debug)]
pub(super) struct Column {
    /// Its header, as written.
    pub(super) header: String,
    pub(super) role: Role,
}

/// What a column says.
#[derive(Debug)]
pub(super) enum Role {
    Time,
    Who,
    Note,
    Done,
    Point(PointColumn),
    /// Begins with `#`.
    LeftOut,
    /// Has no header; its cells must be empty.
    Nameless,
}

/// A column of readings.
#[derive(Debug)]
pub(super) struct PointColumn {
    pub(super) id: PointId,
    /// Its unit; for counts and shares one without a name.
    pub(super) unit: Unit,
    /// The lowest value that can be read, SI.
    pub(super) low: f64,
    /// The highest value that can be read, SI.
    pub(super) high: f64,
    pub(super) words: Option<&'static [Word]>,
    /// Whether its values are whole numbers.
    pub(super) whole: bool,
    /// Whether it is a relative humidity, which is easily written as a share.
    pub(super) humidity: bool,
    /// Which counter it is, among the counters of the file.
    pub(super) counter: Option<usize>,
}

/// The columns of a header.
pub(super) fn columns(header: &Header, station: &Station) -> Result<Vec<Column>, Vec<Problem>> {
    let mut problems = Vec::new();
    let mut columns: Vec<Column> = Vec::new();
    let mut counters = 0;
    for text in &header.cells {
        let text = text.trim();
        match role(text, station, &mut counters) {
            Ok(role) => {
                if columns.iter().any(|column| same(&column.role, &role)) {
                    problems.push(Problem {
                        line: Some(header.line),
                        at: short(text),
                        what: "this column stands in the header twice".to_owned(),
                        hint: Some(
                            "keep one of them, or begin the other's header with `#` to leave it out"
                                .to_owned(),
                        ),
                    });
                }
                columns.push(Column {
                    header: text.to_owned(),
                    role,
                });
            }
            Err((what, hint)) => problems.push(Problem {
                line: Some(header.line),
                at: short(text),
                what,
                hint: Some(hint),
            }),
        }
    }
    let timed = |c: &Column| matches!(c.role, Role::Time);
    if !columns.iter().any(timed) && !header.cells.iter().any(|c| is_like_time(c)) {
        problems.push(Problem {
            line: Some(header.line),
            at: String::new(),
            what: "there is no column `time`".to_owned(),
            hint: Some(
                "the first line names the columns, separated by commas, semicolons or tabs: \
                 `time,K1.pressure [bar(g)]`"
                    .to_owned(),
            ),
        });
    }
    if problems.is_empty() {
        Ok(columns)
    } else {
        Err(problems)
    }
}

/// Whether it is `time` in other letters, which has its own problem already.
fn is_like_time(cell: &str) -> bool {
    cell.trim().eq_ignore_ascii_case("time")
}

fn same(a: &Role, b: &Role) -> bool {
    match (a, b) {
        (Role::Point(a), Role::Point(b)) => a.id == b.id,
        (Role::LeftOut, _) | (Role::Nameless, _) => false,
        _ => std::mem::discriminant(a) == std::mem::discriminant(b),
    }
}

const PLAIN: [&str; 4] = ["time", "who", "note", "done"];

fn role(text: &str, station: &Station, counters: &mut usize) -> Result<Role, (String, String)> {
    match text {
        "" => return Ok(Role::Nameless),
        "time" => return Ok(Role::Time),
        "who" => return Ok(Role::Who),
        "note" => return Ok(Role::Note),
        "done" => return Ok(Role::Done),
        _ if text.starts_with('#') => return Ok(Role::LeftOut),
        _ => {}
    }
    let (name, written) = match text.split_once(" [") {
        Some((name, rest)) => match rest.strip_suffix(']') {
            Some(written) => (name.trim(), Some(written)),
            None => {
                return Err((
                    "the unit is not closed with `]`".to_owned(),
                    format!("write `{}]`", short(text)),
                ));
            }
        },
        None => (text, None),
    };
    if let Some((before, _)) = name.split_once('[') {
        return Err((
            "there is no space before the unit".to_owned(),
            format!(
                "write `{} {}`",
                short(before),
                short(text.get(before.len()..).unwrap_or(""))
            ),
        ));
    }
    let id = point(name, station)?;
    let dimension = id.point.dimension();
    let (low, high) = id.point.plausible();
    let unit = match (dimension.kind(), written) {
        (Some(kind), written) => unit(kind, written.unwrap_or_default()).map_err(|problem| {
            let first = kind.units().first().map_or("", |u| u.name);
            let example = format!("`{} [{first}]`", short(name));
            let hint = match problem.hint {
                Some(hint) => format!("{hint}; for example {example}"),
                None => format!("write {example}"),
            };
            (problem.what, hint)
        })?,
        (None, Some(written)) => {
            return Err((
                format!(
                    "`{}` carries no unit, and `[{}]` is one",
                    short(name),
                    short(written)
                ),
                format!("write `{}` alone", short(name)),
            ));
        }
        (None, None) => Unit {
            name: "",
            factor: 1.0,
            offset: 0.0,
        },
    };
    let counter = id.point.is_counter().then(|| {
        *counters += 1;
        *counters - 1
    });
    let words = match dimension {
        Dimension::Words(words) => Some(words),
        _ => None,
    };
    let whole = matches!(dimension, Dimension::Count);
    let humidity = matches!(dimension, Dimension::Humidity);
    Ok(Role::Point(PointColumn {
        id,
        unit,
        low,
        high,
        words,
        whole,
        humidity,
        counter,
    }))
}

/// The point of this name.
fn point(name: &str, station: &Station) -> Result<PointId, (String, String)> {
    let ids = || station.assets().map(|asset| station.id(asset));
    let Some((id, point)) = name.rsplit_once('.') else {
        let meant = near_id(name, PLAIN.into_iter());
        return Err((
            "this is not a column of rounds".to_owned(),
            match meant {
                Some(plain) => format!("did you mean `{plain}`? {LEAVE_OUT}"),
                None => format!("write `<asset>.<point> [unit]`. {LEAVE_OUT}"),
            },
        ));
    };
    let Some(asset) = station.asset(id) else {
        return Err((
            format!("`{}` is nothing on this station", short(id)),
            match near_id(id, ids().collect::<Vec<_>>().into_iter()) {
                Some(near) => format!("did you mean `{near}.{}`? {LEAVE_OUT}", short(point)),
                None => format!("write an id of the station file. {LEAVE_OUT}"),
            },
        ));
    };
    let found = asset.on().and_then(|on| Point::named(on, point));
    found
        .map(|point| PointId { asset, point })
        .ok_or_else(|| no_such_point(id, asset, point))
}

const LEAVE_OUT: &str = "A header that begins with `#` is left out";

fn no_such_point(id: &str, asset: Asset, point: &str) -> (String, String) {
    let names: Vec<&str> = asset.on().map_or_else(Vec::new, |on| {
        Point::ALL
            .iter()
            .filter(|p| p.on() == on)
            .map(|p| p.name())
            .collect()
    });
    if names.is_empty() {
        return (
            format!("nothing is read on `{}`", short(id)),
            format!("take the column out. {LEAVE_OUT}"),
        );
    }
    (
        format!("`{}` has no `{}`", short(id), short(point)),
        match near_id(point, names.iter().copied()) {
            Some(near) => format!("did you mean `{id}.{near}`? {LEAVE_OUT}"),
            None => format!("what is read there: `{}`. {LEAVE_OUT}", names.join("`, `")),
        },
    )
}
