//! The JSON shapes of the command line, version 1. The only place that serialises.
//!
//! They may be extended, not broken. Must not know: how anything is computed.

mod expected;
mod judged;
#[cfg(feature = "study")]
mod studied;

pub(crate) use expected::expected;
pub(crate) use judged::{among_several, judged, several};
#[cfg(feature = "study")]
pub(crate) use studied::studied;

use anyhow::{Context, Result};
use serde::Serialize;

/// The version of these shapes.
const VERSION: u32 = 1;

fn text_of(value: &impl Serialize) -> Result<String> {
    let mut text =
        serde_json::to_string_pretty(value).context("the answer could not be written as JSON")?;
    text.push('\n');
    Ok(text)
}

/// A low, a middle and a high value.
#[derive(Debug, Serialize)]
struct Triple {
    low: f64,
    mid: f64,
    high: f64,
}

impl Triple {
    fn of(band: &judge::Band, scale: impl Fn(f64) -> f64) -> Self {
        Self {
            low: scale(band.low()),
            mid: scale(band.mid),
            high: scale(band.high()),
        }
    }
}
