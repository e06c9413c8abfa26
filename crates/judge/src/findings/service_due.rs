//! `service-due`: work that comes round, by hours or months, whichever comes first.
//!
//! The date is forecast from the machine's own running rate.

use jiff::civil::Date;
use physics::working::{Formula, Mark};
use station::model::{Asset, Task};
use station::point::{Point, PointId};

use super::{draft, isolate};
use crate::context::Context;
use crate::cost::date_after;
use crate::finding::{Cost, Evidence, Finding, Kind, Limit, Urgency};
use crate::safety::{at_a_dryer, at_an_open_drain, at_any_work, at_the_line};
use crate::say::{grouped, round};

/// Further ahead than this a task is not told.
const TELL_DAYS: f64 = 60.0;

const BY_HOURS: Formula = Formula {
    name: "hours left",
    equation: "h_left = h_last + h_every − h_now",
    unit: "h",
    source: "`task` of the station file, work done and hour counter of the rounds",
    mark: Mark::Derived,
};
const BY_MONTHS: Formula = Formula {
    name: "days left by the calendar",
    equation: "d_left = date_last + months − today",
    unit: "days",
    source: "`task` of the station file and work done of the rounds",
    mark: Mark::Derived,
};
const BY_RATE: Formula = Formula {
    name: "days left by the hour counter",
    equation: "d_left = h_left/(h a day)",
    unit: "days",
    source: "the machine's own running rate",
    mark: Mark::Derived,
};

pub(super) fn look(ctx: &mut Context<'_>) {
    let mut found = Vec::new();
    let mut lacking = Vec::new();
    for task in &ctx.station.tasks {
        match due(ctx, task) {
            Ok(Some(due)) => found.extend(finding(ctx, task, due)),
            Ok(None) => {}
            Err(why) => lacking.push((format!("{}: {}", ctx.station.id(task.on), task.what), why)),
        }
    }
    ctx.findings.extend(found);
    for (what, why) in lacking {
        ctx.skip(&what, &why);
    }
}

struct Due {
    hours_left: Option<f64>,
    hours_a_day: Option<f64>,
    days_by_hours: Option<f64>,
    days_by_months: Option<f64>,
    since: Option<Date>,
    counter: Option<f64>,
}

impl Due {
    fn days(&self) -> Option<f64> {
        match (self.days_by_hours, self.days_by_months) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }
}

/// What is left of a task; an error says which reading or date is lacking.
fn due(ctx: &Context<'_>, task: &Task) -> Result<Option<Due>, String> {
    let zone = ctx.station.site.time_zone.clone();
    let done = ctx.memory.done.get(&(task.on, task.what.to_lowercase()));
    let done_date = done.map(|d| d.time.to_zoned_datetime(zone.clone()).date());
    // Work seen in the rounds counts where it is newer than the file's.
    let newer = done_date.filter(|d| task.last_date.is_none_or(|last| *d >= last));
    let last_date = newer.or(task.last_date);
    let last_hours = if newer.is_some() {
        done.and_then(|d| d.hours)
    } else {
        task.last_hours
    };
    let counter = match task.on {
        Asset::Machine(_) => ctx
            .memory
            .counters
            .get(&PointId {
                asset: task.on,
                point: Point::HoursRun,
            })
            .map(|(hours, _)| *hours),
        _ => None,
    };
    let hours_left = match (task.every_hours, last_hours, counter) {
        (Some(every), Some(last), Some(now)) if now >= last => Some(last + every - now),
        _ => None,
    };
    let hours_a_day = match task.on {
        Asset::Machine(i) => ctx.year.uses.get(i).and_then(|u| u.hours_a_day),
        _ => None,
    };
    let today = ctx.now.to_zoned_datetime(zone).date();
    let days_by_months = task.every_months.zip(last_date).and_then(|(months, last)| {
        let date = last.checked_add(jiff::Span::new().months(months)).ok()?;
        today
            .until(date)
            .ok()
            .map(|span| f64::from(span.get_days()))
    });
    let due = Due {
        hours_left,
        hours_a_day,
        days_by_hours: hours_left.map(|left| match hours_a_day {
            Some(rate) if rate > 0.05 => left / rate,
            _ if left <= 0.0 => 0.0,
            _ => f64::INFINITY,
        }),
        days_by_months,
        since: last_date,
        counter,
    };
    if due.days().is_none() {
        return Err(match (task.every_hours, last_date, counter) {
            (Some(_), _, None) => format!("`{}.hours_run` was not read", ctx.station.id(task.on)),
            _ => "it is not told when it was last done".to_owned(),
        });
    }
    Ok(Some(due))
}

fn finding(ctx: &Context<'_>, task: &Task, due: Due) -> Option<Finding> {
    let days = due.days()?;
    if days > TELL_DAYS {
        return None;
    }
    let part = format!(
        "task-{}",
        task.what
            .to_lowercase()
            .split_whitespace()
            .collect::<Vec<_>>()
            .join("-")
    );
    let mut f = draft(ctx, Kind::ServiceDue, task.on, &part, None);
    let name = ctx.station.id(task.on);
    let date = date_after(ctx.station, ctx.now, days);
    let when = date.map_or("soon".to_owned(), |d| d.to_string());
    f.title = match due.hours_left {
        Some(left) if left < 0.0 => {
            format!("{name}: {} is {} h overdue", task.what, grouped(-left))
        }
        _ if days < 0.0 => format!("{name}: {} was due on {when}", task.what),
        Some(left)
            if due
                .days_by_months
                .is_none_or(|m| due.days_by_hours.is_some_and(|h| h <= m)) =>
        {
            format!(
                "{name}: {} is due in {} h, about {when}",
                task.what,
                grouped(left)
            )
        }
        _ => format!("{name}: {} is due on {when}", task.what),
    };
    f.urgency = Urgency::in_days(days).min(Urgency::NextService);
    f.limit = Some(Limit {
        what: format!("{} every {}", task.what, every(task)),
        earliest: None,
        likely: date,
        latest: None,
    });
    if let Some(read) = due.counter {
        let id = PointId {
            asset: task.on,
            point: Point::HoursRun,
        };
        f.evidence = vec![Evidence {
            id,
            read,
            mid: None,
            deviations: None,
        }];
    }
    if let Some(left) = due.hours_left {
        f.working.push(BY_HOURS.step(
            format!(
                "every {} h, counter {}",
                grouped(task.every_hours.unwrap_or(0.0)),
                grouped(due.counter.unwrap_or(0.0))
            ),
            left,
        ));
        let by_hours = due.days_by_hours.filter(|days| days.is_finite());
        if let (Some(rate), Some(by_hours)) = (due.hours_a_day, by_hours) {
            f.working.push(BY_RATE.step(
                format!("{} h, {} h a day", grouped(left), round(rate, 1)),
                by_hours,
            ));
        }
    }
    if let Some(by_months) = due.days_by_months {
        f.working.push(BY_MONTHS.step(
            format!(
                "last {}, every {} months",
                due.since.map_or_else(String::new, |d| d.to_string()),
                task.every_months.unwrap_or(0)
            ),
            by_months,
        ));
    }
    f.cost = Cost::at_stake("risk, not energy: wear that the work prevents");
    f.action = format!("{name}: {}", task.what);
    f.next_check = Some(format!(
        "Write `{name}:{}` into `done` when it is done",
        task.what
    ));
    match task.on {
        Asset::Machine(i) => {
            isolate(&mut f, ctx, i);
        }
        Asset::Drain(i) => f.cautions = at_an_open_drain(ctx.station, i, ctx.units),
        Asset::Dryer(i) => {
            f.isolate = true;
            f.cautions = at_a_dryer(ctx.station, i, ctx.units);
        }
        Asset::Vessel(_) | Asset::Filter(_) => {
            f.cautions = at_the_line(ctx.station, task.on, ctx.units);
        }
        // No vents of their own, and only the plant knows what the work opens.
        Asset::Site | Asset::Room | Asset::Pipe(_) | Asset::Header(_) => {
            f.cautions = at_any_work();
        }
    }
    Some(f)
}

fn every(task: &Task) -> String {
    match (task.every_hours, task.every_months) {
        (Some(h), Some(m)) => format!("{} h or {m} months, whichever comes first", grouped(h)),
        (Some(h), None) => format!("{} h", grouped(h)),
        (None, Some(m)) => format!("{m} months"),
        (None, None) => "so often".to_owned(),
    }
}
