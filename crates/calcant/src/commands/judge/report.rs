//! `--report FILE.html`: the judgement as one page for screen and paper.
//!
//! Must not know: how the page is laid out.

use std::fs;
use std::path::{Path, PathBuf};

use ::report::{Report, Rows, StationReport, page};
use ::station::file::problem::Problem;
use anyhow::Result;

use super::{Judged, Source, hot};
use crate::args::JudgeHow;
use crate::edge::{self, about, write};

/// Why the page cannot be written, if that can be seen before anything is judged.
pub(super) fn not_writable(sources: &[Source], how: &JudgeHow) -> Option<Problem> {
    let path = how.report.as_ref()?;
    if let Some(problem) = edge::not_writable("--report", path) {
        return Some(problem);
    }
    let there = fs::canonicalize(path).ok()?;
    let same = |input: &PathBuf| fs::canonicalize(input).is_ok_and(|input| input == there);
    let taken = sources.iter().any(|source| match source {
        Source::Files(asked, _) => asked.paths().any(same),
        Source::BuiltIn { .. } => false,
    });
    taken.then(|| {
        let what = format!("{} is a file that is judged", path.display());
        about(
            "--report",
            what,
            Some("the page would take its place: name another file"),
        )
    })
}

/// Writes the page, whole or not at all.
pub(super) fn write_page(path: &Path, judged: &[&Judged], how: &JudgeHow) -> Result<()> {
    let stations: Vec<StationReport> = judged
        .iter()
        .map(|one| StationReport {
            station: &one.station,
            judgement: &one.judgement,
            last_round: one.last_round.as_ref(),
            rows: Rows {
                read: one.rows.read,
                accepted: one.rows.accepted,
                rejected_total: one.rows.rejected_total,
                rejected: &one.rows.rejected,
            },
            log: None,
            invented: one.invented,
        })
        .collect();
    let if_hot = hot::in_words(how.if_hot.as_deref(), how.units);
    write(
        path,
        &page(&Report {
            stations: &stations,
            units: how.units.into(),
            if_hot: if_hot.as_deref(),
            version: env!("CARGO_PKG_VERSION"),
        }),
    )
}

/// Whether the comment at the head of a station file says that the station is invented.
pub(crate) fn says_invented(bytes: &[u8]) -> bool {
    String::from_utf8_lossy(bytes)
        .lines()
        .map(|line| line.trim_start_matches('\u{feff}').trim())
        .take_while(|line| line.is_empty() || line.starts_with('#'))
        .any(|line| line.contains(" is invented"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_head_of_a_file_says_that_it_is_invented() {
        assert!(says_invented(
            b"\xef\xbb\xbf# This works is invented: there is none.\ncalcant = 1\n"
        ));
        assert!(!says_invented(b"calcant = 1\n# K2 is invented\n"));
        assert!(!says_invented(b"# a station\ncalcant = 1\n"));
    }
}
