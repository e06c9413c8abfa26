//! Every kind of finding has its page, in the one form that the manual and `explain` rely on.

use std::ops::RangeInclusive;

use judge::Kind;

/// The headings of every page, in their order.
const HEADINGS: [&str; 7] = [
    "## What it tells",
    "## Why it matters",
    "## How it is decided",
    "## What can look like it",
    "## What settles it",
    "## What to do first, safely",
    "## Sources",
];
/// No line of a page is longer, in characters.
const LONGEST_LINE: usize = 200;
/// A page has so many lines.
const LINES: RangeInclusive<usize> = 25..=72;
/// How well a source is known; every page names at least one.
const MARKS: [&str; 4] = [
    "published",
    "common practice, no source",
    "from memory",
    "derived",
];

/// The lines of a section, without empty ones.
fn section<'p>(page: &'p str, heading: &str) -> Vec<&'p str> {
    page.lines()
        .skip_while(|line| *line != heading)
        .skip(1)
        .take_while(|line| !line.starts_with('#'))
        .filter(|line| !line.trim().is_empty())
        .collect()
}

#[test]
fn the_first_line_is_the_kind_and_its_sentence() {
    for kind in Kind::ALL {
        let first = kind.page().lines().next().unwrap_or_default();
        assert_eq!(first, format!("# {}: {}", kind.name(), kind.sentence()));
    }
}

#[test]
fn every_page_has_exactly_these_headings_in_this_order() {
    for kind in Kind::ALL {
        let headings: Vec<&str> = kind
            .page()
            .lines()
            .skip(1)
            .filter(|line| line.starts_with('#'))
            .collect();
        assert_eq!(headings, HEADINGS, "{}", kind.name());
    }
}

#[test]
fn every_section_says_something() {
    for kind in Kind::ALL {
        for heading in HEADINGS {
            assert!(
                !section(kind.page(), heading).is_empty(),
                "{}: nothing under `{heading}`",
                kind.name()
            );
        }
    }
}

#[test]
fn lines_and_pages_keep_their_length() {
    for kind in Kind::ALL {
        for (number, line) in (1..).zip(kind.page().lines()) {
            let long = line.chars().count();
            assert!(
                long <= LONGEST_LINE,
                "{}: line {number} has {long} characters",
                kind.name()
            );
        }
        let lines = kind.page().lines().count();
        assert!(LINES.contains(&lines), "{}: {lines} lines", kind.name());
    }
}

#[test]
fn every_page_ends_its_steps_with_local_codes_and_licensed_people() {
    for kind in Kind::ALL {
        let steps = section(kind.page(), "## What to do first, safely");
        let last = steps.last().copied().unwrap_or_default();
        assert!(
            last.contains("Local codes and licensed people come first"),
            "{}: the steps end with `{last}`",
            kind.name()
        );
    }
}

#[test]
fn every_page_marks_its_sources_and_keeps_a_plain_tone() {
    for kind in Kind::ALL {
        let sources = section(kind.page(), "## Sources").join("\n");
        assert!(
            MARKS.iter().any(|mark| sources.contains(mark)),
            "{}: no source is marked",
            kind.name()
        );
        assert!(
            !kind.page().contains('!'),
            "{}: an exclamation mark",
            kind.name()
        );
    }
}
