//! What has to be said of a machine that the pressure alone tells of.
//!
//! Must not know: rows.

use judge::say::{grouped, percent, round};
use station::model::Control;

use super::Air;
use crate::figures::{Band95, LevelsFrom, MachineDays, plain};
use crate::reduce::air::gather::Gather;
use crate::reduce::thin::quantile;
use crate::sink::ByPressure;

/// So sure are states at most that the pressure alone tells: it does not part unloaded from stopped.
const MOST: f64 = 0.5;

/// So many rows of each load are open, one standard deviation.
const ROWS: f64 = 0.25;
/// Loads of fewer rows leave too few readings for a line on each side, and more is open.
const FEW: f64 = 4.0;

/// How sure its states are, from the turns that lie where it switches and all.
pub(super) fn confidence((near, all): (u64, u64)) -> f64 {
    if all > 0 {
        MOST * near as f64 / all as f64
    } else {
        0.0
    }
}

/// What the moments of turns leave open, as a share of the delivery: rows do not show where between
/// two of them it turned, and at both ends of a load alike.
pub(super) fn of_turns(gather: &Gather, follower: usize, interval_s: Option<f64>) -> f64 {
    let own = gather.timed.kept().iter().filter(|t| t.machine == follower);
    let loads: Vec<f64> = own.map(|t| t.load_s).collect();
    let usual = quantile(&loads, 0.5).zip(interval_s);
    usual.map_or(0.0, |(load_s, interval)| {
        let row = interval / load_s.max(interval);
        ROWS * row * (FEW * row).max(1.0)
    })
}

/// The energy that the model says, kWh: on load by its power there; off load between none and its
/// power unloaded.
fn energy(air: &Air<'_>, machine: &MachineDays) -> Option<Band95> {
    let model = air.models.iter().find(|m| m.machine == machine.machine)?;
    let fitted = air.station.machines.get(machine.machine)?;
    let [_, unloaded_h, loaded_h] = plain(&machine.totals.hours);
    let share = 1.96 * fitted.rated.power.sigma / fitted.rated.power.value.si();
    let loaded = loaded_h * model.line.full_power(model.pressure()) / 1e3;
    let unloaded = unloaded_h * model.line.unloaded / 1e3;
    let spread = 1.96 * fitted.unloaded_power.sigma / fitted.unloaded_power.value.si();
    Some(Band95 {
        low: loaded * (1.0 - share),
        mid: loaded + 0.5 * unloaded,
        high: loaded * (1.0 + share) + unloaded * (1.0 + spread),
    })
}

/// In words, of the machine that is told so.
pub(super) fn remark(air: &Air<'_>, by: &ByPressure, machines: &[MachineDays]) -> Option<String> {
    let machine = machines.iter().find(|m| m.machine == by.machine)?;
    if machine.levels.from != LevelsFrom::Pressure {
        return None;
    }
    let fitted = air.station.machines.get(by.machine)?;
    let channel = air.pressure?.name(air.station);
    let mut said = format!(
        "Nothing of {} itself is logged: when it is on load is told by the slope of {channel} alone, {} at {} and {} bar(g)",
        fitted.id,
        if by.swing.learned {
            "whose turns lie"
        } else {
            "which should turn by the station file"
        },
        round(by.swing.load / 1e5, 2),
        round(by.swing.unload / 1e5, 2),
    );
    let stops = matches!(fitted.control, Control::StartStop(_));
    if !stops {
        said.push_str(
            ". While the pressure falls it may run unloaded or stand still: the two cannot be told apart, and all of it is told as unloaded; starts are not seen",
        );
    }
    if let Some(energy) = energy(air, machine) {
        said.push_str(&format!(
            ". Its energy was not read: by the forward model it is {} to {} kWh",
            grouped(energy.low),
            grouped(energy.high)
        ));
    }
    said.push_str(&format!(". Sure to {}", percent(machine.confidence)));
    if air.others_unseen {
        said.push_str(
            ". The other machines may have run as well: what the station delivers, takes and leaks is not told",
        );
    }
    Some(said)
}

/// Where not even the pressure tells.
pub(super) fn unseen(air: &Air<'_>) -> Option<String> {
    let bands = |machine: &station::model::Machine| {
        matches!(
            machine.control,
            Control::LoadUnload(_) | Control::StartStop(_)
        )
    };
    if !air.station.machines.iter().any(bands) {
        return Some(
            "Nothing of any machine is logged, and none switches between full load and nothing: the pressure alone tells no machine's state"
                .to_owned(),
        );
    }
    Some(format!(
        "Nothing of any machine is logged, and the turns of {} cannot be told from its noise, or come faster than its rows: no machine's state is told",
        air.pressure?.name(air.station)
    ))
}
