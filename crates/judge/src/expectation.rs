//! What was expected at the last round, beside what was read.
//!
//! Must not know: kinds of finding.

use station::point::PointId;

use crate::context::Context;

/// One point of the last round. SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Expectation {
    /// Which point.
    pub id: PointId,
    /// What was read.
    pub read: f64,
    /// Low end of the 95 % band.
    pub low: f64,
    /// The expected value.
    pub mid: f64,
    /// High end of the 95 % band.
    pub high: f64,
    /// (read − mid)/σ.
    pub deviations: f64,
    /// The largest contribution to the band, in words.
    pub mostly: Option<String>,
}

pub(crate) fn of_the_last_round(ctx: &Context<'_>) -> Vec<Expectation> {
    ctx.residuals
        .values()
        .filter(|r| r.look == 0)
        .map(|r| Expectation {
            id: r.id,
            read: r.read,
            low: r.band.low(),
            mid: r.band.mid,
            high: r.band.high(),
            deviations: r.z,
            mostly: r.band.from.first().map(|(what, _)| what.clone()),
        })
        .collect()
}
