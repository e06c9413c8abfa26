//! What is lost when rows come further apart.

use study::{LeakageMethod, plain};

use super::score::{WAYS, case};

/// Seconds between rows.
pub(crate) const INTERVALS: [f64; 5] = [1.0, 5.0, 10.0, 30.0, 60.0];
/// Plants of one machine each that are looked at.
const SEEDS: std::ops::Range<u64> = 900..912;
const DAYS: f64 = 1.5;

/// Means and extremes over the plants, as shares.
#[derive(Default, Debug, Clone, Copy)]
pub(crate) struct Lost {
    /// Loads that are seen, of all: the mean and the least.
    pub(crate) loads: (f64, f64),
    /// How far hours on load, unloaded and standing are off, of all the time: the mean and the
    /// greatest.
    pub(crate) hours: (f64, f64),
    /// How far the energy is off: the mean and the greatest.
    pub(crate) energy: (f64, f64),
    /// Of each way to the leakage how far it is off, on average, and in how many plants it is told.
    pub(crate) leakage: [(f64, u32); 3],
    /// How far the storage is off, on average, and in how many plants it is found.
    pub(crate) storage: (f64, u32),
    pub(crate) plants: u32,
}

/// At so many seconds between rows.
pub(crate) fn of(interval: f64) -> Lost {
    let mut lost = Lost {
        loads: (0.0, 1.0),
        ..Lost::default()
    };
    for seed in SEEDS {
        let case = case(seed, 1, interval, DAYS);
        let (machine, truth) = (&case.study.machines[0], &case.truth);
        lost.plants += 1;
        let seen = machine.totals.loads as f64 / truth.loads[0] as f64;
        lost.loads = (lost.loads.0 + seen, lost.loads.1.min(seen));
        let [stopped, unloaded, loaded, blown] = truth.seconds[0];
        let right = [stopped, unloaded + blown, loaded];
        let found = plain(&machine.totals.hours);
        let off = found.iter().zip(right).map(|(h, s)| (3600.0 * h - s).abs());
        let off = off.fold(0.0, f64::max) / (86_400.0 * DAYS);
        lost.hours = (lost.hours.0 + off, lost.hours.1.max(off));
        let energy: f64 = truth.kwh[0].iter().sum();
        let off = (machine.totals.kwh.iter().sum::<f64>() / energy - 1.0).abs();
        lost.energy = (lost.energy.0 + off, lost.energy.1.max(off));
        for (way, (sum, told)) in WAYS.iter().zip(&mut lost.leakage) {
            let found = |l: &&study::Leakage| l.method == *way;
            if let Some(leakage) = case.study.leakage.iter().find(found) {
                *sum += (60.0 * leakage.m3_s.mid / truth.leakage_off - 1.0).abs();
                *told += 1;
            }
        }
        if let Some(storage) = &case.study.storage {
            lost.storage.0 += (storage.m3.mid / case.plant.storage - 1.0).abs();
            lost.storage.1 += 1;
        }
    }
    let n = f64::from(lost.plants);
    for mean in [&mut lost.loads.0, &mut lost.hours.0, &mut lost.energy.0] {
        *mean /= n;
    }
    let each = lost.leakage.iter_mut().chain([&mut lost.storage]);
    for (sum, told) in each {
        *sum /= f64::from((*told).max(1));
    }
    lost
}

/// The row of the table.
pub(crate) fn row(interval: f64, lost: &Lost) -> String {
    let per_cent = |share: f64| format!("{:.1}", 100.0 * share);
    let pair = |(mean, worst): (f64, f64)| format!("{} ({})", per_cent(mean), per_cent(worst));
    let of = |(off, told): (f64, u32)| match told {
        0 => "not told".to_owned(),
        told if told == lost.plants => per_cent(off),
        told => format!("{} ({told} of {})", per_cent(off), lost.plants),
    };
    let way = |method: LeakageMethod| {
        let at = WAYS.iter().position(|w| *w == method).unwrap_or(0);
        of(lost.leakage[at])
    };
    format!(
        "| {interval} s | {} | {} | {} | {} | {} | {} | {} |",
        pair(lost.loads),
        pair(lost.hours),
        pair(lost.energy),
        way(LeakageMethod::OffShiftDelivery),
        way(LeakageMethod::LoadUnloadTimes),
        way(LeakageMethod::PressureDecay),
        of(lost.storage)
    )
}
