//! How far the reading of long logs has come: a line on stderr, where that is a terminal.
//!
//! Must not know: what is read.

use std::io::{self, IsTerminal as _, Read, Write as _};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Nothing is said before.
const QUIET: Duration = Duration::from_secs(1);
/// Nor more often.
const OFTEN: Duration = Duration::from_millis(500);

/// How much of all files was read.
#[derive(Debug)]
pub(crate) struct Progress {
    /// Bytes of all files; 0 if not known.
    total: u64,
    /// Bytes of the files that came before.
    before: AtomicU64,
    /// Bytes of the file that is read, as it lies on the disk.
    here: Arc<AtomicU64>,
    /// Whether the file counts its bytes itself.
    counted: AtomicBool,
    shown: Option<Mutex<Shown>>,
}

#[derive(Debug)]
struct Shown {
    began: Instant,
    last: Option<Instant>,
}

impl Progress {
    pub(crate) fn new(total: u64) -> Self {
        let shown = io::stderr().is_terminal().then(|| {
            Mutex::new(Shown {
                began: Instant::now(),
                last: None,
            })
        });
        Self {
            total,
            before: AtomicU64::new(0),
            here: Arc::new(AtomicU64::new(0)),
            counted: AtomicBool::new(false),
            shown,
        }
    }

    /// A file of text begins; what is read from it is counted.
    pub(crate) fn text<R: Read>(&self, file: R) -> Counted<R> {
        self.next_file(true);
        Counted {
            file,
            read: Arc::clone(&self.here),
        }
    }

    /// A file in columns begins.
    pub(crate) fn columns(&self) {
        self.next_file(false);
    }

    fn next_file(&self, counted: bool) {
        let read = self.here.swap(0, Ordering::Relaxed);
        self.before.fetch_add(read, Ordering::Relaxed);
        self.counted.store(counted, Ordering::Relaxed);
    }

    /// Some more was read, and of a file in columns so much in all.
    pub(crate) fn tell(&self, bytes: u64) {
        if !self.counted.load(Ordering::Relaxed) {
            self.here.store(bytes, Ordering::Relaxed);
        }
        let Some(shown) = &self.shown else { return };
        let mut shown = shown.lock().unwrap_or_else(PoisonError::into_inner);
        let now = Instant::now();
        let passed = now.duration_since(shown.began);
        let recent = shown.last.is_some_and(|last| now < last + OFTEN);
        if passed < QUIET || recent {
            return;
        }
        shown.last = Some(now);
        let done = self.before.load(Ordering::Relaxed) + self.here.load(Ordering::Relaxed);
        let line = line(done, self.total, passed);
        // Words that nobody may see are no fault.
        let _ = write!(io::stderr(), "\r{line}\x1b[K");
    }

    /// Takes the line away.
    pub(crate) fn end(&self) {
        let Some(shown) = &self.shown else { return };
        let shown = shown.lock().unwrap_or_else(PoisonError::into_inner);
        if shown.last.is_some() {
            let _ = write!(io::stderr(), "\r\x1b[K");
        }
    }
}

fn line(done: u64, total: u64, passed: Duration) -> String {
    let rate = done as f64 / 1e6 / passed.as_secs_f64().max(1e-3);
    if total == 0 {
        return format!("read {:.0} MB, {rate:.0} MB/s", done as f64 / 1e6);
    }
    let share = 100.0 * done as f64 / total as f64;
    format!("read {:.0} %, {rate:.0} MB/s", share.min(100.0))
}

/// Counts what is read.
pub(crate) struct Counted<R> {
    file: R,
    read: Arc<AtomicU64>,
}

impl<R: Read> Read for Counted<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let read = self.file.read(into)?;
        self.read.fetch_add(read as u64, Ordering::Relaxed);
        Ok(read)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_says_share_and_rate() {
        let two = Duration::from_secs(2);
        assert_eq!(line(500_000_000, 2_000_000_000, two), "read 25 %, 250 MB/s");
        assert_eq!(line(500_000_000, 0, two), "read 500 MB, 250 MB/s");
    }

    #[test]
    fn what_is_read_is_counted_over_files() {
        let progress = Progress::new(0);
        let mut all = Vec::new();
        for text in ["abc", "de"] {
            progress
                .text(text.as_bytes())
                .read_to_end(&mut all)
                .expect("from memory");
        }
        progress.columns();
        progress.tell(7);
        let done = progress.before.load(Ordering::Relaxed) + progress.here.load(Ordering::Relaxed);
        assert_eq!(done, 12);
    }
}
