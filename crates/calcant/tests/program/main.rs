//! The program as its users meet it: the built binary in a fresh folder, its data, its words, its
//! exit status.
//!
//! One binary for all of it, because each would link the program's crates again.

mod commands;
mod documents;
mod errors;
mod harness;
mod help;
mod json;
#[cfg(feature = "study")]
mod judge_log;
#[cfg(feature = "study")]
mod log;
mod numbers;
#[cfg(feature = "study")]
#[path = "../../../report/tests/paged/mod.rs"]
mod paged;
mod report;
mod shape;
mod small;
mod status;
#[cfg(feature = "study")]
mod study;
#[cfg(feature = "study")]
mod study_page;
mod text;
