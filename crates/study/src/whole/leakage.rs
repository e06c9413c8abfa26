//! The leakage, by each way that the log allows; each leans on other facts than the others.
//!
//! All are of the time off-shift. What flows then by the station file, purge and timer drains, is
//! taken off; night consumers cannot be told from leaks by any of these ways.
//!
//! Must not know: findings, money.

use physics::air::{mass_of_reference_air, reference_air};
use physics::quantity::{GaugePressure, ReferenceAir, Temperature};
use physics::vessel::leak_test::{
    LEAK_FROM_CYCLE, LEAK_FROM_DECAY, leak_at_pressure, leak_from_decay_exact,
    leak_share_from_cycle,
};
use physics::working::{Formula, Mark};

use super::spent::{Drawn, Spent};
use super::storage::{T_SIGMA, T0, Volume};
use super::{Air, Modelled};
use crate::figures::{Leakage, LeakageMethod, MachineDays};
use crate::reduce::air::AirHour;
use crate::reduce::air::gather::{Fall, Timed};
use crate::reduce::thin::{median, quantile};
use judge::say::{percent, round};

/// Fewer hours, cycles or falls say nothing.
const LEAST: usize = 5;
/// A cycle so far from the usual is left out: so many scatters.
const FAR: f64 = 5.0;
/// Load and unload must last so many rows.
const ROWS: f64 = 2.0;
/// How well a flow meter reads, as a share.
const METER: f64 = 0.035;

const OFF_SHIFT: Formula = Formula {
    name: "mean delivery off-shift",
    equation: "V̇ = Σ delivered/Σ time, over hours wholly outside working hours",
    unit: "m³/min",
    source: "definition; deliveries by the forward model, or as measured",
    mark: Mark::Derived,
};
const TIMES_DELIVERY: Formula = Formula {
    name: "leakage from its share",
    equation: "V̇ = share · delivery",
    unit: "m³/min",
    source: "definition; delivery by the forward model at the mean pressure on load",
    mark: Mark::Derived,
};
const AT_MEAN: Formula = Formula {
    name: "leakage at the mean pressure of the fall",
    equation: "ṁ₂ = ṁ₁ p₂/p₁",
    unit: "m³/min",
    source: "leaks that choke",
    mark: Mark::Derived,
};

/// All ways.
pub(super) fn of(
    air: &Air<'_>,
    machines: &[MachineDays],
    volume: Option<Volume>,
    spent: &Spent,
    remarks: &mut Vec<String>,
) -> Vec<Leakage> {
    if air.station.site.hours.is_none() {
        return Vec::new();
    }
    let ways = if air.others_unseen {
        let measured = super::deliveries::measured(air);
        [
            measured.and_then(|_| off_shift(air, machines, spent)),
            None,
            None,
        ]
    } else {
        [
            off_shift(air, machines, spent),
            timed(air, spent),
            decay(air, volume, spent),
        ]
    };
    let found: Vec<Leakage> = ways.into_iter().flatten().collect();
    for (at, a) in found.iter().enumerate() {
        for b in found.iter().skip(at + 1).filter(|b| !a.m3_s.meets(&b.m3_s)) {
            let told = |l: &Leakage| {
                format!(
                    "{} to {} m³/min by {}",
                    round(60.0 * l.m3_s.low, 2),
                    round(60.0 * l.m3_s.high, 2),
                    l.method.text()
                )
            };
            remarks.push(format!(
                "Two ways to the leakage disagree by more than their intervals: {}, {}. {}",
                told(a),
                told(b),
                why(a.method, b.method)
            ));
        }
    }
    if !found.is_empty() {
        remarks.push(spent.remark(air.station));
    }
    found
}

/// What may part two ways.
fn why(a: LeakageMethod, b: LeakageMethod) -> &'static str {
    use LeakageMethod::{LoadUnloadTimes, OffShiftDelivery, PressureDecay};
    match (a, b) {
        (PressureDecay, _) | (_, PressureDecay) => {
            "The storage may be other than told, or the machines may deliver other than rated"
        }
        (OffShiftDelivery, LoadUnloadTimes) | (LoadUnloadTimes, OffShiftDelivery) => {
            "The times see only cycles of one machine alone: more was drawn in hours in which several ran, or one stayed on load"
        }
        _ => "The nights differ from each other",
    }
}

/// What was delivered, or measured, in hours off-shift.
fn off_shift(air: &Air<'_>, machines: &[MachineDays], spent: &Spent) -> Option<Leakage> {
    let off = |hour: &&AirHour| hour.off_shift && hour.covered > 0;
    // Hour by hour: m³ and s. A partly covered hour counts as far as it is covered.
    let measured = super::deliveries::measured(air).is_some();
    let by_hour: Vec<(f64, f64)> = if measured {
        let flows = air
            .hours
            .iter()
            .filter(|hour| hour.off_shift)
            .map(AirHour::flow);
        flows.filter(|(_, seconds)| *seconds > 0.0).collect()
    } else {
        let mut by_hour: Vec<(f64, f64)> = Vec::new();
        for hour in air.hours.iter().filter(off) {
            let mut m3 = 0.0;
            for machine in machines {
                let key = (hour.hour.date, hour.hour.hour);
                let at = machine
                    .hours
                    .binary_search_by_key(&key, |h| (h.date, h.hour));
                let found = at.ok().and_then(|at| machine.hours.get(at));
                m3 += found.map_or(Some(0.0), |h| h.delivered_m3)?;
            }
            by_hour.push((m3, hour.covered as f64 * 1e-6));
        }
        by_hour
    };
    if by_hour.len() < LEAST {
        return None;
    }
    let (m3, seconds) = by_hour
        .iter()
        .fold((0.0, 0.0), |(m3, s), hour| (m3 + hour.0, s + hour.1));
    if seconds <= 0.0 {
        return None;
    }
    let flow = m3 / seconds;
    // Of a ratio: the scatter of what is left over, hour by hour.
    let left: f64 = by_hour.iter().map(|(m3, s)| (m3 - flow * s).powi(2)).sum();
    let scatter = left.sqrt() / seconds;
    let share = if measured { METER } else { sigma_of_all(air) };
    let step = OFF_SHIFT.step(
        format!(
            "{} m³{} in {} h",
            round(m3, 1),
            if measured { ", measured," } else { "" },
            round(seconds / 3600.0, 1)
        ),
        60.0 * flow,
    );
    let left = spent.off(
        air,
        if measured {
            Drawn::Measured
        } else {
            Drawn::Delivered
        },
        (flow, scatter.hypot(share * flow)),
        vec![step],
    );
    Some(Leakage {
        method: LeakageMethod::OffShiftDelivery,
        m3_s: left.net,
        total_m3_s: left.total,
        count: by_hour.len() as u64,
        working: left.working,
    })
}

/// The delivery's uncertainty, weighed by what each machine delivered.
fn sigma_of_all(air: &Air<'_>) -> f64 {
    let weigh = |m: &Modelled| m.sums.full_s * m.line.air.0;
    let all: f64 = air.models.iter().map(weigh).sum();
    let squares = air.models.iter().map(|m| (m.sigma * weigh(m)).powi(2));
    let sum: f64 = squares.sum();
    if all > 0.0 { sum.sqrt() / all } else { 0.0 }
}

/// Load and unload times of the machine that cycles most.
fn timed(air: &Air<'_>, spent: &Spent) -> Option<Leakage> {
    let all = air.gather.timed.kept();
    let count = |at: usize| all.iter().filter(|t| t.machine == at).count();
    let at = (0..air.models.len()).max_by_key(|&at| count(at))?;
    let model = air.models.get(at)?;
    let own: Vec<&Timed> = all.iter().filter(|t| t.machine == at).collect();
    let share_of = |t: &Timed| t.load_s / (t.load_s + t.unload_s).max(1e-9);
    let shares: Vec<f64> = own.iter().map(|t| share_of(t)).collect();
    let (usual, sigma) = median(&shares)?;
    let scatter = sigma * (shares.len() as f64).sqrt() / 1.2533;
    // A row more or less on load is no reason to leave a cycle out.
    let row = air.interval_s.unwrap_or(0.0);
    let near = |t: &&&Timed| {
        let rows = 2.0 * row / (t.load_s + t.unload_s).max(1e-9);
        (share_of(t) - usual).abs() <= FAR * scatter + 0.02 + rows
    };
    let kept: Vec<&&Timed> = own.iter().filter(near).collect();
    // Loads or unloads of hardly a row: many are missed, and those that are seen look longer.
    let usual = |of: fn(&Timed) -> f64| {
        let times: Vec<f64> = kept.iter().map(|t| of(t)).collect();
        quantile(&times, 0.5).unwrap_or(0.0)
    };
    let resolved = usual(|t| t.load_s).min(usual(|t| t.unload_s)) >= ROWS * row;
    if kept.len() < LEAST || !resolved {
        return None;
    }
    let load: f64 = kept.iter().map(|t| t.load_s).sum();
    let unload: f64 = kept.iter().map(|t| t.unload_s).sum();
    let share = leak_share_from_cycle(load, unload).ok()?;
    // Of a ratio of sums: the scatter of what is left over, cycle by cycle.
    let left: f64 = kept
        .iter()
        .map(|t| (t.load_s - share * (t.load_s + t.unload_s)).powi(2))
        .sum();
    let of_share = left.sqrt() / (load + unload);
    let pressures: Vec<f64> = kept.iter().map(|t| t.pressure).collect();
    let pressure = quantile(&pressures, 0.5).unwrap_or_else(|| model.pressure());
    let delivery = model.line.full(pressure);
    let flow = share * delivery;
    let n = kept.len();
    let mut first = LEAK_FROM_CYCLE.step(
        format!(
            "{} s/({} s + {} s), sums of {n} cycles",
            round(load, 0),
            round(load, 0),
            round(unload, 0)
        ),
        share,
    );
    first.name = format!(
        "{} of {}",
        first.name, air.station.machines[model.machine].id
    );
    let second = TIMES_DELIVERY.step(
        format!("{} · {} m³/min", percent(share), round(60.0 * delivery, 2)),
        60.0 * flow,
    );
    let left = spent.off(
        air,
        Drawn::Delivered,
        (flow, (of_share * delivery).hypot(model.sigma * flow)),
        vec![first, second],
    );
    Some(Leakage {
        method: LeakageMethod::LoadUnloadTimes,
        m3_s: left.net,
        total_m3_s: left.total,
        count: n as u64,
        working: left.working,
    })
}

/// The leakage of one fall at its mean pressure, m³/s for each m³ of storage.
fn of_fall(air: &Air<'_>, fall: &Fall) -> Option<f64> {
    let atmosphere = air.station.standard_atmosphere();
    let at = |gauge: f64| GaugePressure::new(gauge).absolute(atmosphere);
    let (start, end) = (at(fall.start), at(fall.end));
    let t = Temperature::new(T0);
    let leak = leak_from_decay_exact(1.0, t, start, end, atmosphere, fall.seconds).ok()?;
    let mean = at(0.5 * (fall.start + fall.end));
    Some(reference_air(leak_at_pressure(leak, start, mean).ok()?).si())
}

/// Falls without any delivery, of a storage that is known.
fn decay(air: &Air<'_>, volume: Option<Volume>, spent: &Spent) -> Option<Leakage> {
    let volume = volume?;
    let falls = air.gather.falls.kept();
    if falls.len() < LEAST {
        return None;
    }
    let each: Vec<(f64, &Fall)> = falls
        .iter()
        .filter_map(|fall| Some((of_fall(air, fall)?, fall)))
        .collect();
    let flows: Vec<f64> = each.iter().map(|(flow, _)| *flow).collect();
    let (middle, scatter) = median(&flows)?;
    let flow = volume.m3 * middle;
    let share = (scatter / middle.max(1e-12))
        .hypot(volume.sigma)
        .hypot(T_SIGMA / T0);
    let (_, usual) = each
        .iter()
        .min_by(|(a, _), (b, _)| (a - middle).abs().total_cmp(&(b - middle).abs()))?;
    let atmosphere = air.station.standard_atmosphere();
    let at = |gauge: f64| GaugePressure::new(gauge).absolute(atmosphere);
    let start = leak_from_decay_exact(
        volume.m3,
        Temperature::new(T0),
        at(usual.start),
        at(usual.end),
        atmosphere,
        usual.seconds,
    )
    .ok()?;
    let first = LEAK_FROM_DECAY.step(
        format!(
            "the middle one of {} falls: {} m³ ({}), {} to {} bar(a) in {} s at 20 °C",
            each.len(),
            round(volume.m3, 2),
            if volume.stated {
                "station file"
            } else {
                "from slopes"
            },
            round(at(usual.start).bar(), 2),
            round(at(usual.end).bar(), 2),
            round(usual.seconds, 0)
        ),
        start.si(),
    );
    let second = AT_MEAN.step(
        format!(
            "{} kg/s at {} bar(a), as air of 20 °C, 1 bar(a), {} kg/m³",
            round(mass_of_reference_air(ReferenceAir::new(flow)).si(), 4),
            round(at(0.5 * (usual.start + usual.end)).bar(), 2),
            round(physics::air::REFERENCE_DENSITY, 3)
        ),
        60.0 * flow,
    );
    let left = spent.off(
        air,
        Drawn::Stored(usual.seconds),
        (flow, share * flow),
        vec![first, second],
    );
    Some(Leakage {
        method: LeakageMethod::PressureDecay,
        m3_s: left.net,
        total_m3_s: left.total,
        count: each.len() as u64,
        working: left.working,
    })
}

/// The leakage to reckon with: of the ways that were found, the one with the narrowest interval.
pub(crate) fn best(leakage: &[Leakage]) -> Option<&Leakage> {
    let width = |l: &&Leakage| (l.m3_s.high - l.m3_s.low) / l.m3_s.mid.max(1e-9);
    leakage.iter().min_by(|a, b| width(a).total_cmp(&width(b)))
}
