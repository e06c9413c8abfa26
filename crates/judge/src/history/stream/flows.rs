//! What goes through the header by the machines: at one moment, and with the plant at rest.
//!
//! Must not know: other readings.

use physics::air::reference_air;
use station::model::{Asset, Station};
use station::point::Point;
use station::round::Round;

use super::{FELT, Sample, View};
use crate::day::{Day, DutyFrom, Moment};

/// How far the meter strays from what the machines deliver, as a share (common practice, no source).
const METER_STRAYS: f64 = 0.15;

impl View {
    /// A cycle by the watch of the only machine that runs while the plant rests: what goes then,
    /// beside what all machines can deliver, in m³/s of reference air. The meter bears it out: what two
    /// times fill hardly feels how long the machine ran unloaded, so that they cannot bear each other out.
    pub(super) fn leak_test(
        &self,
        station: &Station,
        (round, day): (&Round, &Day),
        today: f64,
    ) -> Option<Sample> {
        if day.working != Some(false) || station.headers.is_empty() {
            return None;
        }
        let mut running =
            (0..station.machines.len()).filter(|i| day.moments[*i] != Moment::Stopped);
        let i = running.next()?;
        if running.next().is_some() || day.duty_from[i] != DutyFrom::Watch {
            return None;
        }
        let by_rated = self.by_rated(station)?;
        let rated = |i: usize| by_rated * station.machines[i].rated.fad.value.si();
        let all: f64 = (0..station.machines.len()).map(rated).sum();
        let read = rated(i) * day.conditions.machines[i].duty;
        let metered = round.number(Asset::Header(0), Point::HeaderFlow);
        let by_meter = metered.is_some_and(|flow| (flow / read - 1.0).abs() < METER_STRAYS);
        Some(Sample {
            borne_out: by_meter,
            ..self.plain(day, read, all, today)
        })
    }

    /// Reference air for each rated free air of the machines, by one that runs: the intake's density is the
    /// same for all.
    pub(super) fn by_rated(&self, station: &Station) -> Option<f64> {
        (0..station.machines.len()).find_map(|i| {
            let place = self.state.place(Asset::Machine(i))?;
            Some(reference_air(place.dry_air).si() / station.machines[i].rated.fad.value.si())
        })
    }

    /// What goes through the header at this moment, m³/s of reference air, and how much of it each
    /// of the first machines delivers: known where every machine either stands still, or is on load
    /// all the time, or cycles by the watch or a speed that was read.
    pub(super) fn flow_now(&self, station: &Station, day: &Day) -> Option<(f64, [f64; FELT])> {
        let mut from = [0.0; FELT];
        let mut sum = 0.0;
        let mut trimmed = false;
        for i in 0..station.machines.len() {
            let share = match (day.moments[i], day.duty_from[i]) {
                (Moment::Stopped, _) => continue,
                (_, DutyFrom::Watch | DutyFrom::Log | DutyFrom::Speed) => {
                    trimmed = true;
                    day.conditions.machines[i].duty
                }
                (Moment::Loaded, _) => 1.0,
                // What it carried before it unloaded is not known.
                _ => return None,
            };
            let place = self.state.place(Asset::Machine(i))?;
            let flow = reference_air(place.dry_air).si() * share;
            sum += flow;
            if let Some(slot) = from.get_mut(i) {
                *slot = flow;
            }
        }
        // While the plant rests, two of them fill the vessel, and the meter sees none of it.
        let running = day.moments.iter().filter(|m| **m != Moment::Stopped);
        let fills = day.working == Some(false) && running.count() > 1;
        (trimmed && sum > 0.0 && !fills).then_some((sum, from))
    }
}
