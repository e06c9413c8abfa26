//! Pictures of a long log: the week as a heat map of demand, its load-duration curve, the power of a
//! day by state, the pressure day by day, one cycle close up, and energy by state.
//!
//! Shades of one ink and words carry every meaning, so that they hold on paper and in greyscale.
//!
//! Must not know: how the figures came about, files.

use std::fmt::Write as _;

use crate::scale::Scale;
use crate::svg::{Anchor, Canvas, escape, num};
use crate::units::fixed;

/// All that the pictures of one log show, in the units that are written on them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Logged {
    /// The stretch of time, in words.
    pub period: String,
    /// Unit of flows.
    pub flow_unit: &'static str,
    /// Unit of pressures.
    pub pressure_unit: &'static str,
    /// Mean demand in each hour of the week, Monday 00:00 first; 168, or none.
    pub demand: Vec<Option<f64>>,
    /// Share of the time, 0…1, in which demand is at most so much; rising.
    pub duration: Vec<(f64, f64)>,
    /// What all machines can deliver together.
    pub capacity: Option<f64>,
    /// States in the order of stacking, in words.
    pub states: Vec<&'static str>,
    /// Mean power of all machines in each state in each hour of the day, kW; 24 rows, or none.
    pub day: Vec<Vec<f64>>,
    /// Energy of each machine in each state, kWh.
    pub energy: Vec<(String, Vec<f64>)>,
    /// The pressure at one place, day by day: date, least, mean, greatest.
    pub pressure: Vec<(String, f64, f64, f64)>,
    /// Where it was read.
    pub pressure_at: String,
    /// What is wanted there.
    pub wanted: Option<f64>,
    /// One cycle: seconds and pressure as read.
    pub cycle: Vec<(f64, f64)>,
    /// Straight lines through it: from and to in seconds, with the pressures there; whether a
    /// machine delivered.
    pub slopes: Vec<([f64; 2], [f64; 2], bool)>,
    /// Figures in words: what, and how much.
    pub figures: Vec<(String, String)>,
    /// What has to be said about them.
    pub remarks: Vec<String>,
}

/// One picture with its heading and what it shows.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Picture {
    pub(crate) key: &'static str,
    pub(crate) title: String,
    pub(crate) says: String,
    pub(crate) svg: String,
}

const PAPER: f64 = 960.0;
const LEFT: f64 = 84.0;
const RIGHT: f64 = 20.0;
const TOP: f64 = 34.0;
const BOTTOM: f64 = 264.0;
const HEIGHT: f64 = 300.0;
const DAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];

/// The style of these pictures, in the inks of the page.
pub(crate) const STYLE: &str = ".chart .heat{fill:var(--ink)}.chart .on{fill:var(--paper)}\
     .chart .bar{fill:var(--ink);stroke:var(--ink);stroke-width:.6}\
     .chart .fit{stroke:var(--outside);stroke-width:2;fill:none}.chart .small{font-size:11px}";

/// All pictures that the log has something to show for.
pub(crate) fn pictures(log: &Logged) -> Vec<Picture> {
    [
        heat(log),
        duration(log),
        day(log),
        pressure(log),
        cycle(log),
        energy(log),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn svg(key: &str, says: &str, height: f64, canvas: &Canvas) -> String {
    format!(
        "<svg class=\"chart\" viewBox=\"0 0 {} {}\" role=\"img\" aria-labelledby=\"log-{key}-says\">\
         <title id=\"log-{key}-says\">{}</title>{}</svg>",
        num(PAPER),
        num(height),
        escape(says),
        canvas.body
    )
}

fn picture(key: &'static str, title: &str, says: String, height: f64, canvas: &Canvas) -> Picture {
    Picture {
        key,
        title: title.to_owned(),
        svg: svg(key, &says, height, canvas),
        says,
    }
}

/// Lines and numbers of the upright axis.
fn grid(canvas: &mut Canvas, scale: &Scale, unit: &str) {
    for tick in &scale.ticks {
        let y = scale.y(*tick);
        canvas.line("hair", (LEFT, y), (PAPER - RIGHT, y));
        let text = fixed(*tick, scale.decimals);
        canvas.text("q", (LEFT - 8.0, y + 5.0), Anchor::End, &text, "");
    }
    canvas.text("q", (LEFT - 8.0, 18.0), Anchor::End, unit, "");
    canvas.line("rule", (LEFT, BOTTOM), (PAPER - RIGHT, BOTTOM));
}

fn across(share: f64) -> f64 {
    LEFT + share.clamp(0.0, 1.0) * (PAPER - RIGHT - LEFT)
}

fn mark(canvas: &mut Canvas, share: f64, label: &str) {
    let x = across(share);
    canvas.line("rule", (x, BOTTOM), (x, BOTTOM + 5.0));
    canvas.text("q", (x, BOTTOM + 21.0), Anchor::Middle, label, "");
}

fn greatest(values: impl Iterator<Item = f64>) -> Option<f64> {
    values.filter(|v| v.is_finite()).reduce(f64::max)
}

fn heat(log: &Logged) -> Option<Picture> {
    if log.demand.len() != 168 {
        return None;
    }
    let most = greatest(log.demand.iter().flatten().copied()).filter(|m| *m > 0.0)?;
    let (wide, high) = ((PAPER - RIGHT - LEFT) / 24.0, 28.0);
    let mut canvas = Canvas::default();
    for hour in (0..24).step_by(3) {
        let x = LEFT + f64::from(hour) * wide;
        canvas.text("q", (x, 22.0), Anchor::Start, &format!("{hour:02}"), "");
    }
    for (row, name) in DAYS.iter().enumerate() {
        let y = TOP + row as f64 * high;
        canvas.text("q", (LEFT - 10.0, y + 18.0), Anchor::End, name, "");
        for (column, demand) in log.demand.iter().skip(row * 24).take(24).enumerate() {
            let x = LEFT + column as f64 * wide;
            let Some(demand) = demand.filter(|d| d.is_finite()) else {
                canvas.text(
                    "q small",
                    (x + wide / 2.0, y + 18.0),
                    Anchor::Middle,
                    "–",
                    "",
                );
                continue;
            };
            let share = (demand / most).clamp(0.0, 1.0);
            let _ = write!(
                canvas.body,
                "<rect class=\"heat\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill-opacity=\"{:.2}\"/>",
                num(x),
                num(y),
                num(wide - 1.5),
                num(high - 2.0),
                0.04 + 0.9 * share
            );
            let class = if share > 0.45 {
                "on small"
            } else {
                "done small"
            };
            let text = fixed(demand, usize::from(most < 99.5));
            canvas.text(class, (x + wide / 2.0, y + 18.0), Anchor::Middle, &text, "");
        }
    }
    let says = format!(
        "Mean demand in each hour of the week, {}; the darker the more, up to {}",
        log.flow_unit,
        fixed(most, 2)
    );
    Some(picture(
        "week",
        "The week by demand",
        says,
        TOP + 7.0 * high + 8.0,
        &canvas,
    ))
}

fn duration(log: &Logged) -> Option<Picture> {
    let most = greatest(log.duration.iter().map(|(_, v)| *v))?;
    let mut held: Vec<f64> = log.duration.iter().map(|(_, v)| *v).collect();
    held.extend([0.0].into_iter().chain(log.capacity));
    let scale = Scale::holding(&held, 0.1, TOP, BOTTOM);
    let mut canvas = Canvas::default();
    grid(&mut canvas, &scale, log.flow_unit);
    for tenth in 0..=10 {
        mark(
            &mut canvas,
            f64::from(tenth) / 10.0,
            &format!("{} %", 10 * tenth),
        );
    }
    let line: Vec<(f64, f64)> = log
        .duration
        .iter()
        .rev()
        .map(|(share, v)| (across(1.0 - share), scale.y(*v)))
        .collect();
    canvas.path("course", &line, false);
    if let Some(capacity) = log.capacity {
        let y = scale.y(capacity);
        canvas.line("limit", (LEFT, y), (PAPER - RIGHT, y));
        let name = format!("all machines together, {}", fixed(capacity, 1));
        canvas.text(
            "name",
            (PAPER - RIGHT - 4.0, y - 5.0),
            Anchor::End,
            &name,
            "",
        );
    }
    let says = format!(
        "For what share of the time demand is at least so much; at most {} {}",
        fixed(most, 2),
        log.flow_unit
    );
    Some(picture(
        "duration",
        "Load-duration curve",
        says,
        HEIGHT,
        &canvas,
    ))
}

/// Shade of a state: the first is darkest.
fn shade(n: usize, all: usize) -> f64 {
    0.9 - 0.8 * n as f64 / (all.max(2) - 1) as f64
}

fn bar(canvas: &mut Canvas, [x, y, wide, high]: [f64; 4], opacity: f64) {
    let _ = write!(
        canvas.body,
        "<rect class=\"bar\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill-opacity=\"{opacity:.2}\"/>",
        num(x),
        num(y),
        num(wide.max(0.0)),
        num(high.max(0.0)),
    );
}

/// The states with their shades, in a line from `y`.
fn legend(canvas: &mut Canvas, states: &[&'static str], y: f64) {
    let mut x = LEFT;
    for (n, state) in states.iter().enumerate() {
        bar(canvas, [x, y - 10.0, 14.0, 12.0], shade(n, states.len()));
        canvas.text("q", (x + 20.0, y), Anchor::Start, state, "");
        x += 40.0 + crate::svg::width(state, 13.0, false);
    }
}

fn day(log: &Logged) -> Option<Picture> {
    if log.day.len() != 24 {
        return None;
    }
    let sums: Vec<f64> = log.day.iter().map(|h| h.iter().sum()).collect();
    let most = greatest(sums.iter().copied()).filter(|m| *m > 0.0)?;
    let scale = Scale::holding(&[0.0, most], 1.0, TOP, BOTTOM);
    let mut canvas = Canvas::default();
    grid(&mut canvas, &scale, "kW");
    let wide = (PAPER - RIGHT - LEFT) / 24.0;
    for (hour, powers) in log.day.iter().enumerate() {
        let x = LEFT + hour as f64 * wide;
        let mut from = 0.0;
        for (n, power) in powers.iter().enumerate().filter(|(_, p)| **p > 0.0) {
            let (low, high) = (scale.y(from), scale.y(from + power));
            bar(
                &mut canvas,
                [x + 2.0, high, wide - 4.0, low - high],
                shade(n, powers.len()),
            );
            from += power;
        }
        if hour % 3 == 0 {
            mark(&mut canvas, hour as f64 / 24.0, &format!("{hour:02}:00"));
        }
    }
    legend(&mut canvas, &log.states, HEIGHT + 14.0);
    let says = "Mean power of all machines in each hour of the day, by what they did".to_owned();
    Some(picture(
        "day",
        "A day by power",
        says,
        HEIGHT + 24.0,
        &canvas,
    ))
}

fn pressure(log: &Logged) -> Option<Picture> {
    let days = &log.pressure;
    if days.len() < 2 {
        return None;
    }
    let mut held: Vec<f64> = days.iter().flat_map(|(_, a, _, b)| [*a, *b]).collect();
    held.extend(log.wanted);
    let scale = Scale::holding(&held, 0.2, TOP, BOTTOM);
    let mut canvas = Canvas::default();
    grid(&mut canvas, &scale, log.pressure_unit);
    let at = |n: usize| across((n as f64 + 0.5) / days.len() as f64);
    let upper = days.iter().enumerate().map(|(n, d)| (at(n), scale.y(d.3)));
    let lower = days
        .iter()
        .enumerate()
        .rev()
        .map(|(n, d)| (at(n), scale.y(d.1)));
    canvas.path("ribbon", &upper.chain(lower).collect::<Vec<_>>(), true);
    let mean: Vec<_> = days
        .iter()
        .enumerate()
        .map(|(n, d)| (at(n), scale.y(d.2)))
        .collect();
    canvas.path("course", &mean, false);
    if let Some(wanted) = log.wanted {
        let y = scale.y(wanted);
        canvas.line("limit", (LEFT, y), (PAPER - RIGHT, y));
        let name = format!("wanted, {}", fixed(wanted, 2));
        canvas.text("name", (LEFT + 6.0, y - 5.0), Anchor::Start, &name, "");
    }
    let stride = days.len().div_ceil(9);
    for (n, (date, ..)) in days.iter().enumerate().step_by(stride) {
        mark(&mut canvas, (n as f64 + 0.5) / days.len() as f64, date);
    }
    let says = format!(
        "Pressure at {} day by day: the mean as a line, least to greatest as a ribbon",
        log.pressure_at
    );
    Some(picture(
        "pressure",
        "Pressure day by day",
        says,
        HEIGHT,
        &canvas,
    ))
}

fn cycle(log: &Logged) -> Option<Picture> {
    let (first, last) = (log.cycle.first()?.0, log.cycle.last()?.0);
    if last <= first {
        return None;
    }
    let held: Vec<f64> = log.cycle.iter().map(|(_, p)| *p).collect();
    let scale = Scale::holding(&held, 0.05, TOP, BOTTOM);
    let mut canvas = Canvas::default();
    grid(&mut canvas, &scale, log.pressure_unit);
    let at = |s: f64, p: f64| (across((s - first) / (last - first)), scale.y(p));
    for (second, pressure) in &log.cycle {
        canvas.circle("in", at(*second, *pressure), 1.8, None);
    }
    for ([from, to], [a, b], delivering) in &log.slopes {
        canvas.path("fit", &[at(*from, *a), at(*to, *b)], false);
        let (x, y) = at(0.5 * (from + to), 0.5 * (a + b));
        let name = if *delivering { "on load" } else { "unloaded" };
        canvas.text("name", (x + 6.0, y - 8.0), Anchor::Start, name, "");
    }
    for fifth in 0..=5 {
        let share = f64::from(fifth) / 5.0;
        let text = format!("{} s", fixed(share * (last - first), 0));
        mark(&mut canvas, share, &text);
    }
    let says = format!(
        "One usual cycle off-shift at {}: as read, with the straight lines that storage and demand are found from",
        log.pressure_at
    );
    Some(picture(
        "cycle",
        "One cycle close up",
        says,
        HEIGHT,
        &canvas,
    ))
}

fn energy(log: &Logged) -> Option<Picture> {
    let sums = || log.energy.iter().map(|(_, kwh)| kwh.iter().sum::<f64>());
    let most = greatest(sums()).filter(|m| *m > 0.0)?;
    let mut canvas = Canvas::default();
    let room = PAPER - RIGHT - LEFT - 120.0;
    for (row, ((name, kwh), sum)) in log.energy.iter().zip(sums()).enumerate() {
        let y = 14.0 + row as f64 * 34.0;
        canvas.text("done", (LEFT - 10.0, y + 16.0), Anchor::End, name, "");
        let mut x = LEFT;
        for (n, part) in kwh.iter().enumerate().filter(|(_, k)| **k > 0.0) {
            let wide = part / most * room;
            bar(&mut canvas, [x, y, wide, 22.0], shade(n, kwh.len()));
            x += wide;
        }
        let text = format!("{} kWh", judge::say::grouped(sum.round()));
        canvas.text("q", (x + 8.0, y + 16.0), Anchor::Start, &text, "");
    }
    let below = 14.0 + log.energy.len() as f64 * 34.0;
    legend(&mut canvas, &log.states, below + 18.0);
    let says = "Energy of each machine over the whole log, by what it did".to_owned();
    Some(picture(
        "energy",
        "Energy by state",
        says,
        below + 28.0,
        &canvas,
    ))
}
