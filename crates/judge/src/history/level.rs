//! What a machine's readings stand at by themselves: a level of its own, as weather and load move it.
//!
//! Must not know: causes, changes.

use station::point::PointId;

use super::change::{Scale, Search, Slot};
use super::control::{self, Control};
use super::prepare::{bow, columns, felt_by_weather};
use super::shift::{NUISANCE, Prepared, noise};
use super::stream::{Part, Sample, Stream};
use crate::day::Moment;

/// The level that a machine has of its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct OwnLevel {
    pub(crate) id: PointId,
    pub(crate) moment: Moment,
    /// Its place in the group.
    pub(crate) place: usize,
    /// Offset of a healthy reading from the model, at the newest conditions.
    pub(crate) offset: f64,
    /// What of the model's value is its own cooler's, not the plate's, K.
    pub(crate) moved: f64,
    /// How well the offset is known, one standard deviation.
    pub(crate) sigma: f64,
    /// Whether both are shares of the model's value.
    pub(crate) relative: bool,
    /// Noise of one reading.
    pub(crate) noise: f64,
    /// Plain control charts of what was read about it.
    pub(crate) control: Option<Control>,
    /// Samples that taught it.
    pub(crate) samples: usize,
    /// Level and slopes against standardised weather, load and what else it follows.
    beta: [f64; NUISANCE],
    /// Mean and spread of weather, load and what else it follows, over what was read.
    columns: [(f64, f64); 3],
    /// The part that is known by its plate only, and how strongly the reading feels it by the
    /// weather: (at the mean ambient, per standardised ambient, most).
    own: Option<(Part, [f64; 3])>,
    /// The middle of the newest loads, at which other weather is asked about.
    pub(crate) duty: f64,
}

impl OwnLevel {
    /// The level of a stream without a change; `place` is its own in the group.
    pub(super) fn learnt(
        (prepared, samples): (&Prepared, &[Sample]),
        (stream, place): (&Stream, usize),
        scale: &Scale,
    ) -> Option<Self> {
        let beta = prepared.nuisance();
        let last = prepared.points().last()?;
        let noise = noise(prepared.points()).unwrap_or(scale.least_noise);
        Some(Self {
            id: stream.id,
            moment: stream.moment,
            place,
            offset: beta.iter().zip(last.nuisance).map(|(b, x)| b * x).sum(),
            sigma: prepared.known_to(last.nuisance),
            relative: scale.relative,
            moved: samples.last().map_or(0.0, |s| s.moved),
            noise: noise.max(scale.least_noise),
            control: None,
            samples: samples.len(),
            beta,
            columns: columns(samples),
            own: scale
                .own
                .map(|(part, _)| (part, felt_by_weather(part, samples))),
            duty: usual(samples.iter().rev().take(USUAL).map(|s| s.duty)),
        })
    }

    /// The offset at one sample's own weather and load.
    pub(crate) fn of(&self, sample: &Sample) -> f64 {
        let values = [sample.ambient, sample.duty, sample.third];
        let units = core::array::from_fn(|i| (values[i] - self.columns[i].0) / self.columns[i].1);
        self.along(units, |part, _| Stream::feels(part, sample))
    }

    /// The offset at standardised weather, load and what else it follows; `felt` says how strongly the part that
    /// is known by its plate only is felt there.
    fn along(&self, units: [f64; 3], felt: impl Fn(Part, [f64; 3]) -> f64) -> f64 {
        let [ambient, duty, third] = units;
        let fifth = self
            .own
            .map_or_else(|| bow(ambient), |(part, by_weather)| felt(part, by_weather));
        let x = [1.0, ambient, duty, third, fifth];
        self.beta.iter().zip(x).map(|(b, x)| b * x).sum()
    }

    /// The offset at other weather (K) with what else it follows there, and its own load. What was not met yet is not
    /// extrapolated further than twice its spread.
    pub(crate) fn at(&self, ambient: f64, third: f64) -> f64 {
        let values = [ambient, self.duty, third];
        let units: [f64; 3] = core::array::from_fn(|i| {
            let (mean, spread) = self.columns[i];
            ((values[i] - mean) / spread).clamp(-2.0, 2.0)
        });
        self.along(units, |_, [mean, slope, most]| {
            (mean + slope * units[0]).clamp(most.min(0.0), most.max(0.0))
        })
    }
}

/// Newest samples that say what load is usual: about two months of rounds.
const USUAL: usize = 45;

/// The median; the usual load does not follow one Monday.
pub(crate) fn usual(values: impl Iterator<Item = f64>) -> f64 {
    let mut list: Vec<f64> = values.collect();
    list.sort_by(f64::total_cmp);
    list.get(list.len() / 2).copied().unwrap_or(0.0)
}

impl Search<'_> {
    /// What each reading stands at without the changes, and charts of what was read about that since a day.
    pub(super) fn levels(&self, healthy: &[Slot], read: &[Slot], from: f64) -> Vec<OwnLevel> {
        let each = healthy.iter().zip(&self.streams).enumerate();
        each.filter_map(|(place, (slot, (stream, scale)))| {
            let (prepared, samples) = slot.as_ref()?;
            let level = OwnLevel::learnt((prepared, samples), (stream, place), scale)?;
            let (read, _) = read[place].as_ref()?;
            let control = control::charts(read.points(), prepared.nuisance(), read.noise(), from);
            Some(OwnLevel { control, ..level })
        })
        .collect()
    }
}
