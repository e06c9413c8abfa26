//! What speaks for a cause and what against it: for each reading of the group what it did beside what
//! the cause would make of it, and the words that were seen.
//!
//! Must not know: units, sentences.

use station::point::{Point, PointId, Word};

use super::causes::Cause;
use super::change::{Search, Slot, effect};
use super::shift::{Course, Evidence};
use super::stream::Sample;

/// ln of a likelihood ratio from which a reading speaks for a cause.
const SPEAKS_FOR: f64 = 2.0;
/// ln of a likelihood ratio that a reading's own movement has over the cause's: so much is left
/// unexplained.
const SPEAKS_AGAINST: f64 = 3.0;

/// Newest samples over which a change must show what it is said to do, and how much of its largest effect of late a
/// reading must feel to show it (from memory).
pub(super) const SHOWS: usize = 15;
pub(super) const FEELS_IT: f64 = 0.6;

/// What the newest reading of late that feels a cause would move by for it: the very newest may be one in which the valve
/// or the fan hides it.
fn lately(samples: &[Sample], moved: impl Fn(&Sample) -> f64) -> Option<f64> {
    let newest = || samples.iter().rev().take(SHOWS).map(&moved);
    let most = newest().map(f64::abs).fold(0.0, f64::max);
    newest().find(|m| m.abs() >= FEELS_IT * most)
}

/// One reading beside a cause, at the newest sample that feels it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Beside {
    pub(crate) id: PointId,
    /// How far it stands from its own level, and how far the cause would put it: in its unit, or as
    /// a share.
    pub(crate) stands: f64,
    pub(crate) would: f64,
    pub(crate) relative: bool,
    /// What it is, where it is no gauge's reading of one moment: a share of what all machines can deliver.
    pub(crate) no_gauge: Option<&'static str>,
    pub(crate) speaks_for: bool,
}

/// One cause with what was read and seen.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Suspect {
    pub(crate) name: &'static str,
    pub(crate) readings: Vec<Beside>,
    /// Words seen, and whether they speak for it.
    pub(crate) words: Vec<(Point, Word, bool)>,
}

impl Search<'_> {
    /// One cause, grown as its likeliest course has it.
    pub(super) fn suspect(
        &self,
        cause: &Cause,
        course: Course,
        slots: &[Slot],
        now: f64,
        (from, to): (f64, f64),
    ) -> Suspect {
        let readings = slots
            .iter()
            .enumerate()
            .filter_map(|(place, slot)| {
                let (prepared, samples) = slot.as_ref()?;
                let by_cause = self.evidence_of(cause, place, slots, course, (from, to))?;
                let by_itself = prepared.evidence(|_, day| {
                    if day < from || day >= to {
                        return 0.0;
                    }
                    course.at(day)
                });
                let relative = self.streams[place].1.relative;
                let moved = lately(samples, |s| effect(cause.moves, place, s, relative))?;
                Some((place, by_cause, by_itself, moved))
            })
            .collect::<Vec<_>>();
        let all = readings
            .iter()
            .fold(Evidence::default(), |sum, (_, e, ..)| sum.and(*e));
        let size = all.size(cause.spread).0;
        let beside = readings
            .into_iter()
            .filter_map(|(place, by_cause, by_itself, moved)| {
                if by_itself.a <= 0.0 {
                    return None;
                }
                let (stream, scale) = &self.streams[place];
                let gains = size * by_cause.b - 0.5 * size * size * by_cause.a;
                let most = 0.5 * by_itself.b * by_itself.b / by_itself.a;
                let (speaks_for, against) = (gains > SPEAKS_FOR, most - gains > SPEAKS_AGAINST);
                let speaks_for = speaks_for && (!against || gains > most - gains);
                // What speaks for a cause moved as the cause moves it: little where it is hidden.
                let stands = if speaks_for {
                    by_cause.b / by_cause.a * moved
                } else {
                    by_itself.b / by_itself.a
                };
                (speaks_for || against).then(|| Beside {
                    id: stream.id,
                    stands: stands * course.at(now),
                    would: size * moved * course.at(now),
                    relative: scale.relative,
                    no_gauge: stream.no_gauge(),
                    speaks_for,
                })
            });
        Suspect {
            name: cause.name,
            readings: beside.collect(),
            words: self.tables.speaking(cause.name, &self.words),
        }
    }
}
