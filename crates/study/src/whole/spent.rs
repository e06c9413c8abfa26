//! What flows on purpose while the plant rests, as far as the station file tells it: the purge of
//! desiccant dryers and drains that open by the clock. It is taken off what the plant draws, and what
//! is left is told as leakage.
//!
//! A purge is a share of the air that goes through its dryer; it may as well be set for the dryer's
//! rated flow, whatever goes through, and the interval leaves room for that. In a pressure decay only
//! the air stored before a dryer goes through it.
//!
//! Must not know: how what is drawn was found.

use physics::air::reference_air;
use physics::flow::orifice::ORIFICE_CHOKED;
use physics::quantity::GaugePressure;
use physics::working::{Formula, Mark, Step};
use station::forward::{Conditions, Health, Running, expect};
use station::model::{Asset, DrainKind, DryerKind, Station};

use super::Air;
use crate::figures::{Band95, MachineDays, plain};
use crate::forward::Weather;
use judge::drain::{COEFFICIENT, through_a_drain};
use judge::say::round;

/// How well the mean flow of a timer drain is known, as a share (common practice, no source).
const CLOCKED_SIGMA: f64 = 0.3;

const BY_THE_CLOCK: Formula = Formula {
    name: "mean flow of a timer drain",
    equation: "V̇ = ṁ/ρ₀ · open/every",
    unit: "m³/min",
    source: "definition; times and orifice of the station file",
    mark: Mark::Derived,
};
const NET: Formula = Formula {
    name: "leakage without what is spent on purpose",
    equation: "V̇_leak = V̇ · (1 − purge) − V̇_timer drains",
    unit: "m³/min",
    source: "mass balance; purge and timer drains of the station file",
    mark: Mark::Derived,
};

/// How what the plant draws was found, as far as that decides what of the spent air is in it.
#[derive(Debug, Clone, Copy)]
pub(super) enum Drawn {
    /// From what machines delivered.
    Delivered,
    /// From flow meters: what is spent before them is not in it.
    Measured,
    /// From what the storage lost in falls that last so long, s.
    Stored(f64),
}

/// The purge of one dryer.
#[derive(Debug, Clone)]
struct Purge {
    dryer: usize,
    /// Of all the air that is delivered.
    share: f64,
    /// At its rated flow, m³/s.
    at_rated: f64,
    /// The share of the storage that lies before it.
    before: f64,
}

/// One drain that opens by the clock.
#[derive(Debug, Clone)]
struct Clocked {
    drain: usize,
    /// Mean, m³/s of reference air.
    flow: f64,
    every_s: f64,
    working: Vec<Step>,
}

/// All that is spent on purpose off-shift.
#[derive(Debug, Clone, Default)]
pub(super) struct Spent {
    purges: Vec<Purge>,
    clocked: Vec<Clocked>,
    /// A purge that the forward model could not place.
    unplaced: bool,
}

/// What is left of a flow.
pub(super) struct Left {
    pub(super) net: Band95,
    pub(super) total: Band95,
    pub(super) working: Vec<Step>,
}

impl Spent {
    pub(super) fn of(air: &Air<'_>, machines: &[MachineDays], weather: Option<Weather>) -> Self {
        let station = air.station;
        let ran = |machine: usize| {
            let days = machines.iter().find(|m| m.machine == machine);
            let hours = days.and_then(|m| m.totals.off_shift).map(|p| p.hours);
            let loaded = hours.map_or(0.0, |hours| plain(&hours)[2]);
            let all: f64 = hours.map_or(0.0, |hours| hours.iter().sum());
            if all > 0.0 { loaded / all } else { 0.0 }
        };
        let desiccant =
            |at: &usize| matches!(station.dryers[*at].kind, DryerKind::Desiccant { .. });
        let mut spent = Self::default();
        if (0..station.dryers.len()).any(|at| desiccant(&at)) {
            match weather.and_then(|weather| purges(station, &ran, &weather)) {
                Some(purges) => spent.purges = purges,
                None => spent.unplaced = true,
            }
        }
        let pressure = resting_pressure(air);
        for (at, drain) in station.drains.iter().enumerate() {
            // What stands still is shut off from the line.
            let shut = matches!(drain.on, Asset::Machine(machine) if ran(machine) <= 0.0);
            if !shut {
                let found = pressure.and_then(|gauge| clocked(station, at, gauge));
                spent.clocked.extend(found);
            }
        }
        spent
    }

    /// The share of a delivery that reaches the storage, and how uncertain that is: what a load
    /// changes in the purge does not make the pressure rise.
    ///
    /// With the share v of the storage before a dryer that spends the share s of what goes through
    /// it, V (1 − s v) dp/dt differs by (1 − s) of the delivery between load and unload. A purge of
    /// constant flow changes nothing.
    pub(super) fn arrives(&self) -> (f64, f64) {
        let each = |p: &Purge| (1.0 - p.share) / (1.0 - p.share * p.before).max(1e-3);
        let share: f64 = self.purges.iter().map(each).product();
        (share, 0.5 * (1.0 - share))
    }

    /// What is left of so much that is drawn off-shift, m³/s, known so well; `working` told how it
    /// came about.
    pub(super) fn off(
        &self,
        air: &Air<'_>,
        drawn: Drawn,
        (flow, sigma): (f64, f64),
        mut working: Vec<Step>,
    ) -> Left {
        let station = air.station;
        let total = Band95::of(flow, sigma).positive();
        let behind = |asset: Asset| match drawn {
            Drawn::Measured => air.meters.lies_behind(station, asset),
            Drawn::Delivered | Drawn::Stored(_) => true,
        };
        let (mut share, mut at_rated, mut drained) = (0.0, 0.0, 0.0);
        let (mut variance, mut purged_by, mut drained_by) = (0.0, Vec::new(), Vec::new());
        for purge in self.purges.iter().filter(|p| behind(Asset::Dryer(p.dryer))) {
            share += match drawn {
                Drawn::Stored(_) => purge.share * purge.before,
                Drawn::Delivered | Drawn::Measured => purge.share,
            };
            at_rated += purge.at_rated;
            purged_by.push(station.dryers[purge.dryer].id.as_str());
        }
        for clocked in &self.clocked {
            let drain = &station.drains[clocked.drain];
            if !behind(drain.on) {
                continue;
            }
            // In the middle one of falls shorter than half its interval it did not open.
            let seen = match drawn {
                Drawn::Stored(seconds) => (2.0 * seconds / clocked.every_s - 1.0).clamp(0.0, 1.0),
                Drawn::Delivered | Drawn::Measured => 1.0,
            };
            let doubt = (CLOCKED_SIGMA * seen).max(seen.min(1.0 - seen));
            drained += seen * clocked.flow;
            variance += (doubt * clocked.flow).powi(2);
            drained_by.push(drain.id.as_str());
            working.extend(clocked.working.iter().cloned());
        }
        if purged_by.is_empty() && drained_by.is_empty() {
            return Left {
                net: total,
                total,
                working,
            };
        }
        let purged = share * flow;
        let doubt = 0.5 * (at_rated - purged).max(0.0);
        let left = (flow - purged - drained).max(0.0);
        let sigma = ((1.0 - share) * sigma).hypot(doubt).hypot(variance.sqrt());
        let part = |flow: f64, what: &str, by: &[&str]| match by {
            [] => String::new(),
            by => format!(" − {} of {what} ({})", round(60.0 * flow, 3), by.join(", ")),
        };
        working.push(NET.step(
            format!(
                "{} m³/min{}{}",
                round(60.0 * flow, 3),
                part(purged, "purge", &purged_by),
                part(drained, "timer drains", &drained_by)
            ),
            60.0 * left,
        ));
        Left {
            net: Band95::of(left, sigma).positive(),
            total,
            working,
        }
    }

    /// What has to be said of the leakage.
    pub(super) fn remark(&self, station: &Station) -> String {
        let dryers = self.purges.iter().map(|p| &station.dryers[p.dryer].id);
        let drains = self.clocked.iter().map(|c| &station.drains[c.drain].id);
        let known: Vec<String> = dryers
            .map(|id| format!("the purge of {id}"))
            .chain(drains.map(|id| format!("the timer drain {id}")))
            .collect();
        let unplaced = if self.unplaced {
            "; the forward model does not place the purge of dryers, which is in it too"
        } else {
            ""
        };
        if known.is_empty() {
            format!(
                "What is told as leakage is all that the plant draws off-shift: consumers that run at night, and purge and timer drains that the station file does not tell, are in it{unplaced}"
            )
        } else {
            format!(
                "Of what the plant draws off-shift, {} {} known from the station file and not told as leakage; consumers that run at night are still in it{unplaced}",
                known.join(" and "),
                if known.len() == 1 { "is" } else { "are" }
            )
        }
    }
}

/// The purge of each desiccant dryer as a share of what the machines deliver that run off-shift.
fn purges(station: &Station, ran: &dyn Fn(usize) -> f64, weather: &Weather) -> Option<Vec<Purge>> {
    let mut conditions = Conditions::new(station, weather.ambient, weather.humidity, 0.0);
    conditions.room = weather.room;
    let some = (0..station.machines.len()).any(|machine| ran(machine) > 0.0);
    for (machine, running) in conditions.machines.iter_mut().enumerate() {
        // Where nothing is told of the machines, all may have run.
        let duty = if some { ran(machine) } else { 0.5 };
        *running = Running::at_duty(station, machine, duty.min(1.0));
    }
    let state = expect(station, &Health::new(station), &conditions).ok()?;
    let delivered = state.machines.iter().flatten().map(|m| m.dry_air.si());
    let delivered: f64 = delivered.sum();
    let path = station.air_path.assets();
    let stored = |assets: &[Asset]| -> f64 {
        let volumes = assets.iter().map(|asset| match *asset {
            Asset::Vessel(at) => station.vessels[at].volume_m3,
            Asset::Header(at) => station.headers[at].volume_m3.unwrap_or(0.0),
            _ => 0.0,
        });
        volumes.sum()
    };
    let all = stored(&path);
    let each = station.dryers.iter().enumerate().filter_map(|(at, dryer)| {
        let DryerKind::Desiccant { purge } = dryer.kind else {
            return None;
        };
        let place = path.iter().position(|&asset| asset == Asset::Dryer(at))?;
        let out = state.place(Asset::Dryer(at))?.dry_air.si();
        let before = stored(path.get(..place).unwrap_or_default());
        Some(Purge {
            dryer: at,
            share: out * purge / (1.0 - purge).max(1e-3) / delivered.max(1e-12),
            at_rated: purge * dryer.rated_flow.value.si(),
            before: if all > 0.0 { before / all } else { 0.0 },
        })
    });
    (delivered > 0.0).then(|| each.collect())
}

/// The mean pressure of the hours off-shift, Pa above atmosphere; that of a machine's band if none
/// was read.
fn resting_pressure(air: &Air<'_>) -> Option<f64> {
    let resting = air.hours.iter().filter(|hour| hour.off_shift);
    let (sum, count) = resting
        .filter_map(|hour| hour.pressure)
        .fold((0.0, 0.0), |(sum, n), (first, last)| {
            (sum + 0.5 * (first + last), n + 1.0)
        });
    let usual = air.station.machines.first().map(|m| m.mid_pressure().si());
    if count > 0.0 {
        Some(sum / count)
    } else {
        usual
    }
}

/// A drain that opens by the clock, at a pressure.
fn clocked(station: &Station, at: usize, gauge: f64) -> Option<Clocked> {
    let drain = station.drains.get(at)?;
    let DrainKind::Timer {
        open_s,
        every_s,
        orifice_m,
    } = drain.kind
    else {
        return None;
    };
    let atmosphere = station.standard_atmosphere();
    let pressure = GaugePressure::new(gauge.max(0.0)).absolute(atmosphere);
    let mass = through_a_drain(orifice_m, pressure, atmosphere).ok()?;
    let flow = reference_air(mass).si() * open_s / every_s;
    let mut open = ORIFICE_CHOKED.step(
        format!(
            "{} mm, C_d {COEFFICIENT}, {} bar(a), 25 °C",
            round(orifice_m * 1e3, 1),
            round(pressure.bar(), 2)
        ),
        mass.si(),
    );
    open.name = format!("{} of {}", open.name, drain.id);
    let mut mean = BY_THE_CLOCK.step(
        format!(
            "{} kg/s / {} kg/m³ · {} s/{} s",
            round(mass.si(), 5),
            round(physics::air::REFERENCE_DENSITY, 3),
            round(open_s, 1),
            round(every_s, 0)
        ),
        60.0 * flow,
    );
    mean.name = format!("{} {}", mean.name, drain.id);
    Some(Clocked {
        drain: at,
        flow,
        every_s,
        working: vec![open, mean],
    })
}
