//! The study's figures as tables of text.
//!
//! Must not know: files, findings.

use std::fmt::Write as _;

use ::station::model::Station;
use ::study::{Band95, Channel, LevelsFrom, MachineDays, STATES, State, Study};
use judge::say::{Units, grouped, percent, round};

use crate::layout::wrap;

/// Hours, share, energy and mean power of each machine in each state that it was in.
pub(super) fn machines(text: &mut String, station: &Station, study: &Study) {
    for days in &study.machines {
        let Some(machine) = station.machines.get(days.machine) else {
            continue;
        };
        let _ = writeln!(text, "{}\n", machine.id);
        table(text, days);
        wrap(text, "  ", 4, &counts(days));
        if let Some(said) = air_of(days) {
            wrap(text, "  ", 4, &said);
        }
        wrap(text, "  ", 4, &told_by(days));
        text.push('\n');
    }
}

/// States in the order of telling and stacking, most useful first.
pub(super) const ORDER: [State; STATES] = [
    State::Loaded,
    State::AtSpeed,
    State::Modulating,
    State::BlowingDown,
    State::Unloaded,
    State::Stopped,
];

/// What belongs to one state.
pub(super) fn of_state(values: &[f64; STATES], state: State) -> f64 {
    State::ALL
        .iter()
        .position(|s| *s == state)
        .and_then(|at| values.get(at))
        .copied()
        .unwrap_or(0.0)
}

pub(super) fn words(state: State) -> &'static str {
    match state {
        State::Stopped => "stopped",
        State::Unloaded => "unloaded",
        State::Loaded => "loaded",
        State::BlowingDown => "blowing down",
        State::Modulating => "modulating",
        State::AtSpeed => "below full speed",
    }
}

fn table(text: &mut String, days: &MachineDays) {
    let totals = &days.totals;
    let all: f64 = totals.hours.iter().sum();
    let read = |said: String| {
        if days.energy_read {
            said
        } else {
            "–".to_owned()
        }
    };
    let mut rows = vec![["", "hours", "share", "kWh", "mean kW"].map(str::to_owned)];
    for state in ORDER {
        let (hours, kwh) = (of_state(&totals.hours, state), of_state(&totals.kwh, state));
        if hours > 0.0 {
            rows.push([
                words(state).to_owned(),
                round(hours, 1),
                percent(hours / all),
                read(grouped(kwh)),
                read(round(kwh / hours, 1)),
            ]);
        }
    }
    let mut widths = [0; 5];
    for row in &rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = cell.chars().count().max(*width);
        }
    }
    let [first, a, b, c, d] = widths;
    for [name, hours, share, kwh, power] in &rows {
        let _ = writeln!(
            text,
            "  {name:first$}  {hours:>a$}  {share:>b$}  {kwh:>c$}  {power:>d$}"
        );
    }
}

fn counts(days: &MachineDays) -> String {
    let totals = &days.totals;
    let times = |n: u64| match n {
        1 => "once".to_owned(),
        n => format!("{} times", grouped(n as f64)),
    };
    let mut said = format!("took load {}", times(totals.loads));
    // By the pressure alone, starts are not seen where the machine may also run unloaded.
    if days.levels.from != LevelsFrom::Pressure || totals.starts > 0 {
        said = format!("started {}, {said}", times(totals.starts));
    }
    if let Some(mean) = totals.cycles_per_hour {
        let _ = write!(
            said,
            ": {} an hour run, {} in the worst hour",
            round(mean, 1),
            totals.worst_cycles_per_hour
        );
    }
    if let Some(duty) = totals.duty {
        let _ = write!(said, "; duty {}", round(duty, 2));
    }
    if let Some(share) = totals.off_shift_load_share {
        let _ = write!(said, "; off-shift on load {} of the time", percent(share));
    }
    said
}

/// What it delivered, and at what price in energy.
fn air_of(days: &MachineDays) -> Option<String> {
    let whole = &days.totals.whole;
    let mut said = Vec::new();
    if let Some(delivered) = whole.delivered_m3 {
        said.push(format!(
            "delivered {}\u{a0}m³ ({})",
            grouped(delivered.mid),
            span(delivered, 1.0, 0)
        ));
    }
    if let Some(lost) = whole.blown_down_m3.filter(|&lost| lost >= 0.5) {
        said.push(format!("{}\u{a0}m³ blown down", grouped(lost)));
    }
    if let Some(power) = whole.specific_power_kw_min_m3 {
        said.push(format!("{}\u{a0}kW/(m³/min) on load", round(power, 2)));
    }
    (!said.is_empty()).then(|| said.join(", "))
}

fn told_by(days: &MachineDays) -> String {
    let levels = &days.levels;
    let sure = match days.confidence {
        share if share > 0.99 => "over 99 %".to_owned(),
        share => percent(share),
    };
    let from = match levels.from {
        LevelsFrom::Signals => return format!("its own signals tell its state; sure to {sure}"),
        LevelsFrom::Pressure => {
            return format!(
                "the pressure's slope alone tells when it is loaded, and does not part unloaded from stopped; sure to {sure}"
            );
        }
        LevelsFrom::StationFile => "from the station file",
        LevelsFrom::Learned => "learned from the log",
        LevelsFrom::Defaults => "from the defaults: the log does not show two powers apart",
    };
    format!(
        "its power tells its state: it runs above {} kW and is loaded above {} kW, {from}; sure to \
         {sure}",
        round(levels.runs_w / 1e3, 1),
        round(levels.loaded_w / 1e3, 1),
    )
}

/// `95 % between 1.2 and 1.4`.
fn span(band: Band95, size: f64, places: usize) -> String {
    let say = |value: f64| match places {
        0 => grouped(value * size),
        places => round(value * size, places),
    };
    format!("95 % between {} and {}", say(band.low), say(band.high))
}

/// All machines together, storage, leakage, demand.
pub(super) fn air(text: &mut String, station: &Station, study: &Study, units: Units) {
    let figures = &study.station;
    let kwh: f64 = figures.kwh.iter().sum();
    let mut lines = Vec::new();
    if kwh > 0.0 {
        let mut said = format!("{} kWh", grouped(kwh));
        let currency = station.site.price.as_ref().map(|p| p.currency.as_str());
        if let (Some(cost), Some(currency)) = (figures.cost, currency) {
            let _ = write!(said, ", {} {currency}", grouped(cost));
        }
        if let Some(carbon) = figures.carbon_kg {
            let _ = write!(said, ", {}\u{a0}kg\u{a0}CO₂e", grouped(carbon));
        }
        lines.push(said);
    }
    if let Some(delivered) = figures.delivered_m3 {
        let how = if figures.measured {
            "measured"
        } else {
            "reckoned from the machines"
        };
        let mut said = format!(
            "{}\u{a0}m³ of air delivered ({how}; {})",
            grouped(delivered.mid),
            span(delivered, 1.0, 0)
        );
        if let Some(energy) = figures.specific_energy_kwh_m3 {
            let _ = write!(said, ", {}\u{a0}kWh/m³", round(energy, 3));
        }
        if let Some(power) = figures.specific_power_kw_min_m3 {
            let _ = write!(said, ", {}\u{a0}kW/(m³/min)", round(power, 2));
        }
        lines.push(said);
    }
    if let Some(storage) = &study.storage {
        let stated = storage.stated_m3.map_or_else(String::new, |m3| {
            format!("; the station file tells {}\u{a0}m³", round(m3, 2))
        });
        lines.push(format!(
            "storage {}\u{a0}m³ ({}) by the slopes of {}{stated}",
            round(storage.m3.mid, 2),
            span(storage.m3, 1.0, 2),
            storage.channel.name(station)
        ));
    }
    for leakage in &study.leakage {
        let mut said = format!(
            "leakage by {}: {} ({} to {})",
            leakage.method.text(),
            units.flow(leakage.m3_s.mid),
            units.flow(leakage.m3_s.low),
            units.flow(leakage.m3_s.high)
        );
        if leakage.total_m3_s.mid > leakage.m3_s.mid {
            let all = units.flow(leakage.total_m3_s.mid);
            let _ = write!(said, ", of {all} with what is spent on purpose");
        }
        lines.push(said);
    }
    let week = study.demand.by_hour_of_week.iter().flatten();
    let most = week.clone().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = week.copied().fold(f64::INFINITY, f64::min);
    if most.is_finite() && least.is_finite() {
        lines.push(format!(
            "demand over the hours of the week: {} to {}; `--demand` writes it",
            units.flow(least),
            units.flow(most)
        ));
    }
    if lines.is_empty() {
        return;
    }
    let _ = writeln!(text, "The station\n");
    for line in lines {
        wrap(text, "  ", 4, &line);
    }
    text.push('\n');
}

pub(super) fn pressures(text: &mut String, station: &Station, study: &Study, units: Units) {
    if study.pressures.is_empty() && study.dew_points.is_empty() {
        return;
    }
    let _ = writeln!(text, "Pressures and dew points\n");
    for p in &study.pressures {
        let mut said = format!(
            "{}: {} at the least, 95 % of the time from {}, half of it above {}, {} at the most",
            p.channel.name(station),
            units.gauge(p.min),
            units.gauge(p.p05),
            units.gauge(p.median),
            units.gauge(p.max)
        );
        if let Some(hours) = p.hours_below_wanted {
            let _ = write!(said, "; below what is wanted for {} h", round(hours, 1));
        }
        wrap(text, "  ", 4, &said);
    }
    for band in &study.control_bands {
        if let Some(said) = control(station, band, units) {
            wrap(text, "  ", 4, &said);
        }
    }
    for d in &study.dew_points {
        let mut said = format!(
            "{}: {} at the least, half the time above {}, {} at the most",
            d.channel.name(station),
            units.temperature(d.min),
            units.temperature(d.median),
            units.temperature(d.max)
        );
        if let (Some(wanted), Some(hours)) = (d.wanted, d.hours_above_wanted) {
            let _ = write!(
                said,
                "; above the {} that are to be held for {} h",
                units.temperature(wanted),
                round(hours, 1)
            );
        }
        wrap(text, "  ", 4, &said);
    }
    text.push('\n');
}

fn control(station: &Station, band: &::study::ControlBand, units: Units) -> Option<String> {
    let id = station.machines.get(band.machine)?.id.as_str();
    let at = match band.channel {
        Channel::Point(point) => station.id(point.asset),
        Channel::Running(_) | Channel::Loaded(_) => id,
    };
    let takes = band
        .load
        .map(|load| format!("takes load at {}", units.gauge(load.mid)));
    let gives = band
        .unload
        .map(|unload| format!("gives it up at {}", units.gauge(unload.mid)));
    let both: Vec<String> = takes.into_iter().chain(gives).collect();
    (!both.is_empty()).then(|| format!("{id} {}, read at {at}", both.join(" and ")))
}
