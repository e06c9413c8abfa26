//! The first sheet of a log's page: what the plant used, what it cost, what leaks cost a year, what to
//! do first, and what is in doubt.
//!
//! Must not know: how a figure comes about.

use station::model::Asset;

use super::Sheet;
use super::logged::{numbered, working_of};
use super::phrase::{currency, sum};
use super::summary::total;
use crate::html::Html;
use crate::log::Logged;

/// So many things are to be done first.
pub(super) const FIRST: usize = 3;
/// Lines of remarks on the first sheet; all remarks stand with the figures.
const MOST_LINES: usize = 7;
/// Signs of a remark on one line.
const LINE: usize = 96;

/// The large facts, each with the way to its working.
pub(super) fn facts(h: &mut Html, sheet: &Sheet, log: &Logged) {
    for told in &log.facts {
        let Some(first) = told.figures.first() else {
            continue;
        };
        h.el("div", &[], |h| {
            h.el("dt", &[], |h| {
                h.text(&format!("{} (", told.what));
                for (n, key) in told.figures.iter().enumerate() {
                    h.text(if n > 0 { ", " } else { "" });
                    h.link(&working_of(sheet, key), &numbered(log, key));
                }
                h.text(")");
            });
            h.el("dd", &[], |h| h.link(&working_of(sheet, first), &told.says));
        });
    }
}

/// How urgent the findings are and what it costs to leave them.
pub(super) fn in_line(h: &mut Html, sheet: &Sheet) {
    let judgement = sheet.one.judgement;
    if judgement.findings.is_empty() {
        return;
    }
    h.el("p", &[("class", "stakes")], |h| {
        let findings = match judgement.findings.len() {
            1 => "1 finding".to_owned(),
            n => format!("{n} findings"),
        };
        let said = format!("{findings}: {}. ", judgement.in_short());
        h.put("span", &[("class", "counts")], &said);
        if let Some(total) = total(judgement, currency(sheet.station())) {
            h.text("To leave them so for a year costs ");
            h.link(&sheet.at("total-working"), &total.said());
            h.text(&format!(
                "; {} of {} have a price.",
                total.parts.len(),
                judgement.findings.len()
            ));
        }
    });
}

/// The first things to do, each with the finding that asks for it.
pub(super) fn to_do(h: &mut Html, sheet: &Sheet, log: &Logged) {
    let findings = &sheet.one.judgement.findings;
    h.el("div", &[("class", "first")], |h| {
        h.put(sheet.heading(1), &[], "To do first");
        if findings.is_empty() {
            let hint = log.nothing_found.as_ref();
            h.el("p", &[], |h| match hint {
                Some((said, key)) => {
                    h.text(&format!("{said} ("));
                    h.link(&working_of(sheet, key), &numbered(log, key));
                    h.text(").");
                }
                None => h.text("No finding asks for work."),
            });
            return;
        }
        h.el("ol", &[("class", "actions")], |h| {
            for (i, f) in findings.iter().take(FIRST).enumerate() {
                h.el("li", &[], |h| {
                    h.put("p", &[("class", "action")], &format!("{}.", f.action));
                    h.el("p", &[], |h| {
                        h.link(&sheet.finding(i + 1), &f.title);
                        if let Some(sum) = sum(sheet.station(), f) {
                            h.text(": ");
                            h.link(&sheet.working(i + 1), &format!("{sum} a year"));
                        }
                        h.text(". ");
                        if let (true, Asset::Machine(_)) = (f.isolate, f.subject) {
                            let id = sheet.station().id(f.subject);
                            h.put("b", &[], &format!("Isolate {id} before it is opened."));
                        }
                    });
                });
            }
        });
    });
}

/// What the figures rest on, in short.
pub(super) fn doubts(h: &mut Html, sheet: &Sheet, log: &Logged) {
    let judgement = sheet.one.judgement;
    if log.remarks.is_empty() && judgement.not_judged.is_empty() && log.left_out.is_empty() {
        return;
    }
    h.put(sheet.heading(1), &[], "What is in doubt");
    h.el("ul", &[("class", "doubts")], |h| {
        let shown = shown(log);
        for remark in shown {
            h.put("li", &[], &format!("{}.", remark.trim_end_matches('.')));
        }
        if log.remarks.len() > shown.len() {
            h.el("li", &[], |h| {
                h.link(&sheet.at("log-remarks"), "More remarks");
                h.text(" stand with the figures.");
            });
        }
        if log.left_out_total > 0 {
            h.el("li", &[("class", "counts")], |h| {
                let (stretches, are) = match log.left_out_total {
                    1 => ("1 stretch".to_owned(), "is"),
                    n => (
                        format!("{} stretches", judge::say::grouped(n as f64)),
                        "are",
                    ),
                };
                h.text(&format!("{stretches} of the log {are} left out: "));
                h.link(&sheet.at("left-out"), "which and why");
                h.text(".");
            });
        }
        if !judgement.not_judged.is_empty() {
            h.el("li", &[], |h| super::summary::not_judged(h, sheet));
        }
    });
}

/// The remarks that fit on the first sheet.
fn shown(log: &Logged) -> &[String] {
    let mut lines = 0;
    let fit = log.remarks.iter().take_while(|remark| {
        lines += remark.chars().count().div_ceil(LINE).max(1);
        lines <= MOST_LINES
    });
    log.remarks.get(..fit.count()).unwrap_or_default()
}

/// Lines that doubts and first things leave to the table of findings on paper.
pub(super) fn left(log: &Logged) -> usize {
    let of = |text: &String| text.chars().count().div_ceil(LINE).max(1);
    12_usize.saturating_sub(shown(log).iter().map(of).sum())
}
