//! How well a study of an invented plant's log meets what really was.

use fastrand::Rng;
use study::{LeakageMethod, LogOptions, Study};

use super::invented::make;
use super::{Plant, Truth, log, run};

/// The three ways to the leakage.
pub(crate) const WAYS: [LeakageMethod; 3] = [
    LeakageMethod::OffShiftDelivery,
    LeakageMethod::LoadUnloadTimes,
    LeakageMethod::PressureDecay,
];

/// One case: the plant, what really was, and what the study makes of its log.
pub(crate) struct Case {
    pub(crate) truth: Truth,
    pub(crate) plant: Plant,
    pub(crate) study: Study,
}

/// A plant of so many machines, its log every so many seconds over so many days, and its study.
pub(crate) fn case(seed: u64, count: usize, interval: f64, days: f64) -> Case {
    let mut random = Rng::with_seed(seed);
    let (station, plant) = make(&mut random, count, 0.35);
    let (stretches, truth) = run(&plant, &mut random, days);
    let text = log(&plant, &stretches, interval, &mut random);
    // The weather's humidity is not logged: dry, as the simulation's air is.
    let sources = [crate::support::source(text)];
    let read = study::read_log(sources, &station, &LogOptions::default());
    let study = read.unwrap_or_else(|problems| panic!("a good log: {}", problems[0]));
    Case {
        truth,
        plant,
        study,
    }
}

/// How often each way's interval, and the storage's, held the truth, and how often it was told.
#[derive(Default, Debug)]
pub(crate) struct Score {
    pub(crate) held: [u32; 4],
    pub(crate) told: [u32; 4],
    /// The widest interval of a leakage over its value.
    pub(crate) widest: f64,
}

impl Score {
    pub(crate) fn add(&mut self, case: &Case) {
        let mut one = |at: usize, band: study::Band95, truth: f64| {
            self.told[at] += 1;
            self.held[at] += u32::from(band.low <= truth && truth <= band.high);
        };
        for (at, way) in WAYS.iter().enumerate() {
            let found = case.study.leakage.iter().find(|l| l.method == *way);
            if let Some(leakage) = found {
                let band = leakage.m3_s.times(60.0);
                one(at, band, case.truth.leakage_off);
                self.widest = self.widest.max((band.high - band.low) / band.mid);
            }
        }
        if let Some(storage) = &case.study.storage {
            one(3, storage.m3, case.plant.storage);
        }
    }
}
