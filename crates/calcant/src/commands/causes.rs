//! `calcant causes FOLDER`: the tables that causes are weighed by, to be read, questioned and changed; and how
//! changed ones are read again.
//!
//! Must not know: what stands in them.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result};
use judge::{Table, TableProblem, Tables};
use station::file::problem::Problem;

use super::judge::Refused;
use crate::edge::{Outcome, about, read, say, there_already, unusable, write};

pub(super) fn run(folder: &Path) -> Result<Outcome> {
    fs::create_dir_all(folder)
        .with_context(|| format!("{} could not be made", folder.display()))?;
    let there = there_already("", &Table::ALL.map(|table| folder.join(table.file())));
    if !there.is_empty() {
        return Ok(unusable("causes", &there));
    }
    let own = Tables::default();
    for (n, table) in Table::ALL.into_iter().enumerate() {
        write(&folder.join(table.file()), own.text(table)).inspect_err(|_| {
            // Some tables without the others must not stay; the fault itself is told by the caller.
            for written in &Table::ALL[..n] {
                let _ = fs::remove_file(folder.join(written.file()));
            }
        })?;
    }
    say(&format!(
        "written; change what you know better and leave out what you do not change, then `calcant judge --causes {} …`",
        folder.display()
    ));
    Ok(Outcome::Done)
}

/// The program's tables, with those of a folder in their place.
pub(super) fn tables_in(folder: Option<&Path>) -> Result<Tables, Refused> {
    let mut tables = Tables::default();
    let Some(folder) = folder else {
        return Ok(tables);
    };
    let mut refused = Refused::new();
    let mut any = false;
    for table in Table::ALL {
        let path = folder.join(table.file());
        if !path.exists() {
            continue;
        }
        any = true;
        match text(&path).and_then(|text| {
            let list = |problems: Vec<TableProblem>| problems.into_iter().map(told).collect();
            tables.with(table, text).map_err(list)
        }) {
            Ok(with) => tables = with,
            Err(problems) => refused.push((path.display().to_string(), problems)),
        }
    }
    if !any {
        let names: Vec<&str> = Table::ALL.iter().map(|t| t.file()).collect();
        let what = format!("{} holds none of {}", folder.display(), names.join(", "));
        let hint = "`calcant causes FOLDER` writes them to begin with";
        refused.push(("--causes".to_owned(), vec![about("", what, Some(hint))]));
    }
    if refused.is_empty() {
        Ok(tables)
    } else {
        Err(refused)
    }
}

fn text(path: &Path) -> Result<String, Vec<Problem>> {
    let bytes = read(path).map_err(|problem| vec![problem])?;
    String::from_utf8(bytes).map_err(|_| {
        let hint = "save it as UTF-8, as a spreadsheet's CSV";
        vec![about("", "it is no text in UTF-8", Some(hint))]
    })
}

fn told(problem: TableProblem) -> Problem {
    Problem {
        line: u64::try_from(problem.line).ok().filter(|line| *line > 0),
        ..about("", problem.what, Some(&problem.mend))
    }
}
