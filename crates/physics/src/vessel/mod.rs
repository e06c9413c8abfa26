//! Air held in a volume: receivers, separators, the pipework itself.
//!
//! Map: [`storage`] how long it lasts · [`cycles`] how often the compressor switches ·
//! [`leak_test`] leakage and delivery from its pressure · [`vent`] how long it takes to empty ·
//! [`stored_energy`] what it would let loose · [`cooling`] what it gives to the room.
//!
//! Balances are in mass of air as a dry ideal gas, R = 287.05 J/(kg K), k = 1.4, at the temperature
//! of the vessel.
//!
//! Must not know: which vessel belongs to which station, what a leak costs.

pub mod cooling;
pub mod cycles;
pub mod leak_test;
pub mod storage;
pub mod stored_energy;
pub mod vent;

pub use cooling::{RECEIVER_U_W_M2K, RECEIVER_UA, receiver_area_m2, receiver_ua_w_k};
pub use cycles::{
    CYCLES_PER_HOUR, cycles_per_hour, load_time, receiver_band, unload_time, volume_for_cycles,
    worst_cycles_per_hour,
};
pub use leak_test::{
    LEAK_FROM_CYCLE, LEAK_FROM_DECAY, PUMP_UP_DELIVERY, fad_from_pump_up, leak_at_pressure,
    leak_from_decay_doe, leak_from_decay_exact, leak_from_decay_mean, leak_share_from_cycle,
    pressure_at_temperature, volume_from_decay,
};
pub use storage::{STORAGE_TIME, fill_time, hold_time, mass_between, volume_for_hold};
pub use stored_energy::{
    DistanceRule, STORED_ENERGY, scaled_distance_m, stored_energy_j, test_distance_m,
    tnt_equivalent_kg,
};
pub use vent::{Expansion, VENT_TIME, Vent};

use crate::quantity::AbsolutePressure;
use crate::validity::{Answer, Range, Refusal};

/// Volume of a vessel.
pub const VOLUME: Range = Range {
    what: "volume",
    unit: "m³",
    min: 1.0e-6,
    max: 1.0e6,
    source: "the air held in a vessel",
};
/// How long something lasts.
pub const DURATION: Range = Range {
    what: "time",
    unit: "s",
    min: 1.0e-3,
    max: 1.0e9,
    source: "the air held in a vessel",
};

/// Both pressures in pascal if the first is not below the second.
pub(crate) fn falling(high: AbsolutePressure, low: AbsolutePressure) -> Answer<(f64, f64)> {
    let (high, low) = (
        crate::flow::pressure_pa(high)?,
        crate::flow::pressure_pa(low)?,
    );
    if high < low {
        return Err(Refusal::Contradiction {
            must: "the higher pressure is not below the lower one",
            first: low,
            second: high,
        });
    }
    Ok((high, low))
}
