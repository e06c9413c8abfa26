//! Work that comes round, how well points are read, and the headers of foreign logs.
//!
//! Must not know: ratings, the air path.

use std::collections::BTreeMap;

use super::assets::Assets;
use super::reader::{Gathered, Reader, did_you_mean};
use super::tree::{Node, Value};
use crate::file::unit::{self, Kind, short};
use crate::model::{Asset, Task};
use crate::point::{Dimension, On, Point, PointId};

/// A task.
pub(super) fn task(r: &Reader<'_>, assets: &Assets) -> Option<Task> {
    ["on", "what", "every"].iter().for_each(|key| r.need(key));
    let on = r.text("on").and_then(|found| {
        let asset = assets.find(&found.value);
        if asset.is_none() {
            let what = format!("there is no `{}` in this file", short(&found.value));
            r.tell(
                found.line,
                "on",
                what,
                Some(assets.suggest(&found.value, |_| true)),
            );
        }
        asset
    });
    let what = r.text("what");
    let (every, last) = (r.table("every"), r.table("last"));
    if r.has("every") && !every.has("hours") && !every.has("months") {
        let hint = "write `every = { hours = 6000, months = 24 }`, or one of the two";
        r.tell(
            every.line,
            "every",
            "says neither hours nor months".to_owned(),
            Some(hint.to_owned()),
        );
    }
    if on.is_some_and(|on| !matches!(on, Asset::Machine(_))) {
        for table in [&every, &last] {
            let hint = "write `every = { months = 12 }` and `last = { date = 2026-03-01 }`";
            table.refuse("hours", "only machines have a counter of hours", hint);
        }
    }
    let task = Task {
        on: on?,
        what: what?.value,
        every_hours: every.number("hours").map(|f| f.value),
        every_months: every.count("months").map(|f| f.value),
        last_date: last.day("date").map(|f| f.value),
        last_hours: last.number("hours").map(|f| f.value),
    };
    Some(task)
}

/// `[reading."K1.oil_temperature"]`: the limit of error of each point, SI.
pub(super) fn accuracies(
    gathered: &Gathered,
    root: &Reader<'_>,
    assets: &Assets,
) -> BTreeMap<PointId, f64> {
    let mut limits = BTreeMap::new();
    for (name, node) in root.free("reading") {
        let at = format!("reading {}", short(name));
        let hint = "write `[reading.\"K1.oil_temperature\"]` and below it `accuracy = \"2 K\"`";
        let Value::Table(table) = &node.value else {
            let what = format!("a table is expected, found {}", node.value.words());
            gathered.problem(node.line, at, what, Some(hint.to_owned()));
            continue;
        };
        let r = Reader::open(gathered, Some(table), "reading", &at, name);
        r.need("accuracy");
        let point = match point_id(assets, name) {
            Ok(point) => point,
            Err((what, hint)) => {
                gathered.problem(node.line, at, what, Some(hint));
                continue;
            }
        };
        if let Some(value) = table.entries.get("accuracy") {
            match accuracy(point.point, value) {
                Ok(limit) => {
                    limits.insert(point, limit);
                }
                Err((what, hint)) => r.tell(value.line, "accuracy", what, hint),
            }
        }
    }
    limits
}

/// The point of this name, or what is wrong with the name and how to mend it.
fn point_id(assets: &Assets, name: &str) -> Result<PointId, (String, String)> {
    let Some((id, point)) = name.rsplit_once('.') else {
        let what = format!("`{}` names no point", short(name));
        return Err((
            what,
            "write the thing, a dot and the point: `K1.oil_temperature`".to_owned(),
        ));
    };
    let Some(asset) = assets.find(id) else {
        let what = format!("there is no `{}` in this file", short(id));
        return Err((what, assets.suggest(id, |a| a.on().is_some())));
    };
    let named = asset.on().and_then(|on| Point::named(on, point));
    named.map(|point| PointId { asset, point }).ok_or_else(|| {
        let known: Vec<&str> = asset.on().map(points_of).unwrap_or_default();
        let hint = did_you_mean(point, known.iter().copied())
            .unwrap_or_else(|| format!("its points are: {}", known.join(", ")));
        (
            format!("`{}` has no point `{}`", short(id), short(point)),
            hint,
        )
    })
}

fn points_of(on: On) -> Vec<&'static str> {
    Point::ALL
        .iter()
        .filter(|p| p.on() == on)
        .map(|p| p.name())
        .collect()
}

/// A limit of error in SI: a quantity of the point's kind, a difference where that differs.
fn accuracy(point: Point, node: &Node) -> Result<f64, (String, Option<String>)> {
    let kind = match point.dimension() {
        Dimension::Temperature => Kind::TemperatureDifference,
        Dimension::GaugePressure | Dimension::AbsolutePressure | Dimension::PressureDifference => {
            Kind::PressureDifference
        }
        Dimension::Power => Kind::Power,
        Dimension::Current => Kind::Current,
        Dimension::Energy => Kind::Energy,
        Dimension::Percent | Dimension::Humidity => Kind::Percent,
        Dimension::Hours => Kind::Hours,
        Dimension::Seconds => Kind::Duration,
        Dimension::Speed => Kind::Speed,
        Dimension::Litres => Kind::Litres,
        Dimension::Length => Kind::Length,
        Dimension::Force => Kind::Force,
        Dimension::Frequency => Kind::Frequency,
        Dimension::ReferenceAir => Kind::ReferenceAir,
        Dimension::Count | Dimension::Words(_) | Dimension::Share => {
            let what = format!("`{}` is not read with an instrument", point.name());
            return Err((what, Some("leave its accuracy out".to_owned())));
        }
    };
    let text = match &node.value {
        Value::Text(text) => text.as_str(),
        Value::Number(_, text) => text.as_str(),
        other => {
            let what = format!("{} is expected, found {}", kind.name(), other.words());
            return Err((
                what,
                Some(format!("write it with a unit: {}", kind.unit_list())),
            ));
        }
    };
    let si = unit::quantity(kind, text).map_err(|p| (p.what, p.hint))?;
    let limit = if point.dimension() == Dimension::Humidity {
        si / 100.0
    } else {
        si
    };
    let (low, high) = point.plausible();
    if limit <= 0.0 || limit > high - low {
        let what = format!("{} cannot be the limit of error of this point", short(text));
        return Err((
            what,
            Some("write the largest error that its instrument makes".to_owned()),
        ));
    }
    Ok(limit)
}

/// `[log.columns]`: foreign headers and what they mean.
pub(super) fn log_columns(
    gathered: &Gathered,
    log: &Reader<'_>,
    assets: &Assets,
) -> Vec<(String, String)> {
    let mut columns = Vec::new();
    for (header, node) in log.free("columns") {
        let at = format!("log.columns: {}", short(header));
        let Value::Text(meaning) = &node.value else {
            let what = format!("a text is expected, found {}", node.value.words());
            let hint = "write `\"Amps\" = \"K1.current [A]\"`";
            gathered.problem(node.line, at, what, Some(hint.to_owned()));
            continue;
        };
        match means(assets, meaning.trim()) {
            Ok(()) => columns.push((header.to_owned(), meaning.trim().to_owned())),
            Err((what, hint)) => gathered.problem(node.line, at, what, Some(hint)),
        }
    }
    columns
}

/// Whether a log column's meaning names something: `time`, `K1.current [A]`, `not K1.loaded`.
fn means(assets: &Assets, meaning: &str) -> Result<(), (String, String)> {
    let negated = meaning.strip_prefix("not ").map(str::trim);
    let name = negated.unwrap_or(meaning);
    if name == "time" {
        return Ok(());
    }
    let name = name.split_once(" [").map_or(name, |(name, _)| name.trim());
    if let Some((id, state @ ("running" | "loaded"))) = name.rsplit_once('.') {
        return match assets.find(id) {
            Some(Asset::Machine(_)) => Ok(()),
            Some(_) => Err((
                format!(
                    "`{}` is no machine, and only machines are {state}",
                    short(id)
                ),
                assets.suggest(id, |a| matches!(a, Asset::Machine(_))),
            )),
            None => Err((
                format!("there is no `{}` in this file", short(id)),
                assets.suggest(id, |a| matches!(a, Asset::Machine(_))),
            )),
        };
    }
    if negated.is_some() {
        return Err((
            format!("`{}` cannot be turned round", short(meaning)),
            "`not` stands before `running` or `loaded` only".to_owned(),
        ));
    }
    point_id(assets, name).map(|_| ())
}
