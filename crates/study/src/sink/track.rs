//! One channel on its way through cleaning and reducing.
//!
//! Most channels have a value in every row; they share times, steps and days. A channel with
//! missing values, or with values that are left out, goes by rows of its own. Both ways make the
//! same figures, to the last bit.
//!
//! Must not know: files.

use std::ops::Range;

use jiff::civil::Date;

use super::held::Stretch;
use super::machine::MachineTrack;
use crate::channel::Channel;
use crate::clean::flat::{self, Found, Rule, Run};
use crate::clean::learn::Learned;
use crate::clean::left_out::{LeftOut, List, Why, stamp};
use crate::reduce::Series;
use crate::reduce::days::{Calendar, Hour};
use crate::reduce::pressure::Pressure;
use crate::reduce::sums::{self, Sums};

/// A channel whose values usually stand still for so many rows that more than this had to wait: the
/// air takes them as they are.
const MOST_HELD: usize = 1 << 18;

/// What the channels of a batch share.
#[derive(Debug, Default)]
pub(crate) struct Shared {
    pub(super) steps: Vec<f64>,
    days: Vec<(Date, Range<usize>)>,
    pub(super) hours: Vec<(Hour, Range<usize>)>,
    /// Whether every row but the first joins on to the one before.
    whole: bool,
    gaps: Vec<(i64, i64)>,
}

impl Shared {
    /// Steps, gaps and days of the rows of a batch; `last` is the time of the row before them.
    pub(crate) fn set(
        &mut self,
        times: &[i64],
        last: Option<i64>,
        gap: i64,
        calendar: &mut Calendar,
        list: &mut List,
    ) {
        self.gaps.clear();
        let first = times.first().copied().unwrap_or(0);
        let mut longest = 0;
        self.steps.clear();
        self.steps
            .push(last.map_or(0, |last| first - last) as f64 * 1e-6);
        self.steps.extend(times.windows(2).map(|pair| {
            let step = pair[1] - pair[0];
            longest = longest.max(step);
            step as f64 * 1e-6
        }));
        self.whole = longest <= gap;
        if !self.whole || last.is_some_and(|last| first - last > gap) {
            let above = last.into_iter().chain(times.iter().copied());
            let skip = usize::from(last.is_none());
            let pairs = above.zip(times.iter().copied().skip(skip));
            for (step, (before, time)) in self.steps.iter_mut().skip(skip).zip(pairs) {
                if time - before > gap {
                    *step = 0.0;
                    self.gaps.push((before, time));
                    list.push(gap_told(None, before, time));
                }
            }
        }
        calendar.days.split(times, &mut self.days);
        calendar.hours.split(times, &mut self.hours);
    }
}

fn gap_told(channel: Option<Channel>, before: i64, time: i64) -> LeftOut {
    LeftOut {
        why: Why::Gap,
        channel,
        from: stamp(before),
        to: stamp(time),
        rows: 0,
        value: None,
    }
}

/// Rows of a channel's own.
#[derive(Debug, Default)]
struct Own {
    times: Vec<i64>,
    values: Vec<f64>,
    steps: Vec<f64>,
}

impl Own {
    fn clear(&mut self) {
        self.times.clear();
        self.values.clear();
        self.steps.clear();
    }

    fn series(&self) -> Series<'_> {
        Series {
            times: &self.times,
            values: &self.values,
            steps: &self.steps,
        }
    }
}

/// One channel.
#[derive(Debug)]
pub(crate) struct Track {
    pub(crate) channel: Channel,
    pub(crate) sums: Sums,
    gap: i64,
    /// Whether its rows are taken to be those of all, as long as none is missing.
    shares: bool,
    rule: Option<Rule>,
    run: Option<Run>,
    mark: Option<sums::Mark>,
    /// The last value's time.
    last: Option<i64>,
    /// Whether the last value was left out, so that the next does not join on to it.
    broken: bool,
    present: Own,
    kept: Own,
    days: Vec<(Date, Range<usize>)>,
    hours: Vec<(Hour, Range<usize>)>,
    /// Of a pressure, how long it stood where, and the same before the last run of equal values.
    pub(crate) pressure: Option<Pressure>,
    pressure_mark: Option<Pressure>,
    found: Found,
    /// Stretches of the last batch, or from before it, that are left out.
    pub(super) stuck: Vec<Stretch>,
}

impl Track {
    pub(crate) fn new(channel: Channel, pressure: Option<Pressure>) -> Self {
        Self {
            channel,
            sums: Sums::default(),
            gap: i64::MAX,
            shares: false,
            rule: None,
            run: None,
            mark: None,
            last: None,
            broken: false,
            present: Own::default(),
            kept: Own::default(),
            days: Vec::new(),
            hours: Vec::new(),
            pressure,
            pressure_mark: None,
            found: Found::default(),
            stuck: Vec::new(),
        }
    }

    /// The longest time between two of its values that is no gap, µs.
    pub(crate) fn gap(&self) -> i64 {
        self.gap
    }

    /// What the start of a file teaches about it; `off` is the value up to which a machine is off.
    pub(crate) fn learned(&mut self, own: Learned, off: Option<f64>) {
        self.rule = (!self.channel.may_stand_still()).then_some(Rule {
            rows: own.flat,
            off: off.unwrap_or(f64::NEG_INFINITY),
        });
    }

    /// The longest times that are no gap, µs: between two of its values, and between two rows.
    pub(crate) fn joins(&mut self, gap: i64, rows: i64) {
        self.gap = gap;
        self.shares = gap == rows;
    }

    /// Takes the rows of a batch; `last` is the time of the row before them.
    #[expect(
        clippy::too_many_arguments,
        reason = "the parts of the sink, which are borrowed apart"
    )]
    pub(crate) fn take(
        &mut self,
        shared: &Shared,
        (times, values): (&[i64], &[f64]),
        missing: bool,
        last: Option<i64>,
        calendar: &mut Calendar,
        mut machine: Option<&mut MachineTrack>,
        list: &mut List,
    ) {
        let all = self.shares && !missing && !self.broken && self.last == last;
        let mut present = std::mem::take(&mut self.present);
        let series = if all {
            Series {
                times,
                values,
                steps: &shared.steps,
            }
        } else {
            self.skip_missing(&mut present, times, values, shared, list);
            present.series()
        };
        self.last = series.times.last().copied().or(self.last);
        self.stuck.clear();
        let mut found = std::mem::take(&mut self.found);
        if let Some(rule) = self.rule {
            flat::find(&mut self.run, series.times, series.values, rule, &mut found);
            for run in &found.ended {
                list.push(self.told(run));
            }
            self.stuck.extend(found.ranges.iter().filter_map(|range| {
                let times = series.times.get(range.clone())?;
                Some((*times.first()?, *times.last()?))
            }));
            if found.take_back
                && let Some(first) = self.stuck.first_mut()
            {
                let run = found.ended.first().or(self.run.as_ref());
                first.0 = run.map_or(first.0, |run| run.from.min(first.0));
            }
            if found.take_back
                && let Some(mark) = &self.mark
            {
                self.sums.back_to(mark);
                self.pressure.clone_from(&self.pressure_mark);
                if let Some(machine) = machine.as_deref_mut() {
                    machine.back();
                }
            }
        }
        if series.rows() > 0 {
            self.broken = found
                .ranges
                .last()
                .is_some_and(|range| range.end == series.rows());
        }
        let mut kept = std::mem::take(&mut self.kept);
        let mut own_days = std::mem::take(&mut self.days);
        let mut own_hours = std::mem::take(&mut self.hours);
        let mut at = found.keep_from;
        let series = if found.ranges.is_empty() {
            series
        } else {
            let before = |at: usize| {
                found
                    .ranges
                    .iter()
                    .map(|r| r.end.min(at) - r.start.min(at))
                    .sum::<usize>()
            };
            at = at.map(|at| at - before(at));
            leave_out(&found.ranges, series, &mut kept);
            kept.series()
        };
        let (parts, hours, whole) = if all && found.ranges.is_empty() {
            (&shared.days, &shared.hours, shared.whole)
        } else {
            calendar.days.split(series.times, &mut own_days);
            calendar.hours.split(series.times, &mut own_hours);
            let whole = series.steps.iter().skip(1).all(|&step| step > 0.0);
            (&own_days, &own_hours, whole)
        };
        let watts = machine
            .as_deref()
            .and_then(|machine| machine.current)
            .map(|current| current.all(series.values));
        let of_power = Series {
            values: watts.as_deref().unwrap_or(series.values),
            ..series
        };
        let cut = at.unwrap_or(series.rows());
        for half in [0..cut, cut..series.rows()] {
            for (date, rows) in parts {
                let rows = within(rows, &half);
                self.sums.add(*date, series.part(rows), whole);
            }
            if let Some(pressure) = &mut self.pressure {
                for (hour, rows) in hours {
                    let rests = calendar.rests(*hour);
                    pressure.add(series.part(within(rows, &half)), rests);
                }
            }
            if let Some(machine) = machine.as_deref_mut() {
                for (hour, rows) in hours {
                    machine
                        .states
                        .add(*hour, of_power.part(within(rows, &half)));
                }
            }
            if half.end == cut && at.is_some() && half.start == 0 && self.rule.is_some() {
                self.mark = Some(self.sums.mark());
                self.pressure_mark.clone_from(&self.pressure);
                if let Some(machine) = machine.as_deref_mut() {
                    machine.keep_mark();
                }
            }
        }
        (self.found, self.kept, self.present) = (found, kept, present);
        (self.days, self.hours) = (own_days, own_hours);
    }

    /// The rows that have a value.
    fn skip_missing(
        &mut self,
        into: &mut Own,
        times: &[i64],
        values: &[f64],
        shared: &Shared,
        list: &mut List,
    ) {
        into.clear();
        let mut last = self.last;
        for (&time, &value) in times.iter().zip(values).filter(|(_, v)| !v.is_nan()) {
            let step = match last {
                Some(before) if time - before > self.gap => {
                    if !shared.gaps.contains(&(before, time)) {
                        list.push(gap_told(Some(self.channel), before, time));
                    }
                    0
                }
                Some(before) => time - before,
                None => 0,
            };
            last = Some(time);
            into.times.push(time);
            into.values.push(value);
            into.steps.push(step as f64 * 1e-6);
        }
        if self.broken
            && let Some(first) = into.steps.first_mut()
        {
            *first = 0.0;
        }
    }

    /// Whether its values from here on count is not known yet, µs: they stand still, and may do so
    /// for too long.
    pub(super) fn sure_until(&self) -> i64 {
        let rule = self.rule.filter(|rule| rule.rows <= MOST_HELD);
        let undecided = self.run.zip(rule).filter(|(run, rule)| {
            let stands = run.value.abs() <= 0.0 || run.value <= rule.off;
            !run.left_out && !stands
        });
        undecided.map_or(i64::MAX, |(run, _)| run.from)
    }

    fn told(&self, run: &Run) -> LeftOut {
        LeftOut {
            why: Why::Stuck,
            channel: Some(self.channel),
            from: stamp(run.from),
            to: stamp(run.to),
            rows: run.rows,
            value: Some(run.value),
        }
    }

    /// The run that the log ends with, if it is left out.
    pub(crate) fn tell_last_run(&self, list: &mut List) {
        if let Some(run) = self.run.as_ref().filter(|run| run.left_out) {
            list.push(self.told(run));
        }
    }
}

/// What two ranges share; empty if nothing.
pub(super) fn within(rows: &Range<usize>, half: &Range<usize>) -> Range<usize> {
    let start = rows.start.max(half.start);
    start..rows.end.min(half.end).max(start)
}

/// The rows outside the ranges; what follows a range does not join on.
fn leave_out(ranges: &[Range<usize>], series: Series<'_>, into: &mut Own) {
    into.clear();
    let mut start = 0;
    for range in ranges
        .iter()
        .cloned()
        .chain(std::iter::once(series.rows()..series.rows()))
    {
        let part = series.part(start..range.start);
        let at = into.steps.len();
        into.times.extend_from_slice(part.times);
        into.values.extend_from_slice(part.values);
        into.steps.extend_from_slice(part.steps);
        if start > 0
            && let Some(first) = into.steps.get_mut(at)
        {
            *first = 0.0;
        }
        start = range.end;
    }
}
