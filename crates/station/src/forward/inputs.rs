//! Every uncertain number that the model uses, so that a band can be propagated through it.
//!
//! Each input knows its standard uncertainty and how to nudge itself; nothing here knows what the
//! nudge does. Must not know: readings, bands.

use physics::quantity::{
    AbsolutePressure, ActualFlow, FreeAir, GaugePressure, Power, PressureDifference, Temperature,
    TemperatureDifference,
};

use super::conditions::Conditions;
use crate::model::{Asset, DryerKind, Fan, Known, Station};

/// One uncertain input.
#[derive(Debug, Clone, Copy)]
pub struct Input {
    /// On what.
    pub asset: Asset,
    /// What, in words.
    pub what: &'static str,
    /// One standard deviation, SI.
    pub sigma: f64,
    apply: fn(&mut Station, &mut Conditions, usize, f64),
    index: usize,
}

impl Input {
    /// Moves the input by `by` (SI).
    pub fn nudge(&self, station: &mut Station, conditions: &mut Conditions, by: f64) {
        (self.apply)(station, conditions, self.index, by);
    }

    /// In words, with the thing's name.
    #[must_use]
    pub fn name(&self, station: &Station) -> String {
        match self.asset {
            Asset::Site => self.what.to_owned(),
            asset => format!("{} {}", station.id(asset), self.what),
        }
    }
}

/// The standard uncertainties of a day's conditions, SI; 0 where nothing is uncertain.
#[derive(Debug, Clone, PartialEq)]
pub struct Inputs {
    /// Outdoors, K.
    pub ambient: f64,
    /// Relative humidity 0…1.
    pub humidity: f64,
    /// Atmosphere, Pa.
    pub atmosphere: f64,
    /// Room, K; ignored where the room is computed.
    pub room: f64,
    /// Demand over its value; ignored where it was not read.
    pub demand_share: f64,
    /// Duty and recent load of each machine.
    pub duty: Vec<f64>,
    /// Recent load of each machine.
    pub recent_load: Vec<f64>,
    /// Outlet pressure of each machine, Pa.
    pub pressure: Vec<f64>,
    /// Speed of each machine.
    pub speed: Vec<f64>,
}

macro_rules! known {
    ($asset:expr, $what:literal, $type:ident, |$s:ident, $i:ident| $place:expr, $get:expr) => {
        Input {
            asset: $asset,
            what: $what,
            sigma: $get.sigma,
            index: index_of($asset),
            apply: |$s, _, $i, by| {
                let known: &mut Known<$type> = &mut $place;
                known.value = $type::new(known.value.si() + by);
            },
        }
    };
}
macro_rules! plain {
    ($asset:expr, $what:literal, |$s:ident, $i:ident| $place:expr, $get:expr) => {
        Input {
            asset: $asset,
            what: $what,
            sigma: $get.sigma,
            index: index_of($asset),
            apply: |$s, _, $i, by| $place.value += by,
        }
    };
}

fn index_of(asset: Asset) -> usize {
    match asset {
        Asset::Site | Asset::Room => 0,
        Asset::Machine(i)
        | Asset::Vessel(i)
        | Asset::Dryer(i)
        | Asset::Filter(i)
        | Asset::Drain(i)
        | Asset::Pipe(i)
        | Asset::Header(i) => i,
    }
}

fn add<T>(value: T, by: f64, get: fn(T) -> f64, set: fn(f64) -> T) -> T {
    set(get(value) + by)
}

/// Moves a value that ends at bounds: the other way where this way leads out, since a move that
/// is cut off would make the value look certain.
fn within(value: f64, by: f64, low: f64, high: f64) -> f64 {
    let inside = |x: f64| low <= x && x <= high;
    if inside(value + by) || !inside(value - by) {
        (value + by).max(low).min(high)
    } else {
        value - by
    }
}

impl Inputs {
    /// Every input of a station whose uncertainty is not zero.
    #[must_use]
    pub fn all(&self, station: &Station, conditions: &Conditions) -> Vec<Input> {
        let mut list = self.of_the_day(conditions);
        for i in 0..station.machines.len() {
            if conditions.machines[i].duty > 0.0 {
                list.extend(self.of_running(i));
                list.extend(of_machine(station, i));
            }
        }
        if conditions.room.is_none() {
            list.extend(of_room(station));
        }
        list.extend(of_path(station));
        list.retain(|input| input.sigma > 0.0);
        list
    }

    /// Inputs that move one machine: the day's and its own.
    #[must_use]
    pub fn of_machine(&self, station: &Station, conditions: &Conditions, i: usize) -> Vec<Input> {
        let mut list = self.of_the_day(conditions);
        list.extend(self.of_running(i));
        list.extend(of_machine(station, i));
        if conditions.room.is_none() {
            list.extend(of_room(station));
        }
        list.retain(|input| input.sigma > 0.0);
        list
    }

    fn of_the_day(&self, conditions: &Conditions) -> Vec<Input> {
        let site = |what, sigma, apply| Input {
            asset: Asset::Site,
            what,
            sigma,
            apply,
            index: 0,
        };
        let mut list = vec![
            site("outdoor temperature", self.ambient, |_, c, _, by| {
                c.ambient = add(c.ambient, by, Temperature::si, Temperature::new);
            }),
            site("outdoor humidity", self.humidity, |_, c, _, by| {
                c.humidity = within(c.humidity, by, 0.0, 1.0);
            }),
            site("atmosphere", self.atmosphere, |_, c, _, by| {
                c.atmosphere = add(
                    c.atmosphere,
                    by,
                    AbsolutePressure::si,
                    AbsolutePressure::new,
                );
            }),
        ];
        if conditions.room.is_some() {
            list.push(Input {
                asset: Asset::Room,
                what: "temperature",
                sigma: self.room,
                index: 0,
                apply: |_, c, _, by| {
                    c.room = c
                        .room
                        .map(|t| add(t, by, Temperature::si, Temperature::new));
                },
            });
        }
        if conditions.demand.is_some() {
            list.push(site("demand", self.demand_share, |_, c, _, by| {
                c.demand = c.demand.map(|d| d * (1.0 + by));
            }));
        }
        list
    }

    fn of_running(&self, i: usize) -> [Input; 4] {
        let on = |what, sigma, apply| Input {
            asset: Asset::Machine(i),
            what,
            sigma,
            apply,
            index: i,
        };
        [
            on("duty", self.duty[i], |_, c, i, by| {
                let m = &mut c.machines[i];
                m.duty = within(m.duty, by, 1.0e-3, 1.0);
            }),
            on(
                "load of the last quarter of an hour",
                self.recent_load[i],
                |_, c, i, by| {
                    let m = &mut c.machines[i];
                    m.recent_load = within(m.recent_load, by, 0.0, 1.0);
                },
            ),
            on("outlet pressure", self.pressure[i], |_, c, i, by| {
                let m = &mut c.machines[i];
                let more = |p| add(p, by, GaugePressure::si, GaugePressure::new);
                (m.pressure, m.recent_pressure) = (more(m.pressure), m.recent_pressure.map(more));
            }),
            on("speed", self.speed[i], |_, c, i, by| {
                let m = &mut c.machines[i];
                m.speed = within(m.speed, by, 0.05, 1.2);
            }),
        ]
    }
}

fn of_room(station: &Station) -> Vec<Input> {
    match station.room.ventilation {
        Some(flow) => vec![Input {
            asset: Asset::Room,
            what: "ventilation",
            sigma: flow.sigma,
            index: 0,
            apply: |s, _, _, by| {
                if let Some(v) = &mut s.room.ventilation {
                    v.value = add(v.value, by, ActualFlow::si, ActualFlow::new);
                }
            },
        }],
        None => vec![known!(
            Asset::Room,
            "rise over outdoors",
            TemperatureDifference,
            |s, _i| s.room.assumed_rise,
            station.room.assumed_rise
        )],
    }
}

fn of_machine(station: &Station, i: usize) -> Vec<Input> {
    let m = &station.machines[i];
    let on = Asset::Machine(i);
    let mut list = vec![
        known!(
            on,
            "rated free air",
            FreeAir,
            |s, i| s.machines[i].rated.fad,
            m.rated.fad
        ),
        known!(
            on,
            "rated power",
            Power,
            |s, i| s.machines[i].rated.power,
            m.rated.power
        ),
        known!(
            on,
            "fan power",
            Power,
            |s, i| s.machines[i].fan_power,
            m.fan_power
        ),
        known!(
            on,
            "unloaded power",
            Power,
            |s, i| s.machines[i].unloaded_power,
            m.unloaded_power
        ),
        plain!(
            on,
            "loss of delivery with pressure",
            |s, i| s.machines[i].slip_per_pa,
            m.slip_per_pa
        ),
        known!(
            on,
            "held oil temperature",
            Temperature,
            |s, i| s.machines[i].oil.held_at,
            m.oil.held_at
        ),
        plain!(on, "oil flow", |s, i| s.machines[i].oil.ratio, m.oil.ratio),
        known!(
            on,
            "rated oil approach",
            TemperatureDifference,
            |s, i| s.machines[i].cooling.oil_approach,
            m.cooling.oil_approach
        ),
        known!(
            on,
            "rated air approach",
            TemperatureDifference,
            |s, i| s.machines[i].cooling.air_approach,
            m.cooling.air_approach
        ),
        plain!(
            on,
            "hot side's share of the aftercooler",
            |s, i| s.machines[i].cooling.hot_side_share,
            m.cooling.hot_side_share
        ),
        known!(
            on,
            "aftercooler drop",
            PressureDifference,
            |s, i| s.machines[i].cooling.after_drop,
            m.cooling.after_drop
        ),
        known!(
            on,
            "clean separator drop",
            PressureDifference,
            |s, i| s.machines[i].separator.clean,
            m.separator.clean
        ),
        known!(
            on,
            "clean intake drop",
            PressureDifference,
            |s, i| s.machines[i].intake.clean,
            m.intake.clean
        ),
        plain!(
            on,
            "share that its separator takes",
            |s, i| s.machines[i].cooling.separates,
            m.cooling.separates
        ),
    ];
    if let Fan::OnOff(held) | Fan::Variable(held) = m.cooling.fan {
        list.push(Input {
            asset: on,
            what: "temperature that the fan holds",
            sigma: held.sigma,
            index: i,
            apply: |s, _, i, by| {
                if let Fan::OnOff(held) | Fan::Variable(held) = &mut s.machines[i].cooling.fan {
                    held.value = add(held.value, by, Temperature::si, Temperature::new);
                }
            },
        });
    }
    list
}

fn of_path(station: &Station) -> Vec<Input> {
    let mut list = Vec::new();
    for (i, v) in station.vessels.iter().enumerate() {
        let on = Asset::Vessel(i);
        list.push(plain!(
            on,
            "heat transfer",
            |s, i| s.vessels[i].u_w_m2k,
            v.u_w_m2k
        ));
        list.push(plain!(
            on,
            "share that it separates",
            |s, i| s.vessels[i].separates,
            v.separates
        ));
    }
    for (i, f) in station.filters.iter().enumerate() {
        let on = Asset::Filter(i);
        list.push(known!(
            on,
            "clean drop",
            PressureDifference,
            |s, i| s.filters[i].clean,
            f.clean
        ));
        list.push(known!(
            on,
            "rated flow",
            FreeAir,
            |s, i| s.filters[i].rated_flow,
            f.rated_flow
        ));
        list.push(plain!(
            on,
            "share that it separates",
            |s, i| s.filters[i].separates,
            f.separates
        ));
    }
    for (i, d) in station.dryers.iter().enumerate() {
        let on = Asset::Dryer(i);
        list.push(known!(
            on,
            "dew point",
            Temperature,
            |s, i| s.dryers[i].dew_point,
            d.dew_point
        ));
        list.push(known!(
            on,
            "drop",
            PressureDifference,
            |s, i| s.dryers[i].drop,
            d.drop
        ));
        list.push(known!(
            on,
            "rated flow",
            FreeAir,
            |s, i| s.dryers[i].rated_flow,
            d.rated_flow
        ));
        if let DryerKind::Refrigeration {
            reheat,
            derate_per_k,
        } = d.kind
        {
            list.push(Input {
                asset: on,
                what: "reheat",
                sigma: reheat.sigma,
                index: i,
                apply: |s, _, i, by| {
                    if let DryerKind::Refrigeration { reheat, .. } = &mut s.dryers[i].kind {
                        reheat.value = TemperatureDifference::new(reheat.value.si() + by);
                    }
                },
            });
            list.push(Input {
                asset: on,
                what: "loss of capacity with heat",
                sigma: derate_per_k.sigma,
                index: i,
                apply: |s, _, i, by| {
                    if let DryerKind::Refrigeration { derate_per_k, .. } = &mut s.dryers[i].kind {
                        derate_per_k.value += by;
                    }
                },
            });
        }
    }
    for (i, p) in station.pipes.iter().enumerate() {
        let on = Asset::Pipe(i);
        list.push(plain!(
            on,
            "roughness",
            |s, i| s.pipes[i].roughness_m,
            p.roughness_m
        ));
    }
    list
}
