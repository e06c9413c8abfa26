//! How a source file begins, how long it is, and where wire shapes stand.

use std::io::Write as _;

use super::{File, files, none};

/// Lines that a file may have, tests and data not counted.
const MOST: usize = 800;
/// Lines at which to think of a split.
const MANY: usize = 400;

/// Whether a file says at its top what it is for: `//!`, or for tests, benches and examples any
/// remark.
fn says_what_it_is_for(file: &File) -> bool {
    let first = file
        .text
        .lines()
        .find(|line| !line.trim().is_empty())
        .unwrap_or_default();
    let remark = if file.is_source() { "//!" } else { "//" };
    first
        .strip_prefix(remark)
        .is_some_and(|rest| !rest.trim_matches(['/', '!', ' ']).is_empty())
}

/// Lines before the tests at a file's end.
fn length(text: &str) -> usize {
    let lines: Vec<&str> = text.lines().collect();
    let tests = lines.windows(2).position(|pair| {
        matches!(pair, [first, second] if first.trim() == "#[cfg(test)]" && second.starts_with("mod tests {"))
    });
    tests.unwrap_or(lines.len())
}

/// Whether a type is made for serialising: `Serialize` in a `derive`, also over several lines.
fn derives_serialize(text: &str) -> bool {
    text.split("derive(").skip(1).any(|rest| {
        let list = rest.split(')').next().unwrap_or_default();
        list.split([',', ':'])
            .any(|name| name.trim() == "Serialize")
    })
}

#[test]
fn every_file_says_what_it_is_for() {
    let faults: Vec<String> = files()
        .iter()
        .filter(|file| file.is_rust() && !says_what_it_is_for(file))
        .map(|file| file.path.clone())
        .collect();
    none(
        "files that do not begin with `//!` and what they are for",
        &faults,
    );
}

#[test]
fn no_file_is_too_long() {
    let mut sizes: Vec<(usize, String)> = files()
        .iter()
        .filter(|file| file.is_source())
        .map(|file| (length(&file.text), file.path.clone()))
        .filter(|(lines, _)| *lines > MANY)
        .collect();
    sizes.sort_by(|a, b| b.cmp(a));
    for (lines, path) in &sizes {
        // Past the capture of the test harness, so that it is seen when all is well.
        let _ = writeln!(
            std::io::stderr(),
            "long: {path} has {lines} lines; think at {MANY}"
        );
    }
    let faults: Vec<String> = sizes
        .iter()
        .filter(|(lines, _)| *lines > MOST)
        .map(|(lines, path)| format!("{path}: {lines} lines"))
        .collect();
    none("files to be split", &faults);
}

#[test]
fn wire_shapes_have_one_home() {
    let faults: Vec<String> = files()
        .iter()
        .filter(|file| file.is_rust() && !file.path.starts_with("crates/calcant/src/wire"))
        .filter(|file| derives_serialize(&file.text))
        .map(|file| file.path.clone())
        .collect();
    none(
        "`Serialize` is derived outside crates/calcant/src/wire",
        &faults,
    );
}

#[test]
fn the_rules_see_what_they_must() {
    let file = |path: &str, text: &str| File {
        path: path.to_owned(),
        text: text.to_owned(),
    };
    assert!(says_what_it_is_for(&file(
        "crates/a/src/b.rs",
        "//! What.\nfn f() {}\n"
    )));
    assert!(!says_what_it_is_for(&file(
        "crates/a/src/b.rs",
        "// What.\nfn f() {}\n"
    )));
    assert!(says_what_it_is_for(&file(
        "crates/a/tests/b.rs",
        "// What.\nfn f() {}\n"
    )));
    assert!(!says_what_it_is_for(&file(
        "crates/a/tests/b.rs",
        "//!\nfn f() {}\n"
    )));
    assert_eq!(length("a\nb\n#[cfg(test)]\nmod tests {\n}\n"), 2);
    assert_eq!(length("a\n#[cfg(test)]\nmod tests;\nb\n"), 4);
    let of = |list: &str| format!("#[{}({list})]", "derive");
    assert!(derives_serialize(&of("Debug,\n    Serialize,\n")));
    assert!(derives_serialize(&of("serde::Serialize")));
    assert!(!derives_serialize(&of("Debug, Deserialize")));
}
