//! Invented plants and the station files that describe them, as well as such files do.

use fastrand::Rng;
use station::model::Station;

use super::{ATMOSPHERE, Machine, Plant, normal};
use crate::support::station::{Described, band, machine};

/// The station file of a plant with about so much storage, m³ for each m³/min of a machine, and the
/// plant as it really is.
pub(crate) fn make(random: &mut Rng, count: usize, storage: f64) -> (Station, Plant) {
    let (described, plant) = describe(random, count, storage);
    let station = described.parse();
    let real = real(&station, plant, random);
    (station, real)
}

/// The same before the station file is read: the plant is still as the file says.
pub(crate) fn describe(random: &mut Rng, count: usize, storage: f64) -> (Described, Plant) {
    let fad = 3.0 + 7.0 * random.f64();
    let power = 6.2 * fad;
    let volume = storage * fad * (0.6 + random.f64());
    let one = |i: usize| {
        let lower = 0.3 * i as f64;
        let more = format!(
            "order = {}\n{}\nmax_pressure = \"8.5 bar(g)\"\nunloaded_power = \"{:.3} kW\"\nblowdown = \"30 s\"",
            i + 1,
            band(6.7 - lower, 7.4 - lower),
            0.28 * power
        );
        machine(
            &format!("K{}", i + 1),
            "load/unload",
            (7.0, fad, power),
            &more,
        )
    };
    let described = Described {
        path: if count == 1 {
            r#""K1", "R1", "MAIN""#.to_owned()
        } else {
            r#"["K1", "K2"], "R1", "MAIN""#.to_owned()
        },
        site: "price  = { energy = 0.20, currency = \"EUR\" }\ncarbon = 0.15\nhours  = \"Mon-Fri 06:00-22:00\""
            .to_owned(),
        machines: (0..count).map(one).collect(),
        vessel_l: 700.0 * volume,
        rest: format!("wanted = \"5.5 bar(g)\"\nvolume = \"{:.2} L\"", 300.0 * volume),
        ..Described::default()
    };
    let plant = Plant {
        machines: (0..count)
            .map(|i| Machine {
                loaded_kw: power,
                unloaded_kw: 0.28 * power,
                delivery: fad * ATMOSPHERE,
                load: 6.7 - 0.3 * i as f64,
                unload: 7.4 - 0.3 * i as f64,
                run_on: 0.0,
            })
            .collect(),
        storage: volume,
        leakage: fad,
        purge: [0.0; 2],
        drain: None,
        demand: fad * count as f64,
    };
    (described, plant)
}

/// The plant as it really is: as far from its station file as the stated uncertainties say.
pub(crate) fn real(station: &Station, plant: Plant, random: &mut Rng) -> Plant {
    let sigma = station.machines[0].rated.fad.sigma / station.machines[0].rated.fad.value.si();
    // Dry weather at 20 °C: free air at 1.01325 bar(a) in reference air of 1 bar(a).
    let warm = 1.0 + 4.0 / 293.0 * normal(random);
    Plant {
        machines: plant
            .machines
            .into_iter()
            .map(|m| Machine {
                delivery: m.delivery * (1.0 + sigma * normal(random)),
                run_on: 90.0 + 600.0 * random.f64(),
                ..m
            })
            .collect(),
        storage: plant.storage * (1.0 + 0.02 * normal(random)) / warm,
        leakage: plant.leakage * (0.08 + 0.3 * random.f64()),
        demand: plant.demand * (0.4 + 0.25 * random.f64()),
        ..plant
    }
}
