//! Words that no file may hold: what is left to do, and paths of one computer.
//!
//! This file is not searched, since it holds the list.

use super::{files, has_word, none};

const UNFINISHED: &[&str] = &["TODO", "FIXME", "XXX", "todo!(", "unimplemented!("];

/// Folders at the root of somebody's computer.
const FOLDERS: &[&str] = &[
    "/Users/",
    "/home/",
    "/mnt/",
    "/root/",
    "/tmp/",
    "/workspace/",
];

/// The refused words of a text, with their lines.
fn refused(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (at, line) in text.lines().enumerate() {
        let words = UNFINISHED.iter().filter(|word| has_word(line, word));
        let folders = FOLDERS.iter().filter(|folder| begins_a_path(line, folder));
        found.extend(
            words
                .chain(folders)
                .map(|word| format!("{}: `{word}`", at + 1)),
        );
    }
    found
}

/// Whether a path begins with this folder: not so in `src/home/` or `https://example.org/home/`.
fn begins_a_path(line: &str, folder: &str) -> bool {
    line.match_indices(folder).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        !before.is_some_and(|c| c.is_alphanumeric() || "._-~*}$".contains(c))
    })
}

#[test]
fn nothing_is_left_to_do_and_no_path_is_of_one_computer() {
    let faults: Vec<String> = files()
        .iter()
        .filter(|file| !file.path.ends_with("xtask/src/tidy/words.rs"))
        .flat_map(|file| {
            refused(&file.text)
                .into_iter()
                .map(|found| format!("{}:{found}", file.path))
        })
        .collect();
    none("words that no file may hold", &faults);
}

#[test]
fn refused_words_are_seen() {
    assert_eq!(refused("a\n// TODO b\n"), ["2: `TODO`"]);
    assert_eq!(refused("todo!()"), ["1: `todo!(`"]);
    assert_eq!(refused("see `/home/me/x`"), ["1: `/home/`"]);
    assert!(refused("target/tmp/x, https://example.org/home/x, TODOS").is_empty());
}
