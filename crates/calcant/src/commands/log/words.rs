//! What is said on stderr about rows that could not be read and what was found out about files.
//!
//! Must not know: figures.

use ::study::{RejectedCell, SourceRead};

use super::sources::Refused;
use crate::edge::{Outcome, say, unusable};

/// So many cells and rows are told.
const MOST_SAID: usize = 20;

/// Says why nothing could be done.
pub(crate) fn refused(refused: &Refused) -> Outcome {
    for (whose, problems) in refused {
        unusable(whose, problems);
    }
    Outcome::Unusable
}

/// Says what could not be read; the outcome.
pub(crate) fn rejected(
    sources: &[SourceRead],
    rejected: &[RejectedCell],
    rejected_total: u64,
) -> Outcome {
    for cell in rejected.iter().take(MOST_SAID) {
        let text = sources
            .iter()
            .any(|source| source.name == cell.source && source.separator.is_some());
        let place = if text { "line" } else { "row" };
        let column = if cell.column.is_empty() {
            String::new()
        } else {
            format!("{}: ", cell.column)
        };
        say(&format!(
            "{}: {place} {}: {column}{}\n  hint: {}",
            cell.source, cell.line, cell.problem, cell.hint
        ));
    }
    if rejected_total > MOST_SAID as u64 {
        say(&format!(
            "{rejected_total} cells and rows could not be read in all"
        ));
    }
    let mut broken = false;
    for source in sources {
        if let Some(fault) = &source.fault {
            broken = true;
            say(&format!(
                "{}: the file could not be read to its end: {fault}\n  hint: check that it was \
                 copied whole",
                source.name
            ));
        }
    }
    if rejected_total > 0 || broken {
        Outcome::SomeRejected
    } else {
        Outcome::Done
    }
}
