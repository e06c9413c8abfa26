//! Whether a change rests on one reading: nobody tells a fault by a single look.
//!
//! Must not know: sentences, money.

use super::causes::Cause;
use super::change::{Found, Search, Slot, TELL, effect};

/// A change of which one reading makes up more than this is that reading (from memory).
const MOST_OF_IT: f64 = 0.75;
/// What is left without it is no proof below this share of what tells a change (from memory).
const LEFT: f64 = 0.5;
/// So many readings are left out at most.
const MOST_LEFT_OUT: usize = 3;

impl Search<'_> {
    /// The changes of a span, and the readings that they were found in: without those that would be a change all by
    /// themselves.
    pub(super) fn all_but_lone(
        &self,
        causes: &[Cause],
        mut slots: Vec<Slot>,
        span: (f64, f64),
    ) -> (Vec<Slot>, Vec<Found>) {
        for _ in 0..MOST_LEFT_OUT {
            let found = self.all(causes, &slots, span);
            let Some((place, index)) = self.lone(causes, &slots, &found, span) else {
                return (slots, found);
            };
            let distrusted = slots[place].as_mut().and_then(|(prepared, _)| {
                *prepared = prepared.distrusting(index)?;
                Some(())
            });
            if distrusted.is_none() {
                return (slots, found);
            }
        }
        let found = self.all(causes, &slots, span);
        (slots, found)
    }

    /// The reading that is most of a change, by its stream's place and its own.
    fn lone(
        &self,
        causes: &[Cause],
        slots: &[Slot],
        found: &[Found],
        (from, to): (f64, f64),
    ) -> Option<(usize, usize)> {
        (0..found.len()).find_map(|n| {
            let mut others = found.to_vec();
            let change = others.remove(n);
            let left = self.without(slots, causes, &others, (from, to));
            let moves = causes[change.cause].moves;
            let mut most = (0.0, None);
            let mut sum = 0.0;
            for (place, slot) in left.iter().enumerate() {
                let Some((prepared, samples)) = slot else {
                    continue;
                };
                let scale = &self.streams[place].1;
                let says = prepared.says(|i, day| {
                    if day < from || day >= to {
                        return 0.0;
                    }
                    let felt = effect(moves, place, &samples[i], scale.relative);
                    change.size * change.course.at(day) * felt
                });
                for (i, says) in says.into_iter().enumerate() {
                    sum += says;
                    // What is read with the cabinet open is borne out by the next week.
                    let may_be_lone = scale.wears.is_none() && !samples[i].borne_out;
                    if may_be_lone && says > most.0 {
                        most = (says, Some((place, i)));
                    }
                }
            }
            let left = change.log_odds - most.0;
            most.1
                .filter(|_| most.0 > MOST_OF_IT * sum && left < LEFT * TELL)
        })
    }
}
