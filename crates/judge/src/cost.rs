//! What leaving it costs a year: the model run over the twelve months with the health as found and
//! as it should be; the difference times the price.
//!
//! Not a rule of thumb. What a saved cubic metre is worth follows from the control: under
//! load/unload the machine goes on turning. Must not know: kinds of finding, sentences about them.

use jiff::Timestamp;
use physics::machine::package::modulating_power_share;
use physics::quantity::{GaugePressure, PressureDifference, Temperature};
use physics::working::{Formula, Mark, Step};
use station::forward::{
    Conditions, Health, Intake, MachineHealth, MachineState, Running, machine_state,
    room_temperature,
};
use station::model::{Asset, Control, Machine, Station};
use station::point::{Point, PointId};

use crate::day::{Day, DutyFrom};
use crate::finding::{Cost, Finding, Urgency};
use crate::memory::Memory;
use crate::say::{grouped, percent, round};

const YEAR_ENERGY: Formula = Formula {
    name: "energy in a year",
    equation: "E = Σ_months h/12 · [a · P_loaded + (1 − a) · P_unloaded], a = demand/delivery",
    unit: "kWh",
    source: "the forward model at each month's mean weather",
    mark: Mark::Derived,
};
const DIFFERENCE: Formula = Formula {
    name: "energy lost in a year",
    equation: "ΔE = E_found − E_should",
    unit: "kWh",
    source: "the same model run twice",
    mark: Mark::Derived,
};
const MONEY: Formula = Formula {
    name: "cost in a year",
    equation: "cost = ΔE · price",
    unit: "per year",
    source: "`site.price` of the station file",
    mark: Mark::Derived,
};
const AIR_ENERGY: Formula = Formula {
    name: "energy of the air lost in a year",
    equation: "ΔE = V_lost · h · 60 · e, e = (P_loaded − P_unloaded)/(60 V) under load/unload",
    unit: "kWh",
    source: "the forward model at the year's mean weather",
    mark: Mark::Derived,
};

/// How one machine runs through the year.
#[derive(Debug, Clone, PartialEq)]
pub struct Use {
    /// Hours run in a year.
    pub hours: f64,
    /// Where that comes from.
    pub from: String,
    /// Duty.
    pub duty: f64,
    /// Hours run a day, if the counters tell.
    pub hours_a_day: Option<f64>,
}

/// The year that costs are run over.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Year {
    /// Each machine's use.
    pub uses: Vec<Use>,
    /// Twelve months of weather, or one for all.
    months: Vec<Conditions>,
}

/// Energy with the health as found and as it should be.
#[derive(Debug, Clone, PartialEq)]
pub struct Priced {
    /// The cost as told.
    pub cost: Cost,
    /// Share of the machine's yearly energy.
    pub share: f64,
    /// How it comes about.
    pub steps: Vec<Step>,
}

impl Year {
    /// From the rounds: the counters tell the use, the newest round the weather where no climate is
    /// told.
    pub(crate) fn of(station: &Station, memory: &Memory, day: &Day) -> Self {
        let uses = (0..station.machines.len())
            .map(|i| usage(station, memory, day, i))
            .collect();
        let weather = &day.conditions;
        Self::from_uses(station, uses, weather.ambient, weather.humidity)
    }

    /// From known uses, one a machine: the months of `site.climate` if they are told, else one month
    /// of this ambient and relative humidity (0…1).
    #[must_use]
    pub fn from_uses(
        station: &Station,
        uses: Vec<Use>,
        ambient: Temperature,
        humidity: f64,
    ) -> Self {
        let months = match &station.site.climate {
            Some(climate) => (0..12)
                .map(|m| Conditions {
                    ambient: climate.mean[m],
                    humidity: climate.humidity[m],
                    ..still(station, &uses)
                })
                .collect(),
            None => vec![Conditions {
                ambient,
                humidity,
                ..still(station, &uses)
            }],
        };
        Self { uses, months }
    }

    /// Mean of a machine's state over the year.
    fn states(
        &self,
        station: &Station,
        i: usize,
        health: &MachineHealth,
        more: PressureDifference,
    ) -> Option<Vec<MachineState>> {
        let mut whole = Health::new(station);
        whole.machines[i] = *health;
        self.months
            .iter()
            .map(|month| {
                let mut conditions = month.clone();
                let running = &mut conditions.machines[i];
                running.pressure = GaugePressure::new(running.pressure.si() + more.si());
                let intake = Intake::of(&conditions).ok()?;
                let room = room_temperature(station, &whole, &conditions).ok()?;
                machine_state(station, i, health, &conditions, &intake, room).ok()
            })
            .collect()
    }

    /// Energy in a year, kWh, of a machine that has to meet the demand which it meets when healthy.
    fn energy(
        &self,
        station: &Station,
        i: usize,
        health: &MachineHealth,
        more: PressureDifference,
    ) -> Option<f64> {
        let usage = self.uses.get(i)?;
        let healthy = self.states(
            station,
            i,
            &MachineHealth::NEW,
            PressureDifference::new(0.0),
        )?;
        let found = self.states(station, i, health, more)?;
        let months = healthy.len() as f64;
        let machine = &station.machines[i];
        let sum = healthy.iter().zip(&found).map(|(new, now)| {
            let air = new.dry_air / now.dry_air;
            usage.hours / months * mean_kw(machine, usage.duty, air, now)
        });
        Some(sum.sum())
    }

    /// What a health costs a year against the machine as new.
    #[must_use]
    pub fn of_health(
        &self,
        station: &Station,
        i: usize,
        found: &MachineHealth,
        should: &MachineHealth,
    ) -> Option<Priced> {
        let none = PressureDifference::new(0.0);
        self.priced(station, i, (found, none), (should, none))
    }

    /// What it costs a year that a machine works against so much more pressure.
    #[must_use]
    pub fn of_pressure(
        &self,
        station: &Station,
        i: usize,
        more: PressureDifference,
    ) -> Option<Priced> {
        let none = PressureDifference::new(0.0);
        let new = &MachineHealth::NEW;
        self.priced(station, i, (new, more), (new, none))
    }

    fn priced(
        &self,
        station: &Station,
        i: usize,
        found: (&MachineHealth, PressureDifference),
        should: (&MachineHealth, PressureDifference),
    ) -> Option<Priced> {
        let as_found = self.energy(station, i, found.0, found.1)?;
        let as_should = self.energy(station, i, should.0, should.1)?;
        let lost = as_found - as_should;
        let usage = &self.uses[i];
        let how = format!(
            "{} h a year ({}), duty {}",
            grouped(usage.hours),
            usage.from,
            percent(usage.duty)
        );
        let mut steps = vec![
            YEAR_ENERGY.step(format!("as found: {how}"), as_found),
            YEAR_ENERGY.step(format!("as it should be: {how}"), as_should),
            DIFFERENCE.step(
                format!("{} − {}", grouped(as_found), grouped(as_should)),
                lost,
            ),
        ];
        let cost = money(station, lost, &mut steps);
        Some(Priced {
            cost,
            share: lost / as_should,
            steps,
        })
    }

    /// What lost air costs a year: `flow` m³/s of reference air, `hours` a year, made by the machine
    /// that unloads last.
    #[must_use]
    pub fn of_air(&self, station: &Station, flow_m3_s: f64, hours: Option<f64>) -> Option<Priced> {
        let i = self.trimming(station)?;
        let states = self.states(
            station,
            i,
            &MachineHealth::NEW,
            PressureDifference::new(0.0),
        )?;
        let count = states.len() as f64;
        let machine = &station.machines[i];
        let usage = &self.uses[i];
        let hours = hours.unwrap_or(usage.hours);
        let worth = states
            .iter()
            .map(|s| worth_kwh_per_m3(machine, usage.duty, s))
            .sum::<f64>()
            / count;
        let lost = flow_m3_s * 3600.0 * hours * worth;
        let whole = self.energy(
            station,
            i,
            &MachineHealth::NEW,
            PressureDifference::new(0.0),
        )?;
        let mut steps = vec![AIR_ENERGY.step(
            format!(
                "{} m³/min for {} h a year, worth {} kWh/m³ with {} on {}",
                round(flow_m3_s * 60.0, 3),
                grouped(hours),
                round(worth, 4),
                machine.id,
                control_words(machine)
            ),
            lost,
        )];
        let cost = money(station, lost, &mut steps);
        Some(Priced {
            cost,
            share: lost / whole.max(1.0),
            steps,
        })
    }

    /// The machine that follows the demand: the last in order that runs.
    pub(crate) fn trimming(&self, station: &Station) -> Option<usize> {
        (0..station.machines.len())
            .filter(|&i| self.uses.get(i).is_some_and(|u| u.hours > 1.0))
            .max_by_key(|&i| station.machines[i].order)
    }

    /// Hours in a year in which the station is under pressure: the longest of its machines.
    #[must_use]
    pub fn hours_under_pressure(&self) -> f64 {
        self.uses.iter().map(|u| u.hours).fold(0.0, f64::max)
    }
}

fn control_words(machine: &Machine) -> &'static str {
    match machine.control {
        Control::LoadUnload(_) => "load/unload",
        Control::StartStop(_) => "start/stop",
        Control::Modulating(_) => "modulating control",
        Control::VariableSpeed { .. } => "variable speed",
    }
}

/// kWh for one cubic metre of reference air less.
fn worth_kwh_per_m3(machine: &Machine, duty: f64, state: &MachineState) -> f64 {
    let flow = physics::air::reference_air(state.dry_air).si() * 3600.0;
    let kw = match machine.control {
        Control::LoadUnload(_) => (state.power - state.unloaded_power).kw(),
        // Between nothing and full flow a throttled machine saves 30 % of its full power.
        Control::Modulating(_) => {
            let full_flow = flow / duty.clamp(0.05, 1.0);
            return (full_power_kw(duty, state) - throttled_kw(0.0, duty, state)) / full_flow;
        }
        Control::StartStop(_) | Control::VariableSpeed { .. } => state.power.kw(),
    };
    kw / flow
}

/// Mean input, kW, while a machine meets `duty` times its healthy delivery; `air` is healthy over
/// present delivery.
fn mean_kw(machine: &Machine, duty: f64, air: f64, now: &MachineState) -> f64 {
    let load = duty * air;
    match machine.control {
        Control::LoadUnload(_) => {
            load * now.power.kw() + (1.0 - load).max(0.0) * now.unloaded_power.kw()
        }
        Control::StartStop(_) => load * now.power.kw(),
        Control::Modulating(_) => throttled_kw(load.min(1.0), duty, now),
        Control::VariableSpeed { .. } => air * now.power.kw(),
    }
}

/// Power of a throttled machine at full flow, from its power at a duty.
fn full_power_kw(duty: f64, at_duty: &MachineState) -> f64 {
    let share = modulating_power_share(duty.clamp(0.0, 1.0)).unwrap_or(1.0);
    at_duty.power.kw() / share
}

/// Power of a throttled machine at another flow share.
fn throttled_kw(flow_share: f64, duty: f64, at_duty: &MachineState) -> f64 {
    full_power_kw(duty, at_duty) * modulating_power_share(flow_share.clamp(0.0, 1.0)).unwrap_or(1.0)
}

/// Every machine that runs, at its duty, without weather.
fn still(station: &Station, uses: &[Use]) -> Conditions {
    let machines = uses
        .iter()
        .enumerate()
        .map(|(i, usage)| Running::at_duty(station, i, usage.duty.max(0.02)))
        .collect();
    Conditions {
        ambient: Temperature::from_celsius(15.0),
        humidity: 0.7,
        atmosphere: station.standard_atmosphere(),
        room: None,
        machines,
        demand: None,
    }
}

/// Turns lost energy, kWh a year, into a cost, with its step.
pub fn money(station: &Station, kwh: f64, steps: &mut Vec<Step>) -> Cost {
    let price = station.site.price.as_ref();
    let per_year = price.map(|p| kwh * p.energy_per_kwh);
    if let (Some(p), Some(sum)) = (price, per_year) {
        let mut step = MONEY.step(format!("{} kWh · {}", grouped(kwh), p.energy_per_kwh), sum);
        step.unit = format!("{} per year", p.currency);
        steps.push(step);
    }
    Cost {
        per_year,
        kwh_per_year: Some(kwh),
        why_not: per_year
            .is_none()
            .then(|| "`site.price` is not in the station file".to_owned()),
    }
}

fn usage(station: &Station, memory: &Memory, day: &Day, i: usize) -> Use {
    let asset = Asset::Machine(i);
    let id = PointId {
        asset,
        point: Point::HoursRun,
    };
    let run = memory.increase(id, 400.0);
    let hours_a_day = run
        .filter(|(_, days)| *days >= 2.0)
        .map(|(hours, days)| hours / days);
    let both = memory
        .latest()
        .and_then(|r| memory.hours(asset, r.time, 400.0));
    let logged = memory
        .latest()
        .and_then(|r| memory.logged_hours(asset, r.time, 400.0));
    let duty = match both.or(logged) {
        Some(h) if h.run > 1.0 => (h.loaded / h.run).clamp(0.02, 1.0),
        _ => day.conditions.machines[i].duty,
    };
    let duty = if duty > 0.0 || day.duty_from[i] != DutyFrom::Assumed {
        duty
    } else {
        0.5
    };
    let (counter, log) = ("its own hour counter", "the hours that the log saw it run");
    let told_by = if hours_a_day.is_some() { counter } else { log };
    let hours_a_day = hours_a_day.or(logged.filter(|h| h.days >= 2.0).map(|h| h.run / h.days));
    let (hours, from) = match (hours_a_day, &station.site.hours) {
        (Some(a_day), _) => ((a_day * 365.25).min(8766.0), told_by.to_owned()),
        (None, Some(hours)) => (
            hours.hours_a_week() * 365.25 / 7.0,
            "the plant's working hours".to_owned(),
        ),
        (None, None) => (
            4000.0,
            "assumed, neither counter nor working hours are told".to_owned(),
        ),
    };
    Use {
        hours,
        from,
        duty,
        hours_a_day,
    }
}

/// The date so many days after a moment, in the station's time zone.
pub(crate) fn date_after(
    station: &Station,
    from: Timestamp,
    days: f64,
) -> Option<jiff::civil::Date> {
    if !(days.is_finite() && days.abs() < 40_000.0) {
        return None;
    }
    let start = from
        .to_zoned_datetime(station.site.time_zone.clone())
        .date();
    start
        .checked_add(jiff::Span::new().days(days.round() as i64))
        .ok()
}

/// The price of a loss: cost, its steps, and the urgency that a loss of this size has.
pub fn price(finding: &mut Finding, priced: Option<Priced>) {
    match priced {
        Some(priced) => {
            finding.urgency = if priced.share > 0.01 {
                Urgency::NextService
            } else {
                Urgency::Watch
            };
            finding.cost = priced.cost;
            finding.working.extend(priced.steps);
        }
        None => finding.cost = Cost::at_stake("the model gives no sum for these conditions"),
    }
}
