//! What the first lines show: encoding, separator, decimal comma.
//!
//! Must not know: what the columns mean.

use station::file::problem::Problem;

const SAVE_AGAIN: &str = "save it again as CSV in UTF-8";

/// A problem of the file as a whole.
pub(crate) fn whole(what: impl Into<String>, hint: impl Into<String>) -> Problem {
    Problem {
        line: None,
        at: String::new(),
        what: what.into(),
        hint: Some(hint.into()),
    }
}

/// Why the start of a file shows that it is no text in UTF-8.
pub(crate) fn no_text(start: &[u8]) -> Option<Problem> {
    let first = start.split(|&b| b == b'\n').next().unwrap_or_default();
    let zeros = first.iter().filter(|&&b| b == 0).count();
    if start.starts_with(b"PAR1") {
        return Some(whole(
            "the file is in Parquet, not text",
            "give it as CSV, plain or packed with gzip or zstd",
        ));
    }
    if start.starts_with(b"PK\x03\x04") || start.starts_with(b"\xD0\xCF\x11\xE0") {
        return Some(whole(
            "the file is a workbook or an archive, not text",
            SAVE_AGAIN,
        ));
    }
    if start.starts_with(b"\xFF\xFE")
        || start.starts_with(b"\xFE\xFF")
        || zeros * 5 > first.len() * 2
    {
        return Some(whole("the file is text in UTF-16", SAVE_AGAIN));
    }
    if first
        .iter()
        .any(|&b| b < b' ' && !matches!(b, b'\t' | b'\r'))
    {
        return Some(whole("the file is not text", SAVE_AGAIN));
    }
    if first.strip_suffix(b"\r").unwrap_or(first).contains(&b'\r') {
        return Some(whole(
            "the lines end with a carriage return alone",
            "save the file with the line ends LF or CR LF",
        ));
    }
    None
}

/// The cells of a line, without its end. Quotes are taken off; `None` if one is not closed.
pub(crate) fn cells(line: &[u8], separator: u8) -> Option<Vec<Vec<u8>>> {
    let mut cells = Vec::new();
    let mut rest = line;
    loop {
        let (cell, after) = cell(rest, separator)?;
        cells.push(cell);
        match after {
            Some(next) => rest = next,
            None => return Some(cells),
        }
    }
}

/// The first cell of a line, and what stands behind its separator.
fn cell(line: &[u8], separator: u8) -> Option<(Vec<u8>, Option<&[u8]>)> {
    let lead = line.iter().take_while(|&&b| b == b' ').count();
    let trimmed = line.get(lead..).unwrap_or_default();
    if trimmed.first() != Some(&b'"') {
        let end = memchr::memchr(separator, line);
        let text = line.get(..end.unwrap_or(line.len())).unwrap_or_default();
        let after = end.and_then(|end| line.get(end + 1..));
        return Some((text.trim_ascii().to_vec(), after));
    }
    let mut text = Vec::new();
    let mut bytes = trimmed.iter().enumerate().skip(1).peekable();
    while let Some((at, &byte)) = bytes.next() {
        if byte != b'"' {
            text.push(byte);
        } else if bytes.peek().is_some_and(|(_, b)| **b == b'"') {
            text.push(b'"');
            bytes.next();
        } else {
            let rest = trimmed.get(at + 1..).unwrap_or_default();
            let end = memchr::memchr(separator, rest);
            let between = rest.get(..end.unwrap_or(rest.len())).unwrap_or_default();
            let after = end.and_then(|end| rest.get(end + 1..));
            return between
                .trim_ascii()
                .is_empty()
                .then(|| (text.trim_ascii().to_vec(), after));
        }
    }
    None
}

/// The separator of a header: the most frequent of the three outside quotes and brackets; a comma
/// if there is none.
pub(crate) fn separator(header: &[u8]) -> u8 {
    let mut counts = [0_u32; 3];
    let (mut quoted, mut bracket) = (false, false);
    for &byte in header {
        match byte {
            b'"' => quoted = !quoted,
            b'[' if !quoted => bracket = true,
            b']' if !quoted => bracket = false,
            b';' if !quoted && !bracket => counts[0] += 1,
            b'\t' if !quoted => counts[1] += 1,
            b',' if !quoted && !bracket => counts[2] += 1,
            _ => {}
        }
    }
    // A semicolon or a tab in a header is no decimal mark and no part of a name; a comma may be.
    match counts {
        [semicolons, tabs, _] if semicolons > 0 && semicolons >= tabs => b';',
        [_, tabs, _] if tabs > 0 => b'\t',
        _ => b',',
    }
}

/// Whether the numbers of these rows are written with a comma.
pub(crate) fn decimal_comma<'a>(rows: impl Iterator<Item = &'a [u8]>, separator: u8) -> bool {
    let (mut commas, mut points) = (0_u32, 0_u32);
    for cell in rows.flat_map(|row| row.split(move |&b| b == separator)) {
        let cell = cell.trim_ascii();
        let cell = cell
            .strip_prefix(b"\"")
            .and_then(|c| c.strip_suffix(b"\""))
            .unwrap_or(cell);
        let digits = cell.iter().filter(|b| b.is_ascii_digit()).count();
        let mark = cell.iter().find(|&&b| matches!(b, b',' | b'.'));
        let sign = usize::from(cell.first() == Some(&b'-'));
        if digits + sign + 1 == cell.len() {
            match mark {
                Some(b',') => commas += 1,
                Some(_) => points += 1,
                None => {}
            }
        }
    }
    commas > points
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(line: &str, separator: u8) -> Option<Vec<String>> {
        let cells = cells(line.as_bytes(), separator)?;
        Some(
            cells
                .into_iter()
                .map(|c| String::from_utf8_lossy(&c).into_owned())
                .collect(),
        )
    }

    #[test]
    fn a_line_falls_into_cells() {
        let cells = |line| texts(line, b',').map(|c| c.join("|"));
        assert_eq!(cells("a, b ,,c").as_deref(), Some("a|b||c"));
        assert_eq!(
            cells(r#""a,b", "c""d" ,e"#).as_deref(),
            Some(r#"a,b|c"d|e"#)
        );
        assert_eq!(cells("").as_deref(), Some(""));
        assert_eq!(cells("a,").as_deref(), Some("a|"));
        assert_eq!(cells(r#""a,b"#), None);
        assert_eq!(cells(r#""a"b,c"#), None);
    }

    #[test]
    fn the_separator_is_seen() {
        assert_eq!(separator(b"time,K1.power [kW]"), b',');
        assert_eq!(separator(b"time;K1.power [kW]"), b';');
        assert_eq!(separator(b"Date, local;Power, kW;x"), b';');
        assert_eq!(separator(b"time\tK1.power [kW]"), b'\t');
        assert_eq!(separator(br#"time,"a;b;c""#), b',');
        assert_eq!(separator(b"time"), b',');
    }

    #[test]
    fn the_decimal_comma_is_seen() {
        let comma = |rows: &[&str]| decimal_comma(rows.iter().map(|r| r.as_bytes()), b';');
        assert!(comma(&["2026-01-01 00:00:00,5;33,4;-7,1"]));
        assert!(!comma(&["2026-01-01 00:00:00,5;33.4;7"]));
        assert!(!comma(&["2026-01-01 00:00;33;7"]));
    }
}
