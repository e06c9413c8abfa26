//! The people who walk round: when they do, what they read, what they write down.
//!
//! Must not know: how the true values come about.

use std::collections::BTreeMap;

use jiff::civil::{Date, Time, Weekday};

use crate::faults::{Trouble, gauge_error};
use crate::gauges::{Gauge, misread};
use crate::habits::Habits;
use crate::invent::{ON_MINUTE, Reading, RoundRow, SATURDAY_OFF_MINUTE};
use crate::plant::Load;
use crate::random::{normal, scatter, stream};
use crate::severities::{MachineSeverity, Severities};
use crate::simulate::Station;
use crate::truth::{ActiveTrouble, TruthRow};
use crate::walk::{Moment, Seen, State, look};
use crate::weather::Air;

/// A round that finds only leaks: on Saturday, after the works have closed.
const OFF_SHIFT_MINUTE: u32 = 13 * 60 + 30;

/// What kind of round a day has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Daily,
    Cold,
    OffShift,
}

/// What is settled about a day before it begins.
#[derive(Clone, Copy)]
pub(crate) struct Today<'a> {
    pub(crate) day: u32,
    pub(crate) date: Date,
    pub(crate) severities: &'a Severities,
    pub(crate) round: Option<(u32, Kind)>,
}

/// The people who walk round, and what they remember from one round to the next.
pub(crate) struct Keeper<'a> {
    habits: &'a Habits,
    troubles: &'a [Trouble],
    seed: u64,
    /// Work done before this day has been written down.
    told_until: u32,
    oil_short_l: Vec<f64>,
}

impl<'a> Keeper<'a> {
    pub(crate) fn new(
        habits: &'a Habits,
        troubles: &'a [Trouble],
        seed: u64,
        machines: usize,
    ) -> Self {
        // Every machine begins a little short of a full sump.
        Self {
            habits,
            troubles,
            seed,
            told_until: 0,
            oil_short_l: vec![0.3; machines],
        }
    }

    pub(crate) fn seed(&self) -> u64 {
        self.seed
    }

    /// When a day has a round, and of what kind.
    pub(crate) fn plan(&self, day: u32, date: Date, load: &Load) -> Option<(u32, Kind)> {
        let habits = self.habits;
        let mut rng = stream(self.seed, "plan", u64::from(day));
        let (missed, cold) = (rng.f64() < habits.missed, rng.f64() < habits.cold_monday);
        let late = scatter(&mut rng, habits.minutes_spread).round();
        let week = day / 7;
        let turn = |every: u32, offset: u32| every > 0 && week % every == offset % every;
        let at = (f64::from(habits.at_minute) + late).max(f64::from(ON_MINUTE + 20));
        let at = (at as u32).min(SATURDAY_OFF_MINUTE - 1);
        let away = habits.away.iter().any(|(a, b)| (*a..=*b).contains(&day));
        if load.is_closed(date) || away {
            return None;
        }
        let walks = |weekday| habits.only_on.is_none_or(|only| only == weekday);
        match date.weekday() {
            Weekday::Sunday => None,
            Weekday::Saturday if turn(habits.off_shift_every, 1) => {
                Some((OFF_SHIFT_MINUTE + day % 7, Kind::OffShift))
            }
            weekday if !walks(weekday) => None,
            Weekday::Saturday => turn(habits.saturday_every, 3).then_some((at, Kind::Daily)),
            Weekday::Monday if cold => Some((ON_MINUTE + 6 + day % 5, Kind::Cold)),
            _ if missed => None,
            _ => Some((at, Kind::Daily)),
        }
    }

    /// Takes a round: reads what these habits read, as well as these readers do.
    pub(crate) fn walk(
        &mut self,
        today: Today<'_>,
        minute: u32,
        kind: Kind,
        station: &mut Station<'_>,
        air: &Air,
    ) -> (RoundRow, TruthRow) {
        let habits = self.habits;
        let mut rng = stream(self.seed, "walk", u64::from(today.day));
        let mut fans = stream(self.seed, "fan", u64::from(today.day));
        let moment = Moment {
            in_band: rng.f64(),
            draw: rng.f64(),
            waits: rng.f64() < habits.waits_for_load,
            fan: [fans.f64(), fans.f64()],
            timed: kind == Kind::OffShift,
        };
        let who = if habits.people.is_empty() {
            0
        } else {
            rng.usize(..habits.people.len())
        };
        let seen = look(station, air, today.day, today.severities, moment);
        let cabinet = today.date.weekday() == habits.cabinet_day;
        let mut readings = self.read_numbers(today.day, &seen, cabinet);
        let misread = self.get_wrong(today.day, &mut readings);
        self.observe(today, station, &seen, cabinet, &mut readings);
        if readings.contains_key(&format!("{}.drain.collected", station.plant.receiver.id)) {
            station.collected_l = 0.0;
        }
        let hour = i8::try_from(minute / 60).unwrap_or(0);
        let minute = i8::try_from(minute % 60).unwrap_or(0);
        let row = RoundRow {
            day: today.day,
            time: today.date.to_datetime(Time::constant(hour, minute, 0, 0)),
            who: habits.people.get(who).cloned().unwrap_or_default(),
            readings,
            note: match kind {
                Kind::Daily => String::new(),
                Kind::Cold => "just switched on, still cold".to_owned(),
                Kind::OffShift => "works closed, timed with a watch".to_owned(),
            },
            done: self.work_done(today.day),
        };
        let active = |t: &Trouble| ActiveTrouble {
            fault: t.fault.clone(),
            on: t.on.clone(),
            severity: t.severity_on(today.day),
        };
        let present = |t: &ActiveTrouble| t.severity.abs() > 0.0;
        let truth = TruthRow {
            day: today.day,
            values: seen.values,
            health: seen.health,
            troubles: self.troubles.iter().map(active).filter(present).collect(),
            misread,
        };
        (row, truth)
    }

    fn read_numbers(&self, day: u32, seen: &Seen, cabinet: bool) -> BTreeMap<String, Reading> {
        let habits = self.habits;
        let mut readings = BTreeMap::new();
        for (point, truth) in &seen.values {
            // A stream for each point, so that one point more or less moves no other.
            let mut rng = stream(self.seed, point, u64::from(day));
            let left_out = rng.f64() < habits.left_out;
            let (asset, name) = point.rsplit_once('.').unwrap_or(("", point));
            let weekly = matches!(name, "separator_drop" | "belt_indicator" | "intake_drop");
            let never = habits.never.iter().any(|n| n == name);
            // What was collected must be read, or it would be lost to the next round.
            let skipped = left_out && name != "collected";
            if never || skipped || (weekly && !cabinet) {
                continue;
            }
            let gauge = Gauge::of(asset, name);
            let fault = gauge_error(self.troubles, point, day);
            let value = gauge.read(point, *truth, fault, habits.care, self.seed, &mut rng);
            let decimals = gauge.decimals;
            readings.insert(point.clone(), Reading::Number { value, decimals });
        }
        readings
    }

    /// Misreads a number, by chance or because the habits say so.
    fn get_wrong(&self, day: u32, readings: &mut BTreeMap<String, Reading>) -> Option<String> {
        let mut rng = stream(self.seed, "misread", u64::from(day));
        let by_chance = rng.f64() < self.habits.misread;
        let planned = self
            .habits
            .misreads
            .iter()
            .find(|m| m.day == day)
            .map(|m| m.point.clone());
        let chosen = (by_chance && !readings.is_empty()).then(|| rng.usize(..readings.len()));
        let point = planned.or_else(|| readings.keys().nth(chosen?).cloned())?;
        match readings.get_mut(&point) {
            Some(Reading::Number { value, decimals }) => {
                *value = misread(*value, *decimals, &mut rng);
                Some(point)
            }
            _ => None,
        }
    }

    /// What is told in words.
    fn observe(
        &mut self,
        today: Today<'_>,
        station: &Station<'_>,
        seen: &Seen,
        cabinet: bool,
        readings: &mut BTreeMap<String, Reading>,
    ) {
        let plant = station.plant;
        let mut rng = stream(self.seed, "words", u64::from(today.day));
        let mut say = |asset: &str, name: &str, word: &'static str| {
            if !self.habits.never.iter().any(|n| n == name) {
                readings.insert(format!("{asset}.{name}"), Reading::Word(word));
            }
        };
        let mut added = Vec::new();
        for (i, (machine, state)) in plant.machines.iter().zip(&seen.states).enumerate() {
            let sev: &MachineSeverity = &today.severities.machines[i];
            let eye = 0.03 * self.habits.care * normal(&mut rng);
            say(&machine.id, "state", state.word());
            if let Some(on) = seen.fans[i] {
                say(&machine.id, "fan", if on { "on" } else { "off" });
            }
            if cabinet {
                say(&machine.id, "mat", dirt(sev.mat + eye));
            }
            let carried = machine.truth.oil_l_per_kh / 1000.0;
            let run_h = station.machines[i].run_h - machine.hours_run;
            let gone_l = carried * run_h + self.oil_short_l[i];
            let word = match state {
                State::Stopped => "high",
                _ if gone_l > 1.5 => "low",
                _ => "in band",
            };
            say(&machine.id, "oil_level", word);
            if word == "low" {
                self.oil_short_l[i] -= 1.2;
                added.push(machine.id.as_str());
            }
        }
        for id in added {
            let value = Reading::Number {
                value: 1.2,
                decimals: 1,
            };
            readings.insert(format!("{id}.oil_added"), value);
        }
        let sev = today.severities;
        let mut say = |asset: &str, name: &str, word: &'static str| {
            readings.insert(format!("{asset}.{name}"), Reading::Word(word));
        };
        let receiver = drain_test(sev.receiver_blocked, sev.receiver_passing);
        say(&format!("{}.drain", plant.receiver.id), "test", receiver);
        let dryer = drain_test(sev.dryer_blocked, sev.dryer_passing);
        say(&format!("{}.drain", plant.dryer.id), "test", dryer);
        if cabinet {
            let eye = 0.03 * self.habits.care * normal(&mut rng);
            say(&plant.dryer.id, "condenser", dirt(0.7 * sev.dryer + eye));
        }
    }

    /// Work done since it was last written down.
    fn work_done(&mut self, day: u32) -> Vec<String> {
        let since = self.told_until..=day;
        let mended = self
            .troubles
            .iter()
            .filter(|t| t.mended.is_some_and(|d| since.contains(&d)));
        let mended = mended.filter_map(|t| t.fault.work().map(|work| format!("{}:{work}", t.on)));
        let services = self
            .habits
            .services
            .iter()
            .filter(|s| since.contains(&s.day));
        let done = mended.chain(services.map(|s| s.work.clone())).collect();
        self.told_until = day + 1;
        done
    }
}

/// How dirt looks, by the share of air or capacity that it takes.
fn dirt(share: f64) -> &'static str {
    match share {
        s if s < 0.10 => "clean",
        s if s < 0.25 => "dusty",
        _ => "clogged",
    }
}

/// What the test of a drain shows.
fn drain_test(blocked: f64, passing: f64) -> &'static str {
    match (blocked, passing) {
        (b, _) if b >= 0.9 => "nothing",
        (b, _) if b >= 0.3 => "weak",
        (_, p) if p > 0.01 => "passing",
        _ => "strong",
    }
}
