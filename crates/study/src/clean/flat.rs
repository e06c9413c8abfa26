//! Channels that stand still: the same value for longer than a sensor can measure it.
//!
//! A run of equal values is found by stepping ahead: between two places as far apart as the
//! shortest suspicious run there is one only if the values agree back from the later to the
//! earlier, so that nearly nothing is looked at in a channel that moves. A run that reaches the end
//! of a batch goes on into the next; the caller keeps a copy of its sums from before it.
//!
//! Must not know: sums, files.

use std::ops::Range;

/// Equal values for a shorter time are never suspicious, µs.
const SHORTEST: i64 = 3600 * 1_000_000;

/// What a channel has to keep to.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rule {
    /// So many equal values, at least.
    pub(crate) rows: usize,
    /// Values up to here may stand still: a machine that is off.
    pub(crate) off: f64,
}

/// The run at the end of what was seen so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Run {
    pub(crate) value: f64,
    pub(crate) from: i64,
    pub(crate) to: i64,
    pub(crate) rows: u64,
    /// Whether it is known to be one that is left out.
    pub(crate) left_out: bool,
}

/// What was found in a batch.
#[derive(Debug, Default)]
pub(crate) struct Found {
    /// Rows to be left out, in order.
    pub(crate) ranges: Vec<Range<usize>>,
    /// Runs that have ended, to be told.
    pub(crate) ended: Vec<Run>,
    /// The run from before turned out to be one: what was summed of it must be taken back.
    pub(crate) take_back: bool,
    /// Where the last run begins, if a copy of the sums must be kept from before it.
    pub(crate) keep_from: Option<usize>,
}

fn equal(a: f64, b: f64) -> bool {
    a.to_bits() == b.to_bits()
}

impl Run {
    fn suspicious(&self, rule: Rule) -> bool {
        let value = self.value;
        let off = value.abs() <= 0.0 || value <= rule.off;
        self.rows >= rule.rows as u64 && self.to - self.from >= SHORTEST && !off
    }
}

fn run(times: &[i64], values: &[f64], range: &Range<usize>) -> Option<Run> {
    Some(Run {
        value: *values.get(range.start)?,
        from: *times.get(range.start)?,
        to: *times.get(range.end.checked_sub(1)?)?,
        rows: (range.end - range.start) as u64,
        left_out: false,
    })
}

/// Looks at a batch of a channel; `last` is the run at the end of the batch before, and becomes that
/// of this one.
pub(crate) fn find(
    last: &mut Option<Run>,
    times: &[i64],
    values: &[f64],
    rule: Rule,
    found: &mut Found,
) {
    found.ranges.clear();
    found.ended.clear();
    (found.take_back, found.keep_from) = (false, None);
    let length = values.len();
    let mut at = 0;
    if let Some(run) = last {
        at = values.iter().take_while(|&&v| equal(v, run.value)).count();
        if at > 0 {
            run.rows += at as u64;
            run.to = times.get(at - 1).copied().unwrap_or(run.to);
            let before = run.left_out;
            run.left_out |= run.suspicious(rule);
            found.take_back = run.left_out && !before;
            if run.left_out {
                found.ranges.push(0..at);
            }
        }
        if at < length && run.left_out {
            found.ended.push(*run);
        }
    }
    if at == length {
        return;
    }
    let mut start = at;
    while start + rule.rows <= length {
        let end = start + rule.rows;
        let Some(&value) = values.get(end - 1) else {
            break;
        };
        let same = values.get(start..end).unwrap_or_default().iter().rev();
        let same = same.take_while(|&&v| equal(v, value)).count();
        if same < rule.rows {
            start = end - same;
            continue;
        }
        let more = values.get(end..).unwrap_or_default();
        let end = end + more.iter().take_while(|&&v| equal(v, value)).count();
        let range = start..end;
        if let Some(run) = run(times, values, &range)
            && end < length
            && run.suspicious(rule)
        {
            found.ended.push(run);
            found.ranges.push(range);
        }
        start = end;
    }
    let Some(&value) = values.last() else {
        return;
    };
    let fresh = values.get(at..).unwrap_or_default();
    let tail = length - fresh.iter().rev().take_while(|&&v| equal(v, value)).count();
    let range = tail..length;
    *last = run(times, values, &range);
    if let Some(run) = last {
        run.left_out = run.suspicious(rule);
        if run.left_out {
            found.ranges.push(range);
        }
    }
    found.keep_from = Some(tail);
}
