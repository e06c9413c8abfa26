//! The normal distribution against a general numerical library.
#![expect(
    dead_code,
    reason = "each test file uses a part of what the tests share"
)]

mod support;

use series::Answer;
use series::distribution::{normal_cdf, normal_quantile};
use support::{near, near_rel, table};

#[test]
fn normal() -> Answer<()> {
    for row in table(include_str!("data/normal_cdf.csv")) {
        let z = row.num("z");
        near_rel("Φ", normal_cdf(z)?, row.num("p"), 1e-12);
    }
    for row in table(include_str!("data/normal_quantile.csv")) {
        let got = normal_quantile(row.num("p"))?;
        near("Φ⁻¹", got, row.num("z"), 1e-15 + 2e-15 * got.abs());
    }
    Ok(())
}
