//! Feeds rounds to the judge and notes what comes up.
//!
//! Must not know: the rivals.

use std::collections::{BTreeMap, BTreeSet};

use histories::{History, Trouble, invent, to_csv, to_station_toml};
use jiff::Timestamp;
use judge::{Finding, Judge, Kind, Options, Urgency};
use station::file::rounds::{Reader, Row};
use station::file::station::parse;
use station::model::Station;
use station::round::Round;

use crate::cases::{FIRST_ONSET, Kindred, Site, WATCHED};

/// The station is judged after every so many rounds.
pub(crate) const EVERY: usize = 3;
/// After every one in the first days of a fault: rivals are asked after each round too.
pub(crate) const EACH_ROUND: u32 = 60;

pub(crate) struct Fed {
    pub(crate) station: Station,
    /// Each with its day since the first.
    pub(crate) rounds: Vec<(u32, Round)>,
    pub(crate) history: History,
}

pub(crate) fn feed(site: &Site, troubles: &[Trouble], days: u32) -> Fed {
    let history = invent(
        &site.plant,
        &site.weather,
        troubles,
        &site.habits,
        site.seed,
        days,
    );
    let station = parse(&to_station_toml(&site.plant, &site.climate))
        .unwrap_or_else(|problems| panic!("seed {}: {}", site.seed, problems[0]));
    let csv = to_csv(&history);
    let mut reader = Reader::open(csv.as_bytes(), &station)
        .unwrap_or_else(|problems| panic!("seed {}: {}", site.seed, problems[0]));
    let mut rounds = Vec::new();
    let mut days = history.rounds.iter().map(|r| r.day);
    for row in &mut reader {
        let day = days.next().unwrap_or(0);
        match row.expect("text in memory can be read") {
            Row::Round(round) => rounds.push((day, round)),
            Row::Rejected(_) => {}
        }
    }
    Fed {
        station,
        rounds,
        history,
    }
}

/// A finding that came up though nothing was wrong.
pub(crate) struct False {
    /// Told as worth watching only.
    pub(crate) watch: bool,
    pub(crate) seed: u64,
    pub(crate) day: u32,
    pub(crate) what: String,
    pub(crate) title: String,
}

/// Kinds that a station without any trouble may show.
const NO_FALSE_ALARM: [Kind; 3] = [Kind::ServiceDue, Kind::Design, Kind::OilAged];

/// Healthy days: what comes up nevertheless, once each time that it comes up.
pub(crate) fn healthy(site: &Site, days: u32) -> Vec<False> {
    let fed = feed(site, &[], days);
    let mut judge = Judge::new(&fed.station, Options::default());
    let mut standing = BTreeSet::new();
    let mut list = Vec::new();
    for (n, (day, round)) in fed.rounds.iter().enumerate() {
        judge.see(round.clone());
        if n % EVERY != 0 {
            continue;
        }
        let mut now = BTreeSet::new();
        for f in &judge.judge().findings {
            if is_so_anyway(&fed, *day, f) {
                continue;
            }
            let watch = f.urgency == Urgency::Watch;
            let what = format!(
                "{}{} {}",
                if watch { "watch " } else { "" },
                f.kind.name(),
                f.id
            );
            if !standing.contains(&what) {
                list.push(False {
                    watch: f.urgency == Urgency::Watch,
                    seed: site.seed,
                    day: *day,
                    what: what.clone(),
                    title: format!("{}: {}", f.urgency.words(), f.title),
                });
            }
            now.insert(what);
        }
        standing = now;
    }
    list
}

/// What comes up at a station that has no trouble, or is truly so without any.
pub(crate) fn is_so_anyway(fed: &Fed, day: u32, f: &Finding) -> bool {
    NO_FALSE_ALARM.contains(&f.kind) || wears(fed, day, f)
}

/// What is truly so: ordinary wear near its change, a dryer too small for the day, oil used up.
fn wears(fed: &Fed, day: u32, f: &Finding) -> bool {
    let id = fed.station.id(f.subject);
    let Some(truth) = fed.history.truth.iter().find(|t| t.day == day) else {
        return false;
    };
    match f.kind {
        Kind::SeparatorLoaded => truth
            .health
            .get(&format!("{id}.separator_bar"))
            .is_some_and(|bar| {
                *bar > 0.8 * fed.history.plant.machines[0].plate.separator_change_bar
            }),
        Kind::BeltSlack => truth
            .values
            .get(&format!("{id}.belt_indicator"))
            .is_some_and(|used| *used > 0.7),
        Kind::FilterLoaded => truth
            .health
            .get(&format!("{id}.factor"))
            .is_some_and(|x| x * fed.history.plant.filter.true_clean_bar > 0.28),
        // Too moist for its pipes on that day in truth, since the dryer is small for the weather.
        Kind::WaterDownstream | Kind::DewPointHigh => truth
            .values
            .get("D1.dew_point")
            .is_some_and(|t| *t > fed.history.plant.header.coldest_c),
        // Too little for the plant in truth: machines too small for the day.
        Kind::PressureShort => truth
            .values
            .get(&format!("{id}.pressure"))
            .is_some_and(|bar| *bar < fed.history.plant.header.wanted_bar_g),
        // Written down by the reader in words, and true.
        Kind::OilLevel => true,
        _ => false,
    }
}

/// How one fault came out.
#[derive(Default, Clone)]
pub(crate) struct Outcome {
    pub(crate) delay: Option<f64>,
    /// Place of the right cause in the finding when it was told with causes, 0 first.
    pub(crate) cause: Option<Option<usize>>,
    /// Days from the true beginning to the beginning that was told.
    pub(crate) since_error: Option<f64>,
    pub(crate) said: String,
}

pub(crate) fn day_zero(fed: &Fed) -> f64 {
    fed.rounds
        .first()
        .map_or(0.0, |(day, r)| days(r.time) - f64::from(*day))
}

pub(crate) fn days(time: Timestamp) -> f64 {
    time.as_millisecond() as f64 / 86_400_000.0
}

/// One fault from its beginning on.
pub(crate) fn fault(kind: &Kindred, trouble: &Trouble, fed: &Fed) -> Outcome {
    let mut judge = Judge::new(&fed.station, Options::default());
    let mut out = Outcome::default();
    let mut before: BTreeMap<String, Urgency> = BTreeMap::new();
    let zero = day_zero(fed);
    let mut settle: Option<u32> = None;
    for (n, (day, round)) in fed.rounds.iter().enumerate() {
        judge.see(round.clone());
        let started = *day >= trouble.from;
        let early = *day >= trouble.from && *day < trouble.from + EACH_ROUND;
        if !early && n % EVERY != 0 || *day + 12 < trouble.from || *day + 12 < FIRST_ONSET {
            continue;
        }
        if *day > trouble.from + WATCHED || settle.is_some_and(|d| *day > d + 30) {
            break;
        }
        let judgement = judge.judge();
        let fitting = judgement
            .findings
            .iter()
            .filter(|f| kind.fits(&fed.station, f));
        for f in fitting {
            let name = format!("{} {}", f.kind.name(), f.id);
            if !started {
                let stood = before.entry(name).or_insert(f.urgency);
                *stood = f.urgency.min(*stood);
            } else if before.get(&name).is_none_or(|stood| f.urgency < *stood) {
                if out.delay.is_none() {
                    out.delay = Some(f64::from(day - trouble.from));
                    out.since_error = f.since.map(|s| days(s) - zero - f64::from(trouble.from));
                    settle = Some(*day);
                }
                if !kind.cause.is_empty() && !f.causes.is_empty() {
                    out.cause = Some(f.causes.iter().position(|c| c.cause == kind.cause));
                    out.said = f
                        .causes
                        .iter()
                        .take(3)
                        .map(|c| format!("{} {:.2}", c.cause, c.probability))
                        .collect::<Vec<_>>()
                        .join(", ")
                        + " | "
                        + &f.title;
                }
            }
        }
    }
    out
}
