//! A day by power, and energy, by what the machines did.
//!
//! Must not know: how a state is told.

use judge::say::grouped;

use super::paint::{BOTTOM, HEIGHT, TOP, bar, greatest, grid, least, legend, mark, shade, svg};
use super::{Logged, Picture, Table, step};
use crate::frame::Frame;
use crate::scale::Scale;
use crate::svg::{Anchor, Canvas};
use crate::units::fixed;

/// Mean powers by state in an hour of the day, kW.
fn powers((hours, kwh): &(f64, Vec<f64>)) -> Vec<f64> {
    kwh.iter().map(|k| k / hours.max(1.0e-9)).collect()
}

pub(super) fn day(log: &Logged) -> Option<Picture<'_>> {
    if log.day.len() != 24 {
        return None;
    }
    let sums: Vec<f64> = log.day.iter().map(|h| powers(h).iter().sum()).collect();
    let most = greatest(sums.iter().copied()).filter(|m| *m > 0.0)?;
    let low = least(sums.iter().copied())?;
    let hour_of = |value: f64| {
        let at = sums.iter().position(|s| (s - value).abs() < 1.0e-12);
        format!("{:02}:00", at.unwrap_or(0))
    };
    let says =
        "Mean power of all machines in each hour of the day, kW, by what they did".to_owned();
    let numbers = format!(
        "Most from {}, {} kW; least from {}, {} kW",
        hour_of(most),
        fixed(most, 1),
        hour_of(low),
        fixed(low, 1)
    );
    let each = |(what, value): (&str, f64)| {
        let at = sums.iter().position(|s| (s - value).abs() < 1.0e-12);
        let (hours, kwh) = at
            .and_then(|at| log.day.get(at))
            .cloned()
            .unwrap_or_default();
        step(
            format!("{what} mean power, from {}", hour_of(value)),
            "P = Σ E/Σ t over that hour of all days",
            format!(
                "{} kWh in {} h",
                fixed(kwh.iter().sum(), 1),
                fixed(hours, 1)
            ),
            (value, "kW"),
            "definition of a mean over time (derived)",
        )
    };
    let row = |(at, hour): (usize, &(f64, Vec<f64>))| {
        let each = hour.1.iter().zip(powers(hour));
        let cells = each.map(|(kwh, kw)| format!("{} = {}", fixed(*kwh, 1), fixed(kw, 1)));
        [format!("{at:02}:00"), fixed(hour.0, 1)]
            .into_iter()
            .chain(cells)
            .chain([fixed(sums.get(at).copied().unwrap_or_default(), 1)])
            .collect()
    };
    let states = log.states.iter().map(|s| format!("{s}, kWh = kW"));
    let caption = says.clone();
    Some(Picture {
        key: "day",
        title: "A day by power",
        numbers,
        draw: Box::new(move |frame| Some(draw_day(log, frame, most, &caption))),
        says,
        steps: [("greatest", most), ("least", low)].map(each).to_vec(),
        table: Some(Table {
            about: "Each hour of the day: the hours that were logged, and for each state its energy and, over those hours, its mean power.".to_owned(),
            head: ["hour".to_owned(), "logged, h".to_owned()]
                .into_iter()
                .chain(states)
                .chain(["all, kW".to_owned()])
                .collect(),
            rows: log.day.iter().enumerate().map(row).collect(),
        }),
    })
}

fn draw_day(log: &Logged, frame: &Frame, most: f64, says: &str) -> String {
    let scale = Scale::holding(&[0.0, most], 1.0, TOP, BOTTOM);
    let mut canvas = Canvas::default();
    grid(&mut canvas, frame, &scale, "kW");
    let wide = frame.room() / 24.0;
    let air = if frame.is_narrow() { 1.0 } else { 2.0 };
    for (hour, all) in log.day.iter().enumerate() {
        let x = frame.left + hour as f64 * wide;
        let powers = powers(all);
        let mut from = 0.0;
        for (n, power) in powers.iter().enumerate().filter(|(_, p)| **p > 0.0) {
            let (low, high) = (scale.y(from), scale.y(from + power));
            let place = [x + air, high, wide - 2.0 * air, low - high];
            bar(&mut canvas, place, shade(n, powers.len()));
            from += power;
        }
        if hour % if frame.is_narrow() { 6 } else { 3 } == 0 {
            let share = hour as f64 / 24.0;
            mark(&mut canvas, frame, share, &format!("{hour:02}:00"));
        }
    }
    let end = legend(&mut canvas, frame, &log.states, HEIGHT + 18.0);
    svg(frame, ("day", "A day by power", says), end, &canvas)
}

pub(super) fn energy(log: &Logged) -> Option<Picture<'_>> {
    let sums: Vec<f64> = log.energy.iter().map(|(_, k)| k.iter().sum()).collect();
    let most = greatest(sums.iter().copied()).filter(|m| *m > 0.0)?;
    let says = "Energy of each machine over the whole log, by what it did".to_owned();
    let all: f64 = sums.iter().sum();
    let each = log.energy.iter().zip(&sums).map(|((id, kwh), sum)| {
        let parts = log.states.iter().zip(kwh).filter(|(_, k)| **k > 0.0);
        let parts: Vec<String> = parts
            .map(|(s, k)| format!("{s} {} kWh", grouped(*k)))
            .collect();
        step(
            format!("energy of {id}"),
            "E = Σ over the states",
            if parts.is_empty() {
                "none".to_owned()
            } else {
                parts.join(" + ")
            },
            (*sum, "kWh"),
            "sum of the log's states (derived)",
        )
    });
    let numbers = format!("{} kWh in all", grouped(all));
    let mut steps: Vec<_> = each.collect();
    let parts: Vec<String> = log
        .energy
        .iter()
        .zip(&sums)
        .map(|((id, _), sum)| format!("{id} {} kWh", grouped(*sum)))
        .collect();
    steps.push(step(
        "energy of all machines",
        "E = Σ over the machines",
        parts.join(" + "),
        (all, "kWh"),
        "sum (derived)",
    ));
    let caption = says.clone();
    Some(Picture {
        key: "energy",
        title: "Energy by state",
        numbers,
        draw: Box::new(move |frame| Some(draw_energy(log, frame, most, &caption))),
        says,
        steps,
        table: None,
    })
}

fn draw_energy(log: &Logged, frame: &Frame, most: f64, says: &str) -> String {
    let mut canvas = Canvas::default();
    let room = frame.room() - 88.0;
    for (row, (name, kwh)) in log.energy.iter().enumerate() {
        let y = 14.0 + row as f64 * 34.0;
        let short = crate::svg::shorten(name, frame.left - 12.0, 13.0, false);
        canvas.text(
            "done",
            (frame.left - 10.0, y + 16.0),
            Anchor::End,
            &short,
            name,
        );
        let mut x = frame.left;
        for (n, part) in kwh.iter().enumerate().filter(|(_, k)| **k > 0.0) {
            let wide = part / most * room;
            bar(&mut canvas, [x, y, wide, 22.0], shade(n, kwh.len()));
            x += wide;
        }
        let text = format!("{} kWh", grouped(kwh.iter().sum::<f64>()));
        canvas.text("q", (x + 8.0, y + 16.0), Anchor::Start, &text, "");
    }
    let below = 14.0 + log.energy.len() as f64 * 34.0;
    let end = legend(&mut canvas, frame, &log.states, below + 18.0);
    svg(frame, ("energy", "Energy by state", says), end, &canvas)
}
