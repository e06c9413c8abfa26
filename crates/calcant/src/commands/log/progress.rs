//! How far the reading of long logs has come: a line on stderr, where that is a terminal.
//!
//! Must not know: what is read.

use std::io::{self, IsTerminal as _, Write as _};
use std::sync::{Mutex, PoisonError};
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
        Self { total, shown }
    }

    /// So many bytes of all files were read.
    pub(crate) fn tell(&self, done: u64) {
        let Some(shown) = &self.shown else { return };
        let mut shown = shown.lock().unwrap_or_else(PoisonError::into_inner);
        let now = Instant::now();
        let passed = now.duration_since(shown.began);
        let recent = shown.last.is_some_and(|last| now < last + OFTEN);
        if passed < QUIET || recent {
            return;
        }
        shown.last = Some(now);
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_says_share_and_rate() {
        let two = Duration::from_secs(2);
        assert_eq!(line(500_000_000, 2_000_000_000, two), "read 25 %, 250 MB/s");
        assert_eq!(line(500_000_000, 0, two), "read 500 MB, 250 MB/s");
    }
}
