//! What every kind of finding looks at: the newest reading of each point beside its expectation,
//! the words observed, the work done, the year.
//!
//! A reading holds until it is read again, until work resets it, or until it is stale. Each is
//! judged at the conditions of its own round. Must not know: any kind of finding.

use std::collections::BTreeMap;

use jiff::Timestamp;
use physics::quantity::{Temperature, TemperatureDifference};
use physics::working::Step;
use station::forward::{
    Conditions, Health, Intake, MachineHealth, MachineState, State, machine_state, room_temperature,
};
use station::model::{Asset, Fan, MachineKind, Station};
use station::point::{Point, PointId, Word};
use station::round::{Round, Value, Work};

use crate::band::{Band, bands, mids};
use crate::cost::Year;
use crate::day::{Day, Moment, reading_sigma};
use crate::finding::{Evidence, Finding, NotJudged};
use crate::history::CoolingNow;
use crate::line::before;
use crate::memory::{Memory, STALE_DAYS, at_rest, days_between};
use crate::say::Units;
use crate::tables::Tables;
use crate::working::refused;
use crate::{Level, Options};

/// Two readings further apart than this do not confirm each other.
const CONFIRM_DAYS: f64 = 14.0;
/// Of so many readings one that stands so many times over the next largest is misread, not the largest (common
/// practice, no source).
const ENOUGH_BESIDE: usize = 4;
const STANDS_ALONE: f64 = 1.6;
/// How far back the beginning of a trouble is sought.
const MOST_LOOKS_BACK: usize = 60;
/// A smaller rise of the room says nothing about its ventilation, K.
const LEAST_RISE_K: f64 = 0.5;
/// Beyond this many σ a reading that its neighbours do not confirm is asked about as a reading.
pub(crate) const LONE: f64 = 3.0;

/// The newest reading of one point beside its expectation. SI.
#[derive(Debug, Clone)]
pub(crate) struct Residual {
    pub(crate) id: PointId,
    pub(crate) time: Timestamp,
    pub(crate) read: f64,
    pub(crate) band: Band,
    /// (read − mid)/σ.
    pub(crate) z: f64,
    /// The same of up to two readings before it.
    pub(crate) before: Vec<f64>,
    /// The first of the unbroken run of readings beyond the band on the same side.
    pub(crate) since: Timestamp,
    /// Which of [`Context::looks`] it belongs to.
    pub(crate) look: usize,
}

impl Residual {
    /// Beyond the band upwards, and not one misreading alone.
    pub(crate) fn high(&self) -> bool {
        self.z > 1.96 && median(self.z, &self.before) > 1.96
    }
    /// Beyond the band downwards, and not one misreading alone.
    pub(crate) fn low(&self) -> bool {
        self.z < -1.96 && median(self.z, &self.before) < -1.96
    }
    /// Far beyond the band while the readings before it were inside.
    pub(crate) fn lone(&self) -> bool {
        self.z.abs() > LONE && self.before.len() == 2 && self.before.iter().all(|z| z.abs() < 1.96)
    }
    pub(crate) fn evidence(&self) -> Evidence {
        Evidence {
            id: self.id,
            read: self.read,
            mid: Some(self.band.mid),
            deviations: Some(self.z),
        }
    }
}

/// The median of up to three; of two, the one nearer to zero.
pub(crate) fn median(z: f64, before: &[f64]) -> f64 {
    match before {
        [] => z,
        [one] => {
            if one.abs() < z.abs() {
                *one
            } else {
                z
            }
        }
        [one, two, ..] => {
            let mut three = [z, *one, *two];
            three.sort_by(f64::total_cmp);
            three[1]
        }
    }
}

/// One round that still has something to say.
#[derive(Debug)]
pub(crate) struct Look {
    pub(crate) day: Day,
    /// The state with health as new; `None` where the model refuses.
    pub(crate) state: Option<State>,
}

/// A word that still stands.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Seen {
    pub(crate) word: Word,
    pub(crate) time: Timestamp,
    pub(crate) since: Timestamp,
}

/// What findings look at.
pub(crate) struct Context<'a> {
    pub(crate) station: &'a Station,
    pub(crate) memory: &'a Memory,
    pub(crate) units: Units,
    /// What causes are weighed by.
    pub(crate) tables: Tables,
    /// When the judgement is made.
    pub(crate) now: Timestamp,
    /// Rounds with standing readings, newest first; the first is the last round, cycles that a log
    /// timed at rest left aside.
    pub(crate) looks: Vec<Look>,
    pub(crate) residuals: BTreeMap<PointId, Residual>,
    /// Standing numbers, judged by the model or not.
    pub(crate) numbers: BTreeMap<PointId, (f64, Timestamp)>,
    pub(crate) words: BTreeMap<PointId, Seen>,
    pub(crate) year: Year,
    pub(crate) findings: Vec<Finding>,
    pub(crate) not_judged: Vec<NotJudged>,
    /// What the history knows of each machine's cooling.
    pub(crate) cooling: Vec<CoolingNow>,
    /// Findings that many rounds have told of.
    pub(crate) told: Vec<String>,
    /// What each reading stands at by itself.
    pub(crate) levels: Vec<Level>,
    /// Parts that were changed though nobody wrote it down, with the first reading of the new one.
    pub(crate) unwritten: Vec<(PointId, Timestamp)>,
    /// Each machine's own oil cooler over its plate's, as far as that was learned.
    pub(crate) own_coolers: Vec<f64>,
}

/// Whether a piece of work makes earlier readings of a point say nothing any more.
pub(crate) fn resets(work: &Work, asset: Asset, id: PointId) -> bool {
    if asset != id.asset {
        return false;
    }
    use Point as P;
    let points: &[Point] = match work {
        Work::CleanMat | Work::ChangeMat => &[
            P::OilTemperature,
            P::OutletTemperature,
            P::Mat,
            P::CabinetMat,
        ],
        Work::CleanCooler => &[P::OilTemperature, P::OutletTemperature, P::Cooler],
        Work::FlushOilSide | Work::ChangeThermostat => &[P::OilTemperature],
        Work::TightenBelt | Work::ChangeBelt => &[
            P::BeltIndicator,
            P::Belt,
            P::BeltDeflection,
            P::BeltForce,
            P::BeltFrequency,
            P::MotorSpeed,
            P::AirEndSpeed,
        ],
        Work::ChangeSeparator => &[P::SeparatorDrop],
        Work::ChangeOil => &[P::OilLook, P::OilLevel],
        Work::ChangeIntakeFilter => &[P::IntakeDrop],
        Work::ChangeElement => &[P::FilterDrop],
        Work::MendDrain => &[P::DrainTest, P::Collected, P::CondensateLook],
        Work::MendDryer => &[P::DryerDewPoint, P::Condenser],
        Work::ChangeGauge => return true,
        Work::ChangeOilFilter | Work::MendLeaks | Work::ReplaceCounter(_) | Work::Other(_) => &[],
    };
    points.contains(&id.point)
}

/// Points that the model gives a value for.
pub(crate) fn modelled(point: Point) -> bool {
    use Point as P;
    matches!(
        point,
        P::OilTemperature
            | P::OutletTemperature
            | P::MachinePower
            | P::MachineCurrent
            | P::SeparatorDrop
            | P::IntakeDrop
            | P::VesselPressure
            | P::HeaderPressure
            | P::FilterDrop
            | P::DryerDrop
            | P::DryerDewPoint
            | P::DryerInlet
            | P::RoomTemperature
    )
}

/// A drop before any vessel follows the machines themselves: without load nothing flows there.
fn unfit_drop(station: &Station, day: &Day, asset: Asset) -> Option<String> {
    let upstream = before(&station.air_path, asset);
    if upstream.iter().any(|a| matches!(a, Asset::Vessel(_))) {
        return None;
    }
    let moments: Vec<Moment> = upstream
        .iter()
        .filter_map(|a| match a {
            Asset::Machine(i) => day.moments.get(*i).copied(),
            _ => None,
        })
        .collect();
    if moments.is_empty() || moments.contains(&Moment::Loaded) {
        None
    } else if moments.contains(&Moment::Unknown) {
        Some("`state` of the machine before it was not read, and power does not tell it".to_owned())
    } else {
        Some("no machine before it was on load, so no air went through it".to_owned())
    }
}

/// Why a reading of this round cannot be judged, if so.
pub(crate) fn unfit(station: &Station, day: &Day, id: PointId) -> Option<String> {
    if matches!(id.point, Point::FilterDrop | Point::DryerDrop) {
        return unfit_drop(station, day, id.asset);
    }
    let Asset::Machine(i) = id.asset else {
        return None;
    };
    let moment = day.moments[i];
    let only_loaded = matches!(
        id.point,
        Point::OilTemperature | Point::OutletTemperature | Point::SeparatorDrop | Point::IntakeDrop
    );
    if only_loaded && moment != Moment::Loaded {
        return Some(match moment {
            Moment::Unknown => "`state` was not read, and power does not tell it".to_owned(),
            _ => "it is judged only on load; read it after some minutes on load".to_owned(),
        });
    }
    if matches!(id.point, Point::OilTemperature | Point::OutletTemperature) {
        if day.warming_up[i] {
            return Some("it has only just started after a rest; nothing is warm yet".into());
        }
        if id.point == Point::OilTemperature && station.machines[i].kind == MachineKind::Other {
            return Some("a machine of kind `other` has no thermal model".into());
        }
        let switches = station.machines[i].cooling.fan.switches();
        let on = day.conditions.machines[i].fan_on == Some(true);
        if id.point == Point::OutletTemperature && switches && !on {
            return Some(
                "its fan switches, and the outlet follows it within a minute; read it with `fan` while that is on"
                    .into(),
            );
        }
    }
    if matches!(id.point, Point::MachinePower | Point::MachineCurrent) {
        if matches!(moment, Moment::Stopped | Moment::Unknown) {
            return Some("`state` was not read as loaded or unloaded".into());
        }
        let motor = &station.machines[i].motor;
        if id.point == Point::MachineCurrent
            && (motor.voltage_v.is_none() || motor.current_a.is_none())
        {
            return Some("`motor.voltage` and `motor.current` are not in the station file".into());
        }
    }
    None
}

impl<'a> Context<'a> {
    /// Looks at every standing reading.
    pub(crate) fn new(station: &'a Station, memory: &'a Memory, options: &Options) -> Option<Self> {
        let latest = memory.latest()?;
        let now = options.as_of.unwrap_or(latest.time);
        let mut context = Self {
            station,
            memory,
            units: options.units,
            tables: options.tables,
            now,
            looks: Vec::new(),
            residuals: BTreeMap::new(),
            numbers: BTreeMap::new(),
            words: BTreeMap::new(),
            year: Year::default(),
            findings: Vec::new(),
            not_judged: Vec::new(),
            cooling: Vec::new(),
            told: Vec::new(),
            levels: Vec::new(),
            unwritten: Vec::new(),
            own_coolers: Vec::new(),
        };
        let mut standing = context.standing();
        if let Some(walk) = standing.iter().position(|(round, _)| !at_rest(round)) {
            standing[..=walk].rotate_right(1);
        }
        for (place, (round, ids)) in standing.iter().enumerate() {
            context.look(round, place == 0, ids);
        }
        if let Some(look) = context.looks.first() {
            context.year = Year::of(station, memory, &look.day);
        }
        Some(context)
    }

    /// The rounds with standing readings, newest first, and the points that each has to tell.
    fn standing(&mut self) -> Vec<(&'a Round, Vec<PointId>)> {
        let memory = self.memory;
        let mut done: Vec<(&Work, Asset)> = Vec::new();
        let mut known: Vec<PointId> = Vec::new();
        let mut list = Vec::new();
        for round in memory.recent.iter().rev() {
            if days_between(round.time, self.now) > STALE_DAYS {
                break;
            }
            let mut ids = Vec::new();
            for reading in &round.readings {
                let id = reading.id;
                if known.contains(&id) || done.iter().any(|(work, on)| resets(work, *on, id)) {
                    continue;
                }
                known.push(id);
                match reading.value {
                    Value::Number(n) => {
                        self.numbers.insert(id, (n, round.time));
                        if modelled(id.point) {
                            ids.push(id);
                        }
                    }
                    Value::Word(word) => {
                        let seen = Seen {
                            word,
                            time: round.time,
                            since: round.time,
                        };
                        self.words.insert(
                            id,
                            Seen {
                                since: self.word_since(id, seen),
                                ..seen
                            },
                        );
                    }
                }
            }
            if !ids.is_empty() || list.is_empty() {
                list.push((round, ids));
            }
            done.extend(round.done.iter().map(|w| (&w.work, w.on)));
        }
        list
    }

    /// The first of the unbroken run of rounds that saw the same word.
    fn word_since(&self, id: PointId, seen: Seen) -> Timestamp {
        let mut since = seen.time;
        for round in self
            .memory
            .recent
            .iter()
            .rev()
            .filter(|r| r.time <= seen.time)
        {
            match round.word(id.asset, id.point) {
                Some(word) if word == seen.word => since = round.time,
                Some(_) => break,
                None => {}
            }
        }
        since
    }

    fn look(&mut self, round: &'a Round, newest: bool, ids: &[PointId]) {
        let day = match Day::of(self.station, self.memory, round) {
            Ok(day) => day,
            Err(refusal) => {
                let what = "everything that the weather sets";
                self.skip_by(what, &refusal.to_string(), refused(&refusal));
                return;
            }
        };
        let mut fit = Vec::new();
        for &id in ids {
            match unfit(self.station, &day, id) {
                None => fit.push(id),
                Some(why) if newest => self.skip(&self.point_name(id), &why),
                Some(_) => {}
            }
        }
        let health = Health::new(self.station);
        let (state, found) = match bands(self.station, &health, &day, &fit) {
            Ok((state, found)) => (Some(state), found),
            Err(beyond) => {
                let why = beyond.sentence(self.station);
                self.skip_by("the round as a whole", &why, refused(&beyond.why));
                (None, Vec::new())
            }
        };
        let look = self.looks.len();
        for (id, band) in fit.into_iter().zip(found) {
            let (Some(band), Some(read)) = (band, round.number(id.asset, id.point)) else {
                continue;
            };
            let z = (read - band.mid) / band.sigma;
            let (before, since) = self.earlier(id, round, &band, z, &health);
            let residual = Residual {
                id,
                time: round.time,
                read,
                band,
                z,
                before,
                since,
                look,
            };
            self.residuals.insert(id, residual);
        }
        self.looks.push(Look { day, state });
    }

    /// What earlier readings of the point say: two before it, and since when it has been beyond.
    fn earlier(
        &self,
        id: PointId,
        round: &Round,
        band: &Band,
        z: f64,
        health: &Health,
    ) -> (Vec<f64>, Timestamp) {
        let (mut before, mut since) = (Vec::new(), round.time);
        let mut unbroken = z.abs() > 1.96;
        if !unbroken {
            return (before, since);
        }
        let mut last = round.time;
        let mut looked = 0;
        let reset = |r: &Round| r.done.iter().any(|w| resets(&w.work, w.on, id));
        if reset(round) {
            return (before, since);
        }
        let older = self
            .memory
            .recent
            .iter()
            .rev()
            .filter(|r| r.time < round.time);
        for earlier in older {
            if let Some(read) = earlier.number(id.asset, id.point) {
                looked += 1;
                let far = days_between(earlier.time, last) > CONFIRM_DAYS.max(10.0);
                if looked > MOST_LOOKS_BACK || (!unbroken && before.len() >= 2) || far {
                    break;
                }
                let Ok(day) = Day::of(self.station, self.memory, earlier) else {
                    break;
                };
                if unfit(self.station, &day, id).is_none() {
                    let Some(Some(mid)) = mids(self.station, health, &day, &[id])
                        .ok()
                        .and_then(|m| m.first().copied())
                    else {
                        break;
                    };
                    let earlier_z = (read - mid) / band.sigma;
                    if before.len() < 2 && days_between(earlier.time, round.time) <= CONFIRM_DAYS {
                        before.push(earlier_z);
                    }
                    if unbroken && earlier_z * z.signum() > 1.96 {
                        since = earlier.time;
                    } else if unbroken && earlier_z * z.signum() < 1.3 {
                        unbroken = false;
                    }
                    last = earlier.time;
                }
            }
            if reset(earlier) {
                break;
            }
        }
        (before, since)
    }

    /// The largest reading of a point within some days, if it is another than the newest: judged at
    /// the conditions of its own round. One that stands far above all others is taken for misread.
    pub(crate) fn largest_of(&self, newest: &Residual, days: f64) -> Option<Residual> {
        let id = newest.id;
        let mut read: Vec<(&Round, f64)> = Vec::new();
        for round in self.memory.back(newest.time, f64::INFINITY) {
            let another = |(point, new): &(PointId, Timestamp)| *point == id && round.time < *new;
            if days_between(round.time, self.now) > days || self.unwritten.iter().any(another) {
                break;
            }
            read.extend(round.number(id.asset, id.point).map(|x| (round, x)));
            if round.done.iter().any(|w| resets(&w.work, w.on, id)) {
                break;
            }
        }
        read.sort_by(|a, b| b.1.total_cmp(&a.1));
        let alone = read.len() >= ENOUGH_BESIDE && read[0].1 > STANDS_ALONE * read[1].1;
        let (round, read) = *read.get(usize::from(alone))?;
        if round.time == newest.time {
            return None;
        }
        let day = Day::of(self.station, self.memory, round).ok()?;
        let health = Health::new(self.station);
        let (_, bands) = bands(self.station, &health, &day, &[id]).ok()?;
        let band = bands.into_iter().next()??;
        let z = (read - band.mid) / band.sigma;
        Some(Residual {
            time: round.time,
            read,
            z,
            band,
            since: round.time,
            ..newest.clone()
        })
    }

    /// Notes something that could not be judged, once.
    pub(crate) fn skip(&mut self, what: &str, why: &str) {
        self.skip_by(what, why, Vec::new());
    }

    /// The same with the working of the numbers in its reason.
    pub(crate) fn skip_by(&mut self, what: &str, why: &str, working: Vec<Step>) {
        let said = |n: &NotJudged| n.what == what && n.why == why;
        if !self.not_judged.iter().any(said) {
            self.not_judged.push(NotJudged {
                what: what.to_owned(),
                why: why.to_owned(),
                working,
            });
        }
    }

    /// `K1.oil_temperature`.
    pub(crate) fn point_name(&self, id: PointId) -> String {
        format!("{}.{}", self.station.id(id.asset), id.point.name())
    }

    pub(crate) fn residual(&self, asset: Asset, point: Point) -> Option<&Residual> {
        self.residuals.get(&PointId { asset, point })
    }

    pub(crate) fn number(&self, asset: Asset, point: Point) -> Option<f64> {
        self.numbers.get(&PointId { asset, point }).map(|(n, _)| *n)
    }

    pub(crate) fn number_at(&self, asset: Asset, point: Point) -> Option<(f64, Timestamp)> {
        self.numbers.get(&PointId { asset, point }).copied()
    }

    pub(crate) fn word(&self, asset: Asset, point: Point) -> Option<Seen> {
        self.words.get(&PointId { asset, point }).copied()
    }

    /// The look that a residual belongs to.
    pub(crate) fn look_of(&self, residual: &Residual) -> &Look {
        &self.looks[residual.look]
    }

    /// One standard deviation of a reading.
    pub(crate) fn sigma(&self, asset: Asset, point: Point, value: f64) -> f64 {
        reading_sigma(self.station, PointId { asset, point }, value)
    }

    /// The state of one machine under some conditions with some health.
    pub(crate) fn machine(
        &self,
        i: usize,
        health: &MachineHealth,
        conditions: &Conditions,
    ) -> Option<MachineState> {
        let mut whole = Health::new(self.station);
        whole.machines[i] = *health;
        let intake = Intake::of(conditions).ok()?;
        let room = room_temperature(self.station, &whole, conditions).ok()?;
        machine_state(self.station, i, health, conditions, &intake, room).ok()
    }

    /// Whether some machine has a fan of which nobody knows how long it ran between two rounds: one that
    /// switches, or of which nothing is told. It says what water falls out.
    pub(crate) fn a_fan_is_guessed(&self) -> bool {
        let guessed = |fan: Fan| fan.switches() || fan == Fan::Unknown;
        self.station.machines.iter().any(|m| guessed(m.cooling.fan))
    }

    /// Conditions on a hot day: that temperature, the month's vapour, the room's rise as the model
    /// gives it then, everything else as it was. Where the room was read in the look, the model's
    /// rise is scaled by what was read over what the model gave, between half and twice.
    pub(crate) fn hot_day(&self, look: &Look, ambient: Temperature, month: usize) -> Conditions {
        let now = &look.day.conditions;
        let humidity = self
            .station
            .site
            .climate
            .as_ref()
            .and_then(|climate| climate.humidity_at(month, ambient).ok())
            .unwrap_or(now.humidity);
        let mut hot = Conditions {
            ambient,
            humidity,
            atmosphere: self.station.standard_atmosphere(),
            room: None,
            demand: None,
            machines: now.machines.clone(),
        };
        let read = now.room.filter(|_| look.day.weather_read);
        let scale = read.and_then(|room| {
            let model = self.room_rise(now)?;
            (model > LEAST_RISE_K).then(|| ((room - now.ambient).si() / model).clamp(0.5, 2.0))
        });
        hot.room = scale
            .zip(self.room_rise(&hot))
            .map(|(scale, rise)| ambient + TemperatureDifference::new(scale * rise));
        hot
    }

    /// How far the model puts the room over outdoors, whatever was read, K.
    fn room_rise(&self, conditions: &Conditions) -> Option<f64> {
        let unread = Conditions {
            room: None,
            ..conditions.clone()
        };
        let room = room_temperature(self.station, &Health::new(self.station), &unread).ok()?;
        Some((room - unread.ambient).si())
    }

    /// Whether something was read in the newest round.
    pub(crate) fn is_newest(&self, time: Timestamp) -> bool {
        self.looks.first().is_some_and(|look| look.day.time == time)
    }

    /// A machine's own oil cooler over its plate's; 1 where nothing was learned.
    pub(crate) fn own_cooler(&self, i: usize) -> f64 {
        self.own_coolers.get(i).copied().unwrap_or(1.0)
    }

    /// The machines that are modelled whole.
    pub(crate) fn screws(&self) -> impl Iterator<Item = usize> + use<'_, 'a> {
        let machines = &self.station.machines;
        (0..machines.len()).filter(|&i| machines[i].kind == MachineKind::Screw)
    }

    /// "92 °C, where 84 ± 4 is expected".
    pub(crate) fn beside(&self, r: &Residual) -> String {
        self.units
            .beside(r.id.point, r.read, r.band.mid, 1.96 * r.band.sigma)
    }
}
