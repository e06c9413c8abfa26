//! Every number shown leads to its working: each number in a finding's title stands, within its
//! rounding, among the finding's own evidence, working, health, limit or cost.
//!
//! What a title repeats from the station file is named in [`FROM_THE_STATION`], and must then stand
//! in that file or in the list of its defaults.

use serde_json::Value;

use crate::harness::Folder;
use crate::small;

/// Kind (empty: any), words before the number, words after it.
type Place = (&'static str, &'static str, &'static str);

/// What may come from the station file, or from its defaults, alone.
const FROM_THE_STATION: &[Place] = &[
    ("", "warning at ", " °C"),
    ("", "trip at ", " °C"),
    ("filter-loaded", "change at ", " bar"),
    ("separator-loaded", "change at ", " bar"),
    ("oil-aged", "of its ", " h"),
    ("water-downstream", "as cold as ", " °C"),
];

/// A number as written.
#[derive(Debug, PartialEq)]
struct Shown {
    value: f64,
    /// Half of its last digit.
    rounding: f64,
    before: String,
    after: String,
}

/// The numbers in a text; digits inside a name, as in `K1` or `drain2`, are none, nor are dates.
fn shown(text: &str) -> Vec<Shown> {
    let mut text = text.to_owned();
    for date in dates(&text) {
        text = text.replace(&date, "(date)");
    }
    let chars: Vec<char> = text.chars().collect();
    let in_word = |c: char| c.is_alphanumeric() || c == '_' || c == '.';
    let mut numbers = Vec::new();
    let mut at = 0;
    while at < chars.len() {
        let starts = chars[at].is_ascii_digit() && (at == 0 || !in_word(chars[at - 1]));
        if !starts {
            at += 1;
            continue;
        }
        let start = at;
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
        if chars
            .get(at)
            .is_some_and(|&c| c.is_alphabetic() || c == '_')
        {
            continue;
        }
        let decimals = digits.split_once('.').map_or(0, |(_, d)| d.len());
        let negative = start > 0 && matches!(chars[start - 1], '-' | '−');
        let value: f64 = digits.parse().expect("digits make a number");
        numbers.push(Shown {
            value: if negative { -value } else { value },
            rounding: 0.5 * 0.1_f64.powi(i32::try_from(decimals).expect("few decimals")),
            before: chars[..start].iter().collect(),
            after: chars[at..].iter().collect(),
        });
    }
    numbers
}

/// The dates in a text, as `2026-07-14`.
fn dates(text: &str) -> Vec<String> {
    text.split(|c: char| !(c.is_ascii_digit() || c == '-'))
        .filter(|word| word.len() == 10 && word.as_bytes()[4] == b'-' && word.as_bytes()[7] == b'-')
        .map(str::to_owned)
        .collect()
}

/// What the finding lays open, as numbers.
fn laid_open(finding: &Value) -> Vec<f64> {
    let mut open = Vec::new();
    for evidence in finding["evidence"].as_array().into_iter().flatten() {
        for key in ["read", "mid", "deviations"] {
            open.extend(evidence[key].as_f64());
        }
    }
    for step in finding["working"].as_array().into_iter().flatten() {
        let value = step["value"].as_f64();
        open.extend(value);
        if step["name"] == "standard uncertainty" {
            // A band is told by its half-width: 95 % of a normal distribution.
            open.extend(value.map(|sigma| 1.96 * sigma));
        }
        let numbers = step["numbers"].as_str().unwrap_or_default();
        open.extend(shown(numbers).iter().map(|n| n.value));
    }
    let health = &finding["health"];
    for key in ["value", "low", "high", "per_month"] {
        open.extend(health[key].as_f64());
    }
    if let (Some(low), Some(high)) = (health["low"].as_f64(), health["high"].as_f64()) {
        open.push((high - low) / 2.0);
    }
    let limit = finding["limit"]["what"].as_str().unwrap_or_default();
    open.extend(shown(limit).iter().map(|n| n.value));
    for key in ["per_year", "kwh_per_year"] {
        open.extend(finding["cost"][key].as_f64());
    }
    open
}

/// Whether a value, in its own unit or in one that people read (per cent, mbar), rounds to the
/// number shown.
fn leads_to(open: f64, shown: &Shown) -> bool {
    let scales: &[f64] = match shown.after.trim_start() {
        after if after.starts_with('%') => &[1.0, 100.0],
        after if after.starts_with("mbar") => &[1.0, 1000.0],
        // `20 mbar, where 12 ± 4 is expected`: the unit stands once.
        _ if shown.before.contains("mbar, where") => &[1.0, 1000.0],
        _ if shown.before.contains(" %, where") => &[1.0, 100.0],
        _ => &[1.0],
    };
    scales
        .iter()
        .any(|scale| (open.abs() * scale - shown.value.abs()).abs() <= shown.rounding * 1.001)
}

/// Numbers of titles that lead nowhere.
fn astray(judged: &Value, station: &str) -> Vec<String> {
    let mut astray = Vec::new();
    for finding in judged["findings"].as_array().into_iter().flatten() {
        let title = finding["title"].as_str().unwrap_or_default();
        let kind = finding["kind"].as_str().unwrap_or_default();
        let open = laid_open(finding);
        for number in shown(title) {
            let stands_in = |places: &[Place]| {
                places.iter().any(|(of, before, after)| {
                    (of.is_empty() || *of == kind)
                        && number.before.ends_with(before)
                        && number.after.starts_with(after)
                })
            };
            let from_the_station = stands_in(FROM_THE_STATION)
                && shown(station).iter().any(|n| leads_to(n.value, &number));
            if !from_the_station && !open.iter().any(|&value| leads_to(value, &number)) {
                astray.push(format!("{kind}: {} in `{title}`", number.value));
            }
        }
        let whole = finding.to_string();
        for date in dates(title) {
            let told = whole.matches(&date).count() > 1 || station.contains(&date);
            if !told {
                astray.push(format!("{kind}: {date} in `{title}`"));
            }
        }
    }
    astray.dedup();
    astray
}

/// The station file and its defaults.
fn said_of(folder: &Folder) -> String {
    let defaults = folder.run(["station", "defaults", "station.toml"]).done();
    folder.text("station.toml") + &defaults
}

#[test]
fn every_number_of_the_demo_leads_to_its_working() {
    let folder = Folder::with_demo();
    let station = said_of(&folder);
    let mut titles = 0;
    let mut all: Vec<String> = Vec::new();
    for as_of in small::DATES {
        let args = [
            "judge",
            "station.toml",
            "rounds.csv",
            "--json",
            "--as-of",
            as_of,
        ];
        let judged = folder.run(args).json();
        titles += judged["findings"].as_array().map_or(0, Vec::len);
        all.extend(
            astray(&judged, &station)
                .iter()
                .map(|a| format!("{as_of} {a}")),
        );
    }
    assert!(titles > 30, "only {titles} findings in a year");
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn every_number_of_the_stories_leads_to_its_working() {
    let mut all: Vec<String> = Vec::new();
    for story in small::STORIES {
        let folder = Folder::with_demo();
        folder.put("station.toml", &story.station(&folder));
        let station = said_of(&folder);
        all.extend(
            astray(&story.judged(), &station)
                .iter()
                .map(|a| format!("{}: {a}", story.name)),
        );
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn a_number_from_nowhere_is_seen() {
    let finding = |title: &str| {
        serde_json::json!({ "findings": [{
            "kind": "oil-hot", "title": title,
            "evidence": [{ "read": 92.0, "mid": 84.28, "deviations": 2.8 }],
            "working": [{ "name": "standard uncertainty", "value": 2.722, "numbers": "5\u{202f}851 h, K7" }],
            "health": { "low": 0.71, "value": 0.73, "high": 0.75 },
            "limit": { "what": "the warning", "likely": "2026-07-14" },
        }] })
    };
    let right =
        "K1 at 92 °C, where 84 ± 5.3 is expected, 73 % left of 5\u{202f}851 h on 2026-07-14";
    assert_eq!(astray(&finding(right), ""), Vec::<String>::new());
    for wrong in [
        "93 °C",
        "84.2 °C",
        "7 K",
        "0.6 %",
        "5851.5 h",
        "on 2026-07-15",
    ] {
        assert_eq!(astray(&finding(wrong), "").len(), 1, "{wrong}");
    }
}
