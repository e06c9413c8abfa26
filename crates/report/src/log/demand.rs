//! The week as a heat map of demand, and the load-duration curve.
//!
//! Must not know: how demand is found.

use std::fmt::Write as _;

use super::paint::{BOTTOM, HEIGHT, TOP, greatest, grid, least, mark, svg};
use super::{HourOfWeek, Logged, Picture, Table, step};
use crate::frame::Frame;
use crate::scale::Scale;
use crate::svg::{Anchor, Canvas, num};
use crate::units::fixed;

const DAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
const MEAN: &str = "V̇ = Σ V/Σ t over all logged hours of that name";
const MEAN_SOURCE: &str = "definition of a mean over time (derived)";

/// Decimals of a flow, by the greatest.
fn places(most: f64) -> usize {
    usize::from(most < 99.5)
}

fn cell(log: &Logged, day: usize, hour: usize) -> Option<&HourOfWeek> {
    let cell = log.demand.get(24 * day + hour)?.as_ref();
    cell.filter(|c| c.mean.is_finite())
}

/// `Mon 14:00`.
fn name(at: usize) -> String {
    let day = DAYS.get(at / 24).copied().unwrap_or_default();
    format!("{day} {:02}:00", at % 24)
}

pub(super) fn week(log: &Logged) -> Option<Picture<'_>> {
    if log.demand.len() != 168 {
        return None;
    }
    let known = || {
        let hours = log.demand.iter().enumerate();
        hours.filter_map(|(at, h)| Some((at, h.as_ref().filter(|h| h.mean.is_finite())?)))
    };
    let (top_at, top) = known().max_by(|a, b| a.1.mean.total_cmp(&b.1.mean))?;
    let (low_at, low) = known().min_by(|a, b| a.1.mean.total_cmp(&b.1.mean))?;
    if top.mean <= 0.0 {
        return None;
    }
    let unit = log.flow_unit;
    let says = format!(
        "Mean demand in each hour of the week, {unit}, {}; the stronger the ink, the more",
        log.demand_from
    );
    let numbers = format!(
        "Most on {}, {} {unit}; least on {}, {} {unit}",
        name(top_at),
        fixed(top.mean, 2),
        name(low_at),
        fixed(low.mean, 2)
    );
    let extreme = |what: &str, at: usize, hour: &HourOfWeek| {
        step(
            format!("{what} demand, {}", name(at)),
            MEAN,
            format!(
                "{} from {} to {} {unit}; {}",
                match hour.hours {
                    1 => "1 hour,".to_owned(),
                    n => format!("{n} hours,"),
                },
                fixed(hour.least, 2),
                fixed(hour.most, 2),
                log.demand_from
            ),
            (hour.mean, unit),
            MEAN_SOURCE,
        )
    };
    let caption = says.clone();
    Some(Picture {
        key: "week",
        title: "The week by demand",
        numbers,
        draw: Box::new(move |frame| Some(draw_week(log, frame, top.mean, &caption))),
        says,
        steps: vec![
            extreme("greatest", top_at, top),
            extreme("least", low_at, low),
        ],
        table: Some(table(log, top.mean)),
    })
}

/// Each hour of the week: its mean, and of how many hours.
fn table(log: &Logged, most: f64) -> Table {
    let row = |hour: usize| {
        let cells = (0..7).map(|day| match cell(log, day, hour) {
            Some(c) => format!("{} ({})", fixed(c.mean, 1 + places(most)), c.hours),
            None => "–".to_owned(),
        });
        std::iter::once(format!("{hour:02}:00"))
            .chain(cells)
            .collect()
    };
    Table {
        about: format!(
            "Each hour: its mean in {}, and in brackets of how many logged hours it is the mean.",
            log.flow_unit
        ),
        head: std::iter::once("hour")
            .chain(DAYS)
            .map(str::to_owned)
            .collect(),
        rows: (0..24).map(row).collect(),
    }
}

fn draw_week(log: &Logged, frame: &Frame, most: f64, says: &str) -> String {
    let mut canvas = Canvas::default();
    // Days down and hours across on a desk; on a phone the other way round.
    let narrow = frame.is_narrow();
    let (columns, rows, high) = if narrow { (7, 24, 21.0) } else { (24, 7, 28.0) };
    let wide = frame.room() / f64::from(columns);
    let at = |column: u32, row: u32| {
        (
            frame.left + f64::from(column) * wide,
            TOP + f64::from(row) * high,
        )
    };
    for (day, name) in (0..).zip(DAYS) {
        if narrow {
            let (x, _) = at(day, 0);
            canvas.text("q", (x + 0.5 * wide, 22.0), Anchor::Middle, name, "");
        } else {
            let (_, y) = at(0, day);
            canvas.text("q", (frame.left - 10.0, y + 18.0), Anchor::End, name, "");
        }
    }
    for hour in (0..24_u32).step_by(if narrow { 1 } else { 3 }) {
        let label = format!("{hour:02}");
        if narrow {
            let (_, y) = at(0, hour);
            let at = (frame.left - 10.0, y + 14.5);
            canvas.text("q tick", at, Anchor::End, &label, "");
        } else {
            let (x, _) = at(hour, 0);
            canvas.text("q tick", (x, 22.0), Anchor::Start, &label, "");
        }
    }
    for column in 0..columns {
        for row in 0..rows {
            let (day, hour) = if narrow { (column, row) } else { (row, column) };
            let (x, y) = at(column, row);
            let middle = (x + 0.5 * wide, y + 0.5 * high + 3.5);
            let Some(c) = cell(log, day as usize, hour as usize) else {
                canvas.text("q small", middle, Anchor::Middle, "–", "");
                continue;
            };
            let share = (c.mean / most).clamp(0.0, 1.0);
            let _ = write!(
                canvas.body,
                "<rect class=\"heat\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill-opacity=\"{:.2}\"/>",
                num(x),
                num(y),
                num(wide - 1.5),
                num(high - 2.0),
                shade(share)
            );
            let class = if share > 0.5 {
                "on small"
            } else {
                "done small"
            };
            let text = fixed(c.mean, places(most));
            canvas.text(class, middle, Anchor::Middle, &text, "");
        }
    }
    let height = TOP + f64::from(rows) * high + 4.0;
    svg(frame, ("week", "The week by demand", says), height, &canvas)
}

/// How dark a cell is. Shades on which neither ink nor paper would stand out sevenfold are left out.
fn shade(share: f64) -> f64 {
    if share > 0.5 {
        0.78 + 0.22 * (share - 0.5) / 0.5
    } else {
        0.03 + 0.32 * share / 0.5
    }
}

/// The demand that is reached or passed in this share of the time.
fn reached(log: &Logged, share: f64) -> Option<f64> {
    let at = log
        .duration
        .iter()
        .find(|(below, _)| *below >= 1.0 - share - 1e-9)?;
    Some(at.1)
}

pub(super) fn duration(log: &Logged) -> Option<Picture<'_>> {
    let most = greatest(log.duration.iter().map(|(_, v)| *v))?;
    let low = least(log.duration.iter().map(|(_, v)| *v))?;
    let half = reached(log, 0.5)?;
    let unit = log.flow_unit;
    let says = format!(
        "For what share of the time demand is at least so much, {unit}, {}",
        log.demand_from
    );
    let all: f64 = log.capacity.iter().map(|(_, fad)| fad).sum();
    let mut numbers = format!(
        "At most {} {unit}, half the time {} or more, never under {}",
        fixed(most, 2),
        fixed(half, 2),
        fixed(low, 2)
    );
    if all > 0.0 {
        let _ = write!(
            numbers,
            "; all machines together can deliver {} {unit}",
            fixed(all, 1)
        );
    }
    let mut steps = vec![step(
        "demand in half of the time",
        "V̇(x): the demand that is reached or passed in the share x of the time; windows of 1 to 15 minutes in the order of their demand",
        format!(
            "{} to {} {unit} over {} rows, x = 0.5; {}",
            fixed(low, 2),
            fixed(most, 2),
            judge::say::grouped(log.rows as f64),
            log.demand_from
        ),
        (half, unit),
        "definition of a quantile over time (derived)",
    )];
    if all > 0.0 {
        let each = log
            .capacity
            .iter()
            .map(|(id, fad)| format!("{id} {}", fixed(*fad, 2)));
        steps.push(step(
            "what all machines can deliver together",
            "Σ V̇_rated",
            each.collect::<Vec<_>>().join(" + "),
            (all, unit),
            "`rated.fad` of the station file",
        ));
    }
    let row = |tenth: u32| {
        let share = f64::from(tenth) / 10.0;
        Some(vec![
            format!("{} %", 10 * tenth),
            fixed(reached(log, share)?, 2),
        ])
    };
    let caption = says.clone();
    Some(Picture {
        key: "duration",
        title: "Load-duration curve",
        numbers,
        draw: Box::new(move |frame| Some(draw_duration(log, frame, all, &caption))),
        says,
        steps,
        table: Some(Table {
            about: "The curve at each tenth of the time.".to_owned(),
            head: vec!["share of the time".to_owned(), format!("at least, {unit}")],
            rows: (0..=10).filter_map(row).collect(),
        }),
    })
}

fn draw_duration(log: &Logged, frame: &Frame, capacity: f64, says: &str) -> String {
    let mut held: Vec<f64> = log.duration.iter().map(|(_, v)| *v).collect();
    held.extend([0.0, capacity]);
    let scale = Scale::holding(&held, 0.1, TOP, BOTTOM);
    let mut canvas = Canvas::default();
    grid(&mut canvas, frame, &scale, log.flow_unit);
    let step = if frame.is_narrow() { 25 } else { 10 };
    for per_cent in (0..=100_u32).step_by(step) {
        let share = f64::from(per_cent) / 100.0;
        mark(&mut canvas, frame, share, &format!("{per_cent} %"));
    }
    let line: Vec<(f64, f64)> = log
        .duration
        .iter()
        .rev()
        .map(|(share, v)| (frame.across(1.0 - share), scale.y(*v)))
        .collect();
    canvas.path("course", &line, false);
    if capacity > 0.0 {
        let y = scale.y(capacity);
        canvas.line("limit", (frame.left, y), (frame.end(), y));
        let name = format!("all machines together, {}", fixed(capacity, 1));
        let at = (frame.end() - 4.0, y - 5.0);
        canvas.text("name", at, Anchor::End, &name, "");
    }
    let head = ("duration", "Load-duration curve", says);
    svg(frame, head, HEIGHT, &canvas)
}
