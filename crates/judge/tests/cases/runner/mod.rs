//! Reads a case, judges it and says in plain words where it comes out otherwise.

pub(crate) mod compare;
pub(crate) mod expect;
pub(crate) mod page;
pub(crate) mod run;
pub(crate) mod show;
mod station;
