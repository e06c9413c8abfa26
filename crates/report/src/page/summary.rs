//! The first page of a station: what is wrong, by when, what it costs, what to do first. An owner
//! reads it alone and signs.
//!
//! Must not know: how anything is judged.

use judge::finding::Stake;
use judge::safety::LOCAL_CODES;
use judge::say::grouped;
use judge::{Finding, Judgement};
use physics::working::Step;
use station::model::Asset;

use super::phrase::{currency, heading, sum, time, today};
use super::{Sheet, head, owner};
use crate::html::Html;

/// Lines of the table of findings that fit on one sheet of paper with all the rest.
const MOST_LINES: usize = 26;
/// Signs of a title on one line of that table.
const LINE: usize = 66;

pub(super) fn of(h: &mut Html, sheet: &Sheet) {
    let judgement = sheet.one.judgement;
    let id = sheet.at("summary");
    h.el("section", &[("id", &id), ("class", "summary")], |h| {
        h.el(sheet.heading(0), &[("id", &sheet.at("name"))], |h| {
            h.el("bdi", &[], |h| h.as_written(&sheet.station().site.name));
        });
        let when = judgement
            .as_of
            .filter(|_| sheet.one.log.is_none())
            .map(|t| format!("As of {}. ", time(sheet.station(), t)));
        h.el("p", &[("class", "q counts")], |h| {
            h.text(&when.unwrap_or_default());
            h.text(&head::rows_in_short(sheet));
            if sheet.one.rows.rejected_total > 0 {
                h.text(": ");
                h.link(&sheet.at("rejected"), "which and why");
            }
            h.text(".");
        });
        if sheet.one.invented {
            h.put(
                "p",
                &[("class", "invented")],
                "This station is invented, and so are all of its numbers.",
            );
        }
        h.el("dl", &[("class", "facts")], |h| match sheet.one.log {
            Some(log) => owner::facts(h, sheet, log),
            None => facts(h, sheet),
        });
        match sheet.one.log {
            Some(log) => {
                owner::in_line(h, sheet);
                owner::to_do(h, sheet, log);
                if judgement.findings.len() > owner::FIRST {
                    table(h, sheet);
                }
                owner::doubts(h, sheet, log);
            }
            None => of_rounds(h, sheet),
        }
        signature(h);
        h.put("p", &[("class", "q codes")], &format!("{LOCAL_CODES}."));
    });
}

/// What is at stake, what comes first, all findings in short.
fn of_rounds(h: &mut Html, sheet: &Sheet) {
    let judgement = sheet.one.judgement;
    if judgement.findings.is_empty() {
        if judgement.rounds > 0 {
            h.put("p", &[("class", "first")], "Steady: nothing to say.");
        }
    } else {
        stakes(h, judgement);
        first(h, sheet);
        table(h, sheet);
    }
    if !judgement.not_judged.is_empty() {
        h.el("p", &[("class", "q")], |h| not_judged(h, sheet));
    }
}

/// How many things could not be judged, and where they stand.
pub(super) fn not_judged(h: &mut Html, sheet: &Sheet) {
    let n = sheet.one.judgement.not_judged.len();
    let things = if n == 1 { "thing" } else { "things" };
    let said = format!("{n} {things} could not be judged: ");
    h.put("span", &[("class", "counts")], &said);
    h.link(&sheet.at("not-judged"), "what and why");
    h.text(".");
}

/// Three large facts: how urgent, what it costs, what comes first.
fn facts(h: &mut Html, sheet: &Sheet) {
    let judgement = sheet.one.judgement;
    if sheet.one.log.is_none() || !judgement.findings.is_empty() {
        let short = judgement.in_short();
        fact(h, "findings", |h| {
            h.put("span", &[("class", "counts")], &short)
        });
    }
    if let Some(total) = total(judgement, currency(sheet.station())) {
        let share = format!(
            "to leave it so for a year; {} of {} findings have a price",
            total.parts.len(),
            judgement.findings.len()
        );
        fact(h, &share, |h| {
            h.link(&sheet.at("total-working"), &total.said());
        });
    }
    if let Some((n, what, when)) = soonest(sheet) {
        fact(h, &what, |h| h.link(&sheet.finding(n), &when));
    }
}

fn fact(h: &mut Html, name: &str, value: impl FnOnce(&mut Html)) {
    h.el("div", &[], |h| {
        h.put("dt", &[], name);
        h.el("dd", &[], value);
    });
}

/// What the findings put at risk, in one line.
fn stakes(h: &mut Html, judgement: &Judgement) {
    let count = |stake: Stake| {
        let findings = judgement.findings.iter();
        findings.filter(|f| f.stake() == stake).count()
    };
    let people = count(Stake::Safety);
    let said = [
        (people, "people"),
        (
            count(Stake::Supply),
            "the supply of dry air and its machines",
        ),
        (count(Stake::Money), "money alone"),
    ]
    .map(|(n, what)| match n {
        0 => format!("none puts {what} at stake"),
        1 => format!("1 puts {what} at stake"),
        n => format!("{n} put {what} at stake"),
    });
    h.put(
        "p",
        &[("class", "stakes counts")],
        &format!("Of the findings, {}.", said.join("; ")),
    );
}

/// The limit that is reached first: whose, which, when.
fn soonest(sheet: &Sheet) -> Option<(usize, String, String)> {
    let judgement = sheet.one.judgement;
    let (n, f, _) = judgement
        .findings
        .iter()
        .enumerate()
        .filter_map(|(i, f)| Some((i + 1, f, f.limit.as_ref()?.likely?)))
        .min_by_key(|(_, _, likely)| *likely)?;
    let limit = f.limit.as_ref()?;
    let today = today(sheet.station(), judgement);
    let (which, when) = (limit.which(today), limit.when(today, false)?);
    let whose = sheet.station().id(f.subject);
    Some((n, format!("the first limit: {whose}, {which}"), when))
}

/// What to do first, with the caution that it needs.
fn first(h: &mut Html, sheet: &Sheet) {
    let Some(f) = sheet.one.judgement.findings.first() else {
        return;
    };
    h.el("div", &[("class", "first")], |h| {
        h.put(sheet.heading(1), &[], "To do first");
        h.el("p", &[("class", "action")], |h| {
            h.text(&format!("{}. ", f.action));
            h.link(&sheet.finding(1), "Finding 1");
        });
        if f.isolate || !f.cautions.is_empty() {
            h.el("p", &[], |h| {
                if let (true, Asset::Machine(_)) = (f.isolate, f.subject) {
                    let id = sheet.station().id(f.subject);
                    h.put("b", &[], &format!("Isolate {id} before it is opened"));
                    h.text(": ");
                } else {
                    h.put("b", &[], "Before you begin");
                    h.text(": ");
                }
                h.link(&sheet.at("f1-cautions"), "the steps stand with finding 1");
                h.text(".");
            });
        }
    });
}

/// The findings in short, most urgent first, as many as fit on the sheet.
fn table(h: &mut Html, sheet: &Sheet) {
    let judgement = sheet.one.judgement;
    let today = today(sheet.station(), judgement);
    let room = sheet.one.log.map_or(MOST_LINES, owner::left);
    // Of a log the first of them stand above already.
    let (says, from) = match sheet.one.log {
        Some(_) => ("What the log says besides", owner::FIRST),
        None => ("What the rounds say", 0),
    };
    let (shown, left) = fitting(judgement.findings.get(from..).unwrap_or_default(), room);
    h.put(sheet.heading(1), &[], says);
    h.el("table", &[("class", "findings")], |h| {
        h.el("thead", &[], |h| {
            h.el("tr", &[], |h| {
                h.put("th", &[("scope", "col"), ("class", "n")], "no.");
                h.put("th", &[("scope", "col")], "what");
                h.put("th", &[("scope", "col")], "its limit");
                h.put("th", &[("scope", "col"), ("class", "n")], "a year");
            });
        });
        let mut last = None;
        h.el("tbody", &[], |h| {
            let findings = judgement.findings.iter().enumerate();
            for (i, f) in findings.skip(from).take(shown) {
                if last != Some(f.urgency) {
                    h.el("tr", &[("class", "urgency")], |h| {
                        h.put(
                            "th",
                            &[("colspan", "4"), ("scope", "colgroup")],
                            heading(f.urgency),
                        );
                    });
                    last = Some(f.urgency);
                }
                h.el("tr", &[], |h| {
                    h.put("td", &[("class", "n")], &(i + 1).to_string());
                    h.el("td", &[], |h| h.link(&sheet.finding(i + 1), &f.title));
                    let when = f.limit.as_ref().and_then(|l| l.when(today, false));
                    h.put("td", &[], &when.unwrap_or_default());
                    h.el("td", &[("class", "n")], |h| {
                        if let Some(sum) = sum(sheet.station(), f) {
                            h.link(&sheet.working(i + 1), &sum);
                        }
                    });
                });
            }
        });
    });
    if left > 0 {
        let (findings, follow) = if left == 1 {
            ("finding", "follows")
        } else {
            ("findings", "follow")
        };
        h.el("p", &[("class", "counts")], |h| {
            h.text(&format!(
                "{left} more {findings}, none more urgent, {follow}: "
            ));
            h.link(&sheet.at("findings"), "all findings");
            h.text(".");
        });
    }
}

/// How many findings fit, and how many are left.
fn fitting(findings: &[Finding], most: usize) -> (usize, usize) {
    let mut lines = 0;
    let mut last = None;
    let fit = findings
        .iter()
        .take_while(|f| {
            lines += f.title.chars().count().div_ceil(LINE).max(1);
            if last != Some(f.urgency) {
                lines += 1;
                last = Some(f.urgency);
            }
            lines <= most
        })
        .count();
    let shown = fit.max(1).min(findings.len());
    (shown, findings.len() - shown)
}

/// What leaving all priced findings costs a year.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Total {
    value: f64,
    unit: String,
    /// The findings' numbers and their sums.
    pub(super) parts: Vec<(usize, f64)>,
    /// How many findings there are.
    of: usize,
}

/// The sum of the findings: money where money is told, else energy.
pub(super) fn total(judgement: &Judgement, currency: &str) -> Option<Total> {
    let parts = |of: fn(&Finding) -> Option<f64>| -> Vec<(usize, f64)> {
        let findings = judgement.findings.iter().enumerate();
        findings
            .filter_map(|(i, f)| Some((i + 1, of(f).filter(|v| v.is_finite())?)))
            .collect()
    };
    let money = parts(|f| f.cost.per_year);
    let (parts, unit) = if money.is_empty() {
        (parts(|f| f.cost.kwh_per_year), "kWh")
    } else {
        (money, currency)
    };
    (!parts.is_empty()).then(|| Total {
        value: parts.iter().map(|(_, v)| v).sum(),
        unit: unit.to_owned(),
        parts,
        of: judgement.findings.len(),
    })
}

impl Total {
    /// The sum with its unit.
    pub(super) fn said(&self) -> String {
        format!("{} {}", grouped(self.value), self.unit)
    }

    /// How it comes about.
    pub(super) fn step(&self) -> Step {
        let parts: Vec<String> = self
            .parts
            .iter()
            .map(|(n, v)| format!("finding {n}: {}", grouped(*v)))
            .collect();
        Step {
            name: "what leaving the priced findings costs a year".to_owned(),
            formula: "sum of the findings' costs; findings without a price count nothing"
                .to_owned(),
            numbers: format!(
                "{} of {} findings: {}",
                self.parts.len(),
                self.of,
                parts.join(" + ")
            ),
            value: self.value,
            unit: self.unit.clone(),
            source: "the findings' own workings (derived)".to_owned(),
        }
    }
}

/// Room for whoever answers for it.
pub(super) fn signature(h: &mut Html) {
    h.el(
        "dl",
        &[("class", "sign"), ("aria-label", "To be signed")],
        |h| {
            for what in ["Name", "Date", "Signature"] {
                h.el("div", &[], |h| {
                    h.put("dt", &[], what);
                    h.put("dd", &[], "\u{a0}");
                });
            }
        },
    );
}
