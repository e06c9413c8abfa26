//! Reads the tables beside the moist-air tests and says how far a value is off.
#![allow(dead_code, reason = "each test program uses its own part")]

use std::collections::HashMap;

/// One line of a table, its cells by column name.
pub(crate) struct Row(HashMap<String, String>);

impl Row {
    /// The cell as a number.
    pub(crate) fn num(&self, column: &str) -> f64 {
        self.text(column)
            .parse()
            .unwrap_or_else(|_| panic!("`{column}` is not a number"))
    }
    /// The cell as text.
    pub(crate) fn text(&self, column: &str) -> &str {
        self.0
            .get(column)
            .unwrap_or_else(|| panic!("no column `{column}`"))
    }
}

/// The lines of a table that must begin with its source.
pub(crate) fn table(text: &str) -> Vec<Row> {
    assert!(text.starts_with("# SOURCE "), "a table names its source");
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let rows: Vec<Row> = reader
        .deserialize()
        .map(|row| Row(row.expect("a well-formed table")))
        .collect();
    assert!(!rows.is_empty(), "a table has lines");
    rows
}

/// Fails unless `got` lies within `tolerance` of `want`.
#[track_caller]
pub(crate) fn near(what: &str, got: f64, want: f64, tolerance: f64) {
    assert!(
        (got - want).abs() <= tolerance,
        "{what}: {got}, expected {want} ± {tolerance}"
    );
}

/// Fails unless `got` lies within the share `tolerance` of `want`.
#[track_caller]
pub(crate) fn near_rel(what: &str, got: f64, want: f64, tolerance: f64) {
    near(what, got, want, tolerance * want.abs());
}

/// The median, the 99th percentile and the largest of some errors.
pub(crate) fn percentiles(mut errors: Vec<f64>) -> [f64; 3] {
    errors.sort_by(f64::total_cmp);
    let at = |share: usize| errors[(errors.len() - 1) * share / 100];
    [at(50), at(99), at(100)]
}
