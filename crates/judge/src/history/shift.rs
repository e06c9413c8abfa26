//! Whether a stream of residuals has shifted: regression with a change at an unknown time.
//!
//! What the model leaves of a healthy machine's readings is a level of its own, a little of weather
//! and load, and noise: r = X β + ε with β ~ N(0, Λ⁻¹). A fault adds δ·g(t; τ): a step or a ramp
//! that begins at τ, weighted by how much the reading feels it. With
//!
//! - A = gᵀV⁻¹g − hᵀM⁻¹h, B = gᵀV⁻¹r − hᵀM⁻¹c, M = XᵀV⁻¹X + Λ, h = XᵀV⁻¹g, c = XᵀV⁻¹r,
//!
//! the evidence for a fault of size δ ~ N(0, 1/π) over none is
//! ln K = ½ B²/(A + π) + ½ ln(π/(A + π)), and δ̂ = B/(A + π).
//! Of a fault that only grows one way the prior is the half of that, twice as dense:
//! ln K gains ln 2Φ(B/√(A + π)).
//! Evidence of several streams that feel the same fault adds up in A and B.
//!
//! Source: linear regression with a conjugate prior (textbook); the generalised likelihood ratio
//! over the time of change (Willsky & Jones 1976, from memory).
//!
//! Must not know: what a stream is of.

use super::forecast::normal;

/// Nuisance terms: level, weather, load, moisture (or a valve's opening), and what bends with the weather.
pub(crate) const NUISANCE: usize = 5;

/// A reading that is not trusted at all is as one whose scatter is ten times the others' (from memory).
const LEAST_TRUST: f64 = 0.01;

/// One residual.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Point {
    /// Days.
    pub(crate) day: f64,
    /// Read less expected.
    pub(crate) residual: f64,
    /// Level (1), and standardised weather and load.
    pub(crate) nuisance: [f64; NUISANCE],
    /// Weight in the fit: 0 leaves it out.
    pub(crate) trust: f64,
}

/// A stream prepared for questions about changes.
#[derive(Debug, Clone)]
pub(crate) struct Prepared {
    points: Vec<Point>,
    variance: f64,
    /// Lower triangle of the Cholesky factor of M.
    factor: [[f64; NUISANCE]; NUISANCE],
    /// XᵀV⁻¹r.
    moment: [f64; NUISANCE],
}

/// A and B of one fault on one or several streams.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Evidence {
    pub(crate) a: f64,
    pub(crate) b: f64,
}

impl Evidence {
    pub(crate) fn and(self, other: Self) -> Self {
        Self {
            a: self.a + other.a,
            b: self.b + other.b,
        }
    }

    /// ln K for a fault whose size has this prior standard deviation; a fault that can only grow one
    /// way (`sign`) has none where the data speak for the other.
    pub(crate) fn log_odds(self, prior_sigma: f64, sign: Option<f64>) -> f64 {
        if sign.is_some_and(|s| s * self.b <= 0.0) {
            return 0.0;
        }
        let pi = 1.0 / (prior_sigma * prior_sigma);
        let either = 0.5 * self.b * self.b / (self.a + pi) + 0.5 * (pi / (self.a + pi)).ln();
        // Half the prior is twice as dense.
        let one_way = |s: f64| (2.0 * normal(s * self.b / (self.a + pi).sqrt())).ln();
        either + sign.map_or(0.0, one_way)
    }

    /// What is left where this stream may feel another size than the others, δ + N(0, τ²): A and B over
    /// 1 + A τ², and what of ln K does not depend on δ (the Gaussian integral over that size, textbook).
    pub(crate) fn loosened(self, tau: f64) -> (Self, f64) {
        let over = 1.0 + self.a * tau * tau;
        let left = Self {
            a: self.a / over,
            b: self.b / over,
        };
        let constant = 0.5 * self.b * self.b * tau * tau / over - 0.5 * over.ln();
        (left, constant)
    }

    /// The fault's size and its standard deviation.
    pub(crate) fn size(self, prior_sigma: f64) -> (f64, f64) {
        let pi = 1.0 / (prior_sigma * prior_sigma);
        (self.b / (self.a + pi), (1.0 / (self.a + pi)).sqrt())
    }
}

impl Prepared {
    /// Prepares points with a noise variance and prior standard deviations of the nuisance terms.
    pub(crate) fn new(
        points: Vec<Point>,
        variance: f64,
        prior_sigmas: [f64; NUISANCE],
    ) -> Option<Self> {
        let mut m = [[0.0; NUISANCE]; NUISANCE];
        let mut moment = [0.0; NUISANCE];
        for p in &points {
            let w = p.trust / variance;
            for (i, row) in m.iter_mut().enumerate() {
                moment[i] += w * p.nuisance[i] * p.residual;
                for (j, cell) in row.iter_mut().enumerate() {
                    *cell += w * p.nuisance[i] * p.nuisance[j];
                }
            }
        }
        for (i, sigma) in prior_sigmas.iter().enumerate() {
            m[i][i] += 1.0 / (sigma * sigma);
        }
        let factor = cholesky(m)?;
        Some(Self {
            points,
            variance,
            factor,
            moment,
        })
    }

    /// ln of how likely the residuals are without a fault, but for a constant: the marginal likelihood of a linear
    /// regression with a conjugate prior (textbook). A reading that is not trusted counts as one that strays far.
    pub(crate) fn likelihood(&self) -> f64 {
        let y = forward(&self.factor, self.moment);
        let each = |p: &Point| {
            let w = p.trust / self.variance;
            let known = p.trust.max(LEAST_TRUST) / self.variance;
            0.5 * known.ln() - 0.5 * w * p.residual * p.residual
        };
        let det: f64 = (0..NUISANCE).map(|i| self.factor[i][i].ln()).sum();
        self.points.iter().map(each).sum::<f64>() + 0.5 * dot(y, y) - det
    }

    /// How well a level is known at these nuisances, one standard deviation: √(xᵀM⁻¹x).
    pub(crate) fn known_to(&self, nuisance: [f64; NUISANCE]) -> f64 {
        let z = forward(&self.factor, nuisance);
        dot(z, z).sqrt()
    }

    /// Scatter of one reading, as the fit has it.
    pub(crate) fn noise(&self) -> f64 {
        self.variance.sqrt()
    }

    pub(crate) fn points(&self) -> &[Point] {
        &self.points
    }

    /// A and B of a fault whose effect on each point is `effect(index, day)`.
    pub(crate) fn evidence(&self, effect: impl Fn(usize, f64) -> f64) -> Evidence {
        let (mut a, mut b) = (0.0, 0.0);
        let mut h = [0.0; NUISANCE];
        for (i, p) in self.points.iter().enumerate() {
            let g = effect(i, p.day);
            if g == 0.0 || p.trust == 0.0 {
                continue;
            }
            let w = p.trust / self.variance * g;
            a += w * g;
            b += w * p.residual;
            for (sum, x) in h.iter_mut().zip(p.nuisance) {
                *sum += w * x;
            }
        }
        // With L z = h and L y = c: hᵀM⁻¹h = zᵀz, hᵀM⁻¹c = zᵀy.
        let (z, y) = (forward(&self.factor, h), forward(&self.factor, self.moment));
        Evidence {
            a: (a - dot(z, z)).max(0.0),
            b: b - dot(z, y),
        }
    }

    /// A and B of one effect for each of many courses, which begin one after another; `felt(index)` is what a point
    /// feels of one unit, and nothing is felt from `to` on.
    ///
    /// Sums are taken once, from the newest point back. As a ramp's beginning moves back by d, (t − τ) grows by d for
    /// every point already summed: Σ(t−τ)² by 2dΣ(t−τ) + d²Σ1, and so on. All terms of A are positive, none cancels.
    pub(crate) fn of_courses(
        &self,
        courses: &[Course],
        to: f64,
        felt: impl Fn(usize) -> f64,
    ) -> Vec<Evidence> {
        let y = forward(&self.factor, self.moment);
        let of = |a: f64, b: f64, h: [f64; NUISANCE]| {
            let z = forward(&self.factor, h);
            Evidence {
                a: (a - dot(z, z)).max(0.0),
                b: b - dot(z, y),
            }
        };
        let mut list = vec![Evidence::default(); courses.len()];
        let (mut step, mut ramp) = (Sums::default(), Sums::default());
        // Σ w g (t − τ), beside what is squared in `ramp`.
        let mut once = 0.0;
        let mut left = self.points.len();
        let mut begins = f64::INFINITY;
        for (place, course) in courses.iter().enumerate().rev() {
            let back = if begins.is_finite() {
                Course::Ramp(course.begins()).at(begins)
            } else {
                0.0
            };
            begins = course.begins();
            ramp.a += 2.0 * back * once + back * back * step.a;
            once += back * step.a;
            ramp.b += back * step.b;
            for (sum, x) in ramp.h.iter_mut().zip(step.h) {
                *sum += back * x;
            }
            while let Some(i) = left
                .checked_sub(1)
                .filter(|i| self.points[*i].day >= begins)
            {
                left = i;
                let p = &self.points[i];
                let g = if p.day < to { felt(i) } else { 0.0 };
                if g == 0.0 || p.trust == 0.0 {
                    continue;
                }
                let w = p.trust / self.variance * g;
                let since = Course::Ramp(begins).at(p.day);
                step.add(w, g, p);
                ramp.add(w * since, g * since, p);
                once += w * g * since;
            }
            let sums = match course {
                Course::Step(_) => step,
                Course::Ramp(_) => ramp,
            };
            list[place] = of(sums.a, sums.b, sums.h);
        }
        list
    }

    /// What each point says for an effect over none: its part of ln of the likelihood ratio, about the nuisance
    /// terms as they are fitted.
    pub(crate) fn says(&self, effect: impl Fn(usize, f64) -> f64) -> Vec<f64> {
        let beta = self.nuisance();
        let each = self.points.iter().enumerate().map(|(i, p)| {
            let g = effect(i, p.day);
            let left = p.residual - dot(beta, p.nuisance);
            p.trust / self.variance * (g * left - 0.5 * g * g)
        });
        each.collect()
    }

    /// The same without one point.
    pub(crate) fn distrusting(&self, index: usize) -> Option<Self> {
        let mut left = self.clone();
        let point = left.points.get_mut(index)?;
        let w = point.trust / self.variance;
        point.trust = 0.0;
        let mut m = [[0.0; NUISANCE]; NUISANCE];
        for (i, row) in m.iter_mut().enumerate() {
            left.moment[i] -= w * point.nuisance[i] * point.residual;
            for (j, cell) in row.iter_mut().enumerate() {
                let whole: f64 = (0..NUISANCE)
                    .map(|k| self.factor[i][k] * self.factor[j][k])
                    .sum();
                *cell = whole - w * point.nuisance[i] * point.nuisance[j];
            }
        }
        left.factor = cholesky(m)?;
        Some(left)
    }

    /// The same points less an effect that is known: `effect(index, day)`.
    pub(crate) fn less(&self, effect: impl Fn(usize, f64) -> f64) -> Self {
        let mut left = self.clone();
        for (i, p) in left.points.iter_mut().enumerate() {
            let off = effect(i, p.day);
            p.residual -= off;
            let w = p.trust / self.variance * off;
            for (sum, x) in left.moment.iter_mut().zip(p.nuisance) {
                *sum -= w * x;
            }
        }
        left
    }

    pub(crate) fn into_points(self) -> Vec<Point> {
        self.points
    }

    /// The points less what the nuisance terms explain of them.
    pub(crate) fn left(&self) -> Vec<Point> {
        let beta = self.nuisance();
        let less = |p: &Point| Point {
            residual: p.residual - dot(beta, p.nuisance),
            ..*p
        };
        self.points.iter().map(less).collect()
    }

    /// The nuisance terms of a stream without a fault.
    pub(crate) fn nuisance(&self) -> [f64; NUISANCE] {
        backward(&self.factor, forward(&self.factor, self.moment))
    }
}

/// gᵀV⁻¹g, gᵀV⁻¹r and XᵀV⁻¹g, so far.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    a: f64,
    b: f64,
    h: [f64; NUISANCE],
}

impl Sums {
    /// One point more, with what it feels and the same over its variance.
    fn add(&mut self, w: f64, g: f64, point: &Point) {
        self.a += w * g;
        self.b += w * point.residual;
        for (sum, x) in self.h.iter_mut().zip(point.nuisance) {
            *sum += w * x;
        }
    }
}

fn dot(a: [f64; NUISANCE], b: [f64; NUISANCE]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

fn cholesky(m: [[f64; NUISANCE]; NUISANCE]) -> Option<[[f64; NUISANCE]; NUISANCE]> {
    let mut l = [[0.0; NUISANCE]; NUISANCE];
    for i in 0..NUISANCE {
        for j in 0..=i {
            let sum: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
            if i == j {
                let d = m[i][i] - sum;
                if !(d > 0.0 && d.is_finite()) {
                    return None;
                }
                l[i][i] = d.sqrt();
            } else {
                l[i][j] = (m[i][j] - sum) / l[j][j];
            }
        }
    }
    Some(l)
}

fn forward(l: &[[f64; NUISANCE]; NUISANCE], v: [f64; NUISANCE]) -> [f64; NUISANCE] {
    let mut x = [0.0; NUISANCE];
    for i in 0..NUISANCE {
        let sum: f64 = (0..i).map(|k| l[i][k] * x[k]).sum();
        x[i] = (v[i] - sum) / l[i][i];
    }
    x
}

fn backward(l: &[[f64; NUISANCE]; NUISANCE], v: [f64; NUISANCE]) -> [f64; NUISANCE] {
    let mut x = [0.0; NUISANCE];
    for i in (0..NUISANCE).rev() {
        let sum: f64 = (i + 1..NUISANCE).map(|k| l[k][i] * x[k]).sum();
        x[i] = (v[i] - sum) / l[i][i];
    }
    x
}

/// How a fault comes: at once, or growing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Course {
    /// All at once at the day.
    Step(f64),
    /// From the day on, one unit in a hundred days.
    Ramp(f64),
}

impl Course {
    /// When it begins.
    pub(crate) fn begins(self) -> f64 {
        match self {
            Self::Step(day) | Self::Ramp(day) => day,
        }
    }

    /// Its size on a day, in units of δ.
    pub(crate) fn at(self, day: f64) -> f64 {
        match self {
            Self::Step(from) => f64::from(u8::from(day >= from)),
            Self::Ramp(from) => ((day - from) / 100.0).max(0.0),
        }
    }

    /// Growth a day, in units of δ.
    pub(crate) fn a_day(self) -> f64 {
        match self {
            Self::Step(_) => 0.0,
            Self::Ramp(_) => 0.01,
        }
    }
}

/// Differences that are kept for the noise, as a share; the largest are left out, one at least: a shift makes
/// one large difference, and of few it would be most of the noise.
const KEPT: f64 = 0.9;

/// Variance of a standard normal cut off where a share of it lies inside ±z: 1 − 2 z φ(z)/share (normal
/// distribution, textbook); 0.623 at nine tenths.
fn cut_variance(share: f64) -> f64 {
    let (mut low, mut high) = (0.0, 6.0);
    for _ in 0..40 {
        let z = 0.5 * (low + high);
        if 2.0 * normal(z) - 1.0 < share {
            low = z;
        } else {
            high = z;
        }
    }
    let density = (-0.5 * low * low).exp() / (2.0 * std::f64::consts::PI).sqrt();
    1.0 - 2.0 * low * density / share
}

/// So many trusted points are enough to tell the noise.
const TRUSTED: usize = 10;

/// Root mean square of the smaller nine tenths, over what cutting took off.
fn cut_off(mut squares: Vec<f64>) -> Option<f64> {
    let all = squares.len();
    if all < 4 {
        return None;
    }
    squares.sort_by(f64::total_cmp);
    let kept = ((all as f64 * KEPT).round() as usize).min(all - 1).max(3);
    squares.truncate(kept);
    let mean = squares.iter().sum::<f64>() / kept as f64;
    Some((mean / cut_variance(kept as f64 / all as f64)).sqrt())
}

/// Noise of a stream by its successive differences, robustly, over √2. Only differences inside a
/// fortnight count, or, where it is read seldom, inside three usual times between two. (A median
/// would jump from one division of the gauge to the next.) Points that are trusted by less than half
/// are left out, if enough others are there.
pub(crate) fn noise(points: &[Point]) -> Option<f64> {
    let trusted: Vec<Point> = points.iter().filter(|p| p.trust > 0.5).copied().collect();
    let points = if trusted.len() < TRUSTED {
        points
    } else {
        &trusted
    };
    let mut gaps: Vec<f64> = points.windows(2).map(|w| w[1].day - w[0].day).collect();
    gaps.sort_by(f64::total_cmp);
    let close = (3.0 * gaps.get(gaps.len() / 2)?).max(14.0);
    let squares = points
        .windows(2)
        .filter(|w| w[1].day - w[0].day < close)
        .map(|w| (w[1].residual - w[0].residual).powi(2))
        .collect();
    Some(cut_off(squares)? / std::f64::consts::SQRT_2)
}

/// Readings of a block whose mean is compared with the next block's.
const BLOCK: usize = 5;
/// What stays correlated from round to round, before any was met: the variance of a mean is so many
/// times that of independent readings (from memory), and so many blocks' worth of belief in it.
const CORRELATED: f64 = 1.25;
const BELIEF: f64 = 15.0;
/// Beyond this it is no longer noise.
const MOST_CORRELATED: f64 = 3.0;

/// How much more the means of blocks scatter than those of independent readings with this noise:
/// what stays correlated from round to round makes each reading tell less. A fault that grows moves
/// neighbouring blocks little, and the largest steps are cut off.
pub(crate) fn correlated(points: &[Point], noise: f64) -> f64 {
    let means: Vec<f64> = points
        .chunks_exact(BLOCK)
        .map(|block| {
            let mut list: Vec<f64> = block.iter().map(|p| p.residual).collect();
            list.sort_by(f64::total_cmp);
            let median = list[BLOCK / 2];
            let near = |r: f64| r.clamp(median - 3.0 * noise, median + 3.0 * noise);
            list.into_iter().map(near).sum::<f64>() / BLOCK as f64
        })
        .collect();
    let squares: Vec<f64> = means.windows(2).map(|w| (w[1] - w[0]).powi(2)).collect();
    let n = squares.len() as f64;
    let Some(scatter) = cut_off(squares) else {
        return CORRELATED;
    };
    let met = scatter * scatter / 2.0 * BLOCK as f64 / (noise * noise);
    ((n * met + BELIEF * CORRELATED) / (n + BELIEF)).clamp(1.0, MOST_CORRELATED)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stream(n: usize, at: impl Fn(f64) -> f64) -> Vec<Point> {
        let mut random = fastrand::Rng::with_seed(7);
        (0..n)
            .map(|i| {
                let day = i as f64;
                let noise: f64 = (0..12).map(|_| random.f64()).sum::<f64>() - 6.0;
                let season = (day / 58.0).sin();
                Point {
                    day,
                    residual: 2.0 + 0.5 * season + at(day) + noise,
                    nuisance: [1.0, season, 0.0, 0.0, 0.0],
                    trust: 1.0,
                }
            })
            .collect()
    }

    #[test]
    fn the_evidence_is_that_of_the_full_regression() {
        // Against the closed form by brute force: evidence = ratio of marginal likelihoods, computed
        // from the dense covariance of the residuals.
        let points = stream(12, |d| if d > 6.0 { 1.5 } else { 0.0 });
        let sigmas = [3.0, 1.0, 1.0, 1.0, 1.0];
        let prepared = Prepared::new(points.clone(), 1.0, sigmas).expect("positive definite");
        let course = Course::Step(6.5);
        let ours = prepared.evidence(|_, d| course.at(d)).log_odds(4.0, None);
        let dense = |delta: f64| {
            let n = points.len();
            let mut k = vec![vec![0.0; n]; n];
            for i in 0..n {
                for j in 0..n {
                    for (t, s) in sigmas.iter().enumerate() {
                        k[i][j] += s * s * points[i].nuisance[t] * points[j].nuisance[t];
                    }
                    k[i][j] += delta * delta * course.at(points[i].day) * course.at(points[j].day);
                    k[i][j] += f64::from(u8::from(i == j));
                }
            }
            log_normal(&k, &points.iter().map(|p| p.residual).collect::<Vec<_>>())
        };
        assert!((ours - (dense(4.0) - dense(0.0))).abs() < 1e-9);
    }

    #[test]
    fn many_courses_at_once_are_what_each_is_alone() {
        let points = stream(90, |d| if d > 60.0 { 2.0 } else { 0.0 });
        let prepared = Prepared::new(points, 1.0, [3.0, 1.0, 1.0, 1.0, 1.0]).expect("definite");
        let felt = |i: usize| 1.0 + (i % 7) as f64;
        let days = [0.0, 3.5, 10.0, 40.0, 40.5, 80.0, 88.0];
        let courses: Vec<Course> = days
            .iter()
            .flat_map(|&d| [Course::Ramp(d), Course::Step(d)])
            .collect();
        let to = 85.0;
        let together = prepared.of_courses(&courses, to, felt);
        for (course, got) in courses.iter().zip(together) {
            let alone = |i: usize, day: f64| {
                if day < to {
                    felt(i) * course.at(day)
                } else {
                    0.0
                }
            };
            let want = prepared.evidence(alone);
            assert!(
                (got.a - want.a).abs() < 1e-9 * want.a.max(1.0),
                "{course:?}"
            );
            assert!(
                (got.b - want.b).abs() < 1e-9 * want.b.abs().max(1.0),
                "{course:?}"
            );
        }
    }

    /// ln N(r; 0, K) without the constant, by elimination.
    fn log_normal(k: &[Vec<f64>], r: &[f64]) -> f64 {
        let n = r.len();
        let (mut m, mut v) = (k.to_vec(), r.to_vec());
        let (mut log_det, mut quadratic) = (0.0, 0.0);
        for i in 0..n {
            log_det += m[i][i].ln();
            quadratic += v[i] * v[i] / m[i][i];
            let pivot = m[i].clone();
            for j in i + 1..n {
                let f = m[j][i] / pivot[i];
                for (cell, above) in m[j].iter_mut().zip(&pivot).skip(i) {
                    *cell -= f * above;
                }
                v[j] -= f * v[i];
            }
        }
        -0.5 * (log_det + quadratic)
    }

    #[test]
    fn a_ramp_is_found_and_a_season_is_not() {
        let sigmas = [3.0, 1.0, 1.0, 1.0, 1.0];
        let quiet = Prepared::new(stream(200, |_| 0.0), 1.0, sigmas).expect("positive definite");
        let ramp = Course::Ramp(120.0);
        assert!(quiet.evidence(|_, d| ramp.at(d)).log_odds(10.0, Some(1.0)) < 4.0);
        let grown = stream(200, |d| ((d - 120.0) / 20.0).max(0.0));
        let grown = Prepared::new(grown, 1.0, sigmas).expect("positive definite");
        let evidence = grown.evidence(|_, d| ramp.at(d));
        assert!(evidence.log_odds(10.0, Some(1.0)) > 20.0);
        let (size, sigma) = evidence.size(10.0);
        assert!((size - 5.0).abs() < 3.0 * sigma);
    }

    #[test]
    fn what_cutting_takes_off_is_that_of_the_normal_distribution() {
        assert!((cut_variance(0.9) - 0.623).abs() < 1e-3);
        // Textbook: ±1 standard deviation holds 68.27 %, 1 − 2 φ(1)/0.6827 = 0.291.
        assert!((cut_variance(0.682_689_5) - 0.291_125).abs() < 1e-4);
    }

    #[test]
    fn noise_of_few_is_not_that_of_their_shift() {
        let of = |list: &[f64]| {
            let point = |(i, r): (usize, &f64)| Point {
                day: 28.0 * i as f64,
                residual: *r,
                nuisance: [1.0, 0.0, 0.0, 0.0, 0.0],
                trust: 1.0,
            };
            let points: Vec<Point> = list.iter().enumerate().map(point).collect();
            noise(&points).expect("enough points")
        };
        assert!(of(&[0.1, -0.2, 0.1, 0.0, 6.0, 6.1]) < 0.4);
    }

    #[test]
    fn noise_is_not_fooled_by_a_ramp_or_an_outlier() {
        let mut points = stream(120, |d| d / 20.0);
        points[50].residual += 40.0;
        let noise = noise(&points).expect("enough points");
        assert!((0.7..1.3).contains(&noise), "{noise}");
    }
}
