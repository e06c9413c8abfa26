//! What the air goes through behind the machines: vessels, dryers, filters, pipes, headers, and
//! the drains fitted to them.
//!
//! Must not know: the machines, except how much air they deliver.

use physics::quantity::{
    FreeAir, GaugePressure, Power, PressureDifference, Temperature, TemperatureDifference,
};

use super::assets::Assets;
use super::keys::DRYER_KINDS;
use super::machine::separates;
use super::reader::{Reader, did_you_mean, one_of};
use crate::file::unit::short;
use crate::model::{
    Asset, Drain, DrainKind, Dryer, DryerKind, Filter, Header, Inspection, Pipe, SafetyValve,
    Vessel,
};

/// A vessel. Whether its safety valve suits it is no matter of the file: [`crate::valves`] tells.
pub(super) fn vessel(r: &Reader<'_>, id: &str, drained: bool) -> Option<Vessel> {
    ["volume", "max_pressure"]
        .iter()
        .for_each(|key| r.need(key));
    let volume = r.quantity("volume");
    let max = r.quantity("max_pressure");
    let valve = r
        .has("safety_valve")
        .then(|| r.table("safety_valve"))
        .and_then(|v| {
            v.need("set");
            let (set, capacity) = (v.quantity("set"), v.quantity("capacity"));
            Some(SafetyValve {
                set: GaugePressure::new(set?.value),
                capacity: capacity.map(|t| FreeAir::new(t.value)),
                due: v.day("due").map(|f| f.value),
            })
        });
    let inspection = r.has("inspection").then(|| r.table("inspection")).map(|i| {
        let (last, due) = (i.day("last"), i.day("due"));
        if let (Some(last), Some(due)) = (&last, &due)
            && due.value < last.value
        {
            let what = format!("{} lies before `inspection.last`, {}", due.text, last.text);
            let hint = "write when it was last inspected and when it is next due";
            i.tell(due.line, "due", what, Some(hint.to_owned()));
        }
        Inspection {
            last: last.map(|f| f.value),
            due: due.map(|f| f.value),
        }
    });
    let (u, separates) = (r.value_or_default("u", 1.0), separates(r, r, drained));
    Some(Vessel {
        id: id.to_owned(),
        volume_m3: volume?.value,
        max_pressure: GaugePressure::new(max?.value),
        safety_valve: valve,
        inspection,
        u_w_m2k: u.known(|u| u),
        separates,
    })
}

/// A dryer; `before` is the air of the machines before it, m³/s, if the air path is sound.
pub(super) fn dryer(r: &Reader<'_>, id: &str, drained: bool, before: Option<f64>) -> Option<Dryer> {
    ["kind", "dew_point"].iter().for_each(|key| r.need(key));
    let kind = dryer_kind(r);
    let dew_point = r.given_quantity("dew_point");
    if let (Some(DryerKind::Refrigeration { .. }), Some(dew)) = (kind, &dew_point)
        && Temperature::new(dew.si).celsius() < -1e-9
    {
        let what = format!(
            "{} lies below 0 degC, and a refrigeration dryer would freeze",
            dew.text
        );
        let hint =
            "write the pressure dew point that it holds, 3 degC or so, or `kind = \"desiccant\"`";
        r.tell(dew.line, "dew_point", what, Some(hint.to_owned()));
    }
    let drop = r.value_or_default("drop", 1.0);
    let power = r.value_or_default("power", 1.0);
    let rated = r.table("rated");
    let flow = rated.value_or_default("flow", before.unwrap_or_default());
    let pressure = rated.value_or_default("pressure", 1.0);
    let inlet = rated.value_or_default("inlet", 1.0);
    let ambient = rated.value_or_default("ambient", 1.0);
    if let Some(dew) = &dew_point {
        let hint = "a dryer holds a dew point below its inlet";
        r.below("dew_point", Some(dew), "rated.inlet", Some(&inlet), hint);
    }
    let own_drain = match kind {
        _ if drained => {
            let hint = "leave it out: the `[[drain]]` of this dryer says it";
            r.refuse("drain", "is told twice", hint);
            false
        }
        Some(DryerKind::Refrigeration { .. }) => r.yes_or_default("drain"),
        _ => {
            let hint = "describe it as a `[[drain]]`, or leave it out";
            r.refuse("drain", "is for refrigeration dryers", hint);
            false
        }
    };
    let separates = separates(r, r, drained || own_drain);
    Some(Dryer {
        id: id.to_owned(),
        kind: kind?,
        dew_point: dew_point?.known(Temperature::new),
        drop: drop.known(PressureDifference::new),
        power: power.known(Power::new),
        rated_flow: flow.known(FreeAir::new),
        rated_pressure: GaugePressure::new(pressure.si),
        rated_inlet: Temperature::new(inlet.si),
        rated_ambient: Temperature::new(ambient.si),
        separates,
        own_drain,
    })
}

fn dryer_kind(r: &Reader<'_>) -> Option<DryerKind> {
    let found = r.text("kind")?;
    match found.value.as_str() {
        "refrigeration" => {
            let hint = "leave it out, or write `kind = \"desiccant\"`";
            r.refuse("purge", "a refrigeration dryer spends no purge air", hint);
            Some(DryerKind::Refrigeration {
                reheat: r
                    .value_or_default("reheat", 1.0)
                    .known(TemperatureDifference::new),
                derate_per_k: r.value_or_default("derate", 1.0).known(|x| x),
            })
        }
        "desiccant" => {
            let hint = "leave it out, or write `kind = \"refrigeration\"`";
            for key in ["reheat", "derate"] {
                r.refuse(key, "is for refrigeration dryers", hint);
            }
            r.need("purge");
            r.number("purge")
                .map(|f| DryerKind::Desiccant { purge: f.value })
        }
        kind => {
            let hint = did_you_mean(kind, DRYER_KINDS.iter().copied()).unwrap_or_else(|| {
                "leave the dryer out: its water is then expected downstream".to_owned()
            });
            let what = format!(
                "`{}` dryers are not modelled; the kinds are {}",
                short(kind),
                one_of(DRYER_KINDS)
            );
            r.tell(found.line, "kind", what, Some(hint));
            None
        }
    }
}

/// A filter; `before` as for a dryer.
pub(super) fn filter(
    r: &Reader<'_>,
    id: &str,
    drained: bool,
    before: Option<f64>,
) -> Option<Filter> {
    let rated = r.table("rated");
    let flow = rated.value_or_default("flow", before.unwrap_or_default());
    let pressure = rated.value_or_default("pressure", 1.0);
    let (clean, change) = (
        r.value_or_default("clean", 1.0),
        r.value_or_default("change", 1.0),
    );
    let hint = "it is changed at a larger pressure drop than it has when clean";
    r.below("clean", Some(&clean), "change", Some(&change), hint);
    Some(Filter {
        id: id.to_owned(),
        rated_flow: flow.known(FreeAir::new),
        rated_pressure: GaugePressure::new(pressure.si),
        clean: clean.known(PressureDifference::new),
        change: PressureDifference::new(change.si),
        separates: separates(r, r, drained),
    })
}

/// What a drain drains, by its id: `R1` of `R1.drain`.
pub(super) fn drained_asset(assets: &Assets, id: &str) -> Option<Asset> {
    let (asset, _) = id.split_once('.')?;
    assets.find(asset)
}

/// A drain.
pub(super) fn drain(r: &Reader<'_>, id: &str, assets: &Assets) -> Option<Drain> {
    let on = drained_asset(assets, id);
    if on.is_none()
        && let Some((asset, _)) = id.split_once('.')
    {
        let hint = assets.suggest(asset, |a| !matches!(a, Asset::Drain(_)));
        let what = format!("there is no `{}` to drain", short(asset));
        r.tell(r.line_of("id"), "id", what, Some(hint));
    }
    if matches!(on, Some(Asset::Site | Asset::Room)) {
        let what = format!("`{}` drains nothing that carries air", short(id));
        let hint = "write the id of what it drains and `.drain`: `id = \"R1.drain\"`";
        r.tell(r.line_of("id"), "id", what, Some(hint.to_owned()));
    }
    r.need("kind");
    let kind = drain_kind(r);
    let test_button = r.yes_or_default("test_button");
    Some(Drain {
        id: id.to_owned(),
        on: on?,
        kind: kind?,
        test_button,
    })
}

fn drain_kind(r: &Reader<'_>) -> Option<DrainKind> {
    let word = r.word("kind")?;
    if word.value != "timer" {
        for key in ["open", "every", "orifice"] {
            let hint = "leave it out, or write `kind = \"timer\"`";
            r.refuse(key, "is for timer drains", hint);
        }
        return Some(match word.value {
            "level-sensed" => DrainKind::LevelSensed,
            "float" => DrainKind::Float,
            _ => DrainKind::Manual,
        });
    }
    ["open", "every", "orifice"]
        .iter()
        .for_each(|key| r.need(key));
    let (open, every) = (r.given_quantity("open"), r.given_quantity("every"));
    let hint = "a timer drain opens for a short time at long intervals";
    r.below("open", open.as_ref(), "every", every.as_ref(), hint);
    let orifice = r.quantity("orifice");
    Some(DrainKind::Timer {
        open_s: open?.si,
        every_s: every?.si,
        orifice_m: orifice?.value,
    })
}

/// A pipe.
pub(super) fn pipe(r: &Reader<'_>, id: &str) -> Option<Pipe> {
    ["length", "bore"].iter().for_each(|key| r.need(key));
    let (length, bore) = (r.quantity("length"), r.given_quantity("bore"));
    let roughness = r.value_or_default("roughness", 1.0);
    if let Some(bore) = &bore
        && roughness.si > 0.05 * bore.si
    {
        let what = format!(
            "{} is more than a twentieth of `bore`, {}",
            roughness.text, bore.text
        );
        let hint = "write the height of the roughness, 0.045 mm or so for steel";
        let line = if roughness.given {
            roughness.line
        } else {
            bore.line
        };
        r.tell(line, "roughness", what, Some(hint.to_owned()));
    }
    Some(Pipe {
        id: id.to_owned(),
        length_m: length?.value,
        bore_m: bore?.si,
        roughness_m: roughness.known(|x| x),
    })
}

/// A header.
pub(super) fn header(r: &Reader<'_>, id: &str) -> Header {
    Header {
        id: id.to_owned(),
        wanted: r.quantity("wanted").map(|f| GaugePressure::new(f.value)),
        coldest: r.quantity("coldest").map(|f| Temperature::new(f.value)),
        volume_m3: r.quantity("volume").map(|f| f.value),
    }
}
