//! Bytes to lines and records.
//!
//! A quoted cell may run over several lines. A quote that is not closed within [`QUOTED_LINES`]
//! lines, or that swallows the cells of the rows below, rejects its own line only, and the lines
//! below are read as rows again. No line and no record is held beyond [`LINE_BYTES`].
//!
//! Must not know: what the cells mean.

use std::collections::VecDeque;
use std::io::{self, BufRead, BufReader, Chain, Cursor, Read};

use super::Complaint;
use super::record::{Quote, Record, quote_complaint};
use super::start::{BYTE_ORDER_MARK, START_BYTES, no_text, separator, unreadable, whole};
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
        self.cells = text.len();
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
