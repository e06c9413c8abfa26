//! From the hours of a machine to its days and to the whole.
//!
//! Must not know: rows.

use jiff::civil::Date;
use station::model::WorkingHours;

use crate::figures::{MachineDay, MachineHour, MachineTotals};

/// Hours of a week.
const WEEK: usize = 168;

/// The days of these hours.
pub(crate) fn days(hours: &[MachineHour]) -> Vec<MachineDay> {
    let mut days: Vec<MachineDay> = Vec::new();
    for hour in hours {
        if days.last().is_none_or(|day| day.date != hour.date) {
            days.push(MachineDay {
                date: hour.date,
                hours: [0.0; 3],
                kwh: [0.0; 3],
                loads: 0,
                unloads: 0,
                starts: 0,
                stops: 0,
            });
        }
        if let Some(day) = days.last_mut() {
            add(&mut day.hours, hour.hours);
            add(&mut day.kwh, hour.kwh);
            day.loads += hour.loads;
            day.unloads += hour.unloads;
            day.starts += hour.starts;
            day.stops += hour.stops;
        }
    }
    days
}

fn add(to: &mut [f64; 3], more: [f64; 3]) {
    for (to, more) in to.iter_mut().zip(more) {
        *to += more;
    }
}

/// The hour of the week, Monday 00:00 first.
fn of_week(date: Date, hour: i8) -> u32 {
    let day = date.weekday().to_monday_zero_offset();
    u32::from(day.unsigned_abs()) * 24 + u32::from(hour.unsigned_abs())
}

/// The whole of these hours.
pub(crate) fn totals(hours: &[MachineHour], shifts: Option<&WorkingHours>) -> MachineTotals {
    let (mut in_state, mut kwh) = ([0.0; 3], [0.0; 3]);
    let mut week = vec![(0.0, 0.0); WEEK];
    let mut off_shift = (0.0, 0.0);
    for hour in hours {
        add(&mut in_state, hour.hours);
        add(&mut kwh, hour.kwh);
        let at = of_week(hour.date, hour.hour);
        let (loaded, all) = (hour.hours[2], hour.hours.iter().sum::<f64>());
        if let Some(slot) = week.get_mut(at as usize) {
            slot.0 += loaded;
            slot.1 += all;
        }
        let minutes = 60 * at..60 * (at + 1);
        if shifts.is_some_and(|shifts| minutes.into_iter().all(|minute| !shifts.works_at(minute))) {
            off_shift.0 += loaded;
            off_shift.1 += all;
        }
    }
    let share = |(part, whole): (f64, f64)| (whole > 0.0).then(|| part / whole);
    let loads: u64 = hours.iter().map(|hour| hour.loads).sum();
    let run = in_state[1] + in_state[2];
    MachineTotals {
        hours: in_state,
        kwh,
        starts: hours.iter().map(|hour| hour.starts).sum(),
        loads,
        cycles_per_hour: share((loads as f64, run)),
        worst_cycles_per_hour: hours.iter().map(|hour| hour.loads).max().unwrap_or(0),
        duty: share((in_state[2], run)),
        off_shift_load_share: share(off_shift),
        load_share_by_hour_of_week: week.into_iter().map(share).collect(),
    }
}
