//! A simulation of its own: machines, storage, leaks and demand, event by event.
//!
//! Between events V/p₀ dp/dt = delivery(p) − demand − leakage(p), all straight lines in p, so that the
//! pressure follows one exponential and every event is found exactly (first principles: ideal gas at
//! one temperature). Leaks pass air in proportion to absolute pressure. The truth is counted at the
//! events and knows nothing of rows.
#![allow(dead_code, reason = "each test takes what it needs")]

pub(crate) mod coarse;
pub(crate) mod invented;
pub(crate) mod score;

use fastrand::Rng;

/// Atmosphere, bar(a).
pub(crate) const ATMOSPHERE: f64 = 1.01325;

/// One machine.
#[derive(Clone, Debug)]
pub(crate) struct Machine {
    pub(crate) loaded_kw: f64,
    pub(crate) unloaded_kw: f64,
    /// m³/min of reference air at 7 bar(g), as it really is.
    pub(crate) delivery: f64,
    pub(crate) load: f64,
    pub(crate) unload: f64,
    /// It stops after running unloaded for so long, s.
    pub(crate) run_on: f64,
}

/// One station.
#[derive(Clone, Debug)]
pub(crate) struct Plant {
    pub(crate) machines: Vec<Machine>,
    /// m³, times the stored air's coldness: T₀/T.
    pub(crate) storage: f64,
    /// m³/min of reference air at 7 bar(g).
    pub(crate) leakage: f64,
    /// What a dryer before the storage, and one behind it, spends of the air that goes through.
    pub(crate) purge: [f64; 2],
    /// A drain by the clock: open for so long, so often, s, and then so much, m³/min at 7 bar(g).
    pub(crate) drain: Option<(f64, f64, f64)>,
    /// The greatest demand beside leaks while the plant works, m³/min; the least is a tenth of it.
    pub(crate) demand: f64,
}

#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Doing {
    Stopped,
    Unloaded,
    Loaded,
}

/// One stretch between two events.
pub(crate) struct Stretch {
    pub(crate) from: f64,
    pub(crate) to: f64,
    pub(crate) doing: Vec<Doing>,
    /// Since when each machine does it.
    since: Vec<f64>,
    /// bar(g) at its start, the pressure that it tends to, and how fast, 1/s.
    pressure: f64,
    tends_to: f64,
    rate: f64,
    pub(crate) demand: f64,
}

impl Stretch {
    pub(crate) fn pressure(&self, time: f64) -> f64 {
        let left = (-self.rate * (time - self.from)).exp();
        self.tends_to + (self.pressure - self.tends_to) * left
    }
}

/// What really was.
#[derive(Default, Debug)]
pub(crate) struct Truth {
    /// Of each machine: s stopped, unloaded, loaded, blowing down; kWh likewise.
    pub(crate) seconds: Vec<[f64; 4]>,
    pub(crate) kwh: Vec<[f64; 4]>,
    pub(crate) loads: Vec<u64>,
    pub(crate) starts: Vec<u64>,
    /// Starts after standing still for less than 1 s, and for less than 2 s.
    pub(crate) brief: Vec<[u64; 2]>,
    /// How long each machine's power lay between three and seven tenths of the way from unloaded to
    /// loaded, s.
    pub(crate) between: Vec<f64>,
    /// Mean leakage off-shift, m³/min.
    pub(crate) leakage_off: f64,
    /// Mean delivery off-shift, m³/min.
    pub(crate) drawn_off: f64,
    /// All that was delivered, m³.
    pub(crate) delivered: f64,
    /// All that was taken, m³.
    pub(crate) taken: f64,
}

/// Share of the difference that is left at once after unloading, and how fast it goes, s.
const LEFT: f64 = 0.35;
const FALLS_IN: f64 = 8.0;
pub(crate) const BLOWDOWN: f64 = 30.0;
/// Delivery falls by this share for each bar over 7.
const SLIP: f64 = 0.005;

/// Power of a machine, kW.
fn power(machine: &Machine, doing: Doing, for_s: f64) -> f64 {
    match doing {
        Doing::Stopped => 0.0,
        Doing::Loaded => machine.loaded_kw,
        Doing::Unloaded => {
            let left = LEFT * (-for_s / FALLS_IN).exp();
            machine.unloaded_kw + left * (machine.loaded_kw - machine.unloaded_kw)
        }
    }
}

/// Energy unloaded between two times since unloading, kWh.
fn energy_unloaded(machine: &Machine, from: f64, to: f64) -> f64 {
    let decay = LEFT * FALLS_IN * ((-from / FALLS_IN).exp() - (-to / FALLS_IN).exp());
    let above = machine.loaded_kw - machine.unloaded_kw;
    (machine.unloaded_kw * (to - from) + above * decay) / 3600.0
}

/// Whether the plant works: Monday to Friday, 06:00–22:00; the simulation begins on a Monday.
pub(crate) fn works(time: f64) -> bool {
    let day = (time / 86_400.0) as u32;
    let hour = (time / 3600.0) % 24.0;
    day % 7 < 5 && (6.0..22.0).contains(&hour)
}

/// What a drain lets go now, m³/min at 7 bar(g), and until when.
fn drain(plant: &Plant, now: f64) -> (f64, f64) {
    let Some((open_s, every_s, flow)) = plant.drain else {
        return (0.0, f64::INFINITY);
    };
    let cycle = ((now + 1e-6) / every_s).floor() * every_s;
    if now + 1e-6 < cycle + open_s {
        (flow, cycle + open_s)
    } else {
        (0.0, cycle + every_s)
    }
}

/// Runs the plant for so many days.
pub(crate) fn run(plant: &Plant, random: &mut Rng, days: f64) -> (Vec<Stretch>, Truth) {
    let end = 86_400.0 * days;
    let count = plant.machines.len();
    let mut doing = vec![Doing::Stopped; count];
    doing[0] = Doing::Loaded;
    let mut since = vec![0.0; count];
    let (mut now, mut pressure) = (0.0, 7.0);
    let (mut demand, mut next_change) = (0.0, 0.0);
    let (mut off_s, mut leaked_off, mut drawn_off) = (0.0, 0.0, 0.0);
    let mut stretches = Vec::new();
    let mut truth = Truth {
        seconds: vec![[0.0; 4]; count],
        kwh: vec![[0.0; 4]; count],
        loads: vec![0; count],
        starts: vec![0; count],
        brief: vec![[0; 2]; count],
        between: vec![0.0; count],
        ..Truth::default()
    };
    while now < end {
        if now >= next_change {
            demand = if works(now) {
                plant.demand * (0.1 + 0.9 * random.f64())
            } else {
                0.0
            };
            let hour_ends = ((now / 3600.0).floor() + 1.0) * 3600.0;
            next_change = (now + 120.0 + 900.0 * random.f64()).min(hour_ends);
        }
        // In m³/min for each bar(g): constant part, and part in proportion to p − 7.
        let on: f64 = plant
            .machines
            .iter()
            .zip(&doing)
            .filter(|(_, d)| **d == Doing::Loaded)
            .map(|(m, _)| m.delivery)
            .sum();
        let (open, turns) = drain(plant, now);
        let [before, behind] = plant.purge.map(|purge| 1.0 - purge);
        let own = plant.leakage / (7.0 + ATMOSPHERE);
        let on_net = on * before;
        let per_bar = own / behind + open / (7.0 + ATMOSPHERE);
        let at_7 = on_net - demand / behind - plant.leakage / behind - open;
        let slope = SLIP * on_net + per_bar;
        let tends_to = 7.0 + at_7 / slope;
        let rate = slope / 60.0 / plant.storage;
        // Until a level is reached, if it is on the way.
        let until = |level: f64| {
            let share = (level - tends_to) / (pressure - tends_to);
            if share > 0.0 && share < 1.0 - 1e-15 {
                -share.ln() / rate
            } else {
                f64::INFINITY
            }
        };
        let mut step = (next_change - now).min(end - now).min(turns - now);
        for (m, (d, s)) in plant.machines.iter().zip(doing.iter().zip(&since)) {
            let event = match d {
                Doing::Loaded => until(m.unload),
                Doing::Stopped => until(m.load),
                Doing::Unloaded => until(m.load).min(s + m.run_on - now),
            };
            step = step.min(event);
        }
        let step = step.max(1e-9);
        let stretch = Stretch {
            from: now,
            to: now + step,
            doing: doing.clone(),
            since: since.clone(),
            pressure,
            tends_to,
            rate,
            demand,
        };
        let after = stretch.pressure(now + step);
        // The integral of an exponential: mean pressure over the stretch.
        let mean = tends_to + (pressure - after) / (rate * step);
        let leak = own * (mean + ATMOSPHERE) * step / 60.0;
        let all = per_bar * (mean + ATMOSPHERE) * step / 60.0;
        truth.taken += demand * step / 60.0 + all;
        truth.delivered += on * (1.0 - SLIP * (mean - 7.0)) * step / 60.0;
        if !works(now) {
            off_s += step;
            leaked_off += leak;
            drawn_off += on * (1.0 - SLIP * (mean - 7.0)) * step / 60.0;
        }
        for (i, m) in plant.machines.iter().enumerate() {
            let (a, b) = (now - since[i], now + step - since[i]);
            let (seconds, kwh) = (&mut truth.seconds[i], &mut truth.kwh[i]);
            match doing[i] {
                Doing::Stopped => seconds[0] += step,
                Doing::Loaded => {
                    seconds[2] += step;
                    kwh[2] += m.loaded_kw * step / 3600.0;
                }
                Doing::Unloaded => {
                    let near = FALLS_IN * (LEFT / 0.3).ln();
                    truth.between[i] += near.clamp(a, b) - a;
                    let cut = BLOWDOWN.clamp(a, b);
                    seconds[3] += cut - a;
                    kwh[3] += energy_unloaded(m, a, cut);
                    seconds[1] += b - cut;
                    kwh[1] += energy_unloaded(m, cut, b);
                }
            }
        }
        stretches.push(stretch);
        now += step;
        pressure = after;
        for (i, m) in plant.machines.iter().enumerate() {
            let next = match doing[i] {
                Doing::Loaded if pressure >= m.unload - 1e-9 => Doing::Unloaded,
                Doing::Unloaded | Doing::Stopped if pressure <= m.load + 1e-9 => Doing::Loaded,
                Doing::Unloaded if now >= since[i] + m.run_on - 1e-6 => Doing::Stopped,
                same => same,
            };
            if next != doing[i] {
                truth.loads[i] += u64::from(next == Doing::Loaded);
                let starts = doing[i] == Doing::Stopped;
                truth.starts[i] += u64::from(starts);
                for (brief, least) in truth.brief[i].iter_mut().zip([1.0, 2.0]) {
                    *brief += u64::from(starts && now - since[i] < least);
                }
                doing[i] = next;
                since[i] = now;
            }
        }
    }
    truth.leakage_off = 60.0 * leaked_off / off_s.max(1e-9);
    truth.drawn_off = 60.0 * drawn_off / off_s.max(1e-9);
    (stretches, truth)
}

/// What a logger writes every so many seconds: power of each machine, pressure, room, with noise.
pub(crate) fn log(plant: &Plant, stretches: &[Stretch], interval: f64, random: &mut Rng) -> String {
    let mut text = "time".to_owned();
    for i in 1..=plant.machines.len() {
        text.push_str(&format!(",K{i}.power [kW]"));
    }
    text.push_str(",R1.pressure [bar(g)],room.temperature [degC]\n");
    let (mut at, mut row) = (0, 0_u32);
    loop {
        let now = f64::from(row) * interval;
        while stretches.get(at).is_some_and(|s| s.to <= now) {
            at += 1;
        }
        let Some(stretch) = stretches.get(at) else {
            return text;
        };
        let second = now as u32;
        // 5 January 2026 is a Monday.
        text.push_str(&format!(
            "2026-01-{:02} {:02}:{:02}:{:02}",
            5 + second / 86_400,
            second / 3600 % 24,
            second / 60 % 60,
            second % 60
        ));
        for (i, machine) in plant.machines.iter().enumerate() {
            let clean = power(machine, stretch.doing[i], now - stretch.since[i]);
            let noisy = if clean > 0.0 {
                clean * (1.0 + 0.01 * (random.f64() - 0.5))
            } else {
                0.0
            };
            text.push_str(&format!(",{noisy:.2}"));
        }
        let pressure = stretch.pressure(now) + 0.01 * (random.f64() - 0.5);
        let room = 20.0 + 0.2 * (random.f64() - 0.5);
        text.push_str(&format!(",{pressure:.3},{room:.1}\n"));
        row += 1;
    }
}

/// A number about 0 that scatters normally with 1 (sum of twelve).
pub(crate) fn normal(random: &mut Rng) -> f64 {
    (0..12).map(|_| random.f64()).sum::<f64>() - 6.0
}
