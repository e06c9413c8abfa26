//! The powers between the states of a machine: from the station file, or learned from the log.
//!
//! Learned: among the powers of a running machine, the two groups that differ most from each other
//! and least inside (N. Otsu, 1979: the cut with the greatest variance between the groups). If the
//! groups do not stand apart, the machine did not show both states, and the defaults hold.
//!
//! With the powers of a later day the levels can be looked at again: where a group has come close to
//! a level, as when a meter's ratio was set anew, the level moves between the groups.
//!
//! Must not know: time.

use station::model::{Control, Machine};

use crate::figures::{Levels, LevelsFrom};

/// So many bins of powers …
const BINS: usize = 250;
/// … up to so many times the rated power.
const TOP: f64 = 1.25;
const WIDE_TOP: f64 = 3.2;
/// Below this share of the rated power a machine stands still (common practice, no source).
const STANDING: f64 = 0.08;
/// The groups must lie so far apart, as a share of the rated power.
const APART: f64 = 0.2;
/// Each group must hold this share of the running rows.
const LEAST: f64 = 0.01;
/// Half the band about a level, as a share of half the distance to the powers beside it.
const BAND: f64 = 0.2;
/// A level moves if a group lies closer to it than so many half bands.
const CLOSE: f64 = 2.0;
/// A day with fewer running rows says nothing.
const LEAST_ROWS: u32 = 300;

/// The levels of a machine; `powers` are those at the start of the log, W, NaN where missing.
pub(crate) fn of(machine: &Machine, powers: &[f64]) -> Levels {
    let rated = machine.rated.power.value.si();
    let unloaded = machine.unloaded_power;
    if let Control::VariableSpeed { part_load, .. } = &machine.control {
        // On load it may draw anything from its lowest speed on.
        let lowest = part_load.first().map_or(rated, |(_, power)| power.si());
        let loaded = lowest.max(1.05 * unloaded.value.si());
        let from = if unloaded.given {
            LevelsFrom::StationFile
        } else {
            LevelsFrom::Defaults
        };
        let mut levels = between(unloaded.value.si(), loaded, from);
        levels.usual_loaded_w = rated;
        return levels;
    }
    if unloaded.given {
        return between(unloaded.value.si(), rated, LevelsFrom::StationFile);
    }
    let mut counts = Counts::new(rated);
    for &power in powers {
        counts.add(power);
    }
    let mut levels = match counts.groups() {
        Some((low, high)) => between(low, high, LevelsFrom::Learned),
        None => between(unloaded.value.si(), rated, LevelsFrom::Defaults),
    };
    if let Control::Modulating(_) = machine.control {
        // The upper group is not full load but anything up to it.
        levels.usual_loaded_w = levels.usual_loaded_w.max(rated);
    }
    levels
}

fn between(unloaded: f64, loaded: f64, from: LevelsFrom) -> Levels {
    let (below, above) = (0.5 * unloaded, 0.5 * (loaded - unloaded));
    Levels {
        runs_w: below,
        loaded_w: unloaded + above,
        usual_unloaded_w: unloaded,
        usual_loaded_w: loaded,
        runs_band_w: BAND * below,
        loaded_band_w: BAND * above,
        from,
    }
}

/// How often which power was read, of a machine that runs.
#[derive(Debug, Clone)]
pub(crate) struct Counts {
    rated: f64,
    /// At and below this it stands still, W.
    standing: f64,
    /// The highest power that is told apart, W.
    top: f64,
    /// Bins a watt.
    per_watt: f64,
    bins: [u32; BINS],
}

impl Counts {
    pub(crate) fn new(rated: f64) -> Self {
        Self {
            rated,
            standing: STANDING * rated,
            top: TOP * rated,
            per_watt: BINS as f64 / (TOP * rated),
            bins: [0; BINS],
        }
    }

    /// The same up to several times the rated power, in wider bins.
    pub(crate) fn wide(rated: f64) -> Self {
        Self {
            top: WIDE_TOP * rated,
            per_watt: BINS as f64 / (WIDE_TOP * rated),
            ..Self::new(rated)
        }
    }

    /// The width of a bin, W.
    pub(crate) fn width(&self) -> f64 {
        self.top / BINS as f64
    }

    /// The middle of each bin, W, and how often powers lay in it.
    pub(crate) fn each(&self) -> impl Iterator<Item = (f64, f64)> {
        let width = self.width();
        let middle =
            move |(bin, &count): (usize, &u32)| ((bin as f64 + 0.5) * width, f64::from(count));
        self.bins.iter().enumerate().map(middle)
    }

    /// Whether there are enough of them to say anything.
    pub(crate) fn enough(&self) -> bool {
        self.bins.iter().sum::<u32>() >= LEAST_ROWS
    }

    /// The power that few of them are above, W.
    pub(crate) fn top(&self) -> Option<f64> {
        let all: f64 = self.each().map(|(_, count)| count).sum();
        let mut so_far = 0.0;
        let found = self.each().find(|(_, count)| {
            so_far += count;
            so_far >= 0.98 * all && so_far > 0.0
        });
        found.map(|(power, _)| power)
    }

    pub(crate) fn forget(&mut self) {
        self.bins = [0; BINS];
    }

    #[inline(always)]
    pub(crate) fn add(&mut self, power: f64) {
        if power > self.standing {
            // Between 0 and the number of bins, or cut to it.
            let bin = ((power * self.per_watt) as usize).min(BINS - 1);
            if let Some(count) = self.bins.get_mut(bin) {
                *count += 1;
            }
        }
    }

    /// The levels that these powers ask for, if those that hold do not fit; forgets the powers.
    pub(crate) fn moved(&mut self, levels: &Levels) -> Option<Levels> {
        let found = self.enough().then(|| self.groups()).flatten();
        self.forget();
        let (low, high) = found?;
        let clear = CLOSE * levels.loaded_band_w;
        let fits = low < levels.loaded_w - clear
            && high > levels.loaded_w + clear
            && low > levels.runs_w + CLOSE * levels.runs_band_w;
        (!fits).then(|| between(low, high, LevelsFrom::Learned))
    }

    /// The mean powers of the two groups, if there are two.
    fn groups(&self) -> Option<(f64, f64)> {
        groups(self.rated, self.width(), &self.bins)
    }
}

/// The mean powers of the two groups, if there are two.
fn groups(rated: f64, width: f64, counts: &[u32; BINS]) -> Option<(f64, f64)> {
    let counts = counts.map(f64::from);
    let middle = |bin: usize| (bin as f64 + 0.5) * width;
    let weigh = |from: usize, to: usize| {
        let bins = counts.iter().enumerate().take(to).skip(from);
        bins.fold((0.0, 0.0), |(n, sum), (bin, count)| {
            (n + count, sum + count * middle(bin))
        })
    };
    let (all, _) = weigh(0, BINS);
    let cut = |at: usize| {
        let ((n, sum), (m, other)) = (weigh(0, at), weigh(at, BINS));
        (n >= LEAST * all && m >= LEAST * all && n > 0.0 && m > 0.0).then(|| {
            let (low, high) = (sum / n, other / m);
            (n * m * (high - low) * (high - low), low, high)
        })
    };
    let best = (1..BINS)
        .filter_map(cut)
        .max_by(|a, b| a.0.total_cmp(&b.0))?;
    let (_, low, high) = best;
    // Few rows may lie between the groups.
    let (first, last) = (
        (low + 0.4 * (high - low)) / width,
        (low + 0.6 * (high - low)) / width,
    );
    let (between, _) = weigh(first as usize, last as usize + 1);
    (high - low >= APART * rated && between <= 0.1 * all).then_some((low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_groups_are_found_and_one_is_not() {
        let mut random = fastrand::Rng::with_seed(3);
        let mut about = |middle: f64, n: usize| -> Vec<f64> {
            (0..n)
                .map(|_| middle + 800.0 * (random.f64() - 0.5))
                .collect()
        };
        let loaded = about(33_000.0, 3000);
        let unloaded = about(9_000.0, 200);
        let stopped = about(0.0, 5000);
        let groups = |rated: f64, powers: &[f64]| {
            let mut counts = Counts::new(rated);
            for &power in powers {
                counts.add(power);
            }
            counts.groups()
        };
        let (low, high) =
            groups(33_400.0, &[loaded.clone(), unloaded, stopped].concat()).expect("two");
        assert!(
            (low - 9_000.0).abs() < 200.0 && (high - 33_000.0).abs() < 200.0,
            "{low} {high}"
        );
        assert_eq!(groups(33_400.0, &loaded), None);
        assert_eq!(groups(33_400.0, &[]), None);
        let spread: Vec<f64> = (0..3000).map(|i| 9_000.0 + 8.0 * f64::from(i)).collect();
        assert_eq!(groups(33_400.0, &spread), None);
    }
}
