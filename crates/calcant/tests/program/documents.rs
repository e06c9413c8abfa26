//! Whatever the README and the documents show as a command works.

use std::fs;
use std::path::{Path, PathBuf};

use crate::harness::{Folder, files, project};

/// README.md and every page in docs.
fn documents() -> Vec<PathBuf> {
    let mut documents = files(&project().join("docs"), "md");
    documents.insert(0, project().join("README.md"));
    documents
}

/// The lines of shell blocks that begin with `calcant`, with or without a prompt.
fn commands(markdown: &str) -> Vec<String> {
    let mut commands: Vec<String> = Vec::new();
    let mut in_shell = false;
    let mut in_block = false;
    let mut goes_on = false;
    for line in markdown.lines() {
        if let Some(language) = line.trim_start().strip_prefix("```") {
            in_shell = !in_block && matches!(language.trim(), "sh" | "console");
            in_block = !in_block;
            goes_on = false;
            continue;
        }
        if !in_shell {
            continue;
        }
        let line = line.trim();
        if goes_on {
            if let Some(last) = commands.last_mut() {
                last.push(' ');
                last.push_str(line.trim_end_matches('\\'));
            }
            goes_on = line.ends_with('\\');
            continue;
        }
        let command = line.strip_prefix("$ ").unwrap_or(line);
        if command.starts_with("calcant ") {
            commands.push(command.trim_end_matches('\\').to_owned());
            goes_on = command.ends_with('\\');
        }
    }
    commands
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a fresh folder takes folders");
    for entry in fs::read_dir(from).expect("examples are there") {
        let path = entry.expect("it can be listed").path();
        let to = to.join(path.file_name().expect("it has a name"));
        if path.is_dir() {
            copy(&path, &to);
        } else {
            fs::copy(&path, &to).expect("a fresh folder takes files");
        }
    }
}

#[test]
fn every_command_shown_works() {
    let mut shown = 0;
    for path in documents() {
        // A document that is not there shows nothing.
        let Ok(markdown) = fs::read_to_string(&path) else {
            continue;
        };
        let folder = Folder::fresh();
        copy(&project().join("examples"), &folder.path("examples"));
        for command in commands(&markdown) {
            let ran = folder.shell(&command);
            assert_eq!(
                ran.status,
                Some(0),
                "{}: `{command}` fails:\n{}",
                path.display(),
                ran.err
            );
            assert!(
                !(ran.out.is_empty() && ran.err.is_empty() && !command.contains('>')),
                "{}: `{command}` says nothing",
                path.display()
            );
            shown += 1;
        }
        if path.ends_with("README.md") {
            assert!(shown > 0, "the README shows no command");
        }
    }
}

#[test]
fn finds_the_commands_of_shell_blocks_alone() {
    let markdown = "`calcant no`\n```sh\ncalcant a   # b\ncargo x\n```\n```text\ncalcant no\n```\n\
                    ```console\n$ calcant b \\\n  --c\ncalcant answers\n```\ncalcant no\n";
    assert_eq!(
        commands(markdown),
        ["calcant a   # b", "calcant b     --c", "calcant answers"]
            .map(|c| c.replace("b     --c", "b  --c"))
    );
}
