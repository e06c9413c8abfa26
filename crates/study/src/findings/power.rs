//! `power-high` and `unloaded-power-high`: more power than the forward model says, on the mean of
//! the log.

use judge::finding::PartHealth;
use judge::safety::in_the_room;
use judge::say::{Units, percent, round};
use judge::{Finding, Kind};
use physics::machine::package::POWER_SLOPE_SIGMA_PER_BAR;
use physics::working::{Formula, Mark};
use station::forward::MachineHealth;
use station::model::{Asset, Control};
use station::point::Point;

use super::{Looking, evidence, price};
use crate::channel::Channel;
use crate::figures::{MachineDays, State};
use crate::whole::Modelled;

/// A shorter time in a state says nothing, s.
const LEAST_S: f64 = 600.0;
/// How well a power is read, as a share: by a meter, and by a current (common practice, no source).
const METER: f64 = 0.01;
const CURRENT: f64 = 0.04;
/// Unloaded a current shows little of the power.
const CURRENT_UNLOADED: f64 = 0.25;
/// Less is not told.
const WORTH: f64 = 1.03;

const SHARE: Formula = Formula {
    name: "power over what it should be",
    equation: "P_mean/P_expected",
    unit: "1",
    source: "the log's mean over the forward model at its mean pressure",
    mark: Mark::Derived,
};

pub(super) fn look(looking: &mut Looking<'_>) {
    let mut found = Vec::new();
    for model in &looking.told.air.models {
        found.extend(on_load(looking, model));
        found.extend(unloaded(looking, model));
    }
    looking.findings.extend(found);
}

/// Energy, J, and time, s, in a state; `None` where no power was read.
fn spent(looking: &Looking<'_>, model: &Modelled, state: State) -> Option<(f64, f64)> {
    let days = |m: &&MachineDays| m.machine == model.machine;
    let totals = &looking.told.machines.iter().find(days)?.totals;
    let at = state.index();
    let (kwh, hours) = (totals.kwh.get(at)?, totals.hours.get(at)?);
    (*kwh > 0.0).then_some((3.6e6 * kwh, 3600.0 * hours))
}

fn by_current(looking: &Looking<'_>, machine: usize) -> bool {
    let power = Channel::power_of(machine);
    looking
        .told
        .read
        .channels
        .iter()
        .all(|c| c.channel != power)
}

fn on_load(looking: &Looking<'_>, model: &Modelled) -> Option<Finding> {
    let (joules, seconds) = spent(looking, model, State::Loaded)?;
    if !model.line.is_whole() || seconds < LEAST_S || model.sums.read_s <= 0.0 {
        return None;
    }
    let machine = looking.station.machines.get(model.machine)?;
    let (pressure, rated) = (model.pressure(), machine.rated.power);
    let expected = model.line.full_power(pressure);
    let away = (pressure - machine.rated.pressure.si()).abs() / 1e5;
    let meter = if by_current(looking, model.machine) {
        CURRENT
    } else {
        METER
    };
    let sigma = (rated.sigma / rated.value.si())
        .hypot(POWER_SLOPE_SIGMA_PER_BAR * away)
        .hypot(meter);
    let mut f = base(looking, model, (joules / seconds, expected, sigma), true)?;
    let (read, k) = (joules / seconds, joules / seconds / expected);
    f.title = format!(
        "{} draws {} on load at {} on average, where {} is expected: {} more than it should",
        machine.id,
        Units::Si.power(read),
        Units::Si.gauge(pressure),
        Units::Si.power(expected),
        percent(k - 1.0)
    );
    let health = MachineHealth {
        power: k.min(2.5),
        ..MachineHealth::NEW
    };
    priced(looking, model, &mut f, &health);
    f.next_check = Some(format!(
        "Read {}.separator_drop: a loaded separator makes the air end work against more pressure; then compare the pressure gauge with another",
        machine.id
    ));
    f.action = format!(
        "Find what {} works against: separator, minimum-pressure valve, a gauge that reads low; if nothing is found, have motor and air-end bearings measured",
        machine.id
    );
    Some(f)
}

fn unloaded(looking: &Looking<'_>, model: &Modelled) -> Option<Finding> {
    let (joules, seconds) = spent(looking, model, State::Unloaded)?;
    let machine = looking.station.machines.get(model.machine)?;
    let given = machine.unloaded_power;
    let unloads = matches!(machine.control, Control::LoadUnload(_));
    if !unloads || !given.given || seconds < LEAST_S {
        return None;
    }
    let meter = if by_current(looking, model.machine) {
        CURRENT_UNLOADED
    } else {
        // A meter errs by a share of its range more than of its reading.
        2.0 * METER
    };
    let expected = model.line.unloaded;
    let sigma = (given.sigma / given.value.si()).hypot(meter);
    let mut f = base(looking, model, (joules / seconds, expected, sigma), false)?;
    let k = joules / seconds / expected;
    f.title = format!(
        "{} draws {} unloaded, once blown down, where {} is expected: {} more than it should",
        machine.id,
        Units::Si.power(joules / seconds),
        Units::Si.power(expected),
        percent(k - 1.0)
    );
    let health = MachineHealth {
        unloaded_power: k.min(4.0),
        ..MachineHealth::NEW
    };
    priced(looking, model, &mut f, &health);
    f.next_check = Some(format!(
        "Watch the separator's pressure of {} for a minute after it unloads: it has to blow down and the intake has to shut",
        machine.id
    ));
    f.action = format!(
        "Have blowdown valve and intake valve of {} looked at: it does not blow down, or draws in air unloaded",
        machine.id
    );
    Some(f)
}

/// The finding, if the power is high beyond doubt.
fn base(
    looking: &Looking<'_>,
    model: &Modelled,
    (read, expected, sigma): (f64, f64, f64),
    on_load: bool,
) -> Option<Finding> {
    let k = read / expected.max(1.0);
    let half = 1.96 * sigma;
    if k < WORTH || k < 1.0 + half {
        return None;
    }
    let asset = Asset::Machine(model.machine);
    let (kind, part, what) = if on_load {
        (Kind::PowerHigh, "power", "power on load")
    } else {
        (Kind::UnloadedPowerHigh, "unloaded-power", "power unloaded")
    };
    let mut f = looking.draft(kind, asset, part);
    let expectation = Some((expected, sigma * expected));
    f.evidence = vec![evidence(asset, Point::MachinePower, read, expectation)];
    f.health = Some(PartHealth {
        what: what.to_owned(),
        unit: "1",
        value: k,
        low: (k - half).max(0.0),
        high: k + half,
        per_month: None,
    });
    let kw = |watt: f64| round(watt / 1e3, 1);
    f.working
        .push(SHARE.step(format!("{} / {} kW", kw(read), kw(expected)), k));
    f.cautions = in_the_room();
    Some(f)
}

fn priced(looking: &Looking<'_>, model: &Modelled, f: &mut Finding, health: &MachineHealth) {
    let cost = looking.year.and_then(|year| {
        let new = &MachineHealth::NEW;
        year.of_health(looking.station, model.machine, health, new)
    });
    price(f, cost);
}
