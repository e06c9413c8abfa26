//! The true value of every point at the moment of a round.
//!
//! Must not know: readers, gauges.

use std::collections::BTreeMap;

use crate::fans::{Fan, HeldFan};
use crate::severities::Severities;
use crate::simulate::{MachineState, Station};
use crate::weather::Air;

/// What a machine does when it is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum State {
    Loaded,
    Unloaded,
    Stopped,
}

impl State {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Loaded => "loaded",
            Self::Unloaded => "unloaded",
            Self::Stopped => "stopped",
        }
    }
}

/// The moment within the cycle at which a round finds the station.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Moment {
    /// Where the pressure stands in the band, 0…1.
    pub(crate) in_band: f64,
    /// A draw, 0…1, that settles whether the machine that trims is on load.
    pub(crate) draw: f64,
    /// Does the reader wait until it is?
    pub(crate) waits: bool,
    /// Draws, 0…1: whether a fan that switches is on, and how far it is through that.
    pub(crate) fan: [f64; 2],
    /// Are load and unload times taken with a watch?
    pub(crate) timed: bool,
}

/// States and true values at one moment.
pub(crate) struct Seen {
    pub(crate) states: Vec<State>,
    /// Whether each machine's fan is on; `None` where it does not switch.
    pub(crate) fans: Vec<Option<bool>>,
    pub(crate) values: BTreeMap<String, f64>,
    pub(crate) health: BTreeMap<String, f64>,
}

/// What a fan that switches does to the readings of a moment.
struct SeenFan {
    on: Option<bool>,
    oil_c: f64,
    outlet_c: f64,
    /// Its input over the mean of the minute; over full, then in kW.
    more_kw: f64,
}

/// A fan that is on, or off, and so far through that: the oil falls, or rises, across the band.
fn switching(now: &MachineState, held: &HeldFan, on: bool, through: f64) -> SeenFan {
    // A fan that is always on, or always off, makes no swing.
    let swings = now.fan_speed > 0.0 && now.fan_speed < 1.0;
    let across = if on { 0.5 - through } else { through - 0.5 };
    let swing_k = if swings { held.band_k * across } else { 0.0 };
    let [with, without] = now.outlets_c;
    SeenFan {
        on: Some(on),
        oil_c: now.discharge_c + swing_k,
        outlet_c: if on { with } else { without },
        more_kw: f64::from(u8::from(on)) - now.fan_speed,
    }
}

/// What a reader with perfect gauges and eyes would find.
pub(crate) fn look(
    station: &Station,
    air: &Air,
    day: u32,
    sev: &Severities,
    moment: Moment,
) -> Seen {
    let plant = station.plant;
    let states: Vec<State> = (0..station.machines.len())
        .map(|i| {
            let state = &station.machines[i];
            let on_load = moment.draw < state.duty || (state.duty > 0.0 && moment.waits);
            match (state.running, on_load) {
                (false, _) => State::Stopped,
                (true, true) => State::Loaded,
                (true, false) => State::Unloaded,
            }
        })
        .collect();
    let trim = &plant.machines[station.trim].plate;
    let storage_m3 = plant.receiver.volume_m3 + plant.header.volume_m3;
    let package_bar = trim.load_bar_g + moment.in_band * (trim.unload_bar_g - trim.load_bar_g)
        - station.lacking_m3 / storage_m3;
    let package_bar = package_bar.max(0.0);
    let flowing: f64 = station
        .machines
        .iter()
        .zip(&states)
        .filter(|(_, state)| **state == State::Loaded)
        .map(|(machine, _)| machine.capacity)
        .sum();
    let rated: f64 = plant.machines.iter().map(|m| m.plate.fad_m3_min).sum();
    let vessel_bar =
        (package_bar - plant.receiver.pipe_drop_bar * (flowing / rated).powi(2)).max(0.0);
    let mut fans = Vec::new();
    let mut values = BTreeMap::new();
    let mut health = BTreeMap::new();
    let mut put = |asset: &str, name: &str, value: f64| {
        values.insert(format!("{asset}.{name}"), value);
    };
    put("site", "ambient", air.temperature_c);
    put("site", "humidity", 100.0 * air.humidity());
    put("room", "temperature", station.room_c);
    for (i, (machine, state)) in plant.machines.iter().zip(&states).enumerate() {
        let id = machine.id.as_str();
        let now = &station.machines[i];
        let s = &sev.machines[i];
        put(id, "hours_run", now.run_h);
        put(id, "hours_loaded", now.loaded_h);
        put(id, "starts", now.starts as f64);
        put(id, "belt_indicator", station.belt_indicator(i, sev));
        let [on, through] = moment.fan;
        let mut fan = SeenFan {
            on: None,
            oil_c: now.discharge_c,
            outlet_c: now.outlet_c,
            more_kw: 0.0,
        };
        if let Fan::OnOff(held) = machine.truth.fan
            && *state != State::Stopped
        {
            fan = switching(now, &held, on < now.fan_speed, through);
            fan.more_kw *= machine.plate.fan_kw;
        }
        fans.push(fan.on);
        match state {
            State::Loaded => {
                put(id, "oil_temperature", fan.oil_c);
                put(id, "outlet_temperature", fan.outlet_c);
                put(id, "pressure", package_bar);
                let mean_kw = station.loaded_kw(i, package_bar, air, sev);
                put(id, "power", mean_kw + fan.more_kw);
                put(id, "separator_drop", station.separator_bar(i, sev));
                let intake_bar = machine.truth.intake_bar + s.choke_bar;
                put(id, "intake_drop", 1000.0 * intake_bar);
            }
            State::Unloaded => {
                put(id, "pressure", vessel_bar);
                put(id, "power", station.unloaded_kw(i) + fan.more_kw);
            }
            State::Stopped => {}
        }
        if moment.timed && i == station.trim && *state != State::Stopped {
            let (load_min, unload_min) = station.cycle_min();
            put(id, "load_time", 60.0 * load_min);
            put(id, "unload_time", 60.0 * unload_min);
        }
        let air_left: f64 = 1.0 - s.mat;
        let conductance = air_left.powf(machine.truth.oil_flow_exponent) * (1.0 - s.oil_side);
        health.insert(format!("{id}.cooling_air"), air_left);
        health.insert(format!("{id}.oil_cooler"), conductance);
        health.insert(format!("{id}.delivery"), 1.0 - s.worn);
        health.insert(format!("{id}.belt"), 1.0 - s.slip);
        health.insert(format!("{id}.separator_bar"), station.separator_bar(i, sev));
    }
    let filter = &plant.filter;
    let squeezed = 8.013 / (vessel_bar + 1.013);
    let through = station.header_flow / filter.rated_m3_min * squeezed;
    let element_bar = station.element_bar(day, sev);
    let filter_bar = element_bar * through.powf(filter.flow_exponent);
    let dryer = &plant.dryer;
    let dryer_through = station.header_flow / dryer.rated_m3_min * squeezed;
    let dryer_bar = dryer.drop_bar * dryer_through.powf(1.85);
    put(&plant.receiver.id, "pressure", vessel_bar);
    put(&plant.receiver.id, "drain.collected", station.collected_l);
    put(&filter.id, "drop", filter_bar);
    put(&dryer.id, "dew_point", station.dew_point_c);
    let header_bar = (vessel_bar - filter_bar - dryer_bar - 0.02).max(0.0);
    put(&plant.header.id, "pressure", header_bar);
    put(&plant.header.id, "flow", station.header_flow);
    health.insert(
        format!("{}.factor", filter.id),
        element_bar / filter.true_clean_bar,
    );
    health.insert(format!("{}.capacity", dryer.id), 1.0 - sev.dryer);
    health.insert("leaks".to_owned(), plant.load.leaks + sev.leaks);
    Seen {
        states,
        fans,
        values,
        health,
    }
}
