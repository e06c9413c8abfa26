//! From what was reduced to what the study says of the whole: deliveries, storage, demand, leakage,
//! findings.
//!
//! Must not know: rows, files.

mod by_pressure;
mod deliveries;
mod demand;
pub(crate) mod leakage;
mod spent;
pub(crate) mod storage;

use station::model::Station;

use crate::channel::Channel;
use crate::figures::{
    Band95, ChannelDays, CloseUp, CloseUpSlope, ControlBand, Demand, DewPoints, Leakage,
    LevelsFrom, MachineDays, Pressures, StationFigures, Storage,
};
use crate::findings;
use crate::forward::Line;
use crate::reduce::air::gather::Gather;
use crate::reduce::air::{AirHour, Delivered};
use crate::reduce::thin::{Thin, quantile};
use crate::reduce::totals::{self, Beside};
use crate::sink::{AirTrack, MachineTrack, Meters, breathes, stated_volume};
use judge::cost::Year;
use judge::say::round;
use judge::{Finding, NotJudged};

use self::spent::Spent;

/// Fewer rows do not resolve a cycle (common practice, no source).
const ROWS_A_CYCLE: f64 = 20.0;

/// What was read, as far as the whole needs it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Read<'a> {
    pub(crate) station: &'a Station,
    pub(crate) channels: &'a [ChannelDays],
    pub(crate) pressures: &'a [Pressures],
    pub(crate) dew_points: &'a [DewPoints],
    pub(crate) interval_s: Option<f64>,
}

/// What the study says of the whole.
#[derive(Debug)]
pub(crate) struct Whole {
    pub(crate) machines: Vec<MachineDays>,
    pub(crate) station: StationFigures,
    pub(crate) storage: Option<Storage>,
    pub(crate) control_bands: Vec<ControlBand>,
    pub(crate) demand: Demand,
    pub(crate) leakage: Vec<Leakage>,
    pub(crate) remarks: Vec<String>,
    pub(crate) close_up: Option<CloseUp>,
    pub(crate) year: Option<Year>,
    pub(crate) findings: Vec<Finding>,
    pub(crate) not_judged: Vec<NotJudged>,
}

/// One machine's air: the model's line, and how sure its delivery is.
#[derive(Debug, Clone)]
pub(crate) struct Modelled {
    /// Its index in the station.
    pub(crate) machine: usize,
    pub(crate) line: Line,
    /// Standard deviation of the delivery, as a share.
    pub(crate) sigma: f64,
    /// Over the whole log.
    pub(crate) sums: Delivered,
}

impl Modelled {
    /// Its mean pressure on load, Pa; that of the station file if none was read.
    pub(crate) fn pressure(&self) -> f64 {
        if self.sums.read_s > 0.0 {
            self.sums.pressure_s / self.sums.read_s
        } else {
            self.line.usual
        }
    }
}

/// What the parts of the whole have in common.
#[derive(Debug)]
pub(crate) struct Air<'a> {
    pub(crate) station: &'a Station,
    pub(crate) models: Vec<Modelled>,
    pub(crate) hours: &'a [AirHour],
    pub(crate) gather: &'a Gather,
    pub(crate) pressure: Option<Channel>,
    pub(crate) meters: &'a Meters,
    pub(crate) stated_m3: Option<f64>,
    /// Whether machines of which nothing is logged may have delivered beside the one that the
    /// pressure tells of.
    pub(crate) others_unseen: bool,
    pub(crate) interval_s: Option<f64>,
}

/// All of it.
pub(crate) fn of(read: &Read<'_>, tracks: Vec<MachineTrack>, track: AirTrack) -> Whole {
    let station = read.station;
    let weather = track.weather.map(|usual| deliveries::weather(read, usual));
    let mut remarks = Vec::new();
    let air = Air {
        station,
        models: deliveries::models(station, &track, weather, read.interval_s),
        hours: &track.air.hours,
        gather: &track.air.gather,
        pressure: track.pressure,
        meters: &track.meters,
        stated_m3: stated_volume(station),
        others_unseen: track.by_pressure.is_some() && station.machines.len() > 1,
        interval_s: read.interval_s,
    };
    let machines = machines(&air, tracks);
    for machine in &machines {
        if machine.levels_moved > 0 {
            remarks.push(format!(
                "The powers of {} moved so far that the levels between its states had to be learned anew, {} times",
                station.machines[machine.machine].id, machine.levels_moved
            ));
        }
    }
    remarks.extend(machines.iter().filter_map(|machine| coarse(&air, machine)));
    let told = track.by_pressure.as_ref();
    remarks.extend(told.and_then(|by| by_pressure::remark(&air, by, &machines)));
    if track.turns_unseen && machines.is_empty() {
        remarks.extend(by_pressure::unseen(&air));
    }
    remarks.extend(track.meters.remark(station));
    let spent = Spent::of(&air, &machines, weather);
    let found = storage::of(&air, &spent, &mut remarks);
    let volume = storage::best(&air, found.as_ref());
    let leakage = leakage::of(&air, &machines, volume, &spent, &mut remarks);
    let demand = demand::of(&air, &track.air.followers, &machines, volume);
    let figures = deliveries::station(&air, &machines);
    let told = findings::Told {
        read,
        air: &air,
        machines: &machines,
        leakage: &leakage,
        storage: found.as_ref(),
        arrives: spent.arrives(),
        weather,
    };
    let year = findings::year(&told);
    let (findings, not_judged) = findings::of(&told, year.as_ref());
    Whole {
        station: figures,
        control_bands: bands(&air, &track.air.gather.switches),
        close_up: close_up(&air),
        year,
        machines,
        storage: found,
        demand,
        leakage,
        remarks,
        findings,
        not_judged,
    }
}

/// A cycle that rows do not resolve.
fn coarse(air: &Air<'_>, machine: &MachineDays) -> Option<String> {
    let interval = air.interval_s?;
    let cycle = 3600.0 / machine.totals.cycles_per_hour.filter(|n| *n > 0.0)?;
    (cycle < ROWS_A_CYCLE * interval).then(|| {
        format!(
            "Cycles of {} last {} s on average while it runs, and rows come every {} s: short loads and stops are missed, and load and unload times are rough",
            air.station.machines[machine.machine].id,
            round(cycle, 0),
            round(interval, 0)
        )
    })
}

fn machines(air: &Air<'_>, tracks: Vec<MachineTrack>) -> Vec<MachineDays> {
    let site = &air.station.site;
    let days = |track: MachineTrack| {
        let (levels, moved) = (track.states.levels(), track.states.moved());
        let confidence = match track.by_turns {
            Some(turns) if levels.from == LevelsFrom::Pressure => by_pressure::confidence(turns),
            _ => track.states.confidence(),
        };
        let read = track.reads_power;
        let mut hours = track.states.finish();
        let model = air.models.iter().find(|m| m.machine == track.machine);
        if let Some(model) = model {
            deliveries::fill(&mut hours, model, air);
        }
        let beside = Beside {
            shifts: site.hours.as_ref(),
            price: site
                .price
                .as_ref()
                .filter(|_| read)
                .map(|price| price.energy_per_kwh),
            carbon: site.carbon_kg_per_kwh.filter(|_| read),
            air_sigma: model.map_or(0.0, |m| m.sigma),
            blown_down: model.map(|m| {
                let takes_s = air.station.machines[m.machine].blowdown_s.value;
                (m.line.blown_down, takes_s)
            }),
        };
        MachineDays {
            machine: track.machine,
            levels,
            levels_moved: moved,
            confidence,
            energy_read: read,
            days: totals::days(&hours, &beside),
            totals: totals::totals(&hours, &beside),
            hours,
        }
    };
    tracks.into_iter().map(days).collect()
}

/// Where each machine really switched.
fn bands(air: &Air<'_>, switches: &[[Thin<f64>; 2]]) -> Vec<ControlBand> {
    let Some(channel) = air.pressure else {
        return Vec::new();
    };
    let band = |list: &Thin<f64>| {
        let at = |share| quantile(list.kept(), share);
        Some(Band95 {
            low: at(0.05)?,
            mid: at(0.5)?,
            high: at(0.95)?,
        })
    };
    let both = |(lists, model): (&[Thin<f64>; 2], &Modelled)| ControlBand {
        machine: model.machine,
        channel,
        load: band(&lists[0]),
        unload: band(&lists[1]),
    };
    switches.iter().zip(&air.models).map(both).collect()
}

/// The kept cycle whose length is nearest the usual.
fn close_up(air: &Air<'_>) -> Option<CloseUp> {
    let channel = air.pressure.filter(|&c| breathes(c)).or(air.pressure)?;
    let timed = air.gather.timed.kept();
    let lengths: Vec<f64> = timed.iter().map(|t| t.load_s + t.unload_s).collect();
    let kept = &air.gather.close_ups.kept;
    let of_kept = || kept.iter().map(|c| (c.to - c.from) as f64 * 1e-6);
    let usual = quantile(&lengths, 0.5).or_else(|| {
        let lengths: Vec<f64> = of_kept().collect();
        quantile(&lengths, 0.5)
    })?;
    let (cycle, _) = kept
        .iter()
        .zip(of_kept())
        .filter(|(cycle, _)| cycle.points.len() >= 4)
        .min_by(|(_, a), (_, b)| (a - usual).abs().total_cmp(&(b - usual).abs()))?;
    let since = |time: i64| (time - cycle.from) as f64 * 1e-6;
    let slopes = cycle.phases.iter().filter_map(|phase| {
        Some(CloseUpSlope {
            from_s: since(phase.from),
            to_s: since(phase.to),
            delivering: phase.loaded != 0,
            start: phase.at(phase.from)?,
            slope: phase.fit.slope()?.0,
        })
    });
    Some(CloseUp {
        channel,
        from: crate::clean::left_out::stamp(cycle.from),
        points: cycle.points.iter().map(|&(t, p)| (since(t), p)).collect(),
        slopes: slopes.collect(),
    })
}
