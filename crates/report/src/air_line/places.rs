//! The columns of the picture: intake, each running machine's air end and outlet, every place of
//! the air path, and which follows which.
//!
//! Must not know: paper, ink, units.

use physics::air::Formulation;
use station::air_path::{Path, Stage};
use station::forward::{MachineState, State};
use station::model::{Asset, DryerKind, Station};

/// What a column stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    /// The room's air that all machines take in.
    Intake,
    /// A machine's air end.
    AirEnd,
    /// A machine's package outlet.
    Outlet,
    /// A place behind the machines.
    Place,
}

/// One column; values in SI, none where nothing is known or nothing flows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Column {
    pub(super) asset: Asset,
    pub(super) part: Part,
    pub(super) name: String,
    pub(super) kind: &'static str,
    pub(super) pressure: Option<f64>,
    pub(super) drop: Option<f64>,
    pub(super) temperature: Option<f64>,
    pub(super) dew_point: Option<f64>,
    /// The coldest that the air gets inside, where it leaves warmer.
    pub(super) inside: Option<f64>,
    /// Water that falls out, litres a day.
    pub(super) water: Option<f64>,
}

/// Air goes from one column to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Edge {
    pub(super) from: usize,
    pub(super) to: usize,
}

impl Edge {
    /// Whether the two stand side by side on the paper.
    pub(super) fn is_beside(self) -> bool {
        self.to == self.from + 1
    }
}

/// All columns and how the air goes.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Places {
    pub(super) columns: Vec<Column>,
    pub(super) edges: Vec<Edge>,
    /// Things on the path that no air goes through.
    pub(super) still: Vec<Asset>,
    /// Whether any air flows at all.
    pub(super) flows: bool,
}

impl Places {
    pub(super) fn of(station: &Station, state: &State) -> Self {
        let mut places = Self {
            flows: !state.places.is_empty(),
            ..Self::default()
        };
        if places.flows {
            places.columns.push(intake(state));
            places.walk(station, state, &station.air_path.stages, Vec::new());
        } else {
            for asset in station.air_path.assets() {
                places.columns.push(empty(station, asset, Part::Place));
            }
        }
        places
    }

    /// Follows a path from these columns; returns the columns that it ends at.
    fn walk(
        &mut self,
        station: &Station,
        state: &State,
        path: &Path,
        mut from: Vec<usize>,
    ) -> Vec<usize> {
        for stage in path {
            from = match stage {
                Stage::One(asset) => self.place(station, state, *asset, from),
                Stage::SideBySide(branches) => branches
                    .iter()
                    .flat_map(|branch| self.walk(station, state, branch, from.clone()))
                    .collect(),
            };
        }
        from
    }

    fn place(
        &mut self,
        station: &Station,
        state: &State,
        asset: Asset,
        from: Vec<usize>,
    ) -> Vec<usize> {
        let Some(here) = state.place(asset) else {
            self.still.push(asset);
            return if matches!(asset, Asset::Machine(_)) {
                Vec::new()
            } else {
                from
            };
        };
        let mut column = empty(station, asset, Part::Place);
        column.pressure = finite(here.pressure.si());
        column.temperature = finite(here.temperature.si());
        column.dew_point = finite(here.dew_point.si());
        column.water = finite(here.falls_kg_s * here.duty * 86_400.0).filter(|l| *l > 0.0);
        let mut from = from;
        match asset {
            Asset::Machine(i) => {
                column.part = Part::Outlet;
                column.kind = "outlet";
                from = Vec::new();
                if let Some(Some(machine)) = state.machines.get(i) {
                    // One machine: a line from the intake. Several: each starts at its air end.
                    let alone = state.machines.iter().flatten().count() == 1;
                    from = vec![self.air_end(station, state, asset, machine, alone)];
                    column.drop = self
                        .columns
                        .last()
                        .and_then(|air_end| Some(air_end.pressure? - column.pressure?));
                }
            }
            Asset::Dryer(i) => {
                column.drop = finite(here.drop.si());
                let cools = station
                    .dryers
                    .get(i)
                    .is_some_and(|d| matches!(d.kind, DryerKind::Refrigeration { .. }));
                column.inside = column.dew_point.filter(|_| cools);
            }
            _ => column.drop = finite(here.drop.si()),
        }
        let to = self.push(column);
        self.edges
            .extend(from.into_iter().map(|from| Edge { from, to }));
        vec![to]
    }

    fn air_end(
        &mut self,
        station: &Station,
        state: &State,
        asset: Asset,
        machine: &MachineState,
        alone: bool,
    ) -> usize {
        let mut column = empty(station, asset, Part::AirEnd);
        column.kind = "air end";
        column.pressure = finite(machine.air_end.gauge(state.atmosphere).si());
        column.temperature = machine.oil_temperature.and_then(|t| finite(t.si()));
        column.dew_point = finite(machine.oil_dew_point.si());
        let to = self.push(column);
        if alone {
            self.edges.push(Edge { from: 0, to });
        }
        to
    }

    fn push(&mut self, column: Column) -> usize {
        self.columns.push(column);
        self.columns.len() - 1
    }

    /// Where air goes from a column to itself downstream: the columns of both ends.
    pub(super) fn ends(&self, edge: Edge) -> Option<(&Column, &Column)> {
        Some((self.columns.get(edge.from)?, self.columns.get(edge.to)?))
    }
}

/// The dew point of the air that is drawn in, K, where any machine draws.
pub(crate) fn drawn_in(state: &State) -> Option<f64> {
    let humidity = state.machines.iter().flatten().next()?.humidity_ratio;
    let dew_point = Formulation::REAL
        .dew_point(humidity, state.atmosphere)
        .ok()?;
    finite(dew_point.si())
}

fn intake(state: &State) -> Column {
    Column {
        asset: Asset::Room,
        part: Part::Intake,
        name: "Intake".into(),
        kind: "room air",
        pressure: None,
        drop: None,
        temperature: finite(state.room.si()),
        dew_point: drawn_in(state),
        inside: None,
        water: None,
    }
}

fn empty(station: &Station, asset: Asset, part: Part) -> Column {
    Column {
        asset,
        part,
        name: station.id(asset).to_string(),
        kind: kind(asset),
        pressure: None,
        drop: None,
        temperature: None,
        dew_point: None,
        inside: None,
        water: None,
    }
}

/// A thing's kind in the trade's word.
pub(super) fn kind(asset: Asset) -> &'static str {
    match asset {
        Asset::Site => "site",
        Asset::Room => "room",
        Asset::Machine(_) => "machine",
        Asset::Vessel(_) => "receiver",
        Asset::Dryer(_) => "dryer",
        Asset::Filter(_) => "filter",
        Asset::Drain(_) => "drain",
        Asset::Pipe(_) => "pipe",
        Asset::Header(_) => "header",
    }
}

pub(super) fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

/// A line between two columns: share of the way, value.
pub(super) type Way = Vec<(f64, f64)>;

/// How the air's temperature goes from one column to the next; through the cold inside a dryer.
pub(super) fn air_way(from: &Column, to: &Column) -> Option<Way> {
    let (start, end) = (from.temperature?, to.temperature?);
    let mut way = vec![(0.0, start)];
    if let Some(cold) = to.inside.filter(|c| *c < start && *c < end) {
        way.push((0.5, cold));
    }
    way.push((1.0, end));
    Some(way)
}

/// How the dew point goes: level until the air is as cold, then with the air. The area is what the
/// air would hold if no water fell out.
pub(super) fn dew_way(from: &Column, to: &Column) -> Option<(Way, Option<Way>)> {
    let (start, end) = (from.dew_point?, to.dew_point?);
    let straight = vec![(0.0, start), (1.0, end)];
    let Some(air) = air_way(from, to).filter(|_| to.water.is_some() && end < start) else {
        return Some((straight, None));
    };
    let (Some(&(_, warm)), Some(&(cold_at, cold))) = (air.first(), air.get(1)) else {
        return Some((straight, None));
    };
    if cold >= start {
        return Some((straight, None));
    }
    let meets = if warm > start {
        cold_at * (warm - start) / (warm - cold)
    } else {
        0.0
    };
    let way = vec![(0.0, start), (meets, start), (cold_at, end), (1.0, end)];
    Some((
        way,
        Some(vec![(meets, start), (cold_at, start), (cold_at, end)]),
    ))
}
