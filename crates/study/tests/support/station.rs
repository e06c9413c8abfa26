//! The invented stations of these tests, as text for the station file's own reader.

use station::model::Station;

/// A station file in parts.
pub(crate) struct Described {
    /// As in `air_path = […]`.
    pub(crate) path: String,
    pub(crate) zone: String,
    /// More lines of `[site]`.
    pub(crate) site: String,
    /// The `[[machine]]` tables.
    pub(crate) machines: String,
    /// Litres of R1.
    pub(crate) vessel_l: f64,
    /// More lines of `[[header]]` MAIN, and whatever follows.
    pub(crate) rest: String,
}

impl Default for Described {
    fn default() -> Self {
        Self {
            path: r#""K1", "R1", "MAIN""#.to_owned(),
            zone: "UTC".to_owned(),
            site: String::new(),
            machines: String::new(),
            vessel_l: 1000.0,
            rest: String::new(),
        }
    }
}

impl Described {
    pub(crate) fn parse(&self) -> Station {
        let Self {
            path,
            zone,
            site,
            machines,
            vessel_l,
            rest,
        } = self;
        let text = format!(
            r#"
calcant  = 1
air_path = [{path}]
[site]
name      = "Quillbank Tileworks (invented)"
altitude  = "0 m"
time_zone = "{zone}"
{site}
{machines}
[[vessel]]
id           = "R1"
volume       = "{vessel_l:.3} L"
max_pressure = "11 bar(g)"
[[header]]
id     = "MAIN"
{rest}
"#
        );
        station::file::station::parse(&text).unwrap_or_else(|problems| {
            let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
            panic!("the station is good: {}", told.join("\n"))
        })
    }
}

/// A `[[machine]]` of this control, rated so much at so many bar(g); `more` are lines of its own.
pub(crate) fn machine(
    id: &str,
    control: &str,
    (rated_bar, fad, kw): (f64, f64, f64),
    more: &str,
) -> String {
    format!(
        r#"
[[machine]]
id      = "{id}"
kind    = "oil-injected screw"
drive   = "gear"
control = "{control}"
rated   = {{ pressure = "{rated_bar} bar(g)", fad = "{fad:.4} m3/min", power = "{kw:.3} kW" }}
{more}
"#
    )
}

/// The line of a machine's band, bar(g).
pub(crate) fn band(load: f64, unload: f64) -> String {
    format!("band = {{ load = \"{load:.2} bar(g)\", unload = \"{unload:.2} bar(g)\" }}")
}
