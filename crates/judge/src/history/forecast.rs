//! When a limit is reached: the health drawn forward, put through the model month by month.
//!
//! P(reached by t) = max over d ≤ t of Φ((x̂(d) − x*(d))/σ(d)), x̂(d) = x + a d,
//! σ(d)² = σ² + (σ_a d)² + (s a d)² + q d + σ*². Earliest, likely and latest are where it passes 10,
//! 50 and 90 %. Between the middles of two months x* goes straight.
//!
//! Must not know: what x is a health of.

use jiff::civil::Date;
use series::distribution::normal_cdf;

/// No date is told further ahead than this.
pub(crate) const HORIZON_DAYS: u32 = 730;
/// Days between two looks ahead.
const STRIDE_DAYS: usize = 3;
/// A growth goes on as it was, give or take this share, beyond what the readings leave open (from
/// memory).
const PACE_SIGMA: f64 = 0.08;
/// What a health wanders in a day, as variance in squared units of its size.
const WANDERS: f64 = 0.7e-4;

/// A health on its way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Path {
    pub(crate) now: f64,
    pub(crate) sigma: f64,
    pub(crate) a_day: f64,
    /// What the readings leave open of the growth.
    pub(crate) a_day_sigma: f64,
}

impl Path {
    /// What is expected in so many days, and its standard deviation.
    pub(crate) fn in_days(&self, d: f64) -> (f64, f64) {
        let variance = self.sigma.powi(2)
            + (self.a_day_sigma * d).powi(2)
            + (PACE_SIGMA * self.a_day * d).powi(2)
            + WANDERS * d;
        (self.now + self.a_day * d, variance.sqrt())
    }
}

/// What a health must be for the limit, and how well that is known, in the health's units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Need {
    pub(crate) at: f64,
    pub(crate) sigma: f64,
}

/// Dates of reaching a limit; `None` for not within two years.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Dates {
    pub(crate) earliest: Option<Date>,
    pub(crate) likely: Option<Date>,
    pub(crate) latest: Option<Date>,
}

/// The standard normal distribution's Φ; beyond the numbers it takes, 0 or 1.
pub(crate) fn normal(x: f64) -> f64 {
    normal_cdf(x).unwrap_or(f64::from(u8::from(x > 0.0)))
}

/// Dates on which the health passes what each month (0 is January) stands; `needs` is `None` for a
/// month in which no health reaches the limit.
pub(crate) fn passage(path: Path, today: Date, needs: impl Fn(usize) -> Option<Need>) -> Dates {
    let by_month: [Option<Need>; 12] = core::array::from_fn(needs);
    let mut dates = Dates::default();
    let mut reached: f64 = 0.0;
    for ahead in (0..=HORIZON_DAYS).step_by(STRIDE_DAYS) {
        let Ok(date) = today.checked_add(jiff::Span::new().days(i64::from(ahead))) else {
            break;
        };
        let Some(need) = on(&by_month, date) else {
            continue;
        };
        let d = f64::from(ahead);
        let (expected, sigma) = path.in_days(d);
        let spread = sigma.hypot(need.sigma).max(1.0e-9);
        reached = reached.max(normal((expected - need.at) / spread));
        for (slot, share) in [
            (&mut dates.earliest, 0.1),
            (&mut dates.likely, 0.5),
            (&mut dates.latest, 0.9),
        ] {
            if reached >= share {
                slot.get_or_insert(date);
            }
        }
    }
    dates
}

/// What the health must be on a date: straight between the middles of two months.
fn on(by_month: &[Option<Need>; 12], date: Date) -> Option<Need> {
    let month = usize::from(date.month().unsigned_abs()).clamp(1, 12) - 1;
    let from_middle = (f64::from(date.day()) - 15.5) / 30.44;
    let next = if from_middle < 0.0 { 11 } else { 1 };
    let (here, there) = (by_month[month], by_month[(month + next) % 12]);
    match (here, there) {
        (Some(a), Some(b)) => {
            let share = from_middle.abs().min(0.5);
            Some(Need {
                at: a.at + (b.at - a.at) * share,
                sigma: a.sigma + (b.sigma - a.sigma) * share,
            })
        }
        _ => here,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_normal_distribution_at_published_points() {
        // Published: Φ(1) 0.841345, Φ(1.96) 0.975002, Φ(−1.2816) 0.1.
        assert!((normal(1.0) - 0.841_345).abs() < 1e-6);
        assert!((normal(1.96) - 0.975_002).abs() < 1e-6);
        assert!((normal(-1.281_552) - 0.1).abs() < 1e-6);
    }

    #[test]
    fn a_steady_growth_reaches_its_limit_when_it_should_and_a_cool_month_hides_it() {
        let today = jiff::civil::date(2026, 1, 1);
        let path = Path {
            now: 1.0,
            sigma: 0.05,
            a_day: 0.01,
            a_day_sigma: 0.0,
        };
        let two = Some(Need {
            at: 2.0,
            sigma: 0.0,
        });
        let dates = passage(path, today, |_| two);
        let likely = dates.likely.expect("within two years");
        let days = today.until(likely).expect("a span").get_days();
        assert!((90..=110).contains(&days), "{days}");
        assert!(dates.earliest < dates.likely && dates.likely < dates.latest);
        // Only July feels it.
        let summer = passage(path, today, |month| two.filter(|_| month == 6));
        assert_eq!(summer.likely.map(|d| d.month()), Some(7));
        assert_eq!(passage(path, today, |_| None), Dates::default());
    }
}
