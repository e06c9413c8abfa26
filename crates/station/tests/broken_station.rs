//! Station files that are wrong, each in one way, and the exact sentences they must give.
//!
//! Each case in `broken/station/` is `good.toml` with lines taken out (`-`) and put in (`+`), and
//! below `expect` every problem as a person reads it. What is no text at all stands here as bytes.
#![expect(clippy::disallowed_methods, reason = "a test reads its own files")]
#![expect(clippy::unwrap_used, reason = "the files are beside the test")]

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use station::file::problem::Problem;
use station::file::station::{TEMPLATE, parse, parse_bytes};

const GOOD: &str = include_str!("broken/station/good.toml");

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/broken/station")
}

/// The good file with the hunks of a case put into it.
fn edited(case: &str, name: &str) -> String {
    let mut text = GOOD.to_owned();
    for hunk in case
        .split("\n\n")
        .filter(|hunk| hunk.starts_with(['-', '+']))
    {
        let side = |sign: char| {
            let lines = hunk.lines().filter_map(|l| l.strip_prefix(sign));
            lines.fold(String::new(), |mut all, line| {
                let _ = writeln!(all, "{}", line.strip_prefix(' ').unwrap_or(line));
                all
            })
        };
        let (old, new) = (side('-'), side('+'));
        if old.is_empty() {
            text.push_str(&new);
        } else {
            assert_eq!(
                text.matches(&old).count(),
                1,
                "{name}: this stands not once:\n{old}"
            );
            text = text.replace(&old, &new);
        }
    }
    text
}

fn told(problems: &[Problem]) -> String {
    problems.iter().fold(String::new(), |mut all, problem| {
        let _ = writeln!(all, "{problem}");
        all
    })
}

#[test]
fn each_broken_file_gives_its_sentences() {
    let mut names: Vec<PathBuf> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "case"))
        .collect();
    names.sort();
    assert!(names.len() >= 45, "only {} cases", names.len());
    let mut wrong = String::new();
    for path in names {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let case = std::fs::read_to_string(&path).unwrap();
        let (edits, expected) = case.split_once("\nexpect\n").unwrap();
        let got = match parse(&edited(edits, &name)) {
            Ok(_) => "accepted\n".to_owned(),
            Err(problems) => told(&problems),
        };
        if got != expected {
            let _ = writeln!(wrong, "== {name}\n-- expected\n{expected}-- got\n{got}");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

fn of_bytes(bytes: &[u8]) -> String {
    told(&parse_bytes(bytes).unwrap_err())
}

#[test]
fn what_is_no_utf8_text_is_refused_as_a_whole() {
    let utf16 = |mark: &[u8], unit: fn(u16) -> [u8; 2]| -> Vec<u8> {
        mark.iter()
            .copied()
            .chain(GOOD.encode_utf16().flat_map(unit))
            .collect()
    };
    let sentence = "the file is UTF-16 text, and UTF-8 is expected\n  hint: save it again with the encoding UTF-8\n";
    for bytes in [
        utf16(&[0xff, 0xfe], u16::to_le_bytes),
        utf16(&[0xfe, 0xff], u16::to_be_bytes),
        utf16(&[], u16::to_le_bytes),
        utf16(&[], u16::to_be_bytes),
    ] {
        assert_eq!(of_bytes(&bytes), sentence);
    }
    let binary: Vec<u8> = (0..=255).cycle().take(4000).collect();
    assert_eq!(
        of_bytes(&binary),
        "the file is binary, and a text is expected\n  hint: look whether it is the right file\n"
    );
    let latin = b"calcant = 1\nair_path = [\"K1\"]\n[site]\nname = \"M\xfchle\"\n";
    assert_eq!(
        of_bytes(latin),
        "line 4: there is a letter that is not UTF-8\n  hint: save the file again with the encoding UTF-8\n"
    );
    let long = vec![b'#'; 2 * 1024 * 1024];
    assert_eq!(
        of_bytes(&long),
        "the file is larger than 1 MB, and a station file is a few pages\n  hint: look whether it is the right file\n"
    );
    let empty = "the station file is empty\n  hint: begin with `calcant station new`, which writes a commented one\n";
    for bytes in [&b""[..], b"\n\n  \t\n", b"\xef\xbb\xbf"] {
        assert_eq!(of_bytes(bytes), empty);
    }
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_change_nothing() {
    let good = parse(GOOD).unwrap();
    let marked = [b"\xef\xbb\xbf", GOOD.as_bytes()].concat();
    assert_eq!(parse_bytes(&marked).unwrap(), good);
    assert_eq!(parse(&GOOD.replace('\n', "\r\n")).unwrap(), good);
}

/// What a person would never write ends in sentences too.
#[test]
fn a_file_of_a_thousand_things_is_told_about() {
    let head = "calcant = 1\nair_path = [\"a0\"";
    let many = |line: fn(usize) -> String, n: usize| (0..n).map(line).collect::<String>();
    for text in [
        format!(
            "{head}]\n{}",
            many(
                |i| format!("[[machine]]\nid=\"a{i}\"\nlike=\"a{}\"\n", i + 1),
                20_000
            )
        ),
        format!("{head}{}]\n", many(|i| format!(",\"a{i}\""), 100_000)),
        format!(
            "{head}]\n[log.columns]\n{}",
            many(|i| format!("c{i}=\"a{i}.x\"\n"), 40_000)
        ),
        format!(
            "{head}]\n{}",
            many(|i| format!("[[task]]\non=\"a{i}\"\n"), 40_000)
        ),
        format!("calcant = 1\nair_path = {}", "[".repeat(200_000)),
    ] {
        sound(&parse(&text).unwrap_err());
    }
}

/// A file that breaks off anywhere is refused with a sentence, or is a whole file already.
#[test]
fn a_file_that_breaks_off_is_told_about() {
    for text in [GOOD, TEMPLATE] {
        for (end, _) in text.char_indices().step_by(7) {
            if let Err(problems) = parse(&text[..end]) {
                sound(&problems);
            }
        }
    }
}

fn sound(problems: &[Problem]) {
    assert!(!problems.is_empty());
    for problem in problems {
        assert!(!problem.what.trim().is_empty(), "{problem:?}");
        assert_ne!(
            problem.what, "the station file cannot be used",
            "refused without a reason"
        );
        assert!(
            problem.hint.as_ref().is_none_or(|h| !h.trim().is_empty()),
            "{problem:?}"
        );
        assert!(!problem.at.contains(char::is_control), "{problem:?}");
        assert!(problem.what.len() < 600, "a sentence, no page: {problem:?}");
    }
    assert!(problems.is_sorted_by_key(|p| p.line), "{problems:?}");
}

/// Law: whatever happens to a file, it is read or refused with sentences, the same each time.
#[test]
fn a_damaged_file_never_panics_and_is_judged_the_same_twice() {
    let pieces = [
        "0",
        "-",
        "1e999",
        "nan",
        "inf",
        "\"",
        "\"\"",
        "[",
        "]",
        "{",
        "}",
        ",",
        "=",
        "\n",
        ".",
        "#",
        "true",
        "2026-02-30",
        "2026-03-01",
        "bar",
        "bar(g)",
        "K1",
        "R1",
        "like = \"K2\"\n",
        "like = \"K1\"\n",
        "[[machine]]\n",
        "[site]\n",
        "id = \"K1\"\n",
        "'",
        "é",
        "\u{0}",
        "[]",
        "99999999999999999999",
        "0x7f",
        "variable speed",
        "other",
        "desiccant",
        "timer",
        "unknown",
    ];
    let mut rng = fastrand::Rng::with_seed(1217);
    let (mut read, mut refused) = (0, 0);
    for _ in 0..6_000 {
        let mut bytes = if rng.bool() { GOOD } else { TEMPLATE }.as_bytes().to_vec();
        for _ in 0..rng.usize(1..4) {
            let at = rng.usize(0..bytes.len());
            match rng.u8(0..5) {
                0 => {
                    bytes.remove(at);
                }
                1 => bytes[at] = rng.u8(..),
                2 => {
                    let piece = pieces[rng.usize(0..pieces.len())];
                    bytes.splice(at..at, piece.bytes());
                }
                3 => {
                    // One line over another.
                    let text = String::from_utf8_lossy(&bytes).into_owned();
                    let lines: Vec<&str> = text.lines().collect();
                    let (from, to) = (rng.usize(0..lines.len()), rng.usize(0..lines.len()));
                    let mut lines = lines.clone();
                    lines[to] = lines[from];
                    bytes = lines.join("\n").into_bytes();
                }
                _ => {
                    // One number for another.
                    let end = bytes[at..]
                        .iter()
                        .position(|b| !b.is_ascii_digit())
                        .unwrap_or(0);
                    bytes.splice(at..at + end, rng.u32(..100_000).to_string().bytes());
                }
            }
            if bytes.is_empty() {
                break;
            }
        }
        let first = parse_bytes(&bytes);
        match &first {
            Ok(_) => read += 1,
            Err(problems) => {
                refused += 1;
                sound(problems);
            }
        }
        assert_eq!(first, parse_bytes(&bytes));
    }
    assert!(read > 20 && refused > 100, "{read} read, {refused} refused");
}
