//! What stderr says of rejected rows: every reason, but not every row.
//!
//! Must not know: why a row is rejected.

use ::station::file::rounds::Rejection;

use crate::edge::say;

/// Reasons for rejected rows that are said on stderr.
const MOST_SAID: usize = 20;
/// Rows that are said of one reason, where the words differ.
const MOST_ALIKE: usize = 3;

/// What was said of rejected rows: each reason a few times at most, and how often it came again.
#[derive(Default)]
pub(super) struct Said(Vec<Reason>);

struct Reason {
    problem: String,
    hint: String,
    column: String,
    /// Rows that were said in full.
    said: usize,
    again: u64,
    last: u64,
}

impl Said {
    pub(super) fn say(&mut self, name: &str, rejection: &Rejection) {
        let same = |r: &&mut Reason| {
            r.hint == rejection.hint
                && (r.column == rejection.column || r.problem == rejection.problem)
        };
        let full = self.0.len() >= MOST_SAID;
        match self.0.iter_mut().find(same) {
            // The very same words need not be read again, and few like them.
            Some(reason) if reason.problem == rejection.problem || reason.said >= MOST_ALIKE => {
                reason.again += 1;
                reason.last = rejection.line;
                return;
            }
            Some(reason) => reason.said += 1,
            None if full => return,
            None => self.0.push(Reason {
                problem: rejection.problem.clone(),
                hint: rejection.hint.clone(),
                column: rejection.column.clone(),
                said: 1,
                again: 0,
                last: rejection.line,
            }),
        }
        let at = if rejection.column.is_empty() {
            String::new()
        } else {
            format!("{}: ", rejection.column)
        };
        say(&format!(
            "{name}: line {}: {at}{}\n  hint: {}",
            rejection.line, rejection.problem, rejection.hint
        ));
    }

    pub(super) fn close(&self, name: &str, rejected: u64) {
        let several = self.0.len() > 1;
        for reason in self.0.iter().filter(|r| r.again > 0) {
            let which = match &*reason.column {
                column if several && !column.is_empty() => format!(" ({column})"),
                _ => String::new(),
            };
            say(&match reason.again {
                1 => format!("{name}: line {} likewise{which}", reason.last),
                n => format!(
                    "{name}: {n} more rows likewise{which}, down to line {}",
                    reason.last
                ),
            });
        }
        if rejected > MOST_SAID as u64 {
            say(&format!("{name}: {rejected} rows were rejected in all"));
        }
    }
}
