//! A stretch in which no machine changes its state, and the straight line through its pressures.
//!
//! Must not know: volumes, flows.

/// Least squares of pressure over time, one reading after another; pressures are counted from the
/// first, so that sums of squares stay small.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Fit {
    pub(crate) count: u64,
    first: f64,
    time: f64,
    pressure: f64,
    times: f64,
    both: f64,
    pressures: f64,
}

impl Fit {
    /// One reading more: seconds since the start of the stretch, Pa.
    #[inline(always)]
    pub(crate) fn add(&mut self, time: f64, pressure: f64) {
        if self.count == 0 {
            self.first = pressure;
        }
        let p = pressure - self.first;
        self.count += 1;
        self.time += time;
        self.pressure += p;
        self.times += time * time;
        self.both += time * p;
        self.pressures += p * p;
    }

    /// Its mean, Pa.
    pub(crate) fn mean(&self) -> f64 {
        self.first + self.pressure / self.count.max(1) as f64
    }

    /// The slope, Pa/s, and its standard deviation; `None` with fewer than three readings.
    pub(crate) fn slope(&self) -> Option<(f64, f64)> {
        let n = self.count as f64;
        if self.count < 3 {
            return None;
        }
        let times = self.times - self.time * self.time / n;
        if times <= 0.0 {
            return None;
        }
        let both = self.both - self.time * self.pressure / n;
        let pressures = self.pressures - self.pressure * self.pressure / n;
        let slope = both / times;
        let left = (pressures - slope * both).max(0.0);
        Some((slope, (left / (n - 2.0) / times).sqrt()))
    }

    /// The line's value at 0 s and its slope, from two readings on.
    pub(crate) fn line(&self) -> Option<(f64, f64)> {
        let n = self.count as f64;
        let times = self.times - self.time * self.time / n;
        let slope = (self.both - self.time * self.pressure / n) / times;
        let start = self.mean() - slope * self.time / n;
        (self.count >= 2 && times > 0.0).then_some((start, slope))
    }

    /// The line's value at a time.
    pub(crate) fn at(&self, time: f64) -> Option<f64> {
        let (slope, _) = self.slope()?;
        Some(self.mean() + slope * (time - self.time / self.count as f64))
    }
}

/// One stretch.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Phase {
    /// µs.
    pub(crate) from: i64,
    pub(crate) to: i64,
    /// Which machines delivered, one bit each; those from the 64th on are not told apart.
    pub(crate) loaded: u64,
    /// Whether all that delivered gave all that they could.
    pub(crate) whole: bool,
    /// Whether all of it lies outside working hours.
    pub(crate) off_shift: bool,
    /// Whether it begins, and ends, with a machine's change of state.
    pub(crate) begins: bool,
    pub(crate) ends: bool,
    /// Whether the pressure was lost in it, longer than a gap.
    pub(crate) torn: bool,
    pub(crate) fit: Fit,
    /// From when the fit counts its seconds, µs.
    pub(crate) fit_from: i64,
}

impl Phase {
    pub(crate) fn seconds(&self) -> f64 {
        (self.to - self.from) as f64 * 1e-6
    }

    /// The line's value at a time, Pa above atmosphere.
    pub(crate) fn at(&self, time: i64) -> Option<f64> {
        self.fit.at((time - self.fit_from) as f64 * 1e-6)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_is_found() {
        let mut fit = Fit::default();
        for i in 0..20 {
            let t = f64::from(i);
            fit.add(t, 7.0e5 - 120.0 * t + if i % 2 == 0 { 30.0 } else { -30.0 });
        }
        let (slope, sigma) = fit.slope().expect("twenty readings");
        assert!(
            (slope + 120.0).abs() < 3.0 * sigma && sigma < 2.0,
            "{slope} {sigma}"
        );
        assert!((fit.at(0.0).expect("twenty") - 7.0e5).abs() < 20.0);
        assert!(Fit::default().slope().is_none());
    }
}
