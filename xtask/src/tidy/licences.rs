//! Under which licences everything stands that the program is built from.

use super::edges::metadata;
use super::none;

/// Licences that ask for no more than to be named, and `MPL-2.0` by file, if ever needed.
const ALLOWED: &[&str] = &[
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "CC0-1.0",
    "ISC",
    "MIT",
    "Unicode-3.0",
    "Unicode-DFS-2016",
    "Unlicense",
    "Zlib",
];

/// Whether one may choose only allowed licences: `OR` (once written `/`) gives the choice, `AND`
/// asks for both.
fn allows(expression: &str) -> bool {
    let expression = expression
        .replace('/', " OR ")
        .replace('(', " ( ")
        .replace(')', " ) ");
    let tokens: Vec<&str> = expression.split_whitespace().collect();
    let mut at = 0;
    choice(&tokens, &mut at) && at == tokens.len()
}

fn choice(tokens: &[&str], at: &mut usize) -> bool {
    let mut allowed = both(tokens, at);
    while tokens.get(*at) == Some(&"OR") {
        *at += 1;
        allowed |= both(tokens, at);
    }
    allowed
}

fn both(tokens: &[&str], at: &mut usize) -> bool {
    let mut allowed = one(tokens, at);
    while tokens.get(*at) == Some(&"AND") {
        *at += 1;
        allowed &= one(tokens, at);
    }
    allowed
}

fn one(tokens: &[&str], at: &mut usize) -> bool {
    let Some(token) = tokens.get(*at) else {
        return false;
    };
    *at += 1;
    if *token == "(" {
        let allowed = choice(tokens, at);
        let closed = tokens.get(*at) == Some(&")");
        *at += 1;
        return allowed && closed;
    }
    let mut name = (*token).to_owned();
    if let Some(["WITH", exception]) = tokens.get(*at..*at + 2) {
        name = format!("{name} WITH {exception}");
        *at += 2;
    }
    ALLOWED.contains(&name.as_str())
}

#[test]
fn every_licence_is_allowed() {
    let metadata = metadata(&[]);
    let packages = metadata["packages"].as_array().cloned().unwrap_or_default();
    assert!(
        packages.len() > 10,
        "only {} packages are listed",
        packages.len()
    );
    let faults: Vec<String> = packages
        .iter()
        .filter(|package| !package["license"].as_str().is_some_and(allows))
        .map(|package| {
            format!(
                "{} {}: {}",
                package["name"], package["version"], package["license"]
            )
        })
        .collect();
    none(
        "licences, see the list in xtask/src/tidy/licences.rs",
        &faults,
    );
}

#[test]
fn expressions_are_read() {
    for good in [
        "MIT",
        "MIT/Apache-2.0",
        "Apache-2.0 OR BSL-1.0",
        "(MIT OR GPL-3.0-only) AND Unicode-3.0",
        "Apache-2.0 WITH LLVM-exception OR GPL-2.0-only",
    ] {
        assert!(allows(good), "{good}");
    }
    for bad in [
        "",
        "GPL-3.0-only",
        "MIT AND GPL-3.0-only",
        "(MIT",
        "MIT Apache-2.0",
        "Apache-2.0 WITH",
    ] {
        assert!(!allows(bad), "{bad}");
    }
}
