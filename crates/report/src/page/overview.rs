//! Several stations on one page: a short table on top, who needs help first first.
//!
//! Must not know: how the order is found.

use judge::safety::LOCAL_CODES;
use judge::say::chance;

use super::phrase::{currency, time};
use super::{Report, StationReport, summary};
use crate::html::Html;

/// Said on top, and again with each such station.
const FROM_INVENTED: &str =
    "Some or all of these stations are invented, with all of their numbers; each says so.";

pub(super) fn of(h: &mut Html, report: &Report) {
    let hot = report
        .if_hot
        .map(|asked| format!(", if it gets {asked} tomorrow,"));
    h.put(
        "h1",
        &[("class", "counts")],
        &format!(
            "{} stations; who needs help first{} comes first",
            report.stations.len(),
            hot.unwrap_or_default()
        ),
    );
    h.el("div", &[("class", "wide")], |h| {
        h.el("table", &[("class", "overview")], |h| {
            h.el("thead", &[], |h| {
                h.el("tr", &[], |h| {
                    let hot = report.if_hot.map(|_| "on that hot day");
                    let names = ["station", "as of", "findings"].into_iter();
                    for name in names.chain(hot).chain(["to do first"]) {
                        h.put("th", &[("scope", "col")], name);
                    }
                    h.put("th", &[("scope", "col"), ("class", "n")], "a year");
                });
            });
            h.el("tbody", &[], |h| {
                for (i, one) in report.stations.iter().enumerate() {
                    let number = i + 1;
                    h.el("tr", &[], |h| {
                        h.el("th", &[("scope", "row")], |h| {
                            let href = format!("#s{number}-station");
                            h.el("a", &[("href", &href)], |h| {
                                h.el("bdi", &[], |h| h.as_written(&one.station.site.name));
                            });
                        });
                        let when = one.judgement.as_of.map(|t| time(one.station, t));
                        h.put("td", &[], &when.unwrap_or_default());
                        h.put("td", &[("class", "counts")], &one.judgement.in_short());
                        if report.if_hot.is_some() {
                            h.el("td", &[], |h| if_hot(h, one, number));
                        }
                        let first = one.judgement.findings.first();
                        h.put("td", &[], first.map_or("", |f| f.action.as_str()));
                        h.el("td", &[("class", "n")], |h| {
                            if let Some(total) =
                                summary::total(one.judgement, currency(one.station))
                            {
                                h.link(&format!("s{number}-total-working"), &total.said());
                            }
                        });
                    });
                }
            });
        });
    });
    if report.stations.iter().any(|one| one.invented) {
        h.put("p", &[("class", "invented")], FROM_INVENTED);
    }
    summary::signature(h);
    h.put("p", &[("class", "q codes")], &format!("{LOCAL_CODES}."));
}

/// The machine of a station that fears the hot day most: the first, in the order given.
fn if_hot(h: &mut Html, one: &StationReport, number: usize) {
    let Some(machines) = &one.judgement.if_hot else {
        return;
    };
    let Some(worst) = machines.first() else {
        h.text("nothing can be said");
        return;
    };
    let Some(machine) = one.station.machines.get(worst.machine) else {
        return;
    };
    let (warn, trip) = (chance(worst.p_warn), chance(worst.p_trip));
    h.link(
        &format!("s{number}-if-hot-working"),
        &format!("{}: warning {warn}, trip {trip}", machine.id),
    );
}
