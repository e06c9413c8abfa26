//! Effectiveness of heat exchangers by number of transfer units.
//!
//! Symbols: N = UA/C_min number of transfer units [-]; C_r = C_min/C_max [-]; ε = heat moved over
//! the most that could be moved [-].

use crate::solve::bracketed_root;
use crate::validity::{Answer, Range};

const NTU: Range = Range {
    what: "number of transfer units",
    unit: "-",
    min: 0.0,
    max: 30.0,
    source: "effectiveness by transfer units",
};
const CAPACITY_RATIO: Range = Range {
    what: "capacity ratio",
    unit: "-",
    min: 0.0,
    max: 1.0,
    source: "effectiveness by transfer units",
};
const EFFECTIVENESS: Range = Range {
    what: "effectiveness",
    unit: "-",
    min: 0.0,
    max: 0.999,
    source: "effectiveness by transfer units",
};

/// One stream evaporates, condenses, or is so large that it keeps its temperature: ε = 1 − e^(−N).
fn one_side_constant(ntu: f64) -> f64 {
    -(-ntu).exp_m1()
}

/// Effectiveness of crossflow, both streams unmixed, exact.
///
/// ε = 1/(C_r N) · Σₖ [1 − e^(−N) Σ_{m≤k} N^m/m!] · [1 − e^(−C_r N) Σ_{m≤k} (C_r N)^m/m!]
///
/// # Validity
/// 0 ≤ N ≤ 30, 0 ≤ C_r ≤ 1; C_r = 0 is the limit 1 − e^(−N).
///
/// # Errors
/// [`crate::validity::Refusal::OutOfRange`] outside.
///
/// # Source
/// J. L. Mason, *Heat transfer in crossflow*, Proc. 2nd US National Congress of Applied Mechanics,
/// 1954 (from memory); checked against the numerical integral of the `ht` library to 1e-6.
///
/// # Example
/// ```
/// let exact = physics::heat::ntu::effectiveness_crossflow_mason_1954(2.5, 0.6)?;
/// assert!((exact - 0.755_7).abs() < 1e-4);
/// # Ok::<(), physics::validity::Refusal>(())
/// ```
pub fn effectiveness_crossflow_mason_1954(ntu: f64, capacity_ratio: f64) -> Answer<f64> {
    let (n, c_r) = (NTU.check(ntu)?, CAPACITY_RATIO.check(capacity_ratio)?);
    let other = c_r * n;
    if other < 1.0e-9 {
        return Ok(one_side_constant(n));
    }
    // Complements of the two Poisson sums, taken down term by term.
    let (mut term_a, mut term_b) = ((-n).exp(), (-other).exp());
    let (mut rest_a, mut rest_b) = (1.0 - term_a, 1.0 - term_b);
    let mut sum = 0.0;
    for k in 0..400_u32 {
        let addend = rest_a * rest_b;
        sum += addend;
        if f64::from(k) > other && addend < 1.0e-16 * sum {
            break;
        }
        let m = f64::from(k + 1);
        term_a *= n / m;
        term_b *= other / m;
        rest_a = (rest_a - term_a).max(0.0);
        rest_b = (rest_b - term_b).max(0.0);
    }
    Ok((sum / other).min(1.0))
}

/// Effectiveness of crossflow, both unmixed, by the usual closed approximation.
///
/// ε ≈ 1 − exp[ N^0.22/C_r · (exp(−C_r N^0.78) − 1) ]
///
/// Up to 2 % off the exact value; kept to compare with worked examples that use it.
///
/// # Validity
/// 0 ≤ N ≤ 30, 0 ≤ C_r ≤ 1.
///
/// # Errors
/// [`crate::validity::Refusal::OutOfRange`] outside.
///
/// # Source
/// Nellis & Klein, *Heat Transfer*, worked example (0.7632 at N 2.5, C_r 0.6).
pub fn effectiveness_crossflow_approximate(ntu: f64, capacity_ratio: f64) -> Answer<f64> {
    let (n, c_r) = (NTU.check(ntu)?, CAPACITY_RATIO.check(capacity_ratio)?);
    if c_r < 1.0e-9 || n < 1.0e-12 {
        return Ok(one_side_constant(n));
    }
    let inner = (-c_r * n.powf(0.78)).exp_m1();
    Ok(-(n.powf(0.22) / c_r * inner).exp_m1())
}

/// Effectiveness of counterflow.
///
/// ε = (1 − e^(−N(1−C_r)))/(1 − C_r e^(−N(1−C_r))); for C_r = 1, N/(1+N)
///
/// # Validity
/// 0 ≤ N ≤ 30, 0 ≤ C_r ≤ 1.
///
/// # Errors
/// [`crate::validity::Refusal::OutOfRange`] outside.
///
/// # Source
/// Textbook relation; checked against the `ht` library.
pub fn effectiveness_counterflow(ntu: f64, capacity_ratio: f64) -> Answer<f64> {
    let (n, c_r) = (NTU.check(ntu)?, CAPACITY_RATIO.check(capacity_ratio)?);
    let gap = 1.0 - c_r;
    if gap * n < 1.0e-9 {
        return Ok(n / (1.0 + n));
    }
    let falls = (-n * gap).exp();
    Ok((1.0 - falls) / (1.0 - c_r * falls))
}

/// Transfer units of an exact unmixed crossflow that give an effectiveness.
///
/// # Validity
/// 0 ≤ ε ≤ 0.999 and reachable with N ≤ 30.
///
/// # Errors
/// [`crate::validity::Refusal`] outside, or where no N gives this effectiveness.
///
/// # Source
/// Inverse of [`effectiveness_crossflow_mason_1954`].
pub fn transfer_units_crossflow(effectiveness: f64, capacity_ratio: f64) -> Answer<f64> {
    let wanted = EFFECTIVENESS.check(effectiveness)?;
    bracketed_root("number of transfer units", 0.0, NTU.max, 1.0e-12, |n| {
        Ok(effectiveness_crossflow_mason_1954(n, capacity_ratio)? - wanted)
    })
}
