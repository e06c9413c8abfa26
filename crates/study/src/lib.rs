//! The log study: from a logger's file to figures.
//!
//! A log is `time` and columns of readings, at intervals of seconds to minutes, over a week or a
//! year. It streams through three parts, and memory does not grow with its length:
//!
//! - [`read`](mod@read) turns bytes into times and SI values, on every core;
//! - `clean` finds what must not be counted: gaps, repeats, a clock set back, channels that stuck
//!   or stood at their end; everything that it leaves out is told;
//! - `reduce` makes the figures of each local day, all at once in one pass.
//!
//! Or its rows, put in order, are handed on as they are: [`pass_log`]; or rounds are taken off it, for
//! the judging of rounds: [`read_looks`].
//!
//! The figures do not depend on how the bytes were cut into blocks or on how many cores worked: the
//! blocks are put back in order, and every sum is taken row by row.
//!
//! Must not know: paths, databases, HTTP, how figures are shown.
#![warn(missing_docs)]

mod channel;
mod clean;
mod figures;
mod findings;
mod forward;
mod looks;
mod options;
mod pass;
pub mod read;
mod reduce;
mod sink;
mod whole;

use station::file::problem::Problem;
use station::model::Station;

pub use channel::Channel;
pub use clean::left_out::{LeftOut, Why};
pub use figures::{
    Band95, ChannelDays, CloseUp, CloseUpSlope, ControlBand, Day, Demand, DewPoints, Leakage,
    LeakageMethod, Levels, LevelsFrom, MachineDay, MachineDays, MachineHour, MachineTotals, Period,
    Pressures, RejectedCell, STATES, SourceRead, State, StationFigures, Storage, Study, plain,
};
pub use looks::{Beside, Looks, read_looks};
pub use options::{LogHolds, LogOptions, LogSource};
pub use pass::{LogColumn, LogRows, Passed, log_columns, pass_log};
pub use read::dates::DateOrder;
pub use read::table;

/// Reads logs in the order of time, those of one time together, and reduces them to the figures of
/// each day.
///
/// # Errors
/// What makes a log unusable: every problem of its header at once, a date order that cannot be
/// told, a file that is no text. Nothing is judged then. A bad cell is no error: it is left out and
/// listed in the study.
pub fn read_log(
    sources: impl IntoIterator<Item = LogSource>,
    station: &Station,
    options: &LogOptions<'_>,
) -> Result<Study, Vec<Problem>> {
    let mut sink = sink::Sink::new(station);
    let told = read::sources(sources, station, options, &mut sink)?;
    sink.finish(told)
}
