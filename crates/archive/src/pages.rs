//! Pages that promise no more than they hold, so that a damaged file cannot ask for much memory.
//!
//! A page says how long it is once it is unpacked, and room for that is made before; a damaged one
//! may say anything. It cannot be longer than all pages of its column in the row group together.
//!
//! Must not know: what the values are.

use std::sync::Arc;

use bytes::Bytes;
use parquet::column::page::{Page, PageMetadata, PageReader};
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::ColumnChunkMetaData;
use parquet::file::reader::{ChunkReader, Length};

use crate::shared::Apart;

/// No page is longer, unpacked, bytes: writers make them of a megabyte, some of all that a column
/// has in a row group.
const LONGEST_PAGE: u64 = 1 << 28;
/// A page may be as long in any case, whatever is said of its column, bytes.
const ALWAYS: u64 = 1 << 20;
/// So far into a page's head stand its kind and its length.
const HEAD: u64 = 12;

/// A column's chunk of a file, whose pages are looked at before they are unpacked.
pub(crate) struct Bounded<R> {
    input: Arc<R>,
    /// No page may be longer, bytes.
    most: u64,
}

impl<R: Apart> Bounded<R> {
    pub(crate) fn of(input: &Arc<R>, chunk: &ColumnChunkMetaData) -> Self {
        let all = u64::try_from(chunk.uncompressed_size()).unwrap_or(0);
        Self {
            input: Arc::clone(input),
            most: all.clamp(ALWAYS, LONGEST_PAGE),
        }
    }
}

impl<R: Apart> Length for Bounded<R> {
    fn len(&self) -> u64 {
        self.input.len()
    }
}

impl<R: Apart> ChunkReader for Bounded<R> {
    type T = R::T;

    /// Heads of pages are read in this way, and nothing else is.
    fn get_read(&self, start: u64) -> Result<Self::T> {
        let head = self.len().saturating_sub(start).min(HEAD);
        let head = self.input.get_bytes(start, head as usize)?;
        match unpacked_length(&head) {
            Some(length) if length <= self.most => self.input.get_read(start),
            Some(length) => Err(ParquetError::General(format!(
                "a page says that it is {length} bytes long, and cannot be longer than {}",
                self.most
            ))),
            None => Err(ParquetError::General(
                "the head of a page cannot be read".to_owned(),
            )),
        }
    }

    fn get_bytes(&self, start: u64, length: usize) -> Result<Bytes> {
        self.input.get_bytes(start, length)
    }
}

/// How long a page is once it is unpacked: the second field of its head.
///
/// SOURCE Apache Parquet format, `PageHeader`, in Thrift's compact protocol: each field begins with
/// its number, less that of the field before, in the high half of a byte, and 5 for whole numbers of
/// 32 bits in the low one; then the number in groups of 7 bits, the lowest first, of which the
/// lowest bit is the sign.
fn unpacked_length(head: &[u8]) -> Option<u64> {
    const NEXT_WHOLE_NUMBER: u8 = 0x15;
    let mut head = head.iter().copied();
    let mut length = 0;
    // Its kind, then its length.
    for _ in 0..2 {
        if head.next()? != NEXT_WHOLE_NUMBER {
            return None;
        }
        length = whole_number(&mut head)?;
    }
    (length % 2 == 0).then_some(length / 2)
}

/// A number in groups of 7 bits.
fn whole_number(bytes: &mut impl Iterator<Item = u8>) -> Option<u64> {
    let mut number = 0;
    for group in 0..5 {
        let byte = bytes.next()?;
        number |= u64::from(byte & 0x7F) << (7 * group);
        if byte & 0x80 == 0 {
            return Some(number);
        }
    }
    None
}

/// The pages of a column, each looked at before it is unpacked into values.
pub(crate) struct Checked(pub(crate) Box<dyn PageReader>);

impl PageReader for Checked {
    fn get_next_page(&mut self) -> Result<Option<Page>> {
        self.0.get_next_page()?.map(checked).transpose()
    }

    fn peek_next_page(&mut self) -> Result<Option<PageMetadata>> {
        self.0.peek_next_page()
    }

    fn skip_next_page(&mut self) -> Result<()> {
        self.0.skip_next_page()
    }
}

impl Iterator for Checked {
    type Item = Result<Page>;

    fn next(&mut self) -> Option<Self::Item> {
        self.get_next_page().transpose()
    }
}

fn checked(page: Page) -> Result<Page> {
    if let Page::DictionaryPage {
        buf, num_values, ..
    } = &page
    {
        // A value of a dictionary takes a bit at least.
        let room = buf.len().saturating_mul(8);
        if usize::try_from(*num_values).map_or(true, |values| values > room) {
            return Err(ParquetError::General(
                "a dictionary promises more values than its page holds".to_owned(),
            ));
        }
    }
    Ok(page)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_length_of_a_page_is_found_in_its_head() {
        // A data page of 300 bytes, 40 packed.
        assert_eq!(
            unpacked_length(&[0x15, 0, 0x15, 0xD8, 4, 0x15, 80]),
            Some(300)
        );
        // As long as it can be said.
        let most = [0x15, 0, 0x15, 0xFE, 0xFF, 0xFF, 0xFF, 0x0F, 0x15];
        assert_eq!(unpacked_length(&most), Some((1 << 31) - 1));
        for other in [
            &[0x15, 0, 0x15, 1][..],
            &[0x15, 0, 0x25, 2],
            &[0x15, 0, 0x15, 0x80],
            &[],
        ] {
            assert_eq!(unpacked_length(other), None);
        }
    }
}
