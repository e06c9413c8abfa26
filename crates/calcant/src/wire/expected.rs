//! `calcant expect --json`.
//!
//! Must not know: how anything is computed.

use std::collections::BTreeMap;

use anyhow::Result;
use judge::Outlook;
use physics::quantity::{BAR_PA, ZERO_CELSIUS_K};
use serde::Serialize;
use station::forward::Conditions;
use station::model::Station;

use super::{Triple, VERSION, text_of};

#[derive(Serialize)]
struct Expected<'a> {
    calcant: u32,
    conditions: Stated<'a>,
    places: Vec<Place<'a>>,
    machines: Vec<Machine<'a>>,
    drains: Vec<Drain>,
}

#[derive(Serialize)]
struct Stated<'a> {
    #[serde(rename = "ambient_degC")]
    ambient: f64,
    humidity: f64,
    atmosphere_bar_a: f64,
    #[serde(rename = "room_degC")]
    room: f64,
    duty: BTreeMap<&'a str, f64>,
}

#[derive(Serialize)]
struct Place<'a> {
    id: &'a str,
    pressure_bar_g: f64,
    #[serde(rename = "temperature_degC")]
    temperature: f64,
    #[serde(rename = "dew_point_degC")]
    dew_point: f64,
    free_air_m3_min: f64,
    vapour_g_per_kg: f64,
    #[serde(rename = "liquid_L_h")]
    liquid_h: f64,
    #[serde(rename = "liquid_L_day")]
    liquid_day: f64,
    water_class: String,
    bands: Bands,
}

#[derive(Serialize)]
struct Bands {
    pressure_bar_g: Triple,
    #[serde(rename = "temperature_degC")]
    temperature: Triple,
    #[serde(rename = "dew_point_degC")]
    dew_point: Triple,
}

#[derive(Serialize)]
struct Machine<'a> {
    id: &'a str,
    #[serde(rename = "oil_temperature_degC")]
    oil: Option<Triple>,
    #[serde(rename = "outlet_temperature_degC")]
    outlet: Triple,
    #[serde(rename = "power_kW")]
    power: Triple,
    fad_m3_min: Triple,
    #[serde(rename = "specific_power_kW_min_m3")]
    specific_power: Triple,
    #[serde(rename = "lowest_safe_oil_temperature_degC")]
    lowest_safe_oil: Option<f64>,
    #[serde(rename = "design_hot_oil_temperature_degC")]
    design_hot_oil: Option<f64>,
}

#[derive(Serialize)]
struct Drain {
    id: String,
    #[serde(rename = "owed_L_h")]
    owed_h: f64,
    #[serde(rename = "owed_L_day")]
    owed_day: f64,
}

fn celsius(kelvin: f64) -> f64 {
    kelvin - ZERO_CELSIUS_K
}

pub(crate) fn expected(
    station: &Station,
    conditions: &Conditions,
    outlook: &Outlook,
) -> Result<String> {
    let duty = station
        .machines
        .iter()
        .zip(&conditions.machines)
        .map(|(machine, run)| (machine.id.as_str(), run.duty))
        .collect();
    let places = outlook
        .state
        .places
        .iter()
        .zip(&outlook.places)
        .map(|(place, bands)| {
            let litres_h = place.falls_kg_s * 3600.0;
            Place {
                id: station.id(place.asset),
                pressure_bar_g: place.pressure.bar(),
                temperature: place.temperature.celsius(),
                dew_point: place.dew_point.celsius(),
                free_air_m3_min: place.free_air.m3_per_min(),
                vapour_g_per_kg: place.humidity_ratio * 1e3,
                liquid_h: litres_h,
                liquid_day: litres_h * 24.0 * place.duty,
                water_class: place.water_class.to_string(),
                bands: Bands {
                    pressure_bar_g: Triple::of(&bands.pressure, |pa| pa / BAR_PA),
                    temperature: Triple::of(&bands.temperature, celsius),
                    dew_point: Triple::of(&bands.dew_point, celsius),
                },
            }
        });
    let machines = outlook
        .machines
        .iter()
        .enumerate()
        .filter_map(|(i, machine)| {
            let m = machine.as_ref()?;
            Some(Machine {
                id: &station.machines[i].id,
                oil: m.oil.as_ref().map(|b| Triple::of(b, celsius)),
                outlet: Triple::of(&m.outlet, celsius),
                power: Triple::of(&m.power, |w| w / 1e3),
                fad_m3_min: Triple::of(&m.free_air, |q| q * 60.0),
                specific_power: Triple::of(&m.specific_power, |p| p),
                lowest_safe_oil: m.oil.as_ref().map(|_| celsius(m.oil_dew_point)),
                design_hot_oil: m.design_hot_oil.map(celsius),
            })
        });
    let drains = outlook.state.owed.iter().map(|owed| {
        let ids: Vec<&str> = owed
            .drains
            .iter()
            .map(|&d| station.drains[d].id.as_str())
            .collect();
        let litres_h = owed.kg_s * 3600.0;
        Drain {
            id: ids.join("+"),
            owed_h: litres_h,
            owed_day: litres_h * 24.0 * owed.duty,
        }
    });
    text_of(&Expected {
        calcant: VERSION,
        conditions: Stated {
            ambient: conditions.ambient.celsius(),
            humidity: conditions.humidity,
            atmosphere_bar_a: conditions.atmosphere.bar(),
            room: outlook.state.room.celsius(),
            duty,
        },
        places: places.collect(),
        machines: machines.collect(),
        drains: drains.collect(),
    })
}
