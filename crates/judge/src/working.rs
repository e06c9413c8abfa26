//! The working of an expectation: from the conditions over the formulas to the band.
//!
//! Must not know: kinds of finding.

use physics::air::{DEW_POINT, HUMIDITY_RATIO};
use physics::heat::aftercooler::MARCH;
use physics::heat::cooler::CONDUCTANCE;
use physics::heat::thermostat::HELD;
use physics::machine::oil::DISCHARGE;
use physics::machine::package::{AIR_END_PRESSURE, DELIVERY, POWER};
use physics::quantity::{BAR_PA, ZERO_CELSIUS_K};
use physics::validity::Refusal;
use physics::working::{Formula, Mark, Step};
use station::forward::{Conditions, MachineState};
use station::model::{Asset, Station};
use station::point::{Point, PointId};

use crate::context::{Context, Look, Residual};
use crate::say::{file_unit, in_file_unit, round};

const EXPECTED: Formula = Formula {
    name: "expected",
    equation: "forward model at the round's conditions",
    unit: "-",
    source: "the station file's values and defaults, put through the formulas of this working",
    mark: Mark::Derived,
};
const BAND: Formula = Formula {
    name: "standard uncertainty",
    equation: "σ² = Σ (∂y/∂x · σ_x)² + σ_instrument² + σ_model²",
    unit: "-",
    source: "JCGM 100:2008, first-order propagation through the model",
    mark: Mark::Published,
};
const LOW_END: Formula = Formula {
    name: "low end of the band",
    equation: "y − 1.96 σ",
    unit: "-",
    source: "95 % of a normal distribution",
    mark: Mark::Derived,
};
const HIGH_END: Formula = Formula {
    name: "high end of the band",
    equation: "y + 1.96 σ",
    ..LOW_END
};
const DEVIATION: Formula = Formula {
    name: "deviation",
    equation: "z = (read − expected)/σ, beyond the 95 % band where |z| > 1.96",
    unit: "-",
    source: "definition",
    mark: Mark::Derived,
};

const HOLDS: Formula = Formula {
    name: "what the formula was asked for",
    equation: "within the range for which it holds",
    unit: "-",
    source: "the range's own source, as named",
    mark: Mark::Derived,
};

/// Why the model gives no answer, as a step; nothing where no number is at fault.
pub(crate) fn refused(refusal: &Refusal) -> Vec<Step> {
    let (got, unit) = match refusal {
        Refusal::OutOfRange { range, got } => (*got, range.unit),
        Refusal::Contradiction { first, .. } => (*first, "-"),
        Refusal::NoSolution { .. } => return Vec::new(),
    };
    vec![Step {
        unit: unit.to_owned(),
        ..HOLDS.step(refusal.to_string(), got)
    }]
}

fn celsius(kelvin: f64) -> String {
    format!("{} °C", round(kelvin - ZERO_CELSIUS_K, 1))
}

/// The conditions in words, with where each comes from.
pub(crate) fn conditions_words(station: &Station, look: &Look, machine: Option<usize>) -> String {
    let c = &look.day.conditions;
    let mut words = format!(
        "outdoors {}{}, humidity {} %, atmosphere {} bar(a)",
        celsius(c.ambient.si()),
        if look.day.weather_read {
            ""
        } else {
            " (not read, taken from the climate)"
        },
        round(c.humidity * 100.0, 0),
        round(c.atmosphere.bar(), 4),
    );
    match c.room {
        Some(room) => words += &format!(", air to the coolers {} (read)", celsius(room.si())),
        None => {
            if let Some(state) = &look.state {
                words += &format!(
                    ", air to the coolers {} (computed)",
                    celsius(state.room.si())
                );
            }
        }
    }
    if let Some(i) = machine {
        let from = match look.day.duty_from[i] {
            crate::day::DutyFrom::Counters => "hour counters since the last round",
            crate::day::DutyFrom::Watch => "load and unload time by the watch",
            crate::day::DutyFrom::Log => "share of the last 20 min on load, by the log",
            crate::day::DutyFrom::LogOfWeeks => "hours of the last weeks, by the log",
            crate::day::DutyFrom::Speed => "speed read",
            crate::day::DutyFrom::Assumed => "assumed, no counters were read",
            crate::day::DutyFrom::Stated => "stated",
        };
        words += &format!(
            ", {} at {} bar(g), duty {} ({from})",
            station.machines[i].id,
            round(c.machines[i].pressure.bar(), 2),
            round(c.machines[i].duty, 2),
        );
    }
    words
}

/// The steps behind one machine's oil and outlet temperature, air and power.
pub(crate) fn machine_steps(
    station: &Station,
    i: usize,
    conditions: &Conditions,
    state: &MachineState,
) -> Vec<Step> {
    let m = &station.machines[i];
    let run = &conditions.machines[i];
    let flow = state.free_air.m3_per_min();
    let mut steps = vec![
        HUMIDITY_RATIO.step(
            format!(
                "{}, {} %",
                celsius(conditions.ambient.si()),
                round(conditions.humidity * 100.0, 0)
            ),
            state.humidity_ratio,
        ),
        AIR_END_PRESSURE.step(
            format!(
                "p_d = {} bar(a), Δp_after = {} bar, Δp_separator = {} bar",
                round(run.pressure.absolute(conditions.atmosphere).bar(), 3),
                round(m.cooling.after_drop.value.bar(), 2),
                round(m.separator.clean.value.bar(), 2)
            ),
            state.air_end.bar(),
        ),
        DELIVERY.step(
            format!(
                "{} m³/min · s {} · [1 − {} %/bar · ({} − {}) bar]",
                round(m.rated.fad.value.m3_per_min(), 2),
                round(run.speed, 2),
                round(m.slip_per_pa.value * BAR_PA * 100.0, 2),
                round(run.pressure.bar(), 2),
                round(m.rated.pressure.bar(), 2)
            ),
            flow,
        ),
        POWER.step(
            format!(
                "P_r = {} kW, P_fan = {} kW, p_in = {} bar(a), p_2 = {} bar(a)",
                round(m.rated.power.value.kw(), 1),
                round(m.fan_power.value.kw(), 1),
                round(state.intake.bar(), 3),
                round(state.air_end.bar(), 2)
            ),
            state.power.kw(),
        ),
    ];
    if let (Some(oil), Some(free)) = (state.oil_temperature, state.free_oil_temperature) {
        steps.push(CONDUCTANCE.step(
            format!("fan share φ = {}", round(state.fan_share, 2)),
            state.conductance_w_k,
        ));
        steps.push(DISCHARGE.step(
            format!(
                "Q_now = {} kW of {} kW at {} bar(g), G = {} W/K, C_oil = {} W/K, load of the last quarter of an hour {}",
                round(state.heat.oil / 1e3, 1),
                round(state.heat.power / 1e3, 1),
                round(run.warms_at().bar(), 2),
                round(state.conductance_w_k, 0),
                round(state.oil_capacity_w_k, 0),
                round(run.recent_load, 2)
            ),
            free.celsius(),
        ));
        steps.push(HELD.step(
            format!(
                "T_free = {}, T_held = {}",
                celsius(free.si()),
                celsius(m.oil.held_at.value.si())
            ),
            oil.celsius(),
        ));
        steps.push(MARCH.step(
            format!(
                "in at {}, N = {}, hot-side share {}",
                celsius(oil.si()),
                round(state.transfer_units, 2),
                round(m.cooling.hot_side_share.value, 2)
            ),
            state.outlet.celsius(),
        ));
    }
    steps
}

/// The dew point in the oil as a step.
pub(crate) fn oil_dew_point_step(state: &MachineState) -> Step {
    DEW_POINT.step(
        format!(
            "W = {} kg/kg at p_2 = {} bar(a)",
            round(state.humidity_ratio, 5),
            round(state.air_end.bar(), 2)
        ),
        state.oil_dew_point.celsius(),
    )
}

impl Context<'_> {
    /// Expectation, band and deviation of a residual, after the formulas that lead to it.
    pub(crate) fn working_of(&self, residual: &Residual) -> Vec<Step> {
        let look = self.look_of(residual);
        let point = residual.id.point;
        let machine = match residual.id.asset {
            Asset::Machine(i) => Some(i),
            _ => None,
        };
        let mut steps = Vec::new();
        let state = |i: usize| look.state.as_ref()?.machines[i].as_ref();
        if let Some((i, state)) = machine.and_then(|i| Some((i, state(i)?))) {
            steps = machine_steps(self.station, i, &look.day.conditions, state);
        }
        let (mid, unit) = in_file_unit(point, residual.band.mid);
        let mut expected = EXPECTED.step(conditions_words(self.station, look, machine), mid);
        expected.name = format!("expected {}", self.point_name(residual.id));
        expected.unit = unit.to_owned();
        steps.push(expected);
        steps.push(self.band_step(residual.id, &residual.band.from, residual.band.sigma));
        let sigma = in_difference_unit(point, residual.band.sigma);
        for (end, by) in [(LOW_END, -1.96), (HIGH_END, 1.96)] {
            let value = mid + by * sigma;
            let numbers = format!(
                "{} {} 1.96 · {}",
                round(mid, 2),
                if by < 0.0 { "−" } else { "+" },
                round(sigma, 3)
            );
            steps.push(Step {
                unit: unit.to_owned(),
                ..end.step(numbers, value)
            });
        }
        let (read, _) = in_file_unit(point, residual.read);
        steps.push(DEVIATION.step(
            format!(
                "({} − {})/{}",
                round(read, 2),
                round(mid, 2),
                round(sigma, 3)
            ),
            residual.z,
        ));
        steps
    }

    fn band_step(&self, id: PointId, from: &[(String, f64)], sigma: f64) -> Step {
        let parts = from
            .iter()
            .map(|(what, by)| format!("{what} {}", round(in_difference_unit(id.point, *by), 3)))
            .collect::<Vec<_>>()
            .join("; ");
        let mut step = BAND.step(
            format!("largest: {parts}"),
            in_difference_unit(id.point, sigma),
        );
        step.unit = match in_file_unit(id.point, 0.0).1 {
            "degC" => "K",
            "bar(g)" | "bar(a)" => "bar",
            unit => unit,
        }
        .to_owned();
        step
    }
}

/// A difference in the file unit's size.
pub(crate) fn in_difference_unit(point: Point, si: f64) -> f64 {
    si / file_unit(point.dimension()).1
}
