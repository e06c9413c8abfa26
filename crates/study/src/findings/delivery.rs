//! `delivery-short`: a machine fills the known storage more slowly than it should.

use judge::finding::PartHealth;
use judge::safety::in_the_room;
use judge::say::{percent, round};
use judge::{Finding, Kind};
use physics::working::{Formula, Mark};
use station::forward::MachineHealth;
use station::model::Asset;

use super::{Looking, price};
use crate::reduce::air::gather::Pair;
use crate::reduce::thin::median;
use crate::whole::storage::{P0, STATED, T_SIGMA, T0};

/// Fewer pairs of slopes say nothing.
const LEAST: usize = 20;
/// A smaller loss is not told (common practice, no source).
const WORTH: f64 = 0.95;

const DELIVERED: Formula = Formula {
    name: "delivery over what it should be",
    equation: "V (slope on load − slope off load)/(p₀ (T/T₀) · delivery)",
    unit: "1",
    source: "mass balance of an ideal gas, the same demand on both sides of a switch",
    mark: Mark::Derived,
};

pub(super) fn look(looking: &mut Looking<'_>) {
    let air = looking.told.air;
    let whole = looking
        .station
        .headers
        .iter()
        .all(|h| h.volume_m3.is_some());
    let Some(volume) = air.stated_m3.filter(|_| whole) else {
        looking.skip(
            "delivery",
            "it takes the volume of every vessel and header in the station file, or a flow that is logged",
        );
        return;
    };
    let mut found = Vec::new();
    for at in 0..air.models.len() {
        found.extend(finding(looking, at, volume));
    }
    if found.is_empty() && looking.told.storage.is_none() {
        looking.skip(
            "delivery",
            "the log shows too few loads and unloads side by side",
        );
    }
    looking.findings.extend(found);
}

fn finding(looking: &Looking<'_>, at: usize, volume: f64) -> Option<Finding> {
    let air = looking.told.air;
    let model = air.models.get(at)?;
    let lists = [&air.gather.pairs_off, &air.gather.pairs];
    let own = |pair: &&Pair| pair.machine == at;
    let (arrives, open) = looking.told.arrives;
    let shares: Vec<f64> = lists
        .iter()
        .flat_map(|list| list.kept().iter().filter(own))
        .map(|pair| volume * pair.apart / (P0 * arrives * model.line.full(pair.pressure)))
        .collect();
    if shares.len() < LEAST || !air.gather.resolves() {
        return None;
    }
    let (k, scatter) = median(&shares)?;
    let sigma = (scatter / k.max(1e-9))
        .hypot(STATED)
        .hypot(T_SIGMA / T0)
        .hypot(model.sigma)
        .hypot(open / arrives)
        * k;
    if k > WORTH || k + 1.96 * sigma > 1.0 || k < 0.2 {
        return None;
    }
    let asset = Asset::Machine(model.machine);
    let id = looking.station.id(asset);
    let mut f = looking.draft(Kind::DeliveryShort, asset, "delivery");
    f.title = format!(
        "{id} delivers {} ± {} of what it should, by how fast it fills {} m³",
        percent(k),
        percent(1.96 * sigma),
        round(volume, 2)
    );
    f.health = Some(PartHealth {
        what: "delivery".to_owned(),
        unit: "1",
        value: k,
        low: (k - 1.96 * sigma).max(0.0),
        high: k + 1.96 * sigma,
        per_month: None,
    });
    f.working.push(DELIVERED.step(
        format!(
            "median of {} pairs, {} m³, {} m³/min at {} bar(g), T = T₀",
            shares.len(),
            round(volume, 2),
            round(60.0 * arrives * model.line.full(model.pressure()), 2),
            round(model.pressure() / 1e5, 2)
        ),
        k,
    ));
    let health = MachineHealth {
        delivery: k,
        ..MachineHealth::NEW
    };
    let priced = looking.year.and_then(|year| {
        year.of_health(looking.station, model.machine, &health, &MachineHealth::NEW)
    });
    price(&mut f, priced);
    f.next_check = Some(format!(
        "Check that vessels are drained and none holds more or less than told; then make a pump-up test with {id} alone"
    ));
    f.action = format!(
        "Look at intake filter, belt and minimum-pressure valve of {id}; if they are right, have the air end measured"
    );
    f.cautions = in_the_room();
    Some(f)
}
