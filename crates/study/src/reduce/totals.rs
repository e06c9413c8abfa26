//! From the hours of a machine to its days and to the whole.
//!
//! Must not know: rows.

use jiff::civil::Date;
use station::model::WorkingHours;

use crate::figures::{Band95, MachineDay, MachineHour, MachineTotals, Period, STATES, plain};

/// Hours of a week.
const WEEK: usize = 168;
/// So many loads or starts in an hour are counted one by one.
const MOST: usize = 120;

/// What figures of a machine need beside its hours.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Beside<'a> {
    pub(crate) shifts: Option<&'a WorkingHours>,
    /// For each kWh.
    pub(crate) price: Option<f64>,
    pub(crate) carbon: Option<f64>,
    /// Standard deviation of the delivery, as a share.
    pub(crate) air_sigma: f64,
    /// m³ that its separator loses when it is blown down whole, and how long that takes, s.
    pub(crate) blown_down: Option<(f64, f64)>,
}

/// The days of these hours.
pub(crate) fn days(hours: &[MachineHour], beside: &Beside<'_>) -> Vec<MachineDay> {
    let mut days: Vec<MachineDay> = Vec::new();
    for hour in hours {
        if days.last().is_none_or(|day| day.date != hour.date) {
            days.push(MachineDay {
                date: hour.date,
                hours: [0.0; STATES],
                kwh: [0.0; STATES],
                loads: 0,
                unloads: 0,
                starts: 0,
                stops: 0,
                delivered_m3: hour.delivered_m3.map(|_| 0.0),
                cost: None,
                carbon_kg: None,
            });
        }
        if let Some(day) = days.last_mut() {
            add(&mut day.hours, hour.hours);
            add(&mut day.kwh, hour.kwh);
            day.loads += hour.loads;
            day.unloads += hour.unloads;
            day.starts += hour.starts;
            day.stops += hour.stops;
            day.delivered_m3 = day.delivered_m3.zip(hour.delivered_m3).map(|(a, b)| a + b);
        }
    }
    for day in &mut days {
        let kwh: f64 = day.kwh.iter().sum();
        day.cost = beside.price.map(|each| kwh * each);
        day.carbon_kg = beside.carbon.map(|each| kwh * each);
    }
    days
}

pub(crate) fn add(to: &mut [f64; STATES], more: [f64; STATES]) {
    for (to, more) in to.iter_mut().zip(more) {
        *to += more;
    }
}

/// The hour of the week, Monday 00:00 first.
pub(crate) fn of_week(date: Date, hour: i8) -> u32 {
    let day = date.weekday().to_monday_zero_offset();
    u32::from(day.unsigned_abs()) * 24 + u32::from(hour.unsigned_abs())
}

/// Whether none of an hour of the week is working time; false where that is not told.
pub(crate) fn rests(shifts: Option<&WorkingHours>, hour_of_week: u32) -> bool {
    let mut minutes = 60 * hour_of_week..60 * (hour_of_week + 1);
    shifts.is_some_and(|shifts| minutes.all(|minute| !shifts.works_at(minute)))
}

fn share((part, whole): (f64, f64)) -> Option<f64> {
    (whole > 0.0).then(|| part / whole)
}

/// A part of the log, from its hours.
fn period<'a>(hours: impl Iterator<Item = &'a MachineHour>, beside: &Beside<'_>) -> Period {
    let mut sum = Period::default();
    let (mut delivered, mut known, mut unloads) = (0.0, false, 0);
    for hour in hours {
        add(&mut sum.hours, hour.hours);
        add(&mut sum.kwh, hour.kwh);
        sum.starts += hour.starts;
        sum.loads += hour.loads;
        unloads += hour.unloads;
        sum.worst_cycles_per_hour = sum.worst_cycles_per_hour.max(hour.loads);
        sum.worst_starts_per_hour = sum.worst_starts_per_hour.max(hour.starts);
        if let Some(m3) = hour.delivered_m3 {
            delivered += m3;
            known = true;
        }
    }
    let [_, unloaded, loaded] = plain(&sum.hours);
    let [_, _, kwh_loaded] = plain(&sum.kwh);
    let kwh: f64 = sum.kwh.iter().sum();
    let times = |each: Option<f64>| each.map(|each| sum.kwh.map(|kwh| kwh * each));
    (sum.cost, sum.carbon_kg) = (times(beside.price), times(beside.carbon));
    sum.cycles_per_hour = share((sum.loads as f64, unloaded + loaded));
    sum.duty = share((loaded, unloaded + loaded));
    if known {
        sum.delivered_m3 = Some(Band95::of(delivered, beside.air_sigma * delivered).positive());
        sum.specific_energy_kwh_m3 = share((kwh, delivered)).filter(|e| *e > 0.0);
        // kWh for each m³ on load, times 60 minutes an hour.
        let on_load = share((60.0 * kwh_loaded, delivered)).filter(|e| *e > 0.0);
        sum.specific_power_kw_min_m3 = on_load;
    }
    sum.blown_down_m3 = beside.blown_down.map(|(m3, takes_s)| {
        // The separator empties as far as the time unloaded lets it: after its blowdown time a
        // twentieth is left.
        let each_s = 3600.0 * unloaded / (unloads as f64).max(1.0);
        let emptied = 1.0 - (-3.0 * each_s / takes_s.max(1e-3)).exp();
        m3 * emptied * unloads as f64
    });
    sum
}

/// In how many hours something happened so often.
fn by_count(hours: &[MachineHour], of: fn(&MachineHour) -> u64) -> Vec<u64> {
    let most = hours.iter().map(of).max().unwrap_or(0);
    let length = usize::try_from(most).unwrap_or(MOST).min(MOST) + 1;
    let mut counts = vec![0; length];
    for hour in hours {
        let at = usize::try_from(of(hour)).unwrap_or(MOST).min(length - 1);
        if let Some(count) = counts.get_mut(at) {
            *count += 1;
        }
    }
    counts
}

/// The whole of these hours.
pub(crate) fn totals(hours: &[MachineHour], beside: &Beside<'_>) -> MachineTotals {
    let mut week = vec![(0.0, 0.0); WEEK];
    let mut day = vec![([0.0; STATES], 0.0); 24];
    for hour in hours {
        let at = of_week(hour.date, hour.hour);
        let ([_, _, loaded], all) = (plain(&hour.hours), hour.hours.iter().sum::<f64>());
        if let Some(slot) = week.get_mut(at as usize) {
            slot.0 += loaded;
            slot.1 += all;
        }
        if let Some((kwh, time)) = day.get_mut(at as usize % 24) {
            add(kwh, hour.kwh);
            *time += all;
        }
    }
    let rests = |hour: &&MachineHour| rests(beside.shifts, of_week(hour.date, hour.hour));
    let whole = period(hours.iter(), beside);
    let off = hours.iter().any(|hour| rests(&hour));
    let off_shift = off.then(|| period(hours.iter().filter(rests), beside));
    let off_hours = off_shift.map(|p| (plain(&p.hours)[2], p.hours.iter().sum()));
    let weekday = |day: i8| {
        let of_day = move |hour: &&MachineHour| hour.date.weekday().to_monday_zero_offset() == day;
        period(hours.iter().filter(of_day), beside)
    };
    let mean_w =
        |(kwh, time): ([f64; STATES], f64)| kwh.map(|kwh| share((1e3 * kwh, time)).unwrap_or(0.0));
    MachineTotals {
        working: beside
            .shifts
            .map(|_| period(hours.iter().filter(|hour| !rests(hour)), beside)),
        off_shift,
        weekdays: [0, 1, 2, 3, 4, 5, 6].map(weekday),
        hours: whole.hours,
        kwh: whole.kwh,
        starts: whole.starts,
        loads: whole.loads,
        cycles_per_hour: whole.cycles_per_hour,
        worst_cycles_per_hour: whole.worst_cycles_per_hour,
        hours_by_loads: by_count(hours, |hour| hour.loads),
        hours_by_starts: by_count(hours, |hour| hour.starts),
        duty: whole.duty,
        off_shift_load_share: off_hours.and_then(share),
        load_share_by_hour_of_week: week.into_iter().map(share).collect(),
        power_by_hour_of_day_w: day.into_iter().map(mean_w).collect(),
        whole,
    }
}
