//! What a long log shows: its pictures, its figures, what they rest on, and the working of each.
//!
//! Must not know: how the figures came about.

use super::Sheet;
use super::working::steps;
use crate::frame::both;
use crate::html::Html;
use crate::log::{Figure, Logged, Table, pictures};

/// Stretches left out that are listed; more are only counted.
const MOST_LISTED: usize = 12;

pub(super) fn of(h: &mut Html, sheet: &Sheet) {
    let Some(log) = sheet.one.log else { return };
    sheet.section(h, "log", "log", "What the log shows", |h| {
        h.put("p", &[("class", "q")], &log.period);
        for picture in pictures(log) {
            let id = drawn_at(sheet, picture.key);
            h.el("figure", &[("id", &id), ("class", "drawn")], |h| {
                h.el("figcaption", &[], |h| {
                    h.put(sheet.heading(2), &[], picture.title);
                    h.put("p", &[], &format!("{}.", picture.says));
                });
                both(h, |frame| (picture.draw)(frame));
                h.el("p", &[("class", "key")], |h| {
                    h.text(&format!("{}: ", picture.numbers));
                    let key = format!("drawn-{}", picture.key);
                    h.link(&working_of(sheet, &key), &numbered(log, &key));
                    h.text(".");
                });
            });
        }
    });
    figures(h, sheet, log);
    rests_on(h, sheet, log);
}

/// The anchor of the working of a figure or a picture.
pub(super) fn working_of(sheet: &Sheet, key: &str) -> String {
    sheet.at(&format!("log-{key}-working"))
}

/// Where a working stands among all, so that it is found on paper too; pictures follow the figures.
fn number(log: &Logged, key: &str) -> usize {
    let figures = log.figures.iter().map(|f| f.key.clone());
    let drawn = pictures(log)
        .into_iter()
        .map(|p| format!("drawn-{}", p.key));
    let found = figures.chain(drawn).position(|other| other == key);
    found.map_or(0, |n| n + 1)
}

/// `working 12`.
pub(super) fn numbered(log: &Logged, key: &str) -> String {
    format!("working {}", number(log, key))
}

/// The heading of a working: its number, and the way back.
fn headed(h: &mut Html, sheet: &Sheet, number: usize, back: &str, what: &str) {
    h.el(sheet.heading(3), &[], |h| {
        h.put("span", &[("class", "no")], &format!("{number} "));
        h.link(back, what);
    });
}

/// The anchor of a picture.
fn drawn_at(sheet: &Sheet, key: &str) -> String {
    sheet.at(&format!("log-drawn-{key}"))
}

/// Figures in the order given, cut where the group changes.
fn groups(log: &Logged) -> Vec<&[Figure]> {
    log.figures.chunk_by(|a, b| a.group == b.group).collect()
}

fn figures(h: &mut Html, sheet: &Sheet, log: &Logged) {
    if log.figures.is_empty() {
        return;
    }
    sheet.section(h, "log figures", "log-figures", "Figures", |h| {
        h.put(
            "p",
            &[("class", "q counts")],
            "Spans in brackets hold the truth 95 times in 100. Each row names its working.",
        );
        for (n, group) in groups(log).into_iter().enumerate() {
            let Some(first) = group.first() else { continue };
            let id = sheet.at(&format!("log-group-{n}"));
            h.el(
                "section",
                &[("class", "group"), ("aria-labelledby", &id)],
                |h| {
                    h.put(sheet.heading(2), &[("id", &id)], &first.group);
                    h.el("table", &[("class", "says")], |h| {
                        h.el("tbody", &[], |h| {
                            for figure in group {
                                row(h, sheet, log, figure);
                            }
                        });
                    });
                },
            );
        }
    });
}

fn row(h: &mut Html, sheet: &Sheet, log: &Logged, figure: &Figure) {
    let id = sheet.at(&format!("log-{}", figure.key));
    h.el("tr", &[("id", &id)], |h| {
        h.put("th", &[("scope", "row")], &figure.what);
        h.put("td", &[], &figure.says);
        h.el("td", &[("class", "how")], |h| {
            h.link(&working_of(sheet, &figure.key), &numbered(log, &figure.key));
        });
    });
}

/// Remarks, and what was left out.
fn rests_on(h: &mut Html, sheet: &Sheet, log: &Logged) {
    if !log.remarks.is_empty() {
        let title = "What the figures rest on";
        sheet.section(h, "notes", "log-remarks", title, |h| {
            h.el("ul", &[], |h| {
                for remark in &log.remarks {
                    h.put("li", &[], &format!("{}.", remark.trim_end_matches('.')));
                }
            });
        });
    }
    if !log.left_out.is_empty() {
        sheet.section(h, "notes", "left-out", "Left out of the figures", |h| {
            h.el("ul", &[], |h| {
                for stretch in log.left_out.iter().take(MOST_LISTED) {
                    h.put("li", &[], stretch);
                }
            });
            let listed = log.left_out.len().min(MOST_LISTED) as u64;
            let more = log.left_out_total.saturating_sub(listed);
            if more > 0 {
                let more = judge::say::grouped(more as f64);
                h.put("p", &[], &format!("And {more} more."));
            }
        });
    }
}

/// The workings of the figures and of the pictures.
pub(super) fn workings(h: &mut Html, sheet: &Sheet) {
    let Some(log) = sheet.one.log else { return };
    for group in groups(log) {
        let Some(first) = group.first() else { continue };
        h.put(sheet.heading(2), &[], &first.group);
        h.el("div", &[("class", "flow")], |h| {
            for figure in group {
                of_figure(h, sheet, log, figure);
            }
        });
    }
    let drawn = pictures(log);
    if drawn.is_empty() {
        return;
    }
    h.put(sheet.heading(2), &[], "Pictures of the log");
    for picture in drawn {
        let id = working_of(sheet, &format!("drawn-{}", picture.key));
        h.el(
            "section",
            &[("id", &id), ("aria-label", picture.title)],
            |h| {
                let number = number(log, &format!("drawn-{}", picture.key));
                headed(
                    h,
                    sheet,
                    number,
                    &drawn_at(sheet, picture.key),
                    picture.title,
                );
                steps(h, &picture.steps);
                if let Some(rows) = &picture.table {
                    table(h, rows);
                }
            },
        );
    }
}

fn of_figure(h: &mut Html, sheet: &Sheet, log: &Logged, figure: &Figure) {
    let id = working_of(sheet, &figure.key);
    let attributes = [("id", id.as_str()), ("aria-label", &figure.what)];
    h.el("section", &attributes, |h| {
        let back = sheet.at(&format!("log-{}", figure.key));
        headed(h, sheet, number(log, &figure.key), &back, &figure.what);
        steps(h, &figure.steps);
    });
}

fn table(h: &mut Html, table: &Table) {
    h.put("p", &[("class", "q about")], &table.about);
    h.el("div", &[("class", "wide")], |h| {
        h.el("table", &[("class", "many")], |h| {
            h.el("thead", &[], |h| {
                h.el("tr", &[], |h| {
                    for (n, name) in table.head.iter().enumerate() {
                        let class = if n == 0 { "" } else { "n" };
                        h.put("th", &[("scope", "col"), ("class", class)], name);
                    }
                });
            });
            h.el("tbody", &[], |h| {
                for row in &table.rows {
                    h.el("tr", &[], |h| {
                        for (n, cell) in row.iter().enumerate() {
                            if n == 0 {
                                h.put("th", &[("scope", "row")], cell);
                            } else {
                                h.put("td", &[("class", "n")], cell);
                            }
                        }
                    });
                }
            });
        });
    });
}
