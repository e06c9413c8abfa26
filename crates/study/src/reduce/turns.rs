//! Where a pressure turns from rising to falling and back: what tells a machine's load where nothing
//! of the machine itself is read.
//!
//! Only a machine on load makes the pressure rise. A fall begins with an unload if it begins about
//! where the machine unloads; a fall that begins lower down is a demand greater than the delivery,
//! and the machine stays on load. A turn counts once the pressure has come back from it by more than
//! its noise and a share of the band. It is then set back to where it was: where the straight lines
//! through the readings on both sides of it meet, which lies between two rows.
//!
//! Must not know: machines, powers, files.

use std::collections::VecDeque;

use super::air::phase::Fit;
use super::thin::quantile;

/// A turn counts once the pressure has come back by this share of the band (common practice, no
/// source) …
const BACK: f64 = 0.12;
/// … and by so many times the noise.
const BACK_NOISES: f64 = 4.0;
/// More than this share of the band, and turns cannot be told from noise.
const MOST_BACK: f64 = 0.5;
/// A turn lies where the machine switches if it is no further from it than this share of the band.
const NEAR: f64 = 0.2;
/// So many turns of each kind teach where the machine switches.
const LEAST: usize = 5;
/// What turns teach is believed if it is so many times the width of the band.
const WIDTHS: (f64, f64) = (0.4, 2.0);
/// So many readings further from the extreme are kept for the line through them.
const LINE: usize = 4;
/// So many rows are looked back at most.
const MOST_ROWS: usize = 1 << 17;

/// Where a machine switches, by the pressure that is read, and how far a turn has to come back, Pa.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Swing {
    pub(crate) load: f64,
    pub(crate) unload: f64,
    /// What the turns showed; else what the station file tells.
    pub(crate) learned: bool,
    noise: f64,
    back: f64,
}

/// From this time on, the row at it not counted, it is on load or not; `None` where that is not
/// known.
pub(crate) type Change = (i64, Option<bool>);

/// The noise of a pressure, Pa: twice the scatter that second differences show, but not less than a
/// step of its display.
fn noise(values: &[f64]) -> f64 {
    let second = |w: &[f64]| (w[0] - 2.0 * w[1] + w[2]).abs();
    let bends: Vec<f64> = values.windows(3).map(second).collect();
    // 1.65 is the median of |x − 2y + z| of normal values that scatter by 1 (√6 · 0.6745).
    let scatter = quantile(&bends, 0.5).unwrap_or(0.0) / 1.65;
    let steps = values.windows(2).map(|w| (w[1] - w[0]).abs());
    let steps: Vec<f64> = steps.filter(|step| *step > 1e-3).collect();
    let step = quantile(&steps, 0.05).unwrap_or(0.0);
    (2.0 * scatter).max(step)
}

impl Swing {
    /// From the start of a log and the band of the station file, load and unload; `None` where the
    /// noise is as great as the band.
    pub(crate) fn learn(
        times: &[i64],
        values: &[f64],
        gap: i64,
        (load, unload): (f64, f64),
    ) -> Option<Self> {
        let present: Vec<f64> = values.iter().copied().filter(|v| !v.is_nan()).collect();
        let band = unload - load;
        let noise = noise(&present);
        let back = (BACK * band).max(BACK_NOISES * noise);
        let told = Self {
            load,
            unload,
            learned: false,
            noise,
            back,
        };
        if !(band > 0.0 && back <= MOST_BACK * band) || present.len() < 3 {
            return None;
        }
        let mut turns = Turns::new(told, gap);
        turns.take(times, values, &mut Vec::new());
        let (peaks, troughs) = (&turns.peaks, &turns.troughs);
        if peaks.len().min(troughs.len()) < LEAST {
            return Some(told);
        }
        // Some peaks are lower, where demand outgrew the delivery; some troughs higher likewise.
        let (Some(high), Some(low)) = (quantile(peaks, 0.75), quantile(troughs, 0.25)) else {
            return Some(told);
        };
        let fits = (WIDTHS.0 * band..WIDTHS.1 * band).contains(&(high - low));
        Some(if fits {
            Self {
                load: low,
                unload: high,
                learned: true,
                ..told
            }
        } else {
            told
        })
    }

    /// How far it lies from a band, Pa.
    pub(crate) fn away_from(&self, (load, unload): (f64, f64)) -> f64 {
        (self.load - load).abs() + (self.unload - unload).abs()
    }

    fn near(&self) -> f64 {
        NEAR * (self.unload - self.load)
    }
}

/// The turns of one pressure, row by row.
#[derive(Debug, Clone)]
pub(crate) struct Turns {
    swing: Swing,
    gap: i64,
    /// Whether it rises; `None` as long as it has not moved.
    rises: Option<bool>,
    /// Whether the machine is on load.
    loaded: Option<bool>,
    /// The readings from where it came within `back` of the extreme; the extreme is among them.
    recent: VecDeque<(i64, f64)>,
    /// The highest while it rises, the lowest while it falls; both while that is not known.
    high: f64,
    low: f64,
    last: Option<i64>,
    /// Turns that lie where the machine switches, and all.
    pub(crate) near: (u64, u64),
    /// Pressures of turns, while they are learned from.
    peaks: Vec<f64>,
    troughs: Vec<f64>,
}

impl Turns {
    pub(crate) fn new(swing: Swing, gap: i64) -> Self {
        Self {
            swing,
            gap,
            rises: None,
            loaded: None,
            recent: VecDeque::new(),
            high: f64::NEG_INFINITY,
            low: f64::INFINITY,
            last: None,
            near: (0, 0),
            peaks: Vec::new(),
            troughs: Vec::new(),
        }
    }

    /// What rows before this time are is known, so far as it ever will be.
    pub(crate) fn known_before(&self) -> i64 {
        let first = self.recent.front();
        first.map_or(i64::MAX, |&(time, _)| time)
    }

    /// Looks at rows; NaN is missing.
    pub(crate) fn take(&mut self, times: &[i64], values: &[f64], changes: &mut Vec<Change>) {
        for (&time, &value) in times.iter().zip(values) {
            if self.last.is_some_and(|last| time - last > self.gap) {
                self.breaks(changes);
            }
            if value.is_nan() {
                continue;
            }
            self.row(time, value, changes);
            self.last = Some(time);
        }
    }

    /// No rows follow.
    pub(crate) fn ends(&mut self) {
        self.recent.clear();
    }

    /// From the last reading on nothing is known.
    fn breaks(&mut self, changes: &mut Vec<Change>) {
        if self.loaded.is_some() {
            changes.extend(self.last.map(|last| (last, None)));
        }
        (self.rises, self.loaded) = (None, None);
        (self.high, self.low) = (f64::NEG_INFINITY, f64::INFINITY);
        self.recent.clear();
    }

    fn row(&mut self, time: i64, value: f64, changes: &mut Vec<Change>) {
        (self.high, self.low) = (self.high.max(value), self.low.min(value));
        self.recent.push_back((time, value));
        if self.recent.len() > MOST_ROWS {
            self.recent.pop_front();
        }
        let back = self.swing.back;
        match self.rises {
            Some(true) => {
                if value <= self.high - back {
                    self.turn(true, (time, value), changes);
                } else {
                    let from = self.high - back;
                    self.forget(|p| p < from);
                }
            }
            Some(false) => {
                if value >= self.low + back {
                    self.turn(false, (time, value), changes);
                } else {
                    let from = self.low + back;
                    self.forget(|p| p > from);
                }
            }
            None if value >= self.low + back => self.turn(false, (time, value), changes),
            None if value <= self.high - back => self.turn(true, (time, value), changes),
            None => {}
        }
    }

    /// Readings too far from the extreme are not needed any more.
    fn forget(&mut self, far: impl Fn(f64) -> bool) {
        while self.recent.get(LINE).is_some_and(|&(_, p)| far(p)) {
            self.recent.pop_front();
        }
    }

    /// It has come back from a peak, or from a trough.
    fn turn(&mut self, peak: bool, now: (i64, f64), changes: &mut Vec<Change>) {
        let extreme = if peak { self.high } else { self.low };
        let at = self.turned_at(extreme);
        let Swing { load, unload, .. } = self.swing;
        let near = if peak {
            extreme >= unload - self.swing.near()
        } else {
            extreme <= load + self.swing.near()
        };
        let first = self.recent.front().map_or(now, |&first| first);
        if self.rises.is_none() {
            // The first move: what came before it went the other way, if it went at all.
            let before = (first.1 - extreme).abs() > 2.0 * self.swing.noise;
            changes.push((first.0 - 1, Some(peak == before)));
            self.loaded = Some(peak == before);
        } else {
            self.near.0 += u64::from(near);
            self.near.1 += 1;
            let turns = if peak {
                &mut self.peaks
            } else {
                &mut self.troughs
            };
            if turns.len() < MOST_ROWS / 16 {
                turns.push(extreme);
            }
        }
        let loaded = if !peak {
            Some(true)
        } else if near || self.rises.is_none() {
            Some(false)
        } else {
            self.loaded
        };
        if loaded != self.loaded {
            changes.push((at, loaded));
        }
        self.loaded = loaded;
        self.rises = Some(!peak);
        // What lies behind the turn belongs to the next one.
        while self.recent.front().is_some_and(|&(time, _)| time <= at) {
            self.recent.pop_front();
        }
        (self.high, self.low) = (now.1, now.1);
    }

    /// When it turned: where the lines through both sides meet, or, where a side has too few
    /// readings, half-way between the first and the last that cannot be told from the extreme.
    fn turned_at(&self, extreme: f64) -> i64 {
        let alike = |&(_, p): &(i64, f64)| (p - extreme).abs() <= 2.0 * self.swing.noise;
        let count = self.recent.len();
        let first = self.recent.iter().position(alike).unwrap_or(0);
        let last = self.recent.iter().rposition(alike).unwrap_or(first);
        let time = |at: usize| self.recent.get(at).map_or(0, |&(time, _)| time);
        let halfway = (time(first) + time(last)) / 2;
        let from = time(first);
        let line = |rows: std::ops::Range<usize>| {
            let mut fit = Fit::default();
            for &(time, p) in self.recent.range(rows) {
                fit.add((time - from) as f64 * 1e-6, p);
            }
            fit.line()
        };
        // A side of one reading takes the one beside it that is like the extreme.
        let before = if first >= 2 { 0..first } else { 0..first + 1 };
        let after = if count - last > 2 {
            last + 1..count
        } else {
            last..count
        };
        let (Some((a, rise)), Some((b, fall))) = (line(before), line(after)) else {
            return halfway;
        };
        let meets = (b - a) / (rise - fall);
        if !meets.is_finite() || rise * fall >= 0.0 {
            return halfway;
        }
        let earliest = time(first.saturating_sub(1));
        let latest = time((last + 1).min(count - 1));
        // Before the reading that shows it, whatever the lines say.
        (from + (meets * 1e6) as i64).min(latest - 1).max(earliest)
    }
}
