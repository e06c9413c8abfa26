//! The powers between the states of a machine: from the station file, or learned from the start of
//! the log.
//!
//! Learned: among the powers of a running machine, the two groups that differ most from each other
//! and least inside (N. Otsu, 1979: the cut with the greatest variance between the groups). If the
//! groups do not stand apart, the machine did not show both states, and the defaults hold.
//!
//! Must not know: time.

use station::model::Machine;

use crate::figures::{Levels, LevelsFrom};

/// Bins over 0 … 1.25 × rated power.
const BINS: usize = 125;
/// Below this share of the rated power a machine stands still (common practice, no source).
const STANDING: f64 = 0.08;
/// The groups must lie so far apart, as a share of the rated power.
const APART: f64 = 0.2;
/// Each group must hold this share of the running rows.
const LEAST: f64 = 0.01;
/// Half the band about a level, as a share of half the distance to the powers beside it.
const BAND: f64 = 0.2;

/// The levels of a machine; `powers` are those at the start of the log, W, NaN where missing.
pub(crate) fn of(machine: &Machine, powers: &[f64]) -> Levels {
    let rated = machine.rated.power.value.si();
    let unloaded = machine.unloaded_power;
    if unloaded.given {
        return between(unloaded.value.si(), rated, LevelsFrom::StationFile);
    }
    match groups(rated, powers) {
        Some((low, high)) => between(low, high, LevelsFrom::Learned),
        None => between(unloaded.value.si(), rated, LevelsFrom::Defaults),
    }
}

fn between(unloaded: f64, loaded: f64, from: LevelsFrom) -> Levels {
    let (below, above) = (0.5 * unloaded, 0.5 * (loaded - unloaded));
    Levels {
        runs_w: below,
        loaded_w: unloaded + above,
        runs_band_w: BAND * below,
        loaded_band_w: BAND * above,
        from,
    }
}

/// The mean powers of the two groups, if there are two.
fn groups(rated: f64, powers: &[f64]) -> Option<(f64, f64)> {
    let width = 1.25 * rated / BINS as f64;
    let mut counts = [0.0_f64; BINS];
    for &power in powers.iter().filter(|&&p| p > STANDING * rated) {
        // Between 0 and the number of bins, or cut to it.
        let bin = ((power / width) as usize).min(BINS - 1);
        if let Some(count) = counts.get_mut(bin) {
            *count += 1.0;
        }
    }
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
