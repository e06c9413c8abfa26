//! What phases tell: pairs of slopes, falls, cycles, switching pressures, demand over time.
//!
//! Lists are thinned, sums are whole numbers or are taken row by row: memory stays bounded and
//! figures do not depend on how the log was cut.
//!
//! Must not know: volumes that were found, intervals, words.

use super::close_up::CloseUps;
use super::phase::Phase;
use crate::figures::State;
use crate::reduce::thin::Thin;

/// A slope counts if its standard deviation is below this share of the difference of the two.
const SURE: f64 = 0.15;
/// Pairs say something only if this share of loads and unloads have readings enough, and this share
/// of those lie on lines (common practice, no source).
const LEAST_TRIED: f64 = 0.1;
const LEAST_SURE: f64 = 0.8;
/// Readings that a fitted slope needs.
const LEAST: u64 = 4;
/// A fall must last so long, s, and be so deep, Pa (common practice, no source).
const FALL_S: f64 = 20.0;
const FALL_PA: f64 = 2_000.0;
/// Demand is taken over windows of at least this length, and at most that, µs.
const WINDOW: i64 = 60_000_000;
const LONGEST_WINDOW: i64 = 900_000_000;
/// Demand is counted in steps of this, m³/s: 0.6 m³/h.
const STEP: f64 = 1.0 / 6_000.0;
/// Up to 600 m³/min; more is counted as so much.
const STEPS: usize = 60_000;

/// A load and an unload beside each other.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pair {
    /// The machine that made the difference.
    pub(crate) machine: usize,
    /// Rising slope less falling slope, Pa/s.
    pub(crate) apart: f64,
    /// Where the machine delivered, mean pressure, Pa.
    pub(crate) pressure: f64,
}

/// A fall without any delivery, off-shift.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fall {
    /// Pa above atmosphere.
    pub(crate) start: f64,
    pub(crate) end: f64,
    pub(crate) seconds: f64,
}

/// One cycle of one machine, off-shift, with nothing else delivering.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Timed {
    pub(crate) machine: usize,
    pub(crate) load_s: f64,
    pub(crate) unload_s: f64,
    /// On load, mean pressure, Pa; NaN if not read.
    pub(crate) pressure: f64,
}

/// What is gathered.
#[derive(Debug, Clone)]
pub(crate) struct Gather {
    volume: Option<f64>,
    pub(crate) pairs: Thin<Pair>,
    pub(crate) pairs_off: Thin<Pair>,
    /// Loads and unloads of one machine, and those with readings enough on both sides, sure or not.
    switched: u64,
    tried: u64,
    pub(crate) falls: Thin<Fall>,
    pub(crate) timed: Thin<Timed>,
    /// Pressures at which each machine took load, and gave it up.
    pub(crate) switches: Vec<[Thin<f64>; 2]>,
    /// µs at each step of demand.
    pub(crate) demand: Vec<i64>,
    pub(crate) close_ups: CloseUps,
    before: Option<Phase>,
    /// The stretch before that.
    earlier: Option<Phase>,
    window: Window,
}

/// The window over which demand is being taken.
#[derive(Debug, Clone, Copy, Default)]
struct Window {
    /// m³ of reference air.
    m3: f64,
    micros: i64,
    /// The pressure at its start, and now.
    pressure: Option<(f64, f64)>,
}

impl Gather {
    pub(crate) fn new(volume: Option<f64>) -> Self {
        Self {
            volume,
            pairs: Thin::default(),
            pairs_off: Thin::default(),
            switched: 0,
            tried: 0,
            falls: Thin::default(),
            timed: Thin::default(),
            switches: Vec::new(),
            demand: Vec::new(),
            close_ups: CloseUps::default(),
            before: None,
            earlier: None,
            window: Window::default(),
        }
    }

    /// Whether the pairs of slopes are those of the cycles: where rows come too far apart, a few
    /// long ones have readings enough, and many of them lie on no line.
    pub(crate) fn resolves(&self) -> bool {
        let seen = (self.pairs.seen() + self.pairs_off.seen()) as f64;
        let (tried, switched) = (self.tried as f64, self.switched as f64);
        tried >= LEAST_TRIED * switched && seen >= LEAST_SURE * tried
    }

    /// The rows do not join on.
    pub(crate) fn breaks(&mut self) {
        (self.before, self.earlier) = (None, None);
        self.close_window();
    }

    /// A reading of the pressure.
    #[inline(always)]
    pub(crate) fn points(&mut self, time: i64, pressure: f64) {
        self.close_ups.point(time, pressure);
    }

    /// A step from one row to the next, with the pressures at both.
    pub(crate) fn delivered(&mut self, m3: f64, micros: i64, (before, now): (f64, f64)) {
        let window = &mut self.window;
        window.m3 += m3;
        window.micros += micros;
        if !before.is_nan() && window.pressure.is_none() {
            window.pressure = Some((before, before));
        }
        if !now.is_nan() {
            window.pressure = Some((window.pressure.map_or(now, |(first, _)| first), now));
        }
        if window.micros >= LONGEST_WINDOW {
            self.close_window();
        }
    }

    /// The pressure was lost for a while: what the window stored is not known.
    pub(crate) fn lost(&mut self) {
        self.window = Window::default();
    }

    fn close_window(&mut self) {
        let window = std::mem::take(&mut self.window);
        if window.micros < WINDOW {
            return;
        }
        let stored = match (self.volume, window.pressure) {
            (Some(volume), Some((first, last))) => volume * (last - first) / 1e5,
            _ => 0.0,
        };
        let flow = (window.m3 - stored).max(0.0) / (window.micros as f64 * 1e-6);
        // Not below 0, and cut to the number of steps.
        let step = ((flow / STEP) as usize).min(STEPS - 1);
        if self.demand.len() <= step {
            self.demand.resize(step + 1, 0);
        }
        if let Some(micros) = self.demand.get_mut(step) {
            *micros += window.micros;
        }
    }

    /// The demand at each hundredth of the time, m³/s.
    pub(crate) fn duration(&self) -> Vec<(f64, f64)> {
        let all: i64 = self.demand.iter().sum();
        if all == 0 {
            return Vec::new();
        }
        let at = |per_cent: u32| {
            let share = f64::from(per_cent) / 100.0;
            let mut so_far = 0;
            let found = self.demand.iter().position(|micros| {
                so_far += micros;
                so_far > 0 && so_far as f64 >= share * all as f64
            });
            (share, (found.unwrap_or(0) as f64 + 0.5) * STEP)
        };
        (0..=100).map(at).collect()
    }

    /// A machine changed to this state; the pressure just before.
    pub(crate) fn changed(&mut self, machine: usize, state: Option<State>, pressure: f64) {
        let loads = state == Some(State::Loaded);
        if loads && self.window.micros >= WINDOW {
            self.close_window();
        }
        let unloads = self
            .before
            .is_some_and(|p| p.loaded & 1_u64.checked_shl(machine as u32).unwrap_or(0) != 0);
        if pressure.is_nan() || !(loads || unloads) {
            return;
        }
        if self.switches.len() <= machine {
            self.switches
                .resize_with(machine + 1, || [Thin::default(), Thin::default()]);
        }
        if let Some(list) = self
            .switches
            .get_mut(machine)
            .and_then(|lists| lists.get_mut(usize::from(!loads)))
        {
            list.push(pressure);
        }
    }

    /// A phase ended.
    pub(crate) fn phase(&mut self, phase: &Phase) {
        self.fall(phase);
        let joins = |p: &Phase| p.ends && phase.begins;
        if let Some(before) = self.before.take_if(|p| joins(p)) {
            if before.loaded == phase.loaded {
                // Only running and standing differ: for the air it is one stretch.
                self.before = Some(join(&before, phase));
                return;
            }
            self.pair(&before, phase);
            if let Some(earlier) = self.earlier.take() {
                self.cycle(&earlier, &before);
            }
            self.earlier = Some(before);
        } else {
            self.earlier = None;
        }
        self.before = Some(*phase);
        let from = self.earlier.as_ref().map_or(phase.from, |p| p.from);
        self.close_ups.forget_before(from);
    }

    fn fall(&mut self, phase: &Phase) {
        if phase.loaded != 0 || !phase.off_shift || phase.torn || phase.fit.count < LEAST {
            return;
        }
        let seconds = phase.seconds();
        // Where a load hides between two rows, the readings lie on no line.
        let straight = phase
            .fit
            .slope()
            .is_some_and(|(slope, sigma)| sigma < SURE * -slope);
        if let (Some(start), Some(end)) = (phase.at(phase.from), phase.at(phase.to))
            && straight
            && seconds >= FALL_S
            && start - end >= FALL_PA
        {
            self.falls.push(Fall {
                start,
                end,
                seconds,
            });
        }
    }

    /// Two stretches beside each other, between which one machine took load or gave it up.
    fn pair(&mut self, before: &Phase, phase: &Phase) {
        let differs = before.loaded ^ phase.loaded;
        if differs.count_ones() != 1 || before.torn || phase.torn {
            return;
        }
        let off_shift = before.off_shift && phase.off_shift;
        let (on, off) = if phase.loaded & differs != 0 {
            (phase, before)
        } else {
            (before, phase)
        };
        if !(on.whole && off.whole) {
            return;
        }
        self.switched += 1;
        if on.fit.count.min(off.fit.count) < LEAST {
            return;
        }
        self.tried += 1;
        if let (Some((rise, a)), Some((fall, b))) = (on.fit.slope(), off.fit.slope())
            && a.hypot(b) < SURE * (rise - fall)
        {
            let pair = Pair {
                machine: differs.trailing_zeros() as usize,
                apart: rise - fall,
                pressure: on.fit.mean(),
            };
            if off_shift {
                self.pairs_off.push(pair);
            } else {
                self.pairs.push(pair);
            }
        }
    }

    /// A load of one machine alone and the unload after it, both whole.
    fn cycle(&mut self, on: &Phase, off: &Phase) {
        if on.loaded.count_ones() != 1 || off.loaded != 0 || !on.begins || !on.whole {
            return;
        }
        if on.off_shift && off.off_shift {
            self.timed.push(Timed {
                machine: on.loaded.trailing_zeros() as usize,
                load_s: on.seconds(),
                unload_s: off.seconds(),
                pressure: if on.fit.count > 0 {
                    on.fit.mean()
                } else {
                    f64::NAN
                },
            });
        }
        self.close_ups.cycle([on, off]);
    }
}

/// Two stretches that are one for the air; the longer one's line stands for both.
fn join(before: &Phase, phase: &Phase) -> Phase {
    let longer = if phase.fit.count > before.fit.count {
        phase
    } else {
        before
    };
    Phase {
        from: before.from,
        to: phase.to,
        off_shift: before.off_shift && phase.off_shift,
        begins: before.begins,
        ends: phase.ends,
        torn: before.torn || phase.torn,
        ..*longer
    }
}
