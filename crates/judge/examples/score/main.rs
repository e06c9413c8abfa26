//! Scores the judge on invented histories, beside two simpler ways and the limit that none can pass.
//!
//! `cargo run --release -p judge --example score -- --from 1001 --seeds 20` prints Markdown.
#![expect(
    clippy::disallowed_methods,
    reason = "a program on its own: it reads its arguments, prints, and times itself"
)]

mod cases;
mod forecast;
mod pairs;
mod rivals;
mod run;
mod ways;

use std::io::Write;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use histories::Fans;

use cases::{Follows, Kindred, Site, WATCHED};
use rivals::Reader;
use run::{False, Outcome};
use ways::Way;

/// Healthy days that are judged for false findings.
const HEALTHY_DAYS: u32 = 730;
/// False alarms a station and year that the regression may have.
const REGRESSION_FALSE: f64 = 4.0;

struct Arguments {
    from: u64,
    seeds: u64,
    only: Option<String>,
    /// How the machines' fans run.
    fans: Fans,
    /// How stations and keepers differ from the usual.
    way: Way,
    /// Pairs of faults instead of single ones.
    pairs: bool,
    /// Prints each false finding and each miss.
    tell: bool,
}

fn arguments() -> Result<Arguments, String> {
    let mut a = Arguments {
        from: 1001,
        seeds: 20,
        only: None,
        fans: Fans::Constant,
        way: Way::Usual,
        pairs: false,
        tell: false,
    };
    let mut list = std::env::args().skip(1);
    while let Some(word) = list.next() {
        match word.as_str() {
            "--from" => a.from = list.next().and_then(|n| n.parse().ok()).unwrap_or(a.from),
            "--seeds" => a.seeds = list.next().and_then(|n| n.parse().ok()).unwrap_or(a.seeds),
            "--only" => a.only = list.next(),
            "--fans" => {
                let word = list.next().unwrap_or_default();
                a.fans = fans(&word).ok_or_else(|| {
                    format!("--fans {word}: write constant, on/off, variable or unknown")
                })?;
            }
            "--way" => {
                let word = list.next().unwrap_or_default();
                a.way = Way::named(&word).ok_or_else(|| {
                    let names = Way::ALL.map(|(name, _)| name).join(", ");
                    format!("--way {word}: write one of {names}")
                })?;
            }
            "--pairs" => a.pairs = true,
            "--tell" => a.tell = true,
            _ => {}
        }
    }
    Ok(a)
}

fn fans(word: &str) -> Option<Fans> {
    match word {
        "constant" => Some(Fans::Constant),
        "on/off" => Some(Fans::OnOff),
        "variable" => Some(Fans::Variable),
        "unknown" => Some(Fans::Unknown),
        _ => None,
    }
}

/// Runs the jobs on both cores; results in the order of the jobs.
pub(crate) fn spread<J: Sync, R: Send>(jobs: &[J], work: impl Fn(&J) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, R)>> = Mutex::new(Vec::new());
    let threads = std::thread::available_parallelism().map_or(2, std::num::NonZero::get);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let n = next.fetch_add(1, Ordering::Relaxed);
                    let Some(job) = jobs.get(n) else { break };
                    let result = work(job);
                    done.lock()
                        .expect("no thread panics holding it")
                        .push((n, result));
                }
            });
        }
    });
    let mut list = done.into_inner().expect("all threads ended");
    list.sort_by_key(|(n, _)| *n);
    list.into_iter().map(|(_, r)| r).collect()
}

/// One fault at one site.
struct Scored {
    site: u64,
    lacks: &'static str,
    kind: usize,
    rate: usize,
    ours: Outcome,
    fixed: Option<f64>,
    regression: Option<f64>,
    limit: Option<f64>,
    /// The limit of a test that is not told what nobody there can know: which readings were misread, nor, for
    /// faults that show in it, the day's demand.
    untold: Option<f64>,
}

fn median(mut list: Vec<f64>) -> Option<f64> {
    list.sort_by(f64::total_cmp);
    list.get(list.len() / 2).copied()
}

/// Share found, and the median delay.
pub(crate) fn late(delays: &[Option<f64>]) -> String {
    let found = 100.0 * delays.iter().flatten().count() as f64 / delays.len().max(1) as f64;
    // A fault that is not found counts as infinitely late in the median.
    let all = delays.iter().map(|d| d.unwrap_or(f64::INFINITY)).collect();
    let late = median(all).filter(|d| d.is_finite());
    format!(
        "{found:.0} % · {}",
        late.map_or("–".to_owned(), |d| format!("{d:.0}"))
    )
}

fn share(list: &[&Scored], of: impl Fn(&Scored) -> Option<f64>) -> String {
    late(&list.iter().map(|s| of(s)).collect::<Vec<_>>())
}

fn line(name: &str, list: &[&Scored]) -> String {
    let told: Vec<_> = list.iter().filter_map(|s| s.ours.cause).collect();
    let n = told.len() as f64;
    let first = told.iter().filter(|c| **c == Some(0)).count() as f64;
    let two = told.iter().filter(|c| c.is_some_and(|p| p < 2)).count() as f64;
    let causes = if told.is_empty() {
        "– | –".to_owned()
    } else {
        format!("{:.0} % | {:.0} %", 100.0 * first / n, 100.0 * two / n)
    };
    format!(
        "| {name} | {} | {} | {} | {} | {} | {} | {causes} |\n",
        list.len(),
        share(list, |s| s.ours.delay),
        share(list, |s| s.fixed),
        share(list, |s| s.regression),
        share(list, |s| s.limit),
        share(list, |s| s.untold),
    )
}

fn table(kinds: &[Kindred], scored: &[Scored]) -> String {
    let mut text = String::from(
        "| fault | cases | judge: found · days | fixed limits | regression | limit | limit, not told misreadings and demand | cause first | among two |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    for (k, kind) in kinds.iter().enumerate() {
        for (rate, word) in ["slow", "fast"].iter().enumerate() {
            let list: Vec<_> = scored
                .iter()
                .filter(|s| s.kind == k && s.rate == rate)
                .collect();
            if !list.is_empty() {
                text += &line(&format!("{}, {word}", kind.name), &list);
            }
        }
    }
    for lacks in ["nothing", "flow", "power", "dew point"] {
        let list: Vec<_> = scored.iter().filter(|s| s.lacks == lacks).collect();
        text += &line(&format!("*all, {lacks} not read*"), &list);
    }
    let all: Vec<_> = scored.iter().collect();
    text += &line("**all**", &all);
    text
}

fn false_findings(list: &[False], machine_years: f64) -> String {
    let (watches, list): (Vec<&False>, Vec<&False>) = list.iter().partition(|f| f.watch);
    let mut by_kind: std::collections::BTreeMap<&str, usize> = Default::default();
    for f in &list {
        *by_kind
            .entry(f.what.split(' ').next().unwrap_or(""))
            .or_default() += 1;
    }
    let mut text = format!(
        "False findings: {} in {machine_years:.0} healthy machine-years, {:.2} each; worth watching only: {:.2} each.\n",
        list.len(),
        list.len() as f64 / machine_years,
        watches.len() as f64 / machine_years
    );
    for (kind, n) in by_kind {
        text += &format!("- {kind}: {n}\n");
    }
    let mut watched: std::collections::BTreeMap<&str, usize> = Default::default();
    for f in watches {
        *watched
            .entry(f.what.split(' ').nth(1).unwrap_or(""))
            .or_default() += 1;
    }
    for (kind, n) in watched {
        text += &format!("- {kind}, `watch`: {n}\n");
    }
    text
}

fn main() -> Result<(), String> {
    let a = arguments()?;
    let began = Instant::now();
    let sites: Vec<Site> = (a.from..a.from + a.seeds)
        .map(|seed| Site::of(seed, a.fans, a.way))
        .collect();
    let kinds = cases::kinds();
    let mut out = std::io::stdout();
    let mut say = |text: &str| {
        out.write_all(text.as_bytes())
            .expect("standard output is open");
        out.flush().expect("standard output is open");
    };
    say(&format!(
        "Seeds {} to {}.\n\n",
        a.from,
        a.from + a.seeds - 1
    ));
    if !a.pairs && (a.only.is_none() || a.only.as_deref() == Some("healthy")) {
        let false_list: Vec<False> = spread(&sites, |s| run::healthy(s, HEALTHY_DAYS))
            .into_iter()
            .flatten()
            .collect();
        let machines: usize = sites.iter().map(|s| s.plant.machines.len()).sum();
        let years = f64::from(HEALTHY_DAYS) / 365.0 * machines as f64;
        say(&false_findings(&false_list, years));
        if a.tell {
            for f in &false_list {
                say(&format!(
                    "  seed {} day {} {}: {}\n",
                    f.seed, f.day, f.what, f.title
                ));
            }
        }
        say(&format!("\n({:.0} s)\n\n", began.elapsed().as_secs_f64()));
    }
    if a.only.as_deref() == Some("healthy") {
        return Ok(());
    }
    if a.only.as_deref() == Some("speed") {
        let fed = run::feed(&sites[0], &[], 5 * 365);
        let began = Instant::now();
        let mut judge = judge::Judge::new(&fed.station, judge::Options::default());
        for (_, round) in &fed.rounds {
            judge.see(round.clone());
        }
        let seen = began.elapsed();
        let told = judge.judge().findings.len();
        say(&format!(
            "Five years of one station, {} rounds: {:.2} s to see, {:.3} s to judge ({told} findings).\n",
            fed.rounds.len(),
            seen.as_secs_f64(),
            (began.elapsed() - seen).as_secs_f64()
        ));
        return Ok(());
    }
    let ahead = a.only.is_none() && a.fans == Fans::Constant;
    if !a.pairs && (ahead || a.only.as_deref() == Some("forecast")) {
        say(&forecast::score(&sites, a.tell));
        say(&format!("\n({:.0} s)\n\n", began.elapsed().as_secs_f64()));
    }
    let healthy = spread(&sites, |s| {
        histories::invent(
            &s.plant,
            &s.weather,
            &[],
            &s.habits,
            s.seed,
            s.onset() + WATCHED,
        )
    });
    let quiet: Vec<_> = healthy.iter().map(rivals::residuals).collect();
    let years: f64 = sites
        .iter()
        .map(|s| f64::from(s.onset() + WATCHED - 60) / 365.0)
        .sum();
    let h = rivals::tuned(&quiet, years, REGRESSION_FALSE);
    if a.pairs {
        say(&pairs::score(&sites, &kinds, h, a.only.as_deref(), a.tell));
        say(&format!("\n({:.0} s)\n", began.elapsed().as_secs_f64()));
        return Ok(());
    }
    let jobs: Vec<(usize, usize, usize)> = (0..kinds.len())
        .filter(|&k| a.fans == Fans::Constant || kinds[k].feels_fans())
        .filter(|&k| {
            a.only
                .as_ref()
                .is_none_or(|o| o.split('+').any(|o| kinds[k].name.starts_with(o)))
        })
        .flat_map(|k| (0..2).map(move |r| (k, r)))
        .flat_map(|(k, r)| {
            sites
                .iter()
                .enumerate()
                .filter({
                    let kind = &kinds[k];
                    move |(_, s)| kind.shows_at(s)
                })
                .map(move |(s, _)| (k, r, s))
        })
        .collect();
    let scored = spread(&jobs, |&(k, rate, s)| {
        let (site, kind) = (&sites[s], &kinds[k]);
        let trouble = kind.trouble(site, rate);
        let fed = run::feed(site, std::slice::from_ref(&trouble), trouble.from + WATCHED);
        Scored {
            site: site.seed,
            lacks: site.lacks,
            kind: k,
            rate,
            ours: run::fault(kind, &trouble, &fed),
            fixed: rivals::fixed(kind, &trouble, &fed.history),
            regression: rivals::regression(kind, &trouble, &fed.history, h),
            limit: rivals::limit(Reader::Known, &trouble, &healthy[s], &fed.history),
            untold: match kind.follows() {
                Follows::Demand => rivals::limit_by_means(&trouble, &healthy[s], &fed.history),
                Follows::Flow => rivals::limit_by_flow(&trouble, &healthy[s], &fed.history),
                Follows::Water => rivals::limit_by_water(&trouble, &healthy[s], &fed.history),
                Follows::Neither => {
                    rivals::limit(Reader::Unknown, &trouble, &healthy[s], &fed.history)
                }
            },
        }
    });
    if a.tell {
        for s in &scored {
            let (kind, o) = (&kinds[s.kind], &s.ours);
            say(&format!(
                "  {} rate {} seed {}: {:?} limit {:?} {:?} cause {:?} since {:?} {}\n",
                kind.name,
                s.rate,
                s.site,
                o.delay,
                s.limit,
                s.untold,
                o.cause,
                o.since_error,
                o.said
            ));
        }
    }
    say(&table(&kinds, &scored));
    say(&format!(
        "\nThe regression has h = {h:.1} for {REGRESSION_FALSE:.0} false alarms a station and year.\n({:.0} s)\n",
        began.elapsed().as_secs_f64()
    ));
    Ok(())
}
