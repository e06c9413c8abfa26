//! Whether a part that wears was changed though nobody wrote it down: its drop fell back to about a new one's.
//!
//! Must not know: sentences.

use station::point::Point;

use super::stream::{Mends, Sample, Stream};

/// A part has to have worn so far over clean, and to have fallen back so near, for its change to be seen (common
/// practice, no source).
const WORN: f64 = 1.6;
const LIKE_NEW: (f64, f64) = (0.5, 1.4);
/// Readings of a worn part before it.
const BEFORE: usize = 4;
/// Readings at less than this share of the usual clean drop say nothing.
const FULL_ENOUGH: f64 = 0.25;

/// Readings after it: what is read every day, and what is read when the cabinet is open.
fn after(point: Point) -> Option<usize> {
    match point {
        Point::FilterDrop => Some(3),
        Point::SeparatorDrop | Point::IntakeDrop => Some(2),
        _ => None,
    }
}

/// Marks the change in the newest samples, if there was one; gives its day.
pub(super) fn mark(stream: &mut Stream) -> Option<f64> {
    let after = after(stream.id.point)?;
    let most = stream.samples.iter().map(|s| s.mid).fold(0.0, f64::max);
    let from = stream.since_change();
    let told = |(_, s): &(usize, &Sample)| s.mid > FULL_ENOUGH * most;
    let newest: Vec<(usize, f64)> = stream
        .samples
        .iter()
        .enumerate()
        .skip(from)
        .filter(told)
        .map(|(place, s)| (place, s.read / s.mid))
        .rev()
        .take(after + BEFORE)
        .collect();
    if newest.len() < after + BEFORE {
        return None;
    }
    let (new, worn) = newest.split_at(after);
    let like_new = new
        .iter()
        .all(|(_, k)| (LIKE_NEW.0..LIKE_NEW.1).contains(k));
    let was_worn = worn.iter().all(|(_, k)| *k > WORN);
    let first = new.last().map(|(place, _)| *place)?;
    let sample = stream
        .samples
        .get_mut(first)
        .filter(|_| like_new && was_worn)?;
    sample.reset = Some(Mends::Whole);
    Some(sample.day)
}
