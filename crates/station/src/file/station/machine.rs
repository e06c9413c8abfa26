//! A machine: kind, rating, control, motor, and the parts that age.
//!
//! Must not know: where it stands on the air path.

mod parts;

use physics::quantity::{FreeAir, GaugePressure, Power};

use super::keys::MACHINE_KINDS;
use super::reader::{Reader, Taken, one_of};
use crate::defaults;
use crate::file::unit::{self, Kind, digits, short};
use crate::model::{Band, Control, Drive, Machine, MachineKind, Rated};
pub(super) use parts::separates;

/// What is known of the rating, each part alone.
struct Rating {
    pressure: Option<Taken>,
    fad: Option<Taken>,
    power: Option<Taken>,
    humidity: f64,
    outlet: Option<Taken>,
}

/// Reads one machine. `order` is its place if the file does not say; `drained` says whether a
/// drain is fitted to it.
pub(super) fn machine(r: &Reader<'_>, id: &str, order: u32, drained: bool) -> Option<Machine> {
    let kind = kind(r);
    let other = kind == Some(MachineKind::Other);
    let drive = drive(r, other);
    let rating = rating(r, kind);
    let order = match r.count("order") {
        Some(found) => found.value,
        None => {
            if !r.has("order") {
                r.list_default("order", &order.to_string(), "");
            }
            order
        }
    };
    let (control, highest) = control(r, &rating);
    let max = max_pressure(r, &rating, highest.as_ref());
    let rated_w = rating.power.as_ref().map_or(0.0, |p| p.si);
    let below_rated = "it is part of the package input at the rated point, and so below it";
    let unloaded = r.value_or_default("unloaded_power", rated_w);
    r.below(
        "unloaded_power",
        Some(&unloaded),
        "rated.power",
        rating.power.as_ref(),
        below_rated,
    );
    let fan_w = r.value_or_default("fan_power", rated_w);
    r.below(
        "fan_power",
        Some(&fan_w),
        "rated.power",
        rating.power.as_ref(),
        below_rated,
    );
    let blowdown = r.value_or_default("blowdown", 1.0);
    let minimum = r.value_or_default("minimum_pressure", 1.0);
    if let (Some(highest), true) = (&highest, minimum.given) {
        let hint = "the minimum-pressure valve opens below the pressure that the machine works at";
        r.below(
            "minimum_pressure",
            Some(&minimum),
            working_key(r),
            Some(highest),
            hint,
        );
    }
    let slip = r.value_or_default("slip", 1.0);
    let motor = parts::motor(r, &rating, &fan_w);
    // Nothing looks at the oil of another kind of machine: its defaults are not worth listing.
    let inner = if other { r.quietly() } else { r.clone() };
    if other {
        let hint = "leave it out, or describe an `oil-injected screw`";
        for key in ["oil", "separator"] {
            r.refuse(
                key,
                "a machine of kind `other` has no oil or cooler health",
                hint,
            );
        }
    }
    let oil = parts::oil(&inner);
    let cooling = parts::cooling(r, &rating, &oil, other, drained);
    let belt = parts::belt(r, drive);
    let separator = parts::separator(&inner, motor.power, rated_w);
    let intake = parts::intake(r);
    Some(Machine {
        id: id.to_owned(),
        kind: kind?,
        drive: drive?,
        control: control?,
        order,
        rated: Rated {
            pressure: GaugePressure::new(rating.pressure?.si),
            fad: rating.fad?.known(FreeAir::new),
            power: rating.power?.known(Power::new),
            humidity: rating.humidity,
        },
        max_pressure: GaugePressure::new(max?.si),
        unloaded_power: unloaded.known(Power::new),
        fan_power: fan_w.known(Power::new),
        blowdown_s: blowdown.known(|s| s),
        minimum_pressure: minimum.known(GaugePressure::new),
        slip_per_pa: slip.known(|s| s),
        motor,
        oil,
        cooling: cooling?,
        belt,
        separator,
        intake,
    })
}

const OFFER: &str = "write `kind = \"other\"`: such a machine states `rated.fad`, `rated.power` and `rated.outlet`, and no thermal health is judged";

fn kind(r: &Reader<'_>) -> Option<MachineKind> {
    if !r.has("kind") {
        r.need("kind");
        return None;
    }
    let found = r.text("kind")?;
    match found.value.as_str() {
        "oil-injected screw" => {
            shows_another_kind(r);
            Some(MachineKind::Screw)
        }
        "other" => Some(MachineKind::Other),
        kind => {
            // Other kinds differ from a screw by few letters: only a slip of the pen is one.
            let slip = MACHINE_KINDS
                .iter()
                .find(|k| strsim::damerau_levenshtein(&kind.to_lowercase(), k) <= 2);
            let hint = slip.map_or_else(|| OFFER.to_owned(), |k| format!("did you mean `{k}`?"));
            let what = format!(
                "`{}` is not modelled; the kinds are {}",
                short(kind),
                one_of(MACHINE_KINDS)
            );
            r.tell(found.line, "kind", what, Some(hint));
            None
        }
    }
}

/// Keys which show that a machine is no single-stage, air-cooled, oil-injected screw.
fn shows_another_kind(r: &Reader<'_>) {
    if let Some(stages) = r.count("stages").filter(|s| s.value > 1) {
        let what = format!(
            "a machine of {} stages is not modelled as an `oil-injected screw`",
            stages.value
        );
        r.tell(stages.line, "stages", what, Some(OFFER.to_owned()));
    }
    let lubrication = r
        .text("lubrication")
        .filter(|t| !matches!(t.value.as_str(), "oil" | "oil-injected"));
    if let Some(found) = lubrication {
        let what = format!(
            "`{}` contradicts the kind `oil-injected screw`",
            short(&found.value)
        );
        r.tell(found.line, "lubrication", what, Some(OFFER.to_owned()));
    }
    let cooling = r.table("cooling");
    if let Some(found) = cooling.text("medium").filter(|t| t.value != "air") {
        let what = format!(
            "a machine cooled by `{}` is not modelled as an `oil-injected screw`",
            short(&found.value)
        );
        cooling.tell(found.line, "medium", what, Some(OFFER.to_owned()));
    }
}

fn drive(r: &Reader<'_>, other: bool) -> Option<Drive> {
    let word = if r.has("drive") {
        r.word("drive")?.value
    } else if other {
        r.default_word("drive")
    } else {
        r.need("drive");
        return None;
    };
    Some(match word {
        "belt" => Drive::Belt,
        "gear" => Drive::Gear,
        _ => Drive::Direct,
    })
}

fn rating(machine: &Reader<'_>, kind: Option<MachineKind>) -> Rating {
    let r = machine.table("rated");
    ["pressure", "fad", "power"]
        .iter()
        .for_each(|key| r.need(key));
    let rating = Rating {
        pressure: r.given_quantity("pressure"),
        fad: r.given_quantity("fad"),
        power: r.given_quantity("power"),
        humidity: r.value_or_default("humidity", 1.0).si,
        outlet: r.given_quantity("outlet"),
    };
    match kind {
        Some(MachineKind::Other) => r.need("outlet"),
        Some(MachineKind::Screw) => r.refuse(
            "outlet",
            "an `oil-injected screw` states `cooling.air_approach`, not its outlet temperature",
            "write how far the outlet lies over the cooling air: `cooling = { air_approach = \"8 K\" }`",
        ),
        None => {}
    }
    if let (Some(fad), Some(power)) = (&rating.fad, &rating.power) {
        specific_power(&r, rating.pressure.as_ref(), fad, power);
    }
    rating
}

/// Air and power that cannot belong together.
fn specific_power(r: &Reader<'_>, pressure: Option<&Taken>, fad: &Taken, power: &Taken) {
    // Smallest and largest input of machines from 1 to 16 bar(g); common practice, no source.
    const LOW: f64 = 3.5;
    const HIGH: f64 = 14.0;
    // ISO 1217 reference inlet.
    const INLET_PA: f64 = 1.0e5;
    let hint = "one of the two has slipped: look at units and decimal points";
    let specific = power.si / fad.si / 60.0e3;
    let line = power.line;
    if !(LOW..=HIGH).contains(&specific) {
        let what = format!(
            "{} for `fad`, {}, is {} kW/(m3/min), and {LOW} to {HIGH} is possible",
            power.text,
            fad.text,
            digits((specific * 1.0e3).round() / 1.0e3)
        );
        r.tell(line, "power", what, Some(hint.to_owned()));
        return;
    }
    let Some(pressure) = pressure else { return };
    // Isothermal compression needs p₁ V̇ ln(p₂/p₁); no machine needs less (first principles).
    let isothermal = INLET_PA * fad.si * ((pressure.si + INLET_PA) / INLET_PA).ln();
    if power.si < isothermal {
        let what = format!(
            "{} is less than the isothermal power of `fad`, {}, at `pressure`, {}, which is {:.1} kW",
            power.text,
            fad.text,
            pressure.text,
            isothermal / 1.0e3
        );
        r.tell(line, "power", what, Some(hint.to_owned()));
    }
}

/// How the machine follows demand, and the highest pressure that it works at.
fn control(r: &Reader<'_>, rating: &Rating) -> (Option<Control>, Option<Taken>) {
    if !r.has("control") {
        r.need("control");
        return (None, None);
    }
    let Some(word) = r.word("control") else {
        return (None, None);
    };
    if word.value == "variable speed" {
        r.refuse(
            "band",
            "a band has no place on a machine of variable speed",
            "write the pressure that it holds: `target = \"7.0 bar(g)\"`",
        );
        ["target", "part_load"].iter().for_each(|key| r.need(key));
        let target = r.given_quantity("target");
        let part_load = part_load(r, rating);
        let control =
            target
                .as_ref()
                .zip(part_load)
                .map(|(target, part_load)| Control::VariableSpeed {
                    target: GaugePressure::new(target.si),
                    part_load,
                });
        return (control, target);
    }
    let hint = "leave it out, or write `control = \"variable speed\"`";
    for key in ["target", "part_load"] {
        r.refuse(key, "is for machines of variable speed", hint);
    }
    let band = r.table("band");
    ["load", "unload"].iter().for_each(|key| band.need(key));
    let (load, unload) = (band.given_quantity("load"), band.given_quantity("unload"));
    let hint = "a machine takes load at the lower pressure and gives it up at the higher";
    band.below("load", load.as_ref(), "band.unload", unload.as_ref(), hint);
    let control = load.zip(unload.clone()).map(|(load, unload)| {
        let band = Band {
            load: GaugePressure::new(load.si),
            unload: GaugePressure::new(unload.si),
        };
        match word.value {
            "start/stop" => Control::StartStop(band),
            "modulating" => Control::Modulating(band),
            _ => Control::LoadUnload(band),
        }
    });
    (control, unload)
}

/// The key of the highest pressure that the machine works at.
fn working_key(r: &Reader<'_>) -> &'static str {
    if r.has("target") {
        "target"
    } else {
        "band.unload"
    }
}

/// The points of a machine of variable speed: rising, and the last is the rated one.
fn part_load(r: &Reader<'_>, rating: &Rating) -> Option<Vec<(FreeAir, Power)>> {
    let points = r.tables("part_load")?;
    let mut read = Vec::new();
    for point in &points.value {
        ["fad", "power"].iter().for_each(|key| point.need(key));
        read.push((
            point.given_quantity("fad"),
            point.given_quantity("power"),
            point.line,
        ));
    }
    let complete: Option<Vec<(Taken, Taken, u64)>> = read
        .into_iter()
        .map(|(fad, power, line)| Some((fad?, power?, line)))
        .collect();
    let complete = complete?;
    if complete.len() < 2 {
        let hint = "write at least the lowest and the rated point";
        let what = format!(
            "has {} point, and at least two are expected",
            complete.len()
        );
        r.tell(points.line, "part_load", what, Some(hint.to_owned()));
        return None;
    }
    for pair in complete.windows(2) {
        let [(fad, power, _), (next_fad, next_power, line)] = pair else {
            continue;
        };
        if next_fad.si <= fad.si || next_power.si <= power.si {
            let what = format!(
                "{}, {} does not lie above the point before it, {}, {}",
                next_fad.text, next_power.text, fad.text, power.text
            );
            let hint =
                "write the points from the lowest to the rated one: more air takes more power";
            r.tell(*line, "part_load", what, Some(hint.to_owned()));
            return None;
        }
    }
    let (fad, power, line) = complete.last()?;
    if let (Some(rated_fad), Some(rated_power)) = (&rating.fad, &rating.power) {
        let near = |a: f64, b: f64| (a - b).abs() <= 0.01 * b;
        if !near(fad.si, rated_fad.si) || !near(power.si, rated_power.si) {
            let what = format!(
                "the last point, {}, {}, is not the rated one, {}, {}",
                fad.text, power.text, rated_fad.text, rated_power.text
            );
            let hint = "end the list with `rated.fad` and `rated.power`";
            r.tell(*line, "part_load", what, Some(hint.to_owned()));
            return None;
        }
    }
    Some(
        complete
            .iter()
            .map(|(f, p, _)| (FreeAir::new(f.si), Power::new(p.si)))
            .collect(),
    )
}

fn max_pressure(r: &Reader<'_>, rating: &Rating, highest: Option<&Taken>) -> Option<Taken> {
    let working = if r.has("target") {
        "target"
    } else {
        "band.unload"
    };
    if r.has("max_pressure") {
        let max = r.given_quantity("max_pressure")?;
        let hint = "a machine may not work above its highest pressure: mend one of the two";
        let name = "max_pressure";
        for (key, value) in [
            (working, highest),
            ("rated.pressure", rating.pressure.as_ref()),
        ] {
            r.not_above(key, value, name, Some(&max), hint);
        }
        return Some(max);
    }
    let above = defaults::find("machine.max_pressure").and_then(|row| row.si(1.0))?;
    let top = [highest, rating.pressure.as_ref()]
        .into_iter()
        .flatten()
        .map(|t| t.si);
    let si = top.reduce(f64::max)? + above;
    let text = unit::show(Kind::GaugePressure, si);
    r.list_default("max_pressure", &text, "");
    Some(Taken {
        si,
        sigma: 0.0,
        given: false,
        line: r.line,
        text,
    })
}
