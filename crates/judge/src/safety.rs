//! Cautions beside the steps that need them, by the energy that is really stored here.
//!
//! They are short and always end with local codes and licensed people. Must not know: findings.

use physics::quantity::{AbsolutePressure, GaugePressure};
use physics::vessel::stored_energy::stored_energy_j;
use physics::working::{Formula, Mark, Step};
use station::model::{Asset, Control, DryerKind, Machine, Station};

use crate::say::{Units, round};

/// The last word of every list of cautions.
pub const LOCAL_CODES: &str = "Local codes and licensed people come first; this list does not replace the lock-out procedure of the plant";

/// One section that can stay under pressure.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Which.
    pub name: String,
    /// The highest pressure that it stands at.
    pub pressure: GaugePressure,
    /// Volume, m³; `None` if not known.
    pub volume_m3: Option<f64>,
    /// Stored energy, J.
    pub energy_j: Option<f64>,
}

/// Every section of a machine and of what stands behind its discharge valve.
#[must_use]
pub fn sections(station: &Station, machine: usize) -> Vec<Section> {
    let atmosphere = station.standard_atmosphere();
    let m = &station.machines[machine];
    let of = |name: String, pressure: GaugePressure, volume_m3: Option<f64>| Section {
        energy_j: volume_m3.and_then(|v| energy(pressure, v, atmosphere)),
        name,
        pressure,
        volume_m3,
    };
    // The separator stands at its own machine's pressure; what lies behind is fed by all of them.
    let line = line_pressure(station);
    let mut list = vec![
        of(
            format!("the oil separator of {}", m.id),
            own_pressure(m),
            Some(m.separator.volume_m3.value),
        ),
        of(
            format!(
                "the pipe of {} between minimum-pressure valve and discharge valve",
                m.id
            ),
            line,
            None,
        ),
    ];
    for v in &station.vessels {
        list.push(of(format!("vessel {}", v.id), line, Some(v.volume_m3)));
    }
    list
}

/// The highest pressure that a machine can bring: where it unloads or its target, and no less than
/// the highest it may work at.
fn own_pressure(machine: &Machine) -> GaugePressure {
    let held = match &machine.control {
        Control::LoadUnload(b) | Control::StartStop(b) | Control::Modulating(b) => b.unload,
        Control::VariableSpeed { target, .. } => *target,
    };
    GaugePressure::new(held.si().max(machine.max_pressure.si()))
}

const CEILING: Formula = Formula {
    name: "lowest pressure that must not be passed",
    equation: "min over machines, vessels and safety valves",
    unit: "bar(g)",
    source: "the station file",
    mark: Mark::Derived,
};
const LINE_PRESSURE: Formula = Formula {
    name: "highest pressure that any machine can bring to the line",
    equation: "max over the machines of max(p_unload or p_target, p_max)",
    unit: "bar(g)",
    source: "the station file",
    mark: Mark::Derived,
};

/// The highest pressure that any machine can bring to the line.
fn line_pressure(station: &Station) -> GaugePressure {
    let highest = station.machines.iter().map(|m| own_pressure(m).si());
    GaugePressure::new(highest.fold(0.0, f64::max))
}

/// The lowest of the pressures that must not be passed: of these machines, of the vessels and of
/// their safety valves; with its name.
fn lowest_ceiling(station: &Station, machines: &[usize]) -> Option<(String, GaugePressure)> {
    let of_machines = machines.iter().filter_map(|&i| {
        let m = station.machines.get(i)?;
        Some((format!("the maximum pressure of {}", m.id), m.max_pressure))
    });
    let of_vessels = station.vessels.iter().flat_map(|v| {
        let valve = v.safety_valve.as_ref();
        std::iter::once((format!("the maximum pressure of {}", v.id), v.max_pressure))
            .chain(valve.map(|valve| (format!("the safety valve of {}", v.id), valve.set)))
    });
    of_machines
        .chain(of_vessels)
        .min_by(|a, b| a.1.si().total_cmp(&b.1.si()))
}

/// The lowest pressure that must not be passed, in words: what, and how high.
#[must_use]
pub fn ceiling(station: &Station, machines: &[usize], units: Units) -> Option<String> {
    lowest_ceiling(station, machines).map(|(name, p)| format!("{name}, {}", units.gauge(p.si())))
}

/// The same as a step.
#[must_use]
pub fn ceiling_step(station: &Station, machines: &[usize]) -> Option<Step> {
    lowest_ceiling(station, machines).map(|(name, p)| CEILING.step(name, p.bar()))
}

/// Before the band of these machines is widened or raised: what must not be approached.
#[must_use]
pub fn before_more_pressure(station: &Station, machines: &[usize], units: Units) -> Vec<String> {
    let ceiling = ceiling(station, machines, units).map(|ceiling| {
        format!(
            "More pressure must not come near {ceiling}: leave the distance that a safety valve and the machine's own protection need"
        )
    });
    ceiling.into_iter().chain(in_the_room()).collect()
}

fn energy(p: GaugePressure, volume_m3: f64, atmosphere: AbsolutePressure) -> Option<f64> {
    stored_energy_j(p.absolute(atmosphere), volume_m3, atmosphere).ok()
}

/// The stored energy of each section as steps of a working.
#[must_use]
pub fn energy_steps(station: &Station, machine: usize) -> Vec<Step> {
    sections(station, machine)
        .into_iter()
        .filter_map(|s| {
            let (volume, joule) = (s.volume_m3?, s.energy_j?);
            let mut step = physics::vessel::stored_energy::STORED_ENERGY.step(
                format!(
                    "{}: {} L at {} bar(g)",
                    s.name,
                    round(volume * 1e3, 0),
                    round(s.pressure.bar(), 1)
                ),
                joule / 1e3,
            );
            step.unit = "kJ".to_owned();
            Some(step)
        })
        .collect()
}

/// The line's pressure as a step, where these cautions name it.
#[must_use]
pub fn line_step(station: &Station, cautions: &[String], units: Units) -> Option<Step> {
    let line = line_pressure(station);
    let named = units.gauge(line.si());
    cautions.iter().any(|c| c.contains(&named)).then(|| {
        LINE_PRESSURE.step(
            "where each unloads or its target, and no less than the highest it may work at",
            line.bar(),
        )
    })
}

/// Isolation before the cabinet is opened.
#[must_use]
pub fn before_the_cabinet(station: &Station, machine: usize, units: Units) -> Vec<String> {
    let m = &station.machines[machine];
    let sections = sections(station, machine);
    let said = |s: &Section| {
        let energy = s
            .energy_j
            .map_or("its volume is not in the station file".to_owned(), |e| {
                format!("{} stored", units.energy(e))
            });
        format!("{} ({}, {energy})", s.name, units.gauge(s.pressure.si()))
    };
    let mut list = vec![
        "Wear hearing protection in the room; tests of drains come before this, under pressure".to_owned(),
        "Stop it normally and wait for run-down; take off automatic and remote start; switch off, lock and tag every supply: machine, dryer, electric drains".to_owned(),
        format!(
            "Close and lock the discharge valve, then vent by hand cock both {} and {}: a non-return valve is not isolation, blowdown does not empty that pipe, and a locked-out electric drain may stay shut: vent by hand",
            said(&sections[0]),
            said(&sections[1])
        ),
    ];
    if let Some(vessel) = sections.iter().skip(2).max_by(|a, b| {
        a.energy_j
            .unwrap_or(0.0)
            .total_cmp(&b.energy_j.unwrap_or(0.0))
    }) {
        list.push(format!(
            "Behind the discharge valve stands {}",
            said(vessel)
        ));
    }
    // What a class 1.6 gauge on 16 bar may hide, on a separator's lid.
    let hidden = match units {
        Units::Si => "0.26 bar on a 250 mm lid pushes with 1.3 kN",
        Units::Us => "4 psi on a 10 in lid push with 300 lbf",
    };
    list.push(format!(
        "Wait for gauges at zero and an open cock that is silent; a gauge's zero is not proof: {hidden}"
    ));
    list.push("Try to start it, then return the control to off".to_owned());
    if matches!(m.control, Control::VariableSpeed { .. }) {
        list.push(
            "Wait the time on the converter's label for its capacitors to discharge".to_owned(),
        );
    }
    list.push(
        "Oil and surfaces are hot; belts and fan stay behind their guards until it is isolated"
            .to_owned(),
    );
    list.push(LOCAL_CODES.to_owned());
    list
}

/// Handing a machine back.
#[must_use]
pub fn hand_back() -> String {
    "Hand back: guards and doors on, oil level right, people clear, cocks shut, locks off by whoever put them on, discharge valve opened slowly, start, look for leaks, take the first loaded reading".to_owned()
}

/// Work at drains, under pressure.
#[must_use]
pub fn at_drains() -> Vec<String> {
    vec![
        "Drains are tried under pressure, before anything is isolated: crack a hand drain slowly, protect eyes and ears, keep hands away from the jet".to_owned(),
        "Condensate carries oil: it goes to the oil-water separator, never to sewer or ground".to_owned(),
        LOCAL_CODES.to_owned(),
    ]
}

/// Cleaning a drain, or opening its strainer or valve.
#[must_use]
pub fn at_an_open_drain(station: &Station, drain: usize, units: Units) -> Vec<String> {
    let mut list = at_drains();
    if let Some(d) = station.drains.get(drain) {
        list.insert(
            list.len() - 1,
            format!(
                "Before strainer or valve of {} is opened: shut it off from {}, vent it by hand, lock and tag its supply, for it opens by itself; without a valve to shut it off, {} itself is shut off and vented; it stands at up to {}",
                d.id,
                station.id(d.on),
                station.id(d.on),
                units.gauge(line_pressure(station).si())
            ),
        );
    }
    list
}

/// Work at a dryer: its outside, its condenser, its valves.
#[must_use]
pub fn at_a_dryer(station: &Station, dryer: usize, units: Units) -> Vec<String> {
    let Some(d) = station.dryers.get(dryer) else {
        return vec![LOCAL_CODES.to_owned()];
    };
    let line = units.gauge(line_pressure(station).si());
    let mut list = vec![format!(
        "Switch {} off, lock and tag its supply, then try to start it: {}",
        d.id,
        match d.kind {
            DryerKind::Refrigeration { .. } => "its fan starts by itself, and parts are hot",
            DryerKind::Desiccant { .. } => "its valves move by themselves",
        }
    )];
    list.push(match d.kind {
        DryerKind::Refrigeration { .. } => format!(
            "Its air side stays at up to {line}: open nothing of it; refrigerant is for licensed people"
        ),
        DryerKind::Desiccant { .. } => format!(
            "Shut it off and vent both towers, each by its own cock: one stands at up to {line} while the other shows nothing; keep desiccant dust out of eyes and lungs"
        ),
    });
    list.push("While it is off the air behind it is wet: tell whoever needs it dry".to_owned());
    list.push(LOCAL_CODES.to_owned());
    list
}

/// Work at a part of the air line that has to be without pressure.
#[must_use]
pub fn at_the_line(station: &Station, asset: Asset, units: Units) -> Vec<String> {
    vec![
        format!(
            "Shut off and vent {} on both sides before it is opened; it stands at up to {}; wait for the gauge at zero and an open cock that is silent",
            station.id(asset),
            units.gauge(line_pressure(station).si())
        ),
        "Lock and tag the valves and any electric supply".to_owned(),
        LOCAL_CODES.to_owned(),
    ]
}

/// Work at a vessel's safety valve.
#[must_use]
pub fn at_safety_valves() -> Vec<String> {
    vec![
        "Never lift, gag or adjust a safety valve: a licensed person tests or changes it"
            .to_owned(),
        "Keep clear of its outlet, protect ears".to_owned(),
        LOCAL_CODES.to_owned(),
    ]
}

/// Comparing a gauge or a probe, and changing it.
#[must_use]
pub fn at_a_gauge(station: &Station, asset: Asset, units: Units) -> Vec<String> {
    let line = units.gauge(line_pressure(station).si());
    let off = match asset {
        Asset::Machine(i) => format!(
            "No gauge or probe of {} comes off before it is isolated and vented, its supply locked and tagged: it stands at up to {line}, and its oil is hot",
            station.machines.get(i).map_or("the machine", |m| &m.id)
        ),
        Asset::Room | Asset::Site => return in_the_room(),
        _ => format!(
            "No gauge or probe comes off a line that is not vented: shut its cock or vent {}, up to {line}, and see that it shows nothing",
            station.id(asset)
        ),
    };
    with_last(off)
}

/// Cleaning or mending what moves the room's air.
#[must_use]
pub fn at_the_rooms_fans() -> Vec<String> {
    with_last(
        "Switch off, lock and tag a fan of the room before it is cleaned or its guard comes off: it starts by itself"
            .to_owned(),
    )
}

/// Looking for leaks, and mending them.
#[must_use]
pub fn at_leaks(station: &Station, units: Units) -> Vec<String> {
    let line = units.gauge(line_pressure(station).si());
    with_last(format!(
        "Never feel for a leak by hand; shut off and vent a hose, fitting or pipe before it is mended, up to {line}: what is under pressure whips"
    ))
}

/// One more caution in the room, before the last word.
fn with_last(caution: String) -> Vec<String> {
    let mut list = in_the_room();
    list.insert(list.len() - 1, caution);
    list
}

/// Looking and listening in the room.
#[must_use]
pub fn in_the_room() -> Vec<String> {
    vec![
        "Wear hearing protection in the room; keep clear of belts, fans and hot surfaces"
            .to_owned(),
        LOCAL_CODES.to_owned(),
    ]
}

/// Work of which only its name is known, on something that is not opened under pressure.
#[must_use]
pub fn at_any_work() -> Vec<String> {
    vec![
        "Nothing that holds pressure or voltage is opened before it is shut off, vented, switched off, locked and tagged".to_owned(),
        "Wear hearing protection in the room; keep clear of belts, fans and hot surfaces"
            .to_owned(),
        LOCAL_CODES.to_owned(),
    ]
}
