//! No clock, no files, no environment, no printing in the pure crates.
//!
//! Clippy holds the same wall by `clippy.toml` in each of these crates; this holds it where Clippy
//! does not see, such as macros and names that are imported but not yet used.

use std::fs;

use super::{files, has_word, none};
use crate::chores::PURE;
use crate::shell::root;

const REFUSED: &[&str] = &[
    "std::env",
    "std::fs",
    "std::net",
    "std::process",
    "std::thread",
    "File::open",
    "Instant",
    "SystemTime",
    "Timestamp::now",
    "TimeZone::system",
    "TimeZone::try_system",
    "Zoned::now",
    "ZonedDateTime::now",
    "dbg!",
    "eprint!",
    "eprintln!",
    "print!",
    "println!",
];

/// Modules of the standard library that must not be reached through `use std::{…}` either.
const MODULES: &[&str] = &["env", "fs", "net", "process", "thread"];

/// What a source names that it must not, remarks aside.
fn impure(text: &str) -> Vec<String> {
    let code: String = text
        .lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .flat_map(|line| [line, "\n"])
        .collect();
    let named = REFUSED
        .iter()
        .filter(|word| has_word(&code, word))
        .map(|word| (*word).to_owned());
    let imported = code.split("use std::{").skip(1).flat_map(|rest| {
        let list = rest.split(';').next().unwrap_or_default();
        MODULES
            .iter()
            .filter(|name| has_word(list, name))
            .map(|name| format!("std::{{{name}}}"))
    });
    named.chain(imported).collect()
}

#[test]
fn pure_crates_touch_nothing_outside_them() {
    let faults: Vec<String> = files()
        .iter()
        .filter(|file| file.is_rust() && file.path.contains("/src/"))
        .filter(|file| file.member().is_some_and(|name| PURE.contains(&name)))
        .flat_map(|file| {
            impure(&file.text)
                .into_iter()
                .map(|what| format!("{}: {what}", file.path))
        })
        .collect();
    none("what a pure crate must not name", &faults);
}

#[test]
fn each_pure_crate_has_the_same_rules() {
    let own =
        |name: &str| fs::read_to_string(root().join(format!("crates/{name}/clippy.toml"))).ok();
    let first = own("physics").expect("physics has rules");
    assert!(first.contains("disallowed-methods"));
    for name in PURE {
        assert_eq!(
            own(name).as_ref(),
            Some(&first),
            "crates/{name}/clippy.toml"
        );
    }
    // The nearest file wins and is not merged, so each rule of the root stands there again.
    let root_rules = fs::read_to_string(root().join("clippy.toml")).expect("there are root rules");
    for rule in root_rules.lines().filter(|line| line.contains(" = ")) {
        assert!(
            first.contains(rule),
            "the pure crates do not repeat `{rule}`"
        );
    }
}

#[test]
fn impurity_is_seen() {
    assert_eq!(impure("use std::fs;\n"), ["std::fs"]);
    assert_eq!(impure("use std::{fmt, fs::File};\n"), ["std::{fs}"]);
    assert_eq!(
        impure("let t = jiff::Timestamp::now();\n"),
        ["Timestamp::now"]
    );
    assert!(impure("//! Never `std::fs`.\nuse std::{fmt, ops};\n").is_empty());
}
