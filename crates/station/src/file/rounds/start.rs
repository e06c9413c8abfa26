//! What the first bytes of a file show: its encoding, and its separator.
//!
//! Must not know: columns, rows.

use std::io;

use super::record::SAVE_AGAIN;
use crate::file::problem::Problem;

/// A problem of the file as a whole.
pub(super) fn whole(what: &str, hint: &str) -> Problem {
    Problem {
        line: None,
        at: String::new(),
        what: what.to_owned(),
        hint: Some(hint.to_owned()),
    }
}

#[expect(clippy::needless_pass_by_value, reason = "it stands in `map_err`")]
pub(super) fn unreadable(error: io::Error) -> Problem {
    whole(
        &format!("the file cannot be read: {error}"),
        "check that it is there and may be read",
    )
}

pub(super) const BYTE_ORDER_MARK: &[u8] = b"\xEF\xBB\xBF";
/// So much is looked at to tell text from other things.
pub(super) const START_BYTES: u64 = 4096;

/// Why the start of a file shows that it is no text in UTF-8.
pub(super) fn no_text(start: &[u8]) -> Option<(&'static str, &'static str)> {
    let first = start.split(|&b| b == b'\n').next().unwrap_or_default();
    let zeros = |odd: usize| {
        first
            .iter()
            .skip(odd)
            .step_by(2)
            .filter(|&&b| b == 0)
            .count()
    };
    let (even, odd) = (zeros(0), zeros(1));
    let two_bytes = even.max(odd) * 5 > first.len() * 2 && even.min(odd) == 0;
    if start.starts_with(b"PK\x03\x04") || start.starts_with(b"\xD0\xCF\x11\xE0") {
        return Some(("the file is a workbook or an archive, not text", SAVE_AGAIN));
    }
    if start.starts_with(b"\xFF\xFE") || start.starts_with(b"\xFE\xFF") || two_bytes {
        return Some(("the file is text in UTF-16", SAVE_AGAIN));
    }
    let control = |&b: &u8| b < b' ' && !matches!(b, b'\t' | b'\r');
    first
        .iter()
        .any(control)
        .then_some(("the file is not text", SAVE_AGAIN))
}

/// The separator of a header: the one under which a cell is `time`, else the most frequent outside
/// quotes.
pub(super) fn separator(header: &[u8]) -> u8 {
    let mut best = (false, 0, b',');
    for candidate in [b',', b';', b'\t'] {
        let (mut count, mut inside, mut start, mut timed) = (0_usize, false, 0, false);
        let is_time = |cell: &[u8]| {
            let cell = cell.trim_ascii();
            let cell = cell
                .strip_prefix(b"\"")
                .and_then(|c| c.strip_suffix(b"\""))
                .unwrap_or(cell);
            cell.trim_ascii() == b"time"
        };
        for (at, &byte) in header.iter().enumerate() {
            inside ^= byte == b'"';
            if byte == candidate && !inside {
                count += 1;
                timed |= is_time(header.get(start..at).unwrap_or_default());
                start = at + 1;
            }
        }
        timed |= is_time(header.get(start..).unwrap_or_default());
        if (timed, count) > (best.0, best.1) {
            best = (timed, count, candidate);
        }
    }
    best.2
}
