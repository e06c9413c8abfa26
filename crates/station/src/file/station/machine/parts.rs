//! The parts of a machine that carry a plate or age: motor, oil, coolers, belts, separator, intake.
//!
//! Must not know: how the machine follows demand.

use physics::machine::motor::starts_per_hour_nema_mg_10;
use physics::quantity::{Power, PressureDifference, Temperature, TemperatureDifference};

use super::Rating;
use crate::defaults;
use crate::file::station::reader::{Reader, Taken};
use crate::file::unit::{self, Kind, digits};
use crate::model::{Belt, Cooling, Drive, Fan, Intake, Known, Motor, Oil, Separator};

pub(super) fn motor(machine: &Reader<'_>, rating: &Rating, fan: &Taken) -> Motor {
    let r = machine.table("motor");
    let power = r.given_quantity("power");
    let (voltage, current) = (r.given_quantity("voltage"), r.given_quantity("current"));
    let efficiency = r.number("efficiency").map(|f| f.value);
    let power_factor = r.value_or_default("power_factor", 1.0);
    let starts = starts_per_hour(&r, power.as_ref());
    // Where the plate does not say, a usual efficiency is near enough to find contradictions.
    let usual = efficiency.unwrap_or(0.92);
    if let (Some(shaft), Some(rated)) = (&power, &rating.power)
        && fan.si < rated.si
    {
        let needed = (rated.si - fan.si) * usual;
        let share = needed / shaft.si;
        // Motors are run up to their service factor, and are seldom half as large again.
        if !(0.5..=1.35).contains(&share) {
            let what = format!(
                "{} does not go with `rated.power`, {}, which takes about {:.1} kW at the shaft",
                shaft.text,
                rated.text,
                needed / 1.0e3
            );
            let hint = "write the motor's shaft power from its plate, and the input of the whole package in `rated.power`";
            r.tell(shaft.line, "power", what, Some(hint.to_owned()));
        }
    }
    if let (Some(shaft), Some(volt), Some(ampere)) = (&power, &voltage, &current) {
        let plate = 3.0_f64.sqrt() * volt.si * ampere.si * power_factor.si * usual;
        if !(0.7..=1.4).contains(&(plate / shaft.si)) {
            let what = format!(
                "{} at `voltage`, {}, is about {:.1} kW at the shaft, and `power` is {}",
                ampere.text,
                volt.text,
                plate / 1.0e3,
                shaft.text
            );
            let hint = "write line voltage and full-load line current from the motor's plate";
            r.tell(ampere.line, "current", what, Some(hint.to_owned()));
        }
    }
    Motor {
        power: power.map(|t| Power::new(t.si)),
        voltage_v: voltage.map(|t| t.si),
        current_a: current.map(|t| t.si),
        efficiency,
        power_factor: power_factor.known(|x| x),
        starts_per_hour: starts.known(|x| x),
    }
}

/// Starts an hour: given, else by the motor's power, else the default for any motor.
fn starts_per_hour(r: &Reader<'_>, shaft: Option<&Taken>) -> Taken {
    let key = "starts_per_hour";
    let by_power = shaft.filter(|_| !r.has(key)).and_then(|shaft| {
        let starts = starts_per_hour_nema_mg_10(Power::new(shaft.si).kw()).ok()?;
        Some((
            starts,
            defaults::find("table.machine.motor.starts_per_hour")?,
        ))
    });
    let Some((starts, row)) = by_power else {
        return r.value_or_default(key, 1.0);
    };
    let show = |number: f64| format!("{} {}", digits((number * 10.0).round() / 10.0), row.unit);
    r.list_row(key, row, &show(starts), &show(row.sigma));
    Taken {
        si: starts,
        sigma: row.sigma_si(1.0),
        given: false,
        line: r.line,
        text: show(starts),
    }
}

pub(super) fn oil(machine: &Reader<'_>) -> Oil {
    let r = machine.table("oil");
    let held_at = r.value_or_default("held_at", 1.0);
    let warn = r.value_or_default("warn", 1.0);
    let trip = r.value_or_default("trip", 1.0);
    let hint = "the oil is held below the warning, and the warning comes before the trip";
    r.below("held_at", Some(&held_at), "oil.warn", Some(&warn), hint);
    r.below("warn", Some(&warn), "oil.trip", Some(&trip), hint);
    Oil {
        grade: r.text("grade").map(|f| f.value),
        fill_l: r.quantity("fill").map(|f| f.value),
        held_at: held_at.known(Temperature::new),
        warn: Temperature::new(warn.si),
        trip: Temperature::new(trip.si),
        life_h: r.value_or_default("life", 1.0).known(|h| h),
        ratio: r.value_or_default("ratio", 1.0).known(|x| x),
    }
}

pub(super) fn cooling(
    machine: &Reader<'_>,
    rating: &Rating,
    oil: &Oil,
    other: bool,
    drained: bool,
) -> Option<Cooling> {
    let r = machine.table("cooling");
    // Of another kind of machine only the outlet is looked at.
    let inner = if other { r.quietly() } else { r.clone() };
    let rated_ambient = r.value_or_default("rated_ambient", 1.0);
    let oil_approach = inner.value_or_default("oil_approach", 1.0);
    let hottest = rated_ambient.si + oil_approach.si;
    if !other && hottest >= oil.trip.si() {
        let what = format!(
            "{} over `rated_ambient`, {}, is not below `oil.trip`, {}",
            oil_approach.text,
            rated_ambient.text,
            unit::show(Kind::Temperature, oil.trip.si())
        );
        let hint = "a healthy machine does not trip at its rated point: mend one of the three";
        r.tell(
            r.line_of("oil_approach"),
            "oil_approach",
            what,
            Some(hint.to_owned()),
        );
    }
    let oil_approach = oil_approach.known(TemperatureDifference::new);
    let air_approach = if other {
        for key in ["oil_approach", "air_approach", "hot_side_share"] {
            r.refuse(
                key,
                "a machine of kind `other` states its outlet temperature instead",
                "leave it out, and write `rated = { outlet = \"35 degC\" }`",
            );
        }
        outlet_approach(&r, rating.outlet.as_ref(), &rated_ambient)
    } else {
        Some(
            r.value_or_default("air_approach", 1.0)
                .known(TemperatureDifference::new),
        )
    };
    let fan = fan(&r, &inner, oil.warn);
    Some(Cooling {
        rated_ambient: Temperature::new(rated_ambient.si),
        oil_approach,
        air_approach: air_approach?,
        fan,
        mat: r.yes_or_default("mat"),
        hot_side_share: inner.value_or_default("hot_side_share", 1.0).known(|x| x),
        after_drop: inner
            .value_or_default("after_drop", 1.0)
            .known(PressureDifference::new),
        separates: separates(&r, machine, drained),
    })
}

/// The stated outlet temperature of another kind of machine, over its cooling air.
fn outlet_approach(
    r: &Reader<'_>,
    outlet: Option<&Taken>,
    ambient: &Taken,
) -> Option<Known<TemperatureDifference>> {
    let outlet = outlet?;
    let sigma =
        defaults::find("given.machine.cooling.air_approach").map_or(0.0, |d| d.sigma_si(1.0));
    let approach = outlet.si - ambient.si;
    if approach <= -20.0 {
        let what = format!(
            "{} lies far above `rated.outlet`, {}",
            ambient.text, outlet.text
        );
        let hint = "write the cooling air and the package outlet at the rated point";
        r.tell(outlet.line, "rated_ambient", what, Some(hint.to_owned()));
    }
    Some(Known {
        value: TemperatureDifference::new(approach),
        sigma,
        given: true,
    })
}

fn fan(r: &Reader<'_>, quiet: &Reader<'_>, warn: Temperature) -> Fan {
    let word = if r.has("fan") {
        r.word("fan").map_or("unknown", |f| f.value)
    } else {
        quiet.default_word("fan")
    };
    let held = || {
        r.need("fan_held_at");
        r.given_quantity("fan_held_at").map_or(Fan::Unknown, |t| {
            if t.si >= warn.si() {
                let limit = unit::show(Kind::Temperature, warn.si());
                let what = format!("{} is not below `oil.warn`, {limit}", t.text);
                let hint = "the fan holds the oil below the warning";
                r.tell(t.line, "fan_held_at", what, Some(hint.to_owned()));
            }
            let held = t.known(Temperature::new);
            if word == "variable" {
                Fan::Variable(held)
            } else {
                Fan::OnOff(held)
            }
        })
    };
    match word {
        "variable" | "on/off" => held(),
        _ => {
            r.refuse(
                "fan_held_at",
                &format!("contradicts `fan`, which is `{word}`"),
                "write `fan = \"variable\"` or `fan = \"on/off\"`, or leave `fan_held_at` out",
            );
            if word == "constant" {
                Fan::Constant
            } else {
                Fan::Unknown
            }
        }
    }
}

/// The share of the liquid that a thing takes to its drain; without a drain it takes none.
pub(in crate::file::station) fn separates(
    r: &Reader<'_>,
    asset: &Reader<'_>,
    drained: bool,
) -> Known<f64> {
    if drained {
        return r.value_or_default("separates", 1.0).known(|x| x);
    }
    if let Some(found) = r.number("separates").filter(|f| f.value > 0.0) {
        let what = format!(
            "is {}, but no drain is fitted to take the liquid away",
            found.text
        );
        let hint = format!(
            "describe the drain: `[[drain]]` with `id = \"{}.drain\"`",
            asset.id()
        );
        r.tell(found.line, "separates", what, Some(hint));
    }
    Known {
        value: 0.0,
        sigma: 0.0,
        given: false,
    }
}

pub(super) fn belt(machine: &Reader<'_>, drive: Option<Drive>) -> Option<Belt> {
    if drive != Some(Drive::Belt) {
        if drive.is_some() {
            machine.refuse(
                "belt",
                "contradicts `drive`, which is not `belt`",
                "write `drive = \"belt\"`, or leave the belt out",
            );
        }
        return None;
    }
    let r = machine.table("belt");
    let (driver, driven) = (r.given_quantity("driver"), r.given_quantity("driven"));
    let centres = r.given_quantity("centres");
    if let (Some(small), Some(large), Some(centres)) = (&driver, &driven, &centres)
        && centres.si < 0.5 * (small.si + large.si)
    {
        let what = format!(
            "at {} the pulleys `driver`, {}, and `driven`, {}, overlap",
            centres.text, small.text, large.text
        );
        let hint =
            "write diameters, not radii of other pulleys, and the distance of the two shafts";
        r.tell(centres.line, "centres", what, Some(hint.to_owned()));
    }
    let count = if r.has("count") {
        r.count("count").map_or(1, |f| f.value)
    } else {
        r.default_word("count").parse().unwrap_or(1)
    };
    Some(Belt {
        section: r.text("section").map(|f| f.value),
        count,
        driver_m: driver.map(|t| t.si),
        driven_m: driven.map(|t| t.si),
        centres_m: centres.map(|t| t.si),
        indicator: r.yes_or_default("indicator"),
    })
}

const CLEAN_BELOW_CHANGE: &str = "it is changed at a larger pressure drop than it has when clean";

pub(super) fn separator(machine: &Reader<'_>, motor: Option<Power>, rated_w: f64) -> Separator {
    let r = machine.table("separator");
    let (clean, change) = (
        r.value_or_default("clean", 1.0),
        r.value_or_default("change", 1.0),
    );
    r.below(
        "clean",
        Some(&clean),
        "separator.change",
        Some(&change),
        CLEAN_BELOW_CHANGE,
    );
    // Without the motor's plate, its shaft power is about nine tenths of the package input.
    let motor_kw = motor.map_or(0.9 * rated_w / 1.0e3, Power::kw);
    Separator {
        clean: clean.known(PressureDifference::new),
        change: PressureDifference::new(change.si),
        volume_m3: r.value_or_default("volume", motor_kw).known(|v| v),
    }
}

pub(super) fn intake(machine: &Reader<'_>) -> Intake {
    let r = machine.table("intake");
    let (clean, change) = (
        r.value_or_default("clean", 1.0),
        r.value_or_default("change", 1.0),
    );
    r.below(
        "clean",
        Some(&clean),
        "intake.change",
        Some(&change),
        CLEAN_BELOW_CHANGE,
    );
    Intake {
        clean: clean.known(PressureDifference::new),
        change: PressureDifference::new(change.si),
    }
}
