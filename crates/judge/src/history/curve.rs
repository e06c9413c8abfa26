//! One loss of cooling as the model bends it: an even share of the clean cooling goes each day, and the
//! warmer it gets for it the faster each reading rises.
//!
//! The search takes readings as straight in what is lost; over a winter in which a third goes they are not.
//! Here the share lost is sought itself, by Gauss-Newton steps from each beginning (textbook), and beginnings
//! are averaged by their evidence (Laplace's approximation, textbook).
//!
//! Must not know: limits, sentences.

use super::causes::Moves;
use super::change::{Slot, evidence_of_all};
use super::shift::{Course, Evidence};
use super::stream::{HALF_STEPS, PROBE, Part, Sample, Stream};

/// The most that a loss may come to, as a share of the clean cooling (from memory).
const MOST: f64 = 0.85;
/// Steps towards the likeliest size: on invented years the fourth moved it by less than a tenth of its standard
/// deviation (from memory).
const STEPS: usize = 4;

/// A loss of cooling, in shares of the clean cooling.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Curve {
    /// The likeliest day on which it began.
    pub(crate) began: f64,
    /// What is lost now, and its standard deviation by the readings alone: how well the model knows what a loss does
    /// widens the dates.
    pub(crate) lost: f64,
    pub(crate) sigma: f64,
    /// What is lost a day, likewise.
    pub(crate) a_day: f64,
    pub(crate) a_day_sigma: f64,
    /// ln of the likelihood ratio of the likeliest course over no loss.
    pub(crate) odds: f64,
}

/// What a share that is lost does to a reading, and how fast that grows with the share: a parabola in steps of a
/// fifth, through one of them and a loss of half.
fn moved(part: Part, sample: &Sample, lost: f64) -> (f64, f64) {
    let by_half = match part {
        Part::OilSide => Part::OilSideByHalf,
        _ => Part::CoolingAirByHalf,
    };
    let (one, half) = (Stream::feels(part, sample), Stream::feels(by_half, sample));
    let bends = (half - one) / (HALF_STEPS - 1.0);
    let straight = one - bends;
    let a_step = -PROBE.ln();
    let x = -(1.0 - lost).ln() / a_step;
    let grows = (straight + 2.0 * bends * x) / (a_step * (1.0 - lost));
    (straight * x + bends * x * x, grows)
}

/// One course with its size.
struct Fit {
    course: Course,
    /// Share lost for each unit of the course's time: a day, or at once.
    each: f64,
    sigma: f64,
    odds: f64,
}

/// Units of a course's time that have gone by on a day.
fn gone(course: Course, day: f64) -> f64 {
    match course {
        Course::Step(_) => course.at(day),
        Course::Ramp(from) => (day - from).max(0.0),
    }
}

/// The loss of a part in what other changes leave of the readings; `courses` are those worth trying.
pub(super) fn fit(
    slots: &[Slot],
    part: Part,
    courses: &[Course],
    span: (f64, f64),
    now: f64,
) -> Option<Curve> {
    // Evidence of an effect of unit size.
    let evidence =
        |of: &dyn Fn(&Sample, f64) -> f64| evidence_of_all(slots, span, |_, s, day| of(s, day));
    let one = |&course: &Course| {
        let all = gone(course, now);
        if all <= 0.0 {
            return None;
        }
        let share = |each: f64, day: f64| (each * gone(course, day)).min(MOST);
        let (mut each, mut left) = (0.2 / all, Evidence::default());
        for _ in 0..STEPS {
            let does = |sample: &Sample, day: f64| moved(part, sample, share(each, day)).0;
            let grows = |sample: &Sample, day: f64| {
                moved(part, sample, share(each, day)).1 * gone(course, day)
            };
            let both = |sample: &Sample, day: f64| {
                let (does, grows) = moved(part, sample, share(each, day));
                does + grows * gone(course, day)
            };
            let (e, g, b) = (evidence(&does), evidence(&grows), evidence(&both));
            if g.a <= 0.0 {
                return None;
            }
            // ⟨E, g⟩ by the squares of E, g and E + g.
            let common = 0.5 * (b.a - e.a - g.a);
            each = (each + (g.b - common) / g.a).clamp(1.0e-6 / all, MOST / all);
            left = g;
        }
        let e = evidence(&|sample, day| moved(part, sample, share(each, day)).0);
        Some(Fit {
            course,
            each,
            sigma: left.a.sqrt().recip(),
            odds: e.b - 0.5 * e.a,
        })
    };
    let fits: Vec<Fit> = courses.iter().filter_map(one).collect();
    // A share of nought to one is as likely before anything is read: ln of what each course leaves of that.
    let weight = |fit: &Fit| fit.odds + (fit.sigma * gone(fit.course, now)).ln();
    let top = fits.iter().map(weight).fold(f64::NEG_INFINITY, f64::max);
    let likeliest = fits.iter().max_by(|a, b| weight(a).total_cmp(&weight(b)))?;
    let mut sum = [0.0; 5];
    for fit in &fits {
        let all = gone(fit.course, now);
        let (lost, sigma) = (fit.each * all, fit.sigma * all);
        let (a_day, a_day_sigma) = match fit.course {
            Course::Ramp(_) => (fit.each, fit.sigma),
            Course::Step(_) => (0.0, 0.0),
        };
        let terms = [
            1.0,
            lost,
            lost * lost + sigma * sigma,
            a_day,
            a_day * a_day + a_day_sigma * a_day_sigma,
        ];
        let w = (weight(fit) - top).exp();
        for (s, t) in sum.iter_mut().zip(terms) {
            *s += w * t;
        }
    }
    let [w, lost, lost_square, a_day, a_day_square] = sum;
    let (lost, a_day) = (lost / w, a_day / w);
    Some(Curve {
        began: likeliest.course.begins(),
        lost,
        sigma: (lost_square / w - lost * lost).max(0.0).sqrt(),
        a_day,
        a_day_sigma: (a_day_square / w - a_day * a_day).max(0.0).sqrt(),
        odds: likeliest.odds,
    })
}

/// The part whose loss bends so, if a cause is one.
pub(super) fn bends(moves: Moves) -> Option<Part> {
    match moves {
        Moves::Model(
            part
            @ (Part::CoolingAir | Part::CoolingAirByHalf | Part::OilSide | Part::OilSideByHalf),
        ) => Some(part.itself()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A reading that a fifth lost warms by 2 K and a half by 10 K.
    fn sample() -> Sample {
        let mut feels = [0.0; super::super::stream::FELT];
        (feels[0], feels[6]) = (2.0, 10.0 / HALF_STEPS);
        Sample {
            feels,
            ..Sample::nothing()
        }
    }

    #[test]
    fn it_goes_through_a_fifth_and_a_half() {
        let at = |lost| moved(Part::CoolingAir, &sample(), lost).0;
        assert!(at(0.0).abs() < 1e-12);
        assert!((at(0.2) - 2.0).abs() < 1e-9 && (at(0.5) - 10.0).abs() < 1e-5);
    }

    #[test]
    fn its_slope_is_that_of_small_steps() {
        for lost in [0.05, 0.3, 0.6] {
            let at = |x| moved(Part::CoolingAir, &sample(), x).0;
            let by_steps = (at(lost + 1e-6) - at(lost - 1e-6)) / 2e-6;
            let slope = moved(Part::CoolingAir, &sample(), lost).1;
            assert!((slope / by_steps - 1.0).abs() < 1e-6, "{lost}");
        }
    }
}
