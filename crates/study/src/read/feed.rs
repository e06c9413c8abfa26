//! The bytes of one file: unpacked, and cut into blocks of whole lines.
//!
//! Must not know: columns, cells.

use std::io::{self, BufReader, Read};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// A line may not be longer.
pub(crate) const LONGEST_LINE: usize = 1 << 20;
/// So many bytes stand behind every block, so that a cell may be read in whole words.
pub(crate) const PADDING: usize = 64;

/// The bytes of one file.
pub(crate) struct Feed {
    input: Box<dyn Read + Send>,
    /// Bytes that were read and not yet given out, from `at` on.
    held: Vec<u8>,
    at: usize,
    ended: bool,
    /// Why it could not be read on.
    fault: Option<String>,
    /// Bytes that were read of all files, as they lie on the disk.
    bytes: Arc<AtomicU64>,
}

/// Some whole lines; what stands behind `length` is padding.
#[derive(Default)]
pub(crate) struct Block {
    pub(crate) bytes: Vec<u8>,
    pub(crate) length: usize,
}

impl Block {
    /// The whole lines at the start of a text.
    pub(crate) fn of(text: &[u8]) -> Self {
        let length = memchr::memrchr(b'\n', text).map_or(0, |end| end + 1);
        let mut bytes = text.get(..length).unwrap_or_default().to_vec();
        bytes.resize(length + PADDING, 0);
        Self { bytes, length }
    }
}

impl Feed {
    /// Looks at the first bytes, and unpacks if they are those of a packed file. What is read is
    /// counted.
    pub(crate) fn open(input: Box<dyn Read + Send>, bytes: Arc<AtomicU64>) -> Self {
        let mut input = Counted {
            input,
            bytes: Arc::clone(&bytes),
        };
        let mut start = Vec::new();
        let fault = input
            .by_ref()
            .take(4)
            .read_to_end(&mut start)
            .err()
            .map(|e| e.to_string());
        let whole = io::Cursor::new(start.clone()).chain(input);
        let input: Box<dyn Read + Send> = match start.as_slice() {
            [0x1F, 0x8B, ..] => Box::new(flate2::read::MultiGzDecoder::new(whole)),
            [0x28, 0xB5, 0x2F, 0xFD] => Box::new(Frames::new(whole)),
            _ => Box::new(whole),
        };
        Self {
            input,
            held: Vec::new(),
            at: 0,
            ended: fault.is_some(),
            fault,
            bytes,
        }
    }

    /// What is held and not yet given out.
    pub(crate) fn held(&self) -> &[u8] {
        self.held.get(self.at..).unwrap_or_default()
    }

    /// Gives up the first bytes of what is held.
    pub(crate) fn skip(&mut self, bytes: usize) {
        self.at += bytes;
    }

    pub(crate) fn ended(&self) -> bool {
        self.ended
    }

    pub(crate) fn fault(&self) -> Option<&str> {
        self.fault.as_deref()
    }

    /// How many bytes were read of all files.
    pub(crate) fn bytes(&self) -> u64 {
        self.bytes.load(Ordering::Relaxed)
    }

    /// Holds so many bytes, or all that there are.
    pub(crate) fn hold(&mut self, bytes: usize) {
        while self.held().len() < bytes && !self.ended {
            let (start, more) = (self.held.len(), bytes - self.held().len());
            self.held.resize(start + more, 0);
            let read = read_some(
                &mut self.input,
                self.held.get_mut(start..).unwrap_or_default(),
            );
            self.held.truncate(start + *read.as_ref().unwrap_or(&0));
            self.end_on(&read);
        }
    }

    fn end_on(&mut self, read: &io::Result<usize>) {
        match read {
            Ok(0) => self.ended = true,
            Ok(_) => {}
            Err(error) => {
                self.ended = true;
                self.fault = Some(error.to_string());
            }
        }
    }

    /// Fills a block with whole lines of about so many bytes in all; false at the end.
    pub(crate) fn fill(&mut self, block: &mut Block, size: usize) -> bool {
        let mut size = size.max(1);
        block.length = 0;
        let mut filled = 0;
        loop {
            if block.bytes.len() < size + PADDING {
                block.bytes.resize(size + PADDING, 0);
            }
            let held = self.held.get(self.at..).unwrap_or_default();
            let taken = held.len().min(size - filled);
            if taken > 0 {
                copy(
                    &mut block.bytes,
                    filled,
                    held.get(..taken).unwrap_or_default(),
                );
                self.at += taken;
                filled += taken;
                if self.at == self.held.len() {
                    self.held.clear();
                    self.at = 0;
                }
            }
            while filled < size && !self.ended {
                let space = block.bytes.get_mut(filled..size).unwrap_or_default();
                let read = read_some(&mut self.input, space);
                filled += *read.as_ref().unwrap_or(&0);
                self.end_on(&read);
            }
            let all = block.bytes.get(..filled).unwrap_or_default();
            if self.ended && self.held().is_empty() {
                block.length = filled;
                self.close(block);
                return filled > 0;
            }
            if let Some(end) = memchr::memrchr(b'\n', all) {
                block.length = end + 1;
                self.give_back(block.bytes.get(end + 1..filled).unwrap_or_default());
                return true;
            }
            if filled > LONGEST_LINE {
                self.ended = true;
                self.held.clear();
                self.at = 0;
                self.fault = Some("a line is longer than 1 MiB".to_owned());
                return false;
            }
            size *= 2;
        }
    }

    /// Puts the start of the next line before what is held.
    fn give_back(&mut self, bytes: &[u8]) {
        if self.at >= bytes.len() {
            self.at -= bytes.len();
            copy(&mut self.held, self.at, bytes);
        } else {
            let mut held = bytes.to_vec();
            held.extend_from_slice(self.held());
            self.held = held;
            self.at = 0;
        }
    }

    /// Ends the last line, which may lack its end. If the file broke off, its last line did too.
    fn close(&self, block: &mut Block) {
        let all = block.bytes.get(..block.length).unwrap_or_default();
        if self.fault.is_some() {
            block.length = memchr::memrchr(b'\n', all).map_or(0, |end| end + 1);
        } else if !all.is_empty() && all.last() != Some(&b'\n') {
            copy(&mut block.bytes, block.length, b"\n");
            block.length += 1;
        }
    }
}

fn copy(into: &mut [u8], at: usize, from: &[u8]) {
    if let Some(space) = into.get_mut(at..at + from.len()) {
        space.copy_from_slice(from);
    }
}

fn read_some(input: &mut dyn Read, into: &mut [u8]) -> io::Result<usize> {
    loop {
        match input.read(into) {
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            read => return read,
        }
    }
}

/// Counts what is read.
struct Counted {
    input: Box<dyn Read + Send>,
    bytes: Arc<AtomicU64>,
}

impl Read for Counted {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let read = self.input.read(into)?;
        self.bytes.fetch_add(read as u64, Ordering::Relaxed);
        Ok(read)
    }
}

/// The frames of a zstd file, one after another.
struct Frames<R: Read> {
    now: Option<Decoder<R>>,
}

type Decoder<R> = ruzstd::decoding::StreamingDecoder<BufReader<R>, ruzstd::decoding::FrameDecoder>;

impl<R: Read> Frames<R> {
    fn new(input: R) -> Self {
        let now = Decoder::new(BufReader::with_capacity(1 << 16, input)).ok();
        Self { now }
    }
}

impl<R: Read> Read for Frames<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        use std::io::BufRead;
        loop {
            let Some(decoder) = &mut self.now else {
                return Err(io::Error::other("the zstd data are damaged"));
            };
            let read = decoder.read(into)?;
            if read > 0 || into.is_empty() {
                return Ok(read);
            }
            let Some(decoder) = self.now.take() else {
                return Ok(0);
            };
            let mut rest = decoder.into_inner();
            if rest.fill_buf()?.is_empty() {
                self.now = None;
                return Ok(0);
            }
            self.now = Decoder::new(rest).ok();
        }
    }
}
