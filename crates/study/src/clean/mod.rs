//! What must not be counted, found and told: rows out of order, gaps, channels that stand still.
//!
//! Must not know: figures.

pub(crate) mod flat;
pub(crate) mod learn;
pub(crate) mod left_out;
pub(crate) mod order;
