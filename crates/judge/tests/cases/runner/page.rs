//! The pages: Markdown, one case under each `## ` heading, its blocks by their names.

use std::fs;
use std::path::{Path, PathBuf};

use super::expect::{Expect, parse};

/// A block of a case and the line of the page on which its text begins.
#[derive(Debug, Clone)]
pub(crate) struct Block {
    pub(crate) line: usize,
    pub(crate) text: String,
}

/// One case.
#[derive(Debug)]
pub(crate) struct Case {
    pub(crate) file: PathBuf,
    pub(crate) heading: String,
    pub(crate) line: usize,
    pub(crate) station: Block,
    pub(crate) rounds: Block,
    pub(crate) expect: Expect,
    pub(crate) snapshot: Option<Block>,
}

/// Where the pages and the base stations are.
pub(crate) fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases")
}

/// The cases of every page, in the order of the pages' names.
///
/// # Errors
/// What is wrong with which page, on which line.
pub(crate) fn all_cases() -> Result<Vec<Case>, String> {
    let mut pages: Vec<PathBuf> = fs::read_dir(folder())
        .map_err(|e| e.to_string())?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|e| e == "md"))
        .filter(|path| path.file_name().is_some_and(|n| n != "README.md"))
        .collect();
    pages.sort();
    let mut cases = Vec::new();
    for page in pages {
        let text = fs::read_to_string(&page).map_err(|e| format!("{}: {e}", page.display()))?;
        cases.extend(cases_of(&page, &text)?);
    }
    Ok(cases)
}

struct Draft {
    heading: String,
    line: usize,
    story: String,
    blocks: Vec<(String, Block)>,
}

fn cases_of(file: &Path, text: &str) -> Result<Vec<Case>, String> {
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    let mut drafts: Vec<Draft> = Vec::new();
    let mut open: Option<(String, Block)> = None;
    for (number, line) in (1..).zip(text.lines()) {
        if let Some((kind, mut block)) = open.take() {
            if line.trim_end() == "```" {
                let draft = drafts.last_mut();
                let draft =
                    draft.ok_or(format!("{name}, line {number}: a block before any `## `"))?;
                draft.blocks.push((kind, block));
            } else {
                block.text += line;
                block.text.push('\n');
                open = Some((kind, block));
            }
        } else if let Some(kind) = line.strip_prefix("```") {
            let block = Block {
                line: number + 1,
                text: String::new(),
            };
            open = Some((kind.trim().to_owned(), block));
        } else if let Some(heading) = line.strip_prefix("## ") {
            drafts.push(Draft {
                heading: heading.trim().to_owned(),
                line: number,
                story: String::new(),
                blocks: Vec::new(),
            });
        } else if let Some(draft) = drafts.last_mut() {
            draft.story += line.trim();
        }
    }
    if let Some((kind, block)) = open {
        return Err(format!(
            "{name}, line {}: the `{kind}` block has no end",
            block.line - 1
        ));
    }
    drafts.into_iter().map(|d| finish(file, &name, d)).collect()
}

fn finish(file: &Path, name: &str, draft: Draft) -> Result<Case, String> {
    let at = format!(
        "{name}, line {}: the case \"{}\"",
        draft.line, draft.heading
    );
    if draft.story.is_empty() {
        return Err(format!("{at} has no story"));
    }
    let mut blocks = draft.blocks;
    let mut take = |kind: &str| {
        let place = blocks.iter().position(|(k, _)| k == kind)?;
        Some(blocks.remove(place).1)
    };
    let (station, rounds) = (take("toml"), take("csv"));
    let (expect, snapshot) = (take("expect"), take("snapshot"));
    if let Some((kind, block)) = blocks.first() {
        return Err(format!(
            "{at}: line {}: one block too many, or of an unknown name: `{kind}`",
            block.line - 1
        ));
    }
    let lacks = |kind: &str| format!("{at} has no `{kind}` block");
    let expect = expect.ok_or_else(|| lacks("expect"))?;
    Ok(Case {
        file: file.to_owned(),
        heading: draft.heading,
        line: draft.line,
        station: station.ok_or_else(|| lacks("toml"))?,
        rounds: rounds.ok_or_else(|| lacks("csv"))?,
        expect: parse(&expect).map_err(|why| format!("{name}, {why}"))?,
        snapshot,
    })
}

/// Writes the snapshot blocks of all pages anew.
///
/// # Errors
/// The page that could not be written.
pub(crate) fn bless(found: &[(Case, String)]) -> Result<(), String> {
    // From the last case to the first, so that the lines above stay where they are.
    for (case, snapshot) in found.iter().rev() {
        let Some(block) = &case.snapshot else {
            continue;
        };
        let told = |e: std::io::Error| format!("{}: {e}", case.file.display());
        let text = fs::read_to_string(&case.file).map_err(told)?;
        let lines: Vec<&str> = text.lines().collect();
        let (before, rest) = lines.split_at(block.line - 1);
        let after = &rest[block.text.lines().count()..];
        let fresh: Vec<&str> = snapshot.lines().collect();
        let whole = [before, &fresh, after].concat().join("\n") + "\n";
        fs::write(&case.file, whole).map_err(told)?;
    }
    Ok(())
}
