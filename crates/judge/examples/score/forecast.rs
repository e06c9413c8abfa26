//! Whether the 80 % interval of a forecast covers what comes: the same history, left to itself, is
//! simulated until it truly reaches the limit.
//!
//! Must not know: the rivals.

use histories::{Fault, Habits, Trouble, invent};
use judge::{Judge, Kind, Options};

use crate::cases::Site;
use crate::run::{Fed, day_zero, feed};
use crate::spread;

/// Days that are simulated.
const DAYS: u32 = 1_000;
/// A forecast is taken so many days after the finding first has an interval, and again later.
const TAKEN: [u32; 3] = [0, 45, 120];

struct Case {
    name: &'static str,
    kind: Kind,
    fault: Fault,
    on: &'static str,
    /// Severity after a year.
    a_year: fn(u64) -> f64,
}

fn cases() -> Vec<Case> {
    vec![
        Case {
            name: "mat clogging",
            kind: Kind::CoolingLost,
            fault: Fault::MatClogging,
            on: "K1",
            a_year: |seed| 0.25 + 0.05 * (seed % 7) as f64,
        },
        Case {
            name: "oil-side fouling",
            kind: Kind::CoolingLost,
            fault: Fault::OilSideFouling,
            on: "K1",
            a_year: |seed| 0.25 + 0.05 * (seed % 7) as f64,
        },
        Case {
            name: "separator loading",
            kind: Kind::SeparatorLoaded,
            fault: Fault::SeparatorLoading,
            on: "K1",
            a_year: |seed| 0.4 + 0.1 * (seed % 7) as f64,
        },
        Case {
            name: "filter loading",
            kind: Kind::FilterLoaded,
            fault: Fault::FilterLoading,
            on: "F1",
            a_year: |seed| 0.12 + 0.04 * (seed % 7) as f64,
        },
    ]
}

/// One forecast: days from the first to its 10, 50 and 90 %, and to what came.
struct Told {
    interval: [Option<f64>; 3],
    came: Option<f64>,
    now: f64,
}

pub(crate) fn score(sites: &[Site], tell: bool) -> String {
    let mut text = String::from(
        "| forecast | told | inside 80 % | came before | came after | median error, days | median width, days |\n\
         | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    let mut everything = Vec::new();
    for case in cases() {
        let told: Vec<(u64, Told)> = spread(sites, |site| {
            one(site, &case)
                .into_iter()
                .map(|t| (site.seed, t))
                .collect::<Vec<_>>()
        })
        .into_iter()
        .flatten()
        .collect();
        if tell {
            for (seed, t) in &told {
                text += &format!(
                    "  {} seed {seed} at {:.0}: {:?} came {:?}\n",
                    case.name, t.now, t.interval, t.came
                );
            }
        }
        let told: Vec<Told> = told.into_iter().map(|(_, t)| t).collect();
        text += &row(case.name, &told.iter().collect::<Vec<_>>());
        everything.extend(told);
    }
    text += &row("**all**", &everything.iter().collect::<Vec<_>>());
    text
}

fn row(name: &str, told: &[&Told]) -> String {
    let n = told.len().max(1) as f64;
    let (mut inside, mut before, mut after) = (0.0, 0.0, 0.0);
    let (mut errors, mut widths) = (Vec::new(), Vec::new());
    for t in told {
        let low = t.interval[0].unwrap_or(f64::INFINITY);
        let high = t.interval[2].unwrap_or(f64::INFINITY);
        // Not within the days that were simulated and not within the forecast's horizon is a hit.
        let came = t.came.unwrap_or(f64::INFINITY);
        if came < low {
            before += 1.0;
        } else if came > high {
            after += 1.0;
        } else {
            inside += 1.0;
        }
        if let (Some(likely), Some(came)) = (t.interval[1], t.came) {
            errors.push((likely - came).abs());
        }
        if let (Some(low), Some(high)) = (t.interval[0], t.interval[2]) {
            widths.push(high - low);
        }
    }
    let shown =
        |list: Vec<f64>| crate::median(list).map_or("–".to_owned(), |d| format!("{d:.0}"));
    format!(
        "| {name} | {} | {:.0} % | {:.0} % | {:.0} % | {} | {} |\n",
        told.len(),
        100.0 * inside / n,
        100.0 * before / n,
        100.0 * after / n,
        shown(errors),
        shown(widths),
    )
}

fn one(site: &Site, case: &Case) -> Vec<Told> {
    let mut site = Site::of(site.seed, site.fans, site.way);
    // The limit is told for the duty that the rounds saw.
    site.plant.load.late = site.plant.load.early;
    let from = site.onset();
    let trouble = Trouble {
        fault: case.fault.clone(),
        on: case.on.to_owned(),
        from,
        full: from + 1_095,
        severity: 3.0 * (case.a_year)(site.seed),
        mended: None,
    };
    let Some(came) = truth(&site, case, &trouble) else {
        return Vec::new();
    };
    let fed = feed(&site, std::slice::from_ref(&trouble), DAYS);
    let mut judge = Judge::new(&fed.station, Options::default());
    let zero = day_zero(&fed);
    let (mut told, mut first) = (Vec::new(), None);
    for (n, (day, round)) in fed.rounds.iter().enumerate() {
        if f64::from(*day) >= came || told.len() == TAKEN.len() {
            break;
        }
        judge.see(round.clone());
        let due = first.map_or(0, |f: u32| f + TAKEN[told.len()]);
        if *day < from || n % 3 != 0 || *day < due {
            continue;
        }
        let judgement = judge.judge();
        let Some(limit) = judgement
            .findings
            .iter()
            .filter(|f| f.kind == case.kind && fed.station.id(f.subject) == case.on)
            .filter_map(|f| f.limit.as_ref())
            .find(|l| l.earliest.is_some() || l.latest.is_some())
        else {
            continue;
        };
        first.get_or_insert(*day);
        let at = |d: Option<jiff::civil::Date>| {
            let epoch = jiff::civil::date(1970, 1, 1);
            d.and_then(|d| epoch.until(d).ok())
                .map(|span| f64::from(span.get_days()) - zero)
        };
        told.push(Told {
            interval: [at(limit.earliest), at(limit.likely), at(limit.latest)],
            came: Some(came),
            now: f64::from(*day),
        });
    }
    let _: &Fed = &fed;
    told
}

/// The day on which it truly reaches its limit.
fn truth(site: &Site, case: &Case, trouble: &Trouble) -> Option<f64> {
    // In the warmest hour, every working day: a month's mean is the weather of its mean maximum.
    let habits = Habits {
        at_minute: 15 * 60,
        minutes_spread: 0.0,
        first_day: site.habits.first_day,
        off_shift_every: 0,
        saturday_every: 0,
        ..Habits::perfect()
    };
    let history = invent(
        &site.plant,
        &site.weather,
        std::slice::from_ref(trouble),
        &habits,
        site.seed,
        DAYS + 200,
    );
    match case.kind {
        Kind::CoolingLost => {
            let list: Vec<(f64, f64)> = history
                .truth
                .iter()
                .filter_map(|t| Some((f64::from(t.day), *t.values.get("K1.oil_temperature")?)))
                .collect();
            list.windows(21)
                .find(|w| w.iter().map(|(_, v)| v).sum::<f64>() / 21.0 >= 105.0)
                .map(|w| w[10].0)
        }
        Kind::SeparatorLoaded => {
            let change = site.plant.machines[0].plate.separator_change_bar;
            history
                .truth
                .iter()
                .find(|t| {
                    t.health
                        .get("K1.separator_bar")
                        .is_some_and(|v| *v >= change)
                })
                .map(|t| f64::from(t.day))
        }
        _ => {
            let change = site.plant.filter.change_bar / site.plant.filter.true_clean_bar;
            history
                .truth
                .iter()
                .find(|t| t.health.get("F1.factor").is_some_and(|v| *v >= change))
                .map(|t| f64::from(t.day))
        }
    }
}
