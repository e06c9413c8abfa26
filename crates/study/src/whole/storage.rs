//! The storage from slopes: what lies between the pressure's rise on load and its fall off load.
//!
//! V dp/dt = p₀ (T/T₀) (delivery − demand). A load and the unload beside it have the same demand, so
//! their slopes differ by p₀ (T/T₀) · delivery/V. The median over many pairs is not moved by those
//! whose demand changed between.
//!
//! Must not know: leakage.

use physics::working::{Formula, Mark};

use super::Air;
use super::spent::Spent;
use crate::figures::{Band95, Storage};
use crate::reduce::air::gather::Pair;
use crate::reduce::thin::median;

/// Pressure and temperature of reference air.
pub(crate) const P0: f64 = 1.0e5;
pub(crate) const T0: f64 = 293.15;
/// The stored air is about as warm as that, give or take this, K (common practice, no source).
pub(crate) const T_SIGMA: f64 = 5.0;
/// Fewer pairs say nothing.
const LEAST: usize = 5;
/// With so many pairs off-shift, when demand is steady, those of working hours are not needed.
const ENOUGH: usize = 20;
/// How well a stated volume is known, as a share: with the header's pipes told, and without (common
/// practice, no source).
pub(crate) const STATED: f64 = 0.03;
const PIPES_NOT_TOLD: f64 = 0.10;

const SLOPES: Formula = Formula {
    name: "storage from slopes",
    equation: "V = p₀ (T/T₀) · delivery/(slope on load − slope off load)",
    unit: "m³",
    source: "mass balance of an ideal gas, the same demand on both sides of a switch",
    mark: Mark::Derived,
};

/// A volume, how sure it is, and whether it is the station file's.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Volume {
    pub(crate) m3: f64,
    /// As a share.
    pub(crate) sigma: f64,
    pub(crate) stated: bool,
}

/// The storage that the slopes show.
pub(super) fn of(air: &Air<'_>, spent: &Spent, remarks: &mut Vec<String>) -> Option<Storage> {
    let (arrives, open) = spent.arrives();
    let channel = air.pressure?;
    let (off, on) = (air.gather.pairs_off.kept(), air.gather.pairs.kept());
    let (pairs, which): (Vec<&Pair>, _) = if off.len() >= ENOUGH {
        (off.iter().collect(), "off-shift")
    } else {
        (off.iter().chain(on).collect(), "at any time")
    };
    if pairs.len() < LEAST || !air.gather.resolves() {
        if let Some(interval) = air.interval_s.filter(|s| *s >= 5.0) {
            remarks.push(format!(
                "Rows every {} s are too far apart to fit slopes between loads and unloads: storage is not found from them",
                judge::say::round(interval, 0)
            ));
        }
        return None;
    }
    // In 1/V each pair's errors lie evenly on both sides.
    let (mut flows, mut apart) = (0.0, 0.0);
    let inverse: Vec<f64> = pairs
        .iter()
        .filter_map(|pair| {
            let flow = arrives * air.models.get(pair.machine)?.line.full(pair.pressure);
            flows += flow;
            apart += pair.apart;
            (flow > 0.0).then(|| pair.apart / (P0 * flow))
        })
        .collect();
    let (middle, scatter) = median(&inverse)?;
    if middle <= 0.0 {
        return None;
    }
    let m3 = 1.0 / middle;
    let delivery = air.models.iter().map(|m| m.sigma).fold(0.0, f64::max);
    let share = (scatter / middle)
        .hypot(delivery)
        .hypot(open / arrives)
        .hypot(T_SIGMA / T0);
    let band = Band95::of(m3, share * m3).positive();
    let count = inverse.len() as f64;
    let working = vec![SLOPES.step(
        format!(
            "median of {} pairs {which}; on average 1 bar · {} m³/min{} over {} bar/min between the slopes, T = T₀",
            inverse.len(),
            judge::say::round(60.0 * flows / count, 2),
            if open > 0.0 { ", without purge," } else { "" },
            judge::say::round(60.0 * apart / count / 1e5, 3),
        ),
        m3,
    )];
    if let Some(stated) = air.stated_m3
        && !band.meets(&Band95::of(stated, stated_sigma(air) * stated))
    {
        let (more, hint) = if stated < m3 {
            (
                "less",
                "pipes and vessels that the station file does not tell, or a machine that delivers less than rated",
            )
        } else {
            (
                "more",
                "a vessel shut off or full of water, a throttled path to it, or a machine that delivers more than rated",
            )
        };
        remarks.push(format!(
            "The slopes show {} to {} m³ of storage, the station file tells {} m³, which is {more}: {hint}",
            judge::say::round(band.low, 2),
            judge::say::round(band.high, 2),
            judge::say::round(stated, 2)
        ));
    }
    Some(Storage {
        channel,
        m3: band,
        stated_m3: air.stated_m3,
        pairs: if off.len() >= ENOUGH {
            air.gather.pairs_off.seen()
        } else {
            air.gather.pairs_off.seen() + air.gather.pairs.seen()
        },
        working,
    })
}

fn stated_sigma(air: &Air<'_>) -> f64 {
    if air.station.headers.iter().all(|h| h.volume_m3.is_some()) {
        STATED
    } else {
        PIPES_NOT_TOLD
    }
}

/// The volume to reckon with: the stated, unless the slopes contradict it.
pub(super) fn best(air: &Air<'_>, found: Option<&Storage>) -> Option<Volume> {
    let stated = air.stated_m3.map(|m3| Volume {
        m3,
        sigma: stated_sigma(air),
        stated: true,
    });
    let from_slopes = found.map(|storage| Volume {
        m3: storage.m3.mid,
        sigma: (storage.m3.high - storage.m3.mid) / 1.96 / storage.m3.mid,
        stated: false,
    });
    match (stated, from_slopes, found) {
        (Some(stated), Some(slopes), Some(storage)) => {
            let band = Band95::of(stated.m3, stated.sigma * stated.m3);
            Some(if storage.m3.meets(&band) {
                stated
            } else {
                slopes
            })
        }
        (stated, slopes, _) => stated.or(slopes),
    }
}
