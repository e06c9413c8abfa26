//! The foot of the page: whose codes come first, and what made it.
//!
//! Must not know: stations' findings.

use judge::safety::LOCAL_CODES;

use super::Report;
use crate::html::Html;

pub(super) fn of(h: &mut Html, report: &Report) {
    h.put("p", &[], &format!("{LOCAL_CODES}."));
    h.put(
        "p",
        &[],
        "Work on machines, vessels, safety valves and electrics is for people who are trained, authorised and, where the law asks for it, licensed.",
    );
    let invented = report.stations.iter().filter(|s| s.invented).count();
    if invented > 0 {
        let whose = if report.stations.len() == 1 {
            "This station is".to_owned()
        } else {
            let names: Vec<&str> = report
                .stations
                .iter()
                .filter(|s| s.invented)
                .map(|s| s.station.site.name.as_str())
                .collect();
            format!("Invented: {}. Such a station is", names.join(", "))
        };
        h.put(
            "p",
            &[],
            &format!("{whose} made up for showing the program, and so is every number of it; no machine like these was measured."),
        );
    }
    h.put(
        "p",
        &[],
        &format!(
            "Made by Calcant {} from a station file and its {}.",
            report.version,
            if report.stations.iter().any(|one| one.log.is_some()) {
                "log"
            } else {
                "rounds"
            }
        ),
    );
}
