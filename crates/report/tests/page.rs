//! The page read back: whole, self-contained, in order, and every number with its working.

#[path = "paged/mod.rs"]
mod paged;

use std::collections::BTreeSet;

use jiff::Timestamp;
use judge::{Judge, Judgement, LastRound, Options};
use paged::{dated, parsed, plain, words};
use physics::quantity::Temperature;
use report::{Report, Rows, StationReport, Units, page};
use roxmltree::{Document, Node};
use station::file::rounds::{Reader, Rejection, Row};
use station::model::Station;

const DEMO: &str = include_str!("../../../examples/quillbank/station.toml");
const ROUNDS: &str = include_str!("../../../examples/quillbank/rounds.csv");

/// A station with its judgement.
struct Told {
    station: Station,
    judgement: Judgement,
    last: Option<LastRound>,
    read: u64,
}

fn told(station: &str, rounds: &str, units: Units) -> Told {
    let station = station::file::station::parse(station).expect("the test's station file is good");
    let options = Options {
        as_of: None,
        units: units.into(),
        if_hot: Some(Temperature::from_celsius(42.0)),
        ..Options::default()
    };
    let mut judge = Judge::new(&station, options);
    let mut read = 0;
    for row in &mut Reader::open(rounds.as_bytes(), &station).expect("the header is good") {
        if let Row::Round(round) = row.expect("text in memory is read to its end") {
            read += 1;
            judge.see(round);
        }
    }
    let (judgement, last) = (judge.judge(), judge.last_round());
    Told {
        station,
        judgement,
        last,
        read,
    }
}

fn report(told: &[&Told], rejected: &[Rejection], units: Units) -> String {
    let stations: Vec<StationReport> = told
        .iter()
        .map(|t| StationReport {
            station: &t.station,
            judgement: &t.judgement,
            last_round: t.last.as_ref(),
            rows: Rows {
                read: t.read + rejected.len() as u64,
                accepted: t.read,
                rejected_total: rejected.len() as u64,
                rejected,
            },
            log: None,
            invented: true,
        })
        .collect();
    page(&Report {
        stations: &stations,
        units,
        if_hot: Some("42 °C"),
        version: "9.8.7",
    })
}

/// A sentence as the page writes it, with plain spaces.
fn written(text: &str) -> String {
    dated(&plain(text))
}

fn by_id<'a>(document: &'a Document, id: &str) -> Node<'a, 'a> {
    document
        .descendants()
        .find(|n| n.attribute("id") == Some(id))
        .unwrap_or_else(|| panic!("the page has no `{id}`"))
}

fn with_class<'a>(document: &'a Document, class: &str) -> Vec<Node<'a, 'a>> {
    let has = |n: &Node| {
        let classes = n.attribute("class").unwrap_or_default();
        classes.split(' ').any(|c| c == class)
    };
    document.descendants().filter(has).collect()
}

/// What must hold of every page.
fn check(html: &str) {
    let document = parsed(html);
    assert_eq!(paged::unsound(&document), Vec::<String>::new());
    let named = document.descendants().filter_map(|n| n.attribute("id"));
    let ids: BTreeSet<&str> = named.collect();
    assert!(!ids.iter().any(|id| id.contains(char::is_whitespace)));
    for node in document.descendants().filter(Node::is_element) {
        let tag = node.tag_name().name();
        for forbidden in ["script", "link", "img", "iframe", "object", "form", "video"] {
            assert_ne!(tag, forbidden);
        }
        for attribute in node.attributes() {
            let (name, value) = (attribute.name(), attribute.value());
            assert!(!name.starts_with("on"), "{name} runs a script");
            assert!(name != "src" && name != "srcset", "{value} is fetched");
            match name {
                "href" => {
                    let to = value.strip_prefix('#').expect("links stay on the page");
                    assert!(ids.contains(to), "`{value}` leads nowhere");
                }
                "aria-labelledby" => {
                    for id in value.split(' ') {
                        assert!(ids.contains(id), "`{id}` labels nothing");
                    }
                }
                _ => {}
            }
            for wrong in ["NaN", "inf"] {
                assert!(
                    !value.split([' ', ',', 'L', 'M']).any(|v| v == wrong),
                    "{tag} {name}={value}"
                );
            }
        }
        if tag == "svg" {
            for part in ["title", "desc"] {
                let found = node.children().find(|n| n.has_tag_name((SVG, part)));
                let said = found.and_then(|n| n.text()).unwrap_or_default();
                assert!(!said.trim().is_empty(), "a picture without its {part}");
            }
        }
        if tag == "th" {
            assert!(node.attribute("scope").is_some(), "a header without scope");
        }
        if tag == "style" {
            let css = node.text().unwrap_or_default();
            assert!(!css.contains("http") && !css.contains("@import"), "{css}");
            for url in css.split("url(").skip(1) {
                assert!(url.starts_with('#'), "a style fetches something");
            }
        }
    }
    let html_tag = document.root_element();
    assert_eq!(html_tag.attribute("lang"), Some("en"));
    for landmark in ["main", "footer"] {
        assert!(document.descendants().any(|n| n.has_tag_name(landmark)));
    }
    let mut depth = 0;
    for heading in document.descendants().filter_map(|n| level(&n)) {
        assert!(
            heading <= depth + 1,
            "a heading is left out before h{heading}"
        );
        depth = heading;
    }
    let all = words(html_tag);
    for wrong in ["NaN", " inf ", "None", "Some("] {
        assert!(!all.contains(wrong), "the page says `{wrong}`");
    }
}

const SVG: &str = "http://www.w3.org/2000/svg";

fn level(node: &Node) -> Option<u32> {
    let name = node.tag_name().name();
    let digit = name.strip_prefix('h').filter(|d| d.len() == 1)?;
    digit.parse().ok()
}

#[test]
fn the_page_is_whole_and_fetches_nothing() {
    for units in [Units::Si, Units::Us] {
        let told = told(DEMO, ROUNDS, units);
        check(&report(&[&told], &[], units));
    }
}

#[test]
fn findings_stand_in_order_with_their_sentences() {
    let told = told(DEMO, ROUNDS, Units::Si);
    let html = report(&[&told], &[], Units::Si);
    let document = parsed(&html);
    let found = with_class(&document, "finding");
    assert!(told.judgement.findings.len() > 5);
    assert_eq!(found.len(), told.judgement.findings.len());
    for (i, (node, f)) in found.iter().zip(&told.judgement.findings).enumerate() {
        let said = words(*node);
        let title = format!("{} {}", i + 1, written(&f.title));
        assert!(said.trim_start().starts_with(&title), "{said}");
        assert!(said.contains(&plain(&f.action)), "{said}");
        if let Some(next) = &f.next_check {
            assert!(said.contains(&written(next)), "{said}");
        }
        let cost = f.cost.per_year.map(judge::say::grouped);
        assert!(cost.is_none_or(|c| said.contains(&plain(&c))), "{said}");
    }
}

#[test]
fn every_number_of_a_finding_stands_in_its_working() {
    let told = told(DEMO, ROUNDS, Units::Si);
    let html = report(&[&told], &[], Units::Si);
    let document = parsed(&html);
    let mut checked = 0;
    let mut lacking = Vec::new();
    for (i, f) in told.judgement.findings.iter().enumerate() {
        let section = by_id(&document, &format!("s1-f{}-working", i + 1));
        // The heading repeats the title; the working must stand without it.
        let said: String = section
            .children()
            .filter(|n| level(n).is_none())
            .map(words)
            .collect();
        let told_open = section.children().filter(|n| level(n).is_none());
        let values: Vec<_> = told_open
            .flat_map(|n| paged::shown(&paged::texts(n)))
            .collect();
        for number in paged::shown(&dated(&f.title)) {
            if !paged::is_among(&number, &values, false) {
                lacking.push(format!("{} of `{}`", number.value, f.title));
            }
            checked += 1;
        }
        for step in &f.working {
            assert!(said.contains(&written(&step.source)), "{}", step.source);
            assert!(said.contains(&written(&step.formula)), "{}", step.formula);
            assert!(said.contains(&written(&step.numbers)), "{}", step.numbers);
        }
    }
    assert!(
        lacking.is_empty(),
        "not in the working:\n{}",
        lacking.join("\n")
    );
    assert!(checked > 20, "{checked} numbers were checked");
}

#[test]
fn an_owner_finds_all_of_it_on_the_first_sheet() {
    let told = told(DEMO, ROUNDS, Units::Si);
    let html = report(&[&told], &[], Units::Si);
    let document = parsed(&html);
    let summary = by_id(&document, "s1-summary");
    let said = words(summary);
    assert!(said.contains("Quillbank Tileworks"), "{said}");
    for f in &told.judgement.findings {
        assert!(said.contains(&written(&f.title)), "{} is not told", f.title);
    }
    let total: f64 = told
        .judgement
        .findings
        .iter()
        .filter_map(|f| f.cost.per_year)
        .sum();
    let total = format!("{} EUR", plain(&judge::say::grouped(total)));
    assert!(said.contains(&total), "{total}: {said}");
    let working = words(by_id(&document, "s1-working"));
    assert!(working.contains("what leaving the priced findings costs a year"));
    let first = &told.judgement.findings[0];
    assert!(
        said.contains(&format!("To do first\n{}.", first.action)),
        "{said}"
    );
    for what in [
        "Name",
        "Date",
        "Signature",
        "Local codes and licensed people",
    ] {
        assert!(said.contains(what), "{what}: {said}");
    }
    let foot = document
        .descendants()
        .find(|n| n.has_tag_name("footer"))
        .map(words)
        .expect("there is a foot");
    for what in ["Calcant 9.8.7", "licensed", "made up"] {
        assert!(foot.contains(what), "{what}: {foot}");
    }
}

#[test]
fn cautions_stand_beside_the_action_that_needs_them() {
    let told = told(DEMO, ROUNDS, Units::Si);
    let html = report(&[&told], &[], Units::Si);
    let document = parsed(&html);
    for (i, f) in told.judgement.findings.iter().enumerate() {
        if f.cautions.is_empty() {
            continue;
        }
        let cautions = by_id(&document, &format!("s1-f{}-cautions", i + 1));
        let action = cautions.parent().map(words).unwrap_or_default();
        assert!(action.contains(&written(&f.action)), "{action}");
        // Written out, or the way to where the same steps are.
        let link = cautions
            .descendants()
            .find_map(|n| n.attribute("href")?.strip_prefix('#'));
        let said = words(link.map_or(cautions, |id| by_id(&document, id)));
        for caution in &f.cautions {
            assert!(said.contains(&written(caution)), "{caution}: {said}");
        }
        assert!(words(cautions).contains("Local codes and licensed people"));
    }
}

#[test]
fn us_units_are_meant_throughout() {
    let told = told(DEMO, ROUNDS, Units::Us);
    let html = report(&[&told], &[], Units::Us);
    let document = parsed(&html);
    for part in ["s1-summary", "s1-air-line", "s1-findings", "s1-expected"] {
        let said = words(by_id(&document, part));
        for unit in ["°C", " bar", "m³/min", " mbar"] {
            let at = said.lines().find(|line| line.contains(unit));
            assert_eq!(at, None, "{unit} in {part}");
        }
    }
    assert!(words(by_id(&document, "s1-expected")).contains("°F"));
}

#[test]
fn what_stands_in_files_never_becomes_markup() {
    let evil = "</h1><script>alert('1')</script><img src=x onerror=\\\"f()\\\"> & \u{202e}co";
    let station = DEMO
        .replace("Quillbank Tileworks", evil)
        .replace("\"EUR\"", "\"<b>E</b>\"");
    let told = told(&station, ROUNDS, Units::Si);
    let rejected = [Rejection {
        line: 7,
        column: "</td><script>".to_owned(),
        problem: "`<img src=x>` & is no \"number\"".to_owned(),
        hint: "'--><style>".to_owned(),
    }];
    let html = report(&[&told, &told], &rejected, Units::Si);
    check(&html);
    assert!(!html.contains("<script") && !html.contains("<img"));
    let document = parsed(&html);
    let said = words(by_id(&document, "s1-rejected"));
    assert!(said.contains("</td><script>") && said.contains("`<img src=x>`"));
}

#[test]
fn several_stations_stand_in_the_order_given_with_a_table_on_top() {
    let ill = told(DEMO, ROUNDS, Units::Si);
    let few: String = ROUNDS.lines().take(12).map(|l| format!("{l}\n")).collect();
    let well = told(
        &DEMO.replace("Quillbank Tileworks", "Second"),
        &few,
        Units::Si,
    );
    let html = report(&[&ill, &well], &[], Units::Si);
    check(&html);
    let document = parsed(&html);
    let header = document
        .descendants()
        .find(|n| n.has_tag_name("header"))
        .map(words)
        .expect("there is a table on top");
    let (first, second) = (header.find("Quillbank"), header.find("Second"));
    assert!(first.is_some() && first < second, "{header}");
    assert_eq!(html.matches("<h1").count(), 1);
}

#[test]
fn a_station_without_rounds_says_so() {
    let header = ROUNDS.lines().next().unwrap_or_default();
    let none = told(DEMO, &format!("{header}\n"), Units::Si);
    let html = report(&[&none], &[], Units::Si);
    check(&html);
    let said = words(by_id(&parsed(&html), "s1-station"));
    assert!(said.contains("no round to judge"), "{said}");
    assert!(said.contains("there is no round to judge"), "{said}");
}

#[test]
fn a_judgement_for_an_earlier_day_counts_its_rounds() {
    let mut early = told(DEMO, ROUNDS, Units::Si);
    early.judgement.rounds = 120;
    early.judgement.as_of = Some(Timestamp::UNIX_EPOCH);
    let html = report(&[&early], &[], Units::Si);
    let said = words(by_id(&parsed(&html), "s1-summary"));
    assert!(said.contains("120 rounds judged"), "{said}");
}

#[test]
fn every_number_leads_to_its_working_from_where_it_stands() {
    for units in [Units::Si, Units::Us] {
        let told = told(DEMO, ROUNDS, units);
        let html = report(&[&told], &[], units);
        let astray = paged::astray(&parsed(&html), units == Units::Us, &|_| false);
        assert!(astray.is_empty(), "{}", astray.join("\n"));
        // On a page of several stations, those of the table on top too.
        let html = report(&[&told, &told], &[], units);
        let astray = paged::astray(&parsed(&html), units == Units::Us, &|_| false);
        assert!(astray.is_empty(), "{}", astray.join("\n"));
    }
}
