//! Cooling fans: what the nameplate says of them, and how they truly run.
//!
//! A fan that is held at a temperature follows the oil: faster when the oil is warmer. One that
//! switches on and off is taken as a share of time within each minute, as load and unload are.
//!
//! Must not know: weather, faults, readings.

use crate::plant::{MachinePlate, Plant};
use crate::random::{between, scatter, stream};

/// What a nameplate says of the fan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FanPlate {
    /// It runs whenever the machine does.
    Constant,
    /// It switches on and off about an oil temperature, °C.
    OnOff(f64),
    /// Its speed holds an oil temperature, °C.
    Variable(f64),
    /// Nobody has noted how it runs.
    Unknown,
}

/// How a fan truly runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fan {
    /// At full speed whenever the machine runs.
    Constant,
    /// On and off about a temperature.
    OnOff(HeldFan),
    /// At the speed that holds a temperature.
    Variable(HeldFan),
}

/// A fan that follows the oil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldFan {
    /// The oil temperature that it is held at, °C.
    pub held_at_c: f64,
    /// Variable: lowest speed over full. On and off: draught that is left while off, over full flow.
    pub least: f64,
    /// Variable: kelvin too warm that ask for full speed at once. On and off: from off to on, K.
    pub band_k: f64,
    /// Share of the swing between load and unload that its control follows.
    pub follows_swing: f64,
    /// Variable: exponent of the speed in the flow of cooling air.
    pub flow_exponent: f64,
    /// Variable: exponent of the speed in the fan's input.
    pub power_exponent: f64,
    /// On and off: how far the outlet has followed the fan of the moment when it is read.
    pub outlet_follows: f64,
}

/// Which fans a station's machines are given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fans {
    /// Constant, and stated so.
    Constant,
    /// On and off about a temperature, and stated so.
    OnOff,
    /// At variable speed held at a temperature, and stated so.
    Variable,
    /// Constant at one half of the stations, variable at the other; nothing is stated.
    Unknown,
}

/// Minutes in which a fan's control makes good by itself what its band leaves.
const INTEGRAL_MIN: f64 = 8.0;

impl Fan {
    /// Speed over full (or share of time on) one minute later.
    pub(crate) fn follow(self, speed: f64, sensed_c: f64, before_c: f64) -> f64 {
        let (held, least) = match self {
            Self::Constant => return 1.0,
            Self::OnOff(held) => (held, 0.0),
            Self::Variable(held) => (held, held.least),
        };
        let warmer_k = sensed_c - before_c + (sensed_c - held.held_at_c) / INTEGRAL_MIN;
        (speed + warmer_k / held.band_k).clamp(least, 1.0)
    }

    /// Mean of what the flow of cooling air (over full) does, over one minute at a speed.
    pub(crate) fn mean(self, speed: f64, does: impl Fn(f64) -> f64) -> f64 {
        match self {
            Self::Constant => does(1.0),
            Self::OnOff(held) => speed * does(1.0) + (1.0 - speed) * does(held.least),
            Self::Variable(held) => does(speed.powf(held.flow_exponent)),
        }
    }

    /// Input at a speed over full input.
    pub(crate) fn draw(self, speed: f64) -> f64 {
        match self {
            Self::Constant => 1.0,
            Self::OnOff(_) => speed,
            Self::Variable(held) => speed.powf(held.power_exponent),
        }
    }

    /// What its control senses of an oil that swings about its mean, °C.
    pub(crate) fn senses(self, mean_c: f64, swing_k: f64) -> f64 {
        match self {
            Self::Constant => mean_c,
            Self::OnOff(held) | Self::Variable(held) => mean_c + held.follows_swing * swing_k,
        }
    }

    /// Speed at rest.
    pub(crate) fn at_rest(self) -> f64 {
        match self {
            Self::Constant => 1.0,
            Self::OnOff(_) => 0.0,
            Self::Variable(held) => held.least,
        }
    }
}

impl HeldFan {
    fn scattered(held_at_c: f64, on_off: bool, seed: u64, id: &str) -> Self {
        let rng = &mut stream(seed, &format!("fan {id}"), 0);
        let held_at_c = held_at_c + scatter(rng, 1.0);
        let least = between(rng, 0.18, 0.40);
        let draught = between(rng, 0.05, 0.12);
        Self {
            held_at_c,
            least: if on_off { draught } else { least },
            band_k: between(rng, 5.0, 10.0),
            follows_swing: between(rng, 0.3, 1.0),
            flow_exponent: between(rng, 0.9, 1.05),
            power_exponent: between(rng, 2.5, 3.0),
            outlet_follows: between(rng, 0.6, 0.95),
        }
    }
}

impl Plant {
    /// The same station with other fans; nothing else is drawn anew.
    #[must_use]
    pub fn with_fans(mut self, fans: Fans, seed: u64) -> Self {
        let rng = &mut stream(seed, "fans", 0);
        let over_k = between(rng, 4.0, 13.0).round();
        let varies = rng.bool();
        for machine in &mut self.machines {
            let plate: &mut MachinePlate = &mut machine.plate;
            let stated_c = plate.held_at_c + over_k;
            let held = |on_off| HeldFan::scattered(stated_c, on_off, seed, &machine.id);
            (plate.fan, machine.truth.fan) = match fans {
                Fans::Constant => (FanPlate::Constant, Fan::Constant),
                Fans::OnOff => (FanPlate::OnOff(stated_c), Fan::OnOff(held(true))),
                Fans::Variable => (FanPlate::Variable(stated_c), Fan::Variable(held(false))),
                Fans::Unknown if varies => (FanPlate::Unknown, Fan::Variable(held(false))),
                Fans::Unknown => (FanPlate::Unknown, Fan::Constant),
            };
        }
        self
    }
}
