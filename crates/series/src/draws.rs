//! Numbers that look random and are not: the same seed and place always give the same number.
//!
//! Must not know: what is drawn.

use crate::distribution::quantile_within;

/// Uniform and normal numbers, each found by its place and by nothing drawn before it.
///
/// The place is hashed by three rounds of multiply and shift.
///
/// # Validity
/// For simulation only, not for secrets.
///
/// # Source
/// G. L. Steele, D. Lea, C. H. Flood, *OOPSLA* 2014, 453–472 (the mixing function).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draws {
    seed: u64,
}

const GOLDEN: u64 = 0x9E37_79B9_7F4A_7C15;

fn mix(mut bits: u64) -> u64 {
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    bits ^ (bits >> 31)
}

impl Draws {
    /// The draws of a seed.
    pub const fn new(seed: u64) -> Self {
        Self { seed }
    }

    /// A number strictly between 0 and 1, for a path, a step on it and a lane of the step.
    pub fn uniform(&self, path: u64, step: u64, lane: u64) -> f64 {
        let mut bits = mix(self.seed.wrapping_add(GOLDEN));
        for place in [path, step, lane] {
            bits = mix(bits ^ place.wrapping_add(1).wrapping_mul(GOLDEN));
        }
        to_unit(bits)
    }

    /// A standard normal number.
    pub fn normal(&self, path: u64, step: u64, lane: u64) -> f64 {
        quantile_within(self.uniform(path, step, lane))
    }

    /// Two standard normal numbers of a low-discrepancy sequence, shifted by the seed: over many
    /// paths they fill the plane far more evenly than chance.
    ///
    /// Van der Corput's sequences in bases 2 and 3 (Halton), shifted modulo 1.
    ///
    /// # Source
    /// J. H. Halton, *Numerische Mathematik* 2 (1960) 84–90; R. Cranley and T. N. L. Patterson,
    /// *SIAM Journal on Numerical Analysis* 13 (1976) 904–914 (the shift).
    pub fn normal_pair(&self, path: u64) -> (f64, f64) {
        let lane = |base, lane| {
            let shift = self.uniform(u64::MAX, u64::MAX, lane);
            let place = (van_der_corput(path + 1, base) + shift).fract();
            quantile_within(place.clamp(1.0e-12, 1.0 - 1.0e-12))
        };
        (lane(2, 0), lane(3, 1))
    }
}

/// The upper 53 bits, in the middle of their cell.
fn to_unit(bits: u64) -> f64 {
    ((bits >> 12) as f64 + 0.5) / (1_u64 << 52) as f64
}

fn van_der_corput(mut n: u64, base: u64) -> f64 {
    let (mut value, mut place) = (0.0, 1.0);
    while n > 0 {
        place /= base as f64;
        value += place * (n % base) as f64;
        n /= base;
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_and_independence() {
        let draws = Draws::new(7);
        let n = 40_000;
        let (mut mean, mut square, mut product) = (0.0, 0.0, 0.0);
        for path in 0..n {
            let (x, y) = (draws.normal(path, 3, 0), draws.normal(path, 3, 1));
            mean += x / n as f64;
            square += x * x / n as f64;
            product += x * y / n as f64;
        }
        let room = 4.0 / (n as f64).sqrt();
        assert!(mean.abs() < room, "mean {mean}");
        assert!((square - 1.0).abs() < 1.5 * room, "square {square}");
        assert!(product.abs() < room, "product {product}");
    }

    #[test]
    fn pairs_are_more_even_than_chance() {
        let draws = Draws::new(11);
        let n = 1000;
        let (mut mean, mut product) = (0.0, 0.0);
        for path in 0..n {
            let (x, y) = draws.normal_pair(path);
            mean += x / n as f64;
            product += x * y / n as f64;
        }
        assert!(mean.abs() < 0.008, "chance would give ±0.03, got {mean}");
        assert!(product.abs() < 0.02, "product {product}");
        assert_eq!(draws.normal_pair(5), Draws::new(11).normal_pair(5));
        assert_ne!(draws.normal_pair(5), Draws::new(12).normal_pair(5));
    }
}
