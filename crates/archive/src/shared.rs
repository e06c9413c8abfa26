//! A file that several threads read from at once, each at its own place.
//!
//! Must not know: what the bytes mean.

use std::fs::File;
use std::io::{BufReader, Read};
use std::sync::Arc;

use bytes::Bytes;
use parquet::errors::{ParquetError, Result};
use parquet::file::reader::{ChunkReader, Length};

/// What several threads can read from at once, because it has no position of its own: each reading
/// says where it begins. A plain [`File`] has one, and so is no such thing.
pub trait Apart: ChunkReader + 'static {}

impl Apart for Shared {}
impl Apart for Bytes {}

/// Bytes that a reader takes at a time.
const BUFFER: usize = 1 << 16;

/// A file without a position of its own.
#[derive(Debug, Clone)]
pub struct Shared {
    file: Arc<File>,
    size: u64,
}

impl Shared {
    /// Of an open file.
    ///
    /// # Errors
    /// What the system says when it is asked for the file's size.
    pub fn new(file: File) -> std::io::Result<Self> {
        let size = file.metadata()?.len();
        Ok(Self {
            file: Arc::new(file),
            size,
        })
    }
}

/// Reads on from one place of a shared file.
#[derive(Debug)]
pub struct At {
    file: Arc<File>,
    place: u64,
}

impl Read for At {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let read = read_at(&self.file, into, self.place)?;
        self.place += read as u64;
        Ok(read)
    }
}

#[cfg(unix)]
fn read_at(file: &File, into: &mut [u8], place: u64) -> std::io::Result<usize> {
    std::os::unix::fs::FileExt::read_at(file, into, place)
}

#[cfg(windows)]
fn read_at(file: &File, into: &mut [u8], place: u64) -> std::io::Result<usize> {
    // It moves the file's own position too, which nobody uses.
    std::os::windows::fs::FileExt::seek_read(file, into, place)
}

impl Length for Shared {
    fn len(&self) -> u64 {
        self.size
    }
}

impl ChunkReader for Shared {
    type T = BufReader<At>;

    fn get_read(&self, start: u64) -> Result<Self::T> {
        let at = At {
            file: Arc::clone(&self.file),
            place: start,
        };
        Ok(BufReader::with_capacity(BUFFER, at))
    }

    fn get_bytes(&self, start: u64, length: usize) -> Result<Bytes> {
        if start.saturating_add(length as u64) > self.size {
            return Err(ParquetError::EOF("it ends before its own end".to_owned()));
        }
        let mut bytes = vec![0; length];
        At {
            file: Arc::clone(&self.file),
            place: start,
        }
        .read_exact(&mut bytes)?;
        Ok(bytes.into())
    }
}
