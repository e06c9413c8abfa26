//! What is scored: plants, readers, faults, and which findings fit each fault.
//!
//! Must not know: how anything is judged.

use histories::{Climate, Fans, Fault, Habits, Plant, Trouble, Weather};
use jiff::civil::date;
use judge::{Finding, Kind};
use station::model::Station;

use crate::ways::Way;

/// The fault begins on this day at the earliest; until then everything is healthy.
pub(crate) const FIRST_ONSET: u32 = 200;
/// Days that are watched after the beginning.
pub(crate) const WATCHED: u32 = 330;

/// One station with its weather and readers.
pub(crate) struct Site {
    pub(crate) seed: u64,
    pub(crate) fans: Fans,
    pub(crate) way: Way,
    pub(crate) plant: Plant,
    pub(crate) climate: Climate,
    pub(crate) weather: Weather,
    pub(crate) habits: Habits,
    /// What is not read at this site, in words.
    pub(crate) lacks: &'static str,
}

/// What readers leave out, in turn.
const LACKS: [(&str, &[&str]); 4] = [
    ("nothing", &[]),
    ("flow", &["flow", "load_time", "unload_time"]),
    ("power", &["power", "flow"]),
    ("dew point", &["dew_point", "humidity"]),
];

impl Site {
    /// The site of a seed; with constant fans it has no draw that others lack.
    pub(crate) fn of(seed: u64, fans: Fans, way: Way) -> Self {
        let climate = match seed % 3 {
            0 => Climate::mild(),
            1 => Climate::inland(),
            _ => Climate::damp_and_hot(),
        };
        let (lacks, never) = LACKS[(seed / 3 % 4) as usize];
        let mut habits = Habits {
            first_day: date(2025, 1 + (seed * 5 % 12) as i8, 1),
            never: never.iter().map(|s| (*s).to_owned()).collect(),
            ..Habits::default()
        };
        let drawn = way.apply(Plant::drawn(seed), &mut habits, seed);
        Self {
            seed,
            fans,
            way,
            plant: drawn.with_fans(fans, seed),
            weather: Weather {
                climate: climate.clone(),
                seed,
            },
            climate,
            habits,
            lacks,
        }
    }

    pub(crate) fn reads(&self, name: &str) -> bool {
        !self.habits.never.iter().any(|n| n == name)
    }

    pub(crate) fn onset(&self) -> u32 {
        FIRST_ONSET + (self.seed * 37 % 97) as u32
    }
}

/// What the readings that show a fault follow beside the weather.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Follows {
    /// What the plant takes that day.
    Demand,
    /// What goes down the line at that moment.
    Flow,
    /// What fell out since the round before.
    Water,
    Neither,
}

/// One kind of fault as it is scored.
pub(crate) struct Kindred {
    pub(crate) name: &'static str,
    pub(crate) fault: fn() -> Fault,
    pub(crate) on: &'static str,
    /// How bad, by the plant.
    pub(crate) severity: fn(&Plant, u64) -> f64,
    /// Days to full: slow and fast.
    pub(crate) days: [u32; 2],
    /// Kinds that fit, each with the ids of the subjects.
    pub(crate) fits: &'static [(Kind, &'static [&'static str])],
    /// The cause as the judge names it; empty where it names none.
    pub(crate) cause: &'static str,
    /// Points that feel it, for the regression.
    pub(crate) points: &'static [&'static str],
    /// The point without which it leaves no number behind.
    pub(crate) needs: Option<&'static str>,
}

const K1: &[&str] = &["K1"];

/// Faults that are scored.
pub(crate) fn kinds() -> Vec<Kindred> {
    vec![
        Kindred {
            name: "mat clogging",
            fault: || Fault::MatClogging,
            on: "K1",
            severity: |_, _| 0.45,
            days: [180, 30],
            fits: &[(Kind::CoolingLost, K1), (Kind::OilHot, K1)],
            cause: "mat clogged",
            points: &["K1.oil_temperature", "K1.outlet_temperature"],
            needs: None,
        },
        Kindred {
            name: "oil-side fouling",
            fault: || Fault::OilSideFouling,
            on: "K1",
            severity: |_, _| 0.4,
            days: [180, 30],
            fits: &[(Kind::CoolingLost, K1), (Kind::OilHot, K1)],
            cause: "oil side fouled",
            points: &["K1.oil_temperature", "K1.outlet_temperature"],
            needs: None,
        },
        Kindred {
            name: "thermostat stuck open",
            fault: || Fault::ThermostatStuckOpen,
            on: "K1",
            severity: |_, _| 0.8,
            days: [180, 1],
            fits: &[(Kind::Thermostat, K1), (Kind::OilCoolWet, K1)],
            cause: "thermostat stuck",
            points: &["K1.oil_temperature", "K1.outlet_temperature"],
            needs: None,
        },
        Kindred {
            name: "belt slipping",
            fault: || Fault::BeltSlipping,
            on: "K1",
            severity: |_, _| 0.05,
            days: [180, 30],
            fits: &[(Kind::BeltSlack, K1), (Kind::DeliveryShort, K1)],
            cause: "belt slipping",
            points: &["K1.belt_indicator", "K1.oil_temperature"],
            needs: None,
        },
        Kindred {
            name: "separator loading",
            fault: || Fault::SeparatorLoading,
            on: "K1",
            severity: |_, _| 0.7,
            days: [180, 30],
            fits: &[(Kind::SeparatorLoaded, K1), (Kind::PowerHigh, K1)],
            cause: "separator loaded",
            points: &["K1.separator_drop", "K1.power"],
            needs: None,
        },
        Kindred {
            name: "filter loading",
            fault: || Fault::FilterLoading,
            on: "F1",
            severity: |_, _| 0.35,
            days: [180, 30],
            fits: &[(Kind::FilterLoaded, &["F1"])],
            cause: "filter loaded",
            points: &["F1.drop", "MAIN.pressure"],
            needs: None,
        },
        Kindred {
            name: "filter torn",
            fault: || Fault::FilterTorn,
            on: "F1",
            severity: |_, _| 0.5,
            days: [60, 1],
            fits: &[(Kind::FilterBreached, &["F1"])],
            cause: "filter element torn",
            points: &["F1.drop"],
            needs: None,
        },
        Kindred {
            name: "dryer weak",
            fault: || Fault::DryerWeak,
            on: "D1",
            severity: |_, _| 0.45,
            days: [180, 30],
            fits: &[
                (Kind::DewPointHigh, &["D1"]),
                (Kind::WaterDownstream, &["D1", "MAIN"]),
            ],
            cause: "dryer weak",
            points: &["D1.dew_point"],
            needs: Some("dew_point"),
        },
        Kindred {
            name: "drain blocked",
            fault: || Fault::DrainBlocked,
            on: "R1.drain",
            severity: |_, _| 0.9,
            days: [60, 1],
            fits: &[
                (Kind::DrainBlocked, &["R1.drain", "R1"]),
                (Kind::WaterDownstream, &["R1", "MAIN", "R1.drain"]),
            ],
            cause: "drain blocked",
            points: &["R1.drain.collected"],
            needs: None,
        },
        Kindred {
            name: "drain passing",
            fault: || Fault::DrainPassing,
            on: "R1.drain",
            severity: |p, _| 0.06 * p.machines[0].plate.fad_m3_min,
            days: [60, 1],
            fits: &[
                (Kind::DrainPassing, &["R1.drain", "R1"]),
                (Kind::Leakage, &["MAIN", "site", "station"]),
            ],
            cause: "drain passing",
            points: &["K1.load_time", "K1.unload_time", "MAIN.flow"],
            needs: None,
        },
        Kindred {
            name: "leaks growing",
            fault: || Fault::LeaksGrowing,
            on: "MAIN",
            severity: |p, _| 0.25 * p.machines[0].plate.fad_m3_min,
            days: [180, 30],
            fits: &[(Kind::Leakage, &["MAIN", "site", "station"])],
            cause: "leaks grown",
            points: &["K1.load_time", "K1.unload_time", "MAIN.flow"],
            needs: Some("load_time"),
        },
        Kindred {
            name: "air end worn",
            fault: || Fault::AirEndWorn,
            on: "K1",
            severity: |_, _| 0.15,
            days: [180, 30],
            fits: &[(Kind::DeliveryShort, K1)],
            cause: "air end worn",
            points: &["K1.load_time", "K1.unload_time", "MAIN.flow"],
            // Without a flow, what a machine delivers can't be parted from what the plant takes.
            needs: Some("flow"),
        },
        Kindred {
            name: "oil gauge off",
            fault: || Fault::GaugeOff {
                point: "K1.oil_temperature".to_owned(),
            },
            on: "K1",
            severity: |_, seed| if seed % 2 == 0 { 7.0 } else { -7.0 },
            days: [180, 1],
            fits: &[(Kind::GaugeSuspect, K1)],
            cause: "gauge wrong",
            points: &["K1.oil_temperature"],
            needs: None,
        },
        Kindred {
            name: "vessel gauge off",
            fault: || Fault::GaugeOff {
                point: "R1.pressure".to_owned(),
            },
            on: "R1",
            severity: |_, seed| if seed % 2 == 0 { 0.6 } else { -0.6 },
            days: [180, 1],
            fits: &[(Kind::GaugeSuspect, &["R1", "MAIN", "K1", "K2"])],
            cause: "gauge wrong",
            points: &["R1.pressure"],
            needs: None,
        },
        Kindred {
            name: "room hot",
            fault: || Fault::RoomHot,
            on: "room",
            severity: |_, _| 0.6,
            days: [180, 30],
            fits: &[(Kind::RoomHot, &["room", "K1", "K2"])],
            cause: "room ventilation short",
            points: &["room.temperature"],
            needs: None,
        },
        Kindred {
            name: "intake choked",
            fault: || Fault::IntakeChoked,
            on: "K1",
            severity: |_, _| 0.06,
            days: [180, 30],
            fits: &[(Kind::IntakeChoked, K1)],
            cause: "intake choked",
            points: &["K1.intake_drop"],
            needs: None,
        },
    ]
}

/// Faults that a fan which follows the oil hides or mimics.
const FELT_BY_FANS: [&str; 5] = [
    "mat clogging",
    "oil-side fouling",
    "thermostat stuck open",
    "oil gauge off",
    "room hot",
];

impl Kindred {
    /// Whether it comes out otherwise with another fan.
    pub(crate) fn feels_fans(&self) -> bool {
        FELT_BY_FANS.contains(&self.name)
    }

    /// What its readings follow that nobody at a plant is told.
    pub(crate) fn follows(&self) -> Follows {
        match self.name {
            "leaks growing" | "air end worn" => Follows::Demand,
            "filter loading" | "filter torn" => Follows::Flow,
            "drain blocked" => Follows::Water,
            _ => Follows::Neither,
        }
    }

    /// Whether the site reads what the fault needs to show at all.
    pub(crate) fn shows_at(&self, site: &Site) -> bool {
        self.needs.is_none_or(|name| site.reads(name))
    }

    pub(crate) fn trouble(&self, site: &Site, rate: usize) -> Trouble {
        let from = site.onset();
        let full = from + self.days[rate];
        let severity = (self.severity)(&site.plant, site.seed);
        Trouble::new((self.fault)(), self.on, from, full, severity)
    }

    pub(crate) fn fits(&self, station: &Station, finding: &Finding) -> bool {
        let id = station.id(finding.subject);
        // A reading that is off is told as such, or stands among the two likeliest causes.
        let gauge = self.cause == "gauge wrong"
            && id == self.on
            && finding.causes.iter().take(2).any(|c| c.cause == self.cause);
        gauge
            || self
                .fits
                .iter()
                .any(|(kind, ids)| finding.kind == *kind && ids.contains(&id))
    }
}
