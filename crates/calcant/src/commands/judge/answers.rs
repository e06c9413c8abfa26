//! Answers of many stations, set aside until they can be told in order: memory does not grow with
//! their number, unless a page is made of all.
//!
//! Must not know: what an answer says.

use std::io::{self, Read, Seek as _, SeekFrom, Write};
use std::sync::{Mutex, PoisonError};

use anyhow::Result;
use tempfile::SpooledTempFile;

/// Up to so many bytes no file is made.
const IN_MEMORY: usize = 1 << 20;

/// Where answers lie.
pub(super) struct Shelf(Mutex<SpooledTempFile>);

/// Where one answer lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Place {
    from: u64,
    bytes: u64,
}

impl Shelf {
    pub(super) fn new() -> Self {
        Self(Mutex::new(SpooledTempFile::new(IN_MEMORY)))
    }

    /// Sets an answer aside.
    pub(super) fn put(&self, answer: &str) -> Result<Place> {
        let mut file = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let put = |file: &mut SpooledTempFile| {
            let from = file.seek(SeekFrom::End(0))?;
            file.write_all(answer.as_bytes())?;
            let bytes = answer.len() as u64;
            Ok(Place { from, bytes })
        };
        put(&mut file).map_err(set_aside)
    }

    /// Writes an answer out.
    pub(super) fn tell(&self, place: Place, out: &mut impl Write) -> io::Result<()> {
        let mut file = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let lost = |error: io::Error| {
            let what = format!("an answer that was set aside could not be read again: {error}");
            io::Error::other(what)
        };
        file.seek(SeekFrom::Start(place.from)).map_err(lost)?;
        let mut left = Read::take(&mut *file, place.bytes);
        let mut piece = [0; 1 << 14];
        loop {
            match left.read(&mut piece).map_err(lost)? {
                0 => return Ok(()),
                bytes => out.write_all(&piece[..bytes])?,
            }
        }
    }
}

fn set_aside(error: io::Error) -> anyhow::Error {
    let place = std::env::temp_dir();
    anyhow::Error::new(error).context(format!(
        "an answer could not be set aside in {}; make room there, or name another directory in TMPDIR",
        place.display()
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_come_back_in_any_order_from_memory_and_from_a_file() {
        let shelf = Shelf::new();
        let answers: Vec<String> = (0..8)
            .map(|n| format!("{n}").repeat(IN_MEMORY / 4))
            .collect();
        let put = |answer: &String| shelf.put(answer).expect("there is room");
        let places: Vec<Place> = answers.iter().map(put).collect();
        for n in [5, 0, 7, 7, 3] {
            let mut told = Vec::new();
            shelf.tell(places[n], &mut told).expect("it lies there");
            assert!(told == answers[n].as_bytes(), "answer {n}");
        }
    }
}
