//! The station, minute by minute: who loads, and how warm it gets.
//!
//! Within one minute the machines' load/unload cycles are taken as a share of time (the duty).
//! Machines load one after the other; the last one that loads trims and swings through its band.
//!
//! Must not know: readers, gauges, files.

use crate::fans::Fan;
use crate::faults::Fault;
use crate::moist_air::{
    AIR_KJ_PER_KG_K, CONDENSATION_KJ_PER_KG, anr_per_free_air, content_kg_per_kg,
    saturated_kg_per_kg,
};
use crate::plant::{Machine, Plant};
use crate::severities::Severities;
use crate::truth::WaterBook;
use crate::weather::Air;

/// A machine that is not wanted runs on unloaded for so many minutes, then stops.
const RUN_ON_MIN: f64 = 10.0;
/// Share of the unloaded input that warms the oil.
const UNLOADED_OIL_SHARE: f64 = 0.6;
/// Heat through the walls of sump and pipes while running, kW/K.
const SUMP_WALL_KW_PER_K: f64 = 0.018;
/// Ambient that a plate states its oil approach at, °C.
const PLATE_AMBIENT_C: f64 = 20.0;
/// Density of the free air that a machine draws, kg/m³.
const FREE_AIR_KG_PER_M3: f64 = 1.19;
/// Time in which a machine at rest cools, min.
const REST_LAG_MIN: f64 = 170.0;

/// One machine at one minute.
#[derive(Debug, Clone)]
pub(crate) struct MachineState {
    pub(crate) running: bool,
    idle_min: f64,
    /// Share of this minute on load.
    pub(crate) duty: f64,
    /// Delivery while loaded, m³/min (ANR).
    pub(crate) capacity: f64,
    pub(crate) sump_c: f64,
    /// Air-end discharge as the sensor shows it on load, °C.
    pub(crate) discharge_c: f64,
    pub(crate) outlet_c: f64,
    /// Outlet with the fan on, and with it off, where the fan switches.
    pub(crate) outlets_c: [f64; 2],
    /// Speed of the fan over full, or its share of time on.
    pub(crate) fan_speed: f64,
    /// What the fan's control sensed a minute ago, °C.
    fan_senses_c: f64,
    pub(crate) run_h: f64,
    pub(crate) loaded_h: f64,
    pub(crate) starts: u64,
    /// Run hours when the separator was last new, and when the belt was last set.
    separator_from_h: f64,
    belt_from_h: f64,
    belt_at_start: f64,
}

/// The station at one minute.
#[derive(Debug, Clone)]
pub(crate) struct Station<'a> {
    pub(crate) plant: &'a Plant,
    pub(crate) machines: Vec<MachineState>,
    pub(crate) room_c: f64,
    room_rise_k: f64,
    /// Air lacking in the vessel and the pipes, m³ (ANR).
    pub(crate) lacking_m3: f64,
    /// The machine that takes load first.
    lead: usize,
    /// The machine that swings through its band.
    pub(crate) trim: usize,
    /// Through the filter to the header, m³/min (ANR).
    pub(crate) header_flow: f64,
    /// Air lost by blowing down separators, m³/min (ANR).
    blown_down: f64,
    /// Water drained from the vessel since the last round, L.
    pub(crate) collected_l: f64,
    pub(crate) dew_point_c: f64,
    filter_from_day: u32,
    pub(crate) water: WaterBook,
}

impl<'a> Station<'a> {
    pub(crate) fn new(plant: &'a Plant, outdoors: &Air) -> Self {
        let state = |m: &Machine| MachineState {
            running: false,
            idle_min: 0.0,
            duty: 0.0,
            capacity: 0.0,
            sump_c: outdoors.temperature_c + 5.0,
            discharge_c: outdoors.temperature_c + 5.0,
            outlet_c: outdoors.temperature_c + 5.0,
            outlets_c: [outdoors.temperature_c + 5.0; 2],
            fan_speed: m.truth.fan.at_rest(),
            fan_senses_c: outdoors.temperature_c + 5.0,
            run_h: m.hours_run,
            loaded_h: m.hours_loaded,
            starts: m.starts,
            separator_from_h: m.hours_run,
            belt_from_h: m.hours_run,
            belt_at_start: m.truth.belt_indicator,
        };
        Self {
            plant,
            machines: plant.machines.iter().map(state).collect(),
            room_c: outdoors.temperature_c,
            room_rise_k: 0.0,
            lacking_m3: 7.0 * (plant.receiver.volume_m3 + plant.header.volume_m3),
            lead: 0,
            trim: 0,
            header_flow: 0.0,
            blown_down: 0.0,
            collected_l: 0.0,
            dew_point_c: plant.dryer.true_dew_point_c,
            filter_from_day: 0,
            water: WaterBook::default(),
        }
    }

    /// Passes the lead on where its day has come.
    pub(crate) fn pass_the_lead(&mut self, day: u32) {
        let turns = day.checked_div(self.plant.lead_days).unwrap_or(0) as usize;
        self.lead = turns % self.machines.len().max(1);
    }

    /// Mending `fault` at `on` also begins the ordinary wear of that part anew.
    pub(crate) fn renew(&mut self, on: &str, fault: &Fault, day: u32) {
        if matches!(fault, Fault::FilterLoading | Fault::FilterTorn) && on == self.plant.filter.id {
            self.filter_from_day = day;
        }
        for (state, machine) in self.machines.iter_mut().zip(&self.plant.machines) {
            match fault {
                Fault::SeparatorLoading if machine.id == on => state.separator_from_h = state.run_h,
                Fault::BeltSlipping if machine.id == on => {
                    state.belt_from_h = state.run_h;
                    state.belt_at_start = 0.05;
                }
                _ => {}
            }
        }
    }

    /// Drop over the filter at rated flow, bar.
    pub(crate) fn element_bar(&self, day: u32, sev: &Severities) -> f64 {
        let filter = &self.plant.filter;
        let years = f64::from(day.saturating_sub(self.filter_from_day)) / 365.0;
        let loaded = filter.true_clean_bar + filter.bar_per_year * years + sev.filter_bar;
        loaded * (1.0 - sev.filter_torn).powi(2)
    }

    /// Drop over a machine's separator while loaded, bar.
    pub(crate) fn separator_bar(&self, i: usize, severities: &Severities) -> f64 {
        let state = &self.machines[i];
        let worn = self.plant.machines[i].separator_bar(state.run_h - state.separator_from_h);
        worn + severities.machines[i].separator_bar
    }

    /// A machine's belt indicator; slip of 4 % goes with the better part of the travel.
    pub(crate) fn belt_indicator(&self, i: usize, severities: &Severities) -> f64 {
        let state = &self.machines[i];
        let per_h = self.plant.machines[i].truth.belt_per_kh / 1000.0;
        let used = state.belt_at_start + per_h * (state.run_h - state.belt_from_h);
        (used + 18.0 * severities.machines[i].slip).clamp(0.0, 1.0)
    }

    /// Middle of the band of the machine that trims, bar(g).
    pub(crate) fn mean_pressure(&self) -> f64 {
        let plate = &self.plant.machines[self.trim].plate;
        0.5 * (plate.load_bar_g + plate.unload_bar_g)
    }

    /// Input of a machine's fan, as a mean over the minute, over full.
    pub(crate) fn fan_draw(&self, i: usize) -> f64 {
        self.plant.machines[i]
            .truth
            .fan
            .draw(self.machines[i].fan_speed)
    }

    /// Package input of a machine unloaded, kW; the plate's holds with the fan at full speed.
    pub(crate) fn unloaded_kw(&self, i: usize) -> f64 {
        let (plate, truth) = (&self.plant.machines[i].plate, &self.plant.machines[i].truth);
        plate.unloaded_kw * truth.unloaded - plate.fan_kw * (1.0 - self.fan_draw(i))
    }

    /// Package input of a machine on load at a pressure, kW.
    pub(crate) fn loaded_kw(&self, i: usize, bar_g: f64, air: &Air, sev: &Severities) -> f64 {
        let (plate, truth) = (&self.plant.machines[i].plate, &self.plant.machines[i].truth);
        let inside = bar_g + self.separator_bar(i, sev) - truth.separator_clean_bar;
        let at_pressure = 1.0 + truth.power_per_bar * (inside - plate.pressure_bar_g);
        let intake_bar = air.atmosphere_hpa / 1000.0 - sev.machines[i].choke_bar;
        let shaft = (plate.power_kw - plate.fan_kw) * intake_bar.powf(truth.choke_exponent);
        truth.power * (plate.fan_kw * self.fan_draw(i) + shaft * at_pressure)
    }

    /// Cooling-air flow of a machine over its rated flow, with the fan at full speed.
    fn cooling_air(&self, i: usize, air: &Air, sev: &Severities) -> f64 {
        let density = air.atmosphere_hpa / 1013.25 * 293.15 / (self.room_c + 273.15);
        (1.0 - sev.machines[i].mat) * density
    }

    /// One minute. `wanted` is what the works take, m³/min (ANR), leaks not counted.
    pub(crate) fn minute(&mut self, air: &Air, on: bool, wanted: f64, sev: &Severities) {
        if on {
            self.share_the_load(air, wanted, sev);
        } else {
            self.rest(sev);
        }
        self.warm_the_room(air, sev);
        for i in 0..self.machines.len() {
            self.warm_the_machine(i, air, sev);
        }
        if on {
            self.follow_the_water(air, sev);
        }
    }

    fn rest(&mut self, sev: &Severities) {
        for state in &mut self.machines {
            state.running = false;
            state.duty = 0.0;
        }
        let full = 7.0 * (self.plant.receiver.volume_m3 + self.plant.header.volume_m3);
        let share_left = 1.0 - self.lacking_m3 / full;
        let lost = self.plant.load.leaks + sev.leaks + sev.passing();
        self.lacking_m3 = (self.lacking_m3 + lost * share_left).min(full);
        self.header_flow = 0.0;
        self.blown_down = 0.0;
        self.trim = self.lead;
    }

    fn share_the_load(&mut self, air: &Air, wanted: f64, sev: &Severities) {
        let plant = self.plant;
        let bar_g = self.mean_pressure();
        let leaks = (plant.load.leaks + sev.leaks) * (bar_g + 1.013) / 8.013;
        let lost = sev.passing() + self.blown_down;
        let demand = wanted + leaks + lost;
        let mut left = demand + self.lacking_m3;
        let atmosphere_bar = air.atmosphere_hpa / 1000.0;
        let anr = anr_per_free_air(self.room_c, air.vapour_hpa, air.atmosphere_hpa);
        let mut delivered = 0.0;
        self.trim = self.lead;
        for turn in 0..plant.machines.len() {
            let i = (self.lead + turn) % plant.machines.len();
            let (state, machine) = (&mut self.machines[i], &plant.machines[i]);
            let s = &sev.machines[i];
            let truth = &machine.truth;
            let at_pressure = 1.0 - truth.fad_per_bar * (bar_g - machine.plate.pressure_bar_g);
            let kept = (1.0 - s.slip) * (1.0 - s.worn) * (1.0 - s.choke_bar / atmosphere_bar);
            state.capacity = machine.plate.fad_m3_min * truth.fad * at_pressure * kept * anr;
            state.duty = (left / state.capacity).clamp(0.0, 1.0);
            left -= state.duty * state.capacity;
            delivered += state.duty * state.capacity;
            if state.duty > 0.0 {
                self.trim = i;
                state.idle_min = 0.0;
                state.starts += u64::from(!state.running);
                state.running = true;
            } else if state.running {
                state.idle_min += 1.0;
                state.running = state.idle_min < RUN_ON_MIN;
            }
            state.run_h += f64::from(u8::from(state.running)) / 60.0;
            state.loaded_h += state.duty / 60.0;
        }
        self.lacking_m3 = (self.lacking_m3 + demand - delivered).max(0.0);
        self.header_flow = (wanted + leaks).min(delivered);
        let (load_min, unload_min) = self.cycle_min();
        let cycle_min = load_min + unload_min;
        let separator_m3 = plant.machines[self.trim].plate.separator_l / 1000.0;
        self.blown_down = if cycle_min.is_finite() {
            separator_m3 * bar_g / cycle_min
        } else {
            0.0
        };
    }

    /// Minutes on load and minutes unloaded in one cycle of the machine that trims.
    pub(crate) fn cycle_min(&self) -> (f64, f64) {
        let state = &self.machines[self.trim];
        let plate = &self.plant.machines[self.trim].plate;
        let storage = self.plant.receiver.volume_m3 + self.plant.header.volume_m3;
        let swing_m3 =
            storage * (plate.unload_bar_g - plate.load_bar_g) * 293.15 / (self.room_c + 278.0);
        let taken = state.duty * state.capacity;
        (swing_m3 / (state.capacity - taken), swing_m3 / taken)
    }

    fn warm_the_room(&mut self, air: &Air, sev: &Severities) {
        let room = &self.plant.room;
        let bar_g = self.mean_pressure();
        let mut heat_kw = 0.0;
        for (i, state) in self
            .machines
            .iter()
            .enumerate()
            .filter(|(_, state)| state.running)
        {
            let loaded_kw = self.loaded_kw(i, bar_g, air, sev);
            heat_kw += state.duty * loaded_kw + (1.0 - state.duty) * self.unloaded_kw(i);
        }
        if heat_kw > 0.0 {
            heat_kw += 3.0 * self.plant.dryer.power_kw;
        }
        let flow_kg_s = room.ventilation_m3_s * room.ventilation * (1.0 - sev.room) * 1.17;
        let wanted = room.idle_rise_k + heat_kw / (flow_kg_s * AIR_KJ_PER_KG_K);
        self.room_rise_k += (wanted - self.room_rise_k) / room.lag_min;
        self.room_c = air.temperature_c + self.room_rise_k;
    }

    fn warm_the_machine(&mut self, i: usize, air: &Air, sev: &Severities) {
        let room_c = self.room_c;
        let state = &self.machines[i];
        if !state.running {
            let rest = &mut self.machines[i];
            rest.fan_speed = self.plant.machines[i].truth.fan.at_rest();
            rest.fan_senses_c = rest.sump_c;
            rest.sump_c += (room_c - rest.sump_c) / REST_LAG_MIN;
            rest.outlet_c += (room_c - rest.outlet_c) / 30.0;
            return;
        }
        let machine = &self.plant.machines[i];
        let (plate, truth) = (&machine.plate, &machine.truth);
        let s = &sev.machines[i];
        let loaded_kw = self.loaded_kw(i, self.mean_pressure(), air, sev);
        // Slip keeps its share of the heat in the belts.
        let oil_loaded_kw = truth.oil_heat_share * loaded_kw * (1.0 - s.slip);
        // What leaves hotter with the air is not left to the oil cooler: energy is kept.
        let air_kw_per_k = plate.fad_m3_min / 60.0 * FREE_AIR_KG_PER_M3 * AIR_KJ_PER_KG_K;
        let hotter_k = state.sump_c - (PLATE_AMBIENT_C + truth.oil_approach_k);
        let oil_kw = state.duty * (oil_loaded_kw - air_kw_per_k * hotter_k)
            + (1.0 - state.duty) * UNLOADED_OIL_SHARE * self.unloaded_kw(i);
        let rated_kw = truth.oil_heat_share * plate.power_kw;
        let oil_kw_per_k = rated_kw / truth.air_end_rise_k;
        let air_flow = self.cooling_air(i, air, sev);
        let cooler_kw_per_k = (rated_kw / truth.oil_approach_k - SUMP_WALL_KW_PER_K)
            * truth.fan.mean(state.fan_speed, |fan| {
                (fan * air_flow).powf(truth.oil_flow_exponent)
            })
            * (1.0 - s.oil_side);
        let from_c = truth.held_at_c - 0.9 * truth.valve_band_k;
        let opening = (state.sump_c - from_c) / truth.valve_band_k;
        let opening = opening.clamp(s.stuck_open.max(0.02), 1.0);
        let away_kw_per_k = opening * cooler_kw_per_k + SUMP_WALL_KW_PER_K;
        let settled_c = room_c + oil_kw / away_kw_per_k;
        let share = 1.0 - (-60.0 * away_kw_per_k / truth.sump_kj_per_k).exp();
        let sump_c = state.sump_c + (settled_c - state.sump_c) * share;
        // On load the air end warms the oil by more than the mean; the sensor shows part of it.
        let swing_k = (oil_loaded_kw - oil_kw) / oil_kw_per_k;
        let discharge_c = sump_c + truth.swing_seen * swing_k;

        let drawn = content_kg_per_kg(air.vapour_hpa, air.atmosphere_hpa);
        let bar_a = self.mean_pressure() + air.atmosphere_hpa / 1000.0;
        let fallen = (drawn - saturated_kg_per_kg(state.outlet_c, bar_a)).max(0.0);
        let across_k = (discharge_c - state.outlet_c).max(5.0);
        let apparent = 1.0 + fallen * CONDENSATION_KJ_PER_KG / (AIR_KJ_PER_KG_K * across_k);
        let units = (truth.oil_approach_k / truth.air_approach_k).ln();
        let outlet = |fan: f64| {
            let units = units * (fan * air_flow).powf(truth.air_flow_exponent)
                / apparent.powf(truth.latent_exponent);
            room_c + (discharge_c - room_c) * (-units).exp()
        };
        let outlet_c = truth.fan.mean(state.fan_speed, outlet);
        let outlets_c = match truth.fan {
            Fan::OnOff(held) => [outlet(1.0), outlet(held.least)]
                .map(|now_c| outlet_c + held.outlet_follows * (now_c - outlet_c)),
            _ => [outlet_c; 2],
        };
        let fan_senses_c = truth.fan.senses(sump_c, swing_k);
        let fan_speed = truth
            .fan
            .follow(state.fan_speed, fan_senses_c, state.fan_senses_c);

        let state = &mut self.machines[i];
        state.fan_speed = fan_speed;
        state.fan_senses_c = fan_senses_c;
        state.outlets_c = outlets_c;
        state.sump_c = sump_c;
        state.discharge_c = discharge_c;
        if state.duty > 0.0 {
            // Half a minute's lag, which also calms the search for the outlet temperature.
            state.outlet_c += 0.6 * (outlet_c - state.outlet_c);
        }
    }
}
