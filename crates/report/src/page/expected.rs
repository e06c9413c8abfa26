//! What was expected at the last round beside what was read, what a hot day would bring, and what
//! could not be judged.
//!
//! Must not know: findings.

use judge::say::chance;

use super::Sheet;
use super::picture::HALF_BAND;
use super::working::of_not_judged;
use crate::html::Html;
use crate::measure::Measure;
use crate::units::fixed;

pub(super) fn of(h: &mut Html, sheet: &Sheet) {
    readings(h, sheet);
    if_hot(h, sheet);
    not_judged(h, sheet);
}

fn readings(h: &mut Html, sheet: &Sheet) {
    let expectations = &sheet.one.judgement.expectations;
    if expectations.is_empty() {
        return;
    }
    sheet.section(h, "expected", "expected", "Read and expected at the last round", |h| {
        h.el("p", &[("class", "q")], |h| {
            h.text("Expected with 95 %. Deviations are standard deviations from the middle; bold lies outside. ");
            h.link(&sheet.at("expected-working"), "How that comes about");
            h.text(".");
        });
        h.el("div", &[("class", "wide")], |h| {
            h.el("table", &[], |h| {
                h.el("thead", &[], |h| {
                    h.el("tr", &[], |h| {
                        h.put("th", &[("scope", "col")], "point");
                        for name in ["read", "low", "middle", "high"] {
                            h.put("th", &[("scope", "col"), ("class", "n")], name);
                        }
                        h.put("th", &[("scope", "col")], "unit");
                        h.put("th", &[("scope", "col"), ("class", "n")], "deviations");
                        h.put("th", &[("scope", "col")], "working");
                    });
                });
                h.el("tbody", &[], |h| {
                    for (i, e) in expectations.iter().enumerate() {
                        let measure = Measure::of(e.id.point.dimension(), sheet.report.units);
                        let outside = e.deviations.abs() > HALF_BAND;
                        let class = if outside { "outside" } else { "" };
                        h.el("tr", &[("class", class)], |h| {
                            h.put("th", &[("scope", "row")], &name(sheet, e.id));
                            for value in [e.read, e.low, e.mid, e.high] {
                                h.put("td", &[("class", "n")], &measure.write(value));
                            }
                            h.put("td", &[], measure.unit);
                            h.put("td", &[("class", "n")], &fixed(e.deviations, 1));
                            h.el("td", &[], |h| h.link(&sheet.at(&format!("x{i}")), "how"));
                        });
                    }
                });
            });
        });
    });
}

/// A point as files write it.
pub(super) fn name(sheet: &Sheet, id: station::point::PointId) -> String {
    format!("{}.{}", sheet.station().id(id.asset), id.point.name())
}

fn if_hot(h: &mut Html, sheet: &Sheet) {
    let (Some(machines), Some(asked)) = (&sheet.one.judgement.if_hot, sheet.report.if_hot) else {
        return;
    };
    let title = format!("If it gets {asked} tomorrow");
    sheet.section(h, "expected", "if-hot", &title, |h| {
        if machines.is_empty() {
            let why = match sheet.one.judgement.rounds {
                0 => "Nothing can be said: no round to judge.",
                _ => "Nothing can be said: no machine here has a thermal model.",
            };
            h.put("p", &[], why);
            return;
        }
        let units = sheet.units();
        h.el("div", &[("class", "wide")], |h| {
            h.el("table", &[], |h| {
                h.el("thead", &[], |h| {
                    h.el("tr", &[], |h| {
                        h.put("th", &[("scope", "col")], "machine");
                        for name in ["oil", "likely between", "reaches the warning", "trips"] {
                            h.put("th", &[("scope", "col")], name);
                        }
                    });
                });
                h.el("tbody", &[], |h| {
                    for m in machines {
                        let Some(machine) = sheet.station().machines.get(m.machine) else {
                            continue;
                        };
                        h.el("tr", &[], |h| {
                            h.put("th", &[("scope", "row")], &machine.id);
                            h.put("td", &[], &units.temperature(m.oil.1));
                            let (low, high) =
                                (units.temperature(m.oil.0), units.temperature(m.oil.2));
                            h.put("td", &[], &format!("{low} and {high}"));
                            for (limit, p) in
                                [(&machine.oil.warn, m.p_warn), (&machine.oil.trip, m.p_trip)]
                            {
                                let at = units.temperature(limit.si());
                                h.put("td", &[], &format!("at {at}: {}", chance(p)));
                            }
                        });
                    }
                });
            });
        });
        h.el("p", &[("class", "q")], |h| {
            h.text(
                "The oil temperature comes from the model with the health that the readings show. ",
            );
            h.link(&sheet.at("if-hot-working"), "Its working");
            h.text(".");
        });
    });
}

fn not_judged(h: &mut Html, sheet: &Sheet) {
    let notes = &sheet.one.judgement.not_judged;
    if notes.is_empty() {
        return;
    }
    sheet.section(h, "notes", "not-judged", "Not judged, and why", |h| {
        h.el("dl", &[("class", "notes")], |h| {
            for (n, note) in notes.iter().enumerate() {
                h.el("div", &[], |h| {
                    h.put("dt", &[], &note.what);
                    h.el("dd", &[], |h| {
                        h.text(&note.why);
                        if !note.working.is_empty() {
                            h.text(". ");
                            h.link(&of_not_judged(sheet, n), "Its working");
                        }
                    });
                });
            }
        });
    });
}
