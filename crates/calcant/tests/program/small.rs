//! Small invented stations and a few weeks of rounds each, so that the tests meet many kinds of
//! finding. What is right to find is judged elsewhere; here it only has to be found.

use std::fmt::Write as _;

use serde_json::Value;

use crate::harness::Folder;

/// Days through the demo's year.
pub(crate) const DATES: [&str; 12] = [
    "2025-07-18",
    "2025-08-20",
    "2025-09-22",
    "2025-10-15",
    "2025-11-12",
    "2025-12-10",
    "2026-01-14",
    "2026-02-18",
    "2026-03-25",
    "2026-05-06",
    "2026-06-17",
    "2026-07-14",
];

const SITE: &str = r#"
[site]
name      = "NAME (invented)"
altitude  = "120 m"
time_zone = "Europe/Lisbon"
price     = { energy = 0.21, currency = "EUR" }
hours     = "Mon-Fri 06:00-22:00"

[site.climate]
mean         = [8, 9, 11, 13, 16, 20, 23, 23, 20, 16, 12, 9]
mean_max     = [13, 14, 17, 19, 22, 27, 31, 31, 27, 22, 17, 14]
humidity     = [0.82, 0.78, 0.72, 0.68, 0.65, 0.60, 0.55, 0.56, 0.62, 0.72, 0.79, 0.83]
design_hot   = "41 degC"
design_humid = { temperature = "28 degC", humidity = 0.85 }
design_cold  = "-2 degC"
"#;

const BARE: &str = r#"
calcant  = 1
air_path = ["K1"]
SITE
[[machine]]
id      = "K1"
kind    = "oil-injected screw"
drive   = "direct"
control = "load/unload"
rated   = { pressure = "7.5 bar(g)", fad = "5.3 m3/min", power = "33.4 kW" }
band    = { load = "6.8 bar(g)", unload = "7.5 bar(g)" }
"#;

const VARIABLE: &str = r#"
calcant  = 1
air_path = ["K1", "R1", "MAIN"]
SITE
[[machine]]
id        = "K1"
kind      = "oil-injected screw"
drive     = "direct"
control   = "variable speed"
rated     = { pressure = "7.5 bar(g)", fad = "5.4 m3/min", power = "34.5 kW" }
target    = "6.9 bar(g)"
part_load = [{ fad = "1.6 m3/min", power = "11.6 kW" }, { fad = "5.4 m3/min", power = "34.5 kW" }]

[[vessel]]
id     = "R1"
volume = "500 L"
max_pressure = "11 bar(g)"

[[drain]]
id   = "R1.drain"
kind = "float"

[[header]]
id      = "MAIN"
wanted  = "6.2 bar(g)"
coldest = "3 degC"
"#;

const OTHER: &str = r#"
calcant  = 1
air_path = ["K1", "R1", "MAIN"]
SITE
[[machine]]
id      = "K1"
kind    = "other"
control = "load/unload"
rated   = { pressure = "7.5 bar(g)", fad = "5 m3/min", power = "36 kW", outlet = "32 degC" }
band    = { load = "6.4 bar(g)", unload = "7.1 bar(g)" }

[[vessel]]
id     = "R1"
volume = "500 L"
max_pressure = "11 bar(g)"

[[header]]
id     = "MAIN"
wanted = "5.8 bar(g)"
"#;

/// Which station a story is set in.
pub(crate) enum Of {
    Demo,
    Bare,
    Variable,
    Other,
}

/// Rounds on weekdays at 07:10 from 5 January 2026, all with the same values but the counters,
/// the last ones with what went wrong.
pub(crate) struct Story {
    pub(crate) name: &'static str,
    of: Of,
    /// Column and value while all is well; `+` marks a counter that starts there and grows 12 a day.
    usual: &'static [(&'static str, &'static str)],
    /// Columns of the last eight rounds.
    wrong: &'static [(&'static str, &'static str)],
    /// Kinds that have to be found.
    pub(crate) finds: &'static [&'static str],
}

const WEATHER: (&str, &str) = ("site.ambient [degC]", "12");
const DAMP: (&str, &str) = ("site.humidity [%]", "70");
const ROOM: (&str, &str) = ("room.temperature [degC]", "18");
const ON_LOAD: (&str, &str) = ("K1.state", "loaded");
const RUN: (&str, &str) = ("K1.hours_run [h]", "+8200");
const LOADED: (&str, &str) = ("K1.hours_loaded [h]", "+7000");

pub(crate) const STORIES: &[Story] = &[
    Story {
        name: "hot oil",
        of: Of::Demo,
        usual: &[
            WEATHER,
            DAMP,
            ROOM,
            ON_LOAD,
            RUN,
            LOADED,
            ("K1.oil_temperature [degC]", "77"),
            ("K1.pressure [bar(g)]", "7.2"),
        ],
        wrong: &[
            ("K1.oil_temperature [degC]", "107"),
            ("K1.oil_level", "low"),
            ("K1.oil_look", "milky"),
        ],
        finds: &["oil-hot", "oil-level"],
    },
    Story {
        name: "treatment",
        of: Of::Demo,
        usual: &[
            WEATHER,
            DAMP,
            ROOM,
            ON_LOAD,
            ("K2.state", "stopped"),
            ("K1.pressure [bar(g)]", "7.2"),
            ("F1.drop [bar]", "0.07"),
            ("D1.dew_point [degC]", "4"),
            ("MAIN.flow [m3/min(ANR)]", "4.8"),
            ("MAIN.pressure [bar(g)]", "6.9"),
        ],
        wrong: &[
            ("F1.drop [bar]", "0.52"),
            ("D1.dew_point [degC]", "14"),
            ("MAIN.pressure [bar(g)]", "5.4"),
        ],
        finds: &["filter-loaded", "dew-point-high", "pressure-short"],
    },
    Story {
        name: "drains",
        of: Of::Demo,
        usual: &[
            WEATHER,
            DAMP,
            ON_LOAD,
            ("R1.drain.test", "strong"),
            ("D1.drain.test", "strong"),
        ],
        wrong: &[("R1.drain.test", "nothing"), ("D1.drain.test", "passing")],
        finds: &["drain-blocked", "drain-passing"],
    },
    Story {
        name: "belts and elements",
        of: Of::Demo,
        usual: &[
            WEATHER,
            DAMP,
            ROOM,
            ON_LOAD,
            RUN,
            LOADED,
            ("K1.pressure [bar(g)]", "7.2"),
            ("K1.separator_drop [bar]", "0.25"),
            ("K1.intake_drop [mbar]", "22"),
            ("K1.belt_indicator", "0.3"),
            ("K1.power [kW]", "33"),
        ],
        wrong: &[
            ("K1.separator_drop [bar]", "0.85"),
            ("K1.intake_drop [mbar]", "62"),
            ("K1.belt_indicator", "1"),
        ],
        finds: &["separator-loaded", "intake-choked", "belt-slack"],
    },
    Story {
        name: "a hard life",
        of: Of::Demo,
        usual: &[
            WEATHER,
            DAMP,
            ROOM,
            ON_LOAD,
            RUN,
            LOADED,
            ("K1.power [kW]", "33"),
            ("K1.pressure [bar(g)]", "7.2"),
            ("K1.load_time [s]", "60"),
            ("K1.unload_time [s]", "90"),
        ],
        wrong: &[
            ("K1.load_time [s]", "6"),
            ("K1.unload_time [s]", "5"),
            ("K1.power [kW]", "44"),
            ("K1.sound", "unusual"),
            ("K1.panel", "alarm"),
            ("R1.safety_valve", "weeping"),
        ],
        finds: &["short-cycling", "observation"],
    },
    Story {
        name: "variable speed",
        of: Of::Variable,
        usual: &[
            WEATHER,
            DAMP,
            ROOM,
            ON_LOAD,
            ("K1.speed [%]", "60"),
            ("K1.power [kW]", "21"),
            ("K1.oil_temperature [degC]", "76"),
            ("K1.pressure [bar(g)]", "7.0"),
            ("MAIN.pressure [bar(g)]", "6.8"),
        ],
        wrong: &[
            ("K1.oil_temperature [degC]", "112"),
            ("MAIN.pressure [bar(g)]", "5.1"),
        ],
        finds: &["oil-hot", "pressure-short"],
    },
    Story {
        name: "another kind of machine",
        of: Of::Other,
        usual: &[
            WEATHER,
            DAMP,
            ROOM,
            ON_LOAD,
            ("K1.power [kW]", "35.5"),
            ("K1.outlet_temperature [degC]", "26"),
            ("MAIN.pressure [bar(g)]", "6.7"),
        ],
        wrong: &[("MAIN.pressure [bar(g)]", "4.6"), ("K1.sound", "unusual")],
        finds: &["pressure-short", "observation"],
    },
    Story {
        name: "the least that a file can say",
        of: Of::Bare,
        usual: &[
            WEATHER,
            DAMP,
            ON_LOAD,
            ("K1.oil_temperature [degC]", "76"),
            ("K1.oil_look", "clear"),
        ],
        wrong: &[("K1.oil_look", "milky")],
        finds: &[],
    },
];

impl Story {
    pub(crate) fn station(&self, folder: &Folder) -> String {
        match self.of {
            Of::Demo => folder.text("station.toml"),
            Of::Bare => file(BARE, "Bare Works"),
            Of::Variable => file(VARIABLE, "Variable Works"),
            Of::Other => file(OTHER, "Other Works"),
        }
    }

    pub(crate) fn rounds(&self) -> String {
        let mut columns: Vec<&str> = Vec::new();
        for (column, _) in self.usual.iter().chain(self.wrong) {
            if !columns.contains(column) {
                columns.push(column);
            }
        }
        let mut text = format!("time,{}\n", columns.join(","));
        let days = (5..=30).filter(|d| ![10, 11, 17, 18, 24, 25].contains(d));
        for (n, day) in days.enumerate() {
            let _ = write!(text, "2026-01-{day:02} 07:10");
            let turned = if n >= 12 { self.wrong } else { &[] };
            for column in &columns {
                let found = turned.iter().chain(self.usual).find(|(c, _)| c == column);
                let value = found.map_or("", |(_, value)| value);
                match value.strip_prefix('+').map(str::parse::<u32>) {
                    Some(Ok(start)) => {
                        let _ = write!(text, ",{}", start + 12 * u32::try_from(n).unwrap_or(0));
                    }
                    _ => {
                        let _ = write!(text, ",{value}");
                    }
                }
            }
            text.push('\n');
        }
        text
    }

    /// Judged by the program, in a folder of its own, without a rejected row.
    pub(crate) fn judged(&self) -> Value {
        let folder = Folder::with_demo();
        let station = self.station(&folder);
        folder.put("station.toml", &station);
        folder.put("rounds.csv", &self.rounds());
        folder
            .run(["judge", "station.toml", "rounds.csv", "--json"])
            .json()
    }
}

fn file(text: &str, name: &str) -> String {
    text.replace("SITE", &SITE.replace("NAME", name))
}

/// Puts the small station files into a folder: `bare.toml`, `variable.toml`, `other.toml`.
pub(crate) fn put_all(folder: &Folder) {
    folder.put("bare.toml", &file(BARE, "Bare Works"));
    folder.put("variable.toml", &file(VARIABLE, "Variable Works"));
    folder.put("other.toml", &file(OTHER, "Other Works"));
}

#[test]
fn the_small_stations_are_sound() {
    let folder = Folder::fresh();
    put_all(&folder);
    for station in ["bare.toml", "variable.toml", "other.toml"] {
        let ran = folder.run(["station", "check", station]);
        assert_eq!(ran.status, Some(0), "{}", ran.err);
    }
}
