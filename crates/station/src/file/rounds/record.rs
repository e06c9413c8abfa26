//! One record: its cells, with and without quotes.
//!
//! Quotes are those of RFC 4180, section 2: a quoted cell begins with one, and one that belongs to
//! the text is doubled. A quote inside a cell that does not begin with one is text (`2" pipe`).
//!
//! Must not know: where lines come from.

use super::Complaint;

/// One record: its text and where its cells lie.
#[derive(Debug, Default)]
pub(super) struct Record {
    pub(super) line: u64,
    pub(super) raw: Vec<u8>,
    /// The cells without their quotes, if there are quotes.
    plain: Vec<u8>,
    quotes: bool,
    cells: Vec<Span>,
}

#[derive(Debug, Clone, Copy)]
struct Span {
    from: usize,
    to: usize,
    quoted: bool,
}

/// The checked text of a record.
pub(super) struct Text<'a> {
    text: &'a str,
    cells: &'a [Span],
}

/// One cell, trimmed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cell<'a> {
    pub(super) text: &'a str,
    pub(super) quoted: bool,
}

impl<'a> Text<'a> {
    /// How many cells there are.
    pub(super) fn len(&self) -> usize {
        self.cells.len()
    }

    pub(super) fn cell(&self, index: usize) -> Cell<'a> {
        match self.cells.get(index) {
            Some(span) => Cell {
                text: self.text.get(span.from..span.to).unwrap_or_default().trim(),
                quoted: span.quoted,
            },
            None => Cell {
                text: "",
                quoted: false,
            },
        }
    }
}

impl Record {
    pub(super) fn len(&self) -> usize {
        self.cells.len()
    }

    pub(super) fn bytes(&self) -> usize {
        self.raw.len()
    }

    pub(super) fn is_all_blank(&self) -> bool {
        let bytes = self.cell_bytes();
        self.cells.iter().all(|s| {
            bytes
                .get(s.from..s.to)
                .unwrap_or_default()
                .iter()
                .all(u8::is_ascii_whitespace)
        })
    }

    fn cell_bytes(&self) -> &[u8] {
        if self.quotes { &self.plain } else { &self.raw }
    }

    /// The record as text, or the first cell that is none.
    pub(super) fn text(&self) -> Result<Text<'_>, (usize, Complaint)> {
        let bytes = self.cell_bytes();
        let bad = |is_bad: fn(&[u8]) -> bool| {
            let cell = |s: &Span| bytes.get(s.from..s.to).unwrap_or_default();
            self.cells.iter().position(|s| is_bad(cell(s))).unwrap_or(0)
        };
        if bytes.contains(&0) {
            let complaint = Complaint::new("the cell holds a zero byte", SAVE_AGAIN);
            return Err((bad(|b| b.contains(&0)), complaint));
        }
        match std::str::from_utf8(bytes) {
            Ok(text) => Ok(Text {
                text,
                cells: &self.cells,
            }),
            Err(_) => {
                let complaint = Complaint::new("the text is not UTF-8", SAVE_AGAIN);
                Err((bad(|b| std::str::from_utf8(b).is_err()), complaint))
            }
        }
    }

    /// Splits `raw`, whose line end is taken off. `Err` if a quote is not closed, or text follows
    /// a closed one.
    pub(super) fn split(&mut self, separator: u8) -> Result<(), Quote> {
        self.cells.clear();
        self.quotes = self.raw.contains(&b'"');
        if !self.quotes {
            let mut from = 0;
            for (to, &byte) in self.raw.iter().enumerate() {
                if byte == separator {
                    self.cells.push(Span {
                        from,
                        to,
                        quoted: false,
                    });
                    from = to + 1;
                }
            }
            self.cells.push(Span {
                from,
                to: self.raw.len(),
                quoted: false,
            });
            return Ok(());
        }
        self.plain.clear();
        let mut rest = self.raw.as_slice();
        loop {
            let from = self.plain.len();
            let inner = trim_start(rest, separator);
            let quoted = inner.first() == Some(&b'"');
            if quoted {
                rest = quoted_cell(inner, &mut self.plain)?;
            }
            let end = rest
                .iter()
                .position(|&b| b == separator)
                .unwrap_or(rest.len());
            let (cell, after) = rest.split_at(end);
            if !quoted {
                self.plain.extend_from_slice(cell);
            } else if !cell.iter().all(u8::is_ascii_whitespace) {
                return Err(Quote::TextAfter);
            }
            self.cells.push(Span {
                from,
                to: self.plain.len(),
                quoted,
            });
            match after.split_first() {
                Some((_, next)) => rest = next,
                None => return Ok(()),
            }
        }
    }
}

/// What is wrong with the quotes of a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Quote {
    Open,
    TextAfter,
}

/// Without the blanks before a cell; a tab may be the separator.
fn trim_start(bytes: &[u8], separator: u8) -> &[u8] {
    let blanks = bytes
        .iter()
        .take_while(|&&b| b == b' ' || (b == b'\t' && separator != b'\t'));
    bytes.get(blanks.count()..).unwrap_or_default()
}

/// Takes a quoted cell into `plain`; gives what follows its closing quote.
fn quoted_cell<'a>(cell: &'a [u8], plain: &mut Vec<u8>) -> Result<&'a [u8], Quote> {
    let mut rest = cell.get(1..).unwrap_or_default();
    loop {
        let end = rest.iter().position(|&b| b == b'"').ok_or(Quote::Open)?;
        let (text, after) = rest.split_at(end);
        plain.extend_from_slice(text);
        match after {
            [_, b'"', more @ ..] => {
                plain.push(b'"');
                rest = more;
            }
            [_, more @ ..] => return Ok(more),
            [] => return Err(Quote::Open),
        }
    }
}

/// What mends a file in another encoding.
pub(super) const SAVE_AGAIN: &str = "save the file as CSV in UTF-8";

/// The complaint about a row of another length than the header.
pub(super) fn ragged(found: usize, wanted: usize, separator: u8) -> Complaint {
    let mark = match separator {
        b'\t' => "tab".to_owned(),
        other => format!("`{}`", char::from(other)),
    };
    let cells = |n: usize| {
        if n == 1 {
            "1 cell".to_owned()
        } else {
            format!("{n} cells")
        }
    };
    Complaint::new(
        format!("the row has {}, the header {}", cells(found), cells(wanted)),
        if found > wanted {
            format!("put a text or a number that holds a {mark} between double quotes")
        } else {
            format!("leave cells that were not read empty, and keep every {mark}")
        },
    )
}

pub(super) fn quote_complaint(quote: Quote) -> Complaint {
    match quote {
        Quote::Open => Complaint::new(
            "a double quote is opened and not closed",
            "close it, or double it if it belongs to the text: `\"\"`",
        ),
        Quote::TextAfter => Complaint::new(
            "text follows a closed double quote",
            "double the quotes that belong to the text: `\"\"`",
        ),
    }
}
