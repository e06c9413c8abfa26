//! Figures of each machine with their workings: time and energy in each state, loads, duty, air.
//!
//! Must not know: how a figure is drawn or laid out.

use ::study::{LevelsFrom, MachineDays, plain};
use judge::say::{grouped, percent, round};

use super::super::figures::{ORDER, of_state, words};
use super::shown::{AIR, SPECIFIC, step};
use super::{Put, id_of};

const STATES: &str = "the states of the log (derived)";

/// All of one machine.
pub(super) fn figures(put: &mut Put<'_>, days: &MachineDays) {
    let id = id_of(put.station, days.machine);
    put.group = id.clone();
    states(put, &id, days);
    loads(put, &id, days);
    air(put, &id, days);
    told_by(put, &id, days);
}

fn states(put: &mut Put<'_>, id: &str, days: &MachineDays) {
    let t = &days.totals;
    let all: f64 = t.hours.iter().sum();
    let met = || {
        let each = ORDER.into_iter().map(|s| (s, of_state(&t.hours, s)));
        each.filter(|(_, h)| *h > 0.05)
    };
    let says: Vec<String> = met()
        .map(|(s, h)| format!("{} {} h, {}", words(s), round(h, 1), percent(h / all)))
        .collect();
    let mut steps: Vec<_> = met()
        .map(|(s, h)| {
            step(
                format!("time {}", words(s)),
                "t = Σ Δt between rows in that state; share = t/Σ t",
                format!(
                    "{} h of {} h = {}, from {} readings",
                    round(h, 1),
                    round(all, 1),
                    percent(h / all),
                    grouped(put.readings(days.machine) as f64)
                ),
                (h, "h"),
                STATES,
            )
        })
        .collect();
    if steps.is_empty() {
        return;
    }
    put.figure(&format!("{id}-time"), "time", says.join("; "), steps);
    let kwh: f64 = t.kwh.iter().sum();
    if !days.energy_read || kwh <= 0.0 {
        return;
    }
    let energy = |s| of_state(&t.kwh, s);
    let says: Vec<String> = met()
        .filter(|(s, _)| energy(*s) >= 0.5)
        .map(|(s, h)| {
            let kwh = energy(s);
            format!(
                "{} {} kWh, mean {} kW",
                words(s),
                grouped(kwh),
                round(kwh / h, 1)
            )
        })
        .collect();
    steps = met()
        .map(|(s, h)| {
            let kwh = energy(s);
            step(
                format!("energy {}", words(s)),
                "E = Σ ½ (Pᵢ + Pᵢ₊₁) Δt in that state; mean = E/t",
                format!(
                    "{} kWh in {} h, mean {} kW",
                    grouped(kwh),
                    round(h, 1),
                    round(kwh / h, 1)
                ),
                (kwh, "kWh"),
                STATES,
            )
        })
        .collect();
    put.figure(&format!("{id}-energy"), "energy", says.join("; "), steps);
}

fn loads(put: &mut Put<'_>, id: &str, days: &MachineDays) {
    let t = &days.totals;
    let [_, unloaded, loaded] = plain(&t.hours);
    let run = unloaded + loaded;
    let times = |n: u64, what: &str| match n {
        1 => format!("1 {what}"),
        n => format!("{} {what}s", grouped(n as f64)),
    };
    let mut says = format!("{}, {}", times(t.starts, "start"), times(t.loads, "load"));
    let hours = days.hours.len();
    let mut steps = vec![
        step(
            "starts",
            "changes from stopped to any other state",
            format!("{} hours of the clock", grouped(hours as f64)),
            (t.starts as f64, ""),
            STATES,
        ),
        step(
            "loads",
            "changes to a state that delivers",
            format!("{} hours of the clock", grouped(hours as f64)),
            (t.loads as f64, ""),
            STATES,
        ),
    ];
    if let Some(mean) = t.cycles_per_hour {
        says.push_str(&format!(
            "; {} loads an hour run, {} in the worst hour",
            round(mean, 1),
            t.worst_cycles_per_hour
        ));
        steps.push(step(
            "loads an hour run",
            "loads/time run",
            format!("{}/{} h", grouped(t.loads as f64), round(run, 1)),
            (mean, "per h"),
            "definition (derived)",
        ));
        steps.push(step(
            "loads in the worst hour",
            "max over the hours of the clock",
            format!("{} hours of the clock", grouped(hours as f64)),
            (t.worst_cycles_per_hour as f64, ""),
            STATES,
        ));
    }
    put.figure(&format!("{id}-loads"), "starts and loads", says, steps);
    if let Some(duty) = t.duty {
        let working = step(
            "duty",
            "duty = time on load/time run",
            format!(
                "{} h/{} h = {}",
                round(loaded, 1),
                round(run, 1),
                percent(duty)
            ),
            (duty, ""),
            "definition (derived)",
        );
        put.figure(&format!("{id}-duty"), "duty", percent(duty), vec![working]);
    }
    if let (Some(share), Some(off)) = (t.off_shift_load_share, &t.off_shift) {
        let [_, _, on_load] = plain(&off.hours);
        let all: f64 = off.hours.iter().sum();
        let working = step(
            "share of the time off-shift on load",
            "time on load/time, over hours wholly outside `site.hours`",
            format!(
                "{} h/{} h = {}",
                round(on_load, 1),
                round(all, 1),
                percent(share)
            ),
            (share, ""),
            "definition (derived)",
        );
        let key = format!("{id}-off-shift");
        put.figure(&key, "on load off-shift", percent(share), vec![working]);
    }
}

fn air(put: &mut Put<'_>, id: &str, days: &MachineDays) {
    let (whole, units) = (&days.totals.whole, put.units);
    let [_, unloaded, loaded] = plain(&days.totals.hours);
    let Some(air) = whole.delivered_m3.filter(|air| air.mid > 0.0) else {
        return;
    };
    let mut steps = vec![
        step(
            "air delivered",
            "V = Σ over hours of time on load · share of full delivery · delivery at that hour's pressure",
            format!(
                "{} h on load, on average {} m³/min",
                round(loaded, 1),
                round(air.mid / (60.0 * loaded.max(1e-9)), 2)
            ),
            (air.mid, AIR.unit()),
            "the forward model of the station file at the log's pressure and weather (derived)",
        ),
        AIR.interval(
            air,
            "from the rated delivery, the share of it and the weather",
            "first-order propagation, JCGM 100:2008 (published)",
        ),
    ];
    steps.extend(AIR.converted(units, &[air.mid, air.low, air.high]));
    put.figure(
        &format!("{id}-air"),
        "air delivered",
        AIR.span(units, air),
        steps,
    );
    if let Some(lost) = whole.blown_down_m3.filter(|&lost| lost >= 0.5) {
        let mut steps = vec![step(
            "air blown down",
            "V = n V_separator (1 − exp(−3 t/t_blowdown)), t = time unloaded/n",
            format!(
                "time unloaded {} h after {} loads; a twentieth is left after the blowdown time",
                round(unloaded, 1),
                grouped(days.totals.loads as f64)
            ),
            (lost, AIR.unit()),
            "separator volume and blowdown time of the station file; the exponential is common practice, no source",
        )];
        steps.extend(AIR.converted(units, &[lost]));
        let says = AIR.said(units, lost);
        put.figure(&format!("{id}-blown-down"), "air blown down", says, steps);
    }
    if let Some(power) = whole.specific_power_kw_min_m3 {
        let [_, _, kwh] = plain(&days.totals.kwh);
        let mut steps = vec![step(
            "power for the delivery, on load",
            "60 E_on load/V",
            format!("60 · {} kWh/{} m³", grouped(kwh), grouped(air.mid)),
            (power, SPECIFIC.unit()),
            "definition (derived)",
        )];
        steps.extend(SPECIFIC.converted(units, &[power]));
        let says = SPECIFIC.said(units, power);
        put.figure(
            &format!("{id}-specific"),
            "power for the delivery, on load",
            says,
            steps,
        );
    }
}

/// What tells its state, and how surely.
fn told_by(put: &mut Put<'_>, id: &str, days: &MachineDays) {
    let levels = &days.levels;
    let sure = match days.confidence {
        share if share > 0.99 => "over 99 %".to_owned(),
        share => percent(share),
    };
    let (runs, loaded) = (
        round(levels.runs_w / 1e3, 1),
        round(levels.loaded_w / 1e3, 1),
    );
    let powers = |from: &str| {
        let says =
            format!("its power: it runs above {runs} kW and is loaded above {loaded} kW, {from}");
        (says, true)
    };
    let (says, by_levels) = match levels.from {
        LevelsFrom::StationFile => powers("half-way between the powers of the station file"),
        LevelsFrom::Learned => powers("learned from the log"),
        LevelsFrom::Defaults => powers("from the defaults: the log shows no two powers apart"),
        LevelsFrom::Signals => ("its own signals".to_owned(), false),
        LevelsFrom::Pressure => (
            "the pressure's slope alone, which does not part unloaded from stopped".to_owned(),
            false,
        ),
    };
    let mut steps = Vec::new();
    if by_levels {
        for (name, watts, powers) in [
            (
                "level above which it runs",
                levels.runs_w,
                (0.0, levels.usual_unloaded_w),
            ),
            (
                "level above which it is loaded",
                levels.loaded_w,
                (levels.usual_unloaded_w, levels.usual_loaded_w),
            ),
        ] {
            steps.push(step(
                name,
                "a level between two powers, half-way unless the log shows an emptier place",
                format!(
                    "between {} and {} kW",
                    round(powers.0 / 1e3, 1),
                    round(powers.1 / 1e3, 1)
                ),
                (watts / 1e3, "kW"),
                match levels.from {
                    LevelsFrom::StationFile => "powers of the station file (derived)",
                    _ => "the powers that were read (derived)",
                },
            ));
        }
    }
    steps.push(step(
        "how sure its states are",
        match levels.from {
            LevelsFrom::Signals => "share of the time in which signals and power agree",
            LevelsFrom::Pressure => "half the share of its turns that lie where it switches",
            _ => "share of the time in which the power stands clear of the levels",
        },
        format!(
            "{sure}, from {} readings; a score, not a probability",
            grouped(put.readings(days.machine) as f64)
        ),
        (100.0 * days.confidence, "%"),
        STATES,
    ));
    let says = format!("{says}; sure to {sure}");
    put.figure(
        &format!("{id}-told-by"),
        "its state is told by",
        says,
        steps,
    );
}
