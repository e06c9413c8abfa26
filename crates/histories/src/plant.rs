//! What is fitted: what the nameplates claim, and what each thing truly is.
//!
//! A true machine differs from its nameplate by a few per cent and a few kelvin. The judging side
//! sees only the nameplate.
//!
//! Must not know: weather, faults, readings.

use jiff::civil::Date;

use crate::fans::{Fan, FanPlate};

/// One station: its assets in the order of the air path, its room and its demand.
#[derive(Debug, Clone, PartialEq)]
pub struct Plant {
    /// The station's name. Invented.
    pub name: String,
    /// Height above the sea, m.
    pub altitude_m: f64,
    /// The time zone, for the station file; the simulation runs in local time.
    pub time_zone: String,
    /// The machines, side by side, in the order in which they take load while none passes the lead on.
    pub machines: Vec<Machine>,
    /// The vessel after the machines.
    pub receiver: Receiver,
    /// The filter after the vessel.
    pub filter: Filter,
    /// The dryer after the filter.
    pub dryer: Dryer,
    /// The header after the dryer.
    pub header: Header,
    /// The compressor room.
    pub room: Room,
    /// What the works take.
    pub load: Load,
    /// Every how many days the lead passes on to the next machine; 0 for never.
    pub lead_days: u32,
    /// Work that falls due.
    pub tasks: Vec<TaskPlan>,
}

/// An oil-injected screw, belt-driven and air-cooled, under load/unload control.
#[derive(Debug, Clone, PartialEq)]
pub struct Machine {
    /// Its id, `K1` for example.
    pub id: String,
    /// What its nameplate and manual say.
    pub plate: MachinePlate,
    /// What it truly is.
    pub truth: MachineTruth,
    /// Hours run when the history begins.
    pub hours_run: f64,
    /// Hours loaded when the history begins.
    pub hours_loaded: f64,
    /// Motor starts when the history begins.
    pub starts: u64,
}

/// What a machine's nameplate and manual say.
#[derive(Debug, Clone, PartialEq)]
pub struct MachinePlate {
    /// Rated pressure at the package outlet, bar(g).
    pub pressure_bar_g: f64,
    /// Free air delivered, m³/min at intake conditions.
    pub fad_m3_min: f64,
    /// Package input at rated pressure, kW.
    pub power_kw: f64,
    /// Package input when unloaded, kW.
    pub unloaded_kw: f64,
    /// Input of the cooling fan at full speed, kW.
    pub fan_kw: f64,
    /// How the cooling fan runs.
    pub fan: FanPlate,
    /// Rated power of the motor, kW.
    pub motor_kw: f64,
    /// The pressure at which it loads, bar(g).
    pub load_bar_g: f64,
    /// The pressure at which it unloads, bar(g).
    pub unload_bar_g: f64,
    /// Temperature at which the thermostatic valve holds the oil in cool weather, °C.
    pub held_at_c: f64,
    /// Oil temperature at full duty over the cooling air, K.
    pub oil_approach_k: f64,
    /// Outlet temperature at full duty over dry cooling air, K.
    pub air_approach_k: f64,
    /// Cooling-air temperature at which the approaches hold, °C.
    pub rated_ambient_c: f64,
    /// Drop over the clean separator, bar.
    pub separator_clean_bar: f64,
    /// Drop at which the separator is changed, bar.
    pub separator_change_bar: f64,
    /// Volume of the separator tank, L.
    pub separator_l: f64,
    /// Oil fill, L.
    pub oil_l: f64,
}

/// What a machine truly is, shape of its behaviour included.
#[derive(Debug, Clone, PartialEq)]
pub struct MachineTruth {
    /// Free air delivered over the nameplate's.
    pub fad: f64,
    /// Loaded power over the nameplate's.
    pub power: f64,
    /// Unloaded power over the nameplate's.
    pub unloaded: f64,
    /// Growth of loaded power, share per bar.
    pub power_per_bar: f64,
    /// Fall of delivery, share per bar.
    pub fad_per_bar: f64,
    /// How the cooling fan runs.
    pub fan: Fan,
    /// Share of the loaded power's fall with intake pressure.
    pub choke_exponent: f64,
    /// Oil temperature at full duty over the cooling air, K.
    pub oil_approach_k: f64,
    /// Outlet temperature at full duty over dry cooling air, K.
    pub air_approach_k: f64,
    /// Temperature rise of the oil through the air end at full load, K.
    pub air_end_rise_k: f64,
    /// Share of the package input that the oil takes up.
    pub oil_heat_share: f64,
    /// Temperature at which the thermostatic valve is nearly fully open, °C.
    pub held_at_c: f64,
    /// Band over which the valve opens, K.
    pub valve_band_k: f64,
    /// Heat capacity of sump, oil and metal, kJ/K.
    pub sump_kj_per_k: f64,
    /// Exponent of the cooling-air flow in the oil cooler.
    pub oil_flow_exponent: f64,
    /// Exponent of the cooling-air flow in the aftercooler.
    pub air_flow_exponent: f64,
    /// Exponent of the apparent heat capacity in the aftercooler's transfer units.
    pub latent_exponent: f64,
    /// How much of the swing between load and unload the discharge sensor shows.
    pub swing_seen: f64,
    /// Share of the condensate that the package's own separator catches.
    pub water_caught: f64,
    /// Drop over the clean separator, bar.
    pub separator_clean_bar: f64,
    /// Growth of the separator drop by ordinary use, bar per 1,000 h.
    pub separator_bar_per_kh: f64,
    /// Belt indicator when the history begins, 0…1.
    pub belt_indicator: f64,
    /// Growth of the belt indicator by ordinary use, per 1,000 h.
    pub belt_per_kh: f64,
    /// Oil carried away, L per 1,000 h.
    pub oil_l_per_kh: f64,
    /// Drop over the clean intake filter, bar.
    pub intake_bar: f64,
}

/// The vessel.
#[derive(Debug, Clone, PartialEq)]
pub struct Receiver {
    /// Its id.
    pub id: String,
    /// Its volume, m³.
    pub volume_m3: f64,
    /// Drop from the packages to the vessel at the sum of rated deliveries, bar.
    pub pipe_drop_bar: f64,
    /// Heat passed through its wall, kW/K.
    pub wall_kw_per_k: f64,
    /// Share of the liquid that it catches.
    pub water_caught: f64,
    /// Liquid that it holds before it overflows down the line, L.
    pub holds_l: f64,
}

/// The filter.
#[derive(Debug, Clone, PartialEq)]
pub struct Filter {
    /// Its id.
    pub id: String,
    /// Rated flow at 7 bar(g), m³/min of free air.
    pub rated_m3_min: f64,
    /// Drop when clean, at rated flow, on the nameplate, bar.
    pub clean_bar: f64,
    /// Drop at which the element is changed, bar.
    pub change_bar: f64,
    /// True drop when clean, at rated flow, bar.
    pub true_clean_bar: f64,
    /// Exponent of the actual flow.
    pub flow_exponent: f64,
    /// Growth of the drop by ordinary use, bar per year.
    pub bar_per_year: f64,
}

/// The refrigeration dryer.
#[derive(Debug, Clone, PartialEq)]
pub struct Dryer {
    /// Its id.
    pub id: String,
    /// Rated flow at 7 bar(g), 35 °C at the inlet, 25 °C around, m³/min of free air.
    pub rated_m3_min: f64,
    /// Pressure dew point on the nameplate, °C.
    pub dew_point_c: f64,
    /// Drop at rated flow, bar.
    pub drop_bar: f64,
    /// Input, kW.
    pub power_kw: f64,
    /// True dew point at light load, °C.
    pub true_dew_point_c: f64,
    /// True capacity over the rated.
    pub capacity: f64,
    /// Loss of capacity per kelvin of a warmer room.
    pub capacity_per_k: f64,
    /// Share of the liquid that it catches.
    pub water_caught: f64,
}

/// The header.
#[derive(Debug, Clone, PartialEq)]
pub struct Header {
    /// Its id.
    pub id: String,
    /// The pressure that the works want, bar(g).
    pub wanted_bar_g: f64,
    /// The coldest that the pipes get, °C.
    pub coldest_c: f64,
    /// Storage in the pipes, m³.
    pub volume_m3: f64,
}

/// The compressor room.
#[derive(Debug, Clone, PartialEq)]
pub struct Room {
    /// Air drawn through the room, m³/s, on the nameplate.
    pub ventilation_m3_s: f64,
    /// True air over the nameplate's.
    pub ventilation: f64,
    /// How far the room is warmer than outdoors without any machine, K.
    pub idle_rise_k: f64,
    /// Time in which the room follows the heat, min.
    pub lag_min: f64,
}

/// What the works take, m³/min (ANR), by shift. Nothing runs on Sundays.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Monday to Friday, 06:00 to 14:00.
    pub early: f64,
    /// Monday to Friday, 14:00 to 22:00.
    pub late: f64,
    /// Saturday, 06:00 to 13:00.
    pub saturday: f64,
    /// From switching on until the first shift.
    pub warm_up: f64,
    /// Leaks when the history begins, at 7 bar(g); at all hours.
    pub leaks: f64,
    /// Spread of a day's demand about the pattern, as a share.
    pub day_spread: f64,
    /// Spread of a minute's demand about the day's, as a share.
    pub minute_spread: f64,
    /// Spread of a month's demand about the pattern, as a share: what is made changes.
    pub month_spread: f64,
    /// Days on which the works are closed, first and last inclusive.
    pub closed: Vec<(Date, Date)>,
}

/// Work that falls due by hours or months, for the station file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TaskPlan {
    /// The asset.
    pub on: String,
    /// The work.
    pub what: String,
    /// Due after so many hours run.
    pub every_hours: Option<u32>,
    /// Due after so many months.
    pub every_months: Option<u32>,
    /// Last done on.
    pub last_date: Date,
    /// Hours run when last done.
    pub last_hours: Option<u32>,
}

impl Machine {
    /// Drop over the separator at rated flow after so many hours of ordinary use, bar.
    pub(crate) fn separator_bar(&self, hours: f64) -> f64 {
        self.truth.separator_clean_bar + self.truth.separator_bar_per_kh * hours / 1000.0
    }
}

impl Load {
    /// Are the works closed for the whole day?
    #[must_use]
    pub fn is_closed(&self, date: Date) -> bool {
        self.closed
            .iter()
            .any(|(first, last)| *first <= date && date <= *last)
    }
}
