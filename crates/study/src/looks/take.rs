//! Takes the rows of a log and hands its looks out.
//!
//! Must not know: how a moment is weighed.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use station::model::{Asset, Station};
use station::point::{Dimension, On, Point, PointId, Word};
use station::round::{Reading, Round, Value};

use super::cycles::Rest;
use super::day::{Best, View, hours_off};
use super::machines::Machines;
use super::window::Window;
use crate::channel::Channel;
use crate::clean::learn::{self, learn};
use crate::clean::left_out::stamp;
use crate::figures::State;
use crate::pass::LogRows;

/// A minute, µs.
const MINUTE: i64 = 60 * 1_000_000;
/// A longer time between two rows is a gap, whatever the log's interval, µs.
const LONGEST_STEP: i64 = 6 * MINUTE;
/// A gap is longer than so many usual intervals.
const GAP_INTERVALS: i64 = 3;
/// And than this, µs.
const SHORTEST_GAP: i64 = 10 * 1_000_000;
/// So long without a row, the plant may have worked in between, µs.
const ENDS_A_REST: i64 = 60 * MINUTE;
/// Equal values for a shorter time are never suspicious, µs.
const STUCK: i64 = 60 * MINUTE;
/// The usual interval of rows that tell states is the median of so many.
const STEPS: usize = 32;

/// Every channel that a look is made of.
pub(super) fn channels(station: &Station) -> Vec<Channel> {
    let mut list = Vec::new();
    for asset in station.assets() {
        if let Asset::Machine(i) = asset {
            list.extend([Channel::Running(i), Channel::Loaded(i)]);
        }
        let points = Point::ALL
            .iter()
            .copied()
            .filter(|&p| Some(p.on()) == asset.on());
        list.extend(
            points
                .filter(|&p| is_read(p))
                .map(|point| Channel::Point(PointId { asset, point })),
        );
    }
    list
}

/// Whether a point says something at one moment; counters, litres and watches do not.
fn is_read(point: Point) -> bool {
    let numbers = !matches!(point.dimension(), Dimension::Words(_));
    let on_the_line = matches!(point.on(), On::Vessel | On::Dryer | On::Filter | On::Header);
    numbers
        && !point.is_counter()
        && (on_the_line
            || matches!(
                point,
                Point::SiteAmbient
                    | Point::SiteHumidity
                    | Point::SiteBarometer
                    | Point::RoomTemperature
                    | Point::OilTemperature
                    | Point::OutletTemperature
                    | Point::MachinePressure
                    | Point::SeparatorDrop
                    | Point::IntakeDrop
                    | Point::MachinePower
                    | Point::MachineCurrent
                    | Point::MachineSpeed
            ))
}

/// Whether a value can be read at all.
pub(super) fn plausible(reading: &Reading) -> bool {
    match reading.value {
        Value::Number(value) => {
            let (low, high) = reading.id.point.plausible();
            low <= value && value <= high
        }
        Value::Word(_) => true,
    }
}

/// The word for a state.
pub(super) fn word(state: State) -> Word {
    match state {
        State::Stopped => Word::Stopped,
        State::Loaded => Word::Loaded,
        _ => Word::Unloaded,
    }
}

/// The whole minute, µs.
pub(super) fn minute(time: i64) -> i64 {
    time - time.rem_euclid(MINUTE)
}

/// A look without what the log knows beside.
pub(super) fn look(time: Timestamp, readings: Vec<Reading>) -> Round {
    Round {
        line: 0,
        time,
        who: Some("log".to_owned()),
        note: None,
        done: Vec::new(),
        readings,
        counter_steps: Vec::new(),
        logged: None,
    }
}

/// How long a channel has shown one value.
#[derive(Debug, Clone, Copy)]
struct Still {
    /// So many equal values are suspicious; `None` where a value may stand still.
    most: Option<usize>,
    /// Values up to here may stand still.
    off: f64,
    value: f64,
    since: i64,
    rows: usize,
}

impl Still {
    /// Whether this value is one of a sensor that stuck.
    fn is_stuck(&mut self, time: i64, value: f64) -> bool {
        let Some(most) = self.most else { return false };
        if value.to_bits() != self.value.to_bits() {
            (self.value, self.since, self.rows) = (value, time, 0);
        }
        self.rows += 1;
        self.rows >= most && time - self.since >= STUCK && value.abs() > 0.0 && value > self.off
    }
}

/// Local time, looked up once a day.
#[derive(Debug)]
struct Clock {
    zone: TimeZone,
    date: Date,
    /// Until when the date and the offset hold, µs.
    until: i64,
    /// Local time less UTC, µs.
    offset: i64,
}

impl Clock {
    /// The local date, and the minute of the week from Monday 00:00.
    fn at(&mut self, time: i64) -> (Date, u32) {
        if time >= self.until {
            let stamp = stamp(time);
            let local = self.zone.to_datetime(stamp);
            self.offset = i64::from(self.zone.to_offset(stamp).seconds()) * 1_000_000;
            self.date = local.date();
            let passed = (time + self.offset).rem_euclid(86_400_000_000);
            let change = self.zone.following(stamp).next();
            let change = change.map_or(i64::MAX, |c| c.timestamp().as_microsecond());
            self.until = (time - passed + 86_400_000_000).min(change);
        }
        let of_day = (time + self.offset).rem_euclid(86_400_000_000) / MINUTE;
        let weekday = i64::from(self.date.weekday().to_monday_zero_offset());
        (
            self.date,
            u32::try_from(weekday * 1440 + of_day).unwrap_or(0),
        )
    }
}

/// Rows that are held until they have taught what is usual.
#[derive(Debug, Default)]
struct Held {
    times: Vec<i64>,
    /// A column without any value so far is empty.
    columns: Vec<Vec<f64>>,
}

impl Held {
    fn add(&mut self, times: &[i64], columns: &[&[f64]]) {
        self.columns.resize(columns.len(), Vec::new());
        for (to, from) in self.columns.iter_mut().zip(columns) {
            let from = from.get(..times.len()).unwrap_or_default();
            if to.is_empty() && from.iter().all(|v| v.is_nan()) {
                continue;
            }
            to.resize(self.times.len(), f64::NAN);
            to.extend_from_slice(from);
        }
        self.times.extend_from_slice(times);
    }
}

/// What follows once that is known.
#[derive(Debug)]
struct Going {
    machines: Machines,
    stills: Vec<Still>,
    window: Window,
    best: Best,
    rest: Rest,
    clock: Clock,
    last: Option<i64>,
    /// The last row that told the state of a machine.
    told_at: Option<i64>,
    date: Option<Date>,
    works: Option<bool>,
    steps: [i64; STEPS],
    step_at: usize,
    interval: i64,
    /// Of the row at hand: each channel's value, then for how long each machine has been in its state, s.
    values: Vec<f64>,
    /// Hours known, run and on load of each machine that were told already.
    told: Vec<(f64, f64, f64)>,
}

/// Takes the rows of a log.
#[derive(Debug)]
pub(super) struct Taker<'a> {
    station: &'a Station,
    channels: &'a [Channel],
    held: Held,
    going: Option<Going>,
    rounds: Vec<Round>,
}

impl LogRows for Taker<'_> {
    fn rows(&mut self, times: &[i64], columns: &[&[f64]]) {
        if let Some(going) = &mut self.going {
            going.rows(
                self.station,
                self.channels,
                times,
                columns,
                &mut self.rounds,
            );
            return;
        }
        self.held.add(times, columns);
        if self.held.times.len() >= learn::ROWS {
            self.begin();
        }
    }
}

impl<'a> Taker<'a> {
    pub(super) fn new(station: &'a Station, channels: &'a [Channel]) -> Self {
        Self {
            station,
            channels,
            held: Held::default(),
            going: None,
            rounds: Vec::new(),
        }
    }

    /// Whether there was any row.
    pub(super) fn any(&self) -> bool {
        self.going.is_some() || !self.held.times.is_empty()
    }

    /// The rows that were held have taught enough.
    fn begin(&mut self) {
        let held = std::mem::take(&mut self.held);
        let start = held.times.len().min(learn::ROWS);
        let times = held.times.get(..start).unwrap_or_default();
        let columns: Vec<&[f64]> = held.columns.iter().map(Vec::as_slice).collect();
        let first: Vec<&[f64]> = columns
            .iter()
            .map(|c| c.get(..start).unwrap_or_default())
            .collect();
        let mut going = Going::new(self.station, self.channels, times, &first);
        going.rows(
            self.station,
            self.channels,
            &held.times,
            &columns,
            &mut self.rounds,
        );
        self.going = Some(going);
    }

    /// The looks, in the order of time.
    pub(super) fn end(mut self) -> Vec<Round> {
        if self.going.is_none() && !self.held.times.is_empty() {
            self.begin();
        }
        if let Some(mut going) = self.going.take() {
            going.end_rest(self.station, self.channels, &mut self.rounds);
            going.end_day(&mut self.rounds);
        }
        self.rounds.sort_by_key(|round| round.time);
        self.rounds
    }
}

impl Going {
    fn new(station: &Station, channels: &[Channel], times: &[i64], start: &[&[f64]]) -> Self {
        let machines = Machines::new(station, channels, start);
        let off = |channel: Channel| {
            let of = |i: &usize| Channel::power_of(*i) == channel;
            let machine = (0..station.machines.len()).find(of);
            machine
                .and_then(|i| machines.list.get(i))
                .map(super::motion::Motion::off_w)
        };
        let stills = channels
            .iter()
            .zip(start)
            .map(|(&channel, column)| Still {
                most: (!channel.may_stand_still()).then(|| learn(times, Some(column)).flat),
                off: off(channel).unwrap_or(f64::NEG_INFINITY),
                value: f64::NAN,
                since: i64::MIN / 2,
                rows: 0,
            })
            .collect();
        let interval = learn(times, None).interval.unwrap_or(MINUTE);
        Self {
            machines,
            stills,
            window: Window::new(channels.len() + station.machines.len()),
            best: Best::default(),
            rest: Rest::default(),
            clock: Clock {
                zone: station.site.time_zone.clone(),
                date: Date::ZERO,
                until: i64::MIN,
                offset: 0,
            },
            last: None,
            told_at: None,
            date: None,
            works: None,
            steps: [interval; STEPS],
            step_at: 0,
            interval,
            values: vec![f64::NAN; channels.len() + station.machines.len()],
            told: vec![(0.0, 0.0, 0.0); station.machines.len()],
        }
    }

    fn rows(
        &mut self,
        station: &Station,
        channels: &[Channel],
        times: &[i64],
        columns: &[&[f64]],
        rounds: &mut Vec<Round>,
    ) {
        for (row, &time) in times.iter().enumerate() {
            for ((value, column), still) in
                self.values.iter_mut().zip(columns).zip(&mut self.stills)
            {
                *value = column.get(row).copied().unwrap_or(f64::NAN);
                if !value.is_nan() && still.is_stuck(time, *value) {
                    *value = f64::NAN;
                }
            }
            self.row(station, channels, time, rounds);
        }
    }

    fn row(&mut self, station: &Station, channels: &[Channel], time: i64, rounds: &mut Vec<Round>) {
        let step = self.last.map_or(0, |last| time - last);
        let gap = (GAP_INTERVALS * self.interval).clamp(SHORTEST_GAP, LONGEST_STEP);
        let joins = self.last.is_some() && step <= gap;
        if !joins {
            if step >= ENDS_A_REST {
                self.end_rest(station, channels, rounds);
            }
            self.machines.forget();
            self.window.forget();
            self.rest.forget();
        }
        let ticks = self.last.is_none_or(|last| minute(last) != minute(time));
        if ticks {
            self.tick(station, channels, time, rounds);
        }
        let step_s = if joins { step as f64 * 1e-6 } else { 0.0 };
        let tells = self.machines.row(time, step_s, &self.values);
        let (code, settled_s) = (self.machines.code(), self.machines.settled_s(time));
        let ages = self.values.iter_mut().skip(channels.len());
        for (age, machine) in ages.zip(&self.machines.list) {
            let since = machine.state.map(|_| machine.since);
            *age = since.map_or(f64::NAN, |since| (time - since) as f64 * 1e-6);
        }
        self.window.row(time, code, settled_s, &self.values);
        if self.works == Some(false) {
            self.rest.row(time, &self.machines, &self.values);
        }
        if tells {
            if let Some(told) = self.told_at {
                self.steps[self.step_at % STEPS] = time - told;
                self.step_at += 1;
            }
            self.told_at = Some(time);
        }
        self.last = Some(time);
    }

    /// A minute begins.
    fn tick(
        &mut self,
        station: &Station,
        channels: &[Channel],
        time: i64,
        rounds: &mut Vec<Round>,
    ) {
        let mut steps = self.steps;
        steps.sort_unstable();
        self.interval = steps[STEPS / 2];
        // What the minutes before saw, as long as it is still that day.
        let (date, minute_of_week) = self.clock.at(time);
        let passed = self
            .last
            .map_or(1, |last| (minute(time) - minute(last)) / MINUTE);
        for _ in 0..passed.clamp(1, LONGEST_STEP / MINUTE) {
            self.machines.tick();
        }
        if self.date == Some(date)
            && self.works != Some(false)
            && self
                .last
                .is_some_and(|last| self.window.is_full(last, self.interval))
        {
            self.best.look(&View {
                station,
                channels,
                machines: &self.machines,
                window: &self.window,
                hours_off: hours_off(minute_of_week),
            });
        }
        if self.date.is_some_and(|before| before != date) {
            self.end_day(rounds);
            self.machines
                .list
                .iter_mut()
                .for_each(super::motion::Motion::new_day);
        }
        self.date = Some(date);
        let works = station
            .site
            .hours
            .as_ref()
            .map(|h| h.works_at(minute_of_week));
        if works != self.works || self.rest.is_long() {
            self.end_rest(station, channels, rounds);
        }
        self.works = works;
    }

    fn end_rest(&mut self, station: &Station, channels: &[Channel], rounds: &mut Vec<Round>) {
        let interval_s = self.interval as f64 * 1e-6;
        rounds.extend(self.rest.end(station, channels, interval_s));
    }

    /// The day is over: its looks, the first of which tells the hours since the look before.
    fn end_day(&mut self, rounds: &mut Vec<Round>) {
        let mut looks = self.best.end();
        if let Some(logged) = looks.first_mut().and_then(|round| round.logged.as_mut()) {
            let machines = self.machines.list.iter().zip(&mut self.told);
            for ((machine, told), run) in machines.zip(&mut logged.machines) {
                let now = (machine.known_s, machine.run_s, machine.loaded_s);
                if let Some(run) = run {
                    run.days = (now.0 - told.0) / 86_400.0;
                    run.run = (now.1 - told.1) / 3600.0;
                    run.loaded = (now.2 - told.2) / 3600.0;
                    *told = now;
                }
            }
        }
        rounds.append(&mut looks);
    }
}
