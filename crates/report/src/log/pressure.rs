//! The pressure day by day, and one cycle close up.
//!
//! Must not know: how slopes are found.

use std::fmt::Write as _;

use super::paint::{BOTTOM, HEIGHT, TOP, grid, mark, svg};
use super::{Logged, Picture, PressureDay, Table, step};
use crate::frame::Frame;
use crate::scale::Scale;
use crate::svg::{Anchor, Canvas};
use crate::units::fixed;

/// More days than this are drawn, but not listed in the working.
const MOST_LISTED: usize = 62;

/// Decimals that a pressure is written with.
fn places(log: &Logged) -> usize {
    if log.pressure_unit.starts_with("psi") {
        1
    } else {
        2
    }
}

pub(super) fn days(log: &Logged) -> Option<Picture<'_>> {
    let days = &log.pressure;
    if days.len() < 2 {
        return None;
    }
    let (unit, n) = (log.pressure_unit, places(log));
    let low = days.iter().min_by(|a, b| a.min.total_cmp(&b.min))?;
    let high = days.iter().max_by(|a, b| a.max.total_cmp(&b.max))?;
    let count: u64 = days.iter().map(|d| d.count).sum();
    let sum: f64 = days.iter().map(|d| d.count as f64 * d.mean).sum();
    let mean = sum / (count.max(1) as f64);
    let says = format!(
        "Pressure at {} day by day, {unit}: the mean as a line, least to greatest as a ribbon",
        log.pressure_at
    );
    let mut numbers = format!(
        "Least {} on {}, greatest {} on {}, mean {} {unit}",
        fixed(low.min, n),
        low.date,
        fixed(high.max, n),
        high.date,
        fixed(mean, n)
    );
    let wanted = log.wanted.map(|wanted| {
        let _ = write!(numbers, "; wanted {} {unit}", fixed(wanted, n));
        step(
            "what is wanted",
            "as told",
            format!("{} {unit}", fixed(wanted, n)),
            (wanted, unit),
            "`wanted` of the header in the station file",
        )
    });
    let counted = |d: &PressureDay| {
        format!(
            "{} readings of {}",
            judge::say::grouped(d.count as f64),
            d.date
        )
    };
    let mut steps = vec![
        step(
            "the least",
            "min p",
            counted(low),
            (low.min, unit),
            "as read",
        ),
        step(
            "the greatest",
            "max p",
            counted(high),
            (high.max, unit),
            "as read",
        ),
        step(
            "mean of all readings",
            "p = Σ n_day p_day/Σ n_day",
            format!(
                "{} readings of {} days",
                judge::say::grouped(count as f64),
                days.len()
            ),
            (mean, unit),
            "definition of a mean (derived)",
        ),
    ];
    steps.extend(wanted);
    let table = (days.len() <= MOST_LISTED).then(|| Table {
        about: "Each day: the pressures as read, and how many readings.".to_owned(),
        head: ["day", "least", "mean", "greatest", "readings"]
            .map(str::to_owned)
            .to_vec(),
        rows: days
            .iter()
            .map(|d| {
                let [a, b, c] = [d.min, d.mean, d.max].map(|p| fixed(p, n));
                vec![d.date.clone(), a, b, c, judge::say::grouped(d.count as f64)]
            })
            .collect(),
    });
    let caption = says.clone();
    Some(Picture {
        key: "pressure",
        title: "Pressure day by day",
        numbers,
        draw: Box::new(move |frame| Some(draw_days(log, frame, &caption))),
        says,
        steps,
        table,
    })
}

fn draw_days(log: &Logged, frame: &Frame, says: &str) -> String {
    let days = &log.pressure;
    let mut held: Vec<f64> = days.iter().flat_map(|d| [d.min, d.max]).collect();
    held.extend(log.wanted);
    let scale = Scale::holding(&held, 0.2, TOP, BOTTOM);
    let mut canvas = Canvas::default();
    grid(&mut canvas, frame, &scale, log.pressure_unit);
    let share = |n: usize| (n as f64 + 0.5) / days.len() as f64;
    let line = |of: fn(&PressureDay) -> f64| -> Vec<(f64, f64)> {
        let days = days.iter().enumerate();
        days.map(|(n, d)| (frame.across(share(n)), scale.y(of(d))))
            .collect()
    };
    let mut outline = line(|d| d.max);
    outline.extend(line(|d| d.min).into_iter().rev());
    canvas.path("ribbon", &outline, true);
    canvas.path("course", &line(|d| d.mean), false);
    if let Some(wanted) = log.wanted {
        let y = scale.y(wanted);
        canvas.line("limit", (frame.left, y), (frame.end(), y));
        let name = format!("wanted, {}", fixed(wanted, places(log)));
        let at = (frame.left + 6.0, y - 5.0);
        canvas.text("name", at, Anchor::Start, &name, "");
    }
    let stride = days.len().div_ceil(if frame.is_narrow() { 4 } else { 9 });
    for (n, day) in days.iter().enumerate().step_by(stride.max(1)) {
        mark(&mut canvas, frame, share(n), &day.date);
    }
    let head = ("pressure", "Pressure day by day", says);
    svg(frame, head, HEIGHT, &canvas)
}

pub(super) fn cycle(log: &Logged) -> Option<Picture<'_>> {
    let (first, last) = (log.cycle.first()?.0, log.cycle.last()?.0);
    if last <= first {
        return None;
    }
    let unit = log.pressure_unit.trim_end_matches("(g)");
    let says = format!(
        "One usual cycle off-shift at {}, {}: {} readings, with the straight lines that storage and demand are found from",
        log.pressure_at,
        log.pressure_unit,
        log.cycle.len()
    );
    let n = places(log);
    let mut numbers = Vec::new();
    let mut steps = vec![step(
        "how long the cycle lasts",
        "t = t_last − t_first",
        format!("{} readings", log.cycle.len()),
        (last - first, "s"),
        "as read",
    )];
    for ([from, to], [a, b], delivering) in log.slopes.iter().filter(|s| s.0[1] > s.0[0]) {
        let name = word(*delivering);
        let minutes = (to - from) / 60.0;
        let slope = (b - a) / minutes;
        numbers.push(format!(
            "{name} {} s, {} {unit}/min",
            fixed(to - from, 0),
            fixed(slope, 2)
        ));
        steps.push(step(
            format!("how long it is {name}"),
            "t = t₂ − t₁",
            format!("{} s − {} s", fixed(*to, 0), fixed(*from, 0)),
            (to - from, "s"),
            "as read",
        ));
        steps.push(step(
            format!("slope {name}"),
            "dp/dt = (p₂ − p₁)/t, along the straight line through the readings",
            format!(
                "({} − {}) {unit}/{} min",
                fixed(*b, n + 1),
                fixed(*a, n + 1),
                fixed(minutes, 2)
            ),
            (slope, &format!("{unit}/min")),
            "least squares (derived)",
        ));
    }
    let numbers = if numbers.is_empty() {
        format!("It lasts {} s", fixed(last - first, 0))
    } else {
        format!(
            "It lasts {} s: {}",
            fixed(last - first, 0),
            numbers.join("; ")
        )
    };
    let caption = says.clone();
    Some(Picture {
        key: "cycle",
        title: "One cycle close up",
        numbers,
        draw: Box::new(move |frame| Some(draw_cycle(log, frame, (first, last), &caption))),
        says,
        steps,
        table: None,
    })
}

fn word(delivering: bool) -> &'static str {
    if delivering { "on load" } else { "unloaded" }
}

fn draw_cycle(log: &Logged, frame: &Frame, (first, last): (f64, f64), says: &str) -> String {
    let held: Vec<f64> = log.cycle.iter().map(|(_, p)| *p).collect();
    let scale = Scale::holding(&held, 0.05, TOP, BOTTOM);
    let mut canvas = Canvas::default();
    grid(&mut canvas, frame, &scale, log.pressure_unit);
    let at = |s: f64, p: f64| (frame.across((s - first) / (last - first)), scale.y(p));
    for ([from, to], [a, b], delivering) in &log.slopes {
        canvas.path("fit", &[at(*from, *a), at(*to, *b)], false);
        let (x, y) = at(0.5 * (from + to), 0.5 * (a + b));
        // Beside the line, on the side that is free of it.
        let below = *delivering && b > a;
        let (x, y) = if below {
            (x + 10.0, y + 14.0)
        } else {
            (x + 6.0, y - 10.0)
        };
        canvas.text("name", (x, y), Anchor::Start, word(*delivering), "");
    }
    for (second, pressure) in &log.cycle {
        canvas.circle("in", at(*second, *pressure), 2.2, None);
    }
    let seconds = last - first;
    let marks = if frame.is_narrow() { 4 } else { 8 };
    let step = [
        1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1200.0, 3600.0,
    ]
    .into_iter()
    .find(|s| seconds / s <= f64::from(marks))
    .unwrap_or(seconds);
    for n in 0..=marks {
        let second = f64::from(n) * step;
        if second <= seconds + 1e-9 {
            let text = format!("{} s", fixed(second, 0));
            mark(&mut canvas, frame, second / seconds, &text);
        }
    }
    svg(
        frame,
        ("cycle", "One cycle close up", says),
        HEIGHT,
        &canvas,
    )
}
