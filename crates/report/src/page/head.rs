//! The head of the file, and what became of the rows.
//!
//! Must not know: findings.

use super::phrase::counted;
use super::{Report, Sheet, style};
use crate::html::Html;

/// Rejected rows that are listed; more are only counted.
const MOST_LISTED: usize = 100;

/// No script, nothing from elsewhere: the browser is told so.
const POLICY: &str =
    "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

pub(super) fn of(h: &mut Html, report: &Report) {
    h.void("meta", &[("charset", "utf-8")]);
    h.void(
        "meta",
        &[
            ("http-equiv", "Content-Security-Policy"),
            ("content", POLICY),
        ],
    );
    h.void(
        "meta",
        &[
            ("name", "viewport"),
            ("content", "width=device-width, initial-scale=1"),
        ],
    );
    h.void(
        "meta",
        &[("name", "color-scheme"), ("content", "light dark")],
    );
    let title = match report.stations {
        [one] => one.station.site.name.clone(),
        many => format!("{} stations", many.len()),
    };
    let log = report.stations.iter().any(|one| one.log.is_some());
    let what = if log { "log shows" } else { "rounds say" };
    h.put("title", &[], &format!("{title}: what its {what}"));
    h.el("style", &[], |h| h.own(&style::sheet()));
}

/// `259 rows read, 257 accepted, 2 rejected; 8 looks taken off a log`.
pub(super) fn rows_in_short(sheet: &Sheet) -> String {
    let rows = &sheet.one.rows;
    if let Some(log) = sheet.one.log {
        let cells = match rows.rejected_total {
            0 => String::new(),
            n => format!(", {} could not be read", counted(n, "cell")),
        };
        let period = log.period.trim_end_matches('.');
        return format!("{period}, {} read{cells}", counted(rows.read, "row"));
    }
    let mut said = format!(
        "{} read, {} accepted, {} rejected",
        counted(rows.read, "row"),
        judge::say::grouped(rows.accepted as f64),
        judge::say::grouped(rows.rejected_total as f64)
    );
    let looks = sheet.one.judgement.looks;
    let seen = sheet.one.judgement.rounds - looks;
    if seen < rows.accepted {
        said.push_str(&format!(
            "; {} judged, the others came later",
            counted(seen, "round")
        ));
    }
    if looks > 0 {
        said.push_str(&format!("; {} taken off a log", counted(looks, "look")));
    }
    said
}

/// The rows that were rejected, with how to mend them.
pub(super) fn rows(h: &mut Html, sheet: &Sheet) {
    let rows = &sheet.one.rows;
    if rows.rejected_total == 0 {
        return;
    }
    let (title, says) = match sheet.one.log {
        Some(_) => (
            "Cells that could not be read",
            "Such a cell is left out; everything else is counted.",
        ),
        None => (
            "Rows that were rejected",
            "A rejected row is left out whole; everything else is judged.",
        ),
    };
    sheet.section(h, "rows", "rejected", title, |h| {
        h.put("p", &[], says);
        h.el("div", &[("class", "wide")], |h| {
            h.el("table", &[], |h| {
                h.el("thead", &[], |h| {
                    h.el("tr", &[], |h| {
                        for name in ["line", "column", "what is wrong", "how to mend it"] {
                            h.put("th", &[("scope", "col")], name);
                        }
                    });
                });
                h.el("tbody", &[], |h| {
                    for r in rows.rejected.iter().take(MOST_LISTED) {
                        h.el("tr", &[], |h| {
                            h.put(
                                "th",
                                &[("scope", "row"), ("class", "n")],
                                &r.line.to_string(),
                            );
                            h.el("td", &[], |h| h.as_written(&r.column));
                            h.el("td", &[], |h| h.as_written(&r.problem));
                            h.el("td", &[], |h| h.as_written(&r.hint));
                        });
                    }
                });
            });
        });
        let more = rows
            .rejected_total
            .saturating_sub(MOST_LISTED.min(rows.rejected.len()) as u64);
        if more > 0 {
            let what = if sheet.one.log.is_some() {
                "cell"
            } else {
                "row"
            };
            h.put("p", &[], &format!("{} more.", counted(more, what)));
        }
    });
}
