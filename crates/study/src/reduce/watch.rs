//! The levels between the states of a machine, looked at again with each day's powers.
//!
//! A machine that is either unloaded or on full load shows two groups of powers, and
//! [`super::levels`] finds them anew. One that throttles its intake or varies its speed may draw
//! anything on load, but not everything: nothing between unloaded and its least power on load, and
//! nothing above full power. If a day's powers lie where it cannot draw them, what is read is not
//! what it draws: the scale is then looked for by which they fit, and by which the day's greatest
//! powers moved too. That day's rows are told by the levels that were; the next day's by the new.
//!
//! Must not know: time.

use physics::machine::package::modulating_power_share;
use station::model::{Control, Machine};

use super::levels::Counts;
use crate::figures::{Levels, LevelsFrom};

/// How far a power may lie off and still be one, as a share of it (common practice, no source): on
/// load below its least and above its greatest, and unloaded as the station file gives it.
const LESS: f64 = 0.06;
const MORE: f64 = 0.08;
const UNLOADED: f64 = 0.25;
/// The same where the station file does not give the power unloaded.
const UNLOADED_NOT_GIVEN: f64 = 0.6;
/// So great a share of a running day's powers where it cannot draw them is a contradiction …
const CONTRADICTS: f64 = 0.08;
/// … which a scale mends that leaves no more than this share of it …
const MENDS: f64 = 0.3;
/// … nor much more than the one that leaves least.
const ALIKE: f64 = 0.02;
/// Scales are tried in steps of 2 %, from a third to three times.
const STEP: f64 = 0.02;
const STEPS: i32 = 56;
/// The day's greatest powers must have moved by the scale too, but for this, as a logarithm.
const TOP_APART: f64 = 0.15;

/// Where a machine can draw power, W by the station file.
#[derive(Debug, Clone, Copy)]
struct Zones {
    unloaded: (f64, f64),
    loaded: (f64, f64),
}

impl Zones {
    /// `None` for a machine of two powers.
    fn of(machine: &Machine, levels: &Levels) -> Option<Self> {
        let rated = machine.rated.power.value.si();
        let least = match &machine.control {
            Control::LoadUnload(_) | Control::StartStop(_) => return None,
            Control::Modulating(_) => modulating_power_share(0.0).unwrap_or(0.7) * rated,
            Control::VariableSpeed { part_load, .. } => {
                part_load.first().map_or(rated, |(_, power)| power.si())
            }
        };
        let given = machine.unloaded_power.given || levels.from == LevelsFrom::Learned;
        let aside = if given { UNLOADED } else { UNLOADED_NOT_GIVEN };
        let unloaded = levels.usual_unloaded_w;
        Some(Self {
            unloaded: ((1.0 - aside) * unloaded, (1.0 + aside) * unloaded),
            loaded: ((1.0 - LESS) * least, (1.0 + MORE) * rated),
        })
    }

    /// The share of powers that it cannot draw if they are read at this scale.
    fn outside(&self, counts: &Counts, scale: f64) -> f64 {
        let half = 0.5 * counts.width();
        let within = |power: f64, (low, high): (f64, f64)| {
            scale * low <= power + half && power - half <= scale * high
        };
        let (mut all, mut outside) = (0.0, 0.0);
        for (power, count) in counts.each() {
            all += count;
            if !within(power, self.unloaded) && !within(power, self.loaded) {
                outside += count;
            }
        }
        if all > 0.0 { outside / all } else { 0.0 }
    }

    /// The scale by which these powers fit, if they do not by the one that holds; `top` is how far
    /// the greatest of them moved, as a logarithm.
    fn scale(&self, counts: &Counts, now: f64, top: f64) -> Option<f64> {
        let contradiction = self.outside(counts, now);
        if contradiction <= CONTRADICTS {
            return None;
        }
        let at = |step: i32| (STEP * f64::from(step)).exp();
        let left: Vec<(i32, f64)> = (-STEPS..=STEPS)
            .map(|step| (step, self.outside(counts, at(step))))
            .collect();
        let least = left.iter().map(|(_, left)| *left).reduce(f64::min)?;
        if least > MENDS * contradiction {
            return None;
        }
        let fits: Vec<i32> = left
            .iter()
            .filter(|(step, left)| {
                *left <= least + ALIKE && (STEP * f64::from(*step) - top).abs() <= TOP_APART
            })
            .map(|(step, _)| *step)
            .collect();
        // As in the station file, if that fits; else as far as the greatest powers moved.
        if fits.contains(&0) {
            return Some(1.0);
        }
        let (first, last) = (f64::from(*fits.first()?), f64::from(*fits.last()?));
        Some(top.clamp(STEP * first, STEP * last).exp())
    }
}

/// The watch over one machine's levels.
#[derive(Debug, Clone)]
pub(crate) struct Watch {
    /// The levels at the start of the log.
    base: Levels,
    zones: Option<Zones>,
    /// What is read over what is drawn.
    scale: f64,
    /// The greatest powers of earlier days, W as drawn.
    top: f64,
    /// The powers of the day.
    pub(crate) counts: Counts,
}

impl Watch {
    pub(crate) fn new(machine: &Machine, levels: Levels) -> Self {
        let rated = machine.rated.power.value.si();
        let zones = Zones::of(machine, &levels);
        Self {
            base: levels,
            zones,
            scale: 1.0,
            top: 0.0,
            counts: if zones.is_some() {
                Counts::wide(rated)
            } else {
                Counts::new(rated)
            },
        }
    }

    /// What is read over what is drawn; 1 for a machine of two powers, whose delivery does not lean
    /// on its power.
    pub(crate) fn scale(&self) -> f64 {
        self.scale
    }

    /// A day is over: the levels that its powers ask for, if those that hold do not fit.
    pub(crate) fn night(&mut self, levels: &Levels) -> Option<Levels> {
        let Some(zones) = self.zones else {
            return self.counts.moved(levels);
        };
        let top = self.counts.top().filter(|_| self.counts.enough());
        let Some(top) = top else {
            self.counts.forget();
            return None;
        };
        let usual = if self.top > 0.0 {
            self.top
        } else {
            self.base.usual_loaded_w
        };
        let scale = zones.scale(&self.counts, self.scale, (top / usual).ln());
        self.counts.forget();
        self.scale = scale.unwrap_or(self.scale);
        self.top = self.top.max(top / self.scale);
        let scale = scale?;
        let from = if (scale - 1.0).abs() > 0.0 {
            LevelsFrom::Learned
        } else {
            self.base.from
        };
        Some(Levels {
            runs_w: scale * self.base.runs_w,
            loaded_w: scale * self.base.loaded_w,
            usual_unloaded_w: scale * self.base.usual_unloaded_w,
            usual_loaded_w: scale * self.base.usual_loaded_w,
            runs_band_w: scale * self.base.runs_band_w,
            loaded_band_w: scale * self.base.loaded_band_w,
            from,
        })
    }
}
