//! What a picture of a drift shows: readings beside what is to be expected at the part's own level,
//! the work done, the limits, and the days to come.
//!
//! Must not know: pixels, colours.

use jiff::Timestamp;

use super::*;
use crate::context::resets;
use crate::{Chart, ChartAhead, ChartReading};

/// 10 and 90 % lie so many standard deviations from the middle (normal distribution, published).
const TENTH: f64 = 1.281_552;
/// Days between two points of what is to come.
const STEP_DAYS: usize = 10;
/// No picture looks further ahead than this, days.
const AHEAD_DAYS: usize = 270;

/// Readings of one stream at their own level; nothing ahead yet. `scatter` is 95 %, in the
/// reading's unit or as a share.
pub(super) fn of_stream(
    ctx: &Context<'_>,
    streams: &Streams,
    stream: &Stream,
    level: Option<&OwnLevel>,
    relative: bool,
    scatter: f64,
) -> Chart {
    let readings = stream
        .samples
        .iter()
        .filter_map(|s| {
            let unit = if relative { s.mid } else { 1.0 };
            let mid = s.mid + level.map_or(0.0, |l| l.of(s)) * unit;
            Some(ChartReading {
                time: moment(s.day)?,
                read: s.read,
                low: mid - scatter * unit,
                mid,
                high: mid + scatter * unit,
            })
        })
        .collect();
    Chart {
        id: stream.id,
        what: stream.no_gauge(),
        readings,
        work: work(ctx, streams, stream.id),
        limits: Vec::new(),
        ahead: Vec::new(),
        ahead_at: String::new(),
    }
}

/// Readings beside a line through them.
pub(super) fn of_line(
    ctx: &Context<'_>,
    streams: &Streams,
    stream: &Stream,
    line: &Wear,
) -> Option<Chart> {
    let last = line.values.last()?.0;
    let half = 1.96 * line.sigma.max(line.scatter);
    let readings = line
        .values
        .iter()
        .filter_map(|(day, value)| {
            let mid = line.at(*day);
            Some(ChartReading {
                time: moment(*day)?,
                read: *value,
                low: mid - half,
                mid,
                high: mid + half,
            })
        })
        .collect();
    let ahead = ahead(last, |d| {
        let sigma = line.sigma.hypot(line.a_day_sigma * d);
        (line.now + line.a_day * d, sigma)
    });
    Some(Chart {
        what: (stream.id.point == Point::FilterDrop).then_some("the drop at rated flow"),
        id: stream.id,
        readings,
        work: work(ctx, streams, stream.id),
        limits: Vec::new(),
        ahead,
        ahead_at: "if it goes on at its newest pace".to_owned(),
    })
}

/// Days to come from a day on; `at` gives the middle and its standard deviation.
pub(super) fn ahead(from: f64, at: impl Fn(f64) -> (f64, f64)) -> Vec<ChartAhead> {
    (0..=AHEAD_DAYS)
        .step_by(STEP_DAYS)
        .filter_map(|d| {
            let (mid, sigma) = at(d as f64);
            Some(ChartAhead {
                time: moment(from + d as f64)?,
                low: mid - TENTH * sigma,
                mid,
                high: mid + TENTH * sigma,
            })
        })
        .collect()
}

/// The same where each quantile goes its own way through the model.
pub(super) fn ahead_through(
    from: f64,
    path: Path,
    reading: impl Fn(f64, Timestamp) -> Option<f64>,
) -> Vec<ChartAhead> {
    (0..=AHEAD_DAYS)
        .step_by(STEP_DAYS)
        .filter_map(|d| {
            let time = moment(from + d as f64)?;
            let (mid, sigma) = path.in_days(d as f64);
            let [a, b, c] =
                [mid - TENTH * sigma, mid, mid + TENTH * sigma].map(|x| reading(x, time));
            let (a, mid, c) = (a?, b?, c?);
            Some(ChartAhead {
                time,
                low: a.min(c),
                mid,
                high: a.max(c),
            })
        })
        .collect()
}

/// A change that grows as it did, as its reading shows it at the newest conditions. `shown` is in
/// the reading's unit.
pub(super) fn grows_on(chart: &mut Chart, stream: &Stream, change: &Change, shown: f64) {
    let (Some(last), Some(newest)) = (chart.readings.last().copied(), stream.samples.back()) else {
        return;
    };
    let per_size = shown / change.size;
    let path = Path {
        now: change.size,
        sigma: change.sigma,
        a_day: change.a_day,
        a_day_sigma: change.a_day_sigma,
    };
    chart.ahead = ahead(newest.day, |d| {
        let (x, sigma) = path.in_days(d);
        (last.mid + x * per_size, (sigma * per_size).abs())
    });
    chart.ahead_at = "at the newest conditions, if it goes on so".to_owned();
}

/// Work that sets this reading back.
fn work(ctx: &Context<'_>, streams: &Streams, id: PointId) -> Vec<(Timestamp, String)> {
    streams
        .work
        .iter()
        .filter(|(_, w)| resets(&w.work, w.on, id))
        .map(|(time, w)| {
            (
                *time,
                format!("{}: {}", ctx.station.id(w.on), w.work.phrase()),
            )
        })
        .collect()
}
