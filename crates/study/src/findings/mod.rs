//! What is worth telling, in the form in which rounds are judged too.
//!
//! Costs come from the yearly model that rounds are priced with; here it is told how the machines
//! ran in the log.
//!
//! Must not know: rows.

mod cycling;
mod delivery;
mod dryness;
mod leaks;
mod power;
mod supply;

use jiff::Timestamp;
use judge::cost::{Use, Year, price};
use judge::finding::Evidence;
use judge::{Finding, Kind, NotJudged};
use station::model::{Asset, Station};
use station::point::{Accuracy, Point, PointId};

use crate::clean::left_out::stamp;
use crate::figures::{Leakage, MachineDays, Storage, plain};
use crate::forward::Weather;
use crate::whole::{Air, Read};

/// What findings are made from.
pub(crate) struct Told<'a> {
    pub(crate) read: &'a Read<'a>,
    pub(crate) air: &'a Air<'a>,
    pub(crate) machines: &'a [MachineDays],
    pub(crate) leakage: &'a [Leakage],
    pub(crate) storage: Option<&'a Storage>,
    /// The share of a delivery that reaches the storage, and its standard deviation.
    pub(crate) arrives: (f64, f64),
    pub(crate) weather: Option<Weather>,
}

/// What was found, and what could not be judged.
struct Looking<'a> {
    told: &'a Told<'a>,
    station: &'a Station,
    /// `None` where the weather, and so the model, is not known.
    year: Option<&'a Year>,
    findings: Vec<Finding>,
    not_judged: Vec<NotJudged>,
}

/// What costs are run over; `None` where the weather, and so the model, is not known.
pub(crate) fn year(told: &Told<'_>) -> Option<Year> {
    let station = told.read.station;
    told.weather.map(|w| {
        let uses = (0..station.machines.len())
            .map(|i| usage(told, i))
            .collect();
        Year::from_uses(station, uses, w.ambient, w.humidity)
    })
}

/// All of it, in order of telling.
pub(crate) fn of(told: &Told<'_>, year: Option<&Year>) -> (Vec<Finding>, Vec<NotJudged>) {
    let station = told.read.station;
    let mut looking = Looking {
        told,
        station,
        year,
        findings: Vec::new(),
        not_judged: Vec::new(),
    };
    leaks::look(&mut looking);
    cycling::look(&mut looking);
    supply::look(&mut looking);
    delivery::look(&mut looking);
    power::look(&mut looking);
    dryness::look(&mut looking);
    let mut findings = looking.findings;
    findings.sort_by(Finding::order);
    judge::name_causes(&mut findings);
    (findings, looking.not_judged)
}

/// How a machine would run through a year, if it went on as in the log.
fn usage(told: &Told<'_>, i: usize) -> Use {
    let logged = told.machines.iter().find(|m| m.machine == i);
    let covered = logged.map_or(0.0, |m| m.totals.hours.iter().sum::<f64>());
    let Some(machine) = logged.filter(|_| covered > 0.0) else {
        return Use {
            hours: 0.0,
            from: "not in the log".to_owned(),
            duty: 0.5,
            hours_a_day: None,
        };
    };
    let [_, unloaded, loaded] = plain(&machine.totals.hours);
    let run = (unloaded + loaded) / covered;
    Use {
        hours: 8766.0 * run,
        from: "as in the log".to_owned(),
        duty: machine.totals.duty.unwrap_or(0.5).clamp(0.02, 1.0),
        hours_a_day: Some(24.0 * run),
    }
}

impl Looking<'_> {
    /// A finding with everything that a kind need not say left empty.
    fn draft(&self, kind: Kind, subject: Asset, part: &str) -> Finding {
        Finding::draft(self.station, kind, subject, part, self.since())
    }

    /// When the log begins: whatever it shows, it shows from then on.
    fn since(&self) -> Option<Timestamp> {
        self.told.air.hours.first().map(|hour| stamp(hour.from))
    }

    fn skip(&mut self, what: impl Into<String>, why: impl Into<String>) {
        self.not_judged.push(NotJudged {
            what: what.into(),
            why: why.into(),
            working: Vec::new(),
        });
    }
}

/// A value as evidence, with what was expected.
fn evidence(asset: Asset, point: Point, read: f64, expected: Option<(f64, f64)>) -> Evidence {
    Evidence {
        id: PointId { asset, point },
        read,
        mid: expected.map(|(mid, _)| mid),
        deviations: expected.map(|(mid, sigma)| (read - mid) / sigma.max(1e-12)),
    }
}

/// How well a point is read, one standard deviation: as the station file says, else as usual.
fn sigma_of(station: &Station, id: PointId, value: f64) -> f64 {
    if let Some(limit) = station.accuracies.get(&id) {
        return limit / 1.96;
    }
    match id.point.usual_accuracy() {
        Accuracy::Limit(limit) => limit / 1.96,
        Accuracy::Share(share) => share * value.abs() / 1.96,
        Accuracy::Exact => 0.0,
    }
}
