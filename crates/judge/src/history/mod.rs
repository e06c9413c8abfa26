//! What many rounds say together: a machine's own level learned, its changes found, dated, put down
//! to causes and carried forward.
//!
//! Residuals of the forward model are the input; the model's sensitivities say how strongly each
//! reading feels each part, so a cooler hidden by its thermostat gives no evidence and none is
//! claimed. Must not know: sentences, JSON.

mod alone;
mod causes;
mod change;
mod changed;
mod control;
mod curve;
mod ended;
mod far;
mod forecast;
mod hot;
mod level;
mod owed;
mod own;
mod prepare;
mod shift;
mod stream;
mod suspects;
mod tell;
mod wear;
mod weigh;

use jiff::Timestamp;
use station::model::Station;
use station::point::{Point, PointId};
use station::round::Round;

use crate::day::Day;
use crate::memory::Memory;

pub(crate) use causes::{Cause, Check, Group, Moves};
pub(crate) use far::Far;
pub use hot::IfHot;
pub(crate) use hot::{CoolingNow, if_hot};
pub(crate) use stream::Part;
pub(crate) use stream::day_of;
use stream::{BY_TEST, Stream, Streams};
pub(crate) use tell::tell;

/// What is kept of all rounds.
#[derive(Debug, Clone, Default)]
pub(crate) struct History {
    pub(crate) streams: Streams,
}

impl History {
    /// Takes a round in. `memory` has already seen it.
    pub(crate) fn see(&mut self, station: &Station, memory: &Memory, round: &Round) {
        self.streams.note_work(round);
        if self.streams.too_soon(round) {
            return;
        }
        if let Ok(day) = Day::of(station, memory, round) {
            self.streams.see(station, round, &day);
        }
    }

    /// Parts that were changed though nobody wrote it down, with the first reading of the new one.
    pub(crate) fn unwritten(&self) -> Vec<(PointId, Timestamp)> {
        let list = self.streams.unwritten.iter();
        list.filter_map(|(id, day)| Some((*id, moment(*day)?)))
            .collect()
    }

    /// What was read at this time beside the readings before it.
    pub(crate) fn far_off(&self, station: &Station, time: Timestamp) -> Vec<Far> {
        far::far_off(&self.streams, station, day_of(time))
    }

    /// Forgets what some points said at this time, as if they had not been read.
    pub(crate) fn leave_aside(&mut self, time: Timestamp, of: impl Fn(PointId) -> bool) {
        self.streams.leave_aside(day_of(time), |s| of(s.id));
    }

    /// Forgets what cycles that were timed at this time said of leaks.
    pub(crate) fn leave_tests_aside(&mut self, time: Timestamp) {
        let test = |s: &Stream| s.moment == BY_TEST && s.id.point == Point::HeaderFlow;
        self.streams.leave_aside(day_of(time), test);
    }
}

/// A day since 1970-01-01 as a moment.
pub(crate) fn moment(day: f64) -> Option<Timestamp> {
    Timestamp::from_millisecond((day * 86_400_000.0) as i64).ok()
}
