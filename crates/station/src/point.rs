//! What can be read where, in which dimension, how well, and between which values.
//!
//! Must not know: file syntax beyond the point's name, expectations.

use crate::file::unit::Kind;
use crate::model::Asset;

/// One point on one thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PointId {
    /// On what.
    pub asset: Asset,
    /// Which point.
    pub point: Point,
}

/// The kind of thing that a point can be on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum On {
    Site,
    Room,
    Machine,
    Vessel,
    Dryer,
    Filter,
    Drain,
    Header,
}

/// What a point's value is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// Kelvin.
    Temperature,
    /// Pascal above atmosphere.
    GaugePressure,
    /// Pascal above vacuum.
    AbsolutePressure,
    /// Pascal.
    PressureDifference,
    /// Watt.
    Power,
    /// Ampere.
    Current,
    /// Kilowatt-hours, a counter.
    Energy,
    /// 0…1, written in per cent.
    Humidity,
    /// Per cent of full speed.
    Percent,
    /// Hours, a counter.
    Hours,
    /// A number of events, a counter, without unit.
    Count,
    /// Seconds.
    Seconds,
    /// Revolutions a minute.
    Speed,
    /// Litres.
    Litres,
    /// A share 0…1, without unit.
    Share,
    /// Metres (deflection, written in mm).
    Length,
    /// Newton.
    Force,
    /// Hertz.
    Frequency,
    /// m³/s of reference air (ANR).
    ReferenceAir,
    /// One of a list of words.
    Words(&'static [Word]),
}

impl Dimension {
    /// The kind of quantity, and so the units that its column may carry; none for words, counts and
    /// shares, which carry no unit.
    #[must_use]
    pub const fn kind(self) -> Option<Kind> {
        Some(match self {
            Self::Temperature => Kind::Temperature,
            Self::GaugePressure => Kind::GaugePressure,
            Self::AbsolutePressure => Kind::AbsolutePressure,
            Self::PressureDifference => Kind::PressureDifference,
            Self::Power => Kind::Power,
            Self::Current => Kind::Current,
            Self::Energy => Kind::Energy,
            Self::Humidity => Kind::Humidity,
            Self::Percent => Kind::Percent,
            Self::Hours => Kind::Hours,
            Self::Seconds => Kind::Duration,
            Self::Speed => Kind::Speed,
            Self::Litres => Kind::Litres,
            Self::Length => Kind::Length,
            Self::Force => Kind::Force,
            Self::Frequency => Kind::Frequency,
            Self::ReferenceAir => Kind::ReferenceAir,
            Self::Count | Self::Share | Self::Words(_) => return None,
        })
    }
}

macro_rules! words {
    ($($variant:ident = $text:literal),* $(,)?) => {
        /// A word that an observation can say.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[expect(missing_docs, reason = "each variant is the word of the rounds file")]
        pub enum Word { $($variant),* }
        impl Word {
            /// As written in a rounds file.
            #[must_use]
            pub const fn text(self) -> &'static str {
                match self { $(Self::$variant => $text),* }
            }
        }
    };
}
words! {
    Loaded = "loaded", Unloaded = "unloaded", Stopped = "stopped", On = "on", Off = "off",
    Low = "low", InBand = "in band", High = "high", Clear = "clear", Dark = "dark",
    Milky = "milky", Foaming = "foaming", Good = "good", Worn = "worn", Bad = "bad",
    Clean = "clean", Dusty = "dusty", Clogged = "clogged", Usual = "usual", Unusual = "unusual",
    Message = "message", Alarm = "alarm", Strong = "strong", Weak = "weak", Nothing = "nothing",
    Passing = "passing", Oily = "oily", Rusty = "rusty", Quiet = "quiet", Weeping = "weeping",
    Lifted = "lifted",
}

macro_rules! points {
    ($($variant:ident, $on:ident, $name:literal, $dimension:expr, $low:expr, $high:expr, $limit:expr;)*) => {
        /// A point, named by its thing and its name in the rounds file.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[expect(missing_docs, reason = "the variant's name is the thing and the point")]
        pub enum Point { $($variant),* }
        impl Point {
            /// Every point.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];
            /// Its name in the rounds file, after the last dot.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name),* }
            }
            /// The kind of thing that it is on.
            #[must_use]
            pub const fn on(self) -> On {
                match self { $(Self::$variant => On::$on),* }
            }
            /// What its value is.
            #[must_use]
            pub const fn dimension(self) -> Dimension {
                match self { $(Self::$variant => { use Dimension::*; $dimension }),* }
            }
            /// The values that can be read at all, SI; outside lies a misreading or a wrong unit.
            #[must_use]
            pub const fn plausible(self) -> (f64, f64) {
                match self { $(Self::$variant => ($low, $high)),* }
            }
            /// How a usual instrument reads it when the station file does not say.
            #[must_use]
            pub const fn usual_accuracy(self) -> Accuracy {
                match self { $(Self::$variant => { use Accuracy::*; $limit }),* }
            }
        }
    };
}

/// The limit of error of a usual instrument, at 95 % confidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Accuracy {
    /// So much, SI.
    Limit(f64),
    /// A share of the reading.
    Share(f64),
    /// As exact as counting.
    Exact,
}

const C: f64 = 273.15;
const STATES: &[Word] = &[Word::Loaded, Word::Unloaded, Word::Stopped];
const SWITCH: &[Word] = &[Word::On, Word::Off];
const LEVELS: &[Word] = &[Word::Low, Word::InBand, Word::High];
const OIL_LOOKS: &[Word] = &[Word::Clear, Word::Dark, Word::Milky, Word::Foaming];
const WEAR: &[Word] = &[Word::Good, Word::Worn, Word::Bad];
const DIRT: &[Word] = &[Word::Clean, Word::Dusty, Word::Clogged];
const SOUNDS: &[Word] = &[Word::Usual, Word::Unusual];
const PANELS: &[Word] = &[Word::Clear, Word::Message, Word::Alarm];
const TESTS: &[Word] = &[
    Word::Strong,
    Word::Weak,
    Word::Nothing,
    Word::Passing,
    Word::Alarm,
];
const CONDENSATE: &[Word] = &[Word::Clear, Word::Milky, Word::Oily, Word::Rusty];
const VALVES: &[Word] = &[Word::Quiet, Word::Weeping, Word::Lifted];

// Gauge pressures: class 1.6 on 0…16 bar by EN 837-1 gives ±0.256 bar. Temperatures: ±2 K for a
// panel sensor with its well (common practice, no source). The other limits: common practice, no
// source.
points! {
    SiteAmbient, Site, "ambient", Temperature, C - 60.0, C + 60.0, Limit(1.0);
    SiteHumidity, Site, "humidity", Humidity, 0.01, 1.0, Limit(0.05);
    SiteBarometer, Site, "barometer", AbsolutePressure, 50.0e3, 110.0e3, Limit(200.0);
    RoomTemperature, Room, "temperature", Temperature, C - 40.0, C + 70.0, Limit(1.5);
    MachineState, Machine, "state", Words(STATES), 0.0, 0.0, Exact;
    OilTemperature, Machine, "oil_temperature", Temperature, C - 40.0, C + 160.0, Limit(2.0);
    OutletTemperature, Machine, "outlet_temperature", Temperature, C - 40.0, C + 160.0, Limit(2.0);
    MachinePressure, Machine, "pressure", GaugePressure, 0.0, 16.0e5, Limit(0.256e5);
    SeparatorDrop, Machine, "separator_drop", PressureDifference, 0.0, 3.0e5, Limit(0.08e5);
    IntakeDrop, Machine, "intake_drop", PressureDifference, 0.0, 0.3e5, Limit(500.0);
    MachinePower, Machine, "power", Power, 0.0, 2.0e6, Share(0.03);
    MachineCurrent, Machine, "current", Current, 0.0, 4000.0, Share(0.03);
    MachineEnergy, Machine, "energy", Energy, 0.0, 1.0e9, Exact;
    MachineSpeed, Machine, "speed", Percent, 0.0, 120.0, Limit(1.0);
    HoursRun, Machine, "hours_run", Hours, 0.0, 1.0e6, Exact;
    HoursLoaded, Machine, "hours_loaded", Hours, 0.0, 1.0e6, Exact;
    Starts, Machine, "starts", Count, 0.0, 1.0e8, Exact;
    LoadTime, Machine, "load_time", Seconds, 0.5, 86_400.0, Limit(2.0);
    UnloadTime, Machine, "unload_time", Seconds, 0.5, 86_400.0, Limit(2.0);
    MotorSpeed, Machine, "motor_speed", Speed, 100.0, 30_000.0, Share(0.002);
    AirEndSpeed, Machine, "air_end_speed", Speed, 100.0, 60_000.0, Share(0.002);
    Fan, Machine, "fan", Words(SWITCH), 0.0, 0.0, Exact;
    OilLevel, Machine, "oil_level", Words(LEVELS), 0.0, 0.0, Exact;
    OilLook, Machine, "oil_look", Words(OIL_LOOKS), 0.0, 0.0, Exact;
    OilAdded, Machine, "oil_added", Litres, 0.0, 1000.0, Share(0.1);
    BeltIndicator, Machine, "belt_indicator", Share, 0.0, 1.2, Limit(0.1);
    BeltDeflection, Machine, "belt_deflection", Length, 0.0, 0.2, Limit(0.001);
    BeltForce, Machine, "belt_force", Force, 0.0, 1000.0, Share(0.1);
    BeltFrequency, Machine, "belt_frequency", Frequency, 1.0, 500.0, Share(0.03);
    Belt, Machine, "belt", Words(WEAR), 0.0, 0.0, Exact;
    Mat, Machine, "mat", Words(DIRT), 0.0, 0.0, Exact;
    Cooler, Machine, "cooler", Words(DIRT), 0.0, 0.0, Exact;
    CabinetMat, Machine, "cabinet_mat", Words(DIRT), 0.0, 0.0, Exact;
    Sound, Machine, "sound", Words(SOUNDS), 0.0, 0.0, Exact;
    Panel, Machine, "panel", Words(PANELS), 0.0, 0.0, Exact;
    VesselPressure, Vessel, "pressure", GaugePressure, 0.0, 16.0e5, Limit(0.256e5);
    SafetyValve, Vessel, "safety_valve", Words(VALVES), 0.0, 0.0, Exact;
    FilterDrop, Filter, "drop", PressureDifference, 0.0, 5.0e5, Limit(0.03e5);
    DryerDrop, Dryer, "drop", PressureDifference, 0.0, 5.0e5, Limit(0.03e5);
    DryerDewPoint, Dryer, "dew_point", Temperature, C - 100.0, C + 60.0, Limit(2.0);
    DryerInlet, Dryer, "inlet_temperature", Temperature, C - 40.0, C + 100.0, Limit(2.0);
    Condenser, Dryer, "condenser", Words(DIRT), 0.0, 0.0, Exact;
    DrainTest, Drain, "test", Words(TESTS), 0.0, 0.0, Exact;
    Collected, Drain, "collected", Litres, 0.0, 100_000.0, Share(0.1);
    CondensateLook, Drain, "condensate_look", Words(CONDENSATE), 0.0, 0.0, Exact;
    HeaderPressure, Header, "pressure", GaugePressure, 0.0, 16.0e5, Limit(0.256e5);
    HeaderFlow, Header, "flow", ReferenceAir, 0.0, 50.0, Share(0.06);
}

impl Point {
    /// Whether it counts up and never down.
    #[must_use]
    pub const fn is_counter(self) -> bool {
        matches!(
            self,
            Self::HoursRun | Self::HoursLoaded | Self::Starts | Self::MachineEnergy
        )
    }

    /// The counter of this name.
    #[must_use]
    pub fn counter_of_name(name: &str) -> Option<Self> {
        Self::ALL
            .iter()
            .copied()
            .find(|p| p.is_counter() && p.name() == name)
    }

    /// The point of this name on this kind of thing.
    #[must_use]
    pub fn named(on: On, name: &str) -> Option<Self> {
        Self::ALL
            .iter()
            .copied()
            .find(|p| p.on() == on && p.name() == name)
    }
}

impl Asset {
    /// What kind of thing it is, if it can carry points.
    #[must_use]
    pub const fn on(self) -> Option<On> {
        Some(match self {
            Self::Site => On::Site,
            Self::Room => On::Room,
            Self::Machine(_) => On::Machine,
            Self::Vessel(_) => On::Vessel,
            Self::Dryer(_) => On::Dryer,
            Self::Filter(_) => On::Filter,
            Self::Drain(_) => On::Drain,
            Self::Header(_) => On::Header,
            Self::Pipe(_) => return None,
        })
    }
}
