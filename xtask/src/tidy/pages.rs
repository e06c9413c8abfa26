//! Documents: links lead somewhere, commands exist, what is made from code is up to date.

use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};

use super::{File, files, none};
use crate::CHORES;
use crate::docs;
use crate::shell::root;

/// The lines outside fenced blocks, with code in backticks taken out.
fn prose(text: &str) -> Vec<String> {
    let mut fenced = false;
    let mut lines = Vec::new();
    for line in text.lines() {
        if line.trim_start().starts_with("```") {
            fenced = !fenced;
        } else if !fenced {
            lines.push(line.split('`').step_by(2).collect());
        }
    }
    lines
}

/// Where the links of a document lead, outside addresses aside.
fn links(text: &str) -> Vec<String> {
    prose(text)
        .iter()
        .flat_map(|line| {
            let inline = line
                .split("](")
                .skip(1)
                .map(|rest| rest.split([')', ' ']).next());
            let named = line
                .starts_with('[')
                .then(|| line.split_once("]: ").map(|(_, to)| to.trim()))
                .into_iter();
            inline
                .chain(named)
                .flatten()
                .map(str::to_owned)
                .collect::<Vec<_>>()
        })
        .filter(|to| !to.contains("://") && !to.starts_with("mailto:"))
        .collect()
}

/// The anchors of a document's headings; a heading that comes again gets a number.
fn anchors(text: &str) -> Vec<String> {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    let mut fenced = false;
    let mut anchors = Vec::new();
    for line in text.lines() {
        if line.trim_start().starts_with("```") {
            fenced = !fenced;
        }
        let level = line.chars().take_while(|c| *c == '#').count();
        if !fenced && (1..=6).contains(&level) && line[level..].starts_with(' ') {
            let slug = docs::slug(&line[level..]);
            let count = seen.entry(slug.clone()).or_default();
            anchors.push(if *count == 0 {
                slug
            } else {
                format!("{slug}-{count}")
            });
            *count += 1;
        }
    }
    anchors
}

/// A path without `.` and `..`, from the root.
fn plain(path: &Path) -> PathBuf {
    let mut parts = PathBuf::new();
    for component in path.components() {
        match component {
            Component::ParentDir => {
                parts.pop();
            }
            Component::CurDir => {}
            other => parts.push(other),
        }
    }
    parts
}

/// Why a link leads nowhere.
fn broken(files: &[File], from: &File, link: &str) -> Option<String> {
    let (path, anchor) = link.split_once('#').unwrap_or((link, ""));
    let target = if path.is_empty() {
        PathBuf::from(&from.path)
    } else {
        plain(
            &Path::new(&from.path)
                .parent()
                .unwrap_or(Path::new(""))
                .join(path),
        )
    };
    if !path.is_empty() && !root().join(&target).exists() {
        return Some(format!("{}: `{link}` is not there", from.path));
    }
    let page = files
        .iter()
        .find(|file| file.is_markdown() && Path::new(&file.path) == target);
    let known = page.is_none_or(|page| anchors(&page.text).iter().any(|a| a == anchor));
    (!anchor.is_empty() && !known).then(|| format!("{}: `{link}` names no heading", from.path))
}

/// The chores that a document names.
fn chores(text: &str) -> Vec<&str> {
    let end = |c: char| !(c.is_ascii_lowercase() || c == '-');
    text.split("cargo xtask ")
        .skip(1)
        .filter_map(|rest| rest.split(end).next())
        .filter(|word| !word.is_empty())
        .collect()
}

#[test]
fn links_lead_somewhere() {
    let files = files();
    let faults: Vec<String> = files
        .iter()
        .filter(|file| file.is_markdown())
        .flat_map(|file| {
            links(&file.text)
                .into_iter()
                .filter_map(|link| broken(&files, file, &link))
        })
        .collect();
    none("links that lead nowhere", &faults);
}

#[test]
fn the_chores_that_documents_name_exist() {
    let files = files();
    let faults: Vec<String> = files
        .iter()
        .filter(|file| file.is_markdown())
        .flat_map(|file| {
            chores(&file.text)
                .into_iter()
                .map(|name| (&file.path, name))
        })
        .filter(|(_, name)| !CHORES.iter().any(|chore| chore.name == *name))
        .map(|(path, name)| format!("{path}: `cargo xtask {name}`"))
        .collect();
    none("chores that do not exist", &faults);
}

#[test]
fn the_readme_names_the_chores_and_files_that_are_there() {
    let files = files();
    let readme = files
        .iter()
        .find(|file| file.path == "README.md")
        .expect("there is a README.md");
    for name in ["test", "demo"] {
        assert!(
            chores(&readme.text).contains(&name),
            "README.md does not say `cargo xtask {name}`"
        );
    }
    let faults: Vec<String> = readme
        .text
        .split(|c: char| c.is_whitespace() || "`()\"".contains(c))
        .filter(|word| {
            ["examples/", "crates/", "docs/"]
                .iter()
                .any(|f| word.starts_with(f))
        })
        .filter(|word| {
            !root()
                .join(word.trim_end_matches(['.', ',', ':', ';']))
                .exists()
        })
        .map(str::to_owned)
        .collect();
    none("files that README.md names and that are not there", &faults);
}

#[test]
fn made_documents_are_up_to_date() {
    let files = files();
    let faults: Vec<String> = docs::pages()
        .into_iter()
        .filter(|page| {
            !files
                .iter()
                .any(|f| f.path == page.path && f.text == page.text)
        })
        .map(|page| page.path.to_owned())
        .collect();
    none("documents to be made anew by `cargo xtask docs`", &faults);
}

#[test]
fn the_rules_see_what_they_must() {
    let text = "# A b\n[x](to.md#a) and ![y](p.svg \"t\"), `[n](no.md)`\n```\n[n](no.md)\n```\n[r]: ref.md\n";
    assert_eq!(links(text), ["to.md#a", "p.svg", "ref.md"]);
    assert_eq!(
        anchors("# A b\n## C\n```\n# no\n```\n## C\n"),
        ["a-b", "c", "c-1"]
    );
    assert_eq!(plain(Path::new("docs/../a/./b.md")), Path::new("a/b.md"));
    assert_eq!(
        chores("run `cargo xtask demo`, cargo xtask test."),
        ["demo", "test"]
    );
    let files = [File {
        path: "README.md".to_owned(),
        text: text.to_owned(),
    }];
    assert_eq!(broken(&files, &files[0], "#a-b"), None);
    assert!(broken(&files, &files[0], "#a").is_some());
    assert!(broken(&files, &files[0], "no-such-file.md").is_some());
}
