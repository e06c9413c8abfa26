//! Seeded streams of random numbers, one for each purpose.
//!
//! Must not know: what the numbers are for.

use fastrand::Rng;

/// A stream of its own for the purpose `what` and the number `n` (a day, say).
pub(crate) fn stream(seed: u64, what: &str, n: u64) -> Rng {
    // FNV-1a over the purpose, the seed and the number.
    let bytes = what
        .bytes()
        .chain(seed.to_le_bytes())
        .chain(n.to_le_bytes());
    let hash = bytes.fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    });
    Rng::with_seed(hash)
}

/// A draw from the normal distribution with mean 0 and standard deviation 1 (Box–Muller).
pub(crate) fn normal(rng: &mut Rng) -> f64 {
    let u = 1.0 - rng.f64();
    let v = rng.f64();
    (-2.0 * u.ln()).sqrt() * (core::f64::consts::TAU * v).cos()
}

/// A normal draw that never lies further out than two and a half standard deviations.
pub(crate) fn scatter(rng: &mut Rng, sigma: f64) -> f64 {
    sigma * normal(rng).clamp(-2.5, 2.5)
}

/// A draw spread evenly between two bounds.
pub(crate) fn between(rng: &mut Rng, low: f64, high: f64) -> f64 {
    low + (high - low) * rng.f64()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn streams_repeat_and_differ() {
        assert_eq!(stream(7, "a", 1).u64(..), stream(7, "a", 1).u64(..));
        assert_ne!(stream(7, "a", 1).u64(..), stream(7, "a", 2).u64(..));
        assert_ne!(stream(7, "a", 1).u64(..), stream(7, "b", 1).u64(..));
    }

    #[test]
    fn normal_has_mean_nought_and_deviation_one() {
        let mut rng = stream(1, "normal", 0);
        let draws: Vec<f64> = (0..20_000).map(|_| normal(&mut rng)).collect();
        let mean = draws.iter().sum::<f64>() / 20_000.0;
        let square = draws.iter().map(|x| x * x).sum::<f64>() / 20_000.0;
        assert!(mean.abs() < 0.03, "{mean}");
        assert!((square - 1.0).abs() < 0.05, "{square}");
    }
}
