//! The documents that are made from code and data, so that they cannot fall behind it.
//!
//! Must not know: how a finding is decided, what a default does.

mod defaults;
mod findings;
mod points;

use std::fs;

use anyhow::{Context as _, Result};

use crate::shell::root;

#[cfg(test)]
pub(crate) use findings::slug;

/// A document and where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Page {
    /// From the root of the repository.
    pub(crate) path: &'static str,
    /// Its text.
    pub(crate) text: String,
}

/// Every made document.
pub(crate) fn pages() -> Vec<Page> {
    let page = |path, text| Page { path, text };
    vec![
        page("docs/findings.md", findings::page()),
        page("docs/defaults.md", defaults::page()),
        page("docs/points.md", points::page()),
    ]
}

/// Writes a page; `false` if it was up to date.
pub(crate) fn write(page: &Page) -> Result<bool> {
    let path = root().join(page.path);
    if fs::read_to_string(&path).is_ok_and(|text| text == page.text) {
        return Ok(false);
    }
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))?;
    }
    fs::write(&path, &page.text).with_context(|| format!("cannot write {}", path.display()))?;
    Ok(true)
}

/// The first lines of a made document.
fn head(title: &str, made_from: &str) -> String {
    format!(
        "# {title}\n\n<!-- Made from {made_from} by `cargo xtask docs`. Change that, not this. -->\n\n"
    )
}

/// A table in Markdown.
fn table(heads: &[&str], rows: &[Vec<String>]) -> String {
    let mut text = String::new();
    let mut line = |cells: &mut dyn Iterator<Item = String>| {
        text.push('|');
        for cell in cells {
            text.push_str(&format!(" {} |", cell.replace('|', "\\|")));
        }
        text.push('\n');
    };
    line(&mut heads.iter().map(|head| (*head).to_owned()));
    line(&mut heads.iter().map(|_| "---".to_owned()));
    for row in rows {
        line(&mut row.iter().cloned());
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_keeps_its_columns() {
        let text = table(&["a", "b"], &[vec!["1 | 2".to_owned(), String::new()]]);
        assert_eq!(text, "| a | b |\n| --- | --- |\n| 1 \\| 2 |  |\n");
    }

    #[test]
    fn every_page_says_how_it_is_made() {
        for page in pages() {
            assert!(page.text.starts_with("# "), "{}", page.path);
            assert!(page.text.contains("cargo xtask docs"), "{}", page.path);
            assert!(
                page.text.ends_with('\n') && !page.text.ends_with("\n\n"),
                "{}",
                page.path
            );
        }
    }
}
