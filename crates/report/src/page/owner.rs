//! The first sheet of a log's page: what the plant used, what it cost, what leaks cost a year, what to
//! do first, and what is in doubt.
//!
//! Must not know: how a figure comes about.

use station::model::Asset;

use super::Sheet;
use super::logged::working_of;
use super::phrase::sum;
use crate::html::Html;
use crate::log::Logged;

/// So many things are to be done first.
const FIRST: usize = 3;
/// Remarks on the first sheet; all stand with the figures.
const MOST_REMARKS: usize = 4;
/// Signs of a remark on one line.
const LINE: usize = 96;

/// The large facts, each with the way to its working.
pub(super) fn facts(h: &mut Html, sheet: &Sheet, log: &Logged) {
    for told in &log.facts {
        let Some((first, others)) = told.figures.split_first() else {
            continue;
        };
        h.el("div", &[], |h| {
            h.el("dt", &[], |h| {
                h.text(&told.what);
                for key in others {
                    let name = log.figures.iter().find(|f| f.key == *key);
                    if let Some(figure) = name {
                        h.text("; ");
                        h.link(&working_of(sheet, key), &figure.what);
                    }
                }
            });
            h.el("dd", &[], |h| h.link(&working_of(sheet, first), &told.says));
        });
    }
}

/// The first things to do, each with the finding that asks for it.
pub(super) fn to_do(h: &mut Html, sheet: &Sheet) {
    let findings = &sheet.one.judgement.findings;
    h.el("div", &[("class", "first")], |h| {
        h.put(sheet.heading(1), &[], "To do first");
        if findings.is_empty() {
            let hint = sheet.one.log.and_then(|log| log.nothing_found.as_ref());
            h.el("p", &[], |h| match hint {
                Some((said, key)) => {
                    h.text(&format!("{said}: "));
                    h.link(&working_of(sheet, key), "what that is worth");
                    h.text(".");
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
                        if let (true, Asset::Machine(_)) = (f.isolate, f.subject) {
                            let id = sheet.station().id(f.subject);
                            h.put("b", &[], &format!("Isolate {id} before it is opened"));
                            h.text("; ");
                        }
                        h.link(&sheet.finding(i + 1), &format!("finding {}", i + 1));
                        if let Some(sum) = sum(sheet.station(), f) {
                            h.text(", worth ");
                            h.link(&sheet.working(i + 1), &format!("{sum} a year"));
                        }
                        if !f.cautions.is_empty() {
                            h.text(", with its cautions");
                        }
                        h.text(".");
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
        for remark in log.remarks.iter().take(MOST_REMARKS) {
            h.put("li", &[], &format!("{}.", remark.trim_end_matches('.')));
        }
        if log.remarks.len() > MOST_REMARKS {
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

/// Lines that the doubts take on paper.
pub(super) fn lines(log: &Logged) -> usize {
    let remarks = log.remarks.iter().take(MOST_REMARKS);
    let of = |text: &String| text.chars().count().div_ceil(LINE).max(1);
    remarks.map(of).sum::<usize>() + 4
}
