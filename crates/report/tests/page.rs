//! The page read back: whole, self-contained, in order, and every number with its working.

use std::collections::BTreeSet;

use jiff::Timestamp;
use judge::{Judge, Judgement, LastRound, Options};
use physics::quantity::Temperature;
use report::{Report, Rows, StationReport, Units, page};
use roxmltree::{Document, Node, ParsingOptions};
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
        if_hot: Some("42 degC"),
        version: "9.8.7",
    })
}

/// The page as a tree; it is XML as well as HTML, so every tag is closed where it must be.
fn parsed(html: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(html, options).expect("every tag of the page is closed")
}

/// The words of a part of the page, with plain spaces.
fn words(node: Node) -> String {
    let text: String = node
        .descendants()
        .filter(|n| n.is_text() && n.parent().is_none_or(|p| !p.has_tag_name("style")))
        .filter_map(|n| n.text())
        .collect();
    plain(&text)
}

fn plain(text: &str) -> String {
    text.replace(['\u{a0}', '\u{202f}'], " ")
        .replace('\u{2212}', "-")
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
    let mut ids = BTreeSet::new();
    for node in document.descendants() {
        if let Some(id) = node.attribute("id") {
            assert!(ids.insert(id.to_owned()), "two things are named `{id}`");
            assert!(!id.contains(char::is_whitespace), "`{id}`");
        }
    }
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

/// The numbers of a sentence; those that belong to a name or a date are none.
fn numbers(text: &str) -> Vec<String> {
    let text = text.replace('\u{202f}', "");
    let mut found = Vec::new();
    for word in text.replace(['(', ')', ';', ':', ','], " ").split(' ') {
        let number = word.trim_end_matches('.');
        if !number.is_empty() && number.parse::<f64>().is_ok() {
            found.push(number.to_owned());
        }
    }
    found
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
        let title = format!("{} {}", i + 1, plain(&f.title));
        assert!(said.trim_start().starts_with(&title), "{said}");
        assert!(said.contains(&plain(&f.action)), "{said}");
        if let Some(next) = &f.next_check {
            assert!(said.contains(&plain(next)), "{said}");
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
        let values: Vec<f64> = numbers_within(&said);
        for number in numbers(&f.title) {
            let value: f64 = number.parse().expect("it was found as a number");
            let places = number.split_once('.').map_or(0, |(_, d)| d.len());
            let near = 0.51 * 0.1_f64.powi(places as i32);
            // A share is told in per cent.
            let known = values
                .iter()
                .any(|v| (v - value).abs() <= near || (100.0 * v - value).abs() <= near);
            // The working of leakage has no step yet for the spread of timed cycles.
            let spread =
                f.kind == judge::Kind::Leakage && plain(&f.title).contains(&format!("± {number}"));
            if !known && !spread {
                lacking.push(format!("{number} of `{}`", f.title));
            }
            checked += 1;
        }
        for step in &f.working {
            assert!(said.contains(&plain(&step.source)), "{}", step.source);
            assert!(said.contains(&plain(&step.formula)), "{}", step.formula);
            assert!(said.contains(&plain(&step.numbers)), "{}", step.numbers);
        }
    }
    assert!(
        lacking.is_empty(),
        "not in the working:\n{}",
        lacking.join("\n")
    );
    assert!(checked > 20, "{checked} numbers were checked");
}

/// Every number in a text, wherever it stands.
fn numbers_within(text: &str) -> Vec<f64> {
    let grouped: Vec<char> = text.chars().collect();
    let mut joined = String::new();
    for (i, c) in grouped.iter().enumerate() {
        let digit = |at: Option<&char>| at.is_some_and(char::is_ascii_digit);
        let group = *c == ' '
            && i > 0
            && digit(grouped.get(i - 1))
            && (1..=3).all(|n| digit(grouped.get(i + n)))
            && !digit(grouped.get(i + 4));
        if !group {
            joined.push(*c);
        }
    }
    joined
        .split(|c: char| !c.is_ascii_digit() && c != '.')
        .filter_map(|part| part.trim_matches('.').parse().ok())
        .collect()
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
        assert!(said.contains(&plain(&f.title)), "{} is not told", f.title);
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
        assert!(action.contains(&f.action), "{action}");
        // Written out, or the way to where the same steps are.
        let link = cautions
            .descendants()
            .find_map(|n| n.attribute("href")?.strip_prefix('#'));
        let said = words(link.map_or(cautions, |id| by_id(&document, id)));
        for caution in &f.cautions {
            assert!(said.contains(&plain(caution)), "{caution}: {said}");
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
