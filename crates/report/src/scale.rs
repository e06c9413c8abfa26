//! Axes: from values to places on the paper, with ticks at plain numbers.
//!
//! Must not know: units, what the values mean.

/// A straight vertical axis; larger values lie higher.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Scale {
    low: f64,
    high: f64,
    top: f64,
    bottom: f64,
    /// Values at which the axis is numbered.
    pub(crate) ticks: Vec<f64>,
    /// Decimals that the ticks need.
    pub(crate) decimals: usize,
}

impl Scale {
    /// An axis that holds all finite values with a little air, over at least `least`.
    pub(crate) fn holding(values: &[f64], least: f64, top: f64, bottom: f64) -> Self {
        let finite = values.iter().copied().filter(|v| v.is_finite());
        let (mut low, mut high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(v), h.max(v))
        });
        if low > high {
            (low, high) = (0.0, least);
        }
        if high - low < least {
            let middle = 0.5 * (low + high);
            (low, high) = (middle - 0.5 * least, middle + 0.5 * least);
        }
        let air = 0.07 * (high - low);
        (low, high) = (low - air, high + air);
        let (step, decimals) = nice_step((high - low) / 5.0);
        let first = (low / step).ceil() as i64;
        let last = (high / step).floor() as i64;
        let ticks = (first..=last).take(20).map(|i| i as f64 * step).collect();
        Self {
            low,
            high,
            top,
            bottom,
            ticks,
            decimals,
        }
    }

    /// Where a value lies, px from the top of the paper; never off the axis.
    pub(crate) fn y(&self, value: f64) -> f64 {
        let share = ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        self.bottom - share * (self.bottom - self.top)
    }

    /// Where a value lies, px, off the axis too, though never far.
    pub(crate) fn y_beyond(&self, value: f64) -> f64 {
        let share = ((value - self.low) / (self.high - self.low)).clamp(-3.0, 4.0);
        self.bottom - share * (self.bottom - self.top)
    }
}

/// The step 1, 2 or 5 times a power of ten next above, and its decimals.
fn nice_step(rough: f64) -> (f64, usize) {
    let power = rough.abs().max(1.0e-9).log10().floor();
    let ten = 10.0_f64.powf(power);
    let share = rough / ten;
    let step = [1.0, 2.0, 5.0]
        .into_iter()
        .find(|s| share <= *s + 1.0e-9)
        .unwrap_or(10.0)
        * ten;
    (
        step,
        (-(step + step * 1.0e-9).log10().floor()).max(0.0) as usize,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_plain_and_inside() {
        for (low, high) in [
            (6.2, 7.5),
            (-40.0, 92.0),
            (0.0, 0.0),
            (88.1, 111.0),
            (6.999, 7.001),
        ] {
            let scale = Scale::holding(&[low, high, f64::NAN], 0.2, 0.0, 200.0);
            assert!(
                (2..=9).contains(&scale.ticks.len()),
                "{low} {high}: {:?}",
                scale.ticks
            );
            for t in &scale.ticks {
                assert!((0.0..=200.0).contains(&scale.y(*t)));
                let shown: f64 = format!("{:.*}", scale.decimals, t)
                    .parse()
                    .unwrap_or(f64::NAN);
                assert!((shown - t).abs() < 1.0e-9, "{t} is not shown whole");
            }
            assert!(scale.y(high) <= scale.y(low));
        }
        assert!(Scale::holding(&[], 1.0, 0.0, 10.0).y(f64::INFINITY).abs() < 1.0e-9);
    }
}
