//! What the judge keeps of the rounds it has seen: a bounded number of rounds, and sums.
//!
//! Memory does not grow with the length of the file. Must not know: the model, findings.

use std::collections::{BTreeMap, VecDeque};

use jiff::Timestamp;
use physics::machine::oil::{LIFE_REFERENCE, ageing_rate};
use physics::quantity::Temperature;
use station::model::{Asset, Station};
use station::point::{Point, PointId, Word};
use station::round::{Round, Work};

/// Rounds that are kept, and as many looks off a log.
const MOST_ROUNDS: usize = 150;
/// Readings older than this say nothing about today.
pub(crate) const STALE_DAYS: f64 = 45.0;

/// When a piece of work was last done, and at which hour counter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastDone {
    /// When it was written down.
    pub time: Timestamp,
    /// The machine's hour counter then, if it was read.
    pub hours: Option<f64>,
}

/// Sums over one machine since its oil was changed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct OilAge {
    /// Hours run.
    pub hours: f64,
    /// Equivalent hours at the life's reference temperature.
    pub equivalent: f64,
    /// Whether a change of oil was seen in the rounds; otherwise the sum begins with the first round.
    pub change_seen: bool,
    /// When the sum begins.
    pub since: Option<Timestamp>,
}

/// Oil added and hours loaded, for consumption.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct OilUse {
    /// Litres added.
    pub litres: f64,
    /// Hours loaded.
    pub hours_loaded: f64,
    /// Times that oil was added.
    pub times: u32,
}

/// Hours that one machine ran and was loaded over the same stretches of time.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Hours {
    /// Hours run.
    pub(crate) run: f64,
    /// Hours loaded.
    pub(crate) loaded: f64,
    /// Days that they cover.
    pub(crate) days: f64,
}

impl Hours {
    /// Of one round: both counters, read before at the same earlier round. Otherwise they count
    /// different times and cannot be compared.
    pub(crate) fn of(round: &Round, machine: Asset) -> Option<Self> {
        let run = round.step(machine, Point::HoursRun)?;
        let loaded = round.step(machine, Point::HoursLoaded)?;
        (run.since == loaded.since).then(|| Self {
            run: run.increase,
            loaded: loaded.increase,
            days: days_between(run.since, round.time),
        })
    }

    /// Of one look off a log.
    fn logged(round: &Round, machine: Asset) -> Option<Self> {
        let Asset::Machine(i) = machine else {
            return None;
        };
        let run = round.logged_run(i)?;
        Some(Self {
            run: run.run,
            loaded: run.loaded,
            days: run.days,
        })
    }
}

/// What is kept.
#[derive(Debug, Clone)]
pub struct Memory {
    /// The newest rounds and looks off a log, oldest first.
    pub recent: VecDeque<Round>,
    /// Rounds and looks seen.
    pub seen: u64,
    /// Looks off a log among them.
    pub looks: u64,
    /// The first round's time.
    pub first: Option<Timestamp>,
    /// Work done last, by thing and phrase in small letters.
    pub done: BTreeMap<(Asset, String), LastDone>,
    /// Newest counter values.
    pub counters: BTreeMap<PointId, (f64, Timestamp)>,
    /// Oil's age by machine.
    pub oil_age: Vec<OilAge>,
    /// Oil's use by machine since its separator was changed.
    pub oil_use: Vec<OilUse>,
}

impl Memory {
    pub(crate) fn new(station: &Station) -> Self {
        let machines = station.machines.len();
        Self {
            recent: VecDeque::with_capacity(MOST_ROUNDS),
            seen: 0,
            looks: 0,
            first: None,
            done: BTreeMap::new(),
            counters: BTreeMap::new(),
            oil_age: vec![OilAge::default(); machines],
            oil_use: vec![OilUse::default(); machines],
        }
    }

    pub(crate) fn see(&mut self, station: &Station, round: Round) {
        self.seen += 1;
        self.looks += u64::from(round.logged.is_some());
        self.first.get_or_insert(round.time);
        for machine in 0..station.machines.len() {
            self.age_oil(machine, &round);
        }
        for reading in &round.readings {
            if let (true, station::round::Value::Number(value)) =
                (reading.id.point.is_counter(), reading.value)
            {
                self.counters.insert(reading.id, (value, round.time));
            }
        }
        for work in &round.done {
            let hours = self
                .counters
                .get(&PointId {
                    asset: work.on,
                    point: Point::HoursRun,
                })
                .map(|(hours, _)| *hours);
            let done = LastDone {
                time: round.time,
                hours,
            };
            self.done
                .insert((work.on, work.work.phrase().to_lowercase()), done);
            if let Asset::Machine(i) = work.on {
                self.reset_sums(i, &work.work, round.time);
            }
        }
        self.make_room(round.logged.is_some());
        self.recent.push_back(round);
    }

    /// Rounds and looks are counted apart, so that a log does not push the rounds out.
    fn make_room(&mut self, logged: bool) {
        let same = |r: &Round| r.logged.is_some() == logged;
        if self.recent.iter().filter(|r| same(r)).count() == MOST_ROUNDS
            && let Some(oldest) = self.recent.iter().position(same)
        {
            self.recent.remove(oldest);
        }
    }

    fn age_oil(&mut self, machine: usize, round: &Round) {
        let asset = Asset::Machine(machine);
        let step = |point| {
            let id = PointId { asset, point };
            round
                .counter_steps
                .iter()
                .find(|s| s.id == id)
                .map(|s| s.increase)
        };
        let age = &mut self.oil_age[machine];
        age.since.get_or_insert(round.time);
        if let Some(hours) = step(Point::HoursRun) {
            let loaded = round.word(asset, Point::MachineState) == Some(Word::Loaded);
            let read = round
                .number(asset, Point::OilTemperature)
                .filter(|_| loaded);
            let rate = read
                .and_then(|t| ageing_rate(Temperature::new(t), LIFE_REFERENCE).ok())
                .unwrap_or(1.0);
            age.hours += hours;
            age.equivalent += hours * rate;
        }
        let usage = &mut self.oil_use[machine];
        if let Some(hours) = step(Point::HoursLoaded) {
            usage.hours_loaded += hours;
        }
        if let Some(litres) = round.number(asset, Point::OilAdded).filter(|l| *l > 0.0) {
            usage.litres += litres;
            usage.times += 1;
        }
    }

    fn reset_sums(&mut self, machine: usize, work: &Work, time: Timestamp) {
        match work {
            Work::ChangeOil => {
                self.oil_age[machine] = OilAge {
                    change_seen: true,
                    since: Some(time),
                    ..OilAge::default()
                };
                self.oil_use[machine] = OilUse::default();
            }
            Work::ChangeSeparator => self.oil_use[machine] = OilUse::default(),
            _ => {}
        }
    }

    /// Forgets what a point said at this time, as if it had not been read.
    pub(crate) fn leave_aside(&mut self, id: PointId, time: Timestamp) {
        for round in self.recent.iter_mut().filter(|r| r.time == time) {
            round.readings.retain(|r| r.id != id);
            round.counter_steps.retain(|s| s.id != id);
        }
        if !id.point.is_counter() {
            return;
        }
        let mut newest_first = self.recent.iter().rev();
        let read = |r: &Round| Some((r.number(id.asset, id.point)?, r.time));
        match newest_first.find_map(read) {
            Some(read) => self.counters.insert(id, read),
            None => self.counters.remove(&id),
        };
    }

    /// The newest round.
    pub(crate) fn latest(&self) -> Option<&Round> {
        self.recent.back()
    }

    /// The newest round that shows the plant as it is walked through: cycles that a log timed at rest
    /// say nothing of the day.
    pub(crate) fn latest_walk(&self) -> Option<&Round> {
        let mut newest_first = self.recent.iter().rev();
        newest_first.find(|r| !at_rest(r)).or(self.latest())
    }

    /// Hours run and loaded over the rounds of the `days` before `until`, by the counters.
    pub(crate) fn hours(&self, machine: Asset, until: Timestamp, days: f64) -> Option<Hours> {
        self.sum(until, days, |r| Hours::of(r, machine))
    }

    /// The same by a log. The two are never added up, for they may count the same hours.
    pub(crate) fn logged_hours(
        &self,
        machine: Asset,
        until: Timestamp,
        days: f64,
    ) -> Option<Hours> {
        self.sum(until, days, |r| Hours::logged(r, machine))
    }

    /// The rounds of the `days` before `until`, newest first.
    pub(crate) fn back(&self, until: Timestamp, days: f64) -> impl Iterator<Item = &Round> {
        let rounds = self.recent.iter().rev();
        rounds
            .skip_while(move |r| r.time > until)
            .take_while(move |r| days_between(r.time, until) <= days)
    }

    fn sum(
        &self,
        until: Timestamp,
        days: f64,
        of: impl Fn(&Round) -> Option<Hours>,
    ) -> Option<Hours> {
        let sum = self
            .back(until, days)
            .filter_map(of)
            .fold(Hours::default(), |sum, h| Hours {
                run: sum.run + h.run,
                loaded: sum.loaded + h.loaded,
                days: sum.days + h.days,
            });
        (sum.days > 0.0).then_some(sum)
    }

    /// Increase of a counter over the rounds of the last `days`, and the days that it covers.
    pub(crate) fn increase(&self, id: PointId, days: f64) -> Option<(f64, f64)> {
        let now = self.latest()?.time;
        let (mut sum, mut from, mut to) = (0.0, None, None);
        for round in self.recent.iter().rev() {
            if days_between(round.time, now) > days {
                break;
            }
            if let Some(step) = round.counter_steps.iter().find(|s| s.id == id) {
                sum += step.increase;
                to.get_or_insert(round.time);
                from = Some(step.since);
            }
        }
        let covered = days_between(from?, to?);
        (covered > 0.0).then_some((sum, covered))
    }
}

/// Whether a round tells no more than the cycles that a log timed with the plant at rest.
pub(crate) fn at_rest(round: &Round) -> bool {
    round.logged.as_ref().is_some_and(|logged| logged.at_rest)
}

/// Days from one moment to a later one.
#[must_use]
pub(crate) fn days_between(from: Timestamp, to: Timestamp) -> f64 {
    (to.as_millisecond() - from.as_millisecond()) as f64 / 86_400_000.0
}
