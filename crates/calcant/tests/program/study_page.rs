//! `study --report`: every number of the page leads, from where it stands, to a working on the page
//! in which it is found.

use std::fs;
use std::path::Path;

use crate::harness::Folder;
use crate::paged;
use crate::study::{log, put_station};

/// The demo's station with its log.
fn demo() -> Folder {
    let folder = Folder::with_demo();
    let log = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/quillbank/log.csv.gz");
    fs::copy(log, folder.path("log.csv.gz")).expect("the demo has a log");
    folder
}

/// The same log against a station file by which leaks, power and pressure are not as they should be.
fn ill() -> Folder {
    let folder = demo();
    let station = folder
        .text("station.toml")
        .replace("wanted = \"6.2 bar(g)\"", "wanted = \"7.0 bar(g)\"")
        .replace("fad = \"5.3 m3/min\"", "fad = \"4.6 m3/min\"")
        .replace("unloaded_power = \"9.2 kW\"", "unloaded_power = \"7.0 kW\"");
    folder.put("station.toml", &station);
    folder
}

/// A day and a half of an invented machine, a row each second.
fn small() -> Folder {
    let folder = Folder::fresh();
    put_station(&folder);
    folder.put("log.csv", &log(0..130_000));
    folder
}

fn page(folder: &Folder, log: &str, units: &str) -> String {
    let args = [
        "study",
        "station.toml",
        log,
        "--units",
        units,
        "--report",
        "page.html",
    ];
    folder.run(args).done();
    folder.text("page.html")
}

#[test]
fn every_number_leads_to_its_working_from_where_it_stands() {
    for (folder, log) in [
        (demo(), "log.csv.gz"),
        (ill(), "log.csv.gz"),
        (small(), "log.csv"),
    ] {
        for units in ["si", "us"] {
            let page = page(&folder, log, units);
            let document = paged::parsed(&page);
            // Remarks are the study's own words, and say what they rest on themselves.
            let remark = |node: &roxmltree::Node| {
                node.ancestors().any(|a| {
                    paged::has_class(&a, "doubts")
                        || a.attribute("id") == Some("s1-log-remarks")
                        || a.attribute("id") == Some("s1-not-judged")
                })
            };
            assert_eq!(paged::unsound(&document), Vec::<String>::new());
            let astray = paged::astray(&document, units == "us", &remark);
            assert!(astray.is_empty(), "{log} {units}:\n{}", astray.join("\n"));
            let rows = document
                .descendants()
                .filter(|n| paged::has_class(n, "how"));
            assert!(rows.count() > 15, "{log} {units}");
        }
    }
}

#[test]
fn a_number_without_a_working_is_seen() {
    let page = page(&demo(), "log.csv.gz", "si");
    let document = paged::parsed(&page);
    let energy = document
        .descendants()
        .find(|n| n.attribute("id") == Some("s1-log-energy"))
        .map(paged::texts)
        .expect("there is a row of the energy");
    let number = paged::shown(&energy)
        .first()
        .map(|n| judge::say::grouped(n.value))
        .expect("it has a number");
    let cell = format!("<td>{number}\u{a0}kWh</td>");
    assert!(page.contains(&cell), "{cell}");
    let wrong = page.replace(&cell, "<td>1\u{202f}234\u{a0}kWh</td>");
    let astray = paged::astray(&paged::parsed(&wrong), false, &|_| false);
    assert!(
        astray.iter().any(|a| a.contains("1234 is not")),
        "{astray:?}"
    );
    let unled = page.replace("#s1-log-energy-working", "#s1-log");
    let astray = paged::astray(&paged::parsed(&unled), false, &|_| false);
    assert!(
        astray.iter().any(|a| a.contains("no way to a working")),
        "{astray:?}"
    );
}

#[test]
fn an_owner_reads_the_first_sheet_and_signs() {
    let page = page(&demo(), "log.csv.gz", "si");
    let document = paged::parsed(&page);
    let sheet = document
        .descendants()
        .find(|n| n.attribute("id") == Some("s1-summary"))
        .map(paged::words)
        .expect("there is a first sheet");
    for what in [
        "EUR",
        "kWh in the 96 h that were logged",
        "goes into leakage",
        "while no air is delivered",
        "To do first",
        "What is in doubt",
        "Signature",
        "Local codes and licensed people",
    ] {
        assert!(sheet.contains(what), "{what}: {sheet}");
    }
    let pictures = document
        .descendants()
        .filter(|n| paged::has_class(n, "drawn"));
    for picture in pictures {
        let drawn = picture
            .descendants()
            .filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "svg")));
        assert_eq!(drawn.count(), 2, "one for the desk, one for a phone");
    }
    assert!(!page.contains("<script") && !page.contains("NaN"));
}

#[test]
fn three_things_to_do_first_stand_on_the_first_sheet() {
    let folder = ill();
    let page = page(&folder, "log.csv.gz", "si");
    let json = folder
        .run(["study", "station.toml", "log.csv.gz", "--json"])
        .json();
    let findings = json["findings"].as_array().expect("findings are a list");
    assert!(findings.len() >= 3);
    let document = paged::parsed(&page);
    let sheet = document
        .descendants()
        .find(|n| n.attribute("id") == Some("s1-summary"))
        .map(paged::words)
        .expect("there is a first sheet");
    for (n, finding) in findings.iter().enumerate() {
        let word = |key: &str| paged::plain(finding[key].as_str().expect("a sentence"));
        assert!(sheet.contains(&word("title")), "{}", word("title"));
        assert_eq!(sheet.contains(&format!("{}.", word("action"))), n < 3);
        if let Some(cost) = finding["cost"]["per_year"].as_f64() {
            let cost = format!("{} EUR", paged::plain(&judge::say::grouped(cost)));
            assert!(sheet.contains(&cost), "{cost}");
        }
    }
}

#[test]
fn dates_are_written_in_one_way() {
    for (folder, log) in [(demo(), "log.csv.gz"), (small(), "log.csv")] {
        let page = page(&folder, log, "si");
        let document = paged::parsed(&page);
        for text in document.descendants().filter_map(|n| n.text()) {
            assert_eq!(paged::dated(text), text);
        }
    }
}
