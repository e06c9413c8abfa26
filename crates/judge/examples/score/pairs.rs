//! Two faults in the same year: whether both are told, each by its cause, and nothing else beside.
//!
//! Must not know: how anything is judged.

use std::collections::{BTreeMap, BTreeSet};

use histories::{History, Trouble};
use judge::{Finding, Judge, Kind, Options, Urgency};
use station::model::Station;

use crate::cases::{Kindred, Site, WATCHED};
use crate::run::{EVERY, feed, healthy, is_so_anyway};
use crate::{late, rivals, spread};

/// Pairs that come together in practice, or that hide one another; by the names of the faults.
const PAIRS: [[&str; 2]; 10] = [
    ["mat clogging", "separator loading"],
    ["mat clogging", "oil-side fouling"],
    ["belt slipping", "filter loading"],
    ["leaks growing", "air end worn"],
    ["oil gauge off", "mat clogging"],
    ["room hot", "mat clogging"],
    ["drain blocked", "dryer weak"],
    ["separator loading", "intake choked"],
    ["filter loading", "leaks growing"],
    ["thermostat stuck open", "mat clogging"],
];

/// How the two come: in words, days from the first to the second, and the rate of each.
const COURSES: [(&str, u32, [usize; 2]); 3] = [
    ("together, slow", 0, [0, 0]),
    ("together, fast", 0, [1, 1]),
    ("60 days apart", 60, [0, 1]),
];

/// After both are found, what else comes up is watched for so many days, and judged more seldom.
const AFTER: u32 = 60;
const AFTER_EVERY: usize = 4 * EVERY;

/// One of the two, as it came out.
#[derive(Default, Clone)]
struct Half {
    delay: Option<f64>,
    /// Place of its cause in its finding, when the finding names any; the latest.
    cause: Option<Option<usize>>,
    fixed: Option<f64>,
    regression: Option<f64>,
}

/// A finding beyond `watch` that is neither of the two, and that the same station without any
/// trouble does not bring up.
struct Third {
    day: u32,
    what: String,
    title: String,
}

struct Scored {
    pair: usize,
    course: usize,
    site: u64,
    halves: [Half; 2],
    /// One judgement told both.
    both: bool,
    third: Vec<Third>,
}

fn place(finding: &Finding, cause: &str) -> Option<usize> {
    finding.causes.iter().position(|c| c.cause == cause)
}

/// Which of the two a finding tells. One that would fit both tells the one whose cause it names
/// before the other's; without any cause, the first.
fn tells(kinds: [&Kindred; 2], station: &Station, finding: &Finding) -> [bool; 2] {
    let fits = kinds.map(|k| k.fits(station, finding));
    let [a, b] = kinds.map(|k| k.cause);
    if fits != [true, true] || a.is_empty() || b.is_empty() {
        return fits;
    }
    match (place(finding, a), place(finding, b)) {
        _ if finding.causes.is_empty() => [true, false],
        (Some(a), Some(b)) => [a < b, b < a],
        (a, b) => [a.is_some(), b.is_some()],
    }
}

/// What follows from one of the two in truth, though it is of another kind.
fn follows(kinds: [&Kindred; 2], day: u32, history: &History, f: &Finding) -> bool {
    let has = |name: &str| kinds.iter().any(|k| k.name == name);
    let truth = history.truth.iter().find(|t| t.day == day);
    let below = |point: &str, limit: f64| {
        truth
            .and_then(|t| t.values.get(point))
            .is_some_and(|v| *v < limit)
    };
    match f.kind {
        // Hot cooling air makes hot oil, today or on the hottest day.
        Kind::OilHot => has("room hot"),
        // The header truly lacks pressure, or the mean of its band does.
        Kind::PressureShort => below("MAIN.pressure", history.plant.header.wanted_bar_g + 0.1),
        // Choked, torn or loaded: looked at and said so.
        Kind::Observation => true,
        _ => false,
    }
}

/// `false_anyway` is what comes up there without any trouble.
fn one(
    site: &Site,
    false_anyway: &BTreeSet<String>,
    kinds: [&Kindred; 2],
    course: usize,
    h: f64,
) -> ([Half; 2], bool, Vec<Third>) {
    let (_, apart, rates) = COURSES[course];
    let [a, mut b] = [0, 1].map(|i| kinds[i].trouble(site, rates[i]));
    b.from += apart;
    b.full += apart;
    let troubles: [Trouble; 2] = [a, b];
    let last = troubles[1].from + WATCHED;
    let fed = feed(site, &troubles, last);
    let mut halves = [0, 1].map(|i| Half {
        fixed: rivals::fixed(kinds[i], &troubles[i], &fed.history),
        regression: rivals::regression(kinds[i], &troubles[i], &fed.history, h),
        ..Half::default()
    });
    let (mut both, mut third) = (false, Vec::new());
    let mut judge = Judge::new(&fed.station, Options::default());
    // What stood before each began.
    let mut before: [BTreeSet<String>; 2] = Default::default();
    let mut known: BTreeSet<String> = BTreeSet::new();
    let mut settled: Option<u32> = None;
    for (n, (day, round)) in fed.rounds.iter().enumerate() {
        judge.see(round.clone());
        let every = settled.map_or(EVERY, |_| AFTER_EVERY);
        if n % every != 0 || *day + 12 < troubles[0].from {
            continue;
        }
        if settled.is_some_and(|d| *day > d + AFTER) {
            break;
        }
        let mut now = [false; 2];
        for f in &judge.judge().findings {
            let name = format!("{} {}", f.kind.name(), f.id);
            let told = tells(kinds, &fed.station, f);
            for i in 0..2 {
                if !told[i] {
                } else if *day < troubles[i].from {
                    before[i].insert(name.clone());
                } else if !before[i].contains(&name) || f.urgency < Urgency::NextService {
                    now[i] = true;
                    let delay = f64::from(day - troubles[i].from);
                    halves[i].delay.get_or_insert(delay);
                    let cause = kinds[i].cause;
                    if !cause.is_empty() && !f.causes.is_empty() {
                        halves[i].cause = Some(place(f, cause));
                    }
                }
            }
            let fits_one = kinds.iter().any(|k| k.fits(&fed.station, f));
            let wrong = f.urgency < Urgency::Watch
                && !false_anyway.contains(&name)
                && !fits_one
                && !is_so_anyway(&fed, *day, f)
                && !follows(kinds, *day, &fed.history, f);
            if wrong && known.insert(name.clone()) && *day >= troubles[0].from {
                third.push(Third {
                    day: day - troubles[0].from,
                    what: name,
                    title: format!("{}: {}", f.urgency.words(), f.title),
                });
            }
        }
        both |= now == [true, true];
        if halves.iter().all(|half| half.delay.is_some()) {
            settled.get_or_insert(*day);
        }
    }
    (halves, both, third)
}

/// Scores every pair at every site that reads what both need to show; `h` is the regression's.
pub(crate) fn score(
    sites: &[Site],
    kinds: &[Kindred],
    h: f64,
    only: Option<&str>,
    tell: bool,
) -> String {
    let of = |name: &str| {
        kinds
            .iter()
            .find(|k| k.name == name)
            .expect("pairs are of faults that are scored")
    };
    let last = sites.iter().map(|s| s.onset()).max().unwrap_or(0) + 60 + WATCHED;
    let anyway: BTreeMap<u64, BTreeSet<String>> = sites
        .iter()
        .map(|s| s.seed)
        .zip(spread(sites, |s| {
            healthy(s, last)
                .into_iter()
                .filter(|f| !f.watch)
                .map(|f| f.what)
                .collect()
        }))
        .collect();
    let jobs: Vec<(usize, usize, &Site)> = (0..PAIRS.len())
        .filter(|&p| only.is_none_or(|o| PAIRS[p].join(" + ").starts_with(o)))
        .flat_map(|p| (0..COURSES.len()).map(move |c| (p, c)))
        .flat_map(|(p, c)| sites.iter().map(move |s| (p, c, s)))
        .filter(|(p, _, s)| PAIRS[*p].iter().all(|name| of(name).shows_at(s)))
        .collect();
    let scored = spread(&jobs, |&(pair, course, site)| {
        let (halves, both, third) = one(site, &anyway[&site.seed], PAIRS[pair].map(of), course, h);
        Scored {
            pair,
            course,
            site: site.seed,
            halves,
            both,
            third,
        }
    });
    let mut text = String::new();
    if tell {
        for s in &scored {
            text += &told(s);
        }
    }
    text += "| pair | cases | the first: found · days | the second | both in one | fixed limits | regression | cause first | among two | a third |\n\
             | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n";
    for (p, names) in PAIRS.iter().enumerate() {
        for (c, (course, ..)) in COURSES.iter().enumerate() {
            let list: Vec<&Scored> = scored
                .iter()
                .filter(|s| s.pair == p && s.course == c)
                .collect();
            if !list.is_empty() {
                text += &row(&format!("{}, {course}", names.join(" + ")), &list);
            }
        }
    }
    let all: Vec<&Scored> = scored.iter().collect();
    text + &row("**all**", &all)
}

fn told(s: &Scored) -> String {
    let [a, b] = &s.halves;
    let mut text = format!(
        "  {}, {} seed {}: {:?} {:?} both {} causes {:?} {:?}\n",
        PAIRS[s.pair].join(" + "),
        COURSES[s.course].0,
        s.site,
        a.delay,
        b.delay,
        s.both,
        a.cause,
        b.cause
    );
    for t in &s.third {
        text += &format!("    third, day {}, {}: {}\n", t.day, t.what, t.title);
    }
    text
}

fn row(name: &str, list: &[&Scored]) -> String {
    let n = list.len() as f64;
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    let delays = |i: usize, of: fn(&Half) -> Option<f64>| {
        late(&list.iter().map(|s| of(&s.halves[i])).collect::<Vec<_>>())
    };
    let beside = |of: fn(&Half) -> Option<f64>| format!("{}; {}", delays(0, of), delays(1, of));
    // Of the findings that name causes, how many name the right one so early.
    let causes = |within: usize| {
        [0, 1]
            .map(|i| {
                let named: Vec<_> = list.iter().filter_map(|s| s.halves[i].cause).collect();
                let right = named.iter().filter(|c| c.is_some_and(|p| p < within));
                let share = right.count() as f64 / named.len() as f64;
                if named.is_empty() {
                    "–".to_owned()
                } else {
                    percent(share)
                }
            })
            .join("; ")
    };
    let both = list.iter().filter(|s| s.both).count() as f64;
    let third = list.iter().filter(|s| !s.third.is_empty()).count() as f64;
    format!(
        "| {name} | {} | {} | {} | {} | {} | {} | {} | {} | {} |\n",
        list.len(),
        delays(0, |h| h.delay),
        delays(1, |h| h.delay),
        percent(both / n),
        beside(|h| h.fixed),
        beside(|h| h.regression),
        causes(1),
        causes(2),
        percent(third / n),
    )
}
