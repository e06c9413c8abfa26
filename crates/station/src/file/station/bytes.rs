//! The bytes of a file as text: UTF-8 with or without a byte-order mark, everything else refused.
//!
//! Must not know: what the text says.

use crate::file::problem::Problem;

/// A station file is written by hand: larger ones are something else.
pub(super) const LARGEST: usize = 1024 * 1024;

/// The problem of a file that is larger.
pub(super) fn too_large() -> Problem {
    Problem {
        line: None,
        at: String::new(),
        what: "the file is larger than 1 MB, and a station file is a few pages".to_owned(),
        hint: Some("look whether it is the right file".to_owned()),
    }
}

/// The text of a file.
///
/// # Errors
/// Why the bytes are no text that can be read.
pub(super) fn text(bytes: &[u8]) -> Result<&str, Box<Problem>> {
    let problem = |line: Option<u64>, what: &str, hint: &str| {
        Box::new(Problem {
            line,
            at: String::new(),
            what: what.to_owned(),
            hint: Some(hint.to_owned()),
        })
    };
    if bytes.len() > LARGEST {
        return Err(Box::new(too_large()));
    }
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) || looks_utf16(bytes) {
        return Err(problem(
            None,
            "the file is UTF-16 text, and UTF-8 is expected",
            "save it again with the encoding UTF-8",
        ));
    }
    if bytes.contains(&0) {
        return Err(problem(
            None,
            "the file is binary, and a text is expected",
            "look whether it is the right file",
        ));
    }
    std::str::from_utf8(bytes).map_err(|e| {
        let before = bytes.get(..e.valid_up_to()).unwrap_or_default();
        let line = before.iter().filter(|&&b| b == b'\n').count() as u64 + 1;
        problem(
            Some(line),
            "there is a letter that is not UTF-8",
            "save the file again with the encoding UTF-8",
        )
    })
}

/// Every other byte is zero, as in UTF-16 of plain letters.
fn looks_utf16(bytes: &[u8]) -> bool {
    let start = bytes.get(..bytes.len().min(64)).unwrap_or_default();
    let zeros = |first: usize| {
        start
            .iter()
            .skip(first)
            .step_by(2)
            .filter(|&&b| b == 0)
            .count()
    };
    let half = start.len() / 2;
    half >= 2 && (zeros(0) >= half.max(2) || zeros(1) >= half.max(2))
}
