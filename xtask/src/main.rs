//! The project's own chores: `cargo xtask test`, `demo`, `bench`, `docs`, `bless`.
//!
//! The README needs nothing but Rust; whatever else a chore wants, it makes itself or says that it
//! is left out. The tests of this package are the tidy tests: what the code of the other crates
//! promises about itself.
//!
//! Must not know: formulas, or how a finding is decided.

mod bench;
mod chores;
mod docs;
mod python;
mod shell;
#[cfg(test)]
mod tidy;

use std::io::Write as _;
use std::process::ExitCode;

use anyhow::Result;

/// A command of `cargo xtask`.
struct Chore {
    name: &'static str,
    sentence: &'static str,
    run: fn() -> Result<ExitCode>,
}

const CHORES: &[Chore] = &[
    Chore {
        name: "test",
        sentence: "everything that must pass: format, lints, tests, documentation",
        run: chores::test,
    },
    Chore {
        name: "demo",
        sentence: "judges the year of rounds of the invented station in examples/quillbank",
        run: chores::demo,
    },
    Chore {
        name: "bench",
        sentence: "times the work, beside reference libraries where Python is at hand",
        run: bench::bench,
    },
    Chore {
        name: "docs",
        sentence: "writes the documents that are made from code and data",
        run: chores::docs,
    },
    Chore {
        name: "bless",
        sentence: "docs, then re-makes the snapshots of the tests",
        run: chores::bless,
    },
];

fn main() -> ExitCode {
    let given: Vec<String> = std::env::args().skip(1).collect();
    match (chosen(&given), given.first().map(String::as_str)) {
        (Some(chore), _) => (chore.run)().unwrap_or_else(|fault| {
            shell::say(&format!("error: {fault:#}"));
            ExitCode::FAILURE
        }),
        (None, Some("help" | "--help" | "-h")) => {
            // Nobody is left to tell if the help cannot be written.
            let _ = std::io::stdout().write_all(help().as_bytes());
            ExitCode::SUCCESS
        }
        (None, _) => {
            shell::say(help().trim_end());
            ExitCode::from(2)
        }
    }
}

/// The chore that the arguments name: one word, and nothing after it.
fn chosen(given: &[String]) -> Option<&'static Chore> {
    let [name] = given else { return None };
    CHORES.iter().find(|chore| chore.name == name)
}

fn help() -> String {
    let mut text = "cargo xtask CHORE\n\n".to_owned();
    for chore in CHORES {
        text.push_str(&format!("  {:<6} {}\n", chore.name, chore.sentence));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(line: &str) -> Vec<String> {
        line.split_whitespace().map(str::to_owned).collect()
    }

    #[test]
    fn one_word_names_a_chore() {
        for chore in CHORES {
            assert_eq!(chosen(&words(chore.name)).map(|c| c.name), Some(chore.name));
            assert!(help().contains(chore.sentence));
        }
        for line in ["", "tests", "test demo", "--help"] {
            assert!(chosen(&words(line)).is_none(), "{line:?}");
        }
    }
}
