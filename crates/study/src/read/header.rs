//! The header of a log: which column says what.
//!
//! `time` and `<asset>.<point> [unit]` as in rounds, `running` and `loaded` on machines, and foreign
//! headers by the renames of the caller and of the station file. A header that names a thing of the
//! station and then says something unknown is a slip and is refused; one that names nothing of
//! the station is left out, and told. Every problem is told at once.
//!
//! Must not know: rows.

use station::file::problem::{Problem, nearest};
use station::file::unit::{Unit, short, unit};
use station::model::{Asset, Station};
use station::point::{Dimension, On, Point, PointId};

use crate::channel::Channel;

/// One column.
#[derive(Debug, Clone)]
pub(crate) struct Column {
    /// Its header, as written.
    pub(crate) header: String,
    pub(crate) role: Role,
}

/// What a column says.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Role {
    Time,
    Value(Value),
    LeftOut,
}

/// A column of readings or of a signal.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Value {
    pub(crate) channel: Channel,
    pub(crate) unit: Unit,
    /// Whether 0 means 1.
    pub(crate) inverted: bool,
    /// The values that can be read at all, SI.
    pub(crate) low: f64,
    pub(crate) high: f64,
}

type Refusal = (String, Option<String>);

/// The columns of a header on this line, or of a table, which has none.
pub(crate) fn columns(
    cells: &[String],
    line: Option<u64>,
    station: &Station,
    map: &[(String, String)],
) -> Result<Vec<Column>, Vec<Problem>> {
    let mut problems = Vec::new();
    let mut columns: Vec<Column> = Vec::new();
    let mut problem = |at: &str, (what, hint): Refusal| {
        problems.push(Problem {
            line,
            at: short(at),
            what,
            hint,
        });
    };
    for text in cells {
        let text = text.trim();
        let renames = map.iter().chain(&station.log_columns);
        let meant = renames
            .into_iter()
            .find(|(foreign, _)| foreign.trim() == text);
        let meaning = meant.map_or(text, |(_, meaning)| meaning.trim());
        match role(meaning, station, meant.is_some()) {
            Ok(role) => {
                if columns.iter().any(|column| same(&column.role, &role)) {
                    let hint =
                        "keep one of them, or begin the other's header with `#` to leave it out";
                    problem(
                        text,
                        (
                            "this column stands in the header twice".to_owned(),
                            Some(hint.to_owned()),
                        ),
                    );
                }
                columns.push(Column {
                    header: text.to_owned(),
                    role,
                });
            }
            Err(refusal) => problem(text, refusal),
        }
    }
    let has = |wanted: fn(&Role) -> bool| columns.iter().any(|c| wanted(&c.role));
    let timed = has(|r| matches!(r, Role::Time));
    let valued = has(|r| matches!(r, Role::Value(_)));
    if problems.is_empty() && !timed {
        let near = cells.iter().map(|c| c.trim()).find(|c| is_like_time(c));
        let hint = match near {
            Some(near) => format!("if `{0}` is it, map it: `\"{0}\" = \"time\"`", short(near)),
            None if line.is_none() => {
                "name a column `time`, or map the logger's own: `\"Clock\" = \"time\"`".to_owned()
            }
            None => "the first line names the columns, separated by commas, semicolons or tabs: \
                     `time,K1.power [kW]`"
                .to_owned(),
        };
        problems.push(whole_header(line, "there is no column `time`", hint));
    } else if problems.is_empty() && !valued {
        let hint = "name a column `K1.power [kW]` or `MAIN.pressure [bar(g)]`, or map the logger's \
                    own headers";
        let what = "no column says anything about this station";
        problems.push(whole_header(line, what, hint.to_owned()));
    }
    if problems.is_empty() {
        Ok(columns)
    } else {
        Err(problems)
    }
}

fn whole_header(line: Option<u64>, what: &str, hint: String) -> Problem {
    Problem {
        line,
        at: "header".to_owned(),
        what: what.to_owned(),
        hint: Some(hint),
    }
}

fn is_like_time(cell: &str) -> bool {
    let cell = cell.to_lowercase();
    ["time", "date", "timestamp", "datetime"]
        .iter()
        .any(|word| cell.contains(word))
}

fn same(a: &Role, b: &Role) -> bool {
    match (a, b) {
        (Role::Time, Role::Time) => true,
        (Role::Value(a), Role::Value(b)) => a.channel == b.channel,
        _ => false,
    }
}

fn role(text: &str, station: &Station, mapped: bool) -> Result<Role, Refusal> {
    if text == "time" {
        return Ok(Role::Time);
    }
    if text.is_empty() || text.starts_with('#') {
        return Ok(Role::LeftOut);
    }
    let negated = text.strip_prefix("not ").map(str::trim);
    let plain = negated.unwrap_or(text);
    let (name, written) = match plain.split_once(" [") {
        Some((name, rest)) => (name.trim(), Some(rest.strip_suffix(']'))),
        None => (plain, None),
    };
    let Some((id, point)) = name.rsplit_once('.') else {
        return foreign(mapped, text);
    };
    let Some(asset) = station.asset(id) else {
        let near = nearest(
            id,
            station
                .assets()
                .map(|a| station.id(a))
                .filter(|n| n.len() > 1),
        );
        let known =
            Point::ALL.iter().any(|p| p.name() == point) || matches!(point, "running" | "loaded");
        return match near {
            Some(near) if known => Err((
                format!("`{}` is nothing on this station", short(id)),
                Some(format!("did you mean `{near}.{point}`?")),
            )),
            _ => foreign(mapped, text),
        };
    };
    let found = channel(station, id, asset, point)?;
    let signal = matches!(found, Channel::Running(_) | Channel::Loaded(_));
    if negated.is_some() && !signal {
        return Err((
            format!("`{}` cannot be turned round", short(text)),
            Some("`not` stands before `running` or `loaded` only".to_owned()),
        ));
    }
    let unit = match written {
        Some(None) => {
            let hint = format!("write `{}]`", short(plain));
            return Err(("the unit is not closed with `]`".to_owned(), Some(hint)));
        }
        Some(written) => unit_of(found, name, written)?,
        None => unit_of(found, name, None)?,
    };
    let (low, high) = match found {
        Channel::Point(id) => id.point.plausible(),
        _ => (0.0, 1.0),
    };
    Ok(Role::Value(Value {
        channel: found,
        unit,
        inverted: negated.is_some(),
        low,
        high,
    }))
}

/// A header that names nothing of the station: left out, unless it is the meaning of a rename.
fn foreign(mapped: bool, text: &str) -> Result<Role, Refusal> {
    if mapped {
        return Err((
            format!(
                "it is mapped to `{}`, which is nothing on this station",
                short(text)
            ),
            Some(
                "map it to `time`, `K1.power [kW]`, `K1.running`, `not K1.loaded` or the like"
                    .to_owned(),
            ),
        ));
    }
    Ok(Role::LeftOut)
}

fn channel(station: &Station, id: &str, asset: Asset, point: &str) -> Result<Channel, Refusal> {
    match (asset, point) {
        (Asset::Machine(machine), "running") => return Ok(Channel::Running(machine)),
        (Asset::Machine(machine), "loaded") => return Ok(Channel::Loaded(machine)),
        _ => {}
    }
    let on = asset.on();
    let numbers = |p: &Point| !matches!(p.dimension(), Dimension::Words(_));
    if let Some(found) = on.and_then(|on| Point::named(on, point)) {
        if !numbers(&found) {
            return Err((
                format!(
                    "`{}.{point}` is said in words, and a log holds numbers",
                    station.id(asset)
                ),
                Some("leave it out with `#`, or map it to `running` or `loaded`".to_owned()),
            ));
        }
        return Ok(Channel::Point(PointId {
            asset,
            point: found,
        }));
    }
    let on_it = |p: &&Point| Some(p.on()) == on && numbers(p);
    let mut names: Vec<&str> = Point::ALL.iter().filter(on_it).map(|p| p.name()).collect();
    if on == Some(On::Machine) {
        names.extend(["running", "loaded"]);
    }
    let hint = match nearest(point, names.iter().copied()) {
        Some(near) => format!("did you mean `{id}.{near}`?"),
        None if names.is_empty() => "begin its header with `#` to leave it out".to_owned(),
        None => format!(
            "what is logged there: `{}`; or begin its header with `#`",
            names.join("`, `")
        ),
    };
    Err((
        format!("`{}` has no `{}`", short(id), short(point)),
        Some(hint),
    ))
}

fn unit_of(channel: Channel, name: &str, written: Option<&str>) -> Result<Unit, Refusal> {
    let none = Unit {
        name: "",
        factor: 1.0,
        offset: 0.0,
    };
    let kind = match channel {
        Channel::Point(id) => id.point.dimension().kind(),
        _ => None,
    };
    match (kind, written) {
        (Some(kind), written) => unit(kind, written.unwrap_or_default()).map_err(|problem| {
            let first = kind.units().first().map_or("", |u| u.name);
            let example = format!("`{} [{first}]`", short(name));
            let hint = match problem.hint {
                Some(hint) => format!("{hint}; for example {example}"),
                None => format!("write {example}"),
            };
            (problem.what, Some(hint))
        }),
        (None, Some(written)) => Err((
            format!(
                "`{}` carries no unit, and `[{}]` is one",
                short(name),
                short(written)
            ),
            Some(format!("write `{}` alone", short(name))),
        )),
        (None, None) => Ok(none),
    }
}
