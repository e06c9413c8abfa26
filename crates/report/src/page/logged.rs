//! What a long log shows: its pictures and its figures.
//!
//! Must not know: how the figures came about.

use super::Sheet;
use crate::html::Html;
use crate::log::pictures;

pub(super) fn of(h: &mut Html, sheet: &Sheet) {
    let Some(log) = sheet.one.log else { return };
    sheet.section(h, "log", "log", "What the log shows", |h| {
        h.put("p", &[("class", "q")], &log.period);
        for picture in pictures(log) {
            let id = sheet.at(&format!("log-{}", picture.key));
            h.put(sheet.heading(2), &[("id", &id)], &picture.title);
            let attributes = [
                ("class", "wide"),
                ("tabindex", "0"),
                ("role", "group"),
                ("aria-labelledby", id.as_str()),
            ];
            h.el("div", &attributes, |h| h.own(&picture.svg));
            h.put("p", &[("class", "q")], &format!("{}.", picture.says));
        }
        if !log.figures.is_empty() {
            let id = sheet.at("log-figures");
            h.put(sheet.heading(2), &[("id", &id)], "Figures");
            h.el("div", &[("class", "wide")], |h| {
                h.el("table", &[], |h| {
                    h.el("tbody", &[], |h| {
                        for (what, how_much) in &log.figures {
                            h.el("tr", &[], |h| {
                                h.put("th", &[("scope", "row")], what);
                                h.put("td", &[], how_much);
                            });
                        }
                    });
                });
            });
        }
        for remark in &log.remarks {
            h.put("p", &[], remark);
        }
    });
}
