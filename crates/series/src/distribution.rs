//! The normal distribution: its density, probabilities and quantiles.
//!
//! Must not know: what they are used for.

use core::f64::consts::{FRAC_1_SQRT_2, PI};

use crate::refusal::{Answer, Range};

const PROBABILITY: Range = Range::new("probability", 1.0e-300, 1.0 - f64::EPSILON / 2.0);
const ANY: Range = Range::new("deviate", f64::MIN, f64::MAX);

/// Density of the standard normal distribution.
///
/// φ(z) = e^(−z²/2)/√(2π)
pub fn normal_density(z: f64) -> Answer<f64> {
    let z = ANY.check(z)?;
    Ok((-0.5 * z * z).exp() / (2.0 * PI).sqrt())
}

/// Probability that a standard normal deviate is at most `z`.
///
/// Φ(z) = erfc(−z/√2)/2; erfc by its power series below 2 and its continued fraction above.
///
/// # Validity
/// Any finite `z`; relative error below 1e-12 for z > −37, where the answer leaves the range of
/// `f64`'s full precision.
///
/// # Source
/// Abramowitz & Stegun, *Handbook of Mathematical Functions*, 1964, equations 7.1.6 and 7.1.14.
///
/// # Example
/// ```
/// assert!((series::distribution::normal_cdf(1.959_963_984_540_054)? - 0.975).abs() < 1e-14);
/// # Ok::<(), series::Refusal>(())
/// ```
pub fn normal_cdf(z: f64) -> Answer<f64> {
    let z = ANY.check(z)?;
    Ok(0.5 * erfc(-z * FRAC_1_SQRT_2))
}

/// The deviate that a standard normal variable stays below with probability `p`.
///
/// # Validity
/// 1e-300 ≤ p < 1; relative error about 1e-15.
///
/// # Source
/// M. J. Wichura, *Applied Statistics* 37 (1988) 477–484, algorithm AS 241, routine PPND16.
pub fn normal_quantile(p: f64) -> Answer<f64> {
    let p = PROBABILITY.check(p)?;
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        return Ok(q * ratio(r, &CENTRE));
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    let r = (-tail.ln()).sqrt();
    let size = if r <= 5.0 {
        ratio(r - 1.6, &MIDDLE)
    } else {
        ratio(r - 5.0, &FAR)
    };
    Ok(size.copysign(q))
}

/// Numerator and denominator of one of the three rational fits, lowest power first.
type Fit = ([f64; 8], [f64; 8]);

fn ratio(r: f64, fit: &Fit) -> f64 {
    let sum = |c: &[f64; 8]| c.iter().rev().fold(0.0, |sum, &c| sum * r + c);
    sum(&fit.0) / sum(&fit.1)
}

#[rustfmt::skip]
#[expect(clippy::excessive_precision, reason = "the digits as published")]
const CENTRE: Fit = (
    [3.387_132_872_796_366_608, 1.331_416_678_917_843_774_5e2, 1.971_590_950_306_551_442_7e3,
     1.373_169_376_550_946_112_5e4, 4.592_195_393_154_987_145_7e4, 6.726_577_092_700_870_085_3e4,
     3.343_057_558_358_812_810_5e4, 2.509_080_928_730_122_672_7e3],
    [1.0, 4.231_333_070_160_091_125_2e1, 6.871_870_074_920_579_083e2,
     5.394_196_021_424_751_107_7e3, 2.121_379_430_158_659_586_7e4, 3.930_789_580_009_271_061e4,
     2.872_908_573_572_194_267_4e4, 5.226_495_278_852_854_561e3],
);
#[rustfmt::skip]
#[expect(clippy::excessive_precision, reason = "the digits as published")]
const MIDDLE: Fit = (
    [1.423_437_110_749_683_577_34, 4.630_337_846_156_545_295_9, 5.769_497_221_460_691_405_5,
     3.647_848_324_763_204_605_04, 1.270_458_252_452_368_382_58, 2.417_807_251_774_506_117_7e-1,
     2.272_384_498_926_918_458_33e-2, 7.745_450_142_783_414_076_4e-4],
    [1.0, 2.053_191_626_637_758_821_87, 1.676_384_830_183_803_849_4,
     6.897_673_349_851_000_045_5e-1, 1.481_039_764_274_800_745_9e-1,
     1.519_866_656_361_645_719_66e-2, 5.475_938_084_995_344_946e-4,
     1.050_750_071_644_416_843_24e-9],
);
#[rustfmt::skip]
#[expect(clippy::excessive_precision, reason = "the digits as published")]
const FAR: Fit = (
    [6.657_904_643_501_103_777_2, 5.463_784_911_164_114_369_9, 1.784_826_539_917_291_335_8,
     2.965_605_718_285_048_912_3e-1, 2.653_218_952_657_612_309_3e-2,
     1.242_660_947_388_078_438_6e-3, 2.711_555_568_743_487_578_15e-5,
     2.010_334_399_292_288_132_65e-7],
    [1.0, 5.998_322_065_558_879_376_9e-1, 1.369_298_809_227_358_053_1e-1,
     1.487_536_129_085_061_485_25e-2, 7.868_691_311_456_132_591e-4,
     1.846_318_317_510_054_681_8e-5, 1.421_511_758_316_445_888_7e-7,
     2.044_263_103_389_939_785_64e-15],
);

/// Complementary error function.
fn erfc(x: f64) -> f64 {
    if x < -2.0 {
        return 2.0 - erfc(-x);
    }
    if x < 2.0 {
        // erf(x) = 2/√π · e^(−x²) · Σ 2ⁿ x^(2n+1)/(1·3·…·(2n+1)): every term has one sign.
        let (mut term, mut sum, mut odd) = (x, x, 1.0);
        while term.abs() > 1.0e-18 * sum.abs() {
            odd += 2.0;
            term *= 2.0 * x * x / odd;
            sum += term;
        }
        return 1.0 - 2.0 / PI.sqrt() * (-x * x).exp() * sum;
    }
    // e^(−x²)/√π ÷ (x + (1/2)/(x + 1/(x + (3/2)/(x + …)))), from the far end.
    let depth = 8 + (200.0 / x) as u32;
    let fraction = (1..=depth)
        .rev()
        .fold(x, |below, k| x + 0.5 * f64::from(k) / below);
    (-x * x).exp() / (PI.sqrt() * fraction)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantile_undoes_probability() -> Answer<()> {
        for i in -37..=37 {
            let z = 0.2 * f64::from(i);
            let back = normal_quantile(normal_cdf(z)?)?;
            // Near 1 the probability itself keeps only 1e-16 of its distance from 1.
            let room = 1.0e-12 + 3.0e-16 / normal_density(z)?;
            assert!((back - z).abs() < room, "{z} came back as {back}");
        }
        Ok(())
    }

    #[test]
    fn refuses_what_is_no_probability() {
        for p in [0.0, 1.0, -0.1, f64::NAN] {
            assert!(normal_quantile(p).is_err());
        }
        assert!(normal_cdf(f64::NAN).is_err());
    }
}
