//! Where a case comes out otherwise than it is written.

use judge::finding::Finding;
use judge::say::in_file_unit;

use super::expect::{Detail, Said, Text, Wanted};
use super::page::Case;
use super::run::Outcome;
use super::show;

/// Everything that is otherwise, each with its line.
pub(crate) fn complaints(case: &Case, outcome: &Outcome) -> Vec<String> {
    let mut list = findings(case, outcome);
    for quiet in &case.expect.quiet {
        for f in &outcome.judgement.findings {
            if f.kind == quiet.kind && outcome.station.id(f.subject) == quiet.subject {
                list.push(format!(
                    "line {} says that there must be no {} on {}, but there is:\n    {}",
                    quiet.line,
                    quiet.kind.name(),
                    quiet.subject,
                    show::finding(outcome, f)
                ));
            }
        }
    }
    for said in &case.expect.not_judged {
        list.extend(not_judged(said, outcome));
    }
    for said in &case.expect.judged {
        if let Some(n) = outcome
            .judgement
            .not_judged
            .iter()
            .find(|n| n.what == said.what)
        {
            list.push(format!(
                "line {} says that `{}` is judged, but it is not: {}",
                said.line, said.what, n.why
            ));
        }
    }
    list.extend(rejected(case, outcome));
    list.extend(points(case, outcome));
    list
}

fn findings(case: &Case, outcome: &Outcome) -> Vec<String> {
    let mut list = Vec::new();
    let mut left: Vec<&Finding> = outcome.judgement.findings.iter().collect();
    for wanted in &case.expect.findings {
        let like = |f: &&Finding| is_it(wanted, outcome, f);
        // Of two on one subject, the one of the urgency that is written.
        let place = left
            .iter()
            .position(|f| like(f) && f.urgency == wanted.urgency)
            .or_else(|| left.iter().position(like));
        let Some(place) = place else {
            list.push(format!(
                "line {} expects `{} on {}, {}`, but it is not found",
                wanted.line,
                wanted.kind.name(),
                wanted.subject,
                wanted.urgency.words()
            ));
            continue;
        };
        let found = left.remove(place);
        if found.urgency != wanted.urgency {
            list.push(format!(
                "line {} expects {} on {} to be `{}`, but it is `{}`:\n    {}",
                wanted.line,
                wanted.kind.name(),
                wanted.subject,
                wanted.urgency.words(),
                found.urgency.words(),
                found.title
            ));
        }
        for (line, detail) in &wanted.details {
            if let Some(what) = otherwise(detail, found, outcome) {
                list.push(format!("line {line}: {what}"));
            }
        }
    }
    if !case.expect.also_anything {
        for f in left {
            list.push(format!(
                "nothing is written of what is found:\n    {}",
                show::finding(outcome, f)
            ));
        }
    }
    list
}

fn is_it(wanted: &Wanted, outcome: &Outcome, f: &Finding) -> bool {
    let part = wanted.details.iter().all(|(_, detail)| match detail {
        Detail::Part(part) => f.id == format!("{}.{part}", wanted.subject),
        _ => true,
    });
    f.kind == wanted.kind && outcome.station.id(f.subject) == wanted.subject && part
}

fn text_of(which: Text, f: &Finding) -> (&'static str, String) {
    match which {
        Text::Title => ("title", f.title.clone()),
        Text::Action => ("action", f.action.clone()),
        Text::NextCheck => ("next check", f.next_check.clone().unwrap_or_default()),
        Text::Stake => ("stake", f.cost.why_not.clone().unwrap_or_default()),
        Text::Cautions => ("cautions", f.cautions.join("; ")),
        Text::Working => (
            "working",
            f.working
                .iter()
                .map(|s| {
                    format!(
                        "{}: {} = {} {} ({})",
                        s.name, s.numbers, s.value, s.unit, s.source
                    )
                })
                .collect::<Vec<_>>()
                .join("; "),
        ),
    }
}

fn within(value: f64, low: f64, high: f64) -> bool {
    low <= value && value <= high
}

fn otherwise(detail: &Detail, f: &Finding, outcome: &Outcome) -> Option<String> {
    let (wrong, what) = match detail {
        Detail::Part(_) => (false, String::new()),
        Detail::Has(which, words) | Detail::Lacks(which, words) => {
            let (name, text) = text_of(*which, f);
            let has = text.contains(words.as_str());
            let (wrong, verb) = match detail {
                Detail::Has(..) => (!has, "has no"),
                _ => (has, "has"),
            };
            (wrong, format!("the {name} {verb} \"{words}\":\n    {text}"))
        }
        Detail::Since(day) => {
            let since = f.since.map(|t| {
                let local = t.to_zoned_datetime(outcome.station.site.time_zone.clone());
                local.date().to_string()
            });
            (
                since.as_deref() != Some(day),
                format!("since {day} is expected, found {since:?}"),
            )
        }
        Detail::Health(low, high) => {
            let value = f.health.as_ref().map(|h| h.value);
            (
                !value.is_some_and(|v| within(v, *low, *high)),
                format!("a health of {low}…{high} is expected, found {value:?}"),
            )
        }
        Detail::Limit(wanted) => {
            let likely = f
                .limit
                .as_ref()
                .and_then(|l| l.likely)
                .map(|d| d.to_string());
            let right = match (wanted, &likely) {
                (None, None) => true,
                (Some((from, to)), Some(day)) => from <= day && day <= to,
                _ => false,
            };
            (
                !right,
                format!("another date of the limit is expected, found {likely:?}"),
            )
        }
        Detail::Cost(wanted) => {
            let currency = outcome
                .station
                .site
                .price
                .as_ref()
                .map(|p| p.currency.as_str());
            let right = match (wanted, f.cost.per_year) {
                (None, None) => true,
                (Some((low, high, unit)), Some(sum)) => {
                    within(sum, *low, *high) && currency == Some(unit.as_str())
                }
                _ => false,
            };
            (
                !right,
                format!(
                    "another cost is expected, found {:?} {currency:?}",
                    f.cost.per_year
                ),
            )
        }
        Detail::Energy(wanted) => {
            let right = match (wanted, f.cost.kwh_per_year) {
                (None, None) => true,
                (Some((low, high)), Some(kwh)) => within(kwh, *low, *high),
                _ => false,
            };
            (
                !right,
                format!(
                    "another energy is expected, found {:?} kWh",
                    f.cost.kwh_per_year
                ),
            )
        }
    };
    wrong.then(|| {
        format!(
            "{} on {}: {what}",
            f.kind.name(),
            outcome.station.id(f.subject)
        )
    })
}

fn not_judged(said: &Said, outcome: &Outcome) -> Option<String> {
    let found = outcome
        .judgement
        .not_judged
        .iter()
        .find(|n| n.what == said.what);
    match (found, &said.because) {
        (None, _) => {
            let all: Vec<&str> = outcome
                .judgement
                .not_judged
                .iter()
                .map(|n| n.what.as_str())
                .collect();
            Some(format!(
                "line {} says that `{}` is not judged; not judged are: {}",
                said.line,
                said.what,
                all.join("; ")
            ))
        }
        (Some(n), Some(why)) if !n.why.contains(why.as_str()) => Some(format!(
            "line {}: `{}` is not judged, but the reason is another: {}",
            said.line, said.what, n.why
        )),
        _ => None,
    }
}

fn rejected(case: &Case, outcome: &Outcome) -> Vec<String> {
    let mut list = Vec::new();
    for r in &outcome.rejected {
        let wanted = case.expect.rejected.iter().find(|w| w.row == r.line);
        match wanted {
            None => list.push(format!(
                "line {} of the `csv` block is rejected: {}: {}",
                r.line, r.column, r.problem
            )),
            Some(w) => {
                let text = format!("{}: {}", r.column, r.problem);
                if w.has
                    .as_ref()
                    .is_some_and(|has| !text.contains(has.as_str()))
                {
                    list.push(format!("line {}: the reason is another: {text}", w.line));
                }
            }
        }
    }
    for w in &case.expect.rejected {
        if !outcome.rejected.iter().any(|r| r.line == w.row) {
            list.push(format!(
                "line {} says that line {} of the `csv` block is rejected, but it is accepted",
                w.line, w.row
            ));
        }
    }
    list
}

fn points(case: &Case, outcome: &Outcome) -> Vec<String> {
    case.expect
        .points
        .iter()
        .filter_map(|wanted| {
            let name = |e: &&judge::Expectation| {
                format!("{}.{}", outcome.station.id(e.id.asset), e.id.point.name()) == wanted.point
            };
            let mid = outcome
                .judgement
                .expectations
                .iter()
                .find(name)
                .map(|e| in_file_unit(e.id.point, e.mid).0);
            let (low, high) = wanted.range;
            let right = mid.is_some_and(|mid| within(mid, low, high));
            (!right).then(|| {
                format!(
                    "line {}: {} is expected at {low}…{high}, the model gives {mid:?}",
                    wanted.line, wanted.point
                )
            })
        })
        .collect()
}

/// A snapshot that no longer holds.
pub(crate) fn snapshot(case: &Case, found: &str) -> Option<String> {
    let block = case.snapshot.as_ref()?;
    (block.text.trim() != found.trim()).then(|| {
        format!(
            "{}\n  the snapshot on line {} says\n{}\n  and now it is\n{}\n  if that is right, write it anew with BLESS=1",
            show::place(case),
            block.line,
            show::indented(&block.text),
            show::indented(found)
        )
    })
}
