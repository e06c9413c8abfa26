//! `docs/findings.md`: the page of every kind of finding, with an index.
//!
//! Must not know: how a finding is decided.

use judge::Kind;

use super::{head, table};

pub(super) fn page() -> String {
    let mut text = head("Kinds of finding", "`crates/judge/pages`");
    text.push_str("`calcant explain KIND` prints one of these pages.\n\n");
    let rows: Vec<Vec<String>> = Kind::ALL
        .iter()
        .map(|kind| {
            let (name, anchor) = (kind.name(), slug(title(kind.page())));
            vec![format!("[`{name}`](#{anchor})"), kind.sentence().to_owned()]
        })
        .collect();
    text.push_str(&table(&["kind", "what it says"], &rows));
    for kind in Kind::ALL {
        text.push('\n');
        text.push_str(lowered(kind.page()).trim());
        text.push('\n');
    }
    text
}

/// The words of a page's first heading.
fn title(page: &str) -> &str {
    page.lines()
        .find_map(|line| line.strip_prefix("# "))
        .unwrap_or_default()
}

/// A page as a part of a longer one: every heading one level lower, links between pages within.
fn lowered(page: &str) -> String {
    let mut text = String::new();
    let mut fenced = false;
    for line in page.lines() {
        if line.trim_start().starts_with("```") {
            fenced = !fenced;
        }
        if !fenced && line.starts_with('#') {
            text.push('#');
        }
        if fenced {
            text.push_str(line);
        } else {
            text.push_str(&linked(line));
        }
        text.push('\n');
    }
    text
}

/// `(belt-slack.md)` becomes a link to that page's heading.
fn linked(line: &str) -> String {
    Kind::ALL.iter().fold(line.to_owned(), |line, kind| {
        let file = format!("]({}.md)", kind.name());
        if line.contains(&file) {
            line.replace(&file, &format!("](#{})", slug(title(kind.page()))))
        } else {
            line
        }
    })
}

/// The anchor of a heading: small letters, hyphens for spaces, nothing else but letters, figures
/// and underscores.
pub(crate) fn slug(heading: &str) -> String {
    heading
        .trim()
        .chars()
        .filter_map(|c| match c {
            ' ' => Some('-'),
            c if c.is_alphanumeric() || c == '-' || c == '_' => Some(c),
            _ => None,
        })
        .flat_map(char::to_lowercase)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_is_indexed_and_printed_once() {
        let text = page();
        for kind in Kind::ALL {
            let heading = format!("#{}", kind.page().lines().next().unwrap());
            assert_eq!(
                text.lines().filter(|line| *line == heading).count(),
                1,
                "{heading}"
            );
            assert!(
                text.contains(&format!("[`{}`](#", kind.name())),
                "{}",
                kind.name()
            );
        }
    }

    #[test]
    fn headings_go_down_but_not_in_blocks() {
        let page = "# a\n\n## b\n```sh\n# a remark\n```\n";
        assert_eq!(lowered(page), "## a\n\n### b\n```sh\n# a remark\n```\n");
    }

    #[test]
    fn links_between_pages_stay_within() {
        let anchor = slug(title(Kind::BeltSlack.page()));
        assert_eq!(
            linked("see [belts](belt-slack.md)."),
            format!("see [belts](#{anchor}).")
        );
        assert_eq!(linked("see [this](other.md)"), "see [this](other.md)");
    }

    #[test]
    fn slugs_are_those_of_the_usual_renderers() {
        assert_eq!(slug("What to do first, safely"), "what-to-do-first-safely");
        assert_eq!(slug("`oil-hot`: the oil is hot"), "oil-hot-the-oil-is-hot");
    }
}
