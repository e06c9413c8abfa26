//! Stations out of a seed: nameplates, and truths scattered about them.
//!
//! Must not know: weather, faults, readings.

use crate::fans::{Fan, FanPlate};
use crate::plant::{
    Dryer, Filter, Header, Load, Machine, MachinePlate, MachineTruth, Plant, Receiver, Room,
};
use crate::random::{between, scatter, stream};

impl MachinePlate {
    /// An invented 30 kW machine for 7.5 bar(g).
    #[must_use]
    pub fn thirty_kilowatt(load_bar_g: f64, unload_bar_g: f64) -> Self {
        Self {
            pressure_bar_g: 7.5,
            fad_m3_min: 5.3,
            power_kw: 33.4,
            unloaded_kw: 9.2,
            fan_kw: 1.1,
            fan: FanPlate::Constant,
            motor_kw: 30.0,
            load_bar_g,
            unload_bar_g,
            held_at_c: 72.0,
            oil_approach_k: 60.0,
            air_approach_k: 8.0,
            rated_ambient_c: 20.0,
            separator_clean_bar: 0.2,
            separator_change_bar: 0.8,
            separator_l: 18.0,
            oil_l: 14.0,
        }
    }
}

impl MachineTruth {
    /// A machine as it comes out of the works: near its nameplate, not on it.
    #[must_use]
    pub fn scattered(plate: &MachinePlate, id: &str, seed: u64) -> Self {
        let rng = &mut stream(seed, &format!("machine {id}"), 0);
        Self {
            fad: 1.0 + scatter(rng, 0.02),
            power: 1.0 + scatter(rng, 0.015),
            unloaded: 1.0 + scatter(rng, 0.04),
            power_per_bar: between(rng, 0.062, 0.078),
            fad_per_bar: between(rng, 0.003, 0.008),
            fan: Fan::Constant,
            choke_exponent: between(rng, 0.40, 0.50),
            oil_approach_k: plate.oil_approach_k + scatter(rng, 1.8),
            air_approach_k: plate.air_approach_k + scatter(rng, 0.5),
            air_end_rise_k: between(rng, 15.0, 20.0),
            oil_heat_share: between(rng, 0.74, 0.80),
            held_at_c: plate.held_at_c + scatter(rng, 1.0),
            valve_band_k: between(rng, 8.0, 12.0),
            sump_kj_per_k: between(rng, 220.0, 380.0),
            oil_flow_exponent: between(rng, 0.44, 0.60),
            air_flow_exponent: between(rng, 0.62, 0.78),
            latent_exponent: between(rng, 0.50, 0.68),
            swing_seen: between(rng, 0.70, 0.95),
            water_caught: between(rng, 0.82, 0.95),
            separator_clean_bar: plate.separator_clean_bar + scatter(rng, 0.012),
            separator_bar_per_kh: between(rng, 0.005, 0.015),
            belt_indicator: between(rng, 0.10, 0.30),
            belt_per_kh: between(rng, 0.02, 0.06),
            oil_l_per_kh: between(rng, 0.1, 0.4),
            intake_bar: between(rng, 0.008, 0.014),
        }
    }
}

impl Machine {
    fn scattered(id: &str, plate: MachinePlate, seed: u64) -> Self {
        let truth = MachineTruth::scattered(&plate, id, seed);
        let counters = &mut stream(seed, &format!("counters {id}"), 0);
        let hours_run = between(counters, 2_000.0, 20_000.0).floor();
        let hours_loaded = (hours_run * between(counters, 0.4, 0.8)).floor();
        Self {
            id: id.to_owned(),
            plate,
            truth,
            hours_run,
            hours_loaded,
            starts: 1_900,
        }
    }
}

impl Plant {
    /// Two 30 kW machines, a vessel, a filter, a dryer and a header; the seed scatters the truth.
    #[must_use]
    pub fn two_screws(seed: u64) -> Self {
        let rng = &mut stream(seed, "plant", 0);
        let machines = vec![
            Machine::scattered("K1", MachinePlate::thirty_kilowatt(6.8, 7.5), seed),
            Machine::scattered("K2", MachinePlate::thirty_kilowatt(6.6, 7.3), seed),
        ];
        Self {
            name: "An invented station".to_owned(),
            altitude_m: 120.0,
            time_zone: "Europe/Lisbon".to_owned(),
            machines,
            receiver: Receiver {
                id: "R1".to_owned(),
                volume_m3: 2.0,
                pipe_drop_bar: between(rng, 0.05, 0.11),
                wall_kw_per_k: between(rng, 0.035, 0.065),
                water_caught: between(rng, 0.82, 0.95),
                holds_l: 60.0,
            },
            filter: Filter {
                id: "F1".to_owned(),
                rated_m3_min: 9.0,
                clean_bar: 0.10,
                change_bar: 0.35,
                true_clean_bar: 0.10 + scatter(rng, 0.006),
                flow_exponent: between(rng, 1.6, 2.0),
                bar_per_year: between(rng, 0.01, 0.03),
            },
            dryer: Dryer {
                id: "D1".to_owned(),
                rated_m3_min: 9.0,
                dew_point_c: 3.0,
                drop_bar: 0.2,
                power_kw: 1.4,
                true_dew_point_c: 3.0 + scatter(rng, 0.5),
                capacity: 1.08 + scatter(rng, 0.04),
                capacity_per_k: between(rng, 0.008, 0.014),
                water_caught: between(rng, 0.88, 0.97),
            },
            header: Header {
                id: "MAIN".to_owned(),
                wanted_bar_g: 6.2,
                coldest_c: 5.0,
                volume_m3: 0.35,
            },
            room: Room {
                ventilation_m3_s: 9.0,
                ventilation: 1.0 + scatter(rng, 0.05),
                idle_rise_k: between(rng, 0.5, 1.5),
                lag_min: between(rng, 20.0, 40.0),
            },
            load: Load {
                early: 6.2,
                late: 4.9,
                saturday: 3.6,
                warm_up: 1.5,
                leaks: 0.6,
                day_spread: 0.05,
                minute_spread: 0.06,
                month_spread: 0.0,
                closed: Vec::new(),
            },
            lead_days: 0,
            tasks: Vec::new(),
        }
    }
}

impl Plant {
    /// A station like [`Plant::two_screws`], with another size, site, cooling and demand for each
    /// seed, for judging over many stations.
    #[must_use]
    pub fn drawn(seed: u64) -> Self {
        let mut plant = Self::two_screws(seed);
        let rng = &mut stream(seed, "drawn", 0);
        // Nameplates are round numbers.
        let tenth = |x: f64| (10.0 * x).round() / 10.0;
        let size = between(rng, 0.6, 2.2);
        let demand = size * between(rng, 0.75, 1.15);
        let (oil_approach_k, air_approach_k) = (
            between(rng, 52.0, 64.0).round(),
            between(rng, 6.0, 11.0).round(),
        );
        let held_at_c = between(rng, 68.0, 78.0).round();
        plant.altitude_m = between(rng, 0.0, 800.0).round();
        for machine in &mut plant.machines {
            let plate = &mut machine.plate;
            plate.fad_m3_min = tenth(size * plate.fad_m3_min);
            plate.power_kw = tenth(size * plate.power_kw);
            plate.unloaded_kw = tenth(size * plate.unloaded_kw);
            plate.fan_kw = tenth(size * plate.fan_kw);
            plate.motor_kw = (size * plate.motor_kw).round();
            plate.separator_l = (size * plate.separator_l).round();
            plate.oil_l = (size * plate.oil_l).round();
            plate.oil_approach_k = oil_approach_k;
            plate.air_approach_k = air_approach_k;
            plate.held_at_c = held_at_c;
            machine.truth = MachineTruth::scattered(plate, &machine.id, seed);
            machine.truth.sump_kj_per_k *= size;
        }
        let room = between(rng, 0.8, 1.3);
        plant.room.ventilation_m3_s = tenth(size * room * plant.room.ventilation_m3_s);
        plant.receiver.volume_m3 = tenth(size * plant.receiver.volume_m3);
        plant.receiver.wall_kw_per_k *= size.powf(0.67);
        plant.receiver.holds_l *= size;
        plant.header.volume_m3 = tenth(size * 3.5) / 10.0;
        plant.filter.rated_m3_min = tenth(size * plant.filter.rated_m3_min);
        plant.dryer.rated_m3_min = tenth(size * plant.dryer.rated_m3_min);
        plant.dryer.power_kw = tenth(size * plant.dryer.power_kw);
        let load = &mut plant.load;
        for flow in [
            &mut load.early,
            &mut load.late,
            &mut load.saturday,
            &mut load.warm_up,
        ] {
            *flow *= demand;
        }
        load.leaks *= size * between(rng, 0.7, 1.5);
        plant
    }

    /// The same station with one machine, two or three, and with demand, room and line to suit.
    #[must_use]
    pub fn with_machines(mut self, count: usize, seed: u64) -> Self {
        let had = self.machines.len().max(1) as f64;
        while self.machines.len() < count
            && let Some(last) = self.machines.last()
        {
            let id = format!("K{}", self.machines.len() + 1);
            let plate = MachinePlate {
                load_bar_g: last.plate.load_bar_g - 0.2,
                unload_bar_g: last.plate.unload_bar_g - 0.2,
                ..last.plate.clone()
            };
            let sump_kj_per_k = last.truth.sump_kj_per_k;
            let mut machine = Machine::scattered(&id, plate, seed);
            machine.truth.sump_kj_per_k = sump_kj_per_k;
            self.machines.push(machine);
        }
        self.machines.truncate(count);
        let share = count as f64 / had;
        let load = &mut self.load;
        for flow in [
            &mut load.early,
            &mut load.late,
            &mut load.saturday,
            &mut load.warm_up,
            &mut load.leaks,
            &mut self.room.ventilation_m3_s,
            &mut self.filter.rated_m3_min,
            &mut self.dryer.rated_m3_min,
            &mut self.dryer.power_kw,
        ] {
            *flow *= share;
        }
        self
    }
}
