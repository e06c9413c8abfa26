//! Every kind of finding has its code, its page and a case that finds it; what a page must hold is
//! tested beside the pages.

use std::collections::BTreeSet;

use judge::Kind;

use super::{File, files, none};

const CODE: &str = "crates/judge/src/findings/";
const PAGES: &str = "crates/judge/pages/";
const CASES: &str = "crates/judge/tests/cases/";

/// The names of the files right in a folder, without what comes after the dot.
fn stems(files: &[File], folder: &str, end: &str) -> BTreeSet<String> {
    files
        .iter()
        .filter_map(|file| file.path.strip_prefix(folder)?.strip_suffix(end))
        .filter(|stem| !stem.contains('/') && *stem != "mod")
        .map(str::to_owned)
        .collect()
}

fn kinds(named: impl Fn(Kind) -> String) -> BTreeSet<String> {
    Kind::ALL.iter().map(|kind| named(*kind)).collect()
}

/// Whether a case expects this kind to be found: a line `<kind> on <what>`.
fn finds(case: &str, kind: &str) -> bool {
    let start = format!("{kind} on ");
    case.lines().any(|line| {
        line.trim_start()
            .trim_start_matches("- ")
            .starts_with(&start)
    })
}

#[test]
fn every_kind_has_a_file_of_code() {
    let code = stems(&files(), CODE, ".rs");
    assert_eq!(
        code,
        kinds(|kind| kind.name().replace('-', "_")),
        "files in {CODE}"
    );
}

#[test]
fn every_kind_has_a_page() {
    let pages = stems(&files(), PAGES, ".md");
    assert_eq!(
        pages,
        kinds(|kind| kind.name().to_owned()),
        "files in {PAGES}"
    );
}

#[test]
fn every_kind_is_found_in_a_case() {
    let files = files();
    let cases: Vec<&File> = files
        .iter()
        .filter(|file| file.path.starts_with(CASES) && file.is_markdown())
        .collect();
    let faults: Vec<String> = Kind::ALL
        .iter()
        .map(|kind| kind.name())
        .filter(|kind| !cases.iter().any(|case| finds(&case.text, kind)))
        .map(|kind| format!("no case in {CASES} has a line `{kind} on …`"))
        .collect();
    none("kinds that no case finds", &faults);
}

#[test]
fn a_case_finds_by_a_line_of_its_own() {
    assert!(finds(
        "```expect\nbelt-slack on K1, this week\n```\n",
        "belt-slack"
    ));
    assert!(!finds("No belt-slack on K1 is found here.\n", "belt-slack"));
    assert!(!finds("```expect\nnothing\n```\n", "belt-slack"));
}
