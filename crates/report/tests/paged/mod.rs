//! Walks a page: every number that stands outside the workings has, where it stands, a link to a
//! working on the same page, and is found there within its rounding.

use std::collections::{BTreeMap, BTreeSet};

use roxmltree::{Document, Node, ParsingOptions};

/// The page as a tree; it is XML as well as HTML, so every tag is closed where it must be.
pub(crate) fn parsed(html: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(html, options).expect("every tag of the page is closed")
}

/// The words of a part of the page, with plain spaces.
pub(crate) fn words(node: Node) -> String {
    let text: String = node
        .descendants()
        .filter(|n| n.is_text() && n.parent().is_none_or(|p| !p.has_tag_name("style")))
        .filter_map(|n| n.text())
        .collect();
    plain(&text)
}

pub(crate) fn plain(text: &str) -> String {
    text.replace(['\u{a0}', '\u{202f}'], " ")
        .replace('\u{2212}', "-")
}

/// `24 July 2026` for `2026-07-24`.
pub(crate) fn dated(text: &str) -> String {
    let mut text = text.to_owned();
    let dates: Vec<String> = text
        .split(|c: char| !(c.is_ascii_digit() || c == '-'))
        .filter(|word| word.len() == 10)
        .map(str::to_owned)
        .collect();
    for date in dates {
        if let Ok(day) = date.parse::<jiff::civil::Date>() {
            text = text.replace(&date, &day.strftime("%-d %B %Y").to_string());
        }
    }
    text
}

pub(crate) fn has_class(node: &Node, class: &str) -> bool {
    let classes = node.attribute("class").unwrap_or_default();
    classes.split(' ').any(|c| c == class)
}

/// A number as written.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Shown {
    pub(crate) value: f64,
    /// Half of its last digit.
    pub(crate) rounding: f64,
}

const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// The numbers in a text. Digits inside a name, as in `K1`, dates and times of the day are none.
pub(crate) fn shown(text: &str) -> Vec<Shown> {
    let chars: Vec<char> = text
        .replace(['\u{202f}', '\u{2212}'], "\u{202f}")
        .chars()
        .collect();
    let in_word = |c: char| c.is_alphanumeric() || matches!(c, '_' | '.' | ':' | '`');
    let mut numbers = Vec::new();
    let mut at = 0;
    while at < chars.len() {
        let starts = chars[at].is_ascii_digit() && (at == 0 || !in_word(chars[at - 1]));
        if !starts {
            at += 1;
            continue;
        }
        let mut digits = String::new();
        while let Some(&c) = chars.get(at) {
            let next_is_digit = chars.get(at + 1).is_some_and(char::is_ascii_digit);
            match c {
                c if c.is_ascii_digit() => digits.push(c),
                '.' if next_is_digit => digits.push('.'),
                '\u{202f}' if next_is_digit => {}
                _ => break,
            }
            at += 1;
        }
        let rest: String = chars[at..].iter().take(16).collect();
        let name = rest.starts_with(|c: char| c.is_alphabetic() || matches!(c, '_' | ':'));
        if name || digits.matches('.').count() > 1 {
            while chars.get(at).is_some_and(|&c| in_word(c)) {
                at += 1;
            }
            continue;
        }
        // `14 July 2026`: the year goes with the month.
        let rest = plain(&rest);
        let month = rest.trim_start_matches(' ');
        if digits.len() <= 2 && MONTHS.iter().any(|m| month.starts_with(m)) {
            let year = chars[at..].iter().position(char::is_ascii_digit);
            let between: String = chars[at..].iter().take(year.unwrap_or(0)).collect();
            let goes_on = between.trim().chars().all(char::is_alphabetic);
            if let Some(year) = year.filter(|_| goes_on) {
                let long = chars[at + year..].iter().take_while(|c| c.is_ascii_digit());
                if long.count() == 4 {
                    at += year + 4;
                }
            }
            continue;
        }
        // `finding 7` and `working 12` are names, and so is the grade of an oil, `VG 46` (ISO 3448).
        let before: String = chars[..at - digits.len()].iter().rev().take(8).collect();
        let named = [" gnidnif", " gnikrow"].contains(&before.as_str());
        if named || before.starts_with(" GV") {
            continue;
        }
        let decimals = digits.split_once('.').map_or(0, |(_, d)| d.len());
        numbers.push(Shown {
            value: digits.parse().expect("digits make a number"),
            rounding: 0.5 * 0.1_f64.powi(i32::try_from(decimals).expect("few decimals")),
        });
    }
    numbers
}

/// Factors and offsets from the units of workings to those of a page in US units: K to °F, °C to °F,
/// bar to psi, mbar to psi, m³/min to cfm, m³ to gal, L to gal, kJ to ft·lbf.
const TO_US: [(f64, f64); 8] = [
    (1.8, 0.0),
    (1.8, 32.0),
    (14.503_77, 0.0),
    (0.014_503_77, 0.0),
    (35.314_67, 0.0),
    (264.172, 0.0),
    (0.264_172, 0.0),
    (737.562, 0.0),
];

/// Energies in ft·lbf are told in hundreds.
fn coarse(factor: f64) -> f64 {
    if factor > 700.0 { 50.0 } else { 0.0 }
}

/// Whether a number rounds from one of these: itself, as a share told in per cent, or, on a page in US
/// units, from the units of the working.
pub(crate) fn is_among(number: &Shown, known: &[Shown], us: bool) -> bool {
    let near = |k: &Shown, factor: f64, offset: f64, doubt: f64| {
        let off = (factor * k.value + offset - number.value).abs();
        off <= 1.02 * number.rounding.max(coarse(factor)) + doubt * factor * k.rounding + 1.0e-9
    };
    known.iter().any(|k| {
        let us = us && TO_US.iter().any(|(f, o)| near(k, *f, *o, 1.0));
        us || near(k, 1.0, 0.0, 0.0) || near(k, 100.0, 0.0, 0.0)
    })
}

/// What a number stands in: the smallest of these that leads to a working.
fn is_block(node: &Node) -> bool {
    matches!(
        node.tag_name().name(),
        "tr" | "li" | "p" | "figure" | "dt" | "dd" | "h1" | "h2" | "h3" | "h4" | "h5"
    ) || node.parent().is_some_and(|p| has_class(&p, "facts"))
        || has_class(node, "finding")
        || has_class(node, "picture")
        || node
            .attribute("id")
            .is_some_and(|id| id.ends_with("-if-hot"))
}

/// Parts that quote what somebody has written, that number an axis, or that only count what stands on
/// the page.
fn is_quoted(node: &Node) -> bool {
    let id = node.attribute("id").unwrap_or_default();
    ["style", "desc", "title", "footer", "head"].contains(&node.tag_name().name())
        || ["rejected", "left-out", "name"]
            .iter()
            .any(|part| id.ends_with(&format!("-{part}")))
        || ["working", "tick", "no", "sign", "counts"]
            .iter()
            .any(|class| has_class(node, class))
}

/// Names that two things have, and links that lead nowhere.
pub(crate) fn unsound(document: &Document) -> Vec<String> {
    let mut ids = BTreeSet::new();
    let mut unsound = Vec::new();
    for id in document.descendants().filter_map(|n| n.attribute("id")) {
        if !ids.insert(id) {
            unsound.push(format!("two things are named `{id}`"));
        }
    }
    for to in document.descendants().filter_map(|n| n.attribute("href")) {
        if !to.strip_prefix('#').is_some_and(|id| ids.contains(id)) {
            unsound.push(format!("`{to}` leads nowhere"));
        }
    }
    unsound
}

/// Numbers that are found in no working where they stand, with the words about them.
pub(crate) fn astray(
    document: &Document,
    us: bool,
    excused: &dyn Fn(&Node) -> bool,
) -> Vec<String> {
    let mut workings: BTreeMap<String, Vec<Shown>> = BTreeMap::new();
    for node in document.descendants() {
        let inside = node.ancestors().any(|a| has_class(&a, "working"));
        if let Some(id) = node.attribute("id").filter(|_| inside) {
            let said: String = node
                .descendants()
                .filter(|n| n.is_text() && n.parent().is_none_or(|p| !is_heading(&p)))
                .filter_map(|n| n.text())
                .map(|t| format!("{t} "))
                .collect();
            // A heading carries its own anchor: what follows it up to the next is meant.
            let said = if is_heading(&node) {
                after(&node)
            } else {
                said
            };
            workings.insert(id.to_owned(), shown(&said));
        }
    }
    // A finding leads on to its working.
    for node in document.descendants().filter(|n| has_class(n, "finding")) {
        let links = node.descendants().filter_map(|n| n.attribute("href"));
        let known: Vec<Shown> = links
            .filter_map(|to| workings.get(to.strip_prefix('#')?))
            .flatten()
            .cloned()
            .collect();
        if let Some(id) = node.attribute("id") {
            workings.insert(id.to_owned(), known);
        }
    }
    let mut astray = Vec::new();
    for text in document.descendants().filter(|n| n.is_text()) {
        let Some(said) = text.text() else { continue };
        let numbers = shown(said);
        if numbers.is_empty() || text.ancestors().any(|a| is_quoted(&a)) {
            continue;
        }
        if excused(&text) {
            continue;
        }
        let mut known: Option<Vec<Shown>> = None;
        for block in text.ancestors().filter(is_block) {
            let links: Vec<&Vec<Shown>> = block
                .descendants()
                .filter_map(|n| n.attribute("href")?.strip_prefix('#'))
                .filter_map(|to| workings.get(to))
                .collect();
            if !links.is_empty() {
                known = Some(links.into_iter().flatten().cloned().collect());
                break;
            }
        }
        let said = plain(said);
        match known {
            None => astray.push(format!("no way to a working: `{}`", said.trim())),
            Some(known) => {
                for number in numbers.iter().filter(|n| !is_among(n, &known, us)) {
                    let value = number.value;
                    astray.push(format!("{value} is not in the working: `{}`", said.trim()));
                }
            }
        }
    }
    astray
}

fn is_heading(node: &Node) -> bool {
    let name = node.tag_name().name();
    name.len() == 2 && name.starts_with('h') && name != "hr"
}

/// What stands after a heading, up to the next of its rank or higher.
fn after(heading: &Node) -> String {
    let rank = heading.tag_name().name();
    let next = heading.next_siblings().skip(1);
    next.take_while(|n| !is_heading(n) || n.tag_name().name() > rank)
        .map(|n| format!("{} ", texts(n)))
        .collect()
}

/// The texts of a part of the page as they are, with a space between what stands apart.
pub(crate) fn texts(node: Node) -> String {
    let texts = node.descendants().filter(|n| n.is_text());
    let said: Vec<&str> = texts.filter_map(|n| n.text()).collect();
    said.join(" ")
}
