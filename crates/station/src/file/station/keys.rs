//! Every key of the station file: what it holds and between which values it can lie at all.
//!
//! The limits are common practice, no source: they keep out slips of a power of ten and wrong
//! units, not poor design. Must not know: the tree, defaults, contradictions.

use crate::file::unit::Kind;

/// What a key holds.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Holds {
    /// Words, not empty.
    Text,
    /// One of these words.
    Word(&'static [&'static str]),
    /// `true` or `false`.
    Yes,
    /// A number without unit, between two; the factor makes it SI.
    Number(f64, f64, f64),
    /// A whole number between two.
    Count(u32, u32),
    /// A text with a unit, between two.
    Quantity(Kind, &'static str, &'static str),
    /// A day.
    Day,
    /// Twelve numbers without unit, January first, each between two.
    Months(f64, f64),
    /// A table with keys of its own in this list.
    Table,
    /// A table whose keys are free.
    Free,
    /// A list of tables.
    Tables,
    /// Read by hand.
    Special,
}

use Holds::{Count, Day, Free, Months, Number, Quantity, Special, Table, Tables, Text, Word, Yes};
use Kind::{
    Current, Duration, FreeAir, GaugePressure, Hours, Length, Litres, Power, PressureDifference,
    Temperature, TemperatureDifference, Ventilation, Voltage, Volume,
};

/// The kinds of machine.
pub(super) const MACHINE_KINDS: &[&str] = &["oil-injected screw", "other"];
/// The kinds of dryer.
pub(super) const DRYER_KINDS: &[&str] = &["refrigeration", "desiccant"];

/// Every key, by its path.
pub(crate) const KEYS: &[(&str, Holds)] = &[
    ("calcant", Special),
    ("air_path", Special),
    ("site", Table),
    ("room", Table),
    ("machine", Tables),
    ("vessel", Tables),
    ("dryer", Tables),
    ("filter", Tables),
    ("drain", Tables),
    ("pipe", Tables),
    ("header", Tables),
    ("task", Tables),
    ("reading", Free),
    ("log", Table),
    ("log.columns", Free),
    ("site.name", Text),
    ("site.altitude", Quantity(Length, "-430 m", "5000 m")),
    ("site.time_zone", Text),
    ("site.price", Table),
    ("site.price.energy", Number(0.0, 1.0e5, 1.0)),
    ("site.price.currency", Text),
    ("site.price.outage", Number(0.0, 1.0e10, 1.0)),
    ("site.carbon", Number(0.0, 3.0, 1.0)),
    ("site.hours", Text),
    ("site.climate", Table),
    ("site.climate.mean", Months(-60.0, 50.0)),
    ("site.climate.mean_max", Months(-60.0, 60.0)),
    ("site.climate.humidity", Months(0.0, 1.0)),
    (
        "site.climate.design_hot",
        Quantity(Temperature, "-20 degC", "60 degC"),
    ),
    ("site.climate.design_humid", Table),
    (
        "site.climate.design_humid.temperature",
        Quantity(Temperature, "-20 degC", "60 degC"),
    ),
    ("site.climate.design_humid.humidity", Number(0.0, 1.0, 1.0)),
    (
        "site.climate.design_cold",
        Quantity(Temperature, "-60 degC", "40 degC"),
    ),
    (
        "room.ventilation",
        Quantity(Ventilation, "0.01 m3/s", "500 m3/s"),
    ),
    ("room.ducted", Yes),
    ("room.rise", Quantity(TemperatureDifference, "0 K", "30 K")),
    ("machine.id", Text),
    ("machine.like", Text),
    ("machine.kind", Text),
    ("machine.stages", Count(1, 6)),
    ("machine.lubrication", Text),
    ("machine.drive", Word(&["belt", "gear", "direct"])),
    (
        "machine.control",
        Word(&["load/unload", "start/stop", "variable speed", "modulating"]),
    ),
    ("machine.order", Count(1, 1000)),
    ("machine.rated", Table),
    (
        "machine.rated.pressure",
        Quantity(GaugePressure, "1 bar(g)", "16 bar(g)"),
    ),
    (
        "machine.rated.fad",
        Quantity(FreeAir, "0.1 m3/min", "500 m3/min"),
    ),
    ("machine.rated.power", Quantity(Power, "0.5 kW", "1000 kW")),
    ("machine.rated.humidity", Number(0.0, 1.0, 1.0)),
    (
        "machine.rated.outlet",
        Quantity(Temperature, "-15 degC", "200 degC"),
    ),
    ("machine.band", Table),
    (
        "machine.band.load",
        Quantity(GaugePressure, "0.5 bar(g)", "16 bar(g)"),
    ),
    (
        "machine.band.unload",
        Quantity(GaugePressure, "0.5 bar(g)", "16 bar(g)"),
    ),
    (
        "machine.target",
        Quantity(GaugePressure, "0.5 bar(g)", "16 bar(g)"),
    ),
    ("machine.part_load", Tables),
    (
        "machine.part_load.fad",
        Quantity(FreeAir, "0.01 m3/min", "500 m3/min"),
    ),
    (
        "machine.part_load.power",
        Quantity(Power, "0.1 kW", "1000 kW"),
    ),
    (
        "machine.max_pressure",
        Quantity(GaugePressure, "1 bar(g)", "20 bar(g)"),
    ),
    (
        "machine.unloaded_power",
        Quantity(Power, "0.01 kW", "1000 kW"),
    ),
    ("machine.fan_power", Quantity(Power, "0 kW", "100 kW")),
    ("machine.blowdown", Quantity(Duration, "1 s", "600 s")),
    (
        "machine.minimum_pressure",
        Quantity(GaugePressure, "0.5 bar(g)", "10 bar(g)"),
    ),
    ("machine.slip", Number(0.0, 0.05, 1.0e-5)),
    ("machine.motor", Table),
    ("machine.motor.power", Quantity(Power, "0.3 kW", "1000 kW")),
    ("machine.motor.voltage", Quantity(Voltage, "100 V", "15 kV")),
    (
        "machine.motor.current",
        Quantity(Current, "0.5 A", "4000 A"),
    ),
    ("machine.motor.efficiency", Number(0.5, 1.0, 1.0)),
    ("machine.motor.power_factor", Number(0.3, 1.0, 1.0)),
    ("machine.motor.starts_per_hour", Number(1.0, 120.0, 1.0)),
    ("machine.oil", Table),
    ("machine.oil.grade", Text),
    ("machine.oil.fill", Quantity(Litres, "0.1 L", "2000 L")),
    (
        "machine.oil.held_at",
        Quantity(Temperature, "40 degC", "110 degC"),
    ),
    (
        "machine.oil.warn",
        Quantity(Temperature, "60 degC", "130 degC"),
    ),
    (
        "machine.oil.trip",
        Quantity(Temperature, "70 degC", "140 degC"),
    ),
    ("machine.oil.life", Quantity(Hours, "100 h", "50000 h")),
    ("machine.oil.ratio", Number(1.0, 30.0, 1.0)),
    ("machine.cooling", Table),
    ("machine.cooling.medium", Text),
    (
        "machine.cooling.rated_ambient",
        Quantity(Temperature, "-20 degC", "60 degC"),
    ),
    (
        "machine.cooling.oil_approach",
        Quantity(TemperatureDifference, "10 K", "100 K"),
    ),
    (
        "machine.cooling.air_approach",
        Quantity(TemperatureDifference, "0.5 K", "60 K"),
    ),
    (
        "machine.cooling.fan",
        Word(&["constant", "on/off", "variable", "unknown"]),
    ),
    (
        "machine.cooling.fan_held_at",
        Quantity(Temperature, "30 degC", "120 degC"),
    ),
    ("machine.cooling.mat", Yes),
    ("machine.cooling.hot_side_share", Number(0.0, 1.0, 1.0)),
    (
        "machine.cooling.after_drop",
        Quantity(PressureDifference, "0 bar", "1 bar"),
    ),
    ("machine.cooling.separates", Number(0.0, 1.0, 1.0)),
    ("machine.belt", Table),
    ("machine.belt.section", Text),
    ("machine.belt.count", Count(1, 20)),
    ("machine.belt.driver", Quantity(Length, "20 mm", "2 m")),
    ("machine.belt.driven", Quantity(Length, "20 mm", "2 m")),
    ("machine.belt.centres", Quantity(Length, "50 mm", "5 m")),
    ("machine.belt.indicator", Yes),
    ("machine.separator", Table),
    (
        "machine.separator.clean",
        Quantity(PressureDifference, "0.01 bar", "1 bar"),
    ),
    (
        "machine.separator.change",
        Quantity(PressureDifference, "0.05 bar", "2 bar"),
    ),
    (
        "machine.separator.volume",
        Quantity(Volume, "0.5 L", "5000 L"),
    ),
    ("machine.intake", Table),
    (
        "machine.intake.clean",
        Quantity(PressureDifference, "0.1 mbar", "100 mbar"),
    ),
    (
        "machine.intake.change",
        Quantity(PressureDifference, "1 mbar", "300 mbar"),
    ),
    ("vessel.id", Text),
    ("vessel.like", Text),
    ("vessel.volume", Quantity(Volume, "10 L", "200 m3")),
    (
        "vessel.max_pressure",
        Quantity(GaugePressure, "1 bar(g)", "50 bar(g)"),
    ),
    ("vessel.safety_valve", Table),
    (
        "vessel.safety_valve.set",
        Quantity(GaugePressure, "0.5 bar(g)", "50 bar(g)"),
    ),
    (
        "vessel.safety_valve.capacity",
        Quantity(FreeAir, "0.1 m3/min", "2000 m3/min"),
    ),
    ("vessel.safety_valve.due", Day),
    ("vessel.inspection", Table),
    ("vessel.inspection.last", Day),
    ("vessel.inspection.due", Day),
    ("vessel.u", Number(0.5, 50.0, 1.0)),
    ("vessel.separates", Number(0.0, 1.0, 1.0)),
    ("dryer.id", Text),
    ("dryer.like", Text),
    ("dryer.kind", Text),
    (
        "dryer.dew_point",
        Quantity(Temperature, "-100 degC", "20 degC"),
    ),
    (
        "dryer.drop",
        Quantity(PressureDifference, "0.001 bar", "2 bar"),
    ),
    ("dryer.power", Quantity(Power, "0 kW", "200 kW")),
    ("dryer.purge", Number(0.0, 0.5, 1.0)),
    (
        "dryer.reheat",
        Quantity(TemperatureDifference, "0 K", "40 K"),
    ),
    ("dryer.derate", Number(0.0, 0.1, 1.0)),
    ("dryer.separates", Number(0.0, 1.0, 1.0)),
    ("dryer.drain", Yes),
    ("dryer.rated", Table),
    (
        "dryer.rated.flow",
        Quantity(FreeAir, "0.1 m3/min", "1000 m3/min"),
    ),
    (
        "dryer.rated.pressure",
        Quantity(GaugePressure, "1 bar(g)", "16 bar(g)"),
    ),
    (
        "dryer.rated.inlet",
        Quantity(Temperature, "5 degC", "80 degC"),
    ),
    (
        "dryer.rated.ambient",
        Quantity(Temperature, "-10 degC", "60 degC"),
    ),
    ("filter.id", Text),
    ("filter.like", Text),
    ("filter.rated", Table),
    (
        "filter.rated.flow",
        Quantity(FreeAir, "0.1 m3/min", "1000 m3/min"),
    ),
    (
        "filter.rated.pressure",
        Quantity(GaugePressure, "1 bar(g)", "16 bar(g)"),
    ),
    (
        "filter.clean",
        Quantity(PressureDifference, "0.001 bar", "1 bar"),
    ),
    (
        "filter.change",
        Quantity(PressureDifference, "0.01 bar", "3 bar"),
    ),
    ("filter.separates", Number(0.0, 1.0, 1.0)),
    ("drain.id", Text),
    ("drain.like", Text),
    (
        "drain.kind",
        Word(&["level-sensed", "timer", "float", "manual"]),
    ),
    ("drain.test_button", Yes),
    ("drain.open", Quantity(Duration, "0.1 s", "600 s")),
    ("drain.every", Quantity(Duration, "5 s", "24 h")),
    ("drain.orifice", Quantity(Length, "0.3 mm", "30 mm")),
    ("pipe.id", Text),
    ("pipe.like", Text),
    ("pipe.length", Quantity(Length, "0.1 m", "5000 m")),
    ("pipe.bore", Quantity(Length, "5 mm", "1 m")),
    ("pipe.roughness", Quantity(Length, "0.0001 mm", "5 mm")),
    ("header.id", Text),
    ("header.like", Text),
    (
        "header.wanted",
        Quantity(GaugePressure, "0.5 bar(g)", "16 bar(g)"),
    ),
    (
        "header.coldest",
        Quantity(Temperature, "-50 degC", "50 degC"),
    ),
    ("header.volume", Quantity(Volume, "1 L", "1000 m3")),
    ("task.on", Text),
    ("task.what", Text),
    ("task.every", Table),
    ("task.every.hours", Number(1.0, 200_000.0, 1.0)),
    ("task.every.months", Count(1, 240)),
    ("task.last", Table),
    ("task.last.date", Day),
    ("task.last.hours", Number(0.0, 1.0e6, 1.0)),
    ("reading.accuracy", Special),
];

/// What the key of this path holds.
pub(crate) fn holds(path: &str) -> Option<Holds> {
    KEYS.iter()
        .find(|(key, _)| *key == path)
        .map(|(_, holds)| *holds)
}

/// The keys of a table, `` for the file itself.
pub(super) fn keys_of(table: &str) -> impl Iterator<Item = &'static str> + '_ {
    KEYS.iter()
        .filter_map(move |(path, _)| match path.rsplit_once('.') {
            Some((parent, key)) => (parent == table).then_some(key),
            None => table.is_empty().then_some(*path),
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::file::unit::quantity;

    #[test]
    fn every_limit_can_be_read_and_lies_below_the_other() {
        let mut seen = std::collections::BTreeSet::new();
        for (path, holds) in KEYS {
            assert!(seen.insert(*path), "{path} stands twice");
            match *holds {
                Quantity(kind, low, high) => {
                    let low = quantity(kind, low).expect(path);
                    assert!(low < quantity(kind, high).expect(path), "{path}");
                }
                Number(low, high, _) | Months(low, high) => assert!(low < high, "{path}"),
                Count(low, high) => assert!(low < high, "{path}"),
                _ => {}
            }
        }
    }
}
