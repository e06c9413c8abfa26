//! The oil of a machine that carries little, beside what its valve holds.
//!
//! Must not know: causes, other readings than oil and outlet.

use std::collections::{BTreeMap, VecDeque};

use station::model::{Asset, Station};
use station::point::{Point, PointId};
use station::round::Round;

use super::{FELT, LITTLE_LOAD, OUTLET_FOLLOWS, Sample, View};
use crate::day::{Day, DutyFrom, Moment};
use crate::history::level::usual;

/// Earlier looks of a machine that are kept, and so many at least that say what is usual (from memory).
const MOST_LOOKS: usize = 9;
const LEAST_LOOKS: usize = 3;
/// An outlet bears a fall of the oil by so much out, K, that has fallen by at least so much itself, and by half of
/// what the oil takes it along by (common practice, no source).
const OIL_FALLS_K: f64 = 4.0;
const LEAST_FALL_K: f64 = 1.2;
const ITS_SHARE: f64 = 0.5;

/// What each machine's oil and outlet stood over the valve's and the model's temperatures, look by look.
#[derive(Debug, Clone, Default)]
pub(super) struct Little(BTreeMap<usize, VecDeque<(f64, f64)>>);

impl Little {
    /// A machine's oil beside what its valve holds, where it is known to carry little. The outlet, which the oil
    /// takes along, says whether it was read right.
    pub(super) fn take(
        &mut self,
        view: &View,
        station: &Station,
        (round, day): (&Round, &Day),
        id: PointId,
        sample: Sample,
    ) -> Option<Sample> {
        let Asset::Machine(i) = id.asset else {
            return None;
        };
        let known = day.duty_from[i] == DutyFrom::Watch || day.working == Some(false);
        let little = known && day.conditions.machines[i].recent_load <= LITTLE_LOAD;
        if !little || id.point != Point::OilTemperature || day.moments[i] != Moment::Loaded {
            return None;
        }
        let held = station.machines[i].oil.held_at.value.si();
        let outlet = round.number(id.asset, Point::OutletTemperature);
        let model = view.state.machines[i].as_ref().map(|m| m.outlet.si());
        let borne_out = outlet
            .zip(model)
            .is_some_and(|(outlet, model)| self.falls_too(i, (sample.read - held, outlet - model)));
        Some(Sample {
            mid: held,
            feels: [0.0; FELT],
            warm_air: 0.0,
            strays: 0.0,
            borne_out,
            ..sample
        })
    }

    /// Takes a look in; whether oil and outlet lie below their usual together.
    fn falls_too(&mut self, machine: usize, now: (f64, f64)) -> bool {
        let list = self.0.entry(machine).or_default();
        let known = list.len() >= LEAST_LOOKS;
        let oil = usual(list.iter().map(|l| l.0));
        let outlet = usual(list.iter().map(|l| l.1));
        let by_oil = ITS_SHARE * OUTLET_FOLLOWS * (oil - now.0);
        let falls = known && oil - now.0 > OIL_FALLS_K && outlet - now.1 > by_oil.max(LEAST_FALL_K);
        if list.len() == MOST_LOOKS {
            list.pop_front();
        }
        list.push_back(now);
        falls
    }
}
