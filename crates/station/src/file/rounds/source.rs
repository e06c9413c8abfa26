//! Bytes to records: encoding, separator, quotes, lines; and what is no such file at all.
//!
//! A quoted cell may run over several lines. A quote that is not closed within [`QUOTED_LINES`]
//! lines, or that swallows the cells of the rows below, rejects its own line only, and the lines
//! below are read as rows again. No line and no record is held beyond [`LINE_BYTES`].
//!
//! Must not know: what the cells mean.

use std::collections::VecDeque;
use std::io::{self, BufRead, BufReader, Chain, Cursor, Read};

use super::Complaint;
use crate::file::problem::Problem;

/// The longest line.
const LINE_BYTES: usize = 1 << 20;
/// The most lines of one quoted cell.
const QUOTED_LINES: usize = 20;

/// The source, line by line.
#[derive(Debug)]
pub(super) struct Source<R: Read> {
    input: BufReader<Chain<Cursor<Vec<u8>>, R>>,
    /// Lines that were taken for the rest of a quoted cell and are rows; `None` was too long.
    given_back: VecDeque<(u64, Option<Vec<u8>>)>,
    /// How many lines were read from the input.
    lines: u64,
    /// The last line taken, counted from 1.
    line: u64,
    separator: u8,
    cells: usize,
}

/// The header.
#[derive(Debug)]
pub(super) struct Header {
    pub(super) line: u64,
    pub(super) cells: Vec<String>,
}

/// What was taken from the source.
pub(super) enum Taken {
    /// The record was filled.
    Row,
    /// A blank line.
    Blank,
    /// No row can be made of it.
    Bad { line: u64, complaint: Complaint },
    /// Nothing is left.
    End,
}

/// How a line came.
enum Line {
    Whole,
    TooLong,
    End,
}

/// One record: its text and where its cells lie.
#[derive(Debug, Default)]
pub(super) struct Record {
    pub(super) line: u64,
    raw: Vec<u8>,
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
    fn split(&mut self, separator: u8) -> Result<(), Quote> {
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
enum Quote {
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

const SAVE_AGAIN: &str = "save the file as CSV in UTF-8";

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

fn quote_complaint(quote: Quote) -> Complaint {
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

/// A problem of the file as a whole.
fn whole(what: &str, hint: &str) -> Problem {
    Problem {
        line: None,
        at: String::new(),
        what: what.to_owned(),
        hint: Some(hint.to_owned()),
    }
}

#[expect(clippy::needless_pass_by_value, reason = "it stands in `map_err`")]
fn unreadable(error: io::Error) -> Problem {
    whole(
        &format!("the file cannot be read: {error}"),
        "check that it is there and may be read",
    )
}

const BYTE_ORDER_MARK: &[u8] = b"\xEF\xBB\xBF";
/// So much is looked at to tell text from other things.
const START_BYTES: u64 = 4096;

/// Why the start of a file shows that it is no text in UTF-8.
fn no_text(start: &[u8]) -> Option<(&'static str, &'static str)> {
    const SAVE: &str = "save it as CSV in UTF-8";
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
        return Some(("the file is a workbook or an archive, not text", SAVE));
    }
    if start.starts_with(b"\xFF\xFE") || start.starts_with(b"\xFE\xFF") || two_bytes {
        return Some(("the file is text in UTF-16", SAVE));
    }
    let control = |&b: &u8| b < b' ' && !matches!(b, b'\t' | b'\r');
    first
        .iter()
        .any(control)
        .then_some(("the file is not text", SAVE))
}

impl<R: Read> Source<R> {
    /// Looks at the first bytes: takes off a byte-order mark, refuses what is no text in UTF-8.
    pub(super) fn open(mut source: R) -> Result<Self, Problem> {
        let mut start = Vec::new();
        source
            .by_ref()
            .take(START_BYTES)
            .read_to_end(&mut start)
            .map_err(unreadable)?;
        if let Some((what, hint)) = no_text(&start) {
            return Err(whole(what, hint));
        }
        let mut start = Cursor::new(start);
        if start.get_ref().starts_with(BYTE_ORDER_MARK) {
            start.set_position(BYTE_ORDER_MARK.len() as u64);
        }
        Ok(Self {
            input: BufReader::with_capacity(1 << 16, start.chain(source)),
            given_back: VecDeque::new(),
            lines: 0,
            line: 0,
            separator: b',',
            cells: 0,
        })
    }

    pub(super) fn line(&self) -> u64 {
        self.line
    }

    pub(super) fn separator(&self) -> u8 {
        self.separator
    }

    /// The first line that is not blank; sets the separator.
    pub(super) fn header(&mut self, record: &mut Record) -> Result<Header, Problem> {
        loop {
            record.raw.clear();
            match self.next_line(&mut record.raw).map_err(unreadable)? {
                Line::End => {
                    return Err(whole(
                        "the file is empty",
                        "its first line names the columns: `time,K1.pressure [bar(g)]`",
                    ));
                }
                Line::TooLong => {
                    return Err(whole(
                        "the first line is longer than 1 MiB",
                        "check that this is a file of rounds",
                    ));
                }
                Line::Whole if record.raw.iter().all(u8::is_ascii_whitespace) => {}
                Line::Whole => break,
            }
        }
        let line = self.line;
        let at_header = |complaint: Complaint| Problem {
            line: Some(line),
            at: "header".to_owned(),
            what: complaint.what,
            hint: Some(complaint.hint),
        };
        record.line = line;
        if record.raw.contains(&b'\r') {
            return Err(whole(
                "the lines end with a carriage return alone",
                "save the file with the line ends LF or CR LF",
            ));
        }
        self.separator = separator(&record.raw);
        record
            .split(self.separator)
            .map_err(|q| at_header(quote_complaint(q)))?;
        let text = record
            .text()
            .map_err(|(_, complaint)| at_header(complaint))?;
        self.cells = text.cells.len();
        let cells = (0..self.cells)
            .map(|i| text.cell(i).text.to_owned())
            .collect();
        Ok(Header { line, cells })
    }

    /// The next record.
    pub(super) fn record(&mut self, record: &mut Record) -> io::Result<Taken> {
        record.raw.clear();
        match self.next_line(&mut record.raw)? {
            Line::End => return Ok(Taken::End),
            Line::TooLong => {
                let complaint = Complaint::new(
                    "the line is longer than 1 MiB",
                    "check that a line end was not lost, and shorten the note",
                );
                return Ok(Taken::Bad {
                    line: self.line,
                    complaint,
                });
            }
            Line::Whole => {}
        }
        record.line = self.line;
        if record.raw.iter().all(u8::is_ascii_whitespace) {
            return Ok(Taken::Blank);
        }
        let Err(quote) = record.split(self.separator) else {
            return Ok(Taken::Row);
        };
        if quote == Quote::TextAfter {
            return Ok(Taken::Bad {
                line: self.line,
                complaint: quote_complaint(quote),
            });
        }
        self.over_lines(record)
    }

    /// Takes lines until the quotes of a record close, or gives them back.
    fn over_lines(&mut self, record: &mut Record) -> io::Result<Taken> {
        let mut ends = vec![(record.line, record.raw.len())];
        let mut too_long = None;
        let mut last = Err(Quote::Open);
        while ends.len() < QUOTED_LINES && record.raw.len() < LINE_BYTES && last == Err(Quote::Open)
        {
            let before = record.raw.len();
            record.raw.push(b'\n');
            match self.next_line(&mut record.raw)? {
                Line::Whole => ends.push((self.line, record.raw.len())),
                Line::End => {
                    record.raw.truncate(before);
                    break;
                }
                Line::TooLong => {
                    record.raw.truncate(before);
                    too_long = Some(self.line);
                    break;
                }
            }
            last = record.split(self.separator);
        }
        if last.is_ok() && record.len() == self.cells {
            return Ok(Taken::Row);
        }
        if let Some(line) = too_long {
            self.given_back.push_front((line, None));
        }
        for pair in ends.windows(2).rev() {
            if let &[(_, end), (line, next_end)] = pair {
                let text = record
                    .raw
                    .get(end + 1..next_end)
                    .unwrap_or_default()
                    .to_vec();
                self.given_back.push_front((line, Some(text)));
            }
        }
        Ok(Taken::Bad {
            line: record.line,
            complaint: quote_complaint(Quote::Open),
        })
    }

    /// Appends the next line without its end.
    fn next_line(&mut self, into: &mut Vec<u8>) -> io::Result<Line> {
        if let Some((number, line)) = self.given_back.pop_front() {
            self.line = number;
            return Ok(match line {
                Some(line) => {
                    into.extend_from_slice(&line);
                    Line::Whole
                }
                None => Line::TooLong,
            });
        }
        let start = into.len();
        let read = (&mut self.input)
            .take(LINE_BYTES as u64)
            .read_until(b'\n', into)?;
        if read == 0 {
            return Ok(Line::End);
        }
        self.lines += 1;
        self.line = self.lines;
        if into.last() == Some(&b'\n') {
            into.pop();
        } else if read == LINE_BYTES {
            into.truncate(start);
            self.skip_line()?;
            return Ok(Line::TooLong);
        }
        if into.len() > start && into.last() == Some(&b'\r') {
            into.pop();
        }
        Ok(Line::Whole)
    }

    fn skip_line(&mut self) -> io::Result<()> {
        loop {
            let buffer = match self.input.fill_buf() {
                Ok(buffer) => buffer,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(error) => return Err(error),
            };
            let end = buffer.iter().position(|&b| b == b'\n');
            let used = end.map_or(buffer.len(), |at| at + 1);
            let done = end.is_some() || buffer.is_empty();
            self.input.consume(used);
            if done {
                return Ok(());
            }
        }
    }
}

/// The separator of a header: the one under which a cell is `time`, else the most frequent outside
/// quotes.
fn separator(header: &[u8]) -> u8 {
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
