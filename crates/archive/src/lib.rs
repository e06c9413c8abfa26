//! Logs in Parquet, an open format for long tables: read for the study, and written day by day.
//!
//! - [`read::open`] gives the rows of a file column by column, some thousand at a time, so that
//!   memory does not grow with the file nor with its row groups;
//! - [`write::DayWriter`] writes rows that come in the order of time.
//!
//! A file is recognised by its first bytes, never by its name.
//!
//! Must not know: what the columns mean, paths, units.
#![warn(missing_docs)]

mod kind;
mod pages;
pub mod read;
mod shared;
pub mod write;

/// How many bytes [`is_parquet`] needs.
pub const FIRST_BYTES: usize = 4;

/// Whether these are the first bytes of a file in Parquet.
#[must_use]
pub fn is_parquet(first: &[u8]) -> bool {
    first.starts_with(b"PAR1") || first.starts_with(b"PARE")
}
